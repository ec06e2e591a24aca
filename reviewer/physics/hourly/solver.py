"""Hourly heat, air and moisture simulation of a section (EN 15026): one-dimensional, implicit, conservative.

∂w/∂t = −∂(g_v + g_l)/∂x and ∂H/∂t = −∂(q + h_e·g_v + c_w·T·(g_v + g_l))/∂x with g_v = −δ·∂p/∂x,
g_l = K·∂p_suc/∂x, q = −λ·∂T/∂x and H = (ρ·c + c_w·w)·T. Finite volumes; a second-order, L-stable, two-stage
implicit method with adaptive steps; the stored water and enthalpy are kept beside the potentials, so that
they change by the flows to round-off, whatever the tolerance of the iterations.

Left out, as EN 15026 leaves it out: ice, gravity, hysteresis, air flow through porous layers (air leakage is
a source at a plane). Layers are listed from the room outwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from reviewer.physics.basics import Array, within
from reviewer.physics.hourly.boundary import AirBoundary, SurfaceBoundary
from reviewer.physics.hourly.grid import cell_widths
from reviewer.physics.hourly.materials import (
    FILM,
    AirSide,
    AirSpace,
    Layer,
    Membrane,
    Part,
    coordinate,
    film_table,
    table,
)
from reviewer.physics.hourly.outcome import Outcome

HOURS = 8760
STEADY_RH = 0.005
"""Largest difference in relative humidity, anywhere, between the ends of two years that still repeat."""
STEADY_WATER = 0.005
"""Largest relative difference in the water of a layer between those ends; or 5 g/m², if that is more."""
_MEMBRANE_RESISTANCE = 1.0e-5
_AIR_HEAT = 1200.0
"""J/(m³·K)."""
_JUST_BELOW = 1.0 - 1.0e-12
"""A node drains from a rounding error below the point at which it is full, so that it is never neither."""


class NotConverged(RuntimeError):
    """The time step was cut down to nothing without a solution."""


@dataclass(frozen=True, slots=True)
class Leak:
    """Liquid water that gets in at a joint, such as the share of driving rain past the cladding
    (ASHRAE 160: 1 % on the outer face of the water control layer). What the neighbouring layers don't take up
    stays as a film; what the film can't hold runs off and counts as drained.
    """

    joint: int
    """0 is the room-side surface, then one after each layer."""
    water: ArrayLike
    """kg/(m²·s): one number, or one for each hour."""


@dataclass(frozen=True, slots=True)
class AirLeak:
    """Air that passes a joint and leaves it with the vapor pressure of the joint: it deposits water there
    while its own vapor pressure is higher, and dries the joint while it is lower. Heat is not carried: the
    air is taken to have come to the temperature of the joint on its way.
    """

    joint: int
    flow: ArrayLike
    """m³ of air for each m² of section and second: one number, or one for each hour."""
    source: AirSide = "indoors"


@dataclass(frozen=True, slots=True)
class Assembly:
    """A section to simulate: its parts from the room outwards and what acts on it."""

    parts: Sequence[Part]
    indoors: AirBoundary | SurfaceBoundary
    outdoors: AirBoundary | SurfaceBoundary
    leaks: Sequence[Leak] = ()
    air_leaks: Sequence[AirLeak] = ()
    initial_rh: float | Sequence[float] = 0.8
    """Relative humidity (0–1) at the start: one number, or one for each part. 0.8 is ASHRAE 160's moisture
    content at 80 % RH (from memory of the standard)."""
    initial_temperature: float = 20.0
    """°C."""


@dataclass(frozen=True, slots=True)
class Settings:
    """How a simulation is run."""

    tolerance: float = 1.0
    """Of one time step: about 1 K and 5 % RH of departure from a straight line times this."""
    iteration_tolerance: float = 1.0e-4
    """Size of the last Newton update (RH; 1/50 K); the error left is its square or so."""
    balance_tolerance: float = 1.0e-6
    """kg/m² (and 2.5 MJ/m² times this), that the iterations may leave undone at a node in one step. It is kept
    in the account and made up for."""
    first_step: float = 60.0
    """s."""
    least_step: float = 30.0
    """s; steps get shorter only where the iterations fail, never for accuracy."""
    most_step: float = 1.0e9
    finest: float = 1.0e-3
    """m, outermost cell of a layer that names no cells of its own."""
    vapor_temperature_exponent: float = 0.0
    """Vapor permeability varies with (T/296.15 K) to this power."""
    water_carries_heat: bool = True
    """Count the enthalpy c_w·T that moving water carries. EN 15026's benchmark leaves it out."""


