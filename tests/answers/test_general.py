"""Questions of general knowledge: what a reader takes them for is common practice, no published source."""

from __future__ import annotations

import pytest

from reviewer.answers.answer import answer
from reviewer.answers.compute import Desk
from reviewer.answers.read import read


@pytest.mark.parametrize(
    ("text", "subject"),
    [
        ("at what humidity does mold grow?", "mold"),
        ("is EPS or XPS more vapor open", "permeance"),
        ("hows a perm measured", "perm"),
        ("flash and batt: what is it", "flash-and-batt"),
        ("what is the purpose of the air gap behind brick", ""),
        ("Is kraft paper a vapor barrier or a vapor retarder?", ""),
    ],
)
def test_what_is_nobody_s_wall_is_explained(text: str, subject: str) -> None:
    (reading,) = read(text)
    assert reading.intent == "what is"
    assert not reading.gaps
    assert not subject or (reading.subject is not None and reading.subject.name == subject)


@pytest.mark.parametrize(
    "text",
    [
        "Does my house wrap stop vapor in a 2x6 wall in Duluth?",
        "Is EPS or XPS better outside our wall in Chicago?",
        "should I put mineral wool behind brick",
        "Is the wall with XPS, OSB and fiberglass worse in zone 7?",
    ],
)
def test_what_is_somebody_s_wall_or_is_to_be_done_is_not(text: str) -> None:
    assert all(r.intent != "what is" for r in read(text))


def test_two_materials_asked_about_are_both_told() -> None:
    (reading,) = read("is EPS or XPS more vapor open")
    reply = answer(reading, Desk())
    assert reply.status == "answered"
    assert all(
        f"{name} board passes" in reply.answer.lower()
        for name in ("expanded polystyrene", "extruded polystyrene")
    )


@pytest.mark.parametrize(
    ("text", "concept"),
    [
        (
            'My inspector wrote "provide class III vapor retarder" on the plans. What is that?',
            "retarder-classes",
        ),
        ("The spec says vapor diffusion port at the ridge. What's that?", "vapor-diffusion-port"),
        ("The drawings call for a capillary break under the sill. What is it?", "capillary-break"),
    ],
)
def test_what_is_that_asks_for_what_was_named_before(text: str, concept: str) -> None:
    (reading,) = read(text)
    assert reading.intent == "what is"
    assert reading.subject is not None
    assert reading.subject.name == concept
