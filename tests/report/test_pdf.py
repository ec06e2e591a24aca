"""The letter as PDF, read back by pypdf and by poppler: what it says, its pages, its tags, its bytes."""

from __future__ import annotations

import hashlib
import io
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject

from reviewer import cli
from reviewer.model.parse import load_section
from reviewer.report import pdf, words
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Bullets, Heading, Paper, Pictures, Table, Text, Verdict
from reviewer.report.review_paper import review_paper
from reviewer.result import Result
from reviewer.review import review

ROOT = Path(__file__).parents[2]
CASES = sorted(
    p for p in (ROOT / "cases").rglob("*.yaml") if "questions" not in p.parts and p.parent != ROOT / "cases"
)


@cache
def reviewed(path: Path, units: str) -> Result:
    return review(load_section(path), units=units)  # type: ignore[arg-type]


def letter(result: Result, letterhead: Letterhead | None = None) -> bytes:
    return pdf.render([review_paper(result, letterhead, brief=True)])


def opened(data: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(data))


def said(data: bytes) -> str:
    return bare("".join(page.extract_text() for page in opened(data).pages))


def bare(text: str) -> str:
    """Without white space and the marks of broken lines: where lines end is the typesetter's matter."""
    return re.sub(r"[\s\u00ad\u200b-]+", "", text)


def texts(paper: Paper) -> Iterator[str]:
    yield paper.title
    for b in paper.blocks:
        if isinstance(b, Heading | Text):
            yield b.text
        elif isinstance(b, Verdict):
            yield from (b.words, b.text, b.aside)
        elif isinstance(b, Bullets):
            yield from b.items
        elif isinstance(b, Table):
            yield from b.head
            for row in b.rows:
                yield from row
        elif isinstance(b, Pictures):
            yield from (p.caption for p in b.pictures)


@pytest.mark.parametrize("path", CASES[::12], ids=[p.stem for p in CASES[::12]])
def test_the_letter_says_all_that_the_paper_and_the_result_say(path: Path, letterhead: Letterhead) -> None:
    for units in ("ip", "si"):
        result = reviewed(path, units)
        paper = review_paper(result, letterhead, brief=True)
        found = said(pdf.render([paper]))
        # A footer may stand between two lines of a text that goes over a page: short texts are looked for whole.
        for text in texts(paper):
            for part in re.split(r"(?<=[.;:]) ", text):
                pieces = [part] if len(part) < 60 else part.split(" ")
                assert all(bare(p) in found for p in pieces), part
        for f in result.findings:
            assert bare(f.rule) in found
            assert bare(f.margin) in found or len(f.margin) > 60
        for x in result.layers:
            assert bare(words.thickness(x, units)) in found
        assert bare(words.DISPOSITIONS[result.disposition]) in found


@pytest.mark.parametrize("half", [0, 1])
def test_ordinary_reviews_take_two_to_four_pages_and_say_which(half: int, letterhead: Letterhead) -> None:
    for path in CASES[half::2]:
        data = letter(reviewed(path, "ip"), letterhead)
        pages = opened(data).pages
        assert 2 <= len(pages) <= 4, path.stem
        last = " ".join(pages[-1].extract_text().split())
        assert f"page {len(pages)} of {len(pages)}" in last, path.stem


def test_a_letter_with_a_date_is_tagged_pdf_a_and_pdf_ua(ordinary: Result, letterhead: Letterhead) -> None:
    # PDF/A-2 (ISO 19005-2, 6.6.4) and PDF/UA-1 (ISO 14289-1, 5) name themselves in the XMP packet; 7.1 of the latter
    # asks for /MarkInfo, a structure tree, a language and a title that is shown (clauses from memory).
    reader = opened(letter(ordinary, letterhead))
    root = reader.trailer["/Root"]
    xmp = root["/Metadata"].get_data().decode()
    assert re.search(r"pdfaid:part>2<", xmp)
    assert re.search(r"pdfaid:conformance>A<", xmp)
    assert re.search(r"pdfuaid:part>1<", xmp)
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en-US"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None
    assert reader.metadata.title == words.title(ordinary)
    assert reader.metadata.author == "A. Okafor"
    assert reader.metadata["/CreationDate"].startswith("D:20260302")
    fonts = {str(f["/BaseFont"]) for p in reader.pages for f in _fonts(p)}
    assert fonts
    assert all(re.match(r"/[A-Z]{6}\+(Libertinus|NewCM|DejaVu)", name) for name in fonts), fonts


