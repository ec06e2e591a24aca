"""Questions for a figure of a section: its calculation's own, told with month and place.

The calculation is checked against ISO 13788 and handbooks in tests/physics; here its figures are compared with a steady-state
profile by hand (ISO 6946: the temperature falls in each layer by its share of the resistance).
"""

from __future__ import annotations

import pytest

from reviewer.answers.answer import answer
from reviewer.answers.compute import Desk
from reviewer.answers.read import read
from reviewer.reply import Reply
from reviewer.units import parse


def _reply(text: str) -> Reply:
    (reading,) = read(text)
    return answer(reading, Desk())


def test_how_cold_the_sheathing_gets_is_what_its_share_of_the_resistance_makes_it() -> None:
    (reading,) = read("What temp does the sheathing get down to in a 2x6 R-21 wall in Fargo?")
    reply = answer(reading, Desk())
    assert reading.base is not None
    result = Desk().result(reading.base)
    c = result.calculations
    k = c["monthly"]["months"].index(c["dew_point"]["month"])
    room, out = (c["monthly"][side]["temperature"][k] for side in ("indoor", "outdoor"))
    names = [x.name for x in result.layers]
    at = names.index("oriented strand board")
    resistances = [x.r_value or 0.0 for x in result.layers]
    inside, outside = 0.13, 0.04
    """Surface resistances of walls, m²·K/W: ISO 6946, Table 7 (from memory)."""
    whole = inside + sum(resistances) + outside
    by_hand = room - (room - out) * (inside + sum(resistances[:at])) / whole
    told = next(w for w in reply.answer.split(" gets down to ")[1].split(" in "))
    assert parse(told, "temperature").low == pytest.approx(by_hand, abs=0.6)
    assert "January" in reply.answer
    assert "Fargo, ND" in reply.answer
    assert reply.direction == "amount"
    assert any("dew point" in m for m in reply.more)


def test_how_much_condenses_names_the_plane_and_whether_it_dries() -> None:
    reply = _reply(
        "How much condensation would I get in winter in a 2x6 wall with no vapor barrier in Fairbanks?"
    )
    assert "between glass fiber batt and oriented strand board" in reply.answer
    assert reply.more[0].startswith("It dries") or reply.more[0].startswith("It does not dry")


def test_behind_a_sheet_none_condenses_by_diffusion_and_leaks_are_named() -> None:
    reply = _reply(
        "How much condensation in a 2x6 R-21 wall with 6 mil poly behind the drywall, OSB, vinyl, in Duluth?"
    )
    assert "none by diffusion" in reply.answer
    assert "leaks" in reply.more[0]


def test_where_the_dew_point_is_names_the_face_that_it_matters_at() -> None:
    reply = _reply("Where is the dew point in a 2x6 wall with R-21 and 2 in polyiso outside in Duluth?")
    assert "glass fiber batt" in reply.answer
    assert "oriented strand board" in reply.more[0]


def test_how_damp_the_sheathing_gets_is_the_figure_of_the_calculation() -> None:
    (reading,) = read(
        "How wet does the sheathing get in a 2x6 R-19 wall in Minneapolis with kraft batts, plywood, brick?"
    )
    assert reading.base is not None
    wood = Desk().result(reading.base).calculations["wood_moisture"]
    most = max(max(w["monthly"]) for w in wood if w["name"] == "plywood")
    assert f"reaches {100 * most:.0f} % MC" in answer(reading, Desk()).answer


def test_a_follow_up_asks_for_the_same_figure_elsewhere() -> None:
    (first,) = read("What temp does the sheathing get down to in a 2x6 R-21 wall in Fargo?")
    (second,) = read("and in Houston?", before=first)
    reply = answer(second, Desk())
    assert "inner face of the oriented strand board" in reply.answer
    assert "Houston, TX" in reply.answer


def test_the_place_that_was_asked_back_gives_the_figure() -> None:
    (first,) = read("How much condensation in a 2x6 R-21 wall?")
    (second,) = read("Duluth", before=first)
    assert "between glass fiber batt and oriented strand board" in answer(second, Desk()).answer


def test_without_a_place_the_figure_is_asked_back() -> None:
    reply = _reply("How much condensation in a 2x6 R-21 wall?")
    assert reply.status == "asked back"


@pytest.mark.parametrize(
    "text",
    [
        "At what temp should I keep the room in Duluth so that a 2x6 R-21 wall stays dry?",
        "How warm does the sheathing need to be in Chicago to prevent mold, 2x6 R-21?",
    ],
)
def test_what_is_to_be_is_no_question_for_what_is(text: str) -> None:
    (reading,) = read(text)
    assert reading.subject is None or reading.subject.sort != "figure"
