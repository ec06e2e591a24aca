"""Built-in moisture: how much water new concrete and wet wood hold, and how long they take to dry.

Monthly arrays end in an axis of twelve, January first; other axes broadcast (layers, sections).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from reviewer.humidity import saturation_pressure
from reviewer.physics import wood
from reviewer.physics.basics import MONTH_SECONDS, Array, within

CHEMICALLY_BOUND = 0.23
"""kg of water that a kg of cement binds when fully hydrated (Powers 1948, as concrete texts restate it; from
memory)."""
HYDRATION = (
    (3.0, 0.40, 0.60),
    (7.0, 0.50, 0.70),
    (28.0, 0.65, 0.85),
    (90.0, 0.75, 0.92),
    (365.0, 0.85, 0.95),
)
"""Age in days to the range of the degree of hydration of ordinary cement at 20 °C, moist (range of the trade, not
a table)."""
CEMENT = (280.0, 380.0)
"""kg/m³ of cement in structural concrete (range of the trade, not a table)."""
HELD = (25.0, 45.0)
"""kg/m³ of water that concrete keeps in equilibrium with rooms, 40 to 60 % RH (range; IEA Annex 24 gives 27 to 40
kg/m³ for concrete of 2200 kg/m³ at 45 to 65 % RH)."""
DRYING_RULE = 0.025
"""m of slab that dry in a month to one side (common practice, no published source: "a month an inch")."""

INITIAL_HUMIDITY = {"materials": 0.80, "concrete": 0.90}
"""RH with which materials are in equilibrium when a building starts (ASHRAE 160, 4.1; from memory)."""
UNPROTECTED = 2.0
"""Times as much water in materials that weren't kept dry during construction (ASHRAE 160, 4.1; from memory)."""


class Range(NamedTuple):
    """Least, middle and greatest of an estimate."""

    low: Array
    middle: Array
    high: Array


def hydration(age: ArrayLike) -> Range:
    """Degree of hydration of ordinary cement at `age` days, 0–1, as a range.

    Linear in the logarithm of age between the rows of HYDRATION. Valid 1 to 3650 days; outside the rows their ends
    hold; beyond, ValueError.

    >>> [round(float(v), 2) for v in hydration(28.0)]
    [0.65, 0.75, 0.85]
    """
    t = np.log(within("age of the concrete", age, 1, 3650, "days"))
    days, low, high = np.array(HYDRATION).T
    a, b = np.interp(t, np.log(days), low), np.interp(t, np.log(days), high)
    return Range(a, (a + b) / 2.0, b)


def concrete_water(ratio: ArrayLike, age: ArrayLike, cement: ArrayLike | None = None) -> Range:
    """Water that new concrete still has to lose, kg/m³, as a range.

    Mix water w/c·C less what is bound (0.23·α·C) less what it keeps in a room: `ratio` w/c, `age` days since
    pouring (kept from drying till then), `cement` C kg/m³, or the range CEMENT when unknown. Never negative.
    Derived from Powers' model with the ranges named at the constants. Valid w/c 0.25 to 1.2; else ValueError.

    >>> [round(float(v)) for v in concrete_water(0.5, 28.0)]
    [40, 73, 108]
    """
    wc = within("water-cement ratio", ratio, 0.25, 1.2)
    alpha = hydration(age)
    least, most = CEMENT if cement is None else (cement, cement)
    c_low = within("cement content", least, 100, 700, "kg/m³")
    c_high = within("cement content", most, 100, 700, "kg/m³")

    def free(c: Array, degree: Array, held: float) -> Array:
        return np.maximum(c * (wc - CHEMICALLY_BOUND * degree) - held, 0.0)

    return Range(
        free(c_low, alpha.high, HELD[1]),
        free((c_low + c_high) / 2.0, alpha.middle, sum(HELD) / 2.0),
        free(c_high, alpha.low, HELD[0]),
    )


def wood_water(density: ArrayLike, thickness: ArrayLike, start: ArrayLike, target: ArrayLike) -> Array:
    """Water that wood has to lose, kg/m²: ρ·d·(u_start − u_target), never negative.

    Dry `density` kg/m³, `thickness` m, moisture contents kg/kg. Definition of moisture content.

    >>> round(float(wood_water(550.0, 0.011, 0.28, 0.16)), 2)
    0.73
    """
    rho = within("density", density, 50, 1200, "kg/m³")
    d = within("thickness", thickness, 0, 2, "m")
    return (
        rho
        * d
        * np.maximum(
            within("moisture content", start, 0, 4, "kg/kg")
            - within("moisture content", target, 0, 4, "kg/kg"),
            0.0,
        )
    )


def initial_wood_moisture(temperature: ArrayLike = 20.0, protected: bool = True) -> Array:
    """Design moisture content of wood when a building starts, kg/kg: equilibrium at 80 % RH, twice that when the
    wood wasn't protected (ASHRAE 160, 4.1; from memory). Range as `wood.equilibrium_moisture`.

    >>> round(float(initial_wood_moisture()), 3), round(float(initial_wood_moisture(protected=False)), 3)
    (0.16, 0.321)
    """
    dry = wood.equilibrium_moisture(INITIAL_HUMIDITY["materials"], temperature)
    return dry if protected else UNPROTECTED * dry


