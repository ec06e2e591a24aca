"""The part of a rulebook that serious findings hang on, to turn most candidates away with a third of the work.

It holds every rule with a serious finding, every rule that takes the place of one, and all that conclude what these
ask for. On these the part gives what the whole book gives, so a section with a serious finding here has it there.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from reviewer.engine.types import Fact
from reviewer.rules.findings import findings_from
from reviewer.rules.ruleset import Ruleset


@lru_cache(maxsize=4)
def part_of(rules: Ruleset) -> Ruleset:
    """The part of the rulebook, compiled."""
    wanted = {r for r in rules.rules if rules.rules[r].severity == "serious"}
    more = wanted
    while more:
        more = {r for r, rule in rules.rules.items() if any(d.rule in wanted for d in rule.defeats)} - wanted
        wanted |= more
    kept = rules.closure(r for r in rules.rules if r in wanted)
    return Ruleset.of((), [rules.rules[r] for r in kept])


def serious_rules(rules: Ruleset, facts: Sequence[Fact]) -> set[str]:
    """Rules of the book with a serious finding on these facts."""
    part = part_of(rules)
    found = findings_from(part.run(facts), part, facts)
    return {f.rule.id for f in found if f.part.severity == "serious"}
