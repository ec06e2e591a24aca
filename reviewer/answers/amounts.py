"""How much: the least amount by code, by rule of thumb and by calculation, from the solver of `reviewer remedy --least`."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace

from reviewer.advice import LeastAdvice, LeastAnswer
from reviewer.answers import phrases
from reviewer.answers.compute import Judged, section_key
from reviewer.answers.draft import Draft, checks, command, dissent, holds, reasons
from reviewer.answers.ground import answer_thickness, is_sheet_thickness
from reviewer.answers.verdicts import serves
from reviewer.library import codes
from reviewer.library.materials import load_materials
from reviewer.library.types import Material
from reviewer.model.section import Section
from reviewer.names import shown_name
from reviewer.remedies.changes import read
from reviewer.reply import Direction
from reviewer.result import Assumption, Result
from reviewer.units import PERM, show

SHORT = {"code": "the code", "rule of thumb": "the rule of thumb", "calculation": "the calculation"}
_INSULATION = ("foam insulation", "fibrous insulation")


def answer_amount(draft: Draft) -> None:
    """`how much`. Raises InputError where nothing can be varied."""
    from reviewer.remedies.least import least

    base = draft.reading.base or (draft.reading.options[0].section if draft.reading.options else None)
    assert base is not None
    base = _careful(draft, base)
    desk = draft.desk
    result = draft.shown = desk.result(base)
    j = desk.judged([base])[0]
    draft.check, draft.commands = checks(draft, result), [command(desk, base)]
    if is_sheet_thickness(draft.reading, base):
        answer_thickness(draft, base, phrases.spoken(base.kind, phrases.place(j)))
        return
    foam = _own_retarder(draft, base)
    if foam is not None:
        _answer_own_retarder(draft, foam, phrases.spoken(base.kind, phrases.place(j)))
        return
    what = _what(draft, base)
    if what == "vent area":
        _vent_area(draft, base, j)
        return
    found: LeastAdvice = desk.kept(
        ("least", section_key(base), what),
        lambda: least(base, what, desk.judges(), desk.units, sizes=True),
    )
    draft.commands.append(command(desk, base, "remedy", "--least", what))
    voices, total = found.answers[:-1], found.answers[-1]
    it = phrases.spoken(base.kind, phrases.place(j))
    thing = _thing(what, found)
    draft.direction, draft.answer = _first(
        found, it, thing, _ASKS_CODE.search(draft.reading.text) is not None
    )
    cold = base.indoor is not None and base.indoor.name == "unheated"
    edge = _edge(result) if base.kind == "slab" and found.dimension == "length" and not cold else None
    if edge is not None:
        if draft.answer.startswith("None for moisture"):
            draft.answer = f"None for moisture; for heat, the energy code's table asks for {edge[0]} of {it}."
        draft.sources.append(edge[1])
    if what == "cladding gap" and not any(a.asks or a.once for a in voices):
        usual, sold = ("3/8 in", "3/4 in") if found.units == "ip" else ("10 mm", "19 mm")
        draft.answer = (
            f"{usual} of {thing} is enough for {it}, by common practice, and {sold} is what furring gives; neither the code "
            "nor the calculation asks for a depth here."
        )
    if found.heat is not None:
        draft.sources.append(found.heat.source)
    draft.more = [a.says for a in (*voices, total)]
    if edge is not None:
        draft.more.append(
            f"The edge is no part of a section, and loses the most heat of a slab: {edge[0]} by the energy code."
        )
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


def _edge(result: Result) -> tuple[str, str] | None:
    """What the energy code's table asks for along the edge of a slab in a zone, and its source."""
    code, _, edition = result.climate.edition.partition(" ")
    zone = result.climate.zone
    table = (
        codes.table("prescriptive-slab-edge", code, int(edition))
        if edition.isdigit() and zone[:1].isdigit()
        else None
    )
    row = table.for_zone(int(zone[0]), zone.endswith("C")) if table is not None else None
    if table is None or row is None or row.depth is None:
        return None
    least = show(row.options[0][1], "thermal resistance", result.units)
    reach = show(row.depth, "length", result.units)
    return f"{least} along the edge, {reach} down or inward,", f"{code} {edition} {table.clause}, from memory"


