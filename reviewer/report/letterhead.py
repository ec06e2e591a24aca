"""Who writes a review, to whom, on which day: a small YAML file.

::

    firm: Lantern Row Enclosure Office
    address: [14 Lantern Row, "Duluth, MN 55802"]
    contact: [218 555 0142, office@lanternrow.example]
    date: 2026-11-25
    project: Mill Street addition
    reference: 26-114
    client: [Lantern Row Housing Cooperative, "2 Mill Street"]
    reviewer: {name: A. Okafor, title: Enclosure consultant, license: PE 00000}

Every key may be missing; what is missing is left out of the letter. The date is the only one that a report ever
has: the clock is never asked.
"""

from __future__ import annotations

import datetime
import os
from dataclasses import dataclass
from typing import Any, Final

from reviewer.document import Node, Reader, parse_document, read_document

LINES: Final = 8
"""At most, of an address: a letter has a page to say something on."""
LONGEST: Final = 120
"""Characters in a line of a letterhead."""
PAPERS: Final = ("letter", "A4")


@dataclass(frozen=True, slots=True)
class Signatory:
    name: str = ""
    title: str = ""
    license: str = ""


@dataclass(frozen=True, slots=True)
class Letterhead:
    firm: str = ""
    address: tuple[str, ...] = ()
    contact: tuple[str, ...] = ()
    date: str = ""
    """`2026-11-25`."""
    project: str = ""
    reference: str = ""
    client: tuple[str, ...] = ()
    reviewer: Signatory | None = None
    paper: str = ""
    """`letter` or `A4`; empty: by the units of the report."""

    @property
    def day(self) -> str:
        """The date as it stands in a letter.

        >>> Letterhead(date="2026-03-02").day
        'March 2, 2026'
        """
        if not self.date:
            return ""
        day = datetime.date.fromisoformat(self.date)
        return f"{_MONTHS[day.month - 1]} {day.day}, {day.year}"


_MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)
_KEYS: Final[dict[str, str]] = {
    "firm": "Who writes the review.",
    "address": "The firm's address, line by line.",
    "contact": "Telephone, mail and the like, line by line.",
    "date": "The date of the letter, as 2026-11-25.",
    "project": "The project that the section belongs to.",
    "reference": "The firm's own number for it.",
    "client": "To whom it goes, line by line.",
    "reviewer": "Who signs: name, title, license.",
    "paper": "letter or A4 (default: letter for inch-pound reports, A4 for SI).",
}
_REVIEWER: Final[dict[str, str]] = {
    "name": "The name under the signature.",
    "title": "What that person is.",
    "license": "License and number, where there is one.",
}


def read_letterhead(path: str | os.PathLike[str]) -> Letterhead:
    """Read a letterhead file.

    Raises InputError: with every problem of the file, in its order.
    """
    return _read(read_document(path))


def parse_letterhead(text: str | bytes, file: str = "<text>") -> Letterhead:
    """As `read_letterhead`, of a text.

    >>> parse_letterhead("firm: Lantern Row\\nclient: The cooperative").client
    ('The cooperative',)
    """
    return _read(parse_document(text, file))


def _read(node: Node) -> Letterhead:
    r = Reader()
    fields = r.map(node, known=_KEYS, what="a letterhead")

    def one(name: str) -> str:
        return _line(r, fields.get(name), f'"{name}"')

    def several(name: str) -> tuple[str, ...]:
        found = fields.get(name)
        if found is not None and found.kind == "list" and len(found.items) > LINES:
            r.problem(found, f'"{name}" has more than {LINES} lines', f"at most {LINES} lines")
            return ()
        items = [found] if found is not None and found.kind == "scalar" else r.list(found, f'"{name}"')
        return tuple(t for t in (_line(r, item, f'a line of "{name}"') for item in items) if t)

    signs = r.map(fields.get("reviewer"), known=_REVIEWER, what='"reviewer"')
    signatory = {name: _line(r, signs.get(name), f'"{name}"') for name in _REVIEWER}
    letterhead = Letterhead(
        firm=one("firm"),
        address=several("address"),
        contact=several("contact"),
        date=_date(r, fields.get("date")),
        project=one("project"),
        reference=one("reference"),
        client=several("client"),
        reviewer=Signatory(**signatory) if any(signatory.values()) else None,
        paper=r.choice(fields.get("paper"), PAPERS, '"paper"') or "",
    )
    r.finish()
    return letterhead


def _line(r: Reader, node: Node | None, what: str) -> str:
    text = r.text(node, what, LONGEST)
    return " ".join(text.split()) if text else ""


def _date(r: Reader, node: Node | None) -> str:
    text = r.text(node, '"date"')
    if node is None or text is None:
        return ""
    try:
        if len(text) != len("2026-11-25"):
            raise ValueError(text)
        return datetime.date.fromisoformat(text).isoformat()
    except ValueError:
        r.problem(node, f'"{text[:40]}" is not a date', "year, month and day, such as 2026-11-25")
        return ""


def letterhead_schema() -> dict[str, Any]:
    """JSON Schema of a letterhead file."""
    line = {"type": "string", "minLength": 1, "maxLength": LONGEST}
    lines = {"oneOf": [line, {"type": "array", "items": line, "maxItems": LINES}]}
    kinds: dict[str, Any] = {
        **dict.fromkeys(("address", "contact", "client"), lines),
        "date": {"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"},
        "paper": {"enum": list(PAPERS)},
        "reviewer": {
            "type": "object",
            "properties": {name: {**line, "description": about} for name, about in _REVIEWER.items()},
            "additionalProperties": False,
        },
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Letterhead",
        "description": "Who writes a review, to whom, on which day. Every key may be missing.",
        "type": "object",
        "properties": {
            name: {**kinds.get(name, line), "description": about} for name, about in _KEYS.items()
        },
        "additionalProperties": False,
    }
