"""The vented attic: air through its vents, its temperature and vapor by month, the sheathing's humidity.

Per m² of ceiling. Monthly arrays end in an axis of twelve, January first; other axes broadcast.
Sources: ASHRAE Fundamentals, Ventilation and Infiltration, for flow by stack and wind; heat and vapor balances of a
well-mixed space (derived).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from reviewer.humidity import saturation_pressure
from reviewer.physics.airflow import DISCHARGE, WATER_TO_AIR, air_density
from reviewer.physics.basics import ATMOSPHERE, GRAVITY, HEAT_AIR, KELVIN, Array, within

WIND_DIFFERENCE = 0.3
"""Difference of wind pressure coefficients between the inlets and outlets of an attic (range 0.1 sheltered to 0.9
exposed; common practice, no published source)."""
_FILM_BELOW = 0.13
"""m²·K/W under the sheathing (ISO 6946, mean of up and down)."""


def effective_area(ratio: ArrayLike, high_share: ArrayLike = 0.5) -> Array:
    """Area, m² a m² of ceiling, that inlets and outlets in series are worth: 1/√(1/A_low² + 1/A_high²).

    `ratio` is the net free area over the ceiling's (1/300: 0.0033), `high_share` of it near the ridge. ASHRAE
    Fundamentals, Ventilation and Infiltration. Valid ratio 0 to 0.1; beyond, ValueError. 0 when all is low or high.

    >>> round(float(effective_area(1 / 300)) * 1e3, 3)
    1.179
    """
    a = within("net free area ratio", ratio, 0, 0.1)
    s = within("share of the vents that is high", high_share, 0, 1)
    return a * s * (1.0 - s) / np.sqrt(s * s + (1.0 - s) ** 2)


def vent_flow(
    area: ArrayLike,
    height: ArrayLike,
    attic: ArrayLike,
    outdoor: ArrayLike,
    wind: ArrayLike = 0.0,
    coefficient_difference: ArrayLike = WIND_DIFFERENCE,
) -> Array:
    """Air through the vents, m³/s per m² of ceiling.

    C_d·A·√(2Δp/ρ) with Δp = ρ·g·h·|θ_attic − θ_out|/T_warmer + ΔC_p·ρ·v²/2. `area` of `effective_area`, `height`
    between low and high vents m, temperatures °C, `wind` m/s at eaves' height. ASHRAE Fundamentals, Ventilation
    and Infiltration (flow caused by thermal forces; from memory).

    >>> round(float(vent_flow(effective_area(1 / 300), 2.0, 5.0, 0.0)) * 3600, 2)
    2.14
    """
    a = within("vent area", area, 0, 0.1, "m²/m²")
    h = within("height between the vents", height, 0, 30, "m")
    ta = within("attic temperature", attic, -60, 100, "°C") + KELVIN
    to = within("outdoor temperature", outdoor, -60, 60, "°C") + KELVIN
    v = within("wind speed", wind, 0, 40, "m/s")
    dc = within("difference of pressure coefficients", coefficient_difference, 0, 2)
    return _flow(a, GRAVITY * h, ta, to, 0.5 * dc * v * v)


def _flow(area: Array, lift: Array, attic: Array, outdoor: Array, gust: Array) -> Array:
    """The same from g·h, absolute temperatures and the wind's part of Δp/ρ."""
    return (
        DISCHARGE * area * np.sqrt(2.0 * (lift * np.abs(attic - outdoor) / np.maximum(attic, outdoor) + gust))
    )


class Attic(NamedTuple):
    """A month in the attic, each shape (…, 12)."""

    temperature: Array
    """°C of the air."""
    vapor_pressure: Array
    """Pa."""
    flow: Array
    """m³/s of outdoor air per m² of ceiling."""
    sheathing: Array
    """°C of the sheathing's underside."""
    humidity: Array
    """Relative humidity at the sheathing's underside, 0–1."""
    condensing: Array
    """kg/(s·m²) of ceiling that can't stay in the air at the sheathing's temperature."""


