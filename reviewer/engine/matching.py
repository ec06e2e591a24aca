"""Matching in plain Python: comparisons, the alpha network, and two questions about one rule.

The alpha network sorts each fact into the memories whose constant tests it passes; both engines
build on it. `undecided` and `near_misses` work on the rule itself and serve explanations: why a
rule could not be judged, and how far it was from firing.
"""

from __future__ import annotations

import operator
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from reviewer.engine.types import Fact, Join, Pattern, Rule, Test, Value

COMPARE: Mapping[str, Callable[[Any, Any], bool]] = {
    "==": operator.eq,
    "!=": operator.ne,
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
}
ORDER = frozenset(("<", "<=", ">", ">="))


def compare(op: str, left: Value, right: Value) -> bool:
    """Whether `left op right` holds. A number and a word are never equal and have no order.

    >>> compare("<=", 0.5, 1.0), compare("==", "1", 1.0), compare("!=", "1", 1.0), compare("<", "1", 2.0)
    (True, False, True, False)
    """
    if op in ORDER and (isinstance(left, str) or isinstance(right, str)):
        return False
    return COMPARE[op](left, right)


@dataclass(frozen=True, slots=True)
class Alpha:
    """What one fact alone must satisfy: constant tests, fields that a join reads (they must be
    there) and fields that a join orders (they must be numbers)."""

    kind: str
    tests: frozenset[tuple[str, str, Value]]
    present: frozenset[str] = frozenset()
    numeric: frozenset[str] = frozenset()


_DECODED_AT_MOST = 4096


class AlphaNetwork:
    """Sorts a fact of one kind into alpha memories.

    Each field that some memory tests has a table: the range or word that the fact's value falls in
    gives a bit set of the memories that this field does not rule out. A fact is in the memories
    whose bits survive all fields, so the cost grows with the fields tested, not with the rules. What
    survives all fields that are tested for words is kept for the next fact that has the same words.
    """

    __slots__ = ("_all", "_decoded", "_kept", "_names", "_tables", "_word_fields", "_word_tables")

    def __init__(self, memories: Sequence[tuple[int, Alpha]]):
        """`memories`: number and definition of each memory of the kind."""
        self._names = tuple(number for number, _ in memories)
        self._all = (1 << len(memories)) - 1
        conditions: dict[str, list[tuple[int, str, Value]]] = defaultdict(list)
        for bit, (_, alpha) in enumerate(memories):
            for field, op, value in alpha.tests:
                conditions[field].append((bit, op, value))
            for field in alpha.present:
                conditions[field].append((bit, "present", ""))
            for field in alpha.numeric:
                conditions[field].append((bit, "number", ""))
        tables = [(field, *_table(conditions[field], self._all)) for field in sorted(conditions)]
        self._word_tables = tuple(t for t in tables if _names_words(conditions[t[0]]))
        self._tables = tuple(t for t in tables if not _names_words(conditions[t[0]]))
        self._word_fields = tuple(table[0] for table in self._word_tables)
        self._kept: dict[tuple[Value | None, ...], int] = {}
        self._decoded: dict[int, tuple[int, ...]] = {}

    def memories(self, fields: Mapping[str, Value]) -> tuple[int, ...]:
        """The numbers of the memories that a fact with these fields is in, ascending."""
        words = tuple(map(fields.get, self._word_fields))
        alive = self._kept.get(words)
        if alive is None:
            if len(self._kept) >= _DECODED_AT_MOST:
                self._kept.clear()
            alive = self._kept[words] = _surviving(self._all, self._word_tables, fields)
        alive = _surviving(alive, self._tables, fields)
        if not alive:
            return ()
        known = self._decoded.get(alive)
        if known is None:
            if len(self._decoded) >= _DECODED_AT_MOST:
                self._decoded.clear()
            known = self._decoded[alive] = tuple(
                number for bit, number in enumerate(self._names) if alive >> bit & 1
            )
        return known


_Table = tuple[str, list[float], list[int], dict[str, int], int, int]


def _surviving(alive: int, tables: Sequence[_Table], fields: Mapping[str, Value]) -> int:
    for field, points, ranges, words, other_word, missing in tables:
        value = fields.get(field)
        if value is None:
            alive &= missing
        elif not isinstance(value, str):
            at = bisect_left(points, value)
            alive &= ranges[2 * at + (at < len(points) and points[at] == value)]
        else:
            alive &= words.get(value, other_word)
        if not alive:
            return 0
    return alive


