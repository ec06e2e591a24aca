"""The JSON Schema of ruleset files agrees with the reader."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from reviewer.errors import InputError
from reviewer.rules.load import read_topic
from reviewer.rules.schema import ruleset_schema

VALIDATOR = jsonschema.Draft202012Validator(ruleset_schema())
RuleText = Callable[..., str]


def data(text: str) -> Any:
    """As an editor reads YAML 1.2: yes and no stay words."""
    return yaml.load(text, yaml.BaseLoader)


def test_it_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(ruleset_schema())


def test_it_takes_the_demonstration_pack(packs: Path) -> None:
    for path in packs.rglob("*.yaml"):
        VALIDATOR.validate(data(path.read_text()))
        VALIDATOR.validate(yaml.safe_load(path.read_text()))


@pytest.mark.parametrize(
    "keys",
    [
        "wen: []",
        "when: [{layr a: {}}]",
        "when: [{layer a: {permeance: known}}]",
        "applies to: {knd: wall}",
        "applies to: {kind: wall}\nany: [[{layer a: {}}]]",
        "applies to: {kind: wall}\ncites: hearsay",
        "applies to: {kind: wall}\ncites: [{document: IRC}]",
        "applies to: {kind: wall}\ndefeats: [t/x]",
        "applies to: {kind: wall}\nexamples: [{facts: []}]",
        "applies to: {kind: wall}\nexamples: [{fires: a, facts: [], section: {}}]",
        "applies to: {kind: wall}\nexamples: [{fires: a, facts: [{layr: {}}]}]",
        "applies to: {kind: wall}\nconclude: {fact: a}",
        "related: [t/x]",
    ],
)
def test_what_it_refuses_the_reader_refuses(rule_text: RuleText, keys: str) -> None:
    text = rule_text(keys)
    assert list(VALIDATOR.iter_errors(data(text)))
    with pytest.raises(InputError):
        read_topic(text, "t.yaml")
