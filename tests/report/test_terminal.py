"""The terminal report at every width: no line over it, nothing cut off, no hyphenated id broken."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from reviewer.model.parse import load_section
from reviewer.report import terminal, words
from reviewer.result import Result
from reviewer.review import review

ROOT = Path(__file__).parents[2]
CASES = sorted(
    p for p in (ROOT / "cases").rglob("*.yaml") if "questions" not in p.parts and p.parent != ROOT / "cases"
)
WIDTHS = (60, 80, 120, 200)


@cache
def reviewed(path: Path, units: str) -> Result:
    return review(load_section(path), units=units, work=units == "ip")  # type: ignore[arg-type]


@pytest.mark.parametrize("path", CASES, ids=[p.stem for p in CASES])
def test_no_line_is_wider_than_asked_and_every_number_is_there(path: Path) -> None:
    for units in ("ip", "si"):
        result = reviewed(path, units)
        for width in WIDTHS:
            text = terminal.render(result, width)
            over = [line for line in text.splitlines() if len(line) > width]
            assert not over, (units, width, over[:3])
            flowed = " ".join(text.split())
            for f in result.findings:
                assert f.rule in flowed, (width, f.rule)
            for row in words.year(result).rows if "monthly" in result.calculations else ():
                values = re.compile(r"\s+".join(map(re.escape, row.values[:6])))
                assert values.search(flowed), (width, row.label)
                assert row.label in flowed, (width, row.label)
