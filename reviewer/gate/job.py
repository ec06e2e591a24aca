"""One section file, reviewed at every place it must hold in. The same in this process, in a worker, on a cluster."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import fields, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from reviewer.document import parse_document
from reviewer.errors import InputError, Mark
from reviewer.gate.record import Found, Override, Record, Task, Verdict, WaiverLine
from reviewer.gate.rulebook import rulebook
from reviewer.gate.waivers import read_waivers
from reviewer.library.types import Material
from reviewer.model.override import override
from reviewer.model.parse import parse_section
from reviewer.model.section import Layer, Section
from reviewer.report import words
from reviewer.result import Finding, Result
from reviewer.review import review
from reviewer.units import show

AS_WRITTEN = "as written"
_NAMES_AND_REMARKS = frozenset(
    {"id", "title", "waivers", "zones_claimed", "file", "marks", "notes", "expect", "text", "mark", "note"}
    | {"assumed", "overrides"}
)
"""Fields of sections and layers in which two details may differ and still be the same."""
_OVERRIDES = {
    "conductivity": "thermal conductivity",
    "density": "density",
    "r_value": "thermal resistance",
    "permeance_dry": "permeance",
    "permeance_wet": "permeance",
}
_GRADED = "fibrous-insulation"
"""Made in several R-values of one thickness, so that these differ without contradicting each other."""


def review_task(task: Task) -> Record:
    """Review one file. Whatever is wrong with it is told in the record: nothing is raised.

    Raises InputError only when the rulebook itself can't be used.
    """
    rules = rulebook(task.rules)
    try:
        section, waivers = _read(task)
        places = places_of(section, task.zones)
        verdicts = []
        for at, placed in places:
            result = review(
                placed,
                rules,
                edition=task.edition,
                units=task.units,  # type: ignore[arg-type]
                hourly=task.hourly,
                brief=not task.facts,
            )
            facts = _facts(placed, result, task) if task.facts else {}
            verdicts.append(_verdict(at, result, facts))
        return Record(
            file=task.file,
            id=section.id,
            title=section.title,
            kind=section.kind,
            claims=list(section.zones_claimed),
            sameness=_digest(_plain(section)),
            layers=[layer.text or layer.name for layer in section.layers],
            overrides=[o for layer in section.layers for o in _overrides(layer)],
            waivers=waivers,
            verdicts=verdicts,
            reads=_reads(section),
        )
    except InputError as error:
        return Record(file=task.file, refused=[p.render() for p in error.problems])
    except Exception as error:
        # A defect of the program in one section must not take the verdicts on all others along.
        said = " ".join(str(error).split())
        return Record(file=task.file, failed=f"the review broke off ({type(error).__name__}: {said[:300]})")


def places_of(section: Section, zones: tuple[str, ...]) -> list[tuple[str, Section]]:
    """The section at every place it must hold in: where it stands, and in each zone that it claims or that
    is asked of it."""
    wanted = sorted({*section.zones_claimed, *zones})
    here = [(AS_WRITTEN, section)] if section.place is not None or not wanted else []
    return here + [(f"zone {zone}", override(section, zone=zone)) for zone in wanted]


def _read(task: Task) -> tuple[Section, list[WaiverLine]]:
    """The section, and its waivers: those are read apart, so that a malformed one doesn't hide the findings."""
    node = parse_document(task.content, task.file)
    given = node.fields.pop("waivers", None) if node.kind == "map" else None
    section = parse_section(node, task.file)
    waivers = read_waivers(given, task.file) if given is not None else []
    return replace(section, file=task.path or task.file), waivers


def _verdict(at: str, result: Result, facts: dict[str, tuple[str, str]]) -> Verdict:
    names = [layer.name for layer in result.layers]
    calculations = result.calculations
    return Verdict(
        at=at,
        place=result.climate.place,
        zone=result.climate.zone,
        edition=result.climate.edition,
        units=result.units,
        disposition=result.disposition,
        undecided=[m.rule for m in result.not_evaluated if m.decisive],
        u_value=calculations.get("u_value"),
        r_value=calculations.get("r_value"),
        findings=[_found(f, names, bool(facts)) for f in result.findings],
        facts=facts,
    )


def _found(f: Finding, names: list[str], with_facts: bool) -> Found:
    return Found(
        rule=f.rule,
        severity=f.severity,
        hazard=f.hazard,
        title=f.title,
        explanation=f.explanation,
        reason=f.reason,
        confidence=f.confidence,
        voice=f.voice,
        path=structural_path(names, f.layers),
        layers=f.layers,
        line=f.line,
        margin=f.margin,
        authority=words.citations(f),
        remedies=[r.text for r in f.remedies],
        rests_on=[_fact_name(*_split(e.fact), names) for e in f.evidence] if with_facts else [],
    )


