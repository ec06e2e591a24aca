"""Sections side by side: layers, numbers, findings, climates, and what one buys over the other. Frozen values."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from reviewer.advice import FindingLine, Versioned
from reviewer.result import ClimateHead, Disposition, LayerLine, SectionHead, Severity, Value

Step = Literal["same", "changed", "added", "taken out"]
Moved = Literal["only before", "only after", "both", "graver", "milder"]


class Compared(Value):
    """One of the sections, where it stands."""

    letter: str
    """`A`, `B`, … in the order given."""
    name: str
    section: SectionHead
    climate: ClimateHead
    disposition: Disposition
    summary: str
    layers: list[LayerLine]


class LayerPair(Value):
    """A layer of the one beside a layer of the other, from the room outwards."""

    step: Step
    before: int | None
    after: int | None
    text_before: str
    text_after: str
    differs: list[str] = Field(default_factory=list)
    """Of two that stand for each other: `permeance when dry: 0.06 perms, 0.8 perms`."""


class Number(Value):
    """A quantity of every section, in the order given. SI."""

    name: str
    """`u_value`, `condensate_peak`, …"""
    label: str
    dimension: str
    values: list[float | None]
    better: Literal["lower", "higher", ""]
    """Which way is better; empty where neither is."""
    layers: list[str] = Field(default_factory=list)
    """Where it is the worst of several layers: which, in each section."""


class FindingPair(Value):
    """A finding of the one beside that of the other: of one rule, or of two of which one takes the place of the other
    and which differ in severity."""

    rule: str
    """Of the first that is there."""
    moved: Moved
    before: FindingLine | None
    after: FindingLine | None
    severity_before: Severity | None
    severity_after: Severity | None
    because: list[str] = Field(default_factory=list)
    """The facts that it rests on which differ: `gypsum board: permeance when dry: 40 perms, 5 perms`."""


class At(Value):
    """The verdicts in one climate, in the order of the sections."""

    asked: str
    place: str
    zone: str
    dispositions: list[Disposition]
    deciding: list[FindingLine | None]


class Pair(Value):
    """One section against the first."""

    before: int
    """Place in `sections`; 0 is the first."""
    after: int
    layers: list[LayerPair]
    findings: list[FindingPair]
    says: str
    """What the second buys over the first, and what it costs, in a sentence or two."""
    because: list[str]
    """Where the verdict moves: the facts that it moves by."""


class Comparison(Versioned):
    units: Literal["ip", "si"]
    sections: list[Compared]
    numbers: list[Number]
    pairs: list[Pair]
    """The first against each of the others."""
    climates: list[At]
    """The verdicts in the climates asked for beside those where the sections stand."""
    summary: str
    cautions: list[str]
