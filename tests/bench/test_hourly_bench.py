"""How long a simulated year takes, and how the solver compares with a general one on the same equations.

Times are after the compiler has run once (about 5 s, kept in a cache for later processes). The general solver is
`scipy.integrate.solve_ivp` (BDF, sparse Jacobian) with the same compiled right-hand side; both errors are measured
against this solver run with a hundredth of the tolerance, at the ends of the hours.
"""

from __future__ import annotations

import os
import time

import numpy as np
from scipy.integrate import solve_ivp
from scipy.sparse import diags as sparse_diags
from scipy.sparse import kron

from reviewer.physics.hourly import kernel, solver
from reviewer.physics.hourly.boundary import AirBoundary, driving_rain, indoor_air, outdoor_air
from reviewer.physics.hourly.materials import AirSpace, HygroMaterial, Layer, Membrane, Part
from reviewer.physics.hourly.solver import AirLeak, Assembly, Leak, Settings, simulate, simulate_many
from reviewer.physics.hourly.weather import synthetic_year

GYPSUM = HygroMaterial(700.0, 870.0, 0.16, [(0.5, 2.5e-11)], [(0.5, 4.0), (0.8, 8.0)], 400.0)
WOOL = HygroMaterial(20.0, 840.0, 0.04, [(0.5, 1.5e-10)], [(0.5, 0.1), (0.8, 0.25)], None, 900.0)
PANEL = HygroMaterial(
    600.0, 1600.0, 0.12, [(0.25, 1e-12), (0.75, 3e-12)], [(0.5, 48), (0.65, 65), (0.8, 90), (0.9, 120)], 400.0,
    water_absorption=0.002,
)  # fmt: skip
BRICK = HygroMaterial(
    1700.0, 850.0, 0.6, [(0.5, 2e-11)], [(0.5, 3.0), (0.8, 8.0)], 200.0, 300.0, 0.003, water_absorption=0.1
)
PARTS: list[Part] = [
    Membrane([(0.5, 3e-10)]), Layer(GYPSUM, 0.0127), Membrane([(0.5, 3.4e-12)]), Layer(WOOL, 0.14),
    Layer(PANEL, 0.011), Membrane([(0.5, 2.9e-9)]), AirSpace(0.025, 0.18, 10.0), Layer(BRICK, 0.09),
]  # fmt: skip
FINE = Settings(finest=3.5e-4)


def wall(azimuth: float = 180.0) -> Assembly:
    weather = synthetic_year(
        46.8, -92.1, [-12, -9, -3, 4, 10, 15, 19, 18, 13, 6, -1, -9],
        [200, 240, 390, 560, 840, 1200, 1500, 1450, 1100, 720, 450, 270],
        [60, 100, 150, 190, 220, 240, 240, 200, 145, 95, 60, 48],
        [30, 25, 50, 60, 80, 105, 100, 90, 100, 70, 55, 35], [4.5] * 12,
    )  # fmt: skip
    rain = driving_rain(weather, azimuth)
    outdoors = outdoor_air(weather, azimuth, rain=rain)
    return Assembly(PARTS, indoor_air(21.0, 1000.0), outdoors, [Leak(6, 0.01 * rain)], [AirLeak(4, 5e-6)])


def best(n: int, run) -> float:
    times = []
    for _ in range(n):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def test_a_year_of_eight_layers_takes_a_second_at_most() -> None:
    section = wall()
    outcome = simulate(section, settings=FINE)
    seconds = best(3, lambda: simulate(section, settings=FINE))
    nodes = len(outcome.state.temperature)
    print(
        f"\n{nodes} nodes, 8,760 h: {seconds:.2f} s, {outcome.steps} steps, {outcome.iterations} iterations"
    )
    assert nodes >= 75
    assert seconds < 1.0


def test_a_batch_takes_less_time_than_one_by_one() -> None:
    # The compiled loops need no interpreter lock: a batch takes as many cores as there are.
    sections = [wall(a) for a in (0.0, 90.0, 180.0, 270.0)]
    alone = [simulate(s) for s in sections]
    for one, other in zip(alone, simulate_many(sections), strict=True):
        assert np.array_equal(one.temperature, other.temperature)
        assert np.array_equal(one.water, other.water)
    one_by_one = best(3, lambda: [simulate(s) for s in sections])
    batch = best(3, lambda: simulate_many(sections))
    cores = len(os.sched_getaffinity(0))
    print(
        f"\nfour sections, a year each: one by one {one_by_one:.2f} s, as a batch {batch:.2f} s "
        f"on {cores} cores: {one_by_one / batch:.2f} times as fast"
    )
    assert one_by_one > (1.3 if cores > 1 else 0.9) * batch


