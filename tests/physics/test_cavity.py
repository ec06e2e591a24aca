"""The ventilated cavity: flow, its worth as permeance, and vapor balance."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviewer.humidity import saturation_pressure
from reviewer.physics import cavity
from reviewer.physics.basics import KELVIN, R_VAPOR

PERM = 5.721349e-11


def changes(pressure, height, depth, opening, friction=1.0):
    v = cavity.cavity_velocity(pressure, height, depth, opening, opening, friction)
    return float(cavity.air_changes(v, height))


@given(st.floats(0.01, 20), st.floats(0.5, 12), st.floats(0.006, 0.1), st.floats(0.02, 1), st.floats(1, 4))
def test_losses_add_up_to_the_driving_pressure(dp, height, depth, share, friction):
    opening = share * depth
    v = float(cavity.cavity_velocity(dp, height, depth, opening, opening, friction))
    heads = 0.6 * (cavity.ENTRANCE + cavity.EXIT) / share**2 * v * v
    wall = friction * 12 * cavity.VISCOSITY * height / depth**2 * v
    assert heads + wall == pytest.approx(dp, rel=1e-9)


@given(st.floats(0.01, 5), st.floats(1, 6), st.floats(0.006, 0.05), st.floats(0.05, 0.8))
def test_wider_vents_and_more_pressure_move_more_air(dp, height, depth, share):
    base = changes(dp, height, depth, share * depth)
    assert changes(dp, height, depth, min(1.2 * share, 1.0) * depth) > base
    assert changes(1.5 * dp, height, depth, share * depth) > base
    assert changes(dp, height, depth, share * depth, friction=2.0) < base


def test_a_shut_opening_stops_the_air():
    assert float(cavity.cavity_velocity(5.0, 2.5, 0.02, 0.02, 0.0)) == 0.0
    assert float(cavity.cavity_velocity(0.0, 2.5, 0.02, 0.02, 0.02)) == 0.0


def test_laminar_flow_between_plates_by_the_closed_form():
    # Without entrance losses to speak of (a narrow, high slot) the flow is that of Poiseuille: d²Δp/(12µh).
    v = float(cavity.cavity_velocity(0.05, 12.0, 0.003, 0.003, 0.003))
    assert v == pytest.approx(0.003**2 * 0.05 / (12 * cavity.VISCOSITY * 12), rel=0.001)


@pytest.mark.parametrize("pressure", [0.1, 0.3, 1.0])
def test_rates_lie_in_measured_ranges(pressure):
    # Ranges of field and laboratory measurements (Straube, van Straaten and Burnett 2004; Finch and Straube 2007;
    # from memory), at driving pressures of 0.1 to 1 Pa, as those studies report. Brick: 6 m of 25 mm cavity, one
    # open head joint (10 × 65 mm) every 0.6 m top and bottom, mortar in the way. Panels: a story of 10 to 25 mm
    # cavity, slots half as wide.
    low, high = cavity.RANGES["brick veneer vented top and bottom"]
    assert low <= changes(pressure, 6.0, 0.025, 0.01 * 0.065 / 0.6, friction=2.0) <= high
    if pressure <= 0.3:
        low, high = cavity.RANGES["panels on furring, open top and bottom"]
        assert low / 2 <= changes(pressure, 2.5, 0.010, 0.005) <= high
        assert low <= changes(pressure, 2.5, 0.025, 0.0125) <= high


@pytest.mark.parametrize(
    ("area", "expected"),
    [
        (500e-6, "unventilated"),
        (501e-6, "slightly ventilated"),
        (1499e-6, "slightly ventilated"),
        (1500e-6, "well ventilated"),
    ],
)
def test_classes_by_opening_area(area, expected):
    # ISO 6946:2007, 5.3: 500 and 1500 mm² a meter (from memory).
    assert cavity.ventilation_class(area) == expected


@given(
    st.floats(0.1, 1000),
    st.floats(0.005, 0.1),
    st.floats(-30, 50),
    st.floats(100, 5000),
    st.floats(100, 5000),
)
def test_ventilation_permeance_is_the_vapor_the_air_carries(n, depth, t, inside, outside):
    carried = n * depth / 3600 * (inside - outside) / (R_VAPOR * (t + KELVIN))
    by_permeance = float(cavity.ventilation_permeance(n, depth, t)) * (inside - outside)
    assert by_permeance == pytest.approx(carried, rel=1e-12, abs=1e-30)


def test_ventilation_permeance_against_coolprop():
    # CoolProp: vapor in a cubic meter of humid air at 15 °C at two humidities; real gas, 0.5 %.
    from CoolProp.HumidAirProp import HAPropsSI

    def per_volume(rh):
        w = HAPropsSI("W", "T", 288.15, "P", 101325, "R", rh)
        return w / HAPropsSI("Vda", "T", 288.15, "P", 101325, "R", rh)

    pressures = [HAPropsSI("P_w", "T", 288.15, "P", 101325, "R", rh) for rh in (0.4, 0.8)]
    expected = 20 * 0.02 / 3600 * (per_volume(0.8) - per_volume(0.4)) / (pressures[1] - pressures[0])
    assert float(cavity.ventilation_permeance(20.0, 0.02, 15.0)) == pytest.approx(expected, rel=5e-3)


@given(st.floats(0.01, 50), st.floats(0.01, 50), st.floats(0, 500))
def test_outward_permeance_is_below_the_sheathings_and_rises_with_air(sheathing, cladding, n):
    w = float(cavity.outward_permeance(sheathing * PERM, cladding * PERM, n, 0.02, 10.0))
    assert w <= sheathing * PERM * (1 + 1e-12)
    assert w >= float(cavity.outward_permeance(sheathing * PERM, cladding * PERM, 0.0, 0.02, 10.0)) * (
        1 - 1e-12
    )


drive = st.tuples(
    st.floats(300, 4000), st.floats(0.1, 50), st.floats(200, 3500), st.floats(500, 15000), st.floats(0.1, 50),
    st.floats(0, 300), st.floats(0, 60),
)  # fmt: skip


@given(drive)
def test_vapor_of_the_cavity_balances(values):
    ps, ws, po, pc, wc, n, t = values
    p, wet = map(float, cavity.cavity_vapor_pressure(ps, ws * PERM, po, pc, wc * PERM, n, 0.02, t))
    wv = float(cavity.ventilation_permeance(n, 0.02, t))
    terms = [ws * PERM * (ps - p), wc * PERM * (pc - p), wv * (po - p)]
    assert sum(terms) == pytest.approx(wet, abs=1e-9 * (sum(map(abs, terms)) + (ws + wc) * PERM * p))
    assert p <= float(saturation_pressure(t)) * (1 + 1e-12)


def test_ventilation_takes_the_inward_drive_off_a_wet_cladding():
    brick = float(saturation_pressure(45.0))
    p = [
        float(cavity.cavity_vapor_pressure(1500, 3e-10, 1500, brick, 1e-9, n, 0.03, 42.0)[0])
        for n in (0, 5, 30, 200)
    ]
    assert all(np.diff(p) < 0)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: cavity.cavity_velocity(1.0, 2.5, 0.01, 0.02, 0.01), "as large as the cavity is deep"),
        (lambda: cavity.cavity_velocity(1.0, 2.5, 0.001, 0.001, 0.001), "cavity depth of 0.001 m"),
        (lambda: cavity.cavity_vapor_pressure(1, 0, 1, 1, 0, 0, 0.02, 10), "exchange of vapor"),
        (lambda: cavity.ventilation_permeance(-1.0, 0.02, 10.0), "air changes an hour of -1"),
    ],
)
def test_values_outside_the_range_are_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
