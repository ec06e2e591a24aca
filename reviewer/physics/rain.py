"""Driving rain on walls, the share that leaks past the cladding, and whether it dries again.

Directions are degrees clockwise from north; a wall's direction is that of its outward normal.
Sources: ISO 15927-3:2009, driving rain from hourly data; ANSI/ASHRAE 160, rain loads; BS 8104 and the exposure zones
of UK guidance; annual rainfall classes of North American builders' guides. All from memory of the documents.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from reviewer.physics.basics import Array, within
from reviewer.physics.builtin import drying_rates

EXPOSURES = ("low", "moderate", "high", "severe")
ANNUAL_RAIN = (500.0, 1000.0, 1500.0)
"""mm of rain a year between the four EXPOSURES (20, 40 and 60 in: rainfall zones of North American builders'
guides; from memory)."""
DRIVING_RAIN = (3.0, 7.0)
"""m²/s between sheltered, moderate and severe by Lacy's index, annual rain in m times mean wind (from memory)."""
SPELL_RAIN = (33.0, 56.5, 100.0)
"""L/m² a spell between sheltered, moderate, severe and very severe (BS 8104 and UK guidance; from memory)."""
DRY_HOURS = 96
"""Hours without driving rain that end a spell (ISO 15927-3, clause 3; from memory)."""
LEAK_SHARE = 0.01
"""Share of the rain on the wall that reaches the face of the water-resistive barrier (ASHRAE 160, 4.6; from
memory)."""
RUNOFF = {"below a steep roof": 0.35, "below a low-slope roof": 0.5, "rain runs over it": 1.0}
"""Rain deposition factor F_D (ASHRAE 160, Table 4.6.2; from memory)."""
WET_HOURS = 60.0
"""Hours with rain in a month, taken where only a month's sum is known (common practice; enters with the power
1/9)."""

_YEARS = 10
_DEPOSITION = 0.2  # kg·s/(m³·mm), F_L of ASHRAE 160, 4.6.1
_HEIGHTS = (10.0, 15.0, 20.0, 30.0, 40.0, 50.0)
_EXPOSURE_FACTORS = {
    "severe": (1.3, 1.3, 1.4, 1.5, 1.5, 1.5, 1.5),
    "medium": (1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.5),
    "sheltered": (0.7, 0.8, 0.9, 1.1, 1.2, 1.3, 1.5),
}


def driving_rain(rain: ArrayLike, wind: ArrayLike, direction: ArrayLike, wall: ArrayLike) -> Array:
    """Driving rain in each hour, L/m² through a vertical plane in the open ("airfield"), shape (…, hours).

    2/9·v·r^(8/9)·cos(D − θ), nothing from behind (ISO 15927-3, equation 1). Hourly `rain` r mm, `wind` v m/s at 10
    m, its `direction` D it comes from; `wall` θ with a last axis of 1 or scalar. Valid to 200 mm, 60 m/s.

    >>> driving_rain([2.0, 2.0], [5.0, 5.0], [180.0, 0.0], 180.0).round(3).tolist()
    [2.057, 0.0]
    """
    r = within("hourly rain", rain, 0, 200, "mm")
    v = within("wind speed", wind, 0, 60, "m/s")
    angle = np.asarray(direction, dtype=float) - np.asarray(wall, dtype=float)
    return 2.0 / 9.0 * v * r ** (8.0 / 9.0) * np.maximum(np.cos(np.radians(angle)), 0.0)


def annual_index(hourly: ArrayLike, years: float = 1.0) -> Array:
    """Airfield annual index I_A, L/m² a year: the sum of `driving_rain` over the `years` of record (ISO 15927-3, 3.3).

    >>> float(annual_index([2.0, 0.0, 1.5]))
    3.5
    """
    return within("driving rain", hourly, 0, 1e4, "L/m²").sum(axis=-1) / within("years", years, 0.01, 200)


