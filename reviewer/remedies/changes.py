"""Changes to a section: exact, typed, frozen.

A change is data as rules write it: `{"remove": 2}`, `{"replace": 5, "with": "1/2 in plywood"}`,
`{"insert": "house wrap, taped", "outside of": 4}`, `{"set": 4, "joints": "taped"}`,
`{"set": "building", "ventilation": "exhaust"}`, `{"turn": "layers"}`; numbers are places of layers from the room, from 0. A `Draft`
is a section with changes made; each of its layers knows which layer of the original it was, so that the same
changes can be made in the section's file.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from reviewer.errors import InputError, Mark, Problem
from reviewer.model.parse import parse_layer, parse_section
from reviewer.model.schema import BUILDING, LAYER, STATEMENTS
from reviewer.model.section import Building, Indoor, Layer, Section
from reviewer.model.write import same_layer, write_layer

Change = Mapping[str, Any]

WHOLE = ("building", "section", "indoor")
"""What `set` may speak of besides layers."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One layer of a draft."""

    text: str
    """In the one-string form of section files."""
    origin: int | None = None
    """Place in the original section; None for a new layer."""
    sets: tuple[tuple[str, str], ...] = ()
    """Keys set on the original layer, when that is all that was changed."""
    replaced: bool = False


@dataclass(frozen=True, slots=True)
class Setting:
    """A statement beside the layers."""

    part: str
    """One of WHOLE; `known` for statements."""
    key: str
    value: str


@dataclass(frozen=True, slots=True)
class Draft:
    """A section with changes made."""

    original: Section
    entries: tuple[Entry, ...]
    settings: tuple[Setting, ...] = ()
    turned: bool = False
    """The list is written the other way round."""

    @property
    def key(self) -> tuple[tuple[str, ...], tuple[Setting, ...]]:
        """Drafts of one section with the same key are the same section."""
        return tuple(e.text for e in self.entries), self.settings

    def place_of(self, origin: int) -> int | None:
        """Where a layer of the original stands now; None when it is gone."""
        return next((n for n, e in enumerate(self.entries) if e.origin == origin), None)


def draft_of(section: Section) -> Draft:
    """A section before any change."""
    return Draft(section, tuple(Entry(layer.text, layer.index) for layer in section.layers))


def apply(change: Change, draft: Draft) -> Draft:
    """The draft with one more change; places are those of the draft's layers.

    >>> from reviewer.model.parse import section_from_line
    >>> d = draft_of(section_from_line("latex paint | 1/2 in gypsum board | house wrap", kind="wall"))
    >>> [e.text for e in apply({"set": 1, "joints": "taped"}, apply({"remove": 0}, d)).entries]
    ['1/2 in gypsum board', 'house wrap, taped']

    Raises InputError: a layer that isn't there, a text or a value that can't be read.
    """
    entries = list(draft.entries)
    if "remove" in change:
        at = _at(change["remove"], entries)
        if len(entries) == 1:
            raise InputError(Problem("the only layer can't be removed", None, "a section of two layers"))
        del entries[at]
    elif "replace" in change:
        at = _at(change["replace"], entries)
        read(str(change["with"]))
        entries[at] = Entry(str(change["with"]), entries[at].origin, (), entries[at].origin is not None)
    elif "insert" in change:
        inside = "inside of" in change
        at = _at(change["inside of" if inside else "outside of"], entries)
        read(str(change["insert"]))
        entries.insert(at if inside else at + 1, Entry(str(change["insert"])))
    elif "turn" in change:
        return replace(draft, entries=draft.entries[::-1], turned=not draft.turned)
    elif change.get("set") in WHOLE:
        settings = draft.settings
        for key, value in change.items():
            if key != "set":
                settings = _with(settings, _setting(str(change["set"]), key, str(value)))
        return replace(draft, settings=settings)
    else:
        at = _at(change.get("set"), entries)
        for key, value in change.items():
            if key != "set":
                entries[at] = _set(entries[at], key, str(value), draft.original)
    return replace(draft, entries=tuple(entries))


def _at(place: object, entries: list[Entry]) -> int:
    if not isinstance(place, int) or not 0 <= place < len(entries):
        shown = place + 1 if isinstance(place, int) else place
        raise InputError(Problem(f"there is no layer {shown} to change", None, f"layers 1 to {len(entries)}"))
    return place


def _set(entry: Entry, key: str, value: str, original: Section) -> Entry:
    """A layer with one of its keys set."""
    if entry.origin is not None and not entry.sets and not entry.replaced:
        layer = original.layers[entry.origin]
    else:
        layer = read(entry.text)
    text = with_key(layer, key, value)
    if entry.origin is None or entry.replaced:
        return replace(entry, text=text)
    kept = tuple(pair for pair in entry.sets if pair[0] != key)
    return replace(entry, text=text, sets=(*kept, (key, value)))


