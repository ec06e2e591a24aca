"""One paper, four formats: Markdown, DOCX and the linear text say the same as the paper, whatever is in it."""

from __future__ import annotations

import io
import os
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import docx
import pytest
from docx.oxml.ns import qn
from markdown_it import MarkdownIt
from pypdf import PdfReader

from reviewer.report import markdown, office, pdf, plain, terminal, words
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Bullets, Heading, Paper, Pictures, Table, Text, Verdict
from reviewer.report.review_paper import review_paper
from reviewer.result import Result

GOLDEN = Path(__file__).parent / "golden"


def bare(text: str) -> str:
    return re.sub(r"\s+", "", text)


def texts(paper: Paper, tables: bool = True) -> Iterator[str]:
    """All that a paper says but its pictures."""
    yield from (paper.title, paper.subtitle)
    for b in paper.blocks:
        if isinstance(b, Heading | Text):
            yield b.text
        elif isinstance(b, Verdict):
            yield from (b.words, b.text, b.aside)
        elif isinstance(b, Bullets):
            yield from (b.lead, *b.items)
        elif isinstance(b, Table) and tables:
            yield from b.head
            for row in b.rows:
                yield from row


# Markdown, read by a CommonMark reader with the tables of GFM (markdown-it, a library that rich brings).


def read(text: str) -> list[Any]:
    return MarkdownIt("commonmark", {"html": True}).enable("table").parse(text)


def words_of(tokens: list[Any]) -> Iterator[str]:
    for token in tokens:
        for child in token.children or ():
            if child.type in ("text", "text_special"):
                yield child.content
            assert child.type in (
                "text",
                "text_special",
                "strong_open",
                "strong_close",
                "softbreak",
                "hardbreak",
            ), (
                child.type,
                child.content,
            )


def test_markdown_reads_back_as_the_paper_and_no_text_is_markup(paper: Paper) -> None:
    tokens = read(markdown.render(paper))
    assert {t.type for t in tokens} <= {
        *("heading_open", "heading_close", "paragraph_open", "paragraph_close", "inline"),
        *("bullet_list_open", "bullet_list_close", "list_item_open", "list_item_close"),
        *("table_open", "table_close", "thead_open", "thead_close", "tbody_open", "tbody_close"),
        *("tr_open", "tr_close", "th_open", "th_close", "td_open", "td_close"),
    }
    found = bare("".join(words_of(tokens)))
    for text in texts(paper):
        assert bare(words.clean(text)) in found, text
    heads = sum(t.type == "heading_open" for t in tokens)
    assert heads == 1 + sum(isinstance(b, Heading) for b in paper.blocks)
    for name in ("A. Okafor", "Lantern Row Enclosure Office", "March 2, 2026"):
        assert bare(name) in found


@pytest.mark.parametrize(
    "text", ["- a", "+ a", "1. a", "12) a", "# a", "> a", "=== ", "---", "***", "~~~", "    a"]
)
def test_no_text_begins_a_block_of_markdown(text: str) -> None:
    paper = Paper(title=text, subtitle=text, blocks=(Text(text), Text(text, lead="Lead"), Bullets((text,))))
    kinds = {t.type for t in read(markdown.render(paper))}
    assert not kinds & {"ordered_list_open", "blockquote_open", "hr", "fence", "code_block", "html_block"}
    assert sum(t.type == "bullet_list_open" for t in read(markdown.render(paper))) == 1


# DOCX, opened by python-docx and by hand.


def test_docx_says_what_the_paper_says_with_real_headings_and_header_rows(paper: Paper) -> None:
    doc = docx.Document(io.BytesIO(office.render([paper])))
    cells = [c.text for t in doc.tables for c in t._cells]
    found = bare("".join(p.text for p in doc.paragraphs) + "".join(cells))
    for text in texts(paper):
        assert bare(words.clean(text)) in found, text
    styles = [p.style.name for p in doc.paragraphs if p.style]
    assert styles.count("Title") == 1
    levels = [b.level for b in paper.blocks if isinstance(b, Heading)]
    assert styles.count("Heading 1") == levels.count(2)
    assert styles.count("Heading 2") == levels.count(3)
    for table in doc.tables:
        properties = table.rows[0]._tr.trPr
        assert properties is not None
        assert properties.find(qn("w:tblHeader")) is not None
    drawings = doc.element.body.findall(f".//{qn('wp:docPr')}")
    assert len(drawings) == sum(isinstance(b, Pictures) for b in paper.blocks)
    assert all(len(d.get("descr", "")) > 100 for d in drawings)


