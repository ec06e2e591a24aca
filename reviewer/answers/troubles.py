"""What went wrong: the section as described reviewed, and the causes of what is seen, the likeliest first."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from reviewer.answers import phrases
from reviewer.answers.draft import Draft, checks, command, dissent, improvements
from reviewer.document import read_document
from reviewer.result import Finding

FILE = os.path.join(os.path.dirname(__file__), "data", "troubles.yaml")


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause of what is seen."""

    says: str
    rules: tuple[str, ...]
    """Rules that speak for it; a word with a slash at its end is a whole pack."""
    tell: str
    """How to know it from the others."""

    def speaks(self, rule: str) -> bool:
        return any(rule == r or (r.endswith("/") and rule.startswith(r)) for r in self.rules)


@lru_cache(maxsize=1)
def troubles() -> Mapping[str, tuple[Cause, ...]]:
    """Causes by what is seen, in the order of the file."""
    return {
        name: tuple(
            Cause(
                c.fields["says"].text,
                tuple(n.text for n in c.fields["rules"].items),
                c.fields["tell"].text,
            )
            for c in node.fields["causes"].items
        )
        for name, node in read_document(FILE).fields["troubles"].fields.items()
    }


def answer_trouble(draft: Draft) -> None:
    """`what went wrong`."""
    reading = draft.reading
    seen = reading.subject.name if reading.subject is not None else ""
    causes = troubles().get(seen, ())
    draft.direction = "explanation"
    findings: list[Finding] = []
    it = "the section"
    if reading.base is not None:
        result = draft.shown = draft.desk.result(reading.base)
        j = draft.desk.judged([reading.base])[0]
        it = phrases.spoken(reading.base.kind, phrases.place(j))
        hung = {s for f in result.findings for s in f.symptoms}
        bad = [f for f in result.findings if f.severity in ("serious", "caution") and f.rule not in hung]
        known = [f for f in bad if any(c.speaks(f.rule) for c in causes)]
        findings = known or bad if causes else bad
        draft.dissent = dissent(result)
        draft.better = improvements(draft, reading.base, result)
        draft.check = checks(draft, result)
        draft.commands.insert(0, command(draft.desk, reading.base))
        numbers = phrases.margins(result)
        if numbers:
            draft.more.append(phrases.stopped(phrases.capitalized("; ".join(numbers[:2]))))
    weights = {id(c): _weight(c, findings) for c in causes}
    ranked = sorted(causes, key=lambda c: weights[id(c)])
    spoken_for = [c for c in ranked if any(c.speaks(f.rule) for f in findings)]
    shown = f"the {seen}" if seen else "what is seen"
    if findings:
        lead = findings[0] if not spoken_for else next(f for f in findings if spoken_for[0].speaks(f.rule))
        findings.sort(key=lambda f: f is not lead)
        margin = f" ({lead.margin})" if lead.margin else ""
        draft.answer = phrases.stopped(
            f"The likeliest cause of {shown} in {it}: {phrases.decapitalized(lead.title).rstrip('.')}{margin}"
        )
    elif ranked and reading.base is not None:
        draft.answer = (
            f"The layers of {it} as told don't explain {shown}: nothing is found against them, so look for "
            f"what is not in a section, first of all whether {ranked[0].says}."
        )
    elif ranked:
        draft.answer = f"The commonest cause of {shown}: {ranked[0].says}."
    else:
        draft.answer = (
            f"The layers of {it} as told don't explain what is seen: nothing is found against them."
        )
    for n, c in enumerate(ranked[:4], 1):
        backed = next((f for f in findings if c.speaks(f.rule)), None)
        why = f" The review speaks for it [{backed.rule}]." if backed is not None else ""
        draft.more.append(f"Cause {n}: {c.says}.{why} How to tell: {c.tell}.")
    draft.reasons = findings[:3]
    if ranked:
        draft.sources.append("causes and how to tell them apart: common practice, no published source")
    draft.cautions.append(
        "A cause is found on site, not from a description: open up and look before anything is closed or covered."
    )


def _weight(c: Cause, findings: list[Finding]) -> tuple[int, int]:
    """Causes that graver findings speak for come first; then the order of the data, which a sort keeps."""
    severities = ("serious", "caution")
    best = min((severities.index(f.severity) for f in findings if c.speaks(f.rule)), default=9)
    place = min((n for n, f in enumerate(findings) if c.speaks(f.rule)), default=99)
    return best, place