def with_key(layer: Layer, key: str, value: str) -> str:
    """The text of a layer with one of its keys set, and nothing else changed.

    >>> with_key(parse_layer("house wrap, lapped"), "joints", "taped")
    'house wrap, taped'
    >>> with_key(parse_layer("3/4 in air space"), "vents", "top and bottom")
    '3/4 in air space, top and bottom'

    Raises InputError: no such key, or a value that can't be read.
    """
    if key not in LAYER or key in ("material", "space"):
        raise InputError(Problem(f'"{key}" can\'t be set on a layer', None, "a key of a layer"))
    return _with_key(write_layer(layer), layer.text, key, value)


_NOWHERE = Mark("", 0, 1)
_FIELDS: Mapping[str, dict[str, Any]] = {
    "permeance": {"permeance_dry": None, "permeance_wet": None},
    "roles": {"roles": frozenset(), "not_roles": frozenset()},
    "note": {"note": ""},
}


@lru_cache(maxsize=4096)
def _with_key(words: str, written: str, key: str, value: str) -> str:
    base = write_layer(replace(read(words), **_FIELDS.get(key, {key: None})))
    said = f"{base}; {key} = {value.replace(';', ';;')}"
    wanted = read(said)
    fresh = base == words
    for text in (
        *((f"{written}, {value}", f"{written}; {key} = {value}") if fresh else ()),
        f"{base}, {value}",
    ):
        try:
            if same_layer(read(text), wanted):
                return text
        except InputError:
            continue
    return said


@lru_cache(maxsize=8192)
def read(text: str) -> Layer:
    """One layer from its text, kept for the next time. Raises InputError."""
    return replace(parse_layer(text), mark=_NOWHERE)


def _setting(part: str, key: str, value: str) -> Setting:
    setting = Setting("known" if part == "section" and key in STATEMENTS else part, key, value)
    _read_setting(setting)
    return setting


def _with(settings: tuple[Setting, ...], new: Setting) -> tuple[Setting, ...]:
    kept = [s for s in settings if (s.part, s.key) != (new.part, new.key)]
    return tuple(sorted([*kept, new], key=lambda s: (s.part, s.key)))


@lru_cache(maxsize=512)
def _read_setting(setting: Setting) -> Section:
    """A section that says nothing but the setting. Raises InputError."""
    said = {setting.key: setting.value}
    top = said if setting.part == "section" else {setting.part: said}
    return parse_section(json.dumps({"kind": "wall", "layers": ["latex paint"], **top}), "<change>")


def section_of(draft: Draft) -> Section:
    """The section that a draft stands for; layers that were not touched are the original's.

    >>> from reviewer.model.parse import section_from_line
    >>> d = draft_of(section_from_line("latex paint | 1/2 in gypsum board", kind="wall"))
    >>> d = apply({"set": "building", "ventilation": "balanced"}, apply({"insert": "house wrap", "outside of": 1}, d))
    >>> [layer.name for layer in section_of(d).layers], section_of(d).building.ventilation
    (['latex paint', 'gypsum board', 'house wrap'], 'balanced')
    """
    original = draft.original
    section = replace(original, layers=tuple(_layer(e, n, original) for n, e in enumerate(draft.entries)))
    for s in draft.settings:
        said = _read_setting(s)
        if s.part == "known":
            section = replace(section, known={**section.known, **said.known})
        elif s.part == "building":
            section = replace(section, building=_merged(section.building, said.building))
        elif s.part == "indoor":
            assert said.indoor is not None
            section = replace(section, indoor=_indoor(section.indoor, said.indoor))
        else:
            name = s.key.replace(" ", "_")
            section = replace(section, **{name: getattr(said, name)})
    return section


def _merged(given: Building, said: Building) -> Building:
    return replace(given, **{name: v for name in BUILDING if (v := getattr(said, name)) is not None})


def _indoor(given: Indoor | None, said: Indoor) -> Indoor:
    if given is None:
        return said
    return replace(
        given,
        name=said.name or given.name,
        temperature=said.temperature or given.temperature,
        humidity=said.humidity or given.humidity,
    )


def _layer(entry: Entry, index: int, original: Section) -> Layer:
    if entry.origin is not None:
        layer = original.layers[entry.origin]
        if not entry.replaced and not entry.sets:
            return layer if layer.index == index else replace(layer, index=index)
        return replace(read(entry.text), index=index, mark=layer.mark)
    return replace(read(entry.text), index=index)
