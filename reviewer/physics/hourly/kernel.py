"""The inner loops of the hourly simulation: residual, Jacobian, block elimination and time steps.

Plain functions on floats and arrays, compiled by numba where it is installed and run as they stand where it
is not: the same arithmetic, the same results, some two hundred times slower. Imported by `solver` when a
simulation runs, never with the package.

Unknowns at each node: the moisture coordinate u (see `coordinate`) and the temperature T in °C. Both are
continuous at joints between materials and stay well conditioned from oven-dry to saturation. Nodes are cells,
which store, and joints between layers, which store no more than a film of water.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from reviewer.humidity import _ICE, _TRIPLE, _WATER
from reviewer.physics.basics import ATMOSPHERE, HEAT_AIR, KELVIN, R_AIR, R_VAPOR, STEFAN_BOLTZMANN

try:
    import numba
except ImportError:
    numba = None

COMPILED = numba is not None

LATENT = 2.5e6
"""J/kg, heat of evaporation (EN 15026)."""
HEAT_WATER = 4180.0
"""J/(kg·K) (EN 15026)."""
REFERENCE = 296.15
"""K, at which storage curves are given: the coordinate u is a function of suction alone."""

SWITCH = 0.9
"""Relative humidity at the reference temperature up to which u is that humidity."""
_LOG_SWITCH = -math.log(SWITCH)
SMALL = 1.0e3 / (1000.0 * R_VAPOR * REFERENCE)
"""1 kPa of suction, as a fraction of ρw·Rv·T: smaller suctions are of no account in building materials."""
SCALE = SWITCH * (_LOG_SWITCH + SMALL)
START = -math.log(_LOG_SWITCH + SMALL)
SATURATED = SWITCH + SCALE * (-math.log(SMALL) - START)
"""u at zero suction."""
TOP = SATURATED * 10.0 / 9.0
"""u at which a material is full: from zero suction up to here the water above free saturation is stored."""
INTERVALS = 1440
"""Of a table over u from 0 to TOP, 1.4 ‰ of relative humidity wide where that applies. A multiple of ten, so
that saturation falls on a point."""
_DRAIN = 1.0
"""kg/(m²·s) that runs off for each unit of u beyond a node's limit: large against any rain."""

_GAMMA = 1.0 - math.sqrt(0.5)
"""Diagonal of the two-stage implicit method of order two, L-stable and stiffly accurate (Alexander 1977)."""
_MOST_ITERATIONS = 40
_MOST_STEPS = 5000
"""In one interval, tried or taken."""
_LATE = 8
_MAKE_UP = 1800.0
"""s, time in which what the iterations left undone is made up for."""

DRIEST = 1.0e-9
"""The least u: drier than that is as dry."""

OK, NO_CONVERGENCE = 0, 1
FLOWS = (
    "vapor from indoors",
    "vapor from outdoors",
    "rain",
    "runoff",
    "drained",
    "vapor with air",
    "leaks",
    "enthalpy from indoors",
    "enthalpy from outdoors",
    "enthalpy elsewhere",
    "heat from indoors",
    "sensible heat left out",
)
"""What is summed over each interval, kg/m² or J/m², positive into the section (`runoff`, `drained`: out)."""
N_FLOWS = len(FLOWS)


def _compile(function: Callable[..., Any]) -> Callable[..., Any]:
    if numba is None:
        return function
    options = {"nogil": True, "error_model": "numpy"}
    try:
        return numba.njit(cache=True, **options)(function)
    except RuntimeError:
        # No place to write the cache to: compile anew in each process.
        return numba.njit(**options)(function)


@_compile
def suction(u):
    """Suction over ρw·Rv·(296.15 K) and its derivative to u; falls below zero beyond saturation."""
    if u < SWITCH:
        return -math.log(u), -1.0 / u
    e = math.exp(-(START + (u - SWITCH) / SCALE))
    return e - SMALL, -e / SCALE


