"""Remedies for people: the cheapest first, with what each clears, leaves and causes."""

from __future__ import annotations

from collections.abc import Iterator

from reviewer.advice import FindingLine, Proposal, RemedyAdvice
from reviewer.report import words
from reviewer.report.markdown import escape
from reviewer.report.terminal import MAX_WIDTH, MIN_WIDTH, PROSE, Line, paint, wrap


def as_json(advice: RemedyAdvice) -> str:
    return advice.model_dump_json(by_alias=True, indent=2) + "\n"


def as_html(advice: RemedyAdvice) -> str:
    """One page that needs nothing beside it."""
    from reviewer.report import html_remedy

    return html_remedy.render(advice)


def as_text(advice: RemedyAdvice, width: int = 80, color: bool = False) -> str:
    """For a terminal: plain text, with colors when asked for."""
    width = min(max(width, MIN_WIDTH), MAX_WIDTH)
    return paint(_lines(advice, min(width, PROSE)), width, color)


def as_markdown(advice: RemedyAdvice) -> str:
    out = [f"# Remedies: {escape(_title(advice))}", "", f"**{escape(_now(advice))}**", ""]
    out += [escape(advice.summary), ""]
    for n, p in enumerate(advice.proposals, 1):
        out += [f"## {n}. {escape(_head(advice, p))}", ""]
        out += [f"- {escape(t)}" for t in (*_what(p), *_effects(p))]
        out.append("")
    out += [f"- {escape(t)}" for t in _grounds(advice)]
    return "\n".join(out) + "\n"


def _title(a: RemedyAdvice) -> str:
    s = a.section
    return words.clean(s.title or (s.id if s.file not in ("<line>", "-") else s.kind.capitalize()))


def _now(a: RemedyAdvice) -> str:
    return f"As it is: {words.DISPOSITIONS[a.disposition]}"


def _head(a: RemedyAdvice, p: Proposal) -> str:
    side = f", {p.side}" if p.side else ""
    return f"{words.DISPOSITIONS[p.disposition]}: cost {p.cost:g}{side}; {', '.join(p.trades)}"


def _what(p: Proposal) -> Iterator[str]:
    for c in p.changes:
        says = words.clean(c.says)
        yield f"{says[:1].upper()}{says[1:]} (cost {c.cost:g}; from {c.source})"


def _effects(p: Proposal) -> Iterator[str]:
    for label, found in (("Clears", p.clears), ("Leaves", p.leaves), ("Newly causes", p.causes)):
        if found:
            yield f"{label}: {_listed(found)}"
    if not p.causes:
        yield "Newly causes: nothing serious and no caution"
    if p.loses:
        yield f"Loses what was done well: {_listed(p.loses)}"
    for m in p.margins:
        yield f"Margin, {m.what}: {m.after}" + (f"; now {m.before}" if m.before not in ("", m.after) else "")


def _listed(found: list[FindingLine]) -> str:
    return "; ".join(f"{words.clean(f.title)} [{f.rule}, {f.severity}]" for f in found)


def _grounds(a: RemedyAdvice) -> Iterator[str]:
    yield f"Limits: {'; '.join(a.limits)}"
    yield f"Cost: {a.cost_basis}"
    if a.unpriced:
        yield f"Left out for want of a price: {'; '.join(a.unpriced)}"


def _lines(a: RemedyAdvice, width: int) -> Iterator[Line]:
    def wrapped(text: str, first: str = "", style: str = "plain") -> Iterator[Line]:
        for t in wrap(text, width, first):
            yield Line(t, style)

    yield from wrapped(f"Remedies: {_title(a)}", style="heading")
    yield from wrapped(_now(a), style=a.disposition)
    for f in a.findings:
        yield from wrapped(f"{f.severity}: {f.title} [{f.rule}]", "  - ", "dim")
    yield Line("")
    yield from wrapped(a.summary)
    for n, p in enumerate(a.proposals, 1):
        yield Line("")
        yield from wrapped(_head(a, p), f"{n}. ", p.disposition)
        for t in _what(p):
            yield from wrapped(t, "   - ")
        for t in _effects(p):
            yield from wrapped(t, "   ")
    yield Line("")
    for t in _grounds(a):
        yield from wrapped(t, "  - ", "dim")
