"""The ground: balances, limits and directions."""

import timeit
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviewer.humidity import saturation_pressure
from reviewer.physics import ground
from reviewer.physics.basics import HEAT_AIR, KELVIN, R_VAPOR

AIR = 8.0 - 14.0 * np.cos(2 * np.pi / 365 * (ground.MID_MONTH - 22))


@given(st.floats(0, 30), st.floats(-5, 25), st.floats(0, 20), st.floats(0, 364), st.floats(0.02, 0.2))
def test_soil_swings_about_the_surface_mean_and_less_with_depth(z, mean, amplitude, coldest, a):
    days = np.arange(365)
    t = ground.soil_temperature(z, days, mean, amplitude, coldest, a)
    assert t.mean() == pytest.approx(mean, abs=1e-9)
    assert np.ptp(t) / 2 == pytest.approx(
        amplitude * np.exp(-z / ground.damping_depth(a)), rel=1e-3, abs=1e-9
    )


def test_soil_temperature_solves_the_heat_equation():
    # ∂θ/∂t = a ∂²θ/∂z² by central differences of the published formula itself.
    z, t, dz, dt, a = np.linspace(0.5, 6, 20), 100.0, 1e-3, 1e-2, 0.05

    def theta(depth, day):
        return ground.soil_temperature(depth, day, 10.0, 12.0, 35.0, a)

    rate = (theta(z, t + dt) - theta(z, t - dt)) / (2 * dt)
    curve = (theta(z + dz, t) - 2 * theta(z, t) + theta(z - dz, t)) / dz**2
    assert rate == pytest.approx(a * curve, abs=1e-5)


@given(st.floats(-5, 25), st.floats(0.5, 20), st.floats(0, 364.9))
def test_the_wave_of_monthly_means_is_recovered_from_daily_values(mean, amplitude, coldest):
    days = np.arange(365) + 0.5
    daily = mean - amplitude * np.cos(2 * np.pi / 365 * (days - coldest))
    edges = np.concatenate([[0], np.cumsum([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])])
    monthly = [daily[a:b].mean() for a, b in pairwise(edges)]
    m, a, t0 = map(float, ground.yearly_wave(monthly))
    assert m == pytest.approx(mean, abs=0.01 * amplitude)
    assert a == pytest.approx(amplitude, rel=0.01)
    assert abs((t0 - coldest + 182.5) % 365 - 182.5) < 1.0


@given(st.floats(0.6, 200), st.floats(0.1, 30), st.floats(0.3, 4))
def test_more_insulation_larger_floors_and_poorer_soil_lose_less(b, d, k):
    u = float(ground.slab_transmittance(b, d, k))
    assert u > 0
    assert float(ground.slab_transmittance(b, d * 1.2, k)) < u
    assert float(ground.slab_transmittance(b * 1.2, d, k)) < u
    assert float(ground.slab_transmittance(b, d, k * 1.2)) > u


def test_both_branches_of_the_slab_meet_within_the_standard_s_own_step():
    # At d_t = B′ the two formulas differ by under 2 %: a property of the standard.
    below, above = ground.slab_transmittance(5.0, np.array([4.999999, 5.0]), 2.0)
    assert below == pytest.approx(above, rel=0.02)


def test_edge_insulation_saves_and_none_changes_nothing():
    assert float(ground.edge_correction(1.0, 0.0, 0.0, 0.72, 2.0, False)) == 0.0
    flat = float(ground.edge_correction(1.0, 2.0, 0.06, 0.72, 2.0, False))
    upright = float(ground.edge_correction(1.0, 2.0, 0.06, 0.72, 2.0, True))
    assert upright < flat < 0


@given(st.floats(1, 30), st.floats(0.3, 3), st.floats(0.3, 5), st.floats(0.3, 8), st.floats(0.5, 3.5))
def test_the_basement_mean_lies_between_floor_and_wall(b, z, dt, dw, k):
    floor, wall, both = map(float, ground.basement_transmittance(b, z, dt, dw, k))
    assert min(floor, wall) * (1 - 1e-12) <= both <= max(floor, wall) * (1 + 1e-12)


@given(st.floats(0.05, 2), st.floats(1, 20), st.floats(0.3, 4))
def test_a_floor_over_a_crawl_space_loses_less_than_over_air(uf, b, k):
    u, ug, ux = map(float, ground.suspended_floor_transmittance(uf, b, k))
    assert u < uf
    assert 1 / u == pytest.approx(1 / uf + 1 / (ug + ux), rel=1e-12)


crawl = st.tuples(
    st.floats(-30, 38), st.floats(0.3, 1), st.floats(15, 28), st.floats(0.2, 0.7), st.floats(2, 25),
    st.floats(0.05, 2), st.floats(0.1, 2), st.floats(0, 1), st.floats(0, 0.01),
    st.floats(1e-12, 1e-8), st.floats(1e-13, 1e-9),
)  # fmt: skip


