"""Located errors: one clear message for everything that can be wrong with an input.

A problem says where (file, line, column), what is wrong, what was expected and, where a word
was misspelt, the nearest valid word. Lines and columns are 1-based.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Mark:
    """A span in a source text: 1-based line and column, and how many characters it covers."""

    file: str
    line: int
    column: int
    length: int = 1
    text: str = ""
    """The whole source line, without its line break (for the excerpt)."""

    def shifted(self, offset: int, length: int) -> Mark:
        """The mark of a part of this span: `offset` characters further, `length` long."""
        return replace(self, column=self.column + offset, length=max(length, 1))


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with an input."""

    message: str
    """What is wrong, a sentence without a final stop: `unknown material "gypsun board"`."""
    mark: Mark | None = None
    expected: str = ""
    """What was expected instead: `a length, such as "1/2 in" or "12 mm"`."""
    nearest: str = ""
    """The nearest valid word, if one is near."""

    def render(self) -> str:
        """The message as printed on standard error, several lines, no color."""
        where = f"{self.mark.file}:{self.mark.line}:{self.mark.column}: " if self.mark else ""
        lines = [f"{where}{self.message}"]
        if self.mark and self.mark.text:
            lines += _excerpt(self.mark)
        if self.expected:
            lines.append(f"  expected {self.expected}")
        if self.nearest:
            lines.append(f"  did you mean {self.nearest!r}?")
        return "\n".join(map(_printable, lines))


class InputError(Exception):
    """An input that can't be used. Carries every problem found, in the order of the text."""

    def __init__(self, problems: Problem | Iterable[Problem]):
        self.problems: tuple[Problem, ...] = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("\n".join(p.render() for p in self.problems))


def nearest(word: str, words: Iterable[str], cutoff: float = 0.6) -> str:
    """The valid word nearest to `word`, or an empty string when none is near.

    >>> nearest("gypsun board", ["gypsum board", "plywood"])
    'gypsum board'
    >>> nearest("zzz", ["gypsum board"])
    ''
    """
    import difflib

    by_lower = {w.casefold(): w for w in words}
    hits = difflib.get_close_matches(word.casefold(), sorted(by_lower), n=1, cutoff=cutoff)
    return by_lower[hits[0]] if hits else ""


def _printable(text: str) -> str:
    """A line without what would steer a terminal: names of files and arguments may hold anything."""
    return "".join(c if c.isprintable() or c == "\u00a0" else "\ufffd" for c in text)


_EXCERPT_WIDTH = 100


def _excerpt(mark: Mark) -> list[str]:
    """The source line with carets under the span, cut around the span when the line is long."""
    text = "".join(c if c.isprintable() else " " for c in mark.text)
    start = mark.column - 1
    left = 0 if len(text) <= _EXCERPT_WIDTH else max(0, start - _EXCERPT_WIDTH // 2)
    shown = text[left : left + _EXCERPT_WIDTH]
    carets = "^" * max(1, min(mark.length, len(shown) - (start - left)))
    gutter = f"{mark.line:>5} | "
    return [gutter + shown, " " * (len(gutter) - 2) + "| " + " " * (start - left) + carets]
