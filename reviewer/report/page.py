"""The shell of every page: one file that needs nothing beside it, no network and no script."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from importlib.resources import files

from reviewer.report.ink import dark_rules
from reviewer.report.markup import Markup, el, join

VERDICT_CLASSES = {
    "revise and resubmit": "is-revise",
    "make corrections noted": "is-corrections",
    "incomplete": "is-incomplete",
    "no exceptions taken": "is-none",
}
POLICY = "default-src 'none'; style-src 'unsafe-inline'"


@cache
def style() -> Markup:
    """The style sheet, with the colors of drawings on dark paper."""
    text = files("reviewer.report").joinpath("data/page.css").read_text(encoding="utf-8")
    lines = "\n".join(line for line in text.splitlines() if line)
    return Markup(
        f"{lines}\n@media screen and (prefers-color-scheme:dark){{{dark_rules(':where(svg,svg *)')}}}"
    )


def page(
    title: str, head: Iterable[Markup], main: Iterable[Markup], foot: str, *, jump: str, extra: str = ""
) -> Markup:
    """A whole page. `head` stands before the main part, `jump` is the id that the first link goes to, `extra` adds
    rules of the page's own to the style sheet."""
    return join(
        [
            *opening(title, jump, extra),
            el("header", *head),
            el("main", *main),
            closing(foot),
        ]
    )


def opening(title: str, jump: str, extra: str = "") -> Iterable[Markup]:
    """Everything up to the content, for pages that are written piece by piece."""
    yield Markup('<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n')
    yield Markup('<meta name="viewport" content="width=device-width, initial-scale=1">\n')
    yield Markup(f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n')
    yield el("title", title)
    yield Markup(f"\n<style>\n{style()}{extra}\n</style>\n</head>\n<body>\n")
    yield el("a", "To the main part", class_="skip", href=f"#{jump}")


def closing(foot: str) -> Markup:
    return join([el("footer", el("p", foot)) if foot else None, Markup("\n</body>\n</html>\n")])


def contents(items: Iterable[tuple[str, str]], of: str = "On this page") -> Markup:
    """Links to the parts of the page, or of the section `of`: (id, name)."""
    links = [el("li", el("a", name, href=f"#{id}")) for id, name in items]
    return el("nav", el("ol", *links), class_="toc", aria_label=of)


def chip(word: str, class_: str) -> Markup:
    """A short word in a frame; its shape tells classes apart as its color does."""
    return el("span", word, class_=f"chip {class_}")


def table(
    caption: str, heads: Iterable[Markup], rows: Iterable[Markup], *, label: str = "", cards: str = ""
) -> Markup:
    """A table that scrolls by itself where the page is narrow, and can be reached with the keyboard. `cards`
    sets the rows under one another there instead, `layers` as the table of layers has it; their cells carry their heads
    as `data-label`."""
    return el(
        "div",
        el("table", el("caption", caption), el("thead", el("tr", *heads)), el("tbody", *rows)),
        class_=f"wide {cards}".rstrip(),
        role="group",
        aria_label=label or caption,
        tabindex=0,
    )
