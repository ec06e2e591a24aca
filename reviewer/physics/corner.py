"""Two-dimensional conduction: the surface temperature in an edge where two walls, or wall and roof, meet.

Steady conduction on a rectangular grid of nodes, control volumes around them, solved directly. Method and rules
for the model (cut-off planes, subdivision) follow ISO 10211:2007 and 2017, which its reference case A.1 and an
analytical series check.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from reviewer.physics.basics import Array, within

MOLD_FILM = 0.25
"""m²·K/W, R_si for the risk of mold on walls: the corner, behind furniture (ISO 13788, 4.4.1; from memory)."""


def temperature_field(
    x: ArrayLike,
    y: ArrayLike,
    conductivity: ArrayLike,
    film: ArrayLike = 0.0,
    ambient: ArrayLike = 0.0,
    fixed: ArrayLike = np.nan,
) -> Array:
    """Steady temperatures at the nodes of a rectangular grid, °C, shape (X, Y).

    `x` (X,) and `y` (Y,) rise, m; `conductivity` (X−1, Y−1) of the cells between nodes, W/(m·K), 0 where there
    is no material; `film` (X, Y) heat that a node gives to its surroundings at `ambient` (X, Y) °C, W/(m·K) per
    meter of length; `fixed` (X, Y) held temperatures, NaN where free. Edges without film are adiabatic. Nodes
    that touch no material come back as NaN.

    Heat balance of each node's control volume (ISO 10211, clause on numerical calculation), second order in the
    spacing; block-tridiagonal elimination. Raises ValueError when some node hangs on no known temperature.

    >>> t = temperature_field([0, 1, 2], [0, 1], np.ones((2, 1)), fixed=[[20, 20], [np.nan] * 2, [0, 0]])
    >>> t.round(9).tolist()
    [[20.0, 20.0], [10.0, 10.0], [0.0, 0.0]]
    """
    dx, dy = np.diff(np.asarray(x, dtype=float)), np.diff(np.asarray(y, dtype=float))
    if np.any(dx <= 0) or np.any(dy <= 0):
        raise ValueError("the lines of the grid must rise")
    shape = (dx.size + 1, dy.size + 1)
    k = np.broadcast_to(within("conductivity", conductivity, 0, 1e6, "W/(m·K)"), (dx.size, dy.size))
    gx, gy = _links(dx, dy, k)
    f = np.broadcast_to(within("film", film, 0, 1e9, "W/(m·K)"), shape)
    held = np.broadcast_to(np.asarray(fixed, dtype=float), shape)
    is_held = ~np.isnan(held)
    known = np.where(is_held, held, 0.0)
    touching = f.copy()
    touching[:-1] += gx
    touching[1:] += gx
    touching[:, :-1] += gy
    touching[:, 1:] += gy
    idle = (touching == 0) & ~is_held
    free = ~is_held & ~idle
    rhs = np.where(free, f * np.broadcast_to(np.asarray(ambient, dtype=float), shape), known)
    rhs[:-1] += np.where(free[:-1], gx * known[1:], 0.0)
    rhs[1:] += np.where(free[1:], gx * known[:-1], 0.0)
    rhs[:, :-1] += np.where(free[:, :-1], gy * known[:, 1:], 0.0)
    rhs[:, 1:] += np.where(free[:, 1:], gy * known[:, :-1], 0.0)
    gx = np.where(free[:-1] & free[1:], gx, 0.0)
    gy = np.where(free[:, :-1] & free[:, 1:], gy, 0.0)
    t = _eliminate(np.where(free, touching, 1.0), gx, gy, rhs)
    sources = np.concatenate([held[is_held], np.broadcast_to(np.asarray(ambient, dtype=float), shape)[f > 0]])
    # A part that hangs on no source makes the system singular: its temperatures leave those of the sources.
    slack = 1e-6 * (np.ptp(sources) + 1.0) if sources.size else 0.0
    if not sources.size or not np.all(
        (t[free] >= sources.min() - slack) & (t[free] <= sources.max() + slack)
    ):
        raise ValueError("part of the grid hangs on no known temperature")
    return np.where(idle, np.nan, t)


def _links(dx: Array, dy: Array, k: Array) -> tuple[Array, Array]:
    """Conductances between neighbors along x, (X−1, Y), and along y, (X, Y−1), W/(m·K)."""
    along = k * dy / 2.0
    gx = np.zeros((dx.size, dy.size + 1))
    gx[:, :-1] += along
    gx[:, 1:] += along
    across = k * dx[:, None] / 2.0
    gy = np.zeros((dx.size + 1, dy.size))
    gy[:-1] += across
    gy[1:] += across
    return gx / dx[:, None], gy / dy


def _eliminate(diagonal: Array, gx: Array, gy: Array, rhs: Array) -> Array:
    """Solve the five-point system line by line along x: each line is a dense block, its neighbors diagonal.

    Infinity everywhere where the system is singular.
    """
    lines, n = diagonal.shape
    inverse = np.empty((lines, n, n))
    right = np.empty((lines, n))
    i = np.arange(n)
    for row in range(lines):
        block = np.zeros((n, n))
        block[i, i] = diagonal[row]
        block[i[:-1], i[1:]] = block[i[1:], i[:-1]] = -gy[row]
        right[row] = rhs[row]
        if row:
            g = gx[row - 1]
            block -= g[:, None] * inverse[row - 1] * g
            right[row] += g * (inverse[row - 1] @ right[row - 1])
        try:
            inverse[row] = np.linalg.inv(block)
        except np.linalg.LinAlgError:
            return np.full(diagonal.shape, np.inf)
    t = np.empty((lines, n))
    t[-1] = inverse[-1] @ right[-1]
    for row in range(lines - 2, -1, -1):
        t[row] = inverse[row] @ (right[row] + gx[row] * t[row + 1])
    return t


@dataclass(frozen=True, slots=True)
class Corner:
    """The edge of two walls: how cold it is inside, and what it loses more than the walls beside it."""

    factor: float
    """f_Rsi at the inner edge, 0–1: (θ_si − θ_e)/(θ_i − θ_e)."""
    plain: tuple[float, float]
    """f_Rsi of the two walls far from the edge."""
    coupling: float
    """L_2D, W/(m·K), of the edge with both flanks."""
    psi_internal: float
    """ψ_i, W/(m·K): over the walls' U times internal lengths."""
    psi_external: float
    """ψ_e, W/(m·K): over the walls' U times external lengths (negative where the corner is well insulated)."""
    imbalance: float
    """Heat in less heat out over heat in: what rounding left."""


