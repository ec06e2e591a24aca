"""The questions of `cases/questions` as data: well-formed, in range of all that can be asked, and naming what exists.

What the program makes of them is scored elsewhere; nothing here reads or answers a question.
"""

from __future__ import annotations

import re
from collections import Counter
from functools import cache
from typing import get_args

import pytest

from reviewer.answers.concepts import concepts
from reviewer.document import Node, read_document
from reviewer.library.materials import load_materials
from reviewer.library.places import climate_for, find_place
from reviewer.library.zones import parse_zone
from reviewer.model.section import KINDS
from reviewer.reply import Direction, Intent, Status
from reviewer.review import load_rules
from reviewer.units import parse
from reviewer.workbench import shipped_questions_dir

FILES = sorted(shipped_questions_dir().rglob("*.yaml"))
KEYS = {"id", "voice", "text", "after", "read", "answer", "because"}
READ = {"intent", "kind", "place", "zone", "layers", "never", "subject"}
ANSWER = {"status", "direction", "choice", "amount", "rules", "concept", "asks"}
DIRECTIONS = {
    "safe here": {"yes", "no", "depends"},
    "need": {"yes", "no", "depends"},
    "leave out": {"yes", "no", "depends"},
    "add": {"yes", "no", "depends"},
    "how much": {"amount"},
    # `can I use X instead of Y` sets two side by side and asks whether one may take the place of the other.
    "which": {"choice", "depends", "yes", "no"},
    "cheapest": {"choice"},
    "what to use": {"choice"},
    "what is": {"explanation"},
    "why not always": {"explanation"},
    "what went wrong": {"explanation"},
}


@cache
def questions() -> dict[str, Node]:
    found: dict[str, Node] = {}
    for path in FILES:
        for node in read_document(path).items:
            name = node.fields["id"].text
            assert name not in found, f"{name} stands twice"
            found[name] = node
    return found


def texts(node: Node | None) -> list[str]:
    return [] if node is None else [n.text for n in node.items]


def either(node: Node) -> list[str]:
    """One word, or those that two readers of the text differ in."""
    return texts(node) if node.kind == "list" else [node.text]


def readings() -> list[tuple[str, dict[str, Node]]]:
    return [(name, r.fields) for name, q in questions().items() for r in q.fields["read"].items]


def answers() -> list[tuple[str, dict[str, Node]]]:
    return [(name, a.fields) for name, q in questions().items() for a in q.fields["answer"].items]


def test_every_question_has_a_name_a_voice_a_text_a_reading_an_answer_and_a_reason() -> None:
    for name, question in questions().items():
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name), name
        assert set(question.fields) <= KEYS, name
        for key in ("voice", "text", "because"):
            assert question.fields[key].text.strip(), (name, key)
        follows = question.fields.get("after")
        assert follows is None or follows.text in questions(), name
        read, answer = question.fields["read"].items, question.fields["answer"].items
        assert answer, name
        assert len(read) == len(answer) or not read, f"{name}: one answer for each question read"
        assert all(a.fields["status"].text != "answered" for a in answer) or read, name


def test_readings_name_intents_kinds_places_and_materials_that_exist() -> None:
    materials = load_materials()
    for name, read in readings():
        assert set(read) <= READ, name
        assert set(either(read["intent"])) <= set(get_args(Intent)), name
        if "kind" in read:
            assert read["kind"].text in KINDS, name
        assert not ("place" in read and "zone" in read), name
        if "place" in read:
            assert find_place(read["place"].text).name == read["place"].text, name
        if "zone" in read:
            assert read["zone"].quoted and parse_zone(read["zone"].text), name
        layers, never = texts(read.get("layers")), texts(read.get("never"))
        assert [m for m in (*layers, *never) if m not in materials] == [], name
        assert not set(layers) & set(never), name


def test_answers_fit_their_intents_and_name_rules_that_exist() -> None:
    rules = load_rules().rules
    for name, answer in answers():
        assert set(answer) <= ANSWER, name
        status = answer["status"].text
        assert status in get_args(Status), name
        assert [r for r in texts(answer.get("rules")) if r not in rules] == [], name
        assert ("asks" in answer) == (status == "asked back"), name
        assert ("direction" in answer) == (status == "answered"), name
        if "direction" in answer:
            direction = answer["direction"]
            assert set(either(direction)) <= set(get_args(Direction)), name
            for node in direction.items if direction.kind == "list" else [direction]:
                assert node.quoted or node.text not in ("yes", "no"), f"{name}: a quoted yes or no"
        if "amount" in answer:
            low, high = (answer["amount"].fields[k].text for k in ("low", "high"))
            kind = next(
                d for d in ("length", "thermal resistance", "permeance", "relative humidity") if _is(low, d)
            )
            assert parse(low, kind).low < parse(high, kind).high, name
    for name, question in questions().items():
        for read, answer in zip(question.fields["read"].items, question.fields["answer"].items, strict=False):
            if "direction" in answer.fields:
                allowed = set().union(*(DIRECTIONS[i] for i in either(read.fields["intent"])))
                assert set(either(answer.fields["direction"])) <= allowed, name


def test_concepts_that_explain_an_answer_exist() -> None:
    named = {answer["concept"].text for _, answer in answers() if "concept" in answer}
    assert len(named) >= 20
    assert sorted(named - set(concepts())) == []


def _is(text: str, dimension: str) -> bool:
    try:
        parse(text, dimension)
    except ValueError:
        return False
    return True


def test_the_questions_cover_all_that_can_be_asked() -> None:
    assert len(questions()) >= 200
    intents = Counter(i for _, read in readings() for i in either(read["intent"]))
    assert min(intents[i] for i in get_args(Intent)) >= 7, intents
    kinds = Counter(read["kind"].text for _, read in readings() if "kind" in read)
    assert min(kinds[k] for k in KINDS) >= 10, kinds
    zones = Counter(_zone(read) for _, read in readings())
    assert min(zones[z] for z in "12345678") >= 3, zones
    statuses = Counter(answer["status"].text for _, answer in answers())
    assert statuses["asked back"] >= 20, statuses
    assert statuses["referred"] + statuses["not understood"] >= 25, statuses
    assert len({q.fields["voice"].text for q in questions().values()}) >= 12


def _zone(read: dict[str, Node]) -> str:
    if "zone" in read:
        return read["zone"].text[0]
    if "place" in read:
        return climate_for(find_place(read["place"].text)).zones["2021"][0]
    return ""


@pytest.mark.parametrize("direction", ["yes", "no"])
def test_no_intent_has_one_answer_only(direction: str) -> None:
    found = Counter(
        intent
        for q in questions().values()
        for read, answer in zip(q.fields["read"].items, q.fields["answer"].items, strict=False)
        if "direction" in answer.fields and direction in either(answer.fields["direction"])
        for intent in either(read.fields["intent"])
    )
    assert min(found[i] for i in ("safe here", "need", "leave out", "add")) >= 4, found
