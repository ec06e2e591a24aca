"""The interface: which engine runs, what an outcome looks like, and that nothing leaks between runs."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import threading
from textwrap import dedent

import pytest

from reviewer.engine import (
    EngineError,
    Fact,
    Head,
    Join,
    Pattern,
    Rule,
    available,
    compile_program,
    why_not_rete,
)
from reviewer.engine import Test as Check

ENGINES = available()

RULES = [
    Rule(
        "shut in",
        (
            Pattern("layer", (Check("permeance", "<=", 1.0),)),
            Pattern("layer", (Check("permeance", "<=", 1.0),), (Join("index", ">", 0, "index"),)),
        ),
        Head("concluded", "shut in", (("inner", (0, "index")), ("outer", (1, "index")))),
        (Pattern("layer", (Check("vents", "==", "yes"),), (Join("index", ">", 0, "index"),)),),
    ),
    Rule(
        "any",
        (Pattern("concluded"),),
        Head("finding", "trap"),
        (Pattern("climate", (Check("dry", "==", "yes"),)),),
    ),
]
FACTS = [
    Fact(f"layer {i}", "layer", {"index": float(i), "permeance": p}) for i, p in enumerate((0.1, 5.0, 0.2))
]


def script(code: str, **environment: str) -> str:
    """Standard output of a script in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", dedent(code)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        env={**os.environ, **environment},
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.parametrize("engine", ENGINES)
def test_an_outcome_holds_conclusions_absences_and_all_proofs(engine):
    with compile_program(RULES, engine=engine) as program:
        outcome = program.run(FACTS)
    assert outcome.engine == program.engine == engine
    assert [fact.id for fact in outcome.facts] == [
        "absent:any/0",
        "absent:shut in/0@layer 0",
        "concluded:shut in:inner=0:outer=2",
        "finding:trap",
    ]
    assert dict(outcome.facts[1].fields) == {"rule": "shut in", "pattern": 0.0, "beside": "layer 0"}
    assert dict(outcome.facts[2].fields) == {"name": "shut in", "inner": 0.0, "outer": 2.0}
    [derivation] = outcome.proofs["concluded:shut in:inner=0:outer=2"]
    assert derivation.parents == ("layer 0", "layer 2", "absent:shut in/0@layer 0")
    [derivation] = outcome.proofs["finding:trap"]
    assert derivation.parents == ("concluded:shut in:inner=0:outer=2", "absent:any/0")
    assert outcome.firings == 2


@pytest.mark.parametrize("engine", ENGINES)
def test_firings_that_conclude_the_same_share_one_fact_and_keep_their_proofs(engine):
    rules = [
        Rule("b", (Pattern("layer"),), Head("finding", "f", (("side", "inner"), ("n", (0, "permeance"))))),
        Rule("a", (Pattern("layer"),), Head("finding", "f", (("n", 0.1), ("side", "inner")))),
    ]
    with compile_program(rules, engine=engine) as program:
        outcome = program.run(FACTS)
    assert [(d.rule, d.parents) for d in outcome.proofs["finding:f:n=0.1:side=inner"]] == [
        ("a", ("layer 0",)),
        ("a", ("layer 1",)),
        ("a", ("layer 2",)),
        ("b", ("layer 0",)),
    ]


@pytest.mark.parametrize("engine", ENGINES)
def test_conclusions_that_differ_have_ids_that_differ(engine):
    """Values that look alike in text: a number and a word, a colon in a word, a field left out."""
    values = [1.0, "1", "'1", "", "a:x=b", "1e5", 1e5, "nan", "%3A", ":"]
    rules = [Rule(f"r{i}", (Pattern("a"),), Head("finding", "f", (("v", v),))) for i, v in enumerate(values)]
    rules += [
        Rule("none", (Pattern("a"),), Head("finding", "f")),
        Rule("lacking", (Pattern("a"),), Head("finding", "f", (("v", (0, "missing")),))),
        Rule("named", (Pattern("a"),), Head("finding", "f:v=1")),
        Rule("two", (Pattern("a"),), Head("finding", "f", (("v", "a"), ("x", "b")))),
    ]
    with compile_program(rules, engine=engine) as program:
        outcome = program.run([Fact("1", "a", {})])
    assert len(outcome.facts) == len(values) + 3
    assert [d.rule for d in outcome.proofs["finding:f"]] == ["lacking", "none"]


