"""The calculations of a review as a person would write them: formula, numbers put in, result, source, limits.

Nothing is calculated anew here: the numbers are those that the review went through (`Year`, `Properties`,
the book's `workings`), set into the formulas again with as many digits as a hand calculator needs to come
to the printed result.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from reviewer.facts.anatomy import Anatomy
from reviewer.facts.arithmetic import (
    Term,
    constant,
    cos,
    exp,
    figures,
    greatest,
    least,
    ln,
    number,
    places_of,
    power_of_ten,
    settle,
    total,
)
from reviewer.facts.book import Book, Record
from reviewer.facts.forces import (
    CONCRETE_AGE,
    CONCRETE_RATIO,
    DRY_WOOD,
    SUN_HOURS,
    WET_WOOD,
    BuiltInWork,
    InwardWork,
    LeakageWork,
    RainWork,
    SunWork,
)
from reviewer.facts.framing import RSI_SURFACE, Framed
from reviewer.facts.monthly import Thermal, Year, mold_sensitivity
from reviewer.facts.resolve import CAVITY_DIRECTION, Properties
from reviewer.facts.site import Site
from reviewer.humidity import dew_point, saturation_pressure
from reviewer.library.types import MONTHS
from reviewer.model.section import Section
from reviewer.physics import builtin, condensation, ground, heat, indoor, mold, rain, wood
from reviewer.physics.basics import MONTH_DAYS
from reviewer.physics.vapor import coordinates, retarder_class
from reviewer.result import Work, WorkLine
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
class _Case:
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
        return self.site.coldest

    def layer(self, i: int) -> str:
        return f"layer {i + 1}, {self.layers[i].name}"

    def node(self, j: int) -> str:
        if j == 0:
            return "the room-side face"
        return "the outer face" if j == self.a.end else f"joint {j}/{j + 1}"

    def label(self, j: int) -> str:
        return self.node(j).removeprefix("the ")


def show_work(
    section: Section, book: Book, layers: list[Properties], site: Site, a: Anatomy, year: Year | None
) -> list[Work]:
    """Every calculation that the review of this section went through, in the order in which it builds up.

    Without a place there is only what needs no climate; without a permeance of some layer, only heat.
    """
    out: list[Work] = []
    thermal = book.workings.get("thermal")
    framed = book.workings.get("framed")
    if thermal is not None:
        c = _Case(section, book, layers, site, a, thermal, year)
        out += _heat(c)
        if year is not None:
            out += _vapor(c, year)
            out += _condensation(c, year)
        out += _dew_point(c)
        if framed is not None:
            out += _surface(c, framed)
        if year is not None:
            out += _wood(c, year)
            out += _mold(c, year)
            out += _forces(c, year)
    if framed is not None:
        at = next((n for n, w in enumerate(out) if w.title.startswith("Temperatures")), len(out))
        out[at:at] = _framed(section, layers, a, framed)
    out += _classes(layers, a)
    out += _code(book)
    return out


def _line(
    of: str, term: Term, places: int, unit: str = "", *, power: int = 0, note: str = "", trade: str = ""
) -> WorkLine:
    put_in, result = settle(term, places, power)
    dimension = _DIMENSIONS.get(unit)
    if dimension and not trade:
        trade = show(term.exact, dimension, "ip")
    return WorkLine(of=of, put_in=put_in, result=result, unit=unit, trade=trade, note=note)


def _taken(of: str, value: float, places: int, unit: str = "", *, power: int = 0, note: str = "") -> WorkLine:
    """A value that no calculation of ours led to."""
    line = _line(of, number(value, places, power), places, unit, power=power, note=note)
    return line.model_copy(update={"put_in": ""})


def _celsius(t: float) -> Term:
    return number(t, 2)


def _r(r: float) -> Term:
    return number(r, 3)


def _z(z: float) -> Term:
    return number(z, 3, 9)


def _g(g: float) -> Term:
    return figures(g, 5, -9)


_Z_UNIT = "m²·s·Pa/kg"


def _z_trade(z: float) -> str:
    return f"{z * PERM:.3g} 1/perm"


def saturation(t: float) -> Term:
    """p_sat at `t` °C, written out.

    >>> saturation(20.0).text(0)
    '610.5·exp(17.269·20.00/(237.3 + 20.00))'
    """
    a, b = (constant("17.269"), constant("237.3")) if t >= 0 else (constant("21.875"), constant("265.5"))
    return constant("610.5") * exp(a * _celsius(t) / (b + _celsius(t)))


def frost_or_dew_point(p: float) -> Term:
    """θ_d of `p` Pa, written out.

    >>> frost_or_dew_point(1168.0).text(0)
    '237.3·ln(1168.0/610.5)/(17.269 − ln(1168.0/610.5))'
    """
    a, b = (constant("17.269"), constant("237.3")) if p >= 610.5 else (constant("21.875"), constant("265.5"))
    log = ln(number(p, 1) / constant("610.5"))
    return b * log / (a - log)


_SATURATION = "p_sat = 610.5·exp(17.269·θ/(237.3 + θ)); below 0 °C 610.5·exp(21.875·θ/(265.5 + θ))"
_SATURATION_SOURCE = f"ISO 13788, Annex E, equations E.7 and E.8 ({MEMORY})"


# --- Heat -----------------------------------------------------------------------------------------


def _heat(c: _Case) -> Iterator[Work]:
    t, k, month = c.thermal, c.k, MONTHS[c.k]
    yield Work(
        title=f"Thermal resistance of each layer, {month}",
        formula="R = d/λ; of a closed air layer R = 1/(h_a + h_r0/(1/ε_1 + 1/ε_2 − 1))",
        where="d thickness, λ thermal conductivity, h_a conduction or convection, h_r0 = 4·σ·T³ radiation, ε emissivity",
        numbers=[_layer_resistance(c, i) for i in range(c.a.end)],
        result="Layers between framing members count as at the cavity here."
        if _has_framing(c.layers)
        else "The layers in series.",
        source=f"ISO 6946 (definition; air layers Annex D of the 2017 edition) ({MEMORY}); values as noted",
        limits="One-dimensional, dry design values; conductivity by temperature only where the library has a curve.",
    )
    direction = CAVITY_DIRECTION[c.section.kind]
    sums = [_taken("R_si, inside surface", t.r_si, 2, "m²·K/W", note=f"heat flow {direction}")]
    so_far = t.r_si
    for i in range(c.a.end):
        sums.append(_line(f"to {c.node(i + 1)}", _r(so_far) + _r(t.r[k, i]), 3, "m²·K/W"))
        so_far += float(t.r[k, i])
    sums.append(_taken("R_se, outer side", t.r_se, 2, "m²·K/W", note=_outer_side(c)))
    sums.append(_line("R_T, air to air", _r(so_far) + _r(t.r_se), 3, "m²·K/W"))
    yield Work(
        title="Surface resistances and total resistance"
        + (" at the cavity" if _has_framing(c.layers) else ""),
        formula="R_T = R_si + R_1 + R_2 + … + R_se",
        where="R_si, R_se surface resistances; each line adds a layer to the line before",
        numbers=sums,
        result=f"R_T = {_text(so_far + t.r_se, 3)} m²·K/W, at the layers' temperatures in {month}.",
        source=f"ISO 6946:2017, Table 7 for the surfaces ({MEMORY})",
        limits="Films for ordinary surfaces (emissivity 0.9, wind 4 m/s); no air movement through the layers.",
    )
    if c.a.surroundings == "soil":
        yield _soil(c)
    r_to = np.concatenate(([t.r_si], t.r_si + np.cumsum(t.r[k])))
    warm, cold, r_total = float(t.t_in[k]), float(t.t_ext[k]), float(t.total_cavity[k])
    yield Work(
        title=f"Temperatures at the joints, {month}",
        formula="θ_j = θ_i − (θ_i − θ_e)·R_ij/R_T",
        where="θ_i indoors, θ_e on the outer side, R_ij resistance from the indoor air to the joint",
        numbers=[
            _taken("θ_i, indoors", warm, 2, "°C", note=f"indoor condition `{c.site.condition}`"),
            _taken("θ_e, outer side", cold, 2, "°C", note=_outer_side(c)),
            *(
                _line(
                    c.label(j),
                    _celsius(warm) - (_celsius(warm) - _celsius(cold)) * _r(r_to[j]) / _r(r_total),
                    2,
                    "°C",
                )
                for j in range(c.a.end + 1)
            ),
        ],
        result=f"{month} is the coldest month.",
        source=f"ISO 13788, 4.4 and 6.3 ({MEMORY})",
        limits="Steady monthly means: no heat storage, no sun, no night sky; a cold spell is colder.",
    )


def _has_framing(layers: list[Properties]) -> bool:
    return any(p.layer.framing is not None for p in layers)


def _outer_side(c: _Case) -> str:
    if c.a.vent is not None:
        return "outdoor air in the ventilated space"
    return c.a.surroundings


def _layer_resistance(c: _Case, i: int) -> WorkLine:
    p, r = c.layers[i], float(c.thermal.r[c.k, i])
    origin = p.origins.get("r_value")
    how = _origin(p, "conductivity")
    of = c.layer(i)
    if p.is_space and p.thickness is not None:
        return _line(of, _air_layer(p, c.section.kind), 3, "m²·K/W", note=origin.how if origin else "")
    if p.layer.r_value is not None or origin is None or not (p.thickness and p.conductivity):
        return _taken(of, r, 3, "m²·K/W", note=_origin(p, "r_value"))
    if p.material is not None and p.material.conductivity_by_temperature and r != p.r:
        mean = 0.5 * (c.thermal.t[c.k, i] + c.thermal.t[c.k, i + 1])
        conductivity = p.thickness / r
        how = f"λ at the layer's mean of {_text(mean, 1)} °C; {how}"
    elif np.isclose(p.thickness / p.conductivity, r, rtol=1e-9, atol=0.0):
        conductivity = p.conductivity
    else:
        return _taken(of, r, 3, "m²·K/W", note=_origin(p, "r_value"))
    return _line(of, figures(p.thickness, 3) / figures(conductivity, 3), 3, "m²·K/W", note=how)


def _origin(p: Properties, name: str) -> str:
    o = p.origins.get(name)
    if o is None:
        return ""
    return "; ".join(t for t in (o.how or o.origin, o.source) if t)


def _air_layer(p: Properties, kind: str) -> Term:
    assert p.thickness is not None
    direction, d = CAVITY_DIRECTION[kind], min(p.thickness, 0.3)
    depth = figures(d, 3)
    least_h = {"horizontal": constant("1.25"), "up": constant("1.95")}.get(direction)
    convection = least_h if least_h is not None else constant("0.12") * depth ** constant("-0.44")
    radiation = constant("4") * power_of_ten("5.670374", -8) * constant("283.15") ** constant("3")
    faces = constant("1") / constant("0.9") + constant("1") / constant("0.9") - constant("1")
    r = constant("1") / (greatest(convection, constant("0.025") / depth) + radiation / faces)
    return constant("0.5") * r if p.layer.vents in ("bottom only", "top only", "weep holes") else r


def _soil(c: _Case) -> Work:
    depth = c.section.depth_below_grade
    assert c.site.t_out is not None
    if depth is None:
        depth = 1.2 if c.section.kind == "foundation wall" else 0.3
    mean, amplitude, coldest = (float(v) for v in ground.yearly_wave(c.site.t_out))
    day = float(ground.MID_MONTH[c.k])
    d = float(ground.damping_depth(0.05))
    z = number(depth, 2) / number(d, 3)
    turn = constant("2") * constant("3.14159265") / constant("365") * (number(day, 1) - number(coldest, 1))
    return Work(
        title=f"Soil temperature, {MONTHS[c.k]}",
        formula="d = (365·a/π)^0.5; θ = θ_m − A·exp(−z/d)·cos(2π/365·(t − t_0) − z/d)",
        where="a thermal diffusivity of the ground in m² a day, d damping depth, z depth, θ_m and A mean and "
        "amplitude of the yearly wave in the monthly air temperatures, t day of the year, t_0 coldest day; angles in radians",
        numbers=[
            _line(
                "d",
                (constant("365") * constant("0.05") / constant("3.14159265")) ** constant("0.5"),
                3,
                "m",
            ),
            _line(
                "θ at mid-month",
                number(mean, 2) - number(amplitude, 2) * exp(constant("0") - z) * cos(turn - z),
                2,
                "°C",
            ),
        ],
        result="The soil side is taken as saturated: φ_e = 100 %.",
        source=f"Kusuda and Achenbach 1965 ({MEMORY})",
        limits="Undisturbed ground; beside a heated building it is warmer.",
    )


def _framed(section: Section, layers: list[Properties], a: Anatomy, f: Framed) -> Iterator[Work]:
    shares = [i for i in range(a.end) if layers[i].layer.framing is not None]
    if not shares:
        path = [_r(float(r)) for r in f.r_paths[0] if r > 0]
        yield Work(
            title="Thermal transmittance",
            formula="U = 1/R_T",
            where="R_T with the layers at their declared temperature",
            numbers=[
                _line("R_T", total([_r(f.r_si), *path, _r(f.r_se)]), 3, "m²·K/W"),
                _line("U", constant("1") / _r(f.total), 4, "W/(m²·K)"),
            ],
            result=f"U = {_text(f.u, 4)} W/(m²·K).",
            source=f"ISO 6946:2017, 6.7.1 ({MEMORY})",
            limits="No fasteners, no gaps, no corners; no metal through the insulation.",
        )
        return
    lines: list[WorkLine] = []
    for i in shares:
        lines += _share_lines(section, layers, i, f)
    names = _path_names(f)
    sums = []
    for path, name in zip(f.r_paths, names, strict=True):
        films_in, films_out = _r(f.r_si), _r(f.r_se)
        shown = [_r(r) for r in path if r > 0]
        sums.append(_line(f"R_T, path {name}", total([films_in, *shown, films_out]), 3, "m²·K/W"))
    lines += sums
    if len(f.r_paths) > 1:
        lines += _limit_lines(f)
    else:
        lines.append(_line("U", constant("1") / _r(f.total), 4, "W/(m²·K)"))
    metal = "; ".join(
        f"layer {i + 1}: {how}, ASHRAE 90.1 Appendix A ({MEMORY})" for i, how in f.effective.items()
    )
    yield Work(
        title="Total resistance with framing",
        formula="R_up = 1/(f_1/R_T1 + f_2/R_T2 + …); R_low = R_si + Σ 1/(f_1/R_j1 + f_2/R_j2 + …) + R_se; "
        "R_T = (R_up + R_low)/2; U = 1/R_T",
        where="f share of the area of each path, R_j resistance of a layer as the path meets it, at its declared temperature",
        numbers=lines,
        result=f"U = {_text(f.u, 4)} W/(m²·K), R_T = {_text(f.total, 3)} m²·K/W "
        f"({show(f.total, 'thermal resistance', 'ip')}); greatest error of the method {_text(100 * f.error, 1)} %.",
        source=f"ISO 6946:2017, 6.7.2, combined method ({MEMORY})" + (f"; {metal}" if metal else ""),
        limits="Not for metal through insulation (there an effective resistance is used); no fasteners, no corners.",
    )


def _share_lines(section: Section, layers: list[Properties], i: int, f: Framed) -> Iterator[WorkLine]:
    p = layers[i]
    framing = p.layer.framing
    assert framing is not None
    if i in f.effective:
        yield _taken(f"R of layer {i + 1} with its studs", f.r_paths[0][i], 3, "m²·K/W", note=f.effective[i])
        return
    if framing.fraction is not None:
        yield _taken(f"f of layer {i + 1}", framing.fraction, 3, note="as written")
    else:
        wall = section.kind in ("wall", "foundation wall")
        plates = "whole wall" if wall and framing.pattern == "single" else "plates" if wall else "none"
        share = figures(framing.width, 3) / figures(framing.spacing, 3)
        if plates != "none":
            share = share + number(heat.FRAMING_ALLOWANCES[plates], 3)
        source = f"members over spacing; allowance: {plates} (ASHRAE 90.1, Appendix A3.4, {MEMORY})"
        yield _line(f"f of layer {i + 1}", share, 3, note=source)
    k = framing.material.conductivity
    member = {float(path[i]) for path in f.r_paths} - {float(p.r or 0.0)}
    if p.thickness is not None and k is not None and member:
        depth = framing.depth
        apart = (
            framing.pattern in ("double stud", "staggered stud") and depth is not None and depth < p.thickness
        )
        if apart and p.conductivity and depth is not None:
            term = figures(depth, 3) / figures(k, 3) + figures(p.thickness - depth, 3) / figures(
                p.conductivity, 3
            )
        else:
            term = figures(p.thickness, 3) / figures(k, 3)
        yield _line(
            f"R of the members in layer {i + 1}", term, 3, "m²·K/W", note=f"λ of {framing.material.id}"
        )


def _path_names(f: Framed) -> list[str]:
    """`1 (cavity)`, `2 (members in layer 3)`."""
    names = []
    for n, path in enumerate(f.r_paths):
        other = [i for i, r in enumerate(path) if r != f.r_paths[0][i]]
        names.append(
            f"{n + 1} ({'members in layer ' + ' and '.join(str(i + 1) for i in other) if other else 'cavity'})"
        )
    return names


def _limit_lines(f: Framed) -> Iterator[WorkLine]:
    shares = [number(float(s), 4) for s in f.shares]
    totals = [_r(float(path.sum() + f.r_si + f.r_se)) for path in f.r_paths]
    upper = constant("1") / total([s / r for s, r in zip(shares, totals, strict=True)])
    yield _line("R_up, upper limit", upper, 3, "m²·K/W")
    planes: list[Term] = [_r(f.r_si)]
    for i in range(f.r_paths.shape[1]):
        column = f.r_paths[:, i]
        if not column.any():
            continue
        if np.ptp(column) == 0.0:
            planes.append(_r(float(column[0])))
            continue
        if (column == 0.0).any():
            continue
        mean = constant("1") / total([s / _r(float(r)) for s, r in zip(shares, column, strict=True)])
        yield _line(f"R of layer {i + 1}, all paths", mean, 3, "m²·K/W")
        planes.append(_r(mean.exact))
    planes.append(_r(f.r_se))
    yield _line("R_low, lower limit", total(planes), 3, "m²·K/W")
    yield _line("R_T, their mean", (_r(f.upper) + _r(f.lower)) / constant("2"), 3, "m²·K/W")
    yield _line("U", constant("1") / _r(f.total), 4, "W/(m²·K)")


# --- Vapor ----------------------------------------------------------------------------------------


def _vapor(c: _Case, year: Year) -> Iterator[Work]:
    k, month = c.k, MONTHS[c.k]
    t = year.thermal.t[k]
    yield Work(
        title=f"Saturation pressure at the joints, {month}",
        formula=_SATURATION,
        where="θ temperature in °C, p in Pa",
        numbers=[_line(c.label(j), saturation(float(t[j])), 1, "Pa") for j in range(c.a.end + 1)],
        result="Vapor condenses where its pressure would pass these.",
        source=_SATURATION_SOURCE,
        limits="Within 0.2 % of the steam tables from 0 to 80 °C; over ice up to 2 % low at −40 °C.",
    )
    yield Work(
        title=f"Vapor pressure indoors and outdoors, {month}",
        formula="p = φ·p_sat(θ)",
        where="φ relative humidity",
        numbers=list(_air(c)),
        result=f"p_i − p_e = {_text(float(_p_in(c)[k] - c.thermal.p_ext[k]), 1)} Pa drives vapor "
        f"{'outwards' if _p_in(c)[k] > c.thermal.p_ext[k] else 'inwards'}.",
        source=f"ISO 13788 ({MEMORY}); indoor condition `{c.site.condition}`; climate: "
        + "; ".join(str(s) for s in (c.site.climate.sources if c.site.climate else ())),
        limits="Monthly means; the room's humidity decides most and is seldom measured.",
    )
    z = np.diff(coordinates(1.0 / np.maximum(year.w[k], 1e-18)))
    lines, so_far = [], 0.0
    for i in range(c.a.end):
        w = float(year.w[k, i])
        local = 0.5 * (year.rh[k, i] + year.rh[k, i + 1])
        note = f"W at the layer's mean of {_text(100 * float(local), 0)} % RH; {_origin(c.layers[i], 'permeance_dry')}"
        if np.isclose(z[i], 1.0 / max(w, 1e-18), rtol=1e-9):
            term = constant("1") / figures(w, 4, -12)
            lines.append(
                _line(f"Z of {c.layer(i)}", term, 3, _Z_UNIT, power=9, note=note, trade=_z_trade(z[i]))
            )
        else:
            held = "held to the range from s_d 0.01 mm to 100 km"
            lines.append(_taken(f"Z of {c.layer(i)}", float(z[i]), 3, _Z_UNIT, power=9, note=held))
    for i in range(c.a.end):
        if i:
            lines.append(_line(f"to {c.node(i + 1)}", _z(so_far) + _z(z[i]), 3, _Z_UNIT, power=9))
        so_far += float(z[i])
    yield Work(
        title=f"Vapor resistance of each layer, {month}",
        formula="Z = 1/W",
        where="W permeance in kg/(s·m²·Pa), read at the layer's mean humidity; surface films have none",
        numbers=lines,
        result=f"Z_T = {_text(so_far / 1e9, 3)}·10⁹ m²·s·Pa/kg in all.",
        source=f"ISO 13788, 4.4 ({MEMORY}); permeances as noted",
        limits="A permeance at the mean humidity of the layer: common practice between the cups of ISO 12572.",
    )
    yield from _series(c, year, z)


def _p_in(c: _Case) -> Array:
    assert c.site.p_in is not None
    return c.site.p_in


def _air(c: _Case) -> Iterator[WorkLine]:
    k = c.k
    assert c.site.t_in is not None and c.site.t_out is not None and c.site.p_out is not None
    t_in, p_in = float(c.site.t_in[k]), float(_p_in(c)[k])
    p_sat = float(saturation_pressure(t_in))
    yield _line("p_sat indoors", saturation(t_in), 1, "Pa")
    named = indoor.CONDITIONS.get(c.site.condition)
    if named is not None and named.method == "excess" and named.excess > 0.0 and not named.kept:
        p_out, t_out = number(float(c.site.p_out[k]), 1), float(c.site.t_out[k])
        fading = constant("1") - greatest(constant("0"), least(constant("20"), _celsius(t_out))) / constant(
            "20"
        )
        kept = p_out + number(named.excess, 0) * fading
        term = greatest(kept, number(named.low, 2) * number(p_sat, 1)) if named.low else kept
        term = least(term, number(named.high, 2) * number(p_sat, 1))
        if np.isclose(term.exact, p_in, rtol=1e-9):
            yield _line("p_i, outdoors and excess", term, 1, "Pa", note=f"{named.about} {named.source}")
        else:
            yield _taken("p_i", p_in, 1, "Pa", note=f"{named.about} {named.source}")
        yield _line("φ_i", number(p_in, 1) / number(p_sat, 1), 4)
    else:
        yield _line(
            "p_i",
            number(p_in / p_sat, 4) * number(p_sat, 1),
            1,
            "Pa",
            note=named.about if named else "as stated",
        )
    t_ext, p_ext = float(c.thermal.t_ext[k]), float(c.thermal.p_ext[k])
    yield _line("p_sat on the outer side", saturation(t_ext), 1, "Pa")
    yield _taken("p_e, on the outer side", p_ext, 1, "Pa", note=_outer_side(c))
    yield _line("φ_e", number(p_ext, 1) / number(float(saturation_pressure(t_ext)), 1), 4)


def _series(c: _Case, year: Year, z: Array) -> Iterator[Work]:
    k, month = c.k, MONTHS[c.k]
    p_sat = saturation_pressure(year.thermal.t[k])
    p_i = min(float(_p_in(c)[k]), float(p_sat[0]))
    p_e = min(float(c.thermal.p_ext[k]), float(p_sat[-1]))
    x = np.concatenate(([0.0], np.cumsum(z)))
    lines, passed = [], []
    for j in range(1, c.a.end):
        term = number(p_i, 1) - (number(p_i, 1) - number(p_e, 1)) * _z(x[j]) / _z(x[-1])
        over = term.exact > p_sat[j] * (1.0 + 1e-10)
        if over:
            passed.append(c.node(j))
        note = f"{'passes' if over else 'below'} p_sat = {_text(float(p_sat[j]), 1)} Pa there"
        lines.append(_line(c.label(j), term, 1, "Pa", note=note))
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


# --- Condensation ---------------------------------------------------------------------------------


def _condensation(c: _Case, year: Year) -> Iterator[Work]:
    b = year.balance
    if float(b.total_peak) <= condensation.NEGLIGIBLE:
        return
    month, j = (int(v) for v in np.unravel_index(int(np.argmax(b.rate)), b.rate.shape))
    name = MONTHS[month]
    flow = _Flow.at(c, year, month, j)
    t, r_to = year.thermal.t[month], _r_to(c, month)
    warm, cold = float(c.thermal.t_in[month]), float(c.thermal.t_ext[month])
    lines = [
        _line(
            f"θ at {c.node(j)}",
            _celsius(warm)
            - (_celsius(warm) - _celsius(cold)) * _r(r_to[j]) / _r(float(c.thermal.total_cavity[month])),
            2,
            "°C",
        ),
        _line(f"p_sat at {c.node(j)}", saturation(float(t[j])), 1, "Pa"),
    ]
    for end, what in ((flow.inner, "inner"), (flow.outer, "outer")):
        if 0 < end < c.a.end:
            lines.append(
                _line(
                    f"p_sat at {c.node(end)}, touched on the {what} side", saturation(float(t[end])), 1, "Pa"
                )
            )
    z = np.diff(flow.x)
    for label, first, last in (("Z_1, inwards", flow.inner, j), ("Z_2, outwards", j, flow.outer)):
        lines.append(_line(label, total([_z(float(v)) for v in z[first:last]]), 3, _Z_UNIT, power=9))
    lines.append(_flow_line("g", flow))
    amount = _g(flow.term().exact) * _seconds(month)
    lines.append(_line(f"in {name}", amount, 4, "kg/m²"))
    yield Work(
        title=f"Condensation at {c.node(j)}, {name}, its worst month",
        formula="g = (p_1 − p_sat)/Z_1 − (p_sat − p_2)/Z_2",
        where="the pressure line stretched below saturation touches it at this joint; p_1, p_2 its next points inwards "
        "and outwards (the air, or another joint at saturation), Z_1, Z_2 vapor resistances to them",
        numbers=lines,
        result=f"{_text(1000 * amount.exact, 1)} g/m² condense at {_between(c, j)} in {name}.",
        source=f"ISO 13788, 6.4 to 6.6 ({MEMORY})",
        limits="Diffusion only, monthly means; no latent heat, no uptake by the materials.",
    )
    yield from _stock(c, year, j)


def _between(c: _Case, j: int) -> str:
    return f"the joint of {c.layers[j - 1].name} and {c.layers[j].name}"


def _r_to(c: _Case, month: int) -> Array:
    return np.concatenate(([c.thermal.r_si], c.thermal.r_si + np.cumsum(c.thermal.r[month])))


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
            _z(float(v))
            for v in (self.x[self.joint] - self.x[self.inner], self.x[self.outer] - self.x[self.joint])
        )
        return (number(self.p1, 1) - here) / z1 - (here - number(self.p2, 1)) / z2

    @classmethod
    def at(cls, c: _Case, year: Year, month: int, j: int) -> _Flow:
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
    return _line(of, g, places_of(g.exact / 1e-9, 5), "kg/(s·m²)", power=-9, note=flow.note)


def _stock(c: _Case, year: Year, j: int) -> Iterator[Work]:
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
        stock = greatest(constant("0"), number(held, 4) + _g(flow.term().exact) * _seconds(month))
        lines.append(_line(f"held at the end of {name}", stock, 4, "kg/m²"))
        held = float(b.stock[month, j])
    others = [c.node(n) for n in range(c.a.end + 1) if n != j and b.peak[n] > condensation.NEGLIGIBLE]
    also = f" Also wet in the year: {', '.join(others)}." if others else ""
    yield Work(
        title=f"The year's balance at {c.node(j)}",
        formula="g = (p_1 − p)/Z_1 − (p − p_2)/Z_2; M = max(0, M_before + g·t)",
        where="p saturation while the joint is wet, p_1 and p_2 as above, Z_1 and Z_2 at each month's humidity, t = 86400 s "
        "times the days of the month; a negative g dries",
        numbers=lines,
        result=f"From {MONTHS[start]}, dry: at most {_text(1000 * float(b.peak[j]), 1)} g/m² held, "
        f"{_text(1000 * float(b.left[j]), 1)} g/m² left after a year.{also}",
        source=f"ISO 13788, 6.4 to 6.6 ({MEMORY})",
        limits="Diffusion only; the water stays at the joint and neither runs off nor is taken up.",
    )


# --- Dew point, share, surface --------------------------------------------------------------------


def _dew_point(c: _Case) -> Iterator[Work]:
    k, month = c.k, MONTHS[c.k]
    p = float(_p_in(c)[k])
    dew = float(dew_point(p))
    margins = [
        _line(f"margin at {c.node(j)}", _celsius(float(c.thermal.t[k, j])) - _celsius(dew), 2, "K")
        for j in range(c.a.end + 1)
    ]
    below = [c.node(j) for j in range(c.a.end + 1) if c.thermal.t[k, j] < dew]
    yield Work(
        title=f"Dew point of the room and margins, {month}",
        formula="θ_d = 237.3·ln(p/610.5)/(17.269 − ln(p/610.5)); below 610.5 Pa 265.5 and 21.875",
        where="p vapor pressure indoors; the margin is the joint's temperature less the dew point",
        numbers=[_line("θ_d", frost_or_dew_point(p), 2, "°C"), *margins],
        result=f"Colder than the room's dew point: {', '.join(below)}."
        if below
        else "Nothing is colder than the room's dew point.",
        source=f"ISO 13788, Annex E, equations E.9 and E.10 ({MEMORY})",
        limits="Room air that reaches a joint below its dew point wets it; whether it does is a matter of air tightness.",
    )
    needed, share = c.head.fields.get("share_needed"), c.head.fields.get("share_outboard")
    warm, cold = float(c.thermal.t_in[k]), float(c.thermal.t_ext[k])
    if not isinstance(needed, float) or not isinstance(share, float) or c.a.condensing is None:
        return
    r_to, r_total = _r_to(c, k), float(c.thermal.total_cavity[k])
    i = c.a.condensing
    asked = least(
        constant("1"),
        greatest(constant("0"), (_celsius(dew) - _celsius(cold)) / (_celsius(warm) - _celsius(cold))),
    )
    yield Work(
        title=f"Share of R outboard of the condensing plane, {month}",
        formula="share = (R_T − R_ij)/R_T; needed = (θ_d − θ_e)/(θ_i − θ_e), within 0 and 1",
        where=f"R_ij to the inner face of {c.layer(i)}",
        numbers=[
            _line("share", (_r(r_total) - _r(r_to[i])) / _r(r_total), 3),
            _line("needed", asked, 3),
            _line("margin", number(share, 3) - number(needed, 3), 3),
        ],
        result="The plane stays above the room's dew point."
        if share >= needed
        else "The plane is colder than the room's dew point.",
        source="Steady heat flow set equal to the dew point (derived)",
        limits="Monthly means at the cavity; colder weeks need more.",
    )


def _surface(c: _Case, f: Framed) -> Iterator[Work]:
    factor, needed = c.head.fields.get("temperature_factor"), c.head.fields.get("temperature_factor_needed")
    if not isinstance(factor, float) or not isinstance(needed, float):
        return
    assert c.site.t_in is not None and c.site.t_out is not None
    p = _p_in(c)
    month = int(np.argmax(heat.required_temperature_factor(p, c.site.t_in, c.site.t_out)))
    worst = int(np.argmin(f.r_paths.sum(axis=1)))
    layers = [_r(float(r)) for r in f.r_paths[worst] if r > 0]
    path = total([number(RSI_SURFACE, 2), *layers, number(f.r_se, 2)])
    t_in, t_out = float(c.site.t_in[month]), float(c.site.t_out[month])
    least_surface = float(dew_point(p[month] / 0.8))
    names = _path_names(f)
    lines = [
        _line(f"R_T of path {names[worst]}, mold film", path, 3, "m²·K/W"),
        _line("f_Rsi", constant("1") - number(RSI_SURFACE, 2) / _r(path.exact), 3),
        _line(f"p_sat asked for in {MONTHS[month]}", number(float(p[month]), 1) / constant("0.8"), 1, "Pa"),
        _line("θ_si,min", frost_or_dew_point(float(p[month]) / 0.8), 2, "°C"),
        _line(
            "f_Rsi,min",
            greatest(
                constant("0"),
                (_celsius(least_surface) - _celsius(t_out)) / (_celsius(t_in) - _celsius(t_out)),
            ),
            3,
        ),
    ]
    yield Work(
        title="Temperature factor of the inner surface, and the one needed against mold",
        formula="f_Rsi = 1 − R_si/R_T; f_Rsi,min = (θ_si,min − θ_e)/(θ_i − θ_e), p_sat(θ_si,min) = p_i/0.8",
        where="R_si = 0.25 m²·K/W behind furniture and in corners; the path that conducts most",
        numbers=lines,
        result=f"f_Rsi {_text(factor, 3)} against {_text(needed, 3)} in {MONTHS[month]}, the critical month: "
        + ("enough." if factor >= needed else "not enough."),
        source=f"ISO 13788:2012, 5.3 ({MEMORY})",
        limits="One-dimensional: corners, slab edges and window reveals are colder.",
    )


# --- Wood and mold --------------------------------------------------------------------------------


def _wood(c: _Case, year: Year) -> Iterator[Work]:
    if np.isnan(year.wood).all():
        return
    month, i = (int(v) for v in np.unravel_index(int(np.nanargmax(year.wood)), year.wood.shape))
    p = c.layers[i]
    h = 0.5 * float(year.rh[month, i] + year.rh[month, i + 1])
    mean = 0.5 * float(year.thermal.t[month, i] + year.thermal.t[month, i + 1])
    t_value = max(mean, wood.TEMPERATURES[0])
    t, phi = _celsius(t_value), number(h, 4)

    def cubic(a: str, b: str, sign_b: int, c_: str, sign_c: int) -> Term:
        first = constant(a) + constant(b) * t if sign_b > 0 else constant(a) - constant(b) * t
        square = constant(c_) * t ** constant("2")
        return first + square if sign_c > 0 else first - square

    w = cubic("349", "1.29", 1, "0.0135", 1)
    k = cubic("0.805", "0.000736", 1, "0.00000273", -1)
    k1 = cubic("6.27", "0.00938", -1, "0.000303", -1)
    k2 = cubic("1.91", "0.0407", 1, "0.000293", -1)
    kh = k.exact * h
    x = number(kh, 5)
    one, two = number(k1.exact, 4), number(k2.exact, 4)
    bound = (one * x + constant("2") * one * two * x ** constant("2")) / (
        constant("1") + one * x + one * two * x ** constant("2")
    )
    moisture = constant("18") / number(w.exact, 3) * (x / (constant("1") - x) + bound)
    faces = (float(year.rh[month, i]), float(year.rh[month, i + 1]))
    lines = [
        _line("φ, mean of the two faces", (number(faces[0], 4) + number(faces[1], 4)) / constant("2"), 4),
        _line(
            "θ, mean of the two faces",
            (_celsius(float(year.thermal.t[month, i])) + _celsius(float(year.thermal.t[month, i + 1])))
            / constant("2"),
            2,
            "°C",
            note="" if mean >= t_value else "below −1.2 °C the fit's end, −1.2 °C, is used",
        ),
        _line("W", w, 3),
        _line("K", k, 5),
        _line("K_1", k1, 4),
        _line("K_2", k2, 4),
        _line("K·φ", number(k.exact, 5) * phi, 5),
        _line("u", moisture, 4, "kg/kg", trade=f"{100 * moisture.exact:.1f} % MC"),
    ]
    held = float(year.balance.stock[month, i] + year.balance.stock[month, i + 1])
    if held > 0 and p.density and p.thickness:
        dry = number(p.density, 0) * figures(p.thickness, 4)
        wet = number(moisture.exact, 4) + number(held, 5) / dry
        note = "the condensate held at its faces, spread over its mass"
        lines.append(
            _line("u with condensate", wet, 4, "kg/kg", trade=f"{100 * wet.exact:.1f} % MC", note=note)
        )
    yield Work(
        title=f"Wood moisture of {c.layer(i)}, {MONTHS[month]}, its wettest month",
        formula="u = 18/W·(K·φ/(1 − K·φ) + (K_1·K·φ + 2·K_1·K_2·(K·φ)²)/(1 + K_1·K·φ + K_1·K_2·(K·φ)²))",
        where="W = 349 + 1.29·θ + 0.0135·θ², K = 0.805 + 0.000736·θ − 0.00000273·θ², K_1 = 6.27 − 0.00938·θ − "
        "0.000303·θ², K_2 = 1.91 + 0.0407·θ − 0.000293·θ²; with condensate u + M/(ρ·d)",
        numbers=lines,
        result=f"{_text(100 * float(year.wood[month, i]), 1)} % moisture content; wood in service should stay below 20 %.",
        source="Hailwood and Horrobin, two hydrates: USDA Wood Handbook FPL-GTR-282, equation 4-5 (as restated from FPL-RN-0268)",
        limits="Equilibrium with the month's mean humidity: thin boards follow within weeks, timber lags; panels run 1 to 3 % lower.",
    )


def _mold(c: _Case, year: Year) -> Iterator[Work]:
    parts = c.layers[: c.a.end]
    joints = [(j, s) for j in range(1, c.a.end) if (s := mold_sensitivity(parts, j))]
    t, rh = year.thermal.t, year.rh
    best: tuple[float, int, int, str] | None = None
    for j, name in joints:
        lowest = mold.SENSITIVITIES[name].lowest_humidity
        for month in range(12):
            if not 0.01 <= t[month, j] <= 50.0:
                continue
            over = 100.0 * float(rh[month, j]) - float(mold.critical_humidity(t[month, j], lowest))
            if best is None or over > best[0]:
                best = (over, month, j, name)
    if best is None:
        return
    over, month, j, name = best
    kind = mold.SENSITIVITIES[name]
    warm = _celsius(float(t[month, j]))
    curve = (
        constant("100")
        - constant("3.13") * warm
        + constant("0.160") * warm ** constant("2")
        - constant("0.00267") * warm ** constant("3")
    )
    floor = _plain(kind.lowest_humidity)
    critical = greatest(curve, floor) if t[month, j] <= 20.0 else greatest(constant("80"), floor)
    p_sat = float(saturation_pressure(t[month, j]))
    humidity = 100.0 * float(rh[month, j])
    lines = [
        _line(
            "RH at the joint",
            constant("100") * number(float(rh[month, j]) * p_sat, 1) / number(p_sat, 1),
            2,
            "%",
        ),
        _line("critical RH", critical, 2, "%"),
    ]
    if over > 0:
        excess = number(humidity, 2) - number(critical.exact, 2)
        x = excess / (constant("100") - number(critical.exact, 2))
        lines.append(_line("x", x, 4))
        top = _plain(kind.a) + _plain(kind.b) * number(x.exact, 4)
        top = top - _plain(kind.c) * number(x.exact, 4) ** constant("2")
        lines.append(_line("M_max", least(constant("6"), greatest(constant("0"), top)), 3))
        weeks = exp(
            constant("66.02")
            - constant("0.68") * ln(warm)
            - constant("13.9") * ln(number(humidity, 2))
            + constant("0.14") * _plain(kind.wood)
        )
        lines.append(_line("t_m at M below 1, before k_1", weeks, 3, "weeks"))
        lines.append(_line("t_m over k_1", number(weeks.exact, 3) / _plain(kind.slow), 2, "weeks"))
    highest = float(year.mold[j])
    yield Work(
        title=f"Mold at {c.node(j)}, {MONTHS[month]}, its most favorable month",
        formula="RH_crit = 100 − 3.13·θ + 0.160·θ² − 0.00267·θ³ up to 20 °C, 80 above, not below the class's least; "
        "x = (RH − RH_crit)/(100 − RH_crit); M_max = A + B·x − C·x²; "
        "t_m = exp(66.02 − 0.68·ln θ − 13.9·ln RH + 0.14·W)",
        where=f"class `{name}`: A {kind.a:g}, B {kind.b:g}, C {kind.c:g}, k_1 {kind.slow:g} below 1, W {kind.wood:g}, "
        f"least RH {kind.lowest_humidity:g} %; t_m weeks to first growth",
        numbers=lines,
        result=(
            f"Mold can grow there in this month. Followed month by month over three such years the index comes to "
            f"{_text(highest, 2)} (3 is visible, the limit)."
            if over > 0
            else "Below the critical humidity all year: no growth."
        ),
        source="Hukka and Viitanen 1999, equations 1, 2 and 6; Ojanen and others 2010 and ASHRAE 160-2016 for the classes "
        f"({MEMORY})",
        limits="Monthly means: growth is understated where the mean lies just below critical; clean surfaces, no wind-driven wetting.",
    )


# --- Air, sun, rain, built-in water ---------------------------------------------------------------


def _forces(c: _Case, year: Year) -> Iterator[Work]:
    w = c.book.workings
    if "leakage" in w:
        yield _leakage(c, year, w["leakage"])
    if "sun" in w:
        yield _sun(c, w["sun"])
    if "inward" in w:
        yield _inward(c, w["inward"])
    if "rain" in w:
        yield _rain(c, year, w["rain"])
    for b in w.get("built in", []):
        yield _built_in(c, year, b)


def _plain(value: float) -> Term:
    """A number that is exact as it stands."""
    return constant(f"{value:g}")


def _middle(low: float, high: float) -> Term:
    return (_plain(low) + _plain(high)) / constant("2")


def _seconds(month: int) -> Term:
    return constant("86400") * number(MONTH_DAYS[month], 0)


def _leakage(c: _Case, year: Year, w: LeakageWork) -> Work:
    k, month = c.k, MONTHS[c.k]
    assert c.site.t_out is not None and c.site.t_in is not None
    cold, warm = float(c.site.t_out[k]), float(c.site.t_in[k])
    kelvin = constant("273.15")
    stack = greatest(
        constant("0"),
        constant("9.80665")
        * number(w.height, 3)
        * constant("101325")
        / constant("287.055")
        * (constant("1") / (_celsius(cold) + kelvin) - constant("1") / (_celsius(warm) + kelvin)),
    )
    flow = number(w.rated, 3) * (number(stack.exact, 3) / constant("75")) ** constant("0.65")
    p_i, t_j = float(_p_in(c)[k]), float(year.thermal.t[k, w.joint])
    p_j = float(saturation_pressure(t_j))

    def ratio(p: float) -> Term:
        return constant("0.621945") * number(p, 1) / (constant("101325") - number(p, 1))

    room, plane = ratio(p_i), ratio(p_j)
    left = greatest(constant("0"), number(room.exact, 6) - number(plane.exact, 6))
    wetting = constant("1.2") * number(flow.exact, 4) / constant("1000") * left * _seconds(k)
    able = [greatest(constant("0"), number(float(d), 4)) for d in w.drying]
    saturated = number(p_j, 1)
    inwards = figures(w.inner, 4, -12) * (saturated - number(p_i, 1)) * _seconds(k)
    outwards = figures(w.outer, 4, -12) * (saturated - number(float(c.thermal.p_ext[k]), 1)) * _seconds(k)
    return Work(
        title=f"Wetting by air leakage at {c.node(w.joint)}, {month} and year",
        formula="Δp = max(0, g·z·p_0/R_a·(1/T_e − 1/T_i)); q = q_75·(Δp/75)^0.65; x = 0.621945·p/(p_0 − p); "
        "m = ρ·q·max(0, x_i − x_j)·t",
        where="z height above the neutral plane, p_0 = 101325 Pa, q in L/(s·m²), x humidity ratio of the room and of air "
        "saturated at the joint, ρ = 1.2 kg/m³; drying W·(p_sat,j − p)·t to each side",
        numbers=[
            _taken("q_75", w.rated, 3, "L/(s·m²)", note="see what was assumed"),
            _line("Δp", stack, 3, "Pa"),
            _line("q", flow, 4, "L/(s·m²)"),
            _line("x_i", room, 6, "kg/kg"),
            _line("x_j", plane, 6, "kg/kg"),
            _line(f"m in {month}", wetting, 4, "kg/m²"),
            _line(
                "m in the year, January first", total([number(float(v), 4) for v in w.wetting]), 3, "kg/m²"
            ),
            _line(f"drying inwards in {month}", inwards, 4, "kg/m²"),
            _line(f"drying outwards in {month}", outwards, 4, "kg/m²"),
            _line("drying in the year, January first", total(able), 3, "kg/m²"),
        ],
        result=f"An upper bound of {_text(float(w.wetting.sum()), 2)} kg/m² a year against "
        f"{_text(float(np.maximum(w.drying, 0.0).sum()), 2)} kg/m² that the joint can dry.",
        source=f"ASHRAE Fundamentals, Ventilation and Infiltration (stack effect, power law), Psychrometrics equation 20 ({MEMORY})",
        limits="All leaking air is taken to leave saturated at the joint: real paths wet less. Stack alone, no wind, no fans.",
    )


def _sun(c: _Case, w: SunWork) -> Work:
    month = MONTHS[c.site.warmest]
    sol_air = _celsius(w.air) + number(w.absorptance, 2) * number(w.irradiance, 1) / constant("17")
    assert c.site.t_in is not None
    room = float(c.site.t_in[c.site.warmest])
    r = _r(w.resistance)
    face = (constant("17") * number(w.sol_air, 2) + _celsius(room) / r) / (constant("17") + constant("1") / r)
    return Work(
        title=f"Sun on the outer face, a clear day in {month}",
        formula="θ_sa = θ_a + α·I/h_o; θ_s = (h_o·θ_sa + θ_i/R)/(h_o + 1/R)",
        where="θ_a afternoon air, taken 5 K over the month's mean, α solar absorptance, I highest irradiance of the face, "
        "h_o = 17 W/(m²·K), R from the face to the room",
        numbers=[_line("θ_sa", sol_air, 2, "°C"), _line("θ_s", face, 2, "°C")],
        result=f"The face gets as hot as {_text(w.face, 1)} °C.",
        source=f"ASHRAE Fundamentals, sol-air temperature ({MEMORY}); clear-day irradiance by Meinel and Meinel 1976",
        limits="Steady, so an upper bound for heavy claddings; a usual absorptance where the color is not stated.",
    )


def _inward(c: _Case, w: InwardWork) -> Work:
    k = c.site.warmest
    assert c.site.t_in is not None
    room = float(_p_in(c)[k])
    source, plane = float(saturation_pressure(w.cladding)), float(saturation_pressure(w.plane))
    wi, wo = figures(w.inner, 4, -12), figures(w.outer, 4, -12)
    free = (wo * number(source, 1) + wi * number(room, 1)) / (wo + wi)
    here = least(number(free.exact, 1), number(plane, 1))
    p = min(free.exact, plane)
    hours = _plain(SUN_HOURS) * constant("3600")
    into = wo * (number(source, 1) - number(p, 1)) * hours
    lines = [
        _line(f"p_sat at the cladding, {_text(w.cladding, 1)} °C", saturation(w.cladding), 1, "Pa"),
        _line(f"p_sat at the plane, {_text(w.plane, 1)} °C", saturation(w.plane), 1, "Pa"),
        _line("p at the plane, were there no saturation", free, 1, "Pa"),
        _line("p at the plane", here, 1, "Pa"),
        _line("into the plane", into, 4, "kg/m²"),
    ]
    if free.exact > plane:
        wet = (
            wo * (number(source, 1) - number(plane, 1)) - wi * (number(plane, 1) - number(room, 1))
        ) * hours
        lines.append(_line("condensed there", wet, 4, "kg/m²"))
    return Work(
        title=f"Inward drive from wet, sunlit cladding, a day in {MONTHS[k]}",
        formula="p = min((W_o·p_c + W_i·p_i)/(W_o + W_i), p_sat); in = W_o·(p_c − p)·t; condensed = in − W_i·(p − p_i)·t",
        where=f"p_c saturation at the cladding, W_o from it to the plane (inner face of {c.layer(w.layer)}), W_i from there to "
        "the room, wet cup; t 6 h a day",
        numbers=lines,
        result=f"{_text(1000 * w.condensed, 0)} g/m² a day condense at the plane."
        if w.condensed > 0
        else "Nothing condenses at the plane.",
        source=f"ISO 13788, 6.3, for the diffusion ({MEMORY}); the hours of sun are common practice, no published source",
        limits="Steady and without storage, so an upper bound; a ventilated cavity takes most of it away.",
    )


def _rain(c: _Case, year: Year, w: RainWork) -> Work:
    k = int(np.argmax(w.on_wall))
    month = MONTHS[k]
    deposit = (
        number(w.factor, 1)
        * number(w.runoff, 2)
        * constant("0.2")
        * number(float(w.wind[k]), 2)
        * number(float(w.precipitation[k]), 1)
        / constant("3.14159265")
    )
    p_j = number(float(saturation_pressure(year.thermal.t[k, w.joint])), 1)
    inwards = figures(w.inner, 4, -12) * (p_j - number(float(_p_in(c)[k]), 1)) * _seconds(k)
    outwards = figures(w.outer, 4, -12) * (p_j - number(float(c.thermal.p_ext[k]), 1)) * _seconds(k)
    leak, dry = float(w.leak.sum()), float(w.drying.sum())
    lines = [
        _line(f"on the wall in {month}", deposit, 3, "kg/m²"),
        _line(
            "on the wall in the year, January first",
            total([number(float(v), 3) for v in w.on_wall]),
            2,
            "kg/m²",
        ),
        _line("leak in the year", number(rain.LEAK_SHARE, 2) * number(float(w.on_wall.sum()), 3), 4, "kg/m²"),
        _line(f"drying inwards in {month}", inwards, 4, "kg/m²"),
        _line(f"drying outwards in {month}", outwards, 4, "kg/m²"),
        _line(
            "drying in the year, January first", total([number(float(v), 4) for v in w.drying]), 3, "kg/m²"
        ),
    ]
    if leak > 0:
        ratio = number(dry, 3) / number(leak, 4)
        lines.append(_line("drying over leak", ratio, places_of(ratio.exact, 3)))
    return Work(
        title=f"Driving rain and a leak behind the cladding, {month} and year",
        formula="r = F_E·F_D·0.2·v·P/π; leak = 0.01·r; drying W·(p_sat − p)·t to each side of the wetted face",
        where=f"F_E exposure, F_D run-off factor, v mean wind in m/s, P precipitation in mm; the wetted face is {c.node(w.joint)}",
        numbers=lines,
        result=f"{_text(leak, 2)} kg/m² a year may leak in; the face can dry {_text(dry, 2)} kg/m².",
        source=f"ASHRAE 160, 4.6 ({MEMORY}); the monthly form with 1/π is derived",
        limits="Rain from all directions alike: a wall that faces the rain gets up to three times as much.",
    )


def _built_in(c: _Case, year: Year, w: BuiltInWork) -> Work:
    p = c.layers[w.layer]
    assert p.thickness is not None
    d = figures(p.thickness, 4)
    if p.has("concrete"):
        cement = _middle(*builtin.CEMENT)
        age = builtin.hydration(CONCRETE_AGE)
        degree = _middle(float(age.low), float(age.high))
        bound = _plain(builtin.CHEMICALLY_BOUND) * degree
        water = (cement * (_plain(CONCRETE_RATIO) - bound) - _middle(*builtin.HELD)) * d
        formula = "M_0 = (C·(w/c − 0.23·α) − 35)·d"
        where = "C 280 to 380 kg/m³ of cement, w/c 0.5, α degree of hydration after 28 days 0.65 to 0.85, 35 kg/m³ kept in a room"
        source = f"Powers' model of cement paste ({MEMORY}), ranges of the trade"
    else:
        assert p.density is not None
        water = number(p.density, 0) * d * (_plain(WET_WOOD) - _plain(DRY_WOOD))
        formula = "M_0 = ρ·d·(0.30 − 0.15)"
        where = "ρ dry density; closed in at 30 % and dry at 15 % moisture content (common practice)"
        source = "Definition of moisture content"
    lines = [_line("M_0", water, 3, "kg/m²")]
    order = [(9 + n) % 12 for n in range(12)]
    k = order[0]
    middle = 0.5 * float(year.thermal.t[k, w.layer] + year.thermal.t[k, w.layer + 1])
    p_sat = number(float(saturation_pressure(middle)), 1)
    lines.append(
        _line(
            "p_sat in the layer, October",
            saturation(middle),
            1,
            "Pa",
            note=f"θ {_text(middle, 2)} °C, mean of its faces",
        )
    )
    for label, permeance, other in (
        ("inwards", w.inner, float(_p_in(c)[k])),
        ("outwards", w.outer, float(c.thermal.p_ext[k])),
    ):
        lines.append(
            _line(
                f"{label} in October",
                figures(permeance, 4, -12) * (p_sat - number(other, 1)) * _seconds(k),
                4,
                "kg/m²",
            )
        )
    net = w.inwards + w.outwards
    left = w.water
    months = 0
    while left > 0 and months < min(18.0, w.months):
        k = order[months % 12]
        after = least(number(w.water, 4), number(left, 4) - number(float(net[k]), 4))
        line = greatest(constant("0"), after)
        lines.append(_line(f"left at the end of month {months + 1}, {MONTHS[k]}", line, 4, "kg/m²"))
        left = line.exact
        months += 1
    lines.append(
        _line("drying in a year, January first", total([number(float(v), 4) for v in net]), 3, "kg/m²")
    )
    result = (
        f"Dry after {_text(w.months, 1)} months from October."
        if np.isfinite(w.months)
        else "It does not dry within ten years."
    )
    return Work(
        title=f"Built-in moisture of {c.layer(w.layer)}",
        formula=formula + "; m = W·(p_sat − p)·t to each side; M = max(0, min(M_0, M_before − m))",
        where=where + "; W from the middle of the layer, wet cup",
        numbers=lines,
        result=result,
        source=f"{source}; diffusion ISO 13788, 6.3 ({MEMORY})",
        limits="A bound on the quick side: as the layer dries its vapor pressure falls, and the last of the water goes slower.",
    )


# --- Code -----------------------------------------------------------------------------------------


def _classes(layers: list[Properties], a: Anatomy) -> Iterator[Work]:
    lines = []
    for i in range(a.end):
        w = layers[i].permeance_dry
        if w is None or retarder_class(w) == "none":
            continue
        perms = figures(w, 4, -12) / number(PERM, 5, -12)
        lines.append(
            _line(
                f"layer {i + 1}, {layers[i].name}",
                perms,
                places_of(perms.exact, 3),
                "perm",
                note=f"Class {retarder_class(w)}; {_origin(layers[i], 'permeance_dry')}",
            )
        )
    if lines:
        yield Work(
            title="Vapor retarder classes, dry cup",
            formula="W in perm = W/(57.21349·10⁻¹² kg/(s·m²·Pa))",
            where="Class I up to 0.1 perm, II up to 1, III up to 10",
            numbers=lines,
            result="Layers above 10 perm are no retarders and are left out.",
            source="IRC R202 and IBC 202, by ASTM E96 procedure A (as restated); 1 perm of mercury at 0 °C",
            limits="A class says nothing of how a layer behaves when it is damp.",
        )


def _code(book: Book) -> Iterator[Work]:
    for r in book.records:
        if r.kind != "requirement":
            continue
        f = r.fields
        lines: list[WorkLine] = []
        needed, provided = f.get("r_needed"), f.get("r_provided")
        if isinstance(needed, float) and isinstance(provided, float):
            lines += [
                _taken("asks", needed, 3, "m²·K/W"),
                _taken("have", provided, 3, "m²·K/W"),
                _line("short", greatest(constant("0"), _r(needed) - _r(provided)), 3, "m²·K/W"),
            ]
        needed, provided = f.get("ratio_needed"), f.get("ratio_provided")
        if isinstance(needed, float) and isinstance(provided, float):
            lines += [
                _taken("asks, R outboard over R inboard", needed, 2),
                _taken("have", provided, 3),
                _line("short", greatest(constant("0"), number(needed, 2) - number(provided, 3)), 3),
            ]
        met, option = f.get("met"), f.get("option")
        verdict = {"yes": "Met", "no": "Not met"}.get(str(met), "Not known")
        why = "; ".join(dict.fromkeys(r.unknown.values()))
        memory = f" ({MEMORY})" if f.get("from_memory") == "yes" else ""
        edition = f.get("edition")
        yield Work(
            title=f"Code: {r.fields.get('topic', 'requirement')}",
            formula="short = max(0, asks − have)" if lines else "compared with the table's row for this zone",
            where=r.origin("topic").how,
            numbers=lines,
            result=verdict + (f": {option}." if option else f": {why}." if why else "."),
            source=f"{f.get('code')} {edition:g} {f.get('clause')}{memory}"
            if isinstance(edition, float)
            else r.label,
            limits="A model code; the code adopted where the building stands governs.",
        )


def _text(value: float, places: int) -> str:
    return number(value, places).text(0)
