"""The report of a run: what all outputs are made from.

Details can be many, so they are kept in a file of their own (nameless, gone with the process) and read anew by each
output.
"""

from __future__ import annotations

import contextlib
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from typing import IO, Final

from reviewer.errors import InputError, Problem
from reviewer.gate.record import Detail, LibraryRemark, StaleEntry, Tally

IN_MEMORY: Final = 8 << 20
"""Bytes of details that are kept in memory before they go to a file."""


class Report:
    """Details in their order, findings about the library, stale baseline entries and counts."""

    def __init__(self, program: str, rulebook: str, title: str):
        self.program = program
        self.rulebook = rulebook
        """Digest of the rulebook."""
        self.title = title
        self.library: list[LibraryRemark] = []
        self.stale: list[StaleEntry] = []
        self.baseline = ""
        """The baseline's file, as shown; empty without one."""
        self.change = ""
        """What the change is measured from; empty when the run is not about a change."""
        self.tally = Tally()
        self.rules: dict[str, tuple[str, str, str]] = {}
        """Rules that found something: id to title, severity, and who says so."""
        # Open as long as the report is: `close` ends it.
        self._lines: IO[bytes] = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115

    def add(self, detail: Detail) -> None:
        """Append a detail. Raises InputError when the disk is full."""
        for _, f in detail.findings():
            self.rules.setdefault(f.rule, (f.title, f.severity, f.authority))
        self._keep(detail.model_dump_json().encode())

    def copy(self, detail: bytes, rules: Mapping[str, Sequence[str]]) -> None:
        """Append a detail that is written out already, and the rules that found something in it."""
        for rule, (title, severity, authority) in rules.items():
            self.rules.setdefault(rule, (title, severity, authority))
        self._keep(detail)

    def _keep(self, line: bytes) -> None:
        try:
            self._lines.write(line + b"\n")
        except OSError as error:
            self.close()
            raise InputError(
                Problem(
                    f"the results can't be kept in {tempfile.gettempdir()}: {error.strerror}",
                    None,
                    "room for temporary files, or another folder in TMPDIR",
                )
            ) from None

    def lines(self) -> Iterator[str]:
        """The details, each as a line of JSON."""
        self._lines.seek(0)
        for line in self._lines:
            yield line.decode().rstrip("\n")

    def details(self) -> Iterator[Detail]:
        for line in self.lines():
            yield Detail.model_validate_json(line)

    @property
    def status(self) -> int:
        """Exit status: 2 when something could not be reviewed, 1 when something fails, else 0."""
        if self.tally.could_not_review:
            return 2
        return int(self.tally.failing > 0)

    def close(self) -> None:
        # What a full disk would not take is written once more on closing.
        with contextlib.suppress(OSError):
            self._lines.close()
