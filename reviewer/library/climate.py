"""Outdoor climates: the station table, weather files, and monthly values that a user states."""

from __future__ import annotations

import math
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from reviewer.citations import Citation
from reviewer.errors import InputError, Problem
from reviewer.library.types import MONTH_DAYS, MONTHS, Climate
from reviewer.library.ziplist import great_circle, nearest_area
from reviewer.library.zones import (
    COUNTY_SOURCE,
    CRITERIA_SOURCES,
    GROUPS,
    NBC_SOURCE,
    county_name,
    nbc_zone,
    zone_by_criteria,
    zone_for,
)

if TYPE_CHECKING:
    from reviewer.library.epw import HourlyWeather

Twelve = tuple[float, ...]

_TABLE = os.path.join(os.path.dirname(__file__), "data", "stations.csv")

FAR_KM, FAR_M = 80.0, 150.0
"""Beyond this distance or this difference in elevation a station is a doubtful stand-in (common practice)."""

DEW_POINT_NOTE = (
    "outdoor vapor pressure is that of the monthly mean dew point: 1 to 15 % below the mean of hourly vapor "
    "pressure (about 7 % on average), most in winter, so drying outward looks slightly better than it is"
)
DEGREE_DAY_SOURCE = Citation(
    "Erbs, Klein and Beckman, degree-days from monthly mean temperatures", "1983", "", "paper", "memory"
)


@dataclass(frozen=True, slots=True)
class Station:
    """A row of the station table. SI; None is unknown."""

    id: str
    name: str
    country: str
    region: str
    latitude: float
    longitude: float
    elevation: float
    temperature: Twelve
    vapor_pressure: Twelve
    solar: Twelve | None
    precipitation: Twelve | None
    heating_design: float | None
    cooling_design: float | None
    hdd18: float | None
    cdd10: float | None
    sources: tuple[Citation, ...]
    notes: tuple[str, ...]
    """What was done to get the row's values, a sentence each."""


@lru_cache(maxsize=1)
def _rows() -> tuple[list[str], ...]:
    import csv

    with open(_TABLE, encoding="utf-8", newline="") as f:
        rows = list(csv.reader(line for line in f if not line.startswith("#")))
    return tuple(rows[1:])


def stations() -> tuple[Station, ...]:
    """The whole station table, in the order of the file."""
    return tuple(_station(row) for row in _rows())


def _station(row: list[str]) -> Station:
    def number(cell: str) -> float | None:
        return float(cell) if cell else None

    def twelve(cell: str) -> Twelve | None:
        return tuple(float(x) for x in cell.split()) if cell else None

    temperature, vapor = twelve(row[7]), twelve(row[8])
    assert temperature is not None and vapor is not None
    sources, notes = _sources(row[15], row[2])
    solar = twelve(row[9])
    if solar is None:
        notes = (
            *notes,
            f"no usable solar radiation is known for {row[1]}",
        )
    return Station(
        row[0],
        row[1],
        row[2],
        row[3],
        float(row[4]),
        float(row[5]),
        float(row[6]),
        temperature,
        vapor,
        solar,
        twelve(row[10]),
        number(row[11]),
        number(row[12]),
        number(row[13]),
        number(row[14]),
        sources,
        notes,
    )


def _sources(cell: str, country: str) -> tuple[tuple[Citation, ...], tuple[str, ...]]:
    """The citations and notes that the sources column of a row stands for."""
    sources: list[Citation] = []
    notes: list[str] = []
    for part in cell.split("; "):
        words = part.split()
        if words[0] == "NBC":
            sources.append(Citation("NBC Canada", "2015 and 2020", "Table C-2", "code", "memory"))
        elif words[0] == "TMYx":
            sources.append(
                Citation("TMYx station list (PyPI idfkit 1.1.1)", "2026", f"WMO {words[1]}", "data", "seen")
            )
        elif words[0] == "TMY3":
            sources.append(
                Citation(
                    "NREL typical meteorological year TMY3", "2008", f"station {words[1]}", "data", "seen"
                )
            )
            notes.append("monthly values are means over a typical year of hourly values")
        else:
            shifted = words[0] == "shifted"
            edition, station = words[2 if shifted else 1], words[3 if shifted else 2]
            certainty = "derived" if shifted else "seen"
            sources.append(Citation("USDA-ARS CLIGEN", edition, f"station {station}", "data", certainty))
            if words[-1] == "precipitation":
                continue
            notes.append(DEW_POINT_NOTE)
            if shifted:
                aim = (
                    "the heating degree-days of the building code's table of places"
                    if "NBC C-2" in cell
                    else "the difference in degree-days between typical years of the two places"
                )
                notes.append(
                    f"no fitting open monthly record was found here: the temperatures and dew points are those of station "
                    f"{station}, moved by one difference to fit {aim}; solar radiation and precipitation are those of "
                    f"{station}"
                )
            elif edition == "international":
                notes.append("dew point and solar radiation of the record are gridded estimates")
    return tuple(sources), tuple(notes)


