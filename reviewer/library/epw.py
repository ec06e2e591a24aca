"""Reader of EPW weather files, an open text format: eight header lines and a year of hours.

Row k is the hour that ends k + 1 hours after New Year in local standard time: radiation and rain are sums or
means over that hour, temperature, humidity and wind hold at its end.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reviewer.errors import InputError, Mark, Problem
from reviewer.humidity import saturation_pressure
from reviewer.library.types import MONTH_DAYS

Array = NDArray[np.float64]

HOURS = 8760
HEADERS = (
    "LOCATION",
    "DESIGN CONDITIONS",
    "TYPICAL/EXTREME PERIODS",
    "GROUND TEMPERATURES",
    "HOLIDAYS/DAYLIGHT SAVING",
    "COMMENTS 1",
    "COMMENTS 2",
    "DATA PERIODS",
)
LARGEST_FILE = 32 * 2**20
LONGEST_GAP = 6
"""Hours: a longer run without temperature or humidity makes the file unusable; shorter ones are filled linearly."""


@dataclass(frozen=True, slots=True)
class Column:
    index: int
    name: str
    missing: float
    """From this value on the file says `not known`."""
    low: float
    high: float
    required: bool = False


COLUMNS = {
    "dry_bulb": Column(6, "dry-bulb temperature", 99.9, -90.0, 70.0, True),
    "dew_point": Column(7, "dew point", 99.9, -100.0, 70.0),
    "relative_humidity": Column(8, "relative humidity", 999.0, 0.0, 110.0),
    "pressure": Column(9, "pressure", 999999.0, 31000.0, 120000.0),
    "longwave_sky": Column(12, "horizontal infrared radiation", 9999.0, 0.0, 1000.0),
    "ghi": Column(13, "global horizontal radiation", 9999.0, 0.0, 2000.0),
    "dni": Column(14, "direct normal radiation", 9999.0, 0.0, 2000.0),
    "dhi": Column(15, "diffuse horizontal radiation", 9999.0, 0.0, 2000.0),
    "wind_direction": Column(20, "wind direction", 999.0, 0.0, 360.0),
    "wind_speed": Column(21, "wind speed", 999.0, 0.0, 100.0),
    "opaque_cover": Column(23, "opaque sky cover", 99.0, 0.0, 10.0),
    "rain": Column(33, "liquid precipitation depth", 999.0, 0.0, 400.0),
}
_LAST_NEEDED = 23
"""Index of the last column that every row must reach; precipitation came into the format later."""


@dataclass(frozen=True, slots=True)
class HourlyWeather:
    """A year of 8,760 hours, each series of that length."""

    dry_bulb: Array
    """°C."""
    relative_humidity: Array
    """0–1, over water at all temperatures, as weather services report it."""
    vapor_pressure: Array
    """Pa, at most saturation (over ice below 0 °C)."""
    ghi: Array
    """Global horizontal irradiance, W/m²; `dni` direct normal, `dhi` diffuse horizontal."""
    dni: Array
    dhi: Array
    longwave_sky: Array
    """Long-wave irradiance of a horizontal plane from the sky, W/m²."""
    wind_speed: Array
    """m/s at 10 m."""
    wind_direction: Array
    """Degrees clockwise from north, where the wind comes from."""
    rain: Array
    """mm/h; all zero when `rain_known` is False."""
    pressure: Array
    """Pa, of the station."""
    rain_known: bool
    place: str
    region: str
    country: str
    """As in the file: `USA`, `CAN`."""
    station: str
    latitude: float
    longitude: float
    """Degrees, east positive."""
    elevation: float
    """m."""
    time_zone: float
    """Hours east of Greenwich."""
    assumptions: tuple[str, ...]
    """What was filled in or left out, a sentence each."""


def read_epw(path: str | os.PathLike[str]) -> HourlyWeather:
    """Read an EPW file: one year of hours; February 29 is left out.

    Missing values are filled: temperature and humidity over at most 6 hours, linearly; radiation with none, sky
    radiation by the format's own formula from dew point and cloud cover; wind with the year's mean. What was
    filled is listed in `assumptions`.

    Raises InputError, with line and column: not an EPW file, cut short, hours missing or out of order, values that
    are not numbers or not possible, too long without temperature.
    """
    name = os.fspath(path)
    lines = _lines(name)
    head = _headers(name, lines)
    raw, marks, leap = _table(name, lines)
    values: dict[str, Array] = {}
    notes: list[str] = []
    for key, column in COLUMNS.items():
        values[key] = _checked(name, lines, raw[key], marks, column)
    if leap:
        notes.append("February 29 of the weather file was left out")
    t = _filled(values["dry_bulb"], "dry-bulb temperature", name, lines, marks, notes)
    humidity = values["relative_humidity"] / 100.0
    dew = values["dew_point"]
    lost = np.isnan(humidity) & ~np.isnan(dew)
    if lost.any():
        notes.append(
            f"relative humidity was taken from the dew point in {lost.sum()} hours of the weather file"
        )
        humidity[lost] = _over_water(np.minimum(dew, t)[lost]) / _over_water(t[lost])
    humidity = np.clip(_filled(humidity, "relative humidity", name, lines, marks, notes), 0.0, 1.0)
    vapor = np.minimum(humidity * _over_water(t), saturation_pressure(t))
    sun = {key: _without_gaps(values[key], COLUMNS[key].name, 0.0, notes) for key in ("ghi", "dni", "dhi")}
    if not sun["ghi"].any():
        raise InputError(
            Problem(
                "the weather file carries no solar radiation",
                Mark(name, marks[0], 1),
                "global horizontal radiation",
            )
        )
    wind = values["wind_speed"]
    mean = float(np.nanmean(wind)) if not np.isnan(wind).all() else 0.0
    direction = values["wind_direction"]
    pressure = values["pressure"]
    standard = 101325.0 * (1.0 - 2.25577e-5 * head["elevation"]) ** 5.2559
    rain = values["rain"]
    rain_known = bool(np.nansum(rain) > 0.0)
    if not rain_known:
        notes.append("the weather file carries no rain")
    return HourlyWeather(
        dry_bulb=t,
        relative_humidity=humidity,
        vapor_pressure=vapor,
        ghi=sun["ghi"],
        dni=sun["dni"],
        dhi=sun["dhi"],
        longwave_sky=_sky(values["longwave_sky"], t, vapor, values["opaque_cover"], notes),
        wind_speed=_without_gaps(wind, "wind speed", mean, notes),
        wind_direction=_without_gaps(direction, "wind direction", 0.0, notes),
        rain=_without_gaps(rain, "liquid precipitation depth", 0.0, notes) if rain_known else np.zeros(HOURS),
        pressure=_without_gaps(pressure, "pressure", standard, notes),
        rain_known=rain_known,
        place=head["place"],
        region=head["region"],
        country=head["country"],
        station=head["station"],
        latitude=head["latitude"],
        longitude=head["longitude"],
        elevation=head["elevation"],
        time_zone=head["time_zone"],
        assumptions=tuple(notes),
    )


def _over_water(t: Array) -> Array:
    """Saturation pressure over (supercooled) water: humidity in weather records is relative to it (WMO No. 8)."""
    return 610.5 * np.exp(17.269 * t / (237.3 + t))


def _lines(name: str) -> list[str]:
    try:
        if os.path.getsize(name) > LARGEST_FILE:
            raise InputError(
                Problem(
                    f"the weather file {name} is too large", expected=f"at most {LARGEST_FILE // 2**20} MiB"
                )
            )
        with open(name, encoding="latin-1") as f:
            # A byte order mark, as it reads in this encoding.
            return f.read().removeprefix("ï»¿").splitlines()
    except OSError as e:
        raise InputError(
            Problem(
                f"the weather file {name} can't be read: {e.strerror or e}",
                expected="the path of an EPW file",
            )
        ) from None


def _headers(name: str, lines: list[str]) -> dict[str, Any]:
    for i, word in enumerate(HEADERS):
        text = lines[i] if i < len(lines) else ""
        if not text.upper().startswith(word):
            mark = Mark(name, i + 1, 1, max(len(text.split(",")[0]), 1), text)
            found = "not an EPW weather file" if i == 0 else "a header line of the weather file is missing"
            raise InputError(Problem(found, mark, f'a line that begins with "{word}"'))
    cells = [c.strip() for c in lines[0].split(",")]
    if len(cells) < 10:
        raise InputError(
            Problem("the weather file's location is incomplete", Mark(name, 1, 1, 8, lines[0]), "ten entries")
        )
    numbers = {}
    for key, i, low, high in (
        ("latitude", 6, -90.0, 90.0),
        ("longitude", 7, -180.0, 180.0),
        ("time_zone", 8, -12.0, 14.0),
        ("elevation", 9, -1000.0, 9999.9),
    ):
        value = _number(cells[i])
        if value is None or not low <= value <= high:
            raise InputError(
                Problem(
                    f'"{cells[i]}" is not a possible {key.replace("_", " ")}',
                    _cell_mark(name, lines, 1, i),
                    f"{low:g} to {high:g}",
                )
            )
        numbers[key] = value
    period = [c.strip() for c in lines[7].split(",")]
    if len(period) > 2 and (_number(period[1]), _number(period[2])) != (1.0, 1.0):
        raise InputError(
            Problem(
                "only weather files of one period with one record an hour can be read",
                _cell_mark(name, lines, 8, 1),
                '"DATA PERIODS,1,1,…"',
            )
        )
    region = "" if cells[2] == "-" else cells[2]
    return {
        "place": ", ".join(c for c in (cells[1], region) if c and c != "-") or "weather file",
        "region": region,
        "country": cells[3],
        "station": f"{cells[1]} ({cells[4]} {cells[5]})",
        **numbers,
    }


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if np.isfinite(value) else None


def _cell_mark(name: str, lines: list[str], line: int, index: int) -> Mark:
    text = lines[line - 1]
    cells = text.split(",")
    column = sum(len(c) + 1 for c in cells[:index]) + 1
    return Mark(name, line, column, max(len(cells[index]) if index < len(cells) else 1, 1), text)


def _table(name: str, lines: list[str]) -> tuple[dict[str, Array], list[int], bool]:
    """The needed columns as numbers (NaN where empty), the line of every hour kept, and whether there was a leap day."""
    calendar = [
        (m + 1, d + 1, h + 1) for m, days in enumerate(MONTH_DAYS) for d in range(days) for h in range(24)
    ]
    cells: list[list[str]] = []
    kept: list[int] = []
    leap = False
    for number, text in enumerate(lines[len(HEADERS) :], len(HEADERS) + 1):
        if not text.strip():
            continue
        row = text.split(",")
        if len(row) <= _LAST_NEEDED:
            raise InputError(
                Problem(
                    f"an hour of the weather file has {len(row)} values",
                    Mark(name, number, 1, max(len(text), 1), text),
                    f"at least {_LAST_NEEDED + 1}",
                )
            )
        when = tuple(row[1:4])
        if [w.strip() for w in when[:2]] == ["2", "29"]:
            leap = True
            continue
        if len(kept) >= HOURS:
            raise InputError(
                Problem(
                    "the weather file has more hours than a year",
                    Mark(name, number, 1, 1, text),
                    "8,760 hours",
                )
            )
        m, d, h = calendar[len(kept)]
        if [_number(w) for w in when] != [float(m), float(d), float(h)]:
            raise InputError(
                Problem(
                    f"an hour of the weather file is missing or out of order: month {when[0].strip()}, day "
                    f"{when[1].strip()}, hour {when[2].strip()}",
                    _cell_mark(name, lines, number, 1),
                    f"month {m}, day {d}, hour {h}",
                )
            )
        cells.append(row)
        kept.append(number)
    if len(kept) < HOURS:
        last = max(len(lines), 1)
        raise InputError(
            Problem(f"the weather file ends after {len(kept):,} hours", Mark(name, last, 1), "8,760 hours")
        )
    return {key: _column(name, lines, cells, kept, c) for key, c in COLUMNS.items()}, kept, leap


def _column(name: str, lines: list[str], cells: list[list[str]], kept: list[int], c: Column) -> Array:
    texts = [row[c.index] if c.index < len(row) else "" for row in cells]
    try:
        return np.array(texts, dtype=float)
    except ValueError:
        values = np.full(len(texts), np.nan)
        for k, text in enumerate(texts):
            if not text.strip():
                continue
            value = _number(text)
            if value is None:
                raise InputError(
                    Problem(
                        f'"{text.strip()}" is not a number',
                        _cell_mark(name, lines, kept[k], c.index),
                        f"the {c.name}, or {c.missing:g} when it is not known",
                    )
                ) from None
            values[k] = value
        return values


def _checked(name: str, lines: list[str], values: Array, kept: list[int], c: Column) -> Array:
    """Values that the file marks as not known become NaN; impossible ones are errors."""
    values = np.where(values >= c.missing, np.nan, values)
    if np.isinf(values).any():
        values = np.where(np.isinf(values), c.low - 1.0, values)
    wrong = np.flatnonzero((values < c.low) | (values > c.high))
    if len(wrong):
        k = int(wrong[0])
        raise InputError(
            Problem(
                f"{lines[kept[k] - 1].split(',')[c.index].strip()} is not a possible {c.name}",
                _cell_mark(name, lines, kept[k], c.index),
                f"{c.low:g} to {c.high:g}, or {c.missing:g} when it is not known",
            )
        )
    return values


def _filled(
    values: Array, what: str, name: str, lines: list[str], kept: list[int], notes: list[str]
) -> Array:
    """Gaps of a few hours filled linearly around the year; a longer gap is an error."""
    lost = np.isnan(values)
    if not lost.any():
        return values
    known = np.flatnonzero(~lost)
    run, start = _longest_run(lost)
    if run > LONGEST_GAP:
        line = kept[start]
        raise InputError(
            Problem(
                f"the weather file has no {what} for {run:,} hours",
                Mark(name, line, 1, max(len(lines[line - 1]), 1), lines[line - 1]),
                f"gaps of at most {LONGEST_GAP} hours",
            )
        )
    notes.append(f"{what} was filled in linearly in {lost.sum()} hours of the weather file")
    hours = np.arange(len(values))
    return np.interp(hours, known, values[known], period=len(values))


def _longest_run(lost: NDArray[np.bool_]) -> tuple[int, int]:
    """Length and first index of the longest run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], lost.astype(int), [0]])))
    starts, ends = edges[::2], edges[1::2]
    k = int(np.argmax(ends - starts))
    return int(ends[k] - starts[k]), int(starts[k])


