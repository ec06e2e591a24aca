"""Ruleset files: what is refused, where, and with which hint."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from reviewer.errors import InputError, Problem
from reviewer.rules.language import Rule
from reviewer.rules.load import read_topic
from reviewer.rules.values import Reference

RuleText = Callable[..., str]

WHEN = """
when:
  - layer tight: {permeance_wet: "<= 1 perm"}
  - layer wet: {holds_water: yes, index: "> tight.index"}
"""
CONCLUDE = "conclude: {fact: it dries}"


def problems_of(text: str) -> list[Problem]:
    with pytest.raises(InputError) as caught:
        read_topic(text, "t.yaml")
    return list(caught.value.problems)


def marked(problem: Problem) -> str:
    """The text that a problem's mark covers."""
    assert problem.mark is not None
    mark = problem.mark
    return mark.text[mark.column - 1 : mark.column - 1 + mark.length]


def finding(**changed: str | None) -> str:
    """A finding's YAML, keys changed or (None) left out."""
    keys: dict[str, str | None] = {
        "severity": "caution",
        "reason": "It may fail.",
        "confidence": "low",
        "voice": "rule of thumb",
        "says": "It fails",
        "explanation": "It rots.",
    }
    keys |= {k.replace("_", " "): v for k, v in changed.items()}
    return "finding:\n" + "\n".join(f"  {k}: {v}" for k, v in keys.items() if v is not None)


