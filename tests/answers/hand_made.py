"""Readings made by hand, so that answering is tested without reading."""

from __future__ import annotations

from reviewer.answers.reading import Gap, Option, Reading, Subject, Taken
from reviewer.model.parse import section_from_line
from reviewer.model.section import Section
from reviewer.reply import Intent, WordReading

FRAMED = (
    "latex paint | 1/2 in gypsum board | {inside}2x6 @ 16 in with R-21 glass fiber batt | {sheathing} | house wrap | "
    "{outside}{cladding}"
)
POLY = "6 mil polyethylene, sealed | "


def wall(
    place: str | None = "Duluth, MN",
    *,
    zone: str | None = None,
    inside: str = "",
    sheathing: str = "7/16 in OSB",
    outside: str = "",
    cladding: str = "fiber-cement siding",
) -> Section:
    line = FRAMED.format(inside=inside, sheathing=sheathing, outside=outside, cladding=cladding)
    return section_from_line(line, kind="wall", place=None if zone else place, zone=zone)


def about(
    intent: Intent,
    base: Section | None = None,
    options: tuple[Option, ...] = (),
    subject: Subject | None = None,
    gaps: tuple[Gap, ...] = (),
    taken: tuple[Taken, ...] = (),
    confidence: float = 1.0,
    text: str = "the question",
    told: tuple[str, ...] = (),
) -> Reading:
    words = tuple(
        WordReading(start=n, end=n + 1, text=x, sort="material", reads=x) for n, x in enumerate(told)
    )
    return Reading(text, intent, words, (), base, options, subject, taken, gaps, None, confidence)


def with_poly(
    intent: Intent, place: str | None = "Duluth, MN", gaps: tuple[Gap, ...] = (), **parts: str
) -> Reading:
    """Without and with polyethylene inside."""
    without, given = wall(place, **parts), wall(place, inside=POLY, **parts)
    options = (Option("without polyethylene sheet", without), Option("with polyethylene sheet", given))
    return about(intent, without, options, Subject("material", "polyethylene sheet"), gaps)
