"""What a section's unknown and ranged layers may come to, and what is worth finding out first. Frozen values."""

from __future__ import annotations

from typing import Literal

from reviewer.values import Disposition, Severity, Value

Method = Literal["every combination", "low-discrepancy sample"]
Course = Literal["rises", "falls", "stays", "turns"]
"""How a number runs along a range: `turns` is neither rising nor falling throughout."""


class Share(Value):
    disposition: Disposition
    share: float
    """0–1, by the weights of the possibilities."""
    count: int
    """Possibilities reviewed that come to it."""


class Decider(Value):
    """A finding that possibilities hang on."""

    rule: str
    severity: Severity
    title: str
    share: float


class Answer(Value):
    """What is found, and what the verdict is then."""

    says: str
    """`plywood`, `8 to 9 in`."""
    text: str
    """The layer as it would be written: `1/2 in plywood`; empty where there would be none."""
    share: float
    """Of the possibilities, before anything is found out."""
    basis: str
    """Why it is a possibility: the source, or `common practice, no published source`."""
    verdicts: list[Share]
    settled: Disposition | None
    """The verdict, where it no longer hangs on anything else that is unknown."""
    decider: Decider | None
    """The finding that most of its possibilities hang on."""


class Question(Value):
    """One thing that is not known."""

    layer: int
    subject: str
    """`layer 4, sheathing`; `layer 2, thickness of common brick`."""
    quantity: str
    """`what it is`, `thickness`, `thermal resistance`, …"""
    dimension: str
    """Empty for `what it is`."""
    low: float | None
    high: float | None
    """Ends of a range, SI."""
    decides: float
    """0–1: how much of the doubt about the verdict goes when it is known."""
    decides_findings: float
    """0–1: the same for the list of findings."""
    find_out: str
    """What to open up or measure."""
    answers: list[Answer]


class Bound(Value):
    """The least and the most that a number comes to over the possibilities, as far as `how` says. SI."""

    name: str
    label: str
    dimension: str
    low: float
    high: float
    how: str
    """`at the ends of the ranges: it falls with …`, which bounds it, or `least and most of 80 points reviewed; …`."""


class Switch(Value):
    """Where along a range the verdict changes, all else as in the review."""

    layer: int
    quantity: str
    dimension: str
    at: float
    below: Disposition
    above: Disposition


class AssumptionMade(Value):
    what: str
    why: str


class Possibilities(Value):
    count: int
    """Possibilities reviewed."""
    of: int
    """Of how many; 0 where a range has no number."""
    method: Method
    shares: list[Share]
    """The gravest verdict first."""
    deciders: list[Decider]
    questions: list[Question]
    """What decides most first."""
    switches: list[Switch]
    bounds: list[Bound]
    not_varied: list[str]
    """What is unknown without a list of what it may be: nothing was taken for it."""
    assumptions: list[AssumptionMade]
    summary: str
    next: str
    """What to find out next, and what each answer decides."""


def percent(share: float) -> str:
    """A share for people; what is not nothing is never 0 %, what is not all never 100 %.

    >>> percent(0.5), percent(0.001), percent(0.999)
    ('50 %', 'under 1 %', 'over 99 %')
    """
    if 0 < share < 0.01:
        return "under 1 %"
    return "over 99 %" if 0.99 < share < 1 else f"{share * 100:.0f} %"
