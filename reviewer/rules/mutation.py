"""Do the examples pin a rule down? Change the rule a little, run its examples, see who notices.

A mutant that passes all examples of its rule has survived: the examples would not notice if the
rule were wrong in that way.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from reviewer.engine.types import EngineError, Fact
from reviewer.engine.types import Rule as EngineRule
from reviewer.errors import Mark, Problem
from reviewer.facts.vocabulary import KINDS
from reviewer.rules.compile import compile_rule
from reviewer.rules.examples import CannotRun, FactsOf, Judge, engine_rules, facts_of
from reviewer.rules.language import Condition, FieldTest, Rule
from reviewer.rules.thresholds import Threshold, thresholds_of
from reviewer.rules.values import KNOWN, WHOLE, Comparison, Reference
from reviewer.units import DIMENSIONS

if TYPE_CHECKING:
    from reviewer.rules.ruleset import Ruleset

_TURNED = {"<": ">=", "<=": ">", ">": "<=", ">=": "<", "==": "!=", "!=": "=="}
_PAST = 1.001
"""A moved threshold passes the value that stands exactly one step away, but hardly more."""


@dataclass(frozen=True, slots=True)
class Mutant:
    """A changed rule."""

    rule: Rule
    what: str
    """What was changed, a phrase."""
    mark: Mark


@dataclass(frozen=True, slots=True)
class Survivor:
    rule: str
    what: str
    mark: Mark

    def as_problem(self) -> Problem:
        return Problem(
            f'no example of "{self.rule}" notices when {self.what}',
            self.mark,
            "an example that would fail then",
        )


@dataclass(frozen=True, slots=True)
class MutationReport:
    tried: int
    survivors: tuple[Survivor, ...]
    not_run: tuple[str, ...]
    """Rules without an example that can be run, or whose examples fail as they are."""

    @property
    def killed(self) -> int:
        return self.tried - len(self.survivors)


def mutate(
    ruleset: Ruleset, rules: Iterable[str] | None = None, review_facts: FactsOf | None = None
) -> MutationReport:
    """Try every mutant of these rules (None: of all) on the rule's own examples."""
    tried = 0
    survivors: list[Survivor] = []
    not_run: list[str] = []
    for rule_id in ruleset.rules if rules is None else rules:
        rule = ruleset.rule(rule_id)
        cases = _cases(rule, review_facts)
        own = {a.engine.name for a in ruleset.alternatives_of(rule_id)}
        chain = [r for r in engine_rules(ruleset, rule_id) if r.name not in own]
        try:
            if not cases or _noticed(rule, chain, cases):
                not_run.append(rule_id)
                continue
        except EngineError:
            not_run.append(rule_id)
            continue
        for mutant in mutants_of(rule):
            tried += 1
            try:
                if not _noticed(mutant.rule, chain, cases):
                    survivors.append(Survivor(rule_id, mutant.what, mutant.mark))
            except EngineError:
                # A change that no engine takes can't pass unnoticed.
                continue
    return MutationReport(tried, tuple(survivors), tuple(not_run))


def _cases(rule: Rule, review_facts: FactsOf | None) -> list[tuple[bool, Sequence[Fact]]]:
    cases: list[tuple[bool, Sequence[Fact]]] = []
    for example in rule.examples:
        try:
            cases.append((example.fires, facts_of(example, review_facts)))
        except CannotRun:
            continue
    return cases


def _noticed(rule: Rule, chain: Sequence[EngineRule], cases: Sequence[tuple[bool, Sequence[Fact]]]) -> bool:
    """Whether some example is no longer as it says."""
    engine = [a.engine for a in compile_rule(rule)]
    with Judge([*engine, *chain], rule.id) as judge:
        try:
            return any(judge.fires(facts) != fires for fires, facts in cases)
        except CannotRun:
            return True


def mutants_of(rule: Rule) -> Iterator[Mutant]:
    """Every mutant of a rule, in the order of the text.

    Thresholds moved a step to either side, comparisons turned round, words swapped, alternatives,
    tests and conditions left out.
    """
    for threshold in thresholds_of(rule):
        yield from _moved(rule, threshold)
    conditions = list(rule.conditions())
    used = _used_aliases(rule)
    for n, condition in enumerate(conditions):
        for t, test in enumerate(condition.tests):
            yield from _turned(rule, n, t, condition, test)
            if not (condition.kind == "concluded" and test.field == "name"):
                tests = condition.tests[:t] + condition.tests[t + 1 :]
                yield Mutant(
                    _with_condition(rule, n, replace(condition, tests=tests)),
                    f'the test "{test.field}: {test.text}" is left out',
                    test.mark,
                )
        if (condition.negated or condition.alias not in used) and len(conditions) > 1:
            yield Mutant(
                _without_condition(rule, n), f'the condition "{_head(condition)}" is left out', condition.mark
            )
    for b, branch in enumerate(rule.any):
        rest = rule.any[:b] + rule.any[b + 1 :]
        if rest:
            yield Mutant(
                replace(rule, any=rest),
                f"alternative {b + 1} of “any” is left out",
                branch[0].mark if branch else rule.mark,
            )


