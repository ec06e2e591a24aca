"""Choices over what is not known: every combination where there are few, else points spread evenly.

The points are those of the additive recurrence of the generalized golden ratio: no chance, the same each time, and
even in any number of directions. Source: Roberts, the unreasonable effectiveness of quasirandom sequences, 2018
(from memory); the golden ratio in one direction is Weyl's.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from reviewer.variants.unknowns import Choice, Unknown


def combinations(found: Sequence[Unknown]) -> int:
    """How many possibilities there are; 0 where a range has no number."""
    if any(u.ranged for u in found):
        return 0
    return math.prod(len(u.options) for u in found)


def choices(found: Sequence[Unknown], most: int) -> tuple[list[Choice], bool]:
    """At most `most` choices, and whether they are all there are."""
    every = combinations(found)
    if 0 < every <= most:
        return list(itertools.product(*(map(float, range(len(u.options))) for u in found))), True
    points = spread(len(found), most)
    taken = (
        tuple(x if u.ranged else float(int(x * len(u.options))) for u, x in zip(found, p, strict=True))
        for p in points
    )
    return list(taken), False


def spread(dimensions: int, count: int) -> list[tuple[float, ...]]:
    """Points of the unit cube, evenly spread.

    >>> [round(x, 3) for x, in spread(1, 4)]
    [0.118, 0.736, 0.354, 0.972]
    """
    g = 1.5
    for _ in range(60):
        g = (1 + g) ** (1 / (dimensions + 1))
    steps = [g ** -(d + 1) for d in range(dimensions)]
    return [tuple((0.5 + n * a) % 1.0 for a in steps) for n in range(1, count + 1)]
