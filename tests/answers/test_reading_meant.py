"""Where layers lie that a text only half tells: by the members, the masonry or the list that they are told with.

Common practice, no published source, where none is named.
"""

from __future__ import annotations

import pytest

from reviewer.answers.answer import answer
from reviewer.answers.compute import Desk
from reviewer.answers.read import read
from reviewer.answers.reading import Reading
from reviewer.model.section import Section


def _section(text: str) -> Section:
    readings = read(text)
    r = readings[-1]
    s = r.base or r.options[-1].section
    assert s is not None
    return s


def _only(text: str) -> Reading:
    (reading,) = read(text)
    return reading


def _names(text: str) -> list[str]:
    return [x.name for x in _section(text).layers]


def _at(names: list[str], one: str, other: str) -> bool:
    """Whether a layer lies inside of another."""
    return names.index(one) < names.index(other)


@pytest.mark.parametrize(
    "text",
    [
        "Bismarck: 2x6 wall R-21, plywood, house wrap, 3 in mineral wool, furring, cedar siding. ok?",
        "2x8 walls RSI 4.9 in Prince George, OSB, house wrap, 89 mm mineral wool, rainscreen, fibre cement. ok?",
    ],
)
def test_wool_with_a_depth_after_the_sheathing_is_a_board_outside_of_it(text: str) -> None:
    names = _names(text)
    assert _at(names, "house wrap", "mineral wool board")
    assert "glass fiber batt" in names


def test_an_r_value_after_a_size_is_of_what_fills_the_members() -> None:
    s = _section("Basement in Duluth: poured concrete, 2 in XPS, 2x4 wall with R-13, drywall. ok?")
    board = next(x for x in s.layers if x.name == "extruded polystyrene board")
    assert board.r_value is None
    assert "glass fiber batt" in [x.name for x in s.layers]


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("Cathedral roof in Boise, closed cell foam under the plywood, then batts, drywall, shingles. How much foam?", "closed-cell spray foam"),
        ("Basement in Erie, block, 2 in EPS, drywall on strips; that is the only insulation. ok?", "expanded polystyrene board"),
    ],
)  # fmt: skip
def test_a_wide_word_for_what_is_told_beside_it_is_no_second_layer(text: str, named: str) -> None:
    names = _names(text)
    assert "extruded polystyrene board" not in names
    assert named in names


def test_people_of_a_trade_are_no_layers() -> None:
    names = _names(
        "Drywall, fiberglass, OSB, vinyl wall in Reno. The foam guy and the stucco crew both say fine. Safe?"
    )
    assert not {"stucco", "extruded polystyrene board", "closed-cell spray foam"} & set(names)


def test_strips_on_block_behind_a_lining_lie_on_the_room_side() -> None:
    names = _names("Tampa block house, stucco outside, furring, drywall. Is it ok as it is?")
    assert _at(names, "air space", "concrete block")


def test_stucco_on_wood_sheathing_has_two_papers_where_none_is_told() -> None:
    """IRC R703.7.3, from memory: two layers of paper, or the like, behind stucco on wood-based sheathing."""
    assert "two-layer grade d building paper" in _names(
        "2x4 wall in Tucson, R-13, OSB, stucco, drywall. Safe?"
    )


def test_wood_fiber_board_on_the_studs_is_the_sheathing() -> None:
    names = _names(
        "Eugene wall: 2x6 mineral wool, smart membrane, wood fiber board, furring, cedar siding. Good?"
    )
    assert "oriented strand board" not in names


def test_tile_backer_lies_on_the_room_side() -> None:
    names = _names("Shower wall in Provo: tile, tile backer, R-19, OSB, house wrap, vinyl. ok?")
    assert _at(names, "cement board", "glass fiber batt")


def test_plaster_in_and_out_lies_on_both_faces() -> None:
    assert _names("Hempcrete 14 inches, lime plaster in and out, Asheville. ok?") == [
        "lime plaster",
        "hempcrete",
        "lime plaster",
    ]


@pytest.mark.parametrize("told", ["under the joists", "stapled to the bottom of the joists"])
def test_a_sheet_under_the_joists_lies_under_their_insulation(told: str) -> None:
    names = _names(f"Floor over a garage in Fargo: oak, plywood, R-30 batts, poly {told}, drywall. ok?")
    assert _at(names, "glass fiber batt", "polyethylene sheet")


@pytest.mark.parametrize(
    "text",
    [
        "Contractor left the poly out. 2x6 wall in Ely, R-21, OSB, vinyl, drywall. Is that safe?",
        "We hung the drywall before the poly went up. 2x6 wall in Ely, R-21, OSB, vinyl. Is that safe?",
        "I want XPS on the concrete of a basement in Ely, then drywall, and leave the poly off it. Good?",
        "2x6 wall in Ely, R-21, foil polyiso outside of OSB, vinyl, drywall. Or is it the double vapor barrier trap?",
    ],
)
def test_a_sheet_that_is_not_there_is_not_drawn(text: str) -> None:
    assert "polyethylene sheet" not in _names(text)


