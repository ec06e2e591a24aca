"""`rules check`: what it finds, where, and what it leaves alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviewer.engine.matching import compare
from reviewer.engine.types import Fact
from reviewer.engine.types import Test as EngineTest
from reviewer.errors import InputError, Problem
from reviewer.rules.check import Remark, _test_implies, check, check_dirs, satisfiable, timing
from reviewer.rules.examples import run_examples
from reviewer.rules.ruleset import Ruleset

RuleText = Callable[..., str]
RulesetOf = Callable[..., Ruleset]


def other_topic(text: str, topic: str = "Other") -> str:
    return text.replace("topic: Test", f"topic: {topic}")


def remarks(ruleset: Ruleset, words: str) -> list[Remark]:
    return [r for r in check(ruleset) if words in r.problem.message]


def marked(remark: Remark) -> str:
    mark = remark.problem.mark
    assert mark is not None
    return mark.text[mark.column - 1 : mark.column - 1 + mark.length]


def test_the_demonstration_pack_passes(demo: Ruleset) -> None:
    assert check(demo) == []


def test_files_that_do_not_load_are_told_as_errors(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("pack: t\n")
    found = check_dirs([tmp_path])
    assert {r.level for r in found} == {"error"}
    assert 'no "topic"' in found[0].problem.message


# Duties


def test_a_bare_rule_owes_sources_and_examples(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    found = check(ruleset_of(rule_text("applies to: {kind: wall}")))
    said = {r.problem.message: r.level for r in found}
    assert said['"t/r" names no source'] == "error"
    assert said['"t/r" has 0 examples on which it fires'] == "error"
    assert said['"t/r" has 0 examples on which it is silent'] == "error"
    assert said['"t/r" is a caution and says nothing to do'] == "warning"
    assert all(r.problem.mark is not None and r.problem.expected for r in found)


SERIOUS = """
finding:
  severity: serious
  reason: So.
  confidence: high
  voice: {voice}
  says: It fails
  explanation: {explanation}
"""


@pytest.mark.parametrize(
    ("cites", "explanation", "voice", "words"),
    [
        (
            "[{document: A, kind: handbook, certainty: seen}]",
            "It rots.",
            "calculation",
            "both clause and edition",
        ),
        ("[{document: A, edition: '1', clause: '2', kind: code, certainty: seen}]", "It rots.", "code", ""),
        ("common practice", "It rots.", "rule of thumb", ""),
        ("common practice", "It is bad.", "rule of thumb", "does not say how the section fails"),
        ("common practice", "It rots.", "code", "speaks as the code and cites none"),
        (
            "[{document: A, clause: '2', kind: code, certainty: seen}]",
            "It rots.",
            "code",
            "cites A without an edition",
        ),
    ],
)
def test_a_serious_rule_owes_clause_edition_and_mechanism(
    rule_text: RuleText, ruleset_of: RulesetOf, cites: str, explanation: str, voice: str, words: str
) -> None:
    ruleset = ruleset_of(
        rule_text(
            f"applies to: {{kind: wall}}\ncites: {cites}",
            SERIOUS.format(voice=voice, explanation=explanation),
        )
    )
    duties = [
        r
        for r in check(ruleset)
        if "example" not in r.problem.message and "nothing to do" not in r.problem.message
    ]
    said = [r.problem.message for r in duties]
    assert said == [] if not words else any(words in message for message in said)


# Examples and thresholds

EXAMPLES = """
when: [{layer a: {permeance_wet: "<= 1 perm"}}]
examples:
  - fires: tight
    facts: [{layer: {permeance_wet: 0.95 perm}}]
  - silent: open
    facts: [{layer: {permeance_wet: %s}}]
"""


def test_a_failing_example_is_an_error_where_it_stands(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    (failing,) = remarks(ruleset_of(rule_text(EXAMPLES % "0.97 perm")), "fires on the example")
    assert (failing.level, failing.rule, marked(failing)) == ("error", "t/r", "silent: open")
    assert failing.problem.message == '"t/r" fires on the example "open"'


def test_an_example_that_should_fire_and_does_not_is_an_error(
    rule_text: RuleText, ruleset_of: RulesetOf
) -> None:
    text = rule_text(EXAMPLES.replace("0.95", "1.01") % "1.05 perm")
    assert remarks(ruleset_of(text), 'silent on the example "tight"')


def test_a_threshold_wants_values_just_on_either_side(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    assert not remarks(ruleset_of(rule_text(EXAMPLES % "1.05 perm")), "just beside")
    (edge,) = remarks(ruleset_of(rule_text(EXAMPLES % "3 perm")), "just beside")
    assert (edge.level, marked(edge)) == ("warning", '"<= 1 perm"')
    assert edge.problem.message == 'no example has a "permeance_wet" just beside <= 1 perm that fails'
    assert edge.problem.expected == "values at most 0.1 perms from 1 perm on both sides"


SECTION_EXAMPLES = """
applies to: {kind: wall}
examples:
  - fires: a wall
    section: {kind: wall}
  - silent: a roof
    section: {kind: roof}
