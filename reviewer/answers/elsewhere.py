"""Why not always: where a thing holds and where it fails, zone by zone."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from difflib import SequenceMatcher
from itertools import pairwise

from reviewer.answers import phrases
from reviewer.answers.compute import ALL_ZONES, Decision, Desk, Judged, Point, decide, in_zone, transplant
from reviewer.answers.draft import Draft, command, dissent, reasons
from reviewer.answers.reading import Reading, Subject
from reviewer.answers.uses import Use, filled, for_role, placed, uses
from reviewer.answers.verdicts import ROLES, thing
from reviewer.answers.whynot import WhyNot, kinds_told, meant
from reviewer.errors import InputError, Problem
from reviewer.library.materials import load_materials
from reviewer.model.section import Layer, Section
from reviewer.reply import ZoneLine
from reviewer.result import Assumption

ORDINARY = "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-21 glass fiber batt | 7/16 in OSB | house wrap | vinyl siding"
_FAILS = "revise and resubmit"
_MOST_SEE = 3
ROLE_OF = {"insulation": "thermal control", "exterior insulation": "thermal control"}
"""Roles of the library for what questions call them."""


def ordinary(kind: str = "wall") -> Section:
    """A common framed wall, to show a thing in where the question names no section."""
    from reviewer.model.parse import section_from_line

    return section_from_line(ORDINARY, kind=kind, zone="5A")


def answer_elsewhere(draft: Draft) -> None:
    """`why not always`: on the asker's section where it holds or can take the thing; else the reason that is held for the
    thing, shown on a pair of sections; else the thing in an ordinary wall, or its explanation.

    Raises InputError where what the question is about is not known.
    """
    reading = draft.reading
    draft.direction = "explanation"
    own = described(reading)
    entry = meant(reading, earlier=not own)
    if own:
        told = _own_pair(reading, entry)
        if told is not None:
            _computed(draft, zones_of(draft.desk, told), _put_in(reading, told), entry)
            if entry is not None:
                _sourced(draft, entry)
            return
        if reading.subject is None and entry is None and reading.base is not None:
            _computed(draft, zones_of(draft.desk, (reading.base,)), "it")
            return
    if entry is not None:
        _held(draft, entry)
        return
    _explained(draft)


# -- what the question tells ------------------------------------------------------------------------


def described(reading: Reading) -> bool:
    """Whether the section is the asker's: it has two things or more that the text tells, besides what is asked about."""
    base = reading.base or (reading.options[0].section if reading.options else None)
    if base is None:
        return False
    there = {x.name for x in base.layers if x.material is None or x.material.family != "soil"}
    told = {
        w.reads
        for w in reading.words
        if w.sort == "material" and not _same(w.reads, reading.subject) and w.reads in there
    }
    return len(told) + any(w.sort in ("size", "R", "length") for w in reading.words) > 1


def _same(name: str, s: Subject | None) -> bool:
    if s is None:
        return False
    m = load_materials().get(name)
    return s.name in name or (s.sort == "role" and m is not None and ROLE_OF.get(s.name, s.name) in m.roles)


def _at(section: Section, reading: Reading) -> Section | None:
    """A section where the question stands; None where it tells no place, or several."""
    from reviewer.answers.context import at_place

    place = reading.base.place if reading.base is not None else None
    if place is not None:
        return replace(section, place=place)
    found = {w.reads for w in reading.words if w.sort == "place"}
    return at_place(section, found.pop()) if len(found) == 1 else None


def _own_pair(reading: Reading, entry: WhyNot | None) -> tuple[Section, ...] | None:
    """The asker's section without and with the thing; alone where it has it already; None where it can't be placed."""
    if len(reading.options) > 1:
        return reading.options[-2].section, reading.options[-1].section
    base, s = reading.base, reading.subject
    if base is None or (s is None and entry is None):
        return None
    if s is not None and any(_same(x.name, s) for x in base.layers):
        return (base,)
    tried = [] if s is None or s.sort == "concept" else [s]
    if entry is not None:
        # What stands for the thing, where builders put nothing by the name that was read.
        tried += [Subject("role", r) for r in entry.roles if s is None or s.sort == "concept"]
        tried += [Subject("material", m, s.position if s is not None else "") for m in entry.materials[:1]]
    amount = _amount(reading)
    changed = next((x for t in tried if (x := _with_thing(base, t, amount)) is not None), None)
    if changed is None and entry is not None and entry.pair is not None and entry.pair.kind == base.kind:
        changed = _carried_over(*entry.pair.sections(), base)
    return None if changed is None else (base, changed)


