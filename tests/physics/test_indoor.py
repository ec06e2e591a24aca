"""Named indoor conditions: what every one of them must respect, and what the important ones give."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.citations import CERTAINTIES, KINDS
from reviewer.humidity import saturation_pressure
from reviewer.physics import indoor

DULUTH_LIKE = np.array([-12.0, -9, -3, 4, 10, 15, 19, 18, 13, 6, -1, -9])
HOT_HUMID = np.array([20.0, 21, 23, 25, 27, 28, 29, 29, 28, 26, 24, 21])


def outdoors(t, humidity=0.75):
    return t, humidity * saturation_pressure(t)


@settings(deadline=None)
@given(
    st.sampled_from(sorted(indoor.CONDITIONS)),
    st.floats(-20, 30),
    st.floats(0, 15),
    st.floats(0.2, 1.0),
    st.booleans(),
)
def test_every_condition_stays_possible_in_every_climate(name, mean, swing, humidity, cooling):
    t_out, p_out = outdoors(mean - swing * np.cos(np.arange(12) * np.pi / 6), humidity)
    got = indoor.indoor_conditions(name, t_out, p_out, cooling)
    assert got.temperature.shape == got.vapor_pressure.shape == got.humidity.shape == (12,)
    assert np.all((got.humidity > 0) & (got.humidity <= 1 + 1e-12))
    assert got.humidity == pytest.approx(got.vapor_pressure / saturation_pressure(got.temperature))
    assert got.how
    assert got.source.certainty in CERTAINTIES
    assert got.source.kind in KINDS


@settings(deadline=None)
@given(st.sampled_from(sorted(n for n, c in indoor.CONDITIONS.items() if not c.kept and c.method == "excess")), st.floats(-20, 25), st.floats(0, 12), st.floats(0.2, 0.95))  # fmt: skip
def test_without_cooling_the_air_inside_is_never_drier_than_outside(name, mean, swing, humidity):
    t_out, p_out = outdoors(mean - swing * np.cos(np.arange(12) * np.pi / 6), humidity)
    got = indoor.indoor_conditions(name, t_out, p_out, cooling=False)
    possible = np.minimum(p_out, indoor.MOST_HUMIDITY * saturation_pressure(got.temperature))
    assert np.all(got.vapor_pressure >= possible - 1e-9)


def test_a_home_in_a_cold_climate():
    # About 30 % in the coldest months: class 2 of ISO 13788 (from memory), not the 40 % of ASHRAE 160.
    t_out, p_out = outdoors(DULUTH_LIKE)
    home = indoor.indoor_conditions("home", t_out, p_out, cooling=False)
    assert home.temperature[0] == 21.1
    assert home.vapor_pressure[0] == pytest.approx(p_out[0] + 540.0)
    assert 0.26 < home.humidity[0] < 0.32
    demanding = indoor.indoor_conditions("home, ASHRAE 160", t_out, p_out, cooling=False)
    assert demanding.humidity[0] == pytest.approx(0.40)
    assert np.all(demanding.vapor_pressure[t_out < 5] > home.vapor_pressure[t_out < 5])


def test_a_home_is_never_taken_as_drier_than_25_percent():
    t_out, p_out = outdoors(np.full(12, -30.0))
    assert indoor.indoor_conditions("home", t_out, p_out, cooling=False).humidity == pytest.approx(0.25)


def test_cooling_reverses_the_drive_in_a_hot_humid_climate():
    t_out, p_out = outdoors(HOT_HUMID)
    cooled = indoor.indoor_conditions("home", t_out, p_out, cooling=True)
    hot = t_out >= 25
    assert np.all(cooled.vapor_pressure[hot] < p_out[hot])
    assert cooled.temperature[hot].tolist() == [23.9] * int(hot.sum())
    assert np.all(cooled.humidity[hot] <= 0.60 + 1e-12)
    open_windows = indoor.indoor_conditions("home", t_out, p_out, cooling=False)
    assert np.all(open_windows.vapor_pressure >= p_out)
    assert open_windows.temperature[hot] == pytest.approx(t_out[hot] + 2.8)


def test_humidity_rises_from_storage_to_laundry():
    t_out, p_out = outdoors(DULUTH_LIKE)
    excess = [
        float(
            indoor.indoor_conditions(f"class {n}", t_out, p_out, cooling=False).vapor_pressure[0] - p_out[0]
        )
        for n in range(1, 6)
    ]
    assert excess == pytest.approx([270.0, 540.0, 810.0, 1080.0, 1360.0])


def test_kept_conditions_do_not_follow_the_weather():
    for name, t, rh in (("pool", 28.0, 0.60), ("museum", 21.0, 0.50), ("freezer", -20.0, 0.90)):
        got = indoor.indoor_conditions(name, *outdoors(DULUTH_LIKE), cooling=True)
        assert set(got.temperature) == {t}
        assert got.humidity == pytest.approx(rh)


def test_unheated_is_the_air_outside():
    t_out, p_out = outdoors(DULUTH_LIKE, 0.9)
    got = indoor.indoor_conditions("unheated", t_out, p_out, cooling=True)
    assert np.array_equal(got.temperature, t_out)
    assert np.array_equal(got.vapor_pressure, p_out)


def test_places_broadcast():
    t_out, p_out = outdoors(np.stack([DULUTH_LIKE, HOT_HUMID]))
    both = indoor.indoor_conditions("office", t_out, p_out, cooling=True)
    one = indoor.indoor_conditions("office", t_out[1], p_out[1], cooling=True)
    assert np.array_equal(both.vapor_pressure[1], one.vapor_pressure)


def test_every_alias_names_a_condition():
    for word, name in indoor.ALIASES.items():
        assert name in indoor.CONDITIONS
        assert word not in indoor.CONDITIONS
        assert indoor.condition_name(word.upper()) == name


def test_an_unknown_condition_names_the_nearest():
    with pytest.raises(ValueError, match=r'unknown indoor condition "musuem", did you mean \'museum\''):
        indoor.indoor_conditions("musuem", *outdoors(DULUTH_LIKE), cooling=False)


def test_stated_conditions_take_one_value_or_twelve():
    one = indoor.stated_conditions(20.0, 0.5)
    assert one.vapor_pressure.shape == (12,)
    months = indoor.stated_conditions(np.linspace(20, 25, 12), np.linspace(0.3, 0.6, 12))
    assert months.vapor_pressure[-1] == pytest.approx(0.6 * saturation_pressure(25.0))
    with pytest.raises(ValueError, match="relative humidity"):
        indoor.stated_conditions(20.0, 1.5)


def test_impossible_requests_are_refused():
    with pytest.raises(ValueError, match="1 to 5"):
        indoor.class_excess(6, 0.0)
    with pytest.raises(ValueError, match="one bedroom or more"):
        indoor.ashrae160_vapor_pressure(400.0, 0, 400.0)
