"""Papers as DOCX (Office Open XML, ECMA-376), for offices that edit: real headings, lists, tables with header rows,
pictures with words for those who can't see them, and styles that can be changed in one place.

The same papers give the same bytes: no dates but the letter's, and a fixed time on each part of the file.
"""

from __future__ import annotations

import datetime
import io
import zipfile
from collections.abc import Sequence
from typing import Any, Final

import docx
from docx.enum.style import WD_STYLE_TYPE
from docx.enum.text import WD_ALIGN_PARAGRAPH, WD_BREAK
from docx.oxml import OxmlElement
from docx.oxml.ns import qn
from docx.shared import Inches, Mm, Pt, RGBColor

from reviewer.report import pdf
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Block, Bullets, Heading, Paper, Pictures, Table, Text, Verdict
from reviewer.report.words import bound, clean

TONES: Final = {
    "serious": "A3261D",
    "revise and resubmit": "A3261D",
    "caution": "7A5200",
    "make corrections noted": "7A5200",
    "incomplete": "7A5200",
    "credit": "2F5D1B",
    "no exceptions taken": "2F5D1B",
}
FINE, FINE_LIST, VERDICT, LETTER = "Fine Print", "Fine Print List", "Verdict", "Letterhead"
EPOCH: Final = (1980, 1, 1, 0, 0, 0)
"""The earliest time that a part of a ZIP file can bear."""
CELL_MARGIN = Mm(0.8)
PICTURE = 6.6
"""Inches that two drawings beside each other take."""


def render(papers: Sequence[Paper]) -> bytes:
    """One file of all papers, each from a new page on."""
    made = _Writer(papers[0])
    for n, paper in enumerate(papers):
        made.paper(paper, n > 0)
    return made.bytes()