def _put_in(reading: Reading, sections: Sequence[Section]) -> str:
    """What the thing is called: a material by the name of the layer that it became."""
    x = thing(reading)
    if len(sections) < 2 or reading.subject is None or reading.subject.sort != "material":
        return x
    before = {y.name for y in sections[0].layers}
    new = [y.name for y in sections[1].layers if y.name not in before]
    return new[0] if len(new) == 1 else x


_NEAR = 5
"""Characters between an amount and what it is of: ` of `."""


def _amount(reading: Reading) -> str:
    """The thickness that the question gives the thing, or empty."""
    s = reading.subject
    for w, after in pairwise(reading.words):
        if w.sort == "length" and s is not None and after.reads == s.name and after.start - w.end < _NEAR:
            return w.reads
    return ""


def _with_thing(base: Section, s: Subject, amount: str = "") -> Section | None:
    """The section with a material or a function put where builders put it, as thick as the question has it."""
    layers = [u for u in uses() if u.how != "known" and base.kind in u.kinds]
    if base.kind == "wall":
        # Solid walls are insulated inside as those in the ground are; a framed wall has no mass to lie against.
        layers += [u for u in uses() if u.at == "mass" and "foundation wall" in u.kinds]
    if s.position == "outside":
        layers = [u for u in layers if u.how == "outside of"]
    tried: list[Use] = [
        replace(u, texts=tuple(_of_amount(t, amount) for t in u.texts if _names(t, s.name))[:1])
        for u in layers
        if any(_names(t, s.name) for t in u.texts)
    ]
    if not tried and s.sort == "role":
        for u in for_role(s.name, base.kind, s.position):
            serve = tuple(t for t in u.texts if _serves(t, ROLE_OF.get(s.name, s.name)))
            tried += [replace(u, texts=serve[:1])] if serve and u.how != "known" else []
    if not tried and amount and s.sort == "material":
        # A board that no use names lies where boards of its kind lie.
        board = f"{amount} {s.name}"
        tried = [
            replace(u, texts=(board,))
            for u in layers
            if u.role == "exterior insulation" and _serves(board, "thermal control")
        ]
    return next((section for use in tried for _, section in placed([use], base)), None)


def _of_amount(text: str, amount: str) -> str:
    """A layer as thick as told.

    >>> _of_amount("2 in extruded polystyrene board, taped", "4 in"), _of_amount("house wrap, taped", "")
    ('4 in extruded polystyrene board, taped', 'house wrap, taped')
    """
    from reviewer.remedies.changes import read

    name, stated = read(text).name, read(text).thickness is not None
    if not amount or not stated or name not in text:
        return text
    return f"{amount} {text[text.index(name) :]}"


def _names(text: str, name: str) -> bool:
    from reviewer.remedies.changes import read

    return read(text).name == name


def _serves(text: str, role: str) -> bool:
    from reviewer.remedies.changes import read

    m = read(text).material
    return m is None or role in m.roles


def _carried_over(without: Section, given: Section, base: Section) -> Section | None:
    """What makes one section of a pair out of the other, done to the asker's; None where it would not stand in the same place."""
    old, new = [x.name for x in without.layers], [x.name for x in given.layers]
    here = [x.name for x in base.layers]
    fills: list[Layer] = []
    for tag, i1, i2, j1, j2 in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if tag == "equal":
            continue
        if tag == "replace" and i2 - i1 == j2 - j1 == 1 and without.layers[i1].framing is not None:
            fills.append(given.layers[j1])
        elif tag == "insert":
            if i1 == 0 or i1 == len(old) or old[i1 - 1] not in here or old[i1] not in here:
                return None
        elif any(n not in here for n in old[i1:i2]) or any(x.framing for x in given.layers[j1:j2]):
            return None
    if fills:
        at = [x for x in base.layers if x.framing is not None]
        if len(fills) > 1 or len(at) != 1:
            return None
        new_layers = [filled(x, fills[0].name) if x is at[0] else x for x in base.layers]
        return replace(base, layers=tuple(replace(x, index=n) for n, x in enumerate(new_layers)))
    return transplant(without, given, base) if old != new else None


# -- one or two sections in every zone --------------------------------------------------------------


