"""The words that a question may hold: materials by the library's names, and the trade's shorthand of the data files.

Everything is compared in the normal form of `reviewer.library.materials.normalize`, word by word.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

from reviewer.document import Node, read_document
from reviewer.library.materials import load_materials, normalize
from reviewer.model.lexicon import library_lexicon

_DATA = os.path.join(os.path.dirname(__file__), "data")


@lru_cache(maxsize=16384)
def normal(text: str) -> str:
    """`normalize`, remembered: the same words come again and again."""
    return normalize(text)


@dataclass(frozen=True, slots=True)
class Entry:
    """One reading of a phrase."""

    sort: str
    """`material`, `loose`, `role`, `space`, `kind`, `side`, `relation`, `negation`, …"""
    value: str
    """The material's id, the kind, the side; for `loose` and `role` the number of the row."""


@dataclass(frozen=True, slots=True)
class Loose:
    """A word that names a kind of thing, and the material that is taken for it."""

    takes: str
    decides: tuple[str, ...]
    veneer: str
    side: str
    why: str
    open: tuple[str, ...] = ()
    """What else it may be, where that can decide."""


@dataclass(frozen=True, slots=True)
class Role:
    """A function that a layer may have, and what stands for it where one is put in."""

    role: str
    takes: str
    retarder: str
    text: str
    why: str


@dataclass(frozen=True, slots=True)
class Profession:
    """Who is asked about what is no moisture question."""

    to: str
    about: str
    strong: frozenset[str]
    """Words that decide whatever else a question holds."""


SORTS = (
    *("space", "material", "loose", "kind", "role", "relation", "side", "negation", "alternative"),
    *("joints", "condition", "finding", "property", "indoor", "building", "climate", "concept", "referred"),
)
"""Which reading of a phrase comes first where it has several."""


def plain(node: Node) -> Any:
    """A node as plain values, every scalar a text."""
    if node.kind == "map":
        return {name: plain(value) for name, value in node.fields.items()}
    return [plain(item) for item in node.items] if node.kind == "list" else node.text


@cache
def data(name: str) -> Any:
    """A data file of this package as plain values."""
    return plain(read_document(os.path.join(_DATA, name)))


def listed(text: str) -> Iterator[str]:
    """The phrases of a comma-separated list."""
    return filter(None, (part.strip() for part in text.split(",")))


class Lexicon:
    """Phrases in normal form and their readings, and the words they are made of."""

    def __init__(self) -> None:
        self.phrases: dict[str, list[Entry]] = {}
        self.longest: dict[str, int] = {}
        """First word of a phrase to the number of words of the longest phrase that starts with it."""
        self.loose: list[Loose] = []
        self.roles: list[Role] = []
        self.professions: list[Profession] = []
        words = data("wording.yaml")
        for sort, of in (("space", "spaces"), ("kind", "kinds"), ("side", "sides"), ("relation", "relations"),
                         ("joints", "joints"), ("condition", "conditions"), ("finding", "findings"),
                         ("property", "properties"), ("indoor", "indoor"), ("building", "building"),
                         ("climate", "climates")):  # fmt: skip
            for value, phrases in words[of].items():
                self.add_all(listed(phrases), sort, value)
        self.add_all(listed(words["negations"]), "negation", "no")
        self.replaces = frozenset(normalize(w) for w in listed(words["replaces"]))
        for phrase in listed(words["alternatives"]):
            self.add(
                normalize(phrase), "alternative", "instead" if normalize(phrase) in self.replaces else "or"
            )
        for row in words["loose"]:
            self.add_all(listed(row["words"]), "loose", str(len(self.loose)))
            decides = tuple(listed(row.get("decides", "")))
            self.loose.append(
                Loose(
                    row.get("takes", ""),
                    decides,
                    row.get("veneer", ""),
                    row.get("side", ""),
                    row["why"],
                    tuple(listed(row.get("open", ""))),
                )
            )
        for row in words["roles"]:
            self.add_all(listed(row["words"]), "role", str(len(self.roles)))
            self.roles.append(
                Role(row["role"], row["takes"], row.get("retarder", ""), row["text"], row["why"])
            )
        for row in words["professions"]:
            strong = [normalize(w) for w in listed(row["strong"])]
            self.add_all((*strong, *listed(row["words"])), "referred", str(len(self.professions)))
            self.professions.append(Profession(row["to"], row["about"], frozenset(strong)))
        self.concepts: dict[str, str] = {}
        """Names of concepts to their ids. They are looked for by themselves, since many hold words for layers."""
        for value, names in (*_concepts(), *((k, list(listed(v))) for k, v in words["concepts"].items())):
            for name in names:
                self.concepts.setdefault(normalize(name), value)
        self.longest_concept: dict[str, int] = {}
        """First word of a concept's name to the number of words of the longest name that starts with it."""
        for name in self.concepts:
            first, count = name.partition(" ")[0], name.count(" ") + 1
            self.longest_concept[first] = max(self.longest_concept.get(first, 0), count)
        self.things = frozenset(listed(words["things"]))
        """Concepts that are layers or ways of building too."""
        self.explained_by: dict[str, str] = words["explained by"]
        self.pairs = {frozenset(listed(k)): v for k, v in words["pairs"].items()}
        self.elsewhere = frozenset(normalize(w) for w in listed(words["elsewhere"]))
        self.never_ours = frozenset(normalize(w) for w in listed(words["never ours"]))
        self.foreign = frozenset(listed(words["foreign"]))
        for name, phrases in words["materials"].items():
            self.add_all(listed(phrases), "material", name)
        ours = ("material", "loose", "role", "space", "spacing")
        for name, id_ in library_lexicon().names.items():
            if not any(e.sort in ours for e in self.phrases.get(name, ())):
                self.add(name, "material", id_)
        self.by_words: dict[tuple[str, ...], str] = {}
        for phrase, entries in self.phrases.items():
            if " " in phrase and any(e.sort == "material" for e in entries):
                self.by_words.setdefault(tuple(sorted(phrase.split())), phrase)
        self.of_many = frozenset(w for run in self.by_words for w in run)
        """Words of the names that are known in any order."""
        common = frozenset(w for p in listed(words["common"]) for w in p.split())
        self.trade = (
            frozenset(
                w
                for p, entries in self.phrases.items()
                for w in p.split()
                if entries[0].sort in ("material", "loose") and w.isalpha() and len(w) > 2
            )
            - common
        )
        """Words that are part of the names of layers and say little else."""
        self.shorthand: dict[str, str] = words["shorthand"]
        """Ordinary words as people type them in haste, and what they are."""
        self.ordinary = ordinary()
        self.english = english()
        self.occurs = Counter(w for p in (*self.phrases, *self.concepts) for w in p.split())
        """How many phrases each word is part of."""
        self.vocabulary = frozenset(self.occurs)

    def add_all(self, phrases: Iterable[str], sort: str, value: str) -> None:
        for phrase in phrases:
            self.add(normalize(phrase), sort, value)

    def add(self, phrase: str, sort: str, value: str) -> None:
        if not phrase:
            return
        entries = self.phrases.setdefault(phrase, [])
        if not any(e.sort == sort for e in entries):
            entries.append(Entry(sort, value))
        first, count = phrase.partition(" ")[0], phrase.count(" ") + 1
        if self.longest.get(first, 0) < count:
            self.longest[first] = count


