"""Facts that the calculations give: temperatures, condensation, wood moisture and mold, by layer, joint and section."""

from __future__ import annotations

from typing import Any

import numpy as np

from reviewer.facts import monthly
from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Book, Origin, Record
from reviewer.facts.framing import framed_transmittance
from reviewer.facts.resolve import Properties
from reviewer.facts.site import Site
from reviewer.facts.sums import UNLIMITED
from reviewer.facts.vocabulary import KINDS
from reviewer.humidity import dew_point
from reviewer.model.section import Section
from reviewer.physics import condensation, heat
from reviewer.physics.corner import corner_temperature_factor

LIMIT_CITATION = "DIN 4108-3 (from memory of the document)"


def thermal_facts(
    head: Record,
    records: list[Record],
    section: Section,
    layers: list[Properties],
    a: Anatomy,
    site: Site,
    thermal: monthly.Thermal | None,
    year: monthly.Year | None,
    why: str,
    book: Book,
) -> None:
    u = framed_transmittance(section, layers, a, head, book)
    if u is not None:
        head.put("u_value", u.u)
        head.put("r_total", u.total)
    else:
        for name in ("u_value", "r_total"):
            head.put(
                name, None, why=next((p.why.get("r_value", "") for p in layers[: a.end] if p.r is None), why)
            )
    per_layer = (
        "r_inboard",
        "r_outboard",
        "share_inboard",
        "share_outboard",
        "t_winter_inner",
        "t_winter_outer",
        "t_summer_inner",
        "dew_margin",
        "months_below_dew_point",
    )
    if thermal is None:
        for name in (
            "share_outboard",
            "share_needed",
            "share_margin",
            "temperature_factor",
            "temperature_factor_needed",
            "temperature_factor_margin",
        ):
            head.put(name, None, why=why)
        for r in records[: a.end]:
            for name in per_layer:
                r.put(name, None, why=why)
        return
    assert site.p_in is not None and site.t_out is not None and site.t_in is not None
    k, w = site.coldest, site.warmest
    total = float(thermal.total_cavity[k])
    cumulative = np.concatenate(([thermal.r_si], thermal.r_si + np.cumsum(thermal.r[k])))
    dew = dew_point(site.p_in)
    below = monthly.months_below_dew_point(thermal, site).tolist()
    inboard, winter, summer = cumulative.tolist(), thermal.t[k].tolist(), thermal.t[w].tolist()
    design = year.t_design.tolist() if year is not None and year.t_design is not None else None
    coldest, dew_winter = design or winter, float(dew[k])
    for i, r in enumerate(records[: a.end]):
        r.put("r_inboard", inboard[i])
        r.put("r_outboard", total - inboard[i + 1])
        r.put("share_inboard", inboard[i] / total)
        r.put("share_outboard", (total - inboard[i]) / total)
        r.put("t_winter_inner", winter[i])
        r.put("t_winter_outer", winter[i + 1])
        r.put("t_summer_inner", summer[i])
        r.put("dew_margin", winter[i] - dew_winter)
        r.put("months_below_dew_point", below[i])
        m = layers[i].material
        if m is not None and m.service[0] is not None:
            r.put("service_margin_cold", coldest[i + 1] - m.service[0])
        if design is not None:
            r.put("t_design_inner", design[i])
    t_in, t_ext = float(thermal.t_in[k]), float(thermal.t_ext[k])
    if t_in - t_ext > 1.0:
        needed = min(max((dew_winter - t_ext) / (t_in - t_ext), 0.0), 1.0)
        head.put("share_needed", needed)
        if a.condensing is not None:
            share = (total - inboard[a.condensing]) / total
            head.put("share_outboard", share)
            head.put("share_margin", share - needed)
    else:
        head.put("share_needed", 0.0)
    if u is not None and section.kind in ("wall", "roof", "floor"):
        factor = 1.0 - u.u_worst_path * 0.25 if u.u_worst_path * 0.25 < 1 else 0.0
        needed_f = float(np.max(heat.required_temperature_factor(site.p_in, site.t_in, site.t_out)))
        head.put("temperature_factor", factor)
        head.put("temperature_factor_needed", max(needed_f, 0.0))
        head.put("temperature_factor_margin", factor - max(needed_f, 0.0))
        if section.kind == "wall" and a.surroundings == "outdoor air":
            corner = _corner_factor(layers[: a.end], thermal.r_se)
            if corner is not None:
                head.put("corner_factor", corner)
                head.put("corner_factor_margin", corner - max(needed_f, 0.0))


