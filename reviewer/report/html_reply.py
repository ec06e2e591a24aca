"""Replies to questions as a page: the answer first, what was understood drawn, the reasons with their proof."""

from __future__ import annotations

from collections.abc import Iterator

from reviewer.reply import Replies, Reply
from reviewer.report import reply as wording
from reviewer.report import words
from reviewer.report.drawing import Sketch, drawing
from reviewer.report.html_context import Context
from reviewer.report.html_findings import finding
from reviewer.report.html_parts import bullets, disposition
from reviewer.report.markup import Markup, el, preformatted
from reviewer.report.page import page, table
from reviewer.report.sources import Sources

_CLASSES = {"yes": "is-none", "no": "is-revise", "depends": "is-corrections"}


def render(found: Replies) -> str:
    several = len(found.replies) > 1
    main = []
    for n, r in enumerate(found.replies, 1):
        prefix = f"q{n}-" if several else ""
        main.append(el("section", *_reply(r, prefix), id=f"{prefix}answer"))
    title = (
        words.clean(found.replies[0].question)
        if len(found.replies) == 1
        else f"{len(found.replies)} questions"
    )
    top = [el("p", "Question and answer", class_="kicker"), el("h1", title)]
    return page(title, top, main, found.program, jump="q1-answer" if several else "answer")


def _reply(r: Reply, prefix: str) -> Iterator[Markup | None]:
    c = Context(r.layers, r.units, prefix, 3, Sources(prefix))
    if prefix:
        yield el("h2", r.question)
    else:
        yield el("h2", "The answer")
    mark = el("p", disposition(r.disposition)) if r.disposition else None
    yield el(
        "div",
        el("strong", r.answer),
        *(el("p", t) for t in r.more),
        mark,
        class_=f"verdict {_CLASSES.get(r.direction, 'is-note')}",
    )
    yield c.heading("What was understood", "understood")
    yield el("p", wording.understood(r))
    if r.layers:
        sketch = Sketch(
            r.answer,
            r.kind,
            r.layers,
            r.units,
            [(x.index + 1, x.temperature_outer) for x in r.layers if x.temperature_outer is not None],
        )
        rows = [
            el(
                "tr",
                el("td", n),
                el("th", name, scope="row", class_="name"),
                el("td", said, class_="l"),
                id=c.layer(x.index),
            )
            for x, (n, name, said) in zip(r.layers, wording.layer_rows(r), strict=True)
        ]
        heads = [
            el("th", "#", scope="col"),
            *(el("th", h, scope="col", class_="l") for h in ("Layer", "Read from")),
        ]
        yield el(
            "div",
            el(
                "figure",
                Markup(drawing(sketch, prefix, legend=False)),
                el("figcaption", "To scale, from the room outwards."),
            ),
            table("The section as understood, from the room outwards", heads, rows),
            class_="plate",
        )
    read = wording.other_words(r)
    taken = [f"Read: {t}" for t in read] + [f"Assumed: {a.what} ({a.why})" for a in r.assumed]
    taken += [f"Not used: {', '.join(r.unused)}"] if r.unused else []
    yield bullets(taken, "quiet")
    if r.reasons:
        yield c.heading("Why", "why")
        for n, f in enumerate(r.reasons, 1):
            yield finding(f, str(n), c)
    for p in wording.parts(r):
        yield c.heading(p.heading)
        if p.heading == "See the computation":
            yield el("pre", preformatted("\n".join(p.items)))
        else:
            yield bullets(p.items)
    for s in r.sources:
        c.sources.cite(s)
    if c.sources:
        yield c.heading("Sources", "sources")
        yield c.sources.listed()
