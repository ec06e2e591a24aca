"""An index of the library as one HTML page: every detail with its verdict at every place; no script, no network."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape as escape_html

from reviewer.gate.outputs import text
from reviewer.gate.record import Detail, Judged, JudgedVerdict
from reviewer.gate.report import Report
from reviewer.report.words import clean

_STYLE = """
:root { color-scheme: light dark; --line: #8886; --soft: #8882 }
body { font: 16px/1.5 system-ui, sans-serif; margin: 2rem auto; max-width: 72rem; padding: 0 1rem }
table { border-collapse: collapse; width: 100% }
th, td { text-align: left; vertical-align: top; padding: .35rem .6rem; border-bottom: 1px solid var(--line) }
thead th { position: sticky; top: 0; background: Canvas }
code { font-size: .85em; overflow-wrap: anywhere }
.v { white-space: nowrap; border: 1px solid var(--line); border-radius: .3rem; padding: 0 .4rem; font-size: .9em }
.v.bad { border-width: 2px; border-color: #c22 } .v.open { border-style: dashed } .v.mid { border-color: #b70 }
.muted { opacity: .7 } details > ul { margin: .3rem 0; padding-left: 1.2rem } pre { white-space: pre-wrap }
tr:target { background: var(--soft) }
@media print { thead th { position: static } }
"""
_MARKS = {
    "revise and resubmit": "bad",
    "incomplete": "open",
    "make corrections noted": "mid",
    "no exceptions taken": "good",
}


def render(report: Report) -> Iterator[str]:
    """Lines of the page."""
    title = "Review of the library"
    yield '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
    yield f"<title>{title}</title><style>{_STYLE}</style></head><body>"
    yield f"<h1>{title}</h1>"
    yield f"<p><strong>{_e(text.outcome(report))}</strong> {_e(text.headline(report.tally, report.change))}. {_e(text.counts(report.tally))}.</p>"
    if text.library(report):
        yield "<h2>The library as a whole</h2><ul>"
        for remark in text.library(report):
            yield f"<li>{_finding('', remark.finding)} <code>{_e(remark.file)}</code></li>"
        yield "</ul>"
    if report.stale:
        yield "<h2>Baseline entries that are no longer needed</h2><ul>"
        for s in report.stale:
            yield f"<li>{_e(s.section)}: <code>{_e(s.rule)}</code> {_e(s.path)}</li>"
        yield "</ul>"
    yield "<h2>Details</h2><table><thead><tr><th>Detail</th><th>Kind</th><th>Verdict</th><th>Findings</th></tr></thead><tbody>"
    for detail in report.details():
        yield from _row(detail)
    yield f'</tbody></table><p class="muted">{_e(report.program)}</p></body></html>'


def _row(detail: Detail) -> Iterator[str]:
    yield f'<tr id="{_e(detail.id or detail.file)}"><td><strong>{_e(text.name(detail))}</strong><br><code>{_e(detail.file)}</code></td>'
    yield f"<td>{_e(detail.kind)}</td><td>"
    if detail.status != "reviewed":
        yield f'<span class="v bad">{_e(detail.status)}</span>'
    yield "<br>".join(_verdict(v) for v in detail.verdicts) + "</td><td>"
    for problem in detail.problems:
        yield f"<pre>{_e(problem)}</pre>"
    live = text.shown(detail)
    for state, found in (
        ("", live),
        ("waived", [i for i in detail.findings() if i[1].state == "waived"]),
        ("known from the baseline", [i for i in detail.findings() if i[1].state == "known"]),
        ("there before the change", [i for i in detail.findings() if i[1].state == "there before"]),
        ("done well", [i for i in detail.findings() if i[1].severity == "credit"]),
    ):
        if found:
            summary = f"{len(found)} {state}" if state else text.count(len(found), "finding")
            opened = " open" if not state and any(f.severity == "serious" for _, f in found) else ""
            items = "".join(f"<li>{_finding(at, f)}</li>" for at, f in found)
            yield f"<details{opened}><summary>{_e(summary)}</summary><ul>{items}</ul></details>"
    yield "</td></tr>"


def _verdict(v: JudgedVerdict) -> str:
    place = text.place(v.at) or (v.place if v.place != "not stated" else "")
    return f'<span class="v {_MARKS[v.disposition]}">{_e(v.disposition)}</span> {_e(place)}'


def _finding(at: str, f: Judged) -> str:
    place = f"{text.place(at)}: " if text.place(at) else ""
    line = f", line {f.line}" if f.line else ""
    note = f' <span class="muted">{_e(f.note)}</span>' if f.note else ""
    return (
        f"{_e(place)}<strong>{_e(text.severity(f))}</strong>{line}: {_e(f.title)} <code>{_e(f.rule)}</code>"
        f'<br><span class="muted">{_e(f.explanation)}</span>{note}'
    )


def _e(words: str) -> str:
    return escape_html(clean(words) if "\n" not in words else words)
