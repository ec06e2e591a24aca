"""Air leaks, sun, rain and built-in water: what the steady diffusion calculation leaves out.

Each is a screening estimate with its assumptions in the book; the facts say which way it goes and how
it compares with what the section can dry.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from reviewer.facts import anatomy as anatomies
from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Book, Origin, Record
from reviewer.facts.monthly import Year
from reviewer.facts.resolve import Properties
from reviewer.facts.site import Site, rain_exposure
from reviewer.model.section import Section
from reviewer.physics import airflow, builtin, heat, rain, sun
from reviewer.units import PERM, show

Array = NDArray[np.float64]

MOST_PERMEANCE = 9.9e-7
"""kg/(s·m²·Pa): permeances are cut here, where nothing resists any more."""
WIND = 3.5
"""m/s, mean wind where a climate has none (between a suburb's 2.5 and an open site's 5; common practice)."""
STORY = 2.7
"""m."""
LEAKAGE = {"sealed": 0.2, "named": 0.5, "none": 2.0}
"""L/(s·m²) at 75 Pa of the assembly: sealed or taped air barrier (0.2, assembly limit of ASTM E2357 practice),
named but not detailed, and none (2.0, the whole-building limit of ASHRAE 90.1; leaky houses pass it). From memory and
common practice."""
COOL_ROOM_FACE = 24.0
ABSORPTANCE = 0.75
"""Of claddings whose color is not stated: a medium dark one (ASHRAE Fundamentals gives 0.5 light to 0.9 dark; memory)."""
SUN_HOURS = 6.0
WET_WOOD, DRY_WOOD = 0.30, 0.15
"""kg/kg: wood soaked on site, and dry enough to be closed in (common practice)."""
CONCRETE_RATIO, CONCRETE_AGE = 0.5, 28.0


class LeakageWork(NamedTuple):
    """What the air leakage estimate went through; arrays by month."""

    rated: float
    height: float
    """m above the neutral plane."""
    joint: int
    pressure: Array
    wetting: Array
    inner: float
    outer: float
    """Permeances from the joint to either side, kg/(s·m²·Pa)."""
    drying: Array


class SunWork(NamedTuple):
    """What the temperature of the sunlit face went through, in the warmest month."""

    air: float
    irradiance: float
    absorptance: float
    sol_air: float
    resistance: float
    """m²·K/W from the face to the indoor air."""
    face: float


class InwardWork(NamedTuple):
    """What the vapor drive from a wet cladding went through, in the warmest month."""

    cladding: float
    plane: float
    layer: int
    """The layer whose inner face is the plane."""
    inner: float
    outer: float
    into: float
    condensed: float


class RainWork(NamedTuple):
    """What the rain balance went through; arrays by month."""

    factor: float
    runoff: float
    precipitation: Array
    wind: Array
    on_wall: Array
    joint: int
    inner: float
    outer: float
    leak: Array
    drying: Array


class BuiltInWork(NamedTuple):
    """What the drying of built-in moisture went through; arrays by month."""

    layer: int
    water: float
    inner: float
    outer: float
    inwards: Array
    outwards: Array
    months: float


def force_facts(
    section: Section,
    layers: list[Properties],
    a: Anatomy,
    site: Site,
    year: Year | None,
    records: list[Record],
    why: str,
    book: Book,
) -> None:
    leakage, sunny, wet = (book.record(kind) for kind in ("leakage", "sun", "rain"))
    if year is None:
        for record, names in ((leakage, _LEAKAGE), (sunny, _SUN), (wet, _RAIN)):
            for name in names:
                record.put(name, None, why=why)
        return
    _leakage(section, layers, a, site, year, leakage, book)
    _sun(section, layers, a, site, year, sunny, records, book)
    if section.kind == "wall":
        _rain(section, layers, a, site, year, wet, book)
    for i in range(a.end):
        if layers[i].layer.condition in ("new", "wet", "damp"):
            _builtin(i, layers, a, site, year, records[i], book)


_LEAKAGE = ("wetting", "ratio", "drying", "dries", "months")
_SUN = ("inward_water", "cladding_peak")
_RAIN = ("leak", "drying_ratio", "dries", "harms")


def _permeances(layers: list[Properties], a: Anatomy, joint: int) -> tuple[float, float]:
    """From a wet joint to the room and to the outer side, wet cup, kg/(s·m²·Pa)."""
    inner = anatomies.series(layers, range(joint), True) or 0.0
    outer = anatomies.series(layers, range(joint, a.end), True) or 0.0
    return min(inner, MOST_PERMEANCE), min(outer, MOST_PERMEANCE)


def _drying(layers: list[Properties], a: Anatomy, site: Site, year: Year, joint: int) -> Array:
    """What a wet joint could dry by month, both ways, kg/m²; negative where vapor comes in."""
    assert site.p_in is not None
    w_in, w_out = _permeances(layers, a, joint)
    inwards, outwards = builtin.drying_rates(
        year.thermal.t[:, joint], site.p_in, year.thermal.p_ext, w_in, w_out
    )
    return inwards + outwards


def _leakage(
    section: Section, layers: list[Properties], a: Anatomy, site: Site, year: Year, r: Record, book: Book
) -> None:
    assert site.t_out is not None and site.t_in is not None and site.p_in is not None
    if a.surroundings == "soil" or a.condensing is None:
        r.put("rated", None)
        return
    barriers = [
        p
        for p in layers[: a.end]
        if "air barrier" in p.roles or (p.layer.joints in ("sealed", "taped") and p.has("air impermeable"))
    ]
    state = (
        "sealed"
        if any(p.layer.joints in ("sealed", "taped") or p.seamless for p in barriers)
        else "named"
        if barriers
        else "none"
    )
    rated = LEAKAGE[state]
    if section.building.airtightness is not None:
        rated = float(airflow.rated_from_air_changes(section.building.airtightness, 1.4))
        book.assume(
            "the leakage is spread evenly over an enclosure of 1.4 m volume to area (a two-story house)",
            "only the air changes at 50 Pa were stated",
            "air leakage",
        )
    else:
        book.assume(
            f"air leakage of the assembly {rated:g} L/(s·m²) ({show(rated, 'air permeance', 'ip')}) at 75 Pa ({'an air barrier with sealed joints' if state == 'sealed' else 'an air barrier without stated joints' if state == 'named' else 'no air barrier named'})",
            "not measured; by how the air barrier is detailed",
            "air leakage",
        )
    r.put("rated", rated)
    height = section.building.height or (section.building.stories or 2) * STORY
    if section.building.height is None and section.building.stories is None:
        book.assume("two stories", "the height was not stated", "stack pressure")
    # The upper part of a wall and the roof leak outwards in winter: half of the height above the neutral plane.
    at = height / 2 if section.kind == "roof" else height / 4
    pressure = np.maximum(airflow.stack_pressure(at, site.t_out, site.t_in), 0.0)
    joint = a.condensing
    wetting = airflow.monthly_wetting(rated, pressure, site.p_in, year.thermal.t[:, joint])
    total = float(wetting.sum())
    gain = np.maximum(year.balance.rate[:, joint], 0.0).sum()
    drying = _drying(layers, a, site, year, joint)
    r.put("pressure", float(pressure[site.coldest]))
    r.put("wetting", total)
    r.put("diffusion", float(gain))
    w_in, _ = _permeances(layers, a, joint)
    diffused = w_in * np.maximum(site.p_in - year.p[:, joint], 0.0)[wetting > 0] * 30.4 * 86400
    if float(diffused.sum()) > 1e-9:
        r.put("ratio", total / float(diffused.sum()))
    able = float(np.maximum(drying, 0.0).sum())
    r.put("drying", able)
    r.put("dries", able > total)
    book.workings["leakage"] = LeakageWork(
        rated, at, joint, pressure, wetting, *_permeances(layers, a, joint), drying
    )
    r.put("months", int((wetting > np.maximum(drying, 0.0)).sum()))


@lru_cache(maxsize=1024)
def _clear_day_peak(latitude: float, tilt: float, azimuth: float) -> tuple[float, ...]:
    return tuple(sun.clear_day_peak(latitude, tilt, azimuth).tolist())


def _azimuth(section: Section, worst: float) -> float:
    return sun.AZIMUTHS.get(section.faces or "", worst)


def _sun(
    section: Section,
    layers: list[Properties],
    a: Anatomy,
    site: Site,
    year: Year,
    r: Record,
    records: list[Record],
    book: Book,
) -> None:
    assert (
        site.t_out is not None and site.t_in is not None and site.p_in is not None and site.p_out is not None
    )
    c = site.climate
    if (
        c is None
        or c.latitude is None
        or section.kind not in ("wall", "roof")
        or a.surroundings != "outdoor air"
    ):
        return
    k = site.warmest
    latitude = c.latitude
    tilt = 90.0 if section.kind == "wall" else float(np.degrees(np.arctan(section.slope or 0.02)))
    resistance = float(year.thermal.total_cavity[k]) - 0.04
    if a.vent is not None:
        resistance += 0.2
    peak = _clear_day_peak(latitude, tilt, _azimuth(section, 270.0))[k]
    air = float(site.t_out[k]) + 5.0
    sol_air = sun.sol_air_temperature(air, peak, ABSORPTANCE)
    hot = float(sun.cladding_temperature(sol_air, float(site.t_in[k]), max(resistance, 0.05)))
    r.put("cladding_peak", hot)
    book.workings["sun"] = SunWork(air, peak, ABSORPTANCE, float(sol_air), max(resistance, 0.05), hot)
    _service(layers, a, site, year, records, hot)
    if section.kind == "wall" and section.faces is None:
        book.assume(
            "faces west, where the afternoon sun meets the warmest air",
            "the orientation was not stated",
            "sun on the cladding",
        )
    if section.kind == "roof" and c.solar is not None:
        colors = {"white": 0.3, "light": 0.45, "dark": 0.9}
        absorptance = colors.get(section.known.get("roof color", ""), 0.85)
        try:
            surface = sun.monthly_roof_temperature(
                site.t_out,
                site.p_out,
                np.asarray(c.solar),
                latitude,
                absorptance,
                site.t_in,
                max(float(year.thermal.total_cavity.mean()) - 0.04, 0.05),
                tilt,
            )
        except ValueError as e:
            for name in ("roof_winter", "roof_over_air"):
                r.put(name, None, why=f"the solar data of {c.place} can't be right: {e}")
        else:
            r.put("roof_winter", float(surface[site.coldest]))
            r.put("roof_over_air", float(surface[site.coldest] - site.t_out[site.coldest]))
    _inward(section, layers, a, site, year, r, hot, book)


def _service(
    layers: list[Properties], a: Anatomy, site: Site, year: Year, records: list[Record], hot: float
) -> None:
    """How far each layer stays below its highest service temperature behind a sun-warmed outer face.

    Behind a ventilated space the layers are near the outdoor air instead; what lies beyond it is as hot as
    the outer face.
    """
    assert site.t_in is not None and site.t_out is not None
    k = site.warmest
    outside = hot if a.vent is None else float(site.t_out[k]) + 5.0
    t = heat.temperatures(year.thermal.r[k], float(site.t_in[k]), outside, year.thermal.r_si, 0.0)
    for i, p in enumerate(layers):
        limit = p.material.service[1] if p.material is not None else None
        if limit is not None:
            face = float(t[i + 1]) if i < a.end else hot
            records[i].put("service_margin_hot", limit - face)


def _inward(
    section: Section,
    layers: list[Properties],
    a: Anatomy,
    site: Site,
    year: Year,
    r: Record,
    hot: float,
    book: Book,
) -> None:
    """Vapor from a wet reservoir cladding to the innermost tight layer, a summer's day."""
    assert site.t_in is not None and site.p_in is not None
    claddings = [p for p in layers if "cladding" in p.roles and p.has("reservoir")]
    if section.kind != "wall" or not claddings or a.main is None or not a.main:
        return
    i = claddings[-1].layer.index
    ventilated = a.vent is not None and a.vent < i
    if ventilated:
        # The cavity's air change carries most of the vapor off before it reaches the sheathing.
        r.put("inward_water", 0.0)
        return
    plane = a.main
    outer = layers[plane:i]
    if any(p.permeance_wet is None for p in outer) or any(p.permeance_wet is None for p in layers[:plane]):
        return
    w_out = anatomies.series(layers, range(plane, i), True) or 0.0
    w_in = anatomies.series(layers, range(plane), True) or 0.0
    k = site.warmest
    drive = sun.inward_drive(
        min(hot, 60.0),
        float(site.t_in[k]),
        float(site.p_in[k]),
        float(site.t_in[k]) + 1.0,
        min(w_out, MOST_PERMEANCE),
        min(w_in, MOST_PERMEANCE),
        SUN_HOURS,
    )
    r.put("inward_flow", float(drive[0]))
    r.put("inward_water", float(drive[1]))
    book.workings["inward"] = InwardWork(
        min(hot, 60.0),
        float(site.t_in[k]) + 1.0,
        plane,
        min(w_in, MOST_PERMEANCE),
        min(w_out, MOST_PERMEANCE),
        float(drive[0]),
        float(drive[1]),
    )


