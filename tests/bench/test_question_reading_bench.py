"""Reading questions stays small beside the review that answers them: ratios in the same run."""

from __future__ import annotations

import subprocess
import sys
import time

from reviewer.answers.read import read
from reviewer.model.parse import parse_section
from reviewer.review import review

QUESTIONS = (
    "We have a 2x6 wall with fiberglass and plywood in Duluth, no foam outside. Can I skip the poly?",
    "how much ext foam over 2x6 R-21 in CZ6 so I can leave the latex paint as the only retarder?",
    "Basement walls in Cleveland OH: 2 in EPS glued and taped on the block, then a 2x4 wall and drywall. Can I leave out the poly?",
    "Low-slope roof in Minneapolis: steel deck, no vapor retarder, 4 in polyiso in two layers, fully adhered white TPO. Fine?",
    "Savannah GA, 2x4 walls R-13 unfaced, plywood, felt, wood siding: do I need a vapor barrier, and can I add foil-faced "
    "polyiso outside when I change the siding?",
    "whats a class II vapor retarder mean",
)
SECTION = """
kind: wall
place: Duluth, MN
layers: latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-21 glass fiber batt | 7/16 in OSB | house wrap | vinyl siding
"""


def best(run: object, times: int = 5) -> float:
    assert callable(run)
    found = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        found.append(time.perf_counter() - start)
    return min(found)


def test_reading_a_question_costs_a_small_part_of_a_review() -> None:
    section = parse_section(SECTION)
    review(section)
    one_review = best(lambda: review(section))
    texts = iter(f"{q} ({n})" for n in range(10_000) for q in QUESTIONS)

    def six() -> None:
        # Each text once: nothing of a text that was read before helps.
        for _ in QUESTIONS:
            read(next(texts))

    six()
    one_reading = best(six) / len(QUESTIONS)
    assert one_reading < 0.4 * one_review, f"{1000 * one_reading:.2f} ms of {1000 * one_review:.1f} ms"


def test_the_first_reading_adds_little_to_a_cold_start() -> None:
    start = "import time; t = time.perf_counter(); "
    end = "; print(time.perf_counter() - t)"
    plain = f"{start}from reviewer.review import review; from reviewer.model.parse import parse_section; review(parse_section({SECTION!r})){end}"
    asked = f"{start}from reviewer.answers.read import read; read({QUESTIONS[0]!r}){end}"

    def seconds(code: str) -> float:
        out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
        return float(out)

    assert min(seconds(asked) for _ in range(3)) < min(seconds(plain) for _ in range(3))
