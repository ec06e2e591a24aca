"""What the program advises: remedies and what each does. Frozen values, JSON and back."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import ConfigDict, Field

from reviewer.result import ClimateHead, Disposition, SectionHead, Severity, Value


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


class Proposal(Value):
    changes: list[ChangeLine]
    cost: float
    trades: list[str]
    side: str
    """`inside only`, `outside only`, `both sides`; empty when no layer is touched."""
    disposition: Disposition
    clears: list[FindingLine]
    leaves: list[FindingLine]
    causes: list[FindingLine]
    loses: list[FindingLine]
    """Credits of the section as it is that the changed one does not have."""
    margins: list[str]
    layers: list[str]
    patched: str
    """The section file with the changes made."""


class RemedyAdvice(Versioned):
    section: SectionHead
    climate: ClimateHead
    units: Literal["ip", "si"]
    disposition: Disposition
    findings: list[FindingLine]
    until: Disposition
    limits: list[str]
    """What the user asked to keep or to stay within."""
    cost_basis: str
    unpriced: list[str]
    proposals: list[Proposal]
    tried: int
    complete: bool
    """Every combination within the limits that costs less than the last proposal was tried."""
    summary: str
