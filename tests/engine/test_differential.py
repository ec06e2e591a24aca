"""Both engines against a brute-force reading of the rule language, on random rulebooks.

The oracle below shares no code with the engines: it tries every combination of facts, level by
level, and compares conclusions and proofs by content, not by id.
"""

from __future__ import annotations

import itertools
import operator
from collections.abc import Sequence

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reviewer.engine import (
    EngineError,
    Fact,
    Head,
    Join,
    Outcome,
    Pattern,
    Rule,
    available,
    compile_program,
)
from reviewer.engine import Test as Check

OPS = {
    "==": operator.eq,
    "!=": operator.ne,
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
}
ORDER = ("<", "<=", ">", ">=")
NUMBERS = (1.0, 0.0, 2.0, -0.0, 1e-7, -1e-9, 1e16, 5.7e-11)
WORDS = ("", "yes", "no", "1", "1.0", 'a"b\\c', "größer")
FIELDS = ("x", "y", "z")
NAMES = ("dry", "wet", "cold")


class CyclicNegation(Exception):
    pass


def holds(op, left, right) -> bool:
    if left is None or right is None:
        return False
    if isinstance(left, str) != isinstance(right, str):
        return op == "!="
    if isinstance(left, str) and op in ORDER:
        return False
    return OPS[op](left, right)


def fits(pattern: Pattern, kind: str, fields: dict, bound: Sequence[dict]) -> bool:
    return (
        kind == pattern.kind
        and all(holds(t.op, fields.get(t.field), t.value) for t in pattern.tests)
        and all(holds(j.op, fields.get(j.field), bound[j.other].get(j.other_field)) for j in pattern.joins)
    )


def levels_of(rules: Sequence[Rule]) -> list[int]:
    """Levels by relaxation, from heads' kinds, names and constants alone."""

    def could_match(head: Head, pattern: Pattern) -> bool:
        have = {"name": head.name} | dict(head.fields)
        return (
            head.kind == pattern.kind
            and all(j.field in have for j in pattern.joins)
            and all(
                t.field in have and (isinstance(have[t.field], tuple) or holds(t.op, have[t.field], t.value))
                for t in pattern.tests
            )
        )

    level = [0] * len(rules)
    for _ in range(len(rules) + 1):
        before = list(level)
        for i, rule in enumerate(rules):
            for j, other in enumerate(rules):
                if any(could_match(other.head, p) for p in rule.patterns):
                    level[i] = max(level[i], level[j])
                if any(could_match(other.head, p) for p in rule.absent):
                    level[i] = max(level[i], level[j] + 1)
        if level == before:
            return level
    raise CyclicNegation


def key_of(kind: str, fields: dict) -> tuple:
    return kind, tuple(sorted((k, isinstance(v, str), v) for k, v in fields.items()))


def oracle(rules: Sequence[Rule], facts: Sequence[Fact]) -> tuple[set, set, int]:
    """(concluded contents, (content, rule, parents) of each derivation, number of firings)"""
    level = levels_of(rules)
    present: dict[object, tuple[str, dict]] = {f.id: (f.kind, dict(f.fields)) for f in facts}
    concluded: set = set()
    proofs: set = set()
    matches: set = set()
    for current in sorted(set(level)):
        complete = dict(present)
        grown = True
        while grown:
            grown = False
            for rule in (r for r, at in zip(rules, level, strict=True) if at == current):
                for combo in itertools.permutations(list(present), len(rule.patterns)):
                    fields = [present[k][1] for k in combo]
                    if not all(
                        fits(p, present[k][0], present[k][1], fields)
                        for p, k in zip(rule.patterns, combo, strict=True)
                    ):
                        continue
                    parents: list = list(combo)
                    for n, pattern in enumerate(rule.absent):
                        beside = combo[pattern.joins[0].other] if pattern.joins else None
                        if any(k != beside and fits(pattern, *complete[k], fields) for k in complete):
                            break
                        parents.append(("absent", rule.name, n, beside))
                    else:
                        matches.add((rule.name, combo))
                        made = {"name": rule.head.name}
                        for field, value in rule.head.fields:
                            if isinstance(value, tuple):
                                value = fields[value[0]].get(value[1])
                            if value is not None:
                                made[field] = value if isinstance(value, str) else value + 0.0
                        key = key_of(rule.head.kind, made)
                        proofs.add((key, rule.name, tuple(parents)))
                        if key not in concluded:
                            concluded.add(key)
                            present[key] = (rule.head.kind, made)
                            grown = True
    return concluded, proofs, len(matches)