def test_docx_has_no_time_of_its_own_and_no_fields_but_page_numbers(
    ordinary: Result, letterhead: Letterhead
) -> None:
    data = office.render([review_paper(ordinary, letterhead)])
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        assert {info.date_time for info in parts.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        core = parts.read("docProps/core.xml").decode()
        # dcterms:created and :modified (ECMA-376 part 2, clause 11, from memory) are the letter's day.
        assert re.findall(r"\d{4}-\d\d-\d\dT", core) == ["2026-03-02T"] * 2
        fields = [
            e.get(qn("w:instr"))
            for name in parts.namelist()
            if name.endswith(".xml") and name.startswith("word/")
            for e in ElementTree.fromstring(parts.read(name)).iter(qn("w:fldSimple"))
        ]
        assert fields == ["PAGE", "NUMPAGES"]
    without = office.render([review_paper(ordinary)])
    with zipfile.ZipFile(io.BytesIO(without)) as parts:
        assert "created" not in parts.read("docProps/core.xml").decode()


def test_docx_is_well_formed_and_links_nowhere(paper: Paper) -> None:
    data = office.render([paper])
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        for name in parts.namelist():
            if name.endswith((".xml", ".rels")):
                text = parts.read(name).decode()
                ElementTree.fromstring(text)
                assert not re.search("[\x00-\x08\x0b\x0c\x0e-\x1f\u200b\u202a-\u202e\u2066-\u2069]", text), (
                    name
                )
        assert "External" not in parts.read("word/_rels/document.xml.rels").decode()


TABLE_PROPERTIES = (
    *(
        "tblStyle",
        "tblpPr",
        "tblOverlap",
        "bidiVisual",
        "tblStyleRowBandSize",
        "tblStyleColBandSize",
        "tblW",
        "jc",
    ),
    *("tblCellSpacing", "tblInd", "tblBorders", "shd", "tblLayout", "tblCellMar", "tblLook", "tblCaption"),
)
"""The order of w:CT_TblPr (ECMA-376 part 1, A.1, wml.xsd; from memory)."""
CELL_PROPERTIES = ("cnfStyle", "tcW", "gridSpan", "hMerge", "vMerge", "tcBorders", "shd", "noWrap", "tcMar")
"""The order of w:CT_TcPr (as above)."""


def test_docx_keeps_the_order_that_the_standard_sets(ordinary: Result) -> None:
    body = docx.Document(io.BytesIO(office.render([review_paper(ordinary)]))).element.body
    for name, order in (("w:tblPr", TABLE_PROPERTIES), ("w:tcPr", CELL_PROPERTIES)):
        found = body.findall(f".//{qn(name)}")
        assert found
        for properties in found:
            places = [order.index(child.tag.rpartition("}")[2]) for child in properties]
            assert places == sorted(places), name


def test_docx_pictures_are_drawn_for_the_width_they_have(ordinary: Result) -> None:
    paper = review_paper(ordinary)
    (pictures,) = [b for b in paper.blocks if isinstance(b, Pictures)]
    png = pdf.picture([p.svg for p in pictures.pictures], 6.6)
    # Width and height stand in the IHDR chunk (PNG, W3C Recommendation, 11.2.2).
    width = int.from_bytes(png[16:20], "big")
    assert width == pytest.approx(6.6 * 200, abs=2)


# PDF, read by pypdf.


def test_pdf_says_what_the_paper_says(paper: Paper) -> None:
    reader = PdfReader(io.BytesIO(pdf.render([paper])))
    pages = "".join(page.extract_text() for page in reader.pages)
    for sign in ("\x1b", "\u202e", "\x00", "\u200b"):
        assert sign not in pages
    found = re.sub(r"[\s-]+", "", pages)
    for text in texts(paper):
        # Lines end where the typesetter has them end, and a footer may stand in between.
        for word in words.clean(text).split(" "):
            assert re.sub(r"[\s-]+", "", word) in found, (word, text)
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]  # type: ignore[index]