class _Writer:
    def __init__(self, first: Paper):
        self.doc: Any = docx.Document()
        self.first = first
        self._sheet()
        self._styles()
        # Looking a style up by its name takes longer than all else.
        self.ids: dict[str, str] = {style.name: style.style_id for style in self.doc.styles}
        self._footer()

    def paper(self, paper: Paper, new_page: bool) -> None:
        if new_page:
            self.doc.add_paragraph().add_run().add_break(WD_BREAK.PAGE)
        if paper.letterhead is not None:
            self._letterhead(paper.letterhead)
        self._line(paper.title, "Title")
        if paper.subtitle:
            self._line(paper.subtitle, "Subtitle")
        for block in paper.blocks:
            self._block(block)
        self._signature(paper.letterhead)

    def _block(self, b: Block) -> None:
        if isinstance(b, Heading):
            self._toned(self._line(b.text, f"Heading {b.level - 1}"), b.tone)
        elif isinstance(b, Verdict):
            self._toned(self._line(b.words, VERDICT), b.tone)
            self._line(b.text)
            if b.aside:
                self._line(b.aside, FINE)
        elif isinstance(b, Text):
            self._line(b.text, FINE if b.small else "Normal", b.lead)
        elif isinstance(b, Bullets):
            if b.lead:
                head = self._line("", FINE if b.small else "Normal", b.lead)
                head.paragraph_format.keep_with_next = True
            for item in b.items:
                self._line(item, FINE_LIST if b.small else "List Bullet")
        elif isinstance(b, Table):
            self._table(b)
        else:
            self._pictures(b)

    def _line(self, text: str, style: str = "Normal", lead: str = "") -> Any:
        p = self._styled(self.doc.add_paragraph(), style)
        if lead:
            p.add_run(f"{clean(lead)}: " if text else f"{clean(lead)}:").bold = True
        if text:
            p.add_run(bound(text))
        return p

    def _styled(self, p: Any, style: str) -> Any:
        if style != "Normal":
            p._p.style = self.ids[style]
        return p

    @staticmethod
    def _toned(p: Any, tone: str) -> None:
        if tone in TONES:
            for run in p.runs:
                run.font.color.rgb = RGBColor.from_string(TONES[tone])

    def _table(self, b: Table) -> None:
        if b.caption:
            self._line(b.caption, "Caption").paragraph_format.keep_with_next = True
        size = 7.5 if len(b.head) > 9 else 8.5
        table = self.doc.add_table(rows=0, cols=len(b.head), style="Table Grid")
        table.autofit = False
        _margins(table)
        widths = self._widths(b, size)
        for k, column in enumerate(table.columns):
            column.width = widths[k]
        for n, row in enumerate((b.head, *b.rows)):
            added = table.add_row()
            if n == 0:
                _flag(added._tr.get_or_add_trPr(), "w:tblHeader")
            _flag(added._tr.get_or_add_trPr(), "w:cantSplit")
            for k, (cell, text) in enumerate(zip(added.cells, row, strict=True)):
                cell.width = widths[k]
                p = cell.paragraphs[0]
                self._styled(p, "Table Text")
                p.paragraph_format.keep_with_next = b.short and n < len(b.rows)
                if k not in b.words:
                    p.alignment = WD_ALIGN_PARAGRAPH.RIGHT
                run = p.add_run(bound(text))
                run.font.size = Pt(size)
                run.bold = n == 0 or None
                if n - 1 in b.marked and n > 0:
                    _shade(cell, "E4F1F5")
        self._line("", FINE)

    def _widths(self, b: Table, size: float) -> list[int]:
        """Columns of numbers as wide as their longest word, the rest for the columns of words."""
        section = self.doc.sections[0]
        room = int(section.page_width - section.left_margin - section.right_margin)
        width = dict.fromkeys(range(len(b.head)), 0)
        for k in width:
            if k not in b.words:
                # Wide faces run to seven tenths of their size where they are bold.
                longest = max(len(w) for row in (b.head, *b.rows) for w in bound(row[k]).split(" "))
                width[k] = int(Pt((longest + 0.5) * size * 0.78)) + 2 * CELL_MARGIN
        weights, left = b.weights(), room - sum(width.values())
        for k, weight in weights.items():
            width[k] = int(left * weight / sum(weights.values()))
        return list(width.values())

    def _pictures(self, b: Pictures) -> None:
        """One picture of all: word processors break lines between pictures each in their own way."""
        p = self.doc.add_paragraph()
        p.paragraph_format.keep_with_next = True
        png = io.BytesIO(pdf.picture([picture.svg for picture in b.pictures], PICTURE))
        shape = p.add_run().add_picture(png, width=Inches(PICTURE if len(b.pictures) > 1 else PICTURE / 2))
        about = shape._inline.docPr
        about.set("name", "Drawing")
        about.set("descr", clean(" ".join(picture.alt for picture in b.pictures)))
        shape._inline.graphic.graphicData.pic.nvPicPr.cNvPr.set("name", "drawing.png")
        self._line(" ".join(picture.caption for picture in b.pictures), "Caption")

    def _letterhead(self, h: Letterhead) -> None:
        if h.firm:
            self._line("", LETTER).add_run(clean(h.firm)).bold = True
        for text in (*h.address, *h.contact):
            self._line(text, LETTER)
        blocks = (
            (h.day,) if h.day else (),
            h.client,
            tuple(f"{k}: {v}" for k, v in (("Project", h.project), ("Reference", h.reference)) if v),
        )
        for block in filter(None, blocks):
            for n, text in enumerate(block):
                p = self._line(text, LETTER)
                if n == 0:
                    p.paragraph_format.space_before = Pt(10)

    def _signature(self, h: Letterhead | None) -> None:
        if h is None or h.reviewer is None:
            return
        self._line("Reviewed by", LETTER).paragraph_format.space_before = Pt(18)
        self._line("", LETTER).paragraph_format.space_after = Pt(24)
        for text in filter(None, (h.reviewer.name, h.reviewer.title, h.reviewer.license)):
            self._line(text, LETTER)

    # The file as a whole

    def _sheet(self) -> None:
        letter = self.first.letterhead
        size = (letter.paper if letter else "") or ("letter" if self.first.system == "ip" else "A4")
        section = self.doc.sections[0]
        width, height = (Inches(8.5), Inches(11)) if size == "letter" else (Mm(210), Mm(297))
        section.page_width, section.page_height = width, height
        section.left_margin = section.right_margin = Mm(22)
        section.top_margin = section.bottom_margin = Mm(20)

    def _styles(self) -> None:
        styles = self.doc.styles
        _face(styles["Normal"], "Calibri", 10)
        styles["Normal"].paragraph_format.space_after = Pt(6)
        for name, size in (("Title", 20), ("Subtitle", 11), ("Heading 1", 14), ("Heading 2", 11.5)):
            _face(styles[name], "Calibri", size)
            styles[name].font.color.rgb = RGBColor.from_string("22262E")
            styles[name].font.italic = False
        styles["Heading 1"].paragraph_format.space_before = Pt(16)
        styles["Heading 2"].paragraph_format.space_before = Pt(12)
        styles["Title"].paragraph_format.space_before = Pt(18)
        for name in ("Title", "Subtitle"):
            properties = styles[name].element.get_or_add_pPr()
            for border in properties.findall(qn("w:pBdr")):
                properties.remove(border)
            for spacing in styles[name].element.get_or_add_rPr().findall(qn("w:spacing")):
                styles[name].element.rPr.remove(spacing)
        styles["Caption"].font.color.rgb = RGBColor.from_string("4B515E")
        styles["Caption"].font.bold = False
        for name, base, size in (
            (FINE, "Normal", 8.5),
            (FINE_LIST, "List Bullet", 8.5),
            (VERDICT, "Normal", 15),
            (LETTER, "Normal", 10.5),
            ("Table Text", "Normal", 8.5),
        ):
            style = styles.add_style(name, WD_STYLE_TYPE.PARAGRAPH)
            style.base_style = styles[base]
            style.font.size = Pt(size)
            style.quick_style = True
        for name in (LETTER, "Table Text", FINE_LIST, "List Bullet"):
            styles[name].paragraph_format.space_after = Pt(2)
        styles[VERDICT].font.bold = True

    def _footer(self) -> None:
        p = self.doc.sections[0].footer.paragraphs[0]
        self._styled(p, FINE)
        p.alignment = WD_ALIGN_PARAGRAPH.RIGHT
        p.add_run("page ")
        _field(p, "PAGE")
        p.add_run(" of ")
        _field(p, "NUMPAGES")

    def bytes(self) -> bytes:
        self._properties()
        raw = io.BytesIO()
        self.doc.save(raw)
        out = io.BytesIO()
        with zipfile.ZipFile(raw) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
            for part in old.infolist():
                entry = zipfile.ZipInfo(part.filename, EPOCH)
                entry.compress_type = zipfile.ZIP_DEFLATED
                entry.create_system = 0
                new.writestr(entry, old.read(part))
        return out.getvalue()

    def _properties(self) -> None:
        core, paper, letter = self.doc.core_properties, self.first, self.first.letterhead
        core.title, core.subject = paper.title[:255], paper.summary[:255]
        core.comments, core.keywords, core.language = "", "", "en-US"
        core.last_modified_by = ""
        named = (letter.reviewer.name if letter.reviewer else "") or letter.firm if letter else ""
        core.author = named[:255]
        core.revision = 1
        if letter and letter.date:
            day = datetime.datetime.fromisoformat(letter.date)
            core.created = core.modified = day
        else:
            # The template's own dates say nothing of this paper.
            for element in list(core._element):
                if element.tag in (qn("dcterms:created"), qn("dcterms:modified")):
                    core._element.remove(element)


