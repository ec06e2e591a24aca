"""The steady monthly calculation of one section: temperatures, vapor, condensation, wood moisture.

Puts the pure functions of `reviewer.physics` together; the method and its limits are stated beside
the numbers. Arrays are months × joints: joint 0 is the room-side surface, joint L the outer face.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Book
from reviewer.facts.resolve import CAVITY_DIRECTION, RH_GRID, Properties
from reviewer.facts.site import Site
from reviewer.humidity import dew_point, saturation_pressure
from reviewer.library import properties
from reviewer.model.section import Section
from reviewer.physics import condensation, ground, heat, mold, vapor, wood

Array = NDArray[np.float64]

LIMITS = (
    "Steady monthly diffusion (ISO 13788): ignores storage of moisture in materials, liquid flow, air leakage, "
    "rain and sun; good for ranking and for screening, not for predicting a moisture content on a date."
)
HUMID = 0.80
WARM = 5.0
"""°C: growth of mold needs a surface warmer than this (ASHRAE 160 6.1, from memory)."""
MOLD_POSSIBLE = 0.79
"""Below the least critical humidity of the mold model (80 %), nothing is followed."""
MOLD_YEARS = 3
"""Years over which the mold index is followed: growth that comes back each winter adds up."""
WET_WOOD, WET_WARM_WOOD = 0.20, 0.26


@dataclass(frozen=True, slots=True)
class Thermal:
    r: Array
    """[12, L], at the month's mean temperature of each layer, at the cavity."""
    t: Array
    """[12, L+1]."""
    r_si: float
    r_se: float
    t_in: Array
    t_ext: Array
    p_ext: Array
    total_cavity: Array
    """[12] m²·K/W with both films."""


@dataclass(frozen=True, slots=True)
class Year:
    thermal: Thermal
    p: Array
    """[12, L+1] Pa, from the condensation balance (at saturation where wet)."""
    rh: Array
    """[12, L+1]."""
    w: Array
    """[12, L] permeance at the local humidity."""
    balance: condensation.CondensationYear
    wood: Array
    """[12, L] moisture content where wood based, else NaN: sorption at the mean humidity of the layer, and the
    condensate held at its faces spread over its mass."""
    mold: Array
    """[L+1] highest mold index at each joint by monthly means, sensitivity of the more sensitive neighbor."""
    t_design: Array | None
    """[L+1], steady, design day."""


def outer_conditions(
    section: Section, site: Site, anatomy: Anatomy, book: Book
) -> tuple[Array, Array, float]:
    """Temperature [12], vapor pressure [12] and film resistance on the section's outer side."""
    assert site.t_out is not None and site.p_out is not None and site.t_in is not None
    direction = CAVITY_DIRECTION[section.kind]
    r_vent = heat.surface_resistance(direction, "ventilated cavity")
    if anatomy.vent is not None:
        return site.t_out, site.p_out, r_vent
    where = anatomy.surroundings
    if where == "outdoor air":
        return site.t_out, site.p_out, heat.surface_resistance(direction, "outside")
    if where == "vented attic":
        return site.t_out, site.p_out, r_vent
    if where == "soil":
        depth = section.depth_below_grade
        if depth is None:
            depth = 1.2 if section.kind == "foundation wall" else 0.3
            book.assume(
                f"soil at {depth:g} m depth",
                "the depth below grade was not stated",
                "temperatures on the soil side",
            )
        t = ground.monthly_soil_temperature(depth, site.t_out)
        return t, saturation_pressure(t), 0.0
    mean = float(np.mean(site.t_out))
    if where == "vented crawl space":
        t = 0.5 * (site.t_out + mean)
        book.assume(
            "the vented crawl space is halfway between the outdoor air and the yearly mean, with outdoor vapor pressure (capped at saturation)",
            "its temperature was not stated (common practice)",
        )
        p = np.minimum(site.p_out, saturation_pressure(t))
    elif where == "unvented crawl space":
        t = 0.5 * (site.t_in + 0.5 * (site.t_out + mean))
        book.assume(
            "the unvented crawl space is halfway between the room and the ground, at 70 % relative humidity",
            "its condition was not stated (common practice)",
        )
        p = 0.7 * saturation_pressure(t)
    else:
        t = 0.5 * (site.t_in + site.t_out)
        book.assume(
            f"the {where} is halfway between the room and the outdoor air, with outdoor vapor pressure",
            "its temperature was not stated (common practice)",
        )
        p = np.minimum(site.p_out, saturation_pressure(t))
    return t, p, r_vent


