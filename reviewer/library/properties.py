"""What a material does at a given temperature or humidity: pure functions of its row, SI.

Vapor properties of organic materials rise with the humidity around them. A cup test averages that
rise over the humidity across the specimen: 0 and 50 % RH in the dry cup, 50 and 100 % in the wet
cup (ASTM E96, ISO 12572), so their results stand for the means, 25 % and 75 %.
"""

from __future__ import annotations

from typing import overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reviewer.library.types import Curve, Material

DRY_CUP = 0.25
WET_CUP = 0.75
"""Mean relative humidity across the specimen in the dry and the wet cup."""

Array = NDArray[np.float64]


@overload
def conductivity_at(material: Material, mean_temperature: float) -> float | None: ...
@overload
def conductivity_at(material: Material, mean_temperature: Array) -> Array | None: ...
def conductivity_at(material: Material, mean_temperature: float | Array) -> float | Array | None:
    """Thermal conductivity in W/(m·K) at `mean_temperature` in °C; None when it is unknown.

    Shape: that of `mean_temperature`. Linear between the points of the material's curve and constant
    beyond its ends; a material without a curve has one conductivity.

    >>> from reviewer.library.materials import load_materials
    >>> foam = load_materials()["polyisocyanurate board"]
    >>> conductivity_at(foam, -5.0) > conductivity_at(foam, 20.0)
    True

    Raises ValueError: a temperature that is not a number.
    """
    t = np.asarray(mean_temperature, dtype=float)
    if np.isnan(t).any():
        raise ValueError("conductivity needs a mean temperature, not NaN")
    if material.conductivity_by_temperature:
        return _like(mean_temperature, _along(material.conductivity_by_temperature, t))
    if material.conductivity is None:
        return None
    return _like(mean_temperature, np.full(t.shape, material.conductivity))


@overload
def permeance(material: Material, thickness: float | None, rh: float) -> float | None: ...
@overload
def permeance(material: Material, thickness: float | None, rh: Array) -> Array | None: ...
def permeance(material: Material, thickness: float | None, rh: float | Array) -> float | Array | None:
    """Vapor permeance in kg/(s·m²·Pa) of a layer `thickness` m thick at mean relative humidity `rh` (0–1).

    Shape: that of `rh`. A material with a curve follows it, constant beyond its ends; else the dry-cup
    value holds up to 25 % RH, the wet-cup value from 75 %, linear between (see the module's head). A
    product whose permeance is given as it comes (sheets, coatings, faced boards) keeps it whatever the
    thickness; else the permeability is divided by `thickness`, or by the usual thickness when it is None.
    None when nothing is known of the material, or its thickness is needed and unknown.

    >>> from reviewer.library.materials import load_materials
    >>> from reviewer.units import PERM
    >>> osb = load_materials()["oriented strand board"]
    >>> [round(permeance(osb, 0.0111125, rh) / PERM, 2) for rh in (0.25, 0.75)]
    [0.75, 2.0]
    >>> permeance(osb, 0.0111125, np.array([[0.2, 0.5]])).shape
    (1, 2)

    Raises ValueError: a relative humidity outside 0–1, or a thickness that is not positive.
    """
    h = _humidity(rh)
    divisor = 1.0
    if material.permeability_dry is not None:
        dry, wet = material.permeability_dry, material.permeability_wet
        depth = material.thickness if thickness is None else thickness
        if depth is None:
            return None
        if not depth > 0.0:
            raise ValueError("a layer's thickness must be above zero")
        divisor = depth
    else:
        dry, wet = material.permeance_dry, material.permeance_wet
    if dry is None or wet is None:
        return None
    curve = material.vapor_by_rh or ((DRY_CUP, dry), (WET_CUP, wet))
    return _like(rh, _along(curve, h) / divisor)


@overload
def sorption_at(material: Material, rh: float) -> float | None: ...
@overload
def sorption_at(material: Material, rh: Array) -> Array | None: ...
def sorption_at(material: Material, rh: float | Array) -> float | Array | None:
    """Moisture content in kg/kg of dry material in equilibrium with air at `rh` (0–1), adsorption.

    Shape: that of `rh`. Linear between the points of the curve; above its last point (95–100 % RH)
    constant, because capillary storage beyond is not sorption. None when no curve is known.

    >>> from reviewer.library.materials import load_materials
    >>> round(sorption_at(load_materials()["spruce"], 0.8), 3)
    0.16

    Raises ValueError: a relative humidity outside 0–1.
    """
    h = _humidity(rh)
    return _like(rh, _along(material.sorption, h)) if material.sorption else None


def _humidity(rh: ArrayLike) -> Array:
    h = np.asarray(rh, dtype=float)
    if not np.all((h >= 0.0) & (h <= 1.0)):
        raise ValueError("relative humidity must lie between 0 and 1")
    return h


def _along(curve: Curve, x: Array) -> Array:
    xs, ys = zip(*curve, strict=True)
    return np.interp(x, xs, ys)


def _like(given: float | Array, result: Array) -> float | Array:
    return result if isinstance(given, np.ndarray) else float(result)
