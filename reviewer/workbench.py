"""The rulebook's workbench, put together: lists, pages and checks over shipped and own packs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reviewer.engine.types import Fact

if TYPE_CHECKING:
    from reviewer.rules.ruleset import Ruleset


def facts_of(section: Mapping[str, Any]) -> Sequence[Fact]:
    """The facts of a section given as the keys of a section file: what rule examples are run on."""
    import json

    from reviewer.facts.build import build
    from reviewer.model.parse import parse_section

    # JSON is YAML: the example goes the way of a section file.
    return build(parse_section(json.dumps(section), "<example>"))[0].facts()


def listing(rules: Ruleset, pack: str | None) -> str:
    """One line a rule. Raises InputError for an unknown pack."""
    packs = list(dict.fromkeys(r.pack for r in rules.rules.values()))
    if pack is not None and pack not in packs:
        from reviewer.errors import InputError, Problem, nearest

        raise InputError(Problem(f'no pack "{pack}"', None, "one of " + ", ".join(packs), nearest(pack, packs)))
    shown = [r for r in rules.rules.values() if pack is None or r.pack == pack]
    size = max((len(r.id) for r in shown), default=0)
    lines = [f"{r.id:<{size}}  {r.severity or 'conclusion':<10}  {r.title}" for r in shown]
    lines.append(f"{len(shown)} rules in {len({r.pack for r in shown})} packs")
    return "\n".join(lines) + "\n"


def page(rules: Ruleset, rule_id: str) -> str:
    from reviewer.rules.page import rule_page

    return rule_page(rules.rule(rule_id), rules, "text")


def check(extra: Sequence[Path]) -> tuple[str, int]:
    """Check every rule and run its examples: the report, and exit status 0 or 1."""
    from reviewer.rules.check import check_dirs
    from reviewer.rules.ruleset import shipped_rules_dir

    remarks = check_dirs([shipped_rules_dir(), *extra], facts_of)
    errors = sum(r.level == "error" for r in remarks)
    lines = [r.render() for r in remarks]
    lines.append(f"{errors} errors, {len(remarks) - errors} warnings")
    return "\n".join(lines) + "\n", int(errors > 0)
