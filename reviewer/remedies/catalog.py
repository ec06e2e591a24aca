"""What builders change: the stock changes of the data file, placed in a section."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from reviewer.document import Node, read_document
from reviewer.errors import InputError
from reviewer.facts.anatomy import Anatomy
from reviewer.facts.resolve import Properties
from reviewer.library import materials
from reviewer.model.section import Section
from reviewer.model.write import write_layer
from reviewer.physics.vapor import retarder_class
from reviewer.remedies.changes import Change
from reviewer.units import Span, parse

FILE = os.path.join(os.path.dirname(__file__), "data", "changes.yaml")
ACTIONS = ("remove", "replace", "insert", "set", "fill", "swap")


@dataclass(frozen=True, slots=True)
class Stock:
    """One stock change as the data file has it."""

    kinds: tuple[str, ...]
    fields: Mapping[str, str]
    sizes: tuple[str, ...]


@lru_cache(maxsize=1)
def data() -> Mapping[str, Any]:
    """The data file as plain values, every scalar a text."""
    return _plain(read_document(FILE))


def _plain(node: Node) -> Any:
    if node.kind == "map":
        return {name: _plain(value) for name, value in node.fields.items()}
    return [_plain(item) for item in node.items] if node.kind == "list" else node.text


@lru_cache(maxsize=1)
def stock() -> tuple[Stock, ...]:
    """All stock changes, in the order of the file."""
    return tuple(
        Stock(
            tuple(row["kinds"]),
            {k: v for k, v in row.items() if k not in ("kinds", "sizes")},
            tuple(row.get("sizes", ())),
        )
        for row in data()["changes"]
    )


def stock_changes(
    section: Section, layers: list[Properties], anatomy: Anatomy
) -> Iterator[tuple[Change, ...]]:
    """The stock changes that fit the section, each as the changes it takes one after the other."""
    for row in stock():
        if section.kind not in row.kinds:
            continue
        for size in row.sizes or ("",):
            said = {k: v.replace("{size}", size) for k, v in row.fields.items()}
            yield from _placed(said, size, layers, anatomy)


def _placed(
    said: Mapping[str, str], size: str, layers: list[Properties], a: Anatomy
) -> Iterator[tuple[Change, ...]]:
    action = next(k for k in ACTIONS if k in said)
    where = "inside of" if "inside of" in said else "outside of" if "outside of" in said else action
    for i in PARTS[said[where]](layers, a):
        if action == "swap":
            text = _swapped(layers[i], said["with"])
            if text is not None:
                yield ({"replace": i, "with": text},)
        elif action == "fill":
            yield from _filled(layers[i], i, said["with"], size)
        else:
            yield ({k: (i if k == where else v) for k, v in said.items()},)


def _swapped(p: Properties, name: str) -> str | None:
    """The same space filled with another material."""
    material = materials.load_materials()[name]
    if p.material is None or p.material.id == name or p.thickness is None:
        return None
    depth = Span(p.thickness, p.thickness)
    layer = replace(
        p.layer, material=material, name=name, thickness=depth, r_value=None, conductivity=None,
        permeance_dry=None, permeance_wet=None, density=None, overrides=frozenset(), note="", joints=None,
        condition=None,
    )  # fmt: skip
    return write_layer(layer)


def _filled(p: Properties, i: int, name: str, size: str) -> Iterator[tuple[Change, ...]]:
    """Foam against the outer face of a framed cavity, the rest filled as before."""
    if p.layer.framing is None or p.thickness is None or p.has("foam plastic"):
        return
    d = parse(size, "length").low
    rest = p.thickness - d
    if rest < 0.01:
        return
    material = materials.load_materials()[name]
    fiber = replace(
        p.layer, thickness=Span(rest, rest), r_value=None, overrides=p.layer.overrides - {"r_value"}
    )
    foam = replace(
        p.layer, material=material, name=name, thickness=Span(d, d), r_value=None, conductivity=None,
        permeance_dry=None, permeance_wet=None, density=None, overrides=frozenset(), note="", joints=None,
        condition=None,
    )  # fmt: skip
    try:
        yield ({"replace": i, "with": write_layer(fiber)}, {"insert": write_layer(foam), "outside of": i})
    except InputError:
        return


# -- parts of a section ----------------------------------------------------------------------------

_Part = Callable[[list[Properties], Anatomy], list[int]]


def _solid(layers: list[Properties]) -> list[Properties]:
    return [p for p in layers if not p.is_surroundings]


def _index(p: Properties | None) -> list[int]:
    return [] if p is None else [p.layer.index]


def _main(layers: list[Properties], a: Anatomy) -> list[int]:
    return [] if a.main is None else [a.main]


def _inner(layers: list[Properties], a: Anatomy) -> list[Properties]:
    return layers[: a.main] if a.main is not None else []


def _outer(layers: list[Properties], a: Anatomy) -> list[Properties]:
    return [p for p in layers[(a.main or -1) + 1 :] if not p.is_surroundings] if a.main is not None else []


def _finish(layers: list[Properties], a: Anatomy) -> list[int]:
    return _index(
        next((p for p in _inner(layers, a) if "interior finish" in p.roles and not p.has("coating")), None)
    )


def _unpainted(layers: list[Properties], a: Anatomy) -> list[int]:
    found = _finish(layers, a)
    return [] if any(p.has("coating") for p in _inner(layers, a)) else found


def _coating(layers: list[Properties], a: Anatomy) -> list[int]:
    return [p.layer.index for p in _inner(layers, a) if p.has("coating")]


def _retarder(layers: list[Properties], a: Anatomy) -> list[int]:
    inner = _inner(layers, a) or _solid(layers)
    return [
        p.layer.index
        for p in inner
        if (p.has("membrane") or p.has("coating"))
        and p.permeance_dry is not None
        and retarder_class(p.permeance_dry) in ("I", "II")
    ]


def _sheathing(layers: list[Properties], a: Anatomy) -> list[int]:
    outer = _outer(layers, a) or _solid(layers)
    return _index(next((p for p in reversed(outer) if "sheathing" in p.roles and not p.is_insulation), None))


def _sheet(layers: list[Properties], a: Anatomy) -> list[int]:
    return [
        p.layer.index
        for p in _outer(layers, a)
        if p.has("membrane") and "water control" in p.roles and "roof covering" not in p.roles
    ]


def _exterior_insulation(layers: list[Properties], a: Anatomy) -> list[int]:
    return [p.layer.index for p in _outer(layers, a) if p.is_insulation and p.layer.framing is None]


def _weather_face(layers: list[Properties], a: Anatomy) -> list[int]:
    """The outermost of sheet, sheathing and main insulation: what exterior insulation goes over."""
    if _exterior_insulation(layers, a):
        return []
    return (_sheet(layers, a)[-1:] or _sheathing(layers, a) or _main(layers, a))[:1]


def _cladding(layers: list[Properties], a: Anatomy) -> int | None:
    outer = [p for p in _solid(layers) if p.roles & {"cladding"}]
    return outer[-1].layer.index if outer else None


def _no_space(layers: list[Properties], a: Anatomy) -> list[int]:
    i = _cladding(layers, a)
    return [] if i is None or i == 0 or layers[i - 1].is_space else [i]


def _space(layers: list[Properties], a: Anatomy) -> list[int]:
    i = _cladding(layers, a)
    return [i - 1] if i and layers[i - 1].is_space and not layers[i - 1].ventilated else []


def _deck(layers: list[Properties], a: Anatomy) -> list[int]:
    return _sheathing(layers, a)


def _mass(layers: list[Properties], a: Anatomy) -> list[int]:
    heavy = [p for p in _solid(layers) if p.has("masonry") or p.has("concrete")]
    return _index(max(heavy, key=lambda p: p.thickness or 0.0, default=None))


def _bare_foam(layers: list[Properties], a: Anatomy) -> list[int]:
    first = next((p for p in layers if not p.has("coating")), None)
    return _index(first) if first is not None and first.has("foam plastic") else []


PARTS: Mapping[str, _Part] = {
    "main insulation": _main,
    "finish": _finish,
    "unpainted finish": _unpainted,
    "interior coating": _coating,
    "interior retarder": _retarder,
    "sheathing": _sheathing,
    "exterior sheet": _sheet,
    "exterior insulation": _exterior_insulation,
    "weather face": _weather_face,
    "cladding without a space": _no_space,
    "cladding space": _space,
    "roof deck": _deck,
    "mass": _mass,
    "bare foam": _bare_foam,
}
"""Words of the data file to the layers they mean, from the room."""
