"""Remedies as a page: what each changes, costs, clears, leaves and causes, with the changed file unfolding."""

from __future__ import annotations

from collections.abc import Iterator

from reviewer.advice import Proposal, RemedyAdvice
from reviewer.report import words
from reviewer.report.html_parts import bullets, disposition, finding_lines, head, part
from reviewer.report.markup import Markup, el, preformatted
from reviewer.report.page import VERDICT_CLASSES, contents, page


def render(a: RemedyAdvice) -> str:
    s = a.section
    name = words.clean(s.title or (s.id if s.file not in ("<line>", "-") else s.kind.capitalize()))
    title = f"Remedies: {name}"
    parts = [
        ("now", "As it is", part("now", "As it is", finding_lines(a.findings) if a.findings else None)),
        (
            "find-out",
            "What has to be found out first",
            part(
                "find-out",
                "What has to be found out first",
                bullets(f"{x.what}: {', '.join(x.decides)}" for x in a.to_find_out),
            ),
        ),
        (
            "remedies",
            "Remedies",
            part("remedies", "Remedies", *(_proposal(p, n) for n, p in enumerate(a.proposals, 1))),
        ),
        ("unmoved", "What no change clears", part("unmoved", "What no change clears", *_unmoved(a))),
        ("grounds", "On what terms", part("grounds", "On what terms", bullets(_grounds(a)))),
    ]
    shown = [(i, name, p) for i, name, p in parts if p is not None]
    where = " · ".join(
        t for t in (s.kind, a.climate.place, f"zone {a.climate.zone}" if a.climate.zone else "") if t
    )
    verdict = el(
        "div",
        el("strong", f"As it is: {words.DISPOSITIONS[a.disposition]}"),
        el("p", a.summary),
        class_=f"verdict {VERDICT_CLASSES[a.disposition]}",
    )
    top = [*head("What to change", name, where), verdict, contents((i, n) for i, n, _ in shown)]
    return page(title, top, [p for _, _, p in shown], a.program, jump=shown[0][0])


def _proposal(p: Proposal, n: int) -> Markup:
    side = f", {p.side}" if p.side else ""
    effects = [
        (label, found)
        for label, found in (
            ("Clears", p.clears),
            ("Leaves", p.leaves),
            ("Newly causes", p.causes),
            ("Loses what was done well", p.loses),
        )
        if found
    ]
    changes = []
    for c in p.changes:
        text = words.clean(c.says)
        changes.append(
            el(
                "li",
                f"{text[:1].upper()}{text[1:]} ",
                el("span", f"(cost {c.cost:g}; from {c.source})", class_="quiet"),
                el("p", f"The changed file says, once it is done and looked at: {c.states}", class_="quiet")
                if c.states
                else None,
            )
        )
    told: list[Markup] = []
    for label, found in effects:
        told += [el("p", el("strong", label)), finding_lines(found)]
    if not p.causes:
        told.append(el("p", "Newly causes nothing serious and no caution."))
    margins = [
        f"{m.what}: {m.after}" + (f"; now {m.before}" if m.before not in ("", m.after) else "")
        for m in p.margins
    ]
    return el(
        "article",
        el("h3", f"{n}. Cost {p.cost:g}{side} ", disposition(p.disposition)),
        el("p", f"Trades: {', '.join(p.trades)}", class_="about"),
        el("ul", *changes),
        *told,
        el("p", el("strong", "Margins")) if margins else None,
        bullets(margins),
        el("details", el("summary", "The section then"), el("ol", *(el("li", t) for t in p.layers))),
        el(
            "details",
            el("summary", "The file then"),
            el("pre", preformatted(p.patched)),
        ),
        class_=f"finding {VERDICT_CLASSES[p.disposition]}",
        id=f"remedy-{n}",
    )


def _unmoved(a: RemedyAdvice) -> Iterator[Markup | None]:
    for u in a.unmoved:
        yield finding_lines([u.finding])
        yield el("p", u.why)
        yield bullets(u.advice)


def _grounds(a: RemedyAdvice) -> Iterator[str]:
    if a.limits:
        yield f"Limits: {'; '.join(a.limits)}"
    yield f"Cost: {a.cost_basis}"
    if a.unpriced:
        yield f"Left out for want of a price: {'; '.join(a.unpriced)}"
    yield f"{a.tried} combinations tried" + ("" if a.complete else "; there are more than were tried")
    yield from a.cautions
