"""Rules to engine rules: one for each alternative, named `id#n`."""

from __future__ import annotations

import itertools
import math
from collections.abc import Hashable, Iterable, Iterator
from typing import TypeVar

from reviewer.engine.types import Head, Join, Pattern, Test, Value
from reviewer.engine.types import Rule as EngineRule
from reviewer.facts.vocabulary import KINDS
from reviewer.rules.language import SINGLE, Alternative, Condition, FieldTest, Rule
from reviewer.rules.values import KNOWN, TEXTUAL, WHOLE, Comparison, Reference

FINDING = "finding"
"""Kind of the fact that a rule with a finding concludes; its name is the rule's id."""
CONCLUDED = "concluded"

T = TypeVar("T", bound=Hashable)

ROUNDING = 1e-9
"""Relative: values that differ by less are equal. A value converted from another unit, or summed in
another order, must not pass or fail a limit by its last digits."""

MOST_OTHERS = 8
"""Up to how many other words "one of these words" is compiled to "none of the others"."""

_FLIPPED = {"==": "==", "!=": "!=", "<": ">", "<=": ">=", ">": "<", ">=": "<="}
LOWEST = -1e300
"""Every number is at least this: the test of a number that need only be known."""


def compile_rule(rule: Rule) -> tuple[Alternative, ...]:
    """The engine rules of one rule: the product of `any` and of every `or` (of quantities and texts).

    In a negated condition `or` makes no alternatives: none of the facts may be there.
    """
    order = {id(c): n for n, c in enumerate(rule.conditions())}
    out: list[Alternative] = []
    for branch in rule.branches():
        positive = [c for c in branch if not c.negated]
        absent = [(c, terms) for c in branch if c.negated for terms in _choices(c)]
        for chosen in itertools.product(*(_choices(c) for c in positive)):
            present = list(zip(positive, chosen, strict=True))
            out.append(_alternative(rule, len(out) + 1, present, absent, order))
    return tuple(out)


def count_alternatives(rule: Rule) -> int:
    """How many engine rules `compile_rule` makes."""
    return sum(math.prod(len(_choices(c)) for c in branch if not c.negated) for branch in rule.branches())


def branch_of(rule: Rule, number: int) -> tuple[Condition, ...]:
    """The condition list that the rule's alternative of this number (from 1) was made from."""
    for branch in rule.branches():
        number -= math.prod(len(_choices(c)) for c in branch if not c.negated)
        if number <= 0:
            return branch
    raise IndexError("the rule has fewer alternatives")


Term = tuple[str, str, Value | Reference]
"""Field, engine operator, operand."""


def _choices(condition: Condition) -> list[tuple[Term, ...]]:
    """The ways to fulfil a condition: for each, the terms that must hold."""
    per_test = [_ways(condition.kind, test) for test in condition.tests]
    return [tuple(term for terms in chosen for term in terms) for chosen in itertools.product(*per_test)]


def _ways(kind: str, test: FieldTest) -> list[tuple[Term, ...]]:
    """The ways to pass one test."""
    field = KINDS[kind].fields[test.field]
    chosen = [part[0].operand for part in test.alternatives if len(part) == 1 and part[0].op == "=="]
    if 1 < len(chosen) == len(test.alternatives) and field.words and set(chosen) <= set(field.words):
        # One of some words is none of the others, and costs no alternatives: a field that is known
        # holds one of its words.
        others = [word for word in field.words if word not in chosen]
        if not others:
            return _terms(kind, test.field, Comparison(KNOWN, "", ""))
        if len(others) <= MOST_OTHERS:
            return [tuple((test.field, "!=", word) for word in others)]
    return [
        tuple(term for terms in picked for term in terms)
        for part in test.alternatives
        for picked in itertools.product(*(_terms(kind, test.field, c) for c in part))
    ]


