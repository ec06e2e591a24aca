"""The hourly simulation of one section: the layers and the site handed to `reviewer.physics.hourly`.

What the section does not say is taken as stated here and listed as an assumption. The result becomes
facts of the kinds `simulation`, `simulated_joint` and `simulated_layer`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reviewer.errors import InputError, Problem
from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Book, Origin
from reviewer.facts.forces import LEAKAGE, STORY
from reviewer.facts.monthly import outer_conditions
from reviewer.facts.resolve import RH_GRID, Properties
from reviewer.facts.site import Site, rain_exposure
from reviewer.library import climate as climates
from reviewer.model.section import Section
from reviewer.physics import airflow, mold
from reviewer.physics.hourly.boundary import (
    RAIN_DEPOSITION,
    RAIN_EXPOSURE,
    AirBoundary,
    SurfaceBoundary,
    driving_rain,
    ground,
    indoor_air,
    outdoor_air,
)
from reviewer.physics.hourly.materials import AirSpace, HygroMaterial, Layer, Membrane
from reviewer.physics.hourly.outcome import Outcome
from reviewer.physics.hourly.solver import AirLeak, Assembly, Leak, NotConverged, simulate_many
from reviewer.physics.hourly.weather import HourlyWeather, monthly_means, smooth_year, synthetic_year
from reviewer.physics.sun import AZIMUTHS

Array = NDArray[np.float64]

THIN = 5.0e-4
"""m: layers thinner than this hold no water to speak of and are solved as sheets."""
LEAST_PERMEANCE = 1.0e-15
AIR_CHANGES = {"reservoir": 10.0, "other": 100.0, "slight": 1.0}
"""1/h of ventilated cavities behind brick and stone, behind panels and boards, and of cavities with openings on one
side only (middle of the ranges of Straube, VanStraaten and Burnett 2004 and of Finch and Straube 2007, from memory)."""
RAIN_LEAK = 0.01
PATH_SHARE = 0.05
"""Share of the assembly's leakage that crosses the cavity and meets the cold plane; most passes by short cracks. In a
cold climate it leaves some 250 to 350 g/m² a year there, the order of the drying reserve that DIN 68800-2 asks of
timber roofs (250 g/m² a year, from memory); the share itself is common practice, no published source."""
MOST_YEARS = 6
ABSORPTANCE = 0.6
SEED = 1
HUMID, WET = 0.80, 0.98
WET_WOOD, DECAY_WOOD = 0.20, 0.26
WARM = 5.0

LIMITS = (
    "Hourly heat, air and moisture simulation (EN 15026), one-dimensional: no corners, no studs, no gravity flow in gaps; "
    "material data are typical values, the weather is one year repeated, and the leaks are assumed."
)


@dataclass(frozen=True, slots=True)
class Simulated:
    outcome: Outcome
    weather: HourlyWeather
    synthetic: bool
    joints: tuple[int, ...]
    """Joint of the simulation for each layer's outer face."""


@dataclass(frozen=True, slots=True)
class Prepared:
    """A section as the simulation takes it, before it runs."""

    id: str
    assembly: Assembly
    weather: HourlyWeather
    synthetic: bool
    joints: tuple[int, ...]


def prepare(section: Section, layers: list[Properties], a: Anatomy, site: Site, book: Book) -> Prepared:
    """What a simulation needs; every layer has a resistance and a permeance. Raises InputError: no weather."""
    weather, synthetic = _weather(site, book)
    solid = [p for p in layers if not p.is_surroundings]
    parts = [_part(p, solid, book) for p in solid]
    indoors = indoor_air(smooth_year(site.t_in), smooth_year(site.p_in))  # type: ignore[arg-type]
    outdoors = _outdoors(section, solid, a, site, weather, book)
    leaks, air_leaks = _leaks(section, solid, a, site, weather, book)
    assembly = Assembly(parts, indoors, outdoors, leaks, air_leaks)
    return Prepared(section.id, assembly, weather, synthetic, tuple(range(1, len(solid) + 1)))


