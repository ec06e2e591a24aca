"""How far long work has come, for who waits at a terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable


class Counter:
    """A count on standard error, on a terminal only; gone when the work is done or stopped."""

    def __init__(self, what: str):
        self.what = what
        self.shown = sys.stderr.isatty()

    def __enter__(self) -> Callable[[int], None]:
        return self._count

    def _count(self, n: int) -> None:
        if self.shown:
            sys.stderr.write(f"\r\x1b[K{n} {self.what}")
            sys.stderr.flush()

    def __exit__(self, *exception: object) -> None:
        if self.shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
