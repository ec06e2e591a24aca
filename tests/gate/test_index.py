"""The index of a library as a page: every detail, its verdicts, what moved, and filters of the style sheet alone."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path
from typing import Any


def rows(page: str) -> dict[str, str]:
    """Rows by the id that links lead to."""
    return {unescape(m[1]): m[0] for m in re.finditer(r'<tr id="([^"]*)".*?</tr>', page, re.S)}


def test_every_detail_has_a_row_that_says_what_it_is(gate: Any, write: Any, texts: Any) -> None:
    write("good.yaml", texts.good())
    write("sheet.yaml", texts.sheet)
    write("attic.yaml", texts.hazard)
    write("broken.yaml", "kind: wall\nlayers: [gypsun board]\n")
    found = rows(gate(".", "--format", "html").out)
    assert set(found) == {"good", "sheet", "attic", "broken.yaml"}
    assert 'data-kind="floor"' in found["attic"]
    assert 'data-verdict="revise-and-resubmit"' in found["sheet"]
    assert 'data-zone="6A"' in found["sheet"]
    assert 'data-there="revise-and-resubmit@6A"' in found["sheet"]
    assert 'data-verdict="could-not-review"' in found["broken.yaml"]
    assert "gypsun board" in found["broken.yaml"]


def test_filters_name_what_occurs_and_nothing_else(gate: Any, write: Any, texts: Any) -> None:
    write("sheet.yaml", texts.sheet)
    write("attic.yaml", texts.hazard)
    page = gate(".", "--format", "html").out
    choices = re.findall(r'<input type="radio" name="(\w+)" id="[^"]+"(?: checked)?>([^<]+)</label>', page)
    assert choices == [("kind", "all"), ("kind", "floor"), ("kind", "wall")]
    for key, n in (("kind", 1), ("kind", 2)):
        assert f"body:has(#{key}-{n}:checked)" in page


def test_a_verdict_that_moved_says_so_and_why(gate: Any, write: Any, texts: Any, library: Path) -> None:
    write("old/a.yaml", texts.good())
    write("old/b.yaml", texts.good("Yard wall"))
    write("new/a.yaml", texts.good().replace("  - house wrap\n", "  - 6 mil polyethylene\n"))
    page = unescape(gate("--diff", "old", "new", "--format", "html").out)
    assert "No exceptions taken became revise and resubmit" in page
    assert "Because: " in page
    assert "New: " in page
    assert "removed" in page


def test_what_a_file_is_called_and_says_stays_text(gate: Any, write: Any, texts: Any) -> None:
    write("x.yaml", texts.good('"<script>alert(1)</script> \\u202e \\" onclick=x"'))
    page = gate(".", "--format", "html").out
    assert "<script" not in page
    assert "\u202e" not in page
    assert "&lt;script&gt;" in page
    assert not re.search(r"<[^>]*\sonclick", page)


def test_the_same_library_gives_the_same_page(gate: Any, write: Any, texts: Any) -> None:
    for n in range(3):
        write(f"{n}.yaml", texts.sheet.replace("Street wall", f"Wall {n}"))
    assert gate(".", "--format", "html").out == gate(".", "--format", "html").out