def _fonts(page: Any) -> list[Any]:
    return [f.get_object() for f in page["/Resources"].get("/Font", {}).values()]


def test_the_tags_tell_headings_tables_lists_and_what_drawings_show(
    ordinary: Result, letterhead: Letterhead
) -> None:
    tree = list(_tree(opened(letter(ordinary, letterhead)).trailer["/Root"]["/StructTreeRoot"]))
    kinds = [str(node.get("/S", "")) for node in tree]
    assert {"/H1", "/H2", "/H3", "/Table", "/TH", "/TD", "/L", "/LI", "/Figure"} <= set(kinds)
    assert kinds.count("/H1") == 1
    headers = 8 + 13
    assert kinds.count("/TH") == headers
    drawings = [str(node["/Alt"]) for node in tree if node.get("/S") == "/Figure" and "/Alt" in node]
    assert len(drawings) == 2
    assert "vinyl siding" in drawings[0]
    levels = [int(k[2:]) for k in kinds if re.fullmatch(r"/H\d", k)]
    assert all(b - a <= 1 for a, b in pairwise(levels)), "a level is left out"


def _tree(node: Any) -> Iterator[DictionaryObject]:
    if isinstance(node, IndirectObject):
        node = node.get_object()
    if isinstance(node, list):
        for part in node:
            yield from _tree(part)
    elif isinstance(node, dict) and node.get("/Type") != "/MCR":
        yield node  # type: ignore[misc]
        yield from _tree(node.get("/K", []))


def test_without_a_letterhead_nobody_signs_and_no_date_is_made_up(ordinary: Result) -> None:
    data = letter(ordinary)
    assert "Reviewedby" not in said(data)
    reader = opened(data)
    assert reader.metadata is not None
    assert "/CreationDate" not in reader.metadata
    assert "/Author" not in reader.metadata
    xmp = reader.trailer["/Root"]["/Metadata"].get_data().decode()
    assert "pdfuaid:part" in xmp
    # PDF/A asks for a date, and none is known.
    assert "pdfaid:part" not in xmp


def test_two_processes_with_other_hash_seeds_write_the_same_bytes(tmp_path: Path) -> None:
    (tmp_path / "firm.yaml").write_text("firm: Lantern Row\ndate: 2026-03-02\n", encoding="utf-8")
    seen = set()
    for seed in ("1", "4242"):
        subprocess.run(
            [
                *(sys.executable, "-m", "reviewer", "review", str(CASES[0]), "--fail-at", "never"),
                *("-o", "x.pdf", "-o", "x.docx", "--letterhead", "firm.yaml"),
            ],
            cwd=tmp_path,
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=True,
        )
        seen.add(tuple(hashlib.sha256((tmp_path / n).read_bytes()).hexdigest() for n in ("x.pdf", "x.docx")))
    assert len(seen) == 1


def test_hostile_texts_stand_there_as_they_are_written(hostile: Result, letterhead: Letterhead) -> None:
    data = letter(hostile, letterhead)
    found = said(data)
    for part in ('#panic("x")', "$x$", "[*b*]", "_i_", "`c`", "{{7*7}}", "<label>", "//comment", "~tilde~"):
        assert bare(part) in found, part
    for sign in ("\u202e", "\x1b", "\x00", "\u200b"):
        assert sign not in "".join(p.extract_text() for p in opened(data).pages)
    assert 2 <= len(opened(data).pages) <= 8


