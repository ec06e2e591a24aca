"""What acts on the two sides of a section: air, surfaces, ground, sun, sky and driving rain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from reviewer.physics.basics import KELVIN, STEFAN_BOLTZMANN, Array, within
from reviewer.physics.hourly.weather import HourlyWeather, plane_irradiance

LEWIS = 7.0e-9
"""Vapor transfer coefficient over convective heat transfer coefficient, (kg/(s·m²·Pa))/(W/(m²·K)) (Lewis;
EN 15026 gives the same figure; from memory)."""
RAIN_FACTOR = 0.2
"""kg·s/(m³·mm): driving rain on a wall for each mm/h of rain and m/s of wind towards it (ASHRAE 160-2016
section 4.6, from memory)."""
RAIN_EXPOSURE = {
    "sheltered": 0.7,
    "moderate": 1.0,
    "severe": 1.3,
}
"""Exposure factor F_E of walls up to 10 m high (ASHRAE 160-2016 section 4.6.1, from memory; higher walls get
more, up to 1.5)."""
RAIN_DEPOSITION = {"steep roof": 0.35, "low-slope roof": 0.5, "runoff": 1.0}
"""Deposition factor F_D of walls below a roof, or subject to runoff (ASHRAE 160-2016 section 4.6.2, from
memory)."""
LEAK_FRACTION = 0.01
"""Share of driving rain that gets past the cladding (ASHRAE 160-2016 section 4.6, from memory)."""
RAIN_ABOVE = 0.0
"""°C: precipitation in colder air is snow, which doesn't wet a wall."""


@dataclass(frozen=True, slots=True)
class AirBoundary:
    """Air at a surface. Each series is one number or one for each hour: temperatures, pressures and
    coefficients at the end of the hour (linear between), the others means over the hour."""

    temperature: ArrayLike
    """°C."""
    vapor_pressure: ArrayLike
    """Pa."""
    heat_transfer: ArrayLike
    """W/(m²·K): convection, and long-wave radiation too where `emissivity` is 0."""
    vapor_transfer: ArrayLike | None = None
    """kg/(s·m²·Pa); None: LEWIS × heat_transfer. Zero: nothing passes."""
    absorbed: ArrayLike = 0.0
    """Short-wave radiation absorbed, W/m²."""
    longwave_in: ArrayLike = 0.0
    """Long-wave radiation absorbed from sky and ground, W/m²."""
    emissivity: float = 0.0
    """Of the surface, for what it sends out."""
    water: ArrayLike = 0.0
    """Rain that arrives, kg/(m²·s). What the surface doesn't take up runs off."""

    @property
    def beta(self) -> ArrayLike:
        """The vapor transfer coefficient, kg/(s·m²·Pa)."""
        if self.vapor_transfer is None:
            return LEWIS * np.asarray(self.heat_transfer, dtype=float)
        return self.vapor_transfer


@dataclass(frozen=True, slots=True)
class SurfaceBoundary:
    """A surface whose temperature (°C) and relative humidity (0–1) are given; each one number or hourly."""

    temperature: ArrayLike
    rh: ArrayLike


def ground(temperature: ArrayLike) -> SurfaceBoundary:
    """Soil against the section: `temperature` in °C (one number or hourly), relative humidity 1.

    >>> ground(10.0).rh
    1.0
    """
    return SurfaceBoundary(temperature, 1.0)


def adiabatic(temperature: float = 20.0) -> AirBoundary:
    """A side through which neither heat nor vapor passes; `temperature` in °C has no effect.

    >>> adiabatic().heat_transfer
    0.0
    """
    return AirBoundary(temperature, 0.0, 0.0, 0.0)


def indoor_air(temperature: ArrayLike, vapor_pressure: ArrayLike, heat_transfer: float = 7.7) -> AirBoundary:
    """Room air: °C and Pa (one number or hourly). `heat_transfer` holds convection and radiation,
    1/0.13 m²·K/W for horizontal heat flow (ISO 6946); vapor passes by a convective share of 2.5 W/(m²·K).

    >>> f"{float(indoor_air(20.0, 1000.0).beta):.3g}"
    '1.75e-08'
    """
    return AirBoundary(temperature, vapor_pressure, heat_transfer, LEWIS * 2.5)


def driving_rain(
    weather: HourlyWeather,
    azimuth: float,
    exposure: float = 1.0,
    deposition: float = 0.35,
) -> Array:
    """Rain on a vertical wall that faces `azimuth` (degrees clockwise from north), kg/(m²·s), hourly.

    F_E·F_D·0.2·U·cos θ·rain, where the wind blows towards the wall and the air is above freezing.
    Source: ASHRAE 160-2016 section 4.6 (from memory). `exposure` F_E and `deposition` F_D as in RAIN_EXPOSURE
    and RAIN_DEPOSITION; both 0 to 2, else ValueError.
    """
    within("exposure factor", exposure, 0.0, 2.0)
    within("deposition factor", deposition, 0.0, 2.0)
    towards = np.maximum(np.cos(np.radians(weather.wind_direction - azimuth)), 0.0)
    liquid = np.where(weather.dry_bulb > RAIN_ABOVE, weather.rain, 0.0)
    return exposure * deposition * RAIN_FACTOR * weather.wind_speed * towards * liquid / 3600.0


def outdoor_air(
    weather: HourlyWeather,
    azimuth: float,
    tilt: float = 90.0,
    *,
    absorptance: float = 0.6,
    emissivity: float = 0.9,
    rain: ArrayLike = 0.0,
    ground_reflectance: float = 0.2,
) -> AirBoundary:
    """Outdoor conditions at a surface that faces `azimuth` (degrees clockwise from north), tilted by `tilt`
    (0 faces up, 90 is a wall).

    Convection 4 + 4·v W/(m²·K) (ISO 6946 annex C, from memory); sun by `plane_irradiance`; long-wave
    radiation from the sky over the share (1 + cos tilt)/2 of the view, and from ground at air temperature.
    `rain` in kg/(m²·s) is what arrives, as from `driving_rain`.
    """
    within("absorptance", absorptance, 0.0, 1.0)
    within("emissivity", emissivity, 0.0, 1.0)
    sun = plane_irradiance(weather, azimuth, tilt, ground_reflectance)
    sky_view = 0.5 * (1.0 + np.cos(np.radians(tilt)))
    around = STEFAN_BOLTZMANN * (weather.dry_bulb + KELVIN) ** 4
    return AirBoundary(
        temperature=weather.dry_bulb,
        vapor_pressure=weather.vapor_pressure,
        heat_transfer=4.0 + 4.0 * weather.wind_speed,
        absorbed=absorptance * sun,
        longwave_in=emissivity * (sky_view * weather.longwave_sky + (1.0 - sky_view) * around),
        emissivity=emissivity,
        water=rain,
    )
