"""What the physics modules share: constants, months, arrays of floats and ranges of validity."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array: TypeAlias = NDArray[np.float64]

MONTH_DAYS: Array = np.array([31.0, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
MONTH_SECONDS: Array = MONTH_DAYS * 86400.0
DAY = 86400.0
KELVIN = 273.15
GRAVITY = 9.80665
"""m/s² (CGPM 1901)."""
ATMOSPHERE = 101325.0
"""Pa."""
R_AIR = 287.055
"""Gas constant of dry air, J/(kg·K) (8.314 46/0.028 965)."""
R_VAPOR = 461.5
"""Gas constant of water vapor, J/(kg·K) (ISO 13788)."""
HEAT_AIR = 1006.0
"""Specific heat capacity of dry air at constant pressure, J/(kg·K)."""
STEFAN_BOLTZMANN = 5.670374e-8
"""W/(m²·K⁴) (CODATA)."""


def within(what: str, value: ArrayLike, low: float, high: float, unit: str = "") -> Array:
    """`value` as an array of floats, every element of it between `low` and `high`, both included.

    >>> float(within("wind speed", 4, 0, 60, "m/s"))
    4.0
    >>> within("wind speed", [4, -1], 0, 60, "m/s")
    Traceback (most recent call last):
        ...
    ValueError: wind speed of -1 m/s is outside 0 to 60 m/s

    Raises ValueError (NaN and infinity are outside every finite range).
    """
    a = np.asarray(value, dtype=float)
    if a.ndim == 0:
        if low <= float(a) <= high:
            return a
        worst = float(a)
    else:
        # NaN comes through both and compares as false.
        if not a.size or (a.min() >= low and a.max() <= high):
            return a
        worst = float(a[~((a >= low) & (a <= high))].flat[0])
    end = f" {unit}" if unit else ""
    raise ValueError(f"{what} of {worst:.6g}{end} is outside {low:.6g} to {high:.6g}{end}")
