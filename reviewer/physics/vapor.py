"""Vapor diffusion through layers in series, with or without saturation on the way.

Layers run from the room outwards. Nodes are the faces of layers: node 0 is the inner surface, node L the
outer one. Surface films have no vapor resistance (ISO 13788, 4.4). Flow is positive outwards.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from reviewer.humidity import saturation_pressure
from reviewer.physics.basics import Array
from reviewer.units import DELTA_0, PERM

MAX_S_D = 1.0e5
"""m. Tighter layers (metal, glass) count as this: ISO 12572 calls 1,500 m and more vapor-tight already."""
MIN_S_D = 1.0e-5
"""m. Layers without vapor resistance count as this, a thousandth of a still air layer of 1 cm, so that
vapor moves between their faces at once and the equations stay regular."""


def s_d(permeance: ArrayLike) -> Array:
    """Water vapor diffusion-equivalent air layer thickness in m of a permeance in kg/(s·m²·Pa).

    Source: ISO 12572 and ISO 13788 with δ0 = 2·10⁻¹⁰ kg/(s·m·Pa). A permeance of 0 gives infinity.
    Raises ValueError below 0.

    >>> float(s_d(5.721349e-11).round(4))
    3.4957
    """
    w = _not_negative("a permeance", permeance)
    with np.errstate(divide="ignore"):
        return DELTA_0 / w


def resistance_of_s_d(thickness: ArrayLike) -> Array:
    """Vapor resistance in m²·s·Pa/kg of a diffusion-equivalent air layer thickness in m (ISO 13788).

    >>> float(resistance_of_s_d(2.0))
    10000000000.0
    """
    return _not_negative("an equivalent air layer thickness", thickness) / DELTA_0


def layer_permeance(permeability: ArrayLike, thickness: ArrayLike) -> Array:
    """Permeance in kg/(s·m²·Pa) of `thickness` in m of a material of `permeability` in kg/(s·m·Pa).

    Shapes broadcast. Raises ValueError for a thickness that is not above 0.

    >>> float(layer_permeance(2.0e-10, 0.01))
    2e-08
    """
    d = np.asarray(thickness, dtype=float)
    if not np.all(d > 0):
        raise ValueError("a layer's permeance needs a thickness above 0")
    return _not_negative("a permeability", permeability) / d


def series_permeance(permeances: ArrayLike) -> Array:
    """Permeance of layers one behind the other: [..., L] → [...], kg/(s·m²·Pa) or any one unit.

    >>> series_permeance([1.0, 1.0]).item(), series_permeance([0.0, 5.0]).item()
    (0.5, 0.0)
    """
    w = _not_negative("a permeance", permeances)
    with np.errstate(divide="ignore"):
        return 1.0 / np.sum(1.0 / w, axis=-1)


CLASS_LIMITS = ((0.1, "I"), (1.0, "II"), (10.0, "III"))
"""US perms and class: not above the limit (IBC 202 and IRC R202, vapor retarder class, by ASTM E96
procedure A, the dry cup; from memory of the codes)."""


def retarder_class(permeance: float) -> str:
    """Vapor retarder class of a dry-cup permeance in kg/(s·m²·Pa): `I`, `II`, `III`, or `none` above 10
    perms.

    Source: IBC 202 and IRC R202 (from memory). The limit itself belongs to the tighter class.

    >>> [retarder_class(p * 5.721349e-11) for p in (0.06, 0.1, 0.5, 5, 30)]
    ['I', 'I', 'II', 'III', 'none']
    """
    perms = float(permeance) / PERM
    if not perms >= 0:
        raise ValueError("a permeance can't be below 0")
    return next((name for limit, name in CLASS_LIMITS if perms <= limit * (1 + 1e-6)), "none")


def pressures(z_layers: ArrayLike, p_in: ArrayLike, p_out: ArrayLike) -> Array:
    """Vapor pressures in Pa at the nodes, [..., L+1], were there no saturation: linear over resistance.

    `z_layers` [..., L], vapor resistances in m²·s·Pa/kg; `p_in` and `p_out` [...], Pa; leading axes
    broadcast. Source: Fick's law in one dimension, steady state (ISO 13788, equation 17 in the 2012 edition).

    >>> pressures([1e9, 3e9], 1200.0, 400.0).tolist()
    [1200.0, 1000.0, 400.0]
    """
    x = coordinates(z_layers)
    a, b = np.asarray(p_in, dtype=float)[..., None], np.asarray(p_out, dtype=float)[..., None]
    return a + (b - a) * x / x[..., -1:]


def flow(z_layers: ArrayLike, p_in: ArrayLike, p_out: ArrayLike) -> Array:
    """Vapor flow density in kg/(s·m²), outwards positive, were there no saturation. Shapes as `pressures`.

    >>> float(flow([1e9, 3e9], 1200.0, 400.0))
    2e-07
    """
    total = coordinates(z_layers)[..., -1]
    return (np.asarray(p_in, dtype=float) - np.asarray(p_out, dtype=float)) / total


def coordinates(z_layers: ArrayLike) -> Array:
    """Vapor resistance in m²·s·Pa/kg from the room to each node: [..., L] → [..., L+1], each layer held
    between `MIN_S_D` and `MAX_S_D`.

    >>> coordinates([1e9, 3e9]).tolist()
    [0.0, 1000000000.0, 4000000000.0]
    """
    z = np.maximum(_not_negative("a vapor resistance", z_layers), MIN_S_D / DELTA_0)
    z = np.minimum(z, MAX_S_D / DELTA_0, out=z)
    x = np.empty((*z.shape[:-1], z.shape[-1] + 1))
    x[..., 0] = 0.0
    z.cumsum(axis=-1, out=x[..., 1:])
    return x


@dataclass(frozen=True, slots=True)
class Profile:
    """A steady state in which no vapor pressure passes saturation."""

    pressures: Array
    """Pa, [..., N]."""
    flow: Array
    """kg/(s·m²) through each layer, outwards positive, [..., N−1]."""
    held: np.ndarray
    """Whether the node's pressure is held: it is a surface, holds water, or vapor condenses there, [...,
    N]."""

    @property
    def rate(self) -> Array:
        """Condensation (positive) or evaporation (negative) at each node, kg/(s·m²), [..., N]; 0 at
        surfaces."""
        g = np.zeros(self.pressures.shape)
        np.subtract(self.flow[..., :-1], self.flow[..., 1:], out=g[..., 1:-1])
        return np.where(self.held, g, 0.0)


_TOUCH = 1.0e-10
"""Share of the saturation pressure by which a node must be passed to count as condensing."""


def capped_profile(
    saturation: Array, x: Array, p_in: ArrayLike, p_out: ArrayLike, wet: ArrayLike = False
) -> Profile:
    """Vapor pressures and flows when vapor condenses wherever it would pass saturation.

    `saturation` [..., N], Pa; `x` [..., N], from `coordinates`; `p_in` and `p_out` [...], Pa, held down to
    saturation at the surfaces; `wet` [..., N]: nodes that hold water, where the pressure is saturation.
    Leading axes broadcast. Between wet nodes the profile is the greatest convex function of vapor
    resistance that does not pass saturation: the graphical method of ISO 13788 (6.3 to 6.5), the stretched
    string, for any number of planes at once.

    >>> flat = capped_profile(np.array([2000.0, 600.0, 700.0]), np.array([0.0, 1e9, 2e9]), 1200.0, 500.0)
    >>> flat.pressures.tolist(), flat.flow.tolist()
    ([1200.0, 600.0, 500.0], [6e-07, 1e-07])
    """
    shape = saturation.shape
    if not (x.shape == shape and np.shape(p_in) == np.shape(p_out) == shape[:-1]) or np.ndim(wet):
        surfaces = np.broadcast_shapes(np.shape(p_in), np.shape(p_out))
        shape = np.broadcast_shapes(shape, x.shape, (*surfaces, 1), np.shape(wet))
        saturation, x = np.broadcast_to(saturation, shape), np.broadcast_to(x, shape)
    y = _between_surfaces(saturation, p_in, p_out)
    held = np.empty(shape, dtype=bool)
    held[...] = wet
    held[..., 0] = held[..., -1] = True
    n = shape[-1]
    p, g = stretch(y.reshape(-1, n), x.reshape(-1, n), held.reshape(-1, n))
    return Profile(p.reshape(shape), g.reshape(*shape[:-1], n - 1), held)


def _between_surfaces(saturation: Array, p_in: ArrayLike, p_out: ArrayLike) -> Array:
    """Saturation at the nodes, with the given pressures at the two surfaces, held down to saturation."""
    y = saturation.copy()
    y[..., 0] = np.minimum(p_in, y[..., 0])
    y[..., -1] = np.minimum(p_out, y[..., -1])
    return y


def stretch(y: Array, x: Array, held: np.ndarray) -> tuple[Array, Array]:
    """The stretched string on rows of nodes: pressures [R, N] and flows [R, N−1]; marks touching nodes in
    `held` (changed in place).

    `y` [R, N] is saturation, or the given pressure at held surfaces. The node that a straight piece passes
    by most is a corner of the greatest convex minorant (Barber et al. 1996, quickhull), so one node a row is
    added until none is passed.
    """
    p, g = _straight(y, x, held) if held[:, 1:-1].any() else _one_piece(y, x)
    limit = y * (1.0 + _TOUCH)
    rows = np.flatnonzero((p > limit).any(axis=-1))
    while rows.size:
        whole = rows.size == len(y)
        yr, xr, hr = (y, x, held) if whole else (y[rows], x[rows], held[rows])
        over = (p if whole else p[rows]) - yr
        hr[np.arange(rows.size), over.argmax(axis=-1)] = True
        pr, gr = _straight(yr, xr, hr)
        if whole:
            p, g = pr, gr
        else:
            p[rows], g[rows], held[rows] = pr, gr, hr
        rows = rows[(pr > (limit if whole else limit[rows])).any(axis=-1)]
    return p, g


def _one_piece(y: Array, x: Array) -> tuple[Array, Array]:
    """`_straight` where nothing is held between the surfaces."""
    first, start = y[:, :1], x[:, :1]
    g = np.empty((len(y), y.shape[1] - 1))
    g[...] = (first - y[:, -1:]) / (x[:, -1:] - start)
    p = y.copy()
    p[:, :-1] = first - g * (x[:, :-1] - start)
    return p, g


def _straight(y: Array, x: Array, held: np.ndarray) -> tuple[Array, Array]:
    """Straight pieces from each held node to the next: one flow a piece, so that no mass is lost between."""
    rows, n = y.shape
    node = np.arange(n) + np.arange(0, rows * n, n)[:, None]
    start = np.maximum.accumulate(np.where(held, node, 0), axis=1)[:, :-1]
    end = np.minimum.accumulate(np.where(held, node, rows * n)[:, ::-1], axis=1)[:, -2::-1]
    y_start, x_start = y.take(start), x.take(start)
    g = (y_start - y.take(end)) / (x.take(end) - x_start)
    p = y.copy()
    p[:, :-1] = y_start - g * (x[:, :-1] - x_start)
    return p, g


@dataclass(frozen=True, slots=True)
class LocalPermeances:
    """Permeances that agree with the humidity they depend on."""

    permeances: Array
    """kg/(s·m²·Pa), [..., L]."""
    humidity: Array
    """Mean relative humidity in each layer, 0–1, [..., L]."""
    iterations: int
    converged: np.ndarray
    """[...]."""


_FULL_STEPS = 6
"""Enough for most curves; steep ones swing and need the half steps."""


def iterate_permeance(
    w_of_rh: Callable[[Array], Array],
    t_nodes: ArrayLike,
    p_in: ArrayLike,
    p_out: ArrayLike,
    *,
    tolerance: float = 1e-4,
    limit: int = 60,
) -> LocalPermeances:
    """Permeances [..., L] at the mean relative humidity in each layer, which they decide themselves.

    `w_of_rh` maps relative humidities [..., L] (0–1) to permeances [..., L]; `t_nodes` [..., L+1], °C; `p_in`
    and `p_out` [...], Pa; leading axes (sections, places, months) broadcast. The vapor pressure is held at
    saturation, without water in the section beforehand. A few full steps from 50 %, then half steps on a
    logarithmic scale until no permeance of the section and month changes by more than `tolerance`; a row that
    has settled stays as it is, so a batch gives what its members give one by one. A humidity-dependent
    permeance read at the mean humidity is common practice; ISO 12572 gives the two cups, ASHRAE Fundamentals
    the curves.

    >>> r = iterate_permeance(lambda rh: 1e-10 * (1 + 9 * rh), [20.0, 0.0], 1200.0, 500.0)
    >>> bool(r.converged), r.humidity.round(3).tolist(), (r.permeances * 1e12).round(0).tolist()
    (True, [0.666], [700.0])
    """
    saturation = saturation_pressure(t_nodes)
    lead = saturation.shape[:-1]
    if not np.shape(p_in) == np.shape(p_out) == lead:
        lead = np.broadcast_shapes(lead, np.shape(p_in), np.shape(p_out))
        saturation = np.broadcast_to(saturation, (*lead, saturation.shape[-1]))
    n = saturation.shape[-1]
    y = _between_surfaces(saturation, p_in, p_out).reshape(-1, n)
    saturation = saturation.reshape(-1, n)
    rh = np.full((*lead, n - 1), 0.5)
    w = np.empty(rh.shape)
    w[...] = w_of_rh(rh)
    # Rows, one a section and month: those that have settled are left out of the next pass.
    flat_rh, flat_w = rh.reshape(-1, n - 1), w.reshape(-1, n - 1)
    going = np.arange(len(y))
    count = 0
    with np.errstate(divide="ignore"):
        while count < limit and going.size:
            count += 1
            whole = going.size == len(y)
            old = flat_w if whole else flat_w[going]
            held = np.zeros((going.size, n), dtype=bool)
            held[:, 0] = held[:, -1] = True
            p, _ = stretch(y if whole else y[going], coordinates(1.0 / old), held)
            at_nodes = p / (saturation if whole else saturation[going])
            flat_rh[going] = 0.5 * (at_nodes[:, :-1] + at_nodes[:, 1:])
            new = w_of_rh(rh).reshape(-1, n - 1)
            new = new if whole else new[going]
            open_ = ~(np.abs(new - old) <= tolerance * old).all(axis=-1)
            going = going[open_]
            flat_w[going] = new[open_] if count <= _FULL_STEPS else np.sqrt(old[open_] * new[open_])
    settled = np.ones(len(y), dtype=bool)
    settled[going] = False
    return LocalPermeances(w, rh, count, settled.reshape(lead))


def _not_negative(what: str, value: ArrayLike) -> Array:
    a = np.asarray(value, dtype=float)
    if a.size and not a.min() >= 0:
        raise ValueError(f"{what} can't be below 0")
    return a
