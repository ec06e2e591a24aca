"""Many sections through the whole pipe, the physics of a batch in one go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reviewer.facts.batch import build_all
from reviewer.facts.book import Book
from reviewer.facts.build import Built, Sites
from reviewer.model.section import Section
from reviewer.review import Judgment, judge, load_rules

if TYPE_CHECKING:
    from reviewer.rules.ruleset import Ruleset


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the rules make of a section, and the heat that it lets through."""

    judgment: Judgment
    u_value: float | None
    """W/(m²·K), with framing."""


def count(judgment: Judgment, severity: str) -> int:
    """Findings of a severity."""
    return sum(f.part.severity == severity for f in judgment.findings)


class Judges:
    """Judges many sections by the whole pipe."""

    def __init__(self, rules: Ruleset | None = None, edition: str = ""):
        self.rules = rules if rules is not None else load_rules()
        self.edition = edition
        self._sites: Sites = {}
        self._alive: list[Section] = []

    def build(self, sections: Sequence[Section]) -> list[Built]:
        """The facts of each. Raises InputError."""
        known = len(self._sites)
        built = build_all(sections, self.edition, self._sites)
        if len(self._sites) > known:
            # Sites go by the identity of places, which must therefore live as long as they do.
            self._alive.extend(sections)
        return built

    def judge(self, sections: Sequence[Section]) -> list[Verdict]:
        """What the rules make of each. Raises InputError."""
        return [Verdict(judge(b[0], self.rules), u_value(b[0])) for b in self.build(sections)]


def u_value(book: Book) -> float | None:
    """Of the whole section, W/(m²·K); None when it is not known."""
    value = next(r for r in book.records if r.kind == "section").fields.get("u_value")
    return value if isinstance(value, float) else None
