"""Where the layers of a section lie: the usual order from the room outwards, and the section that they make.

A layer's part (finish, vapor control, cavity, …) follows from its material and from where the asker puts it; each kind
of section has its order of parts. What the asker says about order wins over the usual one.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cache, lru_cache
from itertools import pairwise

from reviewer.answers.lexicon import data
from reviewer.errors import InputError
from reviewer.library.materials import load_materials
from reviewer.model import wording
from reviewer.model.parse import section_from_line
from reviewer.model.section import Building, Section
from reviewer.model.section import Indoor as IndoorCondition
from reviewer.units import parse

VENT_SPACE = "1-1/2 in air space vented"
"""What a vent space of a roof is taken for where its depth is not told."""
ORDER: dict[str, tuple[str, ...]] = {
    "wall": ("coating", "bed", "finish", "service space", "inner board", "inner cavity", "vapor", "inner space", "cavity", "cavity foam", "base", "structure", "sheathing", "sheet",
             "board", "space", "cladding", "outer coating"),
    "roof": ("coating", "finish", "service space", "inner board", "vapor", "cavity", "cavity foam", "laid over", "space", "under deck",
             "deck space", "structure", "sheathing", "deck sheet", "board", "cover", "sheet", "mat", "outer space",
             "roofing", "top coat", "ballast", "surroundings"),
    "roof/low slope": ("coating", "finish", "service space", "inner board", "inner vapor", "cavity", "cavity foam", "structure", "sheathing", "vapor", "deck sheet",
                       "board", "cover", "roofing", "top coat", "drain", "ballast"),
    "foundation wall": ("coating", "finish", "vapor", "inner space", "cavity", "inner sheet", "inner board", "cavity foam", "structure", "sheathing", "damp",
                        "sheet", "board", "drain", "soil"),
    "slab": ("flooring", "sheathing", "inner sheet", "inner board", "structure", "blotter", "vapor", "board", "gravel", "soil"),
    "floor": ("flooring", "finish", "sheathing", "structure", "vapor", "cavity", "cavity foam", "board", "sheet", "lower board", "cladding",
              "surroundings"),
}  # fmt: skip
"""Parts from the room outwards, by kind (and form, where it has an order of its own)."""


@dataclass(slots=True)
class Piece:
    """A layer to be: what it is, where it lies, and its words for the parser."""

    material: str
    """Id, or empty for a space."""
    part: str
    text: str
    said: bool = True
    at: int = -1
    """Where in the text it was said, for the asker's own order."""
    name: str = ""
    """In the asker's terms, where those say less."""
    needs: str = ""
    """What decides and is not said: `thickness`, `kind`."""
    choices: tuple[str, ...] = ()
    """Materials that it may be, where that is open."""
    after: str = ""
    """`outside of`, `inside of`: relation to the piece `anchor`, where the asker says one; `next outside of` it where
    nothing lies between."""
    anchor: int = -1
    frame: str = ""
    """`over` or `under` the members that the insulation lies between."""


@dataclass(slots=True)
class Setting:
    """Where a section stands and what is around it."""

    kind: str = ""
    form: str = ""
    place: str = ""
    zone: str = ""
    indoor: str = ""
    humidity: str = ""
    temperature: str = ""
    cooling: bool | None = None
    rain: str = ""
    faces: str = ""
    building: dict[str, str] = field(default_factory=dict)
    known: dict[str, str] = field(default_factory=dict)


def order_of(kind: str, form: str) -> tuple[str, ...]:
    """Parts from the room outwards."""
    return ORDER.get(f"{kind}/{form}", ORDER.get(kind, ORDER["wall"]))


