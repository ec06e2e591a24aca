"""ISO 13370 and ASHRAE below-grade walls.

Equations from memory of ISO 13370:2007 (unchanged in 2017); values computed from them by another hand ("mixed").
UK guidance prints the table for clay (λ 1.5) to two digits (from memory). ASHRAE Fundamentals, Average U-Factor for
Basement Walls with Uniform Insulation (soil 1.4 W/(m·K)), from memory.
"""

import numpy as np
import pytest

from reviewer.physics import ground

P_OVER_A = np.arange(1, 11) / 10
SLABS = {
    1.5: (0.219, 0.37, 0.495, 0.603, 0.698, 0.783, 0.859, 0.929, 0.993, 1.051),
    2.0: (0.282, 0.473, 0.629, 0.762, 0.878, 0.981, 1.073, 1.156, 1.231, 1.299),
    3.5: (0.452, 0.743, 0.973, 1.164, 1.326, 1.465, 1.587, 1.693, 1.788, 1.871),
}
UK_CLAY = (0.22, 0.37, 0.49, 0.60, 0.70, 0.78, 0.86, 0.93, 0.99, 1.05)


def slab(conductivity):
    dimension = ground.characteristic_dimension(1.0, P_OVER_A)
    thickness = ground.equivalent_thickness(0.3, conductivity)
    return ground.slab_transmittance(dimension, thickness, conductivity)


@pytest.mark.parametrize("conductivity", [1.5, 2.0, 3.5])
def test_uninsulated_slabs_by_perimeter_over_area(conductivity):
    # w 0.3 m, R_f 0, R_si 0.17, R_se 0.04; 0.002 W/(m²·K).
    assert slab(conductivity) == pytest.approx(SLABS[conductivity], abs=0.002)


def test_uninsulated_slabs_on_clay_as_guidance_prints_them():
    # Two digits: half a unit of the last, and 0.001 for a value that falls on the rounding edge (0.495).
    assert slab(1.5) == pytest.approx(UK_CLAY, abs=0.0061)


def test_heated_basement():
    # B′ 4 m, z 2.4 m, λ 2.0, w 0.3, R_f 0: d_t 0.72; R_w 0.2: d_w 0.74; R_w 2.5: d_w 5.34.
    dt = float(ground.equivalent_thickness(0.3, 2.0))
    dw = [float(ground.equivalent_thickness(0.0, 2.0, r, inside=0.13)) for r in (0.2, 2.5)]
    assert [dt, *dw] == pytest.approx([0.72, 0.74, 5.34], abs=1e-9)
    floor, wall, _ = ground.basement_transmittance(4.0, 2.4, dt, np.array(dw), 2.0)
    assert float(floor) == pytest.approx(0.558, abs=0.002)
    assert wall == pytest.approx([0.8552, 0.2196], abs=0.002)


def test_a_shallow_basement_is_nearly_a_slab():
    floor, _, _ = ground.basement_transmittance(6.0, 0.01, 0.72, 0.74, 2.0)
    assert float(floor) == pytest.approx(float(ground.slab_transmittance(6.0, 0.72, 2.0)), rel=0.005)


ASHRAE_WALLS = {  # depth m → uninsulated and with 0.88, 1.76, 2.64 m²·K/W
    0.3: (2.468, 0.769, 0.458, 0.326),
    0.6: (1.898, 0.689, 0.427, 0.310),
    0.9: (1.571, 0.628, 0.401, 0.296),
    1.2: (1.353, 0.579, 0.379, 0.283),
    1.5: (1.195, 0.539, 0.360, 0.272),
    1.8: (1.075, 0.505, 0.343, 0.262),
    2.1: (0.980, 0.476, 0.328, 0.252),
    2.4: (0.902, 0.450, 0.315, 0.244),
}


@pytest.mark.parametrize("depth", list(ASHRAE_WALLS))
def test_mean_transmittance_of_basement_walls(depth):
    # The handbook's wall without insulation has R 0.259 m²·K/W (1.47 h·ft²·°F/Btu) with its films. Rounded to
    # 0.001; its depths are 1 ft steps written as 0.3 m: 0.5 %.
    resistance = 0.259 + np.array([0.0, 0.88, 1.76, 2.64])
    ours = ground.strip_transmittance(0.0, depth, resistance, 1.4)
    assert ours == pytest.approx(ASHRAE_WALLS[depth], rel=0.005)