@pytest.mark.parametrize("engine", ENGINES)
def test_negative_zero_and_zero_conclude_the_same(engine):
    rule = Rule("r", (Pattern("a"),), Head("finding", "f", (("x", (0, "x")),)))
    with compile_program([rule], engine=engine) as program:
        outcome = program.run([Fact("1", "a", {"x": -0.0}), Fact("2", "a", {"x": 0.0})])
    assert [repr(fact.fields["x"]) for fact in outcome.facts] == ["0.0"]


@pytest.mark.parametrize("engine", ENGINES)
def test_positive_patterns_bind_different_facts_and_an_absence_overlooks_only_its_own(engine):
    twins = Rule("twins", (Pattern("a"), Pattern("a")), Head("finding", "twins"))
    alone = Rule(
        "alone", (Pattern("a"),), Head("finding", "alone"), (Pattern("a", (), (Join("x", "==", 0, "x"),)),)
    )
    both = Rule(
        "both",
        (Pattern("a"), Pattern("a", (), (Join("i", ">", 0, "i"),))),
        Head("finding", "both"),
        (Pattern("a", (), (Join("x", "==", 0, "x"),)),),
    )
    with compile_program([twins, alone, both], engine=engine) as program:
        one = program.run([Fact("1", "a", {"x": 1.0, "i": 1.0})])
        assert [f.fields.get("name") for f in one.facts] == [None, "alone"]
        two = program.run([Fact("1", "a", {"x": 1.0, "i": 1.0}), Fact("2", "a", {"x": 1.0, "i": 2.0})])
        assert [f.fields["name"] for f in two.facts] == ["twins"]


@pytest.mark.parametrize("engine", ENGINES)
def test_nothing_is_left_from_one_run_to_the_next(engine):
    with compile_program(RULES, engine=engine) as program:
        first = program.run(FACTS)
        assert program.run([]).facts == ()
        assert program.run([*FACTS, Fact("layer 9", "layer", {"index": 9.0, "vents": "yes"})]).firings == 0
        assert program.run(FACTS) == first


@pytest.mark.parametrize("engine", ENGINES)
def test_the_outcome_does_not_depend_on_the_hash_seed(engine):
    code = f"""
        import sys
        sys.path.insert(0, {os.path.dirname(__file__)!r})
        from test_program import FACTS, RULES
        from reviewer.engine import compile_program
        print(repr(compile_program(RULES, engine={engine!r}).run(FACTS)))
    """
    outputs = {script(code, PYTHONHASHSEED=seed) for seed in ("0", "1", "4242", "random")}
    assert len(outputs) == 1
    assert "finding:trap" in outputs.pop()


@pytest.mark.parametrize("engine", ENGINES)
def test_memory_stays_flat_over_thousands_of_runs(engine):
    """A session of the C module takes megabytes; a leak of one in a hundred would show."""
    code = f"""
        import resource, sys
        sys.path.insert(0, {os.path.dirname(__file__)!r})
        from test_program import FACTS, RULES
        from reviewer.engine import compile_program
        program = compile_program(RULES, engine={engine!r})
        peak = []
        for runs in (500, 4000):
            for _ in range(runs):
                program.run(FACTS)
            peak.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
        print(peak[1] - peak[0])
    """
    kilobytes = int(script(code)) / (1024 if sys.platform == "darwin" else 1)
    assert kilobytes < 2048


@pytest.mark.parametrize("engine", ENGINES)
def test_programs_come_and_go_without_growing_memory(engine):
    code = f"""
        import resource, sys
        sys.path.insert(0, {os.path.dirname(__file__)!r})
        from test_program import FACTS, RULES
        from reviewer.engine import compile_program
        peak = []
        for programs in (50, 500):
            for _ in range(programs):
                with compile_program(RULES, engine={engine!r}) as program:
                    program.run(FACTS)
            peak.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
        print(peak[1] - peak[0])
    """
    kilobytes = int(script(code)) / (1024 if sys.platform == "darwin" else 1)
    assert kilobytes < 8192