def _names_words(conditions: Sequence[tuple[int, str, Value]]) -> bool:
    return all(op in ("==", "!=") and isinstance(value, str) for _, op, value in conditions)


_VERDICTS = {
    "==": (False, True, False),
    "!=": (True, False, True),
    "<": (True, False, False),
    "<=": (True, True, False),
    ">": (False, False, True),
    ">=": (False, True, True),
}
"""Whether `value op constant` holds for a value below, at and above the constant."""


def _table(
    conditions: Sequence[tuple[int, str, Value]], every: int
) -> tuple[list[float], list[int], dict[str, int], int, int]:
    """Bit sets for one field: thresholds, one set for each range between them and for each threshold
    itself, one for each word named, one for any other word, and one for a missing field."""
    by_number: dict[float, list[tuple[int, str]]] = defaultdict(list)
    by_word: dict[str, list[tuple[int, str]]] = defaultdict(list)
    of_number, of_word = _Survivors(every), _Survivors(every)
    missing = every
    for bit, op, value in conditions:
        missing &= ~(1 << bit)
        if op == "number":
            of_word.fail(bit)
        elif op == "present":
            continue
        elif isinstance(value, str):
            by_word[value].append((bit, op))
            if op == "==":
                of_number.fail(bit)
                of_word.fail(bit)
        else:
            by_number[value].append((bit, op))
            if not _VERDICTS[op][0]:
                of_number.fail(bit)
            if op != "!=":
                of_word.fail(bit)
    points = sorted(by_number)
    ranges = [of_number.bits]
    for point in points:
        for side in (1, 2):
            for bit, op in by_number[point]:
                of_number.change(bit, _VERDICTS[op][side - 1], _VERDICTS[op][side])
            ranges.append(of_number.bits)
    words: dict[str, int] = {}
    other_word = of_word.bits
    for text in sorted(by_word):
        for bit, op in by_word[text]:
            of_word.change(bit, op == "!=", op == "==")
        words[text] = of_word.bits
        for bit, op in by_word[text]:
            of_word.change(bit, op == "==", op == "!=")
    return points, ranges, words, other_word, missing


class _Survivors:
    """The memories on which no condition fails, kept up as single conditions change."""

    def __init__(self, every: int):
        self.bits = every
        self._failing: dict[int, int] = defaultdict(int)

    def fail(self, bit: int) -> None:
        self.change(bit, True, False)

    def change(self, bit: int, before: bool, after: bool) -> None:
        failing = self._failing[bit] = self._failing[bit] + before - after
        if failing:
            self.bits &= ~(1 << bit)
        else:
            self.bits |= 1 << bit


# --- why a rule could not be judged ---------------------------------------------------------------


def undecided(
    rule: Rule,
    facts_by_kind: Mapping[str, Sequence[Fact]],
    unknown: Mapping[str, Mapping[str, str]],
) -> list[tuple[str, str]]:
    """The unknown fields, as (fact id, field), on which a firing of the rule turns.

    `unknown` gives for a fact id the fields that exist but are not known, and why. A combination of
    facts counts when nothing that can be judged rules it out and something turns on an unknown
    field: a test or join of a positive pattern, or of an absent pattern that some fact might match.
    So a rule that fires only because an unknown field made an absence look true is listed too.

    >>> from reviewer.engine.types import Head
    >>> board = Fact("layer 1", "layer", {"index": 1.0})
    >>> rule = Rule("tight", (Pattern("layer", (Test("permeance", "<=", 1.0),)),), Head("finding", "tight"))
    >>> undecided(rule, {"layer": [board]}, {"layer 1": {"permeance": "the material is not known"}})
    [('layer 1', 'permeance')]
    >>> undecided(rule, {"layer": [board]}, {})
    []
    """
    if not unknown or not _touches_unknown(rule, facts_by_kind, unknown):
        return []
    judge = _Judge(unknown)
    candidates: list[list[tuple[Fact, frozenset[tuple[str, str]]]]] = []
    for pattern in rule.patterns:
        found = []
        for fact in facts_by_kind.get(pattern.kind, ()):
            turns_on = judge.tests(fact, pattern.tests)
            if turns_on is not None:
                found.append((fact, turns_on))
        if not found:
            return []
        candidates.append(found)
    absent = [
        [
            (fact, turns_on)
            for fact in facts_by_kind.get(pattern.kind, ())
            if (turns_on := judge.tests(fact, pattern.tests)) is not None
        ]
        for pattern in rule.absent
    ]
    result: set[tuple[str, str]] = set()
    bound: list[Fact] = []

    def extend(turns_on: frozenset[tuple[str, str]]) -> None:
        position = len(bound)
        if position == len(rule.patterns):
            missing = judge.absences(rule.absent, absent, bound)
            if missing is not None:
                result.update(turns_on | missing)
            return
        for fact, own in candidates[position]:
            if any(fact is earlier for earlier in bound):
                continue
            joined = judge.joins(fact, rule.patterns[position].joins, bound)
            if joined is None:
                continue
            bound.append(fact)
            extend(turns_on | own | joined)
            bound.pop()

    extend(frozenset())
    return sorted(result)


