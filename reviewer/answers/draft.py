"""A reply in the making: what every kind of answer shares, from the section as understood to what to check."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from reviewer.answers import phrases
from reviewer.answers.accounts import on_soil, stands
from reviewer.answers.compute import (
    Decision,
    Desk,
    Judged,
    Point,
    Purpose,
    decide,
    in_zone,
    layer_key,
    neighbors,
    section_key,
)
from reviewer.answers.reading import Reading
from reviewer.errors import InputError
from reviewer.library.materials import load_materials
from reviewer.model.section import Indoor, Layer, Section
from reviewer.reply import AskedBack, Direction, OptionLine, Refusal, Reply, Status, ZoneLine
from reviewer.result import Assumption, CitationLine, Finding, Result

MOST_REASONS, MOST_CHECKS, MOST_ASKED = 3, 6, 3
_HUMID = Indoor(name=None, temperature=(21.0,), humidity=(0.5,), mark=None)
"""A humidified room: 21 °C and 50 % all year."""
_MOST_TRIED = 4
_MOST_HEAT = 1.05
"""A change may let through so many times the heat of before, as in the search of remedies."""


@dataclass(slots=True)
class Draft:
    """The parts of a reply, filled by the answer to its kind of question."""

    reading: Reading
    desk: Desk
    shown: Result | None = None
    """Of the section as understood."""
    direction: Direction = ""
    answer: str = ""
    more: list[str] = field(default_factory=list)
    options: list[OptionLine] = field(default_factory=list)
    zones: list[ZoneLine] = field(default_factory=list)
    reasons: list[Finding] = field(default_factory=list)
    dissent: list[str] = field(default_factory=list)
    changes_it: list[str] = field(default_factory=list)
    better: list[str] = field(default_factory=list)
    check: list[str] = field(default_factory=list)
    asked: list[AskedBack] = field(default_factory=list)
    refusal: Refusal | None = None
    assumed: list[Assumption] = field(default_factory=list)
    sources: list[str] = field(default_factory=list)
    commands: list[str] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)

    def reply(self, status: Status = "answered") -> Reply:
        r, shown = self.reading, self.shown
        assumed = [Assumption(what=t.what, why=t.why) for t in r.taken] + self.assumed
        base = r.base or (r.options[0].section if r.options else None)
        return Reply(
            question=r.text,
            status=status,
            intent=r.intent,
            direction=self.direction,
            words=list(r.words),
            assumed=_once(assumed, lambda x: x.what),
            unused=_once([*r.unused, *not_placed(r)]),
            kind=base.kind if base is not None else "",
            place=_place(shown),
            layers=list(shown.layers) if shown is not None else [],
            units=shown.units if shown is not None else self.desk.units or "ip",
            answer=self.answer,
            more=self.more,
            disposition=shown.disposition if shown is not None else None,
            options=self.options,
            zones=self.zones,
            reasons=_once(self.reasons, lambda f: (f.rule, f.title)),
            dissent=_once(self.dissent),
            changes_it=_once(self.changes_it),
            better=_once(self.better),
            check=_once(self.check)[:MOST_CHECKS],
            asked=self.asked,
            refusal=self.refusal,
            grounds=list(shown.assumptions) if shown is not None else [],
            sources=_once([*self.sources, *(shown.climate.source if shown is not None else [])]),
            commands=_once(c for c in self.commands if c),
            cautions=_once([*self.cautions, *(shown.cautions if shown is not None else [])]),
        )


def missing_in(judged: Sequence[Judged]) -> list[AskedBack]:
    """What was not told and decides, as questions."""
    missing = dict.fromkeys(m for j in judged for m in j.missing)
    return [
        AskedBack(
            question=f"{phrases.capitalized(m).rstrip('.')}: what is it?", why="The answer hangs on it."
        )
        for m in missing
    ][:MOST_ASKED]


_NEAR = 25
"""Characters between a word that denies and what it denies."""


_UNDERFOOT = frozenset(("hardwood", "pine", "red oak"))
"""Woods that are a floor where a floor is told."""


def not_placed(r: Reading) -> list[str]:
    """Words that were read as materials and stand in no section of the question, denied ones and the thing asked about
    apart: the asker should see that they were left aside."""
    sections = [o.section for o in r.options] + ([r.base] if r.base is not None else [])
    sections += [s for g in r.gaps for _, s in g.replies]
    if not sections:
        return []
    there = {x.name for s in sections for x in s.layers}
    there |= {x.framing.material.id for s in sections for x in s.layers if x.framing is not None}
    subject = r.subject.name if r.subject is not None else ""
    out: list[str] = []
    for n, w in enumerate(r.words):
        if (
            w.sort != "material"
            or w.reads in there
            or (w.reads in _UNDERFOOT and stands(w.reads, there))
            or any(on_soil(w.reads, s) for s in sections)
            or (subject and (subject in w.reads or w.reads in subject))
        ):
            continue
        before = r.words[n - 1] if n else None
        if before is None or before.sort != "negation" or w.start - before.end > _NEAR:
            out.append(w.text)
    return out


def _once(items: Iterable, key=lambda x: x) -> list:
    found: dict = {}
    for x in items:
        found.setdefault(key(x), x)
    return list(found.values())


def _place(shown: Result | None) -> str:
    if shown is None or shown.climate.place == "not stated":
        return ""
    return f"{shown.climate.place} (zone {shown.climate.zone})" if shown.climate.zone else shown.climate.place


# -- findings of one section ------------------------------------------------------------------------


_TELLING = (
    "vapor-control",
    "roof",
    "foundation",
    "code-us-residential",
    "code-us-commercial",
    "code-canada",
    "retrofit",
)
"""Packs whose credits say why something holds; those of other packs come after them."""


def reasons(result: Result, first: Point | None = None) -> list[Finding]:
    """What is wrong with a section, the deciding finding first, causes before their symptoms; at most three."""
    hung = {s for f in result.findings for s in f.symptoms}
    bad = [f for f in result.findings if f.severity in ("serious", "caution") and f.waived is None]
    found = [f for f in bad if f.rule not in hung or (first is not None and f.rule == first.rule)] or bad
    if first is not None:
        found += [f for f in result.findings if f.rule == first.rule and f not in found]
        found.sort(key=lambda f: f.rule != first.rule)
    return found[:MOST_REASONS]


def holds(result: Result) -> list[Finding]:
    """What is done well in a section, the most telling first; at most three."""
    credits = [f for f in result.findings if f.severity == "credit"]

    def place(f: Finding) -> int:
        pack = f.rule.partition("/")[0]
        return _TELLING.index(pack) if pack in _TELLING else len(_TELLING)

    return sorted(credits, key=place)[:MOST_REASONS]


_VAPOR = {
    *("vapor-control", "moisture-state", "roof", "thermal", "humidity", "air-control"),
    *("code-us-residential", "code-us-commercial", "code-canada"),
}
"""Packs whose subject the monthly calculation speaks of, too."""


def dissent(result: Result) -> list[str]:
    """Where rule of thumb, code and calculation disagree about a section."""
    out = [f"{f.title}. {f.explanation}" for f in result.findings if f.rule.startswith("voices/")]
    if out or "drying" not in result.calculations:
        return out
    against: dict[str, Finding] = {}
    for f in result.findings:
        if f.severity == "serious" and f.waived is None and not f.hazard:
            against.setdefault(f.voice, f)
    calculated = [
        f for f in result.findings if f.voice == "calculation" and f.severity in ("serious", "caution")
    ]
    vapor = {f.rule.partition("/")[0] for f in against.values()} <= _VAPOR
    if list(against) == ["code"] and not calculated and vapor:
        numbers = phrases.joined(phrases.margins(result)[:2])
        out.append(
            f"Only the code objects: {phrases.decapitalized(against['code'].title)}. The monthly calculation finds "
            f"nothing against it ({numbers}). The code governs; the calculation says how much it matters."
        )
    elif against and vapor and "code" not in against and result.climate.edition != "none":
        (name, f), *_ = against.items()
        speaks = "The monthly calculation" if name == "calculation" else "Common practice"
        out.append(
            f"{speaks} objects where {result.climate.edition} as far as it is held here does not: "
            f"{phrases.decapitalized(f.title)}. Passing the code is the least, not the goal."
        )
    return out


def checks(draft: Draft, result: Result) -> list[str]:
    """What to look at on site: what the verdict turns on, what was assumed about the layers, what was not stated."""
    out = [
        f"Find out: {m.settle or m.missing}; {m.rule} waits for it."
        for m in result.not_evaluated
        if m.decisive
    ]
    assumed = [t.what.rstrip(".") for t in draft.reading.taken if not _is_place(t.what, result)]
    if assumed:
        out.append(f"Confirm what was assumed of the section: {'; '.join(assumed)}.")
    for f in result.findings:
        pack = f.rule.partition("/")[0]
        if f.severity == "note" and pack in (
            "air-control",
            "water-control",
            "completeness",
            "retrofit",
            "foundation",
        ):
            out += [f"{f.title}. {r.text}" for r in f.remedies[:1]]
    return out


def _is_place(what: str, result: Result) -> bool:
    return bool(result.climate.place) and result.climate.place.partition(",")[0] in what


def authority(citations: Iterable[CitationLine]) -> str:
    """`IRC 2021 R702.7`, or common practice."""
    texts = [
        " ".join(p for p in (c.document, c.edition, c.clause) if p)
        for c in citations
        if c.kind != "common practice" and c.document != "common practice"
    ]
    return "; ".join(dict.fromkeys(texts)) or "common practice"


# -- commands ---------------------------------------------------------------------------------------


def line_of(desk: Desk, section: Section) -> str:
    """The section's layers in one line."""

    def written(layer: Layer) -> str:
        from reviewer.model.write import write_layer

        try:
            return write_layer(layer)
        except InputError:
            return layer.text

    texts = [desk.kept(("text", layer_key(x)), lambda x=x: written(x)) for x in section.layers]
    return " | ".join(texts)


