"""From a search to advice: each proposal reviewed once more in full, from the text of its patched file."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import reviewer
from reviewer.advice import ChangeLine, FindingLine, Margin, Proposal, RemedyAdvice
from reviewer.facts.build import build
from reviewer.facts.resolve import Properties
from reviewer.model.parse import parse_section
from reviewer.model.section import Section
from reviewer.remedies.costs import Costs, coarse
from reviewer.remedies.patch import patch
from reviewer.remedies.search import Judged, Judges, Limits, Search, says, search
from reviewer.result import Finding, Result
from reviewer.review import Units, review
from reviewer.units import show


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
    found = search(section, judges, limits, prices, progress)
    layers = build(section, judges.edition)[1]
    proposals = [_proposal(j, before, text, layers, judges) for j in found.front]
    return RemedyAdvice(
        program=f"reviewer {reviewer.__version__}",
        section=before.section,
        climate=before.climate,
        units=before.units,
        disposition=before.disposition,
        findings=lines(f for f in before.findings if f.severity in ("serious", "caution")),
        until=limits.until,
        limits=[
            *stated,
            f"at most {limits.most_changes} changes at once",
            "no more than a twentieth more heat through the section",
        ],
        cost_basis=prices.basis,
        unpriced=found.unpriced,
        proposals=proposals,
        tried=found.tried,
        complete=found.complete,
        summary=_summary(before, found, limits),
    )


def lines(findings: Iterable[Finding]) -> list[FindingLine]:
    """Findings in short."""
    return [
        FindingLine(rule=f.rule, severity=f.severity, title=f.title, layers=list(f.layers)) for f in findings
    ]


def _summary(before: Result, found: Search, limits: Limits) -> str:
    tried = f"{found.tried} combination{'s' if found.tried != 1 else ''} of {len(found.moves)} changes tried"
    if found.front:
        n = len(found.front)
        rest = "" if found.complete else "; the search stopped there: a dearer one may leave fewer cautions"
        return f"{n} remed{'ies' if n > 1 else 'y'}, the cheapest first; {tried}{rest}."
    if before.disposition == "no exceptions taken":
        return "Nothing to change: no exceptions are taken as it is."
    if before.disposition == "make corrections noted" and limits.until == before.disposition:
        return f"It passes as it is; no change within the limits leaves fewer cautions. {tried}."
    end = "" if found.complete else " before the search stopped; more candidates or changes may find one"
    return f"Nothing within the limits works{end}. {tried}."


def _proposal(found: Judged, before: Result, text: str, layers: list[Properties], judges: Judges) -> Proposal:
    c = found.candidate
    patched = patch(text, c.draft)
    section = parse_section(patched, c.draft.original.file)
    after = review(section, judges.rules, edition=judges.edition, units=before.units)
    if after.disposition != found.judgment.disposition:
        raise AssertionError("a batch and a single review of one section differ")
    was, now = ({f.rule for f in r.findings} for r in (before, after))
    bad = ("serious", "caution")
    sides = {m.side for m in c.moves if m.side}
    return Proposal(
        changes=[
            ChangeLine(
                says=says(m.changes, layers),
                change=[dict(x) for x in m.changes],
                source=m.source,
                trade=m.trade,
                side=m.side,
                cost=round(m.cost, 6),
            )
            for m in c.moves
        ],
        cost=round(c.cost, 6),
        trades=list(dict.fromkeys(m.trade for m in c.moves)),
        side="both sides" if len(sides) > 1 else f"{next(iter(sides))} only" if sides else "",
        disposition=after.disposition,
        merits=[],
        proven=True,
        clears=lines(f for f in before.findings if f.severity in bad and f.rule not in now),
        leaves=lines(f for f in after.findings if f.severity in bad and f.rule in was),
        causes=lines(f for f in after.findings if f.severity in bad and f.rule not in was),
        loses=lines(f for f in before.findings if f.severity == "credit" and f.rule not in now),
        margins=margins(before, after),
        layers=[x.text for x in after.layers],
        patched=patched,
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
        out["condensate"] = f"{d['peak'] * 1000:.0f} g/m², {dries}" if d["condenses"] else "none"
    wood = [(max(w["monthly"]), w["name"]) for w in c.get("wood_moisture", [])]
    if wood:
        most, name = max(wood)
        out["wettest wood"] = f"{most * 100:.0f} % MC ({name})"
    if "u_value" in c:
        out["U"] = show(c["u_value"], "thermal transmittance", r.units)
    return out
