"""Which of several, what to use, what is the cheapest that works: sections side by side, ranked."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from reviewer.answers import phrases
from reviewer.answers.compute import Judged, section_key
from reviewer.answers.draft import (
    Draft,
    checks,
    command,
    dissent,
    holds,
    improvements,
    missing_in,
    reasons,
    turns,
)
from reviewer.answers.reading import Reading, Subject
from reviewer.answers.uses import Use, for_role, placed
from reviewer.answers.verdicts import ROLES, option_line, thing
from reviewer.errors import InputError, Problem
from reviewer.library.materials import load_materials
from reviewer.model.section import Section
from reviewer.names import shown_name
from reviewer.result import Result
from reviewer.units import PERM, show

PASSES = ("no exceptions taken", "make corrections noted")
_MOST_SHOWN = 6


@dataclass(frozen=True, slots=True)
class Alternative:
    label: str
    section: Section
    result: Result
    judged: Judged
    cost: float | None
    """In the coarse order, of what the alternatives do not share."""

    @property
    def order(self) -> tuple:
        """The better first: verdict, findings, then what can be said against it, what it can dry, and cost."""
        notes = sum(p.severity == "note" and not p.rule.startswith("voices/") for p in self.judged.points)
        return (*self.judged.moist, -_coarsely(self.judged.opens), notes, self.cost or 0.0, self.label)


_OPEN = 20 * PERM
"""Beyond 20 perms a side dries as well as any (common practice)."""


def _coarsely(opens: tuple[float, float] | None) -> int:
    """How well a section dries both ways, in steps of a fifth: less than that apart, two dry alike."""
    return 0 if opens is None else round(math.log(1.0 + sum(min(p, _OPEN) for p in opens) / PERM, 1.2))


def ranked(draft: Draft, options: Sequence[tuple[str, Section]]) -> list[Alternative]:
    """The alternatives, the best first."""
    from reviewer.remedies.costs import coarse

    desk, prices = draft.desk, coarse()
    sections = [s for _, s in options]
    results, judged = desk.results(sections), [j.dry for j in desk.judged(sections)]
    shared = set.intersection(*({_priced(x) for x in s.layers} for s in sections))
    found = []
    for (label, s), r, j in zip(options, results, judged, strict=True):
        own = [prices.layer(x) for x in s.layers if _priced(x) not in shared]
        found.append(Alternative(label, s, r, j, round(sum(p.amount for p in own if p is not None), 3)))
    return sorted(found, key=lambda a: a.order)


def _priced(layer) -> tuple:
    return layer.name, None if layer.thickness is None else layer.thickness.middle


def answer_which(draft: Draft) -> None:
    """`which`: the alternatives that the question names."""
    reading = draft.reading
    best, *others = ranked(draft, [(o.label, o.section) for o in reading.options])
    draft.direction = "choice"
    kind = best.section.kind
    it = phrases.spoken(kind, phrases.place(best.judged))
    label = _label(best.label)
    second = others[0] if others else None
    passes = best.judged.disposition in PASSES
    proposed = _proposed(reading, [best, *others])
    if proposed is not None:
        if _allowed(draft, proposed, next(a for a in (best, *others) if a is not proposed)):
            best, others = proposed, [a for a in (best, *others) if a is not proposed]
    elif not passes:
        draft.answer = f"{phrases.capitalized(label)} comes off best for {it}, but none of them passes: {phrases.told(best.judged.worst)}."
    elif second is not None and second.judged.moist > best.judged.moist:
        draft.answer = f"{phrases.capitalized(label)} for {it}: with {_label(second.label)}, {phrases.told(second.judged.worst)}."
    elif second is not None:
        whole = all(x.result.disposition in PASSES for x in (best, second))
        both = "both pass" if whole else "for moisture both pass"
        draft.answer = f"{phrases.capitalized(label)} for {it}, by a small margin: {both}, and {_difference(best, second)}."
    else:
        draft.answer = f"{phrases.capitalized(label)} for {it}: nothing is found against it."
    _tell(draft, best, others)
    sections = [a.section for a in (best, *others)]
    if not others:
        return
    from reviewer.answers.compute import decide

    judged = [a.judged for a in (best, *others)]
    names = [_label(a.label) for a in (best, *others)]

    def say(d, jj: Sequence[Judged]) -> str:
        if jj[d.best].disposition in PASSES:
            return f"{names[d.best]}, since with {names[0]}, {phrases.told(jj[0].worst)}."
        return f"none passes, {names[d.best]} is the least bad: {phrases.told(jj[d.best].worst)}."

    draft.changes_it = turns(draft, sections, judged, decide("which", judged), say)


_MAY = re.compile(
    r"\b(?:can|could|may|might|allowed|acceptable|ok|okay|safe|fine|enough|alright|legal|permitted|pass)\b"
)
_INSTEAD = re.compile(r"\b(?:instead of|in place of|in lieu of|rather than)\b")
_EXCHANGED = re.compile(r"\b(?:swap|swapping|replace|replacing|exchange|substitute)\b")


def _proposed(reading: Reading, found: Sequence[Alternative]) -> Alternative | None:
    """The one of two that is to take the other's place, where the question is whether it may."""
    said = reading.text.lower()
    if len(found) != 2 or not _MAY.search(said):
        return None
    instead, exchanged = _INSTEAD.search(said), _EXCHANGED.search(said)
    if instead is None and exchanged is None:
        return None
    marker = instead or exchanged
    assert marker is not None
    # `X instead of Y`, `swap Y for X`: Y is what is named next.
    at = {w.reads: said.find(w.text.lower(), marker.end()) for w in reading.words if w.sort in _NAMES}
    after = sorted((n, reads) for reads, n in at.items() if n >= 0)
    old = next((a for a in found if after and a.label == after[0][1]), None)
    if old is not None:
        return next(a for a in found if a is not old)
    before = {
        w.reads: said.rfind(w.text.lower(), 0, marker.start()) for w in reading.words if w.sort in _NAMES
    }
    new = max((n, reads) for reads, n in before.items())[1] if instead and before else ""
    return next((a for a in found if a.label == new), None)


