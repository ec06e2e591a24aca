"""Vent a crawl space or close it: common practice, and what the rules find over each."""

from __future__ import annotations

import pytest

from reviewer.answers.answer import answer
from reviewer.answers.compute import Desk
from reviewer.answers.read import read


@pytest.fixture(scope="module")
def desk() -> Desk:
    return Desk(brief=True)


FLOOR = "plywood, oak floor, R-19 fiberglass batts in the joists, poly on the dirt"


def test_of_vented_and_closed_the_closed_one_is_named_in_a_humid_summer(desk: Desk) -> None:
    (reading,) = read(f"Vented crawl space in Raleigh, NC: {FLOOR}. Should we vent it or close it?")
    reply = answer(reading, desk)
    assert reply.direction == "choice"
    assert reply.answer.startswith("Unvented crawl space")


@pytest.mark.parametrize(("place", "direction"), [("Raleigh, NC", "yes"), ("Elko, NV", "no")])
def test_closing_is_advised_where_the_vents_bring_damp_and_not_where_they_bring_none(
    desk: Desk, place: str, direction: str
) -> None:
    (reading,) = read(f"Should we close the crawl space in {place}? It is vented, {FLOOR}.")
    assert answer(reading, desk).direction == direction


def test_a_layer_of_the_floor_that_is_left_out_is_no_matter_of_vents(desk: Desk) -> None:
    (reading,) = read(f"Vented crawl space in Raleigh, NC: {FLOOR}. Can I leave the batts out?")
    assert not answer(reading, desk).answer.startswith(("Yes, close", "No need to"))
