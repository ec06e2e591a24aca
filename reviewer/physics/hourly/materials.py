"""Moisture storage and transport functions of materials (EN 15026), and their tables for the solver.

Storage and liquid transport are functions of suction alone. Storage is given as a sorption curve, water
content by relative humidity at the reference temperature of 23 °C; at another temperature T the same water
content belongs to the relative humidity RH^(296.15 K/T), the same suction (Kelvin's equation).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from reviewer.physics.basics import R_VAPOR, Array, within

Points: TypeAlias = Sequence[tuple[float, float]]

REFERENCE_TEMPERATURE = 23.0
"""°C, of sorption curves and vapor permeabilities."""
WATER_DENSITY = 1000.0
"""kg/m³."""
AIR_PERMEABILITY = 2.0e-10
"""Vapor permeability of still air, kg/(s·m·Pa) (ISO 13788)."""
FILM = 0.1
"""kg/m² that a face holds as film or drops before water runs off it. Common practice, no published source;
EN ISO 13788 and handbooks let drops run from a few tens to two hundred grams."""
TIGHT = 1.0e-18
"""kg/(s·m·Pa), or kg/(s·m²·Pa) of a membrane: taken for zero, so that every node stays determinate."""

MOST_UPTAKE = 0.01
"""m/s½, the highest A-value over free saturation: a front that goes 0.6 m in the first hour. Calcium silicate
board, among the fastest of building materials, has about a sixth of that (common practice)."""


def _check(what: str, points: Points, low: float, high: float, least: float, rising: bool = False) -> Array:
    a = np.asarray(points, dtype=float).reshape(-1, 2)
    if len(a) == 0:
        return a
    if not np.isfinite(a).all():
        raise ValueError(f"{what}: every number must be finite")
    if (np.diff(a[:, 0]) <= 0).any() or a[0, 0] < low or a[-1, 0] > high:
        raise ValueError(
            f"{what}: the first numbers must rise from point to point, within {low:g} to {high:g}"
        )
    if (a[:, 1] < least).any() or (rising and (np.diff(a[:, 1]) < 0).any()):
        raise ValueError(
            f"{what}: the second numbers must be {'rising and ' if rising else ''}at least {least:g}"
        )
    return a


def _tuples(points: Points) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in points)


@dataclass(frozen=True, slots=True)
class HygroMaterial:
    """What the simulation needs to know of a porous material. SI, values at about 23 °C.

    Raises ValueError where the data contradict one another.
    """

    density: float
    """Dry, kg/m³."""
    heat_capacity: float
    """Dry, J/(kg·K)."""
    conductivity: float
    """Dry thermal conductivity, W/(m·K)."""
    permeability: Points
    """(RH 0–1, vapor permeability kg/(s·m·Pa)): one point is a constant; two points at the mean humidities of
    the dry cup (0.25) and the wet cup (0.75) describe most materials. Linear between, constant beyond."""
    sorption: Points = ()
    """(RH 0–1, kg of water per m³ of material), adsorption, (0, 0) implied. Empty: nothing is stored below
    saturation."""
    free_saturation: float | None = None
    """kg/m³ after free uptake of water. None: the last point of `sorption` continued by `free_water`."""
    max_moisture: float | None = None
    """kg/m³ with all pores full (porosity × 1000). None: a tenth above free saturation, and never less than
    1 kg/m³ above it."""
    conductivity_supplement: float = 0.0
    """W/(m·K) more for each kg/m³ of water."""
    water_absorption: float | None = None
    """A-value, kg/(m²·s½): liquid transport by `liquid_diffusivity`. None: no liquid transport, unless a
    curve below gives it."""
    liquid_diffusivity: Points = ()
    """(kg/m³, m²/s): liquid diffusivity D_w by water content, instead of the A-value. Log-linear between."""
    liquid_conductivity: Points = ()
    """(suction Pa, s): liquid conductivity K by suction, instead of the A-value; liquid flux is K times the
    gradient of suction. Log-log between, constant beyond."""

    def __post_init__(self) -> None:
        for name in ("permeability", "sorption", "liquid_diffusivity", "liquid_conductivity"):
            object.__setattr__(self, name, _tuples(getattr(self, name)))
        for what, number, least in (
            ("density", self.density, 0.0),
            ("heat capacity", self.heat_capacity, 0.0),
            ("conductivity", self.conductivity, 0.0),
        ):
            if not (np.isfinite(number) and number > least):
                raise ValueError(f"{what} of {number:g} must be a positive number")
        if not (np.isfinite(self.conductivity_supplement) and self.conductivity_supplement >= 0):
            raise ValueError("the moisture supplement of conductivity must not be negative")
        if len(_check("permeability", self.permeability, 0.0, 1.0, 0.0)) == 0:
            raise ValueError("permeability: at least one point is needed")
        points = _check("sorption", self.sorption, 0.0, 1.0, 0.0, rising=True)
        full = self.free_saturation
        if full is not None and not (np.isfinite(full) and full >= (points[-1, 1] if len(points) else 0.0)):
            raise ValueError(
                f"free saturation of {full:g} kg/m³ is below the last point of the sorption curve"
            )
        if self.max_moisture is not None and not (
            np.isfinite(self.max_moisture) and self.max_moisture >= self.saturation
        ):
            raise ValueError(f"maximum moisture of {self.max_moisture:g} kg/m³ is below free saturation")
        given = [
            bool(self.water_absorption),
            len(self.liquid_diffusivity) > 0,
            len(self.liquid_conductivity) > 0,
        ]
        if sum(given) > 1:
            raise ValueError(
                "liquid transport is given by one of A-value, diffusivity and conductivity, not two"
            )
        if self.water_absorption is not None and not 0 <= self.water_absorption < 10:
            raise ValueError(f"A-value of {self.water_absorption:g} kg/(m²·s½) is outside 0 to 10")
        if self.water_absorption and not self.water_absorption <= MOST_UPTAKE * self.saturation:
            raise ValueError(
                f"an A-value of {self.water_absorption:g} kg/(m²·s½) is too much for a free saturation of "
                f"{self.saturation:g} kg/m³"
            )
        _check("liquid diffusivity", self.liquid_diffusivity, 0.0, np.inf, 1e-30)
        _check("liquid conductivity", self.liquid_conductivity, 0.0, np.inf, 1e-40)

    @property
    def saturation(self) -> float:
        """Free saturation, kg/m³."""
        if self.free_saturation is not None:
            return self.free_saturation
        points = np.asarray(self.sorption, dtype=float).reshape(-1, 2)
        if len(points) == 0:
            return 0.0
        return float(points[-1, 1]) if points[-1, 0] == 1.0 else float(2.0 * points[-1, 1])

    @property
    def full(self) -> float:
        """Water content with all pores full, kg/m³."""
        if self.max_moisture is not None:
            return self.max_moisture
        return self.saturation + max(1.0, 0.1 * self.saturation)

    def water_content(self, rh: ArrayLike) -> Array:
        """Moisture content in kg/m³ in equilibrium with relative humidity `rh` (0–1) at 23 °C: linear
        between the points of the sorption curve, above the last one by `free_water` up to free saturation.

        >>> wood = HygroMaterial(500, 1600, 0.13, [(0.5, 1e-11)], [(0.5, 45.0), (0.8, 80.0)], 300.0)
        >>> wood.water_content([0.25, 0.8, 1.0]).round(1).tolist()
        [22.5, 80.0, 300.0]
        """
        h = np.asarray(rh, dtype=float)
        if not np.all((h >= 0) & (h <= 1)):
            raise ValueError("relative humidity lies between 0 and 1")
        points = np.asarray(self.sorption, dtype=float).reshape(-1, 2)
        if len(points) == 0:
            points = np.array([[0.0, 0.0], [0.999, 0.0]])
        elif points[0, 0] > 0:
            points = np.vstack([[0.0, 0.0], points])
        last, most = points[-1], self.saturation
        w = np.interp(h, points[:, 0], points[:, 1])
        beyond = h > last[0]
        if beyond.any():
            w = np.where(beyond, free_water(np.where(beyond, h, 1.0), last[0], last[1], most), w)
        return w


def free_water(rh: ArrayLike, rh_known: float, water_known: float, saturation: float) -> Array:
    """Moisture content in kg/m³ between the last known point of a sorption curve and free saturation.

    w = w_f·(b − 1)·φ/(b − φ), b from the known point; where that point lies on or above the straight line
    to (1, w_f), that line. Source: H. M. Künzel, Simultaneous heat and moisture transport in building
    components, 1995, equation 5 (from memory).
    Shape: that of `rh` (0–1, at 23 °C).

    >>> free_water([0.8, 0.95, 1.0], 0.8, 80.0, 300.0).round(1).tolist()
    [80.0, 190.0, 300.0]
    """
    h = np.asarray(rh, dtype=float)
    room = saturation * rh_known - water_known
    if water_known <= 0 or room <= 1e-9 * saturation:
        share = (h - rh_known) / (1.0 - rh_known)
        return water_known + (saturation - water_known) * share
    b = rh_known * (saturation - water_known) / room
    return saturation * (b - 1.0) * h / (b - h)


def liquid_diffusivity(water: ArrayLike, water_absorption: float, saturation: float) -> Array:
    """Liquid diffusivity D_w in m²/s at moisture content `water` in kg/m³ (up to free saturation).

    D_w = 3.8·(A/w_f)²·1000^(w/w_f − 1). Source: H. M. Künzel, 1995, equation 20 (from memory), for
    capillary uptake; redistribution without contact to liquid water is slower, so wetting is on the careful
    side and drying slightly optimistic.

    >>> f"{liquid_diffusivity(200.0, 0.1, 200.0):.3g}"
    '9.5e-07'
    """
    w = np.clip(np.asarray(water, dtype=float), 0.0, saturation)
    return 3.8 * (water_absorption / saturation) ** 2 * 1000.0 ** (w / saturation - 1.0)


def suction(rh: ArrayLike, temperature: ArrayLike = REFERENCE_TEMPERATURE) -> Array:
    """Suction in Pa in equilibrium with relative humidity `rh` (0–1) at `temperature` (°C).

    Kelvin's equation p_suc = −ρ_w·R_v·T·ln φ (EN 15026 equation 7, from memory). Shapes broadcast.

    >>> round(float(suction(0.5, 20.0)) / 1e6, 1)
    93.8
    """
    t = np.asarray(temperature, dtype=float) + 273.15
    return -WATER_DENSITY * R_VAPOR * t * np.log(np.asarray(rh, dtype=float))


def humidity_of_suction(pressure: ArrayLike, temperature: ArrayLike = REFERENCE_TEMPERATURE) -> Array:
    """Relative humidity (0–1) in equilibrium with suction `pressure` in Pa at `temperature` (°C): the inverse
    of `suction`.

    >>> round(float(humidity_of_suction(93.8e6, 20.0)), 3)
    0.5
    """
    t = np.asarray(temperature, dtype=float) + 273.15
    return np.exp(-np.asarray(pressure, dtype=float) / (WATER_DENSITY * R_VAPOR * t))


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer of a porous material."""

    material: HygroMaterial
    thickness: float
    """m."""
    cells: tuple[float, ...] = ()
    """Cell widths from the room outwards, m; empty: by `grid.cell_widths`."""

    def __post_init__(self) -> None:
        within("thickness of a layer", self.thickness, 1e-5, 1000.0, "m")
        object.__setattr__(self, "cells", tuple(float(c) for c in self.cells))
        if self.cells and (min(self.cells) <= 0 or abs(sum(self.cells) / self.thickness - 1) > 1e-9):
            raise ValueError("cell widths must be positive and add up to the thickness of the layer")

    @property
    def capillary(self) -> bool:
        """Liquid water moves in it."""
        m = self.material
        return bool(m.water_absorption) or len(m.liquid_diffusivity) > 0 or len(m.liquid_conductivity) > 0