def nearest_station(
    latitude: float, longitude: float, elevation: float | None, name: str = ""
) -> tuple[Station, float]:
    """The station that stands in for a place, and its great-circle distance in km.

    A station that bears the place's own `name` is taken first; else the nearest, where a meter of difference in
    elevation (when the place's is known) counts like FAR_KM/FAR_M km.
    """
    best: list[str] | None = None
    least = math.inf
    for row in _rows():
        distance = great_circle(latitude, longitude, float(row[4]), float(row[5]))
        if row[1] == name and distance < 40.0:
            return _station(row), distance
        score = distance + (0.0 if elevation is None else abs(float(row[6]) - elevation) * FAR_KM / FAR_M)
        if score < least:
            best, least = row, score
    assert best is not None
    station = _station(best)
    return station, great_circle(latitude, longitude, station.latitude, station.longitude)


def degree_days(temperature: Sequence[float], base: float, cooling: bool = False) -> float:
    """Heating (or cooling) degree-days of a year in K·d from twelve monthly mean temperatures in °C.

    The spread of daily means within a month follows from the year's swing: σ = 1.45 − 0.029·T̄ + 0.0664·σ_year.
    Source: Erbs, Klein and Beckman, ASHRAE Journal 25(6) (1983), as in ASHRAE Fundamentals, chapter on energy
    estimating (from memory). At 690 North American stations within 20 % of the degree-days of typical years
    where these are above 1,000 K·d, and 1 % high on the median.

    >>> round(degree_days([-12.5, -9.6, -3.6, 4.1, 10.8, 15.6, 19.0, 17.9, 13.0, 6.2, -1.8, -9.7], 18.0), -2)
    5100.0

    Raises ValueError: not twelve finite values.
    """
    if len(temperature) != 12 or not all(math.isfinite(t) for t in temperature):
        raise ValueError("degree-days need twelve monthly mean temperatures")
    mean = sum(temperature) / 12
    swing = math.sqrt(sum((t - mean) ** 2 for t in temperature) / 12)
    spread = max(1.45 - 0.0290 * mean + 0.0664 * swing, 0.5)
    total = 0.0
    for t, days in zip(temperature, MONTH_DAYS, strict=True):
        h = (t - base if cooling else base - t) / (spread * math.sqrt(days))
        a = 1.698 * math.sqrt(days)
        # ln(e^-ah + e^ah), written so that it can't overflow
        log = abs(a * h) + math.log1p(math.exp(-2 * abs(a * h)))
        total += spread * days**1.5 * (h / 2 + log / (2 * a))
    return max(total, 0.0)


@dataclass(frozen=True, slots=True)
class Zoned:
    """Zones by edition group, and how they were found."""

    zones: Mapping[str, str]
    sources: tuple[Citation, ...]
    notes: tuple[str, ...]


