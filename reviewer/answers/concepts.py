"""What is it: a concept in our own words, a material's figures with their sources, a property, or a rule."""

from __future__ import annotations

import os
import re
import shlex
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from reviewer.answers import phrases
from reviewer.answers.conversions import converted
from reviewer.answers.draft import Draft
from reviewer.citations import CERTAINTIES, COMMON_PRACTICE, KINDS, Citation
from reviewer.document import Node, Reader, read_document
from reviewer.errors import InputError, Problem, nearest
from reviewer.library.materials import find_material, normalize
from reviewer.names import shown_name
from reviewer.physics.vapor import retarder_class
from reviewer.units import show

if TYPE_CHECKING:
    from reviewer.library.types import Material
    from reviewer.review import Units

FILE = os.path.join(os.path.dirname(__file__), "data", "concepts.yaml")
_SENTENCE = re.compile(r"(?<=[.!?])\s+(?=[A-Z“\"])")
INCH = 0.0254


@dataclass(frozen=True, slots=True)
class Concept:
    """A short explanation."""

    id: str
    names: tuple[str, ...]
    """What people type for it, misspellings too."""
    shared_names: tuple[str, ...]
    """Names of layers, roles and rooms as well: they mean the explanation only where it is asked what they are."""
    says: str
    cites: tuple[Citation, ...]
    see: tuple[str, ...]
    """Other explanations, and rules."""
    demonstration: str
    """A command that computes the point."""
    look_at: str
    """A figure or phrase that stands in what it prints."""
    shows: str
    """What is to be seen there."""

    @property
    def name(self) -> str:
        return self.id.replace("-", " ")


_KEYS = ("id", "names", "shared names", "says", "cites", "see", "demonstration", "look at", "shows")
_CITATION = ("document", "edition", "clause", "kind", "certainty")


@lru_cache(maxsize=1)
def concepts() -> Mapping[str, Concept]:
    """All explanations by id, in the order of the file. Raises InputError for a file that is not in order."""
    reader = Reader()
    top = reader.map(read_document(FILE), ("concepts",), "the explanations", required=("concepts",))
    found = [_concept(reader, n) for n in reader.list(top.get("concepts"), "the explanations")]
    reader.finish()
    return {c.id: c for c in found}


def _concept(reader: Reader, node: Node) -> Concept:
    fields = reader.map(node, _KEYS, "an explanation", required=_KEYS)

    def text(key: str) -> str:
        return " ".join((reader.text(fields.get(key), f"“{key}”") or "").split())

    return Concept(
        text("id"),
        tuple(reader.texts(fields.get("names"), "the names")),
        tuple(reader.texts(fields.get("shared names"), "the shared names")),
        text("says"),
        tuple(citation(reader, n) for n in reader.list(fields.get("cites"), "the sources")),
        tuple(reader.texts(fields.get("see"), "what else to see")),
        text("demonstration"),
        text("look at"),
        text("shows"),
    )


def citation(reader: Reader, node: Node) -> Citation:
    """A source as the data files of answers write it: `common practice`, or a map. Problems are kept in the reader."""
    if node.kind == "scalar":
        reader.choice(node, ("common practice",), "the source")
        return COMMON_PRACTICE
    fields = reader.map(node, _CITATION, "a source", required=("document", "kind", "certainty"))
    words = {key: reader.text(fields[key], f"the {key}") or "" for key in _CITATION if key in fields}
    reader.choice(fields.get("kind"), KINDS, "the kind of source")
    reader.choice(fields.get("certainty"), CERTAINTIES, "the certainty")
    return Citation(**words)


def find_concept(name: str) -> Concept | None:
    """By id or by one of its names, however it is spelt."""
    found = concepts()
    if name in found:
        return found[name]
    return _by_name().get(normalize(name))


@lru_cache(maxsize=1)
def _by_name() -> Mapping[str, Concept]:
    out: dict[str, Concept] = {}
    for c in concepts().values():
        for n in (c.id, *c.names, *c.shared_names):
            out.setdefault(normalize(n), c)
    return out


