"""From what was understood to a reply: what is missing is asked back first, then each kind of question has its way."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import reviewer
from reviewer.answers import phrases
from reviewer.answers.compute import ZONES, Decision, Desk, Judged, decide, in_zone, transplant
from reviewer.answers.draft import MOST_ASKED, Draft, purpose
from reviewer.answers.ground import grounded
from reviewer.answers.places import abroad
from reviewer.answers.reading import SURE, Gap, Option, Reading
from reviewer.answers.verdicts import answer_verdict, first_sentence
from reviewer.errors import InputError
from reviewer.model.section import Section
from reviewer.reply import AskedBack, Intent, Refusal, Replies, Reply

CAN_ANSWER = (
    "Is this wall safe in Duluth, MN: painted drywall, 2x6 with R-21 fiberglass, OSB, house wrap, vinyl siding?",
    "Do I need a vapor retarder in a 2x4 wall in Houston?",
    "How much rigid foam outside a 2x6 wall in Minneapolis if I only paint the drywall?",
    "Plywood or OSB behind 12 inches of cellulose in Portland, Maine?",
    "There is frost on the inside of the sheathing of our wall in Duluth. What went wrong?",
    "What is a perm?",
)
"""Questions of the kinds that can be answered."""


def replies(text: str, readings: Sequence[Reading], desk: Desk) -> Replies:
    """The replies to all questions of a text."""
    return Replies(
        schema=1,  # type: ignore[call-arg]
        program=f"reviewer {reviewer.__version__}",
        text=text,
        replies=[answer(r, desk) for r in readings],
    )


def answer(reading: Reading, desk: Desk) -> Reply:
    """The reply to one question. Never raises for what a question says: what can't be used is told in the reply."""
    try:
        return _answered(reading, desk)
    except InputError as e:
        return _unusable(reading, desk, e)


_PLAIN = 0.6
"""Confidence from which on an explanation is given: a word that was not used decides nothing there."""


def _answered(reading: Reading, desk: Desk) -> Reply:
    if reading.refusal is not None:
        return _refused(reading, desk)
    explained = reading.intent == "what is" and reading.subject is not None and not reading.gaps
    if reading.confidence < SURE and not (explained and reading.confidence >= _PLAIN):
        return _unsure(reading, desk)
    if reading.intent == "how much" and reading.base is None and not reading.options:
        from reviewer.answers.amounts import answer_of_a_foam

        if answer_of_a_foam(draft := Draft(reading, desk)):
            return draft.reply("answered")
    reading, open_gaps, settled = _settled(reading, desk)
    draft = Draft(reading, desk)
    if open_gaps:
        return _asked_back(draft, open_gaps)
    way = _way(reading)
    draft.reading, draft.assumed = grounded(reading)
    way(draft)
    draft.more += settled
    return draft.reply("asked back" if draft.asked else "answered")


def _of_a_figure(reading: Reading) -> bool:
    """Whether a figure of the section is asked for: how cold, how damp, where the dew point lies."""
    return reading.subject is not None and reading.subject.sort == "figure"


def _way(reading: Reading) -> Callable[[Draft], None]:
    """What answers this kind of question; modules of the rarer kinds are loaded when they are asked for."""
    base = reading.base or (reading.options[0].section if reading.options else None)
    if base is not None and _of_a_figure(reading):
        from reviewer.answers.measured import answer_measured

        return answer_measured
    if base is not None and base.kind == "floor":
        from reviewer.answers import crawl

        if crawl.asked(reading):
            return crawl.answer_crawl
    if reading.intent in ("safe here", "need", "leave out", "add"):
        return answer_verdict
    if reading.intent == "what is":
        from reviewer.answers.concepts import answer_what

        return answer_what
    if reading.intent == "what went wrong":
        from reviewer.answers.troubles import answer_trouble

        return answer_trouble
    if reading.intent == "why not always":
        from reviewer.answers.elsewhere import answer_elsewhere

        return answer_elsewhere
    if reading.intent == "how much":
        from reviewer.answers.amounts import answer_amount

        return answer_amount
    from reviewer.answers import choices

    if reading.intent in ("which", "what to use") and not reading.options:
        return choices.answer_use if choices.has_uses(reading) else answer_verdict
    s = reading.subject
    named = reading.intent == "cheapest" and not reading.options and s is not None and s.sort == "role"
    if named and choices.has_uses(reading):
        # `the cheapest vapor retarder`: the cheapest thing that does this job.
        return choices.answer_use
    return {"which": choices.answer_which, "cheapest": choices.answer_cheapest}.get(
        reading.intent, choices.answer_use
    )


# -- what is missing --------------------------------------------------------------------------------

_NEEDS_SECTION: frozenset[Intent] = frozenset(
    {"safe here", "need", "leave out", "add", "cheapest", "how much", "which", "what to use"}
)