Layers = Sequence[tuple[float, float]]


def corner_temperature_factor(
    first: Layers,
    second: Layers | None = None,
    inside_film: float = MOLD_FILM,
    outside_film: float = 0.04,
    runs_through: str = "neither",
    post: tuple[int, float] | None = None,
    fineness: int = 4,
) -> Corner:
    """The outside corner of two walls, or of wall and roof, seen from the room: its inner edge is the coldest line.

    `first` and `second` (None: the same again) are layers from the room outwards, (thickness m, conductivity
    W/(m·K)). `inside_film` and `outside_film` m²·K/W (ISO 13788: 0.25 inside for mold). In the corner the layers
    turn (`runs_through` "neither", for stacks of equally many layers), or those of the "first" or the "second" run
    to the outer face. `post` (layer index, conductivity) fills the corner of that layer with solid wood, as
    framing does. `fineness` is the least number of cells a layer gets; doubling 4 moves the factor by under
    0.005 in ordinary walls.

    Flanks of 1 m or three times the thickness, whichever is more, with adiabatic cuts (ISO 10211, clause 5).
    Air spaces count as layers of conductivity d/R. Valid 1 to 20 layers of 0.1 mm to 2 m, conductivity 0.005 to
    500 W/(m·K); else ValueError. Results are remembered.

    >>> block = corner_temperature_factor([(0.2, 0.2)])
    >>> round(block.factor, 2), round(block.plain[0], 2), round(block.psi_internal, 3)
    (0.66, 0.81, 0.066)
    """
    if runs_through not in ("neither", "first", "second"):
        raise ValueError(f'"{runs_through}" runs through no corner: neither, first or second')
    a = tuple((float(d), float(k)) for d, k in first)
    b = a if second is None else tuple((float(d), float(k)) for d, k in second)
    for stack in (a, b):
        if not 1 <= len(stack) <= 20:
            raise ValueError("a wall of a corner has 1 to 20 layers")
        for d, k in stack:
            within("layer thickness", d, 1e-4, 2, "m")
            within("conductivity", k, 0.005, 500, "W/(m·K)")
    if runs_through == "neither" and len(a) != len(b):
        raise ValueError("layers turn a corner only where both walls have equally many")
    if post is not None:
        if not 0 <= post[0] < min(len(a), len(b)):
            raise ValueError(f"the corner has no layer {post[0]} for a post")
        within("conductivity of the post", post[1], 0.005, 500, "W/(m·K)")
    within("inside film", inside_film, 0.01, 1, "m²·K/W")
    within("outside film", outside_film, 0.001, 1, "m²·K/W")
    within("fineness", fineness, 1, 32)
    return _corner(a, b, float(inside_film), float(outside_film), runs_through, post, int(fineness))