def _touches_unknown(
    rule: Rule, facts_by_kind: Mapping[str, Sequence[Fact]], unknown: Mapping[str, Mapping[str, str]]
) -> bool:
    for pattern in (*rule.patterns, *rule.absent):
        fields = {test.field for test in pattern.tests} | {join.field for join in pattern.joins}
        if _any_unknown(fields, facts_by_kind.get(pattern.kind, ()), unknown):
            return True
        for join in pattern.joins:
            other = facts_by_kind.get(rule.patterns[join.other].kind, ())
            if _any_unknown((join.other_field,), other, unknown):
                return True
    return False


def _any_unknown(
    fields: Iterable[str], facts: Sequence[Fact], unknown: Mapping[str, Mapping[str, str]]
) -> bool:
    return any(
        field in reasons and field not in fact.fields
        for fact in facts
        if (reasons := unknown.get(fact.id))
        for field in fields
    )


_Turns = frozenset[tuple[str, str]]
_NOTHING: _Turns = frozenset()


class _Judge:
    """Three-valued judgment: None when ruled out, else the unknown fields it turns on."""

    def __init__(self, unknown: Mapping[str, Mapping[str, str]]):
        self._unknown = unknown

    def _is_unknown(self, fact: Fact, field: str) -> bool:
        return field not in fact.fields and field in self._unknown.get(fact.id, ())

    def tests(self, fact: Fact, tests: Sequence[Test]) -> _Turns | None:
        turns_on = _NOTHING
        for test in tests:
            value = fact.fields.get(test.field)
            if value is not None:
                if not compare(test.op, value, test.value):
                    return None
            elif self._is_unknown(fact, test.field):
                turns_on |= {(fact.id, test.field)}
            else:
                return None
        return turns_on

    def joins(self, fact: Fact, joins: Sequence[Join], bound: Sequence[Fact]) -> _Turns | None:
        turns_on = _NOTHING
        for join in joins:
            other = bound[join.other]
            left, right = fact.fields.get(join.field), other.fields.get(join.other_field)
            if left is not None and right is not None:
                if not compare(join.op, left, right):
                    return None
                continue
            if left is None:
                if not self._is_unknown(fact, join.field):
                    return None
                turns_on |= {(fact.id, join.field)}
            if right is None:
                if not self._is_unknown(other, join.other_field):
                    return None
                turns_on |= {(other.id, join.other_field)}
        return turns_on

    def absences(
        self,
        patterns: Sequence[Pattern],
        candidates: Sequence[Sequence[tuple[Fact, _Turns]]],
        bound: Sequence[Fact],
    ) -> _Turns | None:
        turns_on = _NOTHING
        for pattern, facts in zip(patterns, candidates, strict=True):
            overlooked = bound[pattern.joins[0].other] if pattern.joins else None
            for fact, own in facts:
                if fact is overlooked:
                    continue
                joined = self.joins(fact, pattern.joins, bound)
                if joined is None:
                    continue
                if not own and not joined:
                    return None
                turns_on |= own | joined
        return turns_on


# --- how far a rule was from firing ---------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Failure:
    """One condition that did not hold."""

    what: str
    """`test`, `join`, `absent` (a fact that must not be there is there) or `no fact`."""
    pattern: int
    """Position of the pattern; absent patterns count on after the positive ones."""
    kind: str
    fact: str | None = None
    """The fact that was tried, or for `absent` the fact that is in the way."""
    field: str = ""
    found: Value | None = None
    """None when the fact lacks the field."""
    op: str = ""
    wanted: Value | None = None
    """The constant, or the other fact's value (None when that fact lacks the field)."""
    other: str | None = None
    """The other fact of a join."""
    other_field: str = ""


@dataclass(frozen=True, slots=True)
class NearMiss:
    """A combination of facts that comes closest to firing a rule, and what it fails on."""

    bound: tuple[str | None, ...]
    """Fact ids, pattern by pattern; None where no fact of the kind is left."""
    failures: tuple[Failure, ...]


_TRIES = 50_000


