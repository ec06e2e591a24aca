"""Markdown for a pull request: short enough to be a comment, worst first."""

from __future__ import annotations

from collections.abc import Iterator

from reviewer.gate.change import NONE
from reviewer.gate.outputs import text
from reviewer.gate.record import Move
from reviewer.gate.report import Report
from reviewer.report.markdown import escape
from reviewer.report.words import clean

LIMIT = 60_000
"""Characters; the common services refuse comments of more than 65,536."""


def render(report: Report) -> Iterator[str]:
    """Lines of the comment; what doesn't fit is counted."""
    head = [
        "## Review of the details" + (f" changed since {escape(report.change)}" if report.change else ""),
        "",
        f"**{text.outcome(report)}** {escape(text.headline(report.tally, report.change))}. {text.counts(report.tally)}.",
        "",
    ]
    yield from head
    room = LIMIT - sum(len(line) + 1 for line in head) - 200
    hidden = 0
    for block in _blocks(report):
        size = sum(len(line) + 1 for line in block)
        if size > room:
            hidden += 1
            continue
        room -= size
        yield from block
    if hidden:
        yield f"… and {text.count(hidden, 'more entry', 'more entries')} that did not fit here."
        yield ""


def _blocks(report: Report) -> Iterator[list[str]]:
    """Details that could not be reviewed, then moves, then findings of each severity, then the library."""
    for detail in report.details():
        if detail.problems:
            said = "\n".join(detail.problems).replace("```", "'''")
            yield [
                f"### Could not review `{_code(detail.file)}`",
                "",
                "```text",
                *said.split("\n"),
                "```",
                "",
            ]
    for detail in report.details():
        if detail.status == "removed":
            yield [f"- `{_code(detail.file)}` was taken out", ""]
        for move in detail.moves:
            yield _move(text.name(detail), detail.file, move)
    table = ["| | Detail | Where | What |", "| --- | --- | --- | --- |"]
    for severity in ("serious", "caution"):
        begun = False
        for detail in report.details():
            for at, f in text.shown(detail):
                if f.severity != severity:
                    continue
                if not begun:
                    begun = True
                    yield [f"### {severity.capitalize()}", "", *table]
                where = f"`{_code(detail.file)}`" + (f" line {f.line}" if f.line else "")
                place = f"{escape(text.place(at))}: " if text.place(at) else ""
                note = f" ({escape(f.note)})" if f.note else ""
                mark = "hazard" if f.hazard else ""
                yield [
                    f"| {mark} | {escape(text.name(detail))} | {where} | {place}{escape(f.title)} `{f.rule}`{note} |"
                ]
        if begun:
            yield [""]
    if text.library(report):
        yield ["### The library", ""]
        for r in text.library(report):
            yield [
                f"- {text.severity(r.finding)}, `{_code(r.file)}`: {escape(r.finding.title)} `{r.finding.rule}`"
            ]
        yield [""]
    if report.stale:
        yield ["### Baseline entries that are no longer needed", ""]
        for s in report.stale:
            yield [f"- {escape(s.section)}: `{s.rule}` ({escape(s.path)})"]
        yield [""]


def _code(words: str) -> str:
    return clean(words).replace("`", "'").replace("|", "\\|")


def _move(name: str, file: str, move: Move) -> list[str]:
    at = f", {escape(text.place(move.at))}" if text.place(move.at) else ""
    verdict = (
        text.moved(move)
        if NONE in (move.before, move.after) or move.before == move.after
        else f"*{move.before}* became *{move.after}*"
    )
    lines = [f"### {escape(name)}{at}", "", f"`{_code(file)}`: {verdict}", ""]
    for word, items in (("New", move.appeared), ("Gone", move.gone), ("Because", move.because)):
        lines += [f"- {word}: {escape(item)}" for item in items]
    return [*lines, ""]
