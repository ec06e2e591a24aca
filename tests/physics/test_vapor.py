"""Vapor through layers: hand calculation, saturation on the way, and permeances that follow the humidity."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.humidity import saturation_pressure
from reviewer.physics import vapor
from reviewer.units import DELTA_0, PERM


def test_units_of_vapor_resistance():
    # Exact definitions: 1 perm is s_d 3.495679 m at δ0 = 2·10⁻¹⁰; 1 MN·s/g is 10⁹ m²·s·Pa/kg, s_d 0.2 m (prints
    # of the latter seen in Danish guidance 224, Annex A).
    assert vapor.s_d(PERM) == pytest.approx(3.495679, rel=1e-6)
    assert vapor.resistance_of_s_d(0.2) == pytest.approx(1e9)
    assert vapor.s_d(1 / 1e9) == pytest.approx(0.2)


def test_series_of_layers_is_the_sum_of_resistances():
    assert vapor.series_permeance([2.0, 2.0, 1.0]) == pytest.approx(0.5)
    assert vapor.series_permeance([5.0, 0.0]) == 0.0


@pytest.mark.parametrize(
    ("perms", "name"),
    [(0.0, "I"), (0.1, "I"), (0.101, "II"), (1.0, "II"), (1.01, "III"), (10, "III"), (10.1, "none")],
)
def test_retarder_classes_just_on_either_side_of_their_limits(perms, name):
    # IBC 202 and IRC R202 (from memory): 0.1, 1 and 10 perms by the dry cup.
    assert vapor.retarder_class(perms * PERM) == name


@settings(deadline=None)
@given(st.lists(st.floats(1e6, 1e14), min_size=1, max_size=8), st.floats(50, 3000), st.floats(50, 3000))
def test_pressures_fall_in_proportion_to_resistance(z, p_in, p_out):
    p = vapor.pressures(z, p_in, p_out)
    g = vapor.flow(z, p_in, p_out)
    assert p[0] == pytest.approx(p_in)
    assert p[-1] == pytest.approx(p_out)
    assert -np.diff(p) == pytest.approx(g * np.array(z), rel=1e-6, abs=1e-7)


def test_without_saturation_in_reach_the_capped_profile_is_straight():
    z = np.array([1e9, 4e9, 2e9])
    x = vapor.coordinates(z)
    got = vapor.capped_profile(np.full(4, 5000.0), x, 1200.0, 400.0)
    assert got.pressures == pytest.approx(vapor.pressures(z, 1200.0, 400.0))
    assert not got.rate.any()


def test_a_wet_plane_gives_off_vapor_to_both_sides():
    x = vapor.coordinates([1e9, 2e9])
    got = vapor.capped_profile(
        np.array([2300.0, 1700.0, 2300.0]), x, 1200.0, 1200.0, wet=[False, True, False]
    )
    assert got.pressures.tolist() == [1200.0, 1700.0, 1200.0]
    assert got.rate[1] == pytest.approx(-500 / 1e9 - 500 / 2e9)


def test_surfaces_are_held_down_to_saturation():
    x = vapor.coordinates([1e9, 2e9])
    got = vapor.capped_profile(np.array([1000.0, 900.0, 500.0]), x, 1500.0, 600.0)
    assert got.pressures[[0, -1]].tolist() == [1000.0, 500.0]


@settings(deadline=None)
@given(st.integers(0, 2**31), st.integers(2, 9))
def test_capped_profiles_are_convex_between_wet_planes_and_lose_no_mass(seed, layers):
    rng = np.random.default_rng(seed)
    x = vapor.coordinates(rng.uniform(1e8, 1e11, layers))
    cap = rng.uniform(300, 3000, layers + 1)
    wet = rng.random(layers + 1) < 0.2
    got = vapor.capped_profile(cap, x, cap[0] * rng.random(), cap[-1] * rng.random(), wet)
    assert np.all(got.pressures <= cap * (1 + 1e-9))
    assert got.flow[0] - got.flow[-1] == pytest.approx(
        got.rate.sum(), abs=1e-12 * np.abs(got.flow).max() + 1e-20
    )
    assert np.all(got.rate[~wet] >= -1e-9 * np.abs(got.flow).max())
    assert got.pressures[1:-1][wet[1:-1]] == pytest.approx(cap[1:-1][wet[1:-1]])


def sheathing(rh):
    """A permeance that rises ten times from dry to damp, for three layers."""
    return np.stack([2e-9 + 0 * rh[..., 0], 5e-11 * np.exp(2.3 * rh[..., 1]), 1e-9 + 0 * rh[..., 2]], axis=-1)


def test_permeances_agree_with_the_humidity_they_produce():
    t = np.array([[18.0, 15.0, -5.0, -6.0], [20.0, 20.0, 18.0, 18.0]])
    p_in, p_out = np.array([1000.0, 1500.0]), np.array([300.0, 1200.0])
    got = vapor.iterate_permeance(sheathing, t, p_in, p_out, tolerance=1e-8, limit=200)
    assert got.converged.all()
    saturation = saturation_pressure(t)
    p = vapor.capped_profile(saturation, vapor.coordinates(1 / got.permeances), p_in, p_out).pressures
    rh = 0.5 * ((p / saturation)[:, 1:] + (p / saturation)[:, :-1])
    assert got.humidity == pytest.approx(rh, abs=1e-6)
    assert got.permeances == pytest.approx(sheathing(rh), rel=1e-6)


def test_a_batch_of_permeances_is_what_its_members_give_one_by_one():
    rng = np.random.default_rng(2)
    t = np.sort(rng.uniform(-10, 21, (5, 12, 4)))[..., ::-1]
    p_in = 0.5 * saturation_pressure(t[..., 0])
    p_out = 0.8 * saturation_pressure(t[..., -1])
    batch = vapor.iterate_permeance(sheathing, t, p_in, p_out)
    for b in range(5):
        one = vapor.iterate_permeance(sheathing, t[b], p_in[b], p_out[b])
        assert np.array_equal(batch.permeances[b], one.permeances)


def test_constant_permeances_settle_at_once():
    got = vapor.iterate_permeance(lambda rh: np.full(rh.shape, 1e-10), [20.0, 10.0, 0.0], 1100.0, 500.0)
    assert got.iterations == 1
    assert got.converged


def test_a_jump_in_permeance_is_reported_as_not_settled():
    got = vapor.iterate_permeance(
        lambda rh: np.where(rh > 0.6, [1e-11, 1e-9], [1e-8, 1e-9]), [20.0, 12.0, 10.0], 1500.0, 700.0
    )
    assert not got.converged
    assert got.iterations == 60


def test_layers_are_held_between_the_least_and_the_most_resistance():
    x = vapor.coordinates([0.0, np.inf])
    assert np.diff(x) == pytest.approx([vapor.MIN_S_D / DELTA_0, vapor.MAX_S_D / DELTA_0])


@pytest.mark.parametrize("bad", [-1.0, float("nan")])
def test_impossible_values_are_refused(bad):
    for function in (vapor.s_d, vapor.resistance_of_s_d, vapor.series_permeance, vapor.coordinates):
        with pytest.raises(ValueError, match="can't be below 0"):
            function([bad])
    with pytest.raises(ValueError, match="thickness above 0"):
        vapor.layer_permeance(1e-12, 0.0)
