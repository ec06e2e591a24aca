"""Strata and the refusal of cyclic negation."""

from __future__ import annotations

import pytest

from reviewer.engine import EngineError, Fact, Head, Join, Pattern, Rule, available, compile_program
from reviewer.engine import Test as Check
from reviewer.engine.stratify import strata


def named(name: str, kind: str = "concluded", **fields) -> Pattern:
    return Pattern(kind, (Check("name", "==", name), *(Check(f, "==", v) for f, v in fields.items())))


def rule(name: str, needs=(), absent=(), concludes: str | None = None, fields=()) -> Rule:
    patterns = tuple(named(n) for n in needs) or (Pattern("layer"),)
    return Rule(name, patterns, Head("concluded", concludes or name, fields), tuple(named(n) for n in absent))


def test_rules_without_absence_share_the_lowest_stratum():
    assert strata([rule("a"), rule("b", ["a"]), rule("c", ["b", "c"])]) == (0, 0, 0)


def test_each_absence_of_a_conclusion_lifts_one_stratum():
    rules = [
        rule("c", absent=["b"]),
        rule("b", absent=["a"]),
        rule("a"),
        rule("d", ["c"]),
        rule("e", absent=["d"]),
    ]
    assert strata(rules) == (2, 1, 0, 2, 3)


def test_absence_of_a_given_kind_needs_no_lift():
    vent = Rule(
        "unvented",
        (Pattern("layer"),),
        Head("concluded", "unvented"),
        (Pattern("layer", (Check("vents", "==", "yes"),)),),
    )
    assert strata([vent]) == (0,)


def test_a_pattern_with_a_name_depends_only_on_rules_that_conclude_it():
    assert strata([rule("a", absent=["b"]), rule("c", absent=["a"])]) == (0, 1)
    any_name = Rule("x", (Pattern("layer"),), Head("finding", "x"), (Pattern("concluded"),))
    assert strata([any_name, rule("a"), rule("b", absent=["a"])]) == (2, 0, 1)


def test_constant_fields_of_a_conclusion_separate_rules_too():
    side = [
        Rule(
            "out",
            (Pattern("layer"),),
            Head("concluded", "dry", (("side", "outer"),)),
            (named("dry", side="inner"),),
        ),
        Rule("in", (Pattern("layer"),), Head("concluded", "dry", (("side", "inner"),))),
    ]
    assert strata(side) == (1, 0)


def test_a_join_on_a_field_that_a_conclusion_lacks_is_no_dependency():
    lone = Rule(
        "lone",
        (Pattern("layer"),),
        Head("concluded", "lone"),
        (Pattern("concluded", (Check("name", "==", "lone"),), (Join("index", "==", 0, "index"),)),),
    )
    assert strata([lone]) == (0,)


@pytest.mark.parametrize(
    ("rules", "circle"),
    [
        ([rule("a", absent=["a"])], "rule 'a' needs the absence of what 'a' concludes"),
        (
            [rule("a", absent=["b"]), rule("b", ["c"]), rule("c", ["a"]), rule("d", ["a"])],
            "rule 'a' needs the absence of what 'b' concludes, 'b' needs what 'c' concludes, "
            "'c' needs what 'a' concludes",
        ),
        (
            [rule("p", absent=["q"]), rule("q", absent=["p"])],
            "rule 'p' needs the absence of what 'q' concludes, 'q' needs the absence of what 'p' concludes",
        ),
    ],
)
@pytest.mark.parametrize("engine", available())
def test_cyclic_negation_is_refused_and_the_circle_named(rules, circle, engine):
    with pytest.raises(EngineError) as refused:
        compile_program(rules, engine=engine)
    assert str(refused.value) == f"cyclic negation: {circle}"


def test_long_chains_are_no_matter_of_recursion():
    rules = [rule(f"r{i}", [f"r{i - 1}"] if i else []) for i in range(3000)]
    rules.append(rule("last", absent=["r2999"]))
    assert strata(rules)[-1] == 1


@pytest.mark.parametrize("engine", available())
def test_an_absence_waits_for_everything_that_could_undo_it(engine):
    """b is concluded only after three steps; its absence must not be believed before."""
    rules = [
        rule("no b", absent=["b"]),
        rule("b", ["s2"]),
        rule("s2", ["s1"]),
        rule("s1", absent=["never"]),
    ]
    with compile_program(rules, engine=engine) as program:
        outcome = program.run([Fact("layer 1", "layer", {})])
    assert {f.fields["name"] for f in outcome.facts if f.kind == "concluded"} == {"b", "s1", "s2"}


@pytest.mark.parametrize("engine", available())
def test_an_absence_beside_a_fact_concluded_in_the_same_stratum_is_judged(engine):
    rules = [
        Rule(
            "mark",
            (Pattern("layer"),),
            Head("concluded", "mark", (("layer", (0, "index")),)),
            (named("never"),),
        ),
        Rule(
            "outermost",
            (named("mark"),),
            Head("finding", "outermost", (("layer", (0, "layer")),)),
            (Pattern("layer", (), (Join("index", ">", 0, "layer"),)),),
        ),
    ]
    assert strata(rules) == (0, 0)
    with compile_program(rules, engine=engine) as program:
        outcome = program.run([Fact(f"layer {i}", "layer", {"index": float(i)}) for i in range(4)])
    assert [f.fields["layer"] for f in outcome.facts if f.kind == "finding"] == [3.0]
