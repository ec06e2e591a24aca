"""What a review comes to, in short: the verdict, the finding it hangs on, and the numbers that people compare."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reviewer.advice import FindingLine
from reviewer.facts.book import Record
from reviewer.review import sentences
from reviewer.values import Disposition

if TYPE_CHECKING:
    from reviewer.facts.build import Built
    from reviewer.facts.monthly import Year
    from reviewer.facts.site import Site
    from reviewer.review import Judgment
    from reviewer.rules.findings import RawFinding

GRAVITY: tuple[Disposition, ...] = (
    "no exceptions taken",
    "make corrections noted",
    "incomplete",
    "revise and resubmit",
)
"""From the mildest to the gravest; what can't be judged stands before what is known to fail."""


def gravity(disposition: Disposition) -> int:
    return GRAVITY.index(disposition)


@dataclass(frozen=True, slots=True)
class Standing:
    """A section as the rules leave it."""

    built: Built
    judgment: Judgment

    @property
    def disposition(self) -> Disposition:
        return self.judgment.disposition

    @property
    def decider(self) -> RawFinding | None:
        return decider(self.judgment.findings) if self.disposition != "incomplete" else None

    @property
    def site(self) -> Site:
        return self.built[2]

    @property
    def year(self) -> Year | None:
        return self.built[4]

    def head(self) -> Record:
        return next(r for r in self.built[0].records if r.kind == "section")

    def records(self, kind: str) -> list[Record]:
        return [r for r in self.built[0].records if r.kind == kind]

    def layer(self, index: int) -> Record | None:
        return next((r for r in self.records("layer") if r.fields.get("index") == index), None)

    def missing(self) -> list[str]:
        """What has to be found out for a verdict, each once."""
        found = (part for m in self.judgment.missing if m.decisive for part in m.settle.split("; "))
        return [t for t in dict.fromkeys(found) if t]


def decider(findings: Iterable[RawFinding]) -> RawFinding | None:
    """The finding that a verdict hangs on: the gravest, a cause before its symptoms."""
    live = [f for f in findings if f.part.severity in ("serious", "caution")]
    return min(live, key=lambda f: (f.part.severity != "serious", bool(f.symptom_of)), default=None)


def line(f: RawFinding, units: str) -> FindingLine:
    """A finding in short."""
    return FindingLine(
        rule=f.rule.id,
        severity=f.part.severity,  # type: ignore[arg-type]
        title=sentences(f.says(units)),
        layers=list(f.layers),
    )


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number that sections are compared by."""

    name: str
    label: str
    dimension: str
    better: str
    """`lower`, `higher`, or empty."""


QUANTITIES: tuple[Quantity, ...] = (
    Quantity("u_value", "heat let through, with framing (U)", "thermal transmittance", "lower"),
    Quantity("r_total", "resistance of the whole section, with framing", "thermal resistance", "higher"),
    Quantity("share_outboard", "share of R outboard of the condensing plane", "fraction", "higher"),
    Quantity("dew_margin", "that plane over the room's dew point, coldest month", "temperature difference", "higher"),
    Quantity("condensate_peak", "most condensate held at any plane", "area density", "lower"),
    Quantity("condensate_left", "condensate left after the year", "area density", "lower"),
    Quantity("wood_driest", "driest wood, monthly mean", "wood moisture", ""),
    Quantity("wood_wettest", "wettest wood, monthly mean", "wood moisture", "lower"),
    Quantity("mold_index", "highest mold index in three years", "ratio", "lower"),
    Quantity("drying_inward", "drying to the room from the condensing plane", "permeance", "higher"),
    Quantity("drying_outward", "drying outwards from the condensing plane", "permeance", "higher"),
    Quantity("thickness", "thickness of the whole section", "length", ""),
)  # fmt: skip


def numbers(s: Standing) -> dict[str, float]:
    """The quantities of a section that are known, SI."""
    head = s.head()
    out = {n: v for n in ("u_value", "r_total", "share_outboard", "condensate_peak", "condensate_left")
           if isinstance(v := head.fields.get(n), float)}  # fmt: skip
    plane = condensing(s)
    if plane is not None:
        for name, field in (("dew_margin", "dew_margin"), ("drying_inward", "drying_inward")):
            if isinstance(v := plane.fields.get(field), float):
                out[name] = v
        outward = _outward(s, plane)
        if outward is not None:
            out["drying_outward"] = outward
    layers = s.records("layer")
    molds = [v for r in layers if isinstance(v := r.fields.get("mold_index"), float)]
    if molds:
        out["mold_index"] = max(molds)
    if s.year is not None and not np.isnan(s.year.wood).all():
        out["wood_driest"] = float(np.nanmin(s.year.wood))
        out["wood_wettest"] = float(np.nanmax(s.year.wood))
    solid = [p for p in s.built[1] if not p.is_surroundings]
    if all(p.thickness is not None for p in solid):
        out["thickness"] = sum(p.thickness or 0.0 for p in solid)
    return out


def where(s: Standing, name: str) -> str:
    """The layer that a worst-of-several number is of; empty for numbers of the whole."""
    layers = s.records("layer")
    if name == "mold_index":
        values = [(v, r.label) for r in layers if isinstance(v := r.fields.get(name), float)]
        return max(values, key=lambda x: x[0])[1] if values and max(values)[0] > 0 else ""
    if name in ("wood_driest", "wood_wettest") and s.year is not None and not np.isnan(s.year.wood).all():
        pick = np.nanargmin if name == "wood_driest" else np.nanargmax
        index = int(pick(s.year.wood)) % s.year.wood.shape[1]
        return s.built[1][index].label()
    if name in ("dew_margin", "drying_inward", "drying_outward"):
        plane = condensing(s)
        return plane.label if plane is not None else ""
    return ""


def condensing(s: Standing) -> Record | None:
    """The layer whose inner face is the plane most likely to condense."""
    at = s.head().fields.get("condensing_layer")
    return s.layer(int(at)) if isinstance(at, float) else None


def _outward(s: Standing, plane: Record) -> float | None:
    """Permeance of the plane's own layer and all outboard of it, damp, in series."""
    own, rest = plane.fields.get("permeance_wet"), plane.fields.get("permeance_outboard")
    if not isinstance(own, float):
        return None
    if not isinstance(rest, float):
        return own
    return 0.0 if own <= 0 or rest <= 0 else 1.0 / (1.0 / own + 1.0 / rest)
