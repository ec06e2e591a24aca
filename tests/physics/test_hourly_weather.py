"""Synthetic weather against its monthly means and limits; sun against pvlib (an independent library)."""

from __future__ import annotations

from functools import cache

import numpy as np
import pandas as pd
import pvlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.humidity import saturation_pressure
from reviewer.physics.hourly.boundary import RAIN_FACTOR, driving_rain, outdoor_air
from reviewer.physics.hourly.weather import (
    HOURS,
    HourlyWeather,
    diffuse_fraction,
    monthly_means,
    plane_irradiance,
    smooth_year,
    sun_position,
    synthetic_year,
)

# Roughly a cold continental place; invented round figures.
TEMPERATURE = (-12.0, -9, -3, 4, 10, 15, 19, 18, 13, 6, -1, -9)
VAPOR = (200.0, 240, 390, 560, 840, 1200, 1500, 1450, 1100, 720, 450, 270)
SOLAR = (60.0, 100, 150, 190, 220, 240, 240, 200, 145, 95, 60, 48)
RAIN = (30.0, 25, 50, 60, 80, 105, 100, 90, 100, 70, 55, 35)
WIND = (4.5,) * 12


@cache
def year(seed: int = 1) -> HourlyWeather:
    return synthetic_year(46.8, -92.1, TEMPERATURE, VAPOR, SOLAR, RAIN, WIND, seed)


def test_monthly_means_are_kept_to_round_off() -> None:
    w = year()
    hours = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) * 24
    assert monthly_means(w.dry_bulb) == pytest.approx(TEMPERATURE, abs=1e-10)
    assert monthly_means(w.vapor_pressure) == pytest.approx(VAPOR, rel=1e-10)
    assert monthly_means(w.ghi) == pytest.approx(SOLAR, rel=1e-10)
    assert monthly_means(w.rain) * hours == pytest.approx(RAIN, rel=1e-10)
    assert monthly_means(w.wind_speed) == pytest.approx(WIND, rel=1e-10)


@settings(max_examples=15, deadline=None, derandomize=True)
@given(st.floats(-55, 60), st.floats(-170, 170), st.floats(-5, 25), st.floats(0, 18), st.integers(0, 99))
def test_any_place_keeps_its_means_and_stays_below_saturation(
    latitude: float, longitude: float, mean: float, swing: float, seed: int
) -> None:
    t = mean - swing * np.cos(2 * np.pi * (np.arange(12) + 0.5) / 12)
    p = 0.6 * saturation_pressure(t)
    w = synthetic_year(latitude, longitude, t, p, None, np.full(12, 60.0), None, seed)
    assert monthly_means(w.dry_bulb) == pytest.approx(t, abs=1e-9)
    assert monthly_means(w.vapor_pressure) == pytest.approx(p, rel=1e-9)
    assert (w.vapor_pressure <= saturation_pressure(w.dry_bulb) * (1 + 1e-9)).all()
    assert min(w.ghi.min(), w.dni.min(), w.dhi.min(), w.rain.min()) >= 0.0
    assert w.dni.max() < 1367.0 * 1.04


def test_the_same_seed_gives_the_same_year_and_another_another() -> None:
    again = synthetic_year(46.8, -92.1, TEMPERATURE, VAPOR, SOLAR, RAIN, WIND, 1)
    assert np.array_equal(year().dry_bulb, again.dry_bulb)
    assert np.array_equal(year().rain, again.rain)
    assert not np.array_equal(year().dry_bulb, year(2).dry_bulb)


def test_one_series_does_not_depend_on_whether_another_is_known() -> None:
    without = synthetic_year(46.8, -92.1, TEMPERATURE, VAPOR, SOLAR, None, WIND, 1)
    assert np.array_equal(without.wind_speed, year().wind_speed)
    assert not without.rain.any()


def test_days_are_warmest_in_the_afternoon_and_differ_from_one_another() -> None:
    by_hour = year().dry_bulb.reshape(365, 24).mean(axis=0)
    assert 13 <= by_hour.argmax() + 1 <= 16
    assert 3.0 < by_hour.max() - by_hour.min() < 16.0
    daily = year().dry_bulb.reshape(365, 24).mean(axis=1) - smooth_year(TEMPERATURE).reshape(365, 24).mean(
        axis=1
    )
    assert 2.0 < daily.std() < 7.0
    assert 0.4 < np.corrcoef(daily[1:], daily[:-1])[0, 1] < 0.9


