"""The way back: layers and sections as text that reads back to the same values."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, replace
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final

from reviewer.errors import InputError, Mark
from reviewer.model.lexicon import Lexicon
from reviewer.model.parse import parse_layer
from reviewer.model.section import Expect, Framing, Indoor, Layer, Place, Section
from reviewer.model.wording import (
    ASSUMED_FURRING_WIDTH,
    ASSUMED_I_JOIST,
    ASSUMED_LUMBER,
    ASSUMED_PAINT,
    ASSUMED_SPACING,
    ASSUMED_STEEL_WIDTH,
    ASSUMED_TRUSS_SPACING,
    ASSUMED_WIDTH,
    LUMBER,
)
from reviewer.units import DIMENSIONS, Span, UnitError, number
from reviewer.units import parse as read_quantity

_UNITS: Final[Mapping[str, tuple[str, ...]]] = {
    "length": ("in", "mil", "mm", "ft", "m"),
    "thermal conductivity": ("W/(m K)",),
    "permeance": ("perm", "ng/(s m2 Pa)", "kg/(s m2 Pa)"),
    "density": ("kg/m3", "pcf"),
    "fraction": ("%",),
    "temperature": ("C",),
    "pressure": ("Pa",),
    "relative humidity": ("%", "rh"),
    "irradiance": ("W/m2",),
}
"""Units that are tried, in this order; the last one is the unit of the program and always exact."""
_SPACING_ASSUMED: Final = (ASSUMED_SPACING, ASSUMED_TRUSS_SPACING)
_WIDTH_ASSUMED: Final = (ASSUMED_WIDTH, ASSUMED_FURRING_WIDTH, ASSUMED_STEEL_WIDTH)
_SIZED_NAME: Final = re.compile(r"\d+ (?:mil|in|mm)\b")
_PLAIN: Final = re.compile(r"[A-Za-z0-9?][^\x00-\x1f:#\"'\[\]{}|\\]*(?<! )")
_NOT_TEXT: Final = frozenset({"null", "Null", "NULL", "true", "false", "yes", "no"})
_UNPLACED: Final = Mark("", 1, 1)


def write_layer(layer: Layer, lexicon: Lexicon | None = None) -> str:
    """One layer in words, such that `parse_layer` reads the same layer (but for its text, place and index).

    >>> write_layer(parse_layer("sealed poly, 6 mil"))
    '6 mil polyethylene sheet, sealed'
    >>> write_layer(parse_layer("R21 fiberglass batts in 2x6 studs 16 in o.c.; roles = not thermal control"))
    'R-21 glass fiber batt, 2x6 @ 16 in; roles = not thermal control'
    """
    natural = _words(layer, natural=True)
    try:
        if same_layer(parse_layer(natural, layer.index, lexicon), layer):
            return natural
    except InputError:
        pass
    return _words(layer, natural=False)


def same_layer(a: Layer, b: Layer) -> bool:
    """Whether two layers say the same: all fields equal but the text, the place in the file and the index."""
    left, right = (replace(x, text="", mark=_UNPLACED, index=0) for x in (a, b))
    return left == right


def write_section(section: Section, lexicon: Lexicon | None = None) -> str:
    """A section as a YAML text that `parse_section` reads back to the same section (but for texts and marks)."""
    out: dict[str, Any] = {"id": section.id, "title": section.title, "kind": section.kind}
    out |= _place(section.place)
    out |= {
        "indoor": _indoor(section.indoor),
        "cooling": None if section.cooling is None else "yes" if section.cooling else "no",
        "exposure": {"rain": section.rain, "faces": section.faces},
        "building": _building(section),
        "slope": None if section.slope is None else _slope(section.slope),
        "depth below grade": _exact(section.depth_below_grade, "length"),
        "layers": [write_layer(layer, lexicon) for layer in section.layers]
        + [f"no {what}" for what in section.absent],
        "waivers": [
            {"rule": w.rule, "reason": w.reason, "by": w.by, "until": w.until} for w in section.waivers
        ],
        "known": dict(section.known),
        "zones": list(section.zones_claimed),
        "notes": section.notes,
        "expect": None if section.expect is None else _expect(section.expect),
    }
    return "".join(f"{line}\n" for line in _yaml(out, ""))


def _place(place: Place | None) -> dict[str, Any]:
    if place is None:
        return {}
    override = place.zone_override
    if place.zone is not None:
        return {"zone": place.zone}
    if place.monthly is not None:
        months: dict[str, Any] = {
            name: [_month(name, value) for value in values] for name, values in place.monthly.items()
        }
        return {"monthly": {**months, "zone": override}}
    key, inner, text = (
        ("place", "name", place.name) if place.name is not None else ("weather", "file", place.weather)
    )
    return {key: text if override is None else {inner: text, "zone": override}}


def _month(name: str, value: float) -> str:
    unit = {
        "temperature": "C",
        "vapor pressure": "Pa",
        "humidity": "rh",
        "solar": "W/m2",
        "precipitation": "mm",
    }
    return f"{_decimal(value)} {unit[name]}"


def _indoor(indoor: Indoor | None) -> Any:
    if indoor is None:
        return None
    if indoor.temperature is None and indoor.humidity is None:
        return indoor.name
    temperature, humidity = (
        None if values is None else [f"{_decimal(v)} {unit}" for v in values]
        for values, unit in ((indoor.temperature, "C"), (indoor.humidity, "rh"))
    )
    return {"condition": indoor.name, "temperature": temperature, "humidity": humidity}


def _expect(expect: Expect) -> dict[str, Any]:
    return {
        "disposition": expect.disposition,
        "findings": list(expect.findings),
        "never": list(expect.never),
    }


def _building(section: Section) -> dict[str, Any]:
    b = section.building
    said = {f.name: getattr(b, f.name) for f in fields(b)}
    said["height"] = _exact(b.height, "length")
    said["airtightness"] = None if b.airtightness is None else f"{_decimal(b.airtightness)} ACH50"
    return said


def _slope(slope: float) -> str:
    for text in (f"{_decimal(round(slope * 12, 6))}:12", f"{_decimal(slope)}:1"):
        rise, run = text.split(":")
        if number(rise) / number(run) == slope:
            return text
    return f"{_decimal(slope)}:1"


# -- layers --------------------------------------------------------------------------------------


def _words(layer: Layer, natural: bool) -> str:
    """`natural` puts joints, condition and framing into words; else they are keys, which can't be misread."""
    head: list[str] = []
    tail: list[tuple[str, str | None]] = []
    framing = layer.framing
    implied = framing is not None and framing.pattern == "single" and layer.thickness == _span(framing.depth)
    named = layer.material is not None and _SIZED_NAME.search(layer.material.id)
    if layer.thickness is not None and not implied and not named:
        head.append(_quantity(layer.thickness, "length"))
    if layer.r_value is not None:
        head.append(_resistance(layer.r_value))
    head.append(_name(layer))
    words = " ".join(head)
    coats = None if layer.coats is None else f"{layer.coats} coat{'s' if layer.coats > 1 else ''}"
    if natural:
        if framing is not None and _is_nominal(framing, layer.assumed):
            words += f", {_framing(framing, layer.assumed)}"
            framing = None
        words += "".join(
            f", {word}" for word in (coats, layer.joints, layer.condition, layer.position) if word
        )
    else:
        tail += [("coats", None if layer.coats is None else str(layer.coats)), ("joints", layer.joints)]
        tail += [("condition", layer.condition), ("position", layer.position)]
    if layer.thickness_unknown:
        tail.append(("thickness", "unknown"))
    tail.append(("framing", None if framing is None else _framing(framing, layer.assumed)))
    if layer.vents not in (None, "none", "top and bottom"):
        tail.append(("vents", layer.vents))
    tail.append(("roles", ", ".join([*sorted(layer.roles), *(f"not {r}" for r in sorted(layer.not_roles))])))
    tail.append(("permeance", _permeance(layer)))
    for name, span, dimension in (
        ("conductivity", layer.conductivity, "thermal conductivity"),
        ("density", layer.density, "density"),
    ):
        tail.append((name, None if span is None else _quantity(span, dimension)))
    tail += [("fasteners", layer.fasteners), ("note", layer.note)]
    return words + "".join(f"; {name} = {text.replace(';', ';;')}" for name, text in tail if text)


