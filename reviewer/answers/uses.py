"""What builders put in for a job, placed in a section: what a choice is made from where the question names none."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from reviewer.document import read_document
from reviewer.facts.build import build
from reviewer.library.types import ROLES
from reviewer.model.section import Layer, Section
from reviewer.remedies.changes import read
from reviewer.remedies.parts import PARTS, Here, here_of
from reviewer.units import Span

FILE = os.path.join(os.path.dirname(__file__), "data", "uses.yaml")
_POSITIONS = ("inside of", "outside of", "replace", "fill", "known")


@dataclass(frozen=True, slots=True)
class Use:
    """One way of doing a job, as the data file has it."""

    role: str
    kinds: tuple[str, ...]
    how: str
    """inside of, outside of, replace, fill, or known."""
    at: str
    """A part of a section, in the words of `reviewer.remedies.parts`, or a role; for `known`, a statement."""
    replaces: str
    """What goes when it comes."""
    texts: tuple[str, ...]


@lru_cache(maxsize=1)
def uses() -> tuple[Use, ...]:
    """All of them, in the order of the file."""
    found = []
    for row in read_document(FILE).fields["uses"].items:
        f = row.fields
        how = next(k for k in _POSITIONS if k in f)
        found.append(
            Use(
                f["role"].text,
                tuple(n.text for n in f["kinds"].items),
                how,
                f[how].text,
                f["takes the place of"].text if "takes the place of" in f else "",
                tuple(n.text for n in f["with"].items),
            )
        )
    return tuple(found)


def for_role(role: str, kind: str, position: str = "") -> list[Use]:
    """The ways of doing a job in a kind of section; `outside` asks for insulation outside, `between
    framing` for what fills the members."""
    wanted = {"thermal control": "insulation"}.get(role, role)
    if wanted == "insulation" and position == "outside":
        wanted = "exterior insulation"
    found = [u for u in uses() if u.role == wanted and kind in u.kinds]
    if position == "between framing":
        return [u for u in found if u.at == "framed cavity"]
    return [u for u in found if u.at != "framed cavity"]


def placed(found: Sequence[Use], section: Section, edition: str = "") -> list[tuple[str, Section]]:
    """Each thing with the section that has it, in the order of the data; what does not fit is left out.

    Raises InputError as `build`.
    """
    book, layers, _, anatomy, _ = build(section, edition)
    here = here_of(section, book, layers, anatomy)
    out: dict[str, Section] = {}
    for use in found:
        if use.how == "known":
            for text in use.texts:
                label = f"{text} as {use.role}" if text != "none" else f"no {use.role}"
                out.setdefault(label, replace(section, known={**section.known, use.at: text}))
            continue
        at = _places(use.at, here)
        gone = set(_places(use.replaces, here)) if use.replaces else set()
        for text in use.texts:
            for i in at[:1]:
                out.setdefault(
                    text, _made(section, use.how, i, text, gone - {i} if use.how != "fill" else gone)
                )
    return list(out.items())


def _places(part: str, here: Here) -> list[int]:
    """Layers that a part of a section, or a role, means."""
    if part in PARTS:
        return [i for i in PARTS[part](here) if i >= 0]
    if part in ROLES:
        return [p.layer.index for p in here.layers if part in p.roles][-1:]
    raise ValueError(f"{part!r} is no part of a section")


def _made(section: Section, how: str, at: int, text: str, gone: set[int]) -> Section:
    layers: list[Layer] = []
    for x in section.layers:
        if how == "inside of" and x.index == at:
            layers.append(read(text))
        if x.index == at and how == "fill":
            layers.append(filled(x, text))
        elif x.index == at and how == "replace":
            layers.append(read(text))
        elif x.index not in gone:
            layers.append(x)
        if how == "outside of" and x.index == at:
            layers.append(read(text))
    return replace(section, layers=tuple(replace(x, index=n) for n, x in enumerate(layers)))


def filled(old: Layer, text: str) -> Layer:
    """The same cavity filled with another material."""
    new = read(text)
    depth = old.thickness
    if depth is None and old.framing is not None and old.framing.depth is not None:
        depth = Span(old.framing.depth, old.framing.depth)
    framed = "" if old.framing is None else ", framed as before"
    return replace(new, thickness=depth, framing=old.framing, text=f"{text}{framed}", position=old.position)