def find_zones(
    country: str,
    state: str,
    county: str,
    latitude: float | None,
    temperature: Twelve,
    precipitation: Twelve | None,
    hdd18: float,
    cdd10: float,
    code_hdd18: float | None = None,
) -> Zoned:
    """The code zones of a place: by county in the United States, by degree-days in Canada (with the US-style zone
    by the code's criteria beside it), by the criteria everywhere else.
    """
    if country == "US" and county_name(state, county) is not None:
        zones = {g: zone_for(state, county, g) for g in GROUPS}
        return Zoned(zones, (COUNTY_SOURCE,), ())
    zones: dict[str, str] = {}
    sources: list[Citation] = []
    notes: list[str] = []
    if country == "CA":
        known = code_hdd18 if code_hdd18 is not None else hdd18
        zones["NBC"] = nbc_zone(known)
        sources.append(NBC_SOURCE)
        if code_hdd18 is not None:
            sources.append(Citation("NBC Canada", "2015 and 2020", "Table C-2", "code", "memory"))
            notes.append(
                f"zone {zones['NBC']} follows from the {code_hdd18:.0f} K·d of the code's table of places"
            )
        else:
            notes.append(
                f"zone {zones['NBC']} follows from the station's {hdd18:.0f} K·d; the code's own table governs"
            )
    rain = precipitation or (100.0,) * 12
    for group in GROUPS:
        zones[group] = zone_by_criteria(hdd18, cdd10, temperature, rain, group, (latitude or 0.0) < 0)
        sources.append(CRITERIA_SOURCES[group])
    notes.append(
        f"US-style zone {zones['2018']} (2021 edition: {zones['2021']}) was computed from the climate by the code's "
        "criteria; computed zones come out one too warm at about a quarter of stations"
    )
    if precipitation is None and zones["2018"][-1] in "AB":
        notes.append("precipitation is not known: the zone was taken as moist (A)")
    return Zoned(zones, tuple(sources), tuple(notes))


def hourly_from_epw(path: str | os.PathLike[str]) -> HourlyWeather:
    """A year of hourly weather from an EPW file (an open format). See `reviewer.library.epw.read_epw`."""
    from reviewer.library.epw import read_epw

    return read_epw(path)


def climate_from_epw(path: str | os.PathLike[str]) -> Climate:
    """The monthly climate of an EPW weather file.

    Monthly means of hours; vapor pressure is the mean of hourly vapor pressure; design temperatures are the 1 %
    and 99 % quantiles of hourly dry-bulb; degree-days from daily means; zone by the county of the nearest
    ZIP code (US), by degree-days (Canada) or by the code's criteria.

    Raises InputError, located in the file.
    """
    import numpy as np

    hourly = hourly_from_epw(path)
    hours = np.repeat(np.arange(12), np.array(MONTH_DAYS) * 24)

    def monthly(values: np.ndarray, scale: float = 1.0) -> Twelve:
        sums = np.bincount(hours, weights=values, minlength=12)
        return tuple(float(x) for x in scale * sums / np.bincount(hours))

    daily = hourly.dry_bulb.reshape(365, 24).mean(axis=1)
    hdd18 = float(np.maximum(18.0 - daily, 0.0).sum())
    cdd10 = float(np.maximum(daily - 10.0, 0.0).sum())
    rain = tuple(float(x) for x in np.bincount(hours, weights=hourly.rain)) if hourly.rain_known else None
    temperature = monthly(hourly.dry_bulb)
    country = {"USA": "US", "CAN": "CA"}.get(hourly.country, hourly.country)
    county, state, notes = "", hourly.region, list(hourly.assumptions)
    if country == "US":
        area, distance = nearest_area(hourly.latitude, hourly.longitude)
        if distance < FAR_KM:
            county, state = area.county, area.state
            notes.append(
                f"code zone of {county}, {state}, the county of ZIP code {area.code}, {distance:.0f} km away"
            )
    zoned = find_zones(country, state, county, hourly.latitude, temperature, rain, hdd18, cdd10)
    low, high = (float(x) for x in np.quantile(hourly.dry_bulb, (0.01, 0.99)))
    return Climate(
        place=hourly.place,
        country=country,
        region=state,
        latitude=hourly.latitude,
        longitude=hourly.longitude,
        elevation=hourly.elevation,
        zones=zoned.zones,
        temperature=temperature,
        vapor_pressure=monthly(hourly.vapor_pressure),
        solar=monthly(hourly.ghi),
        precipitation=rain,
        wind=monthly(hourly.wind_speed),
        heating_design=low,
        cooling_design=high,
        hdd18=hdd18,
        cdd10=cdd10,
        station=hourly.station,
        station_distance=None,
        station_elevation_difference=None,
        sources=(
            Citation("weather file", "", os.path.basename(os.fspath(path)), "data", "given"),
            *zoned.sources,
        ),
        assumptions=(*notes, *zoned.notes),
        hourly_file=os.fspath(path),
    )


_BOUNDS: Mapping[str, tuple[float, float, str]] = {
    "temperature": (-60.0, 50.0, "°C"),
    "vapor pressure": (1.0, 8000.0, "Pa"),
    "humidity": (0.01, 1.0, "as a fraction"),
    "solar": (0.0, 450.0, "W/m²"),
    "precipitation": (0.0, 3000.0, "mm"),
}
_GIVEN = Citation("stated by the user", "", "", "data", "given")


