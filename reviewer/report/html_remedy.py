"""Remedies as a page: what each changes, costs, clears, leaves and causes, with the changed file unfolding."""

from __future__ import annotations

from reviewer.advice import Margin, Proposal, RemedyAdvice
from reviewer.report import remedy as wording
from reviewer.report import words
from reviewer.report.html_parts import bullets, finding_lines, head, part, row
from reviewer.report.markup import Markup, el, preformatted
from reviewer.report.page import VERDICT_CLASSES, contents, page, table

MARGINS = ("Then", "Now")


def render(a: RemedyAdvice) -> str:
    s, name = a.section, wording.title(a)
    proposals = [_proposal(p, n) for n, p in enumerate(a.proposals, 1)]
    parts = [
        ("now", "As it is", part("now", "As it is", finding_lines(a.findings) if a.findings else None)),
        ("remedies", "Remedies", part("remedies", "Remedies", *proposals)),
        *(
            (f"rest-{n}", heading, part(f"rest-{n}", heading, bullets(rows)))
            for n, (heading, rows) in enumerate(wording.rest(a), 1)
        ),
    ]
    shown = [(i, name, p) for i, name, p in parts if p is not None]
    zone = f"zone {a.climate.zone}" if a.climate.zone else ""
    verdict = el(
        "div",
        el("strong", wording.now(a)),
        el("p", a.summary),
        class_=f"verdict {VERDICT_CLASSES[a.disposition]}",
    )
    where = " · ".join(t for t in (s.kind, a.climate.place, zone) if t)
    top = [*head("What to change", name, where), verdict, contents((i, n) for i, n, _ in shown)]
    return page(f"Remedies: {name}", top, [p for _, _, p in shown], a.program, jump=shown[0][0])


def _proposal(p: Proposal, n: int) -> Markup:
    lists = {
        "Clears": p.clears,
        "Leaves": p.leaves,
        "Newly causes": p.causes,
        "Loses what was done well": p.loses,
    }
    told: list[Markup] = []
    for label, text in wording.effects(p):
        found = lists.get(label)
        told.append(el("p", el("strong", label), None if found else f": {text}"))
        if found:
            told.append(finding_lines(found))
    return el(
        "article",
        el("h3", f"{n}. {wording.head(p)}"),
        bullets(wording.what(p)),
        *told,
        _margins(p.margins, n),
        el("details", el("summary", "The section then"), el("ol", *(el("li", t) for t in p.layers))),
        el("details", el("summary", "The file then"), el("pre", preformatted(p.patched))),
        class_=f"finding {VERDICT_CLASSES[p.disposition]}",
        id=f"remedy-{n}",
    )


def _margins(margins: list[Margin], n: int) -> Markup | None:
    if not margins:
        return None
    rows = [row(m.what, (m.after, m.before or words.NONE), MARGINS) for m in margins]
    heads = [el("th", h, scope="col", class_="l") for h in ("Margin", *MARGINS)]
    return table(f"How far from trouble, with remedy {n} and now", heads, rows)
