"""Findings on a page: what, where, on which numbers and whose authority, what to do, and the proof unfolding."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reviewer.report import words
from reviewer.report.html_context import Context
from reviewer.report.markup import Markup, el, join, prose
from reviewer.report.page import chip
from reviewer.result import Evidence, Finding, Result, Step


def numbered(result: Result) -> list[tuple[str, Finding, list[tuple[str, Finding]]]]:
    """Findings worst first, each cause with what hangs under it: 1, 2 and under it 2a, 2b."""
    return [
        (str(n), cause, [(f"{n}{_letter(k)}", f) for k, f in enumerate(below)])
        for n, (cause, below) in enumerate(words.trees(result), 1)
    ]


def _letter(k: int) -> str:
    """a to z, then aa: the name of a place in a list.

    >>> _letter(0), _letter(25), _letter(26)
    ('a', 'z', 'aa')
    """
    head, k = divmod(k, 26)
    return (_letter(head - 1) if head else "") + "abcdefghijklmnopqrstuvwxyz"[k]


def findings(result: Result, c: Context) -> Iterator[Markup]:
    """The findings that call for something."""
    for number, cause, below in numbered(result):
        under: list[Markup] = []
        if below:
            under.append(el("p", el("strong", "Also from this cause")))
            under += [finding(f, name, c, deeper=1) for name, f in below]
        yield finding(cause, number, c, under=under)


def credits(result: Result, c: Context) -> Iterator[Markup]:
    """What is done well."""
    for n, f in enumerate((f for f in result.findings if f.severity == "credit"), 1):
        yield finding(f, f"+{n}", c)


def finding(f: Finding, number: str, c: Context, *, deeper: int = 0, under: Sequence[Markup] = ()) -> Markup:
    """One finding. `number` names it on the page and in links to it."""
    credit = f.severity == "credit"
    anchor = c.id(f"finding-{number.replace('+', 'credit-')}")
    name = f"finding {number}" if not credit else f"done well {number[1:]}"
    mark = words.SEVERITY_HEADINGS[f.severity] + (", hazard" if f.hazard else "")
    parts: list[Markup | None] = [
        c.heading(
            join([chip(mark, f"is-{f.severity}"), " " if credit else f" {number}. ", f.title]),
            below=1 + deeper,
        ),
        el("p", *_about(f, c), class_="about"),
    ]
    if f.waived:
        w = f.waived
        parts.append(el("p", el("strong", "Waived"), f" by {w['by']} until {w['until']}: {w['reason']}"))
    says: list[Markup] = [el("p", prose(f.explanation))]
    if f.remedies:
        says.append(el("p", el("strong", "What to do")))
        says.append(el("ul", *(el("li", prose(r.text)) for r in f.remedies)))
    if f.defeated:
        taken = join([el("code", r) for r in f.defeated], ", ")
        says.append(el("p", "Takes the place of ", taken, class_="quiet"))
    told = [("Margin", f.margin), (f"Why {f.severity}", "" if credit else f.reason)]
    grounds: list[Markup] = [join([el("dt", k), el("dd", prose(v))]) for k, v in told if v]
    grounds += [el("dt", "Authority"), el("dd", *_authority(f, c, anchor, name))]
    rests: list[Markup] = [el("dl", *grounds)]
    numbers = words.numbers(f)
    if f.proof and all(isinstance(e.value, str) for e in numbers):
        # Facts in words are told once, by the proof.
        numbers = []
    if numbers:
        rests.append(el("p", el("strong", "Numbers")))
        rests.append(el("ul", *(_number(e, c, anchor, name) for e in numbers), class_="numbers"))
    parts.append(el("div", el("div", *says), el("div", *rests), class_="two"))
    if f.proof:
        known = {e.fact for e in numbers}
        steps = el("ul", *(_step(s, c, anchor, name, known, f.title) for s in f.proof))
        parts.append(el("details", el("summary", "The proof"), steps, class_="proof"))
    return el("article", *parts, *under, class_=f"finding is-{f.severity}", id=anchor)


def _about(f: Finding, c: Context) -> Iterator[Markup]:
    yield c.layer_links(f.layers)
    bits = (
        ([f"line {f.line}"] if f.line else [])
        + [f"{f.confidence} confidence"]
        + ([f.voice] if f.voice else [])
    )
    yield join([" · ", join(bits, " · "), " · ", el("code", f.rule)])


def _authority(f: Finding, c: Context, anchor: str, name: str) -> Iterator[Markup]:
    said = list(dict.fromkeys(words.citation(x) for x in f.citations)) or [
        "common practice, no published source"
    ]
    for n, text in enumerate(said):
        yield join(["; " if n else "", text])
        if not text.startswith("common practice"):
            yield c.sources.cite(text, anchor, name)


def _number(e: Evidence, c: Context, anchor: str, name: str) -> Markup:
    how = f": {e.how}" if e.how and e.how != "as written" else ""
    return el(
        "li",
        _labeled(e, c),
        ": ",
        el("b", words.value(e.value, e.dimension, c.system)),
        f" ({e.origin}{how})",
        c.sources.cite(e.source, anchor, name) if e.source else None,
    )


def _labeled(e: Evidence, c: Context) -> Markup:
    """What a number is of, with a link to its layer."""
    head, colon, rest = e.label.partition(": ")
    kind, _, after = e.fact.partition(" ")
    index = after.split(" ")[0]
    if kind == "layer" and index.isdigit() and colon:
        return join([c.layer_link(int(index), head), ": ", rest])
    return join([e.label])


def _step(s: Step, c: Context, anchor: str, name: str, known: set[str], title: str = "") -> Markup:
    """A step of the proof: what it says, the facts it rests on, and the conclusions below it. What the finding says
    is not repeated, nor how a number came about where it tells so."""
    below: list[Markup] = []
    for e in s.facts:
        if e.origin == "concluded":
            continue
        asked = f", asked: {e.asked}" if e.asked else ""
        said = e.fact in known
        how = "" if said or not e.how or e.how == "as written" else f": {e.how}"
        cite = c.sources.cite(e.source, anchor, name) if e.source and not said else None
        value = words.value(e.value, e.dimension, c.system)
        below.append(el("li", f"{words.clean(e.label)}: {value}{asked} ({e.origin}{how})", cite))
        known.add(e.fact)
    below += [_step(x, c, anchor, name, known) for x in s.because]
    says = join([s.says, " "]) if s.says != title else None
    return el("li", says, el("code", s.rule), el("ul", *below) if below else None)
