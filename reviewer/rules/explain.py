"""Why a finding stands, and how far a rule was from firing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reviewer.engine.matching import Failure, near_misses
from reviewer.engine.types import Derivation, Fact, Outcome, Value
from reviewer.facts.vocabulary import KINDS, Field
from reviewer.result import Evidence, Step
from reviewer.rules.compile import CONCLUDED
from reviewer.rules.evaluate import fact_label
from reviewer.rules.findings import RawFinding, layer_names
from reviewer.rules.language import Alternative, Condition, Rule
from reviewer.rules.ruleset import Ruleset
from reviewer.rules.template import render, show_value
from reviewer.rules.words import OPERATORS_IN_WORDS, condition_in_words

EvidenceOf = Callable[[str, str], Evidence | None]
"""A fact's id and a field to the value with its origin; None where the fact lacks the field."""

FIRINGS_SHOWN = 8
"""Firings of one finding that a proof holds; the others differ in the facts only."""


def proof_of(
    finding: RawFinding, ruleset: Ruleset, outcome: Outcome, evidence: EvidenceOf, system: str = "si"
) -> list[Step]:
    """The proof of a finding: a step for each firing, with the values that its conditions rest on,
    and below it a step for each conclusion it rests on, down to the facts of the review."""
    return [
        _step(f.derivation, finding, ruleset, outcome, evidence, system, ())
        for f in finding.firings[:FIRINGS_SHOWN]
    ]


def _step(
    derivation: Derivation,
    finding: RawFinding,
    ruleset: Ruleset,
    outcome: Outcome,
    evidence: EvidenceOf,
    system: str,
    above: tuple[str, ...],
) -> Step:
    alternative = ruleset.by_engine_name[derivation.rule]
    rule = ruleset.rules[alternative.rule]
    conditions = list(rule.conditions())
    engine = alternative.engine
    facts: dict[tuple[str, str], Evidence] = {}
    because: list[Step] = []
    for pattern, parent in zip(engine.patterns, derivation.parents, strict=False):
        if pattern.kind == CONCLUDED and parent in outcome.proofs and parent not in above:
            because += [
                _step(d, finding, ruleset, outcome, evidence, system, (*above, parent))
                for d in outcome.proofs[parent][:FIRINGS_SHOWN]
            ]
        for name in dict.fromkeys([t.field for t in pattern.tests] + [j.field for j in pattern.joins]):
            line = None if (parent, name) in facts else evidence(parent, name)
            if line is not None:
                facts[parent, name] = line
    for n in range(len(engine.absent)):
        condition = conditions[alternative.conditions[len(engine.patterns) + n]]
        text = condition_in_words(condition, system)
        facts["absent", text] = Evidence(
            fact="absent",
            label=text,
            value="none",
            unit="",
            dimension="text",
            origin="computed",
            how="looked for among all facts of this review",
            source="",
        )
    return Step(
        rule=rule.id,
        says=_says(alternative, rule, derivation, finding, system),
        facts=list(facts.values()),
        because=because,
    )


def _says(
    alternative: Alternative, rule: Rule, derivation: Derivation, finding: RawFinding, system: str
) -> str:
    if rule.finding is None:
        return rule.title
    bound = {
        alias: finding.facts[parent]
        for alias, parent in zip(alternative.aliases, derivation.parents, strict=False)
        if alias and parent in finding.facts
    }
    return render(rule.finding.says, {**finding.bindings, **bound}, system, finding.layer_name)


# Why not


@dataclass(frozen=True, slots=True)
class Failed:
    """A condition that does not hold."""

    condition: str
    """In words."""
    text: str
    """What was found and what was asked, with the distance."""
    change: str
    """The smallest change of a fact that would make it hold."""
    fact: str | None = None
    field: str = ""
    found: Value | None = None
    wanted: Value | None = None
    """The limit; empty where one of several words is asked."""
    distance: float | None = None
    """How far the value is from holding, in SI; None for words, absences and unknown values."""


@dataclass(frozen=True, slots=True)
class Miss:
    """The facts that come nearest to firing a rule."""

    rule: str
    title: str
    fires: bool
    holds: tuple[str, ...]
    """Conditions that hold, in words."""
    failed: tuple[Failed, ...]

    def render(self) -> str:
        """Several lines of plain text."""
        if self.fires:
            return f"{self.rule} fires: all its conditions hold."
        count = len(self.failed)
        head = f"{self.rule} does not fire: {count} condition{'s' if count != 1 else ''} of {count + len(self.holds)} fail"
        lines = [head + ("s." if count == 1 else ".")]
        for failed in self.failed:
            lines += [f"  {failed.text}", f"    it would hold if {failed.change}"]
        lines += [f"  holds: {text}" for text in self.holds]
        return "\n".join(lines)


