"""The register of the library as a table: CSV (RFC 4180) and a workbook (Office Open XML, ECMA-376).

Both may be opened in a spreadsheet by people who did not write the sections, so no cell can start a formula.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterator
from typing import Any, Final

from reviewer.errors import InputError, Problem
from reviewer.gate.outputs import text
from reviewer.gate.record import Detail, JudgedVerdict
from reviewer.gate.report import Report
from reviewer.report.words import clean

COLUMNS: Final = (
    *("file", "id", "title", "kind", "zones claimed", "at", "place", "zone", "code", "verdict"),
    *("serious", "cautions", "notes", "done well", "hazards", "waived", "known", "undecided rules"),
    *("U-value W/(m2 K)", "R-value m2 K/W", "worst finding", "rule", "problems"),
)
FINDING_COLUMNS: Final = (
    *("file", "id", "at", "line", "severity", "hazard", "state", "rule", "finding", "explanation"),
    *("layers", "authority", "what to do", "note"),
)
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")
"""Signs that begin a formula, the wide ones of East Asian keyboards among them."""
_AFTER_SEMICOLON: Final = re.compile(f"(?<=;)(?=[{re.escape(''.join(_FORMULA))}])")
"""Where lists are separated by semicolons, one inside a text begins a new cell."""
_WIDTHS: Final = {
    "file": 36,
    "title": 32,
    "finding": 60,
    "explanation": 80,
    "worst finding": 60,
    "what to do": 60,
}
_CELL: Final = 32_000
"""Characters in a cell; a workbook's limit is 32,767."""


def safe(value: Any) -> Any:
    """A cell for CSV: a text that a spreadsheet would take for a formula gets an apostrophe before it.

    >>> safe("=1+1"), safe("-5"), safe(3), safe("a\\nb"), safe("a;=1")
    ("'=1+1", "'-5", 3, 'a b', "a;'=1")
    """
    if not isinstance(value, str):
        return value
    plain = _AFTER_SEMICOLON.sub("'", clean(value))
    return f"'{plain}" if plain.startswith(_FORMULA) or value.startswith(_FORMULA) else plain


def render_csv(report: Report) -> Iterator[str]:
    """Lines: a row for each detail at each place."""
    yield _csv(COLUMNS)
    for detail in report.details():
        for row in _rows(detail):
            yield _csv(row)


def _csv(row: Any) -> str:
    stream = io.StringIO()
    csv.writer(stream, lineterminator="").writerow([safe(cell) for cell in row])
    return stream.getvalue()


def _rows(detail: Detail) -> Iterator[tuple[Any, ...]]:
    head = (detail.file, detail.id, detail.title, detail.kind, " ".join(detail.claims))
    if not detail.verdicts:
        problems = "; ".join(p.split("\n")[0] for p in detail.problems)
        blank = ("",) * (len(COLUMNS) - len(head) - 6)
        yield (*head, "", "", "", "", detail.status, *blank, problems)
        return
    for v in detail.verdicts:
        yield (*head, *_verdict(v), "")


def _verdict(v: JudgedVerdict) -> tuple[Any, ...]:
    live = [f for f in v.findings if f.state == "live"]
    by = {s: sum(f.severity == s for f in live) for s in text.ORDER}
    worst = min(live, key=lambda f: (text.ORDER[f.severity], f.line or 0, f.rule), default=None)
    if worst is not None and worst.severity == "credit":
        worst = None
    return (
        *(
            v.at,
            v.place,
            v.zone,
            v.edition,
            v.disposition,
            by["serious"],
            by["caution"],
            by["note"],
            by["credit"],
        ),
        sum(f.hazard for f in live),
        sum(f.state == "waived" for f in v.findings),
        sum(f.state in ("known", "there before") for f in v.findings),
        len(v.undecided),
        "" if v.u_value is None else round(v.u_value, 4),
        "" if v.r_value is None else round(v.r_value, 3),
        worst.title if worst else "",
        worst.rule if worst else "",
    )


def _findings(detail: Detail) -> Iterator[tuple[Any, ...]]:
    for at, f in detail.findings():
        layers = ", ".join(str(i + 1) for i in f.layers)
        yield (
            *(
                detail.file,
                detail.id,
                at,
                f.line or "",
                f.severity,
                "yes" if f.hazard else "",
                f.state,
                f.rule,
            ),
            *(f.title, f.explanation, layers, f.authority, " / ".join(f.remedies), f.note),
        )


def workbook(report: Report) -> bytes:
    """The workbook: a sheet of details, a sheet of findings, a sheet about the library.

    Raises InputError when openpyxl is missing.
    """
    try:
        from openpyxl import Workbook
    except ImportError:
        raise InputError(
            Problem(
                "a workbook needs the package openpyxl", None, "pip install 'reviewer[xlsx]', or a .csv file"
            )
        ) from None
    book = Workbook(write_only=True)
    _sheet(book, "Details", COLUMNS, (row for d in report.details() for row in _rows(d)))
    _sheet(book, "Findings", FINDING_COLUMNS, (row for d in report.details() for row in _findings(d)))
    library: list[tuple[Any, ...]] = [
        (r.file, r.finding.line or "", r.finding.severity, r.finding.rule, r.finding.title)
        for r in report.library
    ]
    library += [
        ("baseline", "", "", s.rule, f"{s.section}: no longer needed ({s.path})") for s in report.stale
    ]
    _sheet(book, "Library", ("file", "line", "severity", "rule", "finding"), iter(library))
    stream = io.BytesIO()
    book.save(stream)
    return _timeless(stream.getvalue())


def _sheet(book: Any, title: str, columns: tuple[str, ...], rows: Iterator[tuple[Any, ...]]) -> None:
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    sheet = book.create_sheet(title)
    sheet.freeze_panes = "A2"
    for n, name in enumerate(columns, 1):
        sheet.column_dimensions[get_column_letter(n)].width = _WIDTHS.get(name, 16)

    def cell(value: Any, bold: bool = False) -> Any:
        if isinstance(value, str):
            made = WriteOnlyCell(sheet, clean(value)[:_CELL])
            made.data_type = "s"
            if clean(value).startswith(_FORMULA):
                made.style = "Normal"
                made.quotePrefix = True
        else:
            made = WriteOnlyCell(sheet, value)
        if bold:
            made.font = Font(bold=True)
        return made

    sheet.append([cell(name, bold=True) for name in columns])
    last = 1
    for row in rows:
        sheet.append([cell(value) for value in row])
        last += 1
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(columns))}{last}"


def _timeless(data: bytes) -> bytes:
    """The workbook with all times of writing set to one day: the same library, the same bytes."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in sorted(old.infolist(), key=lambda e: (e.filename != "[Content_Types].xml", e.filename)):
            content = old.read(entry)
            if entry.filename == "docProps/core.xml":
                content = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"1980-01-01T00:00:00Z", content)
            info = zipfile.ZipInfo(entry.filename, (1980, 1, 1, 0, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(info, content)
    return stream.getvalue()
