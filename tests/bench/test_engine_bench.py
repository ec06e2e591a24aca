"""How long one review takes in each engine, on an invented rulebook of realistic size and mix.

200 rules: 140 about one fact with 2 to 5 tests, 40 that join layers (some with an absence), 20 that
chain on conclusions. 60 facts of about 30 fields. Run with `--benchmark-only` for the table; the
ratio between the engines is printed by the last test.
"""

from __future__ import annotations

import random
import time
from collections.abc import Sequence

import pytest

from reviewer.engine import Fact, Head, Join, Pattern, Program, Rule, available, compile_program
from reviewer.engine import Test as Check

NUMBERS = [f"number {i}" for i in range(18)]
WORDS = [f"word {i}" for i in range(10)]
VALUES = ["yes", "no", "wood", "mineral", "foam"]
FACTS = {"layer": 14, "joint": 15, "month": 12, "pair": 16, "section": 1, "climate": 1, "indoor": 1}


def rulebook() -> list[Rule]:
    rng = random.Random(7)

    def tests(n: int) -> tuple[Check, ...]:
        return tuple(
            Check(rng.choice(NUMBERS), rng.choice(["<=", ">=", "<", ">"]), round(rng.uniform(0, 10), 2))
            if rng.random() < 0.6
            else Check(rng.choice(WORDS), rng.choice(["==", "==", "!="]), rng.choice(VALUES))
            for _ in range(n)
        )

    rules = []
    for i in range(140):
        kind = "layer" if i % 3 else rng.choice(["section", "climate", "indoor", "joint"])
        head = Head("finding" if i % 4 else "concluded", f"single {i}", (("layer", (0, "index")),))
        rules.append(Rule(f"single {i}", (Pattern(kind, tests(rng.randint(2, 5))),), head))
    for i in range(40):
        patterns = [
            Pattern("layer", tests(rng.randint(1, 3))),
            Pattern("layer", tests(rng.randint(1, 3)), (Join("index", ">", 0, "index"),)),
        ]
        if i % 3 == 0:
            between = (Join("index", ">", 0, "index"), Join("index", "<", 1, "index"))
            patterns.append(Pattern("layer", tests(2), between))
        if i % 5 == 0:
            patterns.append(Pattern("section", tests(1)))
        absent = (Pattern("layer", tests(2), (Join("index", ">", 1, "index"),)),) if i % 4 == 0 else ()
        head = Head(
            "finding" if i % 3 else "concluded",
            f"join {i}",
            (("inner", (0, "index")), ("outer", (1, "index"))),
        )
        rules.append(Rule(f"join {i}", tuple(patterns), head, absent))
    concluded = [rule.head.name for rule in rules[:140] if rule.head.kind == "concluded"]
    for i in range(20):
        first = Pattern("concluded", (Check("name", "==", rng.choice(concluded)),))
        second = Pattern("layer", tests(1), (Join("index", "==", 0, "layer"),))
        other = Pattern(
            "concluded", (Check("name", "==", rng.choice(concluded)),), (Join("layer", "==", 1, "index"),)
        )
        head = Head("finding", f"chain {i}", (("layer", (1, "index")),))
        rules.append(Rule(f"chain {i}", (first, second), head, (other,) if i % 3 == 0 else ()))
    return rules


def section(seed: int) -> list[Fact]:
    rng = random.Random(seed)
    return [
        Fact(
            f"{kind} {i}",
            kind,
            {name: round(rng.uniform(0, 10), 3) for name in NUMBERS}
            | {name: rng.choice(VALUES) for name in WORDS}
            | {"index": float(i), "name": f"{kind} {i}"},
        )
        for kind, count in FACTS.items()
        for i in range(count)
    ]


def review_all(program: Program, sections: Sequence[Sequence[Fact]]) -> int:
    return sum(program.run(facts).firings for facts in sections)


@pytest.mark.parametrize("engine", available())
def test_a_review(benchmark, engine):
    sections = [section(seed) for seed in range(10)]
    with compile_program(rulebook(), engine=engine) as program:
        firings = benchmark.pedantic(review_all, (program, sections), rounds=10, warmup_rounds=1)
    benchmark.extra_info["firings a review"] = firings / len(sections)
    assert firings / len(sections) > 150


@pytest.mark.parametrize("engine", available())
def test_compiling_the_rulebook(benchmark, engine):
    rules = rulebook()
    benchmark.pedantic(lambda: compile_program(rules, engine=engine).close(), rounds=5, warmup_rounds=1)


def test_the_better_engine_takes_milliseconds_and_both_give_one_outcome(capsys):
    """4 ms a review is the aim on two shared cores; twice that in processor time fails."""
    sections = [section(seed) for seed in range(10)]
    programs = {engine: compile_program(rulebook(), engine=engine) for engine in available()}
    outcomes = {
        engine: [(o.facts, o.proofs, o.firings) for o in map(program.run, sections)]
        for engine, program in programs.items()
    }
    assert all(outcome == outcomes["fixpoint"] for outcome in outcomes.values())
    best = dict.fromkeys(programs, float("inf"))
    for _ in range(8):
        # Taking turns, so that whatever else the machine does hits both.
        for engine, program in programs.items():
            start = time.process_time()
            review_all(program, sections)
            best[engine] = min(best[engine], (time.process_time() - start) / len(sections) * 1000)
    for program in programs.values():
        program.close()
    with capsys.disabled():
        times = ", ".join(f"{engine} {ms:.2f} ms" for engine, ms in best.items())
        ratio = f"; rete / fixpoint = {best['rete'] / best['fixpoint']:.2f}" if "rete" in best else ""
        print(f"\none review of 60 facts by 200 rules: {times}{ratio}")
    assert min(best.values()) < 8
