"""How much: the least amount by code, by rule of thumb and by calculation, from the solver of `reviewer remedy --least`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from reviewer.advice import LeastAdvice, LeastAnswer
from reviewer.answers import phrases
from reviewer.answers.compute import Judged, section_key
from reviewer.answers.draft import Draft, checks, command, dissent, holds, reasons
from reviewer.errors import InputError, Problem
from reviewer.library.materials import load_materials
from reviewer.model.section import Section
from reviewer.names import shown_name

SHORT = {"code": "the code", "rule of thumb": "the rule of thumb", "calculation": "the calculation"}
COARSE = 24
"""Steps of a range that are judged first: half an inch of insulation, half the steps of `--least`."""
_INSULATION = ("foam insulation", "fibrous insulation")


def answer_amount(draft: Draft) -> None:
    """`how much`. Raises InputError where nothing can be varied."""
    from reviewer.remedies.least import least

    base = draft.reading.base or (draft.reading.options[0].section if draft.reading.options else None)
    assert base is not None
    desk = draft.desk
    result = draft.shown = desk.result(base)
    j = desk.judged([base])[0]
    draft.check, draft.commands = checks(draft, result), [command(desk, base)]
    what = _what(draft, base)
    if what == "vent area":
        _vent_area(draft, base, j)
        return
    found: LeastAdvice = desk.kept(
        ("least", section_key(base), what),
        lambda: least(base, what, desk.judges(), desk.units, coarse=COARSE),
    )
    draft.commands.append(command(desk, base, "remedy", "--least", what))
    voices, total = found.answers[:-1], found.answers[-1]
    it = phrases.spoken(base.kind, phrases.place(j))
    thing = _thing(what, found)
    draft.direction = "amount"
    if total.asks and total.amount is None:
        draft.direction = "depends"
        left = f": {phrases.decapitalized(total.leaves[0].title)}" if total.leaves else ""
        draft.answer = f"No amount of {thing} alone is enough for {it}{left}."
    elif not total.asks and found.heat is not None:
        heat = found.heat
        also = f" ({heat.also})" if heat.also else ""
        draft.answer = (
            f"At least {heat.shown}{also} of {thing} for {it}, for heat, by the energy code's table; for moisture none is "
            "asked for, by code, rule of thumb and calculation alike."
        )
        draft.sources.append(heat.source)
    elif not total.asks:
        once = f"; once there is some, it has to be at least {total.once}" if total.once else ""
        draft.answer = f"None for moisture: {it} asks for no {thing}, by code, rule of thumb and calculation alike{once}."
    else:
        least_word = "At most" if found.dimension in ("permeance", "relative humidity") else "At least"
        draft.answer = f"{least_word} {_amount(total)} of {thing} for {it}: {_voiced(voices)}."
    draft.more = [a.says for a in (*voices, total)]
    energy = next((f for f in result.findings if f.rule == "thermal/below-prescriptive-table"), None)
    if energy is not None:
        draft.more.append(
            f"For heat, another matter: {phrases.decapitalized(energy.title)}. {energy.margin}".rstrip()
        )
    cleared = {f.rule for a in found.answers for f in a.clears}
    draft.reasons += [f for f in reasons(result) if f.rule in cleared] or [
        f for f in result.findings if f.rule in cleared
    ][:3]
    draft.reasons += [energy] if energy is not None else []
    draft.reasons += holds(result)[:1] if draft.reasons else holds(result)[:3]
    asked = {a.shown for a in voices if a.asks}
    if len(asked) > 1 or (asked and not all(a.asks for a in voices)):
        draft.dissent.append(f"The voices differ: {_voiced(voices)}. Take the most careful.")
    draft.dissent += dissent(result)
    draft.sources += [s for a in found.answers for s in a.sources]
    draft.cautions += found.cautions


def _thing(what: str, found: LeastAdvice) -> str:
    """`extruded polystyrene board outside`, `closed-cell spray foam`, `humidity indoors`."""
    first = found.varied.split(",", 1)[0]
    for side in (" outside of", " inside of", " at the outer face of"):
        first = first.split(side, 1)[0]
    name = shown_name(first)
    if what in ("vapor control", "cladding gap", "indoor humidity"):
        return {
            "vapor control": "permeance on the room side",
            "cladding gap": "ventilated space behind the cladding",
        }.get(what, "humidity in the room")
    return f"{name} outside" if " outside of" in found.varied else name


def _amount(a: LeastAnswer) -> str:
    """In the next stock size where there is one, with its R-value."""
    size, also = (a.stock, a.stock_also) if a.stock else (a.shown, a.also)
    return f"{size} ({also.split(',', 1)[0]})" if also else size


def _voiced(voices: Sequence[LeastAnswer]) -> str:
    """`the code asks for 2 in (R-10), the rule of thumb for 3 in (R-15), the calculation for none`."""
    parts = []
    for a in voices:
        amount = "none" if not a.asks else "more than there is to be had" if a.amount is None else _amount(a)
        parts.append(f"{SHORT[a.voice]} asks for {amount}")
    return ", ".join(parts)


def _what(draft: Draft, base: Section) -> str:
    """The amount in the words of `reviewer remedy --least`."""
    s = draft.reading.subject
    if s is None:
        raise InputError(
            Problem(
                "what the amount is of was not understood",
                None,
                "foam, insulation outside, perms inside, a gap",
            )
        )
    name, position = s.name, s.position
    if "vent" in name and "area" in name:
        return "vent area"
    if "humid" in name:
        return "indoor humidity"
    material = load_materials().get(name)
    if material is not None and material.family in _INSULATION:
        sprayed = "spray foam" in material.flags and base.kind in ("wall", "roof") and position != "outside"
        return "foam share" if sprayed else material.id
    if name in ("vapor control", "vapor retarder") or (
        material is not None and "vapor control" in material.roles
    ):
        return "vapor control"
    if name in ("drainage", "air space", "cladding gap", "rainscreen") or (
        material is not None and "drainage" in material.roles
    ):
        return "cladding gap"
    return "foam against the masonry" if base.kind == "foundation wall" else "exterior insulation"


def _vent_area(draft: Draft, base: Section, j: Judged) -> None:
    """The shares of the ceiling area that the codes speak of, each reviewed."""
    shares = ("1/300", "1/150")
    sections = [replace(base, known={**base.known, "vent area": a}) for a in shares]
    judged = draft.desk.judged(sections)
    rules = ("roof/vent-area-too-small", "roof/vent-area-unbalanced", "roof/vent-area-without-retarder")
    against = [next((p for p in x.points if p.rule in rules), None) for x in judged]
    it = phrases.spoken(base.kind, phrases.place(j))
    draft.direction = "amount"
    if against[0] is None:
        draft.answer = f"At least 1/300 of the ceiling area, as net free area, for {it}."
    else:
        draft.answer = (
            f"1/150 of the ceiling area, as net free area, for {it}; 1/300 is enough with 40 to 50 % of it high in the roof "
            "and, in a cold zone, a Class I or II retarder in the ceiling."
        )
        draft.more.append(phrases.stopped(f"With 1/300 as told: {phrases.told(against[0])}"))
    result = draft.desk.result(sections[0])
    draft.reasons = [f for f in result.findings if f.rule in rules][:2]
    for rule in rules[:2]:
        draft.sources += [str(c) for c in draft.desk.rules.rule(rule).cites]
    draft.commands.append(f"reviewer rules show {rules[0]}")
