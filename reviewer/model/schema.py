"""The keys of a section file: one table for the parser, the JSON Schema and the messages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Final

from reviewer.library.types import ROLES
from reviewer.model.section import (
    CONDITIONS,
    EXPOSURES,
    JOINTS,
    KINDS,
    ORIENTATIONS,
    SURROUNDINGS,
    VENTS,
    ZONES,
)
from reviewer.units import DIMENSIONS

MAX_LAYERS: Final = 100

POSITIONS: Final = ("between framing", "outside framing", "against masonry")
PATTERNS: Final = ("single", "double stud", "staggered stud", "truss")
WORKS: Final = ("new", "retrofit", "addition")
USES: Final = (
    *("dwelling", "office", "school", "pool", "museum", "hospital", "restaurant", "warehouse", "retail"),
    *("hotel", "assembly", "laboratory", "industrial", "cold storage", "ice rink", "greenhouse", "worship"),
)
MECHANICAL: Final = ("none", "exhaust", "supply", "balanced")
COMBUSTION: Final = ("atmospheric", "sealed", "none")
WIRING: Final = ("knob and tube", "modern")
HOUSE_FRAMING: Final = ("balloon", "platform")

STATEMENTS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "existing damage": "rot, rust, stains or mold that were seen",
        "overhang": "depth of the roof overhang",
        "drainage": "footing drain, drainage board, none",
        "waterproofing": "what is on the soil side, when it is not a layer",
        "water entry": "bulk water that gets in: none, seepage, floods",
        "sill": "what is under the sill plate: gasket, none",
        "footing": "capillary break at the footing: yes, none",
        "recessed lights": "yes or none",
        "ceiling": "airtight or leaky",
        "vent area": "net free area over ceiling area, such as 1/150",
        "high vents": "share of the vents near the ridge",
        "roof color": "white, light or dark",
        "diffusion port": "yes or none",
        "ice barrier": "membrane at the eaves under the roofing: yes or none",
        "adhesive": "solvent or water based, for boards and membranes",
        "ducts": "where ducts run: attic, crawl space, inside",
        "ground cover": "polyethylene, concrete, none",
        "crawl space": "conditioned, vented, unvented",
        "humidifier": "yes or none",
        "radon": "tested, mitigated, unknown",
        "vermiculite": "seen or none",
        "lead paint": "found, or none found by test",
        "termites": "inspection gap, shield, none",
        "flashing": "yes or none",
        "rim joist": "how the rim is insulated",
        "cooling setpoint": "temperature of the thermostat in summer",
        "recover": "new roof over existing insulation: dry, wet, not checked",
        "embedded joists": "wood joists in the masonry: yes or none",
        "moisture content": "wood moisture measured",
        "penetrations": "sealed or not",
        "flues": "flues, lights or boxes in the insulation: yes or none",
        "property line": "distance to the property line",
        "sprayed on site": "foam sprayed on site: occupied or empty",
        "finish timing": "when interior finishes follow the concrete",
        "floor heating": "pipes or cables in the slab: yes or none",
    }
)
"""What `known:` may say; every key is one subject."""


@dataclass(frozen=True, slots=True)
class Key:
    """One key: what it means, and what form its value has."""

    about: str
    form: str
    """text, choice, flag, integer, quantity (a value or a range), value (one value), map, or the name of
    a form that the parser reads by itself."""
    words: tuple[str, ...] = ()
    dimension: str = ""
    low: int = 0
    high: int = 0
    keys: Mapping[str, Key] = field(default_factory=dict)
    required: tuple[str, ...] = ()


def _text(about: str) -> Key:
    return Key(about, "text")


def _choice(about: str, words: tuple[str, ...]) -> Key:
    return Key(about, "choice", words)


def _quantity(about: str, dimension: str) -> Key:
    return Key(about, "quantity", dimension=dimension)


def _value(about: str, dimension: str) -> Key:
    return Key(about, "value", dimension=dimension)


_ZONE = _choice("code climate zone, over the one that the place is looked up to be in", ZONES)

PLACE: Final = {"name": _text("city and state, a ZIP code, or latitude and longitude"), "zone": _ZONE}
WEATHER: Final = {"file": _text("path of an EPW file, from the section file on"), "zone": _ZONE}
MONTHLY: Final = {
    "temperature": Key("outdoor air, twelve monthly means", "twelve", dimension="temperature"),
    "vapor pressure": Key("outdoor air, twelve monthly means", "twelve", dimension="pressure"),
    "humidity": Key("outdoor air, twelve monthly means", "twelve", dimension="relative humidity"),
    "solar": Key("global horizontal irradiance, twelve monthly means", "twelve", dimension="irradiance"),
    "precipitation": Key("twelve monthly sums", "twelve", dimension="length"),
    "zone": _ZONE,
}
INDOOR: Final = {
    "condition": _text("a named indoor condition, for what is not given here"),
    "temperature": Key("one value, or twelve from January on", "one or twelve", dimension="temperature"),
    "humidity": Key("one value, or twelve from January on", "one or twelve", dimension="relative humidity"),
}
EXPOSURE: Final = {
    "rain": _choice("exposure to driving rain", EXPOSURES),
    "faces": Key("the direction the section faces", "orientation", ORIENTATIONS),
}
BUILDING: Final = {
    "stories": Key("stories above grade", "integer", low=1, high=200),
    "year": Key("year built", "integer", low=1500, high=2100),
    "height": _value("height above grade", "length"),
    "work": _choice("what is being done", WORKS),
    "use": _choice("what the building is for", USES),
    "code": Key("the code it is under and its edition, such as IRC 2021; or none", "code"),
    "ventilation": _choice("mechanical ventilation", MECHANICAL),
    "airtightness": Key("air changes at 50 Pa, such as 3 ACH50", "air changes"),
    "combustion": _choice("appliances that burn fuel indoors", COMBUSTION),
    "wiring": _choice("wiring in the section", WIRING),
    "framing": _choice("framing of the house", HOUSE_FRAMING),
}
FRAMING: Final = {
    "material": Key("material of the members", "material"),
    "width": _value("face width of a member", "length"),
    "spacing": _value("on center", "length"),
    "depth": _value("depth of the members, where it is not the layer's thickness", "length"),
    "pattern": _choice("how the members are arranged", PATTERNS),
    "fraction": _value("share of the area that is framing", "fraction"),
}
PERMEANCE: Final = {
    "dry": _quantity("dry cup, 0 to 50 % relative humidity", "permeance"),
    "wet": _quantity("wet cup, 50 to 100 % relative humidity", "permeance"),
}
LAYER: Final = {
    "material": Key('what it is, in a few words; "? …" when that is not known', "words"),
    "space": Key("air, or what the section ends in", "words", ("air", *SURROUNDINGS)),
    "thickness": Key('a length, a range of it, or "unknown"', "thickness", dimension="length"),
    "framing": Key("members through this layer, such as 2x6 @ 16 in", "framing", keys=FRAMING),
    "joints": _choice("how the joints of a sheet or board are closed", JOINTS),
    "roles": Key(
        'what it is there for beyond the material\'s own roles; "not …" takes one away', "roles", ROLES
    ),
    "vents": _choice("openings of an air space", VENTS),
    "condition": _choice("its condition", CONDITIONS),
    "coats": Key("coats of paint", "integer", low=1, high=20),
    "position": _choice("where it lies", POSITIONS),
    "r_value": _quantity("thermal resistance of this layer", "thermal resistance"),
    "conductivity": _quantity("thermal conductivity", "thermal conductivity"),
    "permeance": Key("of this layer as it stands, dry and wet", "permeance", keys=PERMEANCE),
    "density": _quantity("density", "density"),
    "fasteners": _text("girts, clips, ties and screws through this layer"),
    "note": _text("anything else, kept for the report"),
}
WAIVER: Final = {
    "rule": Key("the rule whose finding is accepted, such as water-control/no-drainage-gap", "rule"),
    "reason": _text("why it is accepted"),
    "by": _text("who accepts it"),
    "until": Key("the last day it holds, as 2027-06-30", "date"),
}
DISPOSITIONS: Final = ("no exceptions taken", "make corrections noted", "revise and resubmit", "incomplete")
EXPECT: Final = {
    "disposition": _choice("the verdict that a review must come to", DISPOSITIONS),
    "findings": Key("rules that must find something", "rules"),
    "never": Key("rules that must not find anything", "rules"),
}
SECTION: Final = {
    "id": Key("name of the section in baselines and reports; the file's name by default", "id"),
    "title": _text("what the section is, for people"),
    "kind": _choice("kind of section", KINDS),
    "place": Key("where it stands", "place", keys=PLACE, required=("name",)),
    "zone": _choice("code climate zone, instead of a place", ZONES),
    "weather": Key("an EPW file, instead of a place", "weather", keys=WEATHER, required=("file",)),
    "monthly": Key("outdoor climate, instead of a place", "monthly", keys=MONTHLY, required=("temperature",)),
    "indoor": Key("a named indoor condition, or temperature and humidity", "indoor", keys=INDOOR),
    "cooling": Key("whether the building is air-conditioned", "flag"),
    "exposure": Key("to weather", "exposure", keys=EXPOSURE),
    "building": Key("the building around it", "building", keys=BUILDING),
    "slope": Key("of a roof, as 4:12, 2 % or 18 deg", "slope"),
    "depth below grade": _value("of the part under review", "length"),
    "layers": Key("from the room outwards", "layers", keys=LAYER),
    "waivers": Key("findings that are accepted for a time", "waivers", keys=WAIVER, required=tuple(WAIVER)),
    "known": Key("what is known beyond the layers", "known", keys={k: _text(v) for k, v in STATEMENTS.items()}),
    "zones": Key("climate zones the detail is meant to hold in", "zones", ZONES),
    "notes": _text("anything else, kept for the report"),
    "expect": Key("what a review must come to, for sections that serve as tests", "expect", keys=EXPECT),
}  # fmt: skip
LOCATIONS: Final = ("place", "zone", "weather", "monthly")
"""Exactly one of these says where the section stands, or none."""


def section_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of a section file, for editors and other programs.

    It describes the file as YAML 1.2 reads it. The parser is wider in one way (it doesn't mind upper
    and lower case) and stricter in others (units, materials, dates that exist).

    >>> section_schema()["properties"]["kind"]["enum"]
    ['wall', 'roof', 'foundation wall', 'floor', 'slab']
    """
    schema = _map(SECTION, ("kind", "layers"))
    pairs = [(a, b) for i, a in enumerate(LOCATIONS) for b in LOCATIONS[i + 1 :]]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Section of a building enclosure",
        **schema,
        "allOf": [{"not": {"required": list(pair)}} for pair in pairs],
        "$defs": {"layer": _layer_schema()},
    }


