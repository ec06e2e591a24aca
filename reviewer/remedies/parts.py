"""Parts of a section as builders call them, for the stock changes and for `--least`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Book
from reviewer.facts.resolve import Properties
from reviewer.facts.statements import present
from reviewer.model.section import Section
from reviewer.physics.vapor import retarder_class

UNDERFILLED = 0.0127
"""Half an inch of empty depth: what a batt that is too shallow leaves (m)."""


@dataclass(frozen=True, slots=True)
class Here:
    """A section with what is known of its layers."""

    section: Section
    layers: list[Properties]
    anatomy: Anatomy
    low_slope: bool
    """A roof that is not steep enough to be vented by the stack of its own height."""

    @property
    def solid(self) -> list[Properties]:
        return [p for p in self.layers if not p.is_surroundings]

    @property
    def main(self) -> Properties | None:
        return None if self.anatomy.main is None else self.layers[self.anatomy.main]

    @property
    def inner(self) -> list[Properties]:
        return [] if self.anatomy.main is None else self.layers[: self.anatomy.main]

    @property
    def outer(self) -> list[Properties]:
        if self.anatomy.main is None:
            return []
        return [p for p in self.layers[self.anatomy.main + 1 :] if not p.is_surroundings]


def here_of(section: Section, book: Book, layers: list[Properties], anatomy: Anatomy) -> Here:
    head = next(r for r in book.records if r.kind == "section")
    return Here(section, layers, anatomy, head.fields.get("low_slope") == "yes")


def _index(p: Properties | None) -> list[int]:
    return [] if p is None else [p.layer.index]


def _main(h: Here) -> list[int]:
    return _index(h.main)


def _cavity(h: Here) -> list[int]:
    """The insulation between framing members."""
    return _index(h.main) if h.main is not None and h.main.layer.framing is not None else []


def _framed(h: Here) -> list[int]:
    """What lies between framing members, an empty space too."""
    return [p.layer.index for p in h.layers if p.layer.framing is not None][:1]


def _is_fiber(p: Properties) -> bool:
    return p.is_insulation and p.has("air permeable")


def _fiber(h: Here) -> list[int]:
    return _index(h.main) if h.main is not None and _is_fiber(h.main) else []


def _unfaced_fiber(h: Here) -> list[int]:
    faced = h.main is not None and "faced" in h.main.name
    return [] if faced else _fiber(h)


def _fiber_open_outward(h: Here) -> list[int]:
    """Fiber with neither foam nor a vapor-tight sheet outboard: there, and only there, does a tight sheet inside leave a
    way to dry (common practice)."""
    tight = any(
        p.has("foam plastic")
        or (
            p.has("membrane")
            and p.permeance_dry is not None
            and retarder_class(p.permeance_dry) in ("I", "II")
        )
        for p in h.outer
        if p.layer.index < h.anatomy.end and "roof covering" not in p.roles
    )
    return [] if tight else _unfaced_fiber(h)


def _foam(h: Here) -> list[int]:
    return _index(h.main) if h.main is not None and h.main.has("foam plastic") else []


def _finish(h: Here) -> list[int]:
    return _index(next((p for p in h.inner if "interior finish" in p.roles and not p.has("coating")), None))


def _unpainted(h: Here) -> list[int]:
    return [] if any(p.has("coating") for p in h.inner) else _finish(h)


def _coating(h: Here) -> list[int]:
    return [p.layer.index for p in h.inner if p.has("coating")]


def _retarder(h: Here) -> list[int]:
    return [
        p.layer.index
        for p in h.inner or h.solid
        if (p.has("membrane") or p.has("coating"))
        and p.permeance_dry is not None
        and retarder_class(p.permeance_dry) in ("I", "II")
    ]


def _sheathing(h: Here) -> list[int]:
    outer = h.outer or h.solid
    return _index(next((p for p in reversed(outer) if "sheathing" in p.roles and not p.is_insulation), None))


def _sheet(h: Here) -> list[int]:
    return [
        p.layer.index
        for p in h.outer
        if p.has("membrane") and "water control" in p.roles and "roof covering" not in p.roles
    ]


def _exterior_insulation(h: Here) -> list[int]:
    return [p.layer.index for p in h.outer if p.is_insulation and p.layer.framing is None]


def _weather_face(h: Here) -> list[int]:
    """The outermost of sheet, sheathing and main insulation: what exterior insulation goes over."""
    if _exterior_insulation(h) or (h.main is not None and not _cavity(h)):
        return []
    return (_sheet(h)[-1:] or _sheathing(h) or _main(h))[:1]


def _cladding(h: Here) -> int | None:
    outer = [p for p in h.solid if "cladding" in p.roles]
    return outer[-1].layer.index if outer else None


def _coated_foam(h: Here) -> list[int]:
    """Foam that carries its finish: nothing fits between the two."""
    i = _cladding(h)
    if i is None or i == 0 or not h.layers[i].has("coating"):
        return []
    return [i - 1] if h.layers[i - 1].has("foam plastic") else []


def _no_space(h: Here) -> list[int]:
    i = _cladding(h)
    return [] if i is None or i == 0 or h.layers[i - 1].is_space or _coated_foam(h) else [i]


def _any_space(h: Here) -> list[int]:
    i = _cladding(h)
    return [i - 1] if i and h.layers[i - 1].is_space else []


def _space(h: Here) -> list[int]:
    i = _cladding(h)
    return [i - 1] if i and h.layers[i - 1].is_space and not h.layers[i - 1].ventilated else []


def _roof_board(h: Here) -> list[int]:
    """The innermost board above a roof deck."""
    boards = [p for p in h.solid if p.is_insulation and p.layer.framing is None]
    return _index(boards[0]) if boards and boards[0].layer.index > 0 else []


def _steep_main(h: Here) -> list[int]:
    return _cavity(h) if not h.low_slope and h.anatomy.surroundings == "outdoor air" else []


def _mass(h: Here) -> list[int]:
    """The thickest masonry or concrete that is no cladding."""
    heavy = [
        p
        for p in h.solid
        if (p.has("masonry") or p.has("concrete")) and ("structure" in p.roles or "cladding" not in p.roles)
    ]
    return _index(max(heavy, key=lambda p: p.thickness or 0.0, default=None))


def _bare_foam(h: Here) -> list[int]:
    first = next((p for p in h.layers if not p.has("coating")), None)
    return _index(first) if first is not None and first.has("foam plastic") else []


def _underfilled(h: Here) -> list[int]:
    p = h.main
    if p is None or not _is_fiber(p) or p.layer.framing is None or p.layer.framing.depth is None:
        return []
    return [p.layer.index] if p.layer.framing.depth - (p.thickness or 0.0) >= UNDERFILLED else []


def _vermiculite(h: Here) -> list[int]:
    return [p.layer.index for p in h.layers if p.name == "vermiculite fill"]


def _vented_crawl_space(h: Here) -> list[int]:
    return [p.layer.index for p in h.layers if p.layer.space == "vented crawl space"]


def _wet(h: Here, wanted: Callable[[Properties], bool]) -> list[int]:
    return [p.layer.index for p in h.solid if p.layer.condition in ("wet", "damp") and wanted(p)]


def _wet_insulation(h: Here) -> list[int]:
    return _wet(h, lambda p: p.is_insulation)


def _wet_wood(h: Here) -> list[int]:
    return _wet(h, lambda p: p.material is not None and p.material.family in ("wood", "wood panel"))


def _wet_concrete(h: Here) -> list[int]:
    return [
        p.layer.index
        for p in h.solid
        if p.layer.condition in ("new", "wet", "damp") and (p.has("concrete") or p.has("masonry"))
    ]


def _bare_masonry(h: Here) -> list[int]:
    """A masonry wall that is its own cladding and is insulated on its room side."""
    last = h.solid[-1] if h.solid else None
    if last is None or not (last.has("masonry") or last.has("concrete")):
        return []
    return [last.layer.index] if _inside_of_masonry(h) else []


def _inside_of_masonry(h: Here) -> list[int]:
    heavy = _mass(h)
    return [p.layer.index for p in h.solid if heavy and p.layer.index < heavy[0] and p.is_insulation]


def _in_soil(h: Here) -> list[int]:
    heavy = _mass(h)
    return heavy if heavy and h.layers[-1].layer.space == "soil" and _inside_of_masonry(h) else []


def _inside_in_soil(h: Here) -> list[int]:
    return _inside_of_masonry(h) if _in_soil(h) else []


def _stated(about: str) -> Callable[[Here], list[int]]:
    return lambda h: [-1] if present(h.section.known.get(about, "none")) else []


def _from_street(h: Here) -> list[int]:
    """A list that starts with a cladding or covering and ends with a finish of rooms."""
    first, last = h.solid[0], h.solid[-1]
    inner = next((p for p in reversed(h.solid) if not p.has("coating")), last)
    outward = bool(first.roles & {"cladding", "roof covering"}) and len(h.solid) > 1
    return [-1] if outward and "interior finish" in inner.roles else []


PARTS: Mapping[str, Callable[[Here], list[int]]] = {
    "main insulation": _main,
    "cavity insulation": _cavity,
    "framed cavity": _framed,
    "fiber": _fiber,
    "unfaced fiber": _unfaced_fiber,
    "fiber open outward": _fiber_open_outward,
    "foam": _foam,
    "finish": _finish,
    "unpainted finish": _unpainted,
    "interior coating": _coating,
    "interior retarder": _retarder,
    "sheathing": _sheathing,
    "exterior sheet": _sheet,
    "exterior insulation": _exterior_insulation,
    "weather face": _weather_face,
    "coated foam": _coated_foam,
    "cladding without a space": _no_space,
    "cladding space": _space,
    "cladding with a space": _any_space,
    "roof deck": _sheathing,
    "roof board": _roof_board,
    "insulation of a steep roof": _steep_main,
    "mass": _mass,
    "bare foam": _bare_foam,
    "underfilled fiber": _underfilled,
    "vermiculite": _vermiculite,
    "vented crawl space": _vented_crawl_space,
    "wet insulation": _wet_insulation,
    "wet wood": _wet_wood,
    "wet concrete": _wet_concrete,
    "bare masonry insulated inside": _bare_masonry,
    "insulation inside of bare masonry": _inside_of_masonry,
    "mass in soil insulated inside": _in_soil,
    "insulation inside of mass in soil": _inside_in_soil,
    "embedded joists": _stated("embedded joists"),
    "diffusion port": _stated("diffusion port"),
    "list from the street": _from_street,
}
"""Words of the data file to the layers they mean, from the room; -1 stands for what is no layer."""
