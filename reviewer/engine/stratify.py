"""Strata: in which order rules may run so that an absence is judged only when nothing can undo it.

A rule depends on the rules whose conclusion one of its patterns could match. Through an absent
pattern it must come strictly later. A circle through an absent pattern has no such order and is
refused.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Sequence
from itertools import pairwise

from reviewer.engine.matching import compare
from reviewer.engine.types import EngineError, Head, Pattern, Rule, Value


def strata(rules: Sequence[Rule]) -> tuple[int, ...]:
    """The stratum of each rule, 0 first; an `EngineError` that names the circle for cyclic negation.

    A pattern on a concluded kind with the test `name == X` depends only on rules that conclude X,
    because a conclusion's name and constant fields are known before anything runs.

    >>> from reviewer.engine.types import Head, Pattern, Rule, Test
    >>> dry = Rule("dry", (Pattern("layer"),), Head("concluded", "dry"))
    >>> named = Pattern("concluded", (Test("name", "==", "dry"),))
    >>> strata([Rule("damp", (Pattern("layer"),), Head("finding", "damp"), absent=(named,)), dry])
    (1, 0)
    """
    needs = _dependencies(rules)
    component, order = _components(needs)
    stratum: dict[int, int] = {}
    for members in order:
        level = 0
        for rule in members:
            for other, negative in needs[rule].items():
                if component[other] == component[rule]:
                    if negative:
                        raise EngineError(_describe_cycle(rules, needs, component, rule, other))
                else:
                    level = max(level, stratum[other] + negative)
        for rule in members:
            stratum[rule] = level
    return tuple(stratum[i] for i in range(len(rules)))


def _dependencies(rules: Sequence[Rule]) -> list[dict[int, bool]]:
    """For each rule: the rules it depends on, and whether through an absent pattern."""
    heads: dict[tuple[str, Value | None], list[tuple[int, Head]]] = defaultdict(list)
    for i, rule in enumerate(rules):
        for name in (rule.head.name, None):
            heads[rule.head.kind, name].append((i, rule.head))
    needs: list[dict[int, bool]] = []
    for rule in rules:
        mine: dict[int, bool] = {}
        for negative, patterns in ((False, rule.patterns), (True, rule.absent)):
            for pattern in patterns:
                names = [test.value for test in pattern.tests if test.field == "name" and test.op == "=="]
                for i, head in heads.get((pattern.kind, names[0] if names else None), ()):
                    if _may_match(head, pattern):
                        mine[i] = mine.get(i, False) or negative
        needs.append(mine)
    return needs


def _may_match(head: Head, pattern: Pattern) -> bool:
    known = {"name": head.name, **dict(head.fields)}
    for test in pattern.tests:
        if test.field not in known:
            return False
        value = known[test.field]
        if not isinstance(value, tuple) and not compare(test.op, value, test.value):
            return False
    return all(join.field in known for join in pattern.joins)


def _components(needs: Sequence[dict[int, bool]]) -> tuple[list[int], list[list[int]]]:
    """Strongly connected components (Tarjan 1972, without recursion), those depended on first."""
    index = [-1] * len(needs)
    low = [0] * len(needs)
    component = [-1] * len(needs)
    order: list[list[int]] = []
    path: list[int] = []
    count = 0
    for root in range(len(needs)):
        if index[root] >= 0:
            continue
        work = [(root, iter(needs[root]))]
        index[root] = low[root] = count
        count += 1
        path.append(root)
        while work:
            node, rest = work[-1]
            for other in rest:
                if index[other] < 0:
                    index[other] = low[other] = count
                    count += 1
                    path.append(other)
                    work.append((other, iter(needs[other])))
                    break
                if component[other] < 0:
                    low[node] = min(low[node], index[other])
            else:
                work.pop()
                if work:
                    low[work[-1][0]] = min(low[work[-1][0]], low[node])
                if low[node] == index[node]:
                    members: list[int] = []
                    while not members or members[-1] != node:
                        members.append(path.pop())
                        component[members[-1]] = len(order)
                    order.append(sorted(members))
    return component, order


def _describe_cycle(
    rules: Sequence[Rule], needs: Sequence[dict[int, bool]], component: Sequence[int], start: int, first: int
) -> str:
    """The shortest circle from `start`, which negates what `first` concludes, back to `start`."""
    steps = [f"rule {rules[start].name!r} needs the absence of what {rules[first].name!r} concludes"]
    if first != start:
        came: dict[int, int] = {first: start}
        queue = deque([first])
        while start not in came:
            node = queue.popleft()
            for other in needs[node]:
                if component[other] == component[start] and other not in came:
                    came[other] = node
                    queue.append(other)
        walk = [start]
        while walk[-1] != first:
            walk.append(came[walk[-1]])
        walk.reverse()
        for here, there in pairwise(walk):
            how = "the absence of what" if needs[here][there] else "what"
            steps.append(f"{rules[here].name!r} needs {how} {rules[there].name!r} concludes")
    return "cyclic negation: " + ", ".join(steps)
