"""Amounts that no search finds: at what thickness foam is the retarder, and how deep furring is where nothing asks.

Sources: IRC 2021 Table R702.7(1), Class II up to 1 perm; NBC 2020 9.25.4.2, 60 ng (from memory); furring by common practice.
"""

from __future__ import annotations

import pytest

from reviewer.answers.answer import answer
from reviewer.answers.compute import Desk
from reviewer.answers.read import read
from reviewer.library.materials import load_materials
from reviewer.reply import Reply
from reviewer.units import PERM, parse


@pytest.fixture(scope="module")
def desk() -> Desk:
    return Desk(brief=True)


def ask(desk: Desk, text: str) -> Reply:
    return answer(read(text)[0], desk)


@pytest.mark.parametrize(
    ("place", "limit", "step"), [("Fargo, ND", PERM, "1/4 in"), ("Brandon, MB", 60e-12, "5 mm")]
)
def test_foam_is_its_own_retarder_at_its_permeability_over_the_limit(
    desk: Desk, place: str, limit: float, step: str
) -> None:
    text = f"How thick must closed cell foam be to act as its own vapor retarder on a wall in {place}? 2x6, OSB, vinyl siding."
    reply = ask(desk, text)
    assert reply.direction == "amount"
    least = parse(reply.answer.split(" of ")[0].removeprefix("At least "), "length").low
    foam = load_materials()["closed-cell spray foam"].permeability_dry
    assert foam is not None
    assert foam / least <= limit * (1 + 1e-6) < foam / (least - parse(step, "length").low)


def test_furring_that_nothing_asks_for_is_as_deep_as_furring_is(desk: Desk) -> None:
    wall = "drywall, smart vapor retarder, 2x6 R-21 fiberglass, plywood, house wrap, vented furring, fiber cement"
    reply = ask(desk, f"{wall}, Yakima, WA. How deep should the furring gap be?")
    assert reply.direction == "amount"
    assert "3/8 in" in reply.answer


@pytest.mark.parametrize(
    ("place", "told"),
    [
        ("Houston", ""),
        ("Kansas City", "R-10 along the edge, 4 ft down or inward"),
        ("Duluth", "R-10 along the edge, 4 ft down or inward"),
        ("Atlanta", "R-10 along the edge, 24 in down or inward"),
    ],
)
def test_the_edge_of_a_slab_is_told_for_heat_beside_moisture(place: str, told: str) -> None:
    """IRC 2021 Table N1102.1.3 (from memory): R-10 at slab edges, 2 ft in zone 3 and 4 ft from zone 4 on."""
    (reading,) = read(f"How much rigid insulation do I need under an unheated slab in {place}?")
    reply = answer(reading, Desk())
    assert reply.direction == "amount"
    assert reply.answer.startswith("None for moisture")
    assert (told in reply.answer) if told else ("edge" not in reply.answer)


@pytest.mark.parametrize(
    ("text", "foam", "least"),
    [
        (
            "how thick does spray foam need to be to count as vapor retarder",
            "closed-cell spray foam",
            "1-3/4 in",
        ),
        (
            "How thick does EPS have to be to be a class II vapor retarder?",
            "expanded polystyrene board",
            "3-1/2 in",
        ),
        ("how many inches of XPS is a vapor retarder?", "extruded polystyrene board", "1-1/4 in"),
    ],
)
def test_without_a_section_the_thickness_is_that_at_which_the_foam_passes_one_perm(
    text: str, foam: str, least: str
) -> None:
    """IRC 2021 Table R702.7(1) (from memory): Class II is at most 1 perm; the permeability over that is the thickness."""
    (reading,) = read(text)
    reply = answer(reading, Desk())
    assert reply.answer.startswith(f"At least {least} of {foam}")
    permeability = load_materials()[foam].permeability_dry
    assert permeability is not None
    thickness = parse(least, "length").low
    assert (
        permeability / thickness
        <= PERM * (1 + 1e-6)
        < permeability / (thickness - parse("1/4 in", "length").low)
    )
