"""Climates: bounds of every row of the station table, weather files, monthly values, degree-days."""

from __future__ import annotations

import math
import re
import warnings
from functools import lru_cache
from pathlib import Path

import numpy as np
import pvlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.errors import InputError
from reviewer.humidity import saturation_pressure
from reviewer.library.climate import (
    climate_from_epw,
    climate_from_monthly,
    degree_days,
    hourly_from_epw,
    stations,
)
from reviewer.library.places import climate_for, find_place
from reviewer.library.types import MONTH_DAYS

# the station table


def extraterrestrial(latitude: float) -> np.ndarray:
    """Monthly mean irradiance of a horizontal plane above the atmosphere, W/m² (Duffie and Beckman, equation 1.10.3)."""
    n = np.arange(1, 366)
    phi = np.radians(latitude)
    tilt = np.radians(23.45) * np.sin(2 * np.pi * (284 + n) / 365)
    sunset = np.arccos(np.clip(-np.tan(phi) * np.tan(tilt), -1, 1))
    power = 1367 / np.pi * (1 + 0.033 * np.cos(2 * np.pi * n / 365))
    daily = power * (np.cos(phi) * np.cos(tilt) * np.sin(sunset) + sunset * np.sin(phi) * np.sin(tilt))
    return np.array([daily[np.repeat(np.arange(12), MONTH_DAYS) == m].mean() for m in range(12)])


def test_the_table_has_the_places_it_promises():
    table = stations()
    assert sum(s.country == "US" for s in table) >= 350
    assert sum(s.country == "CA" for s in table) >= 60
    assert len({s.id for s in table}) == len({s.name for s in table}) == len(table)


def test_every_row_is_complete_and_has_its_source():
    for s in stations():
        assert re.fullmatch(r".+, [A-Z]{2}", s.name)
        for values in (s.temperature, s.vapor_pressure, s.solar, s.precipitation):
            assert values is None or len(values) == 12, s.name
        assert s.solar is not None or s.region == "AK" or s.name == "Yellowknife, NT", s.name
        assert s.precipitation is not None or s.id.startswith("TMY3"), s.name
        assert s.sources, s.name
        assert s.notes, s.name
        assert any(s.id in str(c) for c in s.sources) or "shift" in s.id or s.id.startswith("TMY3"), s.name


def test_every_row_lies_on_the_continent_or_its_islands():
    for s in stations():
        assert 17 < s.latitude < 72, s.name
        assert -176 < s.longitude < -52, s.name
        # Crested Butte and Vail are near 2,700 m; Death Valley is not in the table.
        assert -70 <= s.elevation < 3200, s.name


def test_temperatures_are_plausible():
    for s in stations():
        t = np.array(s.temperature)
        # Record monthly means of the continent: about −40 °C in the Arctic, 40 °C in the Sonoran desert.
        assert t.min() > -35, s.name
        assert t.max() < 37, s.name
        assert int(t.argmax()) in (5, 6, 7, 8, 9), s.name
        assert int(t.argmin()) in (11, 0, 1), s.name
        # Neighboring months differ by less than 17 K anywhere (Fairbanks in October: 11.4 K).
        assert np.abs(np.diff(t, append=t[0])).max() < 17, s.name


def test_vapor_pressure_is_at_most_saturation_and_humidity_plausible():
    for s in stations():
        rh = np.array(s.vapor_pressure) / saturation_pressure(s.temperature)
        # Whole pascals and tenths of a kelvin round by up to 2 % where the air is coldest.
        assert rh.max() <= 1.02, s.name
        assert rh.min() > 0.08, s.name
        assert 0.2 < rh.mean() < 1.0, s.name


def test_solar_radiation_is_plausible_for_the_latitude():
    for s in stations():
        if s.solar is None:
            continue
        above = extraterrestrial(s.latitude)
        # In the dark months of the north a few W/m² say nothing.
        clearness = (np.array(s.solar) / above)[above > 30]
        # Monthly clearness indices of the continent lie between 0.25 (dark winters of the northern coasts) and 0.8.
        assert clearness.max() < 0.82, s.name
        assert clearness.min() > 0.2, s.name
        assert 0.33 < clearness.mean() < 0.75, s.name


