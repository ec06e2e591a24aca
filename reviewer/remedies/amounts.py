"""What `--least` varies: a thickness, a share, a permeance, a gap or a humidity, from none of it to the most."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from reviewer.errors import InputError, Problem, nearest
from reviewer.facts.resolve import Properties
from reviewer.library import materials
from reviewer.model.write import write_layer
from reviewer.remedies.catalog import INCH, data, foam_against_outer_face, made_of
from reviewer.remedies.changes import Change, Draft, draft_of
from reviewer.remedies.moves import made
from reviewer.remedies.parts import PARTS, Here
from reviewer.review import Units
from reviewer.units import PERM, Span, parse, show

SUBJECTS: Mapping[str, str] = {
    "exterior insulation": "thickness of insulation outside of the sheathing, the deck or the masonry",
    "foam against the masonry": "thickness of foam on the room side of masonry or concrete",
    "foam share": "thickness of closed-cell foam at the outer face of a cavity, the rest fiber",
    "vapor control": "permeance of the room side",
    "cladding gap": "depth of a ventilated space behind the cladding",
    "vent space": "depth of a vented space between the insulation and the deck of a roof",
    "indoor humidity": "humidity of the room",
}
"""What can be varied; an insulation by its name is one outside, or against the masonry of a foundation."""

THICKEST, DEEPEST, WIDEST = 12.0, 24.0, 2.0
"""Inches of insulation, of insulation on an attic floor, and of a cladding gap that are tried at most."""
ATTICS = ("vented attic",)
"""Spaces over insulation that has all the room it wants."""


@dataclass(frozen=True, slots=True)
class Stock:
    """A size or a product that is sold."""

    shown: str
    place: int
    """Of its amount in the lattice, or the next one beyond; -1 where it is known by its name only."""
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Subject:
    """One amount, from none to the most."""

    what: str
    varied: str
    dimension: str
    amounts: tuple[float, ...]
    """SI, on the steps that people read off a rule, from no remedy to the most."""
    changes: Callable[[float], tuple[Change, ...]]
    """What makes the section have an amount; places are those of its layers as it is."""
    stock: tuple[Stock, ...]
    now: str
    units: Units
    thick: str = ""
    """The material that is varied, for its R-value; empty where it has none."""
    outboard: bool = False
    """The rule of thumb for it is a share of the R-value that lies outboard of the plane that could condense."""
    start: Draft = field(kw_only=True)

    def draft(self, place: int) -> Draft:
        return made(self.start, self.changes(self.amounts[place]))

    def shown(self, amount: float) -> str:
        """The amount on its step, in the reader's units."""
        if self.dimension != "length":
            return show(amount, self.dimension, self.units)
        return f"{amount / INCH:.2f} in" if self.units == "ip" else f"{amount * 1000:g} mm"


def subject(what: str, here: Here, units: Units) -> Subject:
    """What the words mean in a section. Raises InputError: not known, or no place for it."""
    said = " ".join(what.casefold().split())
    if said in SUBJECTS:
        return _MAKERS[said](said, here, units, "")
    names = {
        alias.casefold(): m.id for m in materials.load_materials().values() for alias in (m.id, *m.aliases)
    }
    name = names.get(said, "")
    if name and materials.load_materials()[name].family in ("foam insulation", "fibrous insulation"):
        below = here.section.kind == "foundation wall"
        return (_against_masonry if below else _exterior)(said, here, units, name)
    known = [*SUBJECTS, *(m for m in names if "board" in m)]
    raise InputError(
        Problem(
            f'"{what}" is no amount that --least can vary',
            None,
            "one of " + ", ".join(SUBJECTS) + ", or an insulation board by its name",
            nearest(said, known),
        )
    )


def _no_place(what: str, why: str) -> InputError:
    return InputError(Problem(f"there is no place for {what} here: {why}", None, "a section that has one"))


# -- steps -----------------------------------------------------------------------------------------


def lengths(most: float, units: Units, step: float = 0.01) -> tuple[float, ...]:
    """Lengths from 0 on steps of a hundredth of an inch, or of half a millimeter."""
    each, n = (step * INCH, most / step) if units == "ip" else (0.0005, most * INCH / 0.0005)
    return tuple(round(i * each, 9) for i in range(int(n + 1e-9) + 1))


