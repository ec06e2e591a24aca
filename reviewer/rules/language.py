"""The ruleset language, typed: what a rule file turns into."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from reviewer.citations import Citation
from reviewer.engine.types import Fact
from reviewer.engine.types import Rule as EngineRule
from reviewer.errors import Mark
from reviewer.rules.template import Template
from reviewer.rules.values import Alternatives, Reference

SEVERITIES = ("serious", "caution", "note", "credit")
CONFIDENCES = ("high", "medium", "low")
VOICES = ("rule of thumb", "code", "calculation")
CHANGES = ("remove", "replace", "insert", "set")
SINGLE = ("section", "climate", "indoor")
"""Kinds of which every review has exactly one fact; templates may always name them."""

MAX_ALTERNATIVES = 64


@dataclass(frozen=True, slots=True)
class FieldTest:
    """`field: test` of a condition."""

    field: str
    alternatives: Alternatives
    text: str
    mark: Mark


@dataclass(frozen=True, slots=True)
class Condition:
    """`KIND ALIAS: {...}` or `not KIND ALIAS: {...}`."""

    kind: str
    alias: str
    """As written, else the kind when it is the only condition of it, else empty."""
    tests: tuple[FieldTest, ...]
    negated: bool
    mark: Mark


@dataclass(frozen=True, slots=True)
class Remedy:
    """Something to do about a finding, and the same as data for the remedy search."""

    text: Template
    change: Mapping[str, str]
    mark: Mark


@dataclass(frozen=True, slots=True)
class FindingPart:
    """What a reviewer writes in the margin when the conditions hold."""

    severity: str
    reason: str
    confidence: str
    voice: str
    hazard: bool
    layers: tuple[Reference, ...]
    says: Template
    explanation: Template
    margin: Template | None
    remedies: tuple[Remedy, ...]
    one_per: str
    """`layers` (one finding per set of layers), `section`, or an alias of a layer."""
    mark: Mark


@dataclass(frozen=True, slots=True)
class Conclusion:
    """The intermediate fact that a rule concludes instead of a finding."""

    fact: str
    fields: tuple[tuple[str, Reference], ...]
    mark: Mark


@dataclass(frozen=True, slots=True)
class Example:
    """A case that a rule must fire on, or be silent on. Exactly one of facts and section is there."""

    name: str
    fires: bool
    facts: tuple[Fact, ...] | None
    section: Mapping[str, Any] | None
    """The keys of a section file; scalars are the texts as written."""
    mark: Mark


@dataclass(frozen=True, slots=True)
class RuleReference:
    """The id of another rule, and where it is named."""

    rule: str
    mark: Mark


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule. Exactly one of finding and conclusion is there."""

    id: str
    title: str
    pack: str
    topic: str
    file: str
    applies: Condition | None
    when: tuple[Condition, ...]
    any: tuple[tuple[Condition, ...], ...]
    finding: FindingPart | None
    conclusion: Conclusion | None
    cites: tuple[Citation, ...]
    defeats: tuple[RuleReference, ...]
    defeats_because: str
    symptom_of: tuple[RuleReference, ...]
    related: tuple[RuleReference, ...]
    examples: tuple[Example, ...]
    mark: Mark

    @property
    def severity(self) -> str:
        """The finding's severity; empty for a rule that concludes."""
        return self.finding.severity if self.finding else ""

    def branches(self) -> tuple[tuple[Condition, ...], ...]:
        """The condition lists, one for each list of `any`, each with all that must hold.

        The test on the section comes first, then `when`, then the branch.
        """
        common = ((self.applies,) if self.applies else ()) + self.when
        return tuple(common + branch for branch in self.any) if self.any else (common,)

    def conditions(self) -> Iterator[Condition]:
        """Every condition once, in the order of the text."""
        if self.applies:
            yield self.applies
        yield from self.when
        for branch in self.any:
            yield from branch


@dataclass(frozen=True, slots=True)
class Topic:
    """A ruleset file: a topic of a pack."""

    pack: str
    topic: str
    about: str
    file: str
    rules: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Alternative:
    """One engine rule of a rule: `id#n`, and the alias of each of its positive patterns."""

    rule: str
    number: int
    engine: EngineRule
    aliases: tuple[str, ...]
    conditions: tuple[int, ...]
    """Which condition of the rule (counted as `Rule.conditions` does) each positive pattern, then each
    absent pattern, was made from; -1 for the section pattern that was added."""