def climate_from_monthly(monthly: Mapping[str, Sequence[float]]) -> Climate:
    """A climate from twelve monthly values each, January first.

    Keys: `temperature` in °C; `vapor pressure` in Pa or `humidity` as a fraction (of saturation at the month's
    mean temperature); optional `solar` (24 h mean global horizontal irradiance, W/m²) and `precipitation` (mm).
    Degree-days as in `degree_days`; zones by the code's criteria.

    >>> t = [-12, -10, -4, 4, 11, 16, 19, 18, 13, 6, -2, -10]
    >>> c = climate_from_monthly({"temperature": t, "humidity": [0.7] * 12})
    >>> c.zones["2018"], round(c.vapor_pressure[6])
    ('7', 1537)

    Raises InputError: unknown or missing keys, not twelve values, values no climate has.
    """
    problems: list[Problem] = []
    for key, values in monthly.items():
        if key not in _BOUNDS:
            problems.append(
                Problem(f'"{key}" is not a monthly value', expected=f"one of {', '.join(_BOUNDS)}")
            )
            continue
        low, high, unit = _BOUNDS[key]
        if len(values) != 12:
            problems.append(Problem(f"monthly {key} has {len(values)} values", expected="12, January first"))
        problems += [
            Problem(f"{MONTHS[i]}: {v:g} is not a possible {key}", expected=f"{low:g} to {high:g} {unit}")
            for i, v in enumerate(values[:12])
            if not low <= v <= high
        ]
    if "temperature" not in monthly:
        problems.append(
            Problem("monthly values lack the temperature", expected="temperature: 12 values in °C")
        )
    if ("vapor pressure" in monthly) == ("humidity" in monthly):
        problems.append(
            Problem(
                "monthly values need the vapor pressure or the humidity", expected="exactly one of the two"
            )
        )
    if problems:
        raise InputError(problems)

    from reviewer.humidity import saturation_pressure

    temperature = tuple(float(t) for t in monthly["temperature"])
    saturation = [float(p) for p in saturation_pressure(temperature)]
    notes: list[str] = []
    if "humidity" in monthly:
        vapor = [float(h) * p for h, p in zip(monthly["humidity"], saturation, strict=True)]
        notes.append(
            "vapor pressure is relative humidity times saturation at the monthly mean temperature, which may differ "
            "from the mean of hourly vapor pressure"
        )
    else:
        vapor = [float(v) for v in monthly["vapor pressure"]]
        high = [i for i in range(12) if vapor[i] > saturation[i]]
        # The mean of hourly values may exceed saturation at the mean temperature a little, never by a quarter.
        problems = [
            Problem(
                f"{MONTHS[i]}: a vapor pressure of {vapor[i]:.0f} Pa is above saturation at {temperature[i]:g} °C",
                expected=f"at most {saturation[i]:.0f} Pa",
            )
            for i in high
            if vapor[i] > 1.25 * saturation[i]
        ]
        if problems:
            raise InputError(problems)
        if high:
            notes.append(f"vapor pressure was held to saturation in {', '.join(MONTHS[i] for i in high)}")
            vapor = [min(v, p) for v, p in zip(vapor, saturation, strict=True)]
    optional = {
        k: tuple(float(x) for x in monthly[k]) if k in monthly else None for k in ("solar", "precipitation")
    }
    hdd18, cdd10 = degree_days(temperature, 18.0), degree_days(temperature, 10.0, cooling=True)
    notes.append(
        f"degree-days ({hdd18:.0f} heating, {cdd10:.0f} cooling, K·d) were computed from the monthly means"
    )
    zoned = find_zones("", "", "", None, temperature, optional["precipitation"], hdd18, cdd10)
    return Climate(
        place="monthly values as given",
        country="",
        region="",
        latitude=None,
        longitude=None,
        elevation=None,
        zones=zoned.zones,
        temperature=temperature,
        vapor_pressure=tuple(vapor),
        solar=optional["solar"],
        precipitation=optional["precipitation"],
        wind=None,
        heating_design=None,
        cooling_design=None,
        hdd18=hdd18,
        cdd10=cdd10,
        station="monthly values as given",
        station_distance=None,
        station_elevation_difference=None,
        sources=(_GIVEN, DEGREE_DAY_SOURCE, *zoned.sources),
        assumptions=(*notes, *zoned.notes),
    )
