"""Remedies as a written report: what is found, then each remedy with what it does."""

from __future__ import annotations

from collections.abc import Iterator

from reviewer.advice import Proposal, RemedyAdvice
from reviewer.report import remedy as wording
from reviewer.report import words
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Block, Bullets, Heading, Paper, Table, Text, Verdict


def remedy_paper(advice: RemedyAdvice, letterhead: Letterhead | None = None) -> Paper:
    blocks: list[Block] = [
        Verdict(wording.now(advice), words.clean(advice.summary), "", advice.disposition),
        *([Bullets(tuple(map(wording.finding, advice.findings)), "Findings")] if advice.findings else []),
    ]
    for n, proposal in enumerate(advice.proposals, 1):
        blocks += _proposal(proposal, n)
    for heading, rows in wording.rest(advice):
        if rows:
            small = heading in ("Limits and cost", "Cautions")
            blocks += [Heading(heading), Bullets(tuple(map(words.clean, rows)), small=small)]
    return Paper(
        title=f"Remedies: {wording.title(advice)}",
        subtitle=words.stands(advice.section.kind, advice.climate),
        blocks=tuple(blocks),
        system=advice.units,
        summary=words.clean(advice.summary),
        letterhead=letterhead,
        program=words.clean(advice.program),
    )


def _proposal(p: Proposal, n: int) -> Iterator[Block]:
    yield Heading(f"{n}. {wording.head(p)}", 2, p.disposition)
    yield Bullets(tuple(wording.what(p)), "What to do")
    for label, text in wording.effects(p):
        yield Text(text, label)
    if p.margins:
        rows = tuple(
            (words.clean(m.what), words.clean(m.before) or words.NONE, words.clean(m.after))
            for m in p.margins
        )
        said = tuple(f"{what}: {after}; now {before}" for what, before, after in rows)
        yield Table(
            ("Margin", "Now", "Then"), rows, said, f"Margins of remedy {n}", words=frozenset({0, 1, 2})
        )
