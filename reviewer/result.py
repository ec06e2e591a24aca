"""The result of a review: a frozen value that serializes to JSON and back.

Every report, answer and gate line is a pure function of it. `schema` is the version of this shape.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, Literal

from pydantic import ConfigDict, Field

from reviewer.flips import Flips
from reviewer.possibilities import Possibilities
from reviewer.values import Disposition, Severity, Value

SEVERITIES: tuple[Severity, ...] = ("serious", "caution", "note", "credit")
Origin = Literal["given", "looked up", "computed", "concluded", "assumed"]


class SectionHead(Value):
    id: str
    title: str
    kind: str
    file: str


class ClimateHead(Value):
    place: str
    zone: str
    edition: str
    """Code and edition that the zone and the code rules were taken from."""
    source: list[str]
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    hdd18: float | None = None


class FramingLine(Value):
    """The members that interrupt a layer. SI."""

    material: str
    width: float
    """The face of a member, m."""
    spacing: float
    """On center, m."""


class LayerLine(Value):
    """A layer as the drawing shows it. SI; None is unknown."""

    index: int
    text: str
    name: str
    thickness: float | None
    r_value: float | None
    permeance_dry: float | None
    permeance_wet: float | None
    roles: list[str]
    family: str
    framed: bool
    ventilated: bool
    unknown: bool
    temperature_outer: float | None
    """Winter-month temperature at the layer's outer face, °C."""
    humidity_outer: float | None
    """Highest monthly RH at the layer's outer face (0–1)."""
    condensing: bool
    """Condensate forms at the layer's outer face in some month."""
    line: int | None
    sources: dict[str, str] = Field(default_factory=dict)
    framing: FramingLine | None = None


class Evidence(Value):
    fact: str
    """`layer 3 permeance_wet`."""
    label: str
    """For people: `house wrap, permeance when damp`."""
    value: float | str
    unit: str
    dimension: str
    origin: Origin
    how: str
    source: str
    asked: str = ""
    """In a proof, what the rule asks of it: `at most 1 perm`."""


class CitationLine(Value):
    document: str
    edition: str = ""
    clause: str = ""
    kind: str = "common practice"
    certainty: str = "common practice"


class Remedy(Value):
    text: str
    change: dict[str, Any] = Field(default_factory=dict)
    """The change as data, for the remedy search; empty when it is advice only."""


class Step(Value):
    """A node of a proof."""

    rule: str
    says: str
    facts: list[Evidence]
    because: list[Step] = Field(default_factory=list)
    """The conclusions that it rests on."""
    citations: list[CitationLine] = Field(default_factory=list)


class Finding(Value):
    rule: str
    severity: Severity
    hazard: bool
    title: str
    explanation: str
    reason: str
    """Why it is this severe."""
    confidence: str
    layers: list[int]
    line: int | None
    evidence: list[Evidence]
    citations: list[CitationLine]
    remedies: list[Remedy]
    margin: str = ""
    voice: str = ""
    """`rule of thumb`, `code` or `calculation`."""
    symptoms: list[str] = Field(default_factory=list)
    defeated: list[str] = Field(default_factory=list)
    proof: list[Step] = Field(default_factory=list)
    waived: dict[str, str] | None = None


class Assumption(Value):
    what: str
    why: str
    affects: str = ""


class NotEvaluated(Value):
    rule: str
    title: str
    severity: str
    missing: str
    settle: str = ""
    """What has to be found out for an answer: the reasons why the facts are missing, joined by semicolons."""
    decisive: bool = False
    """The verdict can turn on it."""


class WorkLine(Value):
    """One line of a calculation: what it is of, the numbers put in, and what they come to."""

    of: str
    put_in: str
    """The formula with its numbers, ready for a hand calculator; empty for a value that is taken as it is."""
    result: str
    unit: str = ""
    trade: str = ""
    """The result in inch-pound units, where the trade has its own."""
    note: str = ""
    """Where the numbers come from."""


class Work(Value):
    """A calculation of the review, as a person would write it down. SI, symbols of ISO 9346."""

    title: str
    formula: str
    where: str
    """What the symbols mean."""
    numbers: list[WorkLine]
    result: str
    """What comes of it, in words."""
    source: str
    limits: str


CALCULATIONS = (
    "What was computed, in SI: m²·K/W, W/(m²·K), °C, Pa, kg/m², fractions; lists of 12 run from January. "
    "`monthly` holds the profiles through the section: at each joint temperature, vapor_pressure, saturation, "
    "humidity, condensation and held (condensate at the month's end); under `surfaces` the same of the room-side and the "
    "outer face. `wood_moisture` is by month, its `wood_limits` beside it. `mold` holds the index at the end of "
    "each month of several years for the joints where any grows, with the limit and its source. A calculation that "
    "could not be made is left out."
)


class Result(Value):
    schema_version: int = Field(default=1, alias="schema")
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)
    program: str
    engine: str
    section: SectionHead
    climate: ClimateHead
    units: Literal["ip", "si"]
    disposition: Disposition
    summary: str
    layers: list[LayerLine]
    findings: list[Finding]
    calculations: dict[str, Any] = Field(description=CALCULATIONS)
    assumptions: list[Assumption]
    not_evaluated: list[NotEvaluated]
    cautions: list[str]
    work: list[Work] = Field(default_factory=list)
    """Every calculation with its numbers; empty unless asked for."""
    possibilities: Possibilities | None = None
    """What unknown and ranged layers may come to; None where there are none, or when it was not asked for."""
    flips: Flips | None = None
    """What flips the verdict soonest; None unless asked for."""


def verdict(live: Collection[str], undecided: bool) -> Disposition:
    """The verdict on a section from the severities of its findings that are not waived, and from whether a rule
    that could decide it had no answer.

    >>> verdict({"caution", "credit"}, undecided=True)
    'incomplete'
    """
    if "serious" in live:
        return "revise and resubmit"
    if undecided:
        return "incomplete"
    return "make corrections noted" if "caution" in live else "no exceptions taken"