# The linear text.


def test_the_linear_text_has_no_columns_and_says_what_the_paper_says(paper: Paper) -> None:
    text = plain.render(paper)
    assert not re.search("[\u2500-\u259f|]{2,}|\u2502", text)
    assert all("  " not in line for line in text.splitlines())
    found = bare(text)
    for said in texts(paper, tables=False):
        assert bare(words.clean(said).replace(" · ", ", ")) in found or bare(words.clean(said)) in found, said
    for sign in ("\x1b", "\u202e", "\x00"):
        assert sign not in text


def test_each_number_of_a_table_is_read_out_with_its_label(ordinary: Result) -> None:
    text = plain.render(review_paper(ordinary, pictures=False))
    year = words.year(ordinary)
    lines = {line.split(":")[0]: line for line in text.splitlines()}
    for k, month in enumerate(("January", "July"), 0):
        at = 0 if k == 0 else 6
        for row in year.rows:
            label, _, unit = row.said.partition("|")
            assert f"{label} {row.values[at]} {unit}" in lines[month], (month, label)
    for x in ordinary.layers:
        (line,) = [line for line in text.splitlines() if line.startswith(f"Layer {x.index + 1}, ")]
        assert f"{words.thickness(x, 'ip')} thick" in line
        assert f"permeance dry {words.permeance(x.permeance_dry, 'ip', x.unknown)}" in line
        assert f"{words.temperature(x.temperature_outer, 'ip')} °F at its outer face" in line
    assert "Condensate collects at its outer face." in text


# Golden files: REVIEWER_WRITE_SCENARIOS=1 writes them anew; read the difference.


@pytest.mark.parametrize(
    ("name", "suffix"),
    [
        *(("ordinary", s) for s in ("md", "plain.txt", "docx.txt", "pdf.txt", "terminal.txt")),
        *(("empty", s) for s in ("md", "plain.txt", "docx.txt", "pdf.txt", "terminal.txt")),
        ("enormous", "md"),
        ("enormous", "terminal.txt"),
    ],
)
def test_the_golden_files_hold(
    name: str, suffix: str, request: pytest.FixtureRequest, letterhead: Letterhead
) -> None:
    result = request.getfixturevalue(name)
    path = GOLDEN / f"{name}.{suffix}"
    found = _written(result, suffix, letterhead)
    if os.environ.get("REVIEWER_WRITE_SCENARIOS"):
        GOLDEN.mkdir(exist_ok=True)
        path.write_text(found, encoding="utf-8")
    assert found == path.read_text(encoding="utf-8")


def _written(result: Result, suffix: str, letterhead: Letterhead) -> str:
    if suffix == "md":
        return markdown.render(review_paper(result, letterhead, pictures=False))
    if suffix == "terminal.txt":
        return terminal.render(result, 80)
    if suffix == "plain.txt":
        return plain.render(review_paper(result, letterhead, pictures=False))
    if suffix == "docx.txt":
        doc = docx.Document(io.BytesIO(office.render([review_paper(result, letterhead)])))
        return "".join(f"{_outlined(part)}\n" for part in doc.iter_inner_content())
    # What goes into the template: how lines fall is the business of typst's version.
    (paper,) = pdf.told([review_paper(result, letterhead, brief=True)])["papers"]
    return "".join(f"{_line(block)}\n" for block in paper["blocks"])


def _outlined(part: Any) -> str:
    if hasattr(part, "rows"):
        return "\n".join(" | ".join(c.text for c in row.cells) for row in part.rows)
    return f"[{part.style.name}] {part.text}"


def _line(block: dict[str, Any]) -> str:
    shown = {k: v for k, v in block.items() if k not in ("kind", "pictures", "rows")}
    rows = "".join(f"\n    {' | '.join(row)}" for row in block.get("rows", ()))
    return f"{block['kind']}: {shown}{rows}"
