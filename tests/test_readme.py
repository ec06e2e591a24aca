"""The README's report is what the program prints."""

from __future__ import annotations

import re
from pathlib import Path

from reviewer.model.parse import load_section
from reviewer.report import terminal
from reviewer.review import review

ROOT = Path(__file__).parent.parent
BLOCK = re.compile(
    r"<!-- report: (?P<file>\S+) -->\n```\n(?P<text>.*?)```\n<!-- end of report -->", re.DOTALL
)


def test_the_report_in_the_readme_is_the_one_the_program_prints() -> None:
    found = BLOCK.search((ROOT / "README.md").read_text(encoding="utf-8"))
    assert found is not None
    printed = terminal.render(review(load_section(ROOT / found["file"])), 80)
    # The last line names the engine that ran, which depends on the Python at hand.
    assert found["text"].splitlines()[:-1] == printed.splitlines()[:-1]