def test_what_is_only_an_amount_in_a_question_does_not_fill_a_second_time() -> None:
    """The section under review is the one without what an amount is asked of, and no usual insulation in its place."""
    names = _names(
        "Fargo basement, bare concrete, foam glued on, drywall on furring. How thick should the XPS be?"
    )
    assert "glass fiber batt" not in names


def test_loose_fill_over_old_insulation_has_a_usual_amount() -> None:
    r = read("Attic in Moncton, 4 in of old fiberglass over poly and drywall. Can we blow cellulose on top?")[
        -1
    ]
    assert [x.name for x in r.options[1].section.layers][-3:] == [
        "blown glass fiber",
        "loose-fill cellulose",
        "vented attic",
    ]
    assert any("loose-fill cellulose" in t.what for t in r.taken)


def test_a_thing_without_a_place_in_the_section_is_asked_back() -> None:
    (r,) = read("Could I add carpet to a 2x6 wall in Duluth with R-21, OSB, vinyl, drywall?")
    reply = answer(r, Desk(brief=True))
    assert (reply.status, reply.direction) == ("asked back", "depends")
    assert "carpet" in reply.asked[0].question


def test_a_wall_that_passes_without_a_thing_that_has_no_place_needs_none() -> None:
    (r,) = read("Does a 2x4 wall in Tampa with R-13, OSB, house wrap, fiber cement and drywall need carpet?")
    reply = answer(r, Desk(brief=True))
    assert (reply.status, reply.direction) == ("answered", "no")


def test_closing_the_vents_of_an_attic_is_judged_at_its_deck() -> None:
    """IRC 2021 R806.5 (from memory): an attic whose vents are closed is an unvented one, which fiber alone may not be."""
    for text in (
        "Chicago, R-49 cellulose on the attic floor over drywall. Can I close off the attic vents?",
        "Can I block the soffit vents of my vented attic in Minneapolis? R-38 fiberglass on the ceiling, shingle roof.",
    ):
        reading = _only(text)
        closed, vented = (o.section for o in reading.options)
        assert reading.intent == "leave out"
        assert [x.text for x in closed.layers if x.space] == ["12 in air space"]
        assert [x.text for x in vented.layers if x.space] == ["12 in air space vented"]
        assert "concrete block" not in {x.name for x in closed.layers}
        reply = answer(reading, Desk())
        assert reply.direction == "no"
        assert "roof/unvented-fiber-only" in {f.rule for f in reply.reasons}


def test_vents_beside_others_that_are_there_are_more_vents_and_not_the_first() -> None:
    reading = _only(
        "Do I need a ridge vent in Boston, attic with R-38 batts on the ceiling, gable vents already there?"
    )
    assert {o.section.layers[-1].space for o in reading.options} == {"vented attic"}


def test_a_sentence_that_begins_with_no_after_a_question_says_what_is_not_there() -> None:
    for text, gone in (
        ("Duluth 2x6 wall, R-21, OSB, vinyl. Is it ok? No poly in it.", "polyethylene sheet"),
        (
            "Jackson, MS, house on piers, oak floor, plywood subfloor, R-19 fiberglass between joists. Add 1 in foil faced "
            "polyiso under the joists. Any objection? No plastic is in there now.",
            "polyethylene sheet",
        ),
    ):
        reading = _only(text)
        assert reading.base is not None
        assert gone not in {x.name for x in reading.base.layers}


def test_a_barrier_that_someone_says_to_forget_is_the_one_that_is_asked_about() -> None:
    reading = _only(
        "New build in Edmonton, Alberta. Ceiling is drywall, 18 inches of blown cellulose over, vented attic. My drywaller says "
        "forget the vapour barrier. Do I have to have a vapour barrier up there?"
    )
    without, with_ = ([x.name for x in o.section.layers] for o in reading.options)
    assert without.count("polyethylene sheet") == 0
    assert with_.count("polyethylene sheet") == 1
    assert "loose-fill cellulose" in without


def test_a_cavity_that_is_asked_for_last_lies_behind_the_cladding() -> None:
    reading = _only(
        "A duplex in Vancouver BC, from the inside: gypsum board, 6 mil poly, batts, plywood, building wrap, then fibre cement "
        "lap nailed to the wrap. Is a drained and vented cavity required?"
    )
    names = [x.name for x in reading.options[1].section.layers]
    assert names[-2:] == ["air space", "fiber-cement siding"]


def test_concrete_that_is_to_be_poured_is_new_work_and_takes_its_sheet_below() -> None:
    reading = _only(
        "pouring my shop floor saturday in Spokane. rock then concrete, epoxy on top after. heated w/ a mini split. concrete guy "
        "hates plastic, says leave it out. can i?"
    )
    assert reading.base is not None
    assert reading.base.building.work == "new"
    assert answer(reading, Desk()).direction == "no"