def _without_gaps(values: Array, what: str, instead: float, notes: list[str]) -> Array:
    lost = np.isnan(values)
    if lost.any():
        notes.append(
            f"{what} is not known in {lost.sum()} hours of the weather file; {instead:.4g} was taken"
        )
    return np.where(lost, instead, values)


def _sky(given: Array, t: Array, vapor: Array, cover: Array, notes: list[str]) -> Array:
    """Sky radiation, where the file gives none from dew point and opaque cloud cover.

    Source: Clark and Allen (1978) sky emissivity with the cloud correction of Walton (1983), the formula of the EPW
    format's documentation for this column (from memory).
    """
    lost = np.isnan(given) | (given <= 0.0)
    if not lost.any():
        return given
    clouds = np.where(np.isnan(cover), 5.0, cover)
    half = " and half a cloudy sky" if np.isnan(cover[lost]).any() else " and cloud cover"
    notes.append(f"sky radiation was computed from dew point{half} in {lost.sum()} hours of the weather file")
    ratio = np.log(np.maximum(vapor, 1.0) / 610.5)
    dew = 237.3 * ratio / (17.269 - ratio) + 273.15
    emissivity = (0.787 + 0.764 * np.log(dew / 273.0)) * (
        1.0 + 0.0224 * clouds - 0.0035 * clouds**2 + 0.00028 * clouds**3
    )
    return np.where(lost, emissivity * 5.670374e-8 * (t + 273.15) ** 4, given)
