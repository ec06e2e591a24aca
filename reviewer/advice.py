"""What the program advises: remedies with what each does, and least amounts. Frozen values, JSON and back."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import ConfigDict, Field

from reviewer.result import ClimateHead, Disposition, SectionHead, Severity, Value

Merit = Literal[
    "cheapest", "fewest cautions", "fewest trades", "inside only", "outside only", "no layer touched"
]
Voice = Literal["code", "rule of thumb", "calculation", "all together"]


class Versioned(Value):
    schema_version: int = Field(default=1, alias="schema")
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)
    program: str


class FindingLine(Value):
    rule: str
    severity: Severity
    title: str
    layers: list[int] = Field(default_factory=list)


class ChangeLine(Value):
    says: str
    """`put house wrap, taped outside of layer 5, oriented strand board`."""
    change: list[dict[str, Any]]
    """As data, places of the section's layers as it is now."""
    source: str
    """The rule that proposes it, or `common practice`."""
    trade: str
    side: str
    """The side that it is done from: inside, outside, or empty."""
    cost: float
    states: str = ""
    """What the changed file says that holds only once the work is done and looked at:
    `known: water entry: none`. Empty where only layers change."""


class Margin(Value):
    """How far the section is from trouble, as it is and as changed."""

    what: str
    before: str
    """Empty where it could not be calculated."""
    after: str


class Proposal(Value):
    changes: list[ChangeLine]
    cost: float
    """Of all changes, and of opening up and putting back."""
    opening: float = 0.0
    """The part of it that getting at the layers takes: opening up and putting back, digging down."""
    opened: list[int] = Field(default_factory=list)
    """Places of the layers, as it is, that come off for it."""
    getting_at: str = ""
    """The same in words: `open up layers 1 and 2, and put them back`; empty where nothing is in the way."""
    trades: list[str]
    side: str
    """`inside only`, `outside only`, `both sides`; empty when no layer is touched."""
    disposition: Disposition
    merits: list[Merit]
    """Why it is shown."""
    proven: bool
    """Every combination within the limits that costs less was tried, and none passes with as few cautions."""
    clears: list[FindingLine]
    leaves: list[FindingLine]
    causes: list[FindingLine]
    loses: list[FindingLine]
    """Credits of the section as it is that the changed one does not have."""
    margins: list[Margin]
    layers: list[str]
    patched: str
    """The section file with the changes made."""


class ToFindOut(Value):
    """Something that is not known and that the verdict can turn on."""

    what: str
    decides: list[str]
    """Rules that wait for it."""


class Unmoved(Value):
    """A serious finding that no change tried clears."""

    finding: FindingLine
    why: str
    """What happens there, physically, in the rule's words."""
    advice: list[str]
    """What the rule advises that is no change of the section."""


class RemedyAdvice(Versioned):
    section: SectionHead
    climate: ClimateHead
    units: Literal["ip", "si"]
    disposition: Disposition
    findings: list[FindingLine]
    """Serious ones and cautions, as it is."""
    until: Disposition
    limits: list[str]
    """What the user asked to keep or to stay within."""
    cost_basis: str
    unpriced: list[str]
    proposals: list[Proposal]
    """Cheapest first."""
    tried: int
    complete: bool
    """Every combination within the limits that could stand on the front was tried."""
    to_find_out: list[ToFindOut] = Field(default_factory=list)
    """Of an incomplete section: nothing is changed on a guess."""
    unmoved: list[Unmoved] = Field(default_factory=list)
    """Where nothing works."""
    summary: str
    cautions: list[str] = Field(default_factory=list)


class LeastAnswer(Value):
    """The least amount by one voice."""

    voice: Voice
    asks: bool
    """False: this voice asks for nothing."""
    amount: float | None
    """SI; None where it asks nothing, or where no amount within the range clears."""
    shown: str
    """`1.62 in`, `0.9 perms`; empty without an amount."""
    also: str = ""
    """The same amount in other words: `R-8.1`, `31 % of the R-value`."""
    stock: str = ""
    """The next stock size that still passes: `2 in`; empty where none does."""
    stock_also: str = ""
    most: str = ""
    """Where it clears only up to an amount, or down to one: that amount."""
    once: str = ""
    """Where none is asked for, but the least of what is there once there is some: that amount."""
    criterion: str = ""
    """What the voice goes by, where that is no finding."""
    clears: list[FindingLine]
    """What it clears by this voice: just short of the amount, at least one of these stands."""
    leaves: list[FindingLine]
    """Findings by this voice that no amount moves."""
    sources: list[str]
    """Of the rules that ask for it, with their certainty."""
    says: str
    """A sentence for people."""


class HeatAnswer(Value):
    """What the energy code's table asks for: beside moisture, and with other ways to comply."""

    amount: float
    """SI."""
    shown: str
    """The stock size where there is one."""
    also: str
    """Its R-value."""
    source: str


class LeastAdvice(Versioned):
    section: SectionHead
    climate: ClimateHead
    units: Literal["ip", "si"]
    disposition: Disposition
    what: str
    """`exterior insulation`."""
    varied: str
    """What is varied, and where: `extruded polystyrene board outside of layer 5, house wrap, 0 to 10 in`."""
    dimension: str
    """Of `amount`: `length`, `permeance`, `fraction`."""
    now: str
    """The amount that is there; `none`."""
    answers: list[LeastAnswer]
    heat: HeatAnswer | None = None
    cautions: list[str]
    summary: str
