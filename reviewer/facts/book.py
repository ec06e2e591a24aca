"""The book of facts of one review: every value with its origin, and every value that is missing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from reviewer.engine.types import Fact, Value
from reviewer.facts.vocabulary import KINDS


class Origin(NamedTuple):
    """Where a value comes from, in the words of the report."""

    origin: str
    """given, looked up, computed, concluded or assumed."""
    how: str = ""
    source: str = ""


class Assumption(NamedTuple):
    what: str
    why: str
    affects: str = ""


@dataclass(slots=True)
class Record:
    """One fact being filled. `None` is never stored: an unknown value has a reason instead."""

    kind: str
    id: str
    label: str
    """For people: `layer 3, oriented strand board`."""
    fields: dict[str, Value] = field(default_factory=dict)
    origins: dict[str, Origin] = field(default_factory=dict)
    unknown: dict[str, str] = field(default_factory=dict)

    def put(
        self, name: str, value: float | str | bool | None, origin: Origin | None = None, why: str = ""
    ) -> None:
        """Store a value; None with a reason is an unknown, None without one does not apply here."""
        kind = type(value)
        if kind is bool:
            self.fields[name] = "yes" if value else "no"
        elif kind is float or kind is str:
            self.fields[name] = value  # type: ignore[assignment]
        elif value is None:
            if why:
                self.unknown[name] = why
            return
        else:
            self.fields[name] = value if isinstance(value, str) else float(value)
        if origin is not None:
            self.origins[name] = origin

    def origin(self, name: str) -> Origin:
        if name in self.origins:
            return self.origins[name]
        f = KINDS[self.kind].fields[name]
        return Origin(f.origin, f.how, f.source)


@dataclass(slots=True)
class Book:
    records: list[Record] = field(default_factory=list)
    assumptions: list[Assumption] = field(default_factory=list)
    calculations: dict[str, Any] = field(default_factory=dict)
    cautions: list[str] = field(default_factory=list)
    workings: dict[str, Any] = field(default_factory=dict)
    """Numbers that the calculations went through, for those who want to see the work."""

    def record(self, kind: str, key: str = "", label: str = "") -> Record:
        r = Record(kind, f"{kind}:{key}" if key else kind, label or KINDS[kind].meaning)
        self.records.append(r)
        return r

    def assume(self, what: str, why: str, affects: str = "") -> None:
        a = Assumption(what, why, affects)
        if a not in self.assumptions:
            self.assumptions.append(a)

    def facts(self) -> list[Fact]:
        return [Fact(r.id, r.kind, r.fields) for r in self.records]

    def unknown(self) -> Mapping[str, Mapping[str, str]]:
        return {r.id: r.unknown for r in self.records if r.unknown}

    def by_id(self) -> dict[str, Record]:
        return {r.id: r for r in self.records}
