"""The table's climates against typical meteorological years that ship with pvlib (NREL TMY2 and TMY3, certainty: seen).

A typical year is made of single months picked from a record; the table holds means of about forty years. What may
differ: a month's mean temperature by the spread of that month from year to year (standard deviation about 2 K in
winter, 1 K in summer in the eastern United States), vapor pressure by the same and by the mean dew point running low.
"""

from __future__ import annotations

import warnings
from functools import lru_cache
from pathlib import Path

import numpy as np
import pvlib
import pytest

from reviewer.humidity import saturation_pressure
from reviewer.library.places import climate_for, climate_for_zone, find_place

DATA = Path(pvlib.__file__).parent / "data"
MIAMI, GREENSBORO, SAND_POINT = "12839.tm2", "723170TYA.CSV", "703165TY.csv"


def over_water(t: np.ndarray) -> np.ndarray:
    return 610.5 * np.exp(17.269 * t / (237.3 + t))


@lru_cache(maxsize=3)
def typical(name: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Monthly means of temperature, vapor pressure (mean of hourly) and global horizontal irradiance."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if name.endswith("tm2"):
            frame, _ = pvlib.iotools.read_tmy2(DATA / name)
            t, dew, sun = frame["DryBulb"] / 10.0, frame["DewPoint"] / 10.0, frame["GHI"]
        else:
            frame, _ = pvlib.iotools.read_tmy3(DATA / name, map_variables=True)
            t, dew, sun = frame["temp_air"], frame["temp_dew"], frame["ghi"]
    month = frame.index.month.to_numpy()
    vapor = np.minimum(over_water(dew.to_numpy()), saturation_pressure(t.to_numpy()))
    columns = (t.to_numpy(), vapor, sun.to_numpy(dtype=float))
    return tuple(np.array([c[month == m].mean() for m in range(1, 13)]) for c in columns)  # pyright: ignore


@pytest.mark.parametrize(("place", "name"), [("Miami, FL", MIAMI), ("Greensboro, NC", GREENSBORO)])
def test_temperatures_are_those_of_the_typical_year(place: str, name: str):
    # 4 K a month is two standard deviations of a winter month; 1 K over the year.
    d = np.array(climate_for(find_place(place)).temperature) - typical(name)[0]
    assert np.abs(d).max() < 4.0
    assert np.abs(d[4:9]).max() < 1.5
    assert abs(d.mean()) < 1.0


@pytest.mark.parametrize(("place", "name"), [("Miami, FL", MIAMI), ("Greensboro, NC", GREENSBORO)])
def test_vapor_pressure_is_that_of_the_typical_year_within_the_bias_that_is_stated(place: str, name: str):
    ratio = np.array(climate_for(find_place(place)).vapor_pressure) / typical(name)[1]
    assert ratio.min() > 0.75
    assert ratio.max() < 1.10
    assert 0.85 < ratio.mean() < 1.03


@pytest.mark.parametrize(("place", "name"), [("Miami, FL", MIAMI), ("Greensboro, NC", GREENSBORO)])
def test_solar_radiation_is_that_of_the_typical_year(place: str, name: str):
    # Different decades and instruments: 10 % a month, 6 % over the year.
    solar = climate_for(find_place(place)).solar
    assert solar is not None
    ratio = np.array(solar) / typical(name)[2]
    assert np.abs(ratio - 1).max() < 0.10
    assert abs(ratio.mean() - 1) < 0.06


def test_the_row_made_from_a_typical_year_is_its_monthly_mean():
    climate = climate_for(find_place("Sand Point, AK"))
    t, vapor, sun = typical(SAND_POINT)
    assert np.abs(np.array(climate.temperature) - t).max() < 0.06  # rounding to 0.1 K
    # The row weighs hours below 0 °C over ice, the dew points here are over water: at most 3 % apart.
    assert np.abs(np.array(climate.vapor_pressure) / vapor - 1).max() < 0.035
    assert climate.solar is not None
    assert np.abs(np.array(climate.solar) - sun).max() < 0.6  # rounding to 1 W/m²


@pytest.mark.parametrize("name", [GREENSBORO, SAND_POINT])
def test_the_mean_dew_point_gives_less_than_the_mean_of_hourly_vapor_pressure(name: str):
    """The bias that the climates' assumption states: 1 to 15 % by month, about 7 % on average."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        frame, _ = pvlib.iotools.read_tmy3(DATA / name, map_variables=True)
    dew, month = frame["temp_dew"].to_numpy(), frame.index.month.to_numpy()
    ratio = [over_water(dew[month == m].mean()) / over_water(dew[month == m]).mean() for m in range(1, 13)]
    assert min(ratio) > 0.84
    assert max(ratio) < 1.0
    assert 0.91 < np.mean(ratio) < 0.98


# Thirty- to forty-year means, USDA-ARS CLIGEN 2015 station parameter files (certainty: seen): zone, station, monthly mean
# temperature in °C, vapor pressure in Pa at the mean dew point (over ice below 0 °C), solar in W/m².
CLIGEN = [
    ("2A", "tx414307",
     [11.98, 13.9, 17.51, 21.01, 24.94, 27.85, 28.79, 29.01, 26.69, 22.06, 17.02, 13.01],
     [977, 1095, 1369, 1701, 2249, 2668, 2849, 2826, 2409, 1827, 1369, 1082],
     [105.6, 133.7, 174.8, 216.0, 240.7, 258.1, 270.2, 247.9, 211.1, 169.0, 122.5, 100.7]),
    ("4C", "wa457473",
     [5.15, 6.24, 7.84, 10.04, 13.14, 16.03, 18.63, 18.79, 16.3, 11.51, 7.34, 4.86],
     [682, 688, 746, 831, 980, 1174, 1315, 1364, 1263, 1016, 806, 688],
     [41.2, 76.0, 110.9, 162.7, 201.9, 221.3, 238.3, 210.7, 153.0, 81.8, 45.0, 32.4]),
    ("6B", "mt244055",
     [-5.71, -2.86, 1.92, 6.85, 11.75, 16.36, 20.84, 19.64, 14.21, 7.33, -0.04, -5.43],
     [248, 288, 367, 466, 665, 909, 983, 944, 748, 534, 349, 248],
     [59.1, 100.7, 158.4, 195.6, 235.8, 259.1, 283.3, 245.5, 181.1, 113.3, 65.4, 49.9]),
    ("7", "mn212248",
     [-12.51, -9.57, -3.57, 4.08, 10.84, 15.62, 19.03, 17.87, 12.96, 6.22, -1.79, -9.72],
     [156, 192, 300, 462, 746, 1182, 1530, 1475, 1097, 662, 383, 202],
     [54.7, 89.6, 139.5, 192.7, 228.6, 237.3, 242.1, 209.2, 150.6, 88.6, 50.4, 40.2]),
]  # fmt: skip


@pytest.mark.parametrize(("zone", "station", "temperature", "vapor", "solar"), CLIGEN)
def test_the_places_of_zones_carry_the_published_station_means(
    zone: str, station: str, temperature: list[float], vapor: list[float], solar: list[float]
):
    climate = climate_for_zone(zone)
    assert station in climate.station
    assert np.abs(np.array(climate.temperature) - temperature).max() <= 0.06
    assert climate.solar is not None
    assert np.abs(np.array(climate.solar) - solar).max() <= 1.0
    ours, listed = np.array(climate.vapor_pressure), np.array(vapor)
    # Above 0 °C the same; below, a dew point is reported over water (WMO No. 8), whose saturation pressure exceeds
    # that over ice by 1 % a kelvin.
    warm = listed > 640
    assert np.abs(ours[warm] / listed[warm] - 1).max() < 0.006
    assert (ours[~warm] >= listed[~warm] * 0.99).all()
    assert (ours[~warm] <= listed[~warm] * 1.20).all()


# Environment and Climate Change Canada, climate normals 1981–2010, monthly mean temperature (from memory).
ECCC = {
    "Toronto, ON": [-5.5, -4.5, 0.1, 7.1, 13.1, 18.6, 21.5, 20.6, 16.2, 9.5, 3.7, -2.2],
    "Ottawa, ON": [-10.3, -8.1, -2.3, 6.3, 13.3, 18.5, 21.0, 19.8, 15.0, 8.0, 1.5, -6.2],
    "Calgary, AB": [-7.1, -5.4, -1.6, 4.6, 9.7, 13.7, 16.5, 15.8, 11.0, 5.2, -2.4, -6.8],
    "Winnipeg, MB": [-16.4, -13.2, -5.8, 4.4, 11.6, 17.0, 19.7, 18.8, 12.7, 5.0, -4.9, -13.2],
    "Vancouver, BC": [4.1, 4.9, 6.9, 9.4, 12.8, 15.7, 18.0, 18.0, 14.9, 10.3, 6.3, 3.6],
}


@pytest.mark.parametrize("place", ECCC)
def test_shifted_records_are_near_the_normals_of_the_place(place: str):
    # The seasons of a record up to 200 km away: 2 K a month, 1 K over the year.
    climate = climate_for(find_place(place))
    assert "shift" in climate.station
    d = np.array(climate.temperature) - np.array(ECCC[place])
    assert np.abs(d).max() < 2.0
    assert abs(d.mean()) < 1.0