_NAMES = ("material", "role")


def _allowed(draft: Draft, new: Alternative, old: Alternative) -> bool:
    """Says whether one may take the place of the other; true where it may."""
    it = phrases.spoken(new.section.kind, phrases.place(new.judged))
    x, y = _label(new.label), _label(old.label)
    if new.judged.disposition in PASSES:
        draft.direction = "yes"
        own = next(
            (
                p
                for r, p in new.judged.of("serious", "caution").items()
                if r not in old.judged.of("serious", "caution")
            ),
            None,
        )
        but = "" if own is None else f"; what is to be put right with it: {phrases.told(own)}"
        draft.answer = f"Yes, {x} may take the place of {y} in {it}{but}."
        return True
    draft.direction = "no"
    if old.judged.disposition in PASSES:
        draft.answer = (
            f"No, {x} does not take the place of {y} in {it}: with it, {phrases.told(new.judged.worst)}."
        )
    else:
        draft.answer = f"No, neither {x} nor {y} makes {it} pass: {phrases.told(new.judged.worst)}."
    return False


def _label(label: str) -> str:
    return shown_name(label)


def _difference(best: Alternative, second: Alternative) -> str:
    """What sets two apart that pass alike."""
    notes = [
        p
        for p in second.judged.points
        if p.severity == "note" and p.rule not in {q.rule for q in best.judged.points}
    ]
    one, two = best.judged.opens, second.judged.opens
    above = best.section.kind in ("wall", "roof")
    if above and one is not None and two is not None and _coarsely(one) > _coarsely(two):
        units = best.result.units
        (inner, outer), (less_in, less_out) = (
            tuple(show(p, "permeance", units, 2) for p in pair) for pair in (one, two)
        )
        return (
            f"with it damp layers let {inner} pass inward and {outer} outward, with {_label(second.label)} {less_in} "
            f"and {less_out}, so it forgives more"
        )
    if notes:
        return f"of {_label(second.label)} it has to be said that {phrases.titled(notes[0])}"
    if (best.cost or 0.0) < (second.cost or 0.0):
        return f"it costs less ({best.cost:g} against {second.cost:g} in the coarse order, where a coat of paint is 1)"
    return "the rules and the calculation find no difference that counts"