@pytest.mark.parametrize("engine", ENGINES)
def test_threads_may_share_a_program(engine):
    with compile_program(RULES, engine=engine) as program:
        expected = program.run(FACTS)
        wrong: list[object] = []

        def work() -> None:
            for _ in range(50):
                outcome = program.run(FACTS)
                if outcome != expected:
                    wrong.append(outcome)

        threads = [threading.Thread(target=work) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert not wrong


@pytest.mark.parametrize("engine", ENGINES)
def test_a_forked_process_may_go_on_with_a_program(engine):
    code = f"""
        import os, sys
        sys.path.insert(0, {os.path.dirname(__file__)!r})
        from test_program import FACTS, RULES
        from reviewer.engine import compile_program
        program = compile_program(RULES, engine={engine!r})
        before = program.run(FACTS)
        if hasattr(os, "fork"):
            child = os.fork()
            if child == 0:
                same = program.run(FACTS) == before
                program.close()
                os._exit(0 if same else 1)
            assert os.waitpid(child, 0)[1] == 0
        assert program.run(FACTS) == before
        program.close()
        print("same")
    """
    assert script(code) == "same\n"


@pytest.mark.parametrize("engine", ENGINES)
def test_a_program_is_not_pickled_and_not_run_after_closing(engine):
    program = compile_program(RULES, engine=engine)
    with pytest.raises(TypeError, match="compile the rules again in the other process"):
        pickle.dumps(program)
    program.close()
    program.close()
    with pytest.raises(EngineError, match="this program is closed"):
        program.run(FACTS)


def test_auto_takes_the_first_engine_available_and_an_unknown_name_is_refused():
    with compile_program(RULES) as program:
        assert program.engine == available()[0]
    with pytest.raises(EngineError, match="unknown engine 'clips'"):
        compile_program(RULES, engine="clips")  # type: ignore[arg-type]


def test_the_rete_engine_is_available_exactly_where_its_package_can_be_imported():
    """The C module needs a symbol that Python 3.13 no longer has."""
    loads = subprocess.run(
        [sys.executable, "-c", "import durable_rules_engine"], capture_output=True, check=False
    )
    assert (loads.returncode == 0) == ("rete" in available()) == (why_not_rete() == "")
    if sys.version_info >= (3, 13):
        assert "Python 3.13" in why_not_rete()


def test_without_the_package_the_fixpoint_engine_runs_and_says_why():
    code = """
        import sys

        class Blocker:
            def find_spec(self, name, path=None, target=None):
                if name.startswith("durable"):
                    raise ModuleNotFoundError(f"No module named {name!r}", name=name)

        sys.meta_path.insert(0, Blocker())
        from reviewer.engine import EngineError, Fact, Head, Pattern, Rule
        from reviewer.engine import available, compile_program, why_not_rete
        rule = Rule("r", (Pattern("a"),), Head("finding", "f"))
        print(available())
        print(why_not_rete())
        program = compile_program([rule])
        print(program.engine, program.run([Fact("1", "a", {})]).engine)
        try:
            compile_program([rule], engine="rete")
        except EngineError as error:
            print(error)
    """
    first, reason, engine, refusal = script(code).splitlines()
    assert (first, engine, refusal) == ("('fixpoint',)", "fixpoint fixpoint", reason)
    assert "not installed here" in reason or "Python 3.13" in reason


def test_a_module_that_fails_while_loading_is_reported_with_its_reason():
    code = """
        import sys

        class Blocker:
            def find_spec(self, name, path=None, target=None):
                if name == "durable_rules_engine":
                    raise ImportError("undefined symbol: PyEval_CallObject")

        sys.meta_path.insert(0, Blocker())
        from reviewer.engine import available, why_not_rete
        print(available(), why_not_rete())
    """
    printed = script(code)
    assert printed.startswith("('fixpoint',)")
    assert "undefined symbol" in printed or "Python 3.13" in printed


def test_the_engine_is_not_loaded_before_it_is_needed():
    """`--help` must not pay for the C module."""
    assert script("import sys, reviewer.engine; print('durable_rules_engine' in sys.modules)") == "False\n"
