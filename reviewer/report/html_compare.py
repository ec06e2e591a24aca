"""Sections side by side, as a page: each drawn, what one buys over the other, layers, findings, numbers, climates."""

from __future__ import annotations

from collections.abc import Iterator

from reviewer.comparison import Comparison, FindingPair, LayerPair, Pair
from reviewer.report import compare as wording
from reviewer.report import words
from reviewer.report.drawing import Sketch, drawing
from reviewer.report.html_parts import bullets, disposition, head, part, row, statement
from reviewer.report.markup import Markup, el, join
from reviewer.report.page import VERDICT_CLASSES, chip, contents, page, table


def render(c: Comparison) -> str:
    parts: list[tuple[str, str, Markup | None]] = [("sections", "The sections", _sections(c))]
    for n, pair in enumerate(c.pairs, 1):
        a, b = c.sections[pair.before].letter, c.sections[pair.after].letter
        parts.append(
            (
                f"pair-{n}",
                f"What {b} buys over {a}",
                part(f"pair-{n}", f"What {b} buys over {a}", *_pair(c, pair)),
            )
        )
    parts += [
        ("numbers", "Numbers", part("numbers", "Numbers", *_numbers(c))),
        ("climates", "In other climates", part("climates", "In other climates", _climates(c))),
        ("cautions", "Cautions", part("cautions", "Cautions", bullets(c.cautions))),
    ]
    shown = [(i, name, p) for i, name, p in parts if p is not None]
    title = "Side by side: " + ", ".join(words.clean(s.name) for s in c.sections)
    letters = " and ".join([", ".join(s.letter for s in c.sections[:-1]), c.sections[-1].letter])
    top = [
        *head("Comparison of sections", f"{letters} side by side", ""),
        statement("In short", c.summary),
        contents((i, name) for i, name, _ in shown),
    ]
    return page(title, top, [p for _, _, p in shown], c.program, jump="sections")


def _sections(c: Comparison) -> Markup:
    made = []
    full = max(sum(x.thickness or 0.0 for x in s.layers) for s in c.sections)
    for n, s in enumerate(c.sections):
        joints = [(x.index + 1, x.temperature_outer) for x in s.layers]
        sketch = Sketch(
            s.name,
            s.section.kind,
            s.layers,
            c.units,
            [(k, t) for k, t in joints if t is not None],
            full=full,
        )
        made.append(
            el(
                "article",
                el("h3", f"{s.letter}  {words.clean(s.name)}"),
                el("p", wording.stands(c, n), class_="where"),
                el("p", disposition(s.disposition), f" {s.summary}"),
                el(
                    "figure",
                    Markup(drawing(sketch, f"{s.letter.lower()}-")),
                    el(
                        "figcaption",
                        "From the room outwards, all on one scale; temperatures in the coldest month.",
                    ),
                ),
            )
        )
    return el("section", el("h2", "The sections"), el("div", *made, class_="charts"), id="sections")


def _pair(c: Comparison, pair: Pair) -> Iterator[Markup | None]:
    a, b = c.sections[pair.before].letter, c.sections[pair.after].letter
    yield el("p", pair.says)
    if pair.because:
        yield el("p", "The verdict moves with:")
        yield bullets(pair.because)
    yield el("h3", f"Layers of {a} and {b}, from the room outwards")
    heads = (b, "What differs")
    rows = [row(_layer(p, "before"), (_layer(p, "after"), _differs(p)), heads) for p in pair.layers]
    yield table(
        f"Layers of {a} and of {b}", [el("th", h, scope="col", class_="l") for h in (a, *heads)], rows
    )
    yield el("h3", f"Findings of {a} and {b}")
    for name, found in wording.groups(c, pair):
        yield el("h4", name)
        yield el("ul", *(_finding(f) for f in found))


def _layer(p: LayerPair, side: str) -> str:
    at, text = (p.before, p.text_before) if side == "before" else (p.after, p.text_after)
    return words.NONE if at is None else f"{at + 1}. {words.clean(text)}"


def _differs(p: LayerPair) -> Markup:
    if p.step == "same":
        return join(["the same"])
    return join([el("strong", p.step), ": " if p.differs else "", "; ".join(p.differs)])


def _finding(f: FindingPair) -> Markup:
    shown = f.after or f.before
    assert shown is not None
    moved = f" (was {f.severity_before})" if f.moved in ("graver", "milder") else ""
    return el(
        "li",
        chip(f"{words.SEVERITY_HEADINGS[shown.severity]}{moved}", f"is-{shown.severity}"),
        f" {words.clean(shown.title)} ",
        el("code", shown.rule),
        bullets(f.because, "quiet"),
    )


def _numbers(c: Comparison) -> Iterator[Markup]:
    if not c.numbers:
        return
    rows = []
    for n in c.numbers:
        best = wording.best(n)
        cells = [
            el(
                "td",
                el("strong", f"{wording.amount(n, k, c.units)} *")
                if best == k
                else wording.amount(n, k, c.units),
            )
            for k in range(len(c.sections))
        ]
        rows.append(el("tr", el("th", n.label, scope="row", class_="name"), *cells))
    heads = [el("th", "", scope="col"), *(el("th", s.letter, scope="col") for s in c.sections)]
    heads[0] = el("th", "Quantity", scope="col", class_="l")
    yield table("Numbers of the sections; * better by more than a twentieth", heads, rows)


def _climates(c: Comparison) -> Markup | None:
    if not c.climates:
        return None
    heads = [s.letter for s in c.sections]
    rows = []
    for x in c.climates:
        cells = [
            join(
                [
                    el("span", words.DISPOSITIONS[d], class_=f"chip {VERDICT_CLASSES[d]}"),
                    f" {words.clean(f.title)}" if f is not None else "",
                ]
            )
            for d, f in zip(x.dispositions, x.deciding, strict=True)
        ]
        rows.append(row(wording.where(x), cells, heads))
    return table(
        "Verdicts in other climates",
        [el("th", h, scope="col", class_="l") for h in ("Climate", *heads)],
        rows,
        cards="cards",
    )