_THICK = re.compile(r"\b(?:thick\w*|depth|deep|inch\w*|mm|how much foam)\b")
_COUNTS = re.compile(
    r"\b(?:counts? as|acts? as|serves? as|works? as|qualif\w+ as|becomes?|is|be|its own|own)\b(?: \w+){0,4} vapou?r (?:barrier|retarder)"
    r"|\bclass (?:ii|2)\b"
)


def answer_of_a_foam(draft: Draft) -> bool:
    """Answers at what thickness a foam is a vapor retarder by itself, where no section is told; False where that is not
    asked, or of nothing that has such a thickness."""
    reading = draft.reading
    name = reading.subject.name if reading.subject is not None else ""
    foam = load_materials().get(
        {"spray foam": "closed-cell spray foam", "foam": "closed-cell spray foam"}.get(name, name)
    )
    if (
        foam is None
        or not _asks_when_a_retarder(draft)
        or "foam plastic" not in foam.flags
        or not foam.permeability_dry
    ):
        return False
    _answer_own_retarder(draft, foam, "")
    if name != foam.id:
        draft.assumed.append(
            Assumption(what=foam.id, why="no kind is named; open-cell foam is no vapor retarder at any depth")
        )
    draft.more.append("Whether one is asked for at all hangs on the place and on the layers.")
    draft.commands.append(f"reviewer materials show '{foam.id}'")
    return True


def _asks_when_a_retarder(draft: Draft) -> bool:
    said = draft.reading.text.lower()
    return _THICK.search(said) is not None and _COUNTS.search(said) is not None


def _own_retarder(draft: Draft, base: Section) -> Material | None:
    """The foam of which it is asked at what thickness it is a vapor retarder by itself."""
    if not _asks_when_a_retarder(draft):
        return None
    return next(
        (
            x.material
            for x in reversed(base.layers)
            if x.material is not None and "foam plastic" in x.material.flags and x.material.permeability_dry
        ),
        None,
    )


_CLASS_II = 1.0 * PERM
_NBC_LIMIT = 60e-12


def _answer_own_retarder(draft: Draft, foam: Material, it: str) -> None:
    """The thickness at which a foam passes no more than the code's limit: its permeability over that."""
    units = draft.shown.units if draft.shown is not None else "ip"
    american = units == "ip"
    limit, step = (_CLASS_II, 0.00635) if american else (_NBC_LIMIT, 0.005)
    assert foam.permeability_dry is not None
    least = math.ceil(foam.permeability_dry / limit / step - 1e-6) * step
    passes = show(foam.permeability_dry / least, "permeance", units)
    named = shown_name(foam.id)
    asked, source = (
        ("1 perm, the limit of Class II,", "IRC 2021 Table R702.7(1)")
        if american
        else ("60 ng/(s·m²·Pa)", "NBC 2020 9.25.4.2, from memory")
    )
    there = f" for {it}" if it else ""
    draft.direction = "amount"
    draft.answer = (
        f"At least {show(least, 'length', units)} of {named}{there} to be the vapor retarder by itself: it passes {passes} then, "
        f"and {asked} is asked; the tested value of the product decides."
    )
    draft.sources.append(source)


_TRIFLE = 4
"""What moisture asks for is said after what heat asks for where it is less than the fourth part of it."""
_ASKS_CODE = re.compile(r"\b(?:codes?|inspector|irc|nbc|table|required?|requires)\b", re.IGNORECASE)


