"""What a rule and a fact may look like: every guard in one place, with one clear sentence each.

Both engines refuse the same things, so that a rulebook which loads with one loads with the other.
The figures are the bounds within which `durable_rules` 2.0.28 was measured to be right, with room
to spare; the bounds that depend on how a rulebook is laid out for it are kept by the layout itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from math import isfinite

from reviewer.engine.types import OPERATORS, EngineError, Fact, Head, Join, Pattern, Rule, Test, Value

MAX_RULES = 4095
"""The C module holds 4,096, one of which the driver needs."""
MAX_CONDITIONS = 12
"""Positive and absent patterns of one rule."""
MAX_JOINS = 20
"""Joins of one pattern."""
MAX_JOINED_FIELDS = 180
"""Different fields that the joins of one rule's positive patterns read."""
MAX_FIELDS = 255
"""Fields of one fact."""
MAX_WORD_BYTES = 4096
MAX_FIRINGS = 20_000
"""Firings of one run, unless the caller says otherwise."""
MAX_COMBINATIONS = 250_000
"""Combinations of facts that one rule may have to try in one run. A good rule has some hundreds for
a section of a hundred layers; without the limit, ten conditions that ask for nothing would run for
years and fill the memory."""

ABSENT = "absent"
"""The kind of the facts that stand for an absence; no rule and no given fact may use it."""

_ORDER = ("<", "<=", ">", ">=")
_EXACT = 2**53


def check_rules(rules: Sequence[Rule]) -> None:
    """Refuse a malformed rulebook with an `EngineError` that names the rule and what is wrong."""
    if len(rules) > MAX_RULES:
        raise EngineError(f"{len(rules)} rules: at most {MAX_RULES} go into one program")
    names: set[str] = set()
    for rule in rules:
        _check_word(rule.name, "the name of a rule")
        if rule.name in names:
            raise EngineError(f"two rules are named {rule.name!r}")
        names.add(rule.name)
        try:
            _check_rule(rule)
        except EngineError as error:
            raise EngineError(f"rule {rule.name!r}: {error}") from None


def check_value(value: object, what: str) -> Value:
    """The value as the engines hold it, a finite float or a word; an `EngineError` otherwise.

    >>> check_value(3, "field `r_value`")
    3.0
    >>> check_value(float("nan"), "field `r_value`")
    Traceback (most recent call last):
        ...
    reviewer.engine.types.EngineError: field `r_value` is nan: only finite numbers can be compared
    """
    if isinstance(value, str):
        if len(value) * 4 > MAX_WORD_BYTES and len(value.encode("utf-8", "replace")) > MAX_WORD_BYTES:
            raise EngineError(f"{what} is a word of {len(value)} characters: at most {MAX_WORD_BYTES} bytes")
        return str(value)
    if isinstance(value, bool) or not isinstance(value, int | float):
        hint = {"bool": ': write "yes" or "no"', "NoneType": ": leave an unknown field out"}
        kind = type(value).__name__
        raise EngineError(
            f"{what} is of type {kind}, neither a number nor a word{hint.get(kind.rstrip('_'), '')}"
        )
    if isinstance(value, int) and abs(value) > _EXACT:
        raise EngineError(f"{what} is {value}: a whole number beyond 2^53 can't be held exactly")
    number = float(value)
    if not isfinite(number):
        raise EngineError(f"{what} is {number}: only finite numbers can be compared")
    return number


def check_facts(
    facts: Iterable[Fact], numbers: Mapping[str, Set[str]]
) -> list[tuple[str, str, Mapping[str, Value]]]:
    """(id, kind, fields) of every given fact, numbers as floats; an `EngineError` for a malformed one.

    `numbers` are the fields, by kind, that some rule compares by order: a word there is refused
    rather than silently never matched.
    """
    seen: set[str] = set()
    cleaned: list[tuple[str, str, Mapping[str, Value]]] = []
    nothing: Set[str] = frozenset()
    for fact in facts:
        if not isinstance(fact, Fact):
            raise EngineError(f"a fact is of type {type(fact).__name__}")
        ident, kind, fields = fact.id, fact.kind, fact.fields
        _check_word(ident, "the id of a fact")
        if ident in seen:
            raise EngineError(f"two facts have the id {ident!r}")
        seen.add(ident)
        _check_word(kind, f"the kind of fact {ident!r}")
        if kind == ABSENT or ident.startswith(f"{ABSENT}:"):
            raise EngineError(
                f"fact {ident!r}: {ABSENT!r} is what the engine calls an absence, choose another"
            )
        if len(fields) > MAX_FIELDS:
            raise EngineError(f"fact {ident!r} has {len(fields)} fields: at most {MAX_FIELDS}")
        numeric = numbers.get(kind, nothing)
        converted: dict[str, Value] | None = None
        for name, value in fields.items():
            # The two exact types are nearly every field of every fact; the rest goes the long way.
            # (`value - value` is 0 for a finite number and NaN for the others.)
            if type(value) is float and value - value == 0.0:
                continue
            if type(value) is not str or len(value) * 4 > MAX_WORD_BYTES:
                if not isinstance(name, str):
                    raise EngineError(f"fact {ident!r}: a field is named {name!r}, which is not a word")
                converted = dict(fields) if converted is None else converted
                converted[name] = value = check_value(value, f"fact {ident!r}: field `{name}`")
            if name in numeric and isinstance(value, str):
                raise EngineError(
                    f"fact {ident!r}: field `{name}` is the word {value[:40]!r}, but a rule compares it as a number"
                )
        cleaned.append((ident, kind, fields if converted is None else converted))
    return cleaned


