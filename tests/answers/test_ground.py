"""Sheets on the soil of crawl spaces and under slabs: read as what they are, and as thick as the codes ask.

Sources: IRC 2021 R408.2, R408.3 and R506.2.3, NBC 2020 9.13.2 and 9.18.6, all from memory.
"""

from __future__ import annotations

import pytest

from reviewer.answers.answer import answer
from reviewer.answers.compute import Desk
from reviewer.answers.read import read
from reviewer.reply import Reply

FLOOR = "Oak floor, plywood, R-19 fiberglass batts, vented crawl space."


@pytest.fixture(scope="module")
def desk() -> Desk:
    return Desk(brief=True)


def ask(desk: Desk, text: str) -> Reply:
    return answer(read(text)[0], desk)


@pytest.mark.parametrize(
    ("text", "direction"),
    [
        (f"Should I cover the soil of my crawl space with poly in Knoxville, TN? {FLOOR}", "yes"),
        (f"Can I leave the poly off the ground in a crawl space in Boise, ID? {FLOOR}", "no"),
        (f"Should I staple plastic to the bottom of the joists in Atlanta, GA? {FLOOR}", "no"),
    ],
)
def test_a_sheet_on_the_soil_is_a_cover_and_one_at_the_joists_is_not(
    desk: Desk, text: str, direction: str
) -> None:
    assert ask(desk, text).direction == direction


@pytest.mark.parametrize(
    ("text", "thickness"),
    [
        ("How thick should the vapor barrier under my slab be in Dallas, TX? 4 in concrete, poly, gravel.", "10 mil"),
        ("How thick should the poly under a slab be in Halifax, NS? 100 mm concrete, poly, gravel.", "0.15 mm"),
        (f"How thick a ground cover do I need in the crawl space in Erie, PA? {FLOOR}", "6 mil"),
    ],
)  # fmt: skip
def test_how_thick_a_sheet_has_to_be_is_told_by_the_code_of_the_country(
    desk: Desk, text: str, thickness: str
) -> None:
    reply = ask(desk, text)
    assert reply.direction == "amount"
    assert f"At least {thickness}" in reply.answer


def test_a_slab_needs_a_sheet_where_there_is_heat_over_it_and_none_in_a_garage_without(desk: Desk) -> None:
    garage = ask(desk, "Does an unheated garage slab in Omaha, NE need poly? 4 in concrete, gravel.")
    assert garage.direction == "no"
    assert any("unheated" in x.what for x in garage.assumed)
    assert ask(desk, "Does a slab in Omaha, NE need poly? 4 in concrete, gravel.").direction == "yes"


def test_closed_cell_foam_under_a_floor_is_no_question_of_closing_the_crawl_space(desk: Desk) -> None:
    text = "Which is better under the floor over a vented crawl space in Mobile, AL, closed-cell foam or fiberglass batts? Oak floor, plywood subfloor."
    assert ask(desk, text).answer.startswith("Closed-cell spray foam")


def test_the_slab_of_an_old_house_is_looked_at_and_that_of_a_new_one_refused(desk: Desk) -> None:
    layers = "Laminate floor on 4 in concrete on gravel, no poly. Is it safe?"
    assert ask(desk, f"Pittsburgh, PA, new construction: {layers}").direction == "no"
    rules = {f.rule for f in ask(desk, f"Pittsburgh, PA, built 1955: {layers}").reasons}
    assert "foundation/slab-without-retarder" not in rules


@pytest.mark.parametrize(
    "told",
    [
        "We are pouring a detached workshop in Tulsa, OK and it will never be heated.",
        "Carport turned storage, no heat in there, Tulsa, OK.",
    ],
)
def test_that_a_room_has_no_heat_may_be_told_before_the_question(desk: Desk, told: str) -> None:
    reply = ask(desk, f"{told} 5 in concrete on gravel. Do I need poly under the concrete?")
    assert reply.direction == "no"
    assert any("unheated" in x.what for x in reply.assumed)


def test_the_canadian_code_asks_for_stone_under_a_floor_on_ground(desk: Desk) -> None:
    """NBC 2020 9.16.2.1, from memory; IRC R506.2.2 asks it below grade, and excepts soils that drain."""
    slab = "100 mm concrete, 0.25 mm poly, 75 mm XPS on clay soil. Do I need a gravel bed under the foam?"
    assert ask(desk, f"New house in Chilliwack, BC. {slab}").direction == "yes"


