"""The whole rulebook, warm: reviews a second, and how the cost grows with rules and layers.

Each figure is a ratio to a reference workload of the same run, in processor time, so that a busy
or slow machine does not decide; the aim in reviews a second is for one core of a common machine.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest

from reviewer.engine import compile_program
from reviewer.facts.build import build
from reviewer.model.parse import section_from_line
from reviewer.review import load_rules
from reviewer.rules.check import timing
from reviewer.rules.findings import findings_from

AIM = 100
"""Reviews a second by all rules on one core, facts given."""
INNER = [
    "latex paint",
    "1/2 in gypsum board",
    "6 mil polyethylene",
    "2x6 @ 16 in with R-21 glass fiber batt",
    "7/16 in OSB",
]


def facts(layers: int):
    more = ["1/2 in plywood", "1 in expanded polystyrene"] * layers
    line = " | ".join([*INNER, *more[: layers - len(INNER) - 1], "vinyl siding"])
    return build(section_from_line(line, kind="wall", place="Duluth, MN"))[0].facts()


def seconds(work: Callable[[], object], rounds: int = 5) -> float:
    """Processor time, best of several rounds."""
    best = float("inf")
    for _ in range(rounds):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return best


def reference() -> int:
    """Plain Python that takes some milliseconds: dictionaries and comparisons, as matching does."""
    table = {f"key {n}": float(n) for n in range(500)}
    return sum(value < limit for limit in range(100) for value in table.values())


def judged(section) -> None:
    rules = load_rules()
    findings_from(rules.run(section), rules, section)


def test_the_whole_rulebook_judges_a_hundred_sections_a_second(capsys: pytest.CaptureFixture[str]) -> None:
    section = facts(8)
    judged(section)
    one = min(seconds(lambda: [judged(section) for _ in range(5)]) / 5 for _ in range(3))
    unit = seconds(reference)
    with capsys.disabled():
        print(
            f"\n{len(load_rules().rules)} rules: {1 / one:.0f} sections a second; {one / unit:.1f} references"
        )
    assert 1 / one >= AIM or one / unit <= 8


def test_cost_grows_at_most_linearly_with_layers(capsys: pytest.CaptureFixture[str]) -> None:
    """From 8 to 30 layers the facts grow faster than the layers, since the pairs do: the cost for a
    layer may not."""
    times = {}
    for count in (8, 16, 30):
        section = facts(count)
        judged(section)
        times[count] = min(seconds(lambda s=section: [judged(s) for _ in range(3)]) / 3 for _ in range(3))
    with capsys.disabled():
        print("\n" + ", ".join(f"{n} layers {t * 1000:.1f} ms" for n, t in times.items()))
    assert times[30] / times[8] <= 30 / 8


def test_cost_grows_at_most_linearly_with_rules(capsys: pytest.CaptureFixture[str]) -> None:
    engine = [a.engine for a in load_rules().alternatives]
    section = facts(12)
    times = {}
    for share in (4, 2, 1):
        part = engine[::share]
        with compile_program(part) as program:
            program.run(section)
            times[len(part)] = min(
                seconds(lambda p=program: [p.run(section) for _ in range(3)]) / 3 for _ in range(3)
            )
    few, _, many = times
    with capsys.disabled():
        print("\n" + ", ".join(f"{n} alternatives {t * 1000:.1f} ms" for n, t in times.items()))
    assert times[many] / times[few] <= 1.2 * many / few


def test_every_rule_has_its_time_and_none_is_a_burden() -> None:
    found = timing(None, {"wall": facts(8)}, repeat=2)
    assert set(found.rules) == set(load_rules().rules)
    assert max(found.rules.values()) < 0.25 * sum(found.rules.values())
