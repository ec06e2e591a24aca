"""Heat: layer and total resistances, framing, soil, temperatures at the joints."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from reviewer.facts.anatomy import Anatomy
from reviewer.facts.arithmetic import Term, constant, cos, exp, figures, greatest, number, power_of_ten, total
from reviewer.facts.framing import Framed
from reviewer.facts.resolve import CAVITY_DIRECTION, Properties
from reviewer.facts.work.sheet import (
    MEMORY,
    Case,
    celsius,
    has_framing,
    origin_of,
    outer_side,
    path_names,
    r_value,
    shown_as,
    taken,
    worked,
)
from reviewer.library.types import MONTHS
from reviewer.model.section import Section
from reviewer.physics import ground, heat
from reviewer.result import Work, WorkLine
from reviewer.units import show


def heat_work(c: Case) -> Iterator[Work]:
    t, k, month = c.thermal, c.k, MONTHS[c.k]
    yield Work(
        title=f"Thermal resistance of each layer, {month}",
        formula="R = d/λ; of a closed air layer R = 1/(h_a + h_r0/(1/ε_1 + 1/ε_2 − 1))",
        where="d thickness, λ thermal conductivity, h_a conduction or convection, h_r0 = 4·σ·T³ radiation, ε emissivity",
        numbers=[_layer_resistance(c, i) for i in range(c.a.end)],
        result="Layers between framing members count as at the cavity here."
        if has_framing(c.layers)
        else "The layers in series.",
        source=f"ISO 6946 (definition; air layers Annex D of the 2017 edition) ({MEMORY}); values as noted",
        limits="One-dimensional, dry design values; conductivity by temperature only where the library has a curve.",
    )
    direction = CAVITY_DIRECTION[c.section.kind]
    sums = [taken("R_si, inside surface", t.r_si, 2, "m²·K/W", note=f"heat flow {direction}")]
    so_far = t.r_si
    for i in range(c.a.end):
        sums.append(worked(f"to {c.node(i + 1)}", r_value(so_far) + r_value(t.r[k, i]), 3, "m²·K/W"))
        so_far += float(t.r[k, i])
    sums.append(taken("R_se, outer side", t.r_se, 2, "m²·K/W", note=outer_side(c)))
    sums.append(worked("R_T, air to air", r_value(so_far) + r_value(t.r_se), 3, "m²·K/W"))
    yield Work(
        title="Surface resistances and total resistance"
        + (" at the cavity" if has_framing(c.layers) else ""),
        formula="R_T = R_si + R_1 + R_2 + … + R_se",
        where="R_si, R_se surface resistances; each line adds a layer to the line before",
        numbers=sums,
        result=f"R_T = {shown_as(so_far + t.r_se, 3)} m²·K/W, at the layers' temperatures in {month}.",
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
            taken("θ_i, indoors", warm, 2, "°C", note=f"indoor condition `{c.site.condition}`"),
            taken("θ_e, outer side", cold, 2, "°C", note=outer_side(c)),
            *(
                worked(
                    c.label(j),
                    celsius(warm) - (celsius(warm) - celsius(cold)) * r_value(r_to[j]) / r_value(r_total),
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


def _layer_resistance(c: Case, i: int) -> WorkLine:
    p, r = c.layers[i], float(c.thermal.r[c.k, i])
    origin = p.origins.get("r_value")
    how = origin_of(p, "conductivity")
    of = c.layer(i)
    if p.is_space and p.thickness is not None:
        return worked(of, _air_layer(p, c.section.kind), 3, "m²·K/W", note=origin.how if origin else "")
    if p.layer.r_value is not None or origin is None or not (p.thickness and p.conductivity):
        return taken(of, r, 3, "m²·K/W", note=origin_of(p, "r_value"))
    if p.material is not None and p.material.conductivity_by_temperature and r != p.r:
        mean = 0.5 * (c.thermal.t[c.k, i] + c.thermal.t[c.k, i + 1])
        conductivity = p.thickness / r
        how = f"λ at the layer's mean of {shown_as(mean, 1)} °C; {how}"
    elif np.isclose(p.thickness / p.conductivity, r, rtol=1e-9, atol=0.0):
        conductivity = p.conductivity
    else:
        return taken(of, r, 3, "m²·K/W", note=origin_of(p, "r_value"))
    return worked(of, figures(p.thickness, 3) / figures(conductivity, 3), 3, "m²·K/W", note=how)


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


def _soil(c: Case) -> Work:
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
            worked(
                "d",
                (constant("365") * constant("0.05") / constant("3.14159265")) ** constant("0.5"),
                3,
                "m",
            ),
            worked(
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


def framing_work(section: Section, layers: list[Properties], a: Anatomy, f: Framed) -> Iterator[Work]:
    shares = [i for i in range(a.end) if layers[i].layer.framing is not None]
    if not shares:
        path = [r_value(float(r)) for r in f.r_paths[0] if r > 0]
        yield Work(
            title="Thermal transmittance",
            formula="U = 1/R_T",
            where="R_T with the layers at their declared temperature",
            numbers=[
                worked("R_T", total([r_value(f.r_si), *path, r_value(f.r_se)]), 3, "m²·K/W"),
                worked("U", constant("1") / r_value(f.total), 4, "W/(m²·K)"),
            ],
            result=f"U = {shown_as(f.u, 4)} W/(m²·K).",
            source=f"ISO 6946:2017, 6.7.1 ({MEMORY})",
            limits="No fasteners, no gaps, no corners; no metal through the insulation.",
        )
        return
    lines: list[WorkLine] = []
    for i in shares:
        lines += _share_lines(section, layers, i, f)
    names = path_names(f)
    sums = []
    for path, name in zip(f.r_paths, names, strict=True):
        films_in, films_out = r_value(f.r_si), r_value(f.r_se)
        shown = [r_value(r) for r in path if r > 0]
        sums.append(worked(f"R_T, path {name}", total([films_in, *shown, films_out]), 3, "m²·K/W"))
    lines += sums
    if len(f.r_paths) > 1:
        lines += _limit_lines(f)
    else:
        lines.append(worked("U", constant("1") / r_value(f.total), 4, "W/(m²·K)"))
    metal = "; ".join(
        f"layer {i + 1}: {how}, ASHRAE 90.1 Appendix A ({MEMORY})" for i, how in f.effective.items()
    )
    yield Work(
        title="Total resistance with framing",
        formula="R_up = 1/(f_1/R_T1 + f_2/R_T2 + …); R_low = R_si + Σ 1/(f_1/R_j1 + f_2/R_j2 + …) + R_se; "
        "R_T = (R_up + R_low)/2; U = 1/R_T",
        where="f share of the area of each path, R_j resistance of a layer as the path meets it, at its declared temperature",
        numbers=lines,
        result=f"U = {shown_as(f.u, 4)} W/(m²·K), R_T = {shown_as(f.total, 3)} m²·K/W "
        f"({show(f.total, 'thermal resistance', 'ip')}); greatest error of the method {shown_as(100 * f.error, 1)} %.",
        source=f"ISO 6946:2017, 6.7.2, combined method ({MEMORY})" + (f"; {metal}" if metal else ""),
        limits="Not for metal through insulation (there an effective resistance is used); no fasteners, no corners.",
    )


def _share_lines(section: Section, layers: list[Properties], i: int, f: Framed) -> Iterator[WorkLine]:
    p = layers[i]
    framing = p.layer.framing
    assert framing is not None
    if i in f.effective:
        yield taken(f"R of layer {i + 1} with its studs", f.r_paths[0][i], 3, "m²·K/W", note=f.effective[i])
        return
    if framing.fraction is not None:
        yield taken(f"f of layer {i + 1}", framing.fraction, 3, note="as written")
    else:
        wall = section.kind in ("wall", "foundation wall")
        plates = "whole wall" if wall and framing.pattern == "single" else "plates" if wall else "none"
        share = figures(framing.width, 3) / figures(framing.spacing, 3)
        if plates != "none":
            share = share + number(heat.FRAMING_ALLOWANCES[plates], 3)
        source = f"members over spacing; allowance: {plates} (ASHRAE 90.1, Appendix A3.4, {MEMORY})"
        yield worked(f"f of layer {i + 1}", share, 3, note=source)
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
        yield worked(
            f"R of the members in layer {i + 1}", term, 3, "m²·K/W", note=f"λ of {framing.material.id}"
        )


def _limit_lines(f: Framed) -> Iterator[WorkLine]:
    shares = [number(float(s), 4) for s in f.shares]
    totals = [r_value(float(path.sum() + f.r_si + f.r_se)) for path in f.r_paths]
    upper = constant("1") / total([s / r for s, r in zip(shares, totals, strict=True)])
    yield worked("R_up, upper limit", upper, 3, "m²·K/W")
    planes: list[Term] = [r_value(f.r_si)]
    for i in range(f.r_paths.shape[1]):
        column = f.r_paths[:, i]
        if not column.any():
            continue
        if np.ptp(column) == 0.0:
            planes.append(r_value(float(column[0])))
            continue
        if (column == 0.0).any():
            continue
        mean = constant("1") / total([s / r_value(float(r)) for s, r in zip(shares, column, strict=True)])
        yield worked(f"R of layer {i + 1}, all paths", mean, 3, "m²·K/W")
        planes.append(r_value(mean.exact))
    planes.append(r_value(f.r_se))
    yield worked("R_low, lower limit", total(planes), 3, "m²·K/W")
    yield worked("R_T, their mean", (r_value(f.upper) + r_value(f.lower)) / constant("2"), 3, "m²·K/W")
    yield worked("U", constant("1") / r_value(f.total), 4, "W/(m²·K)")
