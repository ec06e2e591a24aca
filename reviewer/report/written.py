"""Papers in the formats that are written from one: `markdown`, `plain`, `pdf`, `docx`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from reviewer.report.paper import Paper

FORMATS: Final = ("markdown", "plain", "pdf", "docx")


def written(papers: Sequence[Paper], fmt: str) -> str | bytes:
    """Papers one after the other, as text or as the bytes of a file. Raises InputError: a library is missing."""
    if fmt == "pdf":
        from reviewer.report import pdf

        return pdf.render(papers)
    if fmt == "docx":
        from reviewer.report import docx

        return docx.render(papers)
    if fmt == "plain":
        from reviewer.report import plain

        return "\n".join(map(plain.render, papers))
    from reviewer.report import markdown

    return "\n".join(map(markdown.render, papers))
