"""The steady monthly calculation of one section: temperatures, vapor, condensation, wood moisture.

Puts the pure functions of `reviewer.physics` together; the method and its limits are stated beside
the numbers. Arrays are months × joints: joint 0 is the room-side surface, joint L the outer face.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Book
from reviewer.facts.resolve import CAVITY_DIRECTION, Properties
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
LEAST_WOOD = 0.003
"""m: paper facings and veneers thinner than this have no mass to spread condensate over."""
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
    mold_course: Array
    """[12 × MOLD_YEARS, L+1] the same at the end of each month, from the first January on."""
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


@dataclass(frozen=True, slots=True)
class Job:
    """One section of a batch, ready for the calculation."""

    section: Section
    layers: list[Properties]
    site: Site
    anatomy: Anatomy
    book: Book

    @property
    def parts(self) -> list[Properties]:
        return self.layers[: self.anatomy.end]


def thermal_year(
    section: Section, layers: list[Properties], site: Site, anatomy: Anatomy, book: Book
) -> Thermal:
    """Temperatures at every joint and month, at the cavity. Every layer up to `anatomy.end` has an R."""
    return thermal_years([Job(section, layers, site, anatomy, book)])[0]


def thermal_years(jobs: Sequence[Job]) -> list[Thermal]:
    """The same for many sections with as many layers up to their ends: [B, 12, L] in one go."""
    sites = [j.site for j in jobs]
    directions: list[heat.Direction] = [CAVITY_DIRECTION[j.section.kind] for j in jobs]
    outer = [outer_conditions(j.section, j.site, j.anatomy, j.book) for j in jobs]
    r_si = [heat.surface_resistance(d, "inside") for d in directions]
    t_in = np.array([s.t_in for s in sites])
    t_ext = np.array([o[0] for o in outer])
    films = np.array(r_si)[:, None], np.array([o[2] for o in outer])[:, None]
    r = np.repeat(np.array([[p.r or 0.0 for p in j.parts] for j in jobs])[:, None], 12, axis=1)
    t = heat.temperatures(r, t_in, t_ext, *films)
    curved: dict[str, list[tuple[int, int, Properties]]] = {}
    for b, j in enumerate(jobs):
        for i, p in enumerate(j.parts):
            if (
                p.material is not None
                and p.material.conductivity_by_temperature
                and not p.layer.overrides & {"r_value", "conductivity"}
                and p.thickness
            ):
                curved.setdefault(p.material.id, []).append((b, i, p))
    for _ in range(3 if curved else 0):
        mean = 0.5 * (t[..., :-1] + t[..., 1:])
        for found in curved.values():
            at = [b for b, _, _ in found], slice(None), [i for _, i, _ in found]
            material = found[0][2].material
            assert material is not None
            thickness = np.array([p.thickness for _, _, p in found])[:, None]
            r[at] = thickness / properties.conductivity_at(material, mean[at])
        t = heat.temperatures(r, t_in, t_ext, *films)
    out = []
    for b, j in enumerate(jobs):
        r_se = outer[b][2]
        total = r[b].sum(axis=1) + r_si[b] + r_se
        thermal = Thermal(r[b], t[b], r_si[b], r_se, t_in[b], t_ext[b], outer[b][1], total)
        j.book.workings["thermal"] = thermal
        out.append(thermal)
    return out


def monthly_year(layers: list[Properties], site: Site, anatomy: Anatomy, thermal: Thermal) -> Year:
    """Vapor, condensation and wood moisture. Every layer up to `anatomy.end` has a permeance."""
    return monthly_years([(layers[: anatomy.end], site, anatomy, thermal)])[0]


def monthly_years(jobs: Sequence[tuple[list[Properties], Site, Anatomy, Thermal]]) -> list[Year]:
    """The same for many sections with as many layers: (layers up to the end, site, anatomy, temperatures)."""
    table = np.array([[p.permeance for p in parts] for parts, _, _, _ in jobs])
    count, size, points = table.shape
    first = np.arange(0, table.size, points).reshape(count, 1, size)
    rise = np.diff(table.reshape(-1), append=0.0)

    def w_of_rh(rh: Array) -> Array:
        x = np.minimum(np.maximum(rh, 0.0), 1.0) * (points - 1)
        low = np.minimum(x.astype(int), points - 2)
        at = first + low
        return table.take(at) + rise.take(at) * (x - low)

    t = np.array([th.t for _, _, _, th in jobs])
    p_in = np.array([site.p_in for _, site, _, _ in jobs])
    p_ext = np.array([th.p_ext for _, _, _, th in jobs])
    w = vapor.iterate_permeance(w_of_rh, t, p_in, p_ext).permeances
    balance = condensation.condensation_year(t, 1.0 / np.maximum(w, 1e-18), p_in, p_ext)
    rh = np.clip(balance.humidity, 0.0, 1.0)
    moisture = _wood([parts for parts, _, _, _ in jobs], t, rh, balance.stock, w.shape)
    course = _mold([parts for parts, _, _, _ in jobs], t, rh)
    designs = _designs(jobs)
    names = [f.name for f in fields(balance)]
    return [
        Year(
            thermal,
            balance.pressures[b],
            rh[b],
            w[b],
            condensation.CondensationYear(*(getattr(balance, name)[b] for name in names)),
            moisture[b],
            course[b].max(axis=0),
            course[b],
            designs[b],
        )
        for b, (_, _, _, thermal) in enumerate(jobs)
    ]


def _designs(jobs: Sequence[tuple[list[Properties], Site, Anatomy, Thermal]]) -> list[Array | None]:
    """[L+1] temperatures on the design day, where there is one."""
    found: list[Array | None] = [None] * len(jobs)
    outdoors = [
        (b, site.climate.heating_design, site, thermal)
        for b, (_, site, a, thermal) in enumerate(jobs)
        if site.climate is not None
        and site.climate.heating_design is not None
        and a.surroundings == "outdoor air"
    ]
    if not outdoors:
        return found
    t = heat.temperatures(
        np.array([th.r[site.coldest] for _, _, site, th in outdoors]),
        np.array([th.t_in[site.coldest] for _, _, site, th in outdoors]),
        np.array([cold for _, cold, _, _ in outdoors]),
        np.array([th.r_si for *_, th in outdoors]),
        np.array([th.r_se for *_, th in outdoors]),
    )
    for (b, *_), temperatures in zip(outdoors, t, strict=True):
        found[b] = temperatures
    return found


def _wood(
    batch: Sequence[list[Properties]], t: Array, rh: Array, stock: Array, shape: tuple[int, ...]
) -> Array:
    """[B, 12, L] moisture content of wood based layers, NaN elsewhere."""
    moisture = np.full(shape, np.nan)
    wooden = [(b, i, q) for b, parts in enumerate(batch) for i, q in enumerate(parts) if q.has("wood based")]
    if not wooden:
        return moisture
    at = [b for b, _, _ in wooden], slice(None), [i for _, i, _ in wooden]
    outer = at[0], slice(None), [i + 1 for i in at[2]]
    mean = wood.monthly_moisture(0.5 * (rh[at] + rh[outer]), 0.5 * (t[at] + t[outer]))
    held = stock[at] + stock[outer]
    known = [n for n, (_, _, q) in enumerate(wooden) if q.density and (q.thickness or 0.0) >= LEAST_WOOD]
    if known:
        density = np.array([wooden[n][2].density for n in known])[:, None]
        thickness = np.array([wooden[n][2].thickness for n in known])[:, None]
        mean[known] = wood.moisture_with_condensate(mean[known], held[known], density, thickness)
    moisture[at] = mean
    return moisture


def _mold(batch: Sequence[list[Properties]], t: Array, rh: Array) -> Array:
    """[B, 12 × MOLD_YEARS, L+1] index at each joint, by the more sensitive of the two layers there."""
    joints: list[tuple[int, int, str]] = []
    humid = rh.max(axis=1) > MOLD_POSSIBLE
    for b, parts in enumerate(batch):
        for j, possible in enumerate(humid[b].tolist()):
            if possible and 0 < j < len(parts) and (name := mold_sensitivity(parts, j)) is not None:
                joints.append((b, j, name))
    course = np.zeros((humid.shape[0], 12 * MOLD_YEARS, humid.shape[1]))
    if joints:
        at = [b for b, _, _ in joints], slice(None), [j for _, j, _ in joints]
        names = np.array([name for *_, name in joints])
        classes = {str(name): names == name for name in sorted(set(names.tolist()))}
        course[at] = mold.monthly_indices(
            t[at], rh[at], classes, decline=mold.ASHRAE_DECLINE, years=MOLD_YEARS
        )
    return course


_MOST_SENSITIVE_FIRST = {name: n for n, name in enumerate(mold.SENSITIVITIES)}


def mold_sensitivity(parts: list[Properties], joint: int) -> str | None:
    """The class of the more sensitive of the two layers at a joint; None when neither has one."""
    classes = [
        q.material.mold_class
        for q in parts[joint - 1 : joint + 1]
        if q.material is not None and q.material.mold_class
    ]
    return min(classes, key=_MOST_SENSITIVE_FIRST.__getitem__) if classes else None


def months_below_dew_point(year: Thermal, site: Site) -> NDArray[np.int64]:
    """[L+1] months in which each joint is below the indoor dew point."""
    assert site.p_in is not None
    return (year.t < dew_point(site.p_in)[:, None]).sum(axis=0)