def _sizes(kind: str, units: Units) -> list[str]:
    return data()["stock sizes"][kind][units]


def _thickness(x: float, name: str, more: str = "") -> str:
    return f"{round(x * 1000, 6):g} mm {name}{more}"


def _boards(
    amounts: Sequence[float], changes: Callable[[float], tuple[Change, ...]], units: Units, most: float
) -> tuple[Stock, ...]:
    out: list[Stock] = []
    for size in _sizes("boards", units):
        d = parse(size, "length").low
        if d <= most + 1e-9:
            place = next((n for n, a in enumerate(amounts) if a >= d - 1e-9), -1)
            out.append(Stock(size, place, changes(d)))
    return tuple(out)


# -- subjects --------------------------------------------------------------------------------------


def _exterior(what: str, here: Here, units: Units, name: str) -> Subject:
    there = PARTS["exterior insulation"](here)
    main = here.main
    if not there and main is not None and main.layer.framing is None and main.layer.index > 0:
        there = [main.layer.index]
    if not there and name:
        # How much of a thing that is there is asked of what is there.
        there = [p.layer.index for p in here.solid if p.material is not None and p.material.id == name][-1:]
    if there:
        i = max(there, key=lambda n: here.layers[n].r or 0.0)
        board = here.layers[i]
        held = board.material.id if board.material else ""
        return _board(what, here, units, i, name or held, board.name if name in ("", held) else name)
    below = here.section.kind in ("foundation wall", "slab")
    at = PARTS["mass"](here) if below else PARTS["weather face"](here) or PARTS["mass"](here)
    if here.section.kind == "roof":
        at = PARTS["roof deck"](here)
    if not at:
        raise _no_place(what, "no sheathing, deck or masonry is listed")
    usual = "polyisocyanurate board" if here.section.kind == "roof" else "extruded polystyrene board"
    return _new_board(what, here, units, name or usual, "outside of", at[0])


def _against_masonry(what: str, here: Here, units: Units, name: str) -> Subject:
    mass = PARTS["mass"](here)
    if not mass:
        raise _no_place(what, "no masonry and no concrete is listed")
    inner = mass[0] - 1
    p = here.layers[inner] if inner >= 0 else None
    if p is not None and p.has("foam plastic"):
        held = p.material.id if p.material else ""
        return _board(what, here, units, inner, name or held, p.name if name in ("", held) else name)
    return _new_board(what, here, units, name or "extruded polystyrene board", "inside of", mass[0])


def _board(what: str, here: Here, units: Units, i: int, name: str, shown: str) -> Subject:
    """The thickness of a layer that is there."""
    p = here.layers[i]
    if not name:
        raise _no_place(what, f"what layer {i + 1} is made of is not known")

    def changes(x: float) -> tuple[Change, ...]:
        if x <= 0.0:
            return ({"remove": i},)
        if p.material is not None and name == p.material.id:
            layer = replace(
                p.layer, thickness=Span(x, x), r_value=None, overrides=p.layer.overrides - {"r_value"}
            )
            return ({"replace": i, "with": write_layer(layer)},)
        return ({"replace": i, "with": _thickness(x, name, ", taped")},)

    most = DEEPEST if here.section.layers[-1].space in ATTICS else THICKEST
    amounts = lengths(most, units)
    return Subject(
        what,
        f"{shown}, layer {i + 1}, {_range(units, most)}",
        "length",
        amounts,
        changes,
        _boards(amounts, changes, units, most * INCH),
        show(p.thickness, "length", units) if p.thickness is not None else "not known",
        units,
        name,
        what != "foam against the masonry" and here.section.kind in ("wall", "roof"),
        start=draft_of(here.section),
    )


def _new_board(what: str, here: Here, units: Units, name: str, side: str, at: int) -> Subject:
    taped = ", taped" if here.section.kind not in ("roof", "slab") else ""

    def changes(x: float) -> tuple[Change, ...]:
        return () if x <= 0.0 else ({"insert": _thickness(x, name, taped), side: at},)

    amounts = lengths(THICKEST, units)
    where = f"{side} layer {at + 1}, {here.layers[at].name}"
    return Subject(
        what,
        f"{name} {where}, {_range(units)}",
        "length",
        amounts,
        changes,
        _boards(amounts, changes, units, THICKEST * INCH),
        "none",
        units,
        name,
        side == "outside of" and here.section.kind in ("wall", "roof"),
        start=draft_of(here.section),
    )