@lru_cache(maxsize=2048)
def part_of(id_: str, kind: str, form: str, side: str, framed: bool) -> str:
    """The part that a material plays in a kind of section, on a side that is said or not."""
    m = load_materials()[id_]
    roles, flags = m.roles, m.flags
    fibrous_board = id_.endswith("board") and "thermal control" in roles
    insulation = "thermal control" in roles and not roles & {"structure", "cladding", "roof covering"}
    sprayed = "spray foam" in id_ or id_ == "urea formaldehyde foam"
    inside = side in ("inside", "against masonry", "between framing")
    if kind == "floor" and m.family == "wood" and id_ in ("hardwood", "pine", "western red cedar", "redwood"):
        return "flooring"
    if kind == "slab":
        return _in_slab(id_, roles, flags, insulation, side)
    if m.family == "soil":
        return {"foundation wall": "soil"}.get(kind, "soil") if id_ != "gravel bed" else "drain"
    if insulation and (sprayed or fibrous_board or m.family == "foam insulation" or id_ == "cork board"):
        if sprayed:
            if kind == "foundation wall" and not framed:
                return "board" if side == "outside" else "inner board"
            return "board" if side == "outside" and kind in ("wall", "roof") and not framed else "cavity foam"
        if kind == "foundation wall":
            return "board" if side == "outside" else "cavity" if side == "between framing" else "inner board"
        if side == "between framing" and framed:
            return "cavity"
        if kind == "floor":
            return "board"
        if side == "inside" or (side == "against masonry" and kind == "wall"):
            return "inner board"
        return "board"
    if insulation:
        if (
            side == "outside"
            and kind in ("wall", "roof")
            and id_ in ("mineral wool batt", "mineral wool board")
        ):
            return "board"
        return "cavity"
    if ("interior finish" in roles and m.family == "coating") or id_ in ("wallpaper", "ceramic tile"):
        return "coating" if kind != "floor" else "flooring"
    if id_ in ("exterior acrylic paint", "elastomeric coating", "masonry sealer", "limewash", "wood stain"):
        return "outer coating" if side != "inside" else "coating"
    if "flooring" in roles and kind == "floor":
        return "flooring"
    if kind == "roof" and "roof covering" in roles:
        return (
            "ballast" if id_ in ("roof ballast", "concrete paver", "green roof growing medium") else "roofing"
        )
    if id_ == "self-adhered roof vapor retarder" and kind == "roof" and side != "inside":
        return "deck sheet"
    if form == "low slope" and id_ in ("drainage composite", "drainage mat", "dimple sheet", "filter fabric"):
        return "drain"
    if id_ == "mirror":
        return "coating"
    if id_ == "tile waterproofing membrane" and kind == "wall":
        return "bed"
    if kind == "foundation wall" and roles & {"drainage"} | (roles & {"dampproofing"}):
        if side == "inside":
            return "inner sheet"
        return "drain" if "drainage" in roles else "damp"
    if kind == "wall" and side == "outside" and "plaster" in id_.split():
        return "cladding"
    if "cladding" in roles and "structure" not in roles and side != "inside":
        return "cladding"
    if roles & {"structure"} and m.family not in ("wood panel", "wood") and id_ != "steel stud":
        return "structure"
    if id_ in ("log wall", "cross-laminated timber", "structural insulated panel"):
        return "structure"
    if form == "low slope" and id_ in ("fiberboard sheathing", "asphalt-impregnated fiberboard"):
        return "cover"
    if "sheathing" in roles or "structure" in roles:
        if side == "inside" and kind in ("wall", "roof"):
            return "finish" if "interior finish" in roles else "inner board"
        return "cover" if id_ == "gypsum roof board" else "sheathing"
    if "interior finish" in roles:
        return "finish"
    if "membrane" in flags and "water control" in roles and "vapor control" not in roles:
        if kind == "foundation wall":
            return "inner sheet" if side in ("inside", "against masonry") else "sheet"
        return "vapor" if side == "inside" else "sheet"
    if "membrane" in flags and "water control" in roles:
        if kind == "foundation wall":
            return "inner sheet" if side == "inside" else "damp"
        if side == "inside":
            return "vapor"
        return "deck sheet" if kind == "roof" else "sheet"
    if "vapor control" in roles or "membrane" in flags:
        if kind == "foundation wall" and inside and side == "against masonry":
            return "inner sheet"
        if side == "outside" and kind != "foundation wall":
            return "sheet"
        return "vapor"
    if "drainage" in roles or "capillary break" in roles:
        if kind == "roof":
            return "mat" if form != "low slope" else "drain"
        return "space" if kind == "wall" else "drain"
    return (
        "cladding"
        if "cladding" in roles and not inside
        else "sheathing"
        if m.family == "wood panel"
        else "finish"
    )