CORPUS = [
    # keys of the rule, the head (None: a plain finding), message, marked text, nearest
    ("wen: []", None, '"wen" is not a key of a rule', "wen", "when"),
    ("applies to: {kind: wal}", None, "is not a word of this field", "wal", "wall"),
    ("applies to: {knd: wall}", None, '"knd" is not a field of a section fact', "knd", "kind"),
    ("applies to: wall", None, "the tests on a section are a plain text", "wall", ""),
    ("title: again\nwhen: []", None, '"title" is given twice', "title", ""),
    ("when: []", None, 'the rule "t/r" has no conditions', None, ""),
    ("related: []", None, 'the rule "t/r" has no conditions', None, ""),
    ("when: [layer]", None, "this is not a condition", "layer", ""),
    ("when: [{layer a: {}, layer b: {}}]", None, "this is not a condition", "{layer a: {}, layer b: {}}", ""),
    ("when: [{layr a: {}}]", None, 'there is no kind of fact "layr"', "layr a", "layer"),
    ("when: [{layer a b: {}}]", None, "is not the head of a condition", "layer a b", ""),
    ("when: [{layer 2: {}}]", None, '"2" is not an alias', "layer 2", ""),
    ("when: [{layer pair: {}}]", None, '"pair" is a kind of fact', "layer pair", ""),
    ("when: [{climate c: {}}]", None, "there is only one climate fact", "climate c", ""),
    ("when: [{layer a: {}}, {layer a: {}}]", None, 'the alias "a" is bound twice', "layer a", ""),
    (
        "when: [{layer a: {permeance: known}}]",
        None,
        "is not a field of a layer fact",
        "permeance",
        "permeance_wet",
    ),
    ('when: [{layer a: {permeance_wet: "<= 1 prem"}}]', None, "is not a unit of permeance", "1 prem", "perm"),
    ('when: [{layer a: {permeance_wet: "<= 1 in"}}]', None, "is not a unit of permeance", "1 in", ""),
    ('when: [{layer a: {index: "> inner.index"}}]', None, 'there is no alias "inner"', "inner.index", ""),
    (
        'when: [{layer inner: {}}, {layer a: {index: "> iner.index"}}]',
        None,
        'there is no alias "iner"',
        "iner.index",
        "inner",
    ),
    ('when: [{layer a: {index: "> b.index"}}, {layer b: {}}]', None, "bound further down", "b.index", ""),
    (
        'when: [{layer a: {}}, {layer b: {index: "> a.indx"}}]',
        None,
        '"indx" is not a field of a layer fact',
        "a.indx",
        "index",
    ),
    (
        'when: [{layer a: {}}, {layer b: {r_value: "> a.permeance_wet"}}]',
        None,
        "is of the dimension permeance, this field is of the dimension thermal resistance",
        "a.permeance_wet",
        "",
    ),
    (
        'when: [{layer a: {}}, {layer b: {}}, {not layer c: {index: "> a.index and < b.index"}}]',
        None,
        "compares with 2 others",
        "not layer c",
        "",
    ),
    ("when: [{concluded c: {layer: known}}]", None, "does not say which conclusion", "concluded c", ""),
    (
        "when: [{statement: {about: over hang}}]",
        None,
        "nobody can state anything about",
        "over hang",
        "overhang",
    ),
    ("any: [[{layer a: {}}]]", None, '"any" has one alternative', "[[{layer a: {}}]]", ""),
    ("any: [[], [{layer a: {}}]]", None, "this alternative is empty", "[]", ""),
    ("any: [[{layer a: {}}], [{layer b: {}}]]", finding(layers="[a]"), "in some alternatives only", "a", ""),
    (
        "when: [{layer a: {coats: 1 or 2 or 3 or 4}}, {layer b: {coats: 1 or 2 or 3 or 4}},"
        " {layer c: {coats: 1 or 2 or 3 or 4, months_humid: 1 or 2}}]",
        None,
        "the rule has 128 alternatives",
        "t/r",
        "",
    ),
    # heads
    (WHEN, "cites: common practice", 'the rule "t/r" says nothing', None, ""),
    (WHEN, finding() + "\n" + CONCLUDE, "a finding or a conclusion, not both", "conclude", ""),
    (WHEN, finding(reason=None), 'a finding has no "reason"', None, ""),
    (WHEN, finding(severity="severe"), "the severity can't be", "severe", ""),
    (WHEN, finding(severity="seriuos"), "the severity can't be", "seriuos", "serious"),
    (WHEN, finding(confidence="sure"), "the confidence can't be", "sure", ""),
    (WHEN, finding(voice="calculaton"), "the voice can't be", "calculaton", "calculation"),
    (WHEN, finding(hazard="perhaps"), "is neither yes nor no", "perhaps", ""),
    (WHEN, finding(severity="note", hazard="yes"), "a hazard can't be a note", "note", ""),
    (WHEN, finding(layers="[tigt]"), 'there is no alias "tigt"', "tigt", "tight"),
    (WHEN, finding(layers="[tight.name]"), '"tight.name" is a text', "tight.name", ""),
    ("when: [{pair p: {}}]", finding(layers="[p]"), '"p" is a pair, not a layer', "p", ""),
    (WHEN, finding(one_per="wett"), "findings can't be merged by", "wett", "wet"),
    (WHEN, finding(says='"{tigt.name} fails"'), 'there is no alias "tigt"', "{tigt.name}", "tight"),
    (WHEN, finding(says='"{tight.nme} fails"'), "is not a field of a layer fact", "{tight.nme}", "name"),
    (WHEN, finding(says='"a { b"'), 'a "{" stands alone', "{", ""),
    (
        WHEN,
        finding(explanation="|\n    It rots.\n    In {tight.plce}."),
        "is not a field",
        "{tight.plce}",
        "",
    ),
    (
        WHEN,
        finding(do="[{text: A, change: {delete: tight}}]"),
        '"delete" is not a change',
        "{delete: tight}",
        "",
    ),
    (WHEN, finding(do="[{text: A, change: {replace: tight}}]"), "does not say with what", "tight", ""),
    (WHEN, finding(do="[{text: A, change: {insert: foam}}]"), "does not say where", "foam", ""),
    (WHEN, finding(do="[{text: A, change: {remove: foil}}]"), 'there is no alias "foil"', "foil", ""),
    (WHEN, finding(do="[{text: A, change: {set: tight}}]"), '"set" does not say what', "tight", ""),
    (WHEN, finding(do="[{text: A, change: {remove: tight, with: b}}]"), "does not go with", "b", ""),
    (WHEN, "conclude: {layer: wet}", 'a conclusion has no "fact"', None, ""),
    (WHEN, "conclude: {fact: dry, place: wet}", '"place" is not a key of a conclusion', "place", "layer"),
    (WHEN, "conclude: {fact: dry, layer: wett}", 'there is no alias "wett"', "wett", "wet"),
    (WHEN, CONCLUDE + "\nsymptom of: [t/x]", "a conclusion is not a symptom", "symptom of", ""),
    # sources and other rules
    (WHEN + "cites: comon practice", None, "the source can't be", "comon practice", "common practice"),
    (WHEN + "cites: [{document: IRC}]", None, 'a citation has no "kind"', "{document: IRC}", ""),
    (
        WHEN + "cites: [{document: IRC, kind: law, certainty: seen}]",
        None,
        "the kind of source can't be",
        "law",
        "",
    ),
    (
        WHEN + "cites: [{document: IRC, kind: code, certainty: memry}]",
        None,
        "the certainty can't be",
        "memry",
        "memory",
    ),
    (WHEN + "defeats: [t/x]", None, '"defeats" has no reason', "defeats", ""),
    (WHEN + "defeats because: So.", None, "the reason of no defeat", "defeats because", ""),
    (WHEN + "related: [t/r]", None, "can't name itself", "t/r", ""),
    (WHEN + "related: [t/x, t/x]", None, "is named twice", "t/x", ""),
    # examples
    (WHEN + "examples: [{facts: []}]", None, "says whether the rule fires", "{facts: []}", ""),
    (WHEN + "examples: [{fires: a}]", None, "an example has one case", "{fires: a}", ""),
    (WHEN + "examples: [{fires: a, facts: [wall]}]", None, "this is not a fact", "wall", ""),
    (WHEN + "examples: [{fires: a, facts: [{layr: {}}]}]", None, "no kind of fact", "layr", "layer"),
    (
        WHEN + "examples: [{fires: a, facts: [{layer: {idx: 1}}]}]",
        None,
        "is not a key of a layer fact",
        "idx",
        "index",
    ),
    (
        WHEN + "examples: [{fires: a, facts: [{layer: {permeance_wet: 1}}]}]",
        None,
        "has no unit",
        "1",
        "",
    ),
    (
        WHEN + "examples: [{fires: a, facts: [{layer: {index: 1}}, {layer: {index: 1}}]}]",
        None,
        'there are two facts "layer:1"',
        "layer",
        "",
    ),
    (WHEN + "examples: [{silent: a, section: a wall}]", None, "the section is not a map", "a wall", ""),
]