def test_means_that_no_weather_can_have_are_refused() -> None:
    with pytest.raises(ValueError, match="vapor pressure"):
        synthetic_year(46.8, -92.1, TEMPERATURE, np.full(12, 3000.0))
    with pytest.raises(ValueError, match="solar radiation"):
        synthetic_year(46.8, -92.1, TEMPERATURE, VAPOR, np.full(12, 400.0))
    with pytest.raises(ValueError, match="twelve"):
        synthetic_year(46.8, -92.1, TEMPERATURE[:11], VAPOR)


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"), [(46.8, -92.1, -6), (25.8, -80.3, -5), (-33.9, 151.2, 10)]
)
def test_sun_position_agrees_with_pvlib(latitude: float, longitude: float, zone: int) -> None:
    times = pd.date_range("2001-01-01 00:30", periods=HOURS, freq="h", tz=f"Etc/GMT{-zone:+d}")
    solar = pvlib.solarposition.get_solarposition(times, latitude, longitude, method="nrel_numpy")
    day, hour = np.arange(HOURS) // 24 + 1, np.arange(HOURS) % 24 + 0.5
    cosine, azimuth = sun_position(day, hour, latitude, longitude, zone)
    expected = np.cos(np.radians(solar["zenith"].to_numpy()))
    # The declination of a mean year: within 0.5° of arc, near solstice and equinox.
    assert np.abs(cosine - expected).max() < np.radians(0.6)
    up = (expected > 0.1) & (expected < 0.95)
    turn = (azimuth - solar["azimuth"].to_numpy() + 180.0) % 360.0 - 180.0
    assert np.abs(turn[up]).max() < 2.0


def test_diffuse_share_agrees_with_pvlib() -> None:
    zenith, times = np.full(99, 30.0), np.full(99, 100)
    k = np.linspace(0.02, 0.99, 99)
    extra = pvlib.irradiance.get_extra_radiation(100, method="spencer", solar_constant=1366.1)
    ghi = k * extra * np.cos(np.radians(30.0))
    found = pvlib.irradiance.erbs(ghi, zenith, times)["dhi"] / ghi
    assert diffuse_fraction(k) == pytest.approx(found, abs=0.01)


@pytest.mark.parametrize(("azimuth", "tilt"), [(180.0, 90.0), (90.0, 90.0), (0.0, 90.0), (180.0, 30.0)])
def test_irradiance_of_a_plane_agrees_with_pvlib(azimuth: float, tilt: float) -> None:
    w = year()
    times = pd.date_range("2001-01-01 00:30", periods=HOURS, freq="h", tz="Etc/GMT+6")
    solar = pvlib.solarposition.get_solarposition(times, w.latitude, w.longitude)
    total = pvlib.irradiance.get_total_irradiance(
        tilt, azimuth, solar["zenith"], solar["azimuth"], w.dni, w.ghi, w.dhi, albedo=0.2, model="isotropic"
    )["poa_global"].fillna(0.0)
    found = plane_irradiance(w, azimuth, tilt)
    assert found.mean() == pytest.approx(total.mean(), rel=0.02)
    # Hours of sunrise and sunset: the mean over the hour against its middle.
    assert np.abs(found - total.to_numpy()).mean() < 3.0


def test_driving_rain_is_what_the_wind_brings_to_the_wall() -> None:
    w = year()
    wall = driving_rain(w, 180.0, 1.0, 0.5)
    k = int(np.argmax(wall))
    towards = np.cos(np.radians(w.wind_direction[k] - 180.0))
    assert wall[k] * 3600 == pytest.approx(0.5 * RAIN_FACTOR * w.wind_speed[k] * towards * w.rain[k])
    assert not wall[w.dry_bulb <= 0.0].any()
    assert not wall[np.cos(np.radians(w.wind_direction - 180.0)) <= 0].any()


def test_outdoor_air_holds_sun_sky_and_wind() -> None:
    w = year()
    south, roof = outdoor_air(w, 180.0), outdoor_air(w, 180.0, 0.0)
    assert np.asarray(south.heat_transfer) == pytest.approx(4.0 + 4.0 * w.wind_speed)
    assert np.asarray(roof.absorbed).mean() == pytest.approx(0.6 * w.ghi.mean(), rel=0.02)
    assert np.asarray(roof.longwave_in).mean() < np.asarray(south.longwave_in).mean()


def test_weather_of_unequal_series_is_refused() -> None:
    w = year()
    with pytest.raises(ValueError, match="whole days"):
        HourlyWeather(
            w.dry_bulb[:-1], w.vapor_pressure, w.ghi, w.dni, w.dhi, w.longwave_sky, w.wind_speed,
            w.wind_direction, w.rain, 0.0, 0.0, 0.0,
        )  # fmt: skip