@dataclass(slots=True)
class Zones:
    """What a thing does, zone by zone."""

    sections: tuple[Section, ...]
    """One, or without and with the thing."""
    judged: Mapping[str, Sequence[Judged]]
    decided: dict[str, Decision]
    effects: dict[str, list[str]] = field(default_factory=dict)
    """Zones by what the thing does there."""

    def point(self, zone: str) -> Point | None:
        """The finding that counts against the thing in a zone, or for it."""
        return next(iter(self.points(zone)), None)

    def points(self, zone: str) -> list[Point]:
        """The findings of the deciding one's weight that the thing brings, or takes away, the most telling first."""
        d = self.decided[zone]
        if d.point is None:
            return []
        if len(self.sections) < 2 or d.case == "no matter":
            return [d.point]
        without, given = self.judged[zone]
        a, b = (without, given) if d.case in ("prevents", "cautions") else (given.dry, without)
        had = b.of("serious", "caution")
        new = [p for rule, p in a.of("serious", "caution").items() if rule not in had]
        heavy = [p for p in new if p.severity == new[0].severity and not p.symptom]
        return sorted(heavy, key=_telling) or [d.point]

    def typical(self, zones: Sequence[str], *, last: bool) -> Point | None:
        """What counts in most of these zones, as it is in the last or the first of them."""
        told = {z: self.points(z) for z in zones}
        all_of_them = [p for z in zones for p in told[z]]
        if not all_of_them:
            return None
        best = min(map(_telling, all_of_them))
        counts = Counter(p.rule for p in all_of_them if _telling(p) == best)
        rule = max(counts, key=lambda r: counts[r])
        return next(p for z in (reversed(zones) if last else zones) for p in told[z] if p.rule == rule)


def _telling(p: Point) -> int:
    """What the climate does says more to people than what leaks may do, and that more than what a code table asks."""
    return 2 if p.voice == "code" else 1 if p.rule.startswith("air-control/") else 0


def _worst(j: Judged) -> Point | None:
    serious = [p for p in j.of("serious").values() if not p.symptom]
    return min(serious, key=_telling) if serious else j.worst


def effect(d: Decision, given: Judged) -> str:
    """What a thing does: harms, both, burdens, short, helps, idle, fails, unknown."""
    fails = given.disposition == _FAILS
    match d.case:
        case "harms" | "mixed" | "adds cautions":
            return {"harms": "harms", "mixed": "both", "adds cautions": "burdens"}[d.case]
        case "prevents" | "cautions":
            return "short" if fails else "helps"
        case "no matter":
            return "fails" if fails else "idle"
        case "fails":
            return "harms"
        case "corrections":
            return "burdens"
        case "sound":
            return "idle"
        case _:
            return "unknown"


def zones_of(desk: Desk, sections: tuple[Section, ...]) -> Zones:
    """What a section does, or what a thing does to one, in every zone."""
    size = len(sections)
    judged = desk.judged([in_zone(s, z) for z in ALL_ZONES for s in sections])
    by_zone = {z: judged[n * size : (n + 1) * size] for n, z in enumerate(ALL_ZONES)}
    found = Zones(
        sections, by_zone, {z: decide("add" if size > 1 else "safe here", j) for z, j in by_zone.items()}
    )
    for z, j in by_zone.items():
        found.effects.setdefault(effect(found.decided[z], j[-1]), []).append(z)
    return found


_BAD = ("harms", "both", "burdens")
_ALONE = {
    "harms": ("{it} does not pass in {zones}: there {point}", "{it} does not pass: {point}"),
    "burdens": ("{it} needs corrections in {zones}: there {point}", "{it} needs corrections: {point}"),
    "idle": ("{it} passes in {zones}", "{it} passes"),
}
_BOTH = {
    "harms": ("{it} does harm in {zones}: there {point}", "{it} does harm: {point}"),
    "both": (
        "{it} cures one thing and causes another in {zones}: there {point}",
        "{it} cures one thing and causes another: {point}",
    ),
    "burdens": ("{it} calls for care in {zones}: there {point}", "{it} calls for care: {point}"),
    "short": (
        "{it} helps in {zones}, but not enough by itself: there, with it, {worst}",
        "{it} helps, but not enough by itself: with it, {worst}",
    ),
    "helps": ("{it} does good in {zones}: there, otherwise, {point}", "{it} does good: otherwise {point}"),
    "idle": (
        "{it} changes nothing that counts in {zones}: the section passes there without it",
        "{it} changes nothing that counts: the section passes without it",
    ),
    "fails": (
        "{it} cures nothing in {zones}: there, with and without it, {worst}",
        "{it} cures nothing: with and without it, {worst}",
    ),
}
"""What is said of a thing that does this, in some zones and in one place."""


