"""The review as a person reads it in a terminal: verdict, section, findings, grounds.

Pure text is built first; color is laid over it at the end, so that what is read never hangs on color.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from reviewer.report import words
from reviewer.result import Finding, LayerLine, Result, WorkLine

STYLES = {
    "serious": "bold red",
    "caution": "bold yellow",
    "note": "bold",
    "credit": "bold green",
    "heading": "bold",
    "dim": "dim",
    "plain": "",
    "revise and resubmit": "bold red",
    "make corrections noted": "bold yellow",
    "incomplete": "bold yellow",
    "no exceptions taken": "bold green",
}
MIN_WIDTH, MAX_WIDTH = 60, 200
PROSE = 100
"""Prose is not set wider than this: long lines are hard to read."""


@dataclass(frozen=True, slots=True)
class Line:
    """A printed line; the first `styled` characters carry the style."""

    text: str
    style: str = "plain"
    styled: int = -1


def lines(result: Result, width: int = 80, *, detail: bool = True) -> list[Line]:
    """The whole report, line by line."""
    width = min(max(width, MIN_WIDTH), MAX_WIDTH)
    out: list[Line] = []
    out += _head(result, width)
    out += _section(result, width)
    out += _findings(result, width)
    out += _possible(result, width)
    out += _grounds(result, width)
    if detail:
        out += _months(result, width)
    out += _cautions(result, width)
    out += _work(result, width)
    return out


def _possible(result: Result, width: int) -> Iterator[Line]:
    """What unknown layers may come to and what flips the verdict, where it was asked for."""
    if result.possibilities is None and result.flips is None:
        return iter(())
    from reviewer.report import possible

    return possible.lines(result, width)


def render(result: Result, width: int = 80, color: bool = False) -> str:
    """The report as text, with terminal colors when asked for."""
    return paint(lines(result, width), width, color)


def paint(found: Iterable[Line], width: int, color: bool) -> str:
    """Lines as text, with terminal colors when asked for."""
    if not color:
        return "\n".join(line.text.rstrip() for line in found) + "\n"
    from io import StringIO

    from rich.console import Console
    from rich.text import Text

    buffer = StringIO()
    console = Console(
        file=buffer,
        force_terminal=True,
        color_system="standard",
        width=max(width, MAX_WIDTH) + 60,
        highlight=False,
    )
    for line in found:
        text = Text(line.text.rstrip(), no_wrap=True)
        if line.style != "plain":
            text.stylize(STYLES[line.style], 0, len(line.text) if line.styled < 0 else line.styled)
        console.print(text, soft_wrap=True)
    return buffer.getvalue()


def wrap(text: str, width: int, first: str = "", rest: str | None = None) -> list[str]:
    """A text over several lines, broken at spaces only, so that a rule's id stays whole, and never between a number
    and its unit; `first` stands before the first line, `rest` (as many spaces, unless given) before the others."""
    found = textwrap.wrap(
        words.bound(text),
        min(width, PROSE),
        initial_indent=first,
        subsequent_indent=" " * len(first) if rest is None else rest,
        break_on_hyphens=False,
    )
    return [t.replace("\u00a0", " ") for t in found] or [first.rstrip()]


def _heading(text: str) -> list[Line]:
    return [Line(""), Line(text, "heading")]


def _head(result: Result, width: int) -> Iterator[Line]:
    for text in wrap(words.title(result), width):
        yield Line(text, "heading")
    for text in wrap(words.where(result), width):
        yield Line(text, "dim")
    yield Line("")
    verdict = words.DISPOSITIONS[result.disposition].upper()
    body = wrap(f"{verdict}: {result.summary}", width)
    for n, text in enumerate(body):
        yield Line(text, result.disposition, len(verdict) if n == 0 else 0)
    yield Line(f"Findings: {words.counts(result)}.", "dim")


def _strip_widths(layers: list[LayerLine], room: int) -> list[int]:
    """Characters for each layer: by the square root of its thickness, at least its number's width."""
    least = [_strip_least(x) for x in layers]
    spare = room - sum(least) - len(layers) - 1
    weights = [(x.thickness or 0.0) ** 0.5 for x in layers]
    total = sum(weights) or 1.0
    return [m + int(max(spare, 0) * w / total) for m, w in zip(least, weights, strict=True)]


