"""The JSON Schema of a policy file, for editors and other programs."""

from __future__ import annotations

from typing import Any

from reviewer.gate.policy import FAIL_AT, OF_FILE, OF_FOLDER, SEVERITIES
from reviewer.model.schema import CODE, RULE_ID, WAIVER
from reviewer.model.section import ZONES

_TEXT = {"type": "string", "minLength": 1}
_FLAG = {"enum": [True, False, "yes", "no"]}


def _one_or_more(item: dict[str, Any]) -> dict[str, Any]:
    return {"oneOf": [item, {"type": "array", "items": item}]}


def policy_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of `reviewer.yaml`, as YAML 1.2 reads it.

    >>> policy_schema()["properties"]["fail at"]["enum"]
    ['serious', 'caution', 'note', 'never']
    """
    zones = [*ZONES, *(int(zone) for zone in ZONES if zone.isdigit())]
    rule = {"type": "string", "pattern": RULE_ID}
    keys: dict[str, dict[str, Any]] = {
        "root": {**_FLAG, "description": "look no further up for policies"},
        "rules": {**_one_or_more(_TEXT), "description": "folders of own packs, from this file on"},
        "packs": {**_one_or_more(_TEXT), "description": "packs whose findings count; all of them by default"},
        "leave out": {
            **_one_or_more(_TEXT),
            "description": "files and folders that are none of the library's: names, or patterns of paths from this file on",
        },
        "edition": {
            "type": "string",
            "pattern": CODE,
            "description": "code and edition that all sections are reviewed under, such as IRC 2021",
        },
        "units": {"enum": ["ip", "si"], "description": "inch-pound or SI"},
        "hourly": {**_FLAG, "description": "run the hourly simulation, too"},
        "zones": {
            **_one_or_more({"enum": zones}),
            "description": "climate zones that every detail here must hold in",
        },
        "office zones": {
            **_one_or_more({"enum": zones}),
            "description": "climate zones that the office builds in",
        },
        "fail at": {"enum": list(FAIL_AT), "description": "findings fail the run from this severity on"},
        "fail on incomplete": {**_FLAG, "description": "a section that too little is known of fails the run"},
        "severities": {
            "description": "severities raised or lowered, with the reason",
            "type": "array",
            "items": _closed({"rule": rule, "severity": {"enum": list(SEVERITIES)}, "reason": _TEXT}),
        },
        "never waive": {
            **_one_or_more({"type": "string", "pattern": rf"^hazards$|^[a-z0-9-]+/\*$|{RULE_ID}"}),
            "description": "what nobody may waive: hazards (the default), rules, or packs as pack/*",
        },
        "waivers": {
            "description": "findings that are accepted for a time, the last day included",
            "type": "array",
            "items": _closed(
                {
                    "section": {**_TEXT, "description": "id of the section, or a pattern of ids"},
                    **{name: {**_TEXT, "description": key.about} for name, key in WAIVER.items()},
                    "until": {
                        "type": "string",
                        "format": "date",
                        "pattern": r"^\d{4}-\d{2}-\d{2}$",
                        "description": WAIVER["until"].about,
                    },
                    "rule": {**rule, "description": WAIVER["rule"].about},
                }
            ),
        },
        "baseline": {**_TEXT, "description": "the file of known findings, from this file on"},
    }
    keys["folders"] = {
        "description": "what holds in single folders, over the rest of this file",
        "type": "object",
        "additionalProperties": {
            "type": "object",
            "properties": {name: keys[name] for name in OF_FOLDER},
            "additionalProperties": False,
        },
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Policy for a library of sections",
        "type": "object",
        "properties": {name: keys[name] for name in OF_FILE},
        "additionalProperties": False,
    }


def _closed(properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }
