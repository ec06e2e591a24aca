"""What crashes `durable_rules` 2.0.28 or makes it silently wrong, and that it can't happen here.

Each hazard was measured on the C module itself. Either the fact or rule is refused with a clear
sentence, or the engine gives what the rule says. Cases that kill or hang a process that calls the C
module directly run in a process of their own, with a time limit.
"""

from __future__ import annotations

import json
import locale
import math
import pickle
import subprocess
import sys
from textwrap import dedent

import pytest

from reviewer.engine import EngineError, Fact, Head, Join, Pattern, Rule, available, compile_program
from reviewer.engine import Test as Check

ENGINES = available()


def fired(engine: str, rules, facts) -> list[str]:
    if isinstance(rules, Rule):
        rules = [rules]
    with compile_program(rules, engine=engine) as program:
        return [fact.id for fact in program.run(facts).facts if fact.kind != "absent"]


def pair(*joins: Join, first=(), second=()) -> Rule:
    return Rule("r", (Pattern("a", tuple(first)), Pattern("b", tuple(second), joins)), Head("finding", "f"))


def in_a_process(code: str, engine: str) -> object:
    """The last line of output, read as JSON, of a script that has `engine` and the engine's names."""
    header = (
        "from reviewer.engine import *\nfrom reviewer.engine import Test as Check\n"
        f"engine = {engine!r}\n"
        "import faulthandler, json; faulthandler.enable()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", header + dedent(code)], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


@pytest.mark.parametrize("engine", ENGINES)
def test_false_joins_in_any_place_neither_crash_nor_hide_a_match(engine):
    script = """
        import itertools
        ops = ["==", "!=", "<", "<=", ">", ">="]
        got = wrong = 0
        holds = {"==": lambda a, b: a == b, "!=": lambda a, b: a != b, "<": lambda a, b: a < b,
                 "<=": lambda a, b: a <= b, ">": lambda a, b: a > b, ">=": lambda a, b: a >= b}
        for used in itertools.product(ops, repeat=3):
            rule = Rule("r", (Pattern("a"), Pattern("b", (), tuple(Join(f, op, 0, f) for f, op in zip("xyz", used)))),
                        Head("finding", "f", (("a", (0, "n")), ("b", (1, "n")))))
            facts = [Fact(f"a{i}", "a", {"n": i, "x": 1, "y": i, "z": 2}) for i in range(3)]
            facts += [Fact(f"b{i}", "b", {"n": i, "x": i, "y": 1, "z": i + 1}) for i in range(3)]
            with compile_program([rule], engine=engine) as program:
                firings = program.run(facts).firings
            due = sum(all(holds[op](b.fields[f], a.fields[f]) for f, op in zip("xyz", used))
                      for a in facts[:3] for b in facts[3:])
            got += firings
            wrong += firings != due
        print(json.dumps([got > 0, wrong]))
    """
    assert in_a_process(script, engine) == [True, 0]


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("order", [1, -1])
def test_a_negated_fact_counts_whether_given_before_or_after(engine, order):
    rule = Rule(
        "r",
        (Pattern("a"),),
        Head("finding", "f", (("x", (0, "x")),)),
        (Pattern("b", (), (Join("x", "==", 0, "x"),)),),
    )
    other = Rule("other", (Pattern("a"),), Head("finding", "other"))
    facts = [Fact("1", "a", {"x": 1}), Fact("2", "a", {"x": 2}), Fact("3", "b", {"x": 1})][::order]
    assert fired(engine, [rule, other], facts) == ["finding:f:x=2", "finding:other"]


@pytest.mark.parametrize("engine", ENGINES)
def test_an_absence_holds_when_no_such_fact_was_ever_given(engine):
    rule = Rule("r", (Pattern("a"),), Head("finding", "f"), (Pattern("b"),))
    assert fired(engine, rule, [Fact("1", "a", {})]) == ["finding:f"]
    assert fired(engine, rule, [Fact("1", "a", {}), Fact("2", "b", {})]) == []


