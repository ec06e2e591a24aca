"""Choices over what is not known: every combination where there are few, else points spread evenly.

The points are Halton's: in each direction van der Corput's sequence in a prime of its own. No chance, the same each
time, and along each direction as even as points can be that come one by one. Source: Halton, On the efficiency of certain
quasi-random sequences of points, Numerische Mathematik 2, 1960 (from memory of the paper).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

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

    >>> spread(2, 3)
    [(0.5, 0.3333333333333333), (0.25, 0.6666666666666666), (0.75, 0.1111111111111111)]
    """
    bases = tuple(itertools.islice(_primes(), dimensions))
    return [tuple(_mirrored(n, base) for base in bases) for n in range(1, count + 1)]


def _mirrored(n: int, base: int) -> float:
    """The digits of n in a base, mirrored at the point: van der Corput's sequence."""
    value, place = 0.0, 1.0 / base
    while n:
        n, digit = divmod(n, base)
        value += digit * place
        place /= base
    return value


def _primes() -> Iterator[int]:
    found: list[int] = []
    for n in itertools.count(2):
        if all(n % p for p in found):
            found.append(n)
            yield n
