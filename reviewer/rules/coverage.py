"""What a collection of cases exercises of a ruleset: rules that fire, thresholds seen from both sides."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from reviewer.engine.types import Fact
from reviewer.rules.findings import firings
from reviewer.rules.ruleset import Ruleset
from reviewer.rules.thresholds import Sides, sides_of, thresholds_of


@dataclass(frozen=True, slots=True)
class RuleCoverage:
    rule: str
    fired_in: tuple[str, ...]
    """Names of the cases in which the rule fires, before defeats."""
    alternatives: int
    alternatives_fired: int
    thresholds: tuple[Sides, ...]

    @property
    def both_sides(self) -> int:
        return sum(sides.both for sides in self.thresholds)


@dataclass(frozen=True, slots=True)
class Coverage:
    cases: int
    rules: tuple[RuleCoverage, ...]

    @property
    def never_fired(self) -> tuple[str, ...]:
        return tuple(r.rule for r in self.rules if not r.fired_in)

    @property
    def one_sided(self) -> tuple[Sides, ...]:
        """Thresholds for which the cases hold values on one side only, or none."""
        return tuple(sides for r in self.rules for sides in r.thresholds if not sides.both)

    @property
    def thresholds(self) -> int:
        return sum(len(r.thresholds) for r in self.rules)

    def of(self, rules: Collection[str]) -> Coverage:
        """The same of some of the rules only."""
        return Coverage(self.cases, tuple(r for r in self.rules if r.rule in rules))

    def render(self) -> str:
        """A table in plain text: rules with the cases they fire in, then what is not exercised."""
        fired = len(self.rules) - len(self.never_fired)
        both = self.thresholds - len(self.one_sided)
        lines = [
            f"{self.cases} case{'s' if self.cases != 1 else ''}: {fired} of {len(self.rules)} rules fire, "
            f"{both} of {self.thresholds} thresholds seen from both sides"
        ]
        width = max((len(r.rule) for r in self.rules), default=0)
        for r in self.rules:
            sides = f"{r.both_sides}/{len(r.thresholds)} thresholds" if r.thresholds else "no thresholds"
            count = f"{len(r.fired_in)} case{'s' if len(r.fired_in) != 1 else ''}"
            alternatives = (
                f", {r.alternatives_fired}/{r.alternatives} alternatives" if r.alternatives > 1 else ""
            )
            lines.append(f"  {r.rule:<{width}}  {count}{alternatives}, {sides}")
        for sides in self.one_sided:
            t = sides.threshold
            missing = [
                word for word, value in (("passes", sides.passing), ("fails", sides.failing)) if value is None
            ]
            lines.append(f"  {t.rule}: no {t.kind} whose {t.field} {' or '.join(missing)} {t.op} {t.text}")
        return "\n".join(lines) + "\n"


def coverage(ruleset: Ruleset, cases: Mapping[str, Sequence[Fact]]) -> Coverage:
    """Run every case and see what of the ruleset it exercises.

    A threshold counts as seen from a side when some fact of its kind, in some case, has a value there.
    """
    fired: dict[str, dict[str, None]] = {}
    alternatives: dict[str, set[int]] = {}
    pool: list[Fact] = []
    for name, facts in cases.items():
        outcome = ruleset.run(facts)
        for rule, of_rule in firings(outcome, ruleset).items():
            fired.setdefault(rule, {})[name] = None
            alternatives.setdefault(rule, set()).update(f.alternative for f in of_rule)
        pool += [*facts, *(f for f in outcome.facts if f.kind == "concluded")]
    by_kind: dict[str, list[Fact]] = {}
    for fact in pool:
        by_kind.setdefault(fact.kind, []).append(fact)
    return Coverage(
        len(cases),
        tuple(
            RuleCoverage(
                rule_id,
                tuple(fired.get(rule_id, ())),
                len(ruleset.alternatives_of(rule_id)),
                len(alternatives.get(rule_id, ())),
                tuple(sides_of(t, by_kind.get(t.kind, ())) for t in thresholds_of(rule)),
            )
            for rule_id, rule in ruleset.rules.items()
        ),
    )
