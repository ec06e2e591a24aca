"""Layers to properties: what the user gave, else what the library holds, else unknown.

Nothing is guessed in silence: a usual thickness or a middle of a range is an assumption in the book,
and a property that nobody knows carries the reason why.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from reviewer.facts.book import Book, Origin
from reviewer.library import materials, properties
from reviewer.library.types import Material
from reviewer.model.section import Layer, Section
from reviewer.names import shown_name
from reviewer.physics import heat
from reviewer.units import DELTA_0, Span, show

RH_GRID = np.linspace(0.0, 1.0, 21)
"""Relative humidities at which a layer's permeance is tabulated for the monthly iteration."""

_CUPS_AND_GRID = np.concatenate(([properties.DRY_CUP, properties.WET_CUP], RH_GRID))

AIR_LAYER_SD = 0.01
"""s_d of a closed air space whatever its thickness, m (ISO 10456:2007 4.2, from memory)."""

USUAL_COATS = 2
"""Coats that a coating's permeance in the library stands for, a primer's one (common practice)."""

INSULATION_CONDUCTIVITY = 0.065
"""W/(m·K): at most this for a layer to count as insulation (DIN 4108-2 uses 0.1; common practice)."""

CAVITY_DIRECTION: dict[str, heat.Direction] = {
    "wall": "horizontal",
    "foundation wall": "horizontal",
    "roof": "up",
    "floor": "down",
    "slab": "down",
}


@dataclass(slots=True)
class Properties:
    """One layer's properties, SI. `None` is unknown; `why` says why."""

    layer: Layer
    roles: frozenset[str]
    flags: frozenset[str]
    thickness: float | None = None
    conductivity: float | None = None
    r: float | None = None
    density: float | None = None
    permeance: NDArray[np.float64] | None = None
    """On RH_GRID."""
    permeance_dry: float | None = None
    permeance_wet: float | None = None
    origins: dict[str, Origin] = field(default_factory=dict)
    why: dict[str, str] = field(default_factory=dict)

    @property
    def material(self) -> Material | None:
        return self.layer.material

    @property
    def is_space(self) -> bool:
        return self.layer.space == "air"

    @property
    def is_surroundings(self) -> bool:
        return self.layer.space is not None and self.layer.space != "air"

    @property
    def ventilated(self) -> bool:
        return self.layer.space in ("vented attic", "vented crawl space") or (
            self.is_space and self.layer.vents == "top and bottom"
        )

    @property
    def is_insulation(self) -> bool:
        if self.is_space or self.is_surroundings:
            return False
        if "thermal control" in self.layer.not_roles:
            return False
        if self.layer.unknown:
            return "insulation" in self.layer.name
        if "thermal control" in self.roles:
            return True
        return (
            self.conductivity is not None
            and self.conductivity <= INSULATION_CONDUCTIVITY
            and (self.thickness or 0.0) >= 0.006
        )

    @property
    def seamless(self) -> bool:
        """An air barrier without joints to close: sprayed, liquid-applied, or a sheet that adheres to its laps."""
        if "air barrier" not in self.roles or self.material is None:
            return False
        adhered = self.has("membrane") and (
            "self-adhered" in self.material.id or self.material.id == "ice and water membrane"
        )
        return self.has("spray foam") or self.has("coating") or adhered

    @property
    def name(self) -> str:
        return self.layer.name

    def has(self, flag: str) -> bool:
        return flag in self.flags

    @property
    def shown(self) -> str:
        """The name for people; rules compare `name`."""
        return shown_name(self.layer.name)

    @property
    def unknown_reason(self) -> str:
        return f"what layer {self.layer.index + 1} is ({self.shown.removeprefix('unknown ')}) is not known"

    def label(self) -> str:
        return f"layer {self.layer.index + 1}, {self.shown}"


def resolve(section: Section, book: Book) -> list[Properties]:
    """Every layer's properties, in the section's order; assumptions go into the book."""
    outward = (*section.layers[1:], None)
    layers = [
        _resolve(layer, section.kind, below_attic(outer), book)
        for layer, outer in zip(section.layers, outward, strict=True)
    ]
    _veneer(section, layers, book)
    return layers