def answer_what(draft: Draft) -> None:
    """`what is`. Raises InputError for a thing that is not held here."""
    s = draft.reading.subject
    draft.direction = "explanation"
    name = s.name if s is not None else ""
    sort = s.sort if s is not None else "concept"
    if s is not None and sort == "quantity":
        told, name = converted(s.name, s.position)
        _explained(draft, concepts()[name], told)
        return
    compared = _compared(draft)
    if sort in ("property", "material") and len(compared) > 1:
        _side_by_side(draft, compared)
        return
    if sort == "property":
        what, _, of = name.partition(" of ")
        material = find_material(of or what)
        if material is not None:
            _material(draft, material, what if of else "")
            return
        concept = find_concept(what)
    elif sort == "rule":
        _rule(draft, name)
        return
    else:
        concept = find_concept(name)
        material = find_material(name)
        if concept is None and material is not None:
            _material(draft, material, "")
            return
    found = concepts()
    if concept is None:
        if not name:
            raise InputError(
                Problem(
                    "it is not plain what is to be explained",
                    None,
                    "the name of a concept, a material or a rule",
                )
            )
        known = [*found, *(n for c in found.values() for n in (*c.names, *c.shared_names))]
        raise InputError(
            Problem(
                f'"{name}" is not explained here',
                None,
                "a concept, a material or a rule",
                nearest(name, known),
            )
        )
    _explained(draft, concept)


def _explained(draft: Draft, concept: Concept, told: str = "") -> None:
    """The explanation, after the sentence that is `told` first."""
    found = concepts()
    first, *rest = _SENTENCE.split(concept.says)
    draft.answer = told or phrases.stopped(first)
    draft.more = [" ".join([phrases.stopped(first), *rest] if told else rest)]
    draft.more.append(f"The command below shows it: look for “{concept.look_at}”, {concept.shows}.")
    beside = [found[n].name for n in concept.see if n in found]
    if beside:
        draft.more.append(f"Ask as well about {phrases.joined(beside)}.")
    draft.sources += list(dict.fromkeys(str(c) for c in concept.cites))
    draft.commands.append(concept.demonstration)
    draft.commands += [shlex.join(["reviewer", "rules", "show", n]) for n in concept.see if n not in found]


def _compared(draft: Draft) -> list[Material]:
    """The materials that a question names, each once."""
    ids = dict.fromkeys(w.reads for w in draft.reading.words if w.sort == "material")
    return [m for i in ids if (m := find_material(i)) is not None]


def _side_by_side(draft: Draft, materials: Sequence[Material]) -> None:
    """`Is EPS or XPS more vapor open?`: the figures of each."""
    units: Units = draft.desk.units or "ip"
    told = [
        f"{shown_name(m.id)} {' and '.join(t for t in (_vapor(m, units), _heat(m, units)) if t) or 'is held here without figures'}"
        for m in materials
    ]
    draft.answer = phrases.stopped(phrases.capitalized("; ".join(told)))
    for m in materials:
        draft.more += [m.note] if m.note else []
        draft.sources += [f"{m.id}: {c} ({c.certainty})" for c in dict.fromkeys(m.sources.values())][:2]
        draft.commands.append(shlex.join(["reviewer", "materials", "show", m.id]))


def _rule(draft: Draft, rule_id: str) -> None:
    rule = draft.desk.rules.rule(rule_id)
    draft.answer = phrases.stopped(rule.title)
    if rule.finding is not None:
        draft.more = [f"It is {phrases.a(rule.finding.severity)} finding: {rule.finding.reason}"]
    draft.sources += [str(c) for c in rule.cites]
    draft.commands.append(shlex.join(["reviewer", "rules", "show", rule_id]))


_WORDS = {
    "permeance": "permeance", "permeability": "permeance", "perm": "permeance", "perms": "permeance",
    "r-value": "r-value", "r value": "r-value", "resistance": "r-value", "thermal resistance": "r-value",
    "thickness": "thickness",
}  # fmt: skip


