"""What the facts take layers for where a line of layers leaves it open, each told as an assumption or plain from the order.

Code clauses: IRC 2021 R702.7 (from memory of the document). The rest is common practice, no published source.
"""

from __future__ import annotations

from typing import Any

import pytest

from reviewer.facts.book import Book
from reviewer.facts.build import build
from reviewer.model.parse import section_from_line


def book(line: str, kind: str = "wall", place: str = "Chicago, IL") -> Book:
    return build(section_from_line(line, kind=kind, place=place))[0]


def layer(found: Book, index: int) -> dict[str, Any]:
    return found.by_id()[f"layer:{index}"].fields


def section(found: Book) -> dict[str, Any]:
    return next(r for r in found.records if r.kind == "section").fields


FRAME = (
    "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-21 glass fiber batt | 7/16 in OSB | house wrap"
)


def test_one_wythe_of_brick_outside_of_a_frame_is_its_cladding_and_that_is_said() -> None:
    found = book(f"{FRAME} | 1 in air space | brick")
    assert (layer(found, 6)["cladding"], layer(found, 6)["structure"]) == ("yes", "no")
    assert any("a veneer" in a.what for a in found.assumptions)


@pytest.mark.parametrize(
    "line",
    [
        "latex paint | 1/2 in gypsum board | 2 in closed-cell spray foam | 12 in brick",
        f"{FRAME} | 1 in air space | 8 in brick",
    ],
)
def test_thick_masonry_carries_the_wall(line: str) -> None:
    found = book(line)
    last = max(int(r.fields["index"]) for r in found.records if r.kind == "layer")
    assert (layer(found, last)["cladding"], layer(found, last)["structure"]) == ("no", "yes")


def test_insulation_on_an_attic_floor_lies_as_deep_as_its_resistance_takes() -> None:
    found = book("1/2 in gypsum board | 2x6 @ 24 in with R-38 blown glass fiber | vented attic", "roof")
    blown = layer(found, 1)
    assert blown["thickness"] == pytest.approx(blown["r_value"] * blown["conductivity"], rel=1e-6)
    assert blown["thickness"] > 0.2
    assert "overfilled" not in blown
    assert any("over the framing" in a.what for a in found.assumptions)


def test_a_frame_left_empty_has_what_lies_outside_of_it_as_continuous_insulation() -> None:
    studs = "latex paint | 5/8 in gypsum board | 6 in air space framed steel studs @ 16 in | 1/2 in exterior gypsum sheathing"
    enough = book(f"{studs} | 2 in mineral wool board | stucco")
    short = book(f"{studs} | 1 in mineral wool board | stucco")
    # 2x6 column of Table R702.7(3) in zone 5.
    for found, met in ((enough, "yes"), (short, "no")):
        allowed = next(r for r in found.records if r.fields.get("topic") == "class III allowed").fields
        assert allowed["met"] == met
        assert allowed["r_needed"] == pytest.approx(7.5 / 5.678263, rel=1e-3)


def test_boards_that_let_air_through_are_no_vapor_retarder() -> None:
    boards = "tongue and groove paneling | 2x6 @ 16 in with R-21 glass fiber batt | 1/2 in plywood"
    assert section(book(boards))["interior_class"] == "none"
    assert (
        section(book("latex paint | 1/2 in gypsum board | " + boards.partition(" | ")[2]))["interior_class"]
        == "III"
    )


def test_a_cavity_is_full_that_foam_and_batt_fill_together() -> None:
    flash = "latex paint | 1/2 in gypsum board | 2x6 studs with 3 in glass fiber batt | {} | 1/2 in plywood"
    assert layer(book(flash.format("2.5 in closed-cell spray foam")), 2)["underfilled"] == pytest.approx(
        0, abs=1e-9
    )
    assert layer(book(flash.format("2.5 in mineral wool board")), 2)["underfilled"] == pytest.approx(
        0.0635, abs=1e-4
    )


def test_rain_harms_wood_that_it_reaches_and_nothing_between_a_membrane_and_foam() -> None:
    behind = "latex paint | 5/8 in gypsum board | 6 in steel studs @ 16 in with R-19 glass fiber batt | {} | 2 in air space | brick veneer"
    wood = book(behind.format("1/2 in plywood | house wrap | 1 in extruded polystyrene"))
    none = book(
        behind.format("1/2 in exterior gypsum sheathing | self-adhered membrane | 3 in extruded polystyrene")
    )
    for found, harms in ((wood, "yes"), (none, "no")):
        assert next(r for r in found.records if r.kind == "rain").fields["harms"] == harms


def test_what_the_code_says_of_the_retarder_is_a_fact_of_its_own() -> None:
    vented = f"{FRAME} | 3/8 in air space vented top and bottom | wood siding"
    foam = f"{FRAME} | 1 in foil-faced polyisocyanurate board | vinyl siding"
    assert section(book(vented))["retarder_by_code"] == "met"
    assert section(book(foam))["retarder_by_code"] == "missing"
    assert section(book(vented, place="Atlanta, GA"))["retarder_by_code"] == "none asked"
    assert section(book(vented, place="Toronto, ON"))["retarder_by_code"] == "missing"
    sheet = vented.replace("1/2 in gypsum board | ", "1/2 in gypsum board | 6 mil polyethylene | ")
    assert section(book(sheet, place="Toronto, ON"))["retarder_by_code"] == "met"


def test_the_table_of_framed_walls_is_not_asked_of_straw_between_posts() -> None:
    """IRC Appendix AS (S in 2015) on straw-bale walls: finishes open to vapor (from memory)."""
    straw = book("clay plaster | 2x6 @ 24 in with 18 in straw bale | lime plaster")
    fiber = book("clay plaster | 2x6 @ 24 in with R-21 glass fiber batt | lime plaster")
    asked = {"interior retarder needed", "class III allowed"}
    for found, table, topics in ((straw, "none asked", set()), (fiber, "missing", asked)):
        assert section(found)["retarder_by_code"] == table
        assert {r.fields["topic"] for r in found.records if r.kind == "requirement"} & asked == topics


def test_foam_and_batt_between_the_same_members_leave_no_part_of_the_cavity_empty() -> None:
    line = "latex paint | 1/2 in gypsum board | 3.5 in glass fiber batt, 2x6 @ 16 in | {} | 1/2 in plywood"
    both = book(line.format("2 in closed-cell spray foam, 2x6 @ 16 in"))
    alone = book(line.format("asphalt felt"))
    assert layer(both, 2)["underfilled"] == pytest.approx(0.0, abs=1e-9)
    assert layer(alone, 2)["underfilled"] == pytest.approx(2 * 0.0254)


@pytest.mark.parametrize(
    ("kind", "line"),
    [
        ("wall", "drywall | {} | 1/2 in OSB | vinyl siding"),
        ("foundation wall", "drywall | {} | 8 in concrete | soil"),
        ("roof", "drywall | {} | OSB | asphalt shingles"),
        ("roof", "drywall | {} | vented attic"),
        ("floor", "plywood | {} | vented crawl space"),
        ("slab", "4 in concrete | {} | gravel bed"),
    ],
)
@pytest.mark.parametrize("thick", ["16 ft fiberglass", "32 ft polyisocyanurate"])
def test_feet_typed_for_inches_are_reviewed_and_not_a_crash(kind: str, line: str, thick: str) -> None:
    """A layer may be 10 m thick; its resistance is then beyond what any building has, and the heat balances hold there."""
    u = section(book(line.format(thick), kind, "Duluth, MN"))["u_value"]
    assert 0.0 < u < 0.06