def _map(keys: Mapping[str, Key], required: tuple[str, ...] = ()) -> dict[str, Any]:
    schema: dict[str, Any] = {
        "type": "object",
        "properties": {name: _key_schema(key) for name, key in keys.items()},
        "additionalProperties": False,
    }
    if required:
        schema["required"] = list(required)
    return schema


def _layer_schema() -> dict[str, Any]:
    text = {"type": "string", "minLength": 1, "description": "one layer in a few words"}
    as_map = _map(LAYER) | {
        "oneOf": [{"required": ["material"]}, {"required": ["space"]}],
        "dependentRequired": {"vents": ["space"]},
    }
    return {"oneOf": [text, as_map]}


_TEXT = {"type": ["string", "number"], "minLength": 1}
_WITH_UNIT = {"type": "string", "pattern": r"\d"}


def _several(item: dict[str, Any]) -> dict[str, Any]:
    return {"oneOf": [item, {"type": "array", "items": item}]}


def _key_schema(key: Key) -> dict[str, Any]:
    return {"description": key.about, **_form_schema(key)}


def _form_schema(key: Key) -> dict[str, Any]:
    example = f"such as {DIMENSIONS[key.dimension].example}" if key.dimension else ""
    twelve = {"oneOf": [_WITH_UNIT, {"type": "array", "items": _WITH_UNIT, "minItems": 12, "maxItems": 12}]}
    words: list[Any] = [*key.words, *(int(w) for w in key.words if w.isdigit())]
    match key.form:
        case "choice":
            return {"enum": words}
        case "flag":
            return {"enum": [True, False, "yes", "no"]}
        case "integer":
            return {"type": "integer", "minimum": key.low, "maximum": key.high}
        case "quantity" | "value":
            return {**_WITH_UNIT, "$comment": example}
        case "thickness":
            return {"anyOf": [_WITH_UNIT, {"const": "unknown"}], "$comment": example}
        case "twelve" | "one or twelve":
            return {**twelve, "$comment": example}
        case "permeance":
            return {"oneOf": [_WITH_UNIT, _map(key.keys)]}
        case "framing":
            return {
                "oneOf": [
                    {"type": "string", "minLength": 1},
                    _map(key.keys, ("material", "width", "spacing")),
                ]
            }
        case "roles":
            return _several({"enum": [*key.words, *(f"not {w}" for w in key.words)]})
        case "zones":
            return _several({"enum": words})
        case "place" | "weather":
            return {"oneOf": [_TEXT, _map(key.keys, key.required)]}
        case "indoor":
            return {"oneOf": [{"type": "string"}, _map(key.keys) | {"minProperties": 1}]}
        case "monthly":
            one = [{"required": ["vapor pressure"]}, {"required": ["humidity"]}]
            return _map(key.keys, key.required) | {"oneOf": one}
        case "exposure" | "building" | "known" | "expect":
            return _map(key.keys)
        case "layers":
            one_line = {"type": "string", "minLength": 1, "description": 'layers with " | " between them'}
            items = {
                "type": "array",
                "items": {"$ref": "#/$defs/layer"},
                "minItems": 1,
                "maxItems": MAX_LAYERS,
            }
            return {"oneOf": [one_line, items]}
        case "waivers":
            return {"type": "array", "items": _map(key.keys, key.required)}
        case "date":
            return {"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"}
        case "rule":
            return {"type": "string", "pattern": RULE_ID}
        case "rules":
            return {"type": "array", "items": {"type": "string", "pattern": RULE_ID}}
        case "id":
            return {"type": "string", "pattern": SECTION_ID}
        case "code":
            return {"type": "string", "pattern": CODE}
        case "slope":
            return {"type": ["string", "number"]}
        case "orientation" | "material" | "words" | "air changes":
            return {"type": "string", "minLength": 1}
        case _:
            return dict(_TEXT)


SECTION_ID: Final = r"^[A-Za-z0-9][A-Za-z0-9._/-]{0,99}$"
RULE_ID: Final = r"^[a-z0-9]+(-[a-z0-9]+)*/[a-z0-9]+(-[a-z0-9]+)*$"
CODE: Final = r"^(none|(IRC|IBC|IECC|NBC) \d{4})$"