def run(prepared: Sequence[Prepared]) -> list[Simulated]:
    """Run sections until their years repeat, as many at once as there are cores.

    Raises InputError for the first of them for which the solver finds no solution.
    """
    outcomes = simulate_many([p.assembly for p in prepared], years=MOST_YEARS, until_periodic=True)
    done = []
    for p, outcome in zip(prepared, outcomes, strict=True):
        if isinstance(outcome, NotConverged):
            raise InputError(
                Problem(
                    f"the hourly simulation of {p.id} found no solution: {outcome}",
                    None,
                    "a section whose materials and climate it can follow",
                )
            )
        done.append(Simulated(outcome, p.weather, p.synthetic, p.joints))
    return done


def _weather(site: Site, book: Book) -> tuple[HourlyWeather, bool]:
    c = site.climate
    assert c is not None
    if c.hourly_file:
        w = climates.hourly_from_epw(c.hourly_file)
        for sentence in w.assumptions:
            book.assume(sentence, "how the hourly weather was read")
        rain = w.rain
        if not w.rain_known:
            book.assume("no rain in the hourly simulation", "the weather file has none", "driving rain")
        return HourlyWeather(
            w.dry_bulb,
            w.vapor_pressure,
            w.ghi,
            w.dni,
            w.dhi,
            w.longwave_sky,
            w.wind_speed,
            w.wind_direction,
            rain,
            w.latitude,
            w.longitude,
            w.time_zone,
        ), False
    latitude, longitude = c.latitude, c.longitude
    if latitude is None or longitude is None:
        latitude, longitude = 45.0, 0.0
        book.assume("45° north", "the monthly climate has no coordinates", "sun")
    book.assume(
        "a synthetic year of hourly weather with the place's monthly means (seeded, the same each time)",
        "no weather file was given",
        "the hourly simulation",
    )
    return synthetic_year(
        latitude, longitude, c.temperature, c.vapor_pressure, c.solar, c.precipitation, c.wind, seed=SEED
    ), True


def _part(p: Properties, solid: list[Properties], book: Book) -> Layer | Membrane | AirSpace:
    assert p.permeance is not None and p.r is not None
    d = p.thickness
    if p.is_space:
        changes = 0.0
        if p.ventilated or p.layer.vents in ("bottom only", "top only", "weep holes"):
            outer = [q for q in solid if q.layer.index > p.layer.index]
            kind = (
                "slight"
                if not p.ventilated
                else "reservoir"
                if any(q.has("reservoir") and q.has("masonry") for q in outer)
                else "other"
            )
            changes = AIR_CHANGES[kind]
            book.assume(
                f"{p.label()}: {changes:g} air changes an hour",
                "the ventilation of the cavity was not measured",
                "the hourly simulation",
            )
        return AirSpace(d or 0.02, max(p.r, 0.01), changes)
    m = p.material
    if (
        m is None
        or d is None
        or d < THIN
        or p.has("membrane")
        or p.has("coating")
        or m.density is None
        or m.heat_capacity is None
    ):
        w = np.maximum(p.permeance, LEAST_PERMEANCE)
        return Membrane(tuple(zip(RH_GRID, w, strict=True)), max(p.r, 0.0))
    density = p.density or m.density
    conductivity = d / p.r if p.r > 0 else (m.conductivity or 1.0)
    permeability = tuple(zip(RH_GRID, np.maximum(p.permeance, LEAST_PERMEANCE) * d, strict=True))
    sorption = tuple((h, u * density) for h, u in m.sorption if h > 0)
    capillary = {}
    if sorption and m.free_saturation is not None and m.free_saturation > sorption[-1][1]:
        capillary["free_saturation"] = m.free_saturation
        if m.water_absorption:
            capillary["water_absorption"] = m.water_absorption
        if m.porosity is not None and m.porosity * 1000.0 > m.free_saturation:
            capillary["max_moisture"] = m.porosity * 1000.0
    return Layer(
        HygroMaterial(density, m.heat_capacity, conductivity, permeability, sorption, **capillary), d
    )


