"""Vapor: saturation, pressures by series resistance, the stretched line, condensation and the year's stock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from reviewer.facts.arithmetic import Term, constant, figures, greatest, least, number, places_of, total
from reviewer.facts.monthly import Year
from reviewer.facts.work.sheet import (
    MEMORY,
    Z_UNIT,
    Array,
    Case,
    celsius,
    g_value,
    indoor_vapor,
    month_seconds,
    origin_of,
    outer_side,
    r_from_room,
    r_value,
    saturation,
    shown_as,
    taken,
    worked,
    z_trade,
    z_value,
)
from reviewer.humidity import saturation_pressure
from reviewer.library.types import MONTHS
from reviewer.physics import condensation, indoor
from reviewer.physics.basics import MONTH_DAYS
from reviewer.physics.vapor import coordinates
from reviewer.result import Work, WorkLine

SATURATION = "p_sat = 610.5·exp(17.269·θ/(237.3 + θ)); below 0 °C 610.5·exp(21.875·θ/(265.5 + θ))"
SATURATION_SOURCE = f"ISO 13788, Annex E, equations E.7 and E.8 ({MEMORY})"


def vapor_work(c: Case, year: Year) -> Iterator[Work]:
    k, month = c.k, MONTHS[c.k]
    t = year.thermal.t[k]
    yield Work(
        title=f"Saturation pressure at the joints, {month}",
        formula=SATURATION,
        where="θ temperature in °C, p in Pa",
        numbers=[worked(c.label(j), saturation(float(t[j])), 1, "Pa") for j in range(c.a.end + 1)],
        result="Vapor condenses where its pressure would pass these.",
        source=SATURATION_SOURCE,
        limits="Within 0.2 % of the steam tables from 0 to 80 °C; over ice up to 2 % low at −40 °C.",
    )
    yield Work(
        title=f"Vapor pressure indoors and outdoors, {month}",
        formula="p = φ·p_sat(θ)",
        where="φ relative humidity",
        numbers=list(_air(c)),
        result=f"p_i − p_e = {shown_as(float(indoor_vapor(c)[k] - c.thermal.p_ext[k]), 1)} Pa drives vapor "
        f"{'outwards' if indoor_vapor(c)[k] > c.thermal.p_ext[k] else 'inwards'}.",
        source=f"ISO 13788 ({MEMORY}); indoor condition `{c.site.condition}`; climate: "
        + "; ".join(str(s) for s in (c.site.climate.sources if c.site.climate else ())),
        limits="Monthly means; the room's humidity decides most and is seldom measured.",
    )
    z = np.diff(coordinates(1.0 / np.maximum(year.w[k], 1e-18)))
    lines, so_far = [], 0.0
    for i in range(c.a.end):
        w = float(year.w[k, i])
        local = 0.5 * (year.rh[k, i] + year.rh[k, i + 1])
        note = f"W at the layer's mean of {shown_as(100 * float(local), 0)} % RH; {origin_of(c.layers[i], 'permeance_dry')}"
        if np.isclose(z[i], 1.0 / max(w, 1e-18), rtol=1e-9):
            term = constant("1") / figures(w, 4, -12)
            lines.append(
                worked(f"Z of {c.layer(i)}", term, 3, Z_UNIT, power=9, note=note, trade=z_trade(z[i]))
            )
        else:
            held = "held to the range from s_d 0.01 mm to 100 km"
            lines.append(taken(f"Z of {c.layer(i)}", float(z[i]), 3, Z_UNIT, power=9, note=held))
    for i in range(c.a.end):
        if i:
            lines.append(worked(f"to {c.node(i + 1)}", z_value(so_far) + z_value(z[i]), 3, Z_UNIT, power=9))
        so_far += float(z[i])
    yield Work(
        title=f"Vapor resistance of each layer, {month}",
        formula="Z = 1/W",
        where="W permeance in kg/(s·m²·Pa), read at the layer's mean humidity; surface films have none",
        numbers=lines,
        result=f"Z_T = {shown_as(so_far / 1e9, 3)}·10⁹ m²·s·Pa/kg in all.",
        source=f"ISO 13788, 4.4 ({MEMORY}); permeances as noted",
        limits="A permeance at the mean humidity of the layer: common practice between the cups of ISO 12572.",
    )
    yield from _series(c, year, z)


def _air(c: Case) -> Iterator[WorkLine]:
    k = c.k
    assert c.site.t_in is not None and c.site.t_out is not None and c.site.p_out is not None
    t_in, p_in = float(c.site.t_in[k]), float(indoor_vapor(c)[k])
    p_sat = float(saturation_pressure(t_in))
    yield worked("p_sat indoors", saturation(t_in), 1, "Pa")
    named = indoor.CONDITIONS.get(c.site.condition)
    if named is not None and named.method == "excess" and named.excess > 0.0 and not named.kept:
        p_out, t_out = number(float(c.site.p_out[k]), 1), float(c.site.t_out[k])
        fading = constant("1") - greatest(constant("0"), least(constant("20"), celsius(t_out))) / constant(
            "20"
        )
        kept = p_out + number(named.excess, 0) * fading
        term = greatest(kept, number(named.low, 2) * number(p_sat, 1)) if named.low else kept
        term = least(term, number(named.high, 2) * number(p_sat, 1))
        if np.isclose(term.exact, p_in, rtol=1e-9):
            yield worked("p_i, outdoors and excess", term, 1, "Pa", note=f"{named.about} {named.source}")
        else:
            yield taken("p_i", p_in, 1, "Pa", note=f"{named.about} {named.source}")
        yield worked("φ_i", number(p_in, 1) / number(p_sat, 1), 4)
    else:
        yield worked(
            "p_i",
            number(p_in / p_sat, 4) * number(p_sat, 1),
            1,
            "Pa",
            note=named.about if named else "as stated",
        )
    t_ext, p_ext = float(c.thermal.t_ext[k]), float(c.thermal.p_ext[k])
    yield worked("p_sat on the outer side", saturation(t_ext), 1, "Pa")
    yield taken("p_e, on the outer side", p_ext, 1, "Pa", note=outer_side(c))
    yield worked("φ_e", number(p_ext, 1) / number(float(saturation_pressure(t_ext)), 1), 4)


def _series(c: Case, year: Year, z: Array) -> Iterator[Work]:
    k, month = c.k, MONTHS[c.k]
    p_sat = saturation_pressure(year.thermal.t[k])
    p_i = min(float(indoor_vapor(c)[k]), float(p_sat[0]))
    p_e = min(float(c.thermal.p_ext[k]), float(p_sat[-1]))
    x = np.concatenate(([0.0], np.cumsum(z)))
    lines, passed = [], []
    for j in range(1, c.a.end):
        term = number(p_i, 1) - (number(p_i, 1) - number(p_e, 1)) * z_value(x[j]) / z_value(x[-1])
        over = term.exact > p_sat[j] * (1.0 + 1e-10)
        if over:
            passed.append(c.node(j))
        note = f"{'passes' if over else 'below'} p_sat = {shown_as(float(p_sat[j]), 1)} Pa there"
        lines.append(worked(c.label(j), term, 1, "Pa", note=note))
    if not lines:
        return
    result = (
        f"The straight line would pass saturation at {', '.join(passed)}: the line is stretched below it (next)."
        if passed
        else f"Nowhere above saturation: nothing condenses in {month}."
    )
    yield Work(
        title=f"Vapor pressure by series resistance, {month}",
        formula="p_j = p_i − (p_i − p_e)·Z_ij/Z_T",
        where="Z_ij vapor resistance from the room to the joint; p_i and p_e at most saturation at the faces",
        numbers=lines,
        result=result,
        source=f"ISO 13788, 6.3 ({MEMORY})",
        limits="Diffusion only: no air leakage, no liquid flow, no storage.",
    )


def condensation_work(c: Case, year: Year) -> Iterator[Work]:
    b = year.balance
    if float(b.total_peak) <= condensation.NEGLIGIBLE:
        return
    month, j = (int(v) for v in np.unravel_index(int(np.argmax(b.rate)), b.rate.shape))
    name = MONTHS[month]
    flow = _Flow.at(c, year, month, j)
    t, r_to = year.thermal.t[month], r_from_room(c, month)
    warm, cold = float(c.thermal.t_in[month]), float(c.thermal.t_ext[month])
    lines = [
        worked(
            f"θ at {c.node(j)}",
            celsius(warm)
            - (celsius(warm) - celsius(cold))
            * r_value(r_to[j])
            / r_value(float(c.thermal.total_cavity[month])),
            2,
            "°C",
        ),
        worked(f"p_sat at {c.node(j)}", saturation(float(t[j])), 1, "Pa"),
    ]
    for end, what in ((flow.inner, "inner"), (flow.outer, "outer")):
        if 0 < end < c.a.end:
            lines.append(
                worked(
                    f"p_sat at {c.node(end)}, touched on the {what} side", saturation(float(t[end])), 1, "Pa"
                )
            )
    z = np.diff(flow.x)
    for label, first, last in (("Z_1, inwards", flow.inner, j), ("Z_2, outwards", j, flow.outer)):
        lines.append(worked(label, total([z_value(float(v)) for v in z[first:last]]), 3, Z_UNIT, power=9))
    lines.append(_flow_line("g", flow))
    amount = g_value(flow.term().exact) * month_seconds(month)
    lines.append(worked(f"in {name}", amount, 4, "kg/m²"))
    yield Work(
        title=f"Condensation at {c.node(j)}, {name}, its worst month",
        formula="g = (p_1 − p_sat)/Z_1 − (p_sat − p_2)/Z_2",
        where="the pressure line stretched below saturation touches it at this joint; p_1, p_2 its next points inwards "
        "and outwards (the air, or another joint at saturation), Z_1, Z_2 vapor resistances to them",
        numbers=lines,
        result=f"{shown_as(1000 * amount.exact, 1)} g/m² condense at {_between(c, j)} in {name}.",
        source=f"ISO 13788, 6.4 to 6.6 ({MEMORY})",
        limits="Diffusion only, monthly means; no latent heat, no uptake by the materials.",
    )
    yield from _stock(c, year, j)


def _between(c: Case, j: int) -> str:
    return f"the joint of {c.layers[j - 1].name} and {c.layers[j].name}"


@dataclass(frozen=True, slots=True)
class _Flow:
    """Vapor to and from one joint in one month, between the points that the stretched line touches."""

    p1: float
    p: float
    p2: float
    inner: int
    joint: int
    outer: int
    x: Array
    note: str

    def term(self) -> Term:
        here = number(self.p, 1)
        z1, z2 = (
            z_value(float(v))
            for v in (self.x[self.joint] - self.x[self.inner], self.x[self.outer] - self.x[self.joint])
        )
        return (number(self.p1, 1) - here) / z1 - (here - number(self.p2, 1)) / z2

    @classmethod
    def at(cls, c: Case, year: Year, month: int, j: int) -> _Flow:
        """The tangents where they hold for the whole month; else the neighbors at the month's mean pressures,
        between which the mean flow is exact whatever happened on the way."""
        p_sat = saturation_pressure(year.thermal.t[month])
        p, x = year.p[month], coordinates(1.0 / np.maximum(year.w[month], 1e-18))
        touched = np.flatnonzero(p >= p_sat * (1.0 - 1e-9))
        inner = max((int(n) for n in touched if n < j), default=0)
        outer = min((int(n) for n in touched if n > j), default=c.a.end)
        flow = cls(float(p[inner]), float(p_sat[j]), float(p[outer]), inner, j, outer, x, "")
        change = float(year.balance.rate[month, j])
        before = float(year.balance.stock[month, j]) - change
        seconds = float(MONTH_DAYS[month]) * 86400.0
        reached = max(0.0, before + flow.term().exact * seconds)
        if abs(reached - before - change) <= 1e-9 + 1e-6 * abs(change):
            return flow
        note = "in this month a joint starts or stops being wet: pressures are the month's means"
        return cls(float(p[j - 1]), float(p[j]), float(p[j + 1]), j - 1, j, j + 1, x, note)


def _flow_line(of: str, flow: _Flow) -> WorkLine:
    g = flow.term()
    return worked(of, g, places_of(g.exact / 1e-9, 5), "kg/(s·m²)", power=-9, note=flow.note)


def _stock(c: Case, year: Year, j: int) -> Iterator[Work]:
    b = year.balance
    start = int(b.start)
    lines: list[WorkLine] = []
    held = 0.0
    for month in ((start + n) % 12 for n in range(12)):
        change = float(b.rate[month, j])
        if abs(change) <= 1e-12:
            continue
        flow = _Flow.at(c, year, month, j)
        name = MONTHS[month]
        lines.append(_flow_line(f"g in {name}", flow))
        stock = greatest(constant("0"), number(held, 4) + g_value(flow.term().exact) * month_seconds(month))
        lines.append(worked(f"held at the end of {name}", stock, 4, "kg/m²"))
        held = float(b.stock[month, j])
    others = [c.node(n) for n in range(c.a.end + 1) if n != j and b.peak[n] > condensation.NEGLIGIBLE]
    also = f" Also wet in the year: {', '.join(others)}." if others else ""
    yield Work(
        title=f"The year's balance at {c.node(j)}",
        formula="g = (p_1 − p)/Z_1 − (p − p_2)/Z_2; M = max(0, M_before + g·t)",
        where="p saturation while the joint is wet, p_1 and p_2 as above, Z_1 and Z_2 at each month's humidity, t = 86400 s "
        "times the days of the month; a negative g dries",
        numbers=lines,
        result=f"From {MONTHS[start]}, dry: at most {shown_as(1000 * float(b.peak[j]), 1)} g/m² held, "
        f"{shown_as(1000 * float(b.left[j]), 1)} g/m² left after a year.{also}",
        source=f"ISO 13788, 6.4 to 6.6 ({MEMORY})",
        limits="Diffusion only; the water stays at the joint and neither runs off nor is taken up.",
    )
