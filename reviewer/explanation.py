"""Why a rule fires on a section, or why it doesn't: a frozen value that serializes to JSON and back."""

from __future__ import annotations

from typing import Literal

from pydantic import ConfigDict, Field

from reviewer.result import CitationLine, SectionHead, Step, Value

State = Literal["stands", "defeated", "concludes", "silent", "not judged"]
"""Of a rule: its finding stands; another rule takes the place of its finding; it draws its conclusion;
it does not fire; or it can't be said, because a fact is not known."""


class FailedCondition(Value):
    condition: str
    text: str
    """What was found and what was asked, with the distance."""
    change: str
    """The smallest change of a fact that would make it hold: `… were at most 1 perm`."""
    fact: str = ""
    """`layer 3 permeance_wet`; empty where a fact is missing altogether."""
    found: float | str | None = None
    wanted: float | str | None = None
    distance: float | None = None
    """SI."""
    below: list[NearestMiss] = Field(default_factory=list)
    """Where a conclusion is missing: how far the rule that comes nearest to drawing it is."""


class NearestMiss(Value):
    """The facts that come nearest to firing a rule."""

    rule: str
    title: str
    holds: list[str]
    failed: list[FailedCondition]


class Given(Value):
    """A finding that a rule gives, or a conclusion that it draws, with the whole proof."""

    says: str
    severity: str
    """Empty for a conclusion."""
    layers: list[int]
    margin: str = ""
    symptom_of: list[str] = Field(default_factory=list)
    proof: list[Step]


class TakenBy(Value):
    """The rule whose finding takes the place of another."""

    rule: str
    title: str
    because: str


class Explanation(Value):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)
    schema_version: int = Field(default=1, alias="schema")
    asked: Literal["why", "why not"]
    section: SectionHead
    units: Literal["ip", "si"]
    rule: str
    title: str
    state: State
    answer: str
    """One or two sentences."""
    given: list[Given] = Field(default_factory=list)
    defeated_by: TakenBy | None = None
    missing: str = ""
    """What would have to be known."""
    nearest: NearestMiss | None = None
    citations: list[CitationLine] = Field(default_factory=list)
