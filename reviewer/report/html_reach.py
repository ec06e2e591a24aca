"""Where a section holds, as a page: the limit, the zones as a map, what decides in each, the places asked for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reviewer.reaching import HOME, Reach, ReachLine
from reviewer.report import reach as wording
from reviewer.report import words
from reviewer.report.html_parts import bullets, disposition, head, part, row, statement
from reviewer.report.markup import Markup, el
from reviewer.report.page import VERDICT_CLASSES, contents, page, table


def render(r: Reach) -> str:
    title = f"Where it holds: {wording.title(r)}"
    parts = [
        ("map", "The zones", part("map", "The zones", *_map(r))),
        ("places", "Places", part("places", "Places", _lines(r.places, r, "Places, as asked"))),
        (
            "decides",
            "What decides, from the warm end",
            part("decides", "What decides, from the warm end", _lines(r.zones, r, "Zones")),
        ),
        (
            "assumed",
            "What was assumed",
            part("assumed", "What was assumed", bullets(f"{a.what} ({a.why})" for a in r.assumptions)),
        ),
        ("cautions", "Cautions", part("cautions", "Cautions", bullets(r.cautions))),
    ]
    shown = [(i, name, p) for i, name, p in parts if p is not None]
    top = [
        *head("Reach of a section", wording.title(r), wording.kept(r)),
        statement("How far it holds", r.limit),
        bullets(r.limits) or Markup(""),
        contents((i, name) for i, name, _ in shown),
    ]
    return page(title, top, [p for _, _, p in shown], r.program, jump=shown[0][0])


def _map(r: Reach) -> Iterator[Markup]:
    if not r.zones:
        return
    heads = ["Verdict"] if r.system == "NBC" else [h for _, h in wording.REGIMES]
    rows = []
    for number, cells in wording.cells(r):
        whole = len(cells) == 1 and len(heads) > 1
        made = [
            _cell(c, r, heads[0] if whole else h, len(heads) if whole else None)
            for c, h in zip(cells, heads, strict=False)
        ]
        rows.append(el("tr", el("th", f"Zone {number}", scope="row", class_="name"), *made))
    yield table(
        "Zones from the warm end down, moist, dry and marine; the place stands for its zone",
        [el("th", "Zone", scope="col", class_="l"), *(el("th", h, scope="col", class_="l") for h in heads)],
        rows,
        cards="cards zones",
    )
    if r.not_reviewed:
        yield el(
            "p",
            "Not reviewed: " + "; ".join(f"{z.zone}, {words.clean(z.why)}" for z in r.not_reviewed),
            class_="quiet",
        )


def _cell(c: ReachLine | str | None, r: Reach, label: str, span: int | None) -> Markup:
    if c is None or isinstance(c, str):
        return el("td", c or "no such zone", class_="l quiet", data_label=label)
    here = any(x.zone == c.zone for x in r.places if x.asked == HOME)
    return el(
        "td",
        el("span", wording.verdict(c), class_=f"chip {VERDICT_CLASSES[c.disposition]}"),
        el("br"),
        f"{c.place}{' – where it stands' if here else ''}",
        class_="l",
        data_label=label,
        colspan=span,
    )


def _lines(lines: Sequence[ReachLine], r: Reach, caption: str) -> Markup | None:
    if not lines:
        return None
    heads = ("Place", "Zone", "Verdict", "What decides", "Winter")
    rows = [
        row(
            x.asked,
            (
                x.place,
                x.zone,
                el("span", disposition(x.disposition), f" {wording.verdict(x)}"),
                wording.deciding(x, r.units),
                wording.winter(x, r.units),
            ),
            heads,
        )
        for x in lines
    ]
    return table(
        caption, [el("th", h, scope="col", class_="l") for h in ("Where", *heads)], rows, cards="cards"
    )