def _name(layer: Layer) -> str:
    if layer.space == "air":
        vented = {"none": "unvented ", "top and bottom": "vented "}.get(layer.vents or "", "")
        return f"{vented}air space"
    if ASSUMED_PAINT in layer.assumed:
        return "paint"
    return layer.name


def _span(value: float | None) -> Span | None:
    return None if value is None else Span(value, value)


def _is_nominal(framing: Framing, assumed: tuple[str, ...]) -> bool:
    size = (framing.width, framing.depth)
    return ASSUMED_LUMBER in assumed and size in LUMBER.values()


def _framing(framing: Framing, assumed: tuple[str, ...]) -> str:
    species = "" if ASSUMED_LUMBER in assumed else f"{framing.material.id} "
    size = f"{_exact(framing.width, 'length')} wide"
    nominal = next((n for n, s in LUMBER.items() if s == (framing.width, framing.depth)), None)
    if ASSUMED_STEEL_WIDTH in assumed:
        depth = "" if framing.depth is None else f"{_exact(framing.depth, 'length')} "
        species, size = "", f"{depth}steel studs"
    elif ASSUMED_I_JOIST in assumed:
        depth = "" if framing.depth is None else f"{_exact(framing.depth, 'length')} "
        species, size = "", f"{depth}I-joists"
    elif ASSUMED_FURRING_WIDTH in assumed:
        size = "furring"
    elif ASSUMED_WIDTH in assumed:
        size = "studs"
    elif nominal is not None:
        size = f"{nominal[0]}x{nominal[1]}"
    elif framing.depth is not None:
        size = f"{_exact(framing.width, 'length')} x {_exact(framing.depth, 'length')}"
    spacing = "" if set(_SPACING_ASSUMED) & set(assumed) else f" @ {_exact(framing.spacing, 'length')}"
    pattern = "" if framing.pattern == "single" else f", {framing.pattern}"
    share = "" if framing.fraction is None else f", {_exact(framing.fraction, 'fraction')}"
    return f"{species}{size}{spacing}{pattern}{share}"


