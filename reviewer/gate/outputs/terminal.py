"""The summary on a terminal: what is new and fails first, everything else in counts."""

from __future__ import annotations

from collections.abc import Iterator

from reviewer.gate.outputs import text
from reviewer.gate.record import Detail, Judged, Move
from reviewer.gate.report import Report
from reviewer.report.terminal import wrap
from reviewer.report.words import clean

LIMIT = 200
"""Findings shown; the rest is in the reports that are written to files."""
_COLORS = {"serious": "31", "caution": "33", "note": "36", "good": "32", "bold": "1", "dim": "2"}


class _Pen:
    def __init__(self, color: bool, width: int):
        self.color = color
        self.width = width

    def paint(self, words: str, how: str) -> str:
        return f"\x1b[{_COLORS[how]}m{words}\x1b[0m" if self.color else words

    def folded(self, words: str, first: str, rest: str) -> Iterator[str]:
        yield from wrap(words, max(self.width, 40), first, rest)


def render(report: Report, color: bool = False, width: int = 80) -> Iterator[str]:
    """The lines of the summary."""
    pen = _Pen(color, width)
    left = LIMIT
    hidden = 0
    for detail in report.details():
        found = text.shown(detail)
        worth = [item for item in found if item[1].severity != "note"] or (found if detail.fails else [])
        if not (worth or detail.problems or detail.moves or detail.status == "removed"):
            continue
        if left <= 0:
            hidden += len(worth) or 1
            continue
        yield from _detail(detail, worth[:left], pen)
        hidden += max(len(worth) - left, 0)
        left -= max(len(worth), 1)
    if hidden:
        yield f"… and {text.count(hidden, 'more finding')}: write a report with -o to see them all"
        yield ""
    if remarks := text.library(report):
        yield pen.paint("The library", "bold")
        for remark in remarks[:LIMIT]:
            yield from _finding(f"{remark.file}: " if remark.file else "", remark.finding, pen)
        if len(remarks) > LIMIT:
            yield f"  … and {len(remarks) - LIMIT} more"
        yield ""
    if report.stale:
        yield pen.paint("Baseline entries that are no longer needed", "bold")
        for entry in report.stale[:LIMIT]:
            yield from pen.folded(f"{entry.section}: {entry.rule} ({clean(entry.path)})", "  ", "      ")
        if len(report.stale) > LIMIT:
            yield f"  … and {len(report.stale) - LIMIT} more"
        yield "  prune them: run again with --write-baseline"
        yield ""
    yield from pen.folded(text.headline(report.tally, report.change), "", "  ")
    yield from pen.folded(text.counts(report.tally), "", "  ")
    end = "good" if report.status == 0 else "serious"
    yield pen.paint(text.outcome(report), end)


def _detail(detail: Detail, found: list[tuple[str, Judged]], pen: _Pen) -> Iterator[str]:
    title = text.name(detail)
    file = clean(detail.file)
    yield pen.paint(file, "bold") + (f" · {title}" if title != file else "")
    if detail.status == "removed":
        yield "  taken out"
    for problem in detail.problems:
        for line in problem.split("\n"):
            yield "  " + pen.paint("".join(c if c.isprintable() else " " for c in line), "serious")
    for move in detail.moves:
        yield from _move(move, pen)
    for at, f in found:
        yield from _finding(f"{text.place(at)}: " if text.place(at) else "", f, pen)
    yield ""


def _finding(where: str, f: Judged, pen: _Pen) -> Iterator[str]:
    line = f" line {f.line}" if f.line else ""
    head = f"{text.severity(f)}{line}: "
    body = list(pen.folded(f"{head}{where}{clean(f.title)} ({f.rule})", "  ", "      "))
    yield body[0].replace(head, pen.paint(head, f.severity) if f.severity in _COLORS else head, 1)
    yield from body[1:]
    if f.note:
        yield from pen.folded(clean(f.note), "      ", "      ")


def _move(move: Move, pen: _Pen) -> Iterator[str]:
    at = f"{text.place(move.at)}: " if text.place(move.at) else ""
    yield from pen.folded(f"{at}{text.moved(move)}", "  ", "      ")
    for word, lines in (("new", move.appeared), ("gone", move.gone), ("because", move.because)):
        for line in lines:
            yield from pen.folded(f"{word}: {clean(line)}", "    ", "      ")
