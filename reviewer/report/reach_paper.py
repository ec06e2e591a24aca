"""Where a section holds, as a written report: the limit, the zones as a table, what decides in each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reviewer.reaching import Reach, ReachLine
from reviewer.report import reach as wording
from reviewer.report import words
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Block, Bullets, Heading, Paper, Table, Text


def reach_paper(reach: Reach, letterhead: Letterhead | None = None) -> Paper:
    return Paper(
        title=f"Where it holds: {wording.title(reach)}",
        subtitle=wording.kept(reach),
        blocks=tuple(_blocks(reach)),
        system=reach.units,
        summary=words.clean(reach.limit),
        letterhead=letterhead,
        program=words.clean(reach.program),
    )


def _blocks(r: Reach) -> Iterator[Block]:
    yield Text(words.clean(r.limit), "How far it holds")
    if r.limits:
        yield Bullets(tuple(map(words.clean, r.limits)))
    if r.zones:
        yield Heading("The zones")
        yield _map(r)
        if r.not_reviewed:
            missing = "; ".join(f"{z.zone}, {words.clean(z.why)}" for z in r.not_reviewed)
            yield Text(missing, "Not reviewed", small=True)
    for heading, lines in (("Places", r.places), ("What decides, from the warm end", r.zones)):
        if lines:
            yield Heading(heading)
            yield _lines(lines, r)
    if r.assumptions:
        yield Heading("What was assumed")
        yield Bullets(
            tuple(f"{words.clean(a.what)} ({words.clean(a.why)})" for a in r.assumptions), small=True
        )
    yield Heading("Cautions")
    yield Bullets(tuple(map(words.clean, r.cautions)), small=True)


def _map(r: Reach) -> Table:
    heads = ("Verdict",) if r.system == "NBC" else tuple(h for _, h in wording.REGIMES)
    rows = []
    for number, cells in wording.cells(r):
        texts = [_cell(c) for c in cells]
        rows.append((number, *texts, *[""] * (len(heads) - len(texts))))
    return Table(
        ("Zone", *heads),
        tuple(rows),
        tuple(f"Zone {x.zone}, {words.clean(x.place)}: {wording.verdict(x)}." for x in r.zones),
        "Zones from the warm end down; the place stands for its zone",
        words=frozenset(range(1, len(heads) + 1)),
    )


def _cell(c: ReachLine | str | None) -> str:
    if c is None or isinstance(c, str):
        return c or "no such zone"
    return f"{wording.verdict(c)}; {words.clean(c.place)}"


def _lines(lines: Sequence[ReachLine], r: Reach) -> Table:
    rows = tuple(
        (_where(x), wording.verdict(x), wording.deciding(x, r.units), wording.winter(x, r.units))
        for x in lines
    )
    said = tuple(
        f"{where}: {verdict}. {decides}. {winter}".rstrip() for where, verdict, decides, winter in rows
    )
    return Table(("Where", "Verdict", "What decides", "Winter"), rows, said, words=frozenset({0, 1, 2, 3}))


def _where(x: ReachLine) -> str:
    """`zone 5A, Chicago, IL`; `Duluth, MN, zone 7`."""
    asked, place = words.clean(x.asked), words.clean(x.place)
    parts = [asked, *([place] if place.casefold() != asked.casefold() else [])]
    if x.zone and not asked.startswith("zone "):
        parts.append(f"zone {x.zone}")
    return ", ".join(filter(None, parts))
