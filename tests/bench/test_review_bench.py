"""Speed and memory of the main job, as ratios against references measured in the same run.

Targets: `--help` at most 2.5 times importing typer and rich; one cold review at most 4 times importing pydantic, yaml,
rich, typer and numpy; warm, at least 100 reviews a second on one core; memory flat over many reviews.
"""

from __future__ import annotations

import cProfile
import gc
import os
import pstats
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from reviewer.model.parse import load_section, parse_section
from reviewer.review import load_rules, review
from reviewer.workbench import shipped_cases

CASES = shipped_cases()
REFERENCE_LOOP = 440_000
"""Additions in the reference: 10 ms on this kind of machine when it is quiet, as long as one of 100 reviews a second may
take. The ratio holds on slower and busier machines too."""


def seconds(command: list[str], runs: int = 7) -> float:
    """Median wall time of a command after one warm-up."""
    # As installed: with bytecode, which some machines forbid to write beside the source.
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPYCACHEPREFIX"] = str(Path(tempfile.gettempdir()) / "reviewer-bench-bytecode")
    times = []
    for _ in range(runs + 1):
        start = time.perf_counter()
        subprocess.run(command, check=False, capture_output=True, env=environment)
        times.append(time.perf_counter() - start)
    return statistics.median(times[1:])


def python(code: str) -> list[str]:
    return [sys.executable, "-c", code]


def test_help_is_at_most_two_and_a_half_times_its_libraries() -> None:
    reference = seconds(python("import typer, rich"))
    found = seconds([sys.executable, "-m", "reviewer", "--help"])
    print(
        f"\n--help {found * 1000:.0f} ms, import typer, rich {reference * 1000:.0f} ms: ratio {found / reference:.2f}"
    )
    assert found <= 2.5 * reference


def test_one_cold_review_is_at_most_four_times_its_libraries() -> None:
    reference = seconds(python("import pydantic, yaml, rich, typer, numpy"))
    found = seconds([sys.executable, "-m", "reviewer", "review", str(CASES[0])])
    print(
        f"\ncold review {found * 1000:.0f} ms, imports {reference * 1000:.0f} ms: ratio {found / reference:.2f}"
    )
    assert found <= 4 * reference


def reference_seconds() -> float:
    """A fixed piece of plain Python: what this core does in about 10 ms when it is not busy."""
    start = time.perf_counter()
    total = 0
    for n in range(REFERENCE_LOOP):
        total += n
    assert total
    return time.perf_counter() - start


def test_warm_reviews_take_no_longer_than_the_reference(capsys: pytest.CaptureFixture[str]) -> None:
    rules = load_rules()
    texts = [(p.read_bytes(), str(p)) for p in CASES]
    for text, name in texts:
        review(parse_section(text, name), rules)
    times, references = [], []
    for _ in range(3):
        for text, name in texts:
            start = time.perf_counter()
            review(parse_section(text, name), rules)
            times.append(time.perf_counter() - start)
        references.append(reference_seconds())
    # The quietest round of each: what the machine does when nothing else runs.
    rounds = [statistics.mean(times[n : n + len(texts)]) for n in range(0, len(times), len(texts))]
    mean, reference = min(rounds), min(references)
    profile = cProfile.Profile()
    profile.enable()
    for text, name in texts:
        review(parse_section(text, name), rules)
    profile.disable()
    stages = (
        "parse.py:parse_section",
        "build.py:build",
        "program.py:run",
        "findings.py:findings_from",
        "evaluate.py:not_evaluated",
    )
    spent = {}
    for (file, _, name), (_, _, _, cumulative, _) in pstats.Stats(profile).stats.items():  # type: ignore[attr-defined]
        key = f"{Path(file).name}:{name}"
        if key in stages:
            spent[key] = spent.get(key, 0.0) + cumulative
    total = sum(spent.values())
    with capsys.disabled():
        print(
            f"\n{1 / mean:.0f} reviews a second warm over {len(texts)} cases ({mean * 1000:.1f} ms); reference {reference * 1000:.1f} ms, ratio {mean / reference:.2f}"
        )
        print(
            "where the time goes: "
            + ", ".join(
                f"{k.split(':')[1]} {v / total:.0%}" for k, v in sorted(spent.items(), key=lambda kv: -kv[1])
            )
        )
    assert mean <= reference


def test_memory_is_flat_over_many_reviews() -> None:
    import resource

    rules = load_rules()
    section = load_section(CASES[0])

    def peak() -> int:
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss

    for _ in range(300):
        review(section, rules)
    gc.collect()
    before = peak()
    for _ in range(1000):
        review(section, rules)
    grown = peak() - before
    print(f"\npeak memory grew by {grown} kB over 1,000 reviews")
    assert grown < 4000
