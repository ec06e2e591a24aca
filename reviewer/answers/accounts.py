"""Whether every word that names a layer ended somewhere: an account taken of a reading after it is made.

The text is gone through anew, word by word and apart from how the section was put together. What names a layer
and stands in no section of the reading, is not denied and is not what is asked about, is given back, to be shown as
not used. Nothing that was said gets lost without a word.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from reviewer.answers.layers import part_of
from reviewer.answers.lexicon import lexicon, normal
from reviewer.answers.reading import Reading
from reviewer.answers.scan import Lexeme
from reviewer.answers.scene import Mention
from reviewer.library.materials import load_materials
from reviewer.model.section import Section

_ALSO: dict[str, tuple[str, ...]] = {
    "mineral wool batt": ("mineral wool board",),
    "glass fiber batt": ("glass fiber board", "blown glass fiber"),
    "wood fiber batt": ("wood fiber board",),
    "dense-packed cellulose": ("loose-fill cellulose",),
    "vinyl siding": ("vinyl flooring",),
    "engineered wood siding": ("engineered wood flooring",),
    "metal panel cladding": ("metal roofing",),
    "steel siding": ("metal roofing",),
    "aluminum siding": ("metal roofing",),
    "precast concrete": ("reinforced concrete", "concrete"),
    "cedar shingle": ("wood roof shingle",),
    "unpainted wood siding": ("wood roof shingle",),
    "gravel bed": ("roof ballast",),
    "sand and gravel": ("roof ballast",),
    "hardwood": ("wood flooring",),
    "pine": ("wood flooring", "tongue and groove paneling"),
    "rubber flooring": ("epdm membrane",),
    "red oak": ("wood flooring",),
    "self-adhered membrane": ("self-adhered roof vapor retarder",),
    "oil paint": ("old oil paint",),
    "gypsum plaster": ("plaster on wood lath", "plaster on metal lath"),
    "wood lath": ("plaster on wood lath",),
    "stone rubble": ("roof ballast", "gravel bed"),
    "exterior acrylic paint": ("liquid roof membrane",),
    "expanded polystyrene board": ("tongue and groove paneling",),
    "elastomeric coating": ("liquid roof membrane",),
}
"""What a word for a material becomes in another kind of section or on another side."""
_LEFT_OUT = {
    "vented attic": frozenset(("space",)),
    "vented crawl space": frozenset(("space", "soil")),
    "unvented crawl space": frozenset(("space", "soil")),
}
"""What lies beyond the space that a section ends in, and so stands in none."""
_METAL = frozenset(("metal", "steel", "aluminum", "zinc", "copper"))
_WOOD = frozenset(("wood", "cedar", "pine", "plywood", "board", "lumber", "timber"))
_SUBSTANCES = {
    "metal": _METAL, "steel": _METAL, "tin": _METAL,
    "wood": _WOOD, "wooden": _WOOD, "cedar": _WOOD, "redwood": _WOOD, "larch": _WOOD, "cypress": _WOOD, "hardwood": _WOOD, "oak": _WOOD,
    "vinyl": frozenset(("vinyl",)), "stone": frozenset(("stone", "limestone", "sandstone", "granite")),
    "brick": frozenset(("brick",)), "brickwork": frozenset(("brick",)), "concrete": frozenset(("concrete",)),
}  # fmt: skip
"""What a thing is made of, and the words for that in names of materials: another thing of its part does not stand for it."""
_WALLS = {"wall", "foundation wall"}
_FRAMING = frozenset(("spruce", "steel stud", "douglas fir"))


def sections_of(reading: Reading) -> list[Section]:
    """The sections that a reading shows: the one described and those set side by side."""
    base = [reading.base] if reading.base is not None else []
    return base + [o.section for o in reading.options]


def unaccounted(lexemes: Iterable[Lexeme], mentions: Sequence[Mention], reading: Reading) -> list[str]:
    """Words for layers among `lexemes` that ended nowhere in a reading; empty where it has no section."""
    sections = sections_of(reading)
    if not sections:
        return []
    names = {x.name for s in sections for x in s.layers}
    told = {id(m.lexeme): m for m in mentions}
    about = {reading.subject.name} if reading.subject is not None else set()
    kind = sections[0].kind
    lost = []
    for x in lexemes:
        m = told.get(id(x))
        if m is not None and (m.negated or m.replaces or m.predicate):
            continue
        if x.sort == "material" and on_soil(x.value, sections[0]):
            continue
        if m is not None and m.of and m.of != kind and not {m.of, kind} <= _WALLS:
            # Of another part of the building.
            continue
        if not _ended(x, m, names, about, kind):
            lost.append(x.text)
    return lost


def on_soil(id_: str, section: Section) -> bool:
    """Whether it is the soil of a crawl space, or a sheet that became its cover."""
    soil = id_ in load_materials() and load_materials()[id_].family == "soil"
    if soil and section.layers[-1].name.endswith("crawl space"):
        return True
    return section.known.get("ground cover") == "polyethylene" and id_.startswith(
        ("polyethylene", "slab vapor")
    )


def _ended(x: Lexeme, m: Mention | None, names: set[str], about: set[str], kind: str) -> bool:
    materials = load_materials()
    if m is not None and m.material and (m.material in about or stands(m.material, names)):
        return True
    beyond = frozenset(p for end, parts in _LEFT_OUT.items() if end in names for p in parts)
    match x.sort:
        case "material":
            return (
                x.value in _FRAMING
                or x.value in about
                or stands(x.value, names)
                or (x.value in materials and part_of(x.value, kind, "", "", True) in beyond)
            )
        case "loose":
            loose = lexicon().loose[int(x.value)]
            may_be = {i for i in (loose.takes, loose.veneer, *loose.decides, *loose.open) if i}
            if (
                not may_be
                or x.text.lower() in about
                or may_be & about
                or any(stands(i, names) for i in may_be)
            ):
                return True
            said = [w for w in normal(x.text).split() if w in _SUBSTANCES]
            if said:
                of = _SUBSTANCES[said[0]]
                roles = frozenset(r for i in may_be for r in materials[i].roles)
                return any(
                    of & set(n.split()) and materials[n].roles & roles for n in names if n in materials
                )
            if kind != "roof" and all("roof covering" in materials[i].roles for i in may_be):
                return False
            side = m.side if m is not None else loose.side
            parts = {part_of(n, kind, "", "", True) for n in names if n in materials} | beyond
            sought = "insulation" in about and any("thermal control" in materials[i].roles for i in may_be)
            return sought or any(part_of(i, kind, "", side, True) in parts for i in may_be)
        case "space":
            return m is None or "space" in beyond or "air space" in about or "air space" in names
        case "role":
            role = lexicon().roles[int(x.value)]
            if m is None or not role.text or role.role in about:
                return True
            return any(role.role in materials[n].roles for n in names if n in materials)
    return True


def stands(id_: str, names: set[str]) -> bool:
    """Whether a material, or what it becomes in a section, is among the layers."""
    return (
        id_ in names
        or any(n.endswith(f" {id_}") or n.startswith(f"{id_} ") for n in names)
        or any(n in names for n in _ALSO.get(id_, ()))
    )
