"""The commands of this package: arguments to results."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from reviewer.comparison import Comparison
from reviewer.errors import InputError, Mark, Problem, nearest
from reviewer.model import parse
from reviewer.model.override import override
from reviewer.model.section import Section
from reviewer.reaching import Reach
from reviewer.result import Disposition, Result
from reviewer.review import Units, load_rules
from reviewer.variants.judging import Judges
from reviewer.variants.progress import Counter

if TYPE_CHECKING:
    from reviewer.rules.ruleset import Ruleset

MOST_PLACES, MOST_BYTES = 5000, 1 << 20


def read_section(text: str, kind: str | None = None, place: str | None = None) -> Section:
    """A section file, "-" for standard input, or layers in one line. Raises InputError."""
    if "|" in text and not Path(text).exists():
        return parse.section_from_line(text, kind=kind, place=place)
    section = (
        parse.parse_section(sys.stdin.buffer.read(), "-") if text == "-" else parse.load_section(Path(text))
    )
    return override(section, kind=kind, place=place)


def reach(
    text: str,
    *,
    kind: str | None = None,
    indoor: str | None = None,
    places: Sequence[str] = (),
    listed: Path | None = None,
    until: str = "make corrections noted",
    rules: Sequence[Path] = (),
    edition: str = "",
    units: Units | None = None,
) -> Reach:
    """Where a section holds: in every zone, or at the places asked for. Raises InputError."""
    from reviewer.variants.reach import HOLDS
    from reviewer.variants.reach import reach as reach_of

    at_least: Disposition | None = next((d for d in HOLDS if d == until), None)
    if at_least is None:
        expected, near = "one of " + ", ".join(HOLDS), nearest(until, HOLDS)
        raise InputError(Problem(f'--until can\'t be "{until}"', None, expected, near))
    section = override(read_section(text, kind), indoor=indoor)
    asked = [(p, None) for p in places] + (read_places(listed) if listed is not None else [])
    there = [(p, _stands_at(section, p, mark)) for p, mark in asked]
    judges = Judges(load_rules(tuple(rules)), edition)
    return reach_of(section, judges, there, units, zones=not there, at_least=at_least)


def compare(
    texts: Sequence[str],
    *,
    kind: str | None = None,
    zones: Sequence[str] = (),
    places: Sequence[str] = (),
    rules: Sequence[Path] = (),
    edition: str = "",
    units: Units | None = None,
) -> Comparison:
    """Sections side by side; one in one line takes kind, place, indoor condition and building of the first that is a
    file. Raises InputError."""
    from dataclasses import replace

    from reviewer.library.places import zone_places
    from reviewer.variants.compare import climates_of
    from reviewer.variants.compare import compare as compare_all

    in_line = ["|" in t and not Path(t).exists() for t in texts]
    files = [read_section(t) for t, line in zip(texts, in_line, strict=True) if not line]
    first = files[0] if files else None
    rest = iter(files)
    sections: list[Section] = []
    for text, line in zip(texts, in_line, strict=True):
        if not line:
            sections.append(next(rest))
            continue
        s = read_section(text, kind or (first.kind if first is not None else None))
        if first is not None:
            # Only the layers are compared: all else is as in the file beside it.
            s = replace(first, id=s.id, title="", layers=s.layers, absent=s.absent, file=s.file, marks=s.marks,
                        kind=s.kind, waivers=(), zones_claimed=(), notes="", expect=None)  # fmt: skip
        sections.append(s)
    asked = [z.strip() for text in zones for z in text.split(",") if z.strip()]
    if "all" in asked:
        asked = [zone for system, zone in zone_places() if system == "US"]
    for place in places:
        _stands_at(sections[0], place, None)
    judges = Judges(load_rules(tuple(rules)), edition)
    return compare_all(sections, judges, climates_of(asked, places), units)


def _stands_at(section: Section, place: str, mark: Mark | None) -> Section:
    """The section at a place, which must be known. Raises InputError that names the line of the list."""
    from reviewer.library.places import climate_for, find_place

    try:
        climate_for(find_place(place))
    except InputError as e:
        raise InputError(
            [Problem(p.message, p.mark or mark, p.expected, p.nearest) for p in e.problems]
        ) from None
    return override(section, place=place)


def with_variants(
    results: Sequence[Result],
    sections: Sequence[Section],
    rules: Ruleset,
    edition: str,
    most: int,
    what_flips: bool,
) -> list[Result]:
    """The results with what unknown and ranged layers come to (at most so many possibilities of each section; 0:
    left out), and with what flips the verdict. Raises InputError."""
    from reviewer.variants.unknowns import ranged

    out: list[Result] = []
    judges: Judges | None = None
    for result, section in zip(results, sections, strict=True):
        parts: dict[str, object] = {}
        if most and ranged(section):
            from reviewer.variants.possible import possibilities

            judges = judges or Judges(rules, edition)
            with Counter("possibilities reviewed") as shown:
                found = possibilities(section, judges, most, result.units, shown)
            if found is not None:
                parts |= {"possibilities": found, "summary": f"{result.summary} {found.summary}"}
        if what_flips:
            from reviewer.variants.flip import flips

            judges = judges or Judges(rules, edition)
            parts["flips"] = flips(section, judges, result.units)
        out.append(result.model_copy(update=parts) if parts else result)
    return out


def read_places(path: Path) -> list[tuple[str, Mark | None]]:
    """Places of a file, one a line; what follows a # is a remark. Raises InputError."""
    try:
        data = path.read_bytes()
    except OSError as e:
        raise InputError(
            Problem(f'the list "{path}" can\'t be read: {e.strerror}', None, "a file with one place a line")
        ) from None
    if len(data) > MOST_BYTES:
        raise InputError(Problem(f'the list "{path}" is larger than 1 MiB', None, "a shorter list"))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(Problem(f'the list "{path}" is not UTF-8 text', None, "one place a line")) from None
    found: list[tuple[str, Mark | None]] = []
    for n, line in enumerate(text.splitlines(), 1):
        place = line.partition("#")[0].strip()
        if place:
            found.append((place, Mark(str(path), n, line.index(place) + 1)))
    if not found:
        raise InputError(Problem(f'the list "{path}" holds no place', None, "one place a line"))
    if len(found) > MOST_PLACES:
        raise InputError(
            Problem(f'the list "{path}" holds {len(found)} places', None, f"at most {MOST_PLACES}")
        )
    return found
