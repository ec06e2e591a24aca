"""What goes into an engine and what comes out. The engines know no buildings.

Rules are positive patterns, absent patterns and one head. Facts are flat: a kind, an id and fields
of floats or strings. Everything that needs arithmetic is computed before and asserted as a field.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

Value = float | str

OPERATORS = ("==", "!=", "<", "<=", ">", ">=")


@dataclass(frozen=True, slots=True)
class Fact:
    id: str
    kind: str
    fields: Mapping[str, Value]
    """A field that is not known is left out: a test on it never holds, not even `!=`."""


@dataclass(frozen=True, slots=True)
class Test:
    """`field op value` against a constant. Order comparisons are for numbers only; a number and a
    word are never equal. So `!= ""` on a field that is never an empty word says: the field is known."""

    field: str
    op: str
    value: Value


@dataclass(frozen=True, slots=True)
class Join:
    """`field op patterns[other].other_field`; `other` is an earlier pattern's position."""

    field: str
    op: str
    other: int
    other_field: str


@dataclass(frozen=True, slots=True)
class Pattern:
    kind: str
    tests: tuple[Test, ...] = ()
    joins: tuple[Join, ...] = ()


@dataclass(frozen=True, slots=True)
class Head:
    """The fact that a firing concludes. Its id is `kind:name` and the values of its key fields, so
    that firings which conclude the same thing share one fact with several derivations."""

    kind: str
    name: str
    """Becomes the field `name` of the concluded fact."""
    fields: tuple[tuple[str, Value | tuple[int, str]], ...] = ()
    """(field, constant) or (field, (pattern position, field of that fact)). A field that the fact
    lacks is left out of the concluded fact too."""


@dataclass(frozen=True, slots=True)
class Rule:
    name: str
    patterns: tuple[Pattern, ...]
    head: Head
    absent: tuple[Pattern, ...] = ()
    """Patterns of which no fact may match. Joins of one absent pattern refer to one positive
    pattern only (`other` is its position), or to none. No two positive patterns bind the same fact,
    and an absent pattern overlooks the one fact that its joins refer to, but no other."""


@dataclass(frozen=True, slots=True)
class Derivation:
    """One way a fact was concluded: the rule and the ids of the facts that matched, pattern by
    pattern, then the ids of the absence facts."""

    rule: str
    parents: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    facts: tuple[Fact, ...]
    """Concluded facts, and the absence facts (kind `absent`) that took part in a firing, sorted by id."""
    proofs: Mapping[str, tuple[Derivation, ...]] = field(default_factory=dict)
    """Fact id to all its derivations, sorted."""
    firings: int = 0
    """How many combinations of facts matched a rule, over all rules."""
    engine: str = ""
    """`rete` or `fixpoint`."""


class EngineError(Exception):
    """A ruleset or a fact that an engine refuses: a limit passed, a cycle, a malformed rule."""
