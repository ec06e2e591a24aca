"""Code climate zones: the county table of the United States, Canada's degree-day bands, and the criteria
by which the zone of any place follows from its climate.

An edition group names the editions that share a table: `2018` stands for 2006–2018, `2021` for 2021 and later.
"""

from __future__ import annotations

import os
import re
from bisect import bisect_right
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from reviewer.citations import Citation
from reviewer.errors import InputError, Problem, nearest
from reviewer.library.names import STATES, plain

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

GROUPS = ("2018", "2021")
COUNTY_SOURCE = Citation(
    "US Department of Energy county climate zones", "", "report PNNL-33270", "data", "seen"
)
CRITERIA_SOURCES = {
    "2018": Citation("IECC", "2006–2018", "Table R301.3(2)", "code", "secondhand"),
    "2021": Citation("IECC", "2021", "Tables R301.3(2) and (3)", "code", "memory"),
}
NBC_SOURCE = Citation("NBC Canada", "2015 and 2020", "Table 9.36.2.6.", "code", "seen")

_COUNTIES = os.path.join(os.path.dirname(__file__), "data", "county_zones.csv")
_SUFFIX = re.compile(
    r" (county|parish|city and borough|borough|census area|municipality|municipio|planning region)$"
)
_RENAMED = {
    ("AK", "chugach"): "Valdez-Cordova",
    ("AK", "copper river"): "Valdez-Cordova",
    ("AK", "prince of wales outer ketchikan"): "Prince of Wales-Hyder",
    ("AK", "wade hampton"): "Kusilvak",
    ("AK", "city and borough of juneau"): "Juneau",
    ("AK", "municipality of anchorage"): "Anchorage",
    ("SD", "shannon"): "Oglala Lakota",
    ("CT", "capitol"): "Hartford",
    ("CT", "greater bridgeport"): "Fairfield",
    ("CT", "lower connecticut river valley"): "Middlesex",
    ("CT", "naugatuck valley"): "New Haven",
    ("CT", "northeastern connecticut"): "Windham",
    ("CT", "northwest hills"): "Litchfield",
    ("CT", "south central connecticut"): "New Haven",
    ("CT", "southeastern connecticut"): "New London",
    ("CT", "western connecticut"): "Fairfield",
}


def edition_group(edition: str | int) -> str:
    """The edition group of a code edition: a year, or a text that holds one (`IRC 2021`).

    >>> edition_group("IRC 2012"), edition_group(2024)
    ('2018', '2021')

    Raises InputError: no year from 2006 on.
    """
    m = re.search(r"\b(20\d\d)\b", str(edition))
    if not m or int(m[1]) < 2006:
        raise InputError(
            Problem(
                f'"{edition}" is not an edition with climate zones',
                expected="a year from 2006 on, such as 2018",
            )
        )
    return "2018" if int(m[1]) <= 2018 else "2021"


@lru_cache(maxsize=1)
def _text() -> str:
    with open(_COUNTIES, encoding="utf-8") as f:
        return f.read()


@lru_cache(maxsize=1)
def counties() -> dict[tuple[str, str], tuple[str, str]]:
    """(state code, county) to its zone in the 2006–2018 and in the 2021 editions: `St. Louis` without
    "County"; independent cities end in "city".
    """
    rows = (line.split(",") for line in _text().splitlines() if line and not line.startswith("#"))
    next(rows)
    return {(state, county): (z18, z21) for state, county, z18, z21 in rows}


def county_name(state: str, county: str) -> str | None:
    """The county table's spelling of a county, however it is written; None when it is not there.

    >>> county_name("MN", "Saint Louis County"), county_name("MD", "Baltimore City")
    ('St. Louis', 'Baltimore city')
    """
    if f"\n{state},{county}," in _text():
        return county
    return _spellings().get((state, _key(state, county)))


def _key(state: str, county: str) -> str:
    key = _SUFFIX.sub("", plain(county))
    return plain(_RENAMED.get((state, key), key)).replace(" ", "")


@lru_cache(maxsize=1)
def _spellings() -> dict[tuple[str, str], str]:
    return {(state, plain(county).replace(" ", "")): county for state, county in counties()}