def _tilt(section: Section) -> float:
    if section.kind == "roof":
        return float(np.degrees(np.arctan(section.slope or 0.02)))
    return 90.0


def _outdoors(
    section: Section, solid: list[Properties], a: Anatomy, site: Site, weather: HourlyWeather, book: Book
) -> AirBoundary | SurfaceBoundary:
    if a.surroundings == "soil":
        t, _, _ = outer_conditions(section, site, a, book)
        return ground(smooth_year(t))
    if a.surroundings != "outdoor air":
        t, p, r_se = outer_conditions(section, site, a, book)
        return AirBoundary(smooth_year(t), smooth_year(p), 1.0 / max(r_se, 0.04))
    azimuth = _azimuth(section, book)
    rain: Any = 0.0
    if section.kind == "wall":
        rain = _rain(section, site, weather, azimuth)
    absorptance = {"white": 0.3, "light": 0.45, "dark": 0.9}.get(
        section.known.get("roof color", ""), ABSORPTANCE
    )
    return outdoor_air(weather, azimuth, _tilt(section), absorptance=absorptance, rain=rain)


def _azimuth(section: Section, book: Book) -> float:
    if section.faces is None:
        book.assume(
            "faces north, where nothing but the room dries it",
            "the orientation was not stated",
            "the hourly simulation",
        )
    return AZIMUTHS.get(section.faces or "", 0.0)


def _rain(section: Section, site: Site, weather: HourlyWeather, azimuth: float) -> Array:
    exposure = {"low": "sheltered", "moderate": "moderate"}.get(rain_exposure(section, site), "severe")
    factor = RAIN_EXPOSURE[exposure]
    return driving_rain(weather, azimuth, factor, RAIN_DEPOSITION["steep roof"])


def _leaks(
    section: Section, solid: list[Properties], a: Anatomy, site: Site, weather: HourlyWeather, book: Book
) -> tuple[list[Leak], list[AirLeak]]:
    leaks, air_leaks = [], []
    if section.kind == "wall" and a.surroundings == "outdoor air":
        control = [p.layer.index for p in solid if "water control" in p.roles]
        joint = control[-1] + 1 if control else a.condensing
        if joint is not None and joint < len(solid):
            water = RAIN_LEAK * _rain(section, site, weather, _azimuth(section, book))
            leaks.append(Leak(joint, water))
            book.assume(
                "1 % of the rain on the wall gets past the cladding to the outer face of the water control layer",
                "ASHRAE 160 4.6 (from memory of the document)",
                "the hourly simulation",
            )
    # A sealed air barrier stops the leak, and so does insulation that fills the cavity and lets no air through.
    sealed = any(
        ("air barrier" in p.roles and p.layer.joints in ("sealed", "taped"))
        or "air barrier" in p.layer.roles
        or (
            p.is_insulation
            and p.has("spray foam")
            and a.condensing is not None
            and p.layer.index < a.condensing
        )
        for p in solid
    )
    if a.condensing is not None and not sealed and a.surroundings == "outdoor air" and site.t_in is not None:
        height = section.building.height or (section.building.stories or 2) * STORY
        pressure = np.maximum(
            airflow.stack_pressure(height / 4, weather.dry_bulb, smooth_year(site.t_in)), 0.0
        )
        flow = PATH_SHARE * airflow.at_pressure(LEAKAGE["none"], pressure) / 1000.0
        air_leaks.append(AirLeak(a.condensing, flow))
        book.assume(
            f"{PATH_SHARE * 100:.0f} % of the leakage of a wall without a sealed air barrier passes the condensing plane",
            "no air barrier with sealed joints is named (common practice)",
            "the hourly simulation",
        )
    return leaks, air_leaks


