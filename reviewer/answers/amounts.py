"""How much: the section with more and more of a thing, and from which amount on code, rule of thumb and calculation
have nothing against it any more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from reviewer.answers import phrases
from reviewer.answers.compute import Judged
from reviewer.answers.draft import Draft, checks, command, dissent, reasons
from reviewer.answers.verdicts import thing
from reviewer.errors import InputError, Problem
from reviewer.facts.build import build
from reviewer.library.materials import load_materials
from reviewer.library.types import Material
from reviewer.model.section import Layer, Section
from reviewer.names import shown_name
from reviewer.remedies.changes import read
from reviewer.remedies.parts import PARTS, here_of
from reviewer.reply import OptionLine
from reviewer.result import Assumption
from reviewer.units import Span, show

STOCK = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0, 7.0, 8.0, 10.0)
"""Inches: sizes that boards come in or are laid up to, and foam is sprayed in (common practice)."""
INCH = 0.0254
VOICES = ("code", "rule of thumb", "calculation")
DEFAULT = "extruded polystyrene board"


@dataclass(frozen=True, slots=True)
class Amount:
    """One amount of the thing, and the section that has so much of it."""

    label: str
    section: Section


def answer_amount(draft: Draft) -> None:
    """`how much`. Raises InputError where nothing can be varied."""
    base = draft.reading.base or (draft.reading.options[0].section if draft.reading.options else None)
    assert base is not None
    s = draft.reading.subject
    if s is not None and "vent" in s.name and "area" in s.name:
        what, amounts = "net free vent area", _vent_areas(base)
    else:
        what, amounts = _thicknesses(draft, base)
    judged = draft.desk.judged([a.section for a in amounts])
    moved = _moved_by_it(judged)
    needed = {v: _least(judged, moved, (v,), ("serious", "caution")) for v in VOICES}
    grave = _least(judged, moved, VOICES, ("serious",))
    clean = _least(judged, moved, VOICES, ("serious", "caution"))
    draft.direction = "amount"
    there = judged[-1] if clean is None else judged[clean]
    it = phrases.spoken(base.kind, phrases.place(there))
    voiced = _voiced(amounts, judged, moved, needed)
    chosen = clean if clean is not None else grave
    if not moved:
        chosen = 0
        draft.answer = f"None by the rules held here: no amount of {what} changes a finding of {it}."
    elif chosen is None:
        chosen = len(amounts) - 1
        left = next(p for p in judged[-1].points if p.rule in moved)
        draft.answer = (
            f"No amount of {what} up to {amounts[-1].label} is enough for {it}: {phrases.told(left)}."
        )
        draft.direction = "depends"
    elif chosen == 0:
        draft.answer = f"None: {it} needs no {what}, by code, rule of thumb and calculation alike."
    else:
        draft.answer = f"At least {amounts[chosen].label} of {what} for {it}: {voiced}."
        if grave is not None and grave != chosen:
            least = amounts[grave].label if grave else "none"
            draft.more.append(f"To pass with cautions, {least} is enough.")
    short = judged[chosen - 1] if chosen else judged[0]
    section = amounts[chosen].section
    result = draft.shown = draft.desk.result(base)
    if chosen and moved:
        against = next((p for p in short.points if p.rule in moved and p.severity != "credit"), None)
        less = draft.desk.result(amounts[chosen - 1].section)
        draft.more.append(f"With {amounts[chosen - 1].label or 'none'}: {phrases.told(against)}.")
        draft.reasons = reasons(less, against)[:3]
    enough = draft.desk.result(section)
    numbers = phrases.margins(enough)
    if numbers:
        draft.more.append(f"With {amounts[chosen].label or 'none'}: {'; '.join(numbers[:3])}.")
    draft.reasons += [f for f in enough.findings if f.severity == "credit"][: max(0, 4 - len(draft.reasons))]
    if enough.disposition == "revise and resubmit":
        draft.more.append(
            f"Something else is wrong that no amount cures: {phrases.told(judged[chosen].worst)}."
        )
    draft.options = [
        OptionLine(
            label=a.label or "none",
            disposition=j.disposition,
            says=phrases.capitalized(
                phrases.told(
                    next(
                        (p for p in j.points if p.rule in moved and p.severity in ("serious", "caution")),
                        None,
                    )
                )
            ),
        )
        for n, (a, j) in enumerate(zip(amounts, judged, strict=True))
        if n == 0 or chosen - 2 <= n <= chosen + 1
    ]
    found = [n for n in needed.values() if n is not None]
    if len(set(found)) > 1:
        names = [v for v in VOICES if needed[v] == max(found)]
        draft.dissent.append(f"The voices differ: {voiced}. The most careful is the {phrases.joined(names)}.")
    draft.dissent += dissent(enough)
    draft.check = checks(draft, result)
    draft.commands = [command(draft.desk, base), command(draft.desk, section)]


def _moved_by_it(judged: Sequence[Judged]) -> set[str]:
    """Rules whose serious findings or cautions come or go with the amount. Hazards are told apart: a cover for foam is
    no question of its thickness."""
    found = [
        {p.rule for p in j.points if p.severity in ("serious", "caution") and not p.hazard} for j in judged
    ]
    return set.union(*found) - set.intersection(*found) - {r for r in found[-1] if r not in found[0]}


def _least(
    judged: Sequence[Judged], moved: set[str], voices: Sequence[str], severities: Sequence[str]
) -> int | None:
    """The place of the least amount from which on no such finding stands; None where none is enough."""
    bad = [
        any(p.rule in moved and p.voice in voices and p.severity in severities for p in j.points)
        for j in judged
    ]
    if bad[-1]:
        return None
    return max((n for n, b in enumerate(bad) if b), default=-1) + 1


def _voiced(
    amounts: Sequence[Amount], judged: Sequence[Judged], moved: set[str], needed: dict[str, int | None]
) -> str:
    """`the code asks for 2 in (R-10), the rule of thumb for 3 in, the calculation for nothing`."""
    parts = []
    for voice in VOICES:
        n = needed[voice]
        own = any(p.rule in moved and p.voice == voice for j in judged for p in j.points)
        if not own or n == 0:
            parts.append(f"the {voice} asks for nothing")
        elif n is None:
            parts.append(f"the {voice} is not met by {amounts[-1].label}")
        else:
            parts.append(f"the {voice} asks for {amounts[n].label}")
    return ", ".join(parts)


# -- what is varied ---------------------------------------------------------------------------------


def _vent_areas(base: Section) -> list[Amount]:
    """The shares of the ceiling area that codes speak of."""
    areas = ("1/600", "1/300", "1/150")
    return [
        Amount(f"{a} of the ceiling area", replace(base, known={**base.known, "vent area": a})) for a in areas
    ]


def _thicknesses(draft: Draft, base: Section) -> tuple[str, list[Amount]]:
    """The section with rising thicknesses of insulation, and what that is called."""
    s = draft.reading.subject
    name = s.name if s is not None else "insulation"
    position = s.position if s is not None else ""
    material = load_materials().get(name)
    book, layers, _, anatomy, _ = build(base, draft.desk.edition)
    here = here_of(base, book, layers, anatomy)
    units = draft.desk.units or draft.desk.result(base).units
    if (
        material is not None
        and "spray foam" in material.flags
        and base.kind in ("wall", "roof")
        and position != "outside"
    ):
        return shown_name(name), _foamed(base, name, units)
    outside = PARTS["exterior insulation"](here)
    face = PARTS["weather face"](here)
    mass = PARTS["mass"](here)
    there = [x.index for x in base.layers if material is not None and x.name == name]
    if material is None:
        given = next((base.layers[i].material for i in outside), None)
        material = given or load_materials()[DEFAULT]
        if given is None:
            draft.assumed.append(
                Assumption(
                    what=f"the insulation is {DEFAULT}",
                    why="no kind was named, and it lies between the others in vapor and heat",
                )
            )
    if there or outside:
        at = (there or outside)[0]
        return f"{shown_name(base.layers[at].name)}", _varied(base, at, material, units, replaces=True)
    if base.kind in ("foundation wall", "slab") and mass:
        return f"{shown_name(material.id)}", _varied(
            base, mass[0], material, units, before=base.kind == "foundation wall"
        )
    if face:
        return f"{shown_name(material.id)} outside", _varied(base, face[0], material, units)
    raise InputError(
        Problem(
            f"how much {thing(draft.reading)} can't be varied in this section",
            None,
            "a layer whose thickness is asked for",
        )
    )


def _label(inches: float, material: Material, units: str) -> str:
    t = inches * INCH
    r = (
        ""
        if material.conductivity is None
        else f" ({show(t / material.conductivity, 'thermal resistance', units)})"
    )
    return f"{show(t, 'length', units)}{r}"


def _layer(material: Material, inches: float) -> Layer:
    text = f"{show(inches * INCH, 'length', 'ip')} {material.id}"
    board = "foam plastic" in material.flags and "spray foam" not in material.flags
    return read(f"{text}, taped" if board else text)


def _varied(
    base: Section, at: int, material: Material, units: str, *, replaces: bool = False, before: bool = False
) -> list[Amount]:
    """None of it, then the stock sizes, in place of a layer or beside it."""
    out = []
    for inches in (0.0, *STOCK):
        layers: list[Layer] = []
        for x in base.layers:
            new = [] if inches == 0.0 else [_layer(material, inches)]
            if x.index != at:
                layers.append(x)
            elif replaces:
                layers += new
            else:
                layers += [*new, x] if before else [x, *new]
        made = tuple(replace(x, index=n) for n, x in enumerate(layers))
        out.append(
            Amount("none" if inches == 0.0 else _label(inches, material, units), replace(base, layers=made))
        )
    return out


def _foamed(base: Section, name: str, units: str) -> list[Amount]:
    """Foam against the outer face of a framed cavity, the rest of its depth filled with fiber as before."""
    material = load_materials()[name]
    foam = next((x for x in base.layers if x.name == name), None)
    fiber = next(
        (
            x
            for x in base.layers
            if x.material is not None and "fibrous" in x.material.flags and (x.framing or foam)
        ),
        None,
    )
    if fiber is None:
        raise InputError(
            Problem("no framed cavity with fiber is there to put foam in", None, "a wall or roof with a batt")
        )
    depth = _depth(fiber, foam)
    out = []
    for inches in (0.0, *STOCK):
        rest = depth - inches * INCH
        if rest < 0.01:
            break
        layers: list[Layer] = []
        for x in base.layers:
            if x is foam:
                continue
            if x is fiber:
                layers.append(_cut(fiber, rest) if inches else replace(fiber, thickness=Span(depth, depth)))
                if inches:
                    new = _layer(material, inches)
                    layers.append(replace(new, framing=fiber.framing, text=f"{new.text}, framed as before"))
            else:
                layers.append(x)
        made = tuple(replace(x, index=n) for n, x in enumerate(layers))
        out.append(
            Amount("none" if inches == 0.0 else _label(inches, material, units), replace(base, layers=made))
        )
    return out


def _depth(fiber: Layer, foam: Layer | None) -> float:
    """Of the cavity, m: that of the members where it is given, else what is in it."""
    framing = fiber.framing or (foam.framing if foam is not None else None)
    if framing is not None and framing.depth is not None:
        return framing.depth
    parts = [x.thickness.middle for x in (fiber, foam) if x is not None and x.thickness is not None]
    if parts:
        return sum(parts)
    k = fiber.material.conductivity if fiber.material is not None else None
    if fiber.r_value is not None and k is not None:
        return fiber.r_value.middle * k
    raise InputError(
        Problem("the depth of the cavity is not known", None, "the members, such as 2x6, or a thickness")
    )


def _cut(fiber: Layer, rest: float) -> Layer:
    return replace(
        fiber, thickness=Span(rest, rest), r_value=None, overrides=fiber.overrides - {"r_value"},
        text=f"{show(rest, 'length', 'ip')} {fiber.name}",
    )  # fmt: skip