def _first(found: LeastAdvice, it: str, thing: str, by_code: bool) -> tuple[Direction, str]:
    """The direction, and the sentence that answers; `by_code`: it is asked what the code wants."""
    voices, total = found.answers[:-1], found.answers[-1]
    heat = by_table = ""
    if found.heat is not None:
        by_table = found.heat.shown + (f" ({found.heat.also})" if found.heat.also else "")
    if found.heat is not None and found.heat.amount > max((a.amount or 0.0 for a in voices), default=0.0):
        heat = f"; for heat, beside moisture, the energy code's table asks for {by_table}"
    code = next((a for a in voices if a.voice == "code" and a.asks and a.amount is not None), None)
    if (
        by_code
        and code is None
        and (some_code := next((a for a in voices if a.voice == "code" and a.once), None))
    ):
        more = f"; {_voiced([a for a in voices if a is not some_code])}"
        return (
            "amount",
            f"At least {some_code.once} of {thing} for {it} by the code, where any that is tight is put there{more}{heat}.",
        )
    if by_code and code is not None:
        more = f"; {_voiced([a for a in voices if a is not code])}"
        return "amount", f"{_bound(found)} {_amount(code)} of {thing} for {it} by the code{more}{heat}."
    if total.asks and total.amount is not None:
        if found.heat is not None and code is None and total.amount * _TRIFLE < found.heat.amount:
            return "amount", (
                f"{_bound(found)} {by_table} of {thing} for {it}, for heat, by the energy code's table; "
                f"for moisture {_amount(total)} would do."
            )
        return "amount", f"{_bound(found)} {_amount(total)} of {thing} for {it}: {_voiced(voices)}{heat}."
    left = phrases.decapitalized(total.leaves[0].title) if total.leaves else ""
    some = [a for a in voices if a.asks and a.amount is not None]
    once = next((a for a in voices if a.once), None)
    if total.asks and some:
        # A voice finds fault with what no amount moves; the others have their amounts all the same.
        decides = min if found.dimension in _DOWN else max
        most = decides(some, key=lambda a: a.amount or 0.0)
        rest = f"; whatever the amount, {left}" if left else ""
        return (
            "amount",
            f"{_bound(found)} {_amount(most)} of {thing} for {it}: {_voiced(voices)}{rest}{heat}.",
        )
    if once is not None:
        rest = f"; whatever the amount, {left}" if total.asks and left else ""
        return "amount", (
            f"At least {once.once} of {thing} for {it} once there is any, by {SHORT[once.voice]}; none of it need be "
            f"there for moisture{rest}{heat}."
        )
    if total.asks:
        return "depends", f"No amount of {thing} alone is enough for {it}{': ' + left if left else ''}."
    if found.heat is not None:
        return "amount", (
            f"At least {by_table} of {thing} for {it}, for heat, by the energy code's table; for moisture "
            "none is asked for, by code, rule of thumb and calculation alike."
        )
    return "amount", (
        f"None for moisture: {it} asks for no {thing}, by code, rule of thumb and calculation alike."
    )


_SHEET = "10 mil polyethylene"
_UNTOLD = "vinyl siding"
_PLAIN = "fiber-cement siding"


def _careful(draft: Draft, base: Section) -> Section:
    """With a cladding that was not told, one without a space behind it: a ventilated one lets the code ask for less. Under
    a slab a retarder, which insulation is not to be in its place."""
    if base.kind == "slab" and not any(serves(x, "vapor control") for x in base.layers):
        at = next((x.index for x in base.layers if x.material and "structure" in x.material.roles), None)
        if at is not None:
            draft.assumed.append(
                Assumption(
                    what=f"{_SHEET} under the concrete, for the amount",
                    why="insulation is not asked to be the vapor retarder",
                )
            )
            layers = [*base.layers[: at + 1], read(_SHEET), *base.layers[at + 1 :]]
            return replace(base, layers=tuple(replace(x, index=n) for n, x in enumerate(layers)))
    if base.kind != "wall" or all(t.what != _UNTOLD for t in draft.reading.taken):
        return base
    layers = tuple(
        replace(read(_PLAIN), index=x.index, text=_PLAIN) if x.name == _UNTOLD else x for x in base.layers
    )
    draft.reading = replace(draft.reading, taken=tuple(t for t in draft.reading.taken if t.what != _UNTOLD))
    draft.assumed.append(
        Assumption(
            what=f"{_PLAIN} nailed on the wrap, for the amount",
            why="no cladding is told, and behind a ventilated one the code may ask for less",
        )
    )
    return replace(base, layers=layers)