def near_misses(rule: Rule, facts: Sequence[Fact], limit: int = 5) -> list[NearMiss]:
    """The combinations with the fewest failing conditions, at most `limit`, in the order of `facts`.

    Empty when the rule fires. The search is exact up to a fixed number of combinations tried (far
    above what a section with dozens of layers needs) and the best found by then beyond it.

    >>> from reviewer.engine.types import Head
    >>> rule = Rule("tight", (Pattern("layer", (Test("permeance", "<=", 1.0),)),), Head("finding", "tight"))
    >>> [miss] = near_misses(rule, [Fact("layer 1", "layer", {"permeance": 5.0})])
    >>> miss.failures[0].found, miss.failures[0].op, miss.failures[0].wanted
    (5.0, '<=', 1.0)
    """
    by_kind: dict[str, list[Fact]] = defaultdict(list)
    for fact in facts:
        by_kind[fact.kind].append(fact)
    candidates: list[list[tuple[Fact, tuple[Failure, ...]]]] = []
    for position, pattern in enumerate(rule.patterns):
        tried = [(fact, _failed_tests(position, fact, pattern)) for fact in by_kind[pattern.kind]]
        candidates.append(sorted(tried, key=lambda pair: len(pair[1])))
    at_least = [0] * (len(candidates) + 1)
    for position in reversed(range(len(candidates))):
        least = len(candidates[position][0][1]) if candidates[position] else 1
        at_least[position] = at_least[position + 1] + least
    absent = [
        [fact for fact in by_kind[pattern.kind] if not _failed_tests(0, fact, pattern)]
        for pattern in rule.absent
    ]
    best: list[NearMiss] = []
    fewest = 1 << 30
    tries = 0
    bound: list[Fact | None] = []

    def extend(failures: tuple[Failure, ...]) -> None:
        nonlocal fewest, tries
        tries += 1
        position = len(bound)
        floor = len(failures) + at_least[position]
        if tries > _TRIES or floor > fewest or (floor == fewest and len(best) >= limit):
            return
        if position == len(rule.patterns):
            failures += _present_absences(rule, absent, bound)
            if len(failures) < fewest:
                fewest = len(failures)
                best.clear()
            if len(failures) == fewest and len(best) < limit:
                best.append(NearMiss(tuple(fact and fact.id for fact in bound), failures))
            return
        pattern = rule.patterns[position]
        free = [(fact, failed) for fact, failed in candidates[position] if not any(fact is b for b in bound)]
        for fact, failed in free:
            joins = _failed_joins(position, fact, pattern, bound)
            bound.append(fact)
            extend(failures + failed + joins)
            bound.pop()
        if not free:
            bound.append(None)
            extend((*failures, Failure("no fact", position, pattern.kind)))
            bound.pop()

    extend(())
    return best if fewest else []


def _failed_tests(position: int, fact: Fact, pattern: Pattern) -> tuple[Failure, ...]:
    failed = []
    for test in pattern.tests:
        found = fact.fields.get(test.field)
        if found is None or not compare(test.op, found, test.value):
            failed.append(
                Failure("test", position, pattern.kind, fact.id, test.field, found, test.op, test.value)
            )
    return tuple(failed)


def _failed_joins(
    position: int, fact: Fact, pattern: Pattern, bound: Sequence[Fact | None]
) -> tuple[Failure, ...]:
    """Joins that do not hold; one on a pattern for which there is no fact is not counted."""
    failed = []
    for join in pattern.joins:
        other = bound[join.other]
        if other is None:
            continue
        found, wanted = fact.fields.get(join.field), other.fields.get(join.other_field)
        if found is None or wanted is None or not compare(join.op, found, wanted):
            failed.append(
                Failure(
                    "join",
                    position,
                    pattern.kind,
                    fact.id,
                    join.field,
                    found,
                    join.op,
                    wanted,
                    other.id,
                    join.other_field,
                )
            )
    return tuple(failed)


def _present_absences(
    rule: Rule, candidates: Sequence[Sequence[Fact]], bound: Sequence[Fact | None]
) -> tuple[Failure, ...]:
    failed = []
    for n, (pattern, facts) in enumerate(zip(rule.absent, candidates, strict=True)):
        position = len(rule.patterns) + n
        overlooked = bound[pattern.joins[0].other] if pattern.joins else None
        if pattern.joins and overlooked is None:
            continue
        for fact in facts:
            if fact is not overlooked and not _failed_joins(position, fact, pattern, bound):
                failed.append(Failure("absent", position, pattern.kind, fact.id))
                break
    return tuple(failed)
