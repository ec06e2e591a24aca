"""The rules that the gate itself adds, and the rulebook it works with."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from reviewer.document import Reader, read_document
from reviewer.result import SEVERITIES, Severity

if TYPE_CHECKING:
    from reviewer.rules.ruleset import Ruleset


@dataclass(frozen=True, slots=True)
class GateRule:
    id: str
    severity: Severity
    title: str
    explanation: str
    remedy: str


@lru_cache(maxsize=1)
def gate_rules() -> dict[str, GateRule]:
    """The gate's own rules by id.

    >>> gate_rules()["library/duplicate-id"].severity
    'serious'
    """
    reader = Reader()
    keys = ("id", "severity", "title", "explanation", "remedy")
    found = {}
    document = reader.map(read_document(Path(__file__).with_name("rules.yaml")), ("rules",))
    for node in reader.list(document.get("rules")):
        given = reader.map(node, keys, "a rule", keys)
        texts = {name: reader.text(given.get(name)) or "" for name in keys}
        severity = reader.choice(given.get("severity"), SEVERITIES)
        found[texts["id"]] = GateRule(**{**texts, "severity": severity})  # type: ignore[arg-type]
    reader.finish()
    return found


@lru_cache(maxsize=8)
def rulebook(own: tuple[str, ...] = ()) -> Ruleset:
    """The shipped packs, with these folders of own packs beside them. Raises InputError."""
    from reviewer.rules.ruleset import load_ruleset, shipped_rules_dir

    return load_ruleset([shipped_rules_dir(), *own])


def rule_ids(own: tuple[str, ...] = ()) -> frozenset[str]:
    """Ids of all rules, the gate's own included."""
    return frozenset(rulebook(own).rules) | frozenset(gate_rules())