def _moved(rule: Rule, threshold: Threshold) -> Iterator[Mutant]:
    conditions = list(rule.conditions())
    condition = conditions[threshold.condition]
    test = condition.tests[threshold.test]
    comparison = test.alternatives[threshold.part][threshold.comparison]
    past = 1.0 if threshold.dimension in WHOLE else _PAST
    dimension = DIMENSIONS.get(threshold.dimension)
    for sign, word in ((-1, "lower"), (1, "higher")):
        value = threshold.value + sign * threshold.step * past
        if dimension is not None and not dimension.low <= value <= dimension.high:
            continue
        if threshold.dimension == "index" and value < 0:
            continue
        changed = _with_comparison(
            test, threshold.part, threshold.comparison, replace(comparison, operand=value)
        )
        yield Mutant(
            _with_test(rule, threshold.condition, threshold.test, changed),
            f'the limit of "{test.field}: {test.text}" is {_step_text(threshold)} {word}',
            test.mark,
        )


def _step_text(threshold: Threshold) -> str:
    from reviewer.units import show

    if threshold.dimension in WHOLE:
        return f"{threshold.step:g}"
    dimension = "temperature difference" if threshold.dimension == "temperature" else threshold.dimension
    return show(threshold.step, dimension, "ip" if dimension.startswith("permea") else "si")


def _turned(rule: Rule, n: int, t: int, condition: Condition, test: FieldTest) -> Iterator[Mutant]:
    field = KINDS[condition.kind].fields[test.field]
    named = condition.kind == "concluded" and test.field == "name"
    for p, part in enumerate(test.alternatives):
        if len(test.alternatives) > 1 and not named:
            rest = test.alternatives[:p] + test.alternatives[p + 1 :]
            yield Mutant(
                _with_test(rule, n, t, replace(test, alternatives=rest)),
                f'"{_written(part)}" is left out of "{test.field}: {test.text}"',
                test.mark,
            )
        for c, comparison in enumerate(part):
            if comparison.op == KNOWN or named:
                continue
            if (
                comparison.op == "!="
                and isinstance(comparison.operand, float)
                and field.dimension not in WHOLE
            ):
                continue
            changed = replace(comparison, op=_TURNED[comparison.op])
            what = f'"{_written((comparison,))}" of "{test.field}: {test.text}" is turned round'
            if field.words == ("yes", "no") and isinstance(comparison.operand, str):
                other = "no" if comparison.operand == "yes" else "yes"
                changed = replace(comparison, operand=other, text=other)
                what = f'"{test.field}: {test.text}" becomes {other}'
            yield Mutant(_with_test(rule, n, t, _with_comparison(test, p, c, changed)), what, test.mark)


def _written(part: Sequence[Comparison]) -> str:
    signs = {"==": "", "!=": "not "}
    return " and ".join(f"{signs.get(c.op, c.op + ' ')}{c.text}" if c.op != KNOWN else KNOWN for c in part)


def _head(condition: Condition) -> str:
    alias = f" {condition.alias}" if condition.alias not in ("", condition.kind) else ""
    return f"{'not ' if condition.negated else ''}{condition.kind}{alias}"


def _used_aliases(rule: Rule) -> set[str]:
    """Aliases that a reference, a template or the head needs."""
    used = {
        c.operand.alias
        for condition in rule.conditions()
        for test in condition.tests
        for part in test.alternatives
        for c in part
        if isinstance(c.operand, Reference)
    }
    if rule.conclusion:
        used |= {ref.alias for _, ref in rule.conclusion.fields}
    return used


def _with_comparison(test: FieldTest, p: int, c: int, comparison: Comparison) -> FieldTest:
    part = test.alternatives[p]
    changed = (*part[:c], comparison, *part[c + 1 :])
    return replace(test, alternatives=(*test.alternatives[:p], changed, *test.alternatives[p + 1 :]))


def _with_test(rule: Rule, n: int, t: int, test: FieldTest) -> Rule:
    condition = list(rule.conditions())[n]
    return _with_condition(
        rule, n, replace(condition, tests=(*condition.tests[:t], test, *condition.tests[t + 1 :]))
    )


def _with_condition(rule: Rule, n: int, condition: Condition) -> Rule:
    return _rebuilt(rule, {n: (condition,)})


def _without_condition(rule: Rule, n: int) -> Rule:
    return _rebuilt(rule, {n: ()})


def _rebuilt(rule: Rule, changed: dict[int, tuple[Condition, ...]]) -> Rule:
    """The rule with conditions, counted as `Rule.conditions` does, replaced."""
    number = 0

    def take(conditions: Sequence[Condition]) -> tuple[Condition, ...]:
        nonlocal number
        out: list[Condition] = []
        for condition in conditions:
            out += changed.get(number, (condition,))
            number += 1
        return tuple(out)

    applies = take((rule.applies,)) if rule.applies else ()
    when = take(rule.when)
    branches = tuple(take(branch) for branch in rule.any)
    return replace(rule, applies=applies[0] if applies else None, when=when, any=branches)
