"""Papers as PDF: tagged, PDF/UA-1, and PDF/A-2a where the letter has a date (that standard asks for one).

Set by typst from a fixed template with its own fonts only; all texts go in as data, so that nothing in a section file
is ever read as markup. The same papers give the same bytes.
"""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Sequence
from functools import cache
from importlib import resources
from typing import Any, Final

from reviewer.errors import InputError, Problem
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Block, Bullets, Heading, Paper, Pictures, Table, Text, Verdict
from reviewer.report.words import bound

_NO_GLYPH: Final = re.compile(r'the text `"((?:[^"\\]|\\.)+)"` could not be displayed', re.DOTALL)
_UNICODE: Final = re.compile(r"\\u\{([0-9a-fA-F]+)\}")
MOST_ROUNDS: Final = 20


def render(papers: Sequence[Paper]) -> bytes:
    """One PDF of all papers, each from a new page on.

    Raises InputError: a text can't be set.
    """
    date = next((p.letterhead.date for p in papers if p.letterhead and p.letterhead.date), "")
    data = told(papers, date)
    missing: set[str] = set()
    for _ in range(MOST_ROUNDS):
        try:
            return _compiled(data, ["a-2a", "ua-1"] if date else ["ua-1"])
        except _Unset as unset:
            if not unset.characters - missing:
                raise InputError(
                    Problem("the PDF can't be set: " + unset.message, None, "other characters")
                ) from None
            missing |= unset.characters
            data = _without(data, missing)
    raise InputError(
        Problem("the PDF's fonts lack too many of the characters used", None, "DOCX or HTML instead")
    )


class _Unset(Exception):
    def __init__(self, message: str, characters: set[str]):
        super().__init__(message)
        self.message, self.characters = message, characters


def picture(svgs: Sequence[str], width: float) -> bytes:
    """Drawings beside each other as one PNG, for `width` inches in all (half of it for one alone)."""
    import typst

    one = width / 2
    source = (
        f"#set page(width: {one * min(len(svgs), 2)}in, height: auto, margin: 0pt)\n"
        "#let svgs = json(bytes(sys.inputs.svgs))\n"
        "#grid(columns: calc.min(svgs.len(), 2) * (1fr,), column-gutter: 6mm, row-gutter: 4mm, "
        '..svgs.map(svg => image(bytes(svg), format: "svg", width: 100%)))'
    )
    inputs = {"svgs": json.dumps(list(svgs))}
    return typst.compile(source.encode(), format="png", ppi=200, sys_inputs=inputs, font_paths=_fonts())


@cache
def _fonts() -> Any:
    """The library's own fonts and no others: what a machine has installed must not change a report."""
    import typst

    return typst.Fonts(include_system_fonts=False)


@cache
def _template() -> bytes:
    return (resources.files("reviewer.report") / "data" / "paper.typ").read_bytes()


def _compiled(data: dict[str, Any], standards: Any) -> bytes:
    import typst

    try:
        return typst.compile(
            _template(),
            format="pdf",
            sys_inputs={"data": json.dumps(data, ensure_ascii=False, sort_keys=True)},
            pdf_standards=standards,
            font_paths=_fonts(),
        )
    except typst.TypstError as error:
        said = f"{error.message}\n{error.diagnostic}"
        texts = "".join(_NO_GLYPH.findall(said))
        plain = _UNICODE.sub(lambda m: chr(int(m[1], 16)), texts)
        raise _Unset(error.message, {c for c in plain if ord(c) > 0x7E}) from None


def _without(value: Any, missing: set[str]) -> Any:
    """The data with characters that no font has as their code points: `[U+6F22]`."""
    if isinstance(value, str):
        return "".join(f"[U+{ord(c):04X}]" if c in missing else c for c in value)
    if isinstance(value, dict):
        return {k: _without(v, missing) for k, v in value.items()}
    return [_without(v, missing) for v in value] if isinstance(value, list) else value


def told(papers: Sequence[Paper], date: str = "") -> dict[str, Any]:
    """What goes into the template: plain data, numbers bound to their units."""
    first = papers[0]
    letter = first.letterhead
    day = datetime.date.fromisoformat(date) if date else None
    named = (letter.reviewer.name if letter.reviewer else "") or letter.firm if letter else ""
    size = (letter.paper if letter else "") or ("letter" if first.system == "ip" else "A4")
    return {
        "papers": [_paper(p) for p in papers],
        "author": named,
        "date": {"year": day.year, "month": day.month, "day": day.day} if day else None,
        "paper": {"letter": "us-letter", "A4": "a4"}[size],
        "footer": bound(" · ".join(t for t in (letter.firm if letter else "", first.title) if t)),
    }


def _paper(p: Paper) -> dict[str, Any]:
    return {
        "title": bound(p.title),
        "subtitle": bound(p.subtitle),
        "summary": p.summary,
        "letterhead": _letterhead(p.letterhead) if p.letterhead else None,
        "blocks": [_block(b, above) for above, b in zip((None, *p.blocks), p.blocks, strict=False)],
    }


def _letterhead(h: Letterhead) -> dict[str, Any]:
    about = (("Project: ", h.project), ("Reference: ", h.reference))
    signs = h.reviewer
    return {
        "firm": h.firm,
        "address": list(h.address),
        "contact": list(h.contact),
        "client": list(h.client),
        "day": h.day,
        "about": [label + text for label, text in about if text],
        "reviewer": {"name": signs.name, "title": signs.title, "license": signs.license} if signs else None,
    }


def _block(b: Block, above: Block | None) -> dict[str, Any]:
    if isinstance(b, Heading):
        return {"kind": "heading", "text": bound(b.text), "level": b.level, "tone": b.tone}
    if isinstance(b, Text):
        # Fine print right under a heading goes with it to the next page.
        under = isinstance(above, Heading)
        return {
            "kind": "text",
            "text": bound(b.text),
            "lead": bound(b.lead),
            "small": b.small,
            "under": under,
        }
    if isinstance(b, Verdict):
        text = bound(b.text)
        return {
            "kind": "verdict",
            "words": bound(b.words),
            "text": text,
            "aside": bound(b.aside),
            "tone": b.tone,
        }
    if isinstance(b, Bullets):
        return {
            "kind": "bullets",
            "items": list(map(bound, b.items)),
            "lead": bound(b.lead),
            "small": b.small,
        }
    if isinstance(b, Table):
        return {
            "kind": "table",
            "head": list(map(bound, b.head)),
            "rows": [list(map(bound, row)) for row in b.rows],
            "caption": bound(b.caption),
            "short": b.short,
            "words": sorted(b.words),
            "weights": {str(k): round(w, 2) for k, w in b.weights().items()},
            "marked": sorted(b.marked),
        }
    assert isinstance(b, Pictures)
    return {
        "kind": "pictures",
        "pictures": [{"svg": p.svg, "alt": p.alt, "caption": bound(p.caption)} for p in b.pictures],
    }
