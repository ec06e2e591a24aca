"""Ask a review about one rule: why it fires, or how far it is from firing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from reviewer.explanation import Explanation, FailedCondition, Given, NearestMiss, TakenBy
from reviewer.facts.build import build
from reviewer.result import SectionHead
from reviewer.review import Units, evidence, load_rules
from reviewer.rules.evaluate import not_judged
from reviewer.rules.explain import Miss, citation_lines, nearest_miss, proof_of
from reviewer.rules.findings import RawFinding, defeats_of, findings_from, firings, raised_by

if TYPE_CHECKING:
    from reviewer.model.section import Section
    from reviewer.rules.ruleset import Ruleset

Asked = Literal["why", "why not"]


def explain(
    section: Section,
    rule_id: str,
    ruleset: Ruleset | None = None,
    *,
    asked: Asked = "why",
    edition: str = "",
    units: Units | None = None,
    hourly: bool = False,
) -> Explanation:
    """Why a rule fires on a section, with the whole proof; or why not, with the nearest miss.

    The answer is the true one, whichever was asked. The other arguments are those of `review`.

    Raises InputError: no such rule, or the section can't be used.

    >>> from reviewer.model.parse import section_from_line
    >>> bare = section_from_line("1/2 in gypsum board", kind="wall", zone="5A")
    >>> told = explain(bare, "conclusions/cold-climate")
    >>> told.state, told.given[0].says
    ('concludes', 'cold climate')
    """
    rules = ruleset if ruleset is not None else load_rules()
    rule = rules.rule(rule_id)
    book, _, site, _, _ = build(section, edition, hourly=hourly)
    facts = book.facts()
    outcome = rules.run(facts)
    records = book.by_id()
    system: Units = units or ("ip" if site.climate is None or site.climate.country == "US" else "si")
    fired = firings(outcome, rules)
    defeat = defeats_of(fired, rules).get(rule_id)
    given: list[Given] = []
    for f in raised_by(rule_id, outcome, rules, facts):
        proof = proof_of(f, rules, outcome, lambda fact, name, f=f: evidence(fact, name, f, records), system)
        given.append(
            Given(
                says=f.says(system) if rule.finding else rule.conclusion.fact if rule.conclusion else "",
                severity=rule.severity,
                layers=list(f.layers),
                margin=f.margin(system) if rule.finding else "",
                symptom_of=_causes(f, findings_from(outcome, rules, facts)) if rule.symptom_of else [],
                proof=proof,
            )
        )
    missing, nearest = "", None
    if not given:
        doubtful = not_judged(rules, facts, book.unknown(), outcome)
        missing = next((n.text for n in doubtful if n.rule.id == rule_id), "")
        nearest = _nearest(nearest_miss(rules, rule_id, facts, outcome, system))
    taken = (
        TakenBy(rule=defeat.by, title=rules.rules[defeat.by].title, because=defeat.because)
        if defeat
        else None
    )
    state = (
        "defeated"
        if taken
        else ("stands" if rule.finding else "concludes")
        if given
        else "not judged"
        if missing
        else "silent"
    )
    return Explanation(
        asked=asked,
        section=SectionHead(id=section.id, title=section.title, kind=section.kind, file=section.file),
        units=system,
        rule=rule_id,
        title=rule.title,
        state=state,
        answer=_answer(asked, state, given, taken, missing),
        given=given,
        defeated_by=taken,
        missing=missing,
        nearest=nearest,
        citations=citation_lines(rule),
    )


def _causes(finding: RawFinding, standing: Sequence[RawFinding]) -> list[str]:
    """The rules under whose findings this one hangs."""
    return next(
        (list(f.symptom_of) for f in standing if (f.rule.id, f.layers) == (finding.rule.id, finding.layers)),
        [],
    )


def _nearest(miss: Miss) -> NearestMiss:
    return NearestMiss(
        rule=miss.rule,
        title=miss.title,
        holds=list(miss.holds),
        failed=[
            FailedCondition(
                condition=f.condition,
                text=f.text,
                change=f.change,
                fact=f"{f.fact} {f.field}".replace(":", " ").strip() if f.fact else "",
                found=f.found,
                wanted=f.wanted,
                distance=f.distance,
                below=[_nearest(m) for m in f.below],
            )
            for f in miss.failed
        ],
    )


def _answer(asked: Asked, state: str, given: Sequence[Given], taken: TakenBy | None, missing: str) -> str:
    turned = "" if asked == "why" else " So the proof follows, not a near miss."
    if state == "stands":
        count = "its finding stands" if len(given) == 1 else f"its {len(given)} findings stand"
        return f"It fires, and {count}.{turned}"
    if state == "concludes":
        times = "" if len(given) == 1 else f", {len(given)} times"
        return f"It fires, and its conclusion is drawn{times}.{turned}"
    if taken is not None:
        return (
            f"It fires, but its finding is left out: {taken.rule} ({taken.title}) takes its place. "
            f"{taken.because[:1].upper()}{taken.because[1:].rstrip('.')}.{turned}"
        )
    turned = " So there is nothing to prove; its nearest miss follows." if asked == "why" else ""
    if state == "not judged":
        return f"It could not be judged. Not known: {missing}.{turned}"
    return f"It does not fire.{turned}"