def test_twenty_times_faster_than_a_general_solver_at_equal_error() -> None:
    n = 72
    t = np.arange(n)
    outdoors = AirBoundary(
        -5.0 + 6.0 * np.sin(2 * np.pi * t / 24),
        300.0,
        20.0,
        absorbed=np.maximum(0, 300 * np.sin(2 * np.pi * t / 24)),
    )
    parts: list[Part] = [Layer(GYPSUM, 0.0127), Layer(WOOL, 0.14), Layer(PANEL, 0.011)]
    section = Assembly(parts, indoor_air(21.0, 900.0), outdoors, initial_rh=0.6)
    times = np.arange(n + 1) * 3600.0
    exact = simulate(section, times, settings=Settings(tolerance=0.01, least_step=0.1, first_step=1.0))
    found = simulate(section, times)
    ours = best(3, lambda: simulate(section, times))
    our_error = np.abs(found.temperature - exact.temperature).max()
    our_damp = np.abs(found.rh - exact.rh).max()

    options = Settings()
    model = solver._build(section, times, options)
    start = solver._start(section, model, options)
    size = len(model.node)
    work = [np.zeros((size, k)) for k in (7, 2, 2, 4, 4, 4)]
    flow, end = np.zeros(kernel.N_FLOWS), np.zeros(5)
    setting = np.array([0.0, 1.0, 1e-4, 1.0, 1.0, 1e9, 1e-6])

    def rate(s: float, y: np.ndarray) -> np.ndarray:
        k = min(int(s // 3600.0), n - 1)
        x = s / 3600.0 - k
        bounds = model.levels[k] + x * (model.levels[k + 1] - model.levels[k])
        u, temp = np.maximum(y[0::2], 1e-6), np.ascontiguousarray(y[1::2])
        kernel.evaluate(
            u, temp, model.node, model.face, model.face_material, model.tables, model.conduction, bounds,
            model.kinds, model.emissivity, model.rates[k], model.source_kinds, setting, *work, flow, end,
        )  # fmt: skip
        value, net = work[1], work[2]
        out = np.empty_like(y)
        # A joint stores nothing: 0.1 mg/m² and 1 J/(m²·K) make it follow its neighbors without delay.
        out[0::2] = net[:, 0] / np.maximum(value[:, 1], 1e-7)
        out[1::2] = net[:, 1] / (np.maximum(model.node[:, 1], 1.0) + kernel.HEAT_WATER * value[:, 0])
        return out

    blocks = sparse_diags([1.0, 1.0, 1.0], [-1, 0, 1], shape=(size, size))
    pattern = kron(blocks, np.ones((2, 2)))
    y0 = np.empty(2 * size)
    y0[0::2], y0[1::2] = start.coordinate, start.temperature
    # The cheapest run of the general solver that errs no more than ours, over tolerances close together.
    seconds, error, damp, used = np.inf, np.inf, np.inf, 0.0
    for tolerance in (1e-2, 5e-3, 2e-3, 1e-3, 5e-4, 2e-4, 1e-4, 5e-5, 2e-5, 1e-5):
        before = time.perf_counter()
        general = solve_ivp(
            rate, (0.0, times[-1]), y0, "BDF", t_eval=times[1:], rtol=tolerance, atol=tolerance, max_step=3600.0,
            jac_sparsity=pattern,
        )  # fmt: skip
        took = time.perf_counter() - before
        joint_t = general.y[1::2][model.joints].T
        joint_rh = solver._humidity(general.y[0::2][model.joints].T.ravel(), joint_t.ravel())
        off = np.abs(joint_t - exact.temperature[0]).max()
        off_damp = np.abs(joint_rh.reshape(joint_t.shape) - exact.rh[0]).max()
        if off <= our_error and off_damp <= our_damp and took < seconds:
            seconds, error, damp, used = took, off, off_damp, tolerance
    print(
        f"\n{n} h, {size} nodes: {1000 * ours:.1f} ms at {our_error:.3f} K and {our_damp:.4f} RH; "
        f"BDF (rtol {used:g}) {1000 * seconds:.0f} ms at {error:.3f} K and {damp:.4f}; ratio {seconds / ours:.0f}"
    )
    assert error <= our_error and damp <= our_damp
    assert our_error < 0.5
    assert seconds > 20.0 * ours