@_compile
def evaluate(
    u, temp, node, face, face_material, tables, conduction, bounds, kinds, emissivity, sources, source_kinds,
    settings, pressure, value, net, lower, diagonal, upper, flow, end,
):  # fmt: skip
    """Net inflow of moisture and heat to every node, with the block-tridiagonal Jacobian.

    `net` (N, 2) is kg/(m²·s) and W/m²; rows of the Jacobian blocks are moisture and heat, columns u and T.
    `value` (N, 2) takes the stored moisture and its derivative. `flow` takes the boundary flows, `end` the
    flows that leave the two prescribed surfaces.
    """
    n = u.shape[0]
    points = tables.shape[1]
    per_step = (points - 1) / TOP
    exponent, advective = settings[0], settings[1]
    for i in range(n):
        log_h, slope = suction(u[i])
        t = temp[i]
        kelvin = t + KELVIN
        if t >= 0.0:
            c = _WATER[1] + t
            a, da = _WATER[0] * t / c, _WATER[0] * _WATER[1] / (c * c)
        else:
            c = _ICE[1] + t
            a, da = _ICE[0] * t / c, _ICE[0] * _ICE[1] / (c * c)
        ratio = REFERENCE / kelvin
        p = _TRIPLE * math.exp(a - log_h * ratio)
        pressure[i, 0] = p
        pressure[i, 1] = -p * ratio * slope
        pressure[i, 2] = p * (da + log_h * ratio / kelvin)
        pressure[i, 3] = 1.0 if exponent == 0.0 else ratio ** (-exponent)
        x = u[i] * per_step
        if x >= points - 1.0:
            k, f, inside = points - 2, 1.0, 0.0
        else:
            k = int(x)
            f, inside = x - k, per_step
        m = int(node[i, 2])
        low, high = tables[m, k, 0], tables[m, k + 1, 0]
        value[i, 0] = node[i, 0] * (low + f * (high - low))
        value[i, 1] = node[i, 0] * (high - low) * inside
        pressure[i, 4] = k
        pressure[i, 5] = f
        pressure[i, 6] = inside
        net[i, 0] = net[i, 1] = 0.0
        for j in range(4):
            lower[i, j] = diagonal[i, j] = upper[i, j] = 0.0
    for j in range(N_FLOWS):
        flow[j] = 0.0

    for i in range(n - 1):
        j = i + 1
        m = face_material[i]
        k, f, s = int(pressure[i, 4]), pressure[i, 5], pressure[i, 6]
        w_i = tables[m, k, 0] + f * (tables[m, k + 1, 0] - tables[m, k, 0])
        dw_i = (tables[m, k + 1, 0] - tables[m, k, 0]) * s
        l_i = tables[m, k, 1] + f * (tables[m, k + 1, 1] - tables[m, k, 1])
        dl_i = (tables[m, k + 1, 1] - tables[m, k, 1]) * s
        d_i = (tables[m, k, 2] + f * (tables[m, k + 1, 2] - tables[m, k, 2])) * pressure[i, 3]
        dd_i = (tables[m, k + 1, 2] - tables[m, k, 2]) * s * pressure[i, 3]
        k, f, s = int(pressure[j, 4]), pressure[j, 5], pressure[j, 6]
        w_j = tables[m, k, 0] + f * (tables[m, k + 1, 0] - tables[m, k, 0])
        dw_j = (tables[m, k + 1, 0] - tables[m, k, 0]) * s
        l_j = tables[m, k, 1] + f * (tables[m, k + 1, 1] - tables[m, k, 1])
        dl_j = (tables[m, k + 1, 1] - tables[m, k, 1]) * s
        d_j = (tables[m, k, 2] + f * (tables[m, k + 1, 2] - tables[m, k, 2])) * pressure[j, 3]
        dd_j = (tables[m, k + 1, 2] - tables[m, k, 2]) * s * pressure[j, 3]

        r_i, r_j = face[i, 0] / d_i, face[i, 1] / d_j
        g = 1.0 / (r_i + r_j)
        drop = pressure[i, 0] - pressure[j, 0]
        vapor = g * drop
        # A permeance that opens with humidity may let more in the wetter a node is; the slope that the
        # iterations use keeps to the side on which the solution is stable.
        v_ui = g * max(0.1 * pressure[i, 1], pressure[i, 1] + vapor * r_i / d_i * dd_i)
        v_uj = g * min(-0.1 * pressure[j, 1], -pressure[j, 1] + vapor * r_j / d_j * dd_j)
        v_ti, v_tj = g * pressure[i, 2], -g * pressure[j, 2]

        liquid = face[i, 5] * (l_i - l_j)
        m_ui, m_uj = v_ui + face[i, 5] * dl_i, v_uj - face[i, 5] * dl_j

        c_i = conduction[m, 0] + conduction[m, 1] * w_i
        c_j = conduction[m, 0] + conduction[m, 1] * w_j
        r_i, r_j = face[i, 2] / c_i, face[i, 3] / c_j
        g = 1.0 / (r_i + r_j + face[i, 4])
        heat = g * (temp[i] - temp[j])
        q_ui = g * heat * r_i / c_i * conduction[m, 1] * dw_i + LATENT * v_ui
        q_uj = g * heat * r_j / c_j * conduction[m, 1] * dw_j + LATENT * v_uj
        q_ti, q_tj = g + LATENT * v_ti, -g + LATENT * v_tj

        moisture = vapor + liquid
        heat += LATENT * vapor
        net[i, 0] -= moisture
        net[j, 0] += moisture
        net[i, 1] -= heat
        net[j, 1] += heat
        diagonal[i, 0] -= m_ui
        diagonal[i, 1] -= v_ti
        diagonal[i, 2] -= q_ui
        diagonal[i, 3] -= q_ti
        upper[i, 0] -= m_uj
        upper[i, 1] -= v_tj
        upper[i, 2] -= q_uj
        upper[i, 3] -= q_tj
        lower[j, 0] += m_ui
        lower[j, 1] += v_ti
        lower[j, 2] += q_ui
        lower[j, 3] += q_ti
        diagonal[j, 0] += m_uj
        diagonal[j, 1] += v_tj
        diagonal[j, 2] += q_uj
        diagonal[j, 3] += q_tj
        carried = HEAT_WATER * moisture
        if advective == 0.0:
            if not ((i == 0 and kinds[0] == 1) or (j == n - 1 and kinds[1] == 1)):
                flow[11] += carried * (temp[i] - temp[j])
        elif moisture > 0.0:
            net[j, 1] += carried * (temp[i] - temp[j])
            lower[j, 3] += carried
            diagonal[j, 3] -= carried
        else:
            net[i, 1] += carried * (temp[i] - temp[j])
            diagonal[i, 3] += carried
            upper[i, 3] -= carried
        if i == 0:
            end[0], end[1] = moisture, heat + carried * temp[j]
            if advective != 0.0 and moisture > 0.0:
                end[1] += carried * (temp[i] - temp[j])
            end[2] = heat - LATENT * vapor
        if j == n - 1:
            end[3], end[4] = -moisture, -heat - carried * temp[i]
            if advective != 0.0 and moisture < 0.0:
                end[4] += carried * (temp[i] - temp[j])

    for side in range(2):
        if kinds[side] == 1:
            continue
        i = 0 if side == 0 else n - 1
        c = 4 * side
        b = 3 * side
        kelvin = temp[i] + KELVIN
        vapor = bounds[c + 3] * (bounds[c + 1] - pressure[i, 0])
        convection = bounds[c + 2] * (bounds[c] - temp[i])
        radiation = sources[b] + sources[b + 1] - emissivity[side] * STEFAN_BOLTZMANN * kelvin**4
        water = sources[b + 2]
        heat = convection + radiation + LATENT * vapor
        net[i, 0] += vapor + water
        net[i, 1] += heat
        diagonal[i, 0] -= bounds[c + 3] * pressure[i, 1]
        diagonal[i, 1] -= bounds[c + 3] * pressure[i, 2]
        diagonal[i, 2] -= LATENT * bounds[c + 3] * pressure[i, 1]
        diagonal[i, 3] -= (
            bounds[c + 2]
            + LATENT * bounds[c + 3] * pressure[i, 2]
            + 4.0 * emissivity[side] * STEFAN_BOLTZMANN * kelvin**3
        )
        flow[side] += vapor
        flow[2] += water
        flow[7 + side] += heat + HEAT_WATER * temp[i] * (vapor + water)
        if side == 0:
            flow[10] += convection + radiation

    for e in range(source_kinds.shape[0]):
        i = source_kinds[e, 0]
        rate = sources[6 + e]
        if source_kinds[e, 1] == 2:
            net[i, 0] += rate
            flow[6] += rate
            flow[9] += HEAT_WATER * temp[i] * rate
            continue
        c = 4 * source_kinds[e, 1]
        kelvin = bounds[c] + KELVIN
        k = rate / (R_VAPOR * kelvin)
        g = source_kinds[e, 2] * rate * ATMOSPHERE / (R_AIR * kelvin) * HEAT_AIR
        vapor = k * (bounds[c + 1] - pressure[i, 0])
        heat = g * (bounds[c] - temp[i]) + LATENT * vapor
        net[i, 0] += vapor
        net[i, 1] += heat
        diagonal[i, 0] -= k * pressure[i, 1]
        diagonal[i, 1] -= k * pressure[i, 2]
        diagonal[i, 2] -= LATENT * k * pressure[i, 1]
        diagonal[i, 3] -= g + LATENT * k * pressure[i, 2]
        flow[5] += vapor
        flow[9] += heat + HEAT_WATER * temp[i] * vapor

    for i in range(n):
        excess = u[i] - node[i, 3]
        if excess >= 0.0:
            drained = _DRAIN * excess
            net[i, 0] -= drained
            diagonal[i, 0] -= _DRAIN
            flow[3 if i == n - 1 else 4] += drained
            flow[9] -= HEAT_WATER * temp[i] * drained
    if kinds[0] == 1:
        flow[0], flow[7], flow[10] = end[0], end[1], end[2]
    if kinds[1] == 1:
        flow[1], flow[8] = end[3], end[4]