def below_attic(outer: Layer | None) -> bool:
    """Whether the next layer is an attic: insulation there may lie higher than its framing."""
    return outer is not None and outer.space is not None and outer.space.endswith("attic")


ONE_WYTHE = 0.13
"""m: masonry no thicker than this, outside of a frame or of an air space, is a veneer and carries nothing
(IRC Table R703.3(1) speaks of veneers of 2 to 5 in; from memory)."""


def _veneer(section: Section, layers: list[Properties], book: Book) -> None:
    """One wythe of masonry that closes a wall outside of its frame is its cladding, whatever it is called."""
    solid = [p for p in layers if not p.is_surroundings]
    if section.kind != "wall" or len(solid) < 2:
        return
    *inner, last = solid
    said = last.layer.roles | last.layer.not_roles
    outside = inner[-1].is_space or any(p.layer.framing is not None for p in inner)
    thin = last.thickness is not None and last.thickness <= ONE_WYTHE
    if not (outside and thin and last.has("masonry") and "structure" in last.roles and not said):
        return
    last.roles = last.roles - {"structure"} | {"cladding"}
    book.assume(
        f"{last.label()}: a veneer, which carries nothing",
        "one wythe outside of a frame or an air space",
        "which layer is the cladding",
    )


def _resolve(layer: Layer, kind: str, open_above: bool, book: Book) -> Properties:
    m = layer.material
    roles = ((m.roles if m else frozenset()) | layer.roles) - layer.not_roles
    p = Properties(layer, frozenset(roles), m.flags if m else frozenset())
    if p.is_surroundings:
        return p
    _loosely_named(p, book)
    for sentence in layer.assumed:
        book.assume(f"{p.label()}: {sentence}", "the text leaves it open")
    p.thickness = _thickness(p, open_above, book)
    if p.is_space:
        _space(p, kind)
        return p
    unknown = p.unknown_reason
    _thermal(p, unknown, book)
    _vapor(p, unknown, book)
    p.density = _given_or_library(p, "density", layer.density, m.density if m else None, "", book)
    return p


def open_question(layers: Iterable[Properties], otherwise: str) -> str:
    """Why something can't be said of several layers: the layer that nobody knows, else what one of them lacks."""
    layers = list(layers)
    found = next((p.unknown_reason for p in layers if p.layer.unknown), "")
    return found or next((why for p in layers for why in p.why.values()), otherwise)


def _loosely_named(p: Properties, book: Book) -> None:
    """A name that says less than the material it is taken for is an assumption: `batt`, `polyiso`."""
    m = p.material
    if m is None:
        return
    said = _loose_name(m.id, p.layer.text)
    if said:
        book.assume(
            f"{p.label()}: “{said}” read as {m.id}",
            "the name says less than the material",
            "its properties",
        )


@lru_cache(maxsize=4096)
def _loose_name(material: str, text: str) -> str:
    """The name in a layer's text that says less than the material; empty when the text says enough."""
    words = f" {materials.normalize(text)} "
    said = max((name for name in _loose_names_of(material) if f" {name} " in words), key=len, default="")
    exact = [name for name in _exact_names_of(material) if f" {name} " in words]
    return said if len(said) > max(map(len, exact), default=0) else ""


@lru_cache(maxsize=512)
def _loose_names_of(material: str) -> tuple[str, ...]:
    return tuple(name for name, found in materials.loose_names().items() if found == material)


@lru_cache(maxsize=512)
def _exact_names_of(material: str) -> tuple[str, ...]:
    loose = materials.loose_names()
    return tuple(
        name for name, found in materials.aliases().items() if found == material and name not in loose
    )


def _single(p: Properties, name: str, span: Span, dimension: str, book: Book) -> float:
    """The value of a span; of a range its middle, said so."""
    if span.exact:
        p.origins[name] = Origin("given", "as written")
        return span.low
    text = f"{show(span.low, dimension, 'ip')} to {show(span.high, dimension, 'ip')}"
    book.assume(
        f"{p.label()}: {name.replace('_', ' ')} {text}, {show(span.middle, dimension, 'ip')} used",
        "a range was given; its middle is used in the calculations",
    )
    p.origins[name] = Origin("assumed", f"middle of the range {text}")
    return span.middle


