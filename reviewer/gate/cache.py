"""Records kept between runs, so that a library is reviewed anew only where something changed.

An entry's name is a digest of all that its record depends on: the file's name and content, the rulebook, the
data tables, the program. An entry is written beside its place and moved there, holds its own checksum, and is
taken for missing when anything about it is wrong; so several runs can share a folder, and a run that is killed
leaves nothing that misleads the next.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
import tempfile
from functools import lru_cache
from pathlib import Path
from typing import Final

import reviewer
from reviewer.gate.kept import Kept, pack, unpack
from reviewer.gate.record import Record, Task

PER_SHARD: Final = 2000
"""Entries kept in each of the 256 folders; the oldest ones go first."""


class Cache:
    """A folder of records. `full` tells why the last entry could not be written, if it couldn't."""

    def __init__(self, folder: Path):
        self.folder = folder
        self.full = ""
        self._written: dict[str, int] = {}

    def read(self, task: Task, rulebook: str) -> Record | Kept | None:
        """The record of a task, if it is kept and whole and the other files it read are as they were."""
        path = self._path(task, rulebook)
        try:
            data = path.read_bytes()
        except OSError:
            return None
        checksum, _, body = data.partition(b"\n")
        if _checksum(body) != checksum:
            return None
        try:
            record = unpack(body)
        except (ValueError, LookupError):
            return None
        return record if _unchanged(record, task) else None

    def write(self, task: Task, rulebook: str, record: Record | Kept) -> None:
        """Keep a record. A section without verdicts is not kept: a crash or a slow day must not last."""
        if isinstance(record, Record) and not record.verdicts:
            return
        body = record.body if isinstance(record, Kept) else pack(record, task.facts)
        path = self._path(task, rulebook)
        name = ""
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=path.parent, prefix=".new-")
            with os.fdopen(handle, "wb") as stream:
                stream.write(_checksum(body) + b"\n" + body)
            os.replace(name, path)
        except OSError as error:
            self.full = error.strerror or str(error)
            if name:
                with contextlib.suppress(OSError):
                    os.unlink(name)
            return
        self._prune(path.parent)

    def _path(self, task: Task, rulebook: str) -> Path:
        name = key(task, rulebook)
        return self.folder / name[:2] / f"{name[2:]}.json"

    def _prune(self, shard: Path) -> None:
        """Once in a while, the oldest entries of a folder, and what killed runs left half-written."""
        written = self._written[shard.name] = self._written.get(shard.name, 0) + 1
        if written % 500 != 1:
            return
        with contextlib.suppress(OSError):
            entries = sorted(os.scandir(shard), key=lambda e: e.stat().st_mtime_ns)
            newest = entries[-1].stat().st_mtime if entries else 0.0
            whole = [e for e in entries if not e.name.startswith(".new-")]
            left = [e for e in entries if e.name.startswith(".new-") and newest - e.stat().st_mtime > 3600]
            for entry in [*whole[: max(len(whole) - PER_SHARD, 0)], *left]:
                os.unlink(entry.path)


def key(task: Task, rulebook: str) -> str:
    """The digest of all that a record depends on."""
    said = [
        rulebook,
        program_digest(),
        task.file,
        task.zones,
        task.edition,
        task.units,
        task.hourly,
        task.facts,
        hashlib.sha256(task.content).hexdigest(),
    ]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()


def _checksum(body: bytes) -> bytes:
    return hashlib.blake2b(body, digest_size=32).hexdigest().encode()


def _unchanged(record: Record | Kept, task: Task) -> bool:
    if not record.reads:
        return True
    folder = Path(task.path or task.file).parent
    for name, digest in record.reads.items():
        try:
            if hashlib.sha256((folder / name).read_bytes()).hexdigest() != digest:
                return False
        except OSError:
            return False
    return True


@lru_cache(maxsize=1)
def program_digest() -> str:
    """The program's version, its code and its data tables, and the interpreter: together they stand for what
    the program makes of a section."""
    total = hashlib.sha256(f"{reviewer.__version__} {sys.version_info[:3]} {sys.platform}".encode())
    package = Path(reviewer.__file__).parent
    for folder, folders, files in os.walk(package):
        folders[:] = sorted(f for f in folders if not f.startswith((".", "_")) or f == "__init__.py")
        for name in sorted(files):
            if name.endswith((".py", ".yaml", ".csv", ".json")):
                path = Path(folder, name)
                content = path.read_bytes()
                total.update(f"\0{path.relative_to(package).as_posix()}\0{len(content)}\0".encode())
                total.update(content)
    return total.hexdigest()


def default_folder() -> Path | None:
    """Where records are kept when nothing else is said; None when nothing is to be kept."""
    from reviewer.rules import cache

    folder = cache.folder()
    return folder / "sections" if folder else None