@dataclass(frozen=True, slots=True)
class _Asked:
    """A gap with what would follow from each answer to it."""

    gap: Gap
    replies: tuple[tuple[str, str], ...]
    decisions: tuple[Decision, ...]
    summary: str = ""
    """`yes in zones 1A to 4C; no in zones 5A to 8`."""


def _settled(reading: Reading, desk: Desk) -> tuple[Reading, list[_Asked], list[str]]:
    """The gaps that can decide the answer; those that can't are named in a sentence, and answered over."""
    bare = reading.base is None and not reading.options and reading.intent in _NEEDS_SECTION
    if bare and not any(g.replies for g in reading.gaps):
        if reading.gaps:
            return reading, [_Asked(g, (), ()) for g in reading.gaps[:MOST_ASKED]], []
        gap = Gap("layers", "Without its layers there is nothing to review.")
        return reading, [_Asked(gap, (), ())], []
    still: list[_Asked] = []
    settled: list[str] = []
    place_open = False
    for gap in reading.gaps:
        if gap.what == "place" and (abroad(reading.whole or reading.text) or _of_a_figure(reading)):
            still.append(_Asked(gap, (), ()))
            continue
        found = _tried(reading, gap, desk)
        # Of places it counts whether something has to be put right; of a layer only which way the answer goes.
        keys = {d.key if gap.what == "place" else (d.direction, d.best) for d in found.decisions}
        two_places = gap.what == "place" and not _open(gap)
        unknown = any(d.case == "unknown" for d in found.decisions)
        hangs = "depends" in {d.direction for d in found.decisions}
        reasons = {d.point.rule if d.point is not None else "" for d in found.decisions}
        if _region(gap) and not unknown and _alike(found, keys):
            zones = [label.removeprefix("zone ") for label, _ in gap.replies]
            reading = _moved(reading, zones[0])
            named = phrases.joined(zones, "or")
            settled.append(
                f"It stands in zone {named}, and the answer is the same in each; the figures are those of zone {zones[0]}."
            )
            continue
        if two_places or unknown or len(keys) != 1 or (hangs and len(reasons) != 1):
            # A word with two meanings is asked about even where both give one answer.
            still.append(found)
        elif gap.what == "place":
            place_open = True
            settled.append(
                "The place doesn't matter for this: the answer is the same in every zone from 1A to 8."
            )
        else:
            label, section = gap.replies[len(gap.replies) // 2]
            if hangs or reading.base is None or desk.judged([reading.base])[0].disposition == "incomplete":
                sections = _with_reply(reading, section)
                options = (
                    tuple(
                        Option(o.label, s)
                        for o, s in zip(reading.options, sections, strict=bool(reading.options))
                    )
                    if reading.options
                    else ()
                )
                reading = replace(reading, base=section, options=options)
                settled.append(f"For the figures, {label} was taken.")
            settled.append(
                f"It makes no difference which of these it is: {phrases.joined([name for name, _ in gap.replies], 'or')}."
            )
    if place_open and not still:
        reading = _moved(reading, "5A")
    return reading, still[:MOST_ASKED], settled


def _tried(reading: Reading, gap: Gap, desk: Desk) -> _Asked:
    """What would follow from each answer to a gap; nothing where something else is missing that decides as well."""
    others = {g.what for g in reading.gaps if g is not gap}
    if "layers" in others or (gap.what != "place" and "place" in others):
        return _Asked(gap, (), ())
    if gap.what == "place" and _open(gap):
        found = _everywhere(reading, gap, desk)
        if found.replies or not gap.replies:
            return found
    unasked = ("what is", "why not always", *(() if _region(gap) else ("what went wrong",)))
    if not gap.replies or reading.intent in unasked:
        return _Asked(gap, (), ())
    told: list[tuple[str, str]] = []
    decisions: list[Decision] = []
    for label, section in gap.replies:
        sections = _with_reply(reading, section)
        text, d = _short(replace(reading, base=section), sections, desk)
        told.append((label, text))
        if d is not None:
            decisions.append(d)
    return _Asked(gap, tuple(told), tuple(decisions))


_WHERE = re.compile(r" in (?:[^,:(]+, )?[^,:(]+ \(zone [^)]*\)| in zone \w+|\d[\d./-]*")
"""What an answer says of where it holds, and its figures."""


def _region(gap: Gap) -> bool:
    """Whether a place is a state or province, told by its zones."""
    labels = [label for label, _ in gap.replies]
    return (
        gap.what == "place"
        and bool(labels)
        and not _open(gap)
        and all(re.fullmatch(r"zone \w+", x) for x in labels)
    )


def _alike(found: _Asked, keys: Collection[object]) -> bool:
    """Whether all of a region's zones have one answer: one decision, or the same words but for place and figures."""
    if found.decisions:
        return len(keys) == 1 and len(found.decisions) == len(found.replies)
    return bool(found.replies) and len({_WHERE.sub("", text) for _, text in found.replies}) == 1


def _open(gap: Gap) -> bool:
    """Whether a place may be anywhere: its replies, if there are any, are examples from warm to cold."""
    zones = [label.removeprefix("zone ") for label, _ in gap.replies]
    numbers = {int(z[0]) for z in zones if z[:1].isdigit()}
    return not zones or (len(numbers) == len(zones) and max(numbers) - min(numbers) >= 3)


def _with_reply(reading: Reading, section: Section) -> list[Section]:
    """The sections of the question, were `section` the one that is meant."""
    base = reading.base or (reading.options[0].section if reading.options else None)
    if not reading.options:
        return [section]
    if base is None:
        return [o.section for o in reading.options]
    return [transplant(base, o.section, section) for o in reading.options]


def _short(reading: Reading, sections: Sequence[Section], desk: Desk) -> tuple[str, Decision | None]:
    """The first sentence that would follow, with the decision behind it where there is one."""
    if reading.intent in ("safe here", "need", "leave out", "add"):
        judged = desk.judged(sections)
        d = decide(reading.intent, judged, purpose(reading))
        return first_sentence(reading, d, judged), d
    if reading.intent == "which" and len(sections) > 1:
        judged = desk.judged(sections)
        d = decide("which", judged)
        label = reading.options[d.best].label
        return f"{phrases.capitalized(label)}: {phrases.told(judged[d.best].worst)}.", d
    options = tuple(Option(o.label, s) for o, s in zip(reading.options, sections, strict=False))
    sub = Draft(
        replace(reading, options=options, gaps=(), base=sections[0] if not options else reading.base), desk
    )
    try:
        _way(reading)(sub)
    except InputError as e:
        return e.problems[0].message, None
    return sub.answer, None


def _everywhere(reading: Reading, gap: Gap, desk: Desk) -> _Asked:
    """Zones with one answer drawn together, each with that answer."""
    sections = [o.section for o in reading.options] or ([reading.base] if reading.base is not None else [])
    decides = ("safe here", "need", "leave out", "add", *(("which",) if reading.options else ()))
    if not sections or reading.intent not in decides:
        return _Asked(gap, (), ())
    judged = desk.judged([in_zone(s, z) for z in ZONES for s in sections])
    size = len(sections)
    groups: list[tuple[list[str], Decision, list[Judged]]] = []
    decisions: list[Decision] = []
    for n, z in enumerate(ZONES):
        j = judged[n * size : (n + 1) * size]
        d = decide(reading.intent, j, purpose(reading))
        decisions.append(d)
        same = next((g for g in groups if (g[1].key, g[1].case) == (d.key, d.case)), None)
        if same is not None:
            same[0].append(z)
        else:
            groups.append(([z], d, j))
    told = tuple((phrases.spanned(zs, ZONES), _without_place(reading, d, j)) for zs, d, j in groups)
    by: dict[str, list[str]] = {}
    for (zs, _, _), (_, text) in zip(groups, told, strict=True):
        by.setdefault(_word(text), []).extend(zs)
    summary = "; ".join(f"{word} in {phrases.spanned(zs, ZONES)}" for word, zs in by.items())
    return _Asked(gap, told, tuple(decisions), summary)


def _without_place(reading: Reading, d: Decision, judged: Sequence[Judged]) -> str:
    nowhere = [replace(j, place="", zone="") for j in judged]
    if reading.intent == "which":
        return f"{phrases.capitalized(reading.options[d.best].label)}: {phrases.told(judged[d.best].worst)}."
    return first_sentence(reading, d, nowhere)


def _moved(reading: Reading, zone: str) -> Reading:
    base = None if reading.base is None else in_zone(reading.base, zone)
    options = tuple(Option(o.label, in_zone(o.section, zone)) for o in reading.options)
    return replace(reading, base=base, options=options)


# -- replies without an answer ----------------------------------------------------------------------

_QUESTIONS: Mapping[str, str] = {
    "place": "Where does it stand (a place, a ZIP code or a climate zone)?",
    "kind": "Is it a wall, a roof, a foundation wall, a floor or a slab?",
    "layers": "What is it made of, from the room outwards?",
    "sheathing": "What is the sheathing?",
    "cladding": "What is the cladding, and is there a vented space behind it?",
    "indoor": "What is the room used for, and how humid is it in winter?",
    "insulation": "What is it insulated with, and how thick?",
}


def _asked_back(draft: Draft, asked: Sequence[_Asked]) -> Reply:
    draft.direction = "depends"
    base = draft.reading.base
    for x in asked:
        question = _QUESTIONS.get(x.gap.what, f"What is meant by {x.gap.what}?")
        if x.gap.replies and x.gap.what not in _QUESTIONS:
            question = f"Which is it: {phrases.joined([label for label, _ in x.gap.replies], 'or')}?"
        draft.asked.append(
            AskedBack(question=question, why=phrases.stopped(x.gap.why), replies=list(x.replies))
        )
    first = asked[0]
    if first.replies and len({d.key for d in first.decisions}) > 1:
        draft.answer = f"It depends: {_summed(first)}."
    elif first.replies and first.decisions and len(asked) == 1:
        labels = phrases.joined([label for label, _ in first.replies], "or")
        draft.answer = (
            f"It has to be known which is meant, {labels}; for each of them the answer starts: "
            f"{phrases.decapitalized(first.replies[0][1].split(':', 1)[0].split(',', 1)[0])}."
        )
    else:
        what = phrases.joined([_what(x.gap) for x in asked])
        draft.answer = f"That can't be answered before {what} {'are' if len(asked) > 1 or what.endswith('s') else 'is'} known."
    if base is not None:
        try:
            draft.shown = draft.desk.result(base)
        except InputError:
            draft.shown = None
    return draft.reply("asked back")


def _what(gap: Gap) -> str:
    words = {
        "place": "the place",
        "kind": "the kind of section",
        "layers": "its layers",
        "indoor": "the use of the rooms",
    }
    return words.get(gap.what, f"the {gap.what}" if gap.what in _QUESTIONS else "what is meant")


def _summed(x: _Asked) -> str:
    """`yes with plywood; no with oriented strand board`."""
    if x.summary:
        return x.summary
    by: dict[str, list[str]] = {}
    for label, text in x.replies:
        by.setdefault(_word(text), []).append(label)
    how = "in" if x.gap.what == "place" else "with"
    return "; ".join(f"{word} {how} {phrases.joined(labels)}" for word, labels in by.items())


def _word(sentence: str) -> str:
    """The word that a sentence answers with."""
    head = sentence.split(":", 1)[0].split(",", 1)[0]
    return {"Yes": "yes", "No": "no", "Better": "no", "Not": "no"}.get(
        head.split(" ", 1)[0].rstrip(".,"), phrases.decapitalized(head)
    )


def _refused(reading: Reading, desk: Desk) -> Reply:
    assert reading.refusal is not None
    r = reading.refusal
    draft = Draft(reading, desk)
    draft.refusal = r if r.can else r.model_copy(update={"can": list(CAN_ANSWER)})
    draft.answer = (
        phrases.stopped(r.why)
        if not r.to
        else f"That is a question for {r.to}: {phrases.stopped(phrases.decapitalized(r.why))}"
    )
    return draft.reply(r.status)


def _unsure(reading: Reading, desk: Desk) -> Reply:
    """Words read with too little confidence are asked about; what would follow is said, not claimed."""
    draft = Draft(reading, desk)
    draft.direction = "depends"
    doubtful = sorted((w for w in reading.words if w.confidence < SURE), key=lambda w: w.confidence)[
        :MOST_ASKED
    ]
    for w in doubtful:
        draft.asked.append(
            AskedBack(
                question=f'Is "{w.text}" {_article(w.reads)}?',
                why="The word was not understood for certain, and it can decide the answer.",
            )
        )
    for g in reading.gaps[: MOST_ASKED - len(doubtful)]:
        draft.asked.append(
            AskedBack(
                question=_QUESTIONS.get(g.what, f"What is meant by {g.what}?"), why=phrases.stopped(g.why)
            )
        )
    if not draft.asked:
        draft.asked.append(
            AskedBack(
                question="Can you put it in other words: what it is made of, where it stands, what you want to know?",
                why="Too little of it was understood for certain.",
            )
        )
    words = phrases.joined([f'"{w.text}"' for w in doubtful], "or")
    draft.answer = f"I am not sure that I understand {words or 'the question'}, so I ask before I answer."
    if reading.base is not None:
        try:
            draft.shown = desk.result(reading.base)
        except InputError:
            draft.shown = None
    return draft.reply("asked back")


def _article(reads: str) -> str:
    return f"meant as {reads}"


def _unusable(reading: Reading, desk: Desk, e: InputError) -> Reply:
    """An input that the review can't use: what is wrong, and what was expected."""
    p = e.problems[0]
    hint = f"; did you mean {p.nearest}?" if p.nearest else f"; expected {p.expected}" if p.expected else ""
    why = phrases.stopped(phrases.capitalized(f"{p.message}{hint}"))
    draft = Draft(reading, desk)
    draft.refusal = Refusal(status="not understood", why=why, can=list(CAN_ANSWER))
    draft.answer = why
    return draft.reply("not understood")