def _rain(
    section: Section, layers: list[Properties], a: Anatomy, site: Site, year: Year, r: Record, book: Book
) -> None:
    assert site.p_in is not None
    c = site.climate
    if c is None or c.precipitation is None or a.surroundings != "outdoor air":
        return
    barrier = [p.layer.index for p in layers[: a.end] if "water control" in p.roles]
    joint = barrier[-1] + 1 if barrier else a.condensing
    if joint is None or joint > a.end:
        return
    joint = min(joint, a.end)
    if c.wind is None:
        book.assume(
            f"mean wind {show(WIND, 'speed', 'si')} ({show(WIND, 'speed', 'ip')})",
            "the climate has no wind",
            "driving rain",
        )
    wind = np.asarray(c.wind) if c.wind is not None else np.full(12, WIND)
    site_class = {"low": "sheltered", "moderate": "medium", "high": "severe", "severe": "severe"}[
        rain_exposure(section, site)
    ]
    height = section.building.height or (section.building.stories or 2) * STORY
    factor = rain.exposure_factor(height, site_class)
    on_wall = rain.monthly_deposition(
        np.asarray(c.precipitation), wind, factor, rain.RUNOFF["below a low-slope roof"]
    )
    w_in, w_out = _permeances(layers, a, min(joint, a.end))
    balance = rain.leak_balance(on_wall, year.thermal.t[:, joint], site.p_in, year.thermal.p_ext, w_in, w_out)
    r.put("on_wall", float(on_wall.sum()))
    r.put("leak", float(balance.leak.sum()))
    ratio = float(balance.ratio)
    r.put("drying_ratio", min(ratio, 999.0))
    r.put("dries", ratio > 1.0)
    r.put("harms", _harmed(layers[: a.end], joint))
    r.put("standing", float(balance.standing.max()))
    book.workings["rain"] = RainWork(
        float(factor),
        rain.RUNOFF["below a low-slope roof"],
        np.asarray(c.precipitation),
        wind,
        on_wall,
        joint,
        w_in,
        w_out,
        balance.leak,
        balance.inwards + balance.outwards,
    )