@pytest.mark.parametrize(
    ("keys", "head", "message", "text", "near"), CORPUS, ids=[str(n) for n in range(len(CORPUS))]
)
def test_what_is_wrong_is_said_where_it_stands(
    rule_text: RuleText, keys: str, head: str | None, message: str, text: str | None, near: str
) -> None:
    source = rule_text(keys) if head is None else rule_text(keys, head)
    found = [p for p in problems_of(source) if message in p.message]
    assert found, "\n".join(p.render() for p in problems_of(source))
    assert found[0].mark is not None and found[0].mark.file == "t.yaml"
    if text is not None:
        assert marked(found[0]) == text
    assert found[0].nearest == near
    assert found[0].expected or message.startswith("there is no alias")


@pytest.mark.parametrize(
    ("text", "message", "near"),
    [
        ("pack: t\ntopic: T\nrules: []\n", 'a ruleset file has no "about"', ""),
        ("pack: t\ntopic: T\nabout: A.\nrule: []\n", '"rule" is not a key of a ruleset file', "rules"),
        ("pack: T t\ntopic: T\nabout: A.\nrules: []\n", "is not a name of a pack", ""),
        ("- a\n", "a ruleset file is a list", ""),
        ("pack: t\ntopic: T\nabout: A.\nrules: [a]\n", "a rule is a plain text", ""),
        (
            "pack: t\ntopic: T\nabout: A.\nrules: [{id: u/r, title: A}]\n",
            'the id "u/r" is of another pack',
            "",
        ),
        ("pack: t\ntopic: T\nabout: A.\nrules: [{id: t_r, title: A}]\n", '"t_r" is not an id', ""),
        ("pack: t\npack: u\n", '"pack" is given twice', ""),
    ],
)
def test_a_file_that_is_no_ruleset_is_refused(text: str, message: str, near: str) -> None:
    found = [p for p in problems_of(text) if message in p.message]
    assert found
    assert found[0].nearest == near