def _face(style: Any, name: str, size: float) -> None:
    style.font.name, style.font.size = name, Pt(size)
    fonts = style.element.get_or_add_rPr().get_or_add_rFonts()
    for attribute in ("w:asciiTheme", "w:hAnsiTheme", "w:eastAsiaTheme", "w:cstheme"):
        fonts.attrib.pop(qn(attribute), None)
    for attribute in ("w:ascii", "w:hAnsi", "w:cs"):
        fonts.set(qn(attribute), name)


def _margins(table: Any) -> None:
    """Cells with little room at their sides: a year has twelve columns."""
    margins = OxmlElement("w:tblCellMar")
    for side in ("w:left", "w:right"):
        edge = OxmlElement(side)
        edge.set(qn("w:w"), str(int(CELL_MARGIN.twips)))
        edge.set(qn("w:type"), "dxa")
        margins.append(edge)
    # The standard has an order for these, and word processors mind it: margins come before the look.
    look = table._tbl.tblPr.find(qn("w:tblLook"))
    if look is not None:
        look.addprevious(margins)
    else:
        table._tbl.tblPr.append(margins)


def _flag(parent: Any, name: str) -> None:
    parent.append(OxmlElement(name))


def _shade(cell: Any, color: str) -> None:
    shading = OxmlElement("w:shd")
    for key, value in (("w:val", "clear"), ("w:color", "auto"), ("w:fill", color)):
        shading.set(qn(key), value)
    cell._tc.get_or_add_tcPr().append(shading)


def _field(p: Any, code: str) -> None:
    """A field that the word processor fills in."""
    field = OxmlElement("w:fldSimple")
    field.set(qn("w:instr"), code)
    run, text = OxmlElement("w:r"), OxmlElement("w:t")
    text.text = "1"
    run.append(text)
    field.append(run)
    p._p.append(field)
