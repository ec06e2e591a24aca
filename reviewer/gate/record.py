"""What passes between the parts of the gate, as values that serialize to JSON and back.

A task goes to a worker, a record comes back and can be cached: it knows nothing of the day, of waivers or of
the baseline. A detail is a record judged under the policy; all outputs are functions of details.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pydantic import Field

from reviewer.gate.limits import TIME_LIMIT
from reviewer.result import Disposition, Severity, Value

State = Literal["live", "waived", "known", "there before"]
"""live counts; waived by a waiver; known from the baseline; there before the change under review."""


@dataclass(frozen=True, slots=True)
class Task:
    """One section file to review, with all that its review depends on."""

    file: str
    """As shown, with forward slashes."""
    path: str
    """Absolute; what the section's own paths start from."""
    content: bytes
    zones: tuple[str, ...] = ()
    """Zones the policy asks for, beside those the section claims."""
    edition: str = ""
    units: str | None = None
    hourly: bool = False
    rules: tuple[str, ...] = ()
    facts: bool = False
    """Whether the record must hold the facts, for comparing two records."""
    limit: float = TIME_LIMIT
    """s that a worker may take over it."""


class Found(Value):
    """A finding, as far as a library of details needs it."""

    rule: str
    severity: Severity
    hazard: bool
    title: str
    explanation: str
    reason: str = ""
    confidence: str = ""
    voice: str = ""
    path: str = ""
    """Where it stands in the structure of the section, in names: `gypsum board/polyethylene sheet`."""
    layers: list[int] = Field(default_factory=list)
    line: int | None = None
    margin: str = ""
    authority: str = ""
    remedies: list[str] = Field(default_factory=list)
    rests_on: list[str] = Field(default_factory=list)
    """Names of the facts it rests on; only where facts were asked for."""


class Verdict(Value):
    """The verdict on a section at one place."""

    at: str
    """`as written`, or the zone that it was tried in: `zone 5A`."""
    place: str
    zone: str
    edition: str
    units: Literal["ip", "si"]
    disposition: Disposition
    undecided: list[str]
    """Rules that could decide the verdict and had no answer."""
    u_value: float | None
    r_value: float | None
    findings: list[Found]
    facts: dict[str, tuple[str, str]] = Field(default_factory=dict)
    """Name to label and value; only where facts were asked for."""


class Override(Value):
    """A property of a material that the section gives itself."""

    material: str
    property: str
    thickness: float | None
    low: float
    high: float
    shown: str
    line: int | None


class WaiverLine(Value):
    """A waiver of a section or of the policy, well-formed or not."""

    rule: str
    reason: str
    by: str
    until: str
    file: str
    line: int
    section: str = ""
    """For a policy's waiver: id of the section, or a pattern of ids."""
    problem: str = ""
    """What is wrong with it; such a waiver waives nothing."""


class Record(Value):
    """What came of reviewing one file."""

    file: str
    id: str = ""
    title: str = ""
    kind: str = ""
    claims: list[str] = Field(default_factory=list)
    """Zones the detail claims to hold in."""
    sameness: str = ""
    """Equal for details that differ in names and remarks only."""
    layers: list[str] = Field(default_factory=list)
    overrides: list[Override] = Field(default_factory=list)
    waivers: list[WaiverLine] = Field(default_factory=list)
    verdicts: list[Verdict] = Field(default_factory=list)
    reads: dict[str, str] = Field(default_factory=dict)
    """Other files the review read (path from the section's folder) and the digests of their content."""
    refused: list[str] = Field(default_factory=list)
    """Why the section can't be used, one message a problem."""
    failed: str = ""
    """Why there is no verdict although nothing is known to be wrong with the section."""

    @property
    def placed(self) -> bool:
        """Whether the section itself says where it stands."""
        return any(v.at == "as written" and v.place != "not stated" for v in self.verdicts)


class Judged(Found):
    """A finding under the policy."""

    state: State = "live"
    note: str = ""
    """Why it is in this state, or why its severity was changed."""
    waived: dict[str, str] | None = None
    """The waiver that covers it: by, until, reason, and whether it stands `in` the section or the policy."""
    fingerprint: str = ""
    """Equal from run to run as long as rule, section and structural path are."""


class JudgedVerdict(Value):
    at: str
    place: str
    zone: str
    edition: str
    units: Literal["ip", "si"]
    disposition: Disposition
    undecided: list[str]
    u_value: float | None
    r_value: float | None
    findings: list[Judged]


class Move(Value):
    """How the verdict at one place moved, and why."""

    at: str
    before: str
    after: str
    appeared: list[str]
    gone: list[str]
    because: list[str]
    """One fact a line: what it was and what it is."""


class Detail(Value):
    """One section file under the policy."""

    file: str
    id: str
    title: str
    kind: str
    claims: list[str]
    status: Literal["reviewed", "could not review", "removed"]
    problems: list[str] = Field(default_factory=list)
    verdicts: list[JudgedVerdict] = Field(default_factory=list)
    remarks: list[Judged] = Field(default_factory=list)
    """What the gate itself has to say: about waivers and about the library."""
    moves: list[Move] = Field(default_factory=list)
    fails: bool = False

    def findings(self) -> list[tuple[str, Judged]]:
        """Every finding with the place it was made at, remarks last."""
        made = [(v.at, f) for v in self.verdicts for f in v.findings]
        return made + [("", remark) for remark in self.remarks]


class LibraryRemark(Value):
    """A finding about the library as a whole."""

    file: str
    section: str
    """Id of the section it was found at; empty for what is missing."""
    finding: Judged


class StaleEntry(Value):
    """A baseline entry whose finding is gone."""

    rule: str
    section: str
    path: str
    count: int


class Tally(Value):
    """Counts of a run."""

    details: int = 0
    reviewed: int = 0
    could_not_review: int = 0
    verdicts: dict[str, int] = Field(default_factory=dict)
    live: dict[str, int] = Field(default_factory=dict)
    hazards: int = 0
    waived: int = 0
    known: int = 0
    there_before: int = 0
    stale: int = 0
    failing: int = 0
    """Findings and verdicts that the policy fails the run for."""