@pytest.mark.parametrize("engine", ENGINES)
def test_no_facts_and_facts_without_fields_are_harmless(engine):
    script = """
        rules = [Rule("r", (Pattern("a"), Pattern("b")), Head("finding", "f")),
                 Rule("s", (Pattern("a"), Pattern("b", (), (Join("x", "==", 0, "x"),))), Head("finding", "s"))]
        with compile_program(rules, engine=engine) as program:
            empty = program.run([]).firings
            bare = program.run([Fact("1", "a", {}), Fact("2", "b", {})]).firings
        print(json.dumps([empty, bare]))
    """
    assert in_a_process(script, engine) == [0, 1]


@pytest.mark.parametrize("engine", ENGINES)
def test_one_bad_fact_refuses_the_whole_run_instead_of_dropping_the_rest(engine):
    good = [Fact("1", "a", {"x": 1.0}), Fact("2", "b", {"x": 1.0})]
    with compile_program([pair(Join("x", "==", 0, "x"))], engine=engine) as program:
        for place in range(3):
            facts = list(good)
            facts.insert(place, Fact("bad", "a", {"x": math.nan}))
            with pytest.raises(EngineError, match="fact 'bad': field `x` is nan"):
                program.run(facts)
        assert program.run(good).firings == 1


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize(("fields", "firings"), [(254, 1), (255, 1), (256, None), (1000, None)])
def test_facts_up_to_255_fields_work_and_larger_ones_are_refused(engine, fields, firings):
    script = f"""
        rule = Rule("r", (Pattern("a"), Pattern("b", (), tuple(Join(f"f{{i}}", "==", 0, f"f{{i}}") for i in range(20)))),
                    Head("finding", "f"))
        wide = {{f"f{{i}}": float(i) for i in range({fields})}}
        with compile_program([rule], engine=engine) as program:
            try:
                print(json.dumps(program.run([Fact("1", "a", wide), Fact("2", "b", wide)]).firings))
            except EngineError as error:
                assert "255" in str(error)
                print("null")
    """
    assert in_a_process(script, engine) == firings


NUMBERS = [1e-7, 1e16, 1e-300, 5.7e-11, -1e-9, 0.1, 1e300, 1 / 3, 123456789.123456789, -1e16, 2.0**53]


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("value", NUMBERS, ids=repr)
def test_numbers_written_with_an_exponent_match_and_later_facts_do_not_vanish(engine, value):
    facts = [Fact("1", "a", {"x": value}), Fact("2", "b", {"x": value}), Fact("3", "c", {"x": 1.0})]
    next_up = math.nextafter(value, math.inf)
    rules = [
        pair(Join("x", "==", 0, "x")),
        Rule("c", (Pattern("c"), Pattern("a")), Head("finding", "c")),
        Rule("exact", (Pattern("a", (Check("x", "==", value),)),), Head("finding", "exact")),
        Rule("near", (Pattern("a", (Check("x", ">=", next_up),)),), Head("finding", "near")),
    ]
    assert fired(engine, rules, facts) == ["finding:c", "finding:exact", "finding:f"]
    apart = [facts[0], Fact("2", "b", {"x": next_up}), facts[2]]
    assert fired(engine, rules, apart) == ["finding:c", "finding:exact"]
    assert fired(engine, pair(Join("x", ">", 0, "x")), apart) == ["finding:f"]


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize(
    ("value", "says"),
    [
        (math.nan, "only finite numbers"),
        (math.inf, "only finite numbers"),
        (-math.inf, "only finite numbers"),
        (True, 'write "yes" or "no"'),
        (None, "leave an unknown field out"),
        ([1.0], "neither a number nor a word"),
        ({"y": 1.0}, "neither a number nor a word"),
        (b"yes", "neither a number nor a word"),
        (1j, "neither a number nor a word"),
        (2**53 + 1, "can't be held exactly"),
        ("x" * 4097, "at most 4096 bytes"),
        ("ö" * 2049, "at most 4096 bytes"),
        ("x" * 70_000, "at most 4096 bytes"),
    ],
    ids=lambda value: repr(value)[:20],
)
def test_a_value_that_no_engine_can_hold_is_refused_in_facts_and_in_rules(engine, value, says):
    rule = Rule("r", (Pattern("a", (Check("x", "==", 1.0),)),), Head("finding", "f"))
    with compile_program([rule], engine=engine) as program, pytest.raises(EngineError, match=says):
        program.run([Fact("1", "a", {"x": value})])
    with pytest.raises(EngineError, match=says):
        compile_program(
            [Rule("r", (Pattern("a", (Check("x", "==", value),)),), Head("f", "f"))], engine=engine
        )
    if not isinstance(value, tuple):
        with pytest.raises(EngineError, match=says):
            compile_program([Rule("r", (Pattern("a"),), Head("f", "f", (("x", value),)))], engine=engine)


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize(
    ("left", "op", "right", "matches"),
    [
        (1, "==", 1.0, True),
        (0.0, "==", -0.0, True),
        (-0.0, "<", 0.0, False),
        ("1", "==", 1.0, False),
        ("1", "!=", 1.0, True),
        ("1.0", "==", "1", False),
        ("yes", "==", "yes", True),
        ("yes", "==", "Yes", False),
        ("", "==", "", True),
        ("x" * 4096, "==", "x" * 4095 + "y", False),
        ("x" * 4096, "==", "x" * 4096, True),
        ('quote " and \\ backslash', "==", 'quote " and \\ backslash', True),
        ("tab\tand\nbreak\0", "==", "tab\tand\nbreak\0", True),
        ("größer", "==", "größer", True),
        ("costarring", "==", "liquid", False),
        (10.0, ">", 9.0, True),
    ],
    ids=lambda value: repr(value)[:20],
)
def test_joins_and_tests_compare_values_not_their_text(engine, left, op, right, matches):
    """`costarring` and `liquid` have the same 32-bit FNV-1a hash."""
    expected = ["finding:f"] if matches else []
    facts = [Fact("1", "a", {"x": right}), Fact("2", "b", {"x": left})]
    assert fired(engine, pair(Join("x", op, 0, "x")), facts) == expected
    single = Rule("r", (Pattern("b", (Check("x", op, right),)),), Head("finding", "f"))
    assert fired(engine, single, facts) == expected
    lone = Rule("r", (Pattern("b"),), Head("finding", "f"), (Pattern("a", (), (Join("x", op, 0, "x"),)),))
    mirrored = {"<": ">", ">": "<"}.get(op, op)
    flipped = Rule(
        "r", (Pattern("a"),), Head("finding", "f"), (Pattern("b", (), (Join("x", mirrored, 0, "x"),)),)
    )
    if op in ("==", "!="):
        assert (
            fired(engine, lone, facts) == fired(engine, flipped, facts) == ([] if matches else ["finding:f"])
        )


