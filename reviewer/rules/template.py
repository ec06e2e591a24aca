"""Message templates: `{alias.field}`, `{alias.field|si}`, `{alias.field|ip}`, `{{` and `}}`."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from reviewer.engine.types import Fact, Value
from reviewer.facts.vocabulary import KINDS
from reviewer.names import shown_name
from reviewer.units import SYSTEMS, show

_SLOT = re.compile(r"\{\{|\}\}|\{([^{}]*)\}|[{}]")
_INSIDE = re.compile(r"\s*([A-Za-z_][A-Za-z0-9_-]*)\.([A-Za-z_][A-Za-z0-9_]*)\s*(?:\|\s*([a-z]*)\s*)?")

UNKNOWN = "unknown"
"""What a value that is not known is shown as."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A place in a template that a value goes to."""

    alias: str
    field: str
    system: str
    """`ip`, `si`, or empty: the reader's."""
    offset: int
    """Where it stands in the source text."""
    length: int


@dataclass(frozen=True, slots=True)
class Template:
    text: str
    """As written."""
    parts: tuple[str | Slot, ...]

    def slots(self) -> Iterator[Slot]:
        return (p for p in self.parts if isinstance(p, Slot))


class TemplateError(ValueError):
    def __init__(self, message: str, offset: int, length: int, expected: str):
        super().__init__(message)
        self.message, self.offset, self.length, self.expected = message, offset, length, expected


def parse_template(text: str) -> Template:
    """Read a template.

    >>> [p if isinstance(p, str) else f"<{p.alias} {p.field} {p.system}>"
    ...  for p in parse_template("{a.r_value|si} of {{R}}").parts]
    ['<a r_value si>', ' of {R}']

    Raises TemplateError: a brace alone, or something else than alias.field inside braces.
    """
    parts: list[str | Slot] = []
    literal = ""
    end = 0
    for m in _SLOT.finditer(text):
        literal += text[end : m.start()]
        end = m.end()
        if m[0] in ("{{", "}}"):
            literal += m[0][0]
            continue
        inside = _INSIDE.fullmatch(m[1]) if m[1] is not None else None
        if inside is None:
            alone = m[1] is None
            raise TemplateError(
                f'a "{m[0]}" stands alone' if alone else f'"{m[0]}" is not a value',
                m.start(),
                len(m[0]),
                f'"{m[0]}{m[0]}" for the brace itself' if alone else '"{alias.field}"',
            )
        system = inside[3] or ""
        if inside[3] is not None and system not in SYSTEMS:
            raise TemplateError(
                f'"{system}" is not a unit system', m.start(), len(m[0]), '"|si" or "|ip" after the field'
            )
        if literal:
            parts.append(literal)
        literal = ""
        parts.append(Slot(inside[1], inside[2], system, m.start(), len(m[0])))
    literal += text[end:]
    if literal:
        parts.append(literal)
    return Template(text, tuple(parts))


def show_value(
    value: Value | None,
    dimension: str,
    system: str,
    layer_name: Callable[[int], str] = lambda index: f"layer {index + 1}",
) -> str:
    """One value of a fact for people; the place of a layer is shown as the layer's name.

    >>> show_value(5.721349e-11, "permeance", "ip"), show_value(None, "permeance", "ip")
    ('1 perm', 'unknown')
    """
    if value is None:
        return UNKNOWN
    if isinstance(value, str) or dimension in ("word", "text"):
        return shown_name(str(value))
    if dimension == "index":
        return layer_name(int(value))
    return show(value, dimension, system)


def render(
    template: Template,
    bindings: Mapping[str, Fact],
    system: str,
    layer_name: Callable[[int], str] = lambda index: f"layer {index + 1}",
) -> str:
    """The text with values in the reader's units; values that are not known read `unknown`."""
    out: list[str] = []
    for part in template.parts:
        if isinstance(part, str):
            out.append(part)
            continue
        fact = bindings.get(part.alias)
        if fact is None:
            out.append(UNKNOWN)
            continue
        field = KINDS[fact.kind].fields[part.field]
        out.append(
            show_value(fact.fields.get(part.field), field.dimension, part.system or system, layer_name)
        )
    return "".join(out)
