"""The alpha network against test-by-test comparison, and the two questions about one rule."""

from __future__ import annotations

import itertools

from hypothesis import given
from hypothesis import strategies as st

from reviewer.engine import Fact, Head, Join, Pattern, Rule, available, compile_program
from reviewer.engine import Test as Check
from reviewer.engine.matching import ORDER, Alpha, AlphaNetwork, compare, near_misses, undecided

NUMBERS = st.sampled_from((0.0, -0.0, 1.0, 1.5, 2.0, -1e-9, 1e16))
WORDS = st.sampled_from(("", "yes", "no", "1.0"))
FIELDS = st.sampled_from("xyz")
HEAD = Head("finding", "f")


@st.composite
def alphas(draw) -> Alpha:
    tests = []
    for _ in range(draw(st.integers(0, 4))):
        op = draw(st.sampled_from(("==", "!=", "<", "<=", ">", ">=")))
        tests.append((draw(FIELDS), op, draw(NUMBERS if op in ORDER else st.one_of(NUMBERS, WORDS))))
    present, numeric = draw(st.frozensets(FIELDS, max_size=1)), draw(st.frozensets(FIELDS, max_size=1))
    return Alpha("layer", frozenset(tests), present, numeric)


@given(
    st.lists(alphas(), max_size=8),
    st.lists(st.dictionaries(FIELDS, st.one_of(NUMBERS, WORDS)), min_size=1, max_size=4),
)
def test_the_alpha_network_agrees_with_testing_one_by_one(memories, facts):
    network = AlphaNetwork(list(enumerate(memories)))
    for fields in facts:
        expected = tuple(
            number
            for number, alpha in enumerate(memories)
            if all(f in fields and compare(op, fields[f], value) for f, op, value in alpha.tests)
            and all(f in fields for f in alpha.present)
            and all(isinstance(fields.get(f), float) for f in alpha.numeric)
        )
        assert network.memories(fields) == expected
        assert network.memories(fields) == expected


def test_comparisons_between_words_and_numbers_are_total():
    for op in ("<", "<=", ">", ">=", "=="):
        assert not compare(op, "1", 1.0)
        assert not compare(op, 1.0, "1")
    assert compare("!=", "1", 1.0)


# --- undecided --------------------------------------------------------------------------------------

TIGHT = Pattern("layer", (Check("permeance", "<=", 1.0),))
SHUT_IN = Rule(
    "shut in",
    (
        TIGHT,
        Pattern("layer", (Check("permeance", "<=", 1.0),), (Join("index", ">", 0, "index"),)),
        Pattern(
            "layer",
            (Check("holds_water", "==", "yes"),),
            (Join("index", ">", 0, "index"), Join("index", "<", 1, "index")),
        ),
    ),
    HEAD,
)


def layer(index: int, **fields) -> Fact:
    return Fact(f"layer {index}", "layer", {"index": float(index), **fields})


def ask(rule: Rule, facts: list[Fact], **unknown: list[str]) -> list[tuple[str, str]]:
    by_kind: dict[str, list[Fact]] = {}
    for fact in facts:
        by_kind.setdefault(fact.kind, []).append(fact)
    reasons = {k.replace("_", " "): dict.fromkeys(v, "not known") for k, v in unknown.items()}
    return undecided(rule, by_kind, reasons)


def test_the_field_a_firing_turns_on_is_named():
    facts = [
        layer(0, permeance=0.1, holds_water="no"),
        layer(1, permeance=9.0),
        layer(2, permeance=0.1, holds_water="no"),
    ]
    assert ask(SHUT_IN, facts, layer_1=["holds_water"]) == [("layer 1", "holds_water")]


def test_an_unknown_that_another_test_already_rules_out_is_not_named():
    facts = [layer(0, permeance=5.0, holds_water="no"), layer(1), layer(2, permeance=0.1, holds_water="no")]
    assert ask(SHUT_IN, facts, layer_1=["holds_water"]) == []


def test_a_missing_field_that_is_not_unknown_is_a_plain_no():
    facts = [layer(0, permeance=0.1, holds_water="no"), layer(1, permeance=9.0), layer(2, permeance=0.1)]
    assert ask(SHUT_IN, facts, layer_2=["thickness"]) == []


def test_unknown_join_fields_count_on_both_sides():
    rule = Rule("r", (Pattern("a"), Pattern("b", (), (Join("x", "<", 0, "y"),))), HEAD)
    facts = [Fact("a", "a", {}), Fact("b", "b", {})]
    assert ask(rule, facts, a=["y"], b=["x"]) == [("a", "y"), ("b", "x")]
    assert ask(rule, facts, a=["y"]) == []


def test_an_absence_that_turns_on_an_unknown_field_is_named():
    """The engine fires the rule, since no layer is known to be vented; it is still undecided."""
    rule = Rule(
        "r",
        (TIGHT,),
        HEAD,
        (Pattern("layer", (Check("vents", "==", "yes"),), (Join("index", ">", 0, "index"),)),),
    )
    facts = [layer(0, permeance=0.1), layer(1)]
    assert ask(rule, facts, layer_1=["vents"]) == [("layer 1", "vents")]
    assert ask(rule, [*facts, layer(2, vents="yes")], layer_1=["vents"]) == []
    assert ask(rule, facts, layer_0=["vents"]) == []