def zone_for(state: str, county: str, edition: str | int) -> str:
    """The code climate zone of a US county, with its moisture letter where the code has one.

    `state` is a two-letter code, `county` is written in any usual way, `edition` as in `edition_group`.
    Source: report PNNL-33270.

    >>> zone_for("MN", "St. Louis County", 2018), zone_for("IL", "Cook", "IECC 2021")
    ('7', '5A')

    Raises InputError: no such state or county.
    """
    group = edition_group(edition)
    code = state.strip().upper()
    if code not in STATES or f"\n{code}," not in _text():
        known = sorted({s for s, _ in counties()})
        raise InputError(
            Problem(f'"{state}" is not a state code', expected="such as MN", nearest=nearest(code, known))
        )
    name = county_name(code, county)
    if name is None:
        inside = [c for s, c in counties() if s == code]
        raise InputError(
            Problem(
                f'no county "{county}" in {STATES[code]}',
                expected=f"one of the {len(inside)} counties of {STATES[code]}",
                nearest=nearest(county, inside),
            )
        )
    text = _text()
    start = text.index(f"\n{code},{name},") + len(code) + len(name) + 3
    return text[start : text.index("\n", start)].split(",")[GROUPS.index(group)]


NBC_ZONES = ("4", "5", "6", "7A", "7B", "8")
_NBC_LIMITS = (3000.0, 4000.0, 5000.0, 6000.0, 7000.0)


def nbc_zone(hdd18: float) -> str:
    """Canada's zone by heating degree-days (base 18 °C, K·d).

    Source: NBC 9.36 and NECB bands: 4 below 3,000; 5 to 3,999; 6 to 4,999; 7A to 5,999; 7B to 6,999; 8 from 7,000.

    >>> nbc_zone(3520), nbc_zone(5000), nbc_zone(8170)
    ('5', '7A', '8')

    Raises ValueError: negative or not a number.
    """
    if not hdd18 >= 0:
        raise ValueError("heating degree-days must not be negative")
    return NBC_ZONES[bisect_right(_NBC_LIMITS, hdd18)]


def moisture_regime(
    temperature: ArrayLike, precipitation: ArrayLike, edition: str | int, southern: ArrayLike = False
) -> NDArray[np.str_]:
    """`A` moist, `B` dry or `C` marine, from monthly means: marine is tested first, then dry, else moist.

    `temperature` in °C and `precipitation` in mm a month: shape (..., 12), January first. `southern`: in the
    southern hemisphere, whose cold season is April to September; shape (...).
    Source: IECC Table R301.3(1) and 301.3.1 (2006–2018: dry where P in cm < 2.0 (T + 7)); 2021 edition
    after ASHRAE 169-2013 (from memory), by the share of rain in the half year of high sun.

    >>> t = [5.2, 6.2, 7.8, 10.0, 13.1, 16.0, 18.6, 18.8, 16.3, 11.5, 7.3, 4.9]
    >>> p = [142, 101, 94, 66, 45, 38, 18, 26, 44, 88, 151, 147]
    >>> str(moisture_regime(t, p, 2018))
    'C'

    Raises ValueError: not twelve months, not finite, or negative precipitation.
    """
    import numpy as np

    marine, dry = _marine_and_dry(temperature, precipitation, edition, southern)
    return np.where(marine, "C", np.where(dry, "B", "A"))


