"""How fast sections are read: the gate's aim is a hundred reviews a second, so reading must be far from
the whole of it. Best of several runs, so that other work on the machine does not count."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from reviewer.document import parse_document
from reviewer.model.parse import parse_section

WALL = (Path(__file__).parents[1] / "model" / "good" / "street-wall.yaml").read_text(encoding="utf-8")
LINES = "".join(f"key {i}: some text of a usual length\n" for i in range(32))
DOCUMENT = (
    LINES + "list:\n" + "".join(f"  - {{material: gypsum board, thickness: {i} in}}\n" for i in range(31))
)


def best(work: Callable[[], object], times: int = 40) -> float:
    shortest = float("inf")
    for _ in range(times):
        started = time.perf_counter()
        work()
        shortest = min(shortest, time.perf_counter() - started)
    return shortest


def test_two_thousand_documents_of_64_lines_a_second():
    assert DOCUMENT.count("\n") == 64
    assert best(lambda: parse_document(DOCUMENT, "f.yaml")) < 1 / 2000


def test_a_section_file_takes_less_than_a_millisecond():
    assert best(lambda: parse_section(WALL, "wall.yaml")) < 1e-3
