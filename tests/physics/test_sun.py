"""Sun and sky on the outer face: balances, symmetry, directions and ranges."""

import timeit

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviewer.humidity import saturation_pressure
from reviewer.physics import sun
from reviewer.physics.basics import KELVIN, STEFAN_BOLTZMANN

latitudes = st.floats(-60, 60)


@given(latitudes, st.floats(0.1, 0.75))
def test_a_horizontal_plane_gets_the_horizontal_irradiance(latitude, clearness):
    h = clearness * sun.extraterrestrial(latitude)
    assert sun.plane_irradiance(h, latitude, 0.0) == pytest.approx(h, rel=1e-9)


@given(latitudes, st.floats(0.1, 0.75), st.floats(0, 90), st.floats(0, 180))
def test_east_and_west_are_alike(latitude, clearness, tilt, azimuth):
    h = clearness * sun.extraterrestrial(latitude)
    east = sun.plane_irradiance(h, latitude, tilt, azimuth)
    assert east == pytest.approx(sun.plane_irradiance(h, latitude, tilt, 360 - azimuth), rel=1e-9)


@given(st.floats(5, 60))
def test_the_southern_hemisphere_mirrors_the_geometry(latitude):
    # The same wall turned to the other pole, half a year apart, differs only by the choice of mean days.
    north = sun.beam_ratio(latitude, 90.0, 180.0)
    south = sun.beam_ratio(-latitude, 90.0, 0.0)
    assert np.sort(north)[[0, -1]] == pytest.approx(np.sort(south)[[0, -1]], rel=0.06, abs=0.005)


def test_equator_facing_walls_get_most_in_winter_and_pole_facing_least():
    h = 0.5 * sun.extraterrestrial(45.0)
    south, west, north = (sun.plane_irradiance(h, 45.0, 90.0, a) for a in (180.0, 270.0, 0.0))
    assert south[0] > west[0] > north[0]
    assert np.all(north < west)


def test_polar_night_has_no_sun_and_polar_day_no_sunset():
    assert sun.extraterrestrial(80.0)[11] == 0.0
    assert sun.sunset_angle(80.0)[[5, 11]].tolist() == [180.0, 0.0]
    dark = np.where(sun.extraterrestrial(80.0) > 0, 0.5 * sun.extraterrestrial(80.0), 0.0)
    plane = sun.plane_irradiance(dark, 80.0, 90.0, 180.0)
    assert plane[11] == 0.0 and np.all(np.isfinite(plane))
    assert sun.clear_day_peak(80.0, 90.0)[11] == 0.0


def test_batches_are_each_place_and_face_by_itself():
    latitude, azimuth = np.array([25.0, 40.0, 64.0]), np.array([0.0, 225.0, 180.0])
    h = 0.5 * sun.extraterrestrial(latitude)
    batch = sun.plane_irradiance(h, latitude, 90.0, azimuth)
    for i in range(3):
        assert batch[i] == pytest.approx(sun.plane_irradiance(h[i], latitude[i], 90.0, azimuth[i]), rel=1e-12)


@given(st.floats(0, 1), st.floats(0, 180))
def test_the_diffuse_share_is_a_share_and_falls_with_clearness(clearness, sunset):
    share = float(sun.diffuse_share(clearness, sunset))
    assert 0 <= share <= 1
    assert float(sun.diffuse_share(min(clearness + 0.05, 1), sunset)) <= share + 1e-9


balance = st.tuples(
    st.floats(-40, 45), st.floats(-70, 30), st.floats(0, 1100), st.floats(0, 1), st.floats(5, 30),
    st.floats(0.1, 12), st.floats(2, 40), st.floats(0.05, 0.95), st.floats(0, 1),
)  # fmt: skip


@given(balance)
def test_the_outer_face_is_in_balance(values):
    air, sky, irradiance, absorptance, indoor, r, h, e, view = values
    t = float(sun.surface_temperature(air, sky, irradiance, absorptance, indoor, r, h, e, view))
    ts, ta, tk = t + KELVIN, air + KELVIN, sky + KELVIN
    gains = [
        h * (air - t),
        absorptance * irradiance,
        e * STEFAN_BOLTZMANN * (view * (tk**4 - ts**4) + (1 - view) * (ta**4 - ts**4)),
        (indoor - t) / r,
    ]
    assert abs(sum(gains)) <= 1e-9 * (sum(map(abs, gains)) + h * ta)