DEFAULT = Settings()


@dataclass(frozen=True, slots=True)
class State:
    """Where a simulation stands, to go on from."""

    coordinate: Array
    temperature: Array
    stored: Array
    step: Array


@dataclass(frozen=True, slots=True)
class _Model:
    """An assembly as arrays for the kernel."""

    node: Array
    face: Array
    face_material: Any
    tables: Array
    conduction: Array
    kinds: Any
    emissivity: Array
    source_kinds: Any
    joints: Any
    layer_of: Any
    depth: Array
    times: Array
    levels: Array
    rates: Array
    thickness: Array
    materials: list[int] = field(default_factory=list)


@lru_cache(maxsize=512)
def _table(part: Layer | Membrane | tuple[float, float]) -> tuple[Array, float, float]:
    return table(AirSpace(*part) if isinstance(part, tuple) else part)


def _key(part: Part) -> Layer | Membrane | tuple[float, float]:
    if isinstance(part, AirSpace):
        return (part.thickness, part.resistance)
    return Layer(part.material, 1.0) if isinstance(part, Layer) else part


def _series(what: str, value: ArrayLike, n: int) -> Array:
    a = np.asarray(value, dtype=float)
    if a.ndim == 0:
        a = np.full(n, float(a))
    if a.shape != (n,):
        raise ValueError(f"{what}: {a.size} values for {n} hours")
    if not np.isfinite(a).all():
        raise ValueError(f"{what}: every value must be finite")
    return a


def _levels(what: str, value: ArrayLike, n: int) -> Array:
    """Values at the n + 1 ends of n hours; of n values each is at the end of its hour, the last also at the
    start, as in a year that repeats."""
    a = np.asarray(value, dtype=float)
    if a.ndim == 1 and len(a) == n + 1:
        return _series(what, a, n + 1)
    a = _series(what, a, n)
    return np.append(a[-1:], a).astype(np.float64)