@pytest.mark.parametrize("engine", ENGINES)
def test_a_word_where_a_rule_compares_numbers_is_refused_not_compared_as_text(engine):
    rules = [
        Rule("r", (Pattern("a", (Check("x", "<", 3.0),)),), Head("finding", "f")),
        Rule("j", (Pattern("a"), Pattern("b", (), (Join("y", "<", 0, "z"),))), Head("finding", "g")),
    ]
    with compile_program(rules, engine=engine) as program:
        for fact in (Fact("1", "a", {"x": "10"}), Fact("1", "a", {"z": "10"}), Fact("1", "b", {"y": "10"})):
            with pytest.raises(EngineError, match="is the word '10', but a rule compares it as a number"):
                program.run([fact])
        assert program.run([Fact("1", "b", {"x": "10"})]).firings == 0
    with pytest.raises(EngineError, match="orders words"):
        compile_program([Rule("r", (Pattern("a", (Check("x", "<", "3"),)),), Head("f", "f"))], engine=engine)


@pytest.mark.parametrize("engine", ENGINES)
def test_a_concluded_word_never_passes_an_order_comparison(engine):
    """Conclusions of one kind may carry words or numbers in a field, by name; words have no order."""
    rules = [
        Rule("word", (Pattern("a"),), Head("concluded", "w", (("v", "10"),))),
        Rule("number", (Pattern("a"),), Head("concluded", "n", (("v", 10.0),))),
        Rule(
            "test",
            (Pattern("concluded", (Check("v", ">", 1.0),)),),
            Head("finding", "t", (("of", (0, "name")),)),
        ),
        Rule(
            "join",
            (Pattern("a"), Pattern("concluded", (), (Join("v", ">", 0, "x"),))),
            Head("finding", "j", (("of", (1, "name")),)),
        ),
        Rule(
            "absent",
            (Pattern("concluded"),),
            Head("finding", "lowest", (("of", (0, "name")),)),
            (Pattern("a", (), (Join("x", "<", 0, "v"),)),),
        ),
    ]
    got = fired(engine, rules, [Fact("1", "a", {"x": 1.0})])
    assert [ident for ident in got if ident.startswith("finding")] == [
        "finding:j:of=n",
        "finding:lowest:of=w",
        "finding:t:of=n",
    ]