@pytest.mark.parametrize(
    "text",
    [
        "Crawl space under the den in Charleston, WV, exposed earth, joists moldy. Oak floor on plywood, nothing in the joists. What is the cheapest thing to do?",
        "Paducah, KY: vented crawl with a dirt floor under our kitchen, vinyl on plywood, R-13 batts, always musty. What is the cheapest fix?",
    ],
)
def test_the_cheapest_cure_of_a_damp_crawl_space_begins_with_its_soil(desk: Desk, text: str) -> None:
    """IRC 2021 R408.2, from memory; common practice."""
    reply = ask(desk, text)
    assert reply.direction == "choice"
    assert "polyethylene sheet" in reply.answer


def test_closing_a_crawl_space_and_covering_its_soil_are_answered_together(desk: Desk) -> None:
    text = "Can I close up the vents and lay a poly sheet over the dirt in our crawl space in Duluth, MN? Pine floor on plywood, R-19 batts."
    assert ask(desk, text).direction == "yes"
    cover = ask(
        desk, "Is a ground cover needed in a closed crawl space in Tupelo, MS? Pine floor on plywood."
    )
    assert cover.answer.startswith("Yes") and "ground cover" in cover.answer


def test_salts_on_a_slab_are_seen_and_their_absence_is_too(desk: Desk) -> None:
    """Common practice: efflorescence is the record of water that came up through the slab."""
    salts = ask(desk, "Basement slab in Erie, PA, poured 1962, white salts on it. Can I glue carpet on it?")
    assert salts.direction == "no"
    assert any(f.rule == "foundation/floor-on-slab-seen-damp" for f in salts.reasons)
    none = ask(desk, "Carpet on a 1962 basement slab in Erie, PA, no white salts anywhere. Is that ok?")
    assert not any(f.rule == "foundation/floor-on-slab-seen-damp" for f in none.reasons)


def test_a_slab_told_to_be_heated_is_one(desk: Desk) -> None:
    """NBC 2020 9.36.2.8, from memory: RSI 2.84 below a heated floor in zone 7A."""
    slab = "100 mm concrete, 0.15 mm poly, clean stone. How many mm of EPS below it?"
    assert "100 mm" in ask(desk, f"Radiant slab, Thunder Bay, ON. {slab}").answer
    assert "None for moisture" in ask(desk, f"Basement slab, Thunder Bay, ON. {slab}").answer


@pytest.mark.parametrize(
    ("told", "direction"),
    [
        ("it trickles in each spring", "no"),
        ("it seeps in one corner", "no"),
        ("no seepage since the new drain", "yes"),
        ("bone dry, never floods", "yes"),
    ],
)
def test_a_wall_that_water_still_comes_through_is_not_insulated(
    desk: Desk, told: str, direction: str
) -> None:
    text = f"Poured basement wall in Scranton, PA, {told}. Can I put 2 in of taped XPS and drywall on the inside?"
    assert ask(desk, text).direction == direction


def test_a_slab_poured_lately_is_let_dry_before_a_tight_floor(desk: Desk) -> None:
    slab = "Vinyl plank glued on 4 in concrete on 10 mil poly on gravel, Dayton, OH"
    assert ask(desk, f"{slab}. The slab was poured three weeks ago. Is it ok?").direction == "depends"
    assert ask(desk, f"{slab}. Is it ok?").direction == "yes"


def test_rooms_that_are_told_not_to_be_there_are_not(desk: Desk) -> None:
    roof = "Reroof in Akron, OH: steel deck, 4 in polyiso, TPO. Does it need a vapor retarder on the deck?"
    dry, humid = (ask(desk, f"{x} {roof}") for x in ("No pool in the building.", "Indoor pool below."))
    assert dry.direction != humid.direction
    assert humid.direction == "yes"


def test_a_heated_shop_without_radiant_heat_is_heated(desk: Desk) -> None:
    text = "Heated shop in Minot, ND, but not radiant heat, just a unit heater. 5 in concrete on gravel. Need poly under the slab?"
    assert ask(desk, text).direction == "yes"
    assert ask(desk, "Not a heated garage, Minot, ND. 5 in concrete on gravel. Need poly?").direction == "no"
