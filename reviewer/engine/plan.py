"""A rulebook laid out for running: what both engines share, computed once.

Every pattern becomes a *node*: the alpha memory of what one fact alone must satisfy, plus the
absences that depend on the bound fact alone. An absent pattern refers to one fact at most, so
"no such fact beside this one" is a property of that fact, to be judged as soon as the negated kinds
are complete. Rules with an absence therefore open at the stage of their stratum, all others at
once, and what is left for an engine to do is joins and chaining.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import blake2b
from typing import Any

from reviewer.engine.limits import ABSENT, check_rules, check_value
from reviewer.engine.matching import COMPARE, ORDER, Alpha, AlphaNetwork
from reviewer.engine.stratify import strata
from reviewer.engine.types import Head, Join, Pattern, Rule, Value


class Item:
    """A fact in working memory."""

    __slots__ = ("fields", "id", "kind", "number")

    def __init__(self, ident: str, kind: str, fields: Mapping[str, Value], number: int):
        self.id = ident
        self.kind = kind
        self.fields = fields
        self.number = number


@dataclass(frozen=True, slots=True)
class Absence:
    """No fact of an alpha memory may join to the bound fact. Rules share equal ones."""

    number: int
    memory: int
    joins: tuple[tuple[str, Callable[[Any, Any], bool], str], ...]
    """(field of the negated fact, comparison, field of the bound fact)."""
    bound: bool
    """Whether it depends on the bound fact at all."""


@dataclass(frozen=True, slots=True)
class Node:
    """Where the facts wait that may stand for a pattern."""

    number: int
    memory: int
    absences: tuple[Absence, ...]
    stage: int
    """From which stage on it is filled; nodes without absences are filled from the start."""


@dataclass(frozen=True, slots=True)
class Condition:
    """A join of a pattern with a pattern bound earlier."""

    field: str
    op: str
    other: int
    other_field: str


@dataclass(frozen=True, slots=True)
class Compiled:
    """One rule."""

    number: int
    name: str
    stage: int
    nodes: tuple[int, ...]
    joins: tuple[tuple[Condition, ...], ...]
    kinds: tuple[str, ...]
    head: HeadBuilder
    absent: tuple[tuple[str, int | None], ...]
    """(id of the absence fact up to the bound fact's id, position of the bound pattern)."""


class HeadBuilder:
    """Makes the concluded fact's id and fields from the bound facts."""

    __slots__ = ("_fixed", "_parts", "constants", "copies", "kind", "name")

    def __init__(self, head: Head):
        self.kind = head.kind
        self.name = head.name
        self.constants: dict[str, Value] = {"name": head.name}
        self.copies: list[tuple[str, int, str]] = []
        """(field, pattern position, field there) of every copied field."""
        self._parts: list[str | tuple[str, str, int, str]] = [f"{_escape(head.kind)}:{_escape(head.name)}"]
        for field, value in sorted(head.fields, key=lambda pair: pair[0]):
            if isinstance(value, tuple):
                self.copies.append((field, *value))
                self._parts.append((f":{_escape(field)}=", field, *value))
            else:
                constant = self.constants[field] = _plain(check_value(value, field))
                self._parts.append(f":{_escape(field)}={_token(constant)}")
        self._fixed = None if self.copies else shortened("".join(map(str, self._parts)))

    def __call__(self, bound: Sequence[Item]) -> tuple[str, dict[str, Value]]:
        if self._fixed is not None:
            return self._fixed, self.constants
        fields = dict(self.constants)
        ident = ""
        for part in self._parts:
            if isinstance(part, str):
                ident += part
                continue
            prefix, field, position, source = part
            value = bound[position].fields.get(source)
            if value is not None:
                value = fields[field] = _plain(value)
                ident += prefix + _token(value)
        return shortened(ident), fields


_LONG = 200
_NUMBER_LIKE = re.compile(r"'|\Z|[-+]?(\d|\.\d|inf|nan)", re.IGNORECASE)


def shortened(ident: str) -> str:
    """An id as it is, or a long one cut and closed with a hash of the whole."""
    if len(ident) <= _LONG:
        return ident
    digest = blake2b(ident.encode("utf-8", "surrogatepass"), digest_size=16).hexdigest()
    return f"{ident[: _LONG - 33]}#{digest}"


def _plain(value: Value) -> Value:
    """The value with negative zero as zero, which it equals: equal values must give one id."""
    return value if isinstance(value, str) else value + 0.0


def _escape(text: str) -> str:
    if ":" in text or "%" in text or "=" in text:
        return text.replace("%", "%25").replace(":", "%3A").replace("=", "%3D")
    return text


def _token(value: Value) -> str:
    """A value in an id: a word that could be taken for a number gets a quote in front."""
    if isinstance(value, str):
        return ("'" if _NUMBER_LIKE.match(value) else "") + _escape(value)
    text = repr(float(value))
    return text.removesuffix(".0")


class Plan:
    """The compiled rulebook. Refuses what `limits` and `strata` refuse."""

    def __init__(self, rules: Sequence[Rule]):
        check_rules(rules)
        self.rules: list[Compiled] = []
        self.alphas: list[Alpha] = []
        self.nodes: list[Node] = []
        self.absences: list[Absence] = []
        self._alpha_numbers: dict[Alpha, int] = {}
        self._node_numbers: dict[object, int] = {}
        self._absence_numbers: dict[object, int] = {}
        levels = strata(rules)
        for number, rule in enumerate(rules):
            self.rules.append(self._compile(number, rule, levels[number] if rule.absent else 0))
        self.stages: tuple[int, ...] = tuple(sorted({0, *(rule.stage for rule in self.rules)}))
        by_kind: dict[str, list[tuple[int, Alpha]]] = defaultdict(list)
        for number, alpha in enumerate(self.alphas):
            by_kind[alpha.kind].append((number, alpha))
        self.networks: dict[str, AlphaNetwork] = {
            kind: AlphaNetwork(memories) for kind, memories in by_kind.items()
        }
        self.plain_node: list[int | None] = [None] * len(self.alphas)
        """The node of a memory without absences, if some pattern uses it."""
        self.gated_nodes: list[tuple[Node, ...]] = [()] * len(self.alphas)
        self.gated_at: dict[int, list[Node]] = defaultdict(list)
        """By stage, the nodes with absences that it fills."""
        for node in self.nodes:
            if node.absences:
                self.gated_nodes[node.memory] += (node,)
                self.gated_at[node.stage].append(node)
            else:
                self.plain_node[node.memory] = node.number
        self.joining: list[list[Compiled]] = [[] for _ in self.nodes]
        """By node, the rules that join its facts with others."""
        for rule in self.rules:
            for node in dict.fromkeys(rule.nodes) if len(rule.nodes) > 1 else ():
                self.joining[node].append(rule)
        self.numbers = _ordered_fields(rules)
        """Fields, by kind, that some rule compares by order; kinds that are never concluded."""

    def _compile(self, number: int, rule: Rule, stage: int) -> Compiled:
        needs = [_Needs() for _ in rule.patterns]
        for position, pattern in enumerate(rule.patterns):
            for join in pattern.joins:
                needs[position].add(join.field, join.op)
                needs[join.other].add(join.other_field, join.op)
        waiting: list[list[Absence]] = [[] for _ in rule.patterns]
        absent: list[tuple[str, int | None]] = []
        for n, pattern in enumerate(rule.absent):
            other = pattern.joins[0].other if pattern.joins else None
            waiting[other or 0].append(self._absence(pattern))
            prefix = f"{ABSENT}:{rule.name.replace('%', '%25').replace('@', '%40')}/{n}"
            absent.append((prefix if other is None else f"{prefix}@", other))
        nodes: list[int] = []
        for pattern, need, absences in zip(rule.patterns, needs, waiting, strict=True):
            nodes.append(self._node(self._alpha(pattern, need), tuple(absences), stage))
        return Compiled(
            number,
            rule.name,
            stage,
            tuple(nodes),
            tuple(
                tuple(Condition(j.field, j.op, j.other, j.other_field) for j in pattern.joins)
                for pattern in rule.patterns
            ),
            tuple(pattern.kind for pattern in rule.patterns),
            HeadBuilder(rule.head),
            tuple(absent),
        )

    def _alpha(self, pattern: Pattern, needs: _Needs) -> int:
        tests = frozenset((t.field, t.op, check_value(t.value, t.field)) for t in pattern.tests)
        alpha = Alpha(pattern.kind, tests, frozenset(needs.present), frozenset(needs.numeric))
        if alpha not in self._alpha_numbers:
            self._alpha_numbers[alpha] = len(self.alphas)
            self.alphas.append(alpha)
        return self._alpha_numbers[alpha]

    def _absence(self, pattern: Pattern) -> Absence:
        needs = _Needs()
        for join in pattern.joins:
            needs.add(join.field, join.op)
        memory = self._alpha(pattern, needs)
        key = (memory, tuple((j.field, j.op, j.other_field) for j in pattern.joins))
        if key not in self._absence_numbers:
            self._absence_numbers[key] = len(self.absences)
            joins = tuple((j.field, _total(j), j.other_field) for j in pattern.joins)
            self.absences.append(Absence(len(self.absences), memory, joins, bool(joins)))
        return self.absences[self._absence_numbers[key]]

    def _node(self, memory: int, absences: tuple[Absence, ...], stage: int) -> int:
        key = (memory, tuple(a.number for a in absences), stage if absences else 0)
        if key not in self._node_numbers:
            self._node_numbers[key] = len(self.nodes)
            self.nodes.append(Node(len(self.nodes), memory, absences, stage if absences else 0))
        return self._node_numbers[key]


class _Needs:
    """Fields that joins read and fields that they order."""

    def __init__(self) -> None:
        self.present: set[str] = set()
        self.numeric: set[str] = set()

    def add(self, field: str, op: str) -> None:
        (self.numeric if op in ORDER else self.present).add(field)


def _total(join: Join) -> Callable[[Any, Any], bool]:
    """The comparison of an absent pattern's join. Its bound side, unlike a positive pattern's, is not
    known to be there and a number, so an order comparison has to look."""
    if join.op not in ORDER:
        return COMPARE[join.op]
    return _ORDERED[join.op]


def _less(left: Any, right: Any) -> bool:
    return not isinstance(right, str) and left < right


def _at_most(left: Any, right: Any) -> bool:
    return not isinstance(right, str) and left <= right


def _more(left: Any, right: Any) -> bool:
    return not isinstance(right, str) and left > right


def _at_least(left: Any, right: Any) -> bool:
    return not isinstance(right, str) and left >= right


_ORDERED: Mapping[str, Callable[[Any, Any], bool]] = {
    "<": _less,
    "<=": _at_most,
    ">": _more,
    ">=": _at_least,
}


def _ordered_fields(rules: Sequence[Rule]) -> dict[str, frozenset[str]]:
    ordered: dict[str, set[str]] = defaultdict(set)
    for rule in rules:
        for pattern in (*rule.patterns, *rule.absent):
            ordered[pattern.kind].update(test.field for test in pattern.tests if test.op in ORDER)
            for join in pattern.joins:
                if join.op in ORDER:
                    ordered[pattern.kind].add(join.field)
                    ordered[rule.patterns[join.other].kind].add(join.other_field)
    concluded = {rule.head.kind for rule in rules}
    return {kind: frozenset(fields) for kind, fields in ordered.items() if kind not in concluded}
