"""ISO 10211:2007 and 2017, Annex A: validation cases 1 and 2 for two-dimensional conduction.

Case 1: 28 temperatures from memory of the standard, reproduced by the Fourier series below. Case 2: geometry, nine
temperatures and the heat flow from memory of the standard; that one solution meets all ten figures speaks for the
memory. The standard asks for 0.1 K and 0.1 W/m.
"""

import numpy as np
import pytest

from reviewer.physics.corner import corner_temperature_factor, temperature_field

CASE_1 = np.array(
    [
        [9.7, 13.4, 14.7, 15.1],
        [5.3, 8.6, 10.3, 10.8],
        [3.2, 5.6, 7.0, 7.5],
        [2.0, 3.6, 4.7, 5.0],
        [1.3, 2.3, 3.0, 3.2],
        [0.7, 1.4, 1.8, 1.9],
        [0.3, 0.6, 0.8, 0.9],
    ]
)
"""Half of a square column; rows from the hot side down, columns from the edge to the axis, an eighth apart."""


def series():
    """Square of side 1, one side at 20 °C and three at 0 °C: Fourier series, 200 terms."""
    u, v = np.meshgrid(np.arange(1, 8) / 8, np.arange(1, 5) / 8, indexing="ij")
    n = np.arange(1, 400, 2)[:, None, None]
    # sinh(nπ(1−u))/sinh(nπ) without overflow.
    ratio = np.exp(-n * np.pi * u) * -np.expm1(-2 * n * np.pi * (1 - u)) / -np.expm1(-2 * n * np.pi)
    return (4 * 20 / (n * np.pi) * np.sin(n * np.pi * v) * ratio).sum(axis=0)


def column(cells_an_eighth):
    """The same by finite differences on the half column, the axis adiabatic; shape (7, 4) at the table's nodes."""
    m = cells_an_eighth
    depth, width = np.linspace(0, 1, 8 * m + 1), np.linspace(0, 0.5, 4 * m + 1)
    fixed = np.full((depth.size, width.size), np.nan)
    fixed[0] = 20.0
    fixed[-1] = 0.0
    fixed[:, 0] = 0.0
    t = temperature_field(depth, width, np.ones((8 * m, 4 * m)), fixed=fixed)
    return t[m:-1:m, m::m]


def test_case_1_by_the_series():
    assert series().round(1) == pytest.approx(CASE_1, abs=1e-9)


def test_case_1_within_a_tenth_of_a_kelvin():
    assert column(5) == pytest.approx(CASE_1, abs=0.1)


def test_case_1_converges_with_the_second_order():
    exact = series()
    errors = [float(np.sqrt(np.mean((column(m) - exact) ** 2))) for m in (2, 4, 8)]
    orders = np.log2([errors[0] / errors[1], errors[1] / errors[2]])
    assert orders == pytest.approx([2.0, 2.0], abs=0.15)
    assert errors[-1] < 0.01


def test_case_2_concrete_wood_insulation_and_aluminum():
    # 500 mm wide. From outside (0 °C, R_se 0.06): 6 mm concrete (1.15); under its first 15 mm, 5 mm of wood (0.12)
    # on a 1.5 mm aluminum (230) sheet that turns down along the edge and runs 1.5 mm thick over the whole width
    # 40 mm below the concrete; insulation (0.029) between. Inside 20 °C, R_si 0.11 below.
    n, mm = 2, 1e-3

    def lines(bounds, cells):
        parts = [np.linspace(a, b, c * n + 1)[1:] for a, b, c in zip(bounds, bounds[1:], cells, strict=False)]
        return np.concatenate([bounds[:1], *parts])

    x = lines([0, 1.5, 15, 25, 50, 100, 500], [2, 6, 6, 8, 8, 20])
    y = lines([0, 1.5, 35, 36.5, 41.5, 47.5], [2, 12, 2, 4, 3])
    u, v = np.meshgrid((x[1:] + x[:-1]) / 2, (y[1:] + y[:-1]) / 2, indexing="ij")
    k = np.full(u.shape, 0.029)
    k[(v < 1.5) | ((u < 1.5) & (v < 36.5)) | ((u < 15) & (v > 35) & (v < 36.5))] = 230.0
    k[(u < 15) & (v > 36.5) & (v < 41.5)] = 0.12
    k[v > 41.5] = 1.15
    film, ambient = np.zeros((2, x.size, y.size))
    width = np.convolve(np.diff(x) / 2 * mm, [1, 1])
    film[:, 0], film[:, -1] = width / 0.11, width / 0.06
    ambient[:, 0] = 20.0
    t = temperature_field(x * mm, y * mm, k, film, ambient)
    points = {
        (0, 47.5): 7.1, (500, 47.5): 0.8, (0, 41.5): 7.9, (15, 41.5): 6.3, (500, 41.5): 0.8,
        (0, 36.5): 16.4, (15, 36.5): 16.3, (0, 0): 16.8, (500, 0): 18.3,
    }  # fmt: skip
    ours = [t[np.argmin(abs(x - a)), np.argmin(abs(y - b))] for a, b in points]
    assert ours == pytest.approx(list(points.values()), abs=0.1)
    assert float((film[:, -1] * t[:, -1]).sum()) == pytest.approx(9.5, abs=0.1)


def test_shape_factor_of_an_edge():
    # A homogeneous edge between isothermal faces passes as much as 0.5588 of a square more than its internal
    # lengths (conformal mapping, derived; heat-transfer texts print 0.54 after Langmuir 1913). The films are a
    # five-thousandth of the wall's resistance; 1 %.
    edge = corner_temperature_factor([(0.5, 0.01)], inside_film=0.01, outside_film=0.001, fineness=16)
    assert edge.psi_internal / 0.01 == pytest.approx(0.5588, rel=0.01)
