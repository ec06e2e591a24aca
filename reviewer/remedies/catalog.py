"""What builders change: the stock changes of the data file, placed in a section."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from reviewer.document import Node, read_document
from reviewer.errors import InputError
from reviewer.facts.resolve import Properties
from reviewer.library import materials
from reviewer.model.write import write_layer
from reviewer.remedies.changes import WHOLE, Change
from reviewer.remedies.parts import PARTS, Here
from reviewer.units import Span, parse

INCH = 0.0254
FILE = os.path.join(os.path.dirname(__file__), "data", "changes.yaml")
ACTIONS = ("remove", "replace", "insert", "set", "fill", "swap", "turn")


@dataclass(frozen=True, slots=True)
class Work:
    """Something that is done to a section, in one go."""

    changes: tuple[Change, ...]
    """Places are those of the section's layers as it is."""
    says: tuple[str, str] = ("", "")
    """In words, for inch-pound and for SI readers; empty where the changes speak for themselves."""
    job: str = ""
    """Its name in the table of jobs; empty where it costs what its changes cost."""


@dataclass(frozen=True, slots=True)
class Stock:
    """One stock change as the data file has it."""

    kinds: tuple[str, ...]
    steps: tuple[Mapping[str, str], ...]
    single: bool
    """A change by itself: each layer that answers to its part makes a change of its own."""
    sizes: tuple[str, ...]
    says: str
    job: str
    only_with: str


@lru_cache(maxsize=1)
def data() -> Mapping[str, Any]:
    """The data file as plain values, every scalar a text."""
    return _plain(read_document(FILE))


def _plain(node: Node) -> Any:
    if node.kind == "map":
        return {name: _plain(value) for name, value in node.fields.items()}
    return [_plain(item) for item in node.items] if node.kind == "list" else node.text


_ABOUT = ("kinds", "sizes", "steps", "says", "job", "only with")


@lru_cache(maxsize=1)
def stock() -> tuple[Stock, ...]:
    """All stock changes, in the order of the file."""
    return tuple(
        Stock(
            tuple(row["kinds"]),
            tuple(row.get("steps") or [{k: v for k, v in row.items() if k not in _ABOUT}]),
            "steps" not in row,
            tuple(row.get("sizes", ())),
            row.get("says", ""),
            row.get("job", ""),
            row.get("only with", ""),
        )
        for row in data()["changes"]
    )


def stock_changes(here: Here) -> Iterator[Work]:
    """The stock changes that fit the section."""
    for row in stock():
        if here.section.kind not in row.kinds or (row.only_with and not PARTS[row.only_with](here)):
            continue
        for size in row.sizes or ("",):
            steps = [{k: v.replace("{size}", size) for k, v in step.items()} for step in row.steps]
            if row.single:
                for changes in _placed(steps[0], size, here):
                    yield Work(changes, (row.says, row.says), row.job)
                continue
            each = [list(_placed(step, size, here)) for step in steps]
            if all(each):
                every = tuple(c for found in each for changes in found for c in changes)
                yield Work(every, (row.says, row.says), row.job)


def _placed(said: Mapping[str, str], size: str, here: Here) -> Iterator[tuple[Change, ...]]:
    action = next(k for k in ACTIONS if k in said)
    if action == "turn" or (action == "set" and said["set"] in WHOLE):
        yield (dict(said),)
        return
    where = "inside of" if "inside of" in said else "outside of" if "outside of" in said else action
    for i in PARTS[said[where]](here):
        p = here.layers[i]
        if action == "swap":
            text = _swapped(p, said["with"])
            if text is not None:
                yield ({"replace": i, "with": text},)
        elif action == "fill":
            yield from _filled(p, said["with"], size)
        elif said.get("with", "").endswith(" as thick"):
            text = _swapped(p, said["with"].removesuffix(" as thick"))
            if text is not None:
                yield ({"replace": i, "with": text},)
        elif said.get("thickness") == "depth of framing":
            if p.layer.framing is not None and p.layer.framing.depth is not None:
                yield ({"set": i, "thickness": f"{p.layer.framing.depth / INCH:g} in"},)
        else:
            yield ({k: (i if k == where else v) for k, v in said.items()},)


def _swapped(p: Properties, name: str) -> str | None:
    """The same space filled with another material."""
    material = materials.load_materials()[name]
    if p.material is None or p.material.id == name or p.thickness is None:
        return None
    return write_layer(made_of(p, name, p.thickness)) if material else None


def made_of(p: Properties, name: str, thickness: float) -> Any:
    """A layer of another material at the same place, in the same framing."""
    return replace(
        p.layer, material=materials.load_materials()[name], name=name, thickness=Span(thickness, thickness),
        r_value=None, conductivity=None, permeance_dry=None, permeance_wet=None, density=None,
        overrides=frozenset(), note="", joints=None, condition=None,
    )  # fmt: skip


def foam_against_outer_face(p: Properties, name: str, d: float) -> tuple[Change, ...] | None:
    """Foam of a thickness (m) against the outer face of a framed cavity, the rest filled as before; None where that
    can't be built."""
    i = p.layer.index
    if p.layer.framing is None or p.thickness is None or p.has("foam plastic"):
        return None
    rest = p.thickness - d
    if rest < 0.01:
        return None
    sixteenths = round(rest / INCH * 16)
    if abs(sixteenths * INCH / 16 - rest) < 1e-6:
        rest = sixteenths / 16 * INCH
    # Each of the two fills its own part of the depth.
    p = replace(p, layer=replace(p.layer, framing=replace(p.layer.framing, depth=None)))
    fiber = replace(
        p.layer, thickness=Span(rest, rest), r_value=None, overrides=p.layer.overrides - {"r_value"}
    )
    try:
        return (
            {"replace": i, "with": write_layer(fiber)},
            {"insert": write_layer(made_of(p, name, d)), "outside of": i},
        )
    except InputError:
        return None


def _filled(p: Properties, name: str, size: str) -> Iterator[tuple[Change, ...]]:
    found = foam_against_outer_face(p, name, parse(size, "length").low)
    if found is not None:
        yield found
