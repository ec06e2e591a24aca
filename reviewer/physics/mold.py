"""Mold growth as an index of 0 to 6, and the older criteria for mold, decay and corrosion.

The index (0 none, 1 first growth under the microscope, 3 visible, 6 dense over the whole surface) grows while
surface humidity is above a critical humidity that depends on temperature, and declines slowly otherwise.

Sources: Hukka and Viitanen, Wood Science and Technology 33 (1999) 475–485; Ojanen and others, Buildings XI
(2010), for the four classes of materials and of decline; ANSI/ASHRAE 160-2016 with addenda (all three from
memory; the abstract of the first was read).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from reviewer.physics.basics import MONTH_DAYS, Array, within

INDEX_MEANING = (
    "no growth",
    "first growth, seen under the microscope",
    "under 10 % of the surface, seen under the microscope",
    "visible, under 10 % of the surface, or under 50 % seen under the microscope",
    "visible, 10 to 50 % of the surface",
    "visible, over 50 % of the surface",
    "dense, over the whole surface",
)
LIMIT = 3.0
"""The index that a surface must stay below (ASHRAE 160-2016, 6.1; from memory)."""


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """How readily a class of materials molds (Ojanen and others 2010, Tables 3 and 4; from memory)."""

    name: str
    slow: float
    """k1 while the index is below 1."""
    fast: float
    """k1 from 1 up."""
    a: float
    b: float
    c: float
    """Highest index reachable: a + b·x − c·x²."""
    lowest_humidity: float
    """The critical humidity never falls below this, %."""
    wood: float
    """W of the growth equation as ASHRAE 160-2016 sets it: 0 for the most sensitive class, else 1."""


SENSITIVITIES: dict[str, Sensitivity] = {
    s.name: s
    for s in (
        Sensitivity("very sensitive", 1.0, 2.0, 1.0, 7.0, 2.0, 80.0, 0.0),
        Sensitivity("sensitive", 0.578, 0.386, 0.3, 6.0, 1.0, 80.0, 1.0),
        Sensitivity("medium resistant", 0.072, 0.097, 0.0, 5.0, 1.5, 85.0, 1.0),
        Sensitivity("resistant", 0.033, 0.014, 0.0, 3.0, 1.0, 85.0, 1.0),
    )
}
DECLINES = {"strong": 1.0, "significant": 0.5, "relatively low": 0.25, "almost none": 0.1}
"""Relative decline in unfavorable conditions (Ojanen and others 2010, Table 5; from memory)."""
ASHRAE_DECLINE = 0.1
"""k3 of ASHRAE 160-2016 unless measurement supports more (from memory)."""

_STEEPNESS = 2.3
_FIRST, _LATER = 0.032, 0.016
_ONE_WEEK = 7.0


def critical_humidity(temperature: ArrayLike, lowest: ArrayLike = 80.0) -> Array:
    """Relative humidity, %, above which mold can grow at `temperature` (°C) of the surface.

    −0.00267θ³ + 0.160θ² − 3.13θ + 100 up to 20 °C and 80 above (Hukka and Viitanen 1999, equation 1), not
    below `lowest`: 80, or 85 for the two resistant classes. Valid 0 to 50 °C; beyond, ValueError.

    >>> critical_humidity([0.0, 5.0, 10.0, 30.0]).round(2).tolist()
    [100.0, 88.02, 82.03, 80.0]
    """
    t = within("surface temperature", temperature, 0, 50, "°C")
    floor = within("lowest critical humidity", lowest, 50, 100, "%")
    polynomial = ((-0.00267 * t + 0.160) * t - 3.13) * t + 100.0
    return np.maximum(np.where(t <= 20.0, polynomial, 80.0), floor)


def first_growth_weeks(
    temperature: ArrayLike, humidity: ArrayLike, wood: ArrayLike = 0.0, surface: ArrayLike = 0.0
) -> Array:
    """Weeks at constant conditions until growth shows under the microscope on sapwood (index 1).

    exp(−0.68 ln θ − 13.9 ln φ + 0.14 W − 0.33 SQ + 66.02), θ °C, φ %; W 0 pine, 1 spruce; SQ 0 resawn, 1
    kiln-dried surface (Hukka and Viitanen 1999, equation 2). Valid 0.01 to 50 °C, 75 to 100 %.

    >>> float(first_growth_weeks(20.0, 97.0).round(3))
    1.484
    """
    t = within("surface temperature", temperature, 0.01, 50, "°C")
    rh = within("surface relative humidity", humidity, 75, 100, "%")
    return np.exp(
        -0.68 * np.log(t) - 13.9 * np.log(rh) + 0.14 * np.asarray(wood) - 0.33 * np.asarray(surface) + 66.02
    )


def visible_growth_weeks(temperature: ArrayLike, humidity: ArrayLike, wood: ArrayLike = 0.0) -> Array:
    """Weeks at constant conditions until growth is visible on sapwood (index 3).

    exp(−0.74 ln θ − 12.72 ln φ + 0.06 W + 61.50) (Hukka and Viitanen 1999, equation 3). Valid as
    `first_growth_weeks`.

    >>> float(visible_growth_weeks(20.0, 97.0).round(3))
    2.983
    """
    t = within("surface temperature", temperature, 0.01, 50, "°C")
    rh = within("surface relative humidity", humidity, 75, 100, "%")
    return np.exp(-0.74 * np.log(t) - 12.72 * np.log(rh) + 0.06 * np.asarray(wood) + 61.50)


def sapwood_speed(temperature: ArrayLike, humidity: ArrayLike, wood: ArrayLike = 0.0) -> Array:
    """k1 of sapwood from index 1 up: 2/(t_v/t_m − 1) (Hukka and Viitanen 1999, equation 5).

    The four classes replace it by a constant (`Sensitivity.fast`).

    >>> float(sapwood_speed(20.0, 97.0).round(3))
    1.979
    """
    first = first_growth_weeks(temperature, humidity, wood)
    return 2.0 / (visible_growth_weeks(temperature, humidity, wood) / first - 1.0)


def highest_index(temperature: ArrayLike, humidity: ArrayLike, kind: Sensitivity) -> Array:
    """The index that constant conditions can lead to at most: a + b·x − c·x², within 0 and 6.

    x = (φ_crit − φ)/(φ_crit − 100), 0 at the critical humidity and 1 at saturation (Ojanen and others 2010;
    1 + 7x − 2x² for sapwood in Hukka and Viitanen 1999, equation 6). Shape: broadcast of both. At and below
    the critical humidity and at 0 °C (where it is 100 %) the answer is that of x = 0.

    >>> float(highest_index(20.0, 97.0, SENSITIVITIES["very sensitive"]).round(3))
    5.504
    """
    critical = critical_humidity(temperature, kind.lowest_humidity)
    rh = within("surface relative humidity", humidity, 0, 100, "%")
    above = np.maximum(rh - critical, 0.0)
    x = above / np.where(above > 0, 100.0 - critical, 1.0)
    return np.clip(kind.a + (kind.b - kind.c * x) * x, 0.0, 6.0)


def _conditions(
    temperature: ArrayLike, humidity: ArrayLike, kind: Sensitivity, wood: float | None
) -> tuple[Array, Array]:
    """Daily growth before k1 and k2 (0 where nothing grows), and the highest index."""
    t = within("surface temperature", temperature, -60, 100, "°C")
    rh = 100.0 * within("surface relative humidity", humidity, 0, 1)
    t, rh = np.broadcast_arrays(t, rh)
    # Above 50 °C the equations end: nothing is known to grow there, and nothing is claimed to.
    inside = (t >= 0.01) & (t <= 50)
    safe_t = np.where(inside, t, 20.0)
    grows = inside & (rh > critical_humidity(safe_t, kind.lowest_humidity))
    safe_rh = np.where(grows, rh, 100.0)
    w = kind.wood if wood is None else wood
    daily = np.where(grows, 1.0 / (_ONE_WEEK * first_growth_weeks(safe_t, safe_rh, w)), 0.0)
    return daily, highest_index(safe_t, safe_rh, kind)


def hourly_index(
    temperature: ArrayLike,
    humidity: ArrayLike,
    sensitivity: str,
    decline: float = 1.0,
    start: ArrayLike = 0.0,
    wood: float | None = None,
) -> Array:
    """The mold index hour by hour; shapes (…, hours) in, (…, hours) out: the index at the end of each hour.

    `temperature` (°C) and `humidity` (0–1) of the surface; `sensitivity` one of SENSITIVITIES; `decline` the
    relative decline (one of DECLINES; ASHRAE 160-2016 uses ASHRAE_DECLINE); `start` the index at the start,
    shape (…); `wood` W where it is not that of ASHRAE 160-2016.

    Growth a day: k1·k2/(7·t_m), k2 = max(1 − exp(2.3(M − M_max)), 0) (Hukka and Viitanen 1999, equations
    4–7). Decline a day: 0.032 in the first 6 h of unfavorable conditions, none to 24 h, then 0.016 (equation
    8), times `decline`. Explicit steps of one hour, as published. Frost and heat above 50 °C count as
    unfavorable. Valid −60 to 100 °C, 0 to 1; else ValueError.

    >>> year = hourly_index(np.full(8760, 20.0), 0.97, "very sensitive")
    >>> [float(year[24 * 90 - 1].round(2)), int((year < 1.0).sum() / 24), int((year < 3.0).sum() / 24)]
    [5.5, 10, 20]
    """
    kind = sensitivity_named(sensitivity)
    c = float(within("relative decline", decline, 0, 1))
    daily, top = _conditions(temperature, humidity, kind, wood)
    growth, top = np.moveaxis(daily / 24.0, -1, 0).copy(), np.moveaxis(top, -1, 0).copy()
    fall = _declines(growth > 0) * c
    m = np.broadcast_to(within("mold index", start, 0, 6), growth.shape[1:]).astype(float)
    out = np.empty(growth.shape)
    for hour in range(growth.shape[0]):
        if growth[hour].any():
            k2 = np.maximum(1.0 - np.exp(_STEEPNESS * (m - top[hour])), 0.0)
            m = m + growth[hour] * np.where(m < 1.0, kind.slow, kind.fast) * k2
        m = np.maximum(m - fall[hour], 0.0)
        out[hour] = m
    return np.moveaxis(out, 0, -1)


def _declines(grows: np.ndarray) -> Array:
    """Decline in each hour, shape (hours, …), from whether mold grows in it."""
    hours = grows.shape[0]
    index = np.arange(hours).reshape((hours,) + (1,) * (grows.ndim - 1))
    last = np.maximum.accumulate(np.where(grows, index, -1), axis=0)
    dry = index - last
    return np.where(dry == 0, 0.0, np.where(dry <= 6, _FIRST / 24, np.where(dry <= 24, 0.0, _LATER / 24)))


def monthly_index(
    temperature: ArrayLike,
    humidity: ArrayLike,
    sensitivity: str,
    decline: float = 1.0,
    start: ArrayLike = 0.0,
    years: int = 1,
    wood: float | None = None,
) -> Array:
    """The mold index at the end of each month from monthly means, shape (…, 12) in, (…, 12·years) out.

    Every month is held at its mean conditions and the growth equation integrated exactly over it: with k1
    constant, M(t) = M_max − ln(1 + (e^(−2.3(M₀ − M_max)) − 1)·e^(−2.3·k1·t/(7·t_m)))/2.3, in two pieces where
    the index passes 1. A month that is unfavorable declines as one unbroken dry spell. Daily swings about the
    mean are lost: growth is understated where the mean lies just below the critical humidity, and overstated
    by less where it lies above. Arguments and sources as `hourly_index`; the integral is derived.

    >>> monthly_index(np.full(12, 20.0), 0.97, "very sensitive").round(2)[[0, 2]].tolist()
    [4.86, 5.5]
    """
    classes = np.broadcast_shapes(np.shape(temperature), np.shape(humidity))[:-1]
    return monthly_indices(
        temperature, humidity, {sensitivity: np.ones(classes, bool)}, decline, start, years, wood
    )


def monthly_indices(
    temperature: ArrayLike,
    humidity: ArrayLike,
    classes: Mapping[str, np.ndarray],
    decline: float = 1.0,
    start: ArrayLike = 0.0,
    years: int = 1,
    wood: float | None = None,
) -> Array:
    """`monthly_index` of surfaces of several classes at once: `classes` gives for the name of each class
    which surfaces (…) are of it; every surface is of one.

    >>> t, rh = np.full((2, 12), 20.0), np.full((2, 12), 0.97)
    >>> two = monthly_indices(t, rh, {"sensitive": np.array([True, False]), "resistant": np.array([False, True])})
    >>> two[:, -1].round(2).tolist()
    [4.68, 0.94]
    """
    c = float(within("relative decline", decline, 0, 1))
    if not 1 <= years <= 100:
        raise ValueError(f"{years} years is outside 1 to 100 years")
    t, rh = np.broadcast_arrays(np.asarray(temperature, dtype=float), np.asarray(humidity, dtype=float))
    daily, top, slow, fast = (np.zeros(t.shape) for _ in range(4))
    for name, which in classes.items():
        kind = sensitivity_named(name)
        daily[which], top[which] = _conditions(t[which], rh[which], kind, wood)
        slow[which] = _STEEPNESS * kind.slow * daily[which]
        fast[which] = _STEEPNESS * kind.fast * daily[which]
    m = np.broadcast_to(within("mold index", start, 0, 6), daily.shape[:-1]).astype(float)
    out = np.zeros((*daily.shape[:-1], 12 * years))
    if not daily.any() and not m.any():
        return out
    grows = daily > 0
    spent = c * (_FIRST / 4 + _LATER * (MONTH_DAYS - 1.0))
    unbroken = c * _LATER * MONTH_DAYS
    # A month after a dry month goes on with the same spell, without its first hours.
    fall = np.where(grows, 0.0, np.where(np.roll(grows, 1, axis=-1), spent, unbroken))
    growth = _growth(grows, top, slow, fast)
    lost = list(np.moveaxis(fall, -1, 0))
    first = np.where(grows[..., 0], 0.0, spent[0])
    with np.errstate(divide="ignore", invalid="ignore"):
        for month in range(12 * years):
            k = month % 12
            now = growth[k]
            if now is not None:
                m = _grown(m, now)
            m = np.maximum(m - (lost[k] if month else first), 0.0)
            out[..., month] = m
    return out


class _Month(NamedTuple):
    """The constant conditions of a calendar month in which something grows."""

    grows: np.ndarray
    top: Array
    slow: Array
    """2.3 times the daily growth below an index of 1, and from 1 up."""
    fast: Array
    at_one: Array
    """exp(2.3·(top − 1)) − 1 where 1 can be reached, else 0."""
    by_fast: Array
    """exp(−growth) of a whole month at the fast rate."""
    days: float


def _growth(grows: np.ndarray, top: Array, slow: Array, fast: Array) -> list[_Month | None]:
    """January to December; None for a month in which nothing grows anywhere."""
    at_one = np.expm1(_STEEPNESS * (top - np.minimum(1.0, top)))
    by_fast = np.exp(-fast * MONTH_DAYS)
    arrays = (np.moveaxis(a, -1, 0).copy() for a in (grows, top, slow, fast, at_one, by_fast))
    months = (_Month(*month) for month in zip(*arrays, MONTH_DAYS.tolist(), strict=True))
    return [month if month.grows.any() else None for month in months]


def _grown(m: Array, month: _Month) -> Array:
    """The index at the end of the month. Divides by 0 where nothing grows, and drops the outcome."""
    grows, top, slow, fast, at_one, by_fast, days = month
    start = np.minimum(m, top)
    u = np.expm1(_STEEPNESS * (top - start))
    below = start < 1.0
    if below.any():
        # Days until the index reaches 1 at the slow rate; never, where the highest index is not above 1.
        until = np.where(below & (u > at_one), np.log(u / at_one) / slow, 0.0)
        slow_days = np.minimum(until, days)
        reached = u * np.exp(-slow * slow_days - fast * (days - slow_days))
    else:
        reached = u * by_fast
    return np.where(grows & (m < top), top - np.log1p(reached) / _STEEPNESS, m)


def sensitivity_named(name: str) -> Sensitivity:
    """The class of that name; ValueError names the four.

    >>> sensitivity_named("sensitive").slow
    0.578
    """
    if name not in SENSITIVITIES:
        raise ValueError(f'"{name}" is not a mold sensitivity class: {", ".join(SENSITIVITIES)}')
    return SENSITIVITIES[name]


def running_mean(values: ArrayLike, hours: int) -> Array:
    """Means over each unbroken run of `hours` values, shape (…, n) to (…, n − hours + 1).

    >>> running_mean([1.0, 2.0, 6.0], 2).tolist()
    [1.5, 4.0]
    """
    v = np.asarray(values, dtype=float)
    if not 1 <= hours <= v.shape[-1]:
        raise ValueError(f"a running mean over {hours} hours needs at least as many values")
    total = np.concatenate([np.zeros((*v.shape[:-1], 1)), np.cumsum(v, axis=-1)], axis=-1)
    return (total[..., hours:] - total[..., :-hours]) / hours


@dataclass(frozen=True, slots=True)
class Criterion:
    """One running-mean criterion: a surface fails when both means hold over some run of hours."""

    name: str
    hours: int
    humidity: float
    """The running mean of RH must stay below this, 0–1."""
    warm: tuple[float, float] | None
    """… while the running mean temperature lies within, °C; None: at any temperature."""


CRITERIA = (
    Criterion("30-day surface humidity", 30 * 24, 0.80, (5.0, 40.0)),
    Criterion("7-day surface humidity", 7 * 24, 0.98, (5.0, 40.0)),
    Criterion("24-hour surface humidity", 24, 1.00, (5.0, 40.0)),
)
"""ASHRAE 160-2009, 6.1. The 30-day criterion was read in an abstract (ASTM STP 1599); the other two, struck
by an addendum before 2016, are from memory."""
CORROSION = Criterion("corrosion of metals", 30 * 24, 0.80, None)
"""ASHRAE 160-2009, 6.2 (from memory)."""


def hours_failed(temperature: ArrayLike, humidity: ArrayLike, criterion: Criterion) -> Array:
    """How many running means fail `criterion`, shape (…, hours) to (…); 0 is a pass.

    `temperature` (°C) and `humidity` (0–1) of the surface, hourly; at least `criterion.hours` of them.

    >>> int(hours_failed(np.full(8760, 20.0), np.full(8760, 0.79), CRITERIA[0]))
    0
    >>> int(hours_failed(np.full(8760, 20.0), np.full(8760, 0.80), CRITERIA[0])) > 0
    True
    """
    t = within("surface temperature", temperature, -60, 100, "°C")
    rh = within("surface relative humidity", humidity, 0, 1)
    t, rh = np.broadcast_arrays(t, rh)
    # A cumulative sum leaves an error of about 1e-12; the criterion is "below", and equality fails it.
    failed = running_mean(rh, criterion.hours) >= criterion.humidity - 1e-9
    if criterion.warm is not None:
        mean = running_mean(t, criterion.hours)
        low, high = criterion.warm
        failed &= (mean >= low - 1e-9) & (mean <= high + 1e-9)
    return failed.sum(axis=-1)


DECAY_MOISTURE = 0.28
"""kg/kg: decay fungi need about fiber saturation (USDA Wood Handbook, chapter 14, about 30 %, from memory; a
margin of two points is common practice)."""
DECAY_TEMPERATURES = (10.0, 40.0)
"""°C between which decay goes on at a rate that matters (common practice; the Wood Handbook says 10 to 35 °C
for serious decay, from memory)."""
CAUTION_MOISTURE = 0.20
"""kg/kg: the traditional limit for wood in service (USDA Wood Handbook, chapter 14; from memory)."""


def decay_months(temperature: ArrayLike, moisture: ArrayLike) -> Array:
    """Months in which wood is both wet and warm enough to decay, shape (…, 12) to (…).

    `temperature` °C and wood `moisture` kg/kg, monthly; thresholds DECAY_MOISTURE and DECAY_TEMPERATURES.

    >>> int(decay_months(np.linspace(-5, 20, 12), np.full(12, 0.30)))
    5
    """
    t = within("wood temperature", temperature, -60, 100, "°C")
    u = within("wood moisture", moisture, 0, 4, "kg/kg")
    low, high = DECAY_TEMPERATURES
    return ((u >= DECAY_MOISTURE) & (t >= low) & (t <= high)).sum(axis=-1)
