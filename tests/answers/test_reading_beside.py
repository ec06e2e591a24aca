"""What stands beside a section and what it is part of: crawl spaces and their walls, attics and their floors, barns, sills.

The sentences are our own; what a builder means by them is common practice, no published source.
"""

from __future__ import annotations

import pytest

from reviewer.answers.read import read
from reviewer.answers.reading import Reading
from reviewer.model.section import Section


def _sections(reading: Reading) -> list[Section]:
    return [s for s in (reading.base, *(o.section for o in reading.options)) if s is not None]


def _names(section: Section) -> list[str]:
    return [x.name for x in section.layers]


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("slab", "Basement in Toledo OH. 1 in EPS on the concrete slab, two layers of plywood, vinyl plank. No poly. Fine?"),
        ("slab", "Garage turned studio, Macon GA, pouring 5 inches over sand, carpet on it. Do I need plastic under it?"),
        ("roof", "Cape in Troy NY. 3 in closed cell on the roof boards between rafters, shingles. The knee wall beside it is bare. Is the foam enough?"),
        ("foundation wall", "Unvented crawl in Bangor ME, bare block inside. What is the cheapest R-10 for the walls?"),
        ("foundation wall", "Salts come out of our bare concrete block above the workbench, Utica NY. What is the cause?"),
        ("foundation wall", "What do I put on bare block walls in Peoria IL before I frame a rec room?"),
        ("floor", "Crawl space in Columbia SC, poly on the dirt. Batts fall from the joists. Should I pull the batts and insulate the walls, or vent it more?"),
        ("floor", "We are encapsulating: liner down, foam on the crawl walls, Rome GA. Above: oak floor, plywood, R-19 batts. Do we need to keep the batts in the floor?"),
        ("floor", "Foundation vents are open in our house in Tulsa OK, oak on plywood, R-19 between the joists. Is that ok?"),
        ("roof", "The attic over our rooms in Bend OR is cold: 12 in of loose cellulose, drywall. Can the insulation in the floor get a sheet of poly below it?"),
    ],
)  # fmt: skip
def test_a_section_is_of_the_kind_that_is_asked_about(kind: str, text: str) -> None:
    (reading,) = read(text)
    assert {s.kind for s in _sections(reading)} == {kind}
    assert "kind" not in [g.what for g in reading.gaps]


@pytest.mark.parametrize(
    "text",
    [
        "Steel roofing on purlins over my barn near Salina KS, nothing under it, slab floor. Drips on cold mornings. Why?",
        "My pole barn in Ames IA has a bare metal roof, no insulation. It rains inside in spring. What causes that?",
    ],
)
def test_a_bare_metal_roof_is_its_metal_alone(text: str) -> None:
    (reading,) = read(text)
    assert reading.base is not None and reading.base.kind == "roof"
    assert _names(reading.base) == ["metal roofing"]
    assert "layers" not in [g.what for g in reading.gaps]


def test_foam_under_a_bare_metal_roof_lies_on_the_metal() -> None:
    (reading,) = read(
        "Pole barn, Casper WY, metal roofing on purlins, nothing under it. May I have 2 in closed cell sprayed under the metal?"
    )
    assert _names(_sections(reading)[-1]) == ["closed-cell spray foam", "metal roofing"]


@pytest.mark.parametrize(
    ("gone", "text"),
    [
        ("mortar", "Brick foundation in lime mortar, 1890, Salem MA. 2 in closed cell on the inside. Is that ok?"),
        ("hardwood", "Rubble foundation, Keene NH, 3 in closed cell inside. The sills are 8x8 oak. Is it safe?"),
        ("extruded polystyrene board", "Floor over the porch in Barre VT: carpet, plywood, R-30 batts, plywood soffit. Frost at the baseboard. Why?"),
        ("glass fiber batt", "Exterior insulation only in Dover NH: 2 in XPS on a poured basement wall with dampproofing, the inside stays bare. Is that ok?"),
        ("gypsum board", "Exterior insulation only in Dover NH: 2 in XPS on a poured basement wall with dampproofing, the inside stays bare. Is that ok?"),
        ("extruded polystyrene board", "Crawl is encapsulated, XPS on the crawl walls. Florence SC. Oak floor on plywood, R-19 between joists. Can I take out the batts?"),
    ],
)  # fmt: skip
def test_what_stands_beside_a_section_is_no_layer(gone: str, text: str) -> None:
    (reading,) = read(text)
    assert _sections(reading)
    assert all(gone not in _names(s) for s in _sections(reading))