def _strip_least(layer: LayerLine) -> int:
    return len(str(layer.index + 1)) + 2


def _strip_rows(layers: list[LayerLine], room: int) -> Iterator[list[LayerLine]]:
    """The layers in as many rows as it takes for each to have room for its number."""
    row: list[LayerLine] = []
    taken = 0
    for x in layers:
        if row and taken + _strip_least(x) + 2 > room:
            yield row
            row, taken = [], 0
        row.append(x)
        taken += _strip_least(x) + 1
    if row:
        yield row


def _section(result: Result, width: int) -> Iterator[Line]:
    yield from _heading("The section, from the room outwards")
    if result.layers:
        yield from _strip(result, width)
    yield from _table(result, width)
    for text in words.about_the_section(result):
        for t in wrap(text, width):
            yield Line(t, "dim")


def _strip(result: Result, width: int) -> Iterator[Line]:
    """The layers side by side, with the temperature under each joint and a mark where water collects."""
    layers = result.layers
    monthly = result.calculations.get("monthly")
    inner = ""
    if monthly:
        k = monthly["months"].index(result.calculations["dew_point"]["month"])
        inner = words.temperature(monthly["surfaces"]["inner"][k], result.units)
    for row in _strip_rows(layers, width - 16):
        top = "  room |" if row[0].index == 0 else "    .. |"
        below = f"{inner:>8}" if row[0].index == 0 else " " * 8
        for x, size in zip(row, _strip_widths(row, width - 16), strict=True):
            label = f"{x.index + 1}" + ("?" if x.unknown else "~" if x.ventilated else "")
            top += f"{label:^{size}}" + ("*" if x.condensing else "|")
            t = words.temperature(x.temperature_outer, result.units)
            room = len(top) - len(below)
            # A temperature that doesn't fit under its joint is left to the table.
            below += f"{t:>{room}}" if t and len(t) < room + 1 else " " * room
        yield Line(top + (" out" if row[-1] is layers[-1] else " .."))
        if monthly:
            yield Line(below + f" {words.degree(result.units)}", "dim")
    legend = []
    if any(x.condensing for x in layers):
        legend.append("* condensate collects at this joint")
    if any(x.ventilated for x in layers):
        legend.append("~ ventilated")
    if any(x.unknown for x in layers):
        legend.append("? not known")
    for t in wrap("; ".join(legend), width, "  ") if legend else ():
        yield Line(t, "dim")
    yield Line("")


def _table(result: Result, width: int) -> Iterator[Line]:
    system = result.units
    unit = "perm" if system == "ip" else "ng"
    heads = ("#", "layer", "thick", "R", f"{unit} dry", "wet", words.degree(system), "RH")
    rows = []
    for x in result.layers:
        rows.append(
            (
                f"{'*' if x.condensing else ''}{x.index + 1}",
                words.layer_text(x),
                words.thickness(x, system),
                words.resistance(x, system),
                words.permeance(x.permeance_dry, system, x.unknown),
                words.permeance(x.permeance_wet, system, x.unknown),
                words.temperature(x.temperature_outer, system),
                words.humidity(x.humidity_outer),
            )
        )
    sizes = [max([len(heads[n]), *(len(r[n]) for r in rows)]) for n in range(8)]
    spare = width - sum(sizes[n] for n in range(8) if n != 1) - 2 * 8
    stacked = spare < LEAST_NAME
    sizes[1] = width - sizes[0] - 4 if stacked else min(sizes[1], spare)
    for t in _row(heads, sizes, stacked):
        yield Line(t, "heading")
    for r in rows:
        for n, text in enumerate(_row(r, sizes, stacked)):
            yield Line(text, "serious" if r[0].startswith("*") and n == 0 else "plain", 4)
    yield Line("")


LEAST_NAME = 16
"""Where less is left for the layers' names, the numbers go to a line of their own."""


def _row(cells: tuple[str, ...], sizes: list[int], stacked: bool) -> list[str]:
    """One row, the layer's name wrapped where it is long."""
    names = textwrap.wrap(cells[1], sizes[1], break_on_hyphens=False) or [""]
    numbers = "".join(f"  {cells[n]:>{sizes[n]}}" for n in range(2, 8))
    under = f"  {'':>{sizes[0]}}"
    first = f"  {cells[0]:>{sizes[0]}}  {names[0]:<{sizes[1]}}"
    rest = [f"{under}  {name}" for name in names[1:]]
    return [first, *rest, under + numbers] if stacked else [first + numbers, *rest]