@_compile
def eliminate(lower, diagonal, upper, right):
    """Solve the block-tridiagonal system in place; False when a pivot block is singular."""
    n = right.shape[0]
    for i in range(n):
        a, b, c, d = diagonal[i, 0], diagonal[i, 1], diagonal[i, 2], diagonal[i, 3]
        x, y = right[i, 0], right[i, 1]
        if i > 0:
            l0, l1, l2, l3 = lower[i, 0], lower[i, 1], lower[i, 2], lower[i, 3]
            u0, u1, u2, u3 = upper[i - 1, 0], upper[i - 1, 1], upper[i - 1, 2], upper[i - 1, 3]
            a -= l0 * u0 + l1 * u2
            b -= l0 * u1 + l1 * u3
            c -= l2 * u0 + l3 * u2
            d -= l2 * u1 + l3 * u3
            x -= l0 * right[i - 1, 0] + l1 * right[i - 1, 1]
            y -= l2 * right[i - 1, 0] + l3 * right[i - 1, 1]
        det = a * d - b * c
        if not (det > 0.0 or det < 0.0):
            return False
        a, b, c, d = d / det, -b / det, -c / det, a / det
        right[i, 0], right[i, 1] = a * x + b * y, c * x + d * y
        u0, u1, u2, u3 = upper[i, 0], upper[i, 1], upper[i, 2], upper[i, 3]
        upper[i, 0], upper[i, 1] = a * u0 + b * u2, a * u1 + b * u3
        upper[i, 2], upper[i, 3] = c * u0 + d * u2, c * u1 + d * u3
    for i in range(n - 2, -1, -1):
        right[i, 0] -= upper[i, 0] * right[i + 1, 0] + upper[i, 1] * right[i + 1, 1]
        right[i, 1] -= upper[i, 2] * right[i + 1, 0] + upper[i, 3] * right[i + 1, 1]
    return True