def test_a_sheet_on_the_soil_is_a_ground_cover_and_no_layer_of_the_floor() -> None:
    """IRC 2021 R408.1 (from memory): the soil of a crawl space is covered."""
    for text, intent, direction in (
        (
            "Seattle. Vented crawl space, bare dirt, fir floor over diagonal boards, R-25 fiberglass between the joists. I want to "
            "recommend a 6 mil black poly sheet on the soil, lapped. Any harm in adding it?",
            "add",
            "yes",
        ),
        ("Is it ok to leave crawl space ground bare in Tucson? R-19 batts in the floor.", "leave out", "no"),
    ):
        reading = _only(text)
        reply = answer(reading, Desk())
        assert (reading.intent, reply.direction) == (intent, direction)
        assert "foundation/crawl-bare-soil" in {f.rule for f in reply.reasons}


def test_a_garage_is_taken_without_heat_and_the_reply_says_so() -> None:
    """IRC R506.2.3, exceptions (from memory): garages and other unheated buildings need no sheet under their slab."""
    reply = answer(_only("Slab of a garage in Chicago: do I need a vapor retarder under it?"), Desk())
    assert reply.direction == "no"
    assert any("unheated" in a.what for a in reply.assumed)
    lived_in = answer(
        _only("Garage conversion in Chicago, new slab. Do I need a vapor retarder under it?"), Desk()
    )
    assert lived_in.direction == "yes"


@pytest.mark.parametrize(
    "text",
    [
        "In Berlin, Germany: 225 mm solid brick, 100 mm wood fibre, lime plaster. Is it safe?",
        "In London UK: 225 mm solid brick, 100 mm wood fibre, lime plaster. Is it safe?",
        "2x6 wall in Dublin, Ireland R-21, OSB, wrap, vinyl. is it safe",
    ],
)
def test_a_place_abroad_is_no_town_here_of_its_name(text: str) -> None:
    reply = answer(_only(text), Desk())
    assert reply.status == "asked back"
    assert reply.place == ""
    assert ["Where does it stand" in a.question for a in reply.asked] == [True]


def test_a_city_at_the_end_of_a_sentence_is_in_no_state_that_the_next_word_looks_like() -> None:
    section = _section("Low slope EPDM over 3 in polyiso on wood deck, Cleveland. OK?")
    assert section.place is not None
    assert section.place.name == "Cleveland, OH"


def test_foam_told_between_block_and_lining_lies_inside_of_the_block() -> None:
    names = _names(
        'Tampa FL, CMU block wall, 1x furring with foil faced polyiso 3/4", drywall, stucco. Is it ok?'
    )
    assert _at(names, "foil-faced polyisocyanurate board", "concrete block")


def test_foam_of_two_kinds_is_no_third_foam() -> None:
    reading = _only(
        "Madison WI, foam under the roof deck (plywood, shingles, no venting): 9 inches open cell, or 6 in. closed cell. Which?"
    )
    for option in reading.options:
        assert sum("foam" in x.name or "polystyrene" in x.name for x in option.section.layers) == 1
    assert answer(reading, Desk()).answer.startswith("Closed-cell spray foam")


@pytest.mark.parametrize(
    ("text", "to"),
    [
        (
            "There's grey pebbly stuff in our attic in Thunder Bay, looks like vermiculite. Does it have asbestos in it?",
            "abatement",
        ),
        (
            "2,400 sq ft house in Asheville, all electric. What size heat pump in tons do we need?",
            "heating and cooling",
        ),
        (
            "What would I expect to pay per sq ft to have 2 inch closed cell sprayed on a basement wall around Boise?",
            "estimator",
        ),
    ],
)
def test_what_others_answer_is_referred_to_them(text: str, to: str) -> None:
    reply = answer(_only(text), Desk())
    assert reply.status == "referred"
    assert to in reply.answer


def test_a_claim_of_what_always_happens_is_no_symptom() -> None:
    reading = _only(
        "A 300 mm double stud wall in Edmonton: drywall, smart membrane, dense pack cellulose, OSB, WRB, 19 mm vented cavity, wood "
        "siding. The client's friend says cold sheathing always rots. Is our wall robust for this climate?"
    )
    assert reading.intent == "safe here"


def test_an_overhang_of_the_roof_makes_no_roof_of_a_wall() -> None:
    reading = _only(
        "Three wythe brick wall from 1911 in Chicago, no roof overhang. A steel stud wall with R-13 fiberglass and 6 mil "
        "polyethylene behind the drywall inside. Is it ok?"
    )
    assert reading.base is not None
    assert reading.base.kind == "wall"


def test_of_two_things_put_on_the_block_one_is_picked_and_not_the_block() -> None:
    reply = answer(
        _only(
            "Buffalo. Cement block basement, finishing it. Big store guy says fiberglass batts right on the block, my brother says foam "
            "board glued on the block. Which is better for not getting mold?"
        ),
        Desk(),
    )
    assert reply.intent == "which"
    assert reply.answer.startswith("Extruded polystyrene board")


def test_nobody_asks_whether_the_block_is_needed() -> None:
    reply = answer(
        _only(
            "Ottawa, block foundation. I'm framing 2x4 walls against the block with R14 mineral wool and then drywall. Do I need "
            "something between the block and the wood?"
        ),
        Desk(),
    )
    assert "need a concrete block" not in reply.answer
    assert reply.direction == "no"
    assert "room air passes" in reply.answer