def test_a_coat_against_ignition_leaves_foam_without_a_board() -> None:
    (reading,) = read(
        "Stone foundation, 1880, Concord NH. 2 in closed cell on the stone with intumescent paint over it. Will it hold?"
    )
    (section,) = _sections(reading)
    assert "gypsum board" not in _names(section) and "plaster on wood lath" not in _names(section)
    assert reading.refusal is None or reading.refusal.status != "not understood"


@pytest.mark.parametrize(
    ("order", "text"),
    [
        (["vinyl flooring", "concrete", "slab vapor retarder", "gravel bed"], "Slab in Tulsa, from the top: vinyl plank, 4 in concrete, 10 mil, gravel. Is vinyl glued to that slab a worry?"),
        (["plaster on wood lath", "glass fiber batt", "board sheathing"], "Walls in Salem OR: plaster inside, R-11 batts, boards, felt, clapboards. Is the plaster enough of a retarder?"),
        (["plaster on metal lath", "plywood", "epdm membrane"], "Flat roof, Gary IN, 1960s: plaster ceiling on metal lath, empty joists, plywood, EPDM. Is that ok?"),
        (["carpet and pad", "plywood", "extruded polystyrene board", "concrete"], "1 in XPS glued on the slab of my Erie PA basement, plywood over it, carpet on top. Is it safe?"),
    ],
)  # fmt: skip
def test_a_layer_that_is_named_again_stays_where_the_list_has_it(order: list[str], text: str) -> None:
    shown = _sections(read(text)[0])[0]
    rest = iter(_names(shown))
    assert all(any(name == wanted for name in rest) for wanted in order), _names(shown)
    assert all(_names(shown).count(name) == 1 for name in order)


@pytest.mark.parametrize(
    ("place", "text"),
    [
        ("Tulsa, OK", "new shop slab out in tulsa. 4 in concrete on gravel, no plastic, vinyl plank on it. is that ok"),
        ("Leadville, CO", "Site is Leadville. 2x12 rafters, R-38 batts, vent channel, OSB, shingles, drywall, poly. Is it ok?"),
        ("Portland, ME", "Portland, Maine. 2x6, R-21, OSB, wrap, cedar, drywall. Our architect in Houston wants no poly. Is it ok?"),
        ("Nashville, TN", "Nashville. 2x6, R-21, OSB, wrap, cedar, drywall. I trained in Quebec. Is it ok without poly?"),
    ],
)  # fmt: skip
def test_where_somebody_works_is_not_where_the_section_stands(place: str, text: str) -> None:
    shown = _sections(read(text)[0])[0]
    assert shown.place is not None and shown.place.name == place


def test_a_follow_up_about_another_part_stands_where_the_one_before_stands() -> None:
    before = read("Vented crawl space in Roanoke VA, R-19 batts in the floor, oak on plywood. Is that ok?")[
        -1
    ]
    (after,) = read("and what is the cheapest insulation for its walls, they are block", before=before)
    assert after.base is not None and after.base.kind == "foundation wall"
    assert after.base.place is not None and after.base.place.name == "Roanoke, VA"
    assert "concrete block" in _names(after.base)


def test_salts_idioms_and_people_are_no_layers() -> None:
    (reading,) = read(
        "Vinyl wall covering on drywall, steel studs with batts, gypsum sheathing, stucco, Tampa FL. There is mold behind it. "
        "What on earth went wrong?"
    )
    assert reading.base is not None and "clay soil" not in _names(reading.base)
    assert reading.subject is not None and reading.subject.name == "mold"


def test_an_unknown_coat_beside_what_is_asked_is_told_and_stops_nothing() -> None:
    (reading,) = read(
        "Stone foundation in Keene NH, 3 in closed cell on the stone with zorbexal paint. Is that safe?"
    )
    assert reading.refusal is None and "zorbexal" in reading.unused
    (reading,) = read(
        "2x6 wall in Duluth, R-21, OSB, wrap, vinyl. Is zorbexal paint enough as a vapor barrier?"
    )
    assert reading.refusal is not None