@st.composite
def questions(draw):
    fields = st.dictionaries(st.sampled_from("xyz"), st.sampled_from((0.0, 1.0, 2.0)))
    facts = [Fact(f"a{i}", "a", draw(fields)) for i in range(draw(st.integers(1, 3)))]
    unknown = {
        f.id: {n: "?" for n in draw(st.frozensets(st.sampled_from("xyz"), max_size=1)) if n not in f.fields}
        for f in facts
    }
    test = st.builds(
        Check, st.sampled_from("xyz"), st.sampled_from(("==", "<", "!=")), st.sampled_from((0.0, 1.0))
    )
    join = st.builds(
        Join, st.sampled_from("xyz"), st.sampled_from(("==", "<", "!=")), st.just(0), st.sampled_from("xyz")
    )
    patterns = [Pattern("a", tuple(draw(st.lists(test, max_size=1))))]
    if draw(st.booleans()):
        patterns.append(
            Pattern("a", tuple(draw(st.lists(test, max_size=1))), tuple(draw(st.lists(join, max_size=1))))
        )
    absent = ()
    if draw(st.booleans()):
        absent = (
            Pattern(
                "a",
                tuple(draw(st.lists(test, min_size=1, max_size=1))),
                tuple(draw(st.lists(join, max_size=1))),
            ),
        )
    return Rule("r", tuple(patterns), HEAD, absent), facts, unknown


@given(questions())
def test_a_rule_whose_firing_depends_on_the_unknown_values_is_always_undecided(question):
    """Whenever two ways to fill in the unknown fields give different conclusions, some field is named;
    when none is named, every way to fill them in gives the same matches."""
    rule, facts, unknown = question
    gaps = [(f.id, n) for f in facts for n in unknown[f.id]]
    named = undecided(rule, {"a": facts}, unknown)
    assert set(named) <= set(gaps)
    outcomes = set()
    with compile_program([rule], engine="fixpoint") as program:
        for values in itertools.product((0.0, 1.0, 2.0, 0.5), repeat=len(gaps)):
            filled = dict(zip(gaps, values, strict=True))
            trial = [
                Fact(f.id, f.kind, {**f.fields, **{n: v for (i, n), v in filled.items() if i == f.id}})
                for f in facts
            ]
            outcomes.add(repr(program.run(trial).proofs))
    if not named:
        assert len(outcomes) == 1


# --- near misses ------------------------------------------------------------------------------------


def test_the_combination_with_the_fewest_failures_is_found_with_its_values():
    facts = [layer(0, permeance=0.1), layer(1, permeance=9.0, holds_water="yes"), layer(2, permeance=2.0)]
    [miss] = near_misses(SHUT_IN, facts)
    assert miss.bound == ("layer 0", "layer 2", "layer 1")
    [failure] = miss.failures
    assert (failure.what, failure.pattern, failure.fact) == ("test", 1, "layer 2")
    assert (failure.field, failure.found, failure.op, failure.wanted) == ("permeance", 2.0, "<=", 1.0)


def test_a_failed_join_shows_both_sides():
    rule = Rule("r", (Pattern("a"), Pattern("b", (), (Join("x", ">", 0, "y"),))), HEAD)
    [miss] = near_misses(rule, [Fact("a", "a", {"y": 2.0}), Fact("b", "b", {"x": 1.0})])
    [f] = miss.failures
    assert (f.what, f.fact, f.field, f.found, f.op, f.wanted, f.other, f.other_field) == (
        "join", "b", "x", 1.0, ">", 2.0, "a", "y",
    )  # fmt: skip


def test_a_fact_in_the_way_of_an_absence_is_named():
    rule = Rule(
        "r",
        (TIGHT,),
        HEAD,
        (Pattern("layer", (Check("vents", "==", "yes"),), (Join("index", ">", 0, "index"),)),),
    )
    miss = near_misses(rule, [layer(0, permeance=0.1), layer(1, vents="yes")])[0]
    [failure] = miss.failures
    assert (failure.what, failure.pattern, failure.fact) == ("absent", 1, "layer 1")


def test_a_kind_without_facts_is_named():
    [miss] = near_misses(Rule("r", (TIGHT, Pattern("climate")), HEAD), [layer(0, permeance=0.1)])
    assert miss.bound == ("layer 0", None)
    assert [(f.what, f.kind) for f in miss.failures] == [("no fact", "climate")]


def test_a_rule_that_fires_has_no_near_miss_and_ties_are_cut_in_order():
    assert near_misses(Rule("r", (TIGHT,), HEAD), [layer(0, permeance=0.1)]) == []
    misses = near_misses(Rule("r", (TIGHT,), HEAD), [layer(i, permeance=2.0) for i in range(9)], limit=3)
    assert [miss.bound for miss in misses] == [("layer 0",), ("layer 1",), ("layer 2",)]


def test_a_large_section_is_answered_quickly():
    misses = near_misses(SHUT_IN, [layer(i, permeance=9.0, holds_water="no") for i in range(100)])
    assert len(misses) == 5
    assert all(len(miss.failures) == 3 for miss in misses)


@given(questions())
def test_near_misses_exist_exactly_when_the_rule_does_not_fire(question):
    rule, facts, _ = question
    for engine in available():
        with compile_program([rule], engine=engine) as program:
            assert bool(near_misses(rule, facts)) == (program.run(facts).firings == 0)