K = TypeVar("K", bound=Hashable)
V = TypeVar("V")
_KEPT_AT_MOST = 4096


class _Kept(Generic[K, V]):
    """What was found for a material before. Materials are told apart as objects: a changed one may have
    the name of another."""

    def __init__(self, find: Callable[[Material, K], V]):
        self._find = find
        self._kept: dict[tuple[str, K], tuple[Material, V]] = {}

    def __call__(self, m: Material, key: K) -> V:
        kept = self._kept.get((m.id, key))
        if kept is None or kept[0] is not m:
            if len(self._kept) >= _KEPT_AT_MOST:
                self._kept.clear()
            kept = self._kept[m.id, key] = (m, self._find(m, key))
        return kept[1]


@_Kept
def _looked_up(m: Material, name: str) -> Origin:
    return Origin("looked up", f"{m.id}", str(m.sources[name]) if name in m.sources else "")


@_Kept
def _permeances(m: Material, thickness: float | None) -> NDArray[np.float64] | None:
    """Dry cup, wet cup, and on RH_GRID."""
    return properties.permeance(m, thickness, _CUPS_AND_GRID)


@_Kept
def _permeance_origin(m: Material, name: str) -> Origin:
    by_thickness = m.permeability_dry is not None or m.permeability_wet is not None
    source = m.sources.get(name.replace("permeance", "permeability") if by_thickness else name)
    how = ", permeability over thickness" if by_thickness else ""
    return Origin("looked up", m.id + how, str(source) if source else "")


def _given_or_library(
    p: Properties, name: str, span: Span | None, library: float | None, dimension: str, book: Book
) -> float | None:
    if span is not None:
        return _single(p, name, span, dimension or name, book)
    if library is not None and p.material is not None:
        p.origins[name] = _looked_up(p.material, name)
    return library


def _thickness(p: Properties, open_above: bool, book: Book) -> float | None:
    layer, m = p.layer, p.material
    if open_above and (heaped := _heaped(p, book)) is not None:
        return heaped
    if layer.thickness is not None:
        return _single(p, "thickness", layer.thickness, "length", book)
    if m is not None and m.thickness is not None and not layer.thickness_unknown:
        if not m.flags & {"membrane", "coating"}:
            book.assume(
                f"{p.label()}: {show(m.thickness, 'length', 'ip')} thick",
                "no thickness was given; the usual one of the material is used",
            )
        p.origins["thickness"] = Origin("assumed", f"usual thickness of {m.id}")
        return m.thickness
    if layer.framing is not None and layer.framing.depth is not None and not layer.thickness_unknown:
        p.origins["thickness"] = Origin("assumed", "depth of the framing")
        book.assume(
            f"{p.label()}: fills the framing, {show(layer.framing.depth, 'length', 'ip')}",
            "no thickness was given",
        )
        return layer.framing.depth
    p.why["thickness"] = p.unknown_reason if layer.unknown else f"the thickness of {p.label()} is not stated"
    return None


def _heaped(p: Properties, book: Book) -> float | None:
    """The thickness of insulation that lies on an attic floor over its framing, by its resistance; else None."""
    layer, m = p.layer, p.material
    if layer.framing is None or layer.framing.depth is None or layer.r_value is None or m is None:
        return None
    said = layer.thickness.middle if layer.thickness is not None else layer.framing.depth
    if not m.conductivity or said > layer.framing.depth + 1e-9:
        return None
    heaped = layer.r_value.middle * m.conductivity
    if heaped <= layer.framing.depth:
        return None
    p.origins["thickness"] = Origin("assumed", "its resistance and the conductivity of the material")
    book.assume(
        f"{p.label()}: lies {show(heaped, 'length', 'ip')} deep, over the framing",
        "its resistance takes that much, and nothing above holds it down",
    )
    return heaped