@pytest.mark.parametrize("engine", ENGINES)
def test_two_facts_with_one_id_are_refused(engine):
    with compile_program([pair()], engine=engine) as program, pytest.raises(EngineError, match="id 'same'"):
        program.run([Fact("same", "a", {}), Fact("same", "b", {})])


@pytest.mark.parametrize("engine", ENGINES)
def test_a_conclusion_may_not_take_the_id_of_a_given_fact(engine):
    with (
        compile_program([pair()], engine=engine) as program,
        pytest.raises(EngineError, match="id of a given fact"),
    ):
        program.run([Fact("finding:f", "a", {}), Fact("2", "b", {})])


@pytest.mark.parametrize("engine", ENGINES)
def test_thousands_of_runs_in_which_nothing_fires_are_harmless(engine):
    script = """
        rule = Rule("r", (Pattern("a"), Pattern("b", (), (Join("x", "==", 0, "x"),))), Head("finding", "f"))
        facts = [Fact("1", "a", {"x": 1.0}), Fact("2", "b", {"x": 2.0})]
        with compile_program([rule], engine=engine) as program:
            total = sum(program.run(facts).firings for _ in range(3000))
            total += sum(program.run([]).firings for _ in range(3000))
        print(json.dumps(total))
    """
    assert in_a_process(script, engine) == 0


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("op", ["==", "!=", "<", "<=", ">", ">="])
def test_a_join_on_a_missing_field_never_holds_on_either_side(engine, op):
    rule = pair(Join("x", op, 0, "x"))
    script_facts = [
        [Fact("1", "a", {}), Fact("2", "b", {"x": 1.0})],
        [Fact("1", "a", {"x": 1.0}), Fact("2", "b", {})],
        [Fact("1", "a", {}), Fact("2", "b", {})],
    ]
    for facts in script_facts:
        assert fired(engine, rule, facts) == []
        single = Rule("r", (Pattern("b", (Check("y", op, 1.0),)),), Head("finding", "f"))
        assert fired(engine, single, facts) == []
        lone = Rule("r", (Pattern("a"),), Head("finding", "f"), (Pattern("b", (), (Join("x", op, 0, "x"),)),))
        assert fired(engine, lone, facts) == ["finding:f"]


@pytest.mark.parametrize("engine", ENGINES)
def test_ids_and_field_names_with_equal_hashes_stay_apart(engine):
    """Pairs of words with equal 32-bit FNV-1a hashes, as ids and as field names."""
    rule = Rule(
        "r",
        (
            Pattern("a"),
            Pattern("a", (), (Join("liquid", "<", 0, "costarring"), Join("zinke", "==", 0, "altarage"))),
        ),
        Head("finding", "f", (("first", (0, "n")), ("second", (1, "n")))),
    )
    names = ["costarring", "liquid", "declinate", "macallums"]
    facts = [
        Fact(name, "a", {"n": name, "liquid": float(i), "costarring": 1.5, "zinke": "s", "altarage": "s"})
        for i, name in enumerate(names)
    ]
    expected = sorted(
        f"finding:f:first={a}:second={b}" for a in names for b in ("costarring", "liquid") if a != b
    )
    assert fired(engine, rule, facts) == expected