def _in_slab(id_: str, roles: frozenset[str], flags: frozenset[str], insulation: bool, side: str) -> str:
    above = side == "inside"
    if "flooring" in roles and "structure" not in roles and id_ != "epoxy coating":
        return "flooring"
    if id_ == "epoxy coating":
        return "inner sheet"
    if insulation:
        return "inner board" if above else "board"
    if id_ in ("gravel bed", "sand and gravel"):
        return "gravel"
    if "membrane" in flags or roles & {"vapor control", "capillary break"}:
        return "inner sheet" if above else "vapor"
    if flags & {"concrete"} and "structure" in roles:
        return "structure"
    if load_materials()[id_].family == "soil":
        return "soil"
    return "sheathing"


def arranged(pieces: list[Piece], kind: str, form: str, as_said: bool) -> list[Piece]:
    """Pieces from the room outwards: by the asker's own order where it is one, else by their parts."""
    parts = order_of(kind, form)

    def rank(p: Piece) -> float:
        return parts.index(p.part) if p.part in parts else len(parts) - 1.5

    if as_said:
        out = [p for p in pieces if p.said and p.at >= 0]
        for p in sorted((p for p in pieces if not p.said or p.at < 0), key=rank):
            at = next((i for i, q in enumerate(out) if rank(q) > rank(p)), len(out))
            out.insert(at, p)
    else:
        out = sorted(pieces, key=lambda p: (rank(p), p.at))
        listed = iter(_as_listed(pieces, rank))
        meant = {id(p) for p in _as_listed(pieces, rank)}
        out = [next(listed) if id(p) in meant else p for p in out]
    for p in [p for p in out if p.part == "coating" and as_said]:
        finish = next((q for q in out if q.part == "finish"), None)
        if finish is not None and out.index(p) > out.index(finish):
            out.remove(p)
            out.insert(out.index(finish), p)
    for p in [p for p in out if p.part == "space" and as_said and kind == "wall"]:
        # A space lies behind the cladding, however late it is spoken of.
        faces = [n for n, q in enumerate(out) if q.part == "cladding"]
        if faces and out.index(p) > faces[-1]:
            out.remove(p)
            out.insert(faces[-1], p)
    for p in [p for p in out if p.part == "lower board" and as_said]:
        # What closes a floor from below is never its topmost layer.
        out.remove(p)
        above = [q for q in out if q.part != "surroundings"]
        out.insert(len(above), p)
    for p in [p for p in out if p.after]:
        if p.material == "vinyl wall covering":
            # `Behind the wallpaper, on the board`: it is the face of the room whatever is told of it.
            continue
        anchor = next((q for q in out if q.at == p.anchor and q is not p), None)
        if anchor is None:
            continue
        here, there = out.index(p), out.index(anchor)
        outside = p.after.endswith("outside of")
        if outside != (here > there) or p.after.startswith("next"):
            out.remove(p)
            there = out.index(anchor)
            out.insert(there + 1 if outside else there, p)
    return out


_MOVABLE = frozenset(("cover", "board", "sheet", "deck sheet"))
_OUTER = frozenset(
    ("sheathing", "sheet", "deck sheet", "board", "cover", "space", "cladding", "roofing", "structure")
)


