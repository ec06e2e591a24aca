"""Every output against the standard or the reader it is made for."""

from __future__ import annotations

import csv
import io
import json
import xml.etree.ElementTree as ElementTree
import zipfile
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from reviewer.gate.outputs.as_json import schema

SARIF = Path(__file__).parent / "sarif" / "sarif-2.1.0-rtm.5.json"
"""The published JSON Schema of SARIF 2.1.0 (OASIS), seen; where it comes from stands beside it."""
FORMULA = '=HYPERLINK("http://a.example","x")'


@pytest.fixture
def mixed(write: Any, texts: Any) -> None:
    """Live, waived, known, hazardous, hostile and unreadable sections."""
    write("a.yaml", texts.sheet)
    write("b.yaml", texts.waived().replace("2x6 @ 16 in with R-21", "2x4 @ 16 in with R-13"))
    write("c.yaml", texts.hazard)
    write("d.yaml", texts.good(json.dumps(FORMULA + " <script>alert(1)</script> | `x`")))
    write("broken & bad.yaml", "kind: wall\nlayers: [gypsun board]\n")


def test_sarif_is_valid_under_the_published_schema(gate: Any, mixed: None) -> None:
    ran = gate(".", "--format", "sarif")
    log = json.loads(ran.out)
    check = jsonschema.Draft4Validator(json.loads(SARIF.read_text(encoding="utf-8")))
    assert not list(check.iter_errors(log))
    (run,) = log["runs"]
    by_file = {
        r["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]: r
        for r in run["results"]
        if r["ruleId"].startswith("yard/")
    }
    assert by_file["b.yaml"]["suppressions"][0]["kind"] == "inSource"
    assert "suppressions" not in by_file["a.yaml"]
    assert by_file["a.yaml"]["level"] == "error"
    assert by_file["a.yaml"]["locations"][0]["physicalLocation"]["region"]["startLine"] == 7
    assert run["invocations"][0]["executionSuccessful"] is False
    note = run["invocations"][0]["toolExecutionNotifications"][0]
    assert note["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] == "broken%20%26%20bad.yaml"
    rules = run["tool"]["driver"]["rules"]
    assert all(rules[r["ruleIndex"]]["id"] == r["ruleId"] for r in run["results"])


def test_an_empty_sarif_log_is_valid(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.good())
    log = json.loads(gate(".", "--format", "sarif").out)
    jsonschema.Draft4Validator(json.loads(SARIF.read_text(encoding="utf-8"))).validate(log)
    assert log["runs"][0]["results"] == []


def test_fingerprints_stay_while_lines_and_values_move(gate: Any, write: Any, texts: Any) -> None:
    def prints() -> list[str]:
        (run,) = json.loads(gate(".", "--format", "sarif").out)["runs"]
        return [r["partialFingerprints"]["structuralPath/v1"] for r in run["results"]]

    write("a.yaml", texts.sheet)
    before = prints()
    write("a.yaml", "# moved\n" + texts.sheet.replace("1/2 in gypsum", "5/8 in gypsum"))
    assert prints() == before
    write("a.yaml", "id: other\n" + texts.sheet)
    assert prints() != before


def test_json_is_what_its_schema_says(gate: Any, mixed: None) -> None:
    described = schema()
    jsonschema.Draft202012Validator.check_schema(described)
    said = json.loads(gate(".", "--format", "json").out)
    jsonschema.Draft202012Validator(described).validate(said)
    assert said["tally"]["details"] == 5
    assert said["tally"]["could_not_review"] == 1
    assert said["tally"]["waived"] == 1
    assert said["tally"]["hazards"] == 1
    assert said["status"] == 2


def test_junit_counts_what_it_holds(gate: Any, mixed: None) -> None:
    root = ElementTree.fromstring(gate(".", "--format", "junit").out)
    assert root.tag == "testsuites"
    for suite in root:
        assert int(suite.attrib["tests"]) == len(suite.findall("testcase"))
        assert int(suite.attrib["failures"]) == len(suite.findall("testcase/failure"))
        assert int(suite.attrib["errors"]) == len(suite.findall("testcase/error"))
    for name, path in (("tests", ".//testcase"), ("failures", ".//failure"), ("errors", ".//error")):
        assert int(root.attrib[name]) == len(root.findall(path)), name
    assert int(root.attrib["failures"]) >= 2


def test_no_cell_of_the_register_starts_a_formula(gate: Any, mixed: None, library: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    gate(".", "-o", "r.csv", "-o", "r.xlsx")
    rows = list(csv.reader(io.StringIO((library / "r.csv").read_text(encoding="utf-8"))))
    assert {len(row) for row in rows} == {len(rows[0])}
    assert not [cell for row in rows for cell in row if cell[:1] in ("=", "+", "-", "@")]
    assert any(cell.startswith("'=HYPERLINK") for row in rows for cell in row)
    book = openpyxl.load_workbook(library / "r.xlsx")
    assert book.sheetnames == ["Details", "Findings", "Library"]
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert not [cell for cell in cells if cell.data_type == "f"]
    assert any(str(cell.value).startswith("=HYPERLINK") for cell in cells)


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", "＝", "＋", "－", "＠", "\u202e=", " ="])
def test_no_sign_that_begins_a_formula_gets_through(
    gate: Any, write: Any, texts: Any, library: Path, start: str
) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    write("a.yaml", texts.good(json.dumps(f"{start}1+1;=2+2", ensure_ascii=False)))
    gate(".", "-o", "r.csv", "-o", "r.xlsx")
    text = (library / "r.csv").read_text(encoding="utf-8")
    # A program that separates cells by semicolons sees no more formulas than one that separates them by commas.
    for separator in ",;":
        cells = [cell for row in csv.reader(io.StringIO(text), delimiter=separator) for cell in row]
        assert any("1+1" in cell for cell in cells)
        assert not [c for c in cells if c[:1] in set("=+-@＝＋－＠\t\r")]
    book = openpyxl.load_workbook(library / "r.xlsx")
    assert not [c for sheet in book for row in sheet.iter_rows() for c in row if c.data_type == "f"]


def test_a_workbook_holds_no_time_of_writing(gate: Any, mixed: None, library: Path) -> None:
    gate(".", "-o", "one.xlsx", "-o", "two.xlsx")
    assert (library / "one.xlsx").read_bytes() == (library / "two.xlsx").read_bytes()
    with zipfile.ZipFile(library / "one.xlsx") as book:
        assert {info.date_time[0] for info in book.infolist()} == {1980}


def test_html_and_markdown_run_nothing_that_a_section_says(gate: Any, mixed: None) -> None:
    page = gate(".", "--format", "html").out
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    comment = gate(".", "--format", "markdown").out
    assert "<script" not in comment
    assert "Polyethylene of" in comment


def test_a_comment_fits_where_comments_are_limited(gate: Any, write: Any, texts: Any) -> None:
    for n in range(120):
        write(f"{n}.yaml", texts.sheet.replace("Street wall", f"Wall {n} " + "x" * 900))
    comment = gate(".", "--format", "markdown").out
    assert len(comment) < 65_536
    assert "did not fit here" in comment


def test_several_reports_in_one_run(gate: Any, mixed: None, library: Path) -> None:
    names = ["r.json", "r.sarif", "r.xml", "r.md", "r.html", "r.csv", "r.txt"]
    arguments = [x for name in names for x in ("-o", name)]
    ran = gate(".", *arguments)
    assert all((library / name).stat().st_size > 100 for name in names)
    assert "revise and resubmit" in ran.out
    assert gate(".", "-o", "r.docx").status == 2


@pytest.mark.parametrize(
    ("service", "line"),
    [
        ("github", "::error file=a.yaml,line=7,title=yard/polyethylene::zone 6A: Polyethylene of"),
        (
            "azure",
            "##vso[task.logissue type=error;sourcepath=a.yaml;linenumber=7;code=yard/polyethylene]zone 6A",
        ),
        ("teamcity", "##teamcity[inspection typeId='yard/polyethylene' message='zone 6A: Polyethylene of"),
    ],
)
def test_annotations_follow_the_services_documents(gate: Any, mixed: None, service: str, line: str) -> None:
    """Formats from memory of the services' documents."""
    out = gate(".", "--annotate", service).out
    assert line in out
    (broken,) = [x for x in out.splitlines() if "could not review" in x and x[:2] in ("::", "##")]
    assert "gypsun board" in broken


def test_a_library_is_a_letter_too(gate: Any, mixed: None, library: Path) -> None:
    from io import BytesIO

    import docx
    from pypdf import PdfReader

    (library / "firm.txt").write_text("firm: Lantern Row\ndate: 2026-03-02\n", encoding="utf-8")
    gate(".", "-o", "r.pdf", "-o", "r.docx", "-o", "r.json", "-o", "s.pdf", "--letterhead", "firm.txt")
    assert (library / "s.pdf").read_bytes()[-200:] == (library / "r.pdf").read_bytes()[-200:]
    pages = "".join(p.extract_text() for p in PdfReader(library / "r.pdf").pages)
    doc = docx.Document(BytesIO((library / "r.docx").read_bytes()))
    words = "".join(p.text for p in doc.paragraphs)
    words += "".join(c.text for t in doc.tables for row in t.rows for c in row.cells)
    said = json.loads((library / "r.json").read_text(encoding="utf-8"))
    for found in (pages, words):
        close = "".join(found.split())
        assert "March2,2026" in close
        assert "<script>" in close, "a text stands there as it is written"
        for detail in said["details"]:
            assert detail["file"].replace(" ", "") in close
            for verdict in detail["verdicts"]:
                for f in verdict["findings"]:
                    if f["state"] == "live" and f["severity"] in ("serious", "caution"):
                        assert f["rule"] in close.replace("-\n", "")


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_no_rule_breaks_at_the_terminal(
    width: int, gate: Any, mixed: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    monkeypatch.setattr("reviewer.gate.command._columns", lambda: width)
    said = json.loads(gate(".", "--format", "json").out)
    found = gate(".").out
    rules = {
        f["rule"]
        for detail in said["details"]
        for v in detail["verdicts"]
        for f in v["findings"]
        if f["state"] == "live" and f["severity"] in ("serious", "caution")
    }
    assert rules
    assert all(rule in found for rule in rules)


def test_the_terminal_shows_the_first_of_many_and_counts_the_rest(
    gate: Any, write: Any, texts: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("reviewer.gate.outputs.terminal.LIMIT", 2)
    for n in range(5):
        write(f"{n}.yaml", f"id: wall-{n}\n" + texts.sheet)
    gate(".", "--baseline", "known.json", "--write-baseline")
    shown = gate(".").out
    assert shown.count("yard/polyethylene") == 2
    assert "… and 3 more findings: write a report with -o to see them all" in shown
    assert shown.count("library/same-but-for-name") == 2 and "  … and 2 more\n" in shown
    for n in range(5):
        write(f"{n}.yaml", f"id: wall-{n}\n" + texts.good(str(n)))
    stale = gate(".", "--baseline", "known.json").out
    assert stale.count("yard/polyethylene") == 2 and "  … and 3 more\n" in stale
