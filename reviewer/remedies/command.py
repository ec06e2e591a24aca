"""The commands of this package: arguments to advice to text."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import cast

from reviewer.advice import LeastAdvice, RemedyAdvice
from reviewer.errors import InputError, Problem, nearest
from reviewer.model.parse import parse_section, section_from_line
from reviewer.model.section import Section
from reviewer.model.write import write_section
from reviewer.remedies.advise import advise
from reviewer.remedies.costs import load_costs
from reviewer.remedies.moves import UNTIL, Limits, kept_layers
from reviewer.result import Disposition
from reviewer.review import Units, load_rules
from reviewer.variants.judging import Judges
from reviewer.variants.progress import Counter


def read_section(text: str, kind: str | None, place: str | None) -> tuple[Section, str]:
    """A section and the text of its file: a path, "-", or layers in one line, which are put into a file's form.

    Raises InputError.
    """
    if "|" in text and not Path(text).exists():
        section = section_from_line(text, kind=kind, place=place)
        written = write_section(section)
        return parse_section(written, section.file), written
    if text == "-":
        data = sys.stdin.buffer.read()
        section = parse_section(data, "-")
    else:
        from reviewer.model.parse import load_section

        section = load_section(Path(text))
        data = Path(text).read_bytes()
    if kind is not None or place is not None:
        raise InputError(
            Problem("--kind and --place are for a section in one line", None, "them in the file")
        )
    return section, data.decode("utf-8")


def remedy(
    text: str,
    *,
    kind: str | None = None,
    place: str | None = None,
    keep: Sequence[str] = (),
    side: str = "",
    until: str = "make corrections noted",
    costs: Path | None = None,
    most_changes: int = 3,
    most_candidates: int = 2000,
    rules: Sequence[Path] = (),
    edition: str = "",
    units: Units | None = None,
) -> RemedyAdvice:
    """The remedies of one section. Raises InputError."""
    for value, known, option in ((until, UNTIL, "--until"), (side, ("", "inside", "outside"), "--from")):
        if value not in known:
            near = nearest(value, known)
            expected = "one of " + ", ".join(filter(None, known))
            raise InputError(Problem(f'{option} can\'t be "{value}"', None, expected, near))
    section, written = read_section(text, kind, place)
    limits = Limits(
        kept_layers(keep, section, edition), side, cast(Disposition, until), most_changes, most_candidates
    )
    stated = [f"{k} stays" for k in keep] + ([f"work from {side} only"] if side else [])
    prices = None if costs is None else load_costs(costs)
    judges = Judges(load_rules(tuple(rules)), edition)
    with Counter("combinations tried") as shown:
        return advise(section, written, judges, limits, prices, units, stated, shown)


def least(
    text: str,
    what: str,
    *,
    kind: str | None = None,
    place: str | None = None,
    rules: Sequence[Path] = (),
    edition: str = "",
    units: Units | None = None,
) -> LeastAdvice:
    """The least of an amount that clears. Raises InputError."""
    from reviewer.remedies.least import least as find

    section, _ = read_section(text, kind, place)
    judges = Judges(load_rules(tuple(rules)), edition)
    with Counter("amounts tried") as shown:
        return find(section, what, judges, units, shown)
