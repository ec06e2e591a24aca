"""Roofs, attics and what lies on decks, as people tell them: spaces that open at both ends, foils, coats and second roofings.

The sentences are our own; what a builder means by them is common practice, no published source.
"""

from __future__ import annotations

import pytest

from reviewer.answers.answer import answer
from reviewer.answers.compute import Desk
from reviewer.answers.read import read
from reviewer.answers.reading import Reading
from reviewer.model.section import Section


def _sections(reading: Reading) -> list[Section]:
    return [s for s in (reading.base, *(o.section for o in reading.options)) if s is not None]


def _texts(section: Section) -> list[str]:
    return [x.text for x in section.layers]


def _at(section: Section, word: str) -> int:
    return next(n for n, t in enumerate(_texts(section)) if word in t)


@pytest.mark.parametrize(
    "text",
    [
        "Vaulted ceiling in Helena MT: drywall, poly, 2x10 with R-30 batts, a 2 in slot over the batts open at the soffit and the ridge, OSB, shingles. ok?",
        "Cathedral, Spokane WA. pine boards, smart membrane, R-38 in 2x12s, a 2 inch gap below the plywood from eave to ridge, felt, slate. is it sound?",
        "Cabin roof in Ely MN: boards, poly, R-30 between 2x12 rafters, plywood deck, metal. Eave and ridge openings both. Safe?",
    ],
)
def test_what_opens_at_eave_and_ridge_is_a_vented_space_below_the_deck(text: str) -> None:
    (section,) = _sections(read(text)[0])
    assert section.kind == "roof"
    deck = next(n for n, x in enumerate(section.layers) if x.name in ("oriented strand board", "plywood"))
    assert _at(section, "batt") < _at(section, "vented") < deck


def test_battens_on_an_underlayment_leave_the_space_outside_of_it() -> None:
    (section,) = _sections(
        read(
            "Roof in Keene NH: drywall, 2x3 service cavity, smart membrane, 2x12 dense packed with cellulose, 2 in wood fiber board, "
            "vapor-open underlayment, counter battens, metal roofing. Will it last?"
        )[0]
    )
    assert _at(section, "underlayment") < _at(section, "vented") < _at(section, "metal roofing")
    assert _at(section, "gypsum") < _at(section, "air space") < _at(section, "variable")
    assert "oriented strand board" not in {x.name for x in section.layers}


@pytest.mark.parametrize(
    "text",
    [
        "Vented attic in Tucson, R-38 blown cellulose over the drywall, tile on OSB. May I staple a radiant barrier to the rafters?",
        "Can I hang perforated radiant foil from my rafters? Fresno CA, attic with soffit and ridge vents, blown fiberglass on the ceiling drywall.",
    ],
)
def test_a_foil_at_the_rafters_of_an_attic_hangs_in_it(text: str) -> None:
    for section in _sections(read(text)[0]):
        assert "12 in air space vented" in _texts(section)
        assert not any("2x" in t and "loose" in t for t in _texts(section))
    shown = _sections(read(text)[0])[-1]
    assert _at(shown, "12 in air space vented") < _at(shown, "perforated foil")


def test_a_foil_on_the_insulation_of_an_attic_lies_on_it() -> None:
    shown = _sections(
        read(
            "Someone offers to lay perforated foil on top of the attic insulation, R-30 loose cellulose, in Waco TX. Should we?"
        )[0]
    )[-1]
    assert _at(shown, "cellulose") < _at(shown, "perforated foil") < _at(shown, "12 in air space vented")


def test_a_second_roofing_goes_over_the_first() -> None:
    shown = _sections(
        read(
            "Can I screw standing seam over my asphalt shingles? Cathedral roof, R-30 batts, vent channel, plywood, Roanoke VA"
        )[0]
    )[-1]
    assert _texts(shown)[-2:] == ["asphalt shingle", "metal roofing"]


@pytest.mark.parametrize(
    ("ends", "text"),
    [
        (["modified bitumen", "liquid roof membrane"], "Flat roof in Mesa AZ: torch down on plywood, R-30 batts in the joists, drywall. Should I roll an elastomeric coating over it?"),
        (["epdm membrane", "liquid roof membrane"], "EPDM on 4 in polyiso on steel deck in Yuma AZ. May I add a white silicone coating?"),
    ],
)  # fmt: skip
def test_a_coat_on_a_roof_lies_outermost(ends: list[str], text: str) -> None:
    shown = _sections(read(text)[0])[-1]
    assert [x.name for x in shown.layers][-2:] == ends


def test_the_board_on_a_steel_deck_stays_below_the_retarder_and_the_insulation() -> None:
    (section,) = _sections(
        read("Roof of an office in Fargo ND: steel deck, gypsum roof board, self-adhered vapor retarder, 5 in polyiso, TPO. fine?")[0]
    )  # fmt: skip
    names = [x.name for x in section.layers]
    assert names == [
        "steel deck", "gypsum roof board", "self-adhered roof vapor retarder", "polyisocyanurate board", "tpo membrane"
    ]  # fmt: skip