def _findings(result: Result, width: int) -> Iterator[Line]:
    trees = words.trees(result)
    if trees:
        yield from _heading("Findings")
    for number, (cause, hanging) in enumerate(trees, 1):
        yield Line("")
        yield from _finding(result, cause, hanging, number, width)
    credits = [f for f in result.findings if f.severity == "credit"]
    if credits:
        yield from _heading("What holds, and must not be lost in a change")
        for f in credits:
            for t in wrap(f"{f.title}. {f.explanation}", width, "  + ", "    "):
                yield Line(t)
            for t in wrap(f"[{f.rule}] {words.citations(f)}", width, "    ", "    "):
                yield Line(t, "dim")


def _finding(result: Result, f: Finding, hanging: list[Finding], number: int, width: int) -> Iterator[Line]:
    system = result.units
    mark = f"{number}. {words.SEVERITY_HEADINGS[f.severity].upper()}{' HAZARD' if f.hazard else ''}"
    for n, t in enumerate(wrap(f"{mark}  {f.title}", width, "", "   ")):
        yield Line(t, f.severity if n == 0 else "plain", len(mark) if n == 0 else -1)
    about = [
        words.layer_numbers(f),
        f"{f.confidence} confidence",
        *([f.voice] if f.voice else []),
        f"[{f.rule}]",
    ]
    if f.line:
        about.insert(1, f"line {f.line}")
    for t in wrap(", ".join(about), width, "   "):
        yield Line(t, "dim")
    if f.waived:
        for t in wrap(
            f"Waived by {f.waived['by']} until {f.waived['until']}: {f.waived['reason']}", width, "   "
        ):
            yield Line(t)
    for t in wrap(f.explanation, width, "   "):
        yield Line(t)
    if f.margin:
        for t in wrap(f"Margin: {f.margin}", width, "   "):
            yield Line(t)
    if f.reason:
        for t in wrap(f"Why {f.severity}: {f.reason}", width, "   "):
            yield Line(t)
    numbers = words.numbers(f)
    if numbers:
        yield Line("   Numbers:", "dim")
        for e in numbers:
            for t in wrap(words.evidence(e, system), width, "     - ", "       "):
                yield Line(t, "dim")
    for t in wrap(f"Authority: {words.citations(f)}", width, "   "):
        yield Line(t)
    if f.remedies:
        yield Line("   What to do:")
        for r in f.remedies:
            for t in wrap(r.text, width, "     - ", "       "):
                yield Line(t)
    for other in hanging:
        for t in wrap(f"Also from this cause: {other.title} [{other.rule}]", width, "   "):
            yield Line(t)
    for rule in f.defeated:
        for t in wrap(f"Takes the place of [{rule}]", width, "   "):
            yield Line(t, "dim")


def _grounds(result: Result, width: int) -> Iterator[Line]:
    if result.assumptions:
        yield from _heading("What was assumed")
        for a in result.assumptions:
            for t in wrap(f"{a.what} ({a.why})", width, "  - ", "    "):
                yield Line(t)
    if result.not_evaluated:
        yield from _heading("What could not be judged, and what would settle it")
        for settle, rules in words.open_questions(result).items():
            for t in wrap(f"{settle[:1].upper()}{settle[1:]}.", width, "  - ", "    "):
                yield Line(t)
            deciding = [m.rule for m in rules if m.decisive]
            others = [m.rule for m in rules if not m.decisive]
            if deciding:
                for t in wrap(f"The verdict can turn on it: {', '.join(deciding)}.", width, "    "):
                    yield Line(t)
            if others:
                for t in wrap(
                    f"{'Also' if deciding else 'Rules'} without an answer: {', '.join(others)}.",
                    width,
                    "    ",
                ):
                    yield Line(t, "dim")


