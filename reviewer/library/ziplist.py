"""US ZIP codes and their counties, from the offline directory of PyPI `zipcodes` (MIT). Loaded on first use."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from reviewer.citations import Citation
from reviewer.library.names import REGIONS, plain

SOURCE = Citation("US ZIP code directory (PyPI zipcodes)", "", "", "data", "seen")


@dataclass(frozen=True, slots=True)
class ZipArea:
    code: str
    city: str
    state: str
    county: str
    """As the directory writes it: `St. Louis County`."""
    latitude: float
    longitude: float


def _area(record: Any) -> ZipArea:
    return ZipArea(
        record["zip_code"],
        record["city"],
        record["state"],
        record["county"] or "",
        float(record["lat"]),
        float(record["long"]),
    )


def by_code(code: str) -> ZipArea | None:
    """The area of a five-digit ZIP code; None when there is no such code in a state or territory.

    >>> by_code("55802").county
    'St. Louis County'
    """
    import zipcodes

    found = [_area(r) for r in zipcodes.matching(code)]
    return next((a for a in found if a.state in REGIONS), None)


def by_city(city: str, state: str = "") -> list[ZipArea]:
    """The areas of a city, in one state or in all, by code. The names compare as in `plain`."""
    wanted = plain(city)
    return [a for a in _all() if (not state or a.state == state) and plain(a.city) == wanted]


@lru_cache(maxsize=1)
def _all() -> tuple[ZipArea, ...]:
    import zipcodes

    areas = (_area(r) for r in zipcodes.list_all())
    return tuple(sorted((a for a in areas if a.state in REGIONS), key=lambda a: a.code))


def nearest_area(latitude: float, longitude: float) -> tuple[ZipArea, float]:
    """The ZIP area whose center is nearest and that has a county, and its distance in km."""
    scale = math.cos(math.radians(latitude))
    area = min(
        (a for a in _all() if a.county),
        key=lambda a: (a.latitude - latitude) ** 2 + ((a.longitude - longitude) * scale) ** 2,
    )
    return area, great_circle(latitude, longitude, area.latitude, area.longitude)


def great_circle(lat1: float, lon1: float, lat2: float, lon2: float) -> float:
    """Distance in km on a sphere of 6,371 km radius, coordinates in degrees (haversine formula).

    >>> round(great_circle(46.78, -92.11, 44.98, -93.27))
    219
    """
    p1, p2, dl = math.radians(lat1), math.radians(lat2), math.radians(lon2 - lon1)
    h = math.sin((p2 - p1) / 2) ** 2 + math.cos(p1) * math.cos(p2) * math.sin(dl / 2) ** 2
    return 12742.0 * math.asin(min(1.0, math.sqrt(h)))
