"""Hatches: one for each family of materials, made for this program, told apart without color."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reviewer.report.ink import ink
from reviewer.report.markup import Markup, el, join
from reviewer.result import LayerLine

# family: (ground, tile width, tile height, strokes as path data, specks as (x, y, r)).
# Tiles are drawn for layers that stand upright, as in a wall: the room lies to the left.
_TILES: dict[str, tuple[str, float, float, str, tuple[tuple[float, float, float], ...]]] = {
    "gypsum": ("ground-pale", 9, 12, "M2 2v3M6.5 8v3", ()),
    "fibrous insulation": (
        "ground-soft",
        22,
        16,
        "M1 8c4-9 6-9 10 0s6 9 10 0M4 15c2-3 3-3 5 0M14 1c2 3 3 3 5 0",
        (),
    ),
    "foam insulation": (
        "ground-foam",
        14,
        14,
        "M5.2 4a2.2 2.2 0 1 0-4.4 0a2.2 2.2 0 1 0 4.4 0",
        ((10.5, 10.5, 1.3), (10.5, 3, 0.7), (3.5, 11, 0.7)),
    ),
    "wood panel": ("ground-wood", 8, 15, "M2 1v8M5.5 6v8M3.6 11l1.2 2M6.5 1l-1 2.4", ()),
    "wood": ("ground-wood", 12, 20, "M2 0c3 6-3 12 0 20M7 0c3 6-3 12 0 20M10.5 8c1.4 2 1.4 4 0 6", ()),
    "cladding": ("ground-warm", 10, 16, "M9 0L3 15h6M9 15v1", ()),
    "masonry": ("ground-brick", 20, 18, "M0 0.5h20M0 9.5h20M5 1v8M15 10v8", ()),
    "concrete": (
        "ground-stone",
        20,
        20,
        "M3 4l4-1l1 4l-4 1zM13 12l3 2l-2 3l-3-2z",
        ((14, 4, 0.9), (4, 15, 0.9), (17, 8, 0.6), (9, 11, 0.6)),
    ),
    "roofing": ("ground-dark", 8, 12, "M1 0c4 4-2 8 2 12M5 0c4 4-2 8 2 12", ()),
    "metal": ("ground-dark", 6, 6, "M0 6L6 0M-1.5 1.5L1.5-1.5M4.5 7.5L7.5 4.5M0 3L3 0M3 6L6 3", ()),
    "glass": ("ground-cool", 16, 16, "M3 13L13 3M7 14l4-4", ()),
    "flooring": ("ground-warm", 8, 16, "M1 2h3M4 10h3M1 2v5M4 10v5", ()),
    "natural": ("ground-soft", 16, 16, "M2 3l8 4M5 13l9-5M11 2l3 6M2 9l2 5", ()),
    "plastic": ("ground-cool", 10, 10, "M0 2.5h4M5 7.5h4", ()),
    "soil": ("ground-earth", 22, 22, "M2 4h8M4 7h5M6 10h2M13 15h8M15 18h5M17 21h2", ()),
    "coating": ("ground-dark", 4, 6, "M1 1v3", ()),
    "membrane": ("ground-dark", 4, 8, "M2 0v5", ()),
}
_FRAMING = ("ground-wood", 15, 15, "M0 15L15 0M0 8q4-1 4-8M7 15q1-6 8-7", ())
_UNKNOWN = ("ground-pale", 14, 18, "M4 5c0-4 6-4 6 0c0 3-3 2.6-3 5.6", ((7, 14, 0.9),))

FAMILIES = tuple(_TILES)


def kind(layer: LayerLine) -> str:
    """The hatch of a layer; empty for an open space."""
    if layer.unknown:
        return "unknown"
    return layer.family if layer.family in _TILES else ""


def hatch_id(prefix: str, name: str) -> str:
    return f"{prefix}hatch-{name.replace(' ', '-')}"


def patterns(layers: Sequence[LayerLine], prefix: str, upright: bool) -> Markup:
    """Definitions of the hatches that these layers use; `upright` as in a wall, else lying as in a roof."""
    return join(_patterns(layers, prefix, upright))


def _patterns(layers: Sequence[LayerLine], prefix: str, upright: bool) -> Iterator[Markup]:
    names = dict.fromkeys(k for x in layers if (k := kind(x)))
    if any(x.framing for x in layers):
        names["framing"] = None
    for name in names:
        tile = {"unknown": _UNKNOWN, "framing": _FRAMING}.get(name) or _TILES[name]
        yield _pattern(hatch_id(prefix, name), tile, upright or name == "unknown")


def _pattern(
    id: str, tile: tuple[str, float, float, str, tuple[tuple[float, float, float], ...]], upright: bool
) -> Markup:
    ground, width, height, strokes, specks = tile
    return el(
        "pattern",
        el("rect", width=width, height=height, **ink(ground)),
        el("path", d=strokes, fill="none", stroke_width=0.8, stroke_linecap="round", **ink("hatch")),
        *(el("circle", cx=x, cy=y, r=r, **ink("speck")) for x, y, r in specks),
        id=id,
        width=width,
        height=height,
        patternUnits="userSpaceOnUse",
        patternTransform=None if upright else "rotate(-90)",
    )


def swatch(layer: LayerLine, prefix: str, x: float, y: float, width: float, height: float) -> Markup:
    """A small piece of a layer's hatch, as a key to the drawing; sheets are shown as a line."""
    name = kind(layer)
    if name in ("coating", "membrane"):
        return el(
            "path",
            d=f"M{x:g} {y + height / 2:g}h{width:g}",
            fill="none",
            stroke_width=2,
            stroke_dasharray=dashes(layer),
            **ink("edge"),
        )
    box = {"x": x, "y": y, "width": width, "height": height, "stroke_width": 0.8}
    if name:
        return el("rect", fill=f"url(#{hatch_id(prefix, name)})", **box, **ink("edge"))
    return el(
        "rect", fill=ink("ground-open")["fill"], stroke_dasharray="2 2", **box, **ink("edge", "ground-open")
    )


def framing_swatch(prefix: str, width: float, height: float) -> Markup:
    """The same for framing members."""
    box = {"x": 0, "y": -height / 2, "width": width, "height": height, "stroke_width": 0.8}
    return el(
        "rect",
        fill=f"url(#{hatch_id(prefix, 'framing')})",
        class_="edge",
        stroke=ink("edge")["stroke"],
        **box,
    )


def dashes(layer: LayerLine) -> str | None:
    """The line of a sheet: whole where it holds back vapor or water, broken for other sheets; none for coatings."""
    if layer.family != "membrane" or {"vapor control", "air barrier"} & set(layer.roles):
        return None
    return "5 2"
