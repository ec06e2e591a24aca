"""DIN 4108-3: the period method (climates and limits from memory; 1,000 and 500 g/m², 5 % and 3 % as restated)."""

from __future__ import annotations

import numpy as np
import pytest

from reviewer.physics import condensation as c
from reviewer.units import DELTA_0

# Internally insulated brick, from inside: thickness m, conductivity, μ. Expected values derived independently.
LAYERS = ((0.0125, 0.25, 10), (0.08, 0.035, 1), (0.24, 0.81, 10), (0.02, 1.0, 35))
R = [d / k for d, k, _ in LAYERS]
Z = np.array([d * mu for d, _, mu in LAYERS]) / DELTA_0


def test_block_climates_of_2014():
    k = c.DIN_4108_3
    assert (k.t_in, k.p_in, k.t_out, k.p_out, k.dew_days * 86400) == (20, 1168, -5, 321, 7776000)
    assert (k.p_drying, dict(k.saturation_drying), k.drying_days * 86400) == (
        1200,
        {"wall": 1700, "roof": 2000},
        7776000,
    )
    assert (k.r_si, k.r_se) == (0.25, 0.04)


def test_block_climates_of_2001():
    # −10 °C 80 % outside for 1,440 h; drying at 12 °C and 70 % for 2,160 h.
    k = c.DIN_4108_3_2001
    assert (k.t_out, k.dew_days * 24, k.drying_days * 24) == (-10, 1440, 2160)
    assert k.p_drying == pytest.approx(0.7 * 1403, rel=0.001)
    assert k.p_out == pytest.approx(0.8 * 259.3, rel=0.005)


def test_internally_insulated_brick_wall():
    p = c.period_method(R, Z, "wall")
    assert sum(R) + 0.29 == pytest.approx(2.942, rel=0.001)
    assert 1 / (sum(R) + 0.29) == pytest.approx(0.3399, rel=0.001)
    assert np.cumsum(Z) * DELTA_0 == pytest.approx([0.125, 0.205, 2.605, 3.305])
    assert p.temperatures == pytest.approx([17.876, 17.451, -1.972, -4.49, -4.66], abs=0.002)
    assert p.case == "b"
    assert p.planes == ((2, 2),)
    assert 1000 * p.total == pytest.approx(4829.9, rel=0.001)
    assert 1000 * p.evaporation == pytest.approx(4044.0, rel=0.001)
    assert not p.dries
    assert p.total > c.LIMIT_GENERAL


def test_flows_to_and_from_its_plane():
    from reviewer.physics.heat import temperatures

    t = temperatures(R, 20.0, -5.0, 0.25, 0.04)
    d = c.dew_point_method(t, Z, 1168.0, 321.0)
    assert d.saturation == pytest.approx([2046.8, 1992.7, 518.3, 419.0, 413.0], rel=0.001)
    assert d.profile.flow[[0, 2]] == pytest.approx([6.3385e-07, 1.2729e-08], rel=0.001)


def test_limits():
    assert (c.LIMIT_GENERAL, c.LIMIT_NON_ABSORBING) == (1.0, 0.5)
    assert c.condensate_limit(500.0, 0.024, panel=False) == pytest.approx(0.05 * 12)
    assert c.condensate_limit(600.0, 0.012, panel=True) == pytest.approx(0.03 * 7.2)