def _corner_factor(parts: list[Properties], r_se: float) -> float | None:
    """f_Rsi in the outside corner of two walls like this one, framing members solid in the corner.

    None for sections that the corner's model does not take (no thickness to speak of, extreme materials).
    """
    solid = [p for p in parts if p.r and p.thickness and p.thickness >= 1e-4]
    stack = [(p.thickness or 0.0, (p.thickness or 0.0) / (p.r or 1.0)) for p in solid]
    framed = next((i for i, p in enumerate(solid) if p.layer.framing is not None), None)
    post = None
    if framed is not None:
        member = solid[framed].layer.framing
        assert member is not None
        # Steel members are thin: what stands in the corner is mostly the insulation beside them.
        if member.material.conductivity is not None and "metal" not in member.material.flags:
            post = (framed, member.material.conductivity)
    try:
        return corner_temperature_factor(stack, outside_film=r_se, post=post).factor
    except ValueError:
        return None


def moisture_facts(
    head: Record,
    records: list[Record],
    layers: list[Properties],
    a: Anatomy,
    year: monthly.Year | None,
    why: str,
    book: Book,
) -> None:
    per_section = (
        "condensate_peak",
        "condensate_left",
        "condensate_months",
        "condenses",
        "dries_within_year",
        "drying_reserve",
    )
    per_layer = (
        "permeance_winter",
        "rh_highest",
        "months_humid",
        "wood_moisture",
        "months_wet_wood",
        "months_wet_warm",
        "mold_index",
        "condensate_peak",
        "condensate_left",
    )
    if year is None:
        for name in per_section:
            head.put(name, None, why=why)
        for i, r in enumerate(records[: a.end]):
            for name in per_layer:
                if name in ("wood_moisture", "months_wet_wood", "months_wet_warm") and not (
                    layers[i].has("wood based") or layers[i].layer.unknown
                ):
                    continue
                r.put(name, None, why=why)
        return
    b = year.balance
    head.put("condensate_peak", float(b.total_peak))
    head.put("condensate_left", float(b.left.sum()))
    head.put("condensate_months", int(b.wet_months))
    head.put("condenses", bool(b.condenses))
    head.put("dries_within_year", bool(b.dries))
    _drying_reserve(head, layers, a, year)
    t, rh = year.thermal.t, year.rh
    k = int(np.argmin(year.thermal.t_ext))
    humid = (rh >= monthly.HUMID) & (t > monthly.WARM)
    highest, mold = rh.max(axis=0).tolist(), year.mold.tolist()
    peak, left, permeance = b.peak.tolist(), b.left.tolist(), year.w[k].tolist()
    for i, r in enumerate(records[: a.end]):
        r.put("permeance_winter", permeance[i])
        # The surfaces at the ends follow the air of the room and outdoors, not the section.
        faces = [j for j in (i, i + 1) if 0 < j < a.end] or [min(max(i, 1), a.end - 1)] if a.end > 1 else [0]
        r.put("rh_highest", max(highest[j] for j in faces))
        r.put("months_humid", int(humid[:, faces].any(axis=1).sum()))
        r.put("mold_index", max(mold[i], mold[i + 1]))
        r.put("condensate_peak", max(peak[i], peak[i + 1]))
        r.put("condensate_left", max(left[i], left[i + 1]))
        if layers[i].has("wood based"):
            moisture = year.wood[:, i]
            r.put("wood_moisture", float(moisture.max()))
            r.put("months_wet_wood", int((moisture > monthly.WET_WOOD).sum()))
            warm = 0.5 * (t[:, i] + t[:, i + 1]) > monthly.WARM
            r.put("months_wet_warm", int(((moisture > monthly.WET_WARM_WOOD) & warm).sum()))