@_compile
def settle(u, du, node, tables, i, step, exchange):
    """The step of u at which what node i stores and drains, taken as it is, and what it exchanges with its
    neighbors, taken linear (`exchange` is its slope), come to what the linear step `du` asks for.

    Storage turns from flat to steep and back where a film fills or a material comes to saturation; a linear
    step from the flat part would jump over the steep one, and back again.
    """
    points = tables.shape[1]
    width = TOP / (points - 1)
    m = int(node[i, 2])
    volume, limit = node[i, 0], node[i, 3]
    x = min(u / width, points - 1.0)
    k = min(int(x), points - 2)
    f = x - k
    low, high = tables[m, k, 0], tables[m, k + 1, 0]
    slope = exchange
    target = volume * (low + f * (high - low)) + step * _DRAIN * max(u - limit, 0.0)
    if u < TOP:
        slope += volume * (high - low) / width
    if u >= limit:
        exchange -= step * _DRAIN
    exchange = max(exchange, 1.0e-30)
    target += exchange * u + slope * du
    a, b = 0, points - 1
    if volume * tables[m, b, 0] + step * _DRAIN * (TOP - limit) + exchange * TOP <= target:
        rest = target - volume * tables[m, b, 0] - exchange * TOP - step * _DRAIN * (TOP - limit)
        return min(TOP + rest / (exchange + step * _DRAIN), TOP + 2.0) - u
    if volume * tables[m, a, 0] >= target:
        return du
    while b - a > 1:
        c = (a + b) // 2
        at = c * width
        if volume * tables[m, c, 0] + step * _DRAIN * max(at - limit, 0.0) + exchange * at <= target:
            a = c
        else:
            b = c
    at, to = a * width, b * width
    low = volume * tables[m, a, 0] + step * _DRAIN * max(at - limit, 0.0) + exchange * at
    high = volume * tables[m, b, 0] + step * _DRAIN * max(to - limit, 0.0) + exchange * to
    return at + (to - at) * (target - low) / (high - low) - u


