"""What a change of the rulebook changes: rules, and the findings of cases."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from reviewer.engine.types import Fact
from reviewer.rules.cache import encode
from reviewer.rules.findings import RawFinding, findings_from
from reviewer.rules.language import SEVERITIES, Rule
from reviewer.rules.ruleset import Ruleset

FindingKey = tuple[str, tuple[int, ...]]
"""Rule and places of layers."""


@dataclass(frozen=True, slots=True)
class CaseDifference:
    case: str
    gone: tuple[FindingKey, ...]
    new: tuple[FindingKey, ...]
    severities: tuple[tuple[FindingKey, str, str], ...]
    """Findings in both, with the old and the new severity where they differ."""
    worst_before: str
    """The worst severity among the findings; empty when there are none."""
    worst_after: str

    @property
    def verdict_changes(self) -> bool:
        return self.worst_before != self.worst_after


@dataclass(frozen=True, slots=True)
class RulesetDifference:
    added: tuple[str, ...]
    removed: tuple[str, ...]
    judging: tuple[str, ...]
    """Rules whose conditions, severity, head or defeats differ."""
    wording: tuple[str, ...]
    """Rules that differ in texts, sources or examples only."""
    cases: tuple[CaseDifference, ...]
    """Cases whose findings differ."""
    cases_run: int

    @property
    def verdicts_changed(self) -> tuple[str, ...]:
        return tuple(c.case for c in self.cases if c.verdict_changes)


def difference(old: Ruleset, new: Ruleset, cases: Mapping[str, Sequence[Fact]]) -> RulesetDifference:
    """Compare two rulesets, as text and on cases (name to facts)."""
    both = [r for r in old.rules if r in new.rules]
    judging = [r for r in both if _judging(old, r) != _judging(new, r)]
    wording = [r for r in both if r not in judging and _content(old.rules[r]) != _content(new.rules[r])]
    changed = [d for name, facts in cases.items() if (d := _case(name, facts, old, new)) is not None]
    return RulesetDifference(
        added=tuple(r for r in new.rules if r not in old.rules),
        removed=tuple(r for r in old.rules if r not in new.rules),
        judging=tuple(judging),
        wording=tuple(wording),
        cases=tuple(changed),
        cases_run=len(cases),
    )


def _judging(ruleset: Ruleset, rule_id: str) -> Any:
    """What decides whether and how a rule speaks, without its words."""
    rule = ruleset.rules[rule_id]
    engine = [(a.engine.patterns, a.engine.absent, a.engine.head) for a in ruleset.alternatives_of(rule_id)]
    part = rule.finding
    head = (part.severity, part.hazard, part.layers, part.one_per) if part else None
    defeats = tuple(r.rule for r in rule.defeats), tuple(r.rule for r in rule.symptom_of)
    return engine, head, defeats


def _content(rule: Rule) -> Any:
    """Everything that a rule says, without where it stands."""

    def without_marks(value: Any) -> Any:
        if isinstance(value, list):
            return "" if value[:1] == ["Mark"] else [without_marks(v) for v in value]
        return {k: without_marks(v) for k, v in value.items()} if isinstance(value, dict) else value

    return without_marks(encode(rule))


def _case(name: str, facts: Sequence[Fact], old: Ruleset, new: Ruleset) -> CaseDifference | None:
    before, after = _findings(facts, old), _findings(facts, new)
    severities = tuple(
        (key, before[key], after[key]) for key in before if key in after and before[key] != after[key]
    )
    gone = tuple(key for key in before if key not in after)
    fresh = tuple(key for key in after if key not in before)
    if not (gone or fresh or severities):
        return None
    return CaseDifference(name, gone, fresh, severities, _worst(before), _worst(after))


def _findings(facts: Sequence[Fact], ruleset: Ruleset) -> dict[FindingKey, str]:
    found: list[RawFinding] = findings_from(ruleset.run(facts), ruleset, facts)
    return {(f.rule.id, f.layers): f.part.severity for f in found}


def _worst(findings: Mapping[FindingKey, str]) -> str:
    return min(findings.values(), key=SEVERITIES.index, default="")
