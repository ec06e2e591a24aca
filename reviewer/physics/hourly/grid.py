"""Cells of a layer: fine at both faces, where gradients are steep, growing towards the middle."""

from __future__ import annotations

import numpy as np

from reviewer.physics.basics import Array, within

FINEST = 1.0e-3
"""m, the widest that the outermost cell of a layer may be."""
GROWTH = 1.5
"""Largest ratio of the widths of neighbouring cells within a layer."""


def cell_widths(thickness: float, finest: float = FINEST, growth: float = GROWTH) -> Array:
    """Widths in m of the cells of a layer `thickness` m thick: a geometric series from either face.

    The fewest cells (three or more) of which the outermost is at most `finest` m wide. `growth` = 1 makes
    equal cells. ValueError: thickness outside 10 µm to 1 km, growth outside 1 to 3, over 2,000 cells.

    >>> (cell_widths(0.0125) * 1000).round(2).tolist()
    [0.97, 1.46, 2.18, 3.28, 2.18, 1.46, 0.97]
    >>> len(cell_widths(0.2))
    20
    """
    within("thickness of a layer", thickness, 1e-5, 1000.0, "m")
    within("growth of cells", growth, 1.0, 3.0)
    for n in range(3, 2001):
        steps = np.minimum(np.arange(n), np.arange(n)[::-1])
        shape = growth ** steps.astype(float)
        if thickness <= finest * shape.sum() * (1 + 1e-9):
            return thickness * shape / shape.sum()
    raise ValueError(f"more than 2,000 cells in a layer of {thickness:g} m with cells of {finest:g} m")


def refined(widths: Array, times: int) -> Array:
    """Every cell cut into `times` equal ones: the same grid, finer throughout, for convergence studies.

    >>> refined(np.array([1.0, 2.0]), 2).tolist()
    [0.5, 0.5, 1.0, 1.0]
    """
    return np.repeat(np.asarray(widths, dtype=float) / times, times)