@_compile
def stage(
    u, temp, known, step, node, face, face_material, tables, conduction, bounds, kinds, emissivity, sources,
    source_kinds, settings, pressure, value, net, lower, diagonal, upper, flow, end, right,
):  # fmt: skip
    """Newton iterations for one implicit stage: stored = `known` + `step` × inflow. The number of iterations,
    negative when they don't converge. On return `net` and `flow` belong to `u`, `temp`.
    """
    n = u.shape[0]
    size = 1.0
    for i in range(n):
        right[i, 2] = 0.4
        right[i, 3] = 0.0
    for iteration in range(_MOST_ITERATIONS):
        evaluate(
            u, temp, node, face, face_material, tables, conduction, bounds, kinds, emissivity, sources,
            source_kinds, settings, pressure, value, net, lower, diagonal, upper, flow, end,
        )  # fmt: skip
        worst = 0.0
        for i in range(n):
            capacity = node[i, 1] + HEAT_WATER * known[i, 0]
            right[i, 0] = known[i, 0] + step * net[i, 0] - value[i, 0]
            right[i, 1] = known[i, 1] + step * net[i, 1] - capacity * temp[i]
            if not ((i == 0 and kinds[0] == 1) or (i == n - 1 and kinds[1] == 1)):
                worst = max(worst, abs(right[i, 0]), abs(right[i, 1]) / LATENT)
        # Late in the iterations what is left is the account's to make up for: a node on a kink of its curve
        # balances to less than the tolerance asks for, and one behind a tight membrane hardly matters.
        late = iteration > _LATE
        if size < settings[2] and worst < (100.0 if late else 1.0) * settings[6]:
            return iteration
        if late and worst < 1.0e-3 * settings[6]:
            return iteration
        for i in range(n):
            capacity = node[i, 1] + HEAT_WATER * known[i, 0]
            for j in range(4):
                lower[i, j] *= -step
                diagonal[i, j] *= -step
                upper[i, j] *= -step
            right[i, 4] = diagonal[i, 0]
            diagonal[i, 0] += value[i, 1]
            diagonal[i, 3] += capacity
        for side in range(2):
            if kinds[side] == 1:
                i = 0 if side == 0 else n - 1
                right[i, 0] = bounds[4 * side + 1] - u[i]
                right[i, 1] = bounds[4 * side] - temp[i]
                for j in range(4):
                    lower[i, j] = upper[i, j] = 0.0
                diagonal[i, 0] = diagonal[i, 3] = 1.0
                diagonal[i, 1] = diagonal[i, 2] = 0.0
        if not eliminate(lower, diagonal, upper, right):
            return -1
        size = 0.0
        for i in range(n):
            du, dt = right[i, 0], right[i, 1]
            if not (math.isfinite(du) and math.isfinite(dt)):
                return -1
            if abs(du) > 1.0e-3:
                du = settle(u[i], du, node, tables, i, step, right[i, 4])
            # Where a node still goes to and fro, it goes half as far after each turn.
            if du * right[i, 3] < 0.0 and abs(right[i, 3]) > settings[2]:
                right[i, 2] = min(right[i, 2], 0.5 * abs(right[i, 3]))
            else:
                right[i, 2] = min(0.4, 1.5 * right[i, 2])
            du = max(-right[i, 2], min(right[i, 2], du))
            right[i, 3] = du
            size = max(size, abs(du), 0.02 * abs(dt))
            # Keep within the range where the functions of state hold.
            u[i] = max(0.2 * u[i], DRIEST, min(u[i] + du, TOP + 2.0))
            temp[i] = max(-95.0, min(temp[i] + max(-25.0, min(25.0, dt)), 140.0))
    return -1


