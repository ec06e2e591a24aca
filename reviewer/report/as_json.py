"""The result as JSON, and the JSON Schema that documents it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from reviewer.result import Result


def render(results: Sequence[Result]) -> str:
    """One result as an object, several as a list; keys in a fixed order."""
    found = [r.model_dump(mode="json", by_alias=True) for r in results]
    return json.dumps(found[0] if len(found) == 1 else found, indent=2, ensure_ascii=False) + "\n"


def result_schema() -> dict[str, Any]:
    schema = Result.model_json_schema(by_alias=True, mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