def _marine_and_dry(
    temperature: ArrayLike, precipitation: ArrayLike, edition: str | int, southern: ArrayLike
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    import numpy as np

    t, p = np.asarray(temperature, dtype=float), np.asarray(precipitation, dtype=float)
    if t.shape[-1:] != (12,) or p.shape[-1:] != (12,):
        raise ValueError("temperature and precipitation must have twelve months on the last axis")
    if not (np.isfinite(t).all() and np.isfinite(p).all() and (p >= 0).all()):
        raise ValueError("temperature and precipitation must be finite, precipitation not negative")
    winter = np.array([1, 1, 1, 0, 0, 0, 0, 0, 0, 1, 1, 1], dtype=bool)
    cold = winter ^ np.asarray(southern, dtype=bool)[..., None]
    wettest = np.where(cold, p, -np.inf).max(axis=-1)
    driest = np.where(cold, np.inf, p).min(axis=-1)
    marine = (
        (t.min(axis=-1) > -3.0)
        & (t.min(axis=-1) < 18.0)
        & (t.max(axis=-1) < 22.0)
        & ((t > 10.0).sum(axis=-1) >= 4)
        & (wettest >= 3.0 * driest)
    )
    mean, total = t.mean(axis=-1), p.sum(axis=-1)
    if edition_group(edition) == "2018":
        return marine, total < 20.0 * (mean + 7.0)
    share = np.where(cold, 0.0, p).sum(axis=-1) / np.where(total > 0, total, 1.0)
    return marine, total < 20.0 * (mean + np.where(share >= 0.7, 14.0, np.where(share > 0.3, 7.0, 0.0)))


def thermal_zone(
    hdd18: ArrayLike, cdd10: ArrayLike, edition: str | int, marine: ArrayLike = False
) -> NDArray[np.int_]:
    """Zone number from heating degree-days (base 18 °C) and cooling degree-days (base 10 °C), K·d; shapes broadcast.

    Source: IECC 2006–2018 Table R301.3(2) (as restated); IECC 2021 after ASHRAE 169-2013 (from memory). In
    2006–2018 zones 3 and 4 have rows of their own for marine places, by heating degree-days alone.

    >>> thermal_zone([5030, 3464, 62], [975, 1747, 5374], 2018).tolist()
    [7, 5, 1]

    Raises ValueError: negative or not finite.
    """
    import numpy as np

    h, c, m = np.broadcast_arrays(
        np.asarray(hdd18, dtype=float), np.asarray(cdd10, dtype=float), np.asarray(marine, dtype=bool)
    )
    if not (np.isfinite(h).all() and np.isfinite(c).all() and (h >= 0).all() and (c >= 0).all()):
        raise ValueError("degree-days must be finite and not negative")
    cold = np.select([h <= 4000, h <= 5000, h <= 7000], [5, 6, 7], 8)
    if edition_group(edition) == "2018":
        return np.select(
            [c > 5000, c > 3500, m & (h <= 2000), m & (h <= 3000), ~m & (c > 2500), h <= 3000],
            [1, 2, 3, 4, 3, 4],
            cold,
        )
    return np.select([c > 6000, c > 5000, c > 3500, h <= 2000, h <= 3000], [0, 1, 2, 3, 4], cold)


_LETTERS = {0: "AB", 1: "AB", 2: "AB", 3: "ABC", 4: "ABC", 5: "ABC", 6: "AB", 7: "", 8: ""}


def zone_by_criteria(
    hdd18: float,
    cdd10: float,
    temperature: Sequence[float],
    precipitation: Sequence[float],
    edition: str | int,
    southern: bool = False,
) -> str:
    """The zone of a place that has no county in the table: number and letter by the code's criteria.

    Arguments as in `thermal_zone` and `moisture_regime`. Where the marine letter does not exist (zones 0–2 and
    6) the dry test decides; zones 7 and 8 have no letter. Recent weather gives a warmer zone than the code's
    map in about one of four US stations: for a US county use `zone_for`.

    >>> t = [-12.5, -9.6, -3.6, 4.1, 10.8, 15.6, 19.0, 17.9, 13.0, 6.2, -1.8, -9.7]
    >>> zone_by_criteria(3464, 1747, t, [80] * 12, 2018), zone_by_criteria(5030, 975, t, [80] * 12, 2021)
    ('5A', '7')
    """
    marine, dry = (bool(x) for x in _marine_and_dry(temperature, precipitation, edition, southern))
    number = int(thermal_zone(hdd18, cdd10, edition, marine))
    letters = _LETTERS[number]
    if not letters:
        return str(number)
    return f"{number}{'C' if marine and 'C' in letters else 'B' if dry else 'A'}"


_WORDS = {"marine": "C", "dry": "B", "moist": "A", "humid": "A"}


def parse_zone(text: str) -> tuple[str, str]:
    """A zone as people write it, to ("NBC" or "", zone): `5A`, `zone 5`, `CZ6`, `marine 4`, `NBC 7A`.

    >>> parse_zone("climate zone 5a"), parse_zone("marine 4"), parse_zone("NBC 6"), parse_zone("CZ6")
    (('', '5A'), ('', '4C'), ('NBC', '6'), ('', '6'))

    Raises InputError.
    """
    expected = "a zone such as 5A, 4C, 7, or NBC 7A"
    words = re.sub(r"(?<=[a-z])-", " ", text.casefold())
    canadian = re.search(r"\b(nbc|necb|canada|canadian)\b", words)
    words = re.sub(r"\b(nbc|necb|canada|canadian|iecc|irc|ibc|ashrae|doe|us|climate|zone|cz)\b", " ", words)
    words = re.sub(r"\bcz(?=\d)", " ", words)
    named = [letter for word, letter in _WORDS.items() if re.search(rf"\b{word}\b", words)]
    words = re.sub(rf"\b({'|'.join(_WORDS)})\b", " ", words)
    m = re.fullmatch(r"\s*([0-8])\s*([abc]?)\s*", words)
    if not m or (m[2] and named) or len(named) > 1:
        raise InputError(Problem(f'"{text.strip()}" is not a climate zone', expected=expected))
    zone = m[1] + (m[2].upper() or "".join(named))
    known = (
        NBC_ZONES if canadian else (*(f"{n}{x}" for n, xs in _LETTERS.items() for x in ("", *xs)), "7A", "7B")
    )
    if zone not in known:
        raise InputError(Problem(f'there is no climate zone "{zone}"', expected=expected))
    return ("NBC" if canadian or zone in ("7A", "7B") else ""), zone
