"""Moisture content of wood in equilibrium with air, and the thresholds of mold, decay and corrosion.

Moisture contents are kg of water a kg of dry wood (0.20 is 20 %).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from reviewer.physics.basics import Array, within

TEMPERATURES = (-1.2, 99.0)
"""°C, range of the fit (30 to 210 °F, Wood Handbook Table 4-2)."""

SAFE = 0.20
"""Below it wood doesn't decay (Wood Handbook ch. 14, from memory; NAVFAC MO-312, 4.2, seen: decay stops at 20
% or less)."""
DRY_LUMBER = 0.19
"""Most moisture of lumber sold as surfaced dry (American Softwood Lumber Standard PS 20, from memory)."""
DECAY = 0.26
"""From it established decay goes on (Wood Handbook ch. 14: 26 to 30 %, the lower end; from memory)."""
FIBER_SATURATION = 0.30
"""Cell walls full, cavities empty: about 30 %, by species 26 to 32 % (Wood Handbook ch. 4, from memory)."""
CORROSION = 0.18
"""From it fasteners corrode noticeably (Wood Handbook ch. 14: slow below 15 to 18 %; from memory)."""
MOLD_HUMIDITY = 0.80
"""Relative humidity at the surface from which mold can grow (ISO 13788, 5.1; ASHRAE 160-2009, 6.1)."""
DECAY_TEMPERATURES = (5.0, 40.0)
"""°C between which decay fungi grow; nearly nothing happens below 2 °C (35 °F) and above 38 °C (100 °F). Wood
Handbook ch. 14, from memory."""
DECAY_BEST = (21.0, 32.0)
"""°C, the range they like best (as above)."""


def equilibrium_moisture(humidity: ArrayLike, temperature: ArrayLike) -> Array:
    """Equilibrium moisture content of wood in kg/kg at a relative `humidity` (0–1) and `temperature` in °C.

    Shapes broadcast. Source: Hailwood and Horrobin's model with two hydrates, Celsius coefficients of the
    USDA Wood Handbook, equations 4-5 (FPL-GTR-282), seen in a restatement of FPL-RN-0268. It holds for
    sorption by unmodified wood, within about 0.1 % of the handbook's table; panels with much resin run 1 to 3
    % lower (common practice). Valid −1.2 to 99 °C; over 95 % it is an extrapolation towards fiber saturation.

    >>> equilibrium_moisture(0.5, 20.0).round(5).item()
    0.09271
    """
    h = within("relative humidity", humidity, 0.0, 1.0)
    t = within("wood temperature", temperature, *TEMPERATURES, "°C")
    w = 349.0 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    bound = (k1 * kh + 2.0 * k1 * k2 * kh**2) / (1.0 + k1 * kh + k1 * k2 * kh**2)
    return 18.0 / w * (kh / (1.0 - kh) + bound)


def equilibrium_humidity(moisture: ArrayLike, temperature: ArrayLike) -> Array:
    """Relative humidity (0–1) of air in equilibrium with wood of `moisture` in kg/kg at `temperature` in °C:
    the inverse of `equilibrium_moisture`, to 10⁻¹².

    ValueError for more moisture than wood takes from saturated air (about 28 %).

    >>> equilibrium_humidity(0.16, 21.1).round(2).item()
    0.8
    """
    m, t = np.broadcast_arrays(np.asarray(moisture, dtype=float), np.asarray(temperature, dtype=float))
    if not np.all((m >= 0.0) & (m <= equilibrium_moisture(1.0, t))):
        raise ValueError("wood takes between no moisture and fiber saturation (about 28 %) from air")
    low, high = np.zeros(m.shape), np.ones(m.shape)
    for _ in range(42):
        middle = 0.5 * (low + high)
        below = equilibrium_moisture(middle, t) < m
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return 0.5 * (low + high)


def monthly_moisture(humidity: ArrayLike, temperature: ArrayLike) -> Array:
    """Mean moisture content in kg/kg of wood that follows monthly mean humidity and temperature, [..., 12].

    Frosty wood counts as at −1.2 °C, the end of the fit: the handbook's rows at 30 and 40 °F differ by less
    than 0.1 %, so nothing is lost. Thin pieces and panels follow within weeks; thick timber lags and stays
    nearer the yearly mean.

    >>> monthly_moisture([0.8, 0.8], [-15.0, 20.0]).round(3).tolist()
    [0.165, 0.16]
    """
    t = within("wood temperature", temperature, -80.0, TEMPERATURES[1], "°C")
    return equilibrium_moisture(humidity, np.maximum(t, TEMPERATURES[0]))


def moisture_with_condensate(
    moisture: ArrayLike, condensate: ArrayLike, density: ArrayLike, thickness: ArrayLike
) -> Array:
    """Moisture content in kg/kg when a piece also takes up `condensate` in kg/m² evenly.

    `density` kg/m³ dry and `thickness` m of the piece that takes it up. Shapes broadcast. Arithmetic (DIN
    4108-3 limits the gain to 5 % in wood and 3 % in panels this way).

    >>> moisture_with_condensate(0.16, 0.2, 500.0, 0.02).round(3).item()
    0.18
    """
    dry = np.asarray(density, dtype=float) * np.asarray(thickness, dtype=float)
    if not np.all(dry > 0):
        raise ValueError("wood needs a density and a thickness above 0")
    return np.asarray(moisture, dtype=float) + np.asarray(condensate, dtype=float) / dry
