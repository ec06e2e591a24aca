"""The materials of the trade: generic products, what they are called, and where each figure comes from.

The data lie in `data/materials/`, one family a file, and every figure names its source in brackets::

    oriented strand board:
      aliases: osb, osb sheathing
      loosely: strand board
      conductivity: 0.13 W/(m K) [en12524]
      permeance: 0.5 to 1 perm dry, 1.5 to 3 perm wet [range]
      sorption: 0 % at 0 %, 6 % at 30 %, 15 % at 80 % [wood-handbook-products]

`loosely` lists names that say less than the material they are taken for, which a report must own up to.
`data/material_sources.yaml` says what a name in brackets is. A range is carried as its middle, and the
source says so. Rows become materials when they are asked for: a review needs ten of them, not all.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Final

from reviewer.citations import Citation
from reviewer.document import Node, read_document
from reviewer.library.types import FLAGS, ROLES, Curve, Material
from reviewer.units import Span, UnitError, parse

_DATA: Final = Path(__file__).parent / "data"

MOLD_CLASSES: Final = ("very sensitive", "sensitive", "medium resistant", "resistant")

_SCALARS: Final = {
    "conductivity": "thermal conductivity",
    "density": "density",
    "heat capacity": "specific heat capacity",
    "water absorption": "water absorption coefficient",
    "free saturation": "density",
    "porosity": "fraction",
    "thickness": "length",
    "r value": "thermal resistance",
    "air permeance": "air permeance",
    "emissivity": "fraction",
}
"""Key in the files to dimension; the field of `Material` is the key with underscores."""

_WORDS: Final = ("aliases", "loosely", "roles", "flags", "note")
_KEYS: Final = frozenset(
    (*_SCALARS, *_WORDS, "permeability", "permeance", "vapor by rh", "conductivity by temperature")
) | {"sorption", "service", "mold class"}
_EMISSIVITY: Final = 0.9
_EMISSIVITY_SOURCE: Final = Citation("ISO 6946", "2017", "emissivity of usual surfaces", "standard", "memory")


class _Library(Mapping[str, Material]):
    """Materials by id; a row is read into a `Material` when it is first asked for."""

    def __init__(self) -> None:
        self.sources = {
            name: Citation(**{key: value.text for key, value in node.fields.items()})
            for name, node in read_document(_DATA / "material_sources.yaml").fields.items()
        }
        self.rows: dict[str, tuple[str, Mapping[str, Node], Mapping[str, Node]]] = {}
        self.built: dict[str, Material] = {}
        for path in sorted((_DATA / "materials").glob("*.yaml")):
            top = read_document(path).fields
            defaults = top["defaults"].fields if "defaults" in top else {}
            for name, row in top["materials"].fields.items():
                if name in self.rows:
                    raise ValueError(f"{path.name}: {name} is in another family already")
                self.rows[name] = (top["family"].text, defaults, row.fields)

    def __getitem__(self, name: str) -> Material:
        if name not in self.built:
            family, defaults, row = self.rows[name]
            try:
                self.built[name] = _material(name, family, {**defaults, **row}, self.sources)
            except (ValueError, KeyError) as error:
                raise ValueError(f"material {name!r}: {error}") from error
        return self.built[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)


@cache
def load_materials() -> Mapping[str, Material]:
    """Every material by id, in the order of the families' files.

    >>> materials = load_materials()
    >>> materials["oriented strand board"].conductivity
    0.13
    >>> str(materials["oriented strand board"].sources["conductivity"])
    'DIN EN 12524 2000 thermal properties'

    Raises ValueError when a row of the data is wrong (a fault of the package, not of the user).
    """
    return _Library()


@cache
def aliases() -> Mapping[str, str]:
    """Every name that is understood, normalized (see `normalize`), to the id of its material.

    >>> aliases()["osb"], aliases()["oriented strand board"]
    ('oriented strand board', 'oriented strand board')
    """
    library = load_materials()
    assert isinstance(library, _Library)
    names: dict[str, str] = {}
    for name, (_, _, row) in library.rows.items():
        # Aliases are written in normal form in the data (tested), which saves a millisecond here.
        for alias in (name.replace("-", " "), *_listed(row.get("aliases")), *_listed(row.get("loosely"))):
            if names.setdefault(alias, name) != name:
                raise ValueError(f"{alias!r} names both {names[alias]} and {name}")
    return names


@cache
def loose_names() -> Mapping[str, str]:
    """Those of `aliases()` that say less than the material they are taken for: to be listed as assumptions.

    >>> loose_names()["roof membrane"], loose_names().get("epdm")
    ('epdm membrane', None)
    """
    library = load_materials()
    assert isinstance(library, _Library)
    return {
        alias: name for name, (_, _, row) in library.rows.items() for alias in _listed(row.get("loosely"))
    }


def find_material(text: str) -> Material | None:
    """The material that `text` names, or None. Case, plural, hyphens, spaces and British spelling don't
    matter; words are not guessed (see `nearest_materials`).

    >>> find_material("Fibreglass Batts").id
    'glass fiber batt'
    >>> find_material("glass") is not None, find_material("glas") is None
    (True, True)
    """
    name = aliases().get(normalize(text))
    return None if name is None else load_materials()[name]


def nearest_materials(text: str, n: int = 3) -> list[str]:
    """Ids of the `n` materials whose names come nearest to `text`, nearest first; none if none is near.

    >>> nearest_materials("gypsun board", 1)
    ['gypsum board']
    >>> nearest_materials("qqqq")
    []
    """
    import difflib

    wanted = normalize(text)
    words = set(wanted.split())
    matcher = difflib.SequenceMatcher(autojunk=False)
    matcher.set_seq2(wanted)
    best: dict[str, float] = {}
    for alias, name in aliases().items():
        matcher.set_seq1(alias)
        common = len(words & set(alias.split()))
        score = common / max(len(words), len(alias.split())) if common else 0.0
        if matcher.real_quick_ratio() > 0.72 and matcher.quick_ratio() > 0.72:
            alike = matcher.ratio()
            score = max(score, alike if alike > 0.72 else 0.0)
        if score >= 0.5:
            best[name] = max(score, best.get(name, 0.0))
    return sorted(best, key=lambda name: (-best[name], name))[:n]


_PHRASES: Final = {
    "aluminium": "aluminum",
    "asphaltic": "asphalt",
    "battings": "batt",
    "colour": "color",
    "drywalls": "drywall",
    "dry wall": "drywall",
    "fiber glass": "glass fiber",
    "fiberglass": "glass fiber",
    "foamboard": "foam board",
    "glass wool": "glass fiber",
    "glassfiber": "glass fiber",
    "grey": "gray",
    "gyp": "gypsum",
    "gypboard": "gypsum board",
    "hard board": "hardboard",
    "hardwoods": "hardwood",
    "housewrap": "house wrap",
    "kraft paper faced": "kraft faced",
    "mineralwool": "mineral wool",
    "mould": "mold",
    "moulded": "molded",
    "particle board": "particleboard",
    "ply wood": "plywood",
    "poly ethylene": "polyethylene",
    "poly iso": "polyiso",
    "polyethene": "polyethylene",
    "polythene": "polyethylene",
    "rock wool": "mineral wool",
    "slag wool": "mineral wool",
    "spray applied": "spray",
    "sprayed": "spray",
    "sprayfoam": "spray foam",
    "spunbond": "spun bonded",
    "spunbonded": "spun bonded",
    "stone wool": "mineral wool",
    "stuccoed": "stucco",
    "sulphate": "sulfate",
    "t and g": "tongue and groove",
    "terracotta": "terra cotta",
    "vapour": "vapor",
    "wall board": "wallboard",
    "wall paper": "wallpaper",
    "weather resistive": "water resistive",
    "wood fiberboard": "wood fiber board",
    "woodfiber": "wood fiber",
}
"""Spellings of one thing. Applied once, longest first, after hyphens are spaces and `fibre` is `fiber`."""
_PHRASE: Final = re.compile(
    r"\b(?:" + "|".join(sorted(map(re.escape, _PHRASES), key=lambda p: (-len(p), p))) + r")\b"
)
_POUND: Final = re.compile(
    r"(?:#|\bno\.? ?)(\d+)(?! ?(?:lb|pound))|\b((?:\d*[/.])?\d+) ?(?:#|lbs?\b|pounds?\b)"
)
_GLUED: Final = re.compile(r"\b(\d+)(mils?|ply|mm|in)\b")
_SEPARATOR: Final = re.compile(r"[^a-z0-9/.]+")
_NOT_PLURAL: Final = frozenset({"asbestos", "canvas", "douglas", "eifs"})


def normalize(text: str) -> str:
    """A name in the form in which names are compared.

    >>> normalize("Fibre-cement  Sidings"), normalize("#15 Felt"), normalize("6mil Poly")
    ('fiber cement siding', '15 lb felt', '6 mil poly')
    >>> normalize("Glass-fibre batts"), normalize("EPS boards"), normalize("Rock wool")
    ('glass fiber batt', 'eps board', 'mineral wool')
    """
    text = text.casefold().replace("fibre", "fiber").replace("'", "").replace("’", "").replace("&", " and ")
    if not (text.isascii() and text.replace(" ", "").isalpha()):
        text = _POUND.sub(lambda m: f" {m[1] or m[2]} lb ", text)
        text = _GLUED.sub(r"\1 \2", text)
        text = _SEPARATOR.sub(" ", text)
    words = text.split()
    return _PHRASE.sub(lambda m: _PHRASES[m[0]], " ".join(_singular(w.strip(".")) for w in words))


def _singular(word: str) -> str:
    if len(word) < 4 or not word.endswith("s") or word.endswith(("ss", "us", "is")) or word in _NOT_PLURAL:
        return word
    if word.endswith("ies"):
        return word[:-3] + "y"
    if word.endswith(("shes", "ches", "xes", "sses")):
        return word[:-2]
    return word[:-1]


def _listed(node: Node | None) -> list[str]:
    return [] if node is None else [part.strip() for part in node.text.split(",")]


_SOURCE: Final = re.compile(r"(?P<value>.+?)\s*\[(?P<source>[a-z0-9-]+)\]", re.DOTALL)
_STATES: Final = re.compile(
    r"(?P<dry>.+?) dry(?: \[(?P<dry_source>[a-z0-9-]+)\])?, (?P<wet>.+?) wet \[(?P<source>[a-z0-9-]+)\]"
)
_RANGE: Final = re.compile(r"\d[^,]* to \d")
_AT: Final = re.compile(r"(?P<y>.+?) at (?P<x>.+)")


def _material(name: str, family: str, row: Mapping[str, Node], sources: Mapping[str, Citation]) -> Material:
    unknown = sorted(set(row) - _KEYS)
    if unknown:
        raise ValueError(f"unknown key {unknown[0]!r}")
    cited: dict[str, Citation] = {"emissivity": _EMISSIVITY_SOURCE}

    def cite(field: str, value: str, name: str) -> None:
        if name not in sources:
            raise ValueError(f"{field}: unknown source {name!r}")
        source = sources[name]
        if _RANGE.search(value) and field != "service":
            clause = f"{value}, middle taken"
            source = replace(source, clause=f"{source.clause}; {clause}" if source.clause else f"({clause})")
        cited[field] = source

    def value(key: str) -> str | None:
        """The text of `key` without its source, which is noted."""
        if key not in row:
            return None
        m = _SOURCE.fullmatch(row[key].text)
        if not m:
            raise ValueError(f"{key}: no source in brackets")
        cite(key.replace(" ", "_"), m["value"], m["source"])
        return m["value"]

    def vapor(key: str) -> dict[str, float | None]:
        """Dry-cup and wet-cup value of `key`: "1 perm [x]", "1 perm dry, 2 perm wet [x]", or a source each."""
        if key not in row:
            return {f"{key}_dry": None, f"{key}_wet": None}
        m = _STATES.fullmatch(row[key].text) or _SOURCE.fullmatch(row[key].text)
        if not m:
            raise ValueError(f"{key}: no source in brackets")
        found = m.groupdict()
        amounts: dict[str, float | None] = {}
        for state in ("dry", "wet"):
            text = found.get(state) or found["value"]
            cite(f"{key}_{state}", text, found.get(f"{state}_source") or found["source"])
            amounts[f"{key}_{state}"] = _vapor_amount(key, text)
        return amounts

    scalars: dict[str, float | None] = {}
    for key, dimension in _SCALARS.items():
        text = value(key)
        scalars[key.replace(" ", "_")] = None if text is None else _quantity(key, text, dimension).middle
    amounts = vapor("permeability") | vapor("permeance")
    basis = "permeability" if amounts["permeability_dry"] is not None else "permeance"
    if amounts["permeability_dry"] is not None and amounts["permeance_dry"] is not None:
        raise ValueError("either a permeability or a permeance, not both")
    mold = value("mold class")
    if mold not in MOLD_CLASSES:
        raise ValueError(f"mold class: {mold!r} is not one of {', '.join(MOLD_CLASSES)}")
    emissivity = scalars.pop("emissivity")
    return Material(
        id=name,
        aliases=(*_listed(row.get("aliases")), *_listed(row.get("loosely"))),
        family=family,
        conductivity_by_temperature=_curve(
            "conductivity by temperature",
            value("conductivity by temperature"),
            "temperature",
            "thermal conductivity",
        ),
        vapor_by_rh=_curve("vapor by rh", value("vapor by rh"), "relative humidity", basis),
        sorption=_curve("sorption", value("sorption"), "relative humidity", "wood moisture"),
        service=_service(value("service")),
        mold_class=mold,
        emissivity=_EMISSIVITY if emissivity is None else emissivity,
        roles=_known("roles", _listed(row.get("roles")), ROLES),
        flags=_known("flags", _listed(row.get("flags")), FLAGS),
        sources=cited,
        note=row["note"].text if "note" in row else "",
        **scalars,
        **amounts,
    )


def _quantity(key: str, text: str, dimension: str) -> Span:
    try:
        return parse(text, dimension)
    except UnitError as error:
        raise ValueError(f"{key}: {error.message}, expected {error.expected}") from None


def _vapor_amount(key: str, text: str) -> float:
    """A permeance, or a permeability, which may also be told as a permeance "at" a thickness."""
    m = _AT.fullmatch(text)
    if not m or key == "permeance":
        return _quantity(key, text, key).middle
    return _quantity(key, m["y"], "permeance").middle * _quantity(key, m["x"], "length").middle


def _curve(key: str, text: str | None, along: str, of: str) -> Curve:
    """Points "y at x, y at x" with x rising."""
    points = []
    for part in [] if text is None else text.split(","):
        m = _AT.fullmatch(part.strip())
        if not m:
            raise ValueError(f"{key}: {part.strip()!r} is not a point, such as '12 % at 65 %'")
        points.append((_quantity(key, m["x"], along).middle, _quantity(key, m["y"], of).middle))
    if any(a[0] >= b[0] for a, b in pairwise(points)):
        raise ValueError(f"{key}: the points do not rise")
    return tuple(points)


def _service(text: str | None) -> tuple[float | None, float | None]:
    if text is None:
        return None, None
    if text.startswith("up to "):
        return None, _quantity("service", text[6:], "temperature").middle
    if text.startswith("from "):
        return _quantity("service", text[5:], "temperature").middle, None
    span = _quantity("service", text, "temperature")
    return span.low, span.high


def _known(key: str, words: list[str], known: tuple[str, ...]) -> frozenset[str]:
    for word in words:
        if word not in known:
            raise ValueError(f"{key}: unknown word {word!r}")
    return frozenset(words)
