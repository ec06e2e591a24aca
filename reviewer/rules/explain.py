"""Why a finding stands, and how far a rule was from firing."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from reviewer.engine.matching import Failure, near_misses
from reviewer.engine.types import Derivation, Fact, Outcome, Pattern, Value
from reviewer.engine.types import Rule as EngineRule
from reviewer.facts.vocabulary import KINDS, YES_NO, Field
from reviewer.result import CitationLine, Evidence, Step
from reviewer.rules.compile import CONCLUDED, LOWEST, branch_of
from reviewer.rules.evaluate import fact_label
from reviewer.rules.findings import RawFinding, layer_names
from reviewer.rules.language import SINGLE, Alternative, Condition, Rule
from reviewer.rules.ruleset import Ruleset
from reviewer.rules.template import render, show_value
from reviewer.rules.words import OPERATORS_IN_WORDS, condition_in_words, value_test_in_words

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
    asked = _asked(alternative, rule, system)
    for place, (pattern, parent) in enumerate(zip(engine.patterns, derivation.parents, strict=False)):
        if pattern.kind == CONCLUDED and parent in outcome.proofs and parent not in above:
            because += [
                _step(d, finding, ruleset, outcome, evidence, system, (*above, parent))
                for d in outcome.proofs[parent][:FIRINGS_SHOWN]
            ]
        for name in dict.fromkeys([t.field for t in pattern.tests] + [j.field for j in pattern.joins]):
            line = None if (parent, name) in facts else evidence(parent, name)
            if line is not None:
                test = asked.get((place, name), "")
                facts[parent, name] = line.model_copy(update={"asked": test}) if test else line
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
        citations=citation_lines(rule),
    )


def citation_lines(rule: Rule) -> list[CitationLine]:
    """The sources of a rule, as results carry them."""
    return [
        CitationLine(
            document=c.document, edition=c.edition, clause=c.clause, kind=c.kind, certainty=c.certainty
        )
        for c in rule.cites
    ]


def _sources(alternative: Alternative, rule: Rule) -> list[tuple[int, ...]]:
    """For each pattern, positive then absent, the conditions of the rule that it was made from.

    All conditions on the one section, climate or indoor climate are one pattern.
    """
    numbers = {id(c): n for n, c in enumerate(rule.conditions())}
    branch = branch_of(rule, alternative.number)
    together = {
        kind: tuple(numbers[id(c)] for c in branch if c.kind == kind and not c.negated) for kind in SINGLE
    }
    kinds = [p.kind for p in alternative.engine.patterns]
    return [
        together[kinds[at]] if at < len(kinds) and kinds[at] in together else (n,)
        for at, n in enumerate(alternative.conditions)
    ]


def _asked(alternative: Alternative, rule: Rule, system: str) -> dict[tuple[int, str], str]:
    """What the rule asks, in words, by positive pattern and field."""
    conditions = list(rule.conditions())
    asked: dict[tuple[int, str], dict[str, None]] = {}
    for at, (pattern, numbers) in enumerate(
        zip(alternative.engine.patterns, _sources(alternative, rule), strict=False)
    ):
        for test in (test for n in numbers if n >= 0 for test in conditions[n].tests):
            field = KINDS[pattern.kind].fields[test.field]
            words = value_test_in_words(pattern.kind, test, system)
            words = (
                test.text
                if field.words == YES_NO
                else words.removeprefix(f"{field.meaning} ").removeprefix("it ")
            )
            asked.setdefault((at, test.field), {})[words.removeprefix("is ")] = None
    return {key: " and ".join(texts) for key, texts in asked.items()}


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

NAMED_BY = {"concluded": "name", "requirement": "topic", "statement": "about"}
"""Kinds of fact of which each is about a thing of its own, and the field that names it: another
thing's fact is no near miss."""
DEEPEST = 4
"""Conclusions below conclusions that are looked into."""


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
    below: tuple[Miss, ...] = ()
    """Where a conclusion is missing: how far the rule that comes nearest to drawing it was."""


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
            lines += ["    " + line for miss in failed.below for line in miss.render().splitlines()]
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
    values lie nearest is taken. Where a conclusion is missing, the rule that comes nearest to drawing
    it is looked into too.

    Raises InputError: no such rule.
    """
    ruleset.rule(rule_id)
    if outcome is None:
        outcome = ruleset.run(facts)
    every = [*facts, *(f for f in outcome.facts if f.kind == CONCLUDED)]
    return _nearest(ruleset, rule_id, every, system, ())


def _nearest(
    ruleset: Ruleset, rule_id: str, every: Sequence[Fact], system: str, above: tuple[str, ...]
) -> Miss:
    rule = ruleset.rules[rule_id]
    by_id = {f.id: f for f in every}
    conditions = list(rule.conditions())
    best: tuple[tuple[int, float], Alternative, tuple[Failure, ...]] | None = None
    for alternative in ruleset.alternatives_of(rule_id):
        misses = near_misses(*_apart(alternative.engine, every))
        if not misses:
            words = tuple(condition_in_words(c, system) for c in branch_of(rule, alternative.number))
            return Miss(rule_id, rule.title, True, words, ())
        for miss in misses:
            key = (len(miss.failures), sum(_away(f) for f in miss.failures))
            if best is None or key < best[0]:
                best = (key, alternative, miss.failures)
    assert best is not None
    _, alternative, failures = best
    names = layer_names(every)
    sources = _sources(alternative, rule)
    places = [_place(f, sources, conditions) for f in failures]
    in_branch = dict.fromkeys(n for numbers in sources for n in numbers if n >= 0)
    holds = [condition_in_words(conditions[n], system) for n in in_branch if n not in places]
    told = []
    for failure, place in zip(failures, places, strict=True):
        condition = conditions[place] if place >= 0 else None
        failed = _failed(failure, condition, by_id, names, system)
        if condition is not None and failure.what == "no fact" and condition.kind == CONCLUDED:
            failed = replace(failed, below=_not_drawn(ruleset, condition, every, system, (*above, rule_id)))
        told.append(failed)
    return Miss(rule_id, rule.title, False, tuple(holds), tuple(dict.fromkeys(told)))


def _apart(rule: EngineRule, facts: Sequence[Fact]) -> tuple[EngineRule, list[Fact]]:
    """The rule and the facts with each thing that facts are about as a kind of its own.

    Then a requirement on another topic is never taken for a near miss of the one that is asked for.
    """

    def named(pattern: Pattern) -> Value | None:
        field = NAMED_BY.get(pattern.kind)
        return next((t.value for t in pattern.tests if t.field == field and t.op == "=="), None)

    every = (*rule.patterns, *rule.absent)
    kinds = {k for k in NAMED_BY if all(named(p) is not None for p in every if p.kind == k)}

    def moved(pattern: Pattern) -> Pattern:
        if pattern.kind not in kinds:
            return pattern
        tests = tuple(t for t in pattern.tests if t.field != NAMED_BY[pattern.kind])
        return replace(pattern, kind=f"{pattern.kind} {named(pattern)}", tests=tests)

    return (
        replace(rule, patterns=tuple(map(moved, rule.patterns)), absent=tuple(map(moved, rule.absent))),
        [
            replace(f, kind=f"{f.kind} {f.fields.get(NAMED_BY[f.kind])}") if f.kind in kinds else f
            for f in facts
        ],
    )


def _place(failure: Failure, sources: Sequence[tuple[int, ...]], conditions: Sequence[Condition]) -> int:
    """Which condition of the rule a failure is of; -1 for the section that every review has."""
    numbers = sources[failure.pattern]
    if not numbers:
        return -1
    asking = (n for n in numbers if n >= 0 and any(t.field == failure.field for t in conditions[n].tests))
    return next(asking, numbers[0])


def _not_drawn(
    ruleset: Ruleset, condition: Condition, every: Sequence[Fact], system: str, above: tuple[str, ...]
) -> tuple[Miss, ...]:
    """The nearest miss among the rules that draw a conclusion which is missing."""
    if len(above) > DEEPEST:
        return ()
    names = {
        str(c.operand) for t in condition.tests if t.field == "name" for part in t.alternatives for c in part
    }
    rules = dict.fromkeys(r for name in sorted(names) for r in ruleset.concluded_by(name) if r not in above)
    misses = [_nearest(ruleset, rule, every, system, above) for rule in rules]
    # A rule that fires has drawn it for another layer.
    misses = [m for m in misses if not m.fires]
    return (min(misses, key=lambda m: len(m.failed)),) if misses else ()


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
    condition: Condition | None,
    by_id: Mapping[str, Fact],
    names: Mapping[int, str],
    system: str,
) -> Failed:
    words = condition_in_words(condition, system) if condition else "there is a section"
    fact = by_id.get(failure.fact or "")
    if failure.what == "no fact" or fact is None:
        if condition is not None and condition.kind == CONCLUDED:
            name = next((t.text for t in condition.tests if t.field == "name"), "")
            return Failed(words, f"the conclusion “{name}” is not drawn", "it were drawn")
        return Failed(words, f"nothing fits: {words}", "there were such a fact")
    label = fact_label(fact)
    if failure.what == "absent":
        return Failed(words, f"{label} stands against: {words}", f"{label} were not so", failure.fact)
    field = KINDS[fact.kind].fields[failure.field]

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
    if isinstance(failure.wanted, float) and failure.wanted <= LOWEST:
        asked, distance = "known", None
    elif failure.op == "!=" and isinstance(failure.wanted, str) and condition is not None:
        # A choice of words is compiled to the other words: say what the rule says.
        asked = next((t.text for t in condition.tests if t.field == failure.field), asked)
    by = f", {_off(distance, failure, field, system)}" if distance is not None else ""
    of = f"{field.meaning} of {label}"
    if field.words == YES_NO:
        of = f"“{field.meaning}” of {label}"
    return Failed(
        words,
        f"{of} is {show(failure.found)}{by}; asked is {asked}",
        f"{of} were {asked}",
        failure.fact,
        failure.field,
        failure.found,
        ""
        if asked == "known" or (failure.op == "!=" and isinstance(failure.wanted, str))
        else failure.wanted,
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
