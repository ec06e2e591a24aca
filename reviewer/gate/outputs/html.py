"""An index of the library as one HTML page: every detail with its verdict at every place; no script, no network.

Rows are filtered by verdict, kind and zone with rules of the style sheet alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from pydantic import BaseModel

from reviewer.gate.outputs import text
from reviewer.gate.record import Detail, Judged, JudgedVerdict
from reviewer.gate.report import Report
from reviewer.report.markup import Markup, el, escape, join, preformatted
from reviewer.report.page import VERDICT_CLASSES, chip, closing, opening

TITLE = "Review of the library"
NOT_REVIEWED = "could not review"
_VERDICTS = (*VERDICT_CLASSES, NOT_REVIEWED)
_STYLE = """
.index{width:100%;table-layout:fixed}.index td{white-space:normal;text-align:left}
.index th:nth-child(1){width:26%}.index th:nth-child(2){width:9%}.index th:nth-child(3){width:20%}
.index thead th{position:sticky;top:0;background:var(--paper);z-index:1}
.index tbody{counter-reset:shown}.index tbody tr{counter-increment:shown}
.index ul{list-style:none;padding:0;margin:0}.index details ul{margin:.3rem 0 .6rem}.index details li{margin:.45rem 0}
.index details{margin:0}.index summary{padding:.15rem 0;min-height:24px}
.shown::after{content:counter(shown) " shown"}
@media screen and (max-width:44rem){.index thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.index,.index caption,.index tbody,.index tr,.index td,.index tbody th{display:block}
.index tbody th:nth-child(n),.index td:nth-child(n){border:0;padding:.15rem 0;width:auto}
.index tr{border-bottom:1px solid var(--rule);padding:.6rem 0}}
@media print{.index thead th{position:static}}
"""


class _At(BaseModel):
    zone: str


class _Outline(BaseModel):
    """Of a detail what the filters need, read without the rest."""

    kind: str
    verdicts: list[_At]


@dataclass(frozen=True, slots=True)
class Filter:
    """One way to narrow the index: a name, and the values that occur."""

    name: str
    key: str
    values: tuple[str, ...]


def render(report: Report) -> Iterator[str]:
    """Pieces of the page."""
    filters = _filters(report)
    yield from opening(TITLE, "details", _STYLE + _rules(filters))
    yield el("header", *_head(report))
    yield Markup("<main>")
    if text.library(report):
        remarks = (el("li", *_finding("", r.finding), " ", el("code", r.file)) for r in text.library(report))
        yield el("section", el("h2", "The library as a whole"), el("ul", *remarks))
    if report.stale:
        entries = (el("li", f"{s.section}: ", el("code", s.rule), f" {s.path}") for s in report.stale)
        yield el("section", el("h2", "Baseline entries that are no longer needed"), el("ul", *entries))
    yield Markup('<section id="details">')
    yield el("h2", "Details")
    yield from (_choices(f) for f in filters)
    heads = join(el("th", h, scope="col", class_="l") for h in ("Detail", "Kind", "Verdict", "Findings"))
    yield Markup('<div class="wide" role="group" aria-label="Details" tabindex="0"><table class="index">')
    yield join([el("caption", "Every detail with its verdict at every place"), el("thead", el("tr", heads))])
    yield Markup("<tbody>\n")
    for detail in report.details():
        yield _row(detail)
    yield Markup("</tbody></table></div>")
    yield el("p", class_="shown quiet screen")
    yield Markup("</section></main>")
    yield closing(report.program)


def _head(report: Report) -> Iterator[Markup]:
    yield el("p", "Gate", class_="kicker")
    yield el("h1", TITLE)
    failing = report.status != 0
    told = f"{text.headline(report.tally, report.change)}. {text.counts(report.tally)}."
    yield el(
        "div",
        el("strong", text.outcome(report)),
        el("p", told),
        class_=f"verdict {'is-revise' if failing else 'is-none'}",
    )


# Filters


def _filters(report: Report) -> list[Filter]:
    kinds: set[str] = set()
    zones: set[str] = set()
    for line in report.lines():
        outline = _Outline.model_validate_json(line)
        kinds.add(outline.kind)
        zones.update(v.zone for v in outline.verdicts)
    found = [v for v in VERDICT_CLASSES if report.tally.verdicts.get(v)]
    found += [NOT_REVIEWED] if report.tally.could_not_review else []
    filters = (
        Filter("Verdict", "verdict", tuple(found)),
        Filter("Kind", "kind", tuple(sorted(kinds - {""}))),
        Filter("Zone", "zone", tuple(sorted(zones - {""}, key=_by_number))),
    )
    return [f for f in filters if len(f.values) > 1]


def _by_number(zone: str) -> tuple[int, str]:
    digits = re.match(r"\d+", zone)
    return (int(digits[0]) if digits else 99, zone)


def _choices(f: Filter) -> Markup:
    made = [
        el(
            "label",
            el("input", type="radio", name=f.key, id=f"{f.key}-{n}", checked=n == 0),
            value,
        )
        for n, value in enumerate(("all", *f.values))
    ]
    return el("fieldset", el("legend", f.name), *made, class_="pick screen")


def _rules(filters: Iterable[Filter]) -> str:
    """Rules that hide the rows that a choice leaves out; a verdict and a zone together mean that verdict there."""
    rules: list[str] = []
    by_key = {f.key: f for f in filters}
    for f in by_key.values():
        for n, value in enumerate(f.values, 1):
            rules.append(_hide([f"{f.key}-{n}"], f.key, _word(value)))
    if "verdict" in by_key and "zone" in by_key:
        for n, v in enumerate(by_key["verdict"].values, 1):
            for m, z in enumerate(by_key["zone"].values, 1):
                rules.append(_hide([f"verdict-{n}", f"zone-{m}"], "there", f"{_word(v)}@{_word(z)}"))
    return "@media screen{" + "".join(rules) + "}"


def _hide(chosen: list[str], attribute: str, value: str) -> str:
    having = "".join(f":has(#{id}:checked)" for id in chosen)
    return f'body{having} .index tbody tr:not([data-{attribute}~="{value}"]){{display:none!important}}\n'


def _word(value: str) -> str:
    """A value as one word that is safe in a selector and in an attribute.

    >>> _word("no exceptions taken"), _word('5A"]')
    ('no-exceptions-taken', '5A-')
    """
    return re.sub(r"[^A-Za-z0-9]+", "-", value)


# Rows


def _row(d: Detail) -> Markup:
    reviewed = d.status == "reviewed"
    verdicts = [v.disposition for v in d.verdicts] + ([] if reviewed else [d.status])
    gone = d.status == "removed"
    marks = [] if reviewed else [el("li", chip(d.status, "is-note" if gone else "is-revise"))]
    marks += [el("li", *_verdict(v)) for v in d.verdicts]
    return join(
        [
            el(
                "tr",
                el("th", text.name(d), el("small", el("code", d.file)), scope="row", class_="name"),
                el("td", d.kind),
                el("td", el("ul", *marks)),
                el("td", *_moves(d), *_found(d)),
                id=d.id or d.file,
                data_kind=_word(d.kind),
                data_verdict=" ".join(dict.fromkeys(map(_word, verdicts))),
                data_zone=" ".join(dict.fromkeys(_word(v.zone) for v in d.verdicts if v.zone)),
                data_there=" ".join(
                    dict.fromkeys(f"{_word(v.disposition)}@{_word(v.zone)}" for v in d.verdicts if v.zone)
                ),
            ),
            "\n",
        ]
    )


def _moves(d: Detail) -> Iterator[Markup]:
    """How the verdict moved with the change under review, and why."""
    for m in d.moves:
        at = f" in {text.place(m.at)}" if text.place(m.at) else ""
        says = (
            f"The verdict{at} stays {m.after}"
            if m.before == m.after
            else f"{m.before.capitalize()} became {m.after}{at}"
        )
        lists = (("New", m.appeared), ("Gone", m.gone), ("Because", m.because))
        told = [el("li", f"{word}: {item}") for word, items in lists for item in items]
        yield el("details", el("summary", says), el("ul", *told), open=True)


def _found(d: Detail) -> Iterator[Markup]:
    for problem in d.problems:
        yield el("pre", preformatted(problem))
    by_state = (
        ("", text.shown(d)),
        ("waived", [i for i in d.findings() if i[1].state == "waived"]),
        ("known from the baseline", [i for i in d.findings() if i[1].state == "known"]),
        ("there before the change", [i for i in d.findings() if i[1].state == "there before"]),
        ("done well", [i for i in d.findings() if i[1].severity == "credit"]),
    )
    for state, found in by_state:
        if found:
            summary = f"{len(found)} {state}" if state else _summary(found)
            items = (el("li", *_finding(at, f)) for at, f in found)
            yield el("details", el("summary", summary), el("ul", *items))


def _summary(found: list[tuple[str, Judged]]) -> str:
    """`7 findings, 3 serious`."""
    serious = sum(f.severity == "serious" for _, f in found)
    return text.count(len(found), "finding") + (f", {serious} serious" if serious else "")


def _verdict(v: JudgedVerdict) -> Iterator[Markup]:
    place = text.place(v.at) or (v.place if v.place != "not stated" else "")
    yield chip(v.disposition, VERDICT_CLASSES[v.disposition])
    yield escape(f" {place}")


def _finding(at: str, f: Judged) -> Iterator[Markup]:
    place = f"{text.place(at)}: " if text.place(at) else ""
    yield escape(place)
    yield chip(text.severity(f), f"is-{f.severity}")
    yield escape(f"{f' line {f.line}:' if f.line else ''} {f.title} ")
    yield el("code", f.rule)
    if f.explanation:
        yield el("br")
        yield el("span", f.explanation, class_="quiet")
    if f.note:
        yield el("span", f" {f.note}", class_="quiet")
