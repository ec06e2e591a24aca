"""Speed of answers, as ratios against reviews measured in the same run.

Targets: a cold answer within 1.5 times a cold review; warm, 50 questions a second on one core of this kind of machine
when it is quiet, where a warm review takes 5 to 10 ms. A question whose sections were judged before may take 0.4 of a
review (the last 512 sections are kept); one whose sections are all new four of them, since several sections at several climates are judged for it. Questions
that need a search (the cheapest change, the least amount) take as long as the search and are counted apart.
"""

from __future__ import annotations

import gc
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from reviewer.answers.answer import answer
from reviewer.answers.compute import Desk
from reviewer.answers.read import read
from reviewer.answers.reading import Reading
from reviewer.model.parse import section_from_line
from reviewer.review import load_rules, review
from tests.answers.bench_questions import corpus

QUESTION = "We have a 2x6 wall with fiberglass and plywood in Duluth, no foam outside. Can I skip the poly?"
WALL = "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-21 glass fiber batt | 1/2 in plywood | house wrap | vinyl siding"


def cpu(command: list[str], runs: int = 7) -> float:
    """Median processor time of a command after one warm-up, s: less shaken by other work than wall time."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPYCACHEPREFIX"] = str(Path(tempfile.gettempdir()) / "reviewer-bench-bytecode")
    times = []
    for _ in range(runs + 1):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(command, check=False, capture_output=True, env=environment)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        times.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return statistics.median(times[1:])


def test_a_cold_answer_is_within_one_and_a_half_times_a_cold_review() -> None:
    reference = cpu(
        [sys.executable, "-m", "reviewer", "review", WALL, "--kind", "wall", "--place", "Duluth, MN"]
    )
    for question in (
        QUESTION,
        "Is a 2x6 wall with kraft batts, OSB, house wrap and vinyl siding ok in Chicago?",
    ):
        found = cpu([sys.executable, "-m", "reviewer", "ask", question])
        print(f"\nask {found * 1000:.0f} ms, review {reference * 1000:.0f} ms: ratio {found / reference:.2f}")
        assert found <= 1.5 * reference


def timed(work: Callable[[], None]) -> float:
    gc.collect()
    start = time.process_time()
    work()
    return time.process_time() - start


def test_fifty_questions_a_second_warm() -> None:
    readings = [r for _, q in list(corpus())[::6] for r in read(q["text"])]
    every_day = [r for r in readings if r.intent not in ("cheapest", "how much")]
    searching = [r for r in readings if r.intent in ("cheapest", "how much")]
    texts = [r.text for r in every_day]
    rules = load_rules()
    walls = [
        section_from_line(
            WALL.replace("1/2 in plywood", f"{n}/16 in plywood"), kind="wall", place="Duluth, MN"
        )
        for n in range(5, 13)
    ]
    review(walls[0], rules)
    reference = timed(lambda: [review(w, rules) for w in walls] and None) / len(walls)
    desk = Desk(rules)
    answer(every_day[0], desk)

    def each(of: Sequence[Reading]) -> float:
        return timed(lambda: [answer(r, desk) for r in of] and None) / len(of)

    reading = timed(lambda: [read(t) for t in texts] and None) / len(texts)
    fresh, again, search = each(every_day) + reading, each(every_day) + reading, each(searching)
    print(
        f"\na warm review {reference * 1000:.1f} ms; a question with new sections {fresh * 1000:.1f} ms "
        f"({1 / fresh:.0f} a second, {fresh / reference:.2f} reviews), with known ones {again * 1000:.2f} ms "
        f"({1 / again:.0f} a second), reading {reading * 1000:.2f} ms; a search {search * 1000:.0f} ms"
    )
    assert fresh <= 4.5 * reference
    assert again <= 0.4 * reference
    assert each(searching) <= 0.4 * reference