def drying_rates(
    temperature: ArrayLike,
    indoor_vapor: ArrayLike,
    outdoor_vapor: ArrayLike,
    inner_permeance: ArrayLike,
    outer_permeance: ArrayLike,
    humidity: ArrayLike = 1.0,
) -> tuple[Array, Array]:
    """Drying of a wet layer inwards and outwards, kg/m² a month, shape (…, 12); negative where vapor comes in.

    The layer is at `temperature` (°C) and `humidity` (1: as good as wet); vapor goes to the room at `indoor_vapor`
    through `inner_permeance` and outdoors at `outdoor_vapor` through `outer_permeance` (Pa, kg/(s·m²·Pa), scalars
    or (…)). Steady diffusion within each month (ISO 13788, 6.3). Valid permeances 0 to 1e-6; else ValueError.

    >>> inwards, outwards = drying_rates(np.full(12, 10.0), 1000.0, 700.0, 5.7e-12, 5.7e-11)
    >>> float(inwards[0].round(4)), float(outwards[0].round(4))
    (0.0035, 0.0805)
    """
    p = saturation_pressure(temperature) * within("relative humidity of the layer", humidity, 0, 1)
    pi = within("indoor vapor pressure", indoor_vapor, 0, 1e4, "Pa")
    po = within("outdoor vapor pressure", outdoor_vapor, 0, 1e4, "Pa")
    wi = within("inner permeance", inner_permeance, 0, 1e-6, "kg/(s·m²·Pa)")[..., None]
    wo = within("outer permeance", outer_permeance, 0, 1e-6, "kg/(s·m²·Pa)")[..., None]
    return wi * (p - pi) * MONTH_SECONDS, wo * (p - po) * MONTH_SECONDS


class Drying(NamedTuple):
    """How a wet layer dries."""

    months: Array
    """Months until the water is gone; infinite when not within the years followed."""
    inward_share: Array
    """Share of the drying that went inwards, 0–1 (0.5 when nothing dries)."""
    left: Array
    """Water left after each month, kg/m², shape (…, 12·years)."""


def drying(
    water: ArrayLike, inwards: ArrayLike, outwards: ArrayLike, start: int = 0, years: int = 10
) -> Drying:
    """How long `water` (kg/m², shape (…)) takes to go at the monthly rates of `drying_rates`, shape (…, 12).

    `start` is the month it begins (0 January). The rates repeat each year; a month in which vapor comes in adds to
    the water, up to what there was at the start (the layer can't be wetter than wet). The last month is cut at the
    share of it that was needed. Valid 1 to 50 years; else ValueError. A bound on the quick side: as the layer
    dries, its vapor pressure falls, and the last of the water goes slower.

    >>> d = drying(0.73, np.full(12, 0.004), np.full(12, 0.08), start=9)
    >>> round(float(d.months), 1), round(float(d.inward_share), 2)
    (8.7, 0.05)
    """
    if not 0 <= start <= 11:
        raise ValueError(f"month {start} is outside 0 to 11")
    if not 1 <= years <= 50:
        raise ValueError(f"{years} years is outside 1 to 50 years")
    w = within("water to lose", water, 0, 1e4, "kg/m²")
    i, o = np.broadcast_arrays(
        within("drying inwards", inwards, -1e4, 1e4, "kg/m²"),
        within("drying outwards", outwards, -1e4, 1e4, "kg/m²"),
    )
    order = (np.arange(12 * years) + start) % 12
    net = (i + o)[..., order]
    total = np.cumsum(net, axis=-1)
    # Held at the start's water: what is lost counts from the lowest point so far (a reflected walk).
    lost = total - np.minimum(np.minimum.accumulate(total, axis=-1), 0.0)
    w = np.broadcast_to(w, lost.shape[:-1])
    left = np.maximum(w[..., None] - lost, 0.0)
    done = left <= 0.0
    first = np.argmax(done, axis=-1)
    ever = done.any(axis=-1)
    before = np.where(
        first > 0, np.take_along_axis(lost, np.maximum(first - 1, 0)[..., None], axis=-1)[..., 0], 0.0
    )
    rate = np.take_along_axis(net, first[..., None], axis=-1)[..., 0]
    part = np.where(rate > 0, (w - before) / np.where(rate > 0, rate, 1.0), 0.0)
    months = np.where(ever, np.where(w > 0, first + part, 0.0), np.inf)
    # Once dry, it stays dry: what comes later is the year's own balance.
    left = np.where(np.maximum.accumulate(done, axis=-1), 0.0, left)
    end = np.where(ever, first, 12 * years - 1)
    span = np.arange(12 * years) <= end[..., None]
    inner = np.where(span, np.maximum(i[..., order], 0.0), 0.0).sum(axis=-1)
    outer = np.where(span, np.maximum(o[..., order], 0.0), 0.0).sum(axis=-1)
    both = inner + outer
    share = np.where(both > 0, inner / np.where(both > 0, both, 1.0), 0.5)
    return Drying(months, share, left)


def drying_by_rule(thickness: ArrayLike, sides: int = 1) -> Array:
    """Months a new slab takes to dry by the builders' rule of a month an inch, to one side or to both.

    Common practice, no published source. Valid to 0.6 m; beyond, ValueError.

    >>> float(drying_by_rule(0.1)), float(drying_by_rule(0.1, sides=2))
    (4.0, 2.0)
    """
    if sides not in (1, 2):
        raise ValueError("a slab dries to one side or to two")
    return within("thickness", thickness, 0, 0.6, "m") / sides / DRYING_RULE
