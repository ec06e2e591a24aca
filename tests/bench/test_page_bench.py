"""Time and size of a page, in ratios to reviews in the same run.

Targets: a page in at most 150 ms warm and 500 kB, the largest included. A review takes about 10 ms on this kind of
machine when it is quiet (see test_review_bench), and the reference loop as long.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from pathlib import Path

from reviewer.model.parse import load_section
from reviewer.report import html
from reviewer.report.drawing import standalone
from reviewer.result import Result
from reviewer.review import review

ROOT = Path(__file__).parents[2]
CASES = sorted(p for p in (ROOT / "cases").glob("*/*.yaml") if p.parent.name != "questions")
REFERENCE_LOOP = 440_000
"""Additions in the reference: 10 ms on this kind of machine when it is quiet."""
MOST_BYTES = 500_000


def reference() -> None:
    total = 0
    for n in range(REFERENCE_LOOP):
        total += n
    assert total


def seconds(work: Callable[[], object], runs: int = 7) -> float:
    work()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def enormous() -> Result:
    """60 layers, 59 joints, 100 findings with their proofs."""
    r = review(load_section(ROOT / "cases" / "vapor-control" / "mill-street-shut-in.yaml"), proof=True)
    monthly = r.calculations["monthly"]
    joints = [monthly["joints"][n % len(monthly["joints"])] | {"inner": n, "outer": n + 1} for n in range(59)]
    layers = [r.layers[n % len(r.layers)].model_copy(update={"index": n}) for n in range(60)]
    findings = [
        r.findings[n % len(r.findings)].model_copy(update={"rule": f"own/number-{n}", "symptoms": []})
        for n in range(100)
    ]
    calculations = r.calculations | {"monthly": monthly | {"joints": joints}}
    return r.model_copy(update={"layers": layers, "findings": findings, "calculations": calculations})


def test_a_page_takes_at_most_fifteen_times_the_reference_and_half_a_megabyte() -> None:
    results = [review(load_section(p), proof=True, work=True) for p in CASES]
    loop = seconds(reference)
    times = [seconds(lambda r=r: html.render([r]), 3) for r in results]
    sizes = [len(html.render([r]).encode()) for r in results]
    print(
        f"\npages of {len(results)} cases with all work: median {statistics.median(times) * 1000:.0f} ms, "
        f"highest {max(times) * 1000:.0f} ms, {max(times) / loop:.1f} times the loop; "
        f"largest {max(sizes) / 1000:.0f} kB"
    )
    assert max(times) <= 15 * loop
    assert max(sizes) <= MOST_BYTES


def test_the_enormous_page_keeps_within_the_same_bounds() -> None:
    r = enormous()
    loop = seconds(reference)
    took = seconds(lambda: html.render([r]))
    size = len(html.render([r]).encode())
    print(f"\nenormous page: {took * 1000:.0f} ms, {took / loop:.1f} times the loop; {size / 1000:.0f} kB")
    assert took <= 15 * loop
    assert size <= MOST_BYTES


def test_a_drawing_takes_less_than_half_the_reference() -> None:
    r = review(load_section(CASES[0]))
    loop = seconds(reference)
    took = seconds(lambda: standalone(r))
    print(f"\ndrawing: {took * 1000:.1f} ms, {took / loop:.2f} times the loop")
    assert took <= 0.5 * loop