def _build(assembly: Assembly, times: Array, settings: Settings) -> _Model:
    from reviewer.physics.hourly import kernel

    parts = list(assembly.parts)
    if not parts:
        raise ValueError("a section needs at least one layer")
    if all(isinstance(p, Membrane) for p in parts):
        raise ValueError("a section needs at least one layer with a thickness")
    keys = [_key(p) for p in parts]
    unique = list(dict.fromkeys(keys))
    materials = [unique.index(k) for k in keys]
    film = len(unique)
    made = [_table(k) for k in unique]
    tables = np.ascontiguousarray(np.stack([t[0] for t in made] + [film_table()]))
    conduction = np.array([[t[1], t[2]] for t in made] + [[1.0, 0.0]])

    node: list[tuple[float, float, float, float]] = []
    face: list[tuple[float, float, float, float, float, float]] = []
    face_material: list[int] = []
    layer_of: list[int] = []
    depth: list[float] = []
    joints: list[int] = []
    exchanges: list[tuple[int, int, int, Array]] = []
    n = len(times) - 1
    x = 0.0

    def joint(k: int) -> None:
        left = parts[k - 1] if k > 0 else None
        right = parts[k] if k < len(parts) else None
        drinks = all(isinstance(p, Layer) and p.capillary for p in (left, right))
        side = assembly.indoors if left is None else assembly.outdoors if right is None else None
        held = 0.0 if drinks or isinstance(side, SurfaceBoundary) else FILM
        joints.append(len(node))
        node.append((held, 0.0, film, kernel.SATURATED * _JUST_BELOW))
        layer_of.append(-1)
        depth.append(x)

    joint(0)
    for k, part in enumerate(parts):
        m = materials[k]
        if isinstance(part, Membrane):
            face.append((0.5, 0.5, 0.0, 0.0, max(part.resistance, _MEMBRANE_RESISTANCE), 0.0))
            face_material.append(m)
            joint(k + 1)
            continue
        if isinstance(part, AirSpace):
            widths, heat, liquid = np.array([part.thickness]), _AIR_HEAT, 0.0
            if np.any(np.asarray(part.air_changes) > 0):
                if not isinstance(assembly.outdoors, AirBoundary):
                    raise ValueError(
                        "a ventilated air space needs outdoor air, not a prescribed outer surface"
                    )
                flow = _series("air changes", part.air_changes, n) / 3600.0 * part.thickness
                exchanges.append((len(node), 1, 1, flow))
        else:
            widths = np.array(part.cells) if part.cells else cell_widths(part.thickness, settings.finest)
            heat = part.material.density * part.material.heat_capacity
            liquid = 1.0 if part.capillary else 0.0
        before = 0.0
        for width in widths:
            half = 0.5 * float(width)
            face.append((before, half, before, half, 0.0, liquid / (before + half)))
            face_material.append(m)
            node.append((float(width), heat * float(width), m, kernel.TOP * _JUST_BELOW))
            layer_of.append(k)
            depth.append(x + half)
            x += float(width)
            before = half
        face.append((before, 0.0, before, 0.0, 0.0, liquid / before))
        face_material.append(m)
        joint(k + 1)

    def at(what: str, index: int) -> int:
        if not 0 <= index < len(joints):
            raise ValueError(f"{what} at joint {index}: this section has joints 0 to {len(joints) - 1}")
        return joints[index]

    for a in assembly.air_leaks:
        side = assembly.indoors if a.source == "indoors" else assembly.outdoors
        if not isinstance(side, AirBoundary):
            raise ValueError("air leakage needs air on the side that it comes from, not a prescribed surface")
        flow = within("air leakage", _series("air leakage", a.flow, n), 0.0, 1.0, "m³/(m²·s)")
        exchanges.append((at("air leakage", a.joint), 0 if a.source == "indoors" else 1, 0, flow))
    for w in assembly.leaks:
        flow = within("leak", _series("leak", w.water, n), 0.0, 1.0, "kg/(m²·s)")
        exchanges.append((at("leak", w.joint), 2, 0, flow))

    levels = np.zeros((n + 1, 8))
    rates = np.zeros((n, 6 + len(exchanges)))
    kinds, emissivity = np.zeros(2, dtype=np.int64), np.zeros(2)
    for s, side in enumerate((assembly.indoors, assembly.outdoors)):
        c, b = 4 * s, 3 * s
        levels[:, c] = within("temperature", _levels("temperature", side.temperature, n), -80, 95, "°C")
        if isinstance(side, SurfaceBoundary):
            kinds[s] = 1
            rh = within("relative humidity", _levels("relative humidity", side.rh, n), 0.0, 1.0)
            levels[:, c + 1] = coordinate(rh, levels[:, c])
            continue
        for i, (what, value, high) in enumerate(
            (
                ("vapor pressure", side.vapor_pressure, 1e5),
                ("heat transfer coefficient", side.heat_transfer, 1e7),
                ("vapor transfer coefficient", side.beta, 1.0),
            )
        ):
            levels[:, c + 1 + i] = within(what, _levels(what, value, n), 0.0, high)
        rates[:, b] = within(
            "radiation absorbed", _series("radiation absorbed", side.absorbed, n), 0.0, 3000.0
        )
        long_wave = _series("long-wave radiation", side.longwave_in, n)
        rates[:, b + 1] = within("long-wave radiation", long_wave, 0.0, 3000.0)
        rates[:, b + 2] = within("rain", _series("rain", side.water, n), 0.0, 0.1, "kg/(m²·s)")
        emissivity[s] = float(within("emissivity", side.emissivity, 0.0, 1.0))
    for e, (*_, flow) in enumerate(exchanges):
        rates[:, 6 + e] = flow
    return _Model(
        node=np.array(node),
        face=np.array(face),
        face_material=np.array(face_material, dtype=np.int64),
        tables=tables,
        conduction=conduction,
        kinds=kinds,
        emissivity=emissivity,
        source_kinds=np.array([e[:3] for e in exchanges], dtype=np.int64).reshape(-1, 3),
        joints=np.array(joints, dtype=np.int64),
        layer_of=np.array(layer_of, dtype=np.int64),
        depth=np.array(depth),
        times=times,
        levels=levels,
        rates=rates,
        thickness=np.array([0.0 if isinstance(p, Membrane) else p.thickness for p in parts]),
        materials=materials,
    )


