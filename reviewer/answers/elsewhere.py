"""Why not always: where a thing holds and where it fails, zone by zone."""

from __future__ import annotations

from dataclasses import replace

from reviewer.answers import phrases
from reviewer.answers.compute import ALL_ZONES, decide, in_zone
from reviewer.answers.draft import Draft, command, dissent, reasons
from reviewer.answers.verdicts import thing
from reviewer.model.section import Section
from reviewer.reply import ZoneLine
from reviewer.result import Assumption

PASSES = ("no exceptions taken", "make corrections noted")
ORDINARY = "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-21 glass fiber batt | 7/16 in OSB | house wrap | vinyl siding"


def ordinary(kind: str = "wall") -> Section:
    """A common framed wall, to show a thing in where the question names no section."""
    from reviewer.model.parse import section_from_line

    return section_from_line(ORDINARY, kind=kind, zone="5A")


def answer_elsewhere(draft: Draft) -> None:
    """`why not always`: the section with the thing, and without where the question tells them apart, in every zone."""
    reading, desk = draft.reading, draft.desk
    sections = [o.section for o in reading.options] or ([reading.base] if reading.base is not None else [])
    if not sections:
        sections = _shown_in_ordinary(draft)
    x = thing(reading) if reading.subject is not None else "this section"
    given = sections[-1]
    pairs = len(sections) > 1
    zones = list(ALL_ZONES)
    judged = desk.judged([in_zone(s, z) for z in zones for s in sections[-2:]])
    size = len(sections[-2:])
    by_zone = {z: judged[n * size : (n + 1) * size] for n, z in enumerate(zones)}
    draft.zones = [
        ZoneLine(
            zone=z,
            place=j[-1].place,
            disposition=j[-1].disposition,
            says=phrases.capitalized(phrases.told(j[-1].worst)),
        )
        for z, j in by_zone.items()
    ]
    decided = {z: decide("add" if pairs else "safe here", j) for z, j in by_zone.items()}
    bad = [z for z in zones if decided[z].case in ("harms", "fails", "mixed")]
    careful = [z for z in zones if decided[z].case in ("adds cautions", "corrections")]
    idle = [z for z in zones if pairs and decided[z].case == "no matter"]
    good = [z for z in zones if decided[z].case in ("prevents", "cautions", "sound")]
    draft.direction = "explanation"
    if bad:
        z = bad[0]
        draft.answer = f"Because {phrases.the(x)} does harm in {phrases.spanned(bad, zones)}: there {phrases.told(decided[z].point)}."
    elif careful:
        z = careful[0]
        draft.answer = f"Because {phrases.the(x)} costs something in {phrases.spanned(careful, zones)}: there {phrases.told(decided[z].point)}."
    elif idle:
        draft.answer = f"Because {phrases.the(x)} changes nothing in {phrases.spanned(idle, zones)}: what is not needed is not worth its cost."
    else:
        draft.answer = f"In this section nothing speaks against {phrases.the(x)} in any zone; what it costs and who puts it in decide."
    if good:
        draft.more.append(
            f"It does good in {phrases.spanned(good, zones)}: there {_good(decided[good[-1]], pairs)}."
        )
    if careful and bad:
        draft.more.append(
            f"It has to be handled with care in {phrases.spanned(careful, zones)}: {phrases.told(decided[careful[0]].point)}."
        )
    if idle and (bad or careful):
        draft.more.append(f"It changes nothing in {phrases.spanned(idle, zones)}.")
    worst = bad or careful or idle or zones
    there = in_zone(given, worst[0])
    result = desk.result(there)
    draft.shown = desk.result(given) if given.place is not None else result
    draft.reasons = reasons(result, decided[worst[0]].point)[:2]
    if good and pairs:
        without = desk.result(in_zone(sections[0], good[-1]))
        draft.reasons += reasons(without, decided[good[-1]].point)[:1]
    draft.dissent = dissent(result)
    draft.commands = [command(desk, there)] + ([command(desk, in_zone(given, good[-1]))] if good else [])
    draft.cautions.append(
        "Each zone is shown at the one place that stands for it; a place of its own may differ."
    )


def _good(d, pairs: bool) -> str:
    return (
        f"without it {phrases.told(d.point)}"
        if pairs and d.point is not None
        else "nothing is found against it"
    )


def _shown_in_ordinary(draft: Draft) -> list[Section]:
    """An ordinary wall without and with the thing in question."""
    from reviewer.answers.uses import for_role, placed, uses

    base = ordinary()
    draft.assumed.append(
        Assumption(
            what="an ordinary framed wall: " + ORDINARY.replace(" | ", ", "),
            why="the question names no section, and this is the commonest wall",
        )
    )
    s = draft.reading.subject
    name = s.name if s is not None else ""
    layers = [u for u in uses() if u.how != "known" and "wall" in u.kinds]
    tried = [u for u in layers if any(_names(t, name) for t in u.texts)]
    if not tried and s is not None and s.sort == "role":
        tried = for_role(name, "wall", s.position)[:1]
    for use in tried:
        chosen = [t for t in use.texts if _names(t, name)] or list(use.texts[:1])
        for _, section in placed([replace(use, texts=tuple(chosen[:1]))], base):
            return [base, section]
    return [base]


def _names(text: str, name: str) -> bool:
    from reviewer.remedies.changes import read

    return read(text).name == name