def nearest_miss(
    ruleset: Ruleset,
    rule_id: str,
    facts: Sequence[Fact],
    outcome: Outcome | None = None,
    system: str = "si",
) -> Miss:
    """Which conditions of a rule failed, by how much, and the smallest change that would make it fire.

    `facts` are those of the review and `outcome` what the ruleset's program made of them (run again
    when not given). Of several combinations of facts that fail equally many conditions, the one whose
    values lie nearest is taken.

    Raises InputError: no such rule.
    """
    rule = ruleset.rule(rule_id)
    if outcome is None:
        outcome = ruleset.program.run(facts)
    every = [*facts, *(f for f in outcome.facts if f.kind == CONCLUDED)]
    by_id = {f.id: f for f in every}
    conditions = list(rule.conditions())
    best: tuple[tuple[int, float], Alternative, tuple[Failure, ...]] | None = None
    for alternative in ruleset.alternatives_of(rule_id):
        misses = near_misses(alternative.engine, every)
        if not misses:
            words = tuple(condition_in_words(c, system) for c in conditions)
            return Miss(rule_id, rule.title, True, words, ())
        for miss in misses:
            key = (len(miss.failures), sum(_away(f) for f in miss.failures))
            if best is None or key < best[0]:
                best = (key, alternative, miss.failures)
    assert best is not None
    _, alternative, failures = best
    names = layer_names(every)
    failed_conditions = {alternative.conditions[f.pattern] for f in failures}
    in_branch = dict.fromkeys(n for n in alternative.conditions if n >= 0)
    holds = [condition_in_words(conditions[n], system) for n in in_branch if n not in failed_conditions]
    told = [_failed(f, alternative, conditions, by_id, names, system) for f in failures]
    return Miss(rule_id, rule.title, False, tuple(holds), tuple(dict.fromkeys(told)))


def _away(failure: Failure) -> float:
    """A relative distance, to rank misses: numbers by their ratio, the rest by how much must change."""
    found, wanted = failure.found, failure.wanted
    if isinstance(found, float) and isinstance(wanted, float):
        return min(abs(found - wanted) / max(abs(wanted), abs(found), 1e-15), 1.0)
    return {"test": 1.0, "join": 1.0, "absent": 1.5, "no fact": 3.0}[failure.what] + (
        1.0 if failure.what in ("test", "join") and found is None else 0.0
    )


def _failed(
    failure: Failure,
    alternative: Alternative,
    conditions: Sequence[Condition],
    by_id: dict[str, Fact],
    names: dict[int, str],
    system: str,
) -> Failed:
    place = alternative.conditions[failure.pattern]
    words = condition_in_words(conditions[place], system) if place >= 0 else "there is a section"
    fact = by_id.get(failure.fact or "")
    if failure.what == "no fact" or fact is None:
        return Failed(words, f"nothing fits: {words}", "there were such a fact")
    label = fact_label(fact)
    if failure.what == "absent":
        return Failed(words, f"{label} stands against: {words}", f"{label} were not so", failure.fact)
    field = KINDS[failure.kind].fields[failure.field]

    def show(value: Value | None) -> str:
        return show_value(value, field.dimension, system, lambda i: names.get(i, f"layer {i + 1}"))

    other = by_id.get(failure.other or "")
    beside = (
        f" ({KINDS[other.kind].fields[failure.other_field].meaning} of {fact_label(other)})" if other else ""
    )
    asked = (
        f"{OPERATORS_IN_WORDS[failure.op].removeprefix('is ')} {show(failure.wanted)}{beside}".removeprefix(
            "is "
        )
    )
    distance = _distance(failure)
    by = f", {_off(distance, failure, field, system)}" if distance is not None else ""
    if failure.op == "!=" and isinstance(failure.wanted, str) and place >= 0:
        # A choice of words is compiled to the other words: say what the rule says.
        asked = next((t.text for t in conditions[place].tests if t.field == failure.field), asked)
    text = f"{field.meaning} of {label} is {show(failure.found)}{by}; asked is {asked}"
    return Failed(
        words,
        text,
        f"{field.meaning} of {label} were {asked}",
        failure.fact,
        failure.field,
        failure.found,
        "" if failure.op == "!=" and isinstance(failure.wanted, str) else failure.wanted,
        distance,
    )


def _distance(failure: Failure) -> float | None:
    found, wanted = failure.found, failure.wanted
    if not (isinstance(found, float) and isinstance(wanted, float)) or failure.op == "!=":
        return None
    return abs(found - wanted)


def _off(distance: float, failure: Failure, field: Field, system: str) -> str:
    dimension = "temperature difference" if field.dimension == "temperature" else field.dimension
    assert isinstance(failure.found, float) and isinstance(failure.wanted, float)
    side = "over" if failure.found > failure.wanted else "under"
    if distance == 0:
        return "exactly there"
    if dimension == "index":
        return f"{distance:g} place{'s' if distance != 1 else ''} off"
    return f"{show_value(distance, dimension, system)} {side}"