@_compile
def march(
    times, levels, rates, node, face, face_material, tables, conduction, kinds, emissivity, source_kinds,
    settings, u, temp, stored, step_size, joints, layer_of, out_t, out_rh, out_w, out_flow, counts,
):  # fmt: skip
    """Run the intervals `times` (n + 1); the state `u`, `temp`, `stored` (N, 2: kg/m², J/m²) is updated in
    place. `levels` (n + 1, 8) holds what varies linearly in time, `rates` (n, 6 + sources) what is constant
    in each interval. Returns OK or NO_CONVERGENCE; `counts` takes steps, rejected steps, iterations, and the
    interval reached.
    """
    n = u.shape[0]
    n_sources = rates.shape[1]
    bounds = np.zeros(8)
    sources = np.zeros(n_sources)
    pressure = np.zeros((n, 7))
    value = np.zeros((n, 2))
    net = np.zeros((n, 2))
    lower = np.zeros((n, 4))
    diagonal = np.zeros((n, 4))
    upper = np.zeros((n, 4))
    right = np.zeros((n, 5))
    flow = np.zeros(N_FLOWS)
    flow1 = np.zeros(N_FLOWS)
    end = np.zeros(5)
    known = np.zeros((n, 2))
    gained = np.zeros((n, 2))
    held = np.zeros(n)
    for i in range(n):
        x = min(u[i] * (tables.shape[1] - 1) / TOP, tables.shape[1] - 1.0)
        j = min(int(x), tables.shape[1] - 2)
        low, high = tables[int(node[i, 2]), j, 0], tables[int(node[i, 2]), j + 1, 0]
        held[i] = node[i, 0] * (low + (x - j) * (high - low))
    u1 = np.zeros(n)
    t1 = np.zeros(n)
    u2 = np.zeros(n)
    t2 = np.zeros(n)
    slope = np.zeros((n, 2))
    tolerance, least, most = settings[3], settings[4], settings[5]
    dt = step_size[0]
    simple = False
    failures = 0
    for k in range(times.shape[0] - 1):
        length = times[k + 1] - times[k]
        done = 0.0
        for j in range(n_sources):
            sources[j] = rates[k, j]
        counts[3] = k
        tried = 0
        while done < length * (1.0 - 1.0e-12):
            parts = math.ceil((length - done) / min(dt, most) - 1.0e-9)
            h = (length - done) / max(parts, 1)
            ok = True
            tried += 1
            if tried > _MOST_STEPS:
                return NO_CONVERGENCE
            # After two failures one stage over the whole step, backward Euler: where a film dries up within the
            # step the second stage may ask for less than nothing.
            first, second = (h, 0.0) if simple else (_GAMMA * h, (1.0 - _GAMMA) * h)
            x = (done + first) / length
            for j in range(8):
                bounds[j] = levels[k, j] + x * (levels[k + 1, j] - levels[k, j])
            # What the iterations left undone is made up for within some minutes, not within one step, however
            # short.
            share = min(1.0, h / _MAKE_UP)
            for i in range(n):
                heat = (node[i, 1] + HEAT_WATER * held[i]) * temp[i]
                known[i, 0] = held[i] + share * (stored[i, 0] - held[i])
                known[i, 1] = heat + share * (stored[i, 1] - heat)
                u1[i] = max(0.5 * u[i], min(u[i] + first * slope[i, 0], TOP))
                t1[i] = temp[i] + max(-5.0, min(5.0, first * slope[i, 1]))
            its = stage(
                u1, t1, known, first, node, face, face_material, tables, conduction, bounds, kinds,
                emissivity, sources, source_kinds, settings, pressure, value, net, lower, diagonal, upper,
                flow, end, right,
            )  # fmt: skip
            error = 0.0
            if its < 0:
                ok = False
            elif simple:
                counts[2] += its
                error = 0.03
                for j in range(N_FLOWS):
                    flow1[j] = 0.0
                for i in range(n):
                    gained[i, 0] = gained[i, 1] = 0.0
                    u2[i], t2[i] = u1[i], t1[i]
            else:
                counts[2] += its
                x = (done + h) / length
                for j in range(8):
                    bounds[j] = levels[k, j] + x * (levels[k + 1, j] - levels[k, j])
                for j in range(N_FLOWS):
                    flow1[j] = flow[j]
                for i in range(n):
                    moisture, heat = net[i, 0], net[i, 1] + HEAT_WATER * t1[i] * net[i, 0]
                    if (i == 0 and kinds[0] == 1) or (i == n - 1 and kinds[1] == 1):
                        moisture = heat = 0.0
                    known[i, 0] += second * moisture
                    known[i, 1] += second * heat
                    gained[i, 0], gained[i, 1] = second * moisture, second * heat
                    u2[i] = max(0.5 * u1[i], min(u[i] + (u1[i] - u[i]) / _GAMMA, TOP))
                    t2[i] = temp[i] + max(-30.0, min(30.0, (t1[i] - temp[i]) / _GAMMA))
                    slope[i, 0], slope[i, 1] = u2[i], t2[i]
                its = stage(
                    u2, t2, known, first, node, face, face_material, tables, conduction, bounds, kinds,
                    emissivity, sources, source_kinds, settings, pressure, value, net, lower, diagonal, upper,
                    flow, end, right,
                )  # fmt: skip
                if its < 0:
                    ok = False
                else:
                    counts[2] += its
                    for i in range(n):
                        if node[i, 1] > 0.0:
                            error = max(error, abs(u2[i] - slope[i, 0]) / 0.05, abs(t2[i] - slope[i, 1]))
                    error /= tolerance
            if not ok or (error > 1.0 and h > least):
                counts[1] += 1
                for i in range(n):
                    slope[i, 0] = slope[i, 1] = 0.0
                if ok:
                    dt = h * max(0.2, 0.8 / math.sqrt(error))
                    failures = 0
                else:
                    failures += 1
                    dt = h if failures == 2 else 0.25 * h
                simple = failures > 1
                if not ok and dt < 1.0e-3 * least:
                    return NO_CONVERGENCE
                if ok:
                    dt = max(dt, least)
                continue
            for i in range(n):
                slope[i, 0], slope[i, 1] = (u2[i] - u[i]) / h, (t2[i] - temp[i]) / h
                moisture, heat = net[i, 0], net[i, 1] + HEAT_WATER * t2[i] * net[i, 0]
                if (i == 0 and kinds[0] == 1) or (i == n - 1 and kinds[1] == 1):
                    moisture = heat = 0.0
                stored[i, 0] += gained[i, 0] + first * moisture
                stored[i, 1] += gained[i, 1] + first * heat
                u[i], temp[i], held[i] = u2[i], t2[i], value[i, 0]
            for j in range(N_FLOWS):
                out_flow[k, j] += second * flow1[j] + first * flow[j]
            counts[0] += 1
            done += h
            simple = False
            failures = 0
            dt = max(dt, h) if error > 0.3 else h * min(4.0, 0.8 / math.sqrt(max(error, 1.0e-4)))
        for j in range(joints.shape[0]):
            i = joints[j]
            log_h, _ = suction(u[i])
            out_t[k, j] = temp[i]
            out_rh[k, j] = math.exp(-log_h * REFERENCE / (temp[i] + KELVIN))
        for i in range(n):
            if layer_of[i] >= 0:
                out_w[k, layer_of[i]] += stored[i, 0]
    step_size[0] = dt
    return OK
