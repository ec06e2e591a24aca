"""From what a text sets out to a section: what was said, put in order, and what such a section has for certain.

Everything that nobody said is returned as `Taken`, with the reason for that and not another; what is open and decides
the answer is returned as `Open`, with the few things that it may be.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import lru_cache

from reviewer.answers.kinds import BARE
from reviewer.answers.layers import (
    Piece,
    Setting,
    arranged,
    build,
    depth_of,
    order_of,
    part_of,
    usual,
    usual_size,
    usual_thickness,
)
from reviewer.answers.lexicon import listed, normal
from reviewer.answers.reading import Taken
from reviewer.answers.scene import Mention, Scene
from reviewer.library.materials import load_materials
from reviewer.model.section import Section
from reviewer.units import UnitError, parse


@dataclass(frozen=True, slots=True)
class Open:
    """Something that decides and is not said: a piece of the section, and what may stand there."""

    what: str
    why: str
    material: str
    choices: tuple[str, ...]
    """Materials, or thicknesses."""


@dataclass(slots=True)
class Assembly:
    """A section on its way."""

    setting: Setting
    pieces: list[Piece]
    taken: list[Taken] = field(default_factory=list)
    open: list[Open] = field(default_factory=list)
    as_said: bool = False
    unplaced: list[Mention] = field(default_factory=list)
    """What was named and has no place in such a section."""

    def section(
        self, instead: dict[str, str] | None = None, thickness: dict[str, str] | None = None
    ) -> Section | None:
        """The section; with a material, or a thickness of one, in place of what is open."""
        pieces = []
        for p in self.pieces:
            new = (instead or {}).get(p.material)
            if new is not None:
                p = replace(p, material=new, text=p.text.replace(p.material, new))
            size = (thickness or {}).get(p.material)
            if size is not None and p.needs == "thickness":
                p = replace(p, text=f"{size} {p.text}")
            pieces.append(p)
        ordered = arranged(pieces, self.setting.kind, self.setting.form, self.as_said)
        return build([p.text for p in ordered if p.text], self.setting)


def kind_of(scene: Scene, mentions: Iterable[Mention]) -> tuple[str, str, str]:
    """Kind, form and why, where the text does not say the kind; empty where nothing tells."""
    s = scene.setting
    if s.kind == "wall" and scene.kind_sure < 2 and any(
        m.material and not m.negated and (load_materials()[m.material].roles & {"dampproofing"} or m.material in ("drainage composite", "clay soil", "waterproofing membrane"))
        for m in mentions
    ) and not any(m.material and "cladding" in load_materials()[m.material].roles - {"structure"} and "structure" not in load_materials()[m.material].roles for m in mentions):  # fmt: skip
        return "foundation wall", "", "what lies against soil is named"
    panels = any(m.material and load_materials()[m.material].family == "wood panel" for m in mentions)
    if s.kind == "floor" and not scene.framed and not s.form and not panels:
        on_ground = {m.material for m in mentions if m.material and not m.negated} & _UNDER_SLABS
        if on_ground:
            return "slab", "", f"a floor over {sorted(on_ground)[0]} without joists lies on the ground"
    if s.kind == "floor" and any(m.material and not m.negated and m.material in _ROOFINGS for m in mentions):
        return "roof", "cathedral", "a roof covering is named"
    if s.kind:
        return s.kind, s.form, ""
    materials = [load_materials()[m.material] for m in mentions if m.material and not m.negated]
    roles = {r for m in materials for r in m.roles}
    ids = {m.id for m in materials}
    if scene.noun in ("rafter",):
        return "roof", "cathedral", "rafters carry a roof"
    if scene.noun == "truss":
        return "roof", "attic", "trusses carry a roof"
    if "roof covering" in roles:
        low = any("membrane" in m.flags and "roof covering" in m.roles for m in materials)
        return "roof", "low slope" if low else "cathedral", "a roof covering is named"
    if ids & {"slab vapor retarder", "gravel bed"} and "cladding" not in roles:
        return "slab", "", "what lies under slabs is named"
    if roles & {"dampproofing"} or "clay soil" in ids:
        return "foundation wall", "", "what lies against soil is named"
    under_foot = [
        m
        for m in materials
        if "flooring" in m.roles and not m.roles & {"structure", "interior finish", "cladding"}
    ]
    if (under_foot or scene.noun == "joist") and "cladding" not in roles:
        if ids & {"concrete"} and not scene.framed:
            return "slab", "", "a floor on concrete is named"
        if under_foot and scene.framed:
            return "floor", "", "a floor on framing is named"
        return "", "", ""
    if scene.size in DEEP and "cladding" not in roles and "house wrap" not in ids:
        # Members as deep carry roofs and floors oftener than walls.
        return "", "", ""
    if scene.framed or "cladding" in roles or "house wrap" in ids or scene.cavity_r:
        return "wall", "", "studs, siding or wrap are named"
    told = [
        m
        for m in materials
        if m.roles & {"sheathing", "thermal control", "water control"}
        or (m.roles & {"interior finish"} and m.family == "gypsum")
    ]
    if (
        len(told) >= 2
        and roles & {"sheathing", "water control", "cladding"}
        and not roles & {"flooring", "dampproofing"}
        and not any(m.family == "concrete" for m in materials)
    ):
        return "wall", "", "sheathing, insulation and lining are named, and nothing says roof or floor"
    if "structure" in roles and any(m.family in ("masonry",) for m in materials):
        return "wall", "", "masonry is named"
    if ids & _NATURAL:
        return "wall", "", "walls are built of it, and hardly anything else"
    return "", "", ""


_SHEETS = frozenset(
    ("polyethylene sheet", "polyethylene sheet 10 mil", "slab vapor retarder", "slab vapor retarder 15 mil")
)
"""Sheets that lie on the soil of crawl spaces."""
_BESIDE = 30
"""Characters between two things that are told of each other."""
ATTIC_SPACE = "12 in air space vented"
"""The attic, as the space next to the deck."""
DECK = "attic deck"
"""Form of a roof over a vented attic whose deck the question is about."""
DEEP = frozenset(("2x8", "2x10", "2x12", "2x14", "38x184 mm", "38x235 mm", "38x286 mm"))
"""Framing deeper than walls have as a rule."""
_ROLE_PARTS = {
    "water control": "sheet",
    "dampproofing": "damp",
    "vapor control": "vapor",
    "drainage": "drain",
}
"""Where a function lies."""
_FLOORINGS = {
    "vinyl siding": "vinyl flooring",
    "engineered wood siding": "engineered wood flooring",
    "hardwood": "wood flooring",
}
"""What a word for a cladding means on a floor."""
_CLOSED = "closed-cell spray foam"
_DECK_RETARDER = "self-adhered roof vapor retarder"
"""What holds the vapor back on the deck of a low-slope roof."""
_LYING = frozenset(("roof covering", "flooring", "interior finish"))
_SOFFITS = frozenset(("western red cedar", "redwood", "pine", "tongue and groove paneling"))
"""Woods that floors over open air are closed with from below."""
_PAPERS = frozenset(("asphalt felt", "asphalt felt 30 lb", "house wrap", "kraft paper"))
_ROOF_COAT = "liquid roof membrane"
_OPENINGS = re.compile(r"^$|\bvents?\b|\bsoffit|\bridge")
"""Words for a vented space that don't tell where it lies."""
_IGNITION = re.compile(r"intumescent|ignition barrier")
_ROLLS = re.compile(r"batt|faced|kraft|roll")
"""Words for insulation that is no loose fill."""
_GYPSUM_LATH = 1940
"""Year from which on plaster lies on gypsum lath oftener than on wood."""
_RETARDS = re.compile(r"retarder")
_BATTS = frozenset(("glass fiber batt", "kraft-faced glass fiber batt", "foil-faced glass fiber batt"))
_ON_MEMBRANES = frozenset(
    ("roof ballast", "concrete paver", "green roof growing medium", "liquid roof membrane")
)
_MASSES = frozenset(("clay brick", "old soft brick", "stone rubble"))
_FOILS = frozenset(("aluminum foil", "thin aluminum foil", "perforated foil"))
_STUD_DEPTHS = ("3.5 in", "3-1/2 in", "5.5 in", "5-1/2 in", "89 mm", "140 mm")
_STUCCOS = frozenset(("stucco", "manufactured stone veneer"))
_ON_MASONRY = frozenset(
    ("stucco", "acrylic stucco", "lime plaster", "exterior acrylic paint", "elastomeric coating")
)
"""Claddings that lie straight on masonry."""
_UNTOLD = ("3/4 in air space", "3/4 in air space vented")
"""What a space is of which nothing is told."""
_WHOLE = frozenset(("insulated metal panel",))
"""Panels that are a whole wall."""
_ROOFINGS = frozenset(
    ("asphalt shingle", "slate roofing", "clay roof tile", "wood roof shingle", "concrete roof tile")
)
_UNDER_SLABS = frozenset(
    ("gravel bed", "sand and gravel", "slab vapor retarder", "slab vapor retarder 15 mil")
)
_NATURAL = frozenset(("straw bale", "light clay straw", "hempcrete", "adobe", "rammed earth", "log wall"))
AS_BOARD = {
    "mineral wool batt": "mineral wool board",
    "glass fiber batt": "glass fiber board",
    "wood fiber batt": "wood fiber board",
}
"""What fibrous insulation outside the sheathing is: a board."""


@lru_cache(maxsize=512)
def _carries(id_: str) -> bool:
    """Whether a material is a wall by itself."""
    return part_of(id_, "wall", "", "", False) == "structure"


