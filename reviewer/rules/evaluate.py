"""Rules that could not be judged, because a fact that they turn on is not known."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from reviewer.engine.matching import undecided
from reviewer.engine.types import Fact, Outcome
from reviewer.facts.vocabulary import KINDS
from reviewer.rules.compile import CONCLUDED
from reviewer.rules.language import SEVERITIES, Rule
from reviewer.rules.ruleset import Ruleset

Unknown = Mapping[str, Mapping[str, str]]
"""Fact id to the fields that exist but are not known, each with the reason."""
Missing = tuple[str, str]
"""Fact id and field."""

NAMED_AT_MOST = 4
"""Missing values that a text names; it counts the rest."""


@dataclass(frozen=True, slots=True)
class NotJudged:
    """A rule whose firing turns on values that are not known."""

    rule: Rule
    missing: tuple[Missing, ...]
    text: str


def not_evaluated(
    ruleset: Ruleset,
    facts: Sequence[Fact],
    unknown: Unknown,
    outcome: Outcome | None = None,
    leave_out: Collection[str] = (),
) -> list[tuple[Rule, str]]:
    """The rules with a finding that could not be judged, and what is missing; the most severe first.

    `outcome` is what the ruleset's program made of the facts (run again when not given). Rules in
    `leave_out` are not asked.
    """
    return [(n.rule, n.text) for n in not_judged(ruleset, facts, unknown, outcome, leave_out)]


def not_judged(
    ruleset: Ruleset,
    facts: Sequence[Fact],
    unknown: Unknown,
    outcome: Outcome | None = None,
    leave_out: Collection[str] = (),
) -> list[NotJudged]:
    """As `not_evaluated`, with the missing values one by one.

    A rule that asks for a conclusion which could not be judged could not be judged either, unless its
    other conditions rule it out; what it misses is what the conclusion misses.
    """
    if not any(unknown.values()):
        return []
    if outcome is None and ruleset.conclusions():
        outcome = ruleset.run(facts)
    by_kind: dict[str, list[Fact]] = {}
    for fact in (*facts, *(outcome.facts if outcome else ())):
        by_kind.setdefault(fact.kind, []).append(fact)
    doubtful = _doubtful_conclusions(ruleset, by_kind, unknown)
    # A rule with a severity has a finding; the alternatives know which, without reading the rule.
    raising = dict.fromkeys(a.rule for a in ruleset.alternatives if a.engine.head.kind != CONCLUDED)
    found: list[NotJudged] = []
    for rule_id in raising:
        if rule_id in leave_out:
            continue
        missing = _missing(ruleset, rule_id, by_kind, unknown, doubtful)
        if missing:
            text = _text(missing, by_kind, unknown)
            found.append(NotJudged(ruleset.rules[rule_id], tuple(missing), text))
    found.sort(key=lambda n: (SEVERITIES.index(n.rule.severity), ruleset.order[n.rule.id]))
    return found


def _doubtful_conclusions(
    ruleset: Ruleset, by_kind: Mapping[str, list[Fact]], unknown: Unknown
) -> dict[str, list[Missing]]:
    """Conclusions that might hold, by name, and what that turns on."""
    concluding = list(dict.fromkeys(a.rule for a in ruleset.alternatives if a.engine.head.kind == CONCLUDED))
    doubtful: dict[str, list[Missing]] = {}
    while True:
        before = sum(map(len, doubtful.values()))
        for rule_id in concluding:
            missing = _missing(ruleset, rule_id, by_kind, unknown, doubtful)
            if missing:
                name = ruleset.alternatives_of(rule_id)[0].engine.head.name
                doubtful[name] = sorted({*doubtful.get(name, ()), *missing})
        if sum(map(len, doubtful.values())) == before:
            return doubtful


def _missing(
    ruleset: Ruleset,
    rule_id: str,
    by_kind: Mapping[str, list[Fact]],
    unknown: Unknown,
    doubtful: Mapping[str, list[Missing]],
) -> list[Missing]:
    found: dict[Missing, None] = {}
    for alternative in ruleset.alternatives_of(rule_id):
        engine = alternative.engine
        asked = {
            str(t.value)
            for p in (*engine.patterns, *engine.absent)
            if p.kind == CONCLUDED
            for t in p.tests
            if t.field == "name"
        }
        maybe = {f"{CONCLUDED}?{name}": name for name in doubtful if name in asked}
        if maybe:
            # A conclusion in doubt takes part as a fact of which nothing is known, not even its name.
            blank = dict.fromkeys(KINDS[CONCLUDED].fields, "")
            kinds = {
                **by_kind,
                CONCLUDED: [*by_kind.get(CONCLUDED, ()), *(Fact(i, CONCLUDED, {}) for i in maybe)],
            }
            turns_on = undecided(engine, kinds, {**unknown, **dict.fromkeys(maybe, blank)})
        else:
            turns_on = undecided(engine, by_kind, unknown)
        for fact_id, field in turns_on:
            if fact_id in maybe:
                found.update(dict.fromkeys(doubtful[maybe[fact_id]]))
            else:
                found[fact_id, field] = None
    return sorted(found)


def _text(missing: Iterable[Missing], by_kind: Mapping[str, list[Fact]], unknown: Unknown) -> str:
    """`permeance when damp of layer 4, unknown sheathing (the material is not known)`."""
    facts = {fact.id: fact for of_kind in by_kind.values() for fact in of_kind}
    by_fact: dict[tuple[str, str], list[str]] = {}
    for fact_id, field in missing:
        reason = unknown.get(fact_id, {}).get(field, "")
        by_fact.setdefault((fact_id, reason), []).append(KINDS[facts[fact_id].kind].fields[field].meaning)
    phrases: list[str] = []
    for (fact_id, reason), meanings in by_fact.items():
        named = meanings[:NAMED_AT_MOST]
        more = len(meanings) - len(named)
        said = ", ".join(named) + (f" and {more} more" if more else "")
        phrases.append(f"{said} of {fact_label(facts[fact_id])}" + (f" ({reason})" if reason else ""))
    shown = phrases[:NAMED_AT_MOST]
    more = len(phrases) - len(shown)
    return "; ".join(shown) + (f"; and {more} more" if more else "")


def fact_label(fact: Fact) -> str:
    """A fact for people: `layer 4, oriented strand board`; layers count from 1 at the room.

    >>> fact_label(Fact("layer:3", "layer", {"index": 3.0, "name": "brick"}))
    'layer 4, brick'
    """
    fields = fact.fields
    if fact.kind == "layer" and isinstance(fields.get("index"), float):
        name = fields.get("name")
        return f"layer {int(float(fields['index'])) + 1}" + (f", {name}" if name else "")
    if fact.kind in ("joint", "pair") and {"inner", "outer"} <= set(fields):
        pair = [f"{int(float(fields[end])) + 1}" for end in ("inner", "outer")]
        noun = "the joint of" if fact.kind == "joint" else "the pair of"
        return f"{noun} layers {pair[0]} and {pair[1]}"
    for name in ("topic", "about", "name"):
        if name in fields:
            return f"the {fact.kind} “{fields[name]}”"
    return {"section": "the section", "climate": "the climate", "indoor": "the indoor climate"}.get(
        fact.kind, fact.id.replace(":", " ")
    )