@dataclass(frozen=True, slots=True)
class Membrane:
    """A layer without storage: sheet, coating, or facing."""

    permeance: Points
    """(RH 0–1, vapor permeance kg/(s·m²·Pa)); one point is a constant."""
    resistance: float = 0.0
    """Thermal resistance, m²·K/W."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "permeance", _tuples(self.permeance))
        if len(_check("permeance", self.permeance, 0.0, 1.0, 0.0)) == 0:
            raise ValueError("permeance: at least one point is needed")
        within("thermal resistance of a membrane", self.resistance, 0.0, 100.0, "m²·K/W")


@dataclass(frozen=True, slots=True)
class AirSpace:
    """An air space, ventilated or not: one cell of air and what its faces hold."""

    thickness: float
    """m."""
    resistance: float
    """Thermal resistance of the space, m²·K/W (ISO 6946 table 2, unventilated)."""
    air_changes: float | Sequence[float] = 0.0
    """Exchange with outdoor air, 1/h; one number, or one for each hour."""

    def __post_init__(self) -> None:
        within("thickness of an air space", self.thickness, 1e-4, 10.0, "m")
        within("thermal resistance of an air space", self.resistance, 1e-4, 10.0, "m²·K/W")
        within("air changes", self.air_changes, 0.0, 1e5, "1/h")


Part: TypeAlias = Layer | Membrane | AirSpace
AirSide: TypeAlias = Literal["indoors", "outdoors"]


def moisture_grid() -> tuple[Array, Array, Array]:
    """The moisture coordinate u of the tables, the relative humidity at 23 °C and the suction (Pa) there."""
    from reviewer.physics.hourly import kernel

    u = np.linspace(0.0, kernel.TOP, kernel.INTERVALS + 1)
    per = WATER_DENSITY * R_VAPOR * kernel.REFERENCE
    log_h = np.array([kernel.suction(max(float(x), 1e-12))[0] for x in u])
    log_h[u > kernel.SATURATED - 1e-9] = 0.0
    return u, np.exp(-np.maximum(log_h, 0.0)), per * np.maximum(log_h, 0.0)


def coordinate(rh: ArrayLike, temperature: ArrayLike) -> Array:
    """The moisture coordinate u of relative humidity `rh` (0–1) at `temperature` (°C). Shapes broadcast.

    >>> coordinate([0.5, 1.0], 23.0).round(3).tolist()
    [0.5, 1.808]
    """
    from reviewer.physics.hourly import kernel

    exponent = (np.asarray(temperature, dtype=float) + 273.15) / kernel.REFERENCE
    h = np.clip(np.asarray(rh, dtype=float), kernel.DRIEST, 1.0) ** exponent
    wet = -np.log(-np.log(np.maximum(h, kernel.SWITCH)) + kernel.SMALL)
    return np.where(h <= kernel.SWITCH, h, kernel.SWITCH + kernel.SCALE * (wet - kernel.START))


def table(part: Part) -> tuple[Array, float, float]:
    """The solver's table of a layer, shape (n, 3): moisture content (kg/m³), liquid potential (the
    integral of liquid conductivity over suction, kg/(m·s)) and vapor permeability (a membrane: permeance);
    with its dry conductivity and moisture supplement.
    """
    from reviewer.physics.hourly import kernel

    u, h, psuc = moisture_grid()
    beyond = np.clip((u - kernel.SATURATED) / (kernel.TOP - kernel.SATURATED), 0.0, 1.0)
    out = np.zeros((len(u), 3))
    if isinstance(part, Membrane):
        curve = np.asarray(part.permeance)
        out[:, 2] = np.maximum(np.interp(h, curve[:, 0], curve[:, 1]), TIGHT)
        return out, 1.0, 0.0
    if isinstance(part, AirSpace):
        # Vapor in saturated air at 20 °C, and a film that gathers on the faces before it runs off.
        out[:, 0] = 0.0173 * h + FILM / part.thickness * beyond
        out[:, 2] = AIR_PERMEABILITY * max(1.0, part.thickness / 0.01)
        return out, part.thickness / part.resistance, 0.0
    m = part.material
    w = m.water_content(h)
    # A trace of storage keeps every cell determinate: 1 mg/m³ for each percent of humidity.
    out[:, 0] = w + 1e-4 * u + (m.full - m.saturation) * beyond
    curve = np.asarray(m.permeability, dtype=float).reshape(-1, 2)
    out[:, 2] = np.maximum(np.interp(h, curve[:, 0], curve[:, 1]), TIGHT)
    if m.water_absorption:
        full = m.saturation
        out[:, 1] = liquid_diffusivity(w, m.water_absorption, full) * full / np.log(1000.0)
    elif len(m.liquid_diffusivity):
        d = np.asarray(m.liquid_diffusivity, dtype=float)
        mid = 0.5 * (w[1:] + w[:-1])
        out[1:, 1] = np.cumsum(np.exp(np.interp(mid, d[:, 0], np.log(d[:, 1]))) * np.diff(w))
    elif len(m.liquid_conductivity):
        d = np.asarray(m.liquid_conductivity, dtype=float)
        fine = np.maximum(psuc, 1.0)
        mid = np.sqrt(fine[1:] * fine[:-1])
        x = np.log(np.maximum(d[:, 0], 1.0))
        out[1:, 1] = np.cumsum(np.exp(np.interp(np.log(mid), x, np.log(d[:, 1]))) * -np.diff(psuc))
    return out, m.conductivity, m.conductivity_supplement


def film_table() -> Array:
    """The table of a face: the share, 0 to 1, of the film that it can hold."""
    from reviewer.physics.hourly import kernel

    u = moisture_grid()[0]
    out = np.zeros((len(u), 3))
    out[:, 0] = np.clip((u - kernel.SATURATED + 0.1) / 0.1, 0.0, 1.0)
    out[:, 2] = TIGHT
    return out
