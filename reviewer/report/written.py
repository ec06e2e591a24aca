"""Papers in the formats that are written from one: `markdown`, `plain`, `pdf`, `docx`."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from reviewer.errors import InputError, Problem
from reviewer.report.letterhead import Letterhead, read_letterhead
from reviewer.report.paper import Paper

DRAWN: Final = ("pdf", "docx")
"""Formats that have drawings."""
FORMATS: Final = ("markdown", "plain", *DRAWN)
_LIBRARIES: Final = {"pdf": ("typst",), "docx": ("docx", "typst")}


def need(fmt: str) -> None:
    """Raise InputError when a library that a format needs is not installed."""
    for name in _LIBRARIES.get(fmt, ()):
        if find_spec(name) is None:
            raise InputError(
                Problem(
                    f"{fmt.upper()} needs a library that is not installed: {name}",
                    None,
                    f"pip install 'reviewer[{fmt}]'",
                )
            )


def letterhead_for(
    path: Path, formats: Collection[str], expected: str = "-o with .pdf, .docx or .md, or --plain"
) -> Letterhead:
    """Read a letterhead for a report in `formats`.

    Raises InputError: the file can't be used, or none of the formats is a written report, which alone has one.
    """
    if not set(formats) & set(FORMATS):
        raise InputError(
            Problem("a letterhead is for a written report, and none is asked for", None, expected)
        )
    return read_letterhead(path)


def written(papers: Sequence[Paper], fmt: str) -> str | bytes:
    """Papers one after the other, as text or as the bytes of a file. Raises InputError: a library is missing."""
    need(fmt)
    if fmt == "pdf":
        from reviewer.report import pdf

        return pdf.render(papers)
    if fmt == "docx":
        from reviewer.report import office

        return office.render(papers)
    if fmt == "plain":
        from reviewer.report import plain

        return "\n".join(map(plain.render, papers))
    from reviewer.report import markdown

    return "\n".join(map(markdown.render, papers))