def _permeance(layer: Layer) -> str | None:
    dry, wet = layer.permeance_dry, layer.permeance_wet
    if dry is not None and dry == wet:
        return _quantity(dry, "permeance")
    parts = [
        f"{_quantity(s, 'permeance')} {state}" for s, state in ((dry, "dry"), (wet, "wet")) if s is not None
    ]
    return ", ".join(parts) or None


def _resistance(span: Span) -> str:
    if span.exact:
        return _one_resistance(span.low)
    low, high = _one_resistance(span.low), _one_resistance(span.high)
    if low.split("-")[0] != high.split("-")[0]:
        low, high = f"RSI-{_decimal(span.low)}", f"RSI-{_decimal(span.high)}"
    return f"{low} to {high}"


@lru_cache(maxsize=1024)
def _one_resistance(value: float) -> str:
    factor = read_quantity("R-1", "thermal resistance").low
    for places in range(4):
        text = f"R-{_decimal(round(value / factor, places))}"
        if read_quantity(text, "thermal resistance").low == value:
            return text
    return f"RSI-{_decimal(value)}"


def _quantity(span: Span, dimension: str) -> str:
    """A quantity or a range as text, read back exactly."""
    return _quantity_text(span, dimension)


@lru_cache(maxsize=4096)
def _quantity_text(span: Span, dimension: str) -> str:
    for unit in _UNITS[dimension]:
        low = next(_candidates(span.low, unit, dimension), None)
        high = next(_candidates(span.high, unit, dimension), None)
        if low is not None and high is not None:
            return f"{low} {unit}" if span.exact else f"{low} to {high} {unit}"
    raise ValueError(f"{span} has no {dimension} that reads back")


def _exact(value: float | None, dimension: str) -> Any:
    return None if value is None else _quantity(Span(value, value), dimension)


def _candidates(value: float, unit: str, dimension: str) -> Iterator[str]:
    """Figures that, with the unit, read back to exactly `value`; plain ones first."""
    factor, offset = DIMENSIONS[dimension].spellings[unit.lower()]
    x = (value - offset) / factor
    figures: list[str] = []
    if unit == "in" and x < 100:
        figures.append(_fraction(x))
    if unit != "mil" or x == round(x) or abs(x - round(x)) < 1e-6:
        figures += [_decimal(round(x, places)) for places in range(4 if factor != 1.0 else 1)]
    if unit == _UNITS[dimension][-1] or factor == 1.0:
        figures += [_decimal(x), repr(x)]
    for text in figures:
        try:
            if read_quantity(f"{text} {unit}", dimension) == Span(value, value):
                yield text
        except UnitError:
            continue


def _fraction(x: float) -> str:
    """Inches in sixteenths."""
    whole, part = divmod(round(x * 16), 16)
    if not part:
        return str(whole)
    bottom = 16
    while part % 2 == 0:
        part, bottom = part // 2, bottom // 2
    return f"{whole}-{part}/{bottom}" if whole else f"{part}/{bottom}"


def _decimal(x: float) -> str:
    """A float in full, without an exponent."""
    text = format(Decimal(repr(float(x))), "f")
    return text.removesuffix(".0")


# -- YAML ----------------------------------------------------------------------------------------


def yaml_scalar(text: str) -> str:
    """A text as YAML in a block list or map, in quotes only where it must be.

    >>> yaml_scalar("1/2 in gypsum board"), yaml_scalar("a: b")
    ('1/2 in gypsum board', '"a: b"')
    """
    if _PLAIN.fullmatch(text) and text not in _NOT_TEXT and not text.startswith("? ") and "  " not in text:
        return text
    return json.dumps(text, ensure_ascii=False)


def _yaml(values: Mapping[str, Any], indent: str) -> Iterator[str]:
    for name, value in values.items():
        if value is None or value in ("", [], {}):
            continue
        if isinstance(value, dict):
            inner = list(_yaml(value, indent + "  "))
            if inner:
                yield f"{indent}{name}:"
                yield from inner
        elif isinstance(value, list):
            yield f"{indent}{name}:"
            yield from _items(value, indent + "  ")
        else:
            text = str(value)
            yield f"{indent}{name}: {text if text in ('yes', 'no') and name == 'cooling' else yaml_scalar(text)}"


def _items(items: Iterable[Any], indent: str) -> Iterator[str]:
    for item in items:
        if isinstance(item, dict):
            lines = list(_yaml(item, indent + "  "))
            yield f"{indent}- {lines[0].lstrip()}"
            yield from lines[1:]
        else:
            yield f"{indent}- {yaml_scalar(str(item))}"
