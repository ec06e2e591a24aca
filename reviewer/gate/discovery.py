"""Which files a run is about: files, folders, patterns, standard input."""

from __future__ import annotations

import glob
import os
import stat
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from reviewer.document import MAX_BYTES
from reviewer.errors import InputError, Problem, nearest
from reviewer.gate.policy import FILE_NAME, Policy

SUFFIXES: Final = (".yaml", ".yml")
STANDARD_INPUT: Final = "-"


@dataclass(frozen=True, slots=True)
class Source:
    """A file to review, or why one can't be."""

    file: str
    """As shown: from the current folder where it lies below, with forward slashes."""
    path: Path
    """Absolute."""
    problem: str = ""


def discover(
    paths: Sequence[str], policy_of: Callable[[Path], Policy], where: Path | None = None
) -> Iterator[Source]:
    """Every section file among these paths once, in the order of the paths, folders sorted by name.

    Folders are walked down, links to folders are followed, each folder once however often it is linked. Names
    that start with a dot, policy files, files without a YAML suffix and what the policy leaves out are
    passed over in folders and patterns, and reviewed where they are named themselves.

    Raises InputError: a path that doesn't exist, or a pattern without a match.
    """
    base = where or Path.cwd()
    seen: set[str] = set()
    walker = _Walker(base, policy_of, seen)
    for text in _expanded(paths, base):
        if text == STANDARD_INPUT:
            yield Source(STANDARD_INPUT, base / STANDARD_INPUT)
            continue
        path = Path(os.path.normpath(base / text))
        if path.is_dir():
            yield from walker.folder(path)
        else:
            yield from walker.file(path, os.path.realpath(path), named=True)


def covered(paths: Sequence[str], where: Path | None = None) -> tuple[Path, ...]:
    """The folders among these paths: of what lies in them the run sees everything."""
    base = where or Path.cwd()
    found = (Path(os.path.normpath(base / text)) for text in paths if text != STANDARD_INPUT)
    return tuple(path for path in found if path.is_dir())


def start_folder(paths: Sequence[str], where: Path | None = None) -> Path:
    """The innermost folder that all paths lie in: its policy is the one of the run."""
    base = where or Path.cwd()
    folders = []
    for text in paths:
        if text == STANDARD_INPUT:
            folders.append(base)
            continue
        while glob.has_magic(text) and not os.path.lexists(base / text):
            text = os.path.dirname(text)
        path = Path(os.path.normpath(base / text))
        folders.append(path if path.is_dir() else path.parent)
    return Path(os.path.commonpath(folders)) if folders else base


def _expanded(paths: Sequence[str], base: Path) -> Iterator[str]:
    problems = []
    texts: list[str] = []
    for text in paths:
        if text == STANDARD_INPUT or os.path.lexists(base / text):
            texts.append(text)
        elif glob.has_magic(text):
            found = sorted(
                f
                for f in glob.glob(text, root_dir=base, recursive=True)
                if f.endswith(SUFFIXES) and os.path.basename(f) != FILE_NAME and os.path.isfile(base / f)
            )
            texts += found
            if not found:
                problems.append(Problem(f'no file matches "{text}"', None, "a pattern of section files"))
        else:
            folder, name = os.path.split(text)
            try:
                names = sorted(os.listdir(base / folder))[:1000]
            except OSError:
                names = []
            near = nearest(name, names)
            problems.append(
                Problem(
                    f'there is no file or folder "{text}"',
                    None,
                    "section files, folders, or patterns",
                    os.path.join(folder, near) if near else "",
                )
            )
    if problems:
        raise InputError(problems)
    yield from texts


class _Walker:
    def __init__(self, base: Path, policy_of: Callable[[Path], Policy], seen: set[str]):
        self.base = base
        self.policy_of = policy_of
        self.seen = seen

    def folder(self, top: Path) -> Iterator[Source]:
        # A stack of its own, because a tree can be deeper than Python calls can.
        stack: list[tuple[Path, bool, str]] = [(top, True, os.path.realpath(top))]
        while stack:
            path, is_folder, real = stack.pop()
            if not is_folder:
                yield from self.file(path, real, named=False)
            elif self.new(real):
                try:
                    policy = self.policy_of(path)
                    stack += sorted(
                        self.inside(path, real, policy), key=lambda found: found[0].name, reverse=True
                    )
                except OSError as error:
                    yield Source(self.shown(path), path, f"the folder can't be read: {error.strerror}")
                except InputError as error:
                    yield Source(self.shown(path), path, str(error))

    def inside(self, folder: Path, real: str, policy: Policy) -> Iterator[tuple[Path, bool, str]]:
        """Folders and section files of a folder, whether each is a folder, and where it really lies."""
        with os.scandir(folder) as entries:
            for entry in entries:
                name, linked = entry.name, entry.is_symlink()
                is_folder = os.path.isdir(entry.path) if linked else entry.is_dir()
                if name.startswith(".") if is_folder else not is_section_file(name):
                    continue
                path = folder / name
                if policy.leave_out and policy.leaves_out(path):
                    continue
                lies = os.path.realpath(path) if linked else os.path.join(real, name)
                yield path, is_folder, lies

    def file(self, path: Path, real: str, named: bool) -> Iterator[Source]:
        if not self.new(real):
            return
        try:
            mode = os.stat(path).st_mode
        except OSError as error:
            yield Source(self.shown(path), path, f"can't be read: {error.strerror}")
            return
        if stat.S_ISREG(mode):
            yield Source(self.shown(path), path)
        elif named:
            yield Source(self.shown(path), path, "is neither a file nor a folder")

    def new(self, real: str) -> bool:
        if real in self.seen:
            return False
        self.seen.add(real)
        return True

    def shown(self, path: Path) -> str:
        try:
            shown = path.relative_to(self.base)
        except ValueError:
            shown = path
        # Names that are no text (any bytes can be a name) must not break the reports.
        return shown.as_posix().encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")


def is_section_file(name: str) -> bool:
    """Whether a file in a folder is taken for a section by its name.

    >>> [is_section_file(name) for name in ("wall.yaml", "reviewer.yaml", ".wall.yaml", "wall.txt")]
    [True, False, False, False]
    """
    return name.endswith(SUFFIXES) and name != FILE_NAME and not name.startswith(".")


def read_source(source: Source) -> bytes:
    """The content of a file, at most one byte more than a section may have.

    Raises OSError.
    """
    with open(source.path, "rb") as stream:
        return stream.read(MAX_BYTES + 1)
