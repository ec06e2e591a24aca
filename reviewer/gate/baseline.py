"""The baseline: findings that were there when the gate was put up, so that new ones stand out.

An entry is known by rule, section id and structural path, never by a line or a computed value, so that it lasts
while a file is edited and the tables get better. An entry whose finding is gone fails the run until it is pruned:
else it would cover the same mistake when it comes back.
"""

from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final, NamedTuple

from reviewer.errors import InputError, Problem
from reviewer.gate.record import StaleEntry

VERSION: Final = 1
MAX_BYTES: Final = 64 << 20


class Entry(NamedTuple):
    """A kind of finding at one place in the structure of one section."""

    rule: str
    section: str
    path: str


class Baseline:
    """Entries, how many findings each stands for, and the file of each section (from the baseline's folder)."""

    def __init__(self, entries: Mapping[Entry, int], sections: Mapping[str, str], path: Path):
        self.entries = Counter(dict(entries))
        self.sections = dict(sections)
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

    def stale(self, reviewed: Mapping[str, str]) -> list[StaleEntry]:
        """Entries whose finding is gone: those of sections in this run (id to file), and of sections whose file
        is gone. Entries of other sections are not judged."""
        whole = self._saw_all(reviewed)
        return [
            StaleEntry(rule=e.rule, section=e.section, path=e.path, count=left)
            for e, left in sorted(self._left.items())
            if left > 0 and self._judged(e, reviewed, whole)
        ]

    def merged(self, found: Mapping[Entry, int], reviewed: Mapping[str, str]) -> Baseline:
        """The baseline after a run: what was found now, and the entries of sections that were not judged."""
        whole = self._saw_all(reviewed)
        kept = {e: n for e, n in self.entries.items() if not self._judged(e, reviewed, whole)}
        folder = self.path.absolute().parent
        sections = {e.section: self.sections.get(e.section, "") for e in kept if e.section}
        sections |= {e.section: _from(folder, reviewed[e.section]) for e in found if e.section}
        return Baseline({**kept, **found}, sections, self.path)

    def render(self) -> str:
        """The file: sorted, one entry a line, so that two branches merge."""
        entries = [
            {"rule": e.rule, "section": e.section, "path": e.path, "count": n}
            for e, n in sorted(self.entries.items())
        ]
        lines = ",\n    ".join(json.dumps(entry, ensure_ascii=False) for entry in entries)
        files = ",\n    ".join(
            f"{json.dumps(name, ensure_ascii=False)}: {json.dumps(file, ensure_ascii=False)}"
            for name, file in sorted(self.sections.items())
        )
        listed = f"[\n    {lines}\n  ]" if lines else "[]"
        named = f"{{\n    {files}\n  }}" if files else "{}"
        return f'{{\n  "baseline": {VERSION},\n  "sections": {named},\n  "entries": {listed}\n}}\n'

    def _judged(self, entry: Entry, reviewed: Mapping[str, str], whole: bool) -> bool:
        if entry.rule.startswith("library/"):
            return whole
        return entry.section in reviewed or self._is_gone(entry.section)

    def _saw_all(self, reviewed: Mapping[str, str]) -> bool:
        """Whether the run saw every section of the baseline, so that it can tell what a library lacks."""
        folder = self.path.absolute().parent
        seen = {_from(folder, file) for file in reviewed.values()}
        return all(file in seen or self._is_gone(section) for section, file in self.sections.items())

    def _is_gone(self, section: str) -> bool:
        file = self.sections.get(section, "")
        return not file or not os.path.exists(self.path.absolute().parent / file)


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


def _sections(said: Any) -> dict[str, str]:
    named = said["sections"]
    if not all(isinstance(k, str) and isinstance(v, str) for k, v in named.items()):
        raise ValueError(named)
    return dict(named)