def _start(assembly: Assembly, model: _Model, settings: Settings) -> State:
    rh = np.asarray(assembly.initial_rh, dtype=float)
    if rh.ndim == 0:
        rh = np.full(len(assembly.parts), float(rh))
    if rh.shape != (len(assembly.parts),):
        raise ValueError(f"initial humidity: {rh.size} values for {len(assembly.parts)} layers")
    within("initial relative humidity", rh, 0.0, 1.0)
    t = float(within("initial temperature", assembly.initial_temperature, -80, 95, "°C"))
    n = len(model.node)
    # A joint starts with the layer on its room side; the room-side surface with the first layer.
    owner = np.maximum.accumulate(np.where(model.layer_of >= 0, model.layer_of, 0))
    u = np.maximum(coordinate(rh, t)[owner], 1e-6)
    stored = np.zeros((n, 2))
    x = np.linspace(0.0, _top(), model.tables.shape[1])
    for i in range(n):
        stored[i, 0] = model.node[i, 0] * np.interp(u[i], x, model.tables[int(model.node[i, 2]), :, 0])
        stored[i, 1] = (model.node[i, 1] + _heat_water() * stored[i, 0]) * t
    return State(u, np.full(n, t), stored, np.array([settings.first_step]))


def _top() -> float:
    from reviewer.physics.hourly import kernel

    return kernel.TOP


def _heat_water() -> float:
    from reviewer.physics.hourly import kernel

    return kernel.HEAT_WATER


def simulate(
    assembly: Assembly,
    times: ArrayLike | None = None,
    *,
    years: int = 1,
    until_periodic: bool = False,
    start: State | None = None,
    settings: Settings = DEFAULT,
) -> Outcome:
    """Heat and moisture in `assembly` over time.

    `times`: the ends of the intervals in s (n + 1 values, rising), an hour apart for a year of 8,760 hours
    when None. Boundary conditions and sources hold one value, or one for each interval. The period is
    repeated `years` times, or with `until_periodic` up to `years` times until the end of a period is like its
    start (within STEADY_RH and STEADY_WATER). `start` goes on from the end of another outcome of the same
    assembly.

    Raises ValueError for input that can't be used, NotConverged when no step however short has a solution.

    >>> from reviewer.physics.hourly.materials import HygroMaterial
    >>> foam = HygroMaterial(30, 1400, 0.04, [(0.5, 4e-12)])
    >>> wall = Assembly([Layer(foam, 0.1)], AirBoundary(20.0, 1000.0, 8.0), AirBoundary(0.0, 500.0, 25.0))
    >>> flow = simulate(wall, [0.0, 3e6, 3e6 + 3600]).flows["heat from indoors"][-1, -1] / 3600
    >>> round(float(flow), 2)  # 20 K over 1/8 + 0.1/0.04 + 1/25 m²·K/W
    7.5
    """
    ends = _times(times)
    model = _build(assembly, ends, settings)
    return _run(assembly, model, years, until_periodic, start, settings)


def _times(times: ArrayLike | None) -> Array:
    ends: Array = np.array(np.arange(HOURS + 1) * 3600.0 if times is None else times, dtype=np.float64)
    if ends.ndim != 1 or len(ends) < 2 or not np.isfinite(ends).all() or (np.diff(ends) <= 0).any():
        raise ValueError("times must rise, two or more of them")
    return ends


