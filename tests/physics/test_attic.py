"""The vented attic: balances and directions."""

import timeit

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviewer.humidity import saturation_pressure
from reviewer.physics import attic
from reviewer.physics.airflow import WATER_TO_AIR, air_density
from reviewer.physics.basics import ATMOSPHERE, HEAT_AIR

PERM = 5.721349e-11
WINTER = {
    "outdoor": -10.0, "outdoor_vapor": 200.0, "roof": -11.5, "indoor": 20.0, "indoor_vapor": 900.0,
    "ceiling_resistance": 7.0, "roof_resistance": 0.35, "vents": attic.effective_area(1 / 300), "height": 2.0,
    "leak": 5e-5, "ceiling_permeance": 5 * PERM,
}  # fmt: skip


def one(**changes):
    return attic.attic(**{**WINTER, **changes})


conditions = st.tuples(
    st.floats(-35, 40), st.floats(0.2, 1), st.floats(-15, 35), st.floats(0.5, 10), st.floats(0.2, 5),
    st.floats(0, 0.01), st.floats(0, 5), st.floats(0, 3e-4), st.floats(0.01, 50), st.floats(0, 6),
)  # fmt: skip


@given(conditions)
def test_heat_and_vapor_balance(values):
    to, rh, gain, rc, rr, vents, height, leak, ceiling, wind = values
    po, tr = float(rh * saturation_pressure(to)), to + gain
    a = attic.attic(to, po, tr, 21.0, 1000.0, rc, rr, vents, height, leak, ceiling * PERM, PERM, wind)
    rho = float(air_density(to))
    t, q = float(a.temperature), float(a.flow)
    heat = [
        (21 - t) / rc,
        1.15 * (tr - t) / rr,
        rho * HEAT_AIR * q * (to - t),
        rho * HEAT_AIR * leak * (21 - t),
    ]
    assert abs(sum(heat)) <= 1e-9 * sum(map(abs, heat)) + 1e-12
    p, x = float(a.vapor_pressure), rho * WATER_TO_AIR / ATMOSPHERE
    vapor = [
        x * q * (po - p), x * leak * (1000 - p), ceiling * PERM * (1000 - p), 1.15 * PERM * (po - p),
    ]  # fmt: skip
    assert sum(vapor) == pytest.approx(float(a.condensing), abs=1e-9 * sum(map(abs, vapor)) + 1e-22)
    assert 0 <= float(a.humidity) <= 1 + 1e-12
    assert min(to, tr, 21) - 1e-9 <= t <= max(to, tr, 21) + 1e-9


def test_flow_belongs_to_the_temperature_it_makes():
    a = one()
    again = attic.vent_flow(WINTER["vents"], 2.0, a.temperature, -10.0, 2.0)
    assert float(a.flow) == pytest.approx(float(again), rel=1e-3)


def test_ceiling_leaks_wet_the_sheathing_and_vents_dry_it():
    tight, leaky = one(leak=0.0), one(leak=2e-4)
    assert float(tight.humidity) < float(leaky.humidity)
    assert float(leaky.condensing) > 0 == float(tight.condensing)
    few, many = one(vents=attic.effective_area(1 / 600)), one(vents=attic.effective_area(1 / 150))
    assert float(many.humidity) < float(few.humidity)


def test_night_sky_makes_the_sheathing_damper_even_without_any_leak():
    # A roof colder than the air brings outdoor air of 95 % to saturation: vents alone can't help.
    po = 0.95 * float(saturation_pressure(2.0))
    cold = one(outdoor=2.0, outdoor_vapor=po, roof=-2.0, leak=0.0, ceiling_permeance=0.0)
    assert float(cold.condensing) > 0


def test_insulation_makes_the_attic_colder():
    assert float(one(ceiling_resistance=2.0).temperature) > float(one(ceiling_resistance=10.0).temperature)


def test_openings_in_series():
    # ASHRAE Fundamentals: A_1·A_2/√(A_1² + A_2²) (from memory); equal halves give 1/(2√2) of the sum.
    assert float(attic.effective_area(0.004)) == pytest.approx(0.004 / (2 * np.sqrt(2)), rel=1e-12)
    assert float(attic.effective_area(0.004, 0.0)) == 0.0
    shares = attic.effective_area(0.004, np.linspace(0, 1, 11))
    assert int(np.argmax(shares)) == 5 and shares == pytest.approx(shares[::-1])


def test_stack_flow_is_the_handbook_s():
    # Q = C_d·A·√(2g·Δh·(T_i − T_o)/T_i) (ASHRAE Fundamentals, Ventilation and Infiltration, from memory).
    q = float(attic.vent_flow(1e-3, 3.0, 30.0, 20.0))
    assert q == pytest.approx(0.6e-3 * np.sqrt(2 * 9.80665 * 3 * 10 / 303.15), rel=1e-12)


def test_air_change_rates_are_of_the_measured_order():
    # Vented attics were measured at about 1 to 20 air changes an hour in wind of 1 to 5 m/s (Canadian field tests of
    # the 1990s; range, from memory). Mean height of the attic 1.2 m.
    for wind in (1.0, 2.0, 5.0):
        rate = float(attic.vent_flow(attic.effective_area(1 / 300), 2.0, 0.0, -1.0, wind)) * 3600 / 1.2
        assert 1 <= rate <= 20


def test_batches_are_each_attic_by_itself():
    t = np.linspace(-12, 18, 12)
    po = 0.8 * saturation_pressure(t)
    leaks = np.array([0.0, 5e-5, 2e-4])
    batch = one(outdoor=t, outdoor_vapor=po, roof=t - 1, leak=leaks)
    assert batch.humidity.shape == (3, 12)
    for i, leak in enumerate(leaks):
        single = one(outdoor=t, outdoor_vapor=po, roof=t - 1, leak=leak)
        for ours, theirs in zip(batch, single, strict=True):
            assert ours[i] == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: one(vents=0.5), "vent area of 0.5"),
        (lambda: one(vents=0.0, leak=0.0, ceiling_permeance=0.0), "exchange of vapor"),
        (lambda: one(ceiling_resistance=0.0), "ceiling resistance of 0"),
    ],
)
def test_values_outside_the_range_are_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_one_attic_costs_a_fraction_of_a_millisecond():
    t = np.linspace(-12, 18, 12)
    po = 0.8 * saturation_pressure(t)
    best = min(timeit.repeat(lambda: one(outdoor=t, outdoor_vapor=po, roof=t - 1), number=20, repeat=5))
    assert best / 20 < 2e-3