def hourly_facts(layers: list[Properties], a: Anatomy, s: Simulated, book: Book) -> None:
    """Facts of the last year simulated, and the series for the report."""
    o = s.outcome
    last = o.years - 1
    head = book.record("simulation", label="hourly simulation")
    origin = Origin("computed", f"hourly simulation, year {o.years}", "EN 15026")
    head.put("years", o.years, origin)
    head.put("periodic", o.periodic_after is not None, origin)
    total = o.water.sum(axis=2)
    gain = float(total[last, -1] - (total[last - 1, -1] if o.years > 1 else total[last, 0]))
    head.put("gain", max(gain, 0.0), origin)
    solid = [p for p in layers if not p.is_surroundings]
    joints = []
    for p, joint in zip(solid[:-1], s.joints, strict=False):
        i = p.layer.index
        beyond = a.vent is not None and i >= a.vent
        outer = solid[i + 1]
        r = book.record("simulated_joint", str(joint), f"joint {p.shown} / {outer.shown}, hourly")
        temperature, rh = o.temperature[last, :, joint], np.minimum(o.rh[last, :, joint], 1.0)
        r.put("inner", i, origin)
        r.put("outer", i + 1, origin)
        r.put("beyond_vent", beyond, origin)
        r.put("hours_humid", float(((rh > HUMID) & (temperature > WARM)).sum()), origin)
        r.put("hours_wet", float((rh > WET).sum()), origin)
        mean_t, mean_rh = o.running_means(joint, 30)
        warm = (
            (mean_t[-1] > WARM) & (mean_t[-1] < 40.0)
            if mean_t.ndim > 1
            else (mean_t > WARM) & (mean_t < 40.0)
        )
        run = mean_rh[-1] if mean_rh.ndim > 1 else mean_rh
        r.put("rh_30_days", float(run[warm].max()) if warm.any() else 0.0, origin)
        r.put("on_wood", p.has("wood based") or outer.has("wood based"), origin)
        index = _mold(p, outer, o, joint)
        r.put("mold_index", index, origin)
        joints.append(
            {
                "inner": i,
                "outer": i + 1,
                "name": f"{p.shown} / {outer.shown}",
                "temperature": [round(float(x), 2) for x in monthly_means(temperature)],
                "humidity": [round(float(x), 3) for x in monthly_means(rh)],
                "mold_index": round(index, 2),
            }
        )
    wood = []
    for n, p in enumerate(solid):
        if not p.has("wood based") or not o.thickness[n] * o.density[n] > 0:
            continue
        content = o.moisture_content(n)[last]
        r = book.record("simulated_layer", str(p.layer.index), f"{p.label()}, hourly")
        r.put("index", p.layer.index, origin)
        r.put("beyond_vent", a.vent is not None and p.layer.index > a.vent, origin)
        r.put("wood_moisture", float(content.max()), origin)
        r.put("hours_wet_wood", float((content > WET_WOOD).sum()), origin)
        t = o.temperature[last, :, n + 1]
        r.put("hours_decay", float(((content > DECAY_WOOD) & (t > WARM)).sum()), origin)
        wood.append(
            {
                "layer": p.layer.index,
                "name": p.name,
                "monthly": [round(float(x), 4) for x in monthly_means(content)],
                "peak": round(float(content.max()), 4),
            }
        )
    book.calculations["hourly"] = {
        "limits": LIMITS,
        "years": o.years,
        "periodic": o.periodic_after is not None,
        "weather": "synthetic year from monthly means" if s.synthetic else "weather file",
        "joints": joints,
        "wood_moisture": wood,
    }


def _mold(inner: Properties, outer: Properties, o: Outcome, joint: int) -> float:
    order = list(mold.SENSITIVITIES)
    classes = [
        q.material.mold_class for q in (inner, outer) if q.material is not None and q.material.mold_class
    ]
    if not classes:
        return 0.0
    t, rh = o.series(joint)
    if rh.max() <= 0.79:
        return 0.0
    kind = min(classes, key=order.index)
    return float(mold.hourly_index(np.clip(t, -60, 100), rh, kind, decline=mold.ASHRAE_DECLINE).max())
