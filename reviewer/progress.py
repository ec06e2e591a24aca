"""How far long work has come: a line on standard error, on a terminal only."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Sequence
from typing import TypeVar

T = TypeVar("T")


def tracked(items: Sequence[T], what: str) -> Iterator[T]:
    """The items, one by one, with a count on standard error while they last. Silent in a pipe.

    >>> list(tracked(["a", "b"], "letters"))
    ['a', 'b']
    """
    shown = sys.stderr.isatty()
    try:
        for n, item in enumerate(items, 1):
            if shown:
                _show(f"{what} {n} of {len(items)}")
            yield item
    finally:
        if shown:
            _show("")


def _show(text: str, parts: Iterable[str] = ("\r", "\x1b[K")) -> None:
    sys.stderr.write("".join(parts) + text)
    sys.stderr.flush()