def _tell(draft: Draft, best: Alternative, others: Sequence[Alternative]) -> None:
    """What every choice shows: lines side by side, reasons, what is next."""
    draft.shown = best.result
    draft.options = [option_line(a.label, a.result, a.judged, a.cost) for a in (best, *others)]
    draft.more += [
        f"{phrases.capitalized(_label(a.label))}: {phrases.DISPOSITIONS[a.judged.disposition]}; {phrases.told(a.judged.worst)}."
        for a in others[: _MOST_SHOWN - 1]
    ]
    hazards = [f for f in best.result.findings if f.hazard and f.severity in ("serious", "caution")]
    draft.more += [
        f"Beside moisture: {phrases.decapitalized(f.title)}."
        + (f" {f.remedies[0].text}" if f.remedies else "")
        for f in hazards[:2]
    ]
    numbers = phrases.margins(best.result)
    if numbers:
        draft.more.insert(0, f"With {_label(best.label)}: {'; '.join(numbers[:3])}.")
    draft.reasons = reasons(best.result)[:2]
    for a in others[:2]:
        if a.judged.worst is not None:
            draft.reasons += reasons(a.result, a.judged.worst)[:1]
    draft.reasons += holds(best.result)[:2]
    draft.dissent = dissent(best.result)
    draft.better = improvements(draft, best.section, best.result)
    draft.check = checks(draft, best.result)
    draft.commands = [command(draft.desk, a.section) for a in (best, *others)[:3]] + draft.commands


def answer_use(draft: Draft) -> None:
    """`what to use`: what builders put in for the job, tried in the section; what passes first, then the cheaper."""
    reading, base = draft.reading, draft.reading.base
    assert base is not None
    options = [(o.label, o.section) for o in reading.options]
    options = options or placed(_uses(reading), base, draft.desk.edition)
    if not options and reading.subject is not None and reading.subject.position:
        # What has no place on the side that was read may have one on the other.
        anywhere = replace(reading, subject=replace(reading.subject, position=""))
        options = placed(_uses(anywhere), base, draft.desk.edition)
    if not options:
        raise InputError(_no_use(draft))
    usual = [label for label, _ in options]
    by_price = reading.intent == "cheapest"

    def order(a: Alternative) -> tuple:
        rank = (*a.judged.moist, _worth(a.judged), a.cost or 0.0, usual.index(a.label))
        # Whoever asks for the cheapest takes it where it passes; what it costs is what is bought, and no coat beside it.
        return (a.judged.disposition not in PASSES, _bought(a), *a.judged.rank, *rank) if by_price else rank

    best, *others = sorted(ranked(draft, options), key=order)
    it = phrases.spoken(base.kind, phrases.place(best.judged))
    job = _job(draft)
    draft.direction = "choice"
    good = [a for a in (best, *others) if a.judged.disposition in PASSES]
    label = phrases.capitalized(_label(best.label))
    if not good:
        draft.answer = f"Nothing usual for {job} makes {it} pass; {_label(best.label)} comes nearest: {phrases.told(best.judged.worst)}."
    elif best.judged.worst is None:
        clean = [a for a in good if a.judged.worst is None]
        also = (
            f" {phrases.capitalized(phrases.joined([_label(a.label) for a in clean[1:4]], 'and'))} would do as well."
            if len(clean) > 1
            else ""
        )
        draft.answer = f"{label}, as the cheapest {job} with which nothing is found against {it}."
        draft.more += [also.strip()] if also else []
    else:
        serves = label if label.endswith(f" as {job}") else f"{label} for {job}"
        draft.answer = f"{serves} in {it}, with one condition: {phrases.told(best.judged.worst)}."
    _tell(draft, best, others)


def _bought(a: Alternative) -> float:
    """What the thing itself costs in the coarse order."""
    from reviewer.remedies.costs import coarse

    price = next((coarse().layer(x) for x in a.section.layers if x.text == a.label), None)
    return math.inf if price is None else price.amount


_WORTH = ("vapor-control", "roof", "foundation")
"""Packs whose notes say that another choice is worth its cost."""


def _worth(j: Judged) -> int:
    return sum(p.severity == "note" and p.rule.partition("/")[0] in _WORTH for p in j.points)


def has_uses(reading: Reading) -> bool:
    """Whether it is held here what builders use for the job."""
    return reading.base is not None and bool(_uses(reading))


def _uses(reading: Reading) -> list[Use]:
    s, base = reading.subject, reading.base
    if base is None:
        return []
    if s is None or s.sort == "finding":
        return for_role(_sought(reading.text), base.kind, "")
    role = s.name if s.sort == "role" else _role_of(s.name)
    return for_role(role, base.kind, s.position)


