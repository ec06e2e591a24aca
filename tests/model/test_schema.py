"""The JSON Schema of section files, against the reference implementation of JSON Schema in Python
(`jsonschema`, draft 2020-12; seen: it is run here)."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from reviewer.document import Node, read_document
from reviewer.errors import InputError
from reviewer.model import schema
from reviewer.model.parse import load_section

FOLDER = Path(__file__).parent
GOOD = sorted((FOLDER / "good").glob("*.yaml"))
VALIDATOR = Draft202012Validator(schema.section_schema(), format_checker=Draft202012Validator.FORMAT_CHECKER)


def yaml12(node: Node):
    """A tree as YAML 1.2's core schema resolves it, which is what editors see."""
    if node.kind == "map":
        return {name: yaml12(value) for name, value in node.fields.items()}
    if node.kind == "list":
        return [yaml12(item) for item in node.items]
    text = node.text
    if node.quoted:
        return text
    if text in ("", "~", "null"):
        return None
    if text in ("true", "false"):
        return text == "true"
    if re.fullmatch(r"[-+]?\d+", text):
        return int(text)
    return float(text) if re.fullmatch(r"[-+]?(\.\d+|\d+(\.\d*)?)([eE][-+]?\d+)?", text) else text


def faults(path: Path) -> list[str]:
    return [e.message for e in VALIDATOR.iter_errors(yaml12(read_document(path)))]


def test_it_is_a_schema():
    Draft202012Validator.check_schema(schema.section_schema())


@pytest.mark.parametrize("path", GOOD, ids=[p.stem for p in GOOD])
def test_good_files_are_valid_for_the_schema_and_for_the_parser(path):
    assert faults(path) == []
    assert load_section(path).layers


REJECTED = [
    "a-list",
    "a-text",
    "no-kind",
    "no-layers-key",
    "layers-without-value",
    "layers-empty-list",
    "layers-a-map",
    "kind-misspelt",
    "unknown-key",
    "place-and-zone",
    "zone-that-is-none",
    "place-without-a-name",
    "cooling-maybe",
    "indoor-without-units",
    "indoor-eleven-months",
    "monthly-without-moisture",
    "exposure-misspelt",
    "stories-not-a-number",
    "year-nan",
    "stories-infinite",
    "code-without-edition",
    "airtightness-without-unit",
    "known-misspelt",
    "zones-claimed-wrong",
    "id-with-a-space",
    "waiver-without-expiry",
    "waiver-date-in-words",
    "waiver-without-reason",
    "waiver-not-a-rule",
    "framing-incomplete",
    "vents-on-a-material",
    "neither-material-nor-space",
    "both-material-and-space",
    "layer-a-list",
    "layer-empty",
    "layer-key-misspelt",
    "layer-key-without-value",
    "r-value-bare",
    "joints-misspelt",
    "roles-misspelt",
    "too-many-layers",
    "several-at-once",
    "infinite-thickness",
]


@pytest.mark.parametrize("name", REJECTED)
def test_the_schema_rejects_what_the_parser_rejects_for_its_form(name):
    assert faults(FOLDER / "broken" / f"{name}.yaml")


def test_the_schema_has_every_key_of_the_table_and_a_description_of_each():
    made = schema.section_schema()
    assert set(made["properties"]) == set(schema.SECTION)
    layer = made["$defs"]["layer"]["oneOf"][1]
    assert set(layer["properties"]) == set(schema.LAYER)

    def check(keys):
        for name, key in keys.items():
            assert key.about, name
            check(key.keys)

    check(schema.SECTION)
    assert all(p["description"] for p in made["properties"].values())


@pytest.mark.parametrize("key", [k for k, v in schema.LAYER.items() if v.form == "choice"])
def test_words_of_the_schema_are_the_words_of_the_parser(key, tmp_path):
    layer = "{space: air, %s}" if key == "vents" else "{material: plywood, %s}"
    for word in (*schema.LAYER[key].words, "zzz"):
        path = tmp_path / "f.yaml"
        path.write_text(f"kind: wall\nlayers:\n  - {layer % f'{key}: {word}'}\n", encoding="utf-8")
        try:
            accepted = bool(load_section(path).layers)
        except InputError:
            accepted = False
        assert accepted == (faults(path) == []) == (word != "zzz")