def attic(
    outdoor: ArrayLike,
    outdoor_vapor: ArrayLike,
    roof: ArrayLike,
    indoor: ArrayLike,
    indoor_vapor: ArrayLike,
    ceiling_resistance: ArrayLike,
    roof_resistance: ArrayLike,
    vents: ArrayLike,
    height: ArrayLike,
    leak: ArrayLike,
    ceiling_permeance: ArrayLike,
    roof_permeance: ArrayLike = 0.0,
    wind: ArrayLike = 2.0,
    roof_to_ceiling: ArrayLike = 1.15,
) -> Attic:
    """Temperature, vapor and sheathing humidity of an attic by month.

    Monthly (…, 12): `outdoor` °C and `outdoor_vapor` Pa, `roof` °C of the roof's outer surface (sun and night sky in
    it), `indoor` °C and `indoor_vapor` Pa, or scalars. (…): `ceiling_resistance` room to attic air,
    `roof_resistance` attic air to the roof's outer surface m²·K/W; `vents` of `effective_area`; `height` between
    vents m; `leak` m³/s of room air per m² through the ceiling; `ceiling_permeance`, `roof_permeance`
    kg/(s·m²·Pa); `wind` m/s at the eaves; `roof_to_ceiling` area of the roof over the ceiling's.

    Heat: U_c(θ_i − θ) + r/R_r(θ_roof − θ) + ρc(q(θ_o − θ) + L(θ_i − θ)) = 0, q by the stack of θ itself (eight
    damped steps, then the balance is closed exactly at that q). Vapor: the same exchange and permeances, held at
    saturation of the sheathing, where the surplus condenses. Steady monthly means: the sheathing at night is colder.
    Valid resistances 0.05 to 50, leak 0 to 0.1; else ValueError; and without vents, leak and permeances.

    >>> a = attic(-10.0, 200.0, -11.0, 20.0, 900.0, 7.0, 0.35, effective_area(1 / 300), 2.0, 5e-5, 1e-11)
    >>> round(float(a.temperature), 1), round(float(a.humidity), 2)
    (-9.3, 0.93)
    """
    to = within("outdoor temperature", outdoor, -60, 60, "°C")
    po = within("outdoor vapor pressure", outdoor_vapor, 0, 1e4, "Pa")
    tr = within("roof surface temperature", roof, -80, 100, "°C")
    ti = within("indoor temperature", indoor, -40, 60, "°C")
    pi = within("indoor vapor pressure", indoor_vapor, 0, 1e4, "Pa")
    by_section = (
        within("ceiling resistance", ceiling_resistance, 0.05, 50, "m²·K/W"),
        within("roof resistance", roof_resistance, 0.05, 50, "m²·K/W"),
        within("vent area", vents, 0, 0.1, "m²/m²"),
        within("height between the vents", height, 0, 30, "m"),
        within("ceiling leakage", leak, 0, 0.1, "m³/(s·m²)"),
        within("ceiling permeance", ceiling_permeance, 0, 1e-6, "kg/(s·m²·Pa)"),
        within("roof permeance", roof_permeance, 0, 1e-6, "kg/(s·m²·Pa)"),
        within("wind speed", wind, 0, 40, "m/s"),
        within("roof area over ceiling area", roof_to_ceiling, 1, 3),
    )
    rc, rr, area, h, leaks, wc, wr, v, ratio = (a[..., None] if a.ndim else a for a in by_section)
    rho = air_density(to)
    uc, ur, air = 1.0 / rc, ratio / rr, rho * HEAT_AIR
    lift, gust, to_k = GRAVITY * h, 0.5 * WIND_DIFFERENCE * v * v, to + KELVIN
    fixed, heat = uc + ur + air * leaks, (uc + air * leaks) * ti + ur * tr
    t = (heat + air * 1e-4 * to) / (fixed + air * 1e-4)
    for _ in range(8):
        q = air * _flow(area, lift, t + KELVIN, to_k, gust)
        t = 0.5 * (t + (heat + q * to) / (fixed + q))
    flow = _flow(area, lift, t + KELVIN, to_k, gust)
    t = (heat + air * flow * to) / (fixed + air * flow)
    # The sheathing's underside lies in the roof's resistance, a film away from the attic air.
    sheathing = t + np.minimum(_FILM_BELOW / rr, 1.0) * (tr - t)
    exchange = rho * WATER_TO_AIR / ATMOSPHERE  # kg/m³ for each pascal, dilute
    gains, total = _vapor(exchange, flow, leaks, wc, wr * ratio, po, pi)
    limit = saturation_pressure(sheathing)
    pv = np.minimum(gains / total, limit)
    return Attic(
        t, pv, flow, sheathing, pv / limit, np.where(gains / total > limit, gains - total * limit, 0.0)
    )


def _vapor(
    exchange: Array, flow: Array, leak: Array, ceiling: Array, roof: Array, outdoor: Array, indoor: Array
) -> tuple[Array, Array]:
    """Vapor supplied to the attic, kg/(s·m²), and what takes it away, kg/(s·m²·Pa)."""
    total = exchange * (flow + leak) + ceiling + roof
    if np.any(total <= 0):
        raise ValueError("an attic needs some exchange of vapor")
    return exchange * (flow * outdoor + leak * indoor) + ceiling * indoor + roof * outdoor, total
