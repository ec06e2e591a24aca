"""The baseline: findings that were there when the gate was put up, so that new ones stand out.

An entry is known by rule, section id and structural path, never by a line or a computed value, so that it lasts
while a file is edited and the tables get better. An entry whose finding is gone fails the run until it is pruned:
else it would cover the same mistake when it comes back.
"""

from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final, NamedTuple

from reviewer.errors import InputError, Problem
from reviewer.gate.record import StaleEntry

VERSION: Final = 1
MAX_BYTES: Final = 64 << 20


Reviewed = Mapping[str, Sequence[str]]
"""Id to the files of every section that a run reviewed."""


class Entry(NamedTuple):
    """A kind of finding at one place in the structure of one section."""

    rule: str
    section: str
    path: str


class Baseline:
    """Entries, how many findings each stands for, and the files of each section (from the baseline's folder): one,
    or several where they share an id."""

    def __init__(self, entries: Mapping[Entry, int], sections: Mapping[str, Sequence[str]], path: Path):
        self.entries = Counter(dict(entries))
        self.sections = {section: tuple(files) for section, files in sections.items()}
        self.path = path
        self._left = Counter(self.entries)
        self._known = {entry.section for entry in self.entries}

    def knows_of(self, section: str) -> bool:
        """Whether an entry is about a section of this id."""
        return section in self._known

    def takes(self, entry: Entry) -> bool:
        """Whether a finding is known. Each finding uses up one of its entry's count."""
        if self._left[entry] <= 0:
            return False
        self._left[entry] -= 1
        return True

    def stale(self, reviewed: Reviewed) -> list[StaleEntry]:
        """Entries whose finding is gone: those of sections all of whose files are in this run, or gone. Entries of
        other sections are not judged."""
        judged = self._judged(reviewed)
        return [
            StaleEntry(rule=e.rule, section=e.section, path=e.path, count=left)
            for e, left in sorted(self._left.items())
            if left > 0 and judged(e)
        ]

    def merged(self, found: Mapping[Entry, int], reviewed: Reviewed) -> Baseline:
        """The baseline after a run: what was found now, and the entries of sections that were not judged."""
        judged = self._judged(reviewed)
        entries = {e: n for e, n in self.entries.items() if not judged(e)}
        files = {e.section: {*self._there(e.section)} for e in entries if e.section}
        folder = self.path.absolute().parent
        for entry, count in found.items():
            # What other files of this id have may be among those that the entry stood for already.
            entries[entry] = max(count, entries.get(entry, 0))
            if entry.section:
                mine = (_from(folder, file) for file in reviewed[entry.section])
                files.setdefault(entry.section, set()).update(mine)
        return Baseline(entries, {section: sorted(of) for section, of in files.items()}, self.path)

    def render(self) -> str:
        """The file: sorted, one entry a line, so that two branches merge."""
        entries = [
            {"rule": e.rule, "section": e.section, "path": e.path, "count": n}
            for e, n in sorted(self.entries.items())
        ]
        lines = ",\n    ".join(json.dumps(entry, ensure_ascii=False) for entry in entries)
        files = ",\n    ".join(
            f"{json.dumps(name, ensure_ascii=False)}: {json.dumps(of[0] if len(of) == 1 else of, ensure_ascii=False)}"
            for name, of in sorted(self.sections.items())
        )
        listed = f"[\n    {lines}\n  ]" if lines else "[]"
        named = f"{{\n    {files}\n  }}" if files else "{}"
        return f'{{\n  "baseline": {VERSION},\n  "sections": {named},\n  "entries": {listed}\n}}\n'

    def _judged(self, reviewed: Reviewed) -> Callable[[Entry], bool]:
        """Tells whether a run can say of an entry that its finding is gone: it saw every file of the section, and
        for what a library lacks every section of the baseline."""
        folder = self.path.absolute().parent
        seen = {_from(folder, file) for files in reviewed.values() for file in files}
        unseen = {section for section in self.sections if not seen.issuperset(self._there(section))}
        return lambda entry: not unseen if entry.rule.startswith("library/") else entry.section not in unseen

    def _there(self, section: str) -> list[str]:
        """The files of a section that still exist."""
        folder = self.path.absolute().parent
        return [file for file in self.sections.get(section, ()) if os.path.exists(folder / file)]


def _from(folder: Path, file: str) -> str:
    return Path(os.path.relpath(Path(file).absolute(), folder)).as_posix()


def read_baseline(path: Path) -> Baseline:
    """Read a baseline.

    Raises InputError: no such file, or one that no run wrote.
    """
    try:
        with open(path, "rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except OSError as error:
        raise InputError(
            Problem(
                f'the baseline "{path}" can\'t be read: {error.strerror}',
                None,
                "a file that --write-baseline wrote",
            )
        ) from None
    try:
        said = json.loads(data.decode("utf-8")) if len(data) <= MAX_BYTES else None
        return Baseline(_entries(said), _sections(said), path)
    except (ValueError, TypeError, LookupError, RecursionError):
        raise InputError(
            Problem(
                f'"{path}" is not a baseline',
                None,
                "a file that --write-baseline wrote, unchanged but for merges",
            )
        ) from None


def _entries(said: Any) -> dict[Entry, int]:
    if said["baseline"] != VERSION:
        raise ValueError(said["baseline"])
    found: dict[Entry, int] = {}
    for row in said["entries"]:
        texts = [row[name] for name in Entry._fields]
        count = row["count"]
        if not all(isinstance(t, str) for t in texts) or type(count) is not int or count < 1:
            raise ValueError(row)
        found[Entry(*texts)] = count
    return found


def _sections(said: Any) -> dict[str, tuple[str, ...]]:
    named = {section: (of,) if isinstance(of, str) else tuple(of) for section, of in said["sections"].items()}
    if not all(isinstance(text, str) for section, of in named.items() for text in (section, *of)):
        raise ValueError(named)
    return named
