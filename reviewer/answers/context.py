"""Dialogues: a question that leans on the one before it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from reviewer.answers.reading import Gap, Option, Reading
from reviewer.errors import InputError
from reviewer.model.parse import section_from_line
from reviewer.model.section import Section
from reviewer.reply import WordReading

if TYPE_CHECKING:
    from reviewer.answers.scene import Scene


def at_place(section: Section, where: str) -> Section | None:
    """A section moved to a place, or to a zone (`zone 6A`)."""
    zone = where.removeprefix("zone ") if where.startswith("zone ") else None
    try:
        moved = section_from_line("air space", kind="wall", place=None if zone else where, zone=zone)
    except InputError:
        return None
    return replace(section, place=moved.place)


def follow(
    text: str,
    unit: Any,
    scene: Scene,
    before: Reading,
    words: tuple[WordReading, ...],
    unused: tuple[str, ...],
    confidence: float,
) -> Reading | None:
    """The reading of a question that changes one thing of the one before; None where it stands for itself."""
    where = scene.setting.place or (f"zone {scene.setting.zone}" if scene.setting.zone else "")
    if before.base is None or not where or scene.mentions or scene.framed:
        return None
    base = at_place(before.base, where)
    options = tuple(
        Option(o.label, moved) for o in before.options if (moved := at_place(o.section, where)) is not None
    )
    gaps: tuple[Gap, ...] = tuple(g for g in before.gaps if g.what != "place")
    return replace(
        before, text=text[unit.start : unit.end], words=words, unused=unused, base=base, options=options, gaps=gaps,
        confidence=confidence, refusal=None,
    )  # fmt: skip
