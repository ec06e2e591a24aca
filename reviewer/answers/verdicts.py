"""Is it safe here, is a thing needed, may it be left out or added: a review, or two and their difference."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from reviewer.answers import phrases
from reviewer.answers.compute import (
    Decision,
    Judged,
    decide,
    is_class_by_code,
    is_one_too_many,
    section_key,
)
from reviewer.answers.draft import (
    Draft,
    checks,
    command,
    dissent,
    holds,
    improvements,
    missing_in,
    purpose,
    reasons,
    turns,
)
from reviewer.answers.phrases import a, the, told
from reviewer.answers.reading import Reading
from reviewer.answers.uses import for_role, placed
from reviewer.model.section import Layer, Section
from reviewer.remedies.changes import read
from reviewer.reply import AskedBack, OptionLine
from reviewer.result import Assumption, Result
from reviewer.units import PERM

ROLES = {
    "vapor control": "vapor retarder",
    "air barrier": "air barrier",
    "water control": "water-resistive barrier",
    "thermal control": "insulation",
    "exterior insulation": "exterior insulation",
    "insulation": "insulation",
    "capillary break": "capillary break",
    "drainage": "drainage space",
    "dampproofing": "dampproofing",
    "interior finish": "interior finish",
    "sheathing": "sheathing",
    "cladding": "cladding",
    "roof covering": "roof covering",
    "flooring": "flooring",
}
"""What people call a thing that does a job."""


def thing(reading: Reading) -> str:
    """What a question is about, in words."""
    s = reading.subject
    if s is None:
        label = reading.options[-1].label if len(reading.options) == 2 else ""
        return label.removeprefix("with ") if label.startswith("with ") else "it"
    return ROLES.get(s.name, s.name) if s.sort == "role" else s.name


def first_sentence(reading: Reading, d: Decision, judged: Sequence[Judged], number: str = "") -> str:
    """The sentence that answers: yes or no, where, and the finding with the number that decides."""
    kind = (
        reading.base.kind
        if reading.base
        else reading.options[0].section.kind
        if reading.options
        else "section"
    )
    where = phrases.place(judged[0])
    it = phrases.spoken(kind, where)
    if d.case == "exposed":
        return (
            f"It depends on the rain that {it} gets: in a sheltered or an ordinary place nothing is found that "
            f"{the(thing(reading))} would cure; exposed to driving rain, without it, {told(d.point)}."
        )
    words = {"need": _need, "leave out": _leave_out, "add": _add}.get(reading.intent, _safe)
    if len(judged) < 2 and reading.intent in ("need", "leave out", "add"):
        words = _without_only
    return phrases.stopped(words(d, judged, it, thing(reading), number))


def _without_only(d: Decision, judged: Sequence[Judged], it: str, x: str, number: str) -> str:
    """Where the thing itself could not be placed in the section."""
    passes = d.case in ("sound", "corrections")
    if d.case == "unknown":
        return f"That can't be said of {it} yet: {_unknown(judged[0])}"
    how = "passes" if passes else "does not pass"
    if d.direction in ("yes", "no"):
        return f"{phrases.capitalized(d.direction)}, as its layers are told {it} {how} without {the(x)}: {told(d.point)}"
    return f"That can't be said of {it} yet: where {the(x)} goes is not told, and as its layers are told it {how}: {told(d.point)}"


def _still_to_ask(reading: Reading, d: Decision, judged: Sequence[Judged]) -> list[AskedBack]:
    """What has to be asked where the thing in question has no place among the layers, or an amount is missing."""
    if d.case == "unknown":
        return missing_in(judged)
    if reading.intent in ("need", "leave out", "add") and len(judged) < 2 and d.direction == "depends":
        x = the(thing(reading))
        why = "A thing is judged by comparing the section with it and without."
        return [
            AskedBack(
                question=f"Between which layers does {x} go, or which of them does it replace?", why=why
            )
        ]
    return []


def _safe(d: Decision, judged: Sequence[Judged], it: str, _: str, number: str) -> str:
    j = judged[0]
    if d.case == "fails":
        more = len([p for p in j.points if p.severity == "serious" and not p.symptom]) - 1
        rest = f", and {more} more serious finding{'s' if more > 1 else ''}" if more > 0 else ""
        return f"No, {it} is not safe: {told(d.point)}{rest}"
    if d.case == "unknown":
        return f"That can't be said of {it} yet: {_unknown(j)}"
    if d.case == "corrections":
        n = len([p for p in j.points if p.severity == "caution" and not p.symptom])
        what = "one thing is put right" if n <= 1 else f"{n} things are put right, first of all"
        if d.direction == "no":
            return f"No, not like that: in {it}, {told(d.point)}"
        if d.direction == "depends":
            return f"It depends: {it} works only if {what}: {told(d.point)}"
        return f"Yes, {it} works if {what}: {told(d.point)}"
    return f"Yes, {it} is safe: nothing is found that would harm it" + (f"; {number}" if number else "")


def _unknown(j: Judged) -> str:
    return phrases.decapitalized(j.missing[0]).rstrip(".") if j.missing else "too little is known"


def _either_way(j: Judged, it: str = "it") -> str:
    """What is to be said where the thing is not what the section fails by; empty where it passes."""
    if j.disposition != "revise and resubmit":
        return ""
    return f"{it} fails either way, for another reason: {told(j.worst)}"


def _need(d: Decision, judged: Sequence[Judged], it: str, x: str, number: str) -> str:
    without, given = judged
    fails = _either_way(without)
    match d.case:
        case "prevents":
            return f"Yes, {it} needs {a(x)}: without it, {told(d.point)}"
        case "harms":
            return f"No, {it} does not need {a(x)}, and one would do harm: with it, {told(d.point)}"
        case "mixed" if d.direction == "yes":
            return (
                f"Yes, {it} needs something of the kind, though not the {phrases.bare(x)} as told: without it, "
                f"{told(d.without or without.worst)}; with it, {told(d.given or given.worst)}"
            )
        case "mixed":
            return f"Not as it stands: without {the(x)}, {told(d.without or without.worst)}; with it, {told(d.given or given.worst)}"
        case "cautions":
            if d.direction == "no":
                return f"No, {it} passes without {the(x)}, though with less to spare: without it, {told(d.point)}"
            if d.direction == "depends":
                return f"It depends: in {it}, without {the(x)}, {told(d.point)}"
            return f"Yes: in {it}, without {the(x)}, {told(d.point)}"
        case "notes":
            return f"It is not required and it depends on the rest of {it}: without {the(x)}, {told(d.point)}"
        case "adds cautions" if fails:
            return f"No, {the(x)} is not what {it} lacks: {fails}; with it, {told(d.point)}"
        case "adds cautions":
            return f"No, {it} does without {the(x)}, and is better for it: with it, {told(d.point)}"
        case "unknown":
            return f"That can't be said of {it} yet: {_unknown(without)}"
    if fails:
        return f"No, {the(x)} is not what {it} lacks: {fails}"
    return f"No, {it} needs no {phrases.bare(x)}: without it nothing is found that it would cure" + _after(
        number
    )


def _leave_out(d: Decision, judged: Sequence[Judged], it: str, x: str, number: str) -> str:
    without, given = judged
    fails = _either_way(without, it)
    match d.case:
        case "prevents" if d.direction == "depends":
            return (
                f"Not without something in its place: in {it}, without {the(x)}, {told(d.point)}; a Class II retarder or one "
                "that opens when damp does for the code as well"
            )
        case "prevents":
            return f"No, keep {the(x)} in {it}: without it, {told(d.point)}"
        case "harms":
            return f"Yes, leave {the(x)} out of {it}, which is the better for it: with it, {told(d.point)}"
        case "mixed":
            return f"Not just like that: without {the(x)}, {told(d.without or without.worst)}; with it, {told(d.given or given.worst)}"
        case "cautions":
            if d.direction == "yes":
                return f"Yes, {it} passes without {the(x)}, with care: without it, {told(d.point)}"
            if d.direction == "depends":
                return f"It depends: in {it}, without {the(x)}, {told(d.point)}"
            return f"Better not: without {the(x)}, in {it}, {told(d.point)}"
        case "adds cautions":
            return f"Yes, {the(x)} may be left out of {it}; with it, {told(d.point)}"
        case "unknown":
            return f"That can't be said of {it} yet: {_unknown(without)}"
    if fails:
        return f"Yes as far as {the(x)} goes, but {fails}"
    return f"Yes, {the(x)} may be left out of {it}: without it nothing new is found" + _after(number)


def _add(d: Decision, judged: Sequence[Judged], it: str, x: str, number: str) -> str:
    without, given = judged
    match d.case:
        case "prevents":
            return f"Yes, add {the(x)} to {it}: without it, {told(d.point)}"
        case "harms":
            return f"No, don't add {the(x)} to {it}: with it, {told(d.point)}"
        case "mixed":
            return f"Not just like that: with {the(x)}, {told(d.given or given.worst)}; without it, {told(d.without or without.worst)}"
        case "cautions":
            return f"Yes, {the(x)} does {it} good: without it, {told(d.point)}"
        case "adds cautions":
            if d.direction == "no":
                return f"Better not: with {the(x)}, in {it}, {told(d.point)}"
            if d.direction == "yes":
                return (
                    f"Yes, {the(x)} may be added to {it} if one thing is put right: with it, {told(d.point)}"
                )
            return f"Only once it was looked at: with {the(x)}, in {it}, {told(d.point)}"
        case "unknown":
            return f"That can't be said of {it} yet: {_unknown(given)}"
    if given.dry.disposition == "revise and resubmit":
        return f"Not yet: {it} fails with {the(x)} as without, for another reason: {told(given.worst)}"
    if d.direction == "no":
        return f"No, {the(x)} is of no use in {it}: nothing is found that it would cure" + _after(number)
    return f"Yes, {the(x)} may be added to {it}: it causes no finding" + _after(number)


def _after(number: str) -> str:
    return f" ({number})" if number else ""


_WORTH_IT = re.compile(r"\b(?:should|shoud|shld|worth|recommend)\b")
"""Whoever asks so wants to know whether a thing is of use, not whether it may be put in."""


def _weathered(draft: Draft, sections: Sequence[Section], d: Decision) -> Decision:
    """What a thing against rain is worth hangs on how much rain the wall gets; where that was not told and turns the
    answer, the answer is that."""
    if (
        len(sections) < 2
        or sections[0].rain is not None
        or d.case != "no matter"
        or purpose(draft.reading) != "rain"
    ):
        return d
    exposed = decide(
        draft.reading.intent, draft.desk.judged([replace(s, rain="high") for s in sections]), "rain"
    )
    if exposed.direction == d.direction:
        return d
    return Decision("depends", "exposed", exposed.point)


def answer_verdict(draft: Draft) -> None:
    """`safe here`, `need`, `leave out`, `add`."""
    reading, desk = draft.reading, draft.desk
    sections = sections_of(reading)
    if name_of(reading) == "air space" and sections and sections[0].kind == "roof":
        sections = [_vented_over_insulation(s) for s in sections]
    if name_of(reading) in _DUG and sections and not sections[0].building.work:
        # It goes on before the hole is filled: whoever asks about it builds anew.
        sections = [replace(s, building=replace(s.building, work="new")) for s in sections]
        draft.assumed.append(
            Assumption(what="new work", why=f"{the(thing(reading))} goes on before the hole is filled")
        )
    if name_of(reading) in _AT_THE_EDGE or len({section_key(s) for s in sections}) < len(sections):
        sections = _told_apart(reading, sections, desk.edition)
    if len({section_key(s) for s in sections}) < len(sections):
        # What makes no difference to the section can't be judged by comparing.
        sections = sections[:1]
    results = desk.results(sections)
    judged = desk.judged(sections)
    d = _weathered(draft, sections, decide(reading.intent, judged, purpose(reading)))
    if _is_one_too_many(reading, d, judged):
        d = replace(d, direction="no")
    if reading.intent == "leave out" and is_class_by_code(d) and _is_class_i(sections, desk.edition):
        d = replace(d, direction="depends")
    worth = reading.intent == "add" and _WORTH_IT.search(reading.text.lower()) is not None
    if worth and len(sections) > 1 and d.case == "no matter":
        d = replace(d, direction="no")
    rules = [{p.rule for p in j.points} for j in judged]
    told_of = int(len(judged) > 1 and d.point is not None and d.point.rule in rules[1] - rules[0])
    deciding, section = results[told_of], sections[told_of]
    built = 1 if reading.intent in ("add", "need") and len(results) > 1 and d.direction == "yes" else 0
    """The section that the advice comes to."""
    if len(results) > 1 and d.direction == "no" and reading.intent == "leave out":
        built = 1
    final, final_section = results[built], sections[built]
    shown = 0 if reading.base is None else _same(reading.base, sections)
    draft.shown = results[shown]
    draft.direction = d.direction
    number = phrases.joined(phrases.margins(final)[:2])
    draft.answer = first_sentence(reading, d, judged, number)
    draft.asked = _still_to_ask(reading, d, judged)
    if draft.asked:
        return
    if d.case not in ("sound", "no matter") and phrases.margins(deciding):
        draft.more.append(phrases.stopped(phrases.capitalized("; ".join(phrases.margins(deciding)[:2]))))
    if len(results) > 1:
        _side_by_side(draft, results, judged)
    draft.reasons = reasons(deciding, d.point) if d.case != "no matter" or deciding is final else []
    good = holds(final)
    draft.reasons += good[: 3 if d.direction == "yes" or not draft.reasons else 1]
    if len(results) > 1 and d.case == "harms" and good[1:]:
        draft.reasons += good[1:2]
    draft.more += [
        f"Beside moisture: {phrases.decapitalized(f.title)}."
        + (f" {f.remedies[0].text}" if f.remedies else "")
        for f in final.findings
        if f.hazard and f.severity in ("serious", "caution") and f not in draft.reasons
    ][:2]
    draft.dissent = dissent(deciding)
    draft.changes_it = turns(draft, sections, judged, d, lambda dd, jj: first_sentence(reading, dd, jj))
    draft.better = improvements(draft, final_section, final)
    if d.case == "prevents" and reading.intent in ("leave out", "need"):
        own = {x.name for x in sections[1].layers} - {x.name for x in sections[0].layers}
        others = [t for t in improvements(draft, section, deciding) if not any(n in t.lower() for n in own)]
        draft.better += [f"Without {the(thing(reading))}: {phrases.decapitalized(t)}" for t in others[:1]]
    draft.check = checks(draft, final)
    draft.commands = [command(desk, s) for s in sections] + draft.commands


_VENTED = "2 in air space vented"


def _vented_over_insulation(s: Section) -> Section:
    """The roof with the space over its insulation vented: nobody asks about one there that is not."""
    inner = next((x.index for x in s.layers if x.material and "thermal control" in x.material.roles), None)
    vents = read(_VENTED).vents
    layers = tuple(
        replace(x, vents=vents)
        if x.space == "air" and not x.vents and inner is not None and x.index > inner
        else x
        for x in s.layers
    )
    return replace(s, layers=layers)


def _is_class_i(sections: Sequence[Section], edition: str) -> bool:
    """Whether what the second section has more than the first is a sheet of Class I, in whose place a lesser one does."""
    if len(sections) != 2:
        return False
    from reviewer.facts.build import build

    there = {x.name for x in sections[0].layers}
    own = [p for p in build(sections[1], edition)[1] if p.layer.name not in there]
    return len(own) == 1 and own[0].permeance_dry is not None and own[0].permeance_dry <= _CLASS_I


_CLASS_I = 0.1 * PERM


def _is_one_too_many(reading: Reading, d: Decision, judged: Sequence[Judged]) -> bool:
    """Whether the one thing that the question is about is what has to go: then it is not fine with it."""
    s = reading.subject
    if reading.intent != "safe here" or len(judged) != 1 or d.point is None or d.case != "corrections":
        return False
    named = s is not None and s.sort == "material" and s.name in d.point.says.lower()
    return named and is_one_too_many(d.point)


_DUG = ("dampproofing", "asphalt dampproofing", "waterproofing membrane")


def name_of(reading: Reading) -> str:
    return reading.subject.name if reading.subject is not None else ""


_AT_THE_EDGE = ("ice and water membrane",)
"""Layers that are asked about as a strip along the eaves, beside the section."""
_STATED: Mapping[str, tuple[str, str, str]] = {
    "ground cover": ("ground cover", "none", "polyethylene"),
    "footing drain": ("drainage", "none", "footing drain"),
    "drain": ("drainage", "none", "footing drain"),
    "flashing": ("flashing", "none", "yes"),
    "sill gasket": ("sill", "none", "gasket"),
    "capillary break": ("footing", "none", "yes"),
    "humidifier": ("humidifier", "none", "yes"),
    "diffusion port": ("diffusion port", "none", "yes"),
    "ice and water membrane": ("ice barrier", "none", "yes"),
}
"""Things that are no layer of a section: the statement that stands for each, without and with it."""


def _told_apart(reading: Reading, sections: Sequence[Section], edition: str) -> list[Section]:
    """The section without and with a thing that is no layer of it, or that is one of its layers by its role."""
    name, base = name_of(reading), sections[0]
    if name in _STATED:
        key, without, given = _STATED[name]
        return [replace(base, known={**base.known, key: value}) for value in (without, given)]
    if name == "air space":
        kept = [x for x in base.layers if not (x.space == "air" and x.vents)]
    else:
        kept = [x for x in base.layers if not serves(x, name)]
    if 0 < len(kept) < len(base.layers):
        bare = replace(base, layers=tuple(replace(x, index=n) for n, x in enumerate(kept)))
        return [bare, base]
    tried = (
        placed(
            for_role("drainage" if name == "air space" else name, base.kind, reading.subject.position),
            base,
            edition,
        )
        if reading.subject
        else []
    )
    if tried:
        return [base, tried[0][1]]
    return list(sections)


def serves(x: Layer, role: str) -> bool:
    """Whether a layer is there for a job: a retarder is a sheet or a coat, and no foam or membrane that is one besides."""
    if x.material is None or role not in x.material.roles:
        return False
    return role != "vapor control" or not x.material.roles & {
        "thermal control",
        "dampproofing",
        "roof covering",
    }


def sections_of(reading: Reading) -> list[Section]:
    """What the question sets side by side, or the section itself."""
    if reading.options:
        return [o.section for o in reading.options]
    return [reading.base] if reading.base is not None else []


def _same(base: Section, sections: Sequence[Section]) -> int:
    keys = [section_key(s) for s in sections]
    key = section_key(base)
    return keys.index(key) if key in keys else 0


def _side_by_side(draft: Draft, results: Sequence[Result], judged: Sequence[Judged]) -> None:
    """What the thing buys and costs, and the options as lines."""
    labels = [o.label for o in draft.reading.options]
    without, given = judged[:2]
    had = {p.rule for p in without.points if p.severity in ("serious", "caution")}
    has = {p.rule for p in given.points if p.severity in ("serious", "caution")}
    cleared = [p for p in without.points if p.rule in had - has and not p.symptom]
    caused = [p for p in given.points if p.rule in has - had and not p.symptom]
    x = the(thing(draft.reading))
    if cleared:
        draft.more.append(f"{phrases.capitalized(x)} clears: {_listed(cleared)}.")
    if caused:
        draft.more.append(f"{phrases.capitalized(x)} newly causes: {_listed(caused)}.")
    lost = [p for p in without.of("credit").values() if p.rule not in given.of("credit")]
    gained = [p for p in given.of("credit").values() if p.rule not in without.of("credit")]
    if lost and not cleared:
        draft.more.append(f"What is lost with it: {_listed(lost[:2])}.")
    if gained and not caused:
        draft.more.append(f"What is gained with it: {_listed(gained[:2])}.")
    for label, r, j in zip(labels, results, judged, strict=False):
        draft.options.append(option_line(label, r, j))


def _listed(points: Sequence) -> str:
    return "; ".join(
        phrases.titled(p) + (f" ({p.severity})" if p.severity != "credit" else "") for p in points
    )


def option_line(label: str, r: Result, j: Judged, cost: float | None = None) -> OptionLine:
    return OptionLine(
        label=label,
        disposition=r.disposition,
        says=phrases.capitalized(phrases.titled(j.worst)),
        margins=phrases.margins(r),
        layers=[x.text or x.name for x in r.layers],
        cost=cost,
    )
