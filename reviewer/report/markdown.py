"""A paper as Markdown (CommonMark, with the tables of GFM), for offices that edit or paste it."""

from __future__ import annotations

import re
from collections.abc import Iterator

from reviewer.report import words
from reviewer.report.paper import Bullets, Heading, Paper, Pictures, Table, Text, Verdict

_SIGNS = re.compile(r"[\\`*_{}\[\]|#~$]")
_START = re.compile(r"^(?:(?=([-+=])(?:\s|$|\1))|(?P<number>\d{1,9})(?=[.)](?:\s|$)))")
"""What would begin a list or underline a heading at the start of a line."""


def escape(text: str) -> str:
    """A user's text, harmless in Markdown and in HTML made from it.

    >>> escape("a|b <script> *x*"), escape("1. no list"), escape("- nor here"), escape("6.8")
    ('a\\\\|b &lt;script&gt; \\\\*x\\\\*', '1\\\\. no list', '\\\\- nor here', '6.8')
    """
    return _START.sub(lambda m: (m["number"] or "") + "\\", _inline(text))


def _inline(text: str) -> str:
    """The same where no list can begin: in a heading or a cell."""
    out = words.clean(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return _SIGNS.sub(r"\\\g<0>", out)


def render(paper: Paper) -> str:
    out = [*_head(paper), f"# {_inline(paper.title)}", ""]
    if paper.subtitle:
        out += [escape(paper.subtitle), ""]
    for block in paper.blocks:
        out += [*_block(block), ""]
    out += _signed(paper)
    return re.sub("\n{3,}", "\n\n", "\n".join(out)).rstrip() + "\n"


def _block(b: Heading | Text | Verdict | Bullets | Table | Pictures) -> Iterator[str]:
    if isinstance(b, Heading):
        yield f"{'#' * b.level} {_inline(b.text)}"
    elif isinstance(b, Verdict):
        yield f"**{escape(b.words)}.** {escape(b.text)}"
        if b.aside:
            yield ""
            yield escape(b.aside)
    elif isinstance(b, Text):
        yield (f"**{escape(b.lead)}:** " if b.lead else "") + escape(b.text)
    elif isinstance(b, Bullets):
        if b.lead:
            yield f"**{escape(b.lead)}:**"
            yield ""
        yield from (f"- {escape(t)}" for t in b.items)
    elif isinstance(b, Table):
        yield "| " + " | ".join(map(_inline, b.head)) + " |"
        yield "| " + " | ".join("---" if n in b.words else "--:" for n in range(len(b.head))) + " |"
        yield from ("| " + " | ".join(map(_inline, row)) + " |" for row in b.rows)
    # Pictures are left out: the tables tell the same, and a text has no place to keep them.


def _head(paper: Paper) -> Iterator[str]:
    letter = paper.letterhead
    if letter is None:
        return
    for lines in (
        (f"**{escape(letter.firm)}**" if letter.firm else "", *map(escape, letter.address)),
        tuple(map(escape, letter.contact)),
        (letter.day,),
        tuple(map(escape, letter.client)),
        tuple(
            f"{label}: {escape(text)}"
            for label, text in (("Project", letter.project), ("Reference", letter.reference))
            if text
        ),
    ):
        shown = [t for t in lines if t]
        if shown:
            # A backslash at its end keeps a line of an address.
            yield "\\\n".join(shown)
            yield ""


def _signed(paper: Paper) -> Iterator[str]:
    signs = paper.letterhead.reviewer if paper.letterhead else None
    if signs is None:
        return
    lines = ["Reviewed by", "", *(t for t in (signs.name, signs.title, signs.license) if t)]
    yield "\\\n".join([lines[0], *map(escape, lines[2:])])
