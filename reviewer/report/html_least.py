"""The least amount that clears, as a page: a row for each voice, then what each goes by."""

from __future__ import annotations

from reviewer.advice import LeastAdvice
from reviewer.report import least as wording
from reviewer.report import words
from reviewer.report.html_parts import bullets, head, part, row, statement
from reviewer.report.markup import el
from reviewer.report.page import contents, page, table


def render(a: LeastAdvice) -> str:
    heads = wording.HEADS
    rows = [row(cells[0], cells[1:], heads[1:]) for cells in (wording.row(x, a.dimension) for x in a.answers)]
    amounts = table(
        wording.title(a), [el("th", h, scope="col", class_="l") for h in heads], rows, cards="cards"
    )
    parts = [
        ("amounts", "By each voice", part("amounts", "By each voice", amounts)),
        (
            "why",
            "What each goes by",
            part("why", "What each goes by", bullets(t for x in a.answers for t in wording.told(x))),
        ),
        ("cautions", "Cautions", part("cautions", "Cautions", bullets(a.cautions))),
    ]
    shown = [(i, name, p) for i, name, p in parts if p is not None]
    s = a.section
    where = " · ".join(t for t in (s.kind, a.climate.place, f"zone {a.climate.zone}") if t)
    name = words.clean(s.title or (s.id if s.file not in ("<line>", "-") else s.kind.capitalize()))
    top = [
        *head(f"Least {a.what}", name, where),
        statement("How much", a.summary),
        *filter(None, [bullets(wording.terms(a))]),
        contents((i, n) for i, n, _ in shown),
    ]
    return page(wording.title(a), top, [p for _, _, p in shown], a.program, jump=shown[0][0])