def _range(units: Units, most: float = THICKEST) -> str:
    return f"0 to {most:g} in" if units == "ip" else f"0 to {int(most * INCH * 2000) / 2:g} mm"


def _foam_share(what: str, here: Here, units: Units, name: str) -> Subject:
    del name
    fiber = PARTS["cavity insulation"](here)
    p = here.layers[fiber[0]] if fiber else None
    if p is not None and p.has("foam plastic") and p.layer.index > 0:
        # The foam of a filled pair may hold more of the R-value than the fiber.
        inner = here.layers[p.layer.index - 1]
        p = inner if inner.is_insulation and inner.layer.framing is not None else p
    if p is None or p.thickness is None or not p.has("air permeable"):
        raise _no_place(what, "no cavity between framing members is filled with fiber")
    i = p.layer.index
    foam = here.layers[i + 1] if i + 1 < len(here.layers) else None
    if foam is not None and not (foam.has("spray foam") and foam.layer.framing is not None):
        foam = None
    depth = p.thickness + ((foam.thickness or 0.0) if foam is not None else 0.0)
    whole = replace(p, thickness=depth)
    spray = foam.material.id if foam is not None and foam.material else "closed-cell spray foam"

    def changes(x: float) -> tuple[Change, ...]:
        gone: tuple[Change, ...] = ({"remove": foam.layer.index},) if foam is not None else ()
        if x <= 0.0:
            if foam is None:
                return ()
            return (*gone, {"replace": i, "with": write_layer(made_of(whole, p.name, depth))})
        found = foam_against_outer_face(whole, spray, x)
        if found is None:
            raise InputError(Problem("so much foam does not fit into the cavity", None, "less"))
        return (*gone, *found)

    amounts = lengths((depth - 0.0127) / INCH, units)
    return Subject(
        what,
        f"{spray} at the outer face of layer {i + 1}, the rest of {show(depth, 'length', units)} {p.name}",
        "length",
        amounts,
        changes,
        tuple(
            Stock(size, next(n for n, a in enumerate(amounts) if a >= d - 1e-9), changes(d))
            for size in _sizes("spray foam", units)
            if (d := parse(size, "length").low) <= amounts[-1]
        ),
        show(foam.thickness, "length", units) if foam is not None and foam.thickness else "none",
        units,
        spray,
        True,
        start=draft_of(here.section),
    )


_OPEN_SIDE = 50.0
"""Perms of a room side without any control."""


def _vapor_control(what: str, here: Here, units: Units, name: str) -> Subject:
    del name
    sheets = PARTS["interior retarder"](here)
    coats = [i for i in PARTS["interior coating"](here) if i not in sheets]
    finish = PARTS["finish"](here)
    face = coats[:1] or finish or PARTS["main insulation"](here)
    if not face:
        raise _no_place(what, "nothing is listed on the room side")
    gone: tuple[Change, ...] = tuple({"remove": i} for i in sheets)

    def coat(text: str) -> tuple[Change, ...]:
        if coats:
            return (*gone, {"replace": coats[0], "with": text})
        return ({"insert": text, "inside of": face[0]}, *gone)

    def changes(x: float) -> tuple[Change, ...]:
        return coat(f"vapor retarder paint; permeance = {x / PERM:.2f} perm")

    stock: list[Stock] = []
    for product in data()["stock sizes"]["vapor control"]:
        text = product["put"]
        if product["as"] == "coating":
            stock.append(Stock(text, -1, coat(text)))
        elif (main := PARTS["main insulation"](here)) and main[0] not in sheets:
            sheet: Change = {"insert": text, "inside of": main[0]}
            stock.append(Stock(text, -1, (*coat("latex paint"), sheet)))
    steps = [*range(5000, 1000, -10), *range(1000, 0, -1)]
    held = [show(p.permeance_dry, "permeance", units) for i in sheets if (p := here.layers[i]).permeance_dry]
    there = f", in place of {' and '.join(here.layers[i].name for i in sheets)}" if sheets else ""
    return Subject(
        what,
        f"the permeance of one coating on the room side{there}, {show(_OPEN_SIDE * PERM, 'permeance', units)} to "
        f"{show(0.01 * PERM, 'permeance', units)}, dry and damp alike",
        "permeance",
        tuple(n / 100 * PERM for n in steps),
        changes,
        tuple(stock),
        " and ".join(held) or "none",
        units,
        start=draft_of(here.section),
    )


