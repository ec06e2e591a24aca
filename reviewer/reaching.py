"""Where a section holds: its verdict in every code zone and over a list of places. Frozen values, JSON and back."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from reviewer.advice import FindingLine, Versioned
from reviewer.result import Assumption, Disposition, SectionHead, Value

Regime = Literal["A", "B", "C", ""]
"""Moisture regime of a code zone: moist, dry, marine; empty where the code has no letter."""


HOME = "where it stands"
"""What is asked of the place that the section names itself."""


class Plane(Value):
    """The joint that decides, by monthly means."""

    layer: int
    """Place of the layer whose inner face it is."""
    name: str
    months_below_dew_point: int
    coldest: float
    """°C, mean of the coldest month."""
    dew_point: float
    """°C, of the room's air in that month."""
    condensate: float
    """Most condensate held there, kg/m²."""


class ReachLine(Value):
    """The verdict at one place."""

    asked: str
    """`zone 5A`, or the place as it was asked for."""
    place: str
    zone: str
    number: int | None
    regime: Regime
    edition: str
    disposition: Disposition
    holds: bool
    deciding: FindingLine | None
    """The finding that the verdict hangs on: the gravest, causes before their symptoms. None when nothing was found,
    or when too little is known."""
    margin: str = ""
    """Of the deciding finding."""
    because: str
    """Why, in a clause: `oriented strand board stays below the indoor dew point for three months`."""
    serious: int
    cautions: int
    findings: list[FindingLine] = Field(default_factory=list)
    """What is serious there, and what calls for caution."""
    plane: Plane | None = None
    coldest_month: float | None = None
    """°C, mean outdoors."""
    missing: list[str] = Field(default_factory=list)
    """What has to be found out before a verdict can be given there."""


class NoPlace(Value):
    """A zone of the code that was not reviewed."""

    zone: str
    why: str


class Reach(Versioned):
    section: SectionHead
    units: Literal["ip", "si"]
    home: str
    """Where the section stands, as its file says; empty when it doesn't."""
    indoor: str
    """The indoor condition kept everywhere."""
    edition: str
    """The code and edition kept everywhere: `IRC 2021`; `none`."""
    system: Literal["US", "NBC"]
    """Whose zones: of the US model codes, or of the National Building Code of Canada."""
    at_least: Disposition
    """The verdict that counts as holding."""
    zones: list[ReachLine]
    """By rising number and letter."""
    places: list[ReachLine]
    """In the order asked."""
    not_reviewed: list[NoPlace]
    claims: list[str] = Field(default_factory=list)
    """Zones that the section's file claims to hold in."""
    limit: str
    """How far the section holds, in a sentence."""
    limits: list[str]
    """The same by moisture regime, where the regimes differ."""
    assumptions: list[Assumption]
    cautions: list[str]
