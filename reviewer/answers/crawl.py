"""Vent a crawl space or close it: the floor reviewed over the one and over the other."""

from __future__ import annotations

import re
from dataclasses import replace

from reviewer.answers import phrases
from reviewer.answers.choices import PASSES, answer_which
from reviewer.answers.compute import Point, section_key
from reviewer.answers.draft import Draft
from reviewer.answers.reading import Option, Reading, Subject
from reviewer.model.section import Section
from reviewer.remedies.changes import read

VENTED, CLOSED = "vented crawl space", "unvented crawl space"
_CLOSING = re.compile(
    r"\b(?:clos(?:e|ed|ing)(?!.cell)|seal(?:ing)?|shut(?:ting)?|block(?:ing)?|encapsulat\w+|plug(?:ging)?)\b"
)
_TO_CLOSE = re.compile(
    r"\b(?:clos(?:e|ing)(?!.cell)|seal(?:ing)?|shut(?:ting)?|block(?:ing)?|encapsulat\w+|plug(?:ging)?)\b"
)
_VENTING = re.compile(r"\b(?:vent|vents|venting|ventilat\w+|open)\b")
_EITHER = re.compile(r"\b(?:or|vs|versus|better)\b")
_PROPOSED = re.compile(r"\b(?:should|shall|can|could|may|worth|want|wants|ok to|okay to|good idea)\b")
_SEALED = re.compile(r"\bseal(?:ed|ing)?\b.{0,25}\b(?:seam|joint|lap|gap|hole|rim|duct)")
_COVERING = re.compile(
    r"\b(?:put|lay|laying|roll\w*|add|adding|install\w*|spread)\b(?: \w+){0,3} (?:plastic|poly|polyethylene|sheet\w*|cover|vapou?r barrier)"
    r"(?: \w+){0,3} (?:ground|soil|dirt|earth)\b"
)
_DAMP = ("foundation/crawl", "foundation/tight-floor", "moisture-state/", "vapor-control/")
"""What speaks for closing a crawl space: damp, and no other fault of the floor."""
_OWN = ("air space", "crawl-space", "vented crawl space", "unvented crawl space", "")


def asked(reading: Reading) -> bool:
    """Whether a question about a floor is whether the space below it is to be vented or closed."""
    base = reading.base or (reading.options[0].section if reading.options else None)
    if base is None or base.kind != "floor" or base.layers[-1].space not in (VENTED, CLOSED):
        return False
    text = reading.text.lower()
    about = reading.subject.name if reading.subject is not None else ""
    closes = _CLOSING.search(text) is not None and _SEALED.search(text) is None
    vents = _VENTING.search(text) is not None
    if about == "ground cover" and _TO_CLOSE.search(text) is None:
        # `A ground cover in a closed crawl space` is a question about the cover.
        return False
    proposed = reading.intent == "safe here" and closes and _PROPOSED.search(text) is not None
    if reading.intent not in ("need", "add", "leave out", "which", "what to use") and not proposed:
        return False
    named = any(x.material is not None and x.name == about for o in reading.options for x in o.section.layers)
    return (closes and not named) or (vents and about in _OWN and "vent channel" not in text)


def answer_crawl(draft: Draft) -> None:
    """Which of the two; or yes or no, where it is asked whether to close the vents or to leave them out."""
    reading = draft.reading
    base = reading.base or reading.options[0].section
    if _COVERING.search(text := reading.text.lower()) and "ground cover" not in base.known:
        # What is to be laid does not lie there yet.
        base = replace(base, known={**base.known, "ground cover": "none"})
    vented, closed = _over(base, VENTED), _over(base, CLOSED)
    options = (Option(CLOSED, closed), Option(VENTED, vented))
    draft.reading = replace(
        reading, base=base, options=options, subject=Subject("concept", "crawl-space"), intent="which"
    )
    answer_which(draft)
    if reading.intent in ("which", "what to use") or _EITHER.search(text):
        return
    judged = draft.desk.judged([vented, closed])
    closes = _CLOSING.search(text) is not None or reading.intent == "leave out"
    it = phrases.spoken(base.kind, phrases.place(judged[0]))
    now, then = (judged[0].dry, judged[1].dry) if closes else (judged[1].dry, judged[0].dry)
    gone = set(now.of("serious", "caution")) - set(then.of("serious", "caution"))
    better = not then.of("serious") and any(rule.startswith(_DAMP) for rule in gone)
    draft.direction = "yes" if better else "no"
    what = "close the crawl space" if closes else "vent the crawl space"
    if closes and _COVERING.search(text):
        what += " once its soil is covered"
    point = phrases.told(
        now.of("serious", "caution")[
            next(r for r in now.of("serious", "caution") if r in gone and r.startswith(_DAMP))
        ]
        if better
        else now.worst
    )
    if better:
        draft.answer = f"Yes, {what} under {it}: as it is, {point}."
    elif now.disposition in PASSES:
        draft.answer = f"No need to {what} under {it}: it passes as it is{_also(now.worst)}."
    else:
        draft.answer = f"No, don't {what} under {it} as a remedy by itself: {point}."


def _also(point: Point | None) -> str:
    return "" if point is None else f", though {phrases.told(point)}"


def _over(base: Section, space: str) -> Section:
    if base.layers[-1].space == space:
        return base
    last = replace(read(space), index=len(base.layers) - 1)
    known = dict(base.known)
    if space == CLOSED:
        # Closing one begins with covering its soil.
        known["ground cover"] = known.get("ground cover", "none").replace("none", "polyethylene")
    made = replace(base, layers=(*base.layers[:-1], last), known=known)
    return base if section_key(made) == section_key(base) else made


__all__ = ["answer_crawl", "asked"]
