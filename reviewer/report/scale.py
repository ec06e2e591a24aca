"""Where the layers of a section lie on paper: to scale, from the room outwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reviewer.result import LayerLine

NOMINAL = 34.0
"""Units on paper for a layer without a thickness: soil, an attic, what nobody has measured."""
SHEET = 1.6
"""Units: a layer that would be thinner is drawn as a line this wide, centered on its true place."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Edges of the layers on an axis that runs outwards."""

    edges: tuple[float, ...]
    """One more than there are layers."""
    per_meter: float
    """Units on paper for a meter; 0 when no thickness is known."""
    nominal: tuple[bool, ...]
    """Which layers have no thickness and are not to scale."""

    def middle(self, layer: int) -> float:
        return 0.5 * (self.edges[layer] + self.edges[layer + 1])

    def size(self, layer: int) -> float:
        return self.edges[layer + 1] - self.edges[layer]

    def is_sheet(self, layer: int) -> bool:
        return self.size(layer) < SHEET


def scale(layers: Sequence[LayerLine], start: float, length: float, full: float = 0.0) -> Scale:
    """Layers over `length` units from `start` on; over a part of it where `full` m are to fill it."""
    unknown = [not x.thickness for x in layers]
    total = max(sum(x.thickness or 0.0 for x in layers), full)
    room = min(NOMINAL, 0.45 * length / max(sum(unknown), 1)) if total else length / max(len(layers), 1)
    per_meter = (length - room * sum(unknown)) / total if total else 0.0
    edges = [start]
    for x, open_ended in zip(layers, unknown, strict=True):
        edges.append(edges[-1] + (room if open_ended else (x.thickness or 0.0) * per_meter))
    return Scale(tuple(edges), per_meter, tuple(unknown))


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Places as near as may be to `wanted` (ascending), at least `gap` apart, between `low` and `high`.

    Closer than `gap` when they don't fit otherwise.

    >>> spread([10.0, 11.0, 50.0], 10.0, 0.0, 100.0)
    [5.5, 15.5, 50.0]
    """
    if not wanted:
        return []
    gap = min(gap, (high - low) / max(len(wanted) - 1, 1))
    # Neighbors that would overlap form a group, which stands around the middle of what its members want.
    groups: list[tuple[float, int]] = []
    for w in wanted:
        total, count = w, 1
        while True:
            start = _start(total, count, gap, low, high)
            if not groups:
                break
            before, n = groups[-1]
            if _start(before, n, gap, low, high) + n * gap <= start + 1e-9:
                break
            groups.pop()
            total, count = before + total, n + count
        groups.append((total, count))
    return [_start(total, count, gap, low, high) + k * gap for total, count in groups for k in range(count)]


def _start(total: float, count: int, gap: float, low: float, high: float) -> float:
    start = total / count - 0.5 * (count - 1) * gap
    return min(max(start, low), high - (count - 1) * gap)
