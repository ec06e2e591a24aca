"""The limits: what lies within works, what lies beyond is refused with a clear sentence.

Some limits of the C module depend on how a rulebook is laid out for it; those are never reached,
however large the rulebook. They run in a process of their own because passing them kills or hangs.
"""

from __future__ import annotations

import json
import subprocess
import sys
from textwrap import dedent

import pytest

from reviewer.engine import EngineError, Fact, Head, Join, Pattern, Rule, available, compile_program, limits
from reviewer.engine import Test as Check

ENGINES = available()


def in_a_process(code: str, engine: str) -> object:
    header = (
        "from reviewer.engine import *\nfrom reviewer.engine import Test as Check\n"
        f"engine = {engine!r}\n"
        "import faulthandler, json; faulthandler.enable()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", header + dedent(code)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("tests", [64, 65, 300])
def test_a_fact_may_pass_any_number_of_tests(engine, tests):
    """The C module stops at 64 tests passed by one fact."""
    script = f"""
        rules = [Rule(f"r{{i}}", (Pattern("layer", (Check("x", ">", -float(i) - 1),)),), Head("finding", f"s{{i}}"))
                 for i in range({tests})]
        rules += [Rule(f"j{{i}}", (Pattern("layer", (Check("x", ">", -float(i) - 1),)),
                                   Pattern("layer", (Check("x", "<", float(i) + 9),), (Join("x", ">", 0, "x"),))),
                       Head("finding", f"j{{i}}")) for i in range({tests})]
        facts = [Fact(f"layer {{i}}", "layer", {{"x": float(i)}}) for i in range(3)]
        with compile_program(rules, engine=engine) as program:
            print(json.dumps(program.run(facts).firings))
    """
    assert in_a_process(script, engine) == tests * 3 + tests * 3


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("rules", [256, 257, 700])
def test_any_number_of_rules_may_end_on_the_same_condition(engine, rules):
    """The C module stops at 256 rules on one condition."""
    script = f"""
        rules = [Rule(f"r{{i}}", (Pattern("a"), Pattern("b", (), (Join("x", "==", 0, f"y{{i % 9}}"),)),
                                 Pattern("b", (), (Join("x", ">", 1, "x"), Join("x", "<", 0, f"y{{i // 9}}")))),
                      Head("finding", f"f{{i}}")) for i in range({rules})]
        width = {rules} // 9 + 1
        facts = [Fact("a", "a", {{f"y{{i}}": 2.0 if i % 2 else 4.0 for i in range(width)}})]
        facts += [Fact(f"b{{i}}", "b", {{"x": float(i)}}) for i in range(5)]
        with compile_program(rules, engine=engine) as program:
            outcome = program.run(facts)
        due = sum(sum(y1 == x < z < y2 for x in range(5) for z in range(5))
                  for i in range({rules})
                  for y1 in [2.0 if i % 9 % 2 else 4.0] for y2 in [2.0 if i // 9 % 2 else 4.0])
        print(json.dumps([outcome.firings - due, due > 50]))
    """
    assert in_a_process(script, engine) == [0, True]


@pytest.mark.parametrize("engine", ENGINES)
def test_any_number_of_kinds_and_words_may_be_told_apart(engine):
    """The C module hangs when it compiles the 513th alternative of one condition."""
    script = """
        rules = [Rule(f"r{i}", (Pattern(f"kind {i}", (Check("w", "==", f"word {i}"),)),
                                Pattern("b", (Check("w", "==", f"word {i}"),))), Head("finding", f"f{i}"))
                 for i in range(1200)]
        facts = [Fact(f"{k}{i}", k, {"w": f"word {i}"}) for i in range(0, 1200, 7) for k in (f"kind {i}", "b")]
        with compile_program(rules, engine=engine) as program:
            print(json.dumps(program.run(facts).firings))
    """
    assert in_a_process(script, engine) == len(range(0, 1200, 7))


@pytest.mark.parametrize("engine", ENGINES)
def test_a_rulebook_of_the_largest_size_loads_and_one_more_rule_is_refused(engine):
    rules = [
        Rule(
            f"r{i}",
            (Pattern("a", (Check("x", ">", float(i)),)), Pattern("b", (Check("x", "<", float(i)),))),
            Head("finding", "f"),
        )
        for i in range(limits.MAX_RULES + 1)
    ]
    with compile_program(rules[:-1], engine=engine) as program:
        # x > i and 2000 < i hold together for i = 2001 .. 2999
        outcome = program.run([Fact("a", "a", {"x": 3000.0}), Fact("b", "b", {"x": 2000.0})])
        assert outcome.firings == 999
    with pytest.raises(EngineError, match="4096 rules: at most 4095"):
        compile_program(rules, engine=engine)


@pytest.mark.parametrize("engine", ENGINES)
def test_too_many_conditions_and_too_many_joins_are_refused(engine):
    many = tuple(Pattern("a") for _ in range(10))
    with pytest.raises(EngineError, match="rule 'r': it has 13 conditions: at most 12"):
        compile_program([Rule("r", many, Head("f", "f"), (Pattern("b"),) * 3)], engine=engine)
    joins = tuple(Join(f"x{i}", "==", 0, f"x{i}") for i in range(21))
    with pytest.raises(EngineError, match="rule 'r': pattern 2 has 21 joins: at most 20"):
        compile_program([Rule("r", (Pattern("a"), Pattern("b", (), joins)), Head("f", "f"))], engine=engine)
    fields = {f"x{i}": float(i) for i in range(20)}
    rule = Rule("r", (Pattern("a"), Pattern("b", (), joins[:20])), Head("f", "f"))
    with compile_program([rule], engine=engine) as program:
        assert program.run([Fact("1", "a", fields), Fact("2", "b", fields)]).firings == 1
        assert program.run([Fact("1", "a", fields), Fact("2", "b", fields | {"x19": 0.5})]).firings == 0


@pytest.mark.parametrize("engine", ENGINES)
def test_the_cap_on_firings_is_exact_and_leaves_the_program_usable(engine):
    rule = Rule("r", (Pattern("a"), Pattern("a")), Head("finding", "f", (("x", (0, "x")), ("y", (1, "x")))))
    facts = [Fact(str(i), "a", {"x": float(i)}) for i in range(10)]
    with compile_program([rule], engine=engine) as program:
        for _ in range(3):
            with pytest.raises(EngineError, match="more than 89 firings; the last was of rule 'r'"):
                program.run(facts, max_firings=89)
            assert program.run(facts, max_firings=90).firings == 90


@pytest.mark.parametrize("engine", ENGINES)
def test_hundreds_of_facts_join_correctly(engine):
    """Triples i < j < k out of n = 24 numbered facts: n(n-1)(n-2)/6; neighbors among 400: 399."""
    triple = Rule(
        "triple",
        (
            Pattern("a"),
            Pattern("a", (), (Join("i", ">", 0, "i"),)),
            Pattern("a", (), (Join("i", ">", 1, "i"),)),
        ),
        Head("finding", "t", (("a", (0, "i")), ("b", (1, "i")), ("c", (2, "i")))),
    )
    neighbor = Rule(
        "neighbor",
        (Pattern("b"), Pattern("b", (), (Join("i", "==", 0, "next"),))),
        Head("finding", "n", (("a", (0, "i")),)),
    )
    facts = [Fact(f"a{i}", "a", {"i": float(i)}) for i in range(24)]
    facts += [Fact(f"b{i}", "b", {"i": i / 7, "next": (i + 1) / 7}) for i in range(400)]
    with compile_program([triple, neighbor], engine=engine) as program:
        assert program.run(facts).firings == 24 * 23 * 22 // 6 + 399


@pytest.mark.parametrize("engine", ENGINES)
def test_long_ids_are_cut_and_stay_distinct(engine):
    rule = Rule(
        "r",
        (Pattern("a"),),
        Head("finding", "f", (("w", (0, "w")),)),
        (Pattern("b", (), (Join("x", "==", 0, "w"),)),),
    )
    facts = [Fact("i" * 3000 + str(i), "a", {"w": "x" * 4000 + str(i)}) for i in range(3)]
    with compile_program([rule], engine=engine) as program:
        outcome = program.run(facts)
    assert len({fact.id for fact in outcome.facts}) == 6
    assert all(len(fact.id) <= 200 for fact in outcome.facts)


@pytest.mark.parametrize("engine", ENGINES)
def test_any_number_of_fields_may_be_joined_over_a_rulebook(engine):
    """The C module dies of a message with 256 properties: 255 fields and the marks would be more."""
    script = """
        rules = [Rule(f"r{i}", (Pattern("a", (Check("f0", ">", -float(i) - 1),)),
                                Pattern("a", (Check("f1", ">", -float(i)),), (Join(f"f{i}", ">", 0, f"f{i}"),))),
                      Head("finding", f"f{i}")) for i in range(255)]
        facts = [Fact(str(n), "a", {f"f{i}": float(i + n) for i in range(255)}) for n in range(3)]
        with compile_program(rules, engine=engine) as program:
            print(json.dumps(program.run(facts).firings))
    """
    assert in_a_process(script, engine) == 3 * 255


@pytest.mark.parametrize("engine", ENGINES)
def test_a_rule_that_joins_on_too_many_different_fields_is_refused(engine):
    def rule(last: int) -> Rule:
        patterns = [Pattern("a0")]
        for p in range(9):
            names = [f"f{p * 20 + i}" for i in range(20 if p < 8 else last)]
            patterns.append(Pattern(f"a{p + 1}", (), tuple(Join(name, ">", p, name) for name in names)))
        return Rule("r", tuple(patterns), Head("f", "f"))

    facts = [Fact(f"{n}", f"a{n}", {f"f{i}": float(n) for i in range(255)}) for n in range(10)]
    with compile_program([rule(20)], engine=engine) as program:
        assert program.run(facts).firings == 1
    wide = rule(20)
    more = Pattern("a", (), (Join("g", ">", 0, "g"),))
    with pytest.raises(EngineError, match="its joins read 181 different fields: at most 180"):
        compile_program([Rule("r", (*wide.patterns, more), wide.head)], engine=engine)


@pytest.mark.parametrize("engine", ENGINES)
def test_hundreds_of_strata_run_one_after_the_other(engine):
    """Rule i fires unless rule i - 1 did: every other one of 1,001 fires."""
    rules = [
        Rule(
            f"r{i:04}",
            (Pattern("a"), Pattern("b", (), (Join("x", "==", 0, "x"),))),
            Head("concluded", f"c{i:04}"),
            (Pattern("concluded", (Check("name", "==", f"c{i - 1:04}"),)),),
        )
        for i in range(1001)
    ]
    with compile_program(rules, engine=engine) as program:
        outcome = program.run([Fact("1", "a", {"x": 1.0}), Fact("2", "b", {"x": 1.0})])
    names = [str(fact.fields["name"]) for fact in outcome.facts if fact.kind == "concluded"]
    assert names == [f"c{i:04}" for i in range(0, 1001, 2)]


@pytest.mark.parametrize("engine", ENGINES)
def test_a_rule_that_tries_an_enormous_number_of_combinations_is_refused(engine):
    """Ten conditions that ask for nothing, on 30 facts: 30^10 combinations would take years."""
    facts = [Fact(f"{n}", "a", {"x": float(n), "same": "yes"}) for n in range(30)]
    loose = Rule("loose", tuple(Pattern("a") for _ in range(10)), Head("f", "f"))
    same = tuple(Pattern("a", (), (Join("same", "==", 0, "same"),) if n else ()) for n in range(10))
    chained = [
        Rule(f"c{i}", (Pattern("a"), Pattern("a")), Head("c", "c", (("x", (0, "x")), ("y", (1, "x")))))
        for i in range(1)
    ]
    on_conclusions = Rule("late", tuple(Pattern("c") for _ in range(4)), Head("f", "late"))
    for rules in ([loose], [Rule("same", same, Head("f", "f"))], [*chained, on_conclusions]):
        with (
            compile_program(rules, engine=engine) as program,
            pytest.raises(EngineError, match=r"more than (250000 combinations|20000 firings)"),
        ):
            program.run(facts)
    exact = tuple(Pattern("a", (), (Join("x", "==", 0, "x"),) if n % 2 else ()) for n in range(2))
    with compile_program([Rule("exact", exact, Head("f", "f"))], engine=engine) as program:
        assert program.run(facts).firings == 0