_WARM_SIDE = re.compile(r"\b(?:warm side|room side|inside face|behind the (?:drywall|board|gypsum))\b")


def _sought(text: str) -> str:
    """The job where the question does not say it: insulation is asked about most, the warm side has the retarder."""
    return "vapor control" if _WARM_SIDE.search(text.lower()) else "insulation"


def _role_of(name: str) -> str:
    """The job of a material, for which others may do as well."""
    m = load_materials().get(name)
    if m is None:
        return name or "vapor control"
    known = ("vapor control", "thermal control", "sheathing", "water control", "cladding")
    return next((r for r in known if r in m.roles), "vapor control")


def _no_use(draft: Draft) -> Problem:

    return Problem(
        f"no usual choices for {thing(draft.reading)} are held here",
        None,
        "a question about " + phrases.joined(sorted(set(ROLES.values())), "or"),
    )


def _job(draft: Draft) -> str:
    s = draft.reading.subject
    if s is None or s.sort == "finding":
        return ROLES[_sought(draft.reading.text)]
    return ROLES.get(s.name, s.name)


_INSULATES = re.compile(r"\b(?:to insulate|of insulating|insulating)\b")
"""Whoever asks for the cheapest way to do that wants a thing to do it with, also where nothing is wrong."""
_BOARD = re.compile(
    r"\b(?:cheapest|least expensive|lowest cost|most affordable|cheap)(?: \w+){0,4} (?:board|boards|foam|insulation|sheathing foam|rigid)\b"
)
"""Whoever asks for the cheapest board wants to know which, also where something else is found in the section."""
_STANDS = re.compile(
    r"\bwithout (?:having to |any )?(?:pulling|tearing|ripping|removing|opening|taking|disturbing|touching|stripping|gutting|demo\w*)"
    r"(?: \w+){0,3}? (?P<what>\w+)\b"
)
_OUTSIDE = re.compile(
    r"sidings?|claddings?|stucco|brick\w*|shingles?|roof\w*|shakes?|stones?|veneer|outside|exterior"
)


def _kept(reading: Reading, base: Section) -> frozenset[int]:
    """Layers that are to stay, where the question says that something must not come off: the inner finish and what it
    covers, or the cladding."""
    said = _STANDS.search((reading.whole or reading.text).lower())
    if said is None:
        return frozenset()
    solid = [x for x in base.layers if x.material is not None]
    if _OUTSIDE.fullmatch(said["what"]):
        return frozenset(
            x.index for x in solid if x.material and x.material.roles & {"cladding", "roof covering"}
        )
    face = next((x.index for x in solid if x.material and "coating" not in x.material.flags), 0)
    return frozenset(x.index for x in base.layers if x.index >= face)


_IS_OUTSIDE = re.compile(
    r"\b(?:outside|exterior|outer side|soil side|backfill\w*|below grade|in the ground)\b"
)
_IN_CRAWL = ("vented crawl space", "unvented crawl space")
_DAMP_SEEN = ("condensation", "mold", "rot", "cupping floor", "stains", "smell", "wet insulation", "frost")


def _soil_first(draft: Draft, base: Section) -> bool:
    """Says that the soil is covered first, where a crawl space with bare soil, or with soil of which nothing is told, is
    damp: no other measure costs so little or holds without it (common practice; IRC R408.2)."""
    cover = base.known.get("ground cover", "")
    if base.kind != "floor" or base.layers[-1].space not in _IN_CRAWL or cover not in ("", "none"):
        return False
    if not cover and not any(w.sort == "finding" and w.reads in _DAMP_SEEN for w in draft.reading.words):
        return False
    told = {**base.known, "ground cover": "none"}
    bare = replace(base, known=told)
    covered = replace(base, known={**told, "ground cover": "6 mil polyethylene"})
    before, after = draft.desk.judged([bare, covered])
    result = draft.shown = draft.desk.result(bare)
    it = phrases.spoken(base.kind, phrases.place(before))
    left = after.dry.worst
    rest = f"; what is left then: {phrases.told(left)}" if left is not None else ""
    draft.answer = phrases.stopped(
        f"A polyethylene sheet on the soil comes first and costs least for {it}: 6 mil or more, laps sealed, turned up the "
        f"walls{rest}"
    )
    draft.reasons = reasons(result, before.of("serious", "caution").get("foundation/crawl-bare-soil"))
    draft.more.append(
        "Lead roof and surface water away first where it runs in, and take wet batts out: they dry no more where they are."
    )
    draft.better = improvements(draft, covered, draft.desk.result(covered))
    draft.dissent, draft.check = dissent(result), checks(draft, result)
    draft.commands = [command(draft.desk, base), command(draft.desk, base, "remedy")]
    return True