def _run(
    assembly: Assembly,
    model: _Model,
    years: int,
    until_periodic: bool,
    start: State | None,
    settings: Settings,
) -> Outcome:
    from reviewer.physics.hourly import kernel

    if years < 1:
        raise ValueError("at least one year is simulated")
    state = start or _start(assembly, model, settings)
    u, t, stored, step = (a.copy() for a in (state.coordinate, state.temperature, state.stored, state.step))
    if len(u) != len(model.node):
        raise ValueError("the state to start from belongs to another section")
    initial = stored.copy()
    options = np.array(
        [
            settings.vapor_temperature_exponent,
            1.0 if settings.water_carries_heat else 0.0,
            settings.iteration_tolerance,
            settings.tolerance,
            settings.least_step,
            settings.most_step,
            settings.balance_tolerance,
        ]
    )
    n, nj, nl = len(model.times) - 1, len(model.joints), len(assembly.parts)
    temperature, humidity, water, flows = [], [], [], []
    counts = np.zeros(4, dtype=np.int64)
    periodic: int | None = None
    for year in range(years):
        out_t, out_rh = np.zeros((n, nj)), np.zeros((n, nj))
        out_w, out_flow = np.zeros((n, nl)), np.zeros((n, kernel.N_FLOWS))
        before_u, before_t, before_w = u.copy(), t.copy(), _by_layer(model, stored, nl)
        status = kernel.march(
            model.times, model.levels, model.rates, model.node, model.face, model.face_material, model.tables,
            model.conduction, model.kinds, model.emissivity, model.source_kinds, options, u, t, stored, step,
            model.joints, model.layer_of, out_t, out_rh, out_w, out_flow, counts,
        )  # fmt: skip
        if status != kernel.OK:
            raise NotConverged(
                f"no solution in hour {int(counts[3]) + 1} of year {year + 1}, however short the time step"
            )
        temperature.append(out_t)
        humidity.append(out_rh)
        water.append(out_w)
        flows.append(out_flow)
        after_w = _by_layer(model, stored, nl)
        cells = model.layer_of >= 0
        near = np.abs(np.minimum(u, 1.0) - np.minimum(before_u, 1.0))[cells].max() <= STEADY_RH
        still = np.abs(after_w - before_w) <= np.maximum(STEADY_WATER * before_w, 0.005)
        if periodic is None and near and still.all() and np.abs(t - before_t)[cells].max() <= 1.0:
            periodic = year + 1
        if until_periodic and periodic is not None:
            break
    summed = np.stack(flows)
    cells = np.flatnonzero(model.layer_of >= 0)
    return Outcome(
        times=model.times[1:],
        temperature=np.stack(temperature),
        rh=np.stack(humidity),
        water=np.stack(water),
        flows={name: summed[:, :, i] for i, name in enumerate(kernel.FLOWS)},
        thickness=model.thickness,
        density=np.array([p.material.density if isinstance(p, Layer) else np.nan for p in assembly.parts]),
        periodic_after=periodic,
        years=len(flows),
        depth=model.depth[cells],
        profile_temperature=t[cells],
        profile_rh=_humidity(u[cells], t[cells]),
        profile_water=stored[cells, 0] / model.node[cells, 0],
        stored_change=stored.sum(axis=0) - initial.sum(axis=0),
        steps=int(counts[0]),
        rejected=int(counts[1]),
        iterations=int(counts[2]),
        state=State(u, t, stored, step),
    )


def _by_layer(model: _Model, stored: Array, layers: int) -> Array:
    inside = model.layer_of >= 0
    return np.bincount(model.layer_of[inside], weights=stored[inside, 0], minlength=layers).astype(float)


def _humidity(u: Array, t: Array) -> Array:
    from reviewer.physics.hourly import kernel

    log_h = np.array([kernel.suction(float(x))[0] for x in u])
    return np.exp(-log_h * kernel.REFERENCE / (t + 273.15))


def simulate_many(
    assemblies: Sequence[Assembly],
    times: ArrayLike | None = None,
    *,
    years: int = 1,
    until_periodic: bool = False,
    settings: Settings = DEFAULT,
    workers: int | None = None,
) -> list[Outcome | NotConverged]:
    """Several assemblies over the same `times`, in order: the same numbers as one by one, with one core for
    each worker (all cores when None), since the compiled loops need no interpreter lock. An assembly that has
    no solution gives its error in place of an outcome. Raises ValueError for input that can't be used.
    """
    import os
    from concurrent.futures import ThreadPoolExecutor

    ends = _times(times)

    def one(assembly: Assembly) -> Outcome | NotConverged:
        try:
            return _run(assembly, _build(assembly, ends, settings), years, until_periodic, None, settings)
        except NotConverged as e:
            return e

    count = (
        workers or len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    )
    with ThreadPoolExecutor(max_workers=max(1, min(count, len(assemblies) or 1))) as pool:
        return list(pool.map(one, assemblies))
