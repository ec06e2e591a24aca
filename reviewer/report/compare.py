"""Sections side by side, for people: verdicts and what one buys first, then layers, numbers, findings, climates."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from reviewer.comparison import At, Comparison, FindingPair, Number, Pair
from reviewer.report import words
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Paper
from reviewer.report.terminal import MAX_WIDTH, MIN_WIDTH, PROSE, Line, paint, wrap
from reviewer.units import DIMENSIONS, show


def as_json(comparison: Comparison) -> str:
    return comparison.model_dump_json(by_alias=True, indent=2) + "\n"


def schema() -> dict[str, Any]:
    """JSON Schema of `as_json`."""
    found = Comparison.model_json_schema(by_alias=True, mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **found}


def as_html(comparison: Comparison) -> str:
    """One page that needs nothing beside it."""
    from reviewer.report import html_compare

    return html_compare.render(comparison)


def as_paper(comparison: Comparison, letterhead: Letterhead | None = None, *, pictures: bool = True) -> Paper:
    """For PDF, DOCX, Markdown and the linear text."""
    from reviewer.report.compare_paper import compare_paper

    return compare_paper(comparison, letterhead, pictures=pictures)


def as_text(comparison: Comparison, width: int = 80, color: bool = False) -> str:
    """For a terminal: plain text, with colors when asked for."""
    width = min(max(width, MIN_WIDTH), MAX_WIDTH)
    return paint(_lines(comparison, width), width, color)


def stands(comparison: Comparison, at: int) -> str:
    """`wall · Duluth, MN · zone 7 · IRC 2021`."""
    s = comparison.sections[at]
    zone = f"zone {s.climate.zone}" if s.climate.zone else ""
    edition = s.climate.edition if s.climate.edition != "none" else ""
    place = words.clean(s.climate.place) if s.climate.place != "not stated" else "place not stated"
    return " · ".join(t for t in (s.section.kind, place, zone, edition) if t)


def amount(number: Number, at: int, units: str) -> str:
    """One cell of the table of numbers."""
    v = number.values[at]
    if v is None:
        return words.NONE
    if number.dimension == "ratio":
        return f"{v:.2f}"
    # The second unit that some quantities carry in parentheses has no room in a column.
    return (
        show(v, number.dimension, units).partition(" (")[0] if number.dimension in DIMENSIONS else f"{v:.3g}"
    )


def best(number: Number) -> int | None:
    """Which section is best, where one is by more than a twentieth."""
    known = [(v, n) for n, v in enumerate(number.values) if v is not None]
    if not number.better or len(known) < 2:
        return None
    ordered = sorted(known, reverse=number.better == "higher")
    (first, at), (second, _) = ordered[0], ordered[1]
    return at if abs(first - second) > 0.05 * max(abs(first), abs(second)) else None


def groups(c: Comparison, pair: Pair) -> list[tuple[str, list[FindingPair]]]:
    """The findings of a pair under headings, what moved first."""
    a, b = c.sections[pair.before].letter, c.sections[pair.after].letter
    heads = (
        ("only before", f"Only in {a}"),
        ("only after", f"Only in {b}"),
        ("graver", f"Graver in {b}"),
        ("milder", f"Milder in {b}"),
        ("both", f"In {a} and in {b}"),
    )
    return [
        (head, found) for moved, head in heads if (found := [f for f in pair.findings if f.moved == moved])
    ]


def _lines(c: Comparison, width: int) -> Iterator[Line]:
    prose = min(width, PROSE)
    yield Line("Side by side", "heading")
    for n, s in enumerate(c.sections):
        yield Line("")
        for t in wrap(words.clean(s.name), prose, f"{s.letter}  ", "   "):
            yield Line(t, "heading")
        for t in wrap(stands(c, n), prose, "   "):
            yield Line(t, "dim")
        verdict = words.DISPOSITIONS[s.disposition].upper()
        for k, t in enumerate(wrap(f"{verdict}: {s.summary}", prose, "   ")):
            yield Line(t, s.disposition if k == 0 else "plain", 3 + len(verdict) if k == 0 else -1)
    for pair in c.pairs:
        yield from _pair(c, pair, width)
    yield from _numbers(c, width)
    yield from _climates(c, width)
    yield Line("")
    yield Line("Cautions", "heading")
    for text in c.cautions:
        for t in wrap(text, prose, "  - "):
            yield Line(t)


def _pair(c: Comparison, pair: Pair, width: int) -> Iterator[Line]:
    prose = min(width, PROSE)
    a, b = c.sections[pair.before].letter, c.sections[pair.after].letter
    yield Line("")
    yield Line(f"What {b} buys over {a}", "heading")
    for t in wrap(pair.says, prose, "  "):
        yield Line(t)
    if pair.because:
        yield Line("  The verdict moves with:")
        for text in pair.because:
            for t in wrap(text, prose, "    - "):
                yield Line(t)
    yield Line("")
    yield Line(f"Layers of {a} and {b}, from the room outwards", "heading")
    yield from _layers(pair, a, b, width)
    yield Line("")
    yield Line(f"Findings of {a} and {b}", "heading")
    for head, found in groups(c, pair):
        yield Line(f"  {head}")
        for f in found:
            yield from _finding(f, prose)


def _finding(f: FindingPair, prose: int) -> Iterator[Line]:
    shown = f.after or f.before
    assert shown is not None
    severity = shown.severity
    mark = f"{'done well' if severity == 'credit' else severity}{moved(f)}"
    for n, t in enumerate(wrap(f"{mark}: {shown.title} [{shown.rule}]", prose, "    - ")):
        yield Line(t, severity if n == 0 else "plain", 6 + len(mark) if n == 0 else -1)
    for text in f.because:
        for t in wrap(text, prose, "        "):
            yield Line(t, "dim")


def moved(f: FindingPair) -> str:
    """What it was before, where it has grown or eased."""
    if f.moved not in ("graver", "milder") or f.before is None or f.after is None:
        return ""
    other = f": {words.clean(f.before.title)}" if f.before.rule != f.after.rule else ""
    return f" (was {f.severity_before}{other})"


_STEPS = {"same": " ", "changed": "~", "added": "+", "taken out": "-"}


def _layers(pair: Pair, a: str, b: str, width: int) -> Iterator[Line]:
    size = (min(width, 140) - 14) // 2
    yield Line(f"  {a:>2}  {'':<{size}}  {b:>2}", "heading")
    for p in pair.layers:
        left = wrap(p.text_before, size) if p.before is not None else [""]
        right = wrap(p.text_after, size) if p.after is not None else [""]
        for n in range(max(len(left), len(right))):
            numbers = [str(i + 1) if i is not None and n == 0 else "" for i in (p.before, p.after)]
            texts = [side[n] if n < len(side) else "" for side in (left, right)]
            step = _STEPS[p.step] if n == 0 else " "
            yield Line(f"{step} {numbers[0]:>2}  {texts[0]:<{size}}  {numbers[1]:>2}  {texts[1]}",
                       "plain" if p.step == "same" else "note")  # fmt: skip
        for text in p.differs:
            for t in wrap(text, width, "        "):
                yield Line(t, "dim")
    yield Line("  ~ changed; + added; - taken out", "dim")


def _numbers(c: Comparison, width: int) -> Iterator[Line]:
    if not c.numbers:
        return
    yield Line("")
    yield Line("Numbers", "heading")
    cells = [[amount(n, k, c.units) + ("*" if best(n) == k else " ") for k in range(len(c.sections))]
             for n in c.numbers]  # fmt: skip
    size = max(8, *(len(t) for row in cells for t in row))
    total = width - 2 - len(c.sections) * (size + 2)
    if total < 20:
        # Too many sections for columns: one below the other.
        for n, row in zip(c.numbers, cells, strict=True):
            yield Line(f"  {n.label}")
            for s, t in zip(c.sections, row, strict=True):
                yield Line(f"    {s.letter}  {t.rstrip()}")
        return
    label = min(total, max(len(n.label) for n in c.numbers))
    yield Line(f"  {'':<{label}}" + "".join(f"  {s.letter:>{size}}" for s in c.sections), "heading")
    for n, row in zip(c.numbers, cells, strict=True):
        names = wrap(n.label, label)
        yield Line(f"  {names[0]:<{label}}" + "".join(f"  {t:>{size}}" for t in row))
        yield from (Line(f"  {t}") for t in names[1:])
    yield Line("  * better by more than a twentieth", "dim")


def _climates(c: Comparison, width: int) -> Iterator[Line]:
    if not c.climates:
        return
    yield Line("")
    yield Line("In other climates", "heading")
    size = max(len(t) for t in words.SHORT.values())
    name = max(len(where(x)) for x in c.climates)
    name = min(name, max(width - 4 - len(c.sections) * (size + 2), 16))
    yield Line(f"  {'':<{name}}" + "".join(f"  {s.letter:<{size}}" for s in c.sections), "heading")
    for x in c.climates:
        lines = wrap(where(x), name)
        yield Line(f"  {lines[0]:<{name}}" + "".join(f"  {words.SHORT[d]:<{size}}" for d in x.dispositions))
        yield from (Line(f"  {t}") for t in lines[1:])
        for s, f in zip(c.sections, x.deciding, strict=True):
            if f is not None and f.severity == "serious":
                for t in wrap(f"{s.letter}: {f.title} [{f.rule}]", min(width, PROSE), "      "):
                    yield Line(t, "dim")


def where(x: At) -> str:
    """A climate, as it was asked for and the place that stands for it."""
    asked, place = words.clean(x.asked), words.clean(x.place)
    if asked.startswith("zone "):
        return f"{asked}, {place}"
    return f"{asked}, zone {x.zone}" if x.zone else asked