def command(desk: Desk, section: Section, verb: str = "review", *options: str) -> str:
    """A command that shows the computation behind an answer."""
    if desk.brief:
        return ""
    words = ["reviewer", verb, line_of(desk, section), "--kind", section.kind]
    if section.place is not None and section.place.name:
        words += ["--place", section.place.name]
    elif section.place is not None and section.place.zone and verb == "review":
        words += ["--zone", section.place.zone]
    if section.indoor is not None and section.indoor.name and verb == "review":
        words += ["--indoor", section.indoor.name]
    return shlex.join([*words, *options])


_KEEPS_WATER_OUT = ("drainage", "air space", "water control", "cladding", "capillary break", "cladding gap")


def purpose(reading: Reading) -> Purpose:
    """What the thing in question is there for."""
    s = reading.subject
    if s is None:
        return ""
    m = load_materials().get(s.name)
    roles = {s.name} if m is None else m.roles
    if any(r in _KEEPS_WATER_OUT for r in roles):
        return "rain"
    if s.name == "air barrier":
        return "air"
    return "heat" if roles & {"insulation", "thermal control"} else ""


# -- what would change the answer -------------------------------------------------------------------


def turns(
    draft: Draft, sections: Sequence[Section], judged: Sequence[Judged], decided: Decision, say
) -> list[str]:
    """Where the answer turns: one zone warmer and colder, and with humid rooms.

    `say(decision, judged)` gives the first sentence of the answer that would follow.
    """
    out: list[str] = []
    stays: list[str] = []
    intent, desk = draft.reading.intent, draft.desk
    if desk.brief:
        return out
    serves = purpose(draft.reading)
    zones = neighbors(judged[0].zone) if judged and judged[0].place else []
    moved = desk.judged([in_zone(s, z) for z in zones for s in sections])
    size = len(sections)
    for n, zone in enumerate(zones):
        there = moved[n * size : (n + 1) * size]
        d = decide(intent, there, serves)
        side = "colder" if zone[0] > judged[0].zone[0] else "warmer"
        if d.key == decided.key:
            stays.append(f"{side} ({zone}, as in {there[0].place})")
        else:
            out.append(f"One zone {side}, {zone}: {phrases.decapitalized(say(d, there))}")
    if stays:
        out.append(f"The answer is the same one zone {phrases.joined(stays)}.")
    if all(s.indoor is None or s.indoor.name == "home" for s in sections) and sections[0].kind in (
        "wall",
        "roof",
    ):
        humid = desk.judged([replace(s, indoor=_HUMID) for s in sections])
        d = decide(intent, humid, serves)
        if d.key != decided.key:
            out.append(f"With rooms kept at 50 % humidity: {phrases.decapitalized(say(d, humid))}")
    return out


