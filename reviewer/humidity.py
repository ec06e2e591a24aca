"""Water vapor at saturation: the one pair of functions that every part of the package uses."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

TEMPERATURES = (-80.0, 100.0)
"""°C, where the equations are used. Against IAPWS they are within 0.2 % from 0 to 80 °C and 0.8 % to 100 °C
over water; over ice they run low, by 0.2 % at −10 °C, 0.5 % at −20 °C, 1.9 % at −40 °C and 11 % at −80 °C
(never by more than 0.75 Pa)."""

_TRIPLE = 610.5
_WATER = (17.269, 237.3)
_ICE = (21.875, 265.5)


def saturation_pressure(temperature: ArrayLike) -> NDArray[np.float64]:
    """Saturation vapor pressure in Pa at `temperature` in °C: over water from 0 °C up, over ice below.

    Source: ISO 13788 Annex E, equations E.7 and E.8 (formula from memory of the standard).
    Shape: that of `temperature`. Valid from −80 to 100 °C; beyond, and for NaN, ValueError.

    >>> saturation_pressure([-10.0, 0.0, 20.0]).round(1).tolist()
    [259.3, 610.5, 2337.0]
    """
    t = np.asarray(temperature, dtype=float)
    if t.size and not (t.min() >= TEMPERATURES[0] and t.max() <= TEMPERATURES[1]):
        low, high = TEMPERATURES
        raise ValueError(f"saturation pressure is computed from {low:g} to {high:g} °C only")
    warm = t >= 0.0
    a = np.where(warm, _WATER[0], _ICE[0])
    b = np.where(warm, _WATER[1], _ICE[1])
    return _TRIPLE * np.exp(a * t / (b + t))


_PRESSURES = tuple(saturation_pressure(TEMPERATURES).tolist())
"""Pa, at the ends of the range."""


def dew_point(vapor_pressure: ArrayLike) -> NDArray[np.float64]:
    """Temperature in °C at which air of `vapor_pressure` in Pa is saturated: the dew point, below 0 °C the
    frost point.

    Source: ISO 13788 Annex E, equations E.9 and E.10, the exact inverse of `saturation_pressure`.
    Shape: that of `vapor_pressure`. Valid for the pressures of −80 to 100 °C; beyond, and for NaN,
    ValueError.

    >>> dew_point([321.0, 1168.0]).round(2).tolist()
    [-7.58, 9.26]
    """
    p = np.asarray(vapor_pressure, dtype=float)
    low, high = _PRESSURES
    if p.size and not (p.min() >= low and p.max() <= high):
        raise ValueError(f"a dew point is computed from {low:.2g} to {high:.0f} Pa only")
    warm = p >= _TRIPLE
    a = np.where(warm, _WATER[0], _ICE[0])
    b = np.where(warm, _WATER[1], _ICE[1])
    ratio = np.log(p / _TRIPLE)
    return b * ratio / (a - ratio)
