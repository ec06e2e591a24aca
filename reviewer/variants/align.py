"""The layers of one section set beside those of another, from the room outwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reviewer.facts.resolve import Properties

_ALONE = 1.0
"""Cost of a layer that has no counterpart."""


@dataclass(frozen=True, slots=True)
class Matched:
    """A layer of the one and its counterpart in the other; None where there is none."""

    before: int | None
    after: int | None


def align(before: Sequence[Properties], after: Sequence[Properties]) -> list[Matched]:
    """Which layer stands for which: the cheapest way to turn the one into the other, order kept.

    Two layers may stand for each other when they are of one material, of one family, or do the same; else the
    one is taken out and the other added. Turned round, the pairs are the same.
    """
    if [_key(p) for p in before] > [_key(p) for p in after]:
        return _ordered([Matched(m.after, m.before) for m in align(after, before)])
    n, m = len(before), len(after)
    cost = [[0.0] * (m + 1) for _ in range(n + 1)]
    for i in range(n, -1, -1):
        for j in range(m, -1, -1):
            if i == n or j == m:
                cost[i][j] = _ALONE * (n - i + m - j)
                continue
            apart = _ALONE + min(cost[i + 1][j], cost[i][j + 1])
            cost[i][j] = min(apart, _distance(before[i], after[j]) + cost[i + 1][j + 1])
    found: list[Matched] = []
    i = j = 0
    while i < n or j < m:
        if i < n and j < m and cost[i][j] == _distance(before[i], after[j]) + cost[i + 1][j + 1]:
            found.append(Matched(i, j))
            i, j = i + 1, j + 1
        elif i < n and (j == m or cost[i][j] == _ALONE + cost[i + 1][j]):
            found.append(Matched(i, None))
            i += 1
        else:
            found.append(Matched(None, j))
            j += 1
    return _ordered(found)


def _ordered(found: Sequence[Matched]) -> list[Matched]:
    """Between two pairs, what is taken out comes before what is added."""
    out: list[Matched] = []
    added: list[Matched] = []
    for m in found:
        if m.before is None:
            added.append(m)
            continue
        if m.after is not None:
            out += added
            added = []
        out.append(m)
    return out + added


def _key(p: Properties) -> tuple[str, str, float]:
    return p.layer.text, p.name, p.thickness or 0.0


def _distance(a: Properties, b: Properties) -> float:
    """0 for the same, over 2 for two that can't stand for each other. All exact in binary."""
    if a.name == b.name:
        return 0.0 if a.layer.text == b.layer.text else 0.25
    if a.is_surroundings or b.is_surroundings:
        return 0.5 if a.is_surroundings and b.is_surroundings else 4.0
    if a.layer.unknown or b.layer.unknown:
        known, unknown = (a, b) if b.layer.unknown else (b, a)
        word = unknown.name.removeprefix("unknown ")
        return 0.5 if word in known.roles or word in known.name or _same_use(a, b) else 4.0
    if a.is_space or b.is_space:
        return 1.0 if a.is_insulation or b.is_insulation else 4.0
    assert a.material is not None and b.material is not None
    if a.material.family == b.material.family:
        return 0.5
    return 1.0 if _same_use(a, b) else 4.0


_USES = ("cladding", "sheathing", "interior finish", "water control", "thermal control")


def _same_use(a: Properties, b: Properties) -> bool:
    if a.is_insulation and b.is_insulation:
        return True
    return any(role in a.roles and role in b.roles for role in _USES)