# -- the cheapest way to a better one ---------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Tried:
    cost: float
    words: str
    section: Section


def improvements(draft: Draft, section: Section, result: Result) -> list[str]:
    """What makes a section pass, or leaves fewer cautions: the changes that its findings propose, one at a time and the
    first of each together, each reviewed; the cheapest in the coarse order of costs first. At most two."""
    desk = draft.desk
    before = desk.judged([section])[0]
    if desk.brief or before.rank[1:] == (0, 0):
        return []
    if not any(c.startswith("reviewer remedy") for c in draft.commands):
        draft.commands.append(command(desk, section, "remedy"))
    ranked = desk.kept(("proposed", section_key(section)), lambda: _proposed(section, result))
    found = desk.judged([t.section for t in ranked])
    out: list[str] = []
    best: tuple[int, int, int] | None = None
    for t, j in zip(ranked, found, strict=True):
        passes = j.disposition in ("no exceptions taken", "make corrections noted") and j.rank < before.rank
        warm = before.u_value is None or (j.u_value is not None and j.u_value <= _MOST_HEAT * before.u_value)
        if passes and warm and (best is None or j.rank < best):
            best = j.rank
            out.append(_improvement(t, j))
    if out:
        return out[:2]
    return [
        "Neither one change that the findings propose nor these together make it pass; `reviewer remedy` searches all "
        "that builders change."
    ]


