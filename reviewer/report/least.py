"""The least amount that clears, for people: a row for each voice, then what each goes by."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from reviewer.advice import LeastAdvice, LeastAnswer
from reviewer.report import words
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Paper
from reviewer.report.terminal import MAX_WIDTH, MIN_WIDTH, PROSE, Line, paint, wrap

BESIDE = 24
"""Columns that the last cell of a row needs to stand beside the others."""
HEADS = ("by", "least", "sold as", "that is")


def as_json(advice: LeastAdvice) -> str:
    return advice.model_dump_json(by_alias=True, indent=2) + "\n"


def schema() -> dict[str, Any]:
    """JSON Schema of `as_json`."""
    found = LeastAdvice.model_json_schema(by_alias=True, mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **found}


def as_text(advice: LeastAdvice, width: int = 80, color: bool = False) -> str:
    """For a terminal: plain text, with colors when asked for."""
    width = min(max(width, MIN_WIDTH), MAX_WIDTH)
    return paint(_lines(advice, min(width, PROSE)), width, color)


def as_html(advice: LeastAdvice) -> str:
    """One page that needs nothing beside it."""
    from reviewer.report import html_least

    return html_least.render(advice)


def as_paper(advice: LeastAdvice, letterhead: Letterhead | None = None) -> Paper:
    """For PDF, DOCX, Markdown and the linear text."""
    from reviewer.report.least_paper import least_paper

    return least_paper(advice, letterhead)


# -- the parts, for every format -------------------------------------------------------------------


def title(a: LeastAdvice) -> str:
    s = a.section
    name = s.title or (s.id if s.file not in ("<line>", "-") else s.kind.capitalize())
    return f"Least {a.what}: {words.clean(name)}"


def terms(a: LeastAdvice) -> Iterator[str]:
    """What is varied, what is there, and where it stands."""
    yield f"Varied: {words.clean(a.varied)}"
    yield f"Now: {a.now}; as it is: {words.DISPOSITIONS[a.disposition]}"
    yield " · ".join(t for t in (a.climate.place, f"zone {a.climate.zone}", a.climate.edition) if t)


def row(a: LeastAnswer, dimension: str) -> tuple[str, str, str, str]:
    """Voice, least, stock size, and the stock size in other words."""
    if not a.asks:
        return a.voice, "asks for none", f"with any, {a.once}" if a.once else "–", "–"
    if a.amount is None:
        return a.voice, "none clears", "–", "–"
    down = dimension in ("permeance", "relative humidity")
    shown = f"at most {a.shown}" if down else a.shown
    sold = a.stock or ("–" if dimension == "relative humidity" else "no size sold")
    return a.voice, shown, sold, a.stock_also or a.also or "–"


def told(a: LeastAnswer) -> Iterator[str]:
    """What a voice goes by, with its sources."""
    shown = a.sources if a.voice != "all together" else []
    sources = f" Source: {'; '.join(shown)}." if shown else ""
    yield words.clean(a.says) + sources


def goes_by(a: LeastAdvice) -> Iterator[str]:
    """What each voice goes by; then what the energy code's table asks, which is no matter of moisture."""
    for x in a.answers:
        yield from told(x)
    if a.heat is not None:
        also = f" ({a.heat.also})" if a.heat.also else ""
        yield words.clean(
            f"Beside moisture, the energy code's table asks for at least {a.heat.shown}{also}; other ways to comply may "
            f"be taken. Source: {a.heat.source}."
        )


# -- terminal --------------------------------------------------------------------------------------


def _lines(a: LeastAdvice, width: int) -> Iterator[Line]:
    for t in wrap(title(a), width):
        yield Line(t, "heading")
    for term in terms(a):
        for t in wrap(term, width, "  "):
            yield Line(t, "dim")
    yield Line("")
    for t in wrap(a.summary, width):
        yield Line(t)
    yield Line("")
    rows = [HEADS, *(row(x, a.dimension) for x in a.answers)]
    widths = [max(len(r[n]) for r in rows) for n in range(3)]
    room = 2 + sum(widths) + 2 * len(widths)
    for n, r in enumerate(rows):
        style = "dim" if n == 0 else "plain"
        cells = "  " + "  ".join(cell.ljust(w) for cell, w in zip(r, widths, strict=False))
        if width - room >= BESIDE:
            for t in wrap(r[3], width, f"{cells}  ", " " * room):
                yield Line(t.rstrip(), style)
        else:
            yield Line(cells.rstrip(), style)
            for t in wrap(r[3], width, "      ") if n and r[3] != "–" else ():
                yield Line(t, style)
    yield Line("")
    for said in goes_by(a):
        for t in wrap(said, width, "  - "):
            yield Line(t)
    yield Line("")
    yield Line("Cautions", "heading")
    for c in a.cautions:
        for t in wrap(c, width, "  - "):
            yield Line(t)