def _months(result: Result, width: int) -> Iterator[Line]:
    monthly = result.calculations.get("monthly")
    if not monthly:
        return
    yield from _heading("The year, month by month")
    for part in _year_parts(words.year(result), width):
        yield from part
    for t in wrap(words.drying(result), width, "  "):
        yield Line(t)
    for t in wrap(f"Limits of the method: {result.calculations['limits']}", width, "  "):
        yield Line(t, "dim")


def _year_parts(year: words.Year, width: int) -> Iterator[Iterator[Line]]:
    """The table of the year: whole where twelve months fit beside the names, else half a year at a time."""
    name = max((len(r.label) for r in year.rows), default=0)
    cell = max(4, *(len(v) + 1 for r in year.rows for v in r.values))
    half = width < 2 + LEAST_LABEL + 12 * cell
    months = 6 if half else 12
    size = min(max(name, LEAST_LABEL), width - 2 - months * cell)
    cell = max(cell, min(6, (width - size - 2) // months))
    for start in range(0, 12, months):
        yield _year_table(year, slice(start, start + months), size, cell, width)


LEAST_LABEL = 22


def _year_table(year: words.Year, months: slice, size: int, cell: int, width: int) -> Iterator[Line]:
    def row(label: str, values: list[str]) -> Iterator[str]:
        if len(label) > size:
            yield from wrap(label, width, "  ")
            label = ""
        yield f"  {label:<{size}}" + "".join(f"{v:>{cell}}" for v in values[months])

    if months.start:
        yield Line("")
    for t in row("", [m[:3] for m in year.months]):
        yield Line(t, "heading")
    joint = ""
    for r in year.rows:
        if r.joint != joint:
            joint = r.joint
            yield Line("")
            for t in wrap(joint, width, "  ") if joint else ():
                yield Line(t)
        for t in row(r.label, r.values):
            yield Line(t)


def _work(result: Result, width: int) -> Iterator[Line]:
    """Each calculation: formula, symbols, the numbers put in, what comes of it, source and limits."""
    if not result.work:
        return
    yield from _heading("The work: every calculation with its numbers")
    for n, w in enumerate(result.work, 1):
        yield Line("")
        for t in wrap(f"{n}. {w.title}", width, "", "   "):
            yield Line(t, "heading")
        for part in w.formula.split("; "):
            for t in wrap(part, width, "   ", "     "):
                yield Line(t)
        if w.where:
            for t in wrap(w.where, width, "   "):
                yield Line(t, "dim")
        for line in w.numbers:
            yield from _calculation(line, width)
        for t in wrap(w.result, width, "   => ", "      "):
            yield Line(t)
        for label, text in (("Source", w.source), ("Limits", w.limits)):
            for t in wrap(f"{label}: {text}", width, "   "):
                yield Line(t, "dim")


def _calculation(line: WorkLine, width: int) -> Iterator[Line]:
    of, sum_ = words.clean(line.of), words.calculation(line)
    together = f"     {of}: {sum_}"
    if len(together) <= width:
        yield Line(together)
    else:
        for t in wrap(f"{of}:", width, "     ", "       "):
            yield Line(t)
        for t in _wrap_sum(sum_, width):
            yield Line(t)
    if line.note:
        for t in wrap(f"({line.note})", width, "       "):
            yield Line(t, "dim")


def _wrap_sum(text: str, width: int) -> list[str]:
    """A calculation over several lines, broken at its spaces, or behind a · or / where a term is too long."""
    room = min(width, PROSE) - 9
    out = [""]
    for word in text.split(" "):
        if out[-1] and len(out[-1]) + 1 + len(word) > room:
            out.append("")
        out[-1] = f"{out[-1]} {word}".lstrip()
        while len(out[-1]) > room:
            cut = max(out[-1].rfind(mark, 0, room) for mark in "·/") + 1 or room
            out[-1:] = [out[-1][:cut], out[-1][cut:]]
    return [("       " if n == 0 else "         ") + t for n, t in enumerate(out)]


def _cautions(result: Result, width: int) -> Iterator[Line]:
    yield from _heading("Cautions")
    for c in result.cautions:
        for t in wrap(c, width, "  - ", "    "):
            yield Line(t)
    if result.climate.source:
        for t in wrap(f"Climate: {'; '.join(result.climate.source)}", width, "  - ", "    "):
            yield Line(t, "dim")
    for t in wrap(words.engine_note(result), width, "  - ", "    "):
        yield Line(t, "dim")
