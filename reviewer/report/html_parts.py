"""Pieces that the pages about variants, remedies and answers share."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from reviewer.advice import FindingLine
from reviewer.report import words
from reviewer.report.markup import Child, Markup, el
from reviewer.report.page import VERDICT_CLASSES, chip


def disposition(word: str) -> Markup:
    """A verdict as a chip."""
    return chip(words.DISPOSITIONS[word], VERDICT_CLASSES[word])


def head(kicker: str, title: str, where: str) -> Iterator[Markup]:
    yield el("p", kicker, class_="kicker")
    yield el("h1", title)
    if where:
        yield el("p", where, class_="where")


def statement(head: str, text: str, class_: str = "is-note") -> Markup:
    """The sentence that a page is opened for."""
    return el("div", el("strong", head), el("p", text) if text else None, class_=f"verdict {class_}")


def finding_lines(found: Iterable[FindingLine]) -> Markup:
    return el(
        "ul",
        *(
            el(
                "li",
                chip(words.SEVERITY_HEADINGS[f.severity], f"is-{f.severity}"),
                f" {words.clean(f.title)} ",
                el("code", f.rule),
            )
            for f in found
        ),
    )


def bullets(items: Iterable[Child], class_: str | None = None) -> Markup | None:
    """A list; None when it is empty."""
    listed = [el("li", t) for t in items]
    return el("ul", *listed, class_=class_) if listed else None


def part(id: str, heading: str, *content: Markup | None) -> Markup | None:
    """A part of a page with its heading; None when there is nothing in it."""
    shown = [c for c in content if c is not None]
    return el("section", el("h2", heading), *shown, id=id) if shown else None


def row(label: Child, cells: Sequence[Child], heads: Sequence[str]) -> Markup:
    """A row of words, whose first cell heads it; on a phone each cell carries the head of its column."""
    return el(
        "tr",
        el("th", label, scope="row", class_="name"),
        *(el("td", c, class_="l", data_label=h) for c, h in zip(cells, heads, strict=True)),
    )
