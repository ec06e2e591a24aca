"""Two-dimensional conduction: balance, symmetry, refinement and directions."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.physics import corner
from reviewer.physics.corner import corner_temperature_factor

FRAME = [(0.0125, 0.25), (0.14, 0.04), (0.011, 0.13), (0.02, 0.11)]
BRICK = [(0.0125, 0.25), (0.06, 0.035), (0.3, 0.8)]
OUTSULATED = [(0.0125, 0.25), (0.2, 1.5), (0.1, 0.035), (0.01, 0.8)]
WALLS = [FRAME, BRICK, OUTSULATED, [(0.2, 0.2)], [(0.3, 2.0)]]

stacks = st.lists(st.tuples(st.floats(0.005, 0.4), st.floats(0.02, 3.0)), min_size=1, max_size=5)


@settings(max_examples=40, deadline=None)
@given(stacks)
def test_heat_balances_and_the_edge_is_colder_than_either_wall(stack):
    r = corner_temperature_factor(stack)
    assert abs(r.imbalance) < 1e-9
    assert 0 < r.factor < r.plain[0] == r.plain[1] < 1
    assert r.psi_external < r.psi_internal


@settings(max_examples=25, deadline=None)
@given(stacks, stacks)
def test_swapping_the_walls_changes_nothing(first, second):
    one = corner_temperature_factor(first, second, runs_through="first")
    other = corner_temperature_factor(second, first, runs_through="second")
    assert one.factor == pytest.approx(other.factor, rel=1e-9)
    assert one.coupling == pytest.approx(other.coupling, rel=1e-9)


def test_the_field_of_a_symmetric_edge_is_symmetric():
    k = np.full((8, 8), 0.5)
    k[:4, :4] = 0.0
    film, x = np.zeros((9, 9)), np.linspace(0, 0.8, 9)
    film[4, :5] = film[:5, 4] = 0.8
    film[-1] = film[:, -1] = 2.0
    warm = np.zeros((9, 9))
    warm[4, :5] = warm[:5, 4] = 20.0
    t = corner.temperature_field(x, x, k, film, warm)
    assert t == pytest.approx(t.T, rel=1e-9, nan_ok=True)
    assert np.isnan(t[:4, :4]).all() and not np.isnan(t[4:]).any()


@pytest.mark.parametrize("wall", WALLS)
def test_refinement_moves_the_factor_by_less_than_half_a_hundredth(wall):
    # ISO 10211, clause 5 asks 1 % of heat flow and 0.005 of the factor between successive doublings.
    coarse, fine = (corner_temperature_factor(wall, fineness=n) for n in (4, 8))
    assert coarse.factor == pytest.approx(fine.factor, abs=0.005)
    assert coarse.coupling == pytest.approx(fine.coupling, rel=0.01)


@pytest.mark.parametrize("wall", WALLS)
def test_far_from_the_edge_the_wall_is_plain(wall):
    # A longer flank adds the wall's own U, and nothing else: the flank is long enough.
    r = corner_temperature_factor(wall)
    depth = sum(d for d, _ in wall)
    u = 1 / (0.25 + sum(d / k for d, k in wall) + 0.04)
    assert r.plain[0] == pytest.approx(1 - 0.25 * u, rel=1e-12)
    assert r.psi_internal - r.psi_external == pytest.approx(2 * u * depth, rel=1e-9)


def test_insulation_helps_and_a_post_hurts():
    bare = corner_temperature_factor([(0.2, 0.8)])
    insulated = corner_temperature_factor([(0.2, 0.8), (0.08, 0.035)])
    assert insulated.factor > bare.factor + 0.2
    posted = corner_temperature_factor(FRAME, post=(1, 0.13))
    assert posted.factor < corner_temperature_factor(FRAME).factor


def test_a_roof_may_run_over_the_wall():
    roof = [(0.0125, 0.25), (0.3, 0.04), (0.02, 0.13)]
    r = corner_temperature_factor(FRAME, roof, runs_through="second")
    assert r.factor < min(r.plain)
    assert r.plain[1] > r.plain[0]


def test_elimination_agrees_with_a_sparse_direct_solver():
    # scipy's LU of the same balances assembled another way.
    from scipy.sparse import lil_matrix
    from scipy.sparse.linalg import spsolve

    rng = np.random.default_rng(5)
    x, y = np.cumsum(rng.uniform(0.01, 0.1, 9)), np.cumsum(rng.uniform(0.01, 0.1, 7))
    k, film = rng.uniform(0.03, 2.0, (8, 6)), np.zeros((9, 7))
    film[0], film[-1] = 0.5, 1.5
    ambient = np.zeros((9, 7))
    ambient[0] = 20.0
    m, right = lil_matrix((63, 63)), (film * ambient).ravel()
    for i in range(9):
        for j in range(7):
            m[7 * i + j, 7 * i + j] += film[i, j]
    for i in range(8):
        for j in range(6):
            dx, dy = x[i + 1] - x[i], y[j + 1] - y[j]
            nodes = {(a, b): 7 * (i + a) + j + b for a in (0, 1) for b in (0, 1)}
            for p, q, g in (
                ((0, 0), (1, 0), k[i, j] * dy / 2 / dx), ((0, 1), (1, 1), k[i, j] * dy / 2 / dx),
                ((0, 0), (0, 1), k[i, j] * dx / 2 / dy), ((1, 0), (1, 1), k[i, j] * dx / 2 / dy),
            ):  # fmt: skip
                a, b = nodes[p], nodes[q]
                m[a, a] += g
                m[b, b] += g
                m[a, b] -= g
                m[b, a] -= g
    expected = spsolve(m.tocsc(), right).reshape(9, 7)
    assert corner.temperature_field(x, y, k, film, ambient) == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: corner_temperature_factor([]), "1 to 20 layers"),
        (lambda: corner_temperature_factor([(0.0, 1.0)]), "layer thickness of 0 m"),
        (lambda: corner_temperature_factor(FRAME, BRICK), "equally many"),
        (lambda: corner_temperature_factor(FRAME, post=(9, 0.13)), "no layer 9"),
        (lambda: corner_temperature_factor(FRAME, runs_through="roof"), "neither, first or second"),
        (lambda: corner.temperature_field([0, 1], [0, 1], 1.0), "no known temperature"),
        (lambda: corner.temperature_field([0, 0], [0, 1], 1.0), "must rise"),
    ],
)
def test_what_can_not_be_solved_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
