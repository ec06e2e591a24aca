"""One layer and two places for it: both are drawn, next to what they are told beside, and the better one is named.

Directions checked against common practice, no published source: the retarder of a floor lies on the side of the heated
room (IRC R702.7 says the same of walls, from memory).
"""

from __future__ import annotations

import pytest

from reviewer.answers.answer import answer
from reviewer.answers.compute import Desk
from reviewer.answers.read import read
from reviewer.answers.reading import Reading


def _only(text: str) -> Reading:
    (reading,) = read(text)
    return reading


def _drawn(reading: Reading) -> list[list[str]]:
    return [[x.name for x in o.section.layers] for o in reading.options]


def test_a_sheet_over_or_under_the_foam_of_a_slab_is_drawn_on_either_face_of_it() -> None:
    r = _only(
        "Fargo ND slab: 4 in concrete, 3 in EPS, crushed stone. Should the 6 mil poly lie above the EPS or below it?"
    )
    assert r.intent == "which"
    over, under = _drawn(r)
    assert over.index("polyethylene sheet") == over.index("expanded polystyrene board") - 1
    assert under.index("polyethylene sheet") == under.index("expanded polystyrene board") + 1


def test_a_retarder_named_by_its_job_is_placed_as_the_layer_that_does_it() -> None:
    r = _only(
        "Boise slab: 4 in concrete, 2 in XPS, gravel. Is the 10 mil vapor retarder better under the XPS or over it?"
    )
    under, over = _drawn(r)
    assert under.index("slab vapor retarder") > under.index("extruded polystyrene board")
    assert over.index("slab vapor retarder") < over.index("extruded polystyrene board")


def test_two_people_who_each_want_one_of_the_places_are_weighed_by_a_bare_which() -> None:
    r = _only(
        "Calgary slab, 100 mm concrete, 75 mm EPS, gravel. My mason wants the poly beneath the EPS, my designer has it on top of the EPS. Which?"
    )
    assert [o.label.split(" the ")[0] for o in r.options] == [
        "polyethylene sheet beneath",
        "polyethylene sheet on top of",
    ]


@pytest.mark.parametrize("batts", ["R-30 kraft faced batts", "R-30 kraft batts"])
def test_the_facing_of_batts_goes_up_to_the_room_over_a_garage(batts: str) -> None:
    r = _only(
        f"Room over an unheated garage in Minneapolis: carpet, plywood, {batts} in 2x10 joists, drywall. Does the kraft paper face up or down?"
    )
    up, down = _drawn(r)
    assert up.index("kraft paper") < up.index("glass fiber batt")
    assert down.index("kraft paper") > down.index("glass fiber batt")
    reply = answer(r, Desk(brief=True))
    assert reply.direction == "choice"
    assert reply.answer.startswith("Kraft paper facing up")


def test_two_layers_in_two_places_are_no_two_places_of_one() -> None:
    r = _only(
        "Duluth slab, 4 in concrete, gravel. Is poly over the gravel better, or XPS under the concrete?"
    )
    assert not any("over" in o.label or "under" in o.label for o in r.options)


def test_which_side_a_sheet_goes_on_is_drawn_on_both_sides_of_the_insulation() -> None:
    r = _only(
        "Winnipeg, 2x6 wall: drywall, R-20 glass fiber batts, plywood, house wrap, vinyl. Which side does the poly go on?"
    )
    inside, outside = _drawn(r)
    assert inside.index("polyethylene sheet") < inside.index("glass fiber batt")
    assert outside.index("polyethylene sheet") > outside.index("glass fiber batt")
    reply = answer(r, Desk(brief=True))
    assert reply.answer.startswith("Polyethylene sheet on the room side")


def test_two_insulations_for_one_place_lie_there_both() -> None:
    r = _only("Mineral wool or EPS outside the sheathing of a 2x6 wall with R-21 batts in Bangor, Maine?")
    wool, foam = _drawn(r)
    at = wool.index("oriented strand board")
    assert wool.index("mineral wool board") > at
    assert foam.index("expanded polystyrene board") > at
    assert wool[:at] == foam[:at]


def test_what_goes_between_the_studs_is_chosen_of_what_fills_them() -> None:
    r = _only(
        "Racine, WI basement: 2 in XPS on the block, 2x4 studs, drywall. What should go between the studs?"
    )
    reply = answer(r, Desk(brief=True))
    assert reply.direction == "choice"
    assert any("batt" in o.label for o in reply.options)
    assert not any("2 in" in o.label for o in reply.options)


def test_taking_a_sheet_out_is_leaving_it_out() -> None:
    r = _only(
        "Should I pull out the poly when the drywall is off in Green Bay? 2x4, R-11, plywood, wood siding."
    )
    assert r.intent == "leave out"
    assert r.subject is not None and r.subject.name == "polyethylene sheet"


def test_a_pick_is_among_what_two_people_want() -> None:
    r = _only(
        "Stucco over OSB in Tacoma, 2x6, fiberglass, drywall. My lather wants felt; I want grade D paper. Who is right?"
    )
    assert r.intent == "which"
    assert len(r.options) == 2


def test_a_sheet_told_with_one_of_two_batts_belongs_to_it_alone() -> None:
    r = _only("Reno, 2x6, OSB, fiber cement: kraft faced batts, or unfaced batts with poly over them?")
    kraft, bare = _drawn(r)
    assert "polyethylene sheet" not in kraft
    assert "polyethylene sheet" in bare


def test_joists_stay_empty_where_the_other_choice_would_fill_them() -> None:
    r = _only(
        "Low slope roof in Chicago, plaster ceiling, plywood deck, EPDM. Should it be polyiso on top of the deck or fiberglass batts between the joists?"
    )
    foam, batts = _drawn(r)
    assert "glass fiber batt" not in foam
    assert "glass fiber batt" in batts


def test_the_insulation_of_a_question_is_the_one_that_was_named() -> None:
    reading = read(
        "Flat roof Toronto, concrete deck, 4 in polyiso, vapour barrier over or under the insulation?"
    )[-1]
    assert [o.label.rpartition(" the ")[2] for o in reading.options] == ["polyisocyanurate board"] * 2
    over, under = ([x.name for x in o.section.layers] for o in reading.options)
    retarder, board = "self-adhered roof vapor retarder", "polyisocyanurate board"
    assert over.index(board) < over.index(retarder)
    assert under.index(retarder) < under.index(board)


def test_a_sheet_under_one_layer_or_under_another_has_two_places() -> None:
    reading = read(
        "Knoxville slab, vinyl plank going on. Poly under the 4in gravel or directly under the concrete?"
    )[-1]
    low, high = ([x.name for x in o.section.layers] for o in reading.options)
    assert low.index("gravel bed") < low.index("polyethylene sheet")
    assert high.index("polyethylene sheet") == high.index("concrete") + 1


def test_a_layer_is_never_placed_beside_itself() -> None:
    for reading in read(
        "Slab in Detroit, 10 mil poly 2.5 in. XPS gravel. Should the poly, with the 2.5 in foam, go above or below the foam?"
    ):
        assert not any(o.label.count("extruded polystyrene board") > 1 for o in reading.options)
