"""The least amount that clears, as a written report: a row for each voice, then what each goes by."""

from __future__ import annotations

from collections.abc import Iterator

from reviewer.advice import LeastAdvice
from reviewer.report import least as wording
from reviewer.report import words
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Block, Bullets, Heading, Paper, Table, Text


def least_paper(advice: LeastAdvice, letterhead: Letterhead | None = None) -> Paper:
    return Paper(
        title=wording.title(advice),
        subtitle=" · ".join(t for t in (advice.section.kind, advice.climate.place) if t),
        blocks=tuple(_blocks(advice)),
        system=advice.units,
        summary=words.clean(advice.summary),
        letterhead=letterhead,
        program=words.clean(advice.program),
    )


def _blocks(a: LeastAdvice) -> Iterator[Block]:
    yield Text(words.clean(a.summary), "How much")
    yield Bullets(tuple(map(words.clean, wording.terms(a))))
    yield Heading("By each voice")
    yield Table(
        wording.HEADS,
        tuple(wording.row(x, a.dimension) for x in a.answers),
        tuple(wording.goes_by(a)),
        wording.title(a),
        words=frozenset(range(len(wording.HEADS))),
    )
    yield Heading("What each goes by")
    yield Bullets(tuple(wording.goes_by(a)))
    yield Heading("Cautions")
    yield Bullets(tuple(map(words.clean, a.cautions)), small=True)
