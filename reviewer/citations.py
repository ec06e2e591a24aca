"""Sources: what a statement rests on, and how sure we are of it.

Certainty, from the surest: `seen` (read in the source or a public copy of it), `secondhand`
(read in a restatement), `memory` (recalled, the document not opened), `derived` (computed from
published equations), `range` (a typical range of the trade, not a table), `common practice`
(a fact of the trade without a published source), `given` (stated by the user).
"""

from __future__ import annotations

from dataclasses import dataclass

CERTAINTIES = ("seen", "secondhand", "memory", "derived", "range", "common practice", "given")
KINDS = ("code", "standard", "handbook", "paper", "data", "common practice")


@dataclass(frozen=True, slots=True)
class Citation:
    """A document, with edition and clause, or `common practice`."""

    document: str
    edition: str = ""
    clause: str = ""
    kind: str = "common practice"
    certainty: str = "common practice"

    def __str__(self) -> str:
        if self.kind == "common practice":
            return "common practice, no published source"
        text = " ".join(p for p in (self.document, self.edition, self.clause) if p)
        return f"{text} (from memory of the document)" if self.certainty == "memory" else text


COMMON_PRACTICE = Citation("common practice")