@lru_cache(maxsize=512)
def _corner(
    a: tuple[tuple[float, float], ...],
    b: tuple[tuple[float, float], ...],
    rsi: float,
    rse: float,
    runs: str,
    post: tuple[int, float] | None,
    fineness: int,
) -> Corner:
    flank = max(1.0, 3.0 * sum(d for d, _ in a), 3.0 * sum(d for d, _ in b))
    x, in_a = _lines(a, flank, fineness)
    y, in_b = _lines(b, flank, fineness)
    ka, kb = (np.array([k for _, k in stack]) for stack in (a, b))
    i, j = np.meshgrid(in_a, in_b, indexing="ij")  # −1 along the flanks, where there is no such layer
    of_a, of_b = ka[np.maximum(i, 0)], kb[np.maximum(j, 0)]
    turning = np.where(i >= j, of_a, of_b)
    k = {"neither": turning, "first": of_a, "second": of_b}[runs].copy()
    if post is not None:
        k[np.maximum(i, j) == post[0]] = post[1]
    k = np.where(i < 0, of_b, np.where(j < 0, of_a, k))
    k[(i < 0) & (j < 0)] = 0.0
    inside, outside = _surfaces(x, y, i, j)
    film = inside / rsi + outside / rse
    ambient = np.where(film > 0, inside / rsi / np.where(film > 0, film, 1.0), 0.0)
    t = temperature_field(x, y, k, film, ambient)
    corner = float(t[np.searchsorted(x, 0.0), np.searchsorted(y, 0.0)])
    heat_in = float(np.nansum(inside / rsi * (1.0 - t)))
    heat_out = float(np.nansum(outside / rse * t))
    u = [1.0 / (rsi + sum(d / c for d, c in stack) + rse) for stack in (a, b)]
    depth = [sum(d for d, _ in stack) for stack in (a, b)]
    internal = flank * (u[0] + u[1])
    external = internal + u[0] * depth[1] + u[1] * depth[0]
    return Corner(
        factor=corner,
        plain=(1.0 - u[0] * rsi, 1.0 - u[1] * rsi),
        coupling=heat_in,
        psi_internal=heat_in - internal,
        psi_external=heat_in - external,
        imbalance=(heat_in - heat_out) / heat_in,
    )


def _lines(stack: tuple[tuple[float, float], ...], flank: float, fineness: int) -> tuple[Array, np.ndarray]:
    """Grid lines from the cut at −flank over the inner face at 0 to the outer face, and each cell's layer.

    Along the flank the cells grow by half from one to the next, away from the edge, where all is one-dimensional.
    """
    total = sum(d for d, _ in stack)
    first = min(total / 8.0, 0.02) * 4.0 / fineness
    growth = 1.5 ** (4.0 / fineness)
    cells = max(4, int(np.ceil(np.log1p(flank / first * (growth - 1.0)) / np.log(growth))))
    widths = growth ** np.arange(cells)
    away = -np.cumsum(widths) / widths.sum() * flank
    lines, layer, start = [*away[::-1], 0.0], [-1] * cells, 0.0
    for index, (d, _) in enumerate(stack):
        # Thick layers get more cells, finest toward both faces would gain little: even ones do.
        n = max(fineness // 2, int(np.ceil(fineness * min(3.0, 4.0 * d / total))), 1)
        lines += [start + d * (m + 1) / n for m in range(n)]
        layer += [index] * n
        start += d
    return np.array(lines), np.array(layer)


def _surfaces(x: Array, y: Array, i: np.ndarray, j: np.ndarray) -> tuple[Array, Array]:
    """Area of inner and of outer surface at each node, m² per meter of length."""
    inside, outside = np.zeros((x.size, y.size)), np.zeros((x.size, y.size))
    x0, y0 = int(np.searchsorted(x, 0.0)), int(np.searchsorted(y, 0.0))
    half_x, half_y = np.diff(x) / 2.0, np.diff(y) / 2.0
    # Inner faces: x = 0 for y ≤ 0, and y = 0 for x ≤ 0.
    inside[x0, :y0] += half_y[:y0]
    inside[x0, 1 : y0 + 1] += half_y[:y0]
    inside[:x0, y0] += half_x[:x0]
    inside[1 : x0 + 1, y0] += half_x[:x0]
    outside[-1, :-1] += half_y
    outside[-1, 1:] += half_y
    outside[:-1, -1] += half_x
    outside[1:, -1] += half_x
    return inside, outside
