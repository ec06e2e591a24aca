"""The ventilated cavity behind a cladding: how much air moves through it and what that does for drying.

Sources: Straube, van Straaten and Burnett, Field Studies of Ventilation Drying (ASHRAE RP-1091, 2004) and Building
Science for Building Enclosures (2005) for the balance of driving pressure and losses; ISO 6946 for the classes by
opening area. Coefficients from memory; arguments broadcast.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from reviewer.humidity import saturation_pressure
from reviewer.physics.airflow import air_density
from reviewer.physics.basics import GRAVITY, KELVIN, R_VAPOR, Array, within

VISCOSITY = 1.8e-5
"""Pa·s, dynamic viscosity of air at about 15 °C."""
ENTRANCE, EXIT = 0.5, 0.88
"""Velocity heads lost at the inlet and at the outlet (Straube and Burnett 2005, after Liddament; from memory)."""
WIND_DIFFERENCE = 0.1
"""Difference of wind pressure coefficients between bottom and top vents of a wall (range of measurements 0 to 0.5;
from memory)."""

RANGES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "brick veneer vented top and bottom": (1.0, 40.0),
        "panels on furring, open top and bottom": (50.0, 500.0),
        "lap siding, hung": (20.0, 200.0),
        "drained only": (0.0, 2.0),
    }
)
"""Air changes an hour that were measured behind claddings (Straube, van Straaten and Burnett 2004; Finch and
Straube 2007; ranges, from memory)."""

_UNVENTILATED, _WELL = 500e-6, 1500e-6


def ventilation_class(opening: float) -> str:
    """The air layer's class by its openings, m² a meter of length (walls) or m² a m² (roofs).

    To 500 mm² "unventilated", from 1500 mm² "well ventilated", between them "slightly ventilated"
    (ISO 6946:2007, 5.3; from memory).

    >>> ventilation_class(400e-6), ventilation_class(1000e-6), ventilation_class(1500e-6)
    ('unventilated', 'slightly ventilated', 'well ventilated')
    """
    area = float(within("opening area", opening, 0, 1, "m²"))
    if area <= _UNVENTILATED:
        return "unventilated"
    return "well ventilated" if area >= _WELL else "slightly ventilated"


def driving_pressure(
    height: ArrayLike,
    cavity: ArrayLike,
    outdoor: ArrayLike,
    wind: ArrayLike = 0.0,
    coefficient_difference: ArrayLike = WIND_DIFFERENCE,
) -> Array:
    """Pressure that moves air through a cavity, Pa: stack over its `height` (m) and wind, never negative.

    `cavity` and `outdoor` temperatures °C, `wind` m/s. |g·h·(ρ_out − ρ_cavity)| + ΔC_p·ρ·v²/2; the two are
    added as if they always helped each other, an upper bound.

    >>> round(float(driving_pressure(2.5, 20.0, 10.0, 2.0)), 2)
    1.29
    """
    h = within("cavity height", height, 0, 100, "m")
    v = within("wind speed", wind, 0, 40, "m/s")
    dc = within("difference of pressure coefficients", coefficient_difference, 0, 2)
    outside = air_density(outdoor)
    return GRAVITY * h * np.abs(outside - air_density(cavity)) + dc * 0.5 * outside * v * v


def cavity_velocity(
    pressure: ArrayLike,
    height: ArrayLike,
    depth: ArrayLike,
    inlet: ArrayLike,
    outlet: ArrayLike,
    friction: ArrayLike = 1.0,
) -> Array:
    """Mean air velocity up a cavity, m/s, at a driving `pressure` (Pa).

    `height` and `depth` of the cavity, m; `inlet` and `outlet` areas m² a meter of wall (the depth itself when
    open over the full width). Entrance and exit losses in velocity heads of the openings, laminar friction
    between parallel plates 12·µ·h·v/d² times `friction` (1 smooth and clear; mortar and battens above 1):
    ρ/2·(0.5(d/A_in)² + 0.88(d/A_out)²)·v² + f·12µh/d²·v = Δp, the positive root. Straube and Burnett 2005
    (form from memory). Valid depth 3 to 200 mm, openings above 0 up to the depth; 0 velocity where one is shut.

    >>> round(float(cavity_velocity(1.0, 2.5, 0.019, 0.019, 0.019)), 2)
    0.52
    """
    dp = within("driving pressure", pressure, 0, 1000, "Pa")
    h = within("cavity height", height, 0.1, 100, "m")
    d = within("cavity depth", depth, 0.003, 0.2, "m")
    a_in, a_out = (within("opening area", a, 0, 0.2, "m²") for a in (inlet, outlet))
    if np.any(a_in > d * (1 + 1e-9)) or np.any(a_out > d * (1 + 1e-9)):
        raise ValueError("an opening of a cavity is at most as large as the cavity is deep")
    f = within("friction factor", friction, 1, 20)
    shut = (a_in == 0) | (a_out == 0)
    safe_in, safe_out = np.where(a_in == 0, 1.0, a_in), np.where(a_out == 0, 1.0, a_out)
    a = 0.6 * (ENTRANCE * (d / safe_in) ** 2 + EXIT * (d / safe_out) ** 2)
    b = f * 12.0 * VISCOSITY * h / d**2
    # The form without cancellation for small pressures.
    return np.where(shut, 0.0, 2.0 * dp / (b + np.sqrt(b * b + 4.0 * a * dp)))


def air_changes(velocity: ArrayLike, height: ArrayLike) -> Array:
    """Air changes an hour of a cavity: 3600·v/h.

    >>> float(air_changes(0.1, 2.5).round(6))
    144.0
    """
    v = within("air velocity", velocity, 0, 20, "m/s")
    return 3600.0 * v / within("cavity height", height, 0.1, 100, "m")


def ventilation_permeance(changes: ArrayLike, depth: ArrayLike, temperature: ArrayLike) -> Array:
    """What a ventilated cavity is worth as vapor permeance to outdoors, kg/(s·m²·Pa): n·d/(3600·R_v·T).

    `changes` n air changes an hour, `depth` d m, `temperature` °C of the cavity. Mass balance of the cavity's air,
    well mixed (derived from the ideal gas; the form is that of Straube and Burnett 2005).

    Ten air changes an hour in an inch of cavity are worth about 9 perms:

    >>> round(float(ventilation_permeance(10.0, 0.0254, 10.0)) / 5.721349e-11, 1)
    9.4
    """
    n = within("air changes an hour", changes, 0, 5000, "1/h")
    d = within("cavity depth", depth, 0, 0.5, "m")
    t = within("cavity temperature", temperature, -60, 100, "°C")
    return n * d / 3600.0 / (R_VAPOR * (t + KELVIN))


def outward_permeance(
    sheathing: ArrayLike, cladding: ArrayLike, changes: ArrayLike, depth: ArrayLike, temperature: ArrayLike
) -> Array:
    """Permeance from the sheathing's inner face to outdoors, cavity and cladding included, kg/(s·m²·Pa).

    `sheathing`: of all layers from there to the cavity; then to outdoors through the `cladding` and beside it by
    ventilation, in parallel. Series of resistances (ISO 13788, 6.3).

    >>> perm = 5.721349e-11
    >>> shut = outward_permeance(3 * perm, 0.5 * perm, 0.0, 0.025, 10.0)
    >>> vented = outward_permeance(3 * perm, 0.5 * perm, 50.0, 0.025, 10.0)
    >>> round(float(shut / perm), 2), round(float(vented / perm), 2)
    (0.43, 2.82)
    """
    s = within("permeance of the sheathing", sheathing, 0, 1e-6, "kg/(s·m²·Pa)")
    outer = within("permeance of the cladding", cladding, 0, 1e-6, "kg/(s·m²·Pa)") + ventilation_permeance(
        changes, depth, temperature
    )
    total = s + outer
    return np.where(total > 0, s * outer / np.where(total > 0, total, 1.0), 0.0)


def cavity_vapor_pressure(
    sheathing_pressure: ArrayLike,
    sheathing: ArrayLike,
    outdoor_pressure: ArrayLike,
    cladding_pressure: ArrayLike,
    cladding: ArrayLike,
    changes: ArrayLike,
    depth: ArrayLike,
    temperature: ArrayLike,
) -> tuple[Array, Array]:
    """Vapor pressure in the cavity (Pa) and what condenses there (kg/(s·m²)).

    Vapor comes from the sheathing at `sheathing_pressure` through `sheathing`, from the cladding's inner side at
    `cladding_pressure` (saturation when wet) through `cladding`, and is exchanged with outdoor air at
    `outdoor_pressure`. Balance of the three, held at saturation of the cavity's `temperature`.

    A wet, sun-warmed brick with a shut and with a ventilated cavity:

    >>> brick = float(saturation_pressure(45.0))
    >>> [round(float(cavity_vapor_pressure(1500, 3e-10, 1500, brick, 1e-9, n, 0.03, 42.0)[0])) for n in (0, 30)]
    [7712, 4175]
    """
    ps, po, pc = (
        within(n, v, 0, 5e4, "Pa")
        for n, v in (
            ("vapor pressure at the sheathing", sheathing_pressure),
            ("outdoor vapor pressure", outdoor_pressure),
            ("vapor pressure at the cladding", cladding_pressure),
        )
    )
    ws = within("permeance of the sheathing", sheathing, 0, 1e-6, "kg/(s·m²·Pa)")
    wc = within("permeance of the cladding", cladding, 0, 1e-6, "kg/(s·m²·Pa)")
    wv = ventilation_permeance(changes, depth, temperature)
    total = ws + wc + wv
    if np.any(total <= 0):
        raise ValueError("a cavity needs some exchange of vapor")
    source = ws * ps + wc * pc + wv * po
    free = source / total
    p = np.minimum(free, saturation_pressure(temperature))
    return p, np.where(free > p, source - total * p, 0.0)
