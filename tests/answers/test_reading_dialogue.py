"""Dialogues: each line changes one thing of the question before it, and nothing else."""

from __future__ import annotations

from reviewer.answers.read import read
from reviewer.answers.reading import Reading
from reviewer.model.section import Section


def names(section: Section | None) -> list[str]:
    return [] if section is None else [x.name for x in section.layers]


def texts(reading: Reading, name: str) -> list[str]:
    return [] if reading.base is None else [x.text for x in reading.base.layers if x.name == name]


def where(reading: Reading) -> str:
    place = reading.base.place if reading.base else None
    return "" if place is None else place.name or place.zone or ""


def talk(*lines: str) -> list[Reading]:
    found: list[Reading] = []
    for line in lines:
        found.append(read(line, before=found[-1] if found else None)[-1])
    return found


FIRST = "2x6 wall with fiberglass and plywood in Duluth, no foam outside. Can I skip the poly?"


def test_another_place_moves_the_section_and_every_option() -> None:
    first, second = talk(FIRST, "and in Chicago?")
    assert where(second) == "Chicago, IL"
    assert second.intent == first.intent == "leave out"
    assert names(second.base) == names(first.base)
    assert {o.section.place.name for o in second.options if o.section.place} == {"Chicago, IL"}


def test_another_layer_takes_the_place_of_the_one_of_its_part() -> None:
    _, second = talk(FIRST, "same wall with OSB")
    assert "oriented strand board" in names(second.base)
    assert "plywood" not in names(second.base)
    assert where(second) == "Duluth, MN"


def test_layers_are_put_on_taken_away_and_resized() -> None:
    _, wool, thick, bare = talk(
        FIRST, "what about with 2 inches of mineral wool outside", "what if it's 4 inches?", "no wrap?"
    )
    assert texts(wool, "mineral wool board") == ["2 in mineral wool board"]
    assert texts(thick, "mineral wool board") == ["4 in mineral wool board"]
    # type: ignore[union-attr]
    assert "house wrap" not in names(bare.base)
    assert "mineral wool board" in names(bare.base)


def test_an_own_question_about_the_same_section() -> None:
    _, second = talk(FIRST, "and do I need a rainscreen there?")
    assert second.intent == "need"
    assert "air space" not in names(second.options[0].section)
    assert "air space" in names(second.options[1].section)
    assert "plywood" in names(second.base)


def test_framing_and_room_change() -> None:
    _, frame, room = talk(FIRST, "with R-15 in 2x4s", "what if we run a humidifier")
    assert any("2x4" in text and "R-15" in text for text in texts(frame, "glass fiber batt"))
    assert room.base is not None
    assert room.base.indoor is not None
    assert room.base.indoor.name == "home, humidified"


def test_foam_of_the_other_kind_in_the_same_roof() -> None:
    _, closed, hot = talk(
        "open cell under the roof deck, 2x10 rafters, OSB, felt, shingles, drywall, Minneapolis. safe?",
        "same roof with closed cell?",
        "in zone 2A?",
    )
    assert "closed-cell spray foam" in names(closed.base)
    assert "open-cell spray foam" not in names(closed.base)
    assert where(hot) == "2A"


def test_a_whole_new_description_stands_for_itself() -> None:
    _, second = talk(
        FIRST, "Now a slab: 4 in concrete on gravel in Nashville, vinyl plank on top, no poly below. Safe?"
    )
    assert second.base is not None
    assert second.base.kind == "slab"
    assert where(second) == "Nashville, TN"
    assert "plywood" not in names(second.base)


def test_an_explanation_in_between_loses_nothing() -> None:
    first = read(FIRST)[-1]
    assert read("what is a perm?", before=first)[-1].intent == "what is"