def _proposed(section: Section, result: Result) -> list[_Tried]:
    """The changes that findings propose, the cheapest first, and the first of each finding together."""
    from reviewer.remedies.changes import draft_of, section_of
    from reviewer.remedies.costs import coarse
    from reviewer.remedies.moves import made

    prices, start, names = coarse(), draft_of(section), [x.name for x in section.layers]

    def tried(changes: Sequence[dict]) -> tuple[object, _Tried] | None:
        try:
            changed = made(start, changes)
            new = section_of(changed)
        except InputError:
            return None
        costs = [prices.change(c, section.layers) for c in changes]
        cost = sum(p.amount if p is not None else float("inf") for p in costs)
        words = phrases.joined([phrases.change(c, names) for c in changes])
        return changed.key, _Tried(round(cost, 6), words, new)

    bad = [f for f in result.findings if f.severity in ("serious", "caution")]
    single: dict[object, _Tried] = {}
    first: dict[str, dict] = {}
    for f in bad:
        for r in f.remedies:
            found = tried([r.change]) if r.change and len(single) < _MOST_TRIED else None
            if found is not None:
                single.setdefault(*found)
                first.setdefault(f.rule, r.change)
    serious = [first[f.rule] for f in bad if f.severity == "serious" and f.rule in first]
    for group in (serious, list(first.values())):
        once = [c for n, c in enumerate(group) if c not in group[:n]]
        found = tried(once) if 1 < len(once) <= 4 else None
        if found is not None:
            single.setdefault(*found)
    return sorted(single.values(), key=lambda t: (t.cost, t.words))


def _improvement(t: _Tried, j: Judged) -> str:
    left = "" if j.worst is None else f", with this left: {phrases.titled(j.worst)}"
    price = (
        ""
        if t.cost == float("inf")
        else f" Relative cost {t.cost:g}, where a coat of paint is 1 (coarse, common practice)."
    )
    return f"{phrases.capitalized(t.words)}: then {phrases.DISPOSITIONS[j.disposition]}{left}.{price}"