def _between_rafters(m: Mention, scene: Scene) -> bool:
    """Whether an insulation lies between the rafters, and not on the ceiling."""
    insulates = "thermal control" in load_materials()[m.material].roles
    return insulates and scene.noun == "rafter" and (m.side == "between framing" or bool(m.frame))


def steep(mentions: Iterable[Mention]) -> bool:
    """Whether the coverings that are told are those of slopes only: metal, shingles, tile."""
    told = [load_materials()[m.material] for m in mentions if m.material and not m.negated]
    covers = [m for m in told if "roof covering" in m.roles and m.id not in _ON_MEMBRANES]
    sheets = any("underlayment" in m.id or m.id == "asphalt felt" for m in told)
    return bool(covers) and sheets and not any("membrane" in m.flags or m.family == "coating" for m in covers)


class _Maker:
    def __init__(self, scene: Scene, mentions: list[Mention], reference: list[Mention]):
        self.scene = scene
        self.setting = replace(scene.setting, building=dict(scene.setting.building))
        self.taken: list[Taken] = []
        self.open: list[Open] = []
        self.unplaced: list[Mention] = []
        kind, form, why = kind_of(scene, [*mentions, *reference])
        if why:
            self.taken.append(Taken(f"the section is a {kind}", why))
        self.setting.kind, self.setting.form = kind, form
        hinted = form == "cathedral" and not scene.kind_sure
        if self.setting.kind == "roof" and (form in ("", "ceiling") or hinted):
            self.setting.form = self.roof_form(mentions)
        if self.setting.form == "unvented" or (self.setting.form == "low slope" and steep(mentions)):
            # Underlayment and metal or shingles: the layers of a slope, however low it is.
            self.setting.form = "cathedral"
        if self.setting.form == "attic" and any(
            m.material and not m.negated and "spray foam" in load_materials()[m.material].flags
            for m in (*mentions, *reference)
        ):  # fmt: skip
            # Insulation at the roof deck: the attic is inside.
            self.setting.form = "cathedral"
            self.scene = replace(
                self.scene,
                exposed=self.scene.exposed
                or not any(
                    m.material and "interior finish" in load_materials()[m.material].roles for m in mentions
                ),
            )
        told = [m for m in (*mentions, *reference) if m.material]
        if self.setting.form == "attic" and any(_between_rafters(m, scene) for m in told if not m.negated):
            self.setting.form = "cathedral"
        if self.setting.form == "attic" and (scene.deck or any(m.material in _FOILS for m in told)):
            # A foil hangs below the deck, and not on the ceiling.
            self.setting.form = DECK
        self.mentions = [m for m in mentions if not m.negated]
        self.denied = [m for m in mentions if m.negated]
        self.meant()
        self.pieces: list[Piece] = []
        self.parts = order_of(kind, self.setting.form)

    def meant(self) -> None:
        """What a word means in such a section: a coat on a roof, a retarder on a deck, plaster and its lath."""
        kind = self.setting.kind
        ids = {m.material for m in self.mentions}
        for m in self.mentions:
            words = m.lexeme.text.lower()
            if kind == "roof" and m.material in ("elastomeric coating", "exterior acrylic paint"):
                m.material = _ROOF_COAT
            if kind in ("roof", "floor") and words.startswith("bead") and not (m.thickness or m.r):
                # Of boards towards a room or a porch; the foam of that name is told by its thickness.
                m.material = "tongue and groove paneling"
            if kind == "roof" and m.material == "self-adhered membrane" and _RETARDS.search(words):
                m.material = _DECK_RETARDER
            if m.material == "gypsum plaster" and "wood lath" in ids:
                m.material = "plaster on wood lath"
            if kind in ("floor", "slab") and m.material in _FLOORINGS and "soffit" not in words:
                m.material = _FLOORINGS[m.material]
            if _IGNITION.search(words):
                # Where foam is coated there is no board before it.
                self.scene = replace(self.scene, exposed=True)
            if m.material == "oil paint" and self.old() and m.condition != "new":
                m.material = "old oil paint"
        if self.setting.form == BARE:
            # The floor of the barn is no part of its roof.
            self.mentions = [m for m in self.mentions if m.material and not self.on_ground(m)]
        self.plastered()
        if ids & {"gypsum plaster", "plaster on wood lath"}:
            self.mentions = [m for m in self.mentions if m.material != "wood lath"]

    def plastered(self) -> None:
        """Plaster named again is that named before; in old frame buildings it lies on wood lath."""
        ids = {m.material for m in self.mentions}
        laths = ids & {"plaster on wood lath", "plaster on metal lath"}
        plain = [
            m for m in self.mentions if m.material == "gypsum plaster" and normal(m.lexeme.text) == "plaster"
        ]
        outside = any(i and "cladding" in load_materials()[i].roles and "stucco" in i for i in ids)
        if "plaster on metal lath" in ids and not plain and outside:
            # The lath of the stucco.
            self.mentions = [m for m in self.mentions if m.material != "plaster on metal lath"]
        elif laths:
            self.mentions = [
                m
                for m in self.mentions
                if m not in plain and (m.material != "plaster on wood lath" or len(laths) == 1)
            ]
        elif self.boarded() and not any(i and _carries(i) for i in ids):
            for m in plain:
                m.material = "plaster on wood lath"

    def boarded(self) -> bool:
        """Whether a frame building is old: by its year, or by boards where later ones have panels."""
        ids = {m.material for m in self.mentions}
        panels = any(
            i and load_materials()[i].family in ("wood panel", "gypsum") and "plaster" not in i for i in ids
        )
        year = self.setting.building.get("year")
        return int(year) < _GYPSUM_LATH if year else "board sheathing" in ids and not panels

    def roof_form(self, mentions: list[Mention]) -> str:
        materials = [load_materials()[m.material] for m in mentions if m.material and not m.negated]
        if any(
            ("membrane" in m.flags and "roof covering" in m.roles) or m.id == "steel deck" for m in materials
        ):
            return "low slope"
        if any(m.id.startswith(("loose", "blown")) for m in materials) and not self.scene.framed:
            return "attic"
        if self.setting.form == "ceiling":
            over = any(m.roles & {"roof covering", "sheathing"} or "spray foam" in m.flags for m in materials)
            return "cathedral" if over or self.scene.noun == "rafter" else "attic"
        if any(m.family in ("concrete",) and "structure" in m.roles for m in materials):
            return "low slope"
        return "cathedral"

    # -- what is there ---------------------------------------------------------------------------

    def denies(self, part: str) -> bool:
        """Whether the text says that nothing of a part is there."""
        for m in self.denied:
            if m.space and part == "space":
                return True
            if m.role is not None and part == _ROLE_PARTS.get(m.role.role):
                return True
            if m.material and self.part(m) == part and not (part == "cavity" and m.loose is None):
                return True
        return False

    def part(self, m: Mention) -> str:
        if m.space:
            return self.space_part(m)
        if not m.material:
            return "vapor" if m.role is not None and m.role.role == "vapor control" else "sheet"
        if self.setting.kind == "floor" and self.below(m):
            return "lower board"
        if self.setting.kind == "floor" and m.material in _SOFFITS and self.floored(m):
            return "cladding"
        if self.setting.kind == "foundation wall" and not m.side and self.before_mass(m):
            return "inner sheet"
        if self.setting.form == DECK and m.material in _FOILS:
            target = m.target if m.relation == "over" else None
            on_fill = target is not None and target.material and self.part(target) == "cavity"
            laid = m.side == "outside" or on_fill
            return "laid over" if laid else "under deck"
        if m.material == _ROOF_COAT and any(self.covers(o) for o in self.mentions if o is not m):
            return "top coat"
        side = m.side or ("inside" if self.above_slab(m) else "")
        part = part_of(m.material, self.setting.kind, self.setting.form, side, self.framed_guess())
        if (
            self.setting.kind == "wall"
            and not m.side
            and part in (("board",) if self.scene.framed else ("cavity", "cavity foam", "board"))
        ):
            mass = next(
                (o for o in self.mentions if o.material and o is not m and _carries(o.material)), None
            )
            if mass is not None:
                return self.beside_mass(m, mass)
        if part == "board" and self.setting.form in ("attic", DECK) and m.material in AS_BOARD:
            # `rock wool above`: on the ceiling.
            return "cavity"
        if (
            part == "vapor"
            and self.setting.form == "low slope"
            and self.scene.framed
            and m.relation != "over"
        ):
            return "inner vapor"
        backs = "back" in m.lexeme.text.lower() or any(
            o.material == "ceramic tile" or "tile" in o.lexeme.text.lower() for o in self.mentions
        )
        if m.material == "cement board" and backs:
            return "finish"
        if (
            part == "inner board"
            and self.setting.kind == "foundation wall"
            and not m.side
            and self.on_coating(m)
        ):
            return "board"
        if part == "gravel" and m.material == "sand and gravel" and self.blots(m):
            return "blotter"
        if part == "cover" and self.before_board(m):
            return "sheathing"
        if part == "finish" and self.beneath(m):
            return "base"
        if (
            part == "sheathing"
            and self.setting.kind == "wall"
            and m.relation == "over"
            and m.target is not None
        ):
            part = "inner board" if self.part(m.target) == "inner board" else part
        if part == "inner board" and self.lines(m):
            return "finish"
        return part

    @staticmethod
    def on_ground(m: Mention) -> bool:
        return load_materials()[m.material].family in ("concrete", "soil", "masonry")

    def before_board(self, m: Mention) -> bool:
        """Whether a cover board is told between the deck that carries and the insulation on it."""
        if m not in self.mentions:
            return False
        k = self.mentions.index(m)
        parts = {
            n: part_of(o.material, "roof", self.setting.form, o.side, False)
            for n, o in enumerate(self.mentions)
            if o.material and o is not m
        }
        decks = [n for n, p in parts.items() if p == "structure"]
        boards = [n for n, p in parts.items() if p == "board"]
        outward = all(d < k for d in decks) and all(b > k for b in boards)
        inward = all(d > k for d in decks) and all(b < k for b in boards)
        return bool(decks and boards) and (outward or inward)

    @staticmethod
    def covers(m: Mention) -> bool:
        """Whether a mention is a roofing."""
        return bool(m.material) and "roof covering" in load_materials()[m.material].roles

    def on_coating(self, m: Mention) -> bool:
        """Whether a board of a foundation wall is told beside its dampproofing or the soil, and nothing of the inside is told."""
        if m not in self.mentions or self.scene.framed:
            return False
        k = self.mentions.index(m)
        beside = [o for o in self.mentions[max(k - 1, 0) : k + 2] if o is not m and o.material]
        outer = any(
            load_materials()[o.material].roles & {"dampproofing", "drainage"} or "soil" in o.material
            for o in beside
        )
        lined = any(
            o.material
            and load_materials()[o.material].roles & {"interior finish"}
            and load_materials()[o.material].family != "coating"
            for o in self.mentions
        )
        return outer and not lined

    def blots(self, m: Mention) -> bool:
        """Whether sand is told between a slab and its sheet."""

        def at(*names: str) -> list[int]:
            told = [o for o in self.scene.mentions if o.material and any(n in o.material for n in names)]
            return [o.lexeme.start for o in told]

        sheets, slabs = at("retarder", "polyethylene"), at("concrete")
        here = min(at(m.material), default=m.lexeme.start)
        return any(a < here < b or b < here < a for a in slabs for b in sheets)

    def beneath(self, m: Mention) -> bool:
        """Whether it is plaster on a wall that carries itself, behind a new board."""
        plaster = "plaster" in m.material.split()
        boards = any(
            o.material
            and o is not m
            and load_materials()[o.material].family == "gypsum"
            and "board" in o.material
            for o in self.mentions
        )
        return (
            plaster
            and boards
            and self.setting.kind == "wall"
            and any(o.material and _carries(o.material) for o in self.mentions)
        )

    def lines(self, m: Mention) -> bool:
        """Whether a panel on the room side is the lining, there being no other."""
        if load_materials()[m.material].family != "wood panel":
            return False
        return not any(
            o.material
            and o is not m
            and load_materials()[o.material].roles & {"interior finish"}
            and load_materials()[o.material].family != "coating"
            for o in self.mentions
        )

    def beside_mass(self, m: Mention, mass: Mention) -> str:
        """Which side of a wall that carries itself an insulation lies on: by the order of telling."""
        later = m.lexeme.start > mass.lexeme.start
        outer = [
            o
            for o in self.mentions
            if o.material and "cladding" in load_materials()[o.material].roles and not _carries(o.material)
        ]
        inner = [
            o
            for o in self.mentions
            if o.material
            and "interior finish" in load_materials()[o.material].roles
            and "cladding" not in load_materials()[o.material].roles
            and load_materials()[o.material].family != "coating"
        ]
        faces = [o for o in (*inner, *outer) if o.lexeme.start > m.lexeme.start]
        if inner and outer and inner[0].lexeme.start > outer[0].lexeme.start:
            later = not later
        elif later and inner and outer and min(faces, key=lambda o: o.lexeme.start, default=None) in inner:
            # `Block, foam on furring, drywall, stucco`: what is told next is the lining.
            later = False
        elif (
            inner
            and not outer
            and inner[0].lexeme.start > mass.lexeme.start
            and m.lexeme.start > mass.lexeme.start
        ):
            later = False
        if later and m.material in AS_BOARD:
            m.material = AS_BOARD[m.material]
        return "board" if later else "inner board"

    @staticmethod
    def service(m: Mention) -> bool:
        """Whether an air space is one for wires."""
        return "service" in m.lexeme.text.lower() or "chase" in m.lexeme.text.lower()

    def floored(self, m: Mention) -> bool:
        """Whether a flooring is told before boards that close a floor from below."""
        told = self.mentions[: self.mentions.index(m)] if m in self.mentions else []
        return any(o.material and part_of(o.material, "floor", "", "", True) == "flooring" for o in told)

    def before_mass(self, m: Mention) -> bool:
        """Whether a sheet is told between what lines a foundation wall and the wall itself."""
        if m not in self.mentions or m.material not in _PAPERS:
            return False
        k = self.mentions.index(m)
        beside = [
            part_of(o.material, "foundation wall", "", o.side, True)
            for o in (*self.mentions[max(k - 1, 0) : k], *self.mentions[k + 1 : k + 2])
            if o.material
        ]
        return "structure" in beside and bool({"cavity", "inner board", "finish", "vapor"} & set(beside))

    def space_part(self, m: Mention) -> str:
        """Where an air space lies."""
        kind = self.setting.kind
        if self.service(m) and kind in ("wall", "roof"):
            return "service space"
        if self.inner_space(m):
            return "inner space"
        if kind == "roof" and self.setting.form == "cathedral" and self.under_roofing(m):
            return "outer space"
        return "space"

    def under_roofing(self, m: Mention) -> bool:
        """Whether a space is told between what covers the deck and the roofing: battens on an underlayment."""
        if m not in self.mentions or _OPENINGS.search(m.lexeme.text.lower()):
            return False
        k = self.mentions.index(m)
        beside = [
            self.part(o)
            for o in (*self.mentions[max(k - 1, 0) : k], *self.mentions[k + 1 : k + 2])
            if o.material
        ]
        return "roofing" in beside and bool({"sheet", "deck sheet", "board", "cover"} & set(beside))

    def inner_space(self, m: Mention) -> bool:
        """Whether an air space lies on the room side: behind the drywall, in a service cavity, before a foundation."""
        if self.setting.kind == "foundation wall":
            return True
        if self.setting.kind != "wall":
            return False
        lined = [o for o in self.mentions if o.material and self.part(o) == "finish"]
        if any(o.target is m and o.relation == "over" for o in lined):
            return True
        k = self.mentions.index(m) if m in self.mentions else -1
        mass = any(o.material and self.part(o) == "structure" for o in self.mentions)
        if mass and m.side != "outside" and m.lexeme.text.lower().startswith(("furr", "strapp", "1x")):
            # Strips on masonry carry a lining, unless there is a siding that they may carry.
            sided = any(
                o.material and self.part(o) == "cladding" and o.material not in _ON_MASONRY
                for o in self.mentions
            )
            if not sided:
                return True
        return mass and 0 <= k < len(self.mentions) - 1 and self.mentions[k + 1] in lined

    def above_slab(self, m: Mention) -> bool:
        """Whether a board or sheet without a side lies on a slab: one with panels over it that the slab doesn't part
        from it in the telling."""
        if self.setting.kind != "slab" or m not in self.mentions:
            return False
        k = self.mentions.index(m)
        panel = next(
            (
                n
                for n, o in enumerate(self.mentions)
                if o.material and load_materials()[o.material].family == "wood panel"
            ),
            -1,
        )
        if panel < 0:
            return False
        between = self.mentions[min(k, panel) : max(k, panel)]
        return not any(o.material and _carries(o.material) for o in between)

    def below(self, m: Mention) -> bool:
        """Whether a board is the underside of a floor: gypsum, or a second sheathing."""
        material = load_materials()[m.material]
        if material.family == "gypsum":
            return True
        named = any(o is not m and o.material == m.material for o in self.mentions)
        if m.loose is not None or (named and m.referred_to and not m.thickness):
            return False
        before = [
            o
            for o in self.mentions
            if o.material
            and (o is m or o.loose is None)
            and "sheathing" in load_materials()[o.material].roles
            and load_materials()[o.material].family in ("wood panel", "wood")
        ]
        return m in before and before.index(m) > 0

    def framed_guess(self) -> bool:
        return self.scene.framed or self.setting.kind in ("wall", "roof", "floor")

    def make(self) -> Assembly:
        if self.setting.kind:
            self.said()
            self.anchored()
            self.cavity()
            self.rest()
        return Assembly(self.setting, self.pieces, self.taken, self.open, self.scene.as_said, self.unplaced)

    def anchored(self) -> None:
        """A relation to a layer that was named again (`wrap over the foam`) is one to its piece; insulation of an inverted roof
        lies over the membrane."""
        at = {p.at for p in self.pieces}
        for p in self.pieces:
            if p.after and p.anchor not in at:
                m = next((o for o in self.mentions if o.lexeme.start == p.anchor), None)
                alike = [q for q in self.pieces if m is not None and q.material == m.material]
                if m is not None and self.part(m) == "cavity":
                    alike += [q for q in self.pieces if q is not p and q.part == "cavity"]
                p.anchor = alike[0].at if alike else p.anchor
        members = next((p for p in self.pieces if p.part in ("cavity", "cavity foam") and p.at >= 0), None)
        lies = self.setting.kind == "floor" or (
            self.setting.kind == "roof" and self.setting.form not in ("attic", DECK)
        )
        if members is not None and lies:
            for p in self.pieces:
                if p.frame and p is not members and p.part not in ("cavity", "cavity foam"):
                    outside = (p.frame == "under") == (self.setting.kind == "floor")
                    p.after, p.anchor = "outside of" if outside else "inside of", members.at
        roofings = [p for p in self.pieces if p.part == "roofing"]
        ballast = next((p for p in self.pieces if p.part == "ballast" and p.said), None)
        deck = next((p for p in self.pieces if p.part in ("structure", "sheathing") and p.said), None)
        for p in [p for p in self.pieces if p.part == "board" and len(roofings) == 1]:
            roofing = roofings[0]
            upside = False
            if (
                deck is not None
                and ballast is not None
                and p.said
                and not ballast.text.endswith(", existing")
            ):
                run = [deck.at, roofing.at, p.at, ballast.at]
                upside = min(run) >= 0 and run in (sorted(run), sorted(run, reverse=True))
            if self.scene.inverted or upside:
                p.after, p.anchor = "outside of", roofing.at
        if self.setting.form == "low slope" and len(roofings) == 2:
            self.recovered(*sorted(roofings, key=lambda p: (not p.text.endswith(", existing"), p.at)))

    def recovered(self, old: Piece, new: Piece) -> None:
        """A roof over an old one: the boards that come with the new roofing lie on the old, which stays where it is."""
        below = {old.anchor} if old.after == "outside of" else set()
        if not (
            old.said and new.said and old.at >= 0 and (old.text.endswith(", existing") or old.at < new.at)
        ):
            return
        for p in self.pieces:
            later = p.at > old.at if old.at < new.at else p.at < old.at
            if (
                p.part in ("board", "cover")
                and p.said
                and later
                and p.at not in below
                and not p.text.endswith(", existing")
            ):
                p.after, p.anchor = "outside of", old.at
        new.after, new.anchor = new.after or "outside of", new.anchor if new.after else old.at

    def said(self) -> None:
        """A piece for every mention; a generic word for what is named beside it is that."""
        for m in self.mentions:
            self.veneer(m)
        for m in self.mentions:
            if m.role is not None and not m.material:
                if not m.predicate:
                    self.role(m)
                continue
            if m.loose is not None and not m.material and not m.loose.decides:
                continue
            if self.any_insulation(m):
                continue
            if self.on_foundation(m):
                self.scene = replace(self.scene, empty=True)
                continue
            if m.material in _FOILS and normal(m.lexeme.text) == "foil" and self.named_before(m):
                # A word for the foil that is named already.
                continue
            if (
                m.loose is not None
                and m.loose.decides
                and any(o.material in m.loose.decides for o in self.mentions)
            ):
                continue
            self.add_said(m)

    def on_foundation(self, m: Mention) -> bool:
        """Whether insulation on the walls of a crawl space is told beside the floor above, between whose joists nothing is told."""
        if self.setting.kind != "floor" or m.side != "against masonry" or not m.material:
            return False
        if "thermal control" not in load_materials()[m.material].roles:
            return False
        return not any(
            o.material and o is not m and self.part(o) in ("cavity", "cavity foam") for o in self.mentions
        )

    def any_insulation(self, m: Mention) -> bool:
        """Whether a word for any insulation stands for the one that is named: `exterior insulation only: 3 in XPS`."""
        if (
            m.loose is None
            or not m.loose.open
            or m.r
            or m.thickness
            or not (m.side == "outside" or m.referred_to)
        ):
            return False
        named = next(
            (
                o
                for o in self.mentions
                if o is not m and o.loose is None and o.material and o.side in ("", "outside")
                and "thermal control" in load_materials()[o.material].roles and self.part(o) in ("board", "cavity foam")
            ),
            None,
        )  # fmt: skip
        if named is not None:
            named.joints = named.joints or m.joints
        return named is not None

    def named_before(self, m: Mention) -> bool:
        """Whether a foil was named by its kind before a word for any."""
        earlier = (o for o in self.scene.mentions if o.lexeme.start < m.lexeme.start)
        return self.setting.form == DECK and any(o.material in _FOILS for o in earlier)

    def role(self, m: Mention) -> None:
        """`with a vapor barrier`: what stands for it, unless a layer that is named does the work."""
        role = m.role
        assert role is not None
        if not role.text:
            return
        others = [o for o in self.mentions if o.material and o is not m]
        if any(o.material and role.role in load_materials()[o.material].roles for o in self.denied):
            return
        if any(role.role in load_materials()[o.material].roles for o in others):
            return
        if m.referred_to and any(
            p.material and role.role in load_materials()[p.material].roles for p in self.pieces
        ):
            # `on top of the retarder`: the one that was named by its job before.
            return
        text, id_ = role_text(m, self.setting.kind, self.setting.form)
        part = part_of(id_, self.setting.kind, self.setting.form, m.side, True)
        self.pieces.append(Piece(id_, part, text, True, m.lexeme.start))
        self.taken.append(Taken(f"{text} for the {m.lexeme.text.lower()}", role.why))

    def veneer(self, m: Mention) -> None:
        """Brick and stone before framing are a veneer."""
        if m.loose is None or not m.loose.veneer:
            return
        if (
            _inches(m.thickness) >= 6
            or (self.old() and not self.scene.framed)
            or (self.old() and "stone" in m.lexeme.text.lower())
        ):
            return
        alike = [o for o in self.mentions if o is not m and o.loose is m.loose]
        if any(_inches(o.thickness) >= 6 for o in alike):
            return
        masses = [o for o in self.mentions if o.loose is not m.loose and o.material in _MASSES]
        named = any(o.loose is None and m.loose.takes.split()[-1] in o.material for o in masses)
        if named or (masses and not self.scene.framed):
            return
        others = [o for o in self.mentions if o.material and o is not m]
        framed = self.scene.framed or any("sheathing" in load_materials()[o.material].roles for o in others)
        framed = framed or any(self.part(o) in ("cavity", "sheet", "structure") for o in others)
        if self.setting.kind == "wall" and framed and not (self.scene.existing and self.load_bearing()):
            self.taken.append(Taken(f"the {m.lexeme.text.lower()} is {m.loose.veneer}", m.loose.why))
            m.material = m.loose.veneer

    def load_bearing(self) -> bool:
        return not self.scene.framed

    def means_another(self, m: Mention) -> bool:
        """Whether a wide word only speaks of what is told more exactly beside it: `the batts`, `the only insulation`."""
        if m.r or m.thickness or m.size:
            return False
        word = m.lexeme.text.lower()
        others = [o for o in self.mentions if o is not m and o.material and o.loose is None and not o.negated]
        foams = any("foam plastic" in load_materials()[o.material].flags for o in others)
        if m.loose is not None and word == "foam" and foams and not (m.side or m.relation):
            # `How much foam before the batts?` after the closed cell was named.
            return True
        if word in ("batt", "batts"):
            return any("batt" in o.material and o.material != m.material for o in others)
        return (
            m.loose is not None
            and (
                word == "insulated"
                or ("insulation" in word and self.setting.kind in ("foundation wall", "slab"))
            )
            and any("thermal control" in load_materials()[o.material].roles for o in others)
        )

    def add_said(self, m: Mention) -> None:
        if self.means_another(m):
            return
        if self.setting.kind == "foundation wall" and m.loose is not None and _CLOSED in m.loose.decides:
            self.taken.append(
                Taken(
                    f"{_CLOSED} for the {m.lexeme.text.lower()}",
                    "open-cell foam is hardly used in the ground",
                )
            )
            m.loose, m.material = None, _CLOSED
        if m.loose is not None and m.loose.decides and not m.material:
            id_ = m.loose.decides[0]
            side = m.side
            part = part_of(id_, self.setting.kind, self.setting.form, side, self.framed_guess())
            if any(p.part == part and p.material in m.loose.decides for p in self.pieces):
                return
            self.pieces.append(
                Piece(id_, part, "", True, m.lexeme.start, needs="kind", choices=m.loose.decides)
            )
            self.pieces[-1].text = self.text_of(m, id_)
            self.open.append(Open(f"which {m.lexeme.text.lower()}", m.loose.why, id_, m.loose.decides))
            return
        if m.side == "outside" and self.setting.kind == "wall" and (board := AS_BOARD.get(m.material)):
            self.taken.append(
                Taken(f"{board} outside", f"{m.lexeme.text.lower()} outside the sheathing is a board")
            )
            m.material = board
        if (
            m.side == "outside"
            and m.loose is not None
            and m.material == "glass fiber batt"
            and self.setting.kind == "foundation wall"
        ):
            m.material = "extruded polystyrene board"
        id_, part = m.material, self.part(m)
        if (
            part == "cavity"
            and self.setting.kind == "wall"
            and (outer := self.behind_retarder(m)) is not None
        ):
            self.two_cavities(outer, m)
            return
        if part == "cavity" and not m.side and not m.size and id_ in AS_BOARD and self.setting.kind == "wall":
            filled = any(p.part == "cavity" and p.material != id_ for p in self.pieces) or (
                bool(self.scene.cavity_r and m.thickness) and not m.r
            )
            again = bool(m.thickness or m.layers) and any(
                o is not m and o.material == id_ and not o.thickness for o in self.mentions
            )
            if (
                again
                or (filled and any(p.part in ("sheathing", "sheet") for p in self.pieces))
                or self.past(m)
            ):
                self.taken.append(
                    Taken(
                        f"{AS_BOARD[id_]} outside",
                        f"a second insulation, told after the sheathing: {m.lexeme.text.lower()}",
                    )
                )
                m.material = id_ = AS_BOARD[id_]
                part = "board"
        if self.covers_soil(m):
            self.setting.known = self.setting.known | {"ground cover": "polyethylene"}
            return
        part = self.deck_part(m, part)
        if part == "structure" and self.same_mass(m):
            return
        same = [
            p
            for p in self.pieces
            if p.part == part and (p.material == id_ or (m.loose is not None and m.loose.takes == id_))
        ]
        generic = [p for p in self.pieces if p.part == part and p.name == "generic"]
        gaps = [p for p in self.pieces if p.part == part and ("vented" in p.text) == ("vented" in m.space)]
        if m.space and self.service(m) and any(p.part == "inner cavity" for p in self.pieces):
            # A service space that is filled is no gap.
            return
        if m.space and part in ("space", "outer space") and gaps:
            # Furring and the rainscreen that it makes are one gap.
            if m.thickness:
                gaps[0].text = f"{m.thickness} air space{' vented' if 'vented' in m.space else ''}"
            return
        apart = self.scene.as_said and m.thickness and not any(m.thickness in p.text for p in same)
        if same and apart and part in ("vapor", "board"):
            # `6 mil poly, plywood, batts, 4 mil poly`: two of them in one list.
            same = []
        again = (
            part == "roofing"
            and m.relation == "over"
            and m.target is not None
            and self.part(m.target) == part
        )
        if again or (same and self.second_deck(m, part)):
            same = []
        first = same[0] if same and self.scene.as_said and len(self.pieces) > 1 else None
        if (
            first is not None
            and first is self.pieces[0]
            and first.part in self.parts
            and self.pieces[1].part in self.parts[: self.parts.index(first.part)]
        ):
            # Named ahead of the list of layers: it lies where the list has it.
            self.pieces.append(self.pieces.pop(0))
        if (
            same
            and not m.space
            and not (m.thickness and any(m.thickness in p.text for p in same) is False and m.layers)
        ):
            known = same[0]
            if (
                known.material == id_
                and (m.thickness or m.r)
                and usual_thickness(id_, self.setting.kind)
                and part == "structure"
            ):
                known.text = self.text_of(m, id_)
                return
            if known.material == id_ and known.name != "generic":
                better = self.text_of(m, id_)
                if m.joints and known.text[:1].isdigit() and not (m.thickness or m.r):
                    # Named again for its joints: `2 in of XPS …, the foam is taped`.
                    known.text = known.text if m.joints in known.text else f"{known.text}, {m.joints}"
                elif len(better) > len(known.text):
                    known.text = better
                if (m.thickness or m.r) and known.needs == "thickness":
                    known.needs = ""
                    self.open = [
                        o for o in self.open if o.material != id_ or not o.what.startswith("how thick")
                    ]
                return
            if m.loose is not None:
                return
        if (
            m.loose is not None
            and any(p.part == part for p in self.pieces)
            and part not in ("cladding",)
            and not again
        ):
            return
        if self.setting.kind == "roof" and id_ in ("metal panel cladding", "steel siding", "aluminum siding"):
            m.material = id_ = "metal roofing"
            part = "roofing"
        if part == "roofing" and any(p.part == "roofing" and p.material == id_ for p in self.pieces):
            # `Standing seam … under the metal`: the same roofing, named again.
            return
        if id_ == "pine" and part == "finish":
            m.material = id_ = "tongue and groove paneling"
        if self.setting.kind == "roof" and id_ == "ceramic tile" and m.side != "inside":
            # Tile that a roof is told with is its covering.
            m.material, id_, part = "clay roof tile", "clay roof tile", "roofing"
        if self.setting.kind == "roof" and id_ == "rubber flooring":
            m.material, id_, part = "epdm membrane", "epdm membrane", "roofing"
        if self.setting.form == "low slope" and id_ == "stone rubble":
            m.material = id_ = "roof ballast"
            part = "ballast"
        if self.setting.kind == "slab" and (id_ == "stone rubble" or m.lexeme.text.lower() == "rock"):
            m.material = id_ = "gravel bed"
            part = "gravel"
        if self.setting.form in ("attic", DECK):
            lie_loose(m)
            id_ = m.material
        if (
            self.setting.form in ("attic", DECK)
            and id_ == "glass fiber batt"
            and m.thickness
            and not _ROLLS.search(m.lexeme.text.lower())
        ):
            m.material = id_ = "blown glass fiber"
            self.taken.append(Taken("blown glass fiber", "told by its depth on an attic floor"))
        if id_ == "carpet pad" and any(p.material == "carpet and pad" for p in self.pieces):
            return
        if id_ == "board sheathing" and m.side == "inside":
            m.material = id_ = "tongue and groove paneling"
            part = "finish"
        if self.setting.kind == "roof" and id_ in ("cedar shingle", "unpainted wood siding"):
            m.material = id_ = "wood roof shingle"
            part = "roofing"
        loose_metal = (
            bool(id_)
            and not load_materials()[id_].roles
            and load_materials()[id_].family in ("metal", "plastic", "glass")
        )
        if self.setting.kind == "floor" and id_ and load_materials()[id_].family == "soil":
            # The ground of the crawl space, beyond where the section ends.
            return
        if self.setting.form in ("crawl", "conditioned") and self.on_wall(m):
            # Insulation on the walls of the crawl space is none of its floor.
            self.unplaced.append(m)
            return
        if part not in self.parts or loose_metal or self.underfoot(id_):
            self.unplaced.append(m)
            return
        family = load_materials()[id_].family if id_ else ""
        if (
            family == "metal"
            and m.referred_to
            and any(
                load_materials()[p.material].family == "metal" or "aluminum" in p.material
                for p in self.pieces
                if p.material
            )
        ):
            return
        if (
            part == "cavity"
            and id_ in _BATTS
            and not self.laid_over(m)
            and (
                batts := [
                    p
                    for p in self.pieces
                    if p.part == "cavity" and p.material in _BATTS and p.material != id_
                ]
            )
        ):
            # `R-38 batts, kraft`: one batt, and its facing.
            if id_ != "glass fiber batt":
                batts[0].text = batts[0].text.replace(batts[0].material, id_)
                batts[0].material = id_
            return
        if self.setting.kind == "roof" and id_ in ("gravel bed", "sand and gravel"):
            m.material = id_ = "roof ballast"
            part = "ballast"
        if self.setting.kind == "floor" and part == "flooring" and load_materials()[id_].family == "wood":
            m.material = id_ = "wood flooring"
        if generic and m.loose is None and generic[0].material == id_:
            # The same again, by its own name.
            generic[0].name = ""
            return
        if generic and m.loose is None:
            self.pieces.remove(generic[0])
            self.taken = [t for t in self.taken if generic[0].material not in t.what]
        after = ""
        anchor = -1
        if m.relation and m.target is not None and not m.target.negated:
            after, anchor = self.relation(m), self.anchor(m.target)
        piece = Piece(id_, part, "", True, m.lexeme.start, after=after, anchor=anchor, frame=m.frame)
        if part in ("inner space", "service space"):
            piece.text = f"{m.thickness or m.space.split(' in ')[0] + ' in'} air space"
        elif m.space:
            piece.text = (
                f"{m.thickness} air space{' vented' if 'vented' in m.space else ''}"
                if m.thickness
                else m.space
            )
        else:
            piece.text = self.text_of(m, id_)
        if m.loose is not None:
            piece.name = "generic"
            if m.loose.why != "as named" and m.lexeme.text.lower() not in id_ and not m.loose.veneer:
                self.taken.append(Taken(f"{id_} for the {m.lexeme.text.lower()}", m.loose.why))
        if (
            part in ("board", "inner board", "cavity foam")
            and not m.thickness
            and not m.r
            and _needs_thickness(id_)
        ):
            if not (part == "board" and self.scene.outside_r):
                piece.needs = "thickness"
                sizes = tuple(listed(usual()["asked thickness"]))  # type: ignore[arg-type]
                self.open.append(
                    Open(
                        f"how thick the {id_} is",
                        "its thickness decides how warm the layers behind it stay and how much vapor it passes",
                        id_,
                        sizes,
                    )
                )
            else:
                piece.text = f"{self.scene.outside_r} {id_}"
        self.pieces.append(piece)
        if m.copies and m.thickness and m.layers in ("2", "3") and part in ("board", "inner board"):
            self.pieces += [replace(piece) for _ in range(int(m.layers) - 1)]

    def underfoot(self, id_: str) -> bool:
        """Whether a flooring is named beside a wall, or masonry beside a roof."""
        if not id_ or self.setting.kind not in ("wall", "foundation wall", "roof", "floor"):
            return False
        m = load_materials()[id_]
        if self.setting.kind in ("roof", "floor") and m.family == "masonry" and not m.roles & _LYING:
            # The walls below it.
            return True
        if self.setting.kind in ("roof", "floor"):
            return False
        own = m.roles & {"structure", "interior finish", "cladding"}
        return "flooring" in m.roles and not own and m.family != "coating"

    def behind_retarder(self, m: Mention) -> Mention | None:
        """The insulation told before that a vapor retarder parts from this one, where they fill two rows of members."""
        if not (m.size or m.thickness):
            return None
        k = self.mentions.index(m)
        before = next(
            (
                n
                for n in range(k - 1, -1, -1)
                if self.mentions[n].material and self.part(self.mentions[n]) == "cavity"
            ),
            -1,
        )
        if before < 0 or any(p.part == "inner cavity" for p in self.pieces) or not self.mentions[before].size:
            return None
        between = self.mentions[before + 1 : k]
        parted = any(o.material and self.part(o) == "vapor" for o in between)
        sheathed = any(o.material and self.part(o) in ("sheathing", "sheet") for o in between)
        return self.mentions[before] if parted and not sheathed else None

    def two_cavities(self, first: Mention, second: Mention) -> None:
        """A row of members before the retarder and one behind it, each filled."""
        piece = next(p for p in self.pieces if p.part == "cavity")
        lined = next((n for n, o in enumerate(self.mentions) if o.material and self.part(o) == "finish"), -1)
        inner, outer = (
            (first, second) if lined < self.mentions.index(second) or self.scene.as_said else (second, first)
        )
        spacing = self.scene.spacing or "16 in"
        if outer.thickness and not outer.size:
            behind = f"{self.text_of(outer, outer.material)}, 2x4 double stud @ {spacing}"
        else:
            behind = f"{outer.size or '2x6'} @ {spacing} with {self.text_of(outer, outer.material)}"
        before = f"{inner.size or '2x3'} @ {spacing} with {self.text_of(inner, inner.material)}"
        rows = {
            id(inner): Piece(inner.material, "inner cavity", before, True, inner.lexeme.start),
            id(outer): Piece(outer.material, "cavity", behind, True, outer.lexeme.start, name="framed"),
        }
        self.pieces[self.pieces.index(piece)] = rows[id(first)]
        self.pieces = [p for p in self.pieces if p.part not in ("inner space", "service space")]
        self.pieces += [rows[id(second)]]

    def covers_soil(self, m: Mention) -> bool:
        """Whether a sheet is told beside the soil of a crawl space: `dirt with poly on it`."""
        if self.setting.kind != "floor" or m.material not in _SHEETS or m not in self.mentions:
            return False
        k = self.mentions.index(m)
        return any(
            o.material
            and load_materials()[o.material].family == "soil"
            and abs(o.lexeme.start - m.lexeme.start) < _BESIDE
            for o in self.mentions[max(k - 1, 0) : k + 2]
        )

    def deck_part(self, m: Mention, part: str) -> str:
        """Of two panels of a roof with a board between them, the outer one lies over the board."""
        if part != "sheathing" or self.setting.kind != "roof" or self.scene.as_said or m not in self.mentions:
            return part
        first = next((p for p in self.pieces if p.part == "sheathing" and p.said), None)
        start = next(
            (n for n, o in enumerate(self.mentions) if first is not None and o.lexeme.start == first.at), -1
        )
        k = self.mentions.index(m)
        if first is None or not any(
            o.material and self.part(o) == "board" for o in self.mentions[start + 1 : k]
        ):
            return part
        roofing = next(
            (n for n, o in enumerate(self.mentions) if o.material and self.part(o) == "roofing"),
            len(self.mentions),
        )
        if roofing > k:
            return "cover"
        first.part = "cover"
        return part

    def on_wall(self, m: Mention) -> bool:
        """Whether a layer is told to lie on masonry or concrete."""
        t = m.target
        return m.side == "against masonry" or bool(
            t is not None and t.material and load_materials()[t.material].family in ("masonry", "concrete")
        )

    def laid_over(self, m: Mention) -> bool:
        """Whether batts are rolled over the insulation of an attic floor: a second layer, and not the first one's name."""
        t = m.target
        insulates = t is not None and t.material and "thermal control" in load_materials()[t.material].roles
        return self.setting.form in ("attic", DECK) and m.relation == "over" and bool(insulates)

    def second_deck(self, m: Mention, part: str) -> bool:
        """Whether a panel is a second one of a roof, with a board or a space told between the two."""
        if part != "sheathing" or self.setting.kind != "roof" or m not in self.mentions:
            return False
        k = self.mentions.index(m)
        first = next(
            (n for n, o in enumerate(self.mentions[:k]) if o.material and self.part(o) == "sheathing"), k
        )
        between = self.mentions[first + 1 : k]
        return self.scene.as_said and any(
            o.space or (o.material and self.part(o) == "board") for o in between
        )

    def same_mass(self, m: Mention) -> bool:
        """`Tilt-up, 7 in reinforced concrete`: one concrete in two words, of which the one with a thickness stays."""
        if not m.material or load_materials()[m.material].family != "concrete":
            return False
        mass = next(
            (
                p
                for p in self.pieces
                if p.part == "structure" and load_materials()[p.material].family == "concrete"
            ),
            None,
        )
        if mass is None or mass.material == m.material or m.relation or "deck" in m.lexeme.text.lower():
            return False
        if m.thickness and usual_thickness(mass.material, self.setting.kind) in mass.text:
            self.pieces.remove(mass)
            self.taken = [t for t in self.taken if mass.material not in t.what]
            return False
        return not m.thickness

    def anchor(self, target: Mention) -> int:
        """Where in the text the layer is named that a relation is to; a job stands for the layer that does it."""
        if target.role is None or target.material:
            return target.lexeme.start
        job = target.role.role
        named = [
            o
            for o in self.mentions
            if o is not target and o.material and job in load_materials()[o.material].roles
        ]
        by_job = [o for o in self.mentions if o is not target and o.role is not None and o.role.role == job]
        return next((o.lexeme.start for o in (*named, *by_job)), target.lexeme.start)

    def relation(self, m: Mention) -> str:
        """Which way from its target a mention lies."""
        assert m.target is not None
        if self.part(m) == "cavity foam" and self.part(m.target) in (
            "sheathing",
            "structure",
            "cladding",
            "roofing",
        ):
            return ""
        match m.relation:
            case "outside of" | "inside of" | "next outside of" | "next inside of":
                return m.relation
            case "over":
                lining = ("coating", "bed", "finish", "flooring")
                inward = self.setting.kind in ("slab", "floor") or self.part(m) in lining
                inward = inward or (
                    self.setting.kind == "wall"
                    and self.part(m.target) == "inner board"
                    and m.side != "outside"
                )
                if (
                    self.part(m.target) in ("inner board", "inner sheet", "structure")
                    and self.setting.kind == "foundation wall"
                    and m.side != "outside"
                    and self.part(m) not in ("damp", "drain", "soil")
                ):
                    inward = True
                on_attic = self.setting.form in ("attic", DECK)
                if (self.part(m), self.part(m.target)) == ("vapor", "cavity") and not on_attic:
                    # Told from the room: `drywall over poly over batts`.
                    inward = True
                return "inside of" if inward else "outside of"
            case "under":
                inner_target = self.part(m.target) in ("coating", "finish", "flooring")
                outward = inner_target or self.setting.kind in ("slab", "floor")
                return "outside of" if outward else "inside of"
        return ""

    def text_of(self, m: Mention, id_: str) -> str:
        """A mention in words for the parser."""
        words = []
        material = load_materials()[id_]
        if m.r and "thermal control" in material.roles:
            words.append(m.r)
        elif (m.thickness and not _is_sheet(id_)) or (m.thickness and m.thickness.endswith("mil")):
            words.append(m.thickness)
        elif usual_thickness(id_, self.setting.kind) and not m.thickness:
            size = usual_thickness(id_, self.setting.kind)
            words.append(size)
            self.taken.append(Taken(f"{size} {id_}", "the usual thickness of it"))
        words.append(id_)
        text = " ".join(words)
        if m.joints:
            text += f", {m.joints}"
        if m.condition in ("existing", "new", "wet", "damp", "damaged", "moldy") and id_.split()[0] != "old":
            text += f", {m.condition}"
        return text

    # -- framing ---------------------------------------------------------------------------------

    def cavity(self) -> None:
        """The insulation between members, and the members."""
        scene, kind = self.scene, self.setting.kind
        fills = [p for p in self.pieces if p.part in ("cavity", "cavity foam")]
        if any(p.name == "framed" for p in fills):
            return
        structure = any(p.part == "structure" for p in self.pieces)
        if kind == "slab" or self.setting.form == BARE:
            return
        if kind == "roof" and self.setting.form in ("attic", DECK):
            self.attic(fills)
            return
        framed = scene.framed or bool(fills) or bool(scene.cavity_r)
        whole = any(p.material in _WHOLE for p in self.pieces)
        if kind in ("wall", "roof") and not structure and not whole and self.setting.form != "low slope":
            framed = True
        if kind == "floor" and not structure:
            framed = True
        if kind == "roof" and self.setting.form == "low slope":
            framed = scene.framed or any(p.part == "cavity" for p in self.pieces)
            framed = framed or bool(scene.cavity_r and not self.has("board"))
        if kind == "roof" and scene.exposed and not fills and self.has("board") and not scene.cavity_r:
            # Rafters in sight below a deck that carries its insulation.
            framed = False
        if not framed:
            return
        if fills and not scene.framed and all(p.material in _NATURAL for p in fills):
            return
        r = scene.cavity_r
        if not fills and scene.empty:
            self.pieces.append(Piece("", "cavity", f"empty {self.members('', '')}", True, -1))
            return
        if not fills and self.denies("cavity"):
            self.pieces.append(Piece("", "cavity", f"empty {self.members('', '')}", True, -1))
            return
        if not fills:
            if kind == "foundation wall" and not r:
                self.pieces.append(Piece("", "cavity", f"empty {self.members('', '')}", False, 0))
                self.taken.append(Taken("nothing between the studs", "no insulation between them is named"))
                return
            id_ = "glass fiber batt"
            why = "the commonest in framing; fibrous insulations differ little in vapor"
            self.taken.append(Taken(f"{r + ' ' if r else ''}{id_} between the framing", why))
            fills = [Piece(id_, "cavity", f"{r} {id_}".strip(), False, -1)]
            self.pieces += fills
        elif r and all(p.part == "cavity foam" and p.text[:1].isdigit() for p in fills):
            self.taken.append(
                Taken(f"{r} glass fiber batt beside the foam", "an R-value told beside foam of a thickness")
            )
            fills.append(Piece("glass fiber batt", "cavity", f"{r} glass fiber batt", False, -1))
            self.pieces.append(fills[-1])
        elif r and not any(p.text.startswith(("R-", "RSI-")) for p in fills):
            fills[0].text = f"{r} {_bare(fills[0])}"
        own = next((p.text.split(" ")[0] for p in fills if p.text.startswith("R-")), "")
        members = self.members(own or r, fills[0].material)
        fibrous = [p for p in fills if p.part == "cavity"]
        foams = [p for p in fills if p.part == "cavity foam"]
        if fibrous and foams:
            self.beside(fibrous, foams, members)
            return
        if scene.double:
            depth = "12 in" if scene.double == "yes" else scene.double
            if scene.double == "yes":
                self.taken.append(Taken("12 in between the faces of the double stud wall", "a usual depth"))
            for p in fills:
                rest = p.text if p.text[:1].isdigit() or p.text.startswith("R") else f"{depth} {p.text}"
                p.text = f"{rest}, {(scene.size or '2x4')} double stud @ {scene.spacing or '24 in'}"
                p.needs = ""
            return
        for p in fills:
            if p.part == "cavity foam" and p.needs != "thickness" and not p.text.startswith("R"):
                p.text = f"{p.text}, {members}"
            else:
                if p.needs == "thickness":
                    self.open = [
                        o for o in self.open if o.material != p.material or not o.what.startswith("how thick")
                    ]
                    p.needs = "kind" if p.choices else ""
                p.text = f"{members} with {p.text}"

    def beside(self, fibrous: list[Piece], foams: list[Piece], members: str) -> None:
        """Foam and fiber in one cavity: the foam against the outer side, the fiber in what is left."""
        foam, fiber = foams[0], fibrous[0]
        try:
            thick = parse(foam.text.split(f" {foam.material}")[0], "length").middle / 0.0254
        except UnitError:
            thick = 0.0
        left = depth_of(self.scene.size or "2x6") - thick
        if foam.needs == "thickness" or thick <= 0 or left <= 0.4:
            foam.needs = ""
            self.open = [
                o for o in self.open if o.material != foam.material or not o.what.startswith("how thick")
            ]
            thick, left = 2.0, max(depth_of(self.scene.size or "2x6") - 2.0, 1.5)
            if not foam.text.startswith("R"):
                foam.text = f"2 in {_bare(foam)}"
                self.taken.append(Taken(f"2 in {foam.material}", "the usual first lift of foam before batts"))
        foam.text = f"{foam.text}, {members}"
        rated, sized = fiber.text.startswith("R"), fiber.text[:1].isdigit()
        given = "" if rated or sized else f"{left:g} in "
        size = f"; thickness = {left:g} in" if rated else ""
        fiber.text = f"{given}{fiber.text}, {members}{size}"

    def members(self, r: str, fill: str) -> str:
        scene, kind = self.scene, self.setting.kind
        at = f" @ {scene.spacing}" if scene.spacing else " @ 16 in"
        if not scene.spacing:
            self.taken.append(Taken("framing 16 in on center", "the usual spacing"))
        if scene.steel:
            steel = (
                scene.steel
                if scene.steel[0].isdigit()
                else f"{'6' if r and _value(r) > 15 else '3-5/8'} in steel studs"
            )
            if steel != scene.steel:
                self.taken.append(Taken(steel, "the usual depth for that insulation"))
            return steel + at
        if scene.members:
            return scene.members + at
        size = scene.size
        if not size:
            size = usual_size(kind, r) if r else ""
            if size:
                self.taken.append(Taken(f"{size} framing", f"{r} fills it"))
            elif kind == "roof":
                size = "2x10"
                self.taken.append(Taken("2x10 rafters", "a usual size; the depth decides little here"))
            elif kind == "floor":
                size = "2x10"
                self.taken.append(Taken("2x10 joists", "a usual size; the depth decides little here"))
            elif (
                kind == "foundation wall"
                or self.scene.existing
                or any(p.part == "structure" for p in self.pieces)
            ):
                size = "2x4"
                self.taken.append(
                    Taken("2x4 framing", "older walls and walls before masonry have it nearly always")
                )
            else:
                size = "2x6"
                self.taken.append(Taken("2x6 framing", "usual for new outside walls"))
        return size + at

    def attic(self, fills: list[Piece]) -> None:
        """A ceiling with what lies on it: up to the vented attic, or through it to the deck where the question is about that."""
        self.on_ceiling(fills)
        if self.setting.form == DECK:
            self.pieces = [p for p in self.pieces if p.part != "space"]
            self.pieces.append(Piece("", "space", ATTIC_SPACE, False, -1))
            if self.has("under deck"):
                text, why = "5.5 in air space vented", "the bays over a foil that hangs from the rafters"
                self.take("", "deck space", text, why)
            self.taken.append(Taken(ATTIC_SPACE, "the attic, as its vented space next to the deck"))
            return
        roof = [p for p in self.pieces if p.part in ("sheathing", "sheet", "deck sheet", "roofing", "space")]
        if roof:
            self.pieces = [p for p in self.pieces if p not in roof]
            why = "the section under review is the ceiling below a vented attic"
            self.taken.append(Taken("the roof itself is left out", why))
        self.pieces.append(Piece("", "surroundings", "vented attic", False, -1))
        why = "attics over an insulated ceiling are vented nearly always"
        self.taken.append(Taken("a vented attic above", why))

    def on_ceiling(self, fills: list[Piece]) -> None:
        """What lies on the ceiling of an attic, what was there first below, and how much of it."""
        r = self.scene.cavity_r
        old = [p for p in fills if p.text.endswith(", existing")]
        if old and len(old) < len(fills) and fills[0] not in old:
            fresh = [p for p in fills if p not in old]
            for p in fresh:
                p.after, p.anchor = "outside of", old[0].at
            between = [
                p for p in self.pieces if p.after == "outside of" and p.anchor == old[0].at and p not in fresh
            ]
            for p in between:
                # Laid on the old before the new comes.
                self.pieces.remove(p)
                self.pieces.append(replace(p, after="next outside of", part="laid over"))
            fills = [*old, *fresh]
        if not fills:
            text = f"{r or 'R-49'} loose-fill cellulose"
            why = "loose fill is the commonest on attic floors; fibrous insulations differ little in vapor"
            self.taken.append(Taken(text, why))
            self.pieces.append(Piece("loose-fill cellulose", "cavity", text, False, -1))
            return
        p = fills[0]
        if r and not p.text.startswith("R"):
            p.text = f"{r} {_bare(p)}"
        elif p.text == p.material:
            p.text = f"R-49 {p.material}"
            why = "a usual amount on attic floors; it decides little here"
            self.taken.append(Taken(p.text, why))
        for later in fills[1:]:
            if later.text == later.material:
                later.text = f"R-30 {later.material}"
                self.taken.append(
                    Taken(later.text, "a usual amount laid over what is there; it decides little here")
                )

    # -- what goes without saying ----------------------------------------------------------------

    def has(self, *parts: str) -> bool:
        return any(p.part in parts for p in self.pieces)

    def take(self, id_: str, part: str, text: str, why: str) -> None:
        if self.denies(part) or part not in self.parts:
            return
        self.pieces.append(Piece(id_, part, text, False, -1))
        self.taken.append(Taken(text, why))

    def rest(self) -> None:
        getattr(self, self.setting.kind.replace(" ", "_"))()

    def lining(self) -> None:
        """Board and paint towards the room."""
        old = self.old()
        if self.scene.exposed:
            return
        if any(p.material == "ceramic tile" for p in self.pieces) and not self.has("finish"):
            if not self.has("structure"):
                self.take("cement board", "finish", "1/2 in cement board", "the usual backer of tile")
            return
        if not self.has("finish"):
            if old:
                self.take(
                    "plaster on wood lath",
                    "finish",
                    "plaster on wood lath",
                    "houses before about 1950 are lined with it",
                )
            else:
                self.take(
                    "gypsum board", "finish", "1/2 in gypsum board", "rooms are lined with it nearly always"
                )
        finish = next((p for p in self.pieces if p.part == "finish"), None)
        if (
            finish is not None
            and not self.has("coating")
            and load_materials()[finish.material].family == "gypsum"
        ):
            self.take(
                "latex paint",
                "coating",
                "latex paint",
                "board and plaster are painted nearly always, and latex paint lets vapor through",
            )

    def old(self) -> bool:
        year = self.setting.building.get("year")
        return year is not None and int(year) < 1950

    def outside_insulation(self) -> None:
        if self.scene.outside_r and not self.has("board"):
            id_ = "extruded polystyrene board"
            self.pieces.append(Piece(id_, "board", f"{self.scene.outside_r} {id_}", True, 10**6))
            self.taken.append(Taken(f"{self.scene.outside_r} {id_} outside",
                                    "the board is not named; it lies between expanded polystyrene, which lets more vapor through, "
                                    "and foil-faced polyisocyanurate, which lets none through"))  # fmt: skip

    def wall(self) -> None:
        structure = self.has("structure")
        if any(p.material in _WHOLE for p in self.pieces):
            self.pieces = [p for p in self.pieces if p.said]
            return
        self.outside_insulation()
        alone = any(p.part == "structure" and p.material in ("log wall",) for p in self.pieces)
        if not alone:
            self.lining()
        if structure:
            return
        old = self.old()
        if any(p.material in _NATURAL for p in self.pieces) and self.has("cladding"):
            # Plastered as it stands: no board and no sheet.
            self.brick_space()
            return
        if not self.has("sheathing"):
            for p in self.pieces:
                if p.material == "wood fiber board" and p.part == "board" and p.said and not p.after:
                    # On the studs itself, where no other sheathing is told.
                    p.part = "sheathing"
        if not self.has("sheathing") and not self.on_cladding():
            if self.scene.steel:
                self.take(
                    "exterior gypsum sheathing",
                    "sheathing",
                    "1/2 in exterior gypsum sheathing",
                    "usual on steel framing",
                )
            elif old:
                self.take(
                    "board sheathing",
                    "sheathing",
                    "3/4 in board sheathing",
                    "houses before about 1950 are sheathed with boards",
                )
            else:
                self.take("oriented strand board", "sheathing", "7/16 in oriented strand board",
                          "the commonest sheathing, and the one that dries least, so the careful choice")  # fmt: skip
        coated = self.on_cladding() or any(p.material == "coated oriented strand board" for p in self.pieces)
        if not self.has("sheet") and not coated and not (old and not self.has("board")):
            stucco = any(p.material in _STUCCOS for p in self.pieces)
            wood = any(
                p.part == "sheathing" and "wood" in load_materials()[p.material].family for p in self.pieces
            )
            if stucco and wood:
                paper = "two-layer grade d building paper"
                self.take(paper, "sheet", paper, "codes ask for two layers behind stucco on wood sheathing")
            else:
                why = "codes ask for a water-resistive barrier behind any cladding"
                self.take("house wrap", "sheet", "house wrap", why)
        if not self.has("cladding"):
            if old:
                self.take(
                    "wood lap siding", "cladding", "wood lap siding", "the usual siding of older frame houses"
                )
            else:
                self.take(
                    "vinyl siding",
                    "cladding",
                    "vinyl siding",
                    "it sheds rain, stores none and is ventilated behind, so it decides the least",
                )
        self.brick_space()

    def past(self, m: Mention) -> bool:
        """Whether insulation of a thickness is told after a lining and after what closes the wall that bears, and
        before any cladding: in a list from the room outwards it lies outside."""
        said = [p for p in self.pieces if p.said and p.material and p.at < m.lexeme.start]
        closes = [p for p in said if p.part in ("sheathing", "sheet") or _carries(p.material)]
        inner = [p for p in said if p.part in ("finish", "structure", "cavity") or _carries(p.material)]
        outer = any(p.part in ("cladding", "space") for p in self.pieces if p.said)
        filled = any(p.part == "cavity" for p in said) or self.scene.empty or self.scene.steel
        stud = m.thickness in _STUD_DEPTHS and not filled
        return bool(m.thickness and not m.r and closes and inner) and not outer and not stud

    def on_cladding(self) -> bool:
        """Whether foam is sprayed on the siding itself, with nothing between."""
        return any(
            m.relation == "over"
            and m.target is not None
            and "spray" in m.material
            and self.part(m.target) == "cladding"
            for m in self.mentions
        )

    def brick_space(self) -> None:
        if not any(p.material in ("brick veneer", "natural stone veneer") for p in self.pieces):
            return
        text, why = (
            "1 in air space with weep holes",
            "brick and stone veneer stand an inch off the wall, with weep holes",
        )
        if not self.has("space"):
            self.take("", "space", text, why)
        elif not any(m.space and m.thickness for m in self.mentions):
            # A space whose width is not told is as wide as one behind a veneer is.
            for p in self.pieces:
                if p.part == "space" and p.text in _UNTOLD:
                    p.text = text
                    self.taken.append(Taken(text, why))

    def roof(self) -> None:
        if self.setting.form == BARE:
            return
        if self.setting.form == "attic":
            self.lining()
            return
        self.outside_insulation()
        if self.setting.form == "low slope":
            self.low_slope()
            return
        self.lining()
        if not self.has("structure", "sheathing") and not self.decked():
            if self.old():
                self.take(
                    "board sheathing",
                    "sheathing",
                    "3/4 in board sheathing",
                    "older roofs are sheathed with boards",
                )
            else:
                self.take("oriented strand board", "sheathing", "7/16 in oriented strand board",
                          "the commonest roof sheathing, and the one that dries least, so the careful choice")  # fmt: skip
        if not self.has("roofing"):
            self.take(
                "asphalt shingle", "roofing", "asphalt shingle", "the commonest roof covering on slopes"
            )
        if not self.has("sheet", "deck sheet"):
            self.take("asphalt felt", "sheet", "asphalt felt", "the usual underlayment")

    def decked(self) -> bool:
        """Whether a wood fiber board over filled rafters is the deck."""
        return self.has("sheet") and any(p.material == "wood fiber board" for p in self.pieces)

    def low_slope(self) -> None:
        if not self.has("structure", "sheathing"):
            if self.has("cavity", "cavity foam"):
                self.take("plywood", "sheathing", "5/8 in plywood", "the usual deck on joists")
            else:
                self.take("steel deck", "structure", "steel deck", "the commonest deck under boards")
        if self.has("cavity", "cavity foam"):
            self.lining()
        if not self.has("roofing"):
            self.take(
                "epdm membrane",
                "roofing",
                "EPDM membrane",
                "a common membrane; single-ply membranes differ little in vapor",
            )

    def foundation_wall(self) -> None:
        wooden = self.has("sheathing") and self.has("cavity")
        if not self.has("structure") and not wooden:
            self.take(
                "concrete",
                "structure",
                "8 in concrete",
                "poured concrete is the commonest; block passes a little more vapor and behaves alike",
            )
        else:
            for p in self.pieces:
                if p.part == "structure" and p.text in ("concrete", "concrete block"):
                    p.text = f"8 in {p.text}"
        if self.has("cavity", "inner board", "cavity foam"):
            self.lining()
        if not self.has("damp", "sheet") and not self.old():
            self.take(
                "asphalt dampproofing",
                "damp",
                "asphalt dampproofing",
                "codes have asked for it on walls below grade for decades",
            )
        if not self.has("soil"):
            self.take("clay soil", "soil", "soil", "a foundation wall ends in it")

    def slab(self) -> None:
        there = any(p.part == "structure" and p.text.endswith(", existing") for p in self.pieces)
        if there and "work" not in self.setting.building:
            self.setting.building["work"] = "retrofit"
            self.taken.append(Taken("a retrofit", "the slab is there already"))
        if not self.has("structure"):
            self.take("concrete", "structure", "4 in concrete", "the usual thickness of slabs on ground")
        if not self.has("gravel") and not self.scene.existing:
            self.take("gravel bed", "gravel", "4 in gravel bed", "codes ask for it under slabs")
        if not self.has("soil"):
            self.take("clay soil", "soil", "soil", "a slab on ground ends in it")

    def floor(self) -> None:
        if not self.has("sheathing", "structure"):
            if self.old():
                self.take(
                    "board sheathing",
                    "sheathing",
                    "3/4 in board sheathing",
                    "older floors have a subfloor of boards",
                )
            else:
                self.take(
                    "oriented strand board",
                    "sheathing",
                    "3/4 in oriented strand board",
                    "the commonest subfloor",
                )
        if not self.has("flooring"):
            self.take(
                "wood flooring",
                "flooring",
                "3/4 in wood flooring",
                "a common floor that lets some vapor through; vinyl would hold it back",
            )
        if not self.has("surroundings"):
            end, why = {
                "conditioned": ("unvented crawl space", "the crawl space is closed"),
                "garage": ("garage", "the floor lies over a garage"),
                "outdoors": ("outdoor air", "the floor lies over open air"),
            }.get(
                self.setting.form, ("vented crawl space", "most floors over a crawl space are vented below")
            )
            self.pieces.append(Piece("", "surroundings", end, False, -1))
            self.taken.append(Taken(end + " below", why))