def _check_rule(rule: Rule) -> None:
    count = len(rule.patterns) + len(rule.absent)
    if not rule.patterns:
        raise EngineError("it has no positive pattern")
    if count > MAX_CONDITIONS:
        raise EngineError(f"it has {count} conditions: at most {MAX_CONDITIONS}")
    for position, pattern in enumerate(rule.patterns):
        _check_pattern(pattern, f"pattern {position + 1}", position)
    for n, pattern in enumerate(rule.absent):
        where = f"absent pattern {n + 1}"
        _check_pattern(pattern, where, len(rule.patterns))
        if len({join.other for join in pattern.joins}) > 1:
            raise EngineError(f"{where} refers to more than one pattern")
    joined = {name for p in rule.patterns for j in p.joins for name in (j.field, j.other_field)}
    if len(joined) > MAX_JOINED_FIELDS:
        raise EngineError(f"its joins read {len(joined)} different fields: at most {MAX_JOINED_FIELDS}")
    _check_head(rule.head, len(rule.patterns))


def _check_pattern(pattern: Pattern, where: str, earlier: int) -> None:
    if not isinstance(pattern, Pattern):
        raise EngineError(f"{where} is of type {type(pattern).__name__}")
    _check_word(pattern.kind, f"the kind of {where}")
    if pattern.kind == ABSENT:
        raise EngineError(f"{where} is of kind {ABSENT!r}, which is what the engine calls an absence")
    if len(pattern.joins) > MAX_JOINS:
        raise EngineError(f"{where} has {len(pattern.joins)} joins: at most {MAX_JOINS}")
    for test in pattern.tests:
        if not isinstance(test, Test):
            raise EngineError(f"{where}: a test is of type {type(test).__name__}")
        _check_comparison(test.field, test.op, where)
        value = check_value(test.value, f"{where}: the value of the test on `{test.field}`")
        if test.op in _ORDER and isinstance(value, str):
            raise EngineError(
                f"{where}: `{test.field} {test.op} {value!r}` orders words; only numbers have an order"
            )
    for join in pattern.joins:
        if not isinstance(join, Join):
            raise EngineError(f"{where}: a join is of type {type(join).__name__}")
        _check_comparison(join.field, join.op, where)
        _check_word(join.other_field, f"{where}: the other field of a join")
        if type(join.other) is not int or not 0 <= join.other < earlier:
            raise EngineError(
                f"{where}: the join on `{join.field}` refers to {join.other!r}, not to an earlier pattern"
            )


def _check_comparison(field: object, op: object, where: str) -> None:
    _check_word(field, f"{where}: the field of a comparison")
    if op not in OPERATORS:
        raise EngineError(
            f"{where}: unknown comparison {op!r} on `{field}`, expected one of {' '.join(OPERATORS)}"
        )


def _check_head(head: Head, patterns: int) -> None:
    if not isinstance(head, Head):
        raise EngineError(f"the head is of type {type(head).__name__}")
    _check_word(head.kind, "the kind of the concluded fact")
    _check_word(head.name, "the name of the concluded fact")
    if head.kind == ABSENT:
        raise EngineError(
            f"it concludes a fact of kind {ABSENT!r}, which is what the engine calls an absence"
        )
    if len(head.fields) >= MAX_FIELDS:
        raise EngineError(f"it concludes a fact with {len(head.fields) + 1} fields: at most {MAX_FIELDS}")
    names = {"name"}
    for name, value in head.fields:
        _check_word(name, "a field of the concluded fact")
        if name in names:
            raise EngineError(f"the concluded fact has two fields `{name}`")
        names.add(name)
        if not isinstance(value, tuple):
            check_value(value, f"field `{name}` of the concluded fact")
            continue
        if len(value) != 2 or type(value[0]) is not int or not 0 <= value[0] < patterns:
            raise EngineError(
                f"field `{name}` of the concluded fact refers to {value!r}, not to a pattern's field"
            )
        _check_word(value[1], f"field `{name}` of the concluded fact: the field it copies")


def _check_word(value: object, what: str) -> None:
    if not isinstance(value, str):
        raise EngineError(f"{what} is of type {type(value).__name__}, not a word")
    if not value:
        raise EngineError(f"{what} is empty")
    check_value(value, what)
