"""What a simulation gives: series at the joints, water in the layers, flows, and the balance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from reviewer.physics.basics import Array
from reviewer.physics.mold import running_mean


@dataclass(frozen=True, slots=True)
class Outcome:
    """Result of `solver.simulate`. Years, then intervals (hours), then joints or layers. Joint 0 is the
    room-side surface, joint k the outer face of part k − 1 (the inner face of part k)."""

    times: Array
    """s, ends of the intervals (n)."""
    temperature: Array
    """°C at the joints at the end of each interval (years, n, joints)."""
    rh: Array
    """Relative humidity, 0–1, at the joints (years, n, joints)."""
    water: Array
    """kg/m² in each part (years, n, parts)."""
    flows: Mapping[str, Array]
    """Sums over each interval (years, n), kg/m² or J/m²; see `kernel.FLOWS`."""
    thickness: Array
    """m of the parts; 0 for membranes."""
    density: Array
    """Dry density of the parts, kg/m³; NaN where there is none."""
    periodic_after: int | None
    """The first year that ended as it began; None: not reached."""
    years: int
    depth: Array
    """m from the room-side surface to the middle of each cell."""
    profile_temperature: Array
    """°C in each cell at the end."""
    profile_rh: Array
    profile_water: Array
    """kg/m³."""
    stored_change: Array
    """Water (kg/m²) and enthalpy (J/m²) stored, end less start."""
    steps: int
    rejected: int
    iterations: int
    state: Any
    """To go on from, for `simulate(start=…)`."""

    def moisture_content(self, part: int) -> Array:
        """Mean moisture content of a part by dry mass, kg/kg (years, n): of wood, its MC."""
        mass = self.thickness[part] * self.density[part]
        if not mass > 0:
            raise ValueError(f"layer {part} has no dry mass to relate its water to")
        return self.water[:, :, part] / mass

    def series(self, joint: int) -> tuple[Array, Array]:
        """Temperature (°C) and relative humidity (0–1) at a joint, all hours of all years in a row: what a
        mold index is computed from."""
        return self.temperature[:, :, joint].ravel(), np.minimum(self.rh[:, :, joint].ravel(), 1.0)

    def hours_above(self, joint: int, rh: float, temperature: float = -np.inf) -> Array:
        """Hours of each year with relative humidity above `rh` (0–1) while warmer than `temperature` (°C)."""
        over = (self.rh[:, :, joint] > rh) & (self.temperature[:, :, joint] > temperature)
        lengths = (
            np.diff(self.times, prepend=2 * self.times[0] - self.times[1]) if len(self.times) > 1 else 3600.0
        )
        return (over * lengths).sum(axis=1) / 3600.0

    def running_means(self, joint: int, days: int = 30) -> tuple[Array, Array]:
        """Means over each run of `days` of temperature (°C) and relative humidity (0–1) at a joint, over all
        years in a row; the hours must be hours."""
        t, rh = self.series(joint)
        return running_mean(t, 24 * days), running_mean(rh, 24 * days)

    def balance(self) -> tuple[float, float]:
        """What the water (kg/m²) and the enthalpy (J/m²) stored differ from what flowed in: zero but for
        round-off."""
        total = {name: float(v.sum()) for name, v in self.flows.items()}
        inflow = ("vapor from indoors", "vapor from outdoors", "rain", "vapor with air", "leaks")
        water = sum(total[k] for k in inflow) - total["runoff"] - total["drained"]
        heat = sum(
            total[k] for k in ("enthalpy from indoors", "enthalpy from outdoors", "enthalpy elsewhere")
        )
        heat -= total["sensible heat left out"]
        return float(self.stored_change[0]) - water, float(self.stored_change[1]) - heat
