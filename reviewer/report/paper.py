"""A written report as frozen values: what PDF, DOCX, Markdown and the linear text for screen readers are made from.

Whoever builds a paper decides what is said and in which order; whoever writes one out decides how it looks. Texts are
plain: a writer escapes them for its format.
"""

from __future__ import annotations

from dataclasses import dataclass

from reviewer.report.letterhead import Letterhead

NONE = ""
ROWS, CHARACTERS = 16, 1500
"""Up to which a table stays undivided."""
LEAST, MOST = 12.0, 80.0
"""Characters between which the texts of a column make it wider."""


@dataclass(frozen=True, slots=True)
class Heading:
    text: str
    level: int = 2
    """2 for a part of the paper, 3 for a piece of a part; the paper's title is the only heading of level 1."""
    tone: str = NONE
    """A severity or a verdict: how grave it is. The text says it too."""


@dataclass(frozen=True, slots=True)
class Text:
    text: str
    lead: str = NONE
    """Words before the text that say what it is: `Margin`."""
    small: bool = False
    """Fine print: grounds, not message."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """The first thing that a reader must see."""

    words: str
    """`Revise and resubmit`."""
    text: str
    aside: str
    """How many findings of which kind."""
    tone: str


@dataclass(frozen=True, slots=True)
class Bullets:
    items: tuple[str, ...]
    lead: str = NONE
    small: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    said: tuple[str, ...]
    """The same as sentences, for readers to whom columns say nothing: each number with its label."""
    caption: str = NONE
    words: frozenset[int] = frozenset({0})
    """Columns of words, set left; the others hold numbers."""
    marked: frozenset[int] = frozenset()
    """Rows to look at."""

    @property
    def short(self) -> bool:
        """Short enough to stand on one page undivided."""
        return len(self.rows) <= ROWS and sum(len(t) for row in self.rows for t in row) <= CHARACTERS

    def weights(self) -> dict[int, float]:
        """How the room that numbers leave is shared by the columns of words: by the length of their texts."""
        texts = (self.head, *self.rows)
        means = {k: sum(len(row[k]) for row in texts) / len(texts) for k in sorted(self.words)}
        return {k: min(max(mean, LEAST), MOST) for k, mean in means.items()}


@dataclass(frozen=True, slots=True)
class Picture:
    svg: str
    alt: str
    caption: str


@dataclass(frozen=True, slots=True)
class Pictures:
    """Pictures beside each other where there is room."""

    pictures: tuple[Picture, ...]


Block = Heading | Text | Verdict | Bullets | Table | Pictures


@dataclass(frozen=True, slots=True)
class Paper:
    title: str
    subtitle: str
    blocks: tuple[Block, ...]
    system: str = "ip"
    """`ip` is written on letter paper, `si` on A4, unless the letterhead says otherwise."""
    summary: str = NONE
    """For the properties of a file."""
    letterhead: Letterhead | None = None
    program: str = NONE
