"""What is read out of a question: frozen values between the reading and the answering of it.

A text is one or more questions; each becomes a `Reading`. A reading holds whole sections, so that answering is
computing: a review, two reviews and their difference, a remedy search, a table of zones, a look-up.
"""

from __future__ import annotations

from dataclasses import dataclass

from reviewer.model.section import Section
from reviewer.reply import Intent, Refusal, WordReading


@dataclass(frozen=True, slots=True)
class Option:
    """One of the sections that a question sets side by side."""

    label: str
    """In the asker's terms: `with polyethylene sheet`, `plywood`."""
    section: Section


@dataclass(frozen=True, slots=True)
class Subject:
    """What a question is about, beside or instead of a section."""

    sort: str
    """`material`, `role` (`vapor control`, `air barrier`, `insulation`, …), `concept`, `rule`, `finding`
    (what went wrong: `mold`, `condensation`, `frost`, `rot`, …), `property` (`permeance of plywood`), `quantity` (`60 ng`,
    to be told in the unit that stands as its position) or `figure` (of the section: `temperature`, `dew point`, …)."""
    name: str
    """Id of the material, role, concept or rule; the word for a finding; the property and material."""
    position: str = ""
    """`inside`, `outside`, `between framing`, `against masonry`, or empty."""


@dataclass(frozen=True, slots=True)
class Gap:
    """Something that the question leaves open and that can decide the answer."""

    what: str
    """`place`, `kind`, `layers`, `sheathing`, `cladding`, `indoor`, or words that have two readings."""
    why: str
    """Why it matters, a sentence."""
    replies: tuple[tuple[str, Section], ...] = ()
    """Where there are few answers to it: each with the section that it makes."""


@dataclass(frozen=True, slots=True)
class Taken:
    """Something that was assumed, and why that and not another."""

    what: str
    why: str


@dataclass(frozen=True, slots=True)
class Reading:
    """One question as understood."""

    text: str
    intent: Intent
    words: tuple[WordReading, ...]
    """Every word or group of words that was read, in the order of the text; spans do not overlap."""
    unused: tuple[str, ...]
    """Words that carry meaning and were not used, for people to see."""
    base: Section | None
    """The section as described; None for a question about none, or where too little is said for one."""
    options: tuple[Option, ...] = ()
    """`need`, `add`, `leave out`: without and with the subject, in that order; `which`: one for each alternative."""
    subject: Subject | None = None
    taken: tuple[Taken, ...] = ()
    gaps: tuple[Gap, ...] = ()
    """Most decisive first. A question with gaps is asked back, at most three of them."""
    refusal: Refusal | None = None
    confidence: float = 1.0
    """The least of its words; below `reading.SURE` it is asked back and not answered."""
    whole: str = ""
    """All that was typed, also what came before in a dialogue; `text` is the question in it."""


SURE = 0.75
"""Confidence from which on a reading is answered."""