def by_content(outcome: Outcome) -> tuple[set, set, int]:
    key: dict[str, object] = {}
    for fact in outcome.facts:
        if fact.kind != "absent":
            key[fact.id] = key_of(fact.kind, dict(fact.fields))
    for fact in outcome.facts:
        if fact.kind == "absent":
            beside = fact.fields.get("beside")
            key[fact.id] = (
                "absent",
                fact.fields["rule"],
                int(float(fact.fields["pattern"])),
                key.get(str(beside), beside),
            )
    proofs = {
        (key[ident], d.rule, tuple(key.get(p, p) for p in d.parents))
        for ident, derivations in outcome.proofs.items()
        for d in derivations
    }
    return {key[f.id] for f in outcome.facts if f.kind != "absent"}, proofs, outcome.firings


@st.composite
def rulebooks(draw) -> tuple[list[Rule], list[Fact]]:
    number, word, name = st.sampled_from(NUMBERS), st.sampled_from(WORDS), st.sampled_from(FIELDS)

    @st.composite
    def tests(draw) -> Check:
        op = draw(st.sampled_from(("!=", ">=", "<=", "==", "<", ">")))
        return Check(draw(name), op, draw(number if op in ORDER else st.one_of(number, word)))

    @st.composite
    def patterns(draw, earlier: int, absent: bool = False) -> Pattern:
        if draw(st.integers(0, 9)) > 6:
            kind = "concluded"
            checks = [Check("name", "==", draw(st.sampled_from(NAMES)))] if draw(st.booleans()) else []
        else:
            kind = draw(st.sampled_from(("layer", "layer", "joint")))
            checks = draw(st.lists(tests(), max_size=1))
        joins = []
        if earlier and draw(st.integers(0, 9)) < 7:
            others = [draw(st.integers(0, earlier - 1))] if absent else list(range(earlier))
            joins = draw(
                st.lists(
                    st.builds(Join, name, st.sampled_from(list(OPS)), st.sampled_from(others), name),
                    min_size=1,
                    max_size=2,
                )
            )
        return Pattern(kind, tuple(checks), tuple(joins))

    rules = []
    for i in range(draw(st.integers(1, 6))):
        width = draw(st.integers(1, 3))
        head_value = st.one_of(number, word, st.tuples(st.integers(0, width - 1), name))
        rules.append(
            Rule(
                f"rule {i}",
                tuple(draw(patterns(p)) for p in range(width)),
                Head(
                    draw(st.sampled_from(("concluded", "concluded", "finding"))),
                    draw(st.sampled_from(NAMES)),
                    tuple(draw(st.dictionaries(name, head_value, max_size=2)).items()),
                ),
                tuple(draw(patterns(width, True)) for _ in range(draw(st.sampled_from((0, 0, 1, 2))))),
            )
        )
    ordered: set[tuple[str, str]] = set()
    for rule in rules:
        for pattern in (*rule.patterns, *rule.absent):
            ordered |= {(pattern.kind, t.field) for t in pattern.tests if t.op in ORDER}
            for join in pattern.joins:
                if join.op in ORDER:
                    ordered |= {
                        (pattern.kind, join.field),
                        (rule.patterns[join.other].kind, join.other_field),
                    }
    facts = []
    for i in range(draw(st.sampled_from((5, 4, 6, 1, 0)))):
        kind = draw(st.sampled_from(("layer", "layer", "joint")))
        fields = {}
        for field in draw(st.lists(name, unique=True, min_size=2)):
            fields[field] = draw(number if (kind, field) in ordered else st.one_of(number, word))
        facts.append(Fact(f"{kind} {i}", kind, fields))
    return rules, facts


@given(rulebooks(), st.randoms(use_true_random=False))
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_engines_agree_with_brute_force_and_with_each_other(book, random):
    rules, facts = book
    try:
        expected = oracle(rules, facts)
    except CyclicNegation:
        for engine in available():
            with pytest.raises(EngineError, match="cyclic negation"):
                compile_program(rules, engine=engine)
        return
    outcomes = []
    for engine in available():
        with compile_program(rules, engine=engine) as program:
            first = program.run(facts)
            shuffled = list(facts)
            random.shuffle(shuffled)
            assert program.run(shuffled) == first
            assert first.engine == engine
            outcomes.append(first)
            assert by_content(first) == expected
    for other in outcomes[1:]:
        assert repr((other.facts, other.proofs, other.firings)) == repr(
            (outcomes[0].facts, outcomes[0].proofs, outcomes[0].firings)
        )


@given(rulebooks(), st.lists(st.sets(st.integers(0, 5)), min_size=2, max_size=4), st.integers(1, 3))
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_a_run_does_not_depend_on_the_runs_before_it(book, left_out, per_bank):
    """The Rete engine learns which rules are wanted together and spreads them over small networks: whatever it
    has run before, the outcome is that of the fixpoint engine."""
    rules, facts = book
    try:
        programs = [compile_program(rules, engine="fixpoint")]
    except EngineError:
        return
    if "rete" in available():
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("reviewer.engine.rete._PRODUCTIONS_PER_BANK", per_bank)
            programs.append(compile_program(rules, engine="rete"))
    given_facts = [[f for n, f in enumerate(facts) if n not in without] for without in left_out]
    for some in given_facts * 3:
        outcomes = [program.run(some) for program in programs]
        assert len({repr((o.facts, o.proofs, o.firings)) for o in outcomes}) == 1
    for program in programs:
        program.close()


