"""Sections side by side, for people: verdicts and what one buys first, then layers, numbers, findings, climates."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from reviewer.comparison import At, Comparison, FindingPair, LayerPair, Number, Pair
from reviewer.report import words
from reviewer.report.markdown import escape
from reviewer.report.terminal import MAX_WIDTH, MIN_WIDTH, PROSE, Line, paint, wrap
from reviewer.result import Disposition
from reviewer.units import DIMENSIONS, show

SHORT: dict[Disposition, str] = {
    "no exceptions taken": "no exceptions",
    "make corrections noted": "corrections",
    "revise and resubmit": "revise",
    "incomplete": "incomplete",
}


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
    moved = f" (was {f.severity_before})" if f.moved in ("graver", "milder") else ""
    mark = f"{'done well' if severity == 'credit' else severity}{moved}"
    for n, t in enumerate(wrap(f"{mark}: {shown.title} [{f.rule}]", prose, "    - ")):
        yield Line(t, severity if n == 0 else "plain", 6 + len(mark) if n == 0 else -1)
    for text in f.because:
        for t in wrap(text, prose, "        "):
            yield Line(t, "dim")


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
    size = max(len(t) for t in SHORT.values())
    name = max(len(where(x)) for x in c.climates)
    name = min(name, max(width - 4 - len(c.sections) * (size + 2), 16))
    yield Line(f"  {'':<{name}}" + "".join(f"  {s.letter:<{size}}" for s in c.sections), "heading")
    for x in c.climates:
        lines = wrap(where(x), name)
        yield Line(f"  {lines[0]:<{name}}" + "".join(f"  {SHORT[d]:<{size}}" for d in x.dispositions))
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


def as_markdown(c: Comparison) -> str:
    out = ["# Side by side", ""]
    for n, s in enumerate(c.sections):
        out += [
            f"- **{s.letter}** {escape(s.name)} ({escape(stands(c, n))}): "
            f"**{words.DISPOSITIONS[s.disposition]}.** {escape(s.summary)}"
        ]
    out.append("")
    for pair in c.pairs:
        out += _markdown_pair(c, pair)
    if c.numbers:
        letters = " | ".join(s.letter for s in c.sections)
        out += ["## Numbers", "", f"| | {letters} |", "| --- |" + " --: |" * len(c.sections)]
        for n in c.numbers:
            row = " | ".join(
                f"**{escape(amount(n, k, c.units))}**" if best(n) == k else escape(amount(n, k, c.units))
                for k in range(len(c.sections))
            )
            out.append(f"| {escape(n.label)} | {row} |")
        out += ["", "Bold: better by more than a twentieth.", ""]
    if c.climates:
        letters = " | ".join(s.letter for s in c.sections)
        out += [
            "## In other climates",
            "",
            f"| Climate | {letters} |",
            "| --- |" + " --- |" * len(c.sections),
        ]
        for x in c.climates:
            cells = [
                words.DISPOSITIONS[d] + (f": {escape(f.title)}" if f is not None else "")
                for d, f in zip(x.dispositions, x.deciding, strict=True)
            ]
            out.append(f"| {escape(where(x))} | " + " | ".join(cells) + " |")
        out.append("")
    out += ["## Cautions", "", *[f"- {escape(t)}" for t in c.cautions]]
    return "\n".join(out) + "\n"


def _markdown_pair(c: Comparison, pair: Pair) -> list[str]:
    a, b = c.sections[pair.before].letter, c.sections[pair.after].letter
    out = [f"## What {b} buys over {a}", "", escape(pair.says), ""]
    if pair.because:
        out += ["The verdict moves with:", "", *[f"- {escape(t)}" for t in pair.because], ""]
    out += [f"### Layers of {a} and {b}, from the room outwards", "", f"| {a} | {b} | What differs |"]
    out.append("| --- | --- | --- |")
    out += [f"| {_cell(p, 'before')} | {_cell(p, 'after')} | {escape(_differs(p))} |" for p in pair.layers]
    out += ["", f"### Findings of {a} and {b}", ""]
    for head, found in groups(c, pair):
        out += [f"**{head}**", "", *_markdown_findings(found), ""]
    return out


def _cell(p: LayerPair, side: str) -> str:
    at, text = (p.before, p.text_before) if side == "before" else (p.after, p.text_after)
    return "" if at is None else f"{at + 1}. {escape(text)}"


def _differs(p: LayerPair) -> str:
    return "; ".join(p.differs) if p.step == "changed" else "" if p.step == "same" else p.step


def _markdown_findings(found: Sequence[FindingPair]) -> Iterator[str]:
    for f in found:
        shown = f.after or f.before
        assert shown is not None
        moved = f" (was {f.severity_before})" if f.moved in ("graver", "milder") else ""
        because = f": {escape('; '.join(f.because))}" if f.because else ""
        mark = "done well" if shown.severity == "credit" else shown.severity
        yield f"- {mark}{moved}: {escape(shown.title)} `{f.rule}`{because}"
