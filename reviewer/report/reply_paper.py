"""Replies to questions as a written report: the answer first, what was understood, the reasons, what to do next."""

from __future__ import annotations

from collections.abc import Iterator

from reviewer.reply import Replies, Reply
from reviewer.report import reply as wording
from reviewer.report import words
from reviewer.report.drawing import Sketch, described, drawing
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Block, Bullets, Heading, Paper, Picture, Pictures, Table, Text, Verdict

_QUIET = ("What the calculation took besides", "Cautions", "See the computation")


def reply_paper(found: Replies, letterhead: Letterhead | None = None, *, pictures: bool = True) -> Paper:
    several = len(found.replies) > 1
    blocks: list[Block] = []
    for n, reply in enumerate(found.replies, 1):
        if several:
            blocks.append(Heading(f"{n}. {words.clean(reply.question)}"))
        blocks += _reply(reply, 3 if several else 2, pictures, f"q{n}-")
    first = found.replies[0] if found.replies else None
    return Paper(
        title=f"{len(found.replies)} questions" if several or first is None else words.clean(first.question),
        subtitle=words.clean(found.text) if several else "",
        blocks=tuple(blocks),
        system=first.units if first else "ip",
        summary=words.clean(first.answer) if first else "",
        letterhead=letterhead,
        program=words.clean(found.program),
    )


def _reply(r: Reply, level: int, pictures: bool, prefix: str) -> Iterator[Block]:
    # The answer comes first: the verdict on the section as it was told may be another.
    said = "Asked back" if r.status == "asked back" else "The answer"
    yield Verdict(said, words.clean(r.answer), "", r.disposition or "")
    for text in r.more:
        yield Text(words.clean(text))
    yield Heading("What was understood", level)
    yield Text(wording.understood(r))
    if r.layers:
        if pictures:
            yield Pictures((_drawn(r, prefix),))
        rows = tuple(wording.layer_rows(r))
        yield Table(
            ("#", "From the room outwards", "Read from"),
            rows,
            tuple(f"Layer {n}: {name}; {source or 'as given'}" for n, name, source in rows),
            "The layers",
            words=frozenset({1, 2}),
        )
    notes = [f"Read: {t}" for t in wording.other_words(r)]
    notes += [f"Assumed: {words.clean(a.what)} ({words.clean(a.why)})" for a in r.assumed]
    notes += [f"Not used: {words.clean(', '.join(r.unused))}"] if r.unused else []
    if notes:
        yield Bullets(tuple(notes), small=True)
    if r.reasons:
        yield Heading("Why", level)
    for n, f in enumerate(r.reasons, 1):
        head = f"{words.SEVERITY_HEADINGS[f.severity]}{', hazard' if f.hazard else ''}"
        yield Text(words.clean(f.title), f"{n}. {head}")
        if n <= wording.MOST_EXPLAINED:
            yield Text(words.clean(f.explanation))
        yield Text(wording.reason_grounds(f), small=True)
    for part in wording.parts(r):
        yield Heading(part.heading, level)
        yield Bullets(tuple(map(words.clean, part.items)), small=part.heading in _QUIET)
    if r.sources:
        yield Text(words.clean("; ".join(r.sources)), "Sources", small=True)


def _drawn(r: Reply, prefix: str) -> Picture:
    at = [(x.index + 1, x.temperature_outer) for x in r.layers if x.temperature_outer is not None]
    sketch = Sketch(words.clean(r.answer), r.kind, r.layers, r.units, at)
    return Picture(
        drawing(sketch, prefix, legend=False),
        " ".join(described(sketch)),
        "The section as it was understood, to scale, layers numbered as in the table.",
    )
