"""A paper read from top to bottom: for screen readers and braille displays, and for whoever pipes a report.

One line a paragraph, no columns, no drawing: each number stands in a sentence with its label.
"""

from __future__ import annotations

from collections.abc import Iterator

from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Bullets, Heading, Paper, Pictures, Table, Text, Verdict
from reviewer.report.words import clean


def render(paper: Paper) -> str:
    parts = [*_head(paper.letterhead), _stopped(paper.title)]
    if paper.subtitle:
        parts.append(_stopped(paper.subtitle.replace(" · ", ", ")))
    for b in paper.blocks:
        parts += ["", *_block(b)] if isinstance(b, Heading) else _block(b)
    signs = paper.letterhead.reviewer if paper.letterhead else None
    if signs is not None:
        said = ", ".join(filter(None, (signs.name, signs.title, signs.license)))
        parts += ["", f"Reviewed by {_stopped(said)}"]
    return "\n".join(clean(p) for p in parts) + "\n"


def _head(h: Letterhead | None) -> Iterator[str]:
    if h is None:
        return
    for lead, lines in (
        ("From", (h.firm, *h.address, *h.contact)),
        ("To", h.client),
        ("Date", (h.day,)),
        ("Project", (h.project,)),
        ("Reference", (h.reference,)),
    ):
        said = ", ".join(filter(None, lines))
        if said:
            yield f"{lead}: {_stopped(said)}"
    yield ""


def _block(b: Heading | Text | Verdict | Bullets | Table | Pictures) -> Iterator[str]:
    if isinstance(b, Heading):
        yield _stopped(b.text)
    elif isinstance(b, Verdict):
        yield f"{'Verdict: ' if b.tone else ''}{_stopped(b.words)} {_stopped(b.text)}"
        if b.aside:
            yield b.aside
    elif isinstance(b, Text):
        # A dot between places is not read out; one in a formula is a sign.
        text = b.text if "=" in b.text else b.text.replace(" · ", ", ")
        yield f"{b.lead}: {_stopped(text)}" if b.lead else _stopped(text)
    elif isinstance(b, Bullets):
        if b.lead:
            yield f"{b.lead}, {len(b.items)} {'entry' if len(b.items) == 1 else 'entries'}:"
        yield from (_stopped(t) for t in b.items)
    elif isinstance(b, Table):
        if b.caption:
            yield f"{b.caption}, {len(b.said)} {'entry' if len(b.said) == 1 else 'entries'}:"
        yield from (_stopped(t) for t in b.said)
    # Pictures are left out: the tables say the same.


def _stopped(text: str) -> str:
    """With a full stop, so that a voice pauses."""
    return text if text.endswith((".", "!", "?", ":")) else f"{text}."