def _material(draft: Draft, m: Material, wanted: str) -> None:
    """A material's figures: vapor, heat, air, what it is for; with the source of each."""
    units: Units = draft.desk.units or "ip"
    vapor, heat = _vapor(m, units), _heat(m, units)
    name = phrases.capitalized(shown_name(m.id))
    asked = _WORDS.get(wanted.strip().lower(), "")
    told = {"permeance": vapor, "r-value": heat, "thickness": _thickness(m, units)}.get(asked)
    if wanted and not asked:
        draft.answer = f"The {wanted} of {shown_name(m.id)} is not held here; {vapor or heat or 'no figure of it is known'}."
        draft.direction = "explanation"
    elif asked and not told:
        draft.answer = f"No {wanted} of {shown_name(m.id)} is held here."
    else:
        draft.answer = f"{name} {told or vapor or heat or 'is held here without vapor or heat figures'}."
    for text in (vapor, heat, _thickness(m, units)):
        if text and text not in draft.answer:
            draft.more.append(f"It {text}.")
    family = f"It belongs to the {m.family} family"
    roles = f" and serves as {phrases.joined(sorted(m.roles))}" if m.roles else ""
    draft.more.append(f"{family}{roles}.")
    if m.note:
        draft.more.append(m.note)
    if m.mold_class:
        draft.more.append(f"Against mold it is {m.mold_class}.")
    seen: dict[str, None] = {}
    for attribute, c in m.sources.items():
        if attribute in (
            "permeability_dry",
            "permeance_dry",
            "conductivity",
            "thickness",
            "r_value",
            "air_permeance",
        ):
            seen.setdefault(f"{attribute.replace('_', ' ')}: {c} ({c.certainty})")
    draft.sources += list(seen)
    draft.commands.append(
        shlex.join(["reviewer", "materials", "show", m.id, *(["--units", units] if units != "ip" else [])])
    )
    shown = _demonstration(m)
    if shown:
        draft.commands.append(shown)


def _vapor(m: Material, units: Units) -> str:
    """`passes 0.75 perms dry and 2 perms damp at 7/16 in: Class II`."""
    dry, wet, at = m.permeance_dry, m.permeance_wet, ""
    if dry is None and m.permeability_dry is not None:
        thickness = m.thickness or INCH
        dry = m.permeability_dry / thickness
        wet = None if m.permeability_wet is None else m.permeability_wet / thickness
        at = f" at {show(thickness, 'length', units)}"
    if dry is None:
        return ""
    damp = (
        ""
        if wet is None
        else f" dry and {show(wet, 'permeance', units)} damp"
        if wet != dry
        else ", dry or damp"
    )
    found = retarder_class(dry)
    said = f"Class {found} by the dry cup" if found in ("I", "II", "III") else "no vapor retarder"
    return f"passes {show(dry, 'permeance', units)}{damp}{at}: {said}"


def _heat(m: Material, units: Units) -> str:
    if m.r_value is not None:
        return f"has a resistance of {show(m.r_value, 'thermal resistance', units)}"
    if m.conductivity is None:
        return ""
    if units == "ip":
        return f"has a resistance of {show(INCH / m.conductivity, 'thermal resistance', units)} an inch"
    return f"conducts {show(m.conductivity, 'thermal conductivity', units)}"


def _thickness(m: Material, units: Units) -> str:
    return "" if m.thickness is None else f"comes {show(m.thickness, 'length', units)} thick as a rule"


def _demonstration(m: Material) -> str:
    """A review of an ordinary wall that has it, where it has a place in one."""
    from reviewer.answers.elsewhere import ORDINARY
    from reviewer.remedies.changes import read

    parts: list[str] = list(ORDINARY.split(" | "))
    usual = [read(p).name for p in parts]
    if m.id in usual:
        pass
    elif "vapor control" in m.roles and "thermal control" not in m.roles:
        parts.insert(2, m.id)
    elif "sheathing" in m.roles:
        parts[3] = m.id
    elif "cladding" in m.roles:
        parts[-1] = m.id
    elif "water control" in m.roles:
        parts[4] = m.id
    elif "thermal control" in m.roles:
        parts.insert(5, f"2 in {m.id}")
    else:
        return ""
    return shlex.join(["reviewer", "review", " | ".join(parts), "--kind", "wall", "--place", "Chicago, IL"])