def _concepts() -> Iterator[tuple[str, list[str]]]:
    """Concepts that are explained: their ids and the names that they go by."""
    if not os.path.exists(os.path.join(_DATA, "concepts.yaml")):
        return
    top = data("concepts.yaml")
    rows = top.get("concepts", []) if isinstance(top, dict) else top
    for id_, row in rows.items() if isinstance(rows, dict) else ((r["id"], r) for r in rows):
        names = row.get("names", [])
        yield id_, [*(names if isinstance(names, list) else listed(names)), id_.replace("-", " ")]


@cache
def ordinary() -> frozenset[str]:
    """Ordinary words that say nothing here, in normal form."""
    return _words("ordinary.txt")


@cache
def english() -> frozenset[str]:
    """Further English words, in normal form."""
    return _words("english.txt")


def _words(name: str) -> frozenset[str]:
    with open(os.path.join(_DATA, name), encoding="utf-8") as f:
        return frozenset(w for line in f if not line.startswith("#") for w in line.split())


@cache
def lexicon() -> Lexicon:
    """The lexicon of this package."""
    return Lexicon()


def near_words(word: str) -> tuple[tuple[str, float], ...]:
    """Trade words that `word` may be a misspelling of, the nearest first, each with the confidence of that."""
    return _near(word)


@lru_cache(maxsize=4096)
def _near(word: str) -> tuple[tuple[str, float], ...]:
    from rapidfuzz import process
    from rapidfuzz.distance import OSA

    allowed = 0 if len(word) < 4 else 1 if len(word) < 7 else 2
    if not allowed or not word.isalpha():
        return ()
    hits = process.extract(word, _spellable(), scorer=OSA.distance, score_cutoff=allowed, limit=6)
    found: list[tuple[str, float]] = []
    for near, distance, _ in hits:
        # A changed first letter is a rarer mistake than any other.
        if distance and near[0] != word[0] and not (len(word) > 5 and sorted(near) == sorted(word)):
            distance += 1
        if distance <= allowed:
            found.append((near, round(1.0 - 0.5 * distance / max(len(word) - 2, 2), 3)))
    return tuple(sorted(found, key=lambda n: (-n[1], n[0])))


@cache
def asking_words() -> frozenset[str]:
    """The small words by which questions are told apart, where they are long enough to be misspelt."""
    words = (
        w
        for row in data("intents.yaml")
        for p in row["patterns"]
        for part in p.split()
        for w in part.rstrip("*?").split("|")
    )
    return frozenset(w for w in words if len(w) > 3 and w.isalpha() and w.islower())


@cache
def _spellable() -> list[str]:
    words = lexicon().vocabulary | set(listed(data("wording.yaml")["spellings"])) | asking_words()
    return sorted(w for w in words if len(w) > 3 and w.isalpha())


def material_family(id_: str) -> str:
    """The family of a material of the library."""
    return load_materials()[id_].family