def spells(hourly: ArrayLike) -> Array:
    """Driving rain of each spell, L/m², in order; `hourly` (hours,). A spell ends with 96 h without driving rain.

    Source: ISO 15927-3, clause 3 (the spell index is the value reached once in three years, see `spell_index`).

    >>> spells([1.0] + [0.0] * 95 + [2.0] + [0.0] * 96 + [4.0]).tolist()
    [3.0, 4.0]
    """
    rain = within("driving rain", hourly, 0, 1e4, "L/m²")
    wet = np.flatnonzero(rain > 0)
    if wet.size == 0:
        return np.zeros(0)
    number = np.concatenate([[0], np.cumsum(np.diff(wet) > DRY_HOURS)])
    return np.bincount(number, weights=rain[wet]).astype(float)


def spell_index(hourly: ArrayLike, hours_a_year: int = 8760) -> float:
    """Airfield spell index I_S, L/m²: the worst spell reached or passed once in three years.

    The 67th percentile of the yearly worst spells (ISO 15927-3, clause 3.4), `hourly` a whole number of years of
    `hours_a_year` (ISO asks for ten at least, better thirty; a typical year gives its one worst spell). A spell
    counts to the year in which it begins. ValueError for less than a year.

    >>> spell_index([0.0] * 100 + [5.0] * 4 + [0.0] * 8656)
    20.0
    """
    rain = within("driving rain", hourly, 0, 1e4, "L/m²")
    years = rain.size // hours_a_year
    if years < 1:
        raise ValueError("a spell index needs a year of hours or more")
    wet = np.flatnonzero(rain > 0)
    if wet.size == 0:
        return 0.0
    begins = wet[np.concatenate([[True], np.diff(wet) > DRY_HOURS])]
    worst = np.zeros(years + 1)
    np.maximum.at(worst, np.minimum(begins // hours_a_year, years), spells(rain))
    return float(np.percentile(worst[:years], 67))


def monthly_driving_rain(
    precipitation: ArrayLike, wind: ArrayLike, wet_hours: ArrayLike = WET_HOURS
) -> Array:
    """Driving rain of each month from the month's sums and means, L/m², shape (…, 12): an estimate.

    `precipitation` P mm a month, `wind` v m/s monthly mean, `wet_hours` N: the sum of ISO 15927-3 with equal rain in
    every wet hour, 2/9·v·P^(8/9)·N^(1/9), over π for a wind that comes from all directions alike. Ours, derived; a
    wall that faces the rain gets up to three times as much, and snow is counted as rain.

    >>> float(monthly_driving_rain(np.full(12, 80.0), 4.0)[0].round(1))
    21.9
    """
    p = within("monthly precipitation", precipitation, 0, 3000, "mm")
    v = within("wind speed", wind, 0, 30, "m/s")
    n = within("hours with rain", wet_hours, 1, 744, "h")
    return 2.0 / 9.0 * v * p ** (8.0 / 9.0) * n ** (1.0 / 9.0) / np.pi


def rain_exposure(annual: float) -> str:
    """One of EXPOSURES by annual rain, mm: below 500 low, 1000 moderate, 1500 high, else severe.

    Source: see ANNUAL_RAIN. Sheltered or very open sites and high walls shift it by a class (common practice).

    >>> [rain_exposure(r) for r in (499.0, 500.0, 1499.0, 1500.0)]
    ['low', 'moderate', 'high', 'severe']
    """
    mm = float(within("annual rain", annual, 0, 15000, "mm"))
    return EXPOSURES[sum(mm >= limit for limit in ANNUAL_RAIN)]


def driving_rain_exposure(annual: float, wind: float) -> str:
    """Sheltered, moderate or severe by Lacy's driving-rain index: annual rain (mm → m) times mean wind (m/s).

    >>> driving_rain_exposure(800.0, 3.5), driving_rain_exposure(1500.0, 5.0)
    ('sheltered', 'severe')
    """
    rain = float(within("annual rain", annual, 0, 15000, "mm"))
    index = rain / 1000.0 * float(within("wind speed", wind, 0, 30, "m/s"))
    return ("sheltered", "moderate", "severe")[sum(index >= limit for limit in DRIVING_RAIN)]


def spell_exposure(index: float) -> str:
    """Exposure zone of a wall by its spell index, L/m²: sheltered, moderate, severe or very severe.

    >>> spell_exposure(20.0), spell_exposure(60.0)
    ('sheltered', 'severe')
    """
    mm = float(within("spell index", index, 0, 1e4, "L/m²"))
    return ("sheltered", "moderate", "severe", "very severe")[sum(mm >= limit for limit in SPELL_RAIN)]


_TERRAIN = {
    "open": (0.17, 0.01, 2.0),
    "farmland": (0.19, 0.05, 4.0),
    "suburban": (0.22, 0.3, 8.0),
    "urban": (0.24, 1.0, 16.0),
}
_OBSTRUCTION = (
    (4.0, 0.2),
    (8.0, 0.3),
    (15.0, 0.4),
    (25.0, 0.5),
    (40.0, 0.6),
    (60.0, 0.7),
    (80.0, 0.8),
    (100.0, 0.9),
)


def roughness(height: ArrayLike, terrain: str) -> Array:
    """Terrain roughness coefficient C_R at `height` m above ground: K_R·ln(z/z_0), from a least height up.

    Terrains open, farmland, suburban, urban (ISO 15927-3, Table 1, categories I to IV). Valid 0 to 200 m.

    >>> float(roughness(10.0, "farmland").round(2)), float(roughness(3.0, "urban").round(2))
    (1.01, 0.67)
    """
    if terrain not in _TERRAIN:
        raise ValueError(f'"{terrain}" is not a terrain: {", ".join(_TERRAIN)}')
    kr, z0, least = _TERRAIN[terrain]
    return kr * np.log(np.maximum(within("height", height, 0, 200, "m"), least) / z0)


def obstruction(distance: ArrayLike) -> Array:
    """Obstruction factor O by the distance, m, of the nearest obstacle as high as the wall: 0.2 from 4 m to 1 from
    120 m (ISO 15927-3, Table 4; below 4 m as from 4 m).

    >>> obstruction([5.0, 30.0, 130.0]).tolist()
    [0.2, 0.5, 1.0]
    """
    d = within("distance of the obstacle", distance, 0, 1e5, "m")
    limits, factors = np.array(_OBSTRUCTION).T
    values = np.append(factors, 1.0)
    return values[np.searchsorted(np.append(limits[1:], 120.0), d, side="right")]


def wall_index(
    airfield: ArrayLike, height: ArrayLike, terrain: str, distance: ArrayLike, wall_factor: ArrayLike = 0.4
) -> Array:
    """Rain that a wall catches, L/m²: I·C_R·O·W with topography 1 (ISO 15927-3, equation 5).

    The product C_R·O·W is the catch ratio. `wall_factor` W 0.2 to 0.5: 0.4 at the top of a two-story wall, 0.5 the
    top 2.5 m of a high flat-roofed wall, 0.2 its rest (ISO 15927-3, Table 5).

    >>> float(wall_index(200.0, 6.0, "suburban", 30.0).round(1))
    28.9
    """
    w = within("wall factor", wall_factor, 0.05, 1)
    return (
        within("driving rain", airfield, 0, 1e5, "L/m²")
        * roughness(height, terrain)
        * obstruction(distance)
        * w
    )


def exposure_factor(height: ArrayLike, site: str = "medium") -> Array:
    """F_E of ASHRAE 160, Table 4.6.1, by building height (m) and site: severe, medium or sheltered.

    >>> exposure_factor([6.0, 12.0, 60.0], "medium").tolist()
    [1.0, 1.1, 1.5]
    """
    if site not in _EXPOSURE_FACTORS:
        raise ValueError(f'"{site}" is not a site: {", ".join(_EXPOSURE_FACTORS)}')
    h = within("building height", height, 0, 600, "m")
    return np.array(_EXPOSURE_FACTORS[site])[np.searchsorted(_HEIGHTS, h, side="right")]


def deposition(
    rain: ArrayLike,
    wind: ArrayLike,
    direction: ArrayLike,
    wall: ArrayLike,
    exposure: ArrayLike,
    runoff: ArrayLike,
) -> Array:
    """Rain deposited on a wall, kg/(m²·h): F_E·F_D·F_L·U·cos θ·r_h, F_L = 0.2 kg·s/(m³·mm) (ASHRAE 160, 4.6).

    Hourly `rain` mm/h, `wind` U m/s at 10 m, `direction` it comes from, `wall` its direction; `exposure` F_E,
    `runoff` F_D (RUNOFF). Nothing from behind.

    >>> float(deposition(2.0, 5.0, 180.0, 180.0, 1.0, 0.5))
    1.0
    """
    r = within("hourly rain", rain, 0, 200, "mm")
    v = within("wind speed", wind, 0, 60, "m/s")
    fe = within("exposure factor", exposure, 0.5, 2)
    fd = within("deposition factor", runoff, 0.1, 1)
    angle = np.asarray(direction, dtype=float) - np.asarray(wall, dtype=float)
    return fe * fd * _DEPOSITION * v * r * np.maximum(np.cos(np.radians(angle)), 0.0)


def monthly_deposition(
    precipitation: ArrayLike, wind: ArrayLike, exposure: ArrayLike, runoff: ArrayLike
) -> Array:
    """Rain on a wall by month, kg/m², shape (…, 12), from the month's sums: F_E·F_D·F_L·v·P/π.

    The law of `deposition` is linear in rain, so a month's sum needs no wet hours: only that the wind while it rains
    is the month's mean, from all directions alike (1/π). Ours, derived; up to three times as much where the rain
    comes from one side. `precipitation` mm and `wind` m/s monthly; `exposure` and `runoff` scalars or (…).

    >>> float(monthly_deposition(np.full(12, 80.0), 4.0, 1.0, 0.5)[0].round(1))
    10.2
    """
    p = within("monthly precipitation", precipitation, 0, 3000, "mm")
    v = within("wind speed", wind, 0, 30, "m/s")
    fe = within("exposure factor", exposure, 0.5, 2)[..., None]
    fd = within("deposition factor", runoff, 0.1, 1)[..., None]
    return fe * fd * _DEPOSITION * v * p / np.pi


class LeakBalance(NamedTuple):
    """Rain leakage against drying, by month, shape (…, 12), kg/m² a month."""

    leak: Array
    """What gets past the cladding."""
    inwards: Array
    """What could dry to the room; negative where vapor comes in."""
    outwards: Array
    """What could dry outwards."""
    standing: Array
    """What stands there at the end of the month in the tenth year of such years."""
    ratio: Array
    """Drying over leakage of the whole year, shape (…); infinite when nothing leaks. Below 1 it accumulates."""


def leak_balance(
    rain: ArrayLike,
    temperature: ArrayLike,
    indoor_vapor: ArrayLike,
    outdoor_vapor: ArrayLike,
    inner_permeance: ArrayLike,
    outer_permeance: ArrayLike,
    share: ArrayLike = LEAK_SHARE,
) -> LeakBalance:
    """Rain that leaks past the cladding against what the wetted face can dry, month by month.

    `rain` on the wall kg/m² a month (…, 12); the wetted face is at `temperature` °C and saturated while water stands
    on it; the rest as in `builtin.drying_rates`. Mass balance by month with the load of ASHRAE 160, 4.6.

    >>> b = leak_balance(np.full(12, 20.0), np.full(12, 8.0), 1000.0, 800.0, 5.7e-12, 5.7e-11)
    >>> float(b.leak[0]), round(float(b.ratio), 2), float(b.standing.max().round(2))
    (0.2, 0.21, 18.98)
    """
    leak = within("rain on the wall", rain, 0, 1e4, "kg/m²") * within("share that leaks", share, 0, 1)
    inwards, outwards = drying_rates(
        temperature, indoor_vapor, outdoor_vapor, inner_permeance, outer_permeance
    )
    leak, inwards, outwards = np.broadcast_arrays(leak, inwards, outwards)
    net = leak - inwards - outwards
    total_net = np.cumsum(np.concatenate([net] * _YEARS, axis=-1), axis=-1)
    # Water can't be less than none: what stands is counted from the lowest point so far.
    standing = total_net - np.minimum(np.minimum.accumulate(total_net, axis=-1), 0.0)
    total = leak.sum(axis=-1)
    # Months of net wetting from vapor count against the drying.
    dry = (inwards + outwards).sum(axis=-1)
    ratio = np.where(total > 0, dry / np.where(total > 0, total, 1.0), np.inf)
    return LeakBalance(leak, inwards, outwards, standing[..., -12:], ratio)
