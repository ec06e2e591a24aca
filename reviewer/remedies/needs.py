"""Findings that no change of layers can clear: they rest on statements alone.

`known: water entry: seepage` stays true however the layers are changed. A rule that asks for nothing but such
statements, the climate and what the building is goes on firing unless one of those statements changes. Every
combination that passes must therefore have a change of one of them, and the search need not look at others. This
is read from the rules themselves, and holds for every rule that is written so.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from reviewer.engine.types import Pattern
from reviewer.remedies.moves import Move

if TYPE_CHECKING:
    from reviewer.review import Judgment
    from reviewer.rules.findings import RawFinding
    from reviewer.rules.ruleset import Ruleset

_BUILDING = {
    "ventilation": "ventilation",
    "combustion": "combustion",
    "wiring": "wiring",
    "framing_style": "framing",
    "airtightness": "airtightness",
    "work": "work",
    "use": "use",
    "year": "year",
    "stories": "stories",
    "height": "height",
}
"""Fields of the section's fact that `building:` alone decides, and its key for each."""
_FIXED = ("kind", "zone", "zone_number", "has_insulation")
"""Fields that no change moves. Insulation is never all taken away: a remedy may let through a twentieth more heat."""


@lru_cache(maxsize=4)
def defeated_rules(rules: Ruleset) -> frozenset[str]:
    """Rules whose findings another rule takes the place of, which may rest on layers."""
    return frozenset(d.rule for rule in rules.rules.values() for d in rule.defeats)


def needs(
    judged: Judgment, rules: Ruleset, moves: Sequence[Move], severities: Collection[str]
) -> list[frozenset[int]]:
    """A group of moves for each finding of these severities that rests on statements alone: it stands unless one of
    the group is made. An empty group: it stands whatever is done."""
    defeated = defeated_rules(rules)
    groups: list[frozenset[int]] = []
    for f in judged.findings:
        if f.part.severity not in severities or f.rule.id in defeated:
            continue
        keys = _rests_on(f, rules)
        if keys is not None:
            groups.append(
                frozenset(n for n, m in enumerate(moves) if any(key in keys for key in _settles(m)))
            )
    return groups


def _settles(move: Move) -> list[tuple[str, str]]:
    return [("building" if part == "building" else "known", key) for part, key, _ in move.settings]


def _rests_on(f: RawFinding, rules: Ruleset) -> set[tuple[str, str]] | None:
    """The statements that a finding rests on, when it rests on nothing that layers decide; else None."""
    for firing in f.firings:
        rule = rules.by_engine_name[firing.derivation.rule].engine
        keys: set[tuple[str, str]] = set()
        if all(_add(p, keys) for p in (*rule.patterns, *rule.absent)):
            return keys
    return None


def _add(pattern: Pattern, keys: set[tuple[str, str]]) -> bool:
    """Add the statements of a pattern; False when layers may decide it."""
    if pattern.joins:
        return False
    if pattern.kind == "climate":
        return True
    if pattern.kind == "statement":
        about = [str(t.value) for t in pattern.tests if t.field == "about" and t.op == "=="]
        keys.update(("known", a) for a in about)
        return len(about) == 1
    if pattern.kind != "section":
        return False
    for test in pattern.tests:
        if test.field in _BUILDING:
            keys.add(("building", _BUILDING[test.field]))
        elif test.field not in _FIXED:
            return False
    return True
