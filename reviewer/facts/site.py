"""Where the section stands: outdoor climate, indoor climate, code and zone, each with its source."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from reviewer.errors import InputError, Problem, nearest
from reviewer.facts.book import Book, Origin
from reviewer.humidity import dew_point, saturation_pressure
from reviewer.library import climate as climates
from reviewer.library import places
from reviewer.library.types import Climate
from reviewer.model.section import Section
from reviewer.physics import indoor as indoors

CODES = ("IRC", "IBC", "NBC", "none")
EDITIONS = {
    "IRC": (2006, 2009, 2012, 2015, 2018, 2021, 2024),
    "IBC": (2006, 2009, 2012, 2015, 2018, 2021, 2024),
    "NBC": (2005, 2010, 2015, 2020),
}
DEFAULT_CODES = {"US": ("IRC", 2021), "CA": ("NBC", 2020)}
HUMID_MONTH_DEW_POINT = 16.0
"""°C: a mean outdoor dew point above this makes a month that is usually cooled (common practice)."""
HUMID_CLASS, HUMID_RH, HUMID_OVER_HOME = 4, 0.42, 0.03
"""From this class on a room is humid, and above this humidity in the coldest month (more than the design load of
a dwelling: 40 %, ASHRAE 160, from memory) if it also exceeds an ordinary home's by the third: in mild winters
every home is above 42 % without being a humid building."""
RAINY = 1.5
"""m of precipitation a year from which a wall is taken for highly exposed to driving rain where nothing is said of it:
open coasts and windward slopes (common practice; the usual maps call 1.5 m, 60 in, and more the wettest class)."""
_ZONE = re.compile(r"(\d)([ABC])?", re.I)


@dataclass(frozen=True, slots=True)
class Site:
    climate: Climate | None
    code: str
    edition: int
    zone: str
    """`5A`; empty when not known."""
    zone_number: int | None
    moisture: str
    cooling: bool | None
    t_in: NDArray[np.float64] | None
    p_in: NDArray[np.float64] | None
    t_out: NDArray[np.float64] | None
    p_out: NDArray[np.float64] | None
    condition: str

    @property
    def coldest(self) -> int:
        assert self.t_out is not None
        return int(np.argmin(self.t_out))

    @property
    def warmest(self) -> int:
        assert self.t_out is not None
        return int(np.argmax(self.t_out))


def find_site(section: Section, book: Book, edition: str = "") -> Site:
    """Look up everything about the place. `edition`, such as "IRC 2018", overrides the section's code.

    Raises InputError: a place, weather file or code that can't be found.
    """
    climate = _climate(section)
    code, year = _code(section, climate, edition, book)
    zone = _zone(section, climate, code, year, book)
    m = _ZONE.fullmatch(zone) if zone else None
    number = int(m[1]) if m else None
    moisture = (m[2] or "none").upper() if m and m[2] else "none"
    if climate is None:
        return Site(None, code, year, zone, number, moisture, section.cooling, None, None, None, None, "")
    for sentence in climate.assumptions:
        book.assume(sentence, "how the climate was found")
    t_out = np.asarray(climate.temperature)
    p_out = np.minimum(np.asarray(climate.vapor_pressure), saturation_pressure(t_out))
    cooling = section.cooling
    if cooling is None:
        cooling = bool(dew_point(p_out).max() >= HUMID_MONTH_DEW_POINT)
        book.assume(
            f"{'air-conditioned in summer' if cooling else 'not air-conditioned'}",
            f"not stated; taken from the climate (a month with a mean dew point of {HUMID_MONTH_DEW_POINT:.0f} °C ({HUMID_MONTH_DEW_POINT * 9 / 5 + 32:.0f} °F) or more "
            f"{'occurs' if cooling else 'does not occur'})",
            "inward vapor drive",
        )
    t_in, p_in, condition = _indoor(section, t_out, p_out, cooling, book)
    return Site(climate, code, year, zone, number, moisture, cooling, t_in, p_in, t_out, p_out, condition)


def rain_exposure(section: Section, site: Site) -> str:
    """Exposure to driving rain: as stated, or by the rain of the place."""
    return section.rain or ("high" if (precipitation(site) or 0.0) >= RAINY else "moderate")


def precipitation(site: Site) -> float | None:
    """Precipitation a year, m."""
    c = site.climate
    return None if c is None or c.precipitation is None else float(np.sum(c.precipitation)) / 1000.0


def _climate(section: Section) -> Climate | None:
    p = section.place
    if p is None:
        return None
    try:
        if p.weather is not None:
            path = Path(p.weather)
            if not path.is_absolute() and section.file not in ("", "-"):
                path = Path(section.file).parent / path
            return climates.climate_from_epw(path)
        if p.monthly is not None:
            return climates.climate_from_monthly(p.monthly)
        if p.zone is not None:
            return _zone_climate(p.zone)
        if p.name is not None:
            return _place_climate(p.name)
    except InputError as e:
        raise InputError(
            [q if q.mark else Problem(q.message, p.mark, q.expected, q.nearest) for q in e.problems]
        ) from None
    return None


@lru_cache(maxsize=512)
def _place_climate(name: str) -> Climate:
    return places.climate_for(places.find_place(name))


@lru_cache(maxsize=64)
def _zone_climate(zone: str) -> Climate:
    return places.climate_for_zone(zone)


def _code(section: Section, climate: Climate | None, edition: str, book: Book) -> tuple[str, int]:
    text = edition or section.building.code or ""
    if text:
        mark = None if edition else section.marks.get("building")
        return parse_code(text, mark)
    country = climate.country if climate else "US"
    code, year = DEFAULT_CODES.get(country, ("none", 0))
    if code == "none":
        book.assume("no building code", "none was named and the program holds none for this country")
    else:
        book.assume(
            f"{code} {year}",
            "no code was named; this model code is the default for the country. The code adopted locally governs",
            "code findings",
        )
    return code, year


def parse_code(text: str, mark: object = None) -> tuple[str, int]:
    """`IRC 2021` to ("IRC", 2021); `none`. Raises InputError.

    >>> parse_code("IBC 2018")
    ('IBC', 2018)
    """
    from reviewer.errors import Mark

    at = mark if isinstance(mark, Mark) else None
    if text.strip().lower() == "none":
        return "none", 0
    m = re.fullmatch(r"\s*([A-Za-z]+)\s*(\d{4})\s*", text) or re.fullmatch(
        r"\s*(\d{4})\s*([A-Za-z]+)\s*", text
    )
    expected = 'a code and edition, such as "IRC 2021", "IBC 2018", "NBC 2020" or "none"'
    if not m:
        raise InputError(
            Problem(
                f'"{text}" is not a code and edition',
                at,
                expected,
                nearest(text.split()[0] if text.split() else "", CODES),
            )
        )
    name, year = (m[1], m[2]) if m[1].isalpha() else (m[2], m[1])
    name = name.upper()
    if name not in EDITIONS:
        raise InputError(Problem(f'the code "{name}" is not known', at, expected, nearest(name, CODES)))
    if int(year) not in EDITIONS[name]:
        known = ", ".join(str(y) for y in EDITIONS[name])
        raise InputError(
            Problem(
                f"{name} has no {year} edition that the program knows",
                at,
                f"one of {known}",
                nearest(year, [str(y) for y in EDITIONS[name]]),
            )
        )
    return name, int(year)


def _zone(section: Section, climate: Climate | None, code: str, year: int, book: Book) -> str:
    if section.place is not None and section.place.zone_override:
        return section.place.zone_override.upper()
    if section.place is not None and section.place.zone and climate is None:
        return section.place.zone.upper()
    if climate is None:
        return ""
    zones = climate.zones
    order = (
        ("NBC", "2021", "2018") if code == "NBC" else (("2021", "2018") if year >= 2021 else ("2018", "2021"))
    )
    group = next((g for g in order if zones.get(g)), None)
    return zones[group] if group else ""


def _indoor(
    section: Section, t_out: NDArray[np.float64], p_out: NDArray[np.float64], cooling: bool, book: Book
) -> tuple[NDArray[np.float64], NDArray[np.float64], str]:
    given = section.indoor
    wanted = given.name if given and given.name else "home"
    if given is None:
        book.assume("indoor condition: home", "none was stated", "every vapor calculation")
    try:
        name = indoors.condition_name(wanted)
    except ValueError:
        mark = given.mark if given else None
        known = ", ".join(indoors.CONDITIONS)
        raise InputError(
            Problem(
                f'unknown indoor condition "{wanted}"',
                mark,
                f"one of {known}",
                nearest(wanted, indoors.CONDITIONS),
            )
        ) from None
    c = indoors.indoor_conditions(name, t_out, p_out, cooling)
    t, p, condition = c.temperature, c.vapor_pressure, name
    if given and (given.temperature is not None or given.humidity is not None):
        t = _floating(given.temperature, t, t_out, given.humidity is not None, book)
        if given.humidity is not None:
            p = _twelve(given.humidity, np.zeros(12)) * saturation_pressure(t)
        else:
            p = np.minimum(p, saturation_pressure(t))
        condition = "as stated"
        if given.temperature is None or given.humidity is None:
            missing = "temperature" if given.temperature is None else "humidity"
            book.assume(f"indoor {missing}: as in `{name}`", f"the indoor {missing} was not stated")
    else:
        book.assume(
            f"{name}: {c.how}", "what the named indoor condition stands for", "every vapor calculation"
        )
    return t, p, condition


HEATED_TO = 18.0
"""°C: nobody cools a room to less than this; a lower temperature is what it is heated to (common practice)."""


def _floating(
    told: tuple[float, ...] | None,
    named: NDArray[np.float64],
    t_out: NDArray[np.float64],
    held: bool,
    book: Book,
) -> NDArray[np.float64]:
    """The stated temperatures; one that a room is heated to does not hold in the months that are warmer by themselves.
    `held`: the humidity is stated too, as of a room whose air is kept as it is."""
    t = _twelve(told, named)
    if told is None or len(told) != 1 or told[0] >= HEATED_TO or held:
        return t
    book.assume(
        "in the months that are warmer than the room is heated to, it is as warm as outdoors",
        f"a room is heated to {told[0]:.0f} °C ({told[0] * 9 / 5 + 32:.0f} °F), and not cooled to it",
    )
    return np.maximum(t, np.minimum(t_out, named))


def _twelve(values: tuple[float, ...] | None, default: NDArray[np.float64]) -> NDArray[np.float64]:
    if values is None:
        return default
    return np.full(12, values[0]) if len(values) == 1 else np.asarray(values, float)


def site_facts(section: Section, site: Site, book: Book) -> None:
    """The facts `climate` and `indoor`."""
    c = site.climate
    record = book.record("climate", label="climate")
    missing = "the place is not stated"
    if c is None or site.t_out is None or site.p_out is None:
        for name in (
            "hdd18",
            "t_coldest",
            "t_warmest",
            "t_coldest_three",
            "t_design",
            "dew_point_warmest",
            "heating_months",
            "cooling_months",
            "place",
        ):
            record.put(name, None, why=missing)
        indoor = book.record("indoor", label="indoors")
        for name in (
            "t_winter",
            "rh_winter",
            "rh_highest",
            "dew_point_winter",
            "t_summer",
            "vapor_excess",
            "humidity_class",
        ):
            indoor.put(name, None, why=missing)
        indoor.put("humid", False)
        return
    source = "; ".join(str(s) for s in c.sources)
    looked = Origin("looked up", c.station, source)
    monthly = Origin("computed", "from the monthly means", source)
    record.put("place", c.place, looked)
    record.put("hdd18", c.hdd18, looked, why="no degree-days for this climate")
    record.put("t_coldest", float(site.t_out.min()), monthly)
    record.put("t_warmest", float(site.t_out.max()), monthly)
    record.put("t_coldest_three", float(np.sort(site.t_out)[:3].mean()), monthly)
    record.put("t_design", c.heating_design, looked, why="no design temperature for this climate")
    dew = dew_point(site.p_out)
    record.put("dew_point_warmest", float(dew[site.warmest]), monthly)
    if (fall := precipitation(site)) is not None:
        record.put("rain_annual", fall, looked)
    record.put("heating_months", int((site.t_out < 10.0).sum()), monthly)
    record.put("cooling_months", int((dew > HUMID_MONTH_DEW_POINT).sum()), monthly)
    assert site.t_in is not None and site.p_in is not None
    indoor = book.record("indoor", label="indoors")
    rh = site.p_in / saturation_pressure(site.t_in)
    k = site.coldest
    named = Origin("given" if section.indoor else "assumed", f"indoor condition `{site.condition}`")
    indoor.put("condition", site.condition, named)
    indoor.put("t_winter", float(site.t_in[k]), named)
    indoor.put("rh_winter", float(rh[k]), named)
    indoor.put("rh_highest", float(rh.max()), named)
    indoor.put("dew_point_winter", float(dew_point(site.p_in[k])))
    indoor.put("t_summer", float(site.t_in[site.warmest]), named)
    excess = float(site.p_in[k] - site.p_out[k])
    indoor.put("vapor_excess", excess)
    klass = next(
        (n for n in indoors.CLASS_EXCESS if excess <= indoors.class_excess(n, float(site.t_out[k])) + 0.5), 5
    )
    indoor.put("humidity_class", klass)
    home = indoors.indoor_conditions("home", site.t_out, site.p_out, bool(site.cooling))
    # A cool room is no more humid by being cool: the humidity that its vapor would have in a home counts.
    held = float(site.p_in[k] / saturation_pressure(np.maximum(site.t_in, home.temperature))[k])
    indoor.put(
        "humid", klass >= HUMID_CLASS or held > max(HUMID_RH, float(home.humidity[k]) + HUMID_OVER_HOME)
    )