"""


def review_facts(section: Mapping[str, Any]) -> Sequence[Fact]:
    if section["kind"] == "roof":
        raise InputError(Problem("no such place", None, "a place"))
    return [Fact("section", "section", {"kind": section["kind"]})]


def test_sections_need_something_that_makes_facts_of_them(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    ruleset = ruleset_of(rule_text(SECTION_EXAMPLES))
    assert [r.fired for r in run_examples(ruleset)] == [None, None]
    assert {r.level for r in remarks(ruleset, "could not be run")} == {"warning"}
    wall, roof = run_examples(ruleset, ["t/r"], review_facts)
    assert (wall.fired, wall.ok) == (True, True)
    assert (roof.fired, roof.ok) == (None, False)
    assert roof.problem == "no such place, expected a place"
    broken = [r for r in check(ruleset, review_facts) if "could not be run" in r.problem.message]
    assert [r.level for r in broken] == ["error"]


# Conclusions


def test_a_conclusion_that_nobody_draws_is_an_error_with_the_nearest(
    rule_text: RuleText, ruleset_of: RulesetOf
) -> None:
    ruleset = ruleset_of(
        rule_text("when: [{layer a: {holds_water: yes}}]", "conclude: {fact: gets wet, layer: a}", "c"),
        other_topic(rule_text("when: [{concluded w: {name: gets wett}}]")),
        other_topic(rule_text("when: [{layer a: {}}, {not concluded: {name: gets dry}}]", name="n"), "N"),
        other_topic(rule_text("when: [{concluded w: {name: gets wet, other: known}}]", name="o"), "O"),
    )
    one, other = remarks(ruleset, "no rule concludes")
    assert {one.problem.message, other.problem.message} == {
        'no rule concludes "gets wett", so this condition never holds',
        'no rule concludes "gets dry", so this condition always holds',
    }
    assert one.problem.nearest == "gets wet"
    (field,) = remarks(ruleset, 'has no "other"')
    assert field.rule == "t/o"


def test_a_conclusion_that_nobody_asks_for_is_a_warning(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    ruleset = ruleset_of(rule_text("when: [{layer a: {}}]", "conclude: {fact: gets wet}"))
    (unused,) = remarks(ruleset, 'no rule asks for the conclusion "gets wet"')
    assert unused.level == "warning"


def test_a_circle_over_a_negation_is_an_error_where_it_starts(
    rule_text: RuleText, ruleset_of: RulesetOf
) -> None:
    ruleset = ruleset_of(
        rule_text("when: [{layer a: {}}, {not concluded: {name: dry}}]", "conclude: {fact: wet}", "wet"),
        other_topic(
            rule_text("when: [{layer a: {}}, {concluded: {name: wet}}]", "conclude: {fact: dry}", "dry")
        ),
    )
    (circle,) = remarks(ruleset, "cyclic negation")
    assert circle.level == "error"
    assert circle.problem.mark is not None and circle.problem.mark.file in ("0.yaml", "1.yaml")
    assert "t/wet" in circle.problem.message and "t/dry" in circle.problem.message


def test_more_conditions_than_an_engine_takes_are_an_error(
    rule_text: RuleText, ruleset_of: RulesetOf
) -> None:
    many = ", ".join(f"{{layer a{n}: {{}}}}" for n in range(14))
    (limit,) = remarks(ruleset_of(rule_text(f"when: [{many}]")), "the engine refuses the rule")
    assert (limit.level, marked(limit)) == ("error", "t/r")


# Conditions that can't hold


@pytest.mark.parametrize(
    "keys",
    [
        'when: [{layer a: {permeance_wet: "< 1 perm and > 2 perm"}}]',
        'when: [{layer a: {months_humid: "> 2 and < 3"}}]',
        'when: [{layer a: {class: "= I and = II"}}]',
        'when: [{layer a: {class: "I and not I"}}]',
        "applies to: {kind: wall}\nwhen: [{section: {kind: roof}}]",
        "when: [{layer a: {ventilated: yes}}, {not layer: {ventilated: yes}}]",
        'when: [{layer a: {thickness: "> 3 in"}}, {not layer: {thickness: ">= 2 in"}}]',
        'when: [{layer a: {}}, {layer b: {index: "> a.index and < a.index"}}]',
        'when: [{layer a: {}}, {layer b: {index: "> a.index"}}, {layer c: {index: "> b.index and <= a.index"}}]',
        'when: [{layer a: {rh_highest: "> 100 %"}}]',
    ],
)
def test_a_rule_that_can_never_fire_is_an_error(
    rule_text: RuleText, ruleset_of: RulesetOf, keys: str
) -> None:
    (never,) = remarks(ruleset_of(rule_text(keys)), "the rule never fires")
    assert never.level == "error"


@pytest.mark.parametrize(
    "keys",
    [
        'when: [{layer a: {permeance_wet: "> 1 perm and < 2 perm"}}]',
        'when: [{layer a: {months_humid: ">= 2 and <= 2"}}]',
        "when: [{layer a: {ventilated: yes}}, {not layer: {ventilated: no}}]",
        'when: [{layer a: {ventilated: yes}}, {not layer: {ventilated: yes, index: "> a.index"}}]',
        'when: [{layer a: {}}, {layer b: {index: ">= a.index"}}, {layer c: {index: ">= b.index and > a.index"}}]',
        'when: [{layer a: {rh_highest: ">= 100 %"}}]',
    ],
)
def test_a_rule_that_can_fire_is_left_alone(rule_text: RuleText, ruleset_of: RulesetOf, keys: str) -> None:
    assert remarks(ruleset_of(rule_text(keys)), "never fire") == []


def test_alternatives_that_can_never_fire_are_counted(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    ruleset = ruleset_of(
        rule_text('applies to: {year: ">= 1950"}\nwhen: [{section: {year: "< 1940 or > 1960"}}]')
    )
    (some,) = remarks(ruleset, "never fire")
    assert "1 of its 2 alternatives never fire" in some.problem.message


NUMBERS = st.integers(0, 4).map(float)
TESTS = st.builds(EngineTest, st.just("a"), st.sampled_from(["<", "<=", ">", ">=", "==", "!="]), NUMBERS)


@given(st.lists(TESTS, max_size=4), st.booleans())
def test_satisfiable_agrees_with_trying_values(tests: list[EngineTest], whole: bool) -> None:
    tried = [v / 4 for v in range(-8, 32)] if not whole else [float(v) for v in range(-2, 8)]
    some = any(all(compare(t.op, v, t.value) for t in tests) for v in tried)
    assert satisfiable(tests, (-2.0, 7.0, whole)) == some


@given(TESTS, TESTS)
def test_one_test_implies_another_only_when_every_value_says_so(strong: EngineTest, weak: EngineTest) -> None:
    tried = [v / 4 for v in range(-8, 32)]
    passing = [v for v in tried if compare(strong.op, v, strong.value)]
    if _test_implies(strong, weak):
        assert all(compare(weak.op, v, weak.value) for v in passing)


# Rules that overlap


def test_two_rules_with_the_same_conditions_are_an_error(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    ruleset = ruleset_of(
        rule_text('when: [{layer a: {}}, {layer b: {index: "> a.index"}}]', name="one"),
        other_topic(rule_text('when: [{layer out: {}}, {layer in: {index: "< out.index"}}]', name="two")),
    )
    (same,) = remarks(ruleset, "has the same conditions as")
    assert (same.level, same.rule) == ("error", "t/two")


@pytest.mark.parametrize(
    ("narrow", "wide", "within"),
    [
        ('{layer a: {thickness: "> 3 in"}}', '{layer a: {thickness: ">= 2 in"}}', True),
        ("{layer a: {class: I}}", "{layer a: {class: I or II}}", True),
        ("{layer a: {class: I}}, {layer b: {metal: yes}}", "{layer x: {metal: yes}}", True),
        (
            "{layer a: {}}, {not layer: {metal: yes}}",
            "{layer a: {}}, {not layer: {metal: yes, coating: yes}}",
            True,
        ),
        (
            "{layer a: {}}, {not layer: {metal: yes, coating: yes}}",
            "{layer a: {}}, {not layer: {metal: yes}}",
            False,
        ),
        ('{layer a: {thickness: "> 3 in"}}', '{layer a: {thickness: ">= 4 in"}}', False),
        ("{layer a: {metal: yes}}", "{layer a: {}}, {layer b: {metal: yes}}", False),
    ],
)
def test_a_rule_within_another_is_a_warning_unless_they_know_of_each_other(
    rule_text: RuleText, ruleset_of: RulesetOf, narrow: str, wide: str, within: bool
) -> None:
    def book(related: str = "") -> Ruleset:
        return ruleset_of(
            rule_text(f"when: [{narrow}]{related}", name="narrow"),
            other_topic(rule_text(f"when: [{wide}]", name="wide")),
        )

    found = [r for r in remarks(book(), "fires, ") if r.rule == "t/narrow"]
    assert [r.problem.message for r in found] == (
        ['whenever "t/narrow" fires, "t/wide" fires too'] if within else []
    )
    assert not [r for r in remarks(book("\nrelated: [t/wide]"), "fires, ") if r.rule == "t/narrow"]


def test_remarks_read_like_other_messages(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    (failing,) = remarks(ruleset_of(rule_text(EXAMPLES % "0.97 perm")), "fires on the example")
    first, excerpt, caret, expected = failing.render().split("\n")
    assert first.startswith("0.yaml:") and ': error: "t/r" fires on the example "open"' in first
    assert "silent: open" in excerpt and "^" in caret
    assert expected == "  expected the rule to be silent"


def test_timing_covers_reading_compiling_and_every_case(packs: Path, demo: Ruleset) -> None:
    facts = demo.rules["demo/shut-in"].examples[0].facts or ()
    times = timing([packs], {"a": facts}, repeat=1)
    assert set(times.run) == {"a"} and set(times.rules) == set(demo.rules)
    assert times.read > 0 and times.compile > 0