@pytest.mark.parametrize(
    ("names", "text"),
    [
        (["wood flooring", "plywood", "closed-cell spray foam", "western red cedar", "outdoor air"], "A bay that cantilevers over the yard in Helena MT: oak flooring, 3/4 plywood, 2x10 joists full of closed cell, cedar boards as the soffit. Is it sound?"),
        (["gypsum board", "polyethylene sheet", "glass fiber batt", "asphalt felt", "concrete"], "Basement wall in Regina SK: drywall, 6 mil poly, R-12 batts, tar paper, concrete, and carpet on the floor. Is it ok?"),
    ],
)  # fmt: skip
def test_what_closes_a_floor_and_what_parts_studs_from_a_wall_lie_where_they_do(
    names: list[str], text: str
) -> None:
    shown = _sections(read(text)[0])[0]
    rest = iter(_names(shown))
    assert all(any(name == wanted for name in rest) for wanted in names), _names(shown)
    assert "carpet and pad" not in _names(shown)


@pytest.mark.parametrize(
    ("end", "text"),
    [
        ("garage", "A bedroom goes over our garage in Erie PA: carpet on OSB, 2x10s with R-30, drywall on the side of the cars. Is it ok?"),
        ("outdoor air", "Tile over cement board over plywood over an unheated porch in Portland ME, R-30 mineral wool in the joists. Is it ok?"),
        ("outdoor air", "Cabin on sonotubes near Ely MN: pine floor, plywood, R-30 batts, plywood below. Right?"),
        ("unvented crawl space", "Encapsulated crawl: vents sealed, foam on the crawl walls. Carpet on OSB above, R-19 batts. Raleigh NC. Good?"),
    ],
)  # fmt: skip
def test_a_floor_ends_in_what_lies_below_it(end: str, text: str) -> None:
    shown = _sections(read(text)[0])[0]
    assert shown.kind == "floor" and shown.layers[-1].space == end


@pytest.mark.parametrize(
    ("gone", "text"),
    [
        ("cross-laminated timber", "Roof with glulam beams, 3 in T&G deck, 6 in polyiso, EPDM in Boise ID. Condensation?"),
        ("vinyl siding", "Wall in Lima OH: vinyl windows, brick, 1 in gap, wrap, OSB, R-19, drywall. Leaks below the windows. Why?"),
        ("clay brick", "Rowhouse roof in Baltimore MD, walls of bare brick: modified bitumen, planks, empty 2x8s, plaster. Fill it with cellulose?"),
    ],
)  # fmt: skip
def test_beams_windows_and_the_walls_below_are_no_layers(gone: str, text: str) -> None:
    assert all(gone not in _names(s) for s in _sections(read(text)[0]))


def test_a_color_before_a_layer_is_no_mold() -> None:
    (reading,) = read(
        "Crawl in Eugene OR, R-30 between the joists, oak on plywood, black poly on the dirt. Is it ok?"
    )
    assert reading.intent == "safe here"


@pytest.mark.parametrize(
    ("kind", "there", "gone", "text"),
    [
        ("floor", "plywood", "concrete block", "House up on blocks in Tallahassee FL, subfloor is ply with sheet vinyl, nothing between the joists. Is it ok?"),
        ("floor", "wood flooring", "foil-faced polyisocyanurate board", "2 in foil polyiso on the block of the crawl space, liner on the dirt, oak on plank subfloor above. Roanoke VA. Is it ok?"),
        ("foundation wall", "kraft-faced glass fiber batt", "wood flooring", "Concrete block crawl in Toledo OH, R-13 faced batts glued to the block. Is that ok?"),
        ("slab", "vinyl flooring", "glass fiber batt", "Slab in Fargo ND, edge insulated, vinyl plank, 6 mil under it. Is it ok?"),
    ],
)  # fmt: skip
def test_masonry_below_a_floor_and_foam_at_an_edge_are_not_in_it(
    kind: str, there: str, gone: str, text: str
) -> None:
    shown = _sections(read(text)[0])[0]
    assert shown.kind == kind and there in _names(shown) and gone not in _names(shown)
