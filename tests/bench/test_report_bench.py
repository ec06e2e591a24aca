"""Speed of written reports, as ratios against a reference measured in the same run.

Targets: a letter as PDF within a second when warm, a DOCX too, Markdown and the terminal within a twentieth of one. The
reference is a loop of additions that takes 10 ms on this kind of machine when it is quiet.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import pytest

from reviewer.model.parse import load_section
from reviewer.report import markdown, office, pdf, terminal
from reviewer.report.review_paper import review_paper
from reviewer.result import Result
from reviewer.review import review
from reviewer.workbench import shipped_cases

REFERENCE_LOOP = 440_000


def median(job: Callable[[], object], runs: int = 5) -> float:
    job()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def reference() -> int:
    n = 0
    for _ in range(REFERENCE_LOOP):
        n += 1
    return n


@pytest.fixture(scope="module")
def longest() -> Result:
    """The case with the most findings."""
    return max((review(load_section(p)) for p in shipped_cases()[::5]), key=lambda r: len(r.findings))


@pytest.mark.parametrize(
    ("name", "job", "most"),
    [
        ("PDF", lambda r: pdf.render([review_paper(r, brief=True)]), 100.0),
        ("DOCX", lambda r: office.render([review_paper(r)]), 100.0),
        ("Markdown", lambda r: markdown.render(review_paper(r, pictures=False)), 5.0),
        ("terminal", lambda r: terminal.render(r, 80), 5.0),
    ],
)
def test_a_written_report_takes_no_longer_than_its_share(
    name: str, job: Callable[[Result], object], most: float, longest: Result
) -> None:
    unit = median(reference)
    found = median(lambda: job(longest))
    print(f"\n{name} {found * 1000:.0f} ms, reference {unit * 1000:.1f} ms: ratio {found / unit:.1f}")
    assert found <= most * unit
