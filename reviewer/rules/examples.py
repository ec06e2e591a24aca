"""Run the examples of rules: does each fire, or keep silent, as it says?

An example is judged by its own rule and the rules that conclude what it asks for, before other
rules may defeat it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from reviewer.engine import compile_program
from reviewer.engine.types import EngineError, Fact
from reviewer.engine.types import Rule as EngineRule
from reviewer.errors import InputError, Mark, Problem
from reviewer.rules.language import Example, Rule

if TYPE_CHECKING:
    from reviewer.rules.ruleset import Ruleset

FactsOf = Callable[[Mapping[str, Any]], Sequence[Fact]]
"""What the review makes of an example's section: the keys of a section file to facts.

May raise InputError for a section that can't be used.
"""


@dataclass(frozen=True, slots=True)
class ExampleResult:
    rule: str
    example: Example
    fired: bool | None
    """None: it could not be run."""
    problem: str = ""
    """Why it could not be run."""

    @property
    def ok(self) -> bool:
        return self.fired == self.example.fires

    @property
    def mark(self) -> Mark:
        return self.example.mark

    def as_problem(self) -> Problem | None:
        """What is wrong with a failing example; None when it is as it says."""
        if self.ok:
            return None
        if self.fired is None:
            return Problem(f'the example "{self.example.name}" could not be run: {self.problem}', self.mark)
        if self.fired:
            return Problem(
                f'"{self.rule}" fires on the example "{self.example.name}"',
                self.mark,
                "the rule to be silent",
            )
        return Problem(
            f'"{self.rule}" is silent on the example "{self.example.name}"', self.mark, "the rule to fire"
        )


def run_examples(
    ruleset: Ruleset, rules: Iterable[str] | None = None, review_facts: FactsOf | None = None
) -> list[ExampleResult]:
    """Run the examples of these rules (None: of all).

    Examples that give a section need `review_facts`; without it they are not run.
    """
    results: list[ExampleResult] = []
    for rule_id in ruleset.rules if rules is None else rules:
        rule = ruleset.rule(rule_id)
        if not rule.examples:
            continue
        with Judge(engine_rules(ruleset, rule_id), rule_id) as judge:
            for example in rule.examples:
                results.append(_run(rule, example, judge, review_facts))
    return results


def _run(rule: Rule, example: Example, judge: Judge, review_facts: FactsOf | None) -> ExampleResult:
    try:
        facts = facts_of(example, review_facts)
        return ExampleResult(rule.id, example, judge.fires(facts))
    except CannotRun as error:
        return ExampleResult(rule.id, example, None, str(error))


class CannotRun(Exception):
    """An example that can't be run, and why."""


def facts_of(example: Example, review_facts: FactsOf | None) -> Sequence[Fact]:
    """The facts of an example.

    Raises CannotRun.
    """
    if example.facts is not None:
        return example.facts
    if review_facts is None or example.section is None:
        raise CannotRun("it gives a section, and there is nothing here that reads sections")
    try:
        return review_facts(example.section)
    except InputError as error:
        first = error.problems[0]
        raise CannotRun(first.message + (f", expected {first.expected}" if first.expected else "")) from None


def engine_rules(ruleset: Ruleset, rule_id: str) -> list[EngineRule]:
    """The engine rules of one rule and of all that conclude what it asks for."""
    return [a.engine for r in ruleset.closure([rule_id]) for a in ruleset.alternatives_of(r)]


class Judge:
    """Tells whether one rule fires on some facts.

    Raises EngineError for rules that no engine takes.
    """

    def __init__(self, rules: Sequence[EngineRule], rule_id: str):
        # A handful of rules run once or twice: the engine without a set-up cost. Both engines give
        # the same outcome.
        self._program = compile_program(rules, engine="fixpoint")
        self._prefix = f"{rule_id}#"

    def fires(self, facts: Sequence[Fact]) -> bool:
        try:
            outcome = self._program.run(facts)
        except EngineError as error:
            raise CannotRun(str(error)) from None
        return any(d.rule.startswith(self._prefix) for ds in outcome.proofs.values() for d in ds)

    def __enter__(self) -> Judge:
        return self

    def __exit__(self, *_: object) -> None:
        self._program.close()