HARMED = ("very sensitive", "sensitive")
"""Mold sensitivity classes of what lasting wet spoils."""


def _harmed(layers: list[Properties], joint: int) -> bool:
    """Whether water at a joint reaches a layer that it harms, before a layer that hardly lets vapor through."""
    for side in (layers[joint:], layers[:joint][::-1]):
        for p in side:
            if p.has("wood based") or (p.material is not None and p.material.mold_class in HARMED):
                return True
            if p.permeance_wet is not None and p.permeance_wet <= PERM:
                break
    return False


def _builtin(
    i: int, layers: list[Properties], a: Anatomy, site: Site, year: Year, r: Record, book: Book
) -> None:
    assert site.p_in is not None
    p = layers[i]
    d = p.thickness
    if d is None:
        return
    if p.has("concrete"):
        water = float(builtin.concrete_water(CONCRETE_RATIO, CONCRETE_AGE).middle) * d
        book.assume(
            f"{p.label()}: water-cement ratio {CONCRETE_RATIO:g}, closed in after {CONCRETE_AGE:g} days",
            "the concrete's mix and age were not stated",
            "built-in moisture",
        )
    elif p.has("wood based") and p.density and p.layer.condition != "new":
        water = float(builtin.wood_water(p.density, d, WET_WOOD, DRY_WOOD))
        book.assume(
            f"{p.label()}: closed in at {WET_WOOD * 100:.0f} % moisture content, dry at {DRY_WOOD * 100:.0f} %",
            "how wet it is was not measured",
            "built-in moisture",
        )
    else:
        return
    # From the middle of the layer: half of it lies on either side.
    inner = _with_half(layers, range(i), p)
    outer = _with_half(layers, range(i + 1, a.end), p)
    middle = 0.5 * (year.thermal.t[:, i] + year.thermal.t[:, i + 1])
    inwards, outwards = builtin.drying_rates(middle, site.p_in, year.thermal.p_ext, inner, outer)
    time = builtin.drying(water, inwards, outwards, start=9)
    months = float(time.months)
    origin = Origin(
        "computed",
        "steady drying of a wet layer by month, from October",
        "Powers' model of cement paste (from memory)" if p.has("concrete") else "",
    )
    r.put("water_to_dry", water, origin)
    r.put("months_to_dry", min(months, 120.0), origin)
    r.put("dries_inward_share", float(time.inward_share), origin)
    book.workings.setdefault("built in", []).append(
        BuiltInWork(i, water, inner, outer, inwards, outwards, months)
    )


def _with_half(layers: list[Properties], indices: range, p: Properties) -> float:
    """Permeance of layers in series with half of the wet layer itself, wet cup."""
    z = 0.0
    w = anatomies.series(layers, indices, True)
    if w is not None and w > 0:
        z += 1.0 / w if np.isfinite(w) else 0.0
    elif w == 0.0:
        return 0.0
    if p.permeance_wet:
        z += 0.5 / p.permeance_wet
    return min(1.0 / z if z else MOST_PERMEANCE, MOST_PERMEANCE)
