"""From a search to advice: each proposal reviewed once more in full, from the text of its patched file."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

import reviewer
from reviewer.advice import (
    ChangeLine,
    FindingLine,
    Margin,
    Merit,
    Proposal,
    RemedyAdvice,
    ToFindOut,
    Unmoved,
)
from reviewer.facts.build import build
from reviewer.facts.resolve import Properties
from reviewer.model.parse import parse_section
from reviewer.model.section import Section
from reviewer.remedies.costs import Costs, coarse
from reviewer.remedies.moves import Limits, Move, told
from reviewer.remedies.parts import PARTS, here_of
from reviewer.remedies.patch import patch
from reviewer.remedies.search import Judged, Search, search
from reviewer.result import Finding, Result
from reviewer.review import Units, review
from reviewer.units import show
from reviewer.variants.judging import Judges

BAD = ("serious", "caution")
WHILE_UNKNOWN = 256
"""Combinations that are tried at most where something decisive is not known: only one that takes away what is not
known can pass."""
CAUTIONS = (
    "A remedy passes this screening review; it is no design. Have it checked against the adopted code, the makers' "
    "instructions and the building as it stands before it is built.",
)
STATEMENT_CAUTION = (
    "What a changed file states of the building holds only once that work is done and somebody has looked: until then "
    "the section is not as the file says."
)


def advise(
    section: Section,
    text: str,
    judges: Judges,
    limits: Limits | None = None,
    costs: Costs | None = None,
    units: Units | None = None,
    stated: Iterable[str] = (),
    progress: Callable[[int], None] = lambda n: None,
) -> RemedyAdvice:
    """The remedies of a section; `text` is the text of its file, `stated` the user's limits in words.

    Raises InputError as `review` does, and where the file can't be patched.
    """
    limits = limits or Limits()
    prices = costs or coarse()
    before = review(section, judges.rules, edition=judges.edition, units=units)
    book, layers, _, anatomy, _ = build(section, judges.edition)
    find_out = _to_find_out(before)
    turned = bool(PARTS["list from the street"](here_of(section, book, layers, anatomy)))
    listed = bool(find_out) and not turned and _only_the_list(before)
    found = None
    if before.disposition != "incomplete" and not listed:
        unknown = any(m.decisive for m in before.not_evaluated)
        tries = min(limits.most_candidates, WHILE_UNKNOWN) if unknown else limits.most_candidates
        found = search(section, judges, replace(limits, most_candidates=tries), prices, progress)
    proposals = [] if found is None else _proposals(found, before, text, layers, judges)
    states = any(c.states for p in proposals for c in p.changes)
    return RemedyAdvice(
        program=f"reviewer {reviewer.__version__}",
        section=before.section,
        climate=before.climate,
        units=before.units,
        disposition=before.disposition,
        findings=lines(f for f in before.findings if f.severity in BAD),
        until=limits.until,
        limits=[
            *stated,
            f"at most {_many(limits.most_changes, 'change')} at once",
            "no more than a twentieth more heat through the section",
        ],
        cost_basis=prices.basis,
        unpriced=[] if found is None else found.unpriced,
        proposals=proposals,
        tried=0 if found is None else found.tried,
        complete=found is None or found.complete,
        to_find_out=[] if proposals else find_out,
        unmoved=[] if found is None or proposals else _unmoved(before, found),
        summary=_summary(before, found, limits, find_out),
        cautions=[*CAUTIONS, *([STATEMENT_CAUTION] if states else []), *before.cautions],
    )


def lines(findings: Iterable[Finding]) -> list[FindingLine]:
    """Findings in short."""
    return [
        FindingLine(rule=f.rule, severity=f.severity, title=f.title, layers=list(f.layers)) for f in findings
    ]


def _to_find_out(r: Result) -> list[ToFindOut]:
    """What the verdict waits for, each with the rules that wait; and what the list of layers itself leaves open."""
    waiting: dict[str, list[str]] = {}
    for m in r.not_evaluated:
        if m.decisive:
            for what in m.settle.split("; "):
                waiting.setdefault(what.removesuffix(" is not known"), []).append(m.rule)
    out = [ToFindOut(what=what, decides=rules) for what, rules in waiting.items()]
    for f in r.findings:
        if f.severity in BAD and f.rule.startswith("completeness/"):
            out += [
                ToFindOut(what=remedy.text, decides=[f.rule]) for remedy in f.remedies if not remedy.change
            ]
    return out


def _only_the_list(r: Result) -> bool:
    """Whether nothing but the list of layers is found fault with."""
    return all(f.rule.startswith("completeness/") for f in r.findings if f.severity in BAD)


def _unmoved(before: Result, found: Search) -> list[Unmoved]:
    out: dict[str, Unmoved] = {}
    for f in before.findings:
        if f.rule in found.unmoved and f.rule not in out:
            (line,) = lines([f])
            advice = [r.text for r in f.remedies]
            out[f.rule] = Unmoved(finding=line, why=f.explanation, advice=advice)
    return list(out.values())


def _summary(before: Result, found: Search | None, limits: Limits, find_out: list[ToFindOut]) -> str:
    if found is None and before.disposition != "incomplete":
        return "No change of the building is called for: the list of layers is to be completed first."
    if found is None:
        n = len(find_out)
        things = "one thing is" if n == 1 else f"{n} things are"
        return (
            f"Too little is known to change anything: {things} to be found out first, and what is found decides. A "
            "change on a guess may be work for nothing."
        )
    tried = f"{_many(found.tried, 'combination')} of {_many(len(found.moves), 'change')} tried"
    if found.front:
        n = len(found.front) + len(found.others)
        cheapest = found.front[0].candidate.cost <= found.reached
        rest = (
            ""
            if found.complete
            else (
                "; the search stopped there: a dearer one may leave fewer cautions"
                if cheapest
                else "; the search stopped there: a cheaper one may exist that was not tried"
            )
        )
        first = ", the cheapest first" if n > 1 else ""
        return f"{_many(n, 'remedy')}{first}; {tried}{rest}."
    if before.disposition == "no exceptions taken":
        return "Nothing to change: no exceptions are taken as it is."
    if before.disposition == "make corrections noted" and limits.until == before.disposition:
        return f"It passes as it is; no change within the limits leaves fewer cautions. {tried}."
    if any(m.decisive for m in before.not_evaluated):
        return (
            f"No change can be shown to work before it is known what is not known now: {_many(len(find_out), 'thing')} "
            f"to find out, below. {tried}."
        )
    end = "" if found.complete else " before the search stopped; more candidates or changes may find one"
    why = ""
    if found.unmoved:
        why = f" {_many(len(found.unmoved), 'serious finding')} stood whatever was changed."
    elif found.complete and before.disposition == "revise and resubmit":
        why = f" Each serious finding can be cleared, but not all by {limits.most_changes} changes at once."
    return f"Nothing within the limits works{end}.{why} {tried}."


def _many(n: int, noun: str) -> str:
    """
    >>> _many(1, "remedy"), _many(2, "remedy"), _many(1000, "change")
    ('1 remedy', '2 remedies', '1000 changes')
    """
    plural = noun[:-1] + "ies" if noun.endswith("y") else noun + "s"
    return f"{n} {noun if n == 1 else plural}"


def _proposals(
    found: Search, before: Result, text: str, layers: list[Properties], judges: Judges
) -> list[Proposal]:
    shown = sorted([*found.front, *found.others], key=lambda j: j.order)
    trades = min((len(j.candidate.trades) for j in shown), default=0)
    fewest_trades = next((j for j in shown if len(j.candidate.trades) == trades), None)
    out: list[Proposal] = []
    sides: set[str] = set()
    for j in shown:
        merits: list[Merit] = []
        side = j.candidate.side
        if j is found.front[0]:
            merits.append("cheapest")
        if j is found.front[-1]:
            merits.append("fewest cautions")
        if j is fewest_trades and len(shown) > 1:
            merits.append("fewest trades")
        if side not in sides and side != "both":
            merits.append(
                "inside only"
                if side == "inside"
                else "outside only"
                if side == "outside"
                else "no layer touched"
            )
        sides.add(side)
        front = any(j is f for f in found.front)
        out.append(
            _proposal(j, before, text, layers, judges, merits, front and j.candidate.cost <= found.reached)
        )
    return out


_SIDES = {"inside": "inside only", "outside": "outside only", "both": "both sides", "": ""}


def _proposal(
    found: Judged,
    before: Result,
    text: str,
    layers: list[Properties],
    judges: Judges,
    merits: list[Merit],
    proven: bool,
) -> Proposal:
    c = found.candidate
    patched = patch(text, c.draft)
    section = parse_section(patched, c.draft.original.file)
    after = review(section, judges.rules, edition=judges.edition, units=before.units)
    if after.disposition != found.judgment.disposition:
        raise AssertionError("a batch and a single review of one section differ")
    was, now = ({f.rule for f in r.findings} for r in (before, after))
    # Water, wiring and tests come before what covers them.
    in_order = sorted(c.moves, key=lambda m: not m.settings)
    changes = [_line(m, layers, before.units) for m in in_order]
    opening = round(c.cost - sum(m.cost for m in c.moves), 6)
    gone = frozenset[int]().union(*(m.gone for m in c.moves))
    opened = sorted(frozenset[int]().union(*(m.opened for m in c.moves)) - gone) if opening else []
    return Proposal(
        changes=changes,
        cost=round(c.cost, 6),
        opening=opening,
        opened=opened,
        getting_at=_getting_at(opened, layers),
        trades=list(c.trades),
        side=_SIDES[c.side],
        disposition=after.disposition,
        merits=merits,
        proven=proven,
        clears=lines(f for f in before.findings if f.severity in BAD and f.rule not in now),
        leaves=lines(f for f in after.findings if f.severity in BAD and f.rule in was),
        causes=lines(f for f in after.findings if f.severity in BAD and f.rule not in was),
        loses=lines(f for f in before.findings if f.severity == "credit" and f.rule not in now),
        margins=margins(before, after),
        layers=[x.text for x in after.layers],
        patched=patched,
    )


def _getting_at(opened: list[int], layers: list[Properties]) -> str:
    """What it takes to get at the layers.

    >>> _getting_at([], [])
    ''
    """
    numbers = [str(i + 1) for i in opened if not layers[i].is_surroundings]
    parts = []
    if numbers:
        several = len(numbers) > 1
        shown = f"{', '.join(numbers[:-1])} and {numbers[-1]}" if several else numbers[0]
        parts.append(
            f"open up layer{'s' if several else ''} {shown}, and put {'them' if several else 'it'} back"
        )
    if any(layers[i].is_surroundings for i in opened):
        parts.append("dig down outside, and fill again")
    return "; ".join(parts)


def _line(m: Move, layers: list[Properties], units: Units) -> ChangeLine:
    stated = [f"{'known' if part == 'section' else part}: {key}: {value}" for part, key, value in m.settings]
    return ChangeLine(
        says=told(m, layers, units),
        change=[dict(x) for x in m.changes],
        source=m.source,
        trade=", ".join(t for t in m.trades if t),
        side=m.side,
        cost=round(m.cost, 6),
        states="; ".join(stated),
    )


def margins(before: Result, after: Result) -> list[Margin]:
    """How far a section is from trouble, as it is and as changed; what can't be calculated before is empty."""
    was, now = _measures(before), _measures(after)
    return [Margin(what=what, before=was.get(what, ""), after=value) for what, value in now.items()]


def _measures(r: Result) -> dict[str, str]:
    c, out = r.calculations, {}
    if "share_outboard" in c and "share_needed" in c:
        out["R outboard of the condensing plane"] = (
            f"{c['share_outboard'] * 100:.0f} % of {c['share_needed'] * 100:.0f} % needed in the coldest month"
        )
    if "drying" in c:
        d = c["drying"]
        dries = "dries within the year" if d["dries_within_year"] else "does not dry within the year"
        held = show(d["peak"], "area density", r.units)
        out["condensate"] = f"{held}, {dries}" if d["condenses"] else "none"
    wood = [(max(w["monthly"]), w["name"]) for w in c.get("wood_moisture", [])]
    if wood:
        most, name = max(wood)
        out["wettest wood"] = f"{most * 100:.0f} % MC ({name})"
    if "u_value" in c:
        out["U"] = show(c["u_value"], "thermal transmittance", r.units)
    return out