def test_precipitation_is_plausible():
    for s in stations():
        if s.precipitation is None:
            continue
        # Yuma 80 mm, Little Port Walter 5,700 mm a year.
        assert 40 < sum(s.precipitation) < 6000, s.name
        assert min(s.precipitation) >= 0, s.name


def test_design_temperatures_and_degree_days_fit_the_monthly_means():
    for s in stations():
        if s.heating_design is not None:
            assert s.cooling_design is not None
            # Colder than the coldest month by 2 (harbors of California) to 26 K (Yukon), warmer than the warmest by 1 to 20 K.
            assert 2 < min(s.temperature) - s.heating_design < 26, s.name
            assert 1 < s.cooling_design - max(s.temperature) < 20, s.name
        if s.hdd18 is not None:
            # 300 K d: what a typical year and forty-year means differ by where there is little heating.
            assert abs(degree_days(s.temperature, 18.0) - s.hdd18) < 300 + 0.16 * s.hdd18, s.name


def test_degree_days_from_monthly_means_agree_with_typical_years():
    """The method against degree-days that were counted from hourly typical years (TMYx list, PyPI idfkit 1.1.1, certainty:
    seen), which are some years younger and so a little warmer."""
    rows = [s for s in stations() if s.hdd18 is not None and s.hdd18 > 1000 and "NBC" not in str(s.sources)]
    ratio = np.array([degree_days(s.temperature, 18.0) / s.hdd18 for s in rows])  # pyright: ignore
    assert len(rows) > 300
    assert 0.98 < np.median(ratio) < 1.04
    assert np.quantile(np.abs(ratio - 1), 0.9) < 0.10


def test_degree_days_of_a_year_far_from_the_base_are_plain_differences():
    cold, hot = [-10.0] * 12, [30.0] * 12
    assert degree_days(cold, 18.0) == pytest.approx(28 * 365, rel=1e-6)
    assert degree_days(hot, 10.0, cooling=True) == pytest.approx(20 * 365, rel=1e-6)
    assert degree_days(hot, 18.0) == pytest.approx(0.0, abs=0.1)


@given(st.lists(st.floats(-40, 40), min_size=12, max_size=12))
@settings(deadline=None)
def test_heating_less_cooling_degree_days_are_the_mean_below_the_base(t: list[float]):
    # A property of every degree-day count: HDD − CDD = Σ days · (base − T).
    difference = degree_days(t, 18.0) - degree_days(t, 18.0, cooling=True)
    assert difference == pytest.approx(
        sum(d * (18.0 - x) for d, x in zip(MONTH_DAYS, t, strict=True)), abs=1e-3
    )


@pytest.mark.parametrize("t", [[1.0] * 11, [float("nan")] * 12])
def test_degree_days_need_twelve_numbers(t: list[float]):
    with pytest.raises(ValueError, match="twelve"):
        degree_days(t, 18.0)


# weather files

HEADER = """LOCATION,Greensboro,NC,USA,TMY3,723170,36.10,-79.95,-5.0,273.0
DESIGN CONDITIONS,0
TYPICAL/EXTREME PERIODS,0
GROUND TEMPERATURES,0
HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0
COMMENTS 1,written by a test
COMMENTS 2,
DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31"""


