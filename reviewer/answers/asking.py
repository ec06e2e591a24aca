"""A question, or a dialogue on standard input, to replies and an exit status."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from reviewer.answers import dialogue
from reviewer.answers.answer import replies
from reviewer.answers.compute import Desk
from reviewer.answers.read import read
from reviewer.answers.reading import Option, Reading
from reviewer.errors import InputError
from reviewer.library.places import find_place
from reviewer.library.zones import parse_zone
from reviewer.model.override import override
from reviewer.model.parse import section_from_line
from reviewer.model.section import Section
from reviewer.reply import Replies
from reviewer.review import Units, load_rules

STATUS = {"answered": 0, "asked back": 1, "referred": 2, "not understood": 2}
"""Exit status: 0 answered, 1 something has to be told first, 2 no question that can be answered here."""


def desk_for(rules: Sequence[Path], edition: str, units: Units | None) -> Desk:
    """Raises InputError: a folder of rules that can't be read."""
    return Desk(load_rules(tuple(rules)) if rules else None, edition, units)


def ask(question: str, desk: Desk, place: str | None = None) -> Replies:
    """The replies to a text; `place` is where it stands, whatever the text says. Raises InputError for that place."""
    return replies(question, _reader(place)(question, None), desk)


def status(found: Replies) -> int:
    """The graver one where several questions were asked."""
    return max((STATUS[r.status] for r in found.replies), default=2)


def converse(desk: Desk, place: str | None, show: Callable[[str], None]) -> Iterator[Replies]:
    """A dialogue on standard input: with a prompt on a terminal, a question a line from a pipe."""
    talking = dialogue.Dialogue(_reader(place), desk)
    if not sys.stdin.isatty():
        yield from dialogue.talk(talking, sys.stdin, skip_empty=True)
        return
    show(dialogue.OPENING)
    yield from dialogue.talk(talking, _typed(), skip_empty=False)


def _typed() -> Iterator[str]:
    while True:
        try:
            yield input(dialogue.PROMPT)
        except EOFError:
            return


def _reader(place: str | None) -> dialogue.Reader:
    """Reads a text; where `place` is given, everything it speaks of stands there. Raises InputError for the place."""
    if place is None:
        return lambda text, before: read(text, before=before)
    given = place
    put(section_from_line("latex paint", kind="wall"), given)
    return lambda text, before: [_moved(r, given) for r in read(text, before=before)]


def put(section: Section, place: str) -> Section:
    """The section at a place or in a zone. Raises InputError."""
    try:
        group, zone = parse_zone(place)
    except InputError:
        find_place(place)
        return override(section, place=place)
    return override(section, zone=f"{group} {zone}".strip())


def _moved(r: Reading, place: str) -> Reading:
    return replace(
        r,
        base=None if r.base is None else put(r.base, place),
        options=tuple(Option(o.label, put(o.section, place)) for o in r.options),
        gaps=tuple(
            replace(g, replies=tuple((label, put(s, place)) for label, s in g.replies))
            for g in r.gaps
            if g.what != "place"
        ),
    )