def thermal_year(
    section: Section, layers: list[Properties], site: Site, anatomy: Anatomy, book: Book
) -> Thermal:
    """Temperatures at every joint and month, at the cavity. Every layer up to `anatomy.end` has an R."""
    assert site.t_in is not None
    direction = CAVITY_DIRECTION[section.kind]
    parts = layers[: anatomy.end]
    t_ext, p_ext, r_se = outer_conditions(section, site, anatomy, book)
    r_si = heat.surface_resistance(direction, "inside")
    r = np.tile(np.array([p.r or 0.0 for p in parts]), (12, 1))
    t = heat.temperatures(r, site.t_in, t_ext, r_si, r_se)
    curved = [
        (i, p)
        for i, p in enumerate(parts)
        if p.material is not None
        and p.material.conductivity_by_temperature
        and not p.layer.overrides & {"r_value", "conductivity"}
        and p.thickness
    ]
    if curved:
        for _ in range(3):
            mean = 0.5 * (t[:, :-1] + t[:, 1:])
            for i, p in curved:
                assert p.material is not None and p.thickness is not None
                r[:, i] = p.thickness / properties.conductivity_at(p.material, mean[:, i])
            t = heat.temperatures(r, site.t_in, t_ext, r_si, r_se)
    thermal = Thermal(r, t, r_si, r_se, site.t_in, t_ext, p_ext, r.sum(axis=1) + r_si + r_se)
    book.workings["thermal"] = thermal
    return thermal


def monthly_year(layers: list[Properties], site: Site, anatomy: Anatomy, thermal: Thermal) -> Year:
    """Vapor, condensation and wood moisture. Every layer up to `anatomy.end` has a permeance."""
    assert site.p_in is not None and site.t_in is not None and site.t_out is not None
    parts = layers[: anatomy.end]
    table = np.array([p.permeance for p in parts])

    def w_of_rh(rh: Array) -> Array:
        x = np.clip(rh, 0.0, 1.0) * (len(RH_GRID) - 1)
        low = np.minimum(x.astype(int), len(RH_GRID) - 2)
        rows = np.arange(len(parts))
        a, b = table[rows, low], table[rows, low + 1]
        return a + (b - a) * (x - low)

    w = vapor.iterate_permeance(w_of_rh, thermal.t, site.p_in, thermal.p_ext).permeances
    balance = condensation.condensation_year(thermal.t, 1.0 / np.maximum(w, 1e-18), site.p_in, thermal.p_ext)
    p = balance.pressures
    rh = np.clip(p / saturation_pressure(thermal.t), 0.0, 1.0)
    moisture = np.full(w.shape, np.nan)
    for i, q in enumerate(parts):
        if q.has("wood based"):
            mean = wood.monthly_moisture(
                0.5 * (rh[:, i] + rh[:, i + 1]), 0.5 * (thermal.t[:, i] + thermal.t[:, i + 1])
            )
            held = balance.stock[:, i] + balance.stock[:, i + 1]
            if q.density and q.thickness:
                mean = wood.moisture_with_condensate(mean, held, q.density, q.thickness)
            moisture[:, i] = mean
    index = _mold(parts, thermal.t, rh)
    design = None
    c = site.climate
    if c is not None and c.heating_design is not None and anatomy.surroundings == "outdoor air":
        k = site.coldest
        design = heat.temperatures(
            thermal.r[k], float(site.t_in[k]), c.heating_design, thermal.r_si, thermal.r_se
        )
    return Year(thermal, p, rh, w, balance, moisture, index, design)


def _mold(parts: list[Properties], t: Array, rh: Array) -> Array:
    """[L+1] highest index at each joint, by the more sensitive of the two layers there."""
    by_class: dict[str, list[int]] = {}
    for j in range(1, len(parts)):
        name = mold_sensitivity(parts, j)
        if name is not None and rh[:, j].max() > MOLD_POSSIBLE:
            by_class.setdefault(name, []).append(j)
    index = np.zeros(len(parts) + 1)
    for name, joints in by_class.items():
        grown = mold.monthly_index(
            t[:, joints].T, rh[:, joints].T, name, decline=mold.ASHRAE_DECLINE, years=MOLD_YEARS
        )
        index[joints] = grown.max(axis=-1)
    return index


def mold_sensitivity(parts: list[Properties], joint: int) -> str | None:
    """The class of the more sensitive of the two layers at a joint; None when neither has one."""
    order = list(mold.SENSITIVITIES)
    classes = [
        q.material.mold_class
        for q in parts[joint - 1 : joint + 1]
        if q.material is not None and q.material.mold_class
    ]
    return min(classes, key=order.index) if classes else None


def months_below_dew_point(year: Thermal, site: Site) -> NDArray[np.int64]:
    """[L+1] months in which each joint is below the indoor dew point."""
    assert site.p_in is not None
    return (year.t < dew_point(site.p_in)[:, None]).sum(axis=0)