@given(crawl)
def test_heat_and_vapor_of_a_crawl_space_balance(values):
    to, rho, ti, rhi, tg, uf, ug, uw, q, wg, wf = values
    po, pi = float(rho * saturation_pressure(to)), float(rhi * saturation_pressure(ti))
    t, pv, wet = map(float, ground.crawl_space(to, po, ti, pi, tg, uf, ug, uw, q, wg, wf))
    heat = [uf * (ti - t), ug * (tg - t), (uw + 1.2 * HEAT_AIR * q) * (to - t)]
    assert abs(sum(heat)) <= 1e-9 * sum(map(abs, heat)) + 1e-12
    air = q / (R_VAPOR * (t + KELVIN))
    vapor = [wg * (float(saturation_pressure(tg)) - pv), wf * (pi - pv), air * (po - pv)]
    assert sum(vapor) == pytest.approx(wet, abs=1e-9 * sum(map(abs, vapor)) + 1e-20)
    assert pv <= float(saturation_pressure(t)) * (1 + 1e-12)


def test_a_ground_cover_dries_a_crawl_space_and_summer_vents_wet_a_cool_one():
    bare, covered = (
        float(ground.crawl_space(10.0, 900.0, 21.0, 1000.0, 12.0, 0.4, 0.8, 0.2, 2e-4, w, 1e-11)[1])
        for w in (ground.BARE_SOIL, 3e-12)
    )
    assert covered < bare
    # Humid summer air against cooled rooms: vents bring water in.
    closed, vented = (
        ground.crawl_space(28.0, 2900.0, 22.0, 1300.0, 17.0, 1.5, 0.8, 0.1, q, 3e-12, 1e-11)
        for q in (0.0, 5e-4)
    )
    rh = [float(r[1] / saturation_pressure(r[0])) for r in (closed, vented)]
    assert rh[0] < 0.65
    assert rh[1] > 0.95


def test_the_strip_is_the_mean_of_its_depths():
    z = np.linspace(0.6, 1.2, 20001)
    mean = ground.below_grade_transmittance(z, 0.8, 1.4)
    mean = (mean[0] / 2 + mean[1:-1].sum() + mean[-1] / 2) / 20000
    assert float(ground.strip_transmittance(0.6, 1.2, 0.8, 1.4)) == pytest.approx(mean, rel=1e-8)


@given(st.floats(0.1, 3), st.floats(0.3, 6), st.floats(15, 25))
def test_heat_through_the_wall_is_heat_through_the_soil(z, r, indoor):
    soil, inner = ground.foundation_wall([z], AIR, indoor, r, 1.5)
    undisturbed = ground.monthly_soil_temperature(z, AIR, ground.diffusivity(1.5, 2.0e6))
    through_wall = (indoor - soil[0]) / r
    assert through_wall == pytest.approx((soil[0] - undisturbed) / (np.pi * z / 3.0), rel=1e-9, abs=1e-9)
    assert through_wall == pytest.approx((indoor - inner[0]) / 0.13, rel=1e-9, abs=1e-9)
    mean = float(through_wall.mean())
    assert mean == pytest.approx(
        float(ground.below_grade_transmittance(z, r, 1.5)) * (indoor - float(undisturbed.mean())), rel=1e-9
    )


def test_the_deeper_the_steadier_and_insulation_inside_makes_the_wall_colder():
    soil, inner = ground.foundation_wall([0.2, 1.0, 2.2], AIR, 20.0, 0.5, 1.5)
    assert np.all(np.diff(np.ptp(soil, axis=-1)) < 0)
    insulated, _ = ground.foundation_wall([0.2, 1.0, 2.2], AIR, 20.0, 4.0, 1.5)
    assert np.all(insulated[:, 0] < soil[:, 0])
    assert np.all(inner[:, 0] > soil[:, 0])


def test_batches_are_each_wall_by_itself():
    air, indoor, r = np.stack([AIR, AIR + 5]), np.full((2, 12), 20.0), np.array([0.5, 3.0])
    soil, inner = ground.foundation_wall([0.3, 1.5], air, indoor, r, 1.5)
    assert soil.shape == (2, 2, 12)
    for i in range(2):
        one = ground.foundation_wall([0.3, 1.5], air[i], indoor[i], r[i], 1.5)
        assert soil[i] == pytest.approx(one[0], rel=1e-12)
        assert inner[i] == pytest.approx(one[1], rel=1e-12)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: ground.slab_transmittance(0.1, 1.0, 2.0), "characteristic dimension of 0.1 m"),
        (lambda: ground.strip_transmittance(1.0, 0.5, 1.0, 1.5), "below its top"),
        (lambda: ground.soil_temperature(-1.0, 1, 10, 10, 35), "depth of -1 m"),
        (lambda: ground.foundation_wall([1.0], AIR, 20.0, 0.1, 1.5), "smaller than it"),
        (lambda: ground.crawl_space(0, 0, 0, 0, 0, 0, 0, 0, 0, 1e-9, 0), "exchange of heat"),
    ],
)
def test_values_outside_the_range_are_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_one_wall_costs_a_fraction_of_a_millisecond():
    depths = [0.2, 0.6, 1.2, 2.0]
    best = min(
        timeit.repeat(lambda: ground.foundation_wall(depths, AIR, 20.0, 0.5, 1.5), number=20, repeat=5)
    )
    assert best / 20 < 2e-3