def test_characters_that_no_font_has_are_named_by_their_code_points(ordinary: Result) -> None:
    section = ordinary.section.model_copy(update={"title": "外壁 wall 🏠"})
    found = said(letter(ordinary.model_copy(update={"section": section})))
    assert "[U+5916][U+58C1]wall[U+1F3E0]" in found


def test_the_empty_review_is_a_letter_too(empty: Result, letterhead: Letterhead) -> None:
    data = letter(empty, letterhead)
    assert len(opened(data).pages) == 1
    assert "Thesectionhasnolayers." in said(data)
    assert "Noexceptionstaken" in said(data)


def test_the_enormous_review_takes_more_pages_and_loses_nothing(enormous: Result) -> None:
    data = letter(enormous)
    found = said(data)
    assert len(enormous.layers) == 60
    assert len(enormous.findings) == 100
    for n in range(100):
        assert f"Finding{n}ofahundred" in found
    pages = len(opened(data).pages)
    assert pages > 4
    assert f"page{pages}of{pages}" in found
    assert len(data) < 2_000_000


def test_several_reviews_in_one_file_each_begin_a_page(ordinary: Result, empty: Result) -> None:
    data = pdf.render([review_paper(ordinary, brief=True), review_paper(empty, brief=True)])
    last = opened(data).pages[-1].extract_text()
    assert last.lstrip().startswith("empty")


def test_the_paper_is_that_of_the_units_unless_the_letterhead_says_so(
    ordinary: Result, letterhead: Letterhead
) -> None:
    from dataclasses import replace

    sizes = []
    for units, paper in (("ip", ""), ("si", ""), ("ip", "A4")):
        result = ordinary.model_copy(update={"units": units})
        page = opened(letter(result, replace(letterhead, paper=paper))).pages[0]
        sizes.append((round(page.mediabox.width), round(page.mediabox.height)))
    assert sizes == [(612, 792), (595, 842), (595, 842)]


@pytest.mark.parametrize(("suffix", "library"), [("pdf", "typst"), ("docx", "docx")])
def test_a_missing_library_is_one_clear_message(
    suffix: str,
    library: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    from reviewer.report import written

    monkeypatch.setattr(written, "find_spec", lambda name: None if name == library else object())
    target = tmp_path / f"x.{suffix}"
    monkeypatch.setattr(sys, "argv", ["reviewer", "review", str(CASES[0]), "-o", str(target)])
    with pytest.raises(SystemExit) as stopped:
        cli.main()
    assert stopped.value.code == 2
    said_so = capsys.readouterr().err
    assert f"pip install 'reviewer[{suffix}]'" in said_so
    assert "Traceback" not in said_so
    assert not target.exists()


@pytest.mark.needs("poppler")
def test_poppler_reads_the_same_words_and_draws_every_page(
    ordinary: Result, letterhead: Letterhead, tmp_path: Path
) -> None:
    file = tmp_path / "x.pdf"
    file.write_bytes(letter(ordinary, letterhead))

    def run(*command: str) -> str:
        return subprocess.run(command, cwd=tmp_path, check=True, capture_output=True).stdout.decode(
            errors="replace"
        )

    about = run("pdfinfo", "x.pdf")
    assert re.search(r"Tagged:\s+yes", about)
    assert re.search(r"Pages:\s+[234]\b", about)
    assert re.search(r"JavaScript:\s+no", about)
    found = bare(run("pdftotext", "-layout", "x.pdf", "-"))
    for f in ordinary.findings:
        assert bare(f.rule) in found
    structure = run("pdfinfo", "-struct-text", "x.pdf")
    assert "Reviewed by" in structure
    assert structure.index("H1") < structure.index("Table") < structure.index("Cautions")
    run("pdftoppm", "-r", "40", "-png", "x.pdf", "page")
    drawn = sorted(tmp_path.glob("page-*.png"))
    assert len(drawn) == len(opened(file.read_bytes()).pages)
    # A blank page at this size compresses to far less.
    assert all(page.stat().st_size > 5_000 for page in drawn)
