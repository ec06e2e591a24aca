"""What unknown layers may come to, and what flips the verdict: parts of a review, for people."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from reviewer.flips import Flip, Flips, much
from reviewer.possibilities import Answer, Possibilities, Question, Share, percent
from reviewer.report import words
from reviewer.report.paper import Block, Bullets, Heading, Table, Text
from reviewer.report.terminal import Line, wrap
from reviewer.result import Result
from reviewer.units import DIMENSIONS, show


def schema() -> dict[str, Any]:
    """JSON Schema of the part `possibilities` of a result."""
    found = Possibilities.model_json_schema(by_alias=True, mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **found}


def blocks(result: Result) -> Iterator[Block]:
    """Both parts as pieces of a paper; nothing where there is neither."""
    if result.possibilities is not None:
        yield from _possibilities(result.possibilities, result.units)
    if result.flips is not None:
        yield from _flips(result.flips, result.units)


def lines(result: Result, width: int) -> Iterator[Line]:
    """Both parts for a terminal."""
    for block in blocks(result):
        yield from _printed(block, width)


def verdicts(shares: list[Share]) -> str:
    """`revise 75 %, no exceptions 25 %`."""
    if len(shares) == 1:
        return words.SHORT[shares[0].disposition]
    return ", ".join(f"{words.SHORT[s.disposition]} {percent(s.share)}" for s in shares)


def _amount(value: float | str, dimension: str, units: str) -> str:
    if isinstance(value, str):
        return value
    return (
        show(value, dimension, units) if dimension in DIMENSIONS and dimension != "ratio" else f"{value:.3g}"
    )


def _possibilities(p: Possibilities, units: str) -> Iterator[Block]:
    yield Heading("What the unknown comes to")
    yield Text(words.clean(p.summary))
    if p.next:
        yield Text(words.clean(p.next))
    for n, q in enumerate(p.questions, 1):
        yield Heading(f"{n}. {words.clean(_asked(q))}", 3)
        yield Text(f"{_decides(q, p)} To find out: {words.clean(q.find_out)}.")
        if q.answers:
            yield _answers(q)
    if len(p.deciders) > 1 or (p.deciders and p.deciders[0].share < 1):
        items = tuple(
            f"{percent(d.share)}: {words.clean(d.title)} [{d.rule}, {d.severity}]" for d in p.deciders[:6]
        )
        rest = len(p.deciders) - len(items)
        yield Bullets(
            (*items, *((f"{rest} more, in the JSON result",) if rest else ())), "The verdict hangs on"
        )
    if p.switches:
        items = tuple(
            f"layer {s.layer + 1}, {s.quantity}: “{s.below}” below {_amount(s.at, s.dimension, units)}, “{s.above}” from "
            "there on, all else at its middle"
            for s in p.switches
        )
        yield Bullets(items, "Where the verdict changes")
    if p.bounds:
        rows = tuple(
            (b.label, _amount(b.low, b.dimension, units), _amount(b.high, b.dimension, units))
            for b in p.bounds
        )
        said = tuple(f"{label}: {low} to {high}" for label, low, high in rows)
        yield Table(("Number", "Least", "Most"), rows, said, "The numbers over the possibilities")
        if len({b.how for b in p.bounds}) == 1:
            yield Text(f"These are the {p.bounds[0].how}.", small=True)
        else:
            yield Bullets(tuple(f"{b.label}: {b.how}" for b in p.bounds), "How they were found", True)
    items = tuple(f"{words.clean(a.what)} ({words.clean(a.why)})" for a in p.assumptions)
    if items:
        yield Bullets(items, "Assumed for this part")
    if p.not_varied:
        yield Bullets(tuple(map(words.clean, p.not_varied)), "Still not known, and nothing was taken for it")


def _asked(q: Question) -> str:
    subject = q.subject[:1].upper() + q.subject[1:]
    return f"{subject}: {q.quantity}" if not q.dimension else subject


def _decides(q: Question, p: Possibilities) -> str:
    if len(p.shares) > 1:
        return f"Knowing it settles {percent(q.decides)} of the doubt about the verdict."
    if q.decides_findings > 0:
        return f"The verdict is the same whatever it is; it settles {percent(q.decides_findings)} of which findings there are."
    return "The verdict is the same whatever it is."


def _answers(q: Question) -> Table:
    rows = tuple((words.clean(a.says), percent(a.share), verdicts(a.verdicts), _why(a)) for a in q.answers)
    said = tuple(
        f"If it is {says}, {part} of the possibilities: {verdict}. {why}".rstrip()
        for says, part, verdict, why in rows
    )
    return Table(
        ("If it is", "Share", "Verdict", "What it hangs on"),
        rows,
        said,
        words.clean(_asked(q)),
        frozenset({0, 2, 3}),
    )


def _why(a: Answer) -> str:
    return words.clean(a.decider.title) if a.decider is not None else ""


def _flips(f: Flips, units: str) -> Iterator[Block]:
    yield Heading("What flips the verdict soonest")
    yield Text(words.clean(f.summary))
    for n, x in enumerate(f.flips, 1):
        yield Heading(f"{n}. {words.clean(x.subject[:1].upper() + x.subject[1:])}", 3)
        yield Text(flip(x, units))
    tried = "; ".join(words.clean(t) for t in f.tried)
    yield Bullets(
        (
            f"Tried: {tried}",
            f"How far: {f.reach}; values of the room move together through the year; {f.reviewed} reviews",
            "One fact at a time: two small changes together can flip it sooner",
        ),
        "How it was found",
        True,
    )


def flip(x: Flip, units: str) -> str:
    """`Now 2 in (given); at 1.4 in it is still no exceptions, at 1.38 in revise (31 % less). …`"""
    now = f"Now {_amount(x.now, x.dimension, units)} ({x.origin})"
    if x.steps:
        far = f"{x.steps} step{'s' if x.steps > 1 else ''}"
    else:
        far = much(x.change)
        if x.dimension == "temperature":
            far += " of the difference between room and outdoors"
    near, at = _apart(x, units)
    because = f" {words.clean(x.because[:1].upper() + x.because[1:])}." if x.because else ""
    way = "Down" if not x.steps and x.change < 0 else "Up"
    return f"{now}. {way} to {near} it is “{x.before}”; at {at} it is “{x.to}” ({far}).{because}"


def _apart(x: Flip, units: str) -> tuple[str, str]:
    """Both ends of a flip, with as many figures as tell them apart."""
    near, at = _amount(x.holds_to, x.dimension, units), _amount(x.flips_at, x.dimension, units)
    if near != at or isinstance(x.holds_to, str) or isinstance(x.flips_at, str):
        return near, at
    for digits in (4, 5, 6):
        near, at = (_fine(v, x.dimension, units, digits) for v in (x.holds_to, x.flips_at))
        if near != at:
            break
    return near, at


def _fine(value: float, dimension: str, units: str, digits: int) -> str:
    """A value with more figures than people usually read."""
    if dimension == "relative humidity":
        return f"{value * 100:.{digits - 2}g} %"
    if dimension == "temperature":
        return f"{value * 9 / 5 + 32:.{digits}g} °F" if units == "ip" else f"{value:.{digits}g} °C"
    if dimension == "length":
        return f"{value / 0.0254:.{digits}g} in" if units == "ip" else f"{value * 1000:.{digits}g} mm"
    return show(value, dimension, units, digits) if dimension in DIMENSIONS else f"{value:.{digits}g}"


# -- terminal --------------------------------------------------------------------------------------


def _printed(block: Block, width: int) -> Iterator[Line]:
    if isinstance(block, Heading):
        yield Line("")
        for t in wrap(block.text, width, "", "   " if block.level > 2 else ""):
            yield Line(t, "heading")
    elif isinstance(block, Text):
        for t in wrap(block.text, width):
            yield Line(t, "dim" if block.small else "plain")
    elif isinstance(block, Bullets):
        if block.lead:
            yield Line(f"{block.lead}:", "dim" if block.small else "plain")
        for item in block.items:
            for t in wrap(item, width, "  - "):
                yield Line(t, "dim" if block.small else "plain")
    elif isinstance(block, Table):
        yield from _table(block, width)


def _table(table: Table, width: int) -> Iterator[Line]:
    """Columns as wide as they need to be, the last as wide as is left; long cells over several lines."""
    columns = len(table.head)
    sizes = [max(len(r[n]) for r in (table.head, *table.rows)) for n in range(columns)]
    room = min(width, 120) - 2 - 2 * (columns - 1)
    while sum(sizes) > room:
        widest = max(range(columns), key=lambda n: sizes[n])
        sizes[widest] -= 1
    for row in (table.head, *table.rows):
        cells = [wrap(t, s) for t, s in zip(row, sizes, strict=True)]
        for n in range(max(len(c) for c in cells)):
            texts = [c[n] if n < len(c) else "" for c in cells]
            shown = (
                f"{t:<{s}}" if k in table.words else f"{t:>{s}}"
                for k, (t, s) in enumerate(zip(texts, sizes, strict=True))
            )
            yield Line("  " + "  ".join(shown), "heading" if row is table.head else "plain")
