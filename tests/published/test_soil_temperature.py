"""Soil temperature of Kusuda and Achenbach (1965), NBS Report 8972; ASHRAE Transactions 71(1) 61–74.

The same equation with damping depth √(2D/ω) was read in a university's soil-physics text
(soilphysics.okstate.edu); the phase form is from memory. Values computed from it by another hand ("derived").
"""

import numpy as np
import pytest

from reviewer.physics import ground

DAYS = (35, 126, 217, 309)
EXPECTED = {
    0.0: (-2.0, 9.948, 22.0, 9.948),
    0.5: (0.457, 7.95, 19.525, 11.967),
    1.0: (2.747, 6.774, 17.225, 13.163),
    2.0: (6.467, 6.123, 13.499, 13.846),
    3.0: (8.893, 6.721, 11.079, 13.269),
    5.0: (10.728, 8.683, 9.261, 11.323),
    10.0: (10.101, 10.161, 9.9, 9.84),
}


@pytest.mark.parametrize("depth", [0.0, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0])
def test_temperatures_by_depth_and_day(depth):
    # θ_m 10 °C, A 12 K, t_0 35, a 0.05 m²/day; 0.002 K.
    ours = ground.soil_temperature(depth, DAYS, 10.0, 12.0, 35.0, 0.05)
    expected = np.array(EXPECTED[depth])
    assert ours == pytest.approx(expected, abs=0.002)


def test_damping_depth_and_lag():
    # 2.4102 m; the wave lags 24.102 days a meter (derived).
    depth = float(ground.damping_depth(0.05))
    assert depth == pytest.approx(2.4102, abs=1e-4)
    assert 365 / (2 * np.pi) / depth == pytest.approx(24.102, abs=1e-3)


def test_temperatures_against_a_numerical_solution_of_the_heat_equation():
    # Crank–Nicolson on 20 m of soil under a sinusoidal surface, run until periodic (scipy's banded solver): an
    # independent route, accurate to 0.02 K at 0.1 m and one day.
    from scipy.linalg import solve_banded

    a, dz, n = 0.05, 0.1, 200
    r = a / dz**2 / 2
    bands = np.zeros((3, n))
    bands[0, 1:], bands[1], bands[2, :-1] = -r, 1 + 2 * r, -r
    bands[2, -2], bands[1, -1] = -2 * r, 1 + 2 * r  # no flow at the bottom
    t = np.full(n, 10.0)

    def surface(day):
        return 10.0 - 12.0 * np.cos(2 * np.pi / 365 * (day - 35))

    for day in range(365 * 12):
        right = t.copy()
        right[1:-1] += r * (t[2:] - 2 * t[1:-1] + t[:-2])
        right[0] += r * (t[1] - 2 * t[0] + surface(day)) + r * surface(day + 1)
        right[-1] += 2 * r * (t[-2] - t[-1])
        t = solve_banded((1, 1), bands, right)
    depths = dz * np.arange(1, n + 1)
    expected = ground.soil_temperature(depths, 0.0, 10.0, 12.0, 35.0, a)
    assert t[:60] == pytest.approx(expected[:60], abs=0.02)