def _told(found: Zones, it: str) -> list[str]:
    """A sentence for each thing that it does, harm first."""
    out: list[str] = []
    for name, (form, _) in (_BOTH if len(found.sections) > 1 else _ALONE).items():
        zones = found.effects.get(name, [])
        if not zones:
            continue
        said = form.format(
            it="it" if out else it,
            zones="every zone" if len(zones) == len(ALL_ZONES) else phrases.spanned(zones, ALL_ZONES),
            point=phrases.told(found.typical(zones, last=name == "helps")),
            worst=phrases.told(_worst(found.judged[zones[0]][-1])),
        )
        out.append(phrases.capitalized(phrases.stopped(said)))
    return out or ["What it does can't be told before more is known of the section."]


def _computed(draft: Draft, found: Zones, x: str, entry: WhyNot | None = None) -> None:
    """The answer from the asker's own section."""
    alone = len(found.sections) < 2
    it = "this section" if x == "it" else f"with {phrases.the(x)} this section" if alone else phrases.the(x)
    first, *rest = _told(found, it)
    bad = any(n in found.effects for n in _BAD)
    held = entry.because if entry is not None else ""
    here = _said_of_the_place(draft, found.sections, it=it)
    if here:
        draft.answer = here
        draft.more += [f"Zone by zone: {phrases.decapitalized(first)}", *rest]
    elif bad or not held:
        draft.answer = f"Because {phrases.decapitalized(first)}" if bad else first
        draft.more += rest
    else:
        begun, _, held = held.partition(". ")
        draft.answer = _as_asked(draft.reading.text, phrases.stopped(begun))
        draft.more += [f"In the section as told, {phrases.decapitalized(first)}", *rest]
    if held:
        draft.more.append(phrases.capitalized(held.removeprefix("Because ")))
    _shown(draft, found, own=True)


_AGAINST = re.compile(
    r"\b(?:downsides?|drawbacks?|disadvantages?|cons?|catch|wrong|problems?|troubles?|issues?|against)\b"
)
_WHY = re.compile(r"\b(?:why|how come|reasons?)\b")


def _as_asked(question: str, because: str) -> str:
    """A sentence that begins with `Because` as the answer to a question that may not ask why.

    >>> _as_asked("Any drawback to it?", "Because it cracks."), _as_asked("Is it always good?", "Because it cracks.")
    ('It cracks.', 'Not always: it cracks.')
    """
    asked = question.casefold()
    plain = because.removeprefix("Because ")
    if _WHY.search(asked):
        return because
    return phrases.capitalized(plain) if _AGAINST.search(asked) else f"Not always: {plain}"


def _held(draft: Draft, entry: WhyNot) -> None:
    """The answer that the data file holds, and its pair of sections computed in every zone."""
    first, _, rest = entry.because.partition(". ")
    draft.answer = _as_asked(draft.reading.text, phrases.stopped(first))
    if entry.pair is None:
        draft.more.append(rest)
        _sourced(draft, entry)
        return
    sections = entry.pair.sections()
    found = zones_of(draft.desk, sections)
    here = _said_of_the_place(draft, sections, it="it", on=entry.pair.on)
    draft.more += [here, rest] if here else [rest]
    computed, *others = _told(found, "it")
    draft.more += [f"Computed on {entry.pair.on}, {phrases.decapitalized(computed)}", *others]
    draft.assumed.append(
        Assumption(
            what=f"{entry.pair.on}: {entry.pair.given.replace(' | ', ', ')}",
            why="the question names no section, and this one shows the point",
        )
    )
    _shown(draft, found, own=False)
    _sourced(draft, entry)


def _said_of_the_place(draft: Draft, sections: Sequence[Section], *, it: str, on: str = "") -> str:
    """What the thing does where the asker is, or empty if the question does not say where that is; `on` names a section
    that is not the asker's."""
    there = [s for x in sections if (s := _at(x, draft.reading)) is not None]
    if not there:
        return ""
    try:
        judged = draft.desk.judged(there)
    except InputError:
        # A state or a country has no climate of its own: the zones are told anyhow.
        return ""
    d = decide("add" if len(there) > 1 else "safe here", judged)
    found = Zones(tuple(there), {"": judged}, {"": d})
    forms = (_BOTH if len(there) > 1 else _ALONE).get(effect(d, judged[-1]))
    if forms is None:
        return ""
    said = forms[1].format(it=it, point=phrases.told(found.point("")), worst=phrases.told(_worst(judged[-1])))
    draft.shown = draft.desk.result(there[-1])
    draft.commands.append(command(draft.desk, there[-1]))
    if effect(d, judged[-1]) in _BAD:
        draft.reasons = reasons(draft.shown, found.point(""))[:2]
    shown_on = f", on {on}," if on else ""
    return phrases.stopped(f"{phrases.capitalized(phrases.place(judged[-1]))}{shown_on} {said}")