_DOWN = ("permeance", "relative humidity")
"""Dimensions of which less is better."""


def _bound(found: LeastAdvice) -> str:
    return "At most" if found.dimension in _DOWN else "At least"


_SAID = {
    "vapor control": "permeance on the room side",
    "cladding gap": "ventilated space behind the cladding",
    "vent space": "vented space between insulation and deck",
    "indoor humidity": "humidity in the room",
}


def _thing(what: str, found: LeastAdvice) -> str:
    """`extruded polystyrene board outside`, `closed-cell spray foam`, `humidity indoors`."""
    first = found.varied.split(",", 1)[0]
    for side in (" outside of", " inside of", " at the outer face of"):
        first = first.split(side, 1)[0]
    name = shown_name(first)
    if what in _SAID:
        return _SAID[what]
    return f"{name} outside" if " outside of" in found.varied else name


def _amount(a: LeastAnswer) -> str:
    """In the next stock size where there is one, with its R-value."""
    size, also = (a.stock, a.stock_also) if a.stock else (a.shown, a.also)
    if a.stock and ("perm" in a.shown or "ng/" in a.shown):
        # What is sold for it is a coat or a sheet: what it may pass is the amount.
        return f"{a.shown} ({a.stock})"
    return f"{size} ({also.split(',', 1)[0]})" if also else size


def _voiced(voices: Sequence[LeastAnswer]) -> str:
    """`the code asks for 2 in (R-10), the rule of thumb for 3 in (R-15), the calculation for none`."""
    parts = []
    for a in voices:
        amount = "none" if not a.asks else "more than there is to be had" if a.amount is None else _amount(a)
        parts.append(f"{SHORT[a.voice]} asks for {amount}")
    return ", ".join(parts)


_HUMIDITY = re.compile(
    r"\bhow (?:much|high|low|many)\b.{0,30}\b(?:humidity|rh)\b|\b(?:humidity|rh)\b.{0,30}\b(?:keep|hold|run|have|allow)",
    re.IGNORECASE,
)
"""`How much humidity can I keep in winter?`"""


def _what(draft: Draft, base: Section) -> str:
    """The amount in the words of `reviewer remedy --least`."""
    s = draft.reading.subject
    name, position = (s.name, s.position) if s is not None else ("", "")
    if "vent" in name and "area" in name:
        return "vent area"
    if "humid" in name or (not name and _HUMIDITY.search(draft.reading.text)):
        return "indoor humidity"
    if name == "spray foam":
        name = next((x.name for x in base.layers if "spray foam" in x.name), "closed-cell spray foam")
    material = load_materials().get(name)
    if material is not None and material.family in _INSULATION:
        sprayed = "spray foam" in material.flags and base.kind in ("wall", "roof") and position != "outside"
        whole = not any(
            x.material is not None and x.material.family == "fibrous insulation" for x in base.layers
        )
        there = whole and any(x.name == name for x in base.layers)
        return "foam share" if sprayed and not there else material.id
    if name in ("vapor control", "vapor retarder") or (
        material is not None and "vapor control" in material.roles
    ):
        return "vapor control"
    if name in ("drainage", "air space", "cladding gap", "rainscreen") or (
        material is not None and "drainage" in material.roles
    ):
        if base.kind == "roof":
            return "vent area" if base.layers[-1].space == "vented attic" else "vent space"
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