def _drying_reserve(head: Record, layers: list[Properties], a: Anatomy, year: monthly.Year) -> None:
    """DIN 4108-3 period method, for walls and roofs to the outdoor air."""
    kind = str(head.fields["kind"])
    if kind not in ("wall", "roof") or a.surroundings not in ("outdoor air", "vented attic") or a.end < 2:
        return
    outer = set(a.exterior)
    w = [
        (p.permeance_wet if i in outer else p.permeance_dry) or year.w[:, i].min()
        for i, p in enumerate(layers[: a.end])
    ]
    z = 1.0 / np.clip(np.asarray(w, float), 1e-15, UNLIMITED)
    periods = condensation.period_method(year.thermal.r.mean(axis=0), z, kind)
    head.put("drying_reserve", float(periods.reserve))


def _limit(inner: Properties, outer: Properties) -> tuple[float, str]:
    """The most condensate a joint can hold, by the layers it lies between (DIN 4108-3)."""

    def wood_mass(p: Properties, share: float) -> float:
        return share * (p.density or 500.0) * (p.thickness or 0.0)

    wood = [p for p in (inner, outer) if p.has("wood based") and (p.thickness or 0) > 0]
    if wood:
        limits = [
            wood_mass(
                p,
                condensation.LIMIT_WOOD
                if "lumber" in p.name or ("board" in p.name and "strand" not in p.name)
                else condensation.LIMIT_WOOD_PANEL,
            )
            for p in wood
        ]
        return min(min(limits), condensation.LIMIT_GENERAL), "share of the wood's mass"
    absorbing = any(p.has("holds water") or p.has("masonry") or p.has("concrete") for p in (inner, outer))
    return (
        (condensation.LIMIT_GENERAL, "absorbent")
        if absorbing
        else (condensation.LIMIT_NON_ABSORBING, "faces that do not absorb")
    )


def joint_facts(
    layers: list[Properties],
    a: Anatomy,
    site: Site,
    thermal: monthly.Thermal | None,
    year: monthly.Year | None,
    why: str,
    book: Book,
) -> None:
    values = None if thermal is None or year is None else _joint_values(site, thermal, year)
    for j in range(1, a.end):
        inner, outer = layers[j - 1], layers[j]
        r = book.record("joint", str(j), f"joint {inner.shown} / {outer.shown}")
        r.put("inner", j - 1)
        r.put("outer", j)
        r.put("inner_name", inner.name)
        r.put("outer_name", outer.name)
        r.put("on_wood", inner.has("wood based") or outer.has("wood based"))
        r.put("on_absorbent", inner.has("holds water") or outer.has("holds water"))
        if values is None:
            for name in _JOINT_UNKNOWN:
                r.put(name, None, why=why)
            continue
        for name, by_joint in values.items():
            r.put(name, by_joint[j])
        peak = values["condensate_peak"][j]
        limit, how = _limit(inner, outer)
        r.put("gain_limit", limit, Origin("looked up", how, LIMIT_CITATION))
        r.put("gain_margin", max(limit - peak, 0.0))
        r.put("over_limit", peak > limit)


_JOINT_UNKNOWN = tuple(
    f
    for f in KINDS["joint"].fields
    if f not in ("inner", "outer", "inner_name", "outer_name", "on_wood", "on_absorbent")
)


def _joint_values(site: Site, thermal: monthly.Thermal, year: monthly.Year) -> dict[str, list[Any]]:
    """What the calculation says of every joint, surfaces included, by field."""
    assert site.p_in is not None
    k, b = site.coldest, year.balance
    dew = float(dew_point(site.p_in[k]))
    winter = thermal.t[k]
    design = {} if year.t_design is None else {"t_design": year.t_design.tolist()}
    return {
        "t_winter": winter.tolist(),
        **design,
        "dew_margin": (winter - dew).tolist(),
        "rh_winter": year.rh[k].tolist(),
        "rh_highest": year.rh.max(axis=0).tolist(),
        "months_humid": ((year.rh >= monthly.HUMID) & (thermal.t > monthly.WARM)).sum(axis=0).tolist(),
        "months_below_dew_point": monthly.months_below_dew_point(thermal, site).tolist(),
        "condenses": (b.peak > condensation.NEGLIGIBLE).tolist(),
        "mold_index": year.mold.tolist(),
        "condensate_peak": b.peak.tolist(),
        "condensate_left": b.left.tolist(),
        "months_wet": b.wet_months_at.tolist(),
    }
