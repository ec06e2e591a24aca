"""The report as JSON: one detail a line, so that a large library can be read line by line."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from reviewer.gate.record import Detail, LibraryRemark, StaleEntry, Tally
from reviewer.gate.report import Report

VERSION = 1


def render(report: Report) -> Iterator[str]:
    """Lines of one JSON object; keys in a fixed order."""
    head = {
        "schema": VERSION,
        "program": report.program,
        "rulebook": report.rulebook,
        "change": report.change,
    }
    yield json.dumps(head, ensure_ascii=False)[:-1] + ","
    yield f'"tally": {report.tally.model_dump_json()},'
    yield f'"failed": {json.dumps(report.status != 0)}, "status": {report.status},'
    yield from _array("details", report.lines())
    yield from _array("library", (r.model_dump_json() for r in report.library))
    yield from _array("stale", (s.model_dump_json() for s in report.stale), last=True)
    yield "}"


def _array(name: str, items: Iterator[str], last: bool = False) -> Iterator[str]:
    yield f'"{name}": ['
    before: str | None = None
    for item in items:
        if before is not None:
            yield before + ","
        before = item
    if before is not None:
        yield before
    yield "]" if last else "],"


def schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of the report."""
    parts: dict[str, Any] = {}
    references = {}
    for model in (Detail, LibraryRemark, StaleEntry, Tally):
        described = model.model_json_schema(mode="serialization", ref_template="#/$defs/{model}")
        parts |= described.pop("$defs", {})
        parts[model.__name__] = described
        references[model.__name__] = {"$ref": f"#/$defs/{model.__name__}"}
    properties = {
        "schema": {"const": VERSION},
        "program": {"type": "string"},
        "rulebook": {"type": "string"},
        "change": {"type": "string"},
        "tally": references["Tally"],
        "failed": {"type": "boolean"},
        "status": {"enum": [0, 1, 2]},
        "details": {"type": "array", "items": references["Detail"]},
        "library": {"type": "array", "items": references["LibraryRemark"]},
        "stale": {"type": "array", "items": references["StaleEntry"]},
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Report of a library of sections",
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
        "$defs": parts,
    }
