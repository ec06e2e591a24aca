"""A run as a written report, for PDF, DOCX and text to be read out: how it ends, what moved, what is serious, the
register of the library."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from reviewer.gate.outputs import text
from reviewer.gate.record import Detail, Judged, Move
from reviewer.gate.report import Report
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Block, Bullets, Heading, Paper, Table, Text, Verdict
from reviewer.report.words import DISPOSITIONS, clean

LIMIT: Final = 500
"""Rows of a table; the rest is counted, and stands in the register (CSV, XLSX) and in JSON."""
_TONES: Final = {0: "no exceptions taken", 1: "revise and resubmit", 2: "incomplete"}


def gate_paper(report: Report, letterhead: Letterhead | None = None) -> Paper:
    changed = f" changed since {clean(report.change)}" if report.change else ""
    return Paper(
        title=f"Review of the details{changed}",
        subtitle=clean(report.title),
        blocks=tuple(_blocks(report)),
        summary=text.headline(report.tally, report.change),
        letterhead=letterhead,
        program=clean(report.program),
    )


def _blocks(report: Report) -> Iterator[Block]:
    yield Verdict(
        text.outcome(report).rstrip("."),
        f"{text.headline(report.tally, report.change)}.",
        f"Findings: {text.counts(report.tally)}.",
        _TONES[report.status],
    )
    yield from _broken(report)
    yield from _moves(report)
    for severity in ("serious", "caution"):
        yield from _found(report, severity)
    yield from _register(report)
    if text.library(report):
        yield Heading("The library")
        yield Bullets(tuple(_remark(r.file, r.finding) for r in text.library(report)))
    if report.stale:
        yield Heading("Baseline entries that are no longer needed")
        yield Bullets(
            tuple(f"{clean(s.section)}: rule {s.rule} ({clean(s.path)})" for s in report.stale), small=True
        )
    yield Heading("Cautions")
    yield Bullets(
        (
            "A screening review of sections. It is no substitute for the building code in force, for the "
            "manufacturers' instructions, or for the judgment of a licensed professional who has seen the building.",
            clean(report.program),
        ),
        small=True,
    )


def _broken(report: Report) -> Iterator[Block]:
    broken = [d for d in report.details() if d.problems]
    if broken:
        yield Heading("What could not be reviewed")
        for d in broken[:LIMIT]:
            yield Bullets(tuple(clean(p) for p in d.problems), lead=clean(d.file))
        yield from _rest(len(broken))


def _moves(report: Report) -> Iterator[Block]:
    moved = [d for d in report.details() if d.moves or d.status == "removed"]
    if not moved:
        return
    yield Heading("What moved")
    for d in moved[:LIMIT]:
        if d.status == "removed":
            yield Text(f"{clean(d.file)} was taken out.")
        for move in d.moves:
            yield from _move(d, move)
    yield from _rest(len(moved))


def _move(d: Detail, move: Move) -> Iterator[Block]:
    at = f", {clean(text.place(move.at))}" if text.place(move.at) else ""
    yield Heading(f"{text.name(d)}{at}", 3, move.after if move.after in DISPOSITIONS else "")
    stays = move.before == move.after
    verdict = f"the verdict stays {move.after}" if stays else f"{move.before} became {move.after}"
    yield Text(f"{clean(d.file)}: {verdict}.")
    for lead, items in (("New", move.appeared), ("Gone", move.gone), ("Because", move.because)):
        if items:
            yield Bullets(tuple(map(clean, items)), lead)


def _found(report: Report, severity: str) -> Iterator[Block]:
    rows: list[tuple[str, ...]] = []
    count = 0
    for d in report.details():
        for at, f in text.shown(d):
            if f.severity == severity:
                count += 1
                if count <= LIMIT:
                    rows.append((text.name(d), _where(d, f, at), _what(f)))
    if not rows:
        return
    yield Heading("Serious" if severity == "serious" else "Cautions found", 2, severity)
    said = tuple(f"{name}, {where}: {what}" for name, where, what in rows)
    yield Table(("Detail", "Where", "What"), tuple(rows), said, words=frozenset({0, 1, 2}))
    yield from _rest(count)


def _where(d: Detail, f: Judged, at: str) -> str:
    parts = [clean(d.file), *([f"line {f.line}"] if f.line else []), clean(text.place(at))]
    return ", ".join(filter(None, parts))


def _what(f: Judged) -> str:
    hazard = "Hazard: " if f.hazard else ""
    margin = f" ({clean(f.margin)})" if f.margin else ""
    note = f"; {clean(f.note)}" if f.note else ""
    return f"{hazard}{clean(f.title)}{margin} [{f.rule}]{note}"


def _remark(file: str, f: Judged) -> str:
    at = f", {clean(file)}" if file else ""
    return f"{text.severity(f)}{at}: {clean(f.title)} [{f.rule}]"


def _register(report: Report) -> Iterator[Block]:
    rows: list[tuple[str, ...]] = []
    count = 0
    for d in report.details():
        for v in d.verdicts:
            count += 1
            if count > LIMIT:
                continue
            live = [f.severity for f in v.findings if f.state == "live"]
            numbers = (str(live.count("serious")), str(live.count("caution")), str(live.count("note")))
            rows.append((text.name(d), clean(d.file), clean(v.at), DISPOSITIONS[v.disposition], *numbers))
    if not rows:
        return
    yield Heading("The register")
    said = tuple(
        f"{name}, {file}, {at}: {verdict}; {serious} serious, {cautions} cautions, {notes} notes"
        for name, file, at, verdict, serious, cautions, notes in rows
    )
    yield Table(
        ("Detail", "File", "At", "Verdict", "Serious", "Cautions", "Notes"),
        tuple(rows),
        said,
        words=frozenset({0, 1, 2, 3}),
    )
    yield from _rest(count)


def _rest(count: int) -> Iterator[Block]:
    if count > LIMIT:
        yield Text(f"… and {count - LIMIT} more, in the register (CSV, XLSX) and in JSON.", small=True)