@pytest.mark.parametrize("engine", ENGINES)
def test_field_and_kind_names_that_mean_something_to_the_c_module_are_plain_names_here(engine):
    names = ["id", "sid", "$s", "$and", "$m", "kind", "name", "a.b", '"quoted"', "$i", "_", "k"]
    rules = [
        Rule(
            f"r{i}",
            (
                Pattern("$session", (Check(name, "!=", "x"),)),
                Pattern("all", (), (Join(name, "==", 0, name),)),
            ),
            Head("finding", f"f{i:02}"),
        )
        for i, name in enumerate(names)
    ]
    fields = {name: float(i) for i, name in enumerate(names)}
    got = fired(engine, rules, [Fact("1", "$session", fields), Fact("2", "all", fields)])
    assert got == [f"finding:f{i:02}" for i in range(len(names))]


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize(
    ("rule", "says"),
    [
        (Rule("r", (Pattern("a", (Check("x", "=~", "y"),)),), Head("f", "f")), "unknown comparison '=~'"),
        (Rule("r", (Pattern("a", (Check("x", "=", 1.0),)),), Head("f", "f")), "unknown comparison '='"),
        (
            Rule("r", (Pattern("a"), Pattern("b", (), (Join("x", "is", 0, "x"),))), Head("f", "f")),
            "unknown comparison",
        ),
        (Rule("r", (), Head("f", "f")), "no positive pattern"),
        (
            Rule("r", (Pattern("a", (), (Join("x", "==", 0, "x"),)),), Head("f", "f")),
            "not to an earlier pattern",
        ),
        (
            Rule("r", (Pattern("a"), Pattern("a", (), (Join("x", "==", 1, "x"),))), Head("f", "f")),
            "earlier pattern",
        ),
        (
            Rule("r", (Pattern("a"), Pattern("a", (), (Join("x", "==", -1, "x"),))), Head("f", "f")),
            "earlier pattern",
        ),
        (
            Rule(
                "r",
                (Pattern("a"), Pattern("a")),
                Head("f", "f"),
                (Pattern("b", (), (Join("x", "==", 0, "x"), Join("y", "==", 1, "y"))),),
            ),
            "absent pattern 1 refers to more than one pattern",
        ),
        (Rule("r", (Pattern("absent"),), Head("f", "f")), "what the engine calls an absence"),
        (Rule("r", (Pattern("a"),), Head("absent", "f")), "what the engine calls an absence"),
        (Rule("r", (Pattern("a"),), Head("f", "f", (("x", (1, "x")),))), "not to a pattern's field"),
        (Rule("r", (Pattern("a"),), Head("f", "f", (("name", 1.0),))), "two fields `name`"),
        (Rule("r", (Pattern("a"),), Head("f", "f", (("x", 1.0), ("x", 2.0)))), "two fields `x`"),
        (Rule("", (Pattern("a"),), Head("f", "f")), "the name of a rule is empty"),
        (Rule("r", (Pattern(""),), Head("f", "f")), "the kind of pattern 1 is empty"),
        (Rule("r", (Pattern("a", (Check("", "==", 1.0),)),), Head("f", "f")), "is empty"),
    ],
)
def test_a_malformed_rule_is_refused_when_loaded(engine, rule, says):
    with pytest.raises(EngineError, match=says):
        compile_program([rule], engine=engine)


@pytest.mark.parametrize("engine", ENGINES)
def test_two_rules_with_one_name_are_refused(engine):
    with pytest.raises(EngineError, match="two rules are named 'r'"):
        compile_program([pair(), pair()], engine=engine)


@pytest.mark.parametrize("engine", ENGINES)
def test_given_facts_may_not_pose_as_absences(engine):
    with compile_program([pair()], engine=engine) as program:
        for fact in (Fact("absent:r/0", "a", {}), Fact("1", "absent", {})):
            with pytest.raises(EngineError, match="what the engine calls an absence"):
                program.run([fact])


@pytest.mark.parametrize("engine", ENGINES)
def test_rules_and_facts_are_not_changed_by_running(engine):
    rules = [pair(Join("x", "==", 0, "x"))]
    facts = [Fact("1", "a", {"x": 1}), Fact("2", "b", {"x": 1.0})]
    before = pickle.dumps((rules, facts))
    fired(engine, rules, facts)
    assert pickle.dumps((rules, facts)) == before


@pytest.mark.parametrize("engine", ENGINES)
def test_a_locale_with_a_decimal_comma_changes_nothing(engine):
    """The C module reads numbers with `atof`, which follows the locale."""
    before = locale.setlocale(locale.LC_NUMERIC)
    for name in ("de_DE.UTF-8", "fr_FR.UTF-8", "C"):
        try:
            locale.setlocale(locale.LC_NUMERIC, name)
        except locale.Error:
            continue
        try:
            facts = [Fact("1", "a", {"x": 1.5}), Fact("2", "b", {"x": 1.6})]
            assert fired(engine, pair(Join("x", ">", 0, "x")), facts) == ["finding:f"]
            assert fired(engine, pair(Join("x", "==", 0, "x")), facts) == []
        finally:
            locale.setlocale(locale.LC_NUMERIC, before)
