"""Air through the enclosure: what drives it, how much leaks, and the water that it carries.

Pressure differences are indoor minus outdoor: positive drives air outwards (exfiltration).
Arguments broadcast over leading axes (sections, places, months).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from reviewer.humidity import saturation_pressure
from reviewer.physics.basics import ATMOSPHERE, GRAVITY, KELVIN, MONTH_SECONDS, R_AIR, Array, within

EXPONENT = 0.65
"""Flow exponent of leakage through an enclosure where none was measured (ASHRAE Fundamentals, chapter
Ventilation and Infiltration; from memory)."""
DISCHARGE = 0.6
"""Discharge coefficient of a sharp-edged opening (ASHRAE Fundamentals; from memory)."""
WATER_TO_AIR = 0.621945
"""Molar mass of water over that of dry air (ASHRAE Fundamentals, Psychrometrics, equation 20)."""
RATED = 75.0
"""Pa, at which air permeance of materials, assemblies and buildings is rated (ASTM E2178, E2357, E779)."""

MATERIAL_LIMIT = 0.02
"""L/(s·m²) at 75 Pa: an air barrier material (ASTM E2178 test; limit in IECC C402.5, ASHRAE 90.1 and NBC
5.4.1.2; from memory)."""
ASSEMBLY_LIMIT = 0.2
"""L/(s·m²) at 75 Pa: an air barrier assembly (ASTM E2357 test; IECC C402.5, ASHRAE 90.1; from memory)."""
BUILDING_LIMIT = 2.0
"""L/(s·m²) at 75 Pa of the whole enclosure (ASHRAE 90.1, IECC C402.5; from memory)."""

LEAKAGE_CLASSES = ("material", "assembly", "whole building", "leaky")

_SYSTEM_LIMITS = ((0.27, 0.15), (0.55, 0.10), (1.0, 0.05))


def air_density(temperature: ArrayLike, pressure: ArrayLike = ATMOSPHERE) -> Array:
    """Density of dry air, kg/m³, at `temperature` (°C) and barometric `pressure` (Pa).

    Source: ideal gas. Valid −80 to 100 °C, 50 to 110 kPa; beyond, ValueError.

    >>> round(float(air_density(20.0)), 3)
    1.204
    """
    t = within("air temperature", temperature, -80, 100, "°C")
    p = within("barometric pressure", pressure, 5e4, 1.1e5, "Pa")
    return p / (R_AIR * (t + KELVIN))


def barometric_pressure(elevation: ArrayLike) -> Array:
    """Barometric pressure of the standard atmosphere, Pa, at `elevation` (m).

    Source: ASHRAE Fundamentals, Psychrometrics, equation 3 (the U.S. Standard Atmosphere 1976).
    Valid −500 to 5000 m; beyond, ValueError.

    >>> round(float(barometric_pressure(1500.0)))
    84556
    """
    z = within("elevation", elevation, -500, 5000, "m")
    return ATMOSPHERE * (1.0 - 2.25577e-5 * z) ** 5.2559


def stack_pressure(
    height: ArrayLike, outdoor: ArrayLike, indoor: ArrayLike, pressure: ArrayLike = ATMOSPHERE
) -> Array:
    """Stack pressure, Pa, at `height` (m) above the neutral plane: indoor minus outdoor.

    `outdoor` and `indoor` are air temperatures (°C), `pressure` is barometric (Pa).
    Source: ASHRAE Fundamentals, Ventilation and Infiltration (stack effect), with the density of an ideal
    gas: Δp = g·z·(p/R)·(1/T_out − 1/T_in), about 0.04 Pa per meter and kelvin.
    Valid −80 to 100 °C, heights −600 to 600 m; beyond, ValueError.

    >>> round(float(stack_pressure(5.0, -20.0, 20.0)), 2)
    9.33
    """
    z = within("height above the neutral plane", height, -600, 600, "m")
    return GRAVITY * z * (air_density(outdoor, pressure) - air_density(indoor, pressure))


def wind_pressure(speed: ArrayLike, coefficient: ArrayLike = 1.0, density: ArrayLike = 1.2) -> Array:
    """Pressure of the wind on a face, Pa over the undisturbed static pressure: C_p·ρ·v²/2.

    `speed` (m/s) at the reference height of the pressure `coefficient`, air `density` (kg/m³).
    Source: ASHRAE Fundamentals, Airflow Around Buildings, equation 3 (from memory).
    Valid 0 to 80 m/s, coefficients −3 to 1.5, 0.5 to 1.6 kg/m³; beyond, ValueError.

    >>> float(wind_pressure(5.0)), float(wind_pressure(10.0, -0.5))
    (15.0, -30.0)
    """
    v = within("wind speed", speed, 0, 80, "m/s")
    c = within("pressure coefficient", coefficient, -3, 1.5)
    rho = within("air density", density, 0.5, 1.6, "kg/m³")
    return 0.5 * c * rho * v * v


def pressure_difference(
    height: ArrayLike,
    outdoor: ArrayLike,
    indoor: ArrayLike,
    neutral_height: ArrayLike,
    wind: ArrayLike = 0.0,
    mechanical: ArrayLike = 0.0,
) -> Array:
    """Indoor minus outdoor pressure, Pa, at `height` (m above grade) of one face.

    `neutral_height` (m above grade) is where stack pressure alone vanishes: half the height of a building
    leaky evenly over its height, otherwise see `internal_pressure`. `wind` (Pa) is the pressure of
    the wind on this face less that inside; `mechanical` (Pa) is the pressurization by fans.
    The three are added (ASHRAE Fundamentals, Ventilation and Infiltration, Total Pressure Differences).

    >>> round(float(pressure_difference(6.0, -20.0, 20.0, 3.0, wind=2.0, mechanical=1.0)), 2)
    4.6
    """
    z = np.asarray(height, dtype=float) - np.asarray(neutral_height, dtype=float)
    return (
        stack_pressure(z, outdoor, indoor)
        - within("wind pressure", wind, -5000, 5000, "Pa")
        + within("mechanical pressure", mechanical, -500, 500, "Pa")
    )


def power_law(coefficient: ArrayLike, difference: ArrayLike, exponent: ArrayLike = EXPONENT) -> Array:
    """Flow by the power law, C·|Δp|^n with the sign of Δp; units of C·Pa^n.

    Source: ASHRAE Fundamentals, Ventilation and Infiltration (power law); ASTM E779 equation 1.
    Valid for C ≥ 0 and 0.5 ≤ n ≤ 1; beyond, ValueError.

    >>> round(float(power_law(2.0, -4.0, 0.5)), 6)
    -4.0
    """
    c = within("flow coefficient", coefficient, 0, 1e9)
    dp = within("pressure difference", difference, -1e5, 1e5, "Pa")
    n = within("flow exponent", exponent, 0.5, 1)
    return c * np.sign(dp) * np.abs(dp) ** n


def at_pressure(rated: ArrayLike, difference: ArrayLike, exponent: ArrayLike = EXPONENT) -> Array:
    """Air flow at service pressure, L/(s·m²), of what is rated `rated` L/(s·m²) at 75 Pa.

    `difference` (Pa) may be negative (inward flow). Power law; valid 0.5 ≤ n ≤ 1.

    >>> round(float(at_pressure(2.0, 4.0)), 3)
    0.298
    """
    return power_law(np.asarray(rated, dtype=float) / RATED ** np.asarray(exponent), difference, exponent)


def internal_pressure(
    coefficients: ArrayLike, outside: ArrayLike, exponent: ArrayLike = EXPONENT, exhaust: ArrayLike = 0.0
) -> Array:
    """The indoor pressure, Pa, at which the air that enters a zone leaves it again.

    `coefficients` and `outside`, shape (…, openings): flow coefficient of each opening and the pressure
    just outside it less the indoor pressure datum (stack and wind), Pa; `exhaust` in the same unit of flow
    leaves by fan. Solves Σ C·sign(p − p_out)|p − p_out|^n + exhaust = 0 (mass balance at equal density).
    The root is bracketed and cut down 32-fold in each of twelve passes, to the last bits of a double.
    Valid 0.5 ≤ n ≤ 1, at least one opening with C > 0; else ValueError.

    Two equal openings 6 m apart: the pressure lies midway, and so does the neutral plane.

    >>> round(float(internal_pressure([1.0, 1.0], [0.0, -8.0])), 9)
    -4.0
    """
    c, p_out = np.broadcast_arrays(
        within("flow coefficient", coefficients, 0, 1e9), within("outside pressure", outside, -1e5, 1e5, "Pa")
    )
    n = within("flow exponent", exponent, 0.5, 1)
    q = within("exhaust flow", exhaust, -1e9, 1e9)
    total = c.sum(axis=-1)
    if not np.all(total > 0):
        raise ValueError("a zone needs at least one opening whose flow coefficient is above 0")
    # Beyond the outermost opening by what the whole leakage needs for the fan flow, the sign is certain.
    reach = (np.abs(q) / total) ** (1.0 / n)
    low = p_out.min(axis=-1) - reach
    high = p_out.max(axis=-1) + reach
    low, high, q, n = np.broadcast_arrays(low, high, q, n)
    steps = np.linspace(0.0, 1.0, 33)
    for _ in range(12):
        p = low[..., None] + (high - low)[..., None] * steps
        dp = p[..., None] - p_out[..., None, :]
        flow = (c[..., None, :] * np.sign(dp) * np.abs(dp) ** n[..., None, None]).sum(axis=-1) + q[..., None]
        k = np.clip((flow < 0).sum(axis=-1) - 1, 0, 31)[..., None]
        low = np.take_along_axis(p, k, axis=-1)[..., 0]
        high = np.take_along_axis(p, k + 1, axis=-1)[..., 0]
    return 0.5 * (low + high)


def leakage_class(rated: float) -> str:
    """The tightest of the four LEAKAGE_CLASSES that `rated` L/(s·m²) at 75 Pa meets.

    >>> leakage_class(0.02), leakage_class(0.021), leakage_class(2.0), leakage_class(2.1)
    ('material', 'assembly', 'whole building', 'leaky')
    """
    q = float(within("air permeance", rated, 0, 1e4, "L/(s·m²)"))
    limits = (MATERIAL_LIMIT, ASSEMBLY_LIMIT, BUILDING_LIMIT)
    return next((c for c, most in zip(LEAKAGE_CLASSES, limits, strict=False) if q <= most), "leaky")


def system_limit(indoor_humidity: ArrayLike) -> Array:
    """Highest recommended leakage of an air barrier system, L/(s·m²) at 75 Pa, by indoor RH (0–1).

    0.15 below 27 % RH, 0.10 from 27 to 55 %, 0.05 above 55 %.
    Source: National Building Code of Canada, appendix note A-5.4.1.2 (from memory).

    >>> system_limit([0.20, 0.27, 0.55, 0.60]).tolist()
    [0.15, 0.1, 0.1, 0.05]
    """
    rh = within("indoor relative humidity", indoor_humidity, 0, 1)
    (dry, loose), (middle, medium), (_, tight) = _SYSTEM_LIMITS
    return np.where(rh < dry, loose, np.where(rh <= middle, medium, tight))


def rated_from_air_changes(
    air_changes: ArrayLike, volume_to_area: ArrayLike, exponent: ArrayLike = EXPONENT
) -> Array:
    """Air permeance at 75 Pa, L/(s·m²) of enclosure, from air changes an hour at 50 Pa.

    `volume_to_area` (m): the volume over the area of the whole enclosure, the ground included.
    q75 = n50·(V/A)/3.6·(75/50)^n. Source: definitions in ASTM E779. Valid 0.2 to 50 m; beyond, ValueError.

    A two-story house of 10 m × 10 m × 6 m, V/A = 600/440 m:

    >>> round(float(rated_from_air_changes(3.0, 600 / 440)), 2)
    1.48
    """
    n50 = within("air change rate at 50 Pa", air_changes, 0, 100, "1/h")
    ratio = within("volume over enclosure area", volume_to_area, 0.2, 50, "m")
    return n50 * ratio / 3.6 * (RATED / 50.0) ** within("flow exponent", exponent, 0.5, 1)


def air_changes_from_rated(
    rated: ArrayLike, volume_to_area: ArrayLike, exponent: ArrayLike = EXPONENT
) -> Array:
    """Air changes an hour at 50 Pa from L/(s·m²) at 75 Pa: the inverse of `rated_from_air_changes`.

    >>> round(float(air_changes_from_rated(2.0, 600 / 440)), 2)
    4.06
    """
    return within("air permeance", rated, 0, 1e4, "L/(s·m²)") / rated_from_air_changes(
        1.0, volume_to_area, exponent
    )


def orifice_flow(
    area: ArrayLike, difference: ArrayLike, discharge: ArrayLike = DISCHARGE, density: ArrayLike = 1.2
) -> Array:
    """Flow through an opening, m³/s: C_d·A·√(2|Δp|/ρ), with the sign of Δp (Pa). `area` in m².

    Source: ASHRAE Fundamentals, Ventilation and Infiltration (orifice equation).
    Valid for C_d 0.1 to 1, density 0.5 to 1.6 kg/m³; beyond, ValueError.

    One square inch at 4 Pa lets about a liter a second through:

    >>> round(float(orifice_flow(0.0254**2, 4.0)) * 1000, 3)
    0.999
    """
    a = within("opening area", area, 0, 1e4, "m²")
    dp = within("pressure difference", difference, -1e5, 1e5, "Pa")
    c = within("discharge coefficient", discharge, 0.1, 1)
    rho = within("air density", density, 0.5, 1.6, "kg/m³")
    return np.sign(dp) * c * a * np.sqrt(2.0 * np.abs(dp) / rho)


def humidity_ratio(vapor_pressure: ArrayLike, pressure: ArrayLike = ATMOSPHERE) -> Array:
    """Humidity ratio, kg of vapor per kg of dry air: 0.621945·p_v/(p − p_v), both pressures in Pa.

    Source: ASHRAE Fundamentals, Psychrometrics, equation 20. Valid while p_v ≤ p/2; else ValueError.

    >>> round(float(humidity_ratio(1000.0)), 6)
    0.006199
    """
    p = within("barometric pressure", pressure, 5e4, 1.1e5, "Pa")
    pv = within("vapor pressure", vapor_pressure, 0, float(p.min()) / 2, "Pa")
    return WATER_TO_AIR * pv / (p - pv)


def deposited(
    flow: ArrayLike,
    vapor_pressure: ArrayLike,
    plane: ArrayLike,
    density: ArrayLike = 1.2,
    pressure: ArrayLike = ATMOSPHERE,
) -> Array:
    """Water that exfiltrating air leaves on a cold plane, kg/s per unit of `flow`'s area: an upper bound.

    `flow` (m³/s, or m³/(s·m²)) of room air at `vapor_pressure` (Pa) crosses a plane at `plane` °C and is
    taken to leave saturated at that temperature: ρ·q·(w_room − w_sat(plane)), nothing when the plane is
    above the dew point or the flow is inward (q ≤ 0). Real paths wet less: the air warms its path and
    never quite reaches saturation.
    Source: psychrometric mass balance (ASHRAE Fundamentals). Valid −80 to 60 °C; beyond, ValueError.

    A liter a second of 21 °C, 40 % air against sheathing at −10 °C leaves half a liter of water a day:

    >>> room = 0.4 * float(saturation_pressure(21.0))
    >>> round(float(deposited(1e-3, room, -10.0)) * 86400, 2)
    0.47
    """
    q = within("air flow", flow, -1e6, 1e6, "m³/s")
    t = within("plane temperature", plane, -80, 60, "°C")
    rho = within("air density", density, 0.5, 1.6, "kg/m³")
    surplus = humidity_ratio(vapor_pressure, pressure) - humidity_ratio(saturation_pressure(t), pressure)
    return rho * np.maximum(q, 0.0) * np.maximum(surplus, 0.0)


def carried(
    flow: ArrayLike,
    vapor_pressure: ArrayLike,
    other_vapor_pressure: ArrayLike,
    density: ArrayLike = 1.2,
    pressure: ArrayLike = ATMOSPHERE,
) -> Array:
    """Net moisture that an exchange of air carries, kg/s per unit of `flow`'s area.

    `flow` (m³/s, or m³/(s·m²)) leaves at `vapor_pressure` and comes back at `other_vapor_pressure` (Pa):
    ρ·q·(w − w_other). Source: psychrometric mass balance.

    >>> round(float(carried(1e-3, 1000.0, 300.0)) * 86400, 3)
    0.451
    """
    q = within("air flow", flow, -1e6, 1e6, "m³/s")
    rho = within("air density", density, 0.5, 1.6, "kg/m³")
    return (
        rho * q * (humidity_ratio(vapor_pressure, pressure) - humidity_ratio(other_vapor_pressure, pressure))
    )


def monthly_wetting(
    rated: ArrayLike,
    difference: ArrayLike,
    vapor_pressure: ArrayLike,
    plane: ArrayLike,
    exponent: ArrayLike = EXPONENT,
) -> Array:
    """Water left on a cold plane by exfiltration, kg/m² a month, shape (…, 12): an upper bound.

    `rated` L/(s·m²) at 75 Pa of the assembly, shape (…, 1) or scalar; by month the indoor-outdoor pressure
    `difference` (Pa), the indoor `vapor_pressure` (Pa) and the temperature of the `plane` (°C).
    See `deposited` and `at_pressure` for equations and ranges.

    >>> room, plane = np.full(12, 1000.0), np.linspace(-10.0, 12.0, 12)
    >>> monthly_wetting(0.2, 4.0, room, plane).round(2)[[0, 1, 11]].tolist()
    [0.44, 0.37, 0.0]
    """
    flow = at_pressure(rated, difference, exponent) * 1e-3
    return deposited(flow, vapor_pressure, plane) * MONTH_SECONDS


def leak_to_diffusion(leak: ArrayLike, diffused: ArrayLike) -> Array:
    """How many times more water air leakage brings than diffusion, both in the same unit; infinite when
    nothing diffuses but something leaks, and 0 when nothing leaks.

    >>> float(leak_to_diffusion(28.4, 0.3).round(1)), float(leak_to_diffusion(1.0, 0.0))
    (94.7, inf)
    """
    a = within("water brought by air leakage", leak, 0, 1e9)
    d = within("water brought by diffusion", diffused, 0, 1e9)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(a == 0.0, 0.0, a / d)
