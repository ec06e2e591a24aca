"""The cheapest that works: what stands is not torn out, what is bought counts, and a board for the ground is chosen.

Sources: NBC 2020 9.25.4.2 (60 ng) and IRC R702.7, from memory; the order of prices is common practice.
"""

from __future__ import annotations

import pytest

from reviewer.answers.answer import answer
from reviewer.answers.compute import Desk
from reviewer.answers.read import read
from reviewer.reply import Reply

WALL = "Drywall, 2x6 with unfaced fiberglass, OSB, house wrap, vinyl siding"


@pytest.fixture(scope="module")
def desk() -> Desk:
    return Desk(brief=True)


def ask(desk: Desk, text: str) -> Reply:
    return answer(read(text)[0], desk)


def test_what_is_not_to_come_off_stays(desk: Desk) -> None:
    wall = f"{WALL} in Duluth, MN, no retarder in it."
    kept = ask(desk, f"{wall} What is the cheapest way to fix it without tearing off the drywall?").answer
    assert "vapor retarder paint" in kept
    assert "polyethylene" in ask(desk, f"{wall} What is the cheapest way to fix it?").answer


def test_the_cheapest_vapor_barrier_is_the_one_that_costs_least_itself(desk: Desk) -> None:
    reply = ask(desk, f"What is the cheapest vapour barrier for this wall in Brandon, MB? {WALL}.")
    assert reply.answer.startswith("6 mil polyethylene")


def test_a_board_for_the_soil_side_is_chosen_and_the_dampproofing_left_on(desk: Desk) -> None:
    text = "Cheapest foam board to put outside the block foundation in Bangor, Maine? It has asphalt dampproofing on it."
    reply = ask(desk, text)
    assert "expanded polystyrene board" in reply.answer
    assert all("asphalt dampproofing" in o.layers for o in reply.options)