def _spaces(
    kind: str, amounts: Sequence[float], changes: Callable[[float], tuple[Change, ...]], units: Units
) -> tuple[Stock, ...]:
    return tuple(
        Stock(size, next(n for n, a in enumerate(amounts) if a >= d - 1e-9), changes(d))
        for size in _sizes(kind, units)
        if (d := parse(size, "length").low) <= amounts[-1]
    )


def _gap(what: str, here: Here, units: Units, name: str) -> Subject:
    del name
    bare, space = PARTS["cladding without a space"](here), PARTS["cladding with a space"](here)
    if not bare and not space:
        raise _no_place(what, "no cladding is listed that a space could lie behind")
    place = "a space behind the cladding, ventilated top and bottom"
    there = None if bare else space[0]
    return _space(
        what, here, units, place, "vented top and bottom", "battens", WIDEST, there, bare[0] if bare else 0
    )


def _vent_space(what: str, here: Here, units: Units, name: str) -> Subject:
    del name
    deck, main = PARTS["roof deck"](here), PARTS["main insulation"](here)
    if here.section.kind != "roof" or not deck or not main or main[0] > deck[0]:
        raise _no_place(what, "no roof deck is listed over insulation")
    space = [p.layer.index for p in here.layers[main[0] : deck[0]] if p.layer.space and p.ventilated]
    place = f"a vented space between layer {main[0] + 1}, {here.layers[main[0]].name}, and the deck"
    return _space(
        what, here, units, place, "vented", "baffles", 2 * WIDEST, space[0] if space else None, deck[0]
    )


def _space(
    what: str,
    here: Here,
    units: Units,
    place: str,
    vents: str,
    stock: str,
    widest: float,
    there: int | None,
    outer: int,
) -> Subject:
    """The width of a ventilated space, m: of layer `there`, or of a new one inside of layer `outer`."""

    def changes(x: float) -> tuple[Change, ...]:
        text = _thickness(x, "air space", f" {vents}")
        if there is None:
            return () if x <= 0.0 else ({"insert": text, "inside of": outer},)
        return ({"remove": there},) if x <= 0.0 else ({"replace": there, "with": text},)

    amounts = lengths(widest, units, 1 / 16)
    width = None if there is None else here.layers[there].thickness
    return Subject(
        what,
        f"{place}, 0 to {show(amounts[-1], 'length', units)}",
        "length",
        amounts,
        changes,
        _spaces(stock, amounts, changes, units),
        "none" if width is None else show(width, "length", units),
        units,
        start=draft_of(here.section),
    )


def _humidity(what: str, here: Here, units: Units, name: str) -> Subject:
    del name
    steps = tuple(n / 100 for n in range(80, 9, -1))

    def changes(x: float) -> tuple[Change, ...]:
        return ({"set": "indoor", "humidity": f"{x * 100:.0f} %"},)

    return Subject(
        what,
        "the humidity of the room, the same all year, 80 % to 10 %",
        "relative humidity",
        steps,
        changes,
        (),
        "as the named condition has it, month by month",
        units,
        start=draft_of(here.section),
    )


_MAKERS: Mapping[str, Callable[[str, Here, Units, str], Subject]] = {
    "exterior insulation": _exterior,
    "foam against the masonry": _against_masonry,
    "foam share": _foam_share,
    "vapor control": _vapor_control,
    "cladding gap": _gap,
    "vent space": _vent_space,
    "indoor humidity": _humidity,
}


def r_value(layers: Sequence[Properties], name: str) -> tuple[float, float] | None:
    """R of the varied layer and its share of all insulation's (m²·K/W, fraction); None when it is not there."""
    own = [p.r for p in layers if p.material is not None and p.material.id == name and p.r]
    every = [p.r for p in layers if p.is_insulation and p.r]
    return (max(own), max(own) / sum(every)) if own and every else None
