"""JSON Schema (draft 2020-12) of ruleset files, for editors; made from the vocabulary and the language."""

from __future__ import annotations

from typing import Any

from reviewer.citations import CERTAINTIES
from reviewer.citations import KINDS as CITATION_KINDS
from reviewer.facts.vocabulary import KINDS, Field
from reviewer.rules.language import CONFIDENCES, SEVERITIES, VOICES
from reviewer.rules.load import FINDING_KEYS, FINDING_REQUIRED, RULE_KEYS, TOPIC_KEYS

_TEXT = {"type": "string", "minLength": 1}
_SCALAR = {"type": ["string", "number", "boolean"]}
"""What YAML editors make of a plain scalar."""
_YES_NO = {"enum": ["yes", "no", True, False]}
_KEBAB = "[a-z0-9]+(-[a-z0-9]+)*"
_ID = {"type": "string", "pattern": f"^{_KEBAB}/{_KEBAB}$"}
_IDS = {"anyOf": [_ID, {"type": "array", "items": _ID}]}
_ALIAS = "[A-Za-z_][A-Za-z0-9_-]*"


def ruleset_schema() -> dict[str, Any]:
    """The schema of one ruleset file."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Ruleset file",
        "description": "A topic of a pack of rules for the review of building-enclosure sections.",
        "type": "object",
        "required": list(TOPIC_KEYS),
        "additionalProperties": False,
        "properties": {
            "pack": {
                "type": "string",
                "pattern": f"^{_KEBAB}$",
                "description": "The pack, its folder's name.",
            },
            "topic": {**_TEXT, "description": "The topic, a few words."},
            "about": {**_TEXT, "description": "One sentence for the rulebook's index."},
            "rules": {"type": "array", "items": {"$ref": "#/$defs/rule"}},
        },
        "$defs": {
            "rule": _rule(),
            "finding": _finding(),
            "conclusion": _conclusion(),
            "remedy": _remedy(),
            "citation": _citation(),
            "conditions": {"type": "array", "items": {"$ref": "#/$defs/condition"}},
            "condition": _condition(),
            "example": _example(),
            "fact": _fact(),
            **{f"tests on {kind}": _tests(kind) for kind in KINDS},
        },
    }


def _rule() -> dict[str, Any]:
    properties: dict[str, Any] = {
        "id": {**_ID, "description": "The pack, a slash, and lower-case words joined by hyphens."},
        "title": _TEXT,
        "applies to": {
            "$ref": "#/$defs/tests on section",
            "description": "Tests on the section; all must hold.",
        },
        "when": {"$ref": "#/$defs/conditions", "description": "Conditions; all must hold."},
        "any": {
            "type": "array",
            "minItems": 2,
            "items": {"$ref": "#/$defs/conditions"},
            "description": "Lists of conditions; one of them must hold too.",
        },
        "finding": {"$ref": "#/$defs/finding"},
        "conclude": {"$ref": "#/$defs/conclusion"},
        "cites": {
            "anyOf": [{"$ref": "#/$defs/citation"}, {"type": "array", "items": {"$ref": "#/$defs/citation"}}]
        },
        "defeats": {**_IDS, "description": "Rules whose findings are dropped when this one fires."},
        "defeats because": _TEXT,
        "symptom of": {**_IDS, "description": "Rules under whose finding this one is shown."},
        "related": _IDS,
        "examples": {"type": "array", "items": {"$ref": "#/$defs/example"}},
    }
    assert tuple(properties) == RULE_KEYS
    return {
        "type": "object",
        "required": ["id", "title"],
        "additionalProperties": False,
        "properties": properties,
        "anyOf": [{"required": ["applies to"]}, {"required": ["when"]}, {"required": ["any"]}],
        "oneOf": [{"required": ["finding"]}, {"required": ["conclude"]}],
        "dependentRequired": {"defeats": ["defeats because"], "defeats because": ["defeats"]},
    }


def _finding() -> dict[str, Any]:
    template = {
        **_TEXT,
        "description": "Values come in as {alias.field}, {alias.field|si} or {alias.field|ip}.",
    }
    properties: dict[str, Any] = {
        "severity": {"enum": list(SEVERITIES)},
        "reason": {**_TEXT, "description": "Why it is this severe, one sentence."},
        "confidence": {"enum": list(CONFIDENCES)},
        "voice": {"enum": list(VOICES)},
        "hazard": _YES_NO,
        "layers": {
            "anyOf": [_TEXT, {"type": "array", "items": _TEXT}],
            "description": "Aliases of layers, or alias.field that holds the place of one.",
        },
        "says": template,
        "explanation": template,
        "margin": template,
        "do": {"type": "array", "items": {"$ref": "#/$defs/remedy"}},
        "one per": {**_TEXT, "description": "section, or the alias of a layer (default: per set of layers)."},
    }
    assert tuple(properties) == FINDING_KEYS
    return {
        "type": "object",
        "required": list(FINDING_REQUIRED),
        "additionalProperties": False,
        "properties": properties,
    }


def _conclusion() -> dict[str, Any]:
    places = {name: _TEXT for name in KINDS["concluded"].fields if name != "name"}
    return {
        "type": "object",
        "required": ["fact"],
        "additionalProperties": False,
        "properties": {"fact": {**_TEXT, "description": "The name of the conclusion."}, **places},
    }


def _remedy() -> dict[str, Any]:
    def change(required: list[str], **properties: Any) -> dict[str, Any]:
        return {"required": required, "properties": properties, "additionalProperties": False}

    where = {"insert": _TEXT, "inside of": _TEXT, "outside of": _TEXT}
    return {
        "type": "object",
        "required": ["text"],
        "additionalProperties": False,
        "properties": {
            "text": _TEXT,
            "change": {
                "type": "object",
                "anyOf": [
                    change(["remove"], remove=_TEXT),
                    change(["replace", "with"], replace=_TEXT, **{"with": _TEXT}),
                    change(["insert"], **where),
                    {"required": ["set"], "minProperties": 2, "additionalProperties": _SCALAR},
                ],
            },
        },
    }


def _citation() -> dict[str, Any]:
    return {
        "anyOf": [
            {"const": "common practice"},
            {
                "type": "object",
                "required": ["document", "kind", "certainty"],
                "additionalProperties": False,
                "properties": {
                    "document": _TEXT,
                    "edition": _SCALAR,
                    "clause": _SCALAR,
                    "kind": {"enum": list(CITATION_KINDS)},
                    "certainty": {"enum": [c for c in CERTAINTIES if c != "given"]},
                },
            },
        ]
    }


def _condition() -> dict[str, Any]:
    return {
        "type": "object",
        "minProperties": 1,
        "maxProperties": 1,
        "additionalProperties": False,
        "patternProperties": {
            f"^(not +)?{kind}( +{_ALIAS})?$": {
                "anyOf": [{"$ref": f"#/$defs/tests on {kind}"}, {"type": "null"}]
            }
            for kind in KINDS
        },
    }


def _tests(kind: str) -> dict[str, Any]:
    return {
        "type": "object",
        "description": f"Tests on {KINDS[kind].meaning}.",
        "additionalProperties": False,
        "properties": {
            name: {**_SCALAR, "description": _described(f)} for name, f in KINDS[kind].fields.items()
        },
    }


def _described(field: Field) -> str:
    if field.words:
        return f"{field.meaning} ({', '.join(field.words)})"
    return f"{field.meaning} ({field.dimension})"


def _example() -> dict[str, Any]:
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            "fires": {**_TEXT, "description": "A case that the rule must fire on; its name."},
            "silent": {
                **_TEXT,
                "description": "A case, a near miss, that the rule must be silent on; its name.",
            },
            "facts": {"type": "array", "items": {"$ref": "#/$defs/fact"}},
            "section": {"type": "object", "description": "The keys of a section file."},
        },
        "allOf": [
            {"oneOf": [{"required": ["fires"]}, {"required": ["silent"]}]},
            {"oneOf": [{"required": ["facts"]}, {"required": ["section"]}]},
        ],
    }


def _fact() -> dict[str, Any]:
    def values(kind: str) -> dict[str, Any]:
        fields = KINDS[kind].fields
        return {
            "type": ["object", "null"],
            "additionalProperties": False,
            "properties": {name: {**_SCALAR, "description": _described(f)} for name, f in fields.items()},
        }

    return {
        "type": "object",
        "minProperties": 1,
        "maxProperties": 1,
        "additionalProperties": False,
        "properties": {kind: values(kind) for kind in KINDS},
    }
