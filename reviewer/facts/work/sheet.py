"""What all the calculations shown share: the case, the lines, and how numbers are set into formulas."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from reviewer.facts.anatomy import Anatomy
from reviewer.facts.arithmetic import Term, constant, exp, figures, ln, number, settle
from reviewer.facts.book import Book, Record
from reviewer.facts.framing import Framed
from reviewer.facts.monthly import Thermal, Year
from reviewer.facts.resolve import Properties
from reviewer.facts.site import Site
from reviewer.model.section import Section
from reviewer.physics.basics import MONTH_DAYS
from reviewer.result import WorkLine
from reviewer.units import PERM, show

Array = NDArray[np.float64]

MEMORY = "from memory of the document"
_DIMENSIONS = {
    "m²·K/W": "thermal resistance",
    "°C": "temperature",
    "W/(m²·K)": "thermal transmittance",
    "kg/(s·m²·Pa)": "permeance",
}
"""Units whose quantity the trade has another unit for."""


@dataclass(slots=True)
class Case:
    """What the calculations of one section draw on."""

    section: Section
    book: Book
    layers: list[Properties]
    site: Site
    a: Anatomy
    thermal: Thermal
    year: Year | None
    head: Record = field(init=False)

    def __post_init__(self) -> None:
        self.head = next(r for r in self.book.records if r.kind == "section")

    @property
    def k(self) -> int:
        """The coldest month."""
        return self.site.coldest

    def layer(self, i: int) -> str:
        return f"layer {i + 1}, {self.layers[i].name}"

    def node(self, j: int) -> str:
        """A joint or face as a sentence names it."""
        if j == 0:
            return "the room-side face"
        return "the outer face" if j == self.a.end else f"joint {j}/{j + 1}"

    def label(self, j: int) -> str:
        """The same at the head of a line."""
        return self.node(j).removeprefix("the ")


def worked(
    of: str, term: Term, places: int, unit: str = "", *, power: int = 0, note: str = "", trade: str = ""
) -> WorkLine:
    """A line: the formula with its numbers, and what they come to with `places` decimals (times 10^`power`)."""
    put_in, result = settle(term, places, power)
    dimension = _DIMENSIONS.get(unit)
    if dimension and not trade:
        trade = show(term.exact, dimension, "ip")
    return WorkLine(of=of, put_in=put_in, result=result, unit=unit, trade=trade, note=note)


def taken(of: str, value: float, places: int, unit: str = "", *, power: int = 0, note: str = "") -> WorkLine:
    """A value that no calculation of ours led to."""
    line = worked(of, number(value, places, power), places, unit, power=power, note=note)
    return line.model_copy(update={"put_in": ""})


def celsius(t: float) -> Term:
    """A temperature, as all of them are written."""
    return number(t, 2)


def r_value(r: float) -> Term:
    """A thermal resistance."""
    return number(r, 3)


def z_value(z: float) -> Term:
    """A vapor resistance."""
    return number(z, 3, 9)


def g_value(g: float) -> Term:
    """A density of vapor flow."""
    return figures(g, 5, -9)


Z_UNIT = "m²·s·Pa/kg"


def z_trade(z: float) -> str:
    """A vapor resistance in the trade's unit, the reciprocal of the perm."""
    return f"{z * PERM:.3g} 1/perm"


def saturation(t: float) -> Term:
    """p_sat at `t` °C, written out.

    >>> saturation(20.0).text(0)
    '610.5·exp(17.269·20.00/(237.3 + 20.00))'
    """
    a, b = (constant("17.269"), constant("237.3")) if t >= 0 else (constant("21.875"), constant("265.5"))
    return constant("610.5") * exp(a * celsius(t) / (b + celsius(t)))


def frost_or_dew_point(p: float) -> Term:
    """θ_d of `p` Pa, written out.

    >>> frost_or_dew_point(1168.0).text(0)
    '237.3·ln(1168.0/610.5)/(17.269 − ln(1168.0/610.5))'
    """
    a, b = (constant("17.269"), constant("237.3")) if p >= 610.5 else (constant("21.875"), constant("265.5"))
    log = ln(number(p, 1) / constant("610.5"))
    return b * log / (a - log)


def as_is(value: float) -> Term:
    """A number that is exact as it stands."""
    return constant(f"{value:g}")


def midpoint(low: float, high: float) -> Term:
    """The middle of a range, written out."""
    return (as_is(low) + as_is(high)) / constant("2")


def month_seconds(month: int) -> Term:
    """The seconds of a month, written out."""
    return constant("86400") * number(MONTH_DAYS[month], 0)


def shown_as(value: float, places: int) -> str:
    """A number within a sentence."""
    return number(value, places).text(0)


def outer_side(c: Case) -> str:
    """What lies on the outer side of what conducts and diffuses."""
    if c.a.vent is not None:
        return "outdoor air in the ventilated space"
    return c.a.surroundings


def has_framing(layers: list[Properties]) -> bool:
    return any(p.layer.framing is not None for p in layers)


def origin_of(p: Properties, name: str) -> str:
    """Where a property comes from, for a note."""
    o = p.origins.get(name)
    if o is None:
        return ""
    return "; ".join(t for t in (o.how or o.origin, o.source) if t)


def path_names(f: Framed) -> list[str]:
    """`1 (cavity)`, `2 (members in layer 3)`."""
    names = []
    for n, path in enumerate(f.r_paths):
        other = [i for i, r in enumerate(path) if r != f.r_paths[0][i]]
        names.append(
            f"{n + 1} ({'members in layer ' + ' and '.join(str(i + 1) for i in other) if other else 'cavity'})"
        )
    return names


def indoor_vapor(c: Case) -> Array:
    assert c.site.p_in is not None
    return c.site.p_in


def r_from_room(c: Case, month: int) -> Array:
    """[L+1] m²·K/W from the indoor air to each face and joint."""
    return np.concatenate(([c.thermal.r_si], c.thermal.r_si + np.cumsum(c.thermal.r[month])))