def role_text(m: Mention, kind: str, form: str = "") -> tuple[str, str]:
    """What stands for a function: its words for the parser, and its material."""
    role = m.role
    assert role is not None
    if role.role == "vapor control" and (kind == "slab" or m.thickness in ("10 mil", "15 mil")):
        id_ = "slab vapor retarder 15 mil" if m.thickness == "15 mil" else "slab vapor retarder"
        return id_, id_
    if role.role == "vapor control" and kind == "roof" and form == "low slope":
        return _DECK_RETARDER, _DECK_RETARDER
    if role.role == "vapor control" and m.thickness:
        return f"{m.thickness} {role.takes}", role.takes
    if role.retarder and "retarder" in m.lexeme.text.lower():
        return role.retarder, role.retarder
    return role.text, role.takes


def _inches(length: str) -> float:
    try:
        return parse(length, "length").middle / 0.0254 if length else 0.0
    except UnitError:
        return 0.0


def lie_loose(m: Mention) -> None:
    """On an attic floor cellulose is blown loose, unless it is said to be packed."""
    if m.material == "dense-packed cellulose" and "dense" not in m.lexeme.text.lower():
        m.material = "loose-fill cellulose"


def _bare(p: Piece) -> str:
    return p.text.partition(p.material)[1] + p.text.partition(p.material)[2]


def _value(r: str) -> float:
    try:
        return parse(r, "thermal resistance").middle / 0.1761
    except UnitError:
        return 0.0


def _needs_thickness(id_: str) -> bool:
    m = load_materials()[id_]
    return m.thickness is None and m.r_value is None


def _is_sheet(id_: str) -> bool:
    return bool(load_materials()[id_].flags & {"membrane", "coating"})


def assemble(scene: Scene, mentions: list[Mention], reference: list[Mention] | None = None) -> Assembly:
    """The section that a scene and some of its mentions make; `reference` are further mentions that tell the kind."""
    return _Maker(scene, mentions, reference or []).make()
