"""What people ask `Why not always ...?` of, and what is answered: the entries of a data file, and the one a question means."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from reviewer.answers.compute import ALL_ZONES
from reviewer.answers.concepts import citation
from reviewer.answers.lexicon import normal
from reviewer.answers.reading import Reading
from reviewer.citations import Citation
from reviewer.document import Node, Reader, read_document
from reviewer.model.parse import section_from_line
from reviewer.model.section import Section

FILE = os.path.join(os.path.dirname(__file__), "data", "whynot.yaml")
NOT_TOLD = "not told"
"""Stands among positions for a question that names none."""
KINDS = ("wall", "roof", "foundation wall", "floor", "slab")


@dataclass(frozen=True, slots=True)
class Pair:
    """Two sections, without and with a thing, that show what it does."""

    on: str
    """Which sections, in words."""
    kind: str
    without: str
    """Layers in one line."""
    given: str
    indoor: tuple[str | None, str | None] = (None, None)
    """Named indoor conditions, where it is the rooms that differ."""

    def sections(self) -> tuple[Section, Section]:
        """Both, in zone 5A. Raises InputError as `section_from_line`."""
        without, given = (
            section_from_line(line, kind=self.kind, zone="5A", indoor=indoor)
            for line, indoor in zip((self.without, self.given), self.indoor, strict=True)
        )
        return without, given


@dataclass(frozen=True, slots=True)
class WhyNot:
    """One thing, and why it is not always right."""

    id: str
    names: tuple[str, ...]
    materials: tuple[str, ...]
    roles: tuple[str, ...]
    concepts: tuple[str, ...]
    kinds: tuple[str, ...]
    """Kinds of sections that it is answered for."""
    positions: tuple[str, ...]
    """Where it must lie to be meant by its material or role; empty: anywhere."""
    beside: tuple[str, ...]
    """Materials of which the section must have one for it to be meant by its own materials or role."""
    because: str
    cites: tuple[Citation, ...]
    see: tuple[str, ...]
    """Explanations."""
    pair: Pair | None
    harms: tuple[str, ...]
    """Zones in which it must be seen to do harm."""
    helps: tuple[str, ...]


_REQUIRED = ("id", "names", "kinds", "because", "cites", "see")
_PAIR = ("on", "kind", "without", "with")
_KEYS = (
    *_REQUIRED, "materials", "roles", "concepts", "positions", "beside", *_PAIR, "indoor without", "indoor with", "harms", "helps",
)  # fmt: skip


@lru_cache(maxsize=1)
def entries() -> Mapping[str, WhyNot]:
    """All entries by id, in the order of the file. Raises InputError for a file that is not in order."""
    reader = Reader()
    top = reader.map(read_document(FILE), ("whynot",), "the entries", required=("whynot",))
    found = [_entry(reader, n) for n in reader.list(top.get("whynot"), "the entries")]
    reader.finish()
    return {e.id: e for e in found}


def _entry(reader: Reader, node: Node) -> WhyNot:
    fields = reader.map(node, _KEYS, "an entry", required=_REQUIRED)

    def text(key: str) -> str:
        return " ".join((reader.text(fields.get(key), f"“{key}”") or "").split())

    def texts(key: str, words: Sequence[str] = ()) -> tuple[str, ...]:
        if not words:
            return tuple(reader.texts(fields.get(key), f"“{key}”"))
        items = reader.list(fields.get(key), f"“{key}”")
        return tuple(w for n in items if (w := reader.choice(n, words, f"“{key}”")) is not None)

    pair = None
    if any(key in fields for key in _PAIR):
        lines = {key: text(key) for key in _PAIR}
        missing = [key for key, value in lines.items() if not value]
        if missing:
            reader.problem(
                node, f"an entry has no “{missing[0]}”", "all of on, kind, without and with, or none"
            )
        else:
            rooms = [text(k) if k in fields else None for k in ("indoor without", "indoor with")]
            pair = Pair(lines["on"], lines["kind"], lines["without"], lines["with"], (rooms[0], rooms[1]))
    return WhyNot(
        text("id"),
        texts("names"),
        texts("materials"),
        texts("roles"),
        texts("concepts"),
        texts("kinds", KINDS),
        texts("positions"),
        texts("beside"),
        text("because"),
        tuple(citation(reader, n) for n in reader.list(fields.get("cites"), "the sources")),
        texts("see"),
        pair,
        texts("harms", ALL_ZONES),
        texts("helps", ALL_ZONES),
    )


_SET_ASIDE = re.compile(r"\b(?:instead of|rather than|in place of|in lieu of|versus|vs|over just)\b.*")
"""What a thing is preferred to is not what is asked about."""
_NO_MATTER = frozenset(
    (
        "a",
        "an",
        "the",
        "every",
        "each",
        "any",
        "your",
        "my",
        "our",
        "their",
        "alway",
        "up",
        "totally",
        "completely",
    )
)


def _spoken(text: str) -> str:
    """In normal form, without the words that make no difference to what is named.

    >>> _spoken("vent every one of the crawl spaces")
    'vent one of crawl space'
    """
    return " ".join(w for w in normal(text).split() if w not in _NO_MATTER)


def _both_ways(said: str) -> tuple[str, str]:
    """With and without `all`: all crawl spaces are crawl spaces, but all the insulation is more than insulation."""
    return f" {said} ", f" {' '.join(w for w in said.split() if w != 'all')} "


def kinds_told(reading: Reading) -> set[str]:
    """The kinds of sections that the question names."""
    return {w.reads.partition(",")[0] for w in reading.words if w.sort == "kind"} & set(KINDS)


def named(text: str) -> bool:
    """Whether a text names one of the things, told kinds of sections apart."""
    said = _both_ways(_spoken(text))
    return any(f" {n} " in form for id_ in entries() for n in _names_of(id_) for form in said)


def meant(reading: Reading, *, earlier: bool = True) -> WhyNot | None:
    """The entry that a question is about; None where there is none. A name in the question counts most, the longest first,
    then what was read as its subject, then a told kind of section and side. With `earlier`, a question that names
    nothing itself (`why isn't it done everywhere?`) is about what was talked of before."""
    told = kinds_told(reading)
    if reading.base is not None:
        told.add(reading.base.kind)
    found = _best(reading, _spoken(_SET_ASIDE.sub("", normal(reading.text))), told)
    if found is None and reading.subject is None and earlier:
        found = _best(reading, _spoken(" ".join(w.text for w in reading.words)), told)
    return found


def _best(reading: Reading, said: str, told: set[str]) -> WhyNot | None:
    best: tuple[float, WhyNot] | None = None
    for e in entries().values():
        score = _score(e, reading, _both_ways(said), told)
        if score and (best is None or score > best[0]):
            best = score, e
    return None if best is None else best[1]


def _score(e: WhyNot, reading: Reading, said: tuple[str, str], told: set[str]) -> float:
    s = reading.subject
    if told and not told & set(e.kinds):
        return 0
    words = max(
        (n.count(" ") + 1 for n in _names_of(e.id) if any(f" {n} " in form for form in said)), default=0
    )
    side = s.position if s is not None else ""
    placed = not e.positions or (side or NOT_TOLD) in e.positions
    there = reading.base is not None and any(x.name in e.beside for x in reading.base.layers)
    placed = placed and (there or not e.beside)
    lists = {"material": e.materials, "role": e.roles, "concept": e.concepts}
    subject = s is not None and placed and s.name in lists.get(s.sort, ())
    if not words and not subject:
        return 0
    exact = (
        bool(side and side in e.positions) + 0.5 * bool(told) * (len(e.kinds) == 1) + 5 * (there and subject)
    )
    unasked = not told and "wall" not in e.kinds and "roof" not in e.kinds
    return 2 * subject + (2 + words if words else 0) + exact - (1.5 if unasked and not words else 0)


@lru_cache(maxsize=256)
def _names_of(id_: str) -> tuple[str, ...]:
    return tuple(_spoken(n) for n in entries()[id_].names)
