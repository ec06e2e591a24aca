"""Facts on which a rule fires, and facts on which it is just silent: made from its conditions.

Every value that a rule compares with stands in a small set of candidates, with its neighbors just
on either side; facts are put together from these until all conditions hold, then each value is moved
to the other side of what is asked of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from reviewer.engine.matching import compare
from reviewer.engine.types import EngineError, Fact, Value
from reviewer.facts.vocabulary import KINDS, Field
from reviewer.rules.compile import compile_rule
from reviewer.rules.examples import CannotRun, Judge, engine_rules
from reviewer.rules.language import SINGLE, Condition, FieldTest, Rule
from reviewer.rules.template import show_value
from reviewer.rules.values import KNOWN, WHOLE, Comparison, Reference, read_constant
from reviewer.units import DIMENSIONS, UnitError

if TYPE_CHECKING:
    from reviewer.rules.ruleset import Ruleset

MOST_TRIED = 20_000
"""Combinations of values that are tried for one alternative."""
PLACES = ("2", "4", "6", "1", "3", "5", "7", "0")
"""Places of layers that are tried: with room between them first."""

_NUMBER = re.compile(r"(?<![A-Za-z\d])[-+]?(?:\d+\s+\d+/\d+|\d+/\d+|\d+(?:\.\d+)?)|(?<=-)\d+(?:\.\d+)?")
_ADDED = {"temperature": 0.5, "relative humidity": 1.0, "fraction": 1.0, "wood moisture": 0.5}
"""By how much the number of a neighbor differs, where its ratio means nothing."""
_SHARE = Fraction(1, 20)

Name = tuple[int, str]
"""Slot and field. A slot is the fact that a condition matches; single facts have one for all."""
Values = Mapping[Name, str]


@dataclass(frozen=True, slots=True)
class Case:
    """An example to be: facts as a ruleset file writes them."""

    name: str
    fires: bool
    facts: tuple[tuple[str, Mapping[str, str]], ...]


def cases_for(rule: Rule, ruleset: Ruleset) -> list[Case]:
    """Cases for each condition list of a rule; empty when no facts were found on which it fires."""
    found: dict[tuple[object, ...], Case] = {}
    try:
        chain = (
            []
            if rule.id in ruleset.rules
            else [
                r
                for name in _asked(rule)
                for c in ruleset.concluded_by(name)
                for r in engine_rules(ruleset, c)
            ]
        )
        with Judge([*(a.engine for a in compile_rule(rule)), *dict.fromkeys(chain)], rule.id) as judge:
            for branch in rule.branches():
                for case in _Branch(branch).cases():
                    key = tuple((kind, tuple(fields.items())) for kind, fields in case.facts)
                    try:
                        fires = judge.fires(_facts(case))
                    except (CannotRun, UnitError):
                        continue
                    found.setdefault(key, replace(case, fires=fires))
    except EngineError:
        return []
    names: dict[str, int] = {}
    out: list[Case] = []
    for case in found.values():
        names[case.name] = names.get(case.name, 0) + 1
        out.append(replace(case, name=f"{case.name} ({names[case.name]})") if names[case.name] > 1 else case)
    return out if any(c.fires for c in out) else []


def _asked(rule: Rule) -> list[str]:
    return list(
        dict.fromkeys(
            str(c.operand)
            for condition in rule.conditions()
            if condition.kind == "concluded"
            for test in condition.tests
            if test.field == "name"
            for part in test.alternatives
            for c in part
        )
    )


def _facts(case: Case) -> list[Fact]:
    facts: dict[str, Fact] = {kind: Fact(kind, kind, {}) for kind in SINGLE}
    for n, (kind, fields) in enumerate(case.facts):
        values = {name: read_constant(text, KINDS[kind].fields[name]) for name, text in fields.items()}
        fact_id = kind if kind in SINGLE else f"{kind}:{n}"
        facts[fact_id] = Fact(fact_id, kind, values)
    return list(facts.values())


class _Branch:
    """One condition list as a small search over values."""

    def __init__(self, branch: Sequence[Condition]):
        self.positive = [c for c in branch if not c.negated]
        self.negated = [c for c in branch if c.negated]
        self.kinds: list[str] = []
        self.slot_of: dict[str, int] = {}
        """Alias, or kind of a single fact, to slot."""
        self.tests: list[tuple[int, FieldTest]] = []
        for condition in self.positive:
            self._tests(condition, self._slot(condition))

    def _slot(self, condition: Condition) -> int:
        if condition.kind in SINGLE and condition.kind in self.slot_of:
            return self.slot_of[condition.kind]
        self.kinds.append(condition.kind)
        slot = len(self.kinds) - 1
        if condition.kind in SINGLE:
            self.slot_of[condition.kind] = slot
        if condition.alias:
            self.slot_of[condition.alias] = slot
        return slot

    def _tests(self, condition: Condition, slot: int) -> None:
        for test in condition.tests:
            self.tests.append((slot, test))
            for c in _comparisons(test):
                if isinstance(c.operand, Reference) and c.operand.alias not in self.slot_of:
                    # A single fact that only a reference names.
                    self.kinds.append(c.operand.alias)
                    self.slot_of[c.operand.alias] = len(self.kinds) - 1

    def cases(self) -> Iterator[Case]:
        base = self._solve({}, self.tests)
        if base is None:
            return
        yield self._case("all just as it takes", base)
        for slot, test in self.tests:
            yield from self._beside(base, slot, test)
        yield from self._absences(base)
        yield self._case(
            "with another layer beside", base, [("layer", {"index": "40", "name": "gypsum board"})]
        )
        yield Case("nothing known", False, (("section", {}),))

    def _beside(self, base: Values, slot: int, test: FieldTest) -> Iterator[Case]:
        """One value moved: to what else it may be, and to what it may not be."""
        name = (slot, test.field)
        field = self._field(name)
        domain = self._domains(self.tests)[name]
        if any(c.op == KNOWN for c in _comparisons(test)):
            without = {n: text for n, text in base.items() if n != name}
            yield self._case(f"{self._label(slot)}: {field.meaning} not known", without)
        for comparison in _comparisons(test):
            held = failed = False
            for text in _nearest_first(domain, comparison, field, base[name]):
                if text == base[name] or (held and failed):
                    continue
                changed = {**base, name: text}
                holds = self._holds(test, slot, changed)
                if (holds and held) or (not holds and failed) or not self._distinct(changed):
                    continue
                held, failed = held or holds, failed or not holds
                shown = f"{self._label(slot)}: {field.meaning} {_shown(text, field)}"
                yield self._case(shown, changed)

    def _absences(self, base: Values) -> Iterator[Case]:
        """A fact that must not be there is there; and one that only nearly is what must not be."""
        for condition in self.negated:
            known = self.slot_of.get(condition.kind) if condition.kind in SINGLE else None
            slot = len(self.kinds) if known is None else known
            tests = [(slot, test) for test in condition.tests]
            if known is None:
                self.kinds.append(condition.kind)
            # A single fact is there already: what is asked against it is asked of its other values too.
            asked = {
                name for name in base if name[0] == slot and name[1] in {t.field for t in condition.tests}
            }
            fixed = {name: text for name, text in base.items() if name not in asked}
            standing = self._solve(fixed, [*(self.tests if asked else ()), *tests], slot)
            if standing is None:
                # No room for it among the values at hand: others, then.
                standing = self._solve({}, [*self.tests, *tests])
            if standing is not None:
                yield self._case(f"there is {_a(condition)}", standing)
                for _, test in tests:
                    yield from self._nearly(condition, standing, slot, test)
            if known is None:
                self.kinds.pop()

    def _nearly(self, condition: Condition, standing: Values, slot: int, test: FieldTest) -> Iterator[Case]:
        name = (slot, test.field)
        field = self._field(name)
        failed = False
        words = {c.text for c in _comparisons(test)}
        for text in self._domains([(slot, test)])[name]:
            changed = {**standing, name: text}
            holds = self._holds(test, slot, changed)
            if text == standing[name] or not self._distinct(changed) or (failed and not holds):
                continue
            # Each word that must not be, and one value that may.
            if not holds or text in words:
                yield self._case(f"{_a(condition)}: {field.meaning} {_shown(text, field)}", changed)
            failed = failed or not holds

    # The search

    def _solve(
        self, fixed: Values, tests: Sequence[tuple[int, FieldTest]], extra: int | None = None
    ) -> dict[Name, str] | None:
        """Values that pass all tests, beside those that are fixed."""
        domains = self._domains(tests)
        for slot in range(len(self.kinds)) if extra is None else [extra]:
            if self.kinds[slot] == "layer":
                domains.setdefault((slot, "index"), list(PLACES))
        # A reference is to an earlier fact: its value is chosen first.
        names = sorted((n for n in domains if n not in fixed), key=lambda name: name[0])
        values = dict(fixed)
        tried = 0

        def fill(position: int) -> bool:
            nonlocal tried
            if position == len(names):
                return True
            name = names[position]
            for text in domains[name]:
                tried += 1
                if tried > MOST_TRIED:
                    return False
                values[name] = text
                fits = all(self._holds(t, s, values, partly=True) for s, t in tests)
                if fits and self._distinct(values) and fill(position + 1):
                    return True
                del values[name]
            return False

        return values if fill(0) else None

    def _domains(self, tests: Sequence[tuple[int, FieldTest]]) -> dict[Name, list[str]]:
        """For each value that the tests speak of, the texts to try."""
        pools: dict[str, dict[str, None]] = {}
        own: dict[Name, dict[str, None]] = {}
        linked: set[Name] = set()
        for slot, test in tests:
            name = (slot, test.field)
            field = self._field(name)
            mine = own.setdefault(name, {})
            for c in _comparisons(test):
                if isinstance(c.operand, Reference):
                    other = (self.slot_of[c.operand.alias], c.operand.field)
                    own.setdefault(other, {})
                    linked |= {name, other}
                elif c.op != KNOWN:
                    mine.update(dict.fromkeys(_around(c.text, field)))
            pools.setdefault(field.dimension, {}).update(mine)
        out: dict[Name, list[str]] = {}
        for name, mine in own.items():
            field = self._field(name)
            texts: dict[str, None] = dict(mine)
            if name in linked:
                texts.update(pools.get(field.dimension, {}))
            if field.words:
                texts.update(dict.fromkeys(field.words))
            elif field.dimension == "index":
                texts = dict.fromkeys(PLACES)
            elif field.dimension == "text":
                texts["something else"] = None
            if not texts or (name in linked and len(texts) < 2):
                texts.update(dict.fromkeys(_any(field)))
            out[name] = list(texts)
        return out

    def _field(self, name: Name) -> Field:
        return KINDS[self.kinds[name[0]]].fields[name[1]]

    def _holds(self, test: FieldTest, slot: int, values: Values, partly: bool = False) -> bool:
        """Whether a test passes; with `partly`, one whose values are not all there yet does."""
        text = values.get((slot, test.field))
        if text is None:
            return partly
        value = read_constant(text, self._field((slot, test.field)))
        return any(all(self._passes(c, value, values, partly) for c in part) for part in test.alternatives)

    def _passes(self, c: Comparison, value: Value, values: Values, partly: bool) -> bool:
        if c.op == KNOWN:
            return True
        if isinstance(c.operand, Reference):
            name = (self.slot_of[c.operand.alias], c.operand.field)
            text = values.get(name)
            if text is None:
                return partly
            return compare(c.op, value, read_constant(text, self._field(name)))
        return compare(c.op, value, c.operand)

    def _distinct(self, values: Values) -> bool:
        """No two layers in one place."""
        places = [
            t for (slot, field), t in values.items() if field == "index" and self.kinds[slot] == "layer"
        ]
        return len(places) == len(set(places))

    # Words

    def _case(self, name: str, values: Values, more: Iterable[tuple[str, Mapping[str, str]]] = ()) -> Case:
        facts: list[tuple[str, Mapping[str, str]]] = []
        for slot, kind in enumerate(self.kinds):
            fields = {field: text for (s, field), text in values.items() if s == slot}
            if fields or kind not in SINGLE:
                facts.append((kind, fields))
        facts += more
        return Case(name, True, tuple(facts) or (("section", {}),))

    def _label(self, slot: int) -> str:
        alias = next((a for a, s in self.slot_of.items() if s == slot and a not in SINGLE), "")
        return alias or self.kinds[slot]


def _comparisons(test: FieldTest) -> Iterator[Comparison]:
    for part in test.alternatives:
        yield from part


def _a(condition: Condition) -> str:
    return (
        f"{'an' if condition.kind[0] in 'aeiou' else 'a'} {condition.kind.replace('_', ' ')} that must not be"
    )


def _shown(text: str, field: Field) -> str:
    return show_value(float(text), "index", "si") if field.dimension == "index" else text


def _any(field: Field) -> list[str]:
    """Some values of a dimension."""
    if field.dimension == "count":
        return ["2", "1", "3"]
    dimension = DIMENSIONS.get(field.dimension)
    examples = re.findall(r'"([^"]+)"', dimension.example) if dimension else []
    return _around(examples[0], field) if examples else ["1", "2"]


def _around(text: str, field: Field) -> list[str]:
    """A constant and its neighbors, as far as they are values of the field.

    >>> _around("1 perm", Field("permeance", "permeance"))
    ['1 perm', '0.95 perm', '1.05 perm']
    >>> _around("R-7.5", Field("thermal resistance", "resistance"))
    ['R-7.5', 'R-7.125', 'R-7.875']
    >>> _around("1/2 in", Field("length", "thickness"))
    ['1/2 in', '0.475 in', '0.525 in']
    """
    texts = [text]
    m = _NUMBER.search(text)
    if m is not None and field.dimension not in ("word", "text"):
        whole, _, fraction = m[0].strip().rpartition(" ")
        number = Fraction(fraction) + (Fraction(whole) if whole else 0)
        step = Fraction(str(_ADDED.get(field.dimension, 0))) or abs(number) * _SHARE or Fraction(1, 100)
        if field.dimension in WHOLE:
            step = Fraction(1)
        if field.dimension in ("relative humidity", "fraction") and "%" not in text:
            step /= 100
        for sign in (-1, 1):
            moved = f"{float(number + sign * step):.6g}"
            texts.append(text[: m.start()] + moved + text[m.end() :])
    out: list[str] = []
    for candidate in texts:
        try:
            read_constant(candidate, field)
        except UnitError:
            continue
        out.append(candidate)
    return out


def _nearest_first(domain: Sequence[str], c: Comparison, field: Field, now: str) -> list[str]:
    """Candidates, those beside the constant (or, for a reference, beside the present value) first."""
    if field.dimension in ("word", "text"):
        named = [c.text] if not isinstance(c.operand, Reference) and c.text in domain else []
        return [*named, *(t for t in domain if t not in named)]
    at = read_constant(now, field) if isinstance(c.operand, (Reference, str)) else c.operand
    assert isinstance(at, float)
    center = at

    def away(text: str) -> float:
        value = read_constant(text, field)
        return abs(value - center) if isinstance(value, float) else 0.0

    return sorted(domain, key=away)