def test_plaster_and_its_lath_are_one_layer_and_old_houses_have_old_paint() -> None:
    (section,) = _sections(
        read(
            "1910 house in Utica NY: oil paint, plaster + lath, 2x4 with R-13 batts, boards, felt, clapboards. safe?"
        )[0]
    )
    names = [x.name for x in section.layers]
    assert names[:2] == ["old oil paint", "plaster on wood lath"]
    assert "wood lath" not in names


def test_what_lies_on_an_attic_floor_already_stays_below_what_is_blown_over_it() -> None:
    shown = _sections(
        read(
            "The crew blows cellulose next week, vented attic, drywall ceiling, Erie PA. Should I lay poly over the old 4 inches of "
            "glass fiber batts first?"
        )[0]
    )[-1]
    names = [x.name for x in shown.layers]
    fiber = next(n for n, name in enumerate(names) if "glass fiber" in name)
    assert fiber < names.index("polyethylene sheet") < names.index("loose-fill cellulose")


def test_a_state_is_enough_where_all_of_its_zones_have_one_answer() -> None:
    text = "Crawl space in rural Missouri with bare dirt, oak floor on plywood, R-19 batts. Do I need poly on the dirt?"
    reply = answer(read(text)[0], Desk(brief=True))
    assert reply.status == "answered" and reply.direction == "yes"
    assert any("the same in each" in x for x in reply.more)


@pytest.mark.parametrize(
    ("names", "text"),
    [
        (["vinyl insulation facing", "glass fiber batt", "metal roofing"], "Metal building, Lubbock TX: 3 in fiberglass with vinyl facing over the purlins, metal roofing. Drips where the facing is torn. Why?"),
        (["latex paint", "gypsum board", "variable-permeance retarder", "dense-packed cellulose", "oriented strand board", "synthetic roof underlayment", "metal roofing"], "Low slope roof, Olympia WA, unvented: drywall, smart membrane, dense-packed cellulose in 2x12s, OSB, synthetic underlayment, standing seam. ok?"),
    ],
)  # fmt: skip
def test_a_metal_roof_has_the_layers_that_are_told_and_no_deck_is_made_up(
    names: list[str], text: str
) -> None:
    (section,) = _sections(read(text)[0])
    assert [x.name for x in section.layers] == names


@pytest.mark.parametrize(
    ("there", "gone", "text"),
    [
        ("R-38 glass fiber batt", "R-38 expanded", "New plywood and 3 in EPS over the old deck with R-38 below it, cathedral, Stowe VT, shingles on top. Enough?"),
        ("2 in spray foam roofing", "acrylic sheet", "Foam roof 2 in. with an acrylic coat on OSB, 2x10 joists with R-30, drywall, Yuma AZ. OK?"),
        ("R-19 glass fiber batt", "oriented", "Flat roof over a store in Tulsa, tar and gravel on a plank deck, R-19 on the drop ceiling. The deck rots. Why?"),
        ("polyisocyanurate", "glass fiber", "Timber frame roof in Stowe VT: glulam beams, 2x6 T&G deck, self-adhered membrane, 6 in polyiso, plywood, shingles. Is it safe?"),
        ("1 in air space vented", "3/4 in air space", "Attic conversion in Salem MA, 2x8 rafters, slate on boards: 1 in vent gap, R-21 batts, 2 in polyiso under the rafters, drywall. Good?"),
    ],
)  # fmt: skip
def test_amounts_go_to_what_they_are_told_of(there: str, gone: str, text: str) -> None:
    shown = " | ".join(_texts(_sections(read(text)[0])[0]))
    assert there in shown and gone not in shown


@pytest.mark.parametrize(
    ("names", "text"),
    [
        (["concrete", "fiberboard sheathing", "epdm membrane", "polyisocyanurate board", "tpo membrane"], "Recovering a roof in Gary IN: existing EPDM over 1 in fiberboard over a concrete deck, then 4 in polyiso and a new TPO. Trapped moisture?"),
        (["concrete", "epdm membrane", "extruded polystyrene board", "concrete paver"], "Roof in Halifax: 6 in concrete deck, EPDM, 4 in XPS, pavers. Does it need a vapor barrier?"),
        (["steel deck", "polyisocyanurate board", "epdm membrane", "roof ballast"], "Roof in Toledo OH: steel deck, 4 in polyiso, EPDM, stone ballast. Is it ok?"),
    ],
)  # fmt: skip
def test_roofings_lie_where_the_telling_has_them(names: list[str], text: str) -> None:
    shown = [x.name for x in _sections(read(text)[0])[0].layers]
    rest = iter(shown)
    assert all(any(name == wanted for name in rest) for wanted in names), shown


def test_numbers_before_concrete_and_boards_are_millimeters_in_canada() -> None:
    (section,) = _sections(
        read("Roof in Winnipeg MB: 150 concrete, 2 ply SBS, 100 XPS, gravel. Upside-down roof, ok at -35?")[0]
    )
    assert _texts(section) == [
        "150 mm concrete",
        "modified bitumen",
        "100 mm extruded polystyrene board",
        "roof ballast",
    ]
