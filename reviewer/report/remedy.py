"""Remedies for people: the cheapest first, with what each clears, leaves and causes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from reviewer.advice import ChangeLine, FindingLine, Proposal, RemedyAdvice
from reviewer.report import words
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Paper
from reviewer.report.terminal import MAX_WIDTH, MIN_WIDTH, PROSE, Line, paint, wrap

NAMED = 6
"""Changes without a price that are named; the rest are counted."""
MERITS = {
    "cheapest": "the cheapest",
    "fewest cautions": "leaves the fewest cautions",
    "fewest trades": "the fewest trades",
    "inside only": "from the room side alone",
    "outside only": "from outside alone",
    "no layer touched": "without touching a layer",
}


def as_json(advice: RemedyAdvice) -> str:
    return advice.model_dump_json(by_alias=True, indent=2) + "\n"


def schema() -> dict[str, Any]:
    """JSON Schema of `as_json`."""
    found = RemedyAdvice.model_json_schema(by_alias=True, mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **found}


def as_html(advice: RemedyAdvice) -> str:
    """One page by itself."""
    from reviewer.report import html_remedy

    return html_remedy.render(advice)


def as_text(advice: RemedyAdvice, width: int = 80, color: bool = False) -> str:
    """For a terminal: plain text, with colors when asked for."""
    width = min(max(width, MIN_WIDTH), MAX_WIDTH)
    return paint(_lines(advice, min(width, PROSE)), width, color)


def as_paper(advice: RemedyAdvice, letterhead: Letterhead | None = None) -> Paper:
    """For PDF, DOCX, Markdown and the linear text."""
    from reviewer.report.remedy_paper import remedy_paper

    return remedy_paper(advice, letterhead)


# -- the parts, for every format -------------------------------------------------------------------


def title(a: RemedyAdvice) -> str:
    s = a.section
    return words.clean(s.title or (s.id if s.file not in ("<line>", "-") else s.kind.capitalize()))


def now(a: RemedyAdvice) -> str:
    return f"As it is: {words.DISPOSITIONS[a.disposition]}"


def head(p: Proposal) -> str:
    """`No exceptions taken: cost 2.5, outside only; carpenter. The cheapest.`"""
    parts = [f"cost {p.cost:g}", *([p.side] if p.side else [])]
    trades = f"; {', '.join(p.trades)}" if p.trades else ""
    merits = "; ".join(MERITS[m] for m in p.merits)
    why = f". {merits[:1].upper()}{merits[1:]}" if merits else ""
    return f"{words.DISPOSITIONS[p.disposition]}: {', '.join(parts)}{trades}{why}"


def what(p: Proposal) -> Iterator[str]:
    """What is done, a change a line."""
    for c in p.changes:
        yield _change(c)
    if p.getting_at:
        yield f"{p.getting_at[:1].upper()}{p.getting_at[1:]} (cost {p.opening:g})"


def _change(c: ChangeLine) -> str:
    says = words.clean(c.says)
    by = f"; {c.trade}" if c.trade else ""
    states = f". Then true, once done: {words.clean(c.states)}" if c.states else ""
    return f"{says[:1].upper()}{says[1:]} (cost {c.cost:g}{by}; from {c.source}){states}"


def effects(p: Proposal) -> Iterator[tuple[str, str]]:
    """What it clears, leaves, causes and loses; label and text."""
    for label, found in (("Clears", p.clears), ("Leaves", p.leaves), ("Newly causes", p.causes)):
        if found:
            yield label, "; ".join(finding(f) for f in found)
    if not p.causes:
        yield "Newly causes", "nothing serious and no caution"
    if p.loses:
        yield "Loses what was done well", "; ".join(finding(f) for f in p.loses)
    if "cheapest" in p.merits and not p.proven:
        yield "Not proven", "a cheaper one may exist among the combinations that were not tried"


def finding(f: FindingLine) -> str:
    return f"{words.clean(f.title)} [{f.rule}, {f.severity}]"


def _margins(p: Proposal) -> Iterator[str]:
    for m in p.margins:
        was = f" (now {m.before})" if m.before not in ("", m.after) else ""
        yield f"{m.what} {m.after}{was}"


def rest(a: RemedyAdvice) -> Iterator[tuple[str, list[str]]]:
    """What follows the proposals: heading and rows."""
    if a.to_find_out:
        yield (
            "To find out first",
            [f"{_capital(words.clean(t.what))} ({_rules(t.decides)})" for t in a.to_find_out],
        )
    if a.unmoved:
        rows = []
        for u in a.unmoved:
            advice = f" Advice: {' '.join(words.clean(t) for t in u.advice)}" if u.advice else ""
            rows.append(f"{finding(u.finding)}. {words.clean(u.why)}{advice}")
        yield "What no change clears, and why", rows
    grounds = [f"Limits: {'; '.join(a.limits)}", f"Cost: {a.cost_basis}"]
    if a.unpriced:
        more = len(a.unpriced) - NAMED
        rest = f"; and {more} more" if more > 0 else ""
        grounds.append(f"Left out for want of a price: {'; '.join(a.unpriced[:NAMED])}{rest}")
    yield "Limits and cost", grounds
    yield "Cautions", a.cautions


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _rules(rules: list[str]) -> str:
    if len(rules) == 1:
        return f"decides {rules[0]}"
    return f"decides {len(rules)} rules: {', '.join(rules)}"


# -- terminal --------------------------------------------------------------------------------------


def _lines(a: RemedyAdvice, width: int) -> Iterator[Line]:
    def wrapped(text: str, first: str = "", style: str = "plain") -> Iterator[Line]:
        for t in wrap(text, width, first):
            yield Line(t, style)

    yield from wrapped(f"Remedies: {title(a)}", style="heading")
    yield from wrapped(now(a), style=a.disposition)
    for f in a.findings:
        yield from wrapped(finding(f), "  - ", "dim")
    yield Line("")
    yield from wrapped(a.summary)
    for n, p in enumerate(a.proposals, 1):
        yield Line("")
        yield from wrapped(head(p), f"{n}. ", p.disposition)
        for t in what(p):
            yield from wrapped(t, "   - ")
        for label, text in effects(p):
            yield from wrapped(f"{label}: {text}", "   ")
        yield from wrapped(f"Margins: {'; '.join(_margins(p))}", "   ")
    for heading, rows in rest(a):
        yield Line("")
        yield from wrapped(heading, style="heading")
        for r in rows:
            yield from wrapped(r, "  - ")
