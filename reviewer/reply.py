"""A reply to a question: frozen values, JSON and back. Every format of an answer is a pure function of them."""

from __future__ import annotations

from typing import Literal

from pydantic import ConfigDict, Field

from reviewer.advice import Versioned
from reviewer.result import Assumption, Disposition, Finding, LayerLine, Value

Intent = Literal[
    "safe here",
    "need",
    "cheapest",
    "how much",
    "which",
    "why not always",
    "what went wrong",
    "what is",
    "what to use",
    "leave out",
    "add",
]
Status = Literal["answered", "asked back", "referred", "not understood"]
Direction = Literal["yes", "no", "depends", "amount", "choice", "explanation", ""]
"""Of the first sentence: `yes` it is safe, is needed, may be left out, may be added; `no` the opposite;
`depends` on what the reply names; `amount`, `choice` and `explanation` where no yes or no was asked for."""


class WordReading(Value):
    start: int
    end: int
    """Characters of the question's text."""
    text: str
    sort: str
    """`material`, `place`, `quantity`, `kind`, `position`, `negation`, `question`, `role`, `framing`, `building`, …"""
    reads: str
    """What it was taken for: `oriented strand board`, `Duluth, MN`, `2x6 at 16 in`."""
    confidence: float = 1.0


class Refusal(Value):
    status: Status
    """`referred` or `not understood`."""
    why: str
    to: str = ""
    """The profession that it is referred to."""
    can: list[str] = Field(default_factory=list)
    """What can be asked instead, as questions."""


class AskedBack(Value):
    question: str
    why: str
    replies: list[tuple[str, str]] = Field(default_factory=list)
    """Where there are few: each possible answer, and the reply to the question that would follow from it."""


class OptionLine(Value):
    """One of the sections that an answer sets side by side."""

    label: str
    """`without polyethylene sheet`, `with plywood`."""
    disposition: Disposition
    says: str
    """The finding that decides about it, or that there is none."""
    margins: list[str] = Field(default_factory=list)
    layers: list[str] = Field(default_factory=list)
    cost: float | None = None
    """In the coarse order of costs, of getting there from the section as it is; None where that means nothing."""


class ZoneLine(Value):
    """The section in another climate zone."""

    zone: str
    place: str
    """The place whose climate stands for the zone."""
    disposition: Disposition
    says: str


class Reply(Value):
    model_config = ConfigDict(frozen=True, extra="forbid")
    question: str
    status: Status
    intent: Intent
    direction: Direction
    words: list[WordReading]
    assumed: list[Assumption]
    """What the question left open and how it was taken, with why that and not another."""
    unused: list[str]
    kind: str
    place: str
    layers: list[LayerLine]
    """The section as understood, from the room; empty where there is none."""
    units: Literal["ip", "si"]
    answer: str
    """The first sentence, which answers."""
    more: list[str] = Field(default_factory=list)
    """Further sentences: the numbers, one option against the other."""
    disposition: Disposition | None = None
    options: list[OptionLine] = Field(default_factory=list)
    """The sections compared, the preferred one first."""
    zones: list[ZoneLine] = Field(default_factory=list)
    """The same section from the warmest zone to the coldest, where the answer turns on the climate."""
    reasons: list[Finding] = Field(default_factory=list)
    dissent: list[str] = Field(default_factory=list)
    """Where rule of thumb, code and calculation disagree."""
    changes_it: list[str] = Field(default_factory=list)
    """What would change the answer."""
    better: list[str] = Field(default_factory=list)
    """The cheapest way to a better one."""
    check: list[str] = Field(default_factory=list)
    """What to look at on site."""
    asked: list[AskedBack] = Field(default_factory=list)
    refusal: Refusal | None = None
    grounds: list[Assumption] = Field(default_factory=list)
    """What the review of the section assumed besides: code, climate, indoor condition, usual thicknesses."""
    sources: list[str] = Field(default_factory=list)
    commands: list[str] = Field(default_factory=list)
    """Commands that show the computation behind it."""
    cautions: list[str] = Field(default_factory=list)


class Replies(Versioned):
    text: str
    replies: list[Reply]