@given(st.integers(2, 60), st.sampled_from(("==", "<", "!=")))
@settings(max_examples=25, deadline=None)
def test_number_of_pairs_is_what_combinatorics_says(n, op):
    """n facts numbered 0..n-1: pairs with i < j are n(n-1)/2, with i != j n(n-1), with i == j none."""
    rule = Rule(
        "pairs",
        (Pattern("layer"), Pattern("layer", joins=(Join("index", op, 0, "index"),))),
        Head("finding", "pair", (("a", (0, "index")), ("b", (1, "index")))),
    )
    expected = {"==": 0, "<": n * (n - 1) // 2, "!=": n * (n - 1)}[op]
    facts = [Fact(f"layer {i}", "layer", {"index": float(i)}) for i in range(n)]
    for engine in available():
        with compile_program([rule], engine=engine) as program:
            outcome = program.run(facts)
        assert (outcome.firings, len(outcome.facts)) == (expected, expected)


@pytest.mark.parametrize("engine", available())
def test_closure_of_a_chain_is_complete_and_keeps_every_derivation(engine):
    """Reachability over a chain of n nodes: n(n-1)/2 pairs; the pair (i, j) has j-i-1 inner nodes,
    hence as many derivations by the recursive rule, plus the edge itself when j = i + 1."""
    n = 9
    edge = Rule(
        "edge",
        (Pattern("edge"),),
        Head("concluded", "reaches", (("a", (0, "a")), ("b", (0, "b")))),
    )
    step = Rule(
        "step",
        (
            Pattern("concluded", (Check("name", "==", "reaches"),)),
            Pattern("concluded", (Check("name", "==", "reaches"),), (Join("a", "==", 0, "b"),)),
        ),
        Head("concluded", "reaches", (("a", (0, "a")), ("b", (1, "b")))),
    )
    facts = [Fact(f"edge {i}", "edge", {"a": float(i), "b": float(i + 1)}) for i in range(n - 1)]
    with compile_program([edge, step], engine=engine) as program:
        outcome = program.run(facts)
    assert len(outcome.facts) == n * (n - 1) // 2
    for fact in outcome.facts:
        distance = int(float(fact.fields["b"]) - float(fact.fields["a"]))
        assert len(outcome.proofs[fact.id]) == (1 if distance == 1 else distance - 1)


@pytest.mark.parametrize("engine", available())
@pytest.mark.parametrize("width", [1, 2, 5, 8, 12])
def test_rules_up_to_the_limit_of_conditions_match(engine, width):
    """A staircase of `width` facts, each one step above the one before, out of 14: one match per start."""
    patterns = [Pattern("layer")]
    patterns += [Pattern("layer", joins=(Join("below", "==", i, "index"),)) for i in range(width - 1)]
    rule = Rule("stairs", tuple(patterns), Head("finding", "stairs", (("start", (0, "index")),)))
    facts = [Fact(f"l{i}", "layer", {"index": float(i), "below": float(i - 1)}) for i in range(14)]
    with compile_program([rule], engine=engine) as program:
        outcome = program.run(facts)
    assert outcome.firings == 14 - width + 1
    for fact in outcome.facts:
        start = int(float(fact.fields["start"]))
        [derivation] = outcome.proofs[fact.id]
        assert derivation.parents == tuple(f"l{start + step}" for step in range(width))


@pytest.mark.parametrize("engine", available())
def test_a_rule_fires_once_though_another_that_waits_longer_reads_the_same_facts(engine):
    same = (Join("x", "==", 0, "x"),)
    rules = [
        Rule("dry", (Pattern("layer"),), Head("concluded", "dry")),
        Rule("beside", (Pattern("layer"), Pattern("joint", joins=same)), Head("finding", "beside")),
        Rule("twice", (Pattern("layer"), Pattern("layer", joins=same)), Head("finding", "twice")),
        Rule(
            "late",
            (Pattern("layer"), Pattern("joint", joins=same), Pattern("concluded")),
            Head("finding", "late"),
        ),
    ]
    facts = [Fact(f"layer {n}", "layer", {"x": 1.0}) for n in range(2)] + [Fact("joint", "joint", {"x": 1.0})]
    with compile_program(rules, engine=engine) as program:
        for _ in range(4):
            outcome = program.run(facts)
            # Two layers beside one joint; two orders of two layers; both again with the one conclusion; both dry.
            assert outcome.firings == 2 + 2 + 2 + 2
