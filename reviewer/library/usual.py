"""What a layer that nobody has looked at may be, by the building's year and climate: stated assumptions only."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from reviewer.document import Node, Reader, read_document

_DATA = Path(__file__).parent / "data" / "usual_layers.yaml"


@dataclass(frozen=True, slots=True)
class Usual:
    """One thing that a layer may be."""

    layer: str
    """As a section would write it; empty for nothing there."""
    says: str
    first: int | None
    last: int | None
    later: bool
    """Put into older buildings since."""
    zones: tuple[int, int] | None
    kinds: frozenset[str]
    source: str
    """Where that it was usual is known from."""

    def fits(self, kind: str, year: int | None, zone: int | None) -> bool:
        """Whether it may be there; what is not known excludes nothing.

        >>> plywood = Usual("1/2 in plywood", "plywood", 1945, None, False, None, frozenset(), "")
        >>> plywood.fits("wall", 1936, 6), plywood.fits("wall", 1960, 6), plywood.fits("wall", None, None)
        (False, True, True)
        """
        if self.kinds and kind not in self.kinds:
            return False
        if year is not None:
            if self.first is not None and year < self.first and not self.later:
                return False
            if self.last is not None and year > self.last:
                return False
        return zone is None or self.zones is None or self.zones[0] <= zone <= self.zones[1]

    @property
    def when(self) -> str:
        """`1945 and later`; empty for any time."""
        if self.first is not None and self.last is not None:
            text = f"{self.first} to {self.last}"
        elif self.first is not None:
            text = f"{self.first} and later"
        elif self.last is not None:
            text = f"up to {self.last}"
        else:
            return ""
        return f"{text}, and put in since" if self.later and self.last is None else text


@dataclass(frozen=True, slots=True)
class Subject:
    """What an unknown layer is said to be, and all that it may be."""

    name: str
    words: frozenset[str]
    kinds: frozenset[str]
    find_out: str
    rows: tuple[Usual, ...]


def subject_of(words: str, kind: str) -> Subject | None:
    """The subject that an unknown layer's words speak of; None when nothing is said that narrows it down.

    >>> found = subject_of("roof sheathing", "roof")
    >>> found.name if found else None, subject_of("layer", "wall")
    ('roof deck', None)
    """
    said = frozenset(words.casefold().split())
    return next((s for s in subjects() if kind in s.kinds and said & s.words), None)


@lru_cache(maxsize=1)
def subjects() -> tuple[Subject, ...]:
    """All of the table. Raises InputError: the table is not in order."""
    reader = Reader()
    top = reader.map(read_document(_DATA), ("source", "subjects"), "the table of usual layers")
    source = top["source"].text
    found = tuple(_subject(n, source, reader) for n in top["subjects"].items)
    reader.finish()
    return found


def _subject(node: Node, source: str, reader: Reader) -> Subject:
    f = reader.map(node, ("subject", "words", "kinds", "find out", "rows"), "a subject")
    return Subject(
        f["subject"].text,
        _set(f["words"]),
        _set(f["kinds"]),
        f["find out"].text.strip(),
        tuple(_row(n, source, reader) for n in f["rows"].items),
    )


def _row(node: Node, source: str, reader: Reader) -> Usual:
    f = reader.map(
        node, ("layer", "says", "from", "to", "later", "zones", "kinds", "source"), "a usual layer"
    )
    layer = f["layer"].text if "layer" in f else ""
    zones = [int(w) for w in f["zones"].text.split() if w.isdigit()] if "zones" in f else []
    return Usual(
        layer,
        f["says"].text if "says" in f else layer,
        reader.integer(f.get("from"), low=1700, high=2100),
        reader.integer(f.get("to"), low=1700, high=2100),
        bool(reader.flag(f.get("later"))),
        (zones[0], zones[-1]) if zones else None,
        _set(f["kinds"]) if "kinds" in f else frozenset(),
        f["source"].text if "source" in f else source,
    )


def _set(node: Node) -> frozenset[str]:
    return frozenset(w.strip() for w in node.text.split(","))