def _shown(draft: Draft, found: Zones, *, own: bool) -> None:
    """The zones in lines, the section where it does worst, reasons and commands."""
    draft.zones = [
        ZoneLine(
            zone=z,
            place=j[-1].place,
            disposition=j[-1].disposition,
            says=phrases.capitalized(phrases.told(j[-1].worst)),
        )
        for z, j in found.judged.items()
    ]
    given = found.sections[-1]
    order = ("harms", "both", "burdens", "fails", "idle", "helps")
    worst = next((found.effects[n][0] for n in order if n in found.effects), ALL_ZONES[0])
    good = found.effects.get("helps", [])
    there = in_zone(given, worst)
    result = draft.desk.result(there)
    somewhere = draft.shown is not None
    if not somewhere:
        draft.shown = draft.desk.result(given) if own and given.place is not None else result
    if not somewhere and (len(found.sections) < 2 or any(n in found.effects for n in _BAD)):
        draft.reasons = reasons(result, found.point(worst))[:2]
    if own:
        draft.dissent = dissent(result)
    draft.commands.append(command(draft.desk, there))
    if good:
        draft.commands.append(command(draft.desk, in_zone(given, good[-1])))
    draft.cautions.append(
        "Each zone is shown at the one place that stands for it; a place of its own may differ."
    )


def _sourced(draft: Draft, entry: WhyNot) -> None:
    from reviewer.answers.concepts import concepts

    found = concepts()
    draft.more.append(f"Ask as well about {phrases.joined([found[n].name for n in entry.see[:_MOST_SEE]])}.")
    draft.sources += [str(c) for c in entry.cites]
    if entry.pair is None:
        draft.commands.append(found[entry.see[0]].demonstration)


# -- things that the data file does not hold --------------------------------------------------------


def _named(reading: Reading) -> Subject | None:
    """The first thing that the words name, where none was read as what is asked about."""
    for w in reading.words:
        if w.sort in ("material", "loose") and w.reads in load_materials():
            return Subject("material", w.reads)
        if w.sort in ("role", "concept"):
            return Subject(w.sort, w.reads)
        if w.sort == "space":
            return Subject("role", "air space")
    outside = any(w.sort == "side" and w.reads == "outside" for w in reading.words)
    kinds = [w.reads for w in reading.words if w.sort == "kind"]
    concept = next((_OF_KIND[k] for k in kinds if k in _OF_KIND), None)
    if outside and kinds and concept in (None, "basement-wall", "unvented-roof"):
        concept = "perfect-order"
    return Subject("concept", concept) if concept is not None else None


_OF_KIND = {
    "roof": "unvented-roof", "roof, attic": "vented-attic", "roof, cathedral": "unvented-roof", "roof, ceiling": "vented-attic",
    "roof, unvented": "unvented-roof", "foundation wall": "basement-wall", "floor, crawl": "crawl-space", "floor": "crawl-space",
    "slab": "slab-retarder",
}  # fmt: skip
"""What is asked of a part of a building most often."""


def _explained(draft: Draft) -> None:
    """The thing in an ordinary wall where it has a place in one; else what is said of it when it is asked what it is."""
    from reviewer.answers.concepts import answer_what, find_concept

    s = draft.reading.subject or _named(draft.reading)
    if s is None:
        raise InputError(
            Problem(
                "what should always be done was not understood",
                None,
                "a material, a layer or a way of building, such as “Why not always use a smart retarder?”",
            )
        )
    draft.reading = replace(draft.reading, subject=s)
    told = kinds_told(draft.reading)
    base = ordinary()
    changed = _with_thing(base, s) if s.sort in ("material", "role") and told <= {"wall"} else None
    if changed is not None:
        draft.assumed.append(
            Assumption(
                what="an ordinary framed wall: " + ORDINARY.replace(" | ", ", "),
                why="the question names no section, and this is the commonest wall",
            )
        )
        _computed(draft, zones_of(draft.desk, (base, changed)), thing(draft.reading))
        return
    if s.sort == "role":
        concept = find_concept(ROLES.get(s.name, s.name))
        if concept is not None:
            draft.reading = replace(draft.reading, subject=Subject("concept", concept.id))
    answer_what(draft)
