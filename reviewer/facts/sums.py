"""Sums over layers that several kinds of facts share; None when one of the layers is not known."""

from __future__ import annotations

from collections.abc import Iterable

from reviewer.facts.resolve import Properties

UNLIMITED = 1.0e-6
"""kg/(s·m²·Pa): stands for `nothing in the way` (17,500 perms), since facts are finite."""


def finite(w: float | None) -> float | None:
    return None if w is None else min(w, UNLIMITED)


def insulation(layers: list[Properties], indices: Iterable[int]) -> float | None:
    total = 0.0
    for i in indices:
        if layers[i].is_insulation:
            r = layers[i].r
            if r is None:
                return None
            total += r
    return total


def total(values: Iterable[float | None]) -> float | None:
    total = 0.0
    for v in values:
        if v is None:
            return None
        total += v
    return total
