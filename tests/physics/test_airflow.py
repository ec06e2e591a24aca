"""Air through the enclosure: balances, limits and directions."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviewer.humidity import saturation_pressure
from reviewer.physics import airflow as af

temperatures = st.floats(-40, 45)
flows = st.floats(0.5, 100)


@given(st.floats(0.1, 50), temperatures, temperatures)
def test_stack_pressure_is_odd_in_height_and_grows_with_it(height, outdoor, indoor):
    up = af.stack_pressure(height, outdoor, indoor)
    assert up == -af.stack_pressure(-height, outdoor, indoor)
    assert (up > 0) == (indoor > outdoor) or abs(indoor - outdoor) < 1e-9
    assert af.stack_pressure(2 * height, outdoor, indoor) == pytest.approx(2 * up, rel=1e-12)


def test_stack_pressure_is_that_of_two_columns_of_coolprop_air():
    # CoolProp (reference equation for air, 101.325 kPa); real air departs from the ideal gas by under 0.1 %,
    # which the difference of two nearby densities magnifies to at most 0.5 %.
    from CoolProp.CoolProp import PropsSI

    for outdoor, indoor in ((-30, 21), (-10, 20), (35, 24)):
        rho = [PropsSI("D", "T", t + 273.15, "P", 101325, "Air") for t in (outdoor, indoor)]
        expected = 9.80665 * 4.0 * (rho[0] - rho[1])
        assert float(af.stack_pressure(4.0, outdoor, indoor)) == pytest.approx(expected, rel=5e-3)


@given(
    st.lists(st.tuples(flows, st.floats(-50, 50)), min_size=1, max_size=6),
    st.floats(0.5, 1.0),
    st.floats(-20, 20),
)
def test_air_that_enters_leaves_again(openings, n, exhaust):
    c, p_out = np.array(openings).T
    p = float(af.internal_pressure(c, p_out, n, exhaust))
    assert p_out.min() - (abs(exhaust) / c.sum()) ** (1 / n) - 1e-9 <= p
    assert p <= p_out.max() + (abs(exhaust) / c.sum()) ** (1 / n) + 1e-9

    def net(at):
        return float(np.sum(af.power_law(c, at - p_out, n)) + exhaust)

    # The power law is as steep as a root at zero, so the residual is judged by a step of the pressure.
    step = 1e-9 * max(1.0, abs(p))
    assert net(p - step) <= 1e-12 <= net(p + step) + 2e-12


def test_even_leakage_puts_the_neutral_plane_at_half_height_and_exhaust_raises_it():
    z = np.linspace(0.1, 5.9, 30)
    outside = -af.stack_pressure(z, -20.0, 20.0)  # less the same at grade, indoor datum at grade
    gradient = float(af.stack_pressure(1.0, -20.0, 20.0))
    neutral = -float(af.internal_pressure(np.ones(30), outside)) / gradient
    assert neutral == pytest.approx(3.0, abs=1e-9)
    with_fan = -float(af.internal_pressure(np.ones(30), outside, exhaust=20.0)) / gradient
    assert with_fan > 3.0


def test_internal_pressure_of_a_batch_is_that_of_each():
    rng = np.random.default_rng(3)
    c, p_out, fan = rng.uniform(0.1, 2, (5, 4)), rng.uniform(-10, 10, (5, 4)), rng.uniform(-3, 3, 5)
    batch = af.internal_pressure(c, p_out, exhaust=fan)
    assert batch.tolist() == [
        float(af.internal_pressure(a, b, exhaust=q)) for a, b, q in zip(c, p_out, fan, strict=True)
    ]


def test_internal_pressure_needs_an_opening():
    with pytest.raises(ValueError, match="at least one opening"):
        af.internal_pressure([0.0, 0.0], [1.0, 2.0])


@given(st.floats(0.05, 30), st.floats(0.3, 10), st.floats(0.5, 1))
def test_air_changes_and_rated_leakage_convert_back_and_forth(n50, ratio, n):
    rated = af.rated_from_air_changes(n50, ratio, n)
    assert float(af.air_changes_from_rated(rated, ratio, n)) == pytest.approx(n50, rel=1e-12)


def test_rated_leakage_at_its_own_pressure_is_itself():
    assert float(af.at_pressure(0.2, 75.0)) == pytest.approx(0.2, rel=1e-12)
    assert float(af.at_pressure(0.2, -75.0)) == pytest.approx(-0.2, rel=1e-12)


@given(st.floats(0, 0.01), st.floats(200, 3000), st.floats(-30, 30))
def test_air_never_leaves_more_water_than_it_brings(flow, pv, plane):
    left = float(af.deposited(flow, pv, plane))
    assert 0 <= left <= float(af.carried(flow, pv, 0.0)) * (1 + 1e-12)
    stays = float(af.carried(flow, min(pv, float(saturation_pressure(plane))), 0.0))
    assert left + stays == pytest.approx(float(af.carried(flow, pv, 0.0)), rel=1e-9, abs=1e-18)


def test_a_colder_plane_takes_more_water_and_a_warm_one_none():
    planes = np.linspace(-30, 15, 40)
    left = af.deposited(1e-3, 1000.0, planes)
    assert np.all(np.diff(left) <= 0)
    assert left[0] > 0 and left[-1] == 0
    assert float(af.deposited(-1e-3, 1000.0, -20.0)) == 0


def test_monthly_wetting_of_a_batch_is_that_of_each_and_sums_seconds_of_the_month():
    pv, plane = np.full(12, 1100.0), np.linspace(-15, 10, 12)
    batch = af.monthly_wetting(np.array([[0.1], [2.0]]), 4.0, pv, plane)
    assert batch.shape == (2, 12)
    for q, row in zip((0.1, 2.0), batch, strict=True):
        assert row.tolist() == af.monthly_wetting(q, 4.0, pv, plane).tolist()
    january = float(af.deposited(af.at_pressure(2.0, 4.0) / 1000, 1100.0, -15.0)) * 31 * 86400
    assert batch[1, 0] == pytest.approx(january, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: af.stack_pressure(5, -120, 20), "air temperature of -120 °C"),
        (lambda: af.wind_pressure(-1), "wind speed of -1 m/s"),
        (lambda: af.power_law(1, 4, 0.4), "flow exponent of 0.4"),
        (lambda: af.system_limit(40), "indoor relative humidity of 40"),
        (lambda: af.humidity_ratio(60000.0), "vapor pressure of 60000 Pa"),
        (lambda: af.orifice_flow(1.0, float("nan")), "pressure difference of nan Pa"),
        (lambda: af.barometric_pressure(9000), "elevation of 9000 m"),
    ],
)
def test_values_outside_the_range_are_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_thin_air_at_height():
    # U.S. Standard Atmosphere 1976, geopotential 1000 m and 3000 m: 89 874.6 and 70 108.5 Pa (from memory).
    assert af.barometric_pressure([1000.0, 3000.0]) == pytest.approx([89874.6, 70108.5], rel=3e-4)