def _terms(kind: str, field: str, c: Comparison) -> list[tuple[Term, ...]]:
    """A comparison as engine terms; a list of alternatives, of which `!=` on quantities has two."""
    dimension = KINDS[kind].fields[field].dimension
    if c.op == KNOWN:
        return [((field, "!=", ""),)] if dimension in TEXTUAL else [((field, ">=", LOWEST),)]
    if isinstance(c.operand, (Reference, str)) or dimension in WHOLE:
        return [((field, c.op, c.operand),)]
    slack = ROUNDING * abs(c.operand)
    low, high = c.operand - slack, c.operand + slack
    match c.op:
        case "==":
            return [((field, ">=", low), (field, "<=", high))]
        case "!=":
            return [((field, "<", low),), ((field, ">", high),)]
        case "<":
            return [((field, "<", low),)]
        case "<=":
            return [((field, "<=", high),)]
        case ">":
            return [((field, ">", high),)]
        case _:
            return [((field, ">=", low),)]


Chosen = tuple[Condition, tuple[Term, ...]]
"""A condition and the terms that must hold for it."""


def _alternative(
    rule: Rule, number: int, present: list[Chosen], absent: list[Chosen], order: dict[int, int]
) -> Alternative:
    positive: list[tuple[str, str, list[Term], int]] = []
    place: dict[str, int] = {}
    referred = _referred(rule, [terms for _, terms in (*present, *absent)])
    # All conditions on a kind of which there is one fact are one pattern, before the others.
    for kind in SINGLE:
        here = [(c, terms) for c, terms in present if c.kind == kind]
        if here or kind in referred:
            place[kind] = len(positive)
            together = [term for _, terms in here for term in terms]
            positive.append((kind, kind, together, order[id(here[0][0])] if here else -1))
    for condition, terms in present:
        if condition.kind not in SINGLE:
            if condition.alias:
                place[condition.alias] = len(positive)
            positive.append((condition.kind, condition.alias, list(terms), order[id(condition)]))
    if not positive:
        positive.append(("section", "section", [], -1))
        place["section"] = 0

    tests: list[list[Test]] = [[] for _ in positive]
    joins: list[list[Join]] = [[] for _ in positive]
    for at, (_, _, terms, _) in enumerate(positive):
        for field, op, operand in terms:
            if isinstance(operand, Reference):
                other = place[operand.alias]
                if other < at:
                    joins[at].append(Join(field, op, other, operand.field))
                else:
                    # The engines bind patterns in order: a join stands on the later of its two.
                    joins[other].append(Join(operand.field, _FLIPPED[op], at, field))
            else:
                tests[at].append(Test(field, op, operand))
    for reference in _copied(rule):
        at = place[reference.alias]
        tests[at] += _known(positive[at][0], reference.field)
    patterns = tuple(
        Pattern(kind, _unique(tests[at]), _unique(joins[at])) for at, (kind, _, _, _) in enumerate(positive)
    )
    absent_patterns = tuple(
        Pattern(
            condition.kind,
            _unique(Test(f, op, v) for f, op, v in terms if not isinstance(v, Reference)),
            _unique(Join(f, op, place[v.alias], v.field) for f, op, v in terms if isinstance(v, Reference)),
        )
        for condition, terms in absent
    )
    engine = EngineRule(f"{rule.id}#{number}", patterns, _head(rule, place), absent_patterns)
    return Alternative(
        rule.id,
        number,
        engine,
        tuple(alias for _, alias, _, _ in positive),
        (*(n for _, _, _, n in positive), *(order[id(c)] for c, _ in absent)),
    )


def _referred(rule: Rule, chosen: Iterable[Iterable[Term]]) -> set[str]:
    named = {v.alias for terms in chosen for _, _, v in terms if isinstance(v, Reference)}
    return named | {r.alias for r in _copied(rule)}


def _copied(rule: Rule) -> Iterator[Reference]:
    """Fields that the conclusion copies: they must be known."""
    if rule.conclusion:
        yield from (reference for _, reference in rule.conclusion.fields)


def _known(kind: str, field: str) -> list[Test]:
    terms = _terms(kind, field, Comparison(KNOWN, "", ""))[0]
    return [Test(f, op, v) for f, op, v in terms if not isinstance(v, Reference)]


def _head(rule: Rule, place: dict[str, int]) -> Head:
    if rule.conclusion is None:
        return Head(FINDING, rule.id)
    copied = tuple((name, (place[ref.alias], ref.field)) for name, ref in rule.conclusion.fields)
    return Head(CONCLUDED, rule.conclusion.fact, copied)


def _unique(items: Iterable[T]) -> tuple[T, ...]:
    return tuple(dict.fromkeys(items))