@given(st.floats(-30, 90), st.floats(15, 27), st.floats(0.1, 10))
def test_the_cladding_lies_between_sol_air_and_room_in_balance(sol_air, indoor, r):
    t = float(sun.cladding_temperature(sol_air, indoor, r))
    assert min(sol_air, indoor) - 1e-9 <= t <= max(sol_air, indoor) + 1e-9
    assert sun.OUTSIDE_FILM * (sol_air - t) == pytest.approx((t - indoor) / r, rel=1e-9, abs=1e-9)


@given(st.floats(-30, 40), st.floats(0.2, 1.0))
def test_the_sky_is_colder_than_the_air_and_clouds_warm_it(air, rh):
    pv = max(float(rh * saturation_pressure(air)), 1.0)
    clear, cloudy = sun.sky_temperature(air, pv, [0.0, 1.0])
    assert clear <= cloudy <= air + 1e-9
    assert clear < air or rh > 0.7


def test_dark_roofs_are_warmer_by_day_and_both_cool_under_a_clear_night():
    t, pv, h = np.full(12, 12.0), np.full(12, 900.0), 0.6 * sun.extraterrestrial(45.0)
    dark, light = sun.monthly_roof_temperature(t, pv, h, 45.0, [0.9, 0.2], 20.0, 6.0)
    assert np.all(dark > light)
    assert float(sun.surface_temperature(0.0, -20.0, 0.0, 0.9, 20.0, 8.0)) < 0.0


drives = st.tuples(
    st.floats(26, 70), st.floats(15, 25), st.floats(0.2, 0.7), st.floats(1e-12, 5e-9), st.floats(1e-12, 5e-9)
)


@given(drives)
def test_what_comes_in_condenses_or_goes_on_to_the_room(values):
    cladding, room, rh, outer, inner = values
    pv = float(rh * saturation_pressure(room))
    into, condensed, out = map(float, sun.inward_drive(cladding, room, pv, room, outer, inner))
    assert into == pytest.approx(condensed + out, rel=1e-9, abs=1e-15)
    assert condensed >= 0


def test_polyethylene_condenses_and_paint_lets_the_vapor_through():
    perm = 5.721349e-11
    room = float(0.5 * saturation_pressure(24.0))
    tight = sun.inward_drive(50.0, 24.0, room, 25.0, 10 * perm, 0.06 * perm)
    opened = sun.inward_drive(50.0, 24.0, room, 25.0, 0.5 * perm, 30 * perm)
    assert float(tight[1]) > 0.05
    assert float(opened[1]) == 0.0


def test_a_tighter_outer_layer_lets_less_in():
    perm = 5.721349e-11
    wet = sun.inward_drive(50.0, 24.0, 1490.0, 25.0, np.array([50, 10, 5, 1, 0.1]) * perm, 0.06 * perm)[1]
    assert np.all(np.diff(wet) < 0)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: sun.plane_irradiance(np.full(12, 300.0), 60.0, 90.0), "top of the atmosphere"),
        (lambda: sun.sunset_angle(91.0), "latitude of 91"),
        (lambda: sun.sol_air_temperature(20.0, 800.0, 1.2), "solar absorptance of 1.2"),
        (lambda: sun.inward_drive(20.0, 24.0, 1000.0, 24.0, 1e-10, 1e-10), "warmer than the cladding"),
        (lambda: sun.inward_drive(50.0, 24.0, 4000.0, 24.0, 1e-10, 1e-10), "above saturation"),
        (lambda: sun.cladding_temperature(40.0, 20.0, 0.0), "thermal resistance of 0"),
        (lambda: sun.diffuse_share(1.2, 90.0), "clearness index of 1.2"),
    ],
)
def test_values_outside_the_range_are_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_one_section_costs_a_fraction_of_a_millisecond():
    t, pv, h = np.full(12, 10.0), np.full(12, 900.0), 0.5 * sun.extraterrestrial(45.0)
    best = min(
        timeit.repeat(
            lambda: sun.monthly_roof_temperature(t, pv, h, 45.0, 0.9, 20.0, 6.0), number=20, repeat=5
        )
    )
    assert best / 20 < 2e-3