def _as_listed(pieces: list[Piece], rank: Callable[[Piece], float]) -> list[Piece]:
    """The outer layers in the asker's order, where they are a list in order but for one: then that is meant."""
    outer = [
        p for p in pieces if p.said and p.at >= 0 and p.part in _OUTER and (not p.after or p.part in _MOVABLE)
    ]
    told = sorted(outer, key=lambda p: p.at)
    if len(told) < _LIST or any(p.after and p.part in _MOVABLE for p in told):
        return []
    for listed in (told, told[::-1]):
        run = [rank(p) for p in listed]
        if all(a <= b for a, b in pairwise(run)):
            return []
        for k in range(1, len(run) - 1):
            rest = run[:k] + run[k + 1 :]
            if listed[k].part in _MOVABLE and all(a <= b for a, b in pairwise(rest)):
                return listed
    return []


_LIST = 3
"""Layers from which on a text is a list."""


@lru_cache(maxsize=4096)
def _parsed(
    line: str,
    kind: str,
    place: str,
    zone: str,
    indoor: str,
    building: Building,
    known: tuple[tuple[str, str], ...],
) -> Section:
    return section_from_line(
        line, kind=kind, place=place or None, zone=zone or None, indoor=indoor or None, building=building,
        known=dict(known), id="question", file="<question>",
    )  # fmt: skip


def build(texts: list[str], setting: Setting) -> Section | None:
    """The section of layers in words, through the parser of section files; None where it can't be one."""
    made = setting.building
    building = Building(
        year=int(made["year"]) if "year" in made else None,
        stories=int(made["stories"]) if "stories" in made else None,
        work=made.get("work"),
        use=made.get("use"),
        code=made.get("code"),
        wiring=made.get("wiring"),
        airtightness=float(made["airtightness"]) if "airtightness" in made else None,
    )
    if not texts:
        return None
    try:
        section = _parsed(
            " | ".join(texts),
            setting.kind,
            setting.place,
            setting.zone,
            setting.indoor,
            building,
            tuple(setting.known.items()),
        )
    except InputError:
        return None
    changes: dict[str, object] = {}
    if setting.humidity or setting.temperature:
        humidity = parse(setting.humidity, "relative humidity").low if setting.humidity else None
        temperature = parse(setting.temperature, "temperature").low if setting.temperature else None
        changes["indoor"] = IndoorCondition(
            setting.indoor or None,
            (temperature,) if temperature is not None else None,
            (humidity,) if humidity is not None else None,
            None,
        )
    if setting.cooling is not None:
        changes["cooling"] = setting.cooling
    if setting.rain:
        changes["rain"] = setting.rain
    if setting.faces:
        changes["faces"] = setting.faces
    return replace(section, **changes) if changes else section  # type: ignore[arg-type]


@cache
def usual() -> dict[str, dict[str, str]]:
    """The tables of what is usual."""
    return data("usual.yaml")


def usual_size(kind: str, r: str) -> str:
    """The framing that an R-value fills; empty where none is usual."""
    table = usual()["roof sizes" if kind in ("roof", "floor") else "wall sizes"]
    return table.get(r.split(" ")[0], "")


def usual_thickness(id_: str, kind: str) -> str:
    """The usual thickness of what carries a section, where only the material is said."""
    tables = usual()["thickness"]
    own = tables.get(kind, {})
    assert isinstance(own, dict)
    return own.get(id_, "") or (tables["wall"].get(id_, "") if kind == "foundation wall" else "")  # type: ignore[union-attr]


def depth_of(size: str) -> float:
    """Depth in inches of nominal lumber, `2x6`."""
    m = re.fullmatch(r"(\d+)x(\d+) mm", size)
    if m:
        return int(m[2]) / 25.4
    m = re.fullmatch(r"(\d+)x(\d+)", size)
    pair = (int(m[1]), int(m[2])) if m else (2, 6)
    return wording.LUMBER.get(pair, (0.0381, 0.1397))[1] / wording.INCH
