"""EN 15026:2007 Annex A: heat and moisture uptake of a semi-infinite body.

Material functions, initial state and step: from memory of the standard (the same functions as the
load-bearing layer of the first HAMSTAD exercise). Profiles and uptake: derived, by an independent solution in the
similarity variable x/√t (finite volumes, 500 and 1,000 cells, agreeing to 0.01). Certainty: derived from recalled
equations; the acceptance band of the standard was not read, so agreement here is not a claim of compliance.
Tolerances: 1 % of the rise in moisture content or 0.3 kg/m³; 0.05 K; 0.5 % of the uptake.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from reviewer.physics.hourly.boundary import SurfaceBoundary, adiabatic
from reviewer.physics.hourly.materials import HygroMaterial, Layer, humidity_of_suction
from reviewer.physics.hourly.outcome import Outcome
from reviewer.physics.hourly.solver import Assembly, Settings, simulate

DAY = 86400.0
WATER = {
    7: {0.005: 80.29, 0.01: 51.9, 0.015: 45.16, 0.02: 43.39, 0.025: 43.01, 0.03: 42.95},
    30: {0.005: 109.32, 0.01: 82.13, 0.015: 62.21, 0.02: 52.77, 0.025: 48.03, 0.03: 45.52, 0.04: 43.51, 0.05: 43.04},
    365: {
        0.005: 124.06, 0.01: 118.83, 0.015: 112.65, 0.02: 105.63, 0.025: 97.94, 0.03: 89.87, 0.04: 74.83,
        0.05: 64.09, 0.06: 57.19, 0.07: 52.68, 0.08: 49.62, 0.09: 47.51, 0.1: 46.04, 0.15: 43.29, 0.2: 42.97,
    },
}  # fmt: skip
TEMPERATURE = {
    7: {
        0.05: 29.67, 0.1: 29.322, 0.2: 28.631, 0.5: 26.641, 1.0: 23.84, 1.5: 21.913, 2.0: 20.813, 3.0: 20.089,
        4.0: 20.005,
    },
    30: {
        0.05: 29.85, 0.1: 29.682, 0.2: 29.346, 0.5: 28.347, 1.0: 26.748, 1.5: 25.285, 2.0: 24.003, 3.0: 22.068,
        4.0: 20.922, 5.0: 20.353, 6.0: 20.115, 8.0: 20.008,
    },
    365: {
        0.5: 29.536, 1.0: 29.055, 1.5: 28.578, 2.0: 28.106, 3.0: 27.185, 4.0: 26.302, 5.0: 25.47, 6.0: 24.696,
        8.0: 23.347, 10.0: 22.277, 12.0: 21.476, 15.0: 20.702, 20.0: 20.158,
    },
}  # fmt: skip
UPTAKE = {7: 0.4504, 30: 0.9325, 365: 3.2525}
COEFFICIENT = 0.00057917
"""kg/(m²·s½)."""


def water_of_suction(p: np.ndarray) -> np.ndarray:
    return 146.0 / (1.0 + (8e-8 * p) ** 1.6) ** 0.375


def liquid_conductivity(p: np.ndarray) -> np.ndarray:
    d = water_of_suction(p) - 73.0
    return np.exp(
        -39.2619 + 0.0704 * d - 1.7420e-4 * d**2 - 2.7953e-6 * d**3 - 1.1566e-7 * d**4 + 2.5969e-9 * d**5
    )


def vapor_permeability(w: np.ndarray) -> np.ndarray:
    """At 23 °C; it goes with 1/T."""
    dry = 1.0 - w / 146.0
    return 0.018 / (8.314 * 296.15) * (26.1e-6 / 200.0) * dry / (0.503 * dry**2 + 0.497)


@cache
def material() -> HygroMaterial:
    p = np.concatenate([[0.0], np.logspace(4, 9.6, 1500)])
    h, w = humidity_of_suction(p)[::-1], water_of_suction(p)[::-1]
    keep = h > 1e-9
    h, w = np.concatenate([[0.0], h[keep]]), np.concatenate([[0.0], w[keep]])
    steps = np.logspace(2, 10, 1500)
    return HygroMaterial(
        density=1824.0,
        heat_capacity=1000.0,
        conductivity=1.5,
        conductivity_supplement=15.8e-3,
        sorption=list(zip(h, w, strict=True)),
        free_saturation=146.0,
        permeability=list(zip(h, np.maximum(vapor_permeability(w), 0.0), strict=True)),
        liquid_conductivity=list(zip(steps, liquid_conductivity(steps), strict=True)),
    )


def run(first: float, growth: float, tolerance: float) -> dict[int, tuple[Outcome, float]]:
    widths = [first]
    while sum(widths) < 25.0:
        widths.append(widths[-1] * growth)
    body = Layer(material(), float(np.sum(widths)), tuple(widths))
    assembly = Assembly(
        [body], SurfaceBoundary(30.0, 0.95), adiabatic(), initial_rh=0.5, initial_temperature=20.0
    )
    settings = Settings(
        tolerance=tolerance,
        least_step=0.01,
        first_step=1.0,
        vapor_temperature_exponent=-1.0,
        water_carries_heat=False,
    )
    done: dict[int, tuple[Outcome, float]] = {}
    outcome, start, taken = None, 0.0, 0.0
    for day in (7, 30, 365):
        outcome = simulate(
            assembly, [start, day * DAY], start=outcome.state if outcome else None, settings=settings
        )
        taken += float(outcome.stored_change[0])
        done[day] = (outcome, taken)
        start = day * DAY
    return done


@cache
def solution() -> dict[int, tuple[Outcome, float]]:
    return run(1e-4, 1.03, 0.05)


def test_moisture_content_at_the_start_and_at_the_surface_follows_the_storage_function() -> None:
    per = 1000.0 * 461.5
    assert float(water_of_suction(np.array(-per * 293.15 * np.log(0.5)))) == pytest.approx(42.943, abs=0.005)
    assert float(water_of_suction(np.array(-per * 303.15 * np.log(0.95)))) == pytest.approx(128.3, abs=0.05)
    assert solution()[7][0].profile_water[-1] == pytest.approx(42.943, abs=0.01)


@pytest.mark.parametrize("day", [7, 30, 365])
def test_moisture_profile(day: int) -> None:
    outcome, _ = solution()[day]
    for depth, expected in WATER[day].items():
        found = np.interp(depth, outcome.depth, outcome.profile_water)
        assert abs(found - expected) <= max(0.01 * (expected - 42.94), 0.3), depth


@pytest.mark.parametrize("day", [7, 30, 365])
def test_temperature_profile(day: int) -> None:
    outcome, _ = solution()[day]
    for depth, expected in TEMPERATURE[day].items():
        assert np.interp(depth, outcome.depth, outcome.profile_temperature) == pytest.approx(
            expected, abs=0.05
        )


def test_stored_water_counts_in_the_heat_capacity() -> None:
    # Without c_w·w the same solution gives 24.061 °C after 7 days at 1 m and 22.497 °C after a year at 10 m.
    week, year = solution()[7][0], solution()[365][0]
    assert np.interp(1.0, week.depth, week.profile_temperature) < 24.061 - 0.15
    assert np.interp(10.0, year.depth, year.profile_temperature) < 22.497 - 0.15


@pytest.mark.parametrize("day", [7, 30, 365])
def test_uptake_and_its_root_of_time(day: int) -> None:
    taken = solution()[day][1]
    assert taken == pytest.approx(UPTAKE[day], rel=0.005)
    assert taken / np.sqrt(day * DAY) == pytest.approx(COEFFICIENT, rel=0.005)


def test_a_grid_twice_as_coarse_agrees_with_the_fine_one() -> None:
    coarse = run(2e-4, 1.06, 0.2)
    for day in (7, 30, 365):
        for depth, expected in WATER[day].items():
            found = np.interp(depth, coarse[day][0].depth, coarse[day][0].profile_water)
            assert abs(found - expected) <= max(0.01 * (expected - 42.94), 0.3), (day, depth)