def structural_path(names: list[str], layers: list[int]) -> str:
    """Where a finding stands, in names of layers: it stays when a coat of paint is added at the other side.

    >>> structural_path(["paint", "gypsum board", "batt", "gypsum board"], [1, 3])
    'gypsum board/gypsum board[2]'
    >>> structural_path(["paint"], [])
    ''
    """
    return "/".join(_nth(names, i) for i in layers if i < len(names))


def _nth(names: list[str], index: int) -> str:
    before = names[:index].count(names[index])
    return names[index] + (f"[{before + 1}]" if before else "")


def _overrides(layer: Layer) -> list[Override]:
    material = layer.material
    if material is None:
        return []
    found = []
    thickness = layer.thickness.low if layer.thickness is not None else None
    for name, dimension in _OVERRIDES.items():
        span = getattr(layer, name)
        if span is None or (name == "r_value" and material.family == _GRADED):
            continue
        low = show(span.low, dimension, "si", 4)
        shown = low if span.exact else f"{low} to {show(span.high, dimension, 'si', 4)}"
        of = None if name in ("conductivity", "density") else thickness
        found.append(
            Override(
                material=material.id,
                property=name.replace("_", " "),
                thickness=of,
                low=span.low,
                high=span.high,
                shown=shown,
                line=layer.mark.line or None,
            )
        )
    return found


def _plain(value: Any) -> Any:
    kind = type(value)
    if value is None or kind in (str, float, int, bool):
        return value
    if kind is Material:
        return value.id
    if kind is Mark:
        return None
    if kind is frozenset:
        return sorted(value)
    if isinstance(value, (tuple, list)):
        return [_plain(v) for v in value]
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    return {name: _plain(getattr(value, name)) for name in _telling(kind)}


@lru_cache(maxsize=64)
def _telling(kind: type) -> tuple[str, ...]:
    """The fields of a part of a section in which two details that are the same can't differ."""
    return tuple(f.name for f in fields(kind) if f.name not in _NAMES_AND_REMARKS)


def _digest(value: Any) -> str:
    return hashlib.sha256(json.dumps(value, sort_keys=True).encode()).hexdigest()


def _reads(section: Section) -> dict[str, str]:
    if section.place is None or section.place.weather is None:
        return {}
    path = Path(section.file).parent / section.place.weather
    return {section.place.weather: hashlib.sha256(path.read_bytes()).hexdigest()}


# -- facts, for comparing two reviews ------------------------------------------------------------


def _facts(section: Section, result: Result, task: Task) -> dict[str, tuple[str, str]]:
    """Every value of the book of facts, by a name that doesn't change when layers move."""
    from reviewer.facts.build import build
    from reviewer.facts.vocabulary import KINDS

    names = [layer.name for layer in result.layers]
    book = build(section, task.edition, hourly=task.hourly)[0]
    out: dict[str, tuple[str, str]] = {}
    for record in book.records:
        for name, value in record.fields.items():
            spec = KINDS[record.kind].fields[name]
            if spec.dimension == "index" or name in ("index", "inner", "outer", "text"):
                continue
            label = f"{record.label}: {spec.meaning}"
            if record.kind == "layer":
                label = f"{_nth(names, int(record.id.split(':')[1]))}: {spec.meaning}"
            shown = words.value(value, spec.dimension, result.units)
            origin = record.origin(name).origin
            out[_fact_name(record.id, name, names)] = (label, f"{shown} ({origin})")
    return out


def _split(fact: str) -> tuple[str, str]:
    """`layer 3 permeance_wet` to the id of the fact and the name of its field."""
    record, _, name = fact.rpartition(" ")
    kind, _, key = record.partition(" ")
    return (f"{kind}:{key}" if key else kind), name


def _fact_name(record: str, name: str, names: list[str]) -> str:
    kind, _, key = record.partition(":")
    numbers = key.split("-")
    if kind in ("layer", "joint", "pair") and all(n.isdigit() and int(n) < len(names) for n in numbers):
        at = [int(n) for n in numbers]
        if kind == "joint":
            at = [at[0] - 1, at[0]]
        key = structural_path(names, at)
    return f"{kind} {key} {name}" if key else f"{kind} {name}"
