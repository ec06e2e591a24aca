"""What is not known of a section's layers: what each may be, and the section with one of the possibilities in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from reviewer.library.usual import Usual, subject_of
from reviewer.model.parse import parse_layer
from reviewer.model.section import Layer, Section
from reviewer.names import shown_name
from reviewer.units import Span

WHAT = "what it is"
_RANGES = (
    ("thickness", "thickness", "length"),
    ("r_value", "thermal resistance", "thermal resistance"),
    ("conductivity", "thermal conductivity", "thermal conductivity"),
    ("permeance", "permeance", "permeance"),
    ("density", "density", "density"),
)
_FIND_OUT = {
    "thickness": "measure it, at an opening or through a drilled hole",
    "thermal resistance": "read the label, or measure how thick it is and look how well it fills its space",
    "thermal conductivity": "find the product and its data, or have a sample tested (ASTM C518)",
    "permeance": "find the product and its tested permeance, dry and wet cup (ASTM E96)",
    "density": "weigh and measure a sample",
}


@dataclass(frozen=True, slots=True)
class Option:
    """One thing that an unknown layer may be."""

    says: str
    text: str
    """As it would be written; empty for nothing there."""
    layer: Layer | None
    basis: str
    """When it was usual, and on whose word."""
    source: str


@dataclass(frozen=True, slots=True)
class Unknown:
    """One thing that is not known: either options, or a range."""

    layer: int
    subject: str
    quantity: str
    dimension: str
    find_out: str
    options: tuple[Option, ...] = ()
    low: float = 0.0
    high: float = 0.0

    @property
    def ranged(self) -> bool:
        return not self.options

    def at(self, u: float) -> float:
        """The value at a share of the range."""
        return self.low + u * (self.high - self.low)


def unknowns(section: Section, zone: int | None) -> tuple[list[Unknown], list[str]]:
    """Everything that may be varied, from the room outwards, and what is unknown without a list of what it may be."""
    found: list[Unknown] = []
    left: list[str] = []
    for layer in section.layers:
        if layer.unknown:
            known = _options(layer, section, zone)
            if known is None:
                left.append(_left(layer))
            else:
                found.append(known)
        elif layer.thickness_unknown and layer.thickness is None:
            left.append(
                f"the thickness of layer {layer.index + 1}, {shown_name(layer.name)}, is not known: a range, such as "
                "8 to 12 in, would do"
            )
        found += _ranges(layer)
    return found, left


def ranged(section: Section) -> bool:
    """Whether a layer is unknown, or has a range for a value."""
    return any(x.unknown or _ranges(x) for x in section.layers)


def _left(layer: Layer) -> str:
    said = layer.name.removeprefix("unknown ")
    more = "nothing is said of it" if said == "layer" else f"“{said}” has no list of what it may be"
    return f"layer {layer.index + 1}: {more}"


def _options(layer: Layer, section: Section, zone: int | None) -> Unknown | None:
    word = layer.name.removeprefix("unknown ")
    subject = subject_of(word, section.kind)
    if subject is None:
        return None
    year = section.building.year
    rows = [r for r in subject.rows if r.fits(section.kind, year, zone)]
    options = tuple(_option(r, layer) for r in rows)
    if not options:
        return None
    label = f"layer {layer.index + 1}, {shown_name(word)}"
    return Unknown(layer.index, label, WHAT, "", subject.find_out, options)


def _option(row: Usual, unknown: Layer) -> Option:
    when = f"usual {row.when}; " if row.when else ""
    basis = f"{when}{row.source}"
    if not row.layer:
        return Option(row.says, "", None, basis, row.source)
    layer = _placed(_read(row.layer), unknown)
    says = row.says if row.says != row.layer else layer.text
    return Option(says, layer.text, layer, basis, row.source)


@lru_cache(maxsize=256)
def _read(text: str) -> Layer:
    return parse_layer(text)


def _placed(layer: Layer, unknown: Layer) -> Layer:
    """The usual layer with what the user knows of the one in its place."""
    out = replace(
        layer,
        index=unknown.index,
        mark=unknown.mark,
        joints=unknown.joints or layer.joints,
        condition=unknown.condition or layer.condition,
        roles=layer.roles | unknown.roles,
        not_roles=layer.not_roles | unknown.not_roles,
        note=unknown.note or layer.note,
    )
    if unknown.framing is not None:
        out = replace(out, framing=unknown.framing)
        if layer.space == "air" or layer.r_value is not None:
            out = replace(out, thickness=unknown.thickness)
    elif unknown.thickness is not None:
        # A depth that was seen stands, and what is usual gives the material only.
        keeps = out.material is not None and out.material.conductivity is not None
        out = replace(out, thickness=unknown.thickness, r_value=None if keeps else out.r_value)
    if unknown.r_value is not None:
        out = replace(out, r_value=unknown.r_value)
    return out


def _ranges(layer: Layer) -> list[Unknown]:
    out: list[Unknown] = []
    for name, quantity, dimension in _RANGES:
        if name == "permeance":
            spans = [s for s in (layer.permeance_dry, layer.permeance_wet) if s is not None and not s.exact]
            if not spans:
                continue
            span = spans[0]
        else:
            span = getattr(layer, name)
            if span is None or span.exact:
                continue
        subject = f"layer {layer.index + 1}, {quantity} of {shown_name(layer.name)}"
        out.append(
            Unknown(layer.index, subject, quantity, dimension, _FIND_OUT[quantity], (), span.low, span.high)
        )
    return out


Choice = tuple[float, ...]
"""For each unknown: the number of its option, or the share of its range."""


def with_choice(section: Section, found: Sequence[Unknown], choice: Choice) -> tuple[Section, dict[int, int]]:
    """The section with one possibility in it, and where its layers stood in the original."""
    layers: dict[int, Layer | None] = {x.index: x for x in section.layers}
    for unknown, c in zip(found, choice, strict=True):
        if unknown.ranged:
            continue
        layers[unknown.layer] = unknown.options[int(c)].layer
    for unknown, c in zip(found, choice, strict=True):
        here = layers[unknown.layer]
        if unknown.ranged and here is not None:
            layers[unknown.layer] = _set(here, unknown, c)
    kept = [(at, x) for at, x in sorted(layers.items()) if x is not None]
    made = tuple(x if x.index == n else replace(x, index=n) for n, (_, x) in enumerate(kept))
    return replace(section, layers=made), {n: at for n, (at, _) in enumerate(kept)}


def _set(layer: Layer, unknown: Unknown, u: float) -> Layer:
    if unknown.quantity == "permeance":
        return replace(
            layer,
            permeance_dry=_within(layer.permeance_dry, u),
            permeance_wet=_within(layer.permeance_wet, u),
        )
    name = next(n for n, quantity, _ in _RANGES if quantity == unknown.quantity)
    value = unknown.at(u)
    return replace(layer, **{name: Span(value, value)})


def _within(span: Span | None, u: float) -> Span | None:
    if span is None or span.exact:
        return span
    value = span.low + u * (span.high - span.low)
    return Span(value, value)
