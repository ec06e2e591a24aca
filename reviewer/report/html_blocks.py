"""Pieces of a written report on a page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from reviewer.report.html_context import Context
from reviewer.report.markup import Markup, el
from reviewer.report.page import VERDICT_CLASSES, table
from reviewer.report.paper import Block, Bullets, Heading, Pictures, Table, Text, Verdict


def parts(blocks: Iterable[Block], c: Context) -> Iterator[tuple[str, list[Markup]]]:
    """The pieces gathered under their headings of level 2; what stands before the first has an empty one."""
    heading, found = "", []
    for b in blocks:
        if isinstance(b, Heading) and b.level == 2:
            if found:
                yield heading, found
            heading, found = b.text, []
        else:
            found += _block(b, c)
    if found:
        yield heading, found


def _block(b: Block, c: Context) -> Iterator[Markup]:
    match b:
        case Heading():
            yield c.heading(b.text, below=b.level - 2)
        case Text():
            lead = el("strong", f"{b.lead}: ") if b.lead else None
            yield el("p", lead, b.text, class_="quiet" if b.small else None)
        case Verdict():
            yield el(
                "div", el("strong", b.words), el("p", b.text), class_=f"verdict {VERDICT_CLASSES[b.tone]}"
            )
        case Bullets():
            if b.lead:
                yield el("p", el("strong", b.lead))
            yield el("ul", *(el("li", t) for t in b.items), class_="quiet" if b.small else None)
        case Table():
            yield _table(b)
        case Pictures():
            for p in b.pictures:
                yield el("figure", Markup(p.svg), el("figcaption", p.caption))


def _table(t: Table) -> Markup:
    def side(n: int) -> str | None:
        return "l" if n in t.words else None

    heads = [el("th", h, scope="col", class_=side(n)) for n, h in enumerate(t.head)]
    rows = []
    for n, cells in enumerate(t.rows):
        first, *rest = cells
        rows.append(
            el(
                "tr",
                el("th", first, scope="row", class_="name"),
                *(el("td", x, class_=side(k), data_label=t.head[k]) for k, x in enumerate(rest, 1)),
                class_="r80" if n in t.marked else None,
            )
        )
    return table(t.caption or t.head[0], heads, rows)
