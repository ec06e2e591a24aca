"""Worked examples of textbooks: temperature and dew-point gradients, vapor through a board."""

from __future__ import annotations

import pytest

from reviewer.physics import condensation, heat, vapor


def test_lined_concrete_wall_of_mcmullan():
    # R. McMullan, Environmental Science in Building, condensation chapter: 10 mm plasterboard, 25 mm expanded
    # polystyrene, 150 mm concrete; 20 °C 59 % inside, 0 °C saturated outside. Inputs from memory, results derived
    # (the book rounds to about 0.5 K).
    t = heat.temperatures([0.06, 0.75, 0.105], 20.0, 0.0, 0.123, 0.055)
    assert sum([0.123, 0.06, 0.75, 0.105, 0.055]) == pytest.approx(1.093)
    assert t == pytest.approx([17.75, 16.65, 2.93, 1.01], abs=0.1)
    z = [1e9 * resistivity * d for resistivity, d in ((50, 0.010), (100, 0.025), (30, 0.150))]
    assert z == pytest.approx([0.5e9, 2.5e9, 4.5e9])
    got = condensation.dew_point_method(t, z, 1379.0, 611.0)
    assert got.straight == pytest.approx([1379, 1328, 1071, 611], abs=1)
    assert got.dew_point == pytest.approx([11.75, 11.18, 7.99, 0.0], abs=0.1)
    assert got.plane == 2
    assert got.over.tolist() == [False, False, True, False]


def test_vapor_through_bare_gypsum_board():
    # Heat and mass transfer text, 5th edition, ch. 14 problem: 3 × 8 m of 9.5 mm board, 20 °C and 60 % on one
    # side, dry on the other, for a day. Inputs seen in a public copy, answer derived (0.01 kg).
    g = vapor.flow([1 / 2.86e-9], 1403.4, 0.0)
    assert g * 24 * 86400 == pytest.approx(8.3229, abs=0.01)
