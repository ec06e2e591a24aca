"""Sections side by side as a written report: verdicts, what one buys over the first, numbers, other climates."""

from __future__ import annotations

from collections.abc import Iterator

from reviewer.comparison import Comparison, FindingPair, LayerPair, Number, Pair
from reviewer.report import compare as wording
from reviewer.report import words
from reviewer.report.drawing import Sketch, described, drawing
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Block, Bullets, Heading, Paper, Picture, Pictures, Table, Text, Verdict


def compare_paper(
    comparison: Comparison, letterhead: Letterhead | None = None, *, pictures: bool = True
) -> Paper:
    names = ", ".join(f"{s.letter} {words.clean(s.name)}" for s in comparison.sections)
    return Paper(
        title="Side by side",
        subtitle=names,
        blocks=tuple(_blocks(comparison, pictures)),
        system=comparison.units,
        summary=words.clean(comparison.summary),
        letterhead=letterhead,
        program=words.clean(comparison.program),
    )


def _blocks(c: Comparison, pictures: bool) -> Iterator[Block]:
    if c.summary:
        yield Text(words.clean(c.summary))
    yield Heading("The sections")
    for n, s in enumerate(c.sections):
        yield Heading(f"{s.letter}: {words.clean(s.name)}", 3, s.disposition)
        yield Text(wording.stands(c, n), small=True)
        yield Verdict(words.DISPOSITIONS[s.disposition], words.clean(s.summary), "", s.disposition)
    if pictures:
        yield Pictures(tuple(_drawings(c)))
    for pair in c.pairs:
        yield from _pair(c, pair)
    if c.numbers:
        yield Heading("Numbers")
        yield _numbers(c)
    if c.climates:
        yield Heading("In other climates")
        yield _climates(c)
    yield Heading("Cautions")
    yield Bullets(tuple(map(words.clean, c.cautions)), small=True)


def _drawings(c: Comparison) -> Iterator[Picture]:
    full = max(sum(x.thickness or 0.0 for x in s.layers) for s in c.sections)
    for s in c.sections:
        joints = [(x.index + 1, x.temperature_outer) for x in s.layers]
        at = [(k, t) for k, t in joints if t is not None]
        sketch = Sketch(words.clean(s.name), s.section.kind, s.layers, c.units, at, full=full)
        yield Picture(
            drawing(sketch, f"{s.letter.lower()}-"),
            f"Section {s.letter}, from the room outwards. {' '.join(described(sketch))}",
            f"{s.letter}, from the room outwards, all on one scale.",
        )


def _pair(c: Comparison, pair: Pair) -> Iterator[Block]:
    a, b = c.sections[pair.before].letter, c.sections[pair.after].letter
    yield Heading(f"What {b} buys over {a}")
    yield Text(words.clean(pair.says))
    if pair.because:
        yield Bullets(tuple(map(words.clean, pair.because)), "The verdict moves with")
    yield Heading(f"Layers of {a} and {b}, from the room outwards", 3)
    rows = tuple((_cell(p, "before"), _cell(p, "after"), _differs(p)) for p in pair.layers)
    yield Table(
        (a, b, "What differs"),
        rows,
        tuple(_layers_said(p, a, b) for p in pair.layers),
        f"Layers of {a} and {b}",
        words=frozenset({0, 1, 2}),
        marked=frozenset(n for n, p in enumerate(pair.layers) if p.step != "same"),
    )
    yield Heading(f"Findings of {a} and {b}", 3)
    for head, found in wording.groups(c, pair):
        yield Bullets(tuple(map(_finding, found)), head)


def _cell(p: LayerPair, side: str) -> str:
    at, text = (p.before, p.text_before) if side == "before" else (p.after, p.text_after)
    return "" if at is None else f"{at + 1}. {words.clean(text)}"


def _differs(p: LayerPair) -> str:
    if p.step == "changed":
        return words.clean("; ".join(p.differs))
    return "" if p.step == "same" else p.step


def _layers_said(p: LayerPair, a: str, b: str) -> str:
    both = [f"{side} {_cell(p, name)}" for side, name in ((a, "before"), (b, "after")) if _cell(p, name)]
    differs = _differs(p) or "the same"
    return f"{'; '.join(both)}: {differs}"


def _finding(f: FindingPair) -> str:
    shown = f.after or f.before
    assert shown is not None
    mark = "done well" if shown.severity == "credit" else shown.severity
    because = f": {words.clean('; '.join(f.because))}" if f.because else ""
    return f"{mark}{wording.moved(f)}: {words.clean(shown.title)} (rule {shown.rule}){because}"


def _numbers(c: Comparison) -> Table:
    letters = tuple(s.letter for s in c.sections)
    rows = tuple((words.clean(n.label), *(_amount(c, n, k) for k in range(len(letters)))) for n in c.numbers)
    said = tuple(
        f"{label}: {', '.join(f'{letter} {v}' for letter, v in zip(letters, values, strict=True))}"
        for label, *values in rows
    )
    return Table(("", *letters), rows, said, "Numbers; best: better by more than a twentieth")


def _amount(c: Comparison, n: Number, k: int) -> str:
    return wording.amount(n, k, c.units) + (" (best)" if wording.best(n) == k else "")


def _climates(c: Comparison) -> Table:
    letters = tuple(s.letter for s in c.sections)
    rows = tuple(
        (
            wording.where(x),
            *(
                words.DISPOSITIONS[d] + (f": {words.clean(f.title)}" if f is not None else "")
                for d, f in zip(x.dispositions, x.deciding, strict=True)
            ),
        )
        for x in c.climates
    )
    said = tuple(
        f"{at}: {'; '.join(f'{letter} {v}' for letter, v in zip(letters, verdicts, strict=True))}"
        for at, *verdicts in rows
    )
    return Table(
        ("Climate", *letters), rows, said, "In other climates", words=frozenset(range(len(letters) + 1))
    )