@lru_cache(maxsize=1)
def greensboro() -> dict[str, np.ndarray]:
    """A typical year that ships with pvlib (NREL TMY3, Greensboro), as plain arrays."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        frame, _ = pvlib.iotools.read_tmy3(
            Path(pvlib.__file__).parent / "data" / "723170TYA.CSV", map_variables=True
        )
    names = {"t": "temp_air", "dew": "temp_dew", "rh": "relative_humidity", "ghi": "ghi", "dni": "dni", "dhi": "dhi",
             "wind": "wind_speed", "from": "wind_direction", "cover": "OpqCld (tenths)"}  # fmt: skip
    return {k: frame[v].to_numpy(dtype=float) for k, v in names.items()} | {
        "p": frame["pressure"].to_numpy() * 100.0
    }


@lru_cache(maxsize=1)
def hours() -> tuple[str, ...]:
    g = greensboro()
    rows = []
    k = 0
    for m, days in enumerate(MONTH_DAYS, 1):
        for d in range(1, days + 1):
            for h in range(1, 25):
                rows.append(
                    f"1995,{m},{d},{h},60,?9?9,{g['t'][k]:.1f},{g['dew'][k]:.1f},{g['rh'][k]:.0f},{g['p'][k]:.0f},"
                    f"0,0,{300 + k % 50},{g['ghi'][k]:.0f},{g['dni'][k]:.0f},{g['dhi'][k]:.0f},0,0,0,0,"
                    f"{g['from'][k]:.0f},{g['wind'][k]:.1f},5,{g['cover'][k]:.0f},16.0,77777,9,999999999,0,0.1,0,88,0.2,"
                    f"{0.5 if k % 40 == 0 else 0.0},1.0"
                )
                k += 1
    return tuple(rows)


def epw(tmp_path: Path, rows: tuple[str, ...] | list[str] | None = None, header: str = HEADER) -> Path:
    path = tmp_path / "year.epw"
    path.write_text(header + "\n" + "\n".join(hours() if rows is None else rows) + "\n", encoding="latin-1")
    return path


def changed(row: int, column: int, value: str) -> list[str]:
    rows = list(hours())
    cells = rows[row].split(",")
    cells[column] = value
    rows[row] = ",".join(cells)
    return rows


def test_an_epw_file_is_read_as_pvlib_reads_it(tmp_path: Path):
    path = epw(tmp_path)
    frame, head = pvlib.iotools.read_epw(path)
    ours = hourly_from_epw(path)
    pairs = {
        "dry_bulb": "temp_air", "ghi": "ghi", "dni": "dni", "dhi": "dhi", "wind_speed": "wind_speed",
        "wind_direction": "wind_direction", "pressure": "atmospheric_pressure", "longwave_sky": "ghi_infrared",
        "rain": "liquid_precipitation_depth",
    }  # fmt: skip
    for name, theirs in pairs.items():
        assert np.array_equal(getattr(ours, name), frame[theirs].to_numpy(dtype=float)), name
    assert np.allclose(ours.relative_humidity * 100, frame["relative_humidity"].to_numpy(), atol=1e-12)
    for name, theirs in {
        "latitude": "latitude",
        "longitude": "longitude",
        "elevation": "altitude",
        "time_zone": "TZ",
    }.items():
        assert getattr(ours, name) == head[theirs]
    assert ours.assumptions == ()
    assert (ours.place, ours.country, ours.rain_known) == ("Greensboro, NC", "USA", True)


def test_hourly_vapor_pressure_is_that_of_the_dew_point(tmp_path: Path):
    # The file's humidity is in whole percent and its dew point in tenths of a kelvin: within 3 Pa + 2 %.
    g, ours = greensboro(), hourly_from_epw(epw(tmp_path))
    dew = np.minimum(610.5 * np.exp(17.269 * g["dew"] / (237.3 + g["dew"])), saturation_pressure(g["t"]))
    gap = np.abs(ours.vapor_pressure - dew)
    assert np.quantile(gap / dew, 0.95) < 0.03
    assert (ours.vapor_pressure <= saturation_pressure(ours.dry_bulb) + 1e-9).all()


def test_the_climate_of_a_weather_file(tmp_path: Path):
    path = epw(tmp_path)
    g, c = greensboro(), climate_from_epw(path)
    month = np.repeat(np.arange(12), np.array(MONTH_DAYS) * 24)
    assert np.allclose(c.temperature, [g["t"][month == m].mean() for m in range(12)], atol=0.01)
    assert c.solar is not None
    assert np.allclose(c.solar, [np.round(g["ghi"])[month == m].mean() for m in range(12)], atol=0.01)
    assert c.wind is not None
    assert np.allclose(c.wind, [g["wind"][month == m].mean() for m in range(12)], atol=0.01)
    daily = g["t"].reshape(365, 24).mean(axis=1)
    assert c.hdd18 == pytest.approx(np.clip(18 - daily, 0, None).sum(), abs=1.0)
    assert c.cdd10 == pytest.approx(np.clip(daily - 10, 0, None).sum(), abs=1.0)
    assert c.heating_design is not None
    assert (g["t"] < c.heating_design - 0.05).mean() <= 0.01 <= (g["t"] <= c.heating_design + 0.05).mean()
    # Guilford County, North Carolina (PNNL-33270).
    assert c.zones == {"2018": "4A", "2021": "3A"}
    assert any("county of ZIP code" in a for a in c.assumptions)
    assert (c.place, c.country, c.hourly_file) == ("Greensboro, NC", "US", str(path))
    assert str(c.sources[0]) == "weather file year.epw"
    # The same place from the station table, to the spread of single months and the bias of the mean dew point.
    table = climate_for(find_place("Greensboro, NC"))
    assert abs(np.mean(c.temperature) - np.mean(table.temperature)) < 1.0
    assert 0.85 < np.sum(table.vapor_pressure) / np.sum(c.vapor_pressure) < 1.03
    assert c.zones == table.zones


def test_weather_files_of_other_countries_get_zones_by_criteria(tmp_path: Path):
    there = HEADER.replace("Greensboro,NC,USA", "Toronto,ON,CAN").replace("36.10,-79.95", "43.67,-79.60")
    c = climate_from_epw(epw(tmp_path, header=there))
    assert (c.country, c.zones["NBC"]) == ("CA", "4")
    abroad = HEADER.replace("Greensboro,NC,USA", "Somewhere,-,FRA").replace("36.10,-79.95", "44.00,4.00")
    c = climate_from_epw(epw(tmp_path, header=abroad))
    assert (c.place, c.country) == ("Somewhere", "FRA")
    assert set(c.zones) == {"2018", "2021"}
    assert any("computed from the climate" in a for a in c.assumptions)


def test_the_leap_day_is_left_out_and_said(tmp_path: Path):
    rows = list(hours())
    at = (31 + 28) * 24
    leap = [re.sub(r"^1995,3,1,", "1996,2,29,", r) for r in rows[at : at + 24]]
    ours = hourly_from_epw(epw(tmp_path, rows[:at] + leap + rows[at:]))
    assert len(ours.dry_bulb) == 8760
    assert ours.assumptions == ("February 29 of the weather file was left out",)
    assert np.array_equal(ours.dry_bulb, hourly_from_epw(epw(tmp_path)).dry_bulb)


def test_short_gaps_are_filled_and_said(tmp_path: Path):
    rows = list(hours())
    for k in range(100, 104):
        cells = rows[k].split(",")
        cells[6], cells[8] = "99.9", "999"
        rows[k] = ",".join(cells)
    ours = hourly_from_epw(epw(tmp_path, rows))
    t = greensboro()["t"]
    assert ours.dry_bulb[100:104] == pytest.approx(np.interp([1, 2, 3, 4], [0, 5], [t[99], t[104]]), abs=0.06)
    assert "dry-bulb temperature was filled in linearly in 4 hours of the weather file" in ours.assumptions
    # The dew point is still there: humidity is taken from it.
    assert "relative humidity was taken from the dew point in 4 hours of the weather file" in ours.assumptions


def test_missing_radiation_wind_and_rain_are_filled_and_said(tmp_path: Path):
    rows = []
    for text in hours():
        cells = text.split(",")[:35]
        cells[12], cells[20], cells[21], cells[33] = "9999", "999", "999", "999"
        rows.append(",".join(cells))
    ours = hourly_from_epw(epw(tmp_path, rows))
    assert not ours.rain_known
    assert not ours.rain.any()
    assert "the weather file carries no rain" in ours.assumptions
    assert any("wind speed is not known in 8760 hours" in a for a in ours.assumptions)
    assert any("sky radiation was computed from dew point and cloud cover" in a for a in ours.assumptions)
    # A sky radiates less than a black body at air temperature, and more than 55 % of it.
    black = 5.670374e-8 * (ours.dry_bulb + 273.15) ** 4
    assert (ours.longwave_sky / black).min() > 0.55
    assert (ours.longwave_sky / black).max() <= 1.01
    assert climate_from_epw(epw(tmp_path, rows)).precipitation is None


def test_rows_may_end_before_the_columns_that_came_later(tmp_path: Path):
    rows = [",".join(r.split(",")[:28]) for r in hours()]
    assert not hourly_from_epw(epw(tmp_path, rows)).rain_known


def located(path: Path) -> tuple[str, int, int]:
    with pytest.raises(InputError) as e:
        hourly_from_epw(path)
    problem = e.value.problems[0]
    assert problem.mark is not None
    assert problem.mark.file == str(path)
    assert problem.expected
    return problem.message, problem.mark.line, problem.mark.column


def test_errors_name_line_and_column(tmp_path: Path):
    message, line, column = located(epw(tmp_path, changed(1000, 6, "warm")))
    assert (message, line) == ('"warm" is not a number', 1009)
    assert column == sum(len(c) + 1 for c in hours()[1000].split(",")[:6]) + 1
    message, line, _ = located(epw(tmp_path, changed(0, 6, "-95.0")))
    assert (message, line) == ("-95.0 is not a possible dry-bulb temperature", 9)
    message, line, _ = located(epw(tmp_path, changed(8759, 13, "-1")))
    assert (message, line) == ("-1 is not a possible global horizontal radiation", 8768)
    message, line, _ = located(epw(tmp_path, changed(50, 3, "7")))
    assert "out of order: month 1, day 3, hour 7" in message
    assert line == 59
    message, line, _ = located(epw(tmp_path, [*hours()[:20], *hours()[21:]]))
    assert line == 29
    message, line, _ = located(epw(tmp_path, list(hours())[:8000]))
    assert (message, line) == ("the weather file ends after 8,000 hours", 8008)
    message, line, _ = located(epw(tmp_path, [*hours(), hours()[-1]]))
    assert (message, line) == ("the weather file has more hours than a year", 8769)
    message, line, _ = located(epw(tmp_path, ["1995,1,1,1,60"]))
    assert (message, line) == ("an hour of the weather file has 5 values", 9)


def test_long_gaps_make_a_file_unusable(tmp_path: Path):
    rows = list(hours())
    for k in range(100, 107):
        cells = rows[k].split(",")
        cells[6] = "99.9"
        rows[k] = ",".join(cells)
    assert located(epw(tmp_path, rows))[:2] == (
        "the weather file has no dry-bulb temperature for 7 hours",
        109,
    )


def test_headers_are_checked(tmp_path: Path):
    assert located(epw(tmp_path, header="hello"))[:2] == ("not an EPW weather file", 1)
    assert located(epw(tmp_path, header=HEADER.replace("GROUND", "GRUND")))[1] == 4
    assert (
        located(epw(tmp_path, header=HEADER.replace("36.10", "136.10")))[0]
        == '"136.10" is not a possible latitude'
    )
    assert located(epw(tmp_path, header=HEADER.replace("36.10", "north")))[2] == HEADER.index("36.10") + 1
    assert (
        "one record an hour" in located(epw(tmp_path, header=HEADER.replace("PERIODS,1,1", "PERIODS,1,4")))[0]
    )


def test_a_byte_order_mark_does_no_harm(tmp_path: Path):
    path = epw(tmp_path)
    marked = tmp_path / "marked.epw"
    marked.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert np.array_equal(hourly_from_epw(marked).ghi, hourly_from_epw(path).ghi)


def test_files_that_are_not_there_or_empty_are_refused(tmp_path: Path):
    with pytest.raises(InputError, match="can't be read"):
        hourly_from_epw(tmp_path / "none.epw")
    with pytest.raises(InputError, match="can't be read"):
        hourly_from_epw(tmp_path)
    (tmp_path / "empty.epw").write_bytes(b"")
    assert located(tmp_path / "empty.epw")[0] == "not an EPW weather file"
    (tmp_path / "binary.epw").write_bytes(bytes(range(256)) * 100)
    assert located(tmp_path / "binary.epw")[0] == "not an EPW weather file"


# monthly values

T = [-12.5, -9.6, -3.6, 4.1, 10.8, 15.6, 19.0, 17.9, 13.0, 6.2, -1.8, -9.7]


def test_monthly_values_make_a_climate():
    e = [181.0, 219, 326, 479, 747, 1179, 1527, 1477, 1094, 661, 402, 228]
    rain = [25.0, 20, 43, 60, 82, 112, 101, 93, 95, 66, 49, 29]
    c = climate_from_monthly(
        {"temperature": T, "vapor pressure": e, "precipitation": rain, "solar": [100.0] * 12}
    )
    # Duluth's own values: zone 7 by the county table.
    assert c.zones == {"2018": "7", "2021": "7"}
    assert (c.temperature, c.vapor_pressure, c.precipitation) == (tuple(T), tuple(e), tuple(rain))
    assert c.hdd18 == pytest.approx(5030, rel=0.03)  # TMYx 727450: 5,030 K·d (certainty: seen)
    assert c.latitude is None
    assert c.wind is None
    assert any("computed from the monthly means" in a for a in c.assumptions)


def test_humidity_is_of_saturation_at_the_monthly_mean():
    c = climate_from_monthly({"temperature": T, "humidity": [0.75] * 12})
    assert np.allclose(c.vapor_pressure, 0.75 * saturation_pressure(T))
    assert any("relative humidity times saturation" in a for a in c.assumptions)


def test_without_rain_the_letter_is_an_assumption():
    c = climate_from_monthly({"temperature": [t + 10 for t in T], "humidity": [0.7] * 12})
    assert c.zones["2018"].endswith("A")
    assert any("taken as moist" in a for a in c.assumptions)


def test_vapor_pressure_a_little_above_saturation_is_held_to_it_and_said():
    sat = saturation_pressure(T)
    e = sat * np.where(np.arange(12) == 1, 1.1, 0.7)
    c = climate_from_monthly({"temperature": T, "vapor pressure": [float(x) for x in e]})
    assert c.vapor_pressure[1] == pytest.approx(sat[1])
    assert "vapor pressure was held to saturation in Feb" in c.assumptions


@pytest.mark.parametrize(
    ("monthly", "messages"),
    [
        (
            {},
            ["monthly values lack the temperature", "monthly values need the vapor pressure or the humidity"],
        ),
        ({"temperature": T}, ["monthly values need the vapor pressure or the humidity"]),
        (
            {"temperature": T, "humidity": [0.5] * 12, "vapor pressure": [500.0] * 12},
            ["monthly values need the vapor pressure or the humidity"],
        ),
        ({"temperature": T[:11], "humidity": [0.5] * 12}, ["monthly temperature has 11 values"]),
        ({"temperature": T, "humidity": [0.5] * 11 + [50.0]}, ["Dec: 50 is not a possible humidity"]),
        (
            {"temperature": [*T[:11], math.nan], "humidity": [0.5] * 12},
            ["Dec: nan is not a possible temperature"],
        ),
        ({"temperature": T, "humidity": [0.5] * 12, "sun": [1.0] * 12}, ['"sun" is not a monthly value']),
        (
            {"temperature": T, "vapor pressure": [400.0] + [100.0] * 11},
            ["Jan: a vapor pressure of 400 Pa is above saturation at -12.5 °C"],
        ),
    ],
)
def test_wrong_monthly_values_are_all_named(monthly: dict[str, list[float]], messages: list[str]):
    with pytest.raises(InputError) as e:
        climate_from_monthly(monthly)
    assert [p.message for p in e.value.problems] == messages
