"""The fixpoint engine: joins in plain Python, each combination of facts found exactly once.

When a stage opens, its rules are joined over all facts. After that only new facts are joined, with
the facts already entered (semi-naive evaluation): a combination is found when the last of its facts
enters.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from reviewer.engine.matching import COMPARE
from reviewer.engine.plan import Compiled, Item
from reviewer.engine.program import Program
from reviewer.engine.types import Rule, Value
from reviewer.engine.working import WorkingMemory

_MIRRORED = {"==": "==", "!=": "!=", "<": ">", "<=": ">=", ">": "<", ">=": "<="}
_INDEX_FROM = 8
"""From how many facts in a node on an equality join looks up an index instead of trying them all."""


@dataclass(frozen=True, slots=True)
class _Step:
    """Bind one more pattern to a fact of its node."""

    position: int
    node: int
    apart: tuple[int, ...]
    """Positions bound before that could hold the same fact."""
    joins: tuple[tuple[str, Callable[[Any, Any], bool], int, str], ...]
    """(field here, comparison, position bound before, field there)."""
    lookup: tuple[str, int, str] | None
    """(field here, position, field there) of an equality join, left out of `joins` when used."""
    rest: tuple[tuple[str, Callable[[Any, Any], bool], int, str], ...]
    """`joins` without the one looked up."""


@dataclass(frozen=True, slots=True)
class _Join:
    """How to complete a rule from a fact bound at each position."""

    rule: Compiled
    needs: frozenset[int]
    """The nodes of its patterns: without a fact in each of them nothing can match."""
    width: int
    steps: tuple[tuple[_Step, ...], ...]
    """By starting position."""


class FixpointProgram(Program):
    """The engine that needs nothing but Python."""

    engine = "fixpoint"

    def __init__(self, rules: Sequence[Rule]):
        super().__init__(rules)
        self._joins = [
            _Join(
                rule,
                frozenset(rule.nodes),
                len(rule.nodes),
                tuple(_steps(rule, start) for start in range(len(rule.nodes))),
            )
            for rule in self._plan.rules
        ]
        self._triggers: list[list[tuple[_Join, int]]] = [[] for _ in self._plan.nodes]
        for join in self._joins:
            for position, node in enumerate(join.rule.nodes):
                self._triggers[node].append((join, position))
        self._by_stage: dict[int, list[_Join]] = defaultdict(list)
        for join in self._joins:
            self._by_stage[join.rule.stage].append(join)

    def _drive(self, memory: WorkingMemory) -> None:
        run = _Run(memory)
        for stage in self._plan.stages:
            memory.open_stage(stage)
            filled = {node for node, items in memory.nodes.items() if items}
            for join in self._by_stage[stage]:
                if join.needs <= filled:
                    run.join_all(join)
            while run.waiting:
                item = run.waiting.popleft()
                for node in memory.enter(item):
                    for join, position in self._triggers[node]:
                        if join.rule.stage <= stage:
                            run.join_from(join, position, item)


class _Run:
    """The joins of one run: an index for each node and field looked up, conclusions that wait."""

    def __init__(self, memory: WorkingMemory):
        self._memory = memory
        self._nodes = memory.nodes
        self.waiting: deque[Item] = deque()
        self._indexes: dict[tuple[int, str], tuple[list[int], dict[Value, list[Item]]]] = {}

    def join_all(self, join: _Join) -> None:
        """Fire for every combination, starting from the pattern with the fewest facts."""
        nodes = self._nodes
        start = min(range(join.width), key=lambda position: len(nodes[join.rule.nodes[position]]))
        for item in nodes[join.rule.nodes[start]]:
            self.join_from(join, start, item)

    def join_from(self, join: _Join, position: int, item: Item) -> None:
        """Fire for every combination that has the fact at the position."""
        if join.width == 1:
            self._fire(join.rule, (item,))
            return
        steps = join.steps[position]
        nodes = self._nodes
        for step in steps:
            if not nodes[step.node]:
                return
        bound = [item] * join.width
        self._extend(join.rule, steps, 0, bound)

    def _extend(self, rule: Compiled, steps: Sequence[_Step], depth: int, bound: list[Item]) -> None:
        step = steps[depth]
        candidates = self._nodes[step.node]
        joins = step.joins
        if step.lookup is not None and len(candidates) >= _INDEX_FROM:
            field, position, other_field = step.lookup
            candidates = self._indexed(step.node, field).get(bound[position].fields[other_field], ())
            joins = step.rest
        wanted = [(field, holds, bound[other].fields[there]) for field, holds, other, there in joins]
        apart = [bound[position] for position in step.apart]
        last = depth + 1 == len(steps)
        for item in candidates:
            if item in apart:
                continue
            fields = item.fields
            for field, holds, value in wanted:
                if not holds(fields[field], value):
                    break
            else:
                bound[step.position] = item
                if last:
                    self._fire(rule, bound)
                else:
                    self._extend(rule, steps, depth + 1, bound)

    def _fire(self, rule: Compiled, bound: Sequence[Item]) -> None:
        new = self._memory.fire(rule, bound)
        if new is not None:
            self.waiting.append(new)

    def _indexed(self, node: int, field: str) -> dict[Value, list[Item]]:
        """The facts of a node by the value of a field, brought up to date."""
        key = (node, field)
        entry = self._indexes.get(key)
        if entry is None:
            entry = self._indexes[key] = ([0], {})
        done, index = entry
        items = self._nodes[node]
        for item in items[done[0] :]:
            index.setdefault(item.fields[field], []).append(item)
        done[0] = len(items)
        return index


def _steps(rule: Compiled, start: int) -> tuple[_Step, ...]:
    """The order in which to bind the other patterns: always the one with the most joins to those
    bound, equality joins first, so that wrong combinations are dropped early."""
    pairs: list[tuple[int, str, str, int, str]] = [
        (position, c.field, c.op, c.other, c.other_field)
        for position, conditions in enumerate(rule.joins)
        for c in conditions
    ]
    pairs += [(there, f2, _MIRRORED[op], here, f1) for here, f1, op, there, f2 in pairs]
    bound = [start]
    steps: list[_Step] = []
    while len(bound) < len(rule.nodes):

        def ties(position: int) -> list[tuple[int, str, str, int, str]]:
            return [pair for pair in pairs if pair[0] == position and pair[3] in bound]

        def worth(position: int) -> tuple[int, int, int]:
            mine = ties(position)
            return sum(pair[2] == "==" for pair in mine), len(mine), -position

        free = [position for position in range(len(rule.nodes)) if position not in bound]
        position = max(free, key=worth)
        joins = tuple((f1, COMPARE[op], other, f2) for _, f1, op, other, f2 in ties(position))
        equal = next((i for i, pair in enumerate(ties(position)) if pair[2] == "=="), None)
        lookup = None if equal is None else (joins[equal][0], joins[equal][2], joins[equal][3])
        steps.append(
            _Step(
                position,
                rule.nodes[position],
                tuple(other for other in bound if rule.kinds[other] == rule.kinds[position]),
                joins,
                lookup,
                tuple(join for i, join in enumerate(joins) if i != equal),
            )
        )
        bound.append(position)
    return tuple(steps)