def answer_cheapest(draft: Draft) -> None:
    """`cheapest`: the search for remedies, small; or the cheapest of the alternatives that the question names."""
    reading, desk = draft.reading, draft.desk
    draft.direction = "choice"
    if reading.options and len({section_key(o.section) for o in reading.options}) > 1:
        found = ranked(draft, [(o.label, o.section) for o in reading.options])
        best, *others = sorted(
            found, key=lambda a: (a.judged.disposition not in PASSES, a.cost or 0.0, a.order)
        )
        it = phrases.spoken(best.section.kind, phrases.place(best.judged))
        if best.judged.disposition in PASSES:
            draft.answer = f"{phrases.capitalized(_label(best.label))} is the cheapest of these that passes in {it} ({best.cost:g} in the coarse order of costs, where a coat of paint is 1)."
        else:
            draft.answer = f"None of these passes in {it}: {phrases.told(best.judged.worst)}."
        _tell(draft, best, others)
        return
    from reviewer.remedies.search import Limits, search

    base = reading.base
    assert base is not None
    if _soil_first(draft, base):
        return
    outside = (
        "exterior insulation" if _IS_OUTSIDE.search((reading.whole or reading.text).lower()) else "insulation"
    )
    if _BOARD.search(reading.text.lower()) and for_role(outside, base.kind, ""):
        draft.reading = replace(reading, subject=Subject("role", outside, ""))
        answer_use(draft)
        return
    keep = _kept(reading, base)
    result = draft.shown = desk.result(base)
    j = desk.judged([base])[0]
    it = phrases.spoken(base.kind, phrases.place(j))
    draft.reasons = reasons(result, j.worst)
    draft.dissent, draft.check = dissent(result), checks(draft, result)
    draft.commands = [command(desk, base), command(desk, base, "remedy")]
    if j.worst is None and _INSULATES.search(reading.text.lower()) and for_role("insulation", base.kind, ""):
        draft.reading = replace(reading, subject=Subject("role", "insulation", ""))
        answer_use(draft)
        return
    if j.worst is None and j.disposition == "no exceptions taken":
        draft.answer = (
            f"Nothing more is needed: {it} passes as it stands, and no change is cheaper than none."
        )
        draft.more = [f"{phrases.capitalized('; '.join(phrases.margins(result)[:3]))}."]
        return
    if j.disposition == "incomplete":
        draft.answer = f"That can't be said of {it} before one thing is known: {phrases.decapitalized(j.missing[0]) if j.missing else 'more of its layers'}."
        draft.direction = "depends"
        draft.asked = missing_in([j])
        return
    found = desk.kept(
        ("search", section_key(base), keep),
        lambda: search(base, desk.judges(), Limits(keep=keep, most_changes=2, most_candidates=200)),
    )
    names = [x.name for x in base.layers]
    if not found.front:
        draft.answer = f"No single change and no pair of the {found.tried} tried makes {it} pass: {phrases.told(j.worst)}."
        return
    said = []
    for f in found.front:
        words = " and ".join(phrases.change(c, names) for m in f.candidate.moves for c in m.changes)
        said.append((words, f))
    words, f = said[0]
    verdict = phrases.DISPOSITIONS[f.judgment.disposition]
    draft.answer = (
        f"The cheapest that works for {it} is to {words}: {verdict} then, at a relative cost of {f.candidate.cost:g} "
        "where a coat of paint is 1."
    )
    draft.more = [f"As it stands, {phrases.told(j.worst)}."] if j.worst else []
    draft.better = [
        f"{phrases.capitalized(w)} (relative cost {g.candidate.cost:g}): {phrases.DISPOSITIONS[g.judgment.disposition]}, with {g.cautions} caution{'s' if g.cautions != 1 else ''} left."
        for w, g in said[1:3]
    ]
    draft.cautions = [
        "Costs are a coarse relative order of common practice, no published source: your own prices may turn it."
    ]