def test_all_problems_of_a_file_come_at_once_and_in_order(rule_text: RuleText) -> None:
    found = problems_of(rule_text("when: [{layr a: {}}]\nrelated: [t/r]", finding(severity="severe")))
    assert len(found) == 3
    lines = [p.mark.line for p in found if p.mark]
    assert lines == sorted(lines)


def test_a_located_problem_in_a_literal_text_points_into_its_line(rule_text: RuleText) -> None:
    text = rule_text(
        WHEN, finding(explanation="|\n    {tight.name} rots.\n    So does {tight.name} {wet.nam}.")
    )
    (problem,) = problems_of(text)
    assert problem.mark is not None
    assert marked(problem) == "{wet.nam}"
    assert problem.mark.text.strip() == "So does {tight.name} {wet.nam}."


def read_one(text: str) -> Rule:
    return read_topic(text, "t.yaml")[1][0]


def test_a_rule_is_read_with_what_it_says(rule_text: RuleText) -> None:
    rule = read_one(
        rule_text(
            WHEN
            + "cites: [common practice, {document: IRC, edition: '2021', clause: R702.7, kind: code, certainty: memory}]",
            finding(severity="serious", hazard="yes", layers="[tight, wet]", one_per="wet"),
        )
    )
    assert rule.finding is not None
    assert (rule.severity, rule.finding.hazard, rule.finding.one_per) == ("serious", True, "wet")
    assert rule.finding.layers == (Reference("tight", "index"), Reference("wet", "index"))
    assert [c.clause for c in rule.cites] == ["", "R702.7"]
    assert rule.mark.line == 5


def test_a_condition_without_an_alias_goes_by_its_kind_when_it_is_the_only_one(rule_text: RuleText) -> None:
    rule = read_one(
        rule_text('when: [{layer: {}}, {joint: {inner: "= layer.index"}}]', finding(layers="[layer]"))
    )
    assert [c.alias for c in rule.when] == ["layer", "joint"]
    found = problems_of(rule_text("when: [{layer: {}}, {layer: {}}]", finding(layers="[layer]")))
    assert "there is no alias" in found[0].message


def test_climate_and_indoor_facts_may_be_named_without_a_condition(rule_text: RuleText) -> None:
    rule = read_one(
        rule_text(
            'when: [{layer a: {t_winter_inner: "< indoor.dew_point_winter"}}]',
            finding(says='"{climate.place}"'),
        )
    )
    assert rule.when[0].tests[0].alternatives[0][0].operand == Reference("indoor", "dew_point_winter")


def test_facts_of_examples_are_read_as_in_a_section(rule_text: RuleText) -> None:
    rule = read_one(
        rule_text(
            WHEN
            + """
examples:
  - fires: a
    facts:
      - layer: {permeance_wet: 57.213489 ng/(s m2 Pa)}
      - layer: {holds_water: yes}
      - pair: {inner: 0, outer: 1, adjacent: yes}
"""
        )
    )
    facts = {f.id: f for f in rule.examples[0].facts or ()}
    assert sorted(facts) == ["climate", "indoor", "layer:0", "layer:1", "pair:0-1", "section"]
    # Derived: 1 grain/(h ft2 inHg) with the inch of mercury at 0 °C is 57.213489 ng/(s m2 Pa).
    assert facts["layer:0"].fields["permeance_wet"] == pytest.approx(5.7213489e-11, rel=1e-7)
    assert facts["layer:1"].fields["index"] == 1.0


def test_a_section_of_an_example_keeps_its_texts_as_written(rule_text: RuleText) -> None:
    rule = read_one(
        rule_text(
            WHEN
            + "examples: [{silent: a, section: {kind: wall, cooling: no, layers: [brick, {space: air}]}}]"
        )
    )
    assert rule.examples[0].section == {
        "kind": "wall",
        "cooling": "no",
        "layers": ["brick", {"space": "air"}],
    }