def _space(p: Properties, kind: str) -> None:
    d = p.thickness
    if d is None:
        p.why["r_value"] = p.why["thickness"] = f"the depth of {p.label()} is not stated"
        return
    p.r = float(heat.air_layer_resistance(min(d, 0.3), CAVITY_DIRECTION[kind]))
    p.origins["r_value"] = Origin("computed", "closed air layer", "ISO 6946 air layers")
    if p.layer.vents in ("bottom only", "top only", "weep holes"):
        p.r *= 0.5
        p.origins["r_value"] = Origin(
            "computed", "slightly ventilated air layer, half the closed one's", "ISO 6946 air layers"
        )
    w = DELTA_0 / AIR_LAYER_SD
    p.permeance = np.full(RH_GRID.shape, w)
    p.permeance_dry = p.permeance_wet = w
    for name in ("permeance_dry", "permeance_wet"):
        p.origins[name] = Origin(
            "looked up", "closed air space, s_d 0.01 m", "ISO 10456:2007 (from memory of the document)"
        )


def _thermal(p: Properties, unknown: str, book: Book) -> None:
    layer, m, d = p.layer, p.material, p.thickness
    p.conductivity = _given_or_library(
        p, "conductivity", layer.conductivity, m.conductivity if m else None, "thermal conductivity", book
    )
    if layer.r_value is not None:
        p.r = _single(p, "r_value", layer.r_value, "thermal resistance", book)
        if d:
            p.conductivity = d / p.r if p.r > 0 else p.conductivity
            p.origins["conductivity"] = Origin("computed", "thickness over the resistance given")
        elif p.conductivity:
            p.thickness = d = p.r * p.conductivity
            p.why.pop("thickness", None)
            p.origins["thickness"] = Origin("computed", "resistance given times conductivity")
    elif d is not None and p.conductivity is not None:
        p.r = d / p.conductivity
        p.origins["r_value"] = Origin(
            "computed", "thickness over conductivity", p.origins["conductivity"].source
        )
    elif m is not None and m.r_value is not None:
        p.r = m.r_value
        p.origins["r_value"] = _looked_up(m, "r_value")
    elif p.has("membrane") or p.has("coating"):
        p.r = 0.0
        p.origins["r_value"] = Origin("assumed", "a sheet or coating: no resistance counted")
    else:
        p.why["r_value"] = p.why.get("thickness") or (
            unknown if m is None else f"the library holds no conductivity for {m.id}"
        )


def _vapor(p: Properties, unknown: str, book: Book) -> None:
    layer, m, d = p.layer, p.material, p.thickness
    if layer.permeance_dry is not None or layer.permeance_wet is not None:
        dry = layer.permeance_dry or layer.permeance_wet
        wet = layer.permeance_wet or layer.permeance_dry
        assert dry is not None and wet is not None
        p.permeance_dry = _single(p, "permeance_dry", dry, "permeance", book)
        p.permeance_wet = _single(p, "permeance_wet", wet, "permeance", book)
        if layer.permeance_wet is None or layer.permeance_dry is None:
            given, other = ("dry", "wet") if layer.permeance_wet is None else ("wet", "dry")
            book.assume(
                f"{p.label()}: {other}-cup permeance equal to the {given}-cup value given",
                "only one of the two was given",
            )
        p.permeance = np.interp(
            RH_GRID, (properties.DRY_CUP, properties.WET_CUP), (p.permeance_dry, p.permeance_wet)
        )
        return
    if m is None:
        p.why["permeance_dry"] = p.why["permeance_wet"] = unknown
        return
    by_thickness = m.permeability_dry is not None or m.permeability_wet is not None
    if by_thickness and not d:
        reason = p.why.get("thickness", f"the thickness of {p.label()} is not stated")
        p.why["permeance_dry"] = p.why["permeance_wet"] = reason
        return
    # A coating's row stands for its usual coats; sheets and boards don't come in coats.
    usual = 1 if "primer" in m.id else USUAL_COATS
    coats = (layer.coats or usual) / usual if p.has("coating") else 1.0
    grid = _permeances(m, d if by_thickness else None)
    if grid is None:
        p.why["permeance_dry"] = p.why["permeance_wet"] = f"the library holds no permeance for {m.id}"
        return
    grid = grid / coats
    p.permeance_dry, p.permeance_wet, p.permeance = float(grid[0]), float(grid[1]), grid[2:]
    for name in ("permeance_dry", "permeance_wet"):
        p.origins[name] = _permeance_origin(m, name)
