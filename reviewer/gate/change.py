"""What a change did: which sections it touched, which verdicts moved, and because of which facts."""

from __future__ import annotations

import shutil
import subprocess
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path
from typing import Final

from reviewer.document import MAX_BYTES
from reviewer.errors import InputError, Problem
from reviewer.gate.record import Found, Move, Record, Verdict

NONE: Final = "none"
_TIMEOUT: Final = 60.0


@dataclass(frozen=True, slots=True)
class Pair:
    """A section before and after; None where it was not there. Paths as shown, and absolute."""

    file: str
    path: Path
    before: bytes | None
    after: bytes | None


def moves_between(before: Record, after: Record) -> list[Move]:
    """Every place where the verdict or the findings moved, with the facts that the change rests on.

    A place that is there only before or only after moves from or to `none`.
    """
    old = {v.at: v for v in before.verdicts}
    new = {v.at: v for v in after.verdicts}
    moves = []
    for at in dict.fromkeys([*new, *old]):
        move = _move(at, old.get(at), new.get(at), before, after)
        if move.before != move.after or move.appeared or move.gone:
            moves.append(move)
    return moves


def _move(at: str, old: Verdict | None, new: Verdict | None, before: Record, after: Record) -> Move:
    was, now = _by_key(old), _by_key(new)
    appeared = [f for key, f in now.items() if key not in was]
    gone = [f for key, f in was.items() if key not in now]
    because: list[str] = []
    if old is not None and new is not None:
        names = [name for f in [*appeared, *gone] for name in f.rests_on]
        changed = [line for name in dict.fromkeys(names) if (line := _fact(name, old, new))]
        because = _layers(before, after) + list(dict.fromkeys(changed))
    return Move(
        at=at,
        before=old.disposition if old is not None else NONE,
        after=new.disposition if new is not None else NONE,
        appeared=[f"{f.rule}: {f.title}" for f in appeared],
        gone=[f"{f.rule}: {f.title}" for f in gone],
        because=because,
    )


def _by_key(found: Verdict | None) -> dict[tuple[str, str, int], Found]:
    seen: Counter[tuple[str, str]] = Counter()
    keyed = {}
    for f in found.findings if found is not None else []:
        keyed[f.rule, f.path, seen[f.rule, f.path]] = f
        seen[f.rule, f.path] += 1
    return keyed


def _fact(name: str, old: Verdict, new: Verdict) -> str:
    """`gypsum board: permeance when dry: was 40 perm (looked up), is 5 perm (given)`; empty when it didn't move."""
    was, now = old.facts.get(name), new.facts.get(name)
    if (was is None and now is None) or was == now:
        return ""
    label = (now or was or ("", ""))[0]
    return f"{label}: was {was[1] if was else NONE}, is {now[1] if now else NONE}"


def _layers(before: Record, after: Record) -> list[str]:
    """What was done to the layers, from the room outwards."""
    lines = []
    matcher = SequenceMatcher(None, before.layers, after.layers, autojunk=False)
    for what, i, j, k, m in matcher.get_opcodes():
        if what == "equal":
            continue
        was, now = " | ".join(before.layers[i:j]), " | ".join(after.layers[k:m])
        text = f'added "{now}"' if not was else f'taken out "{was}"' if not now else f'"{was}" became "{now}"'
        lines.append(f"layers: {text}")
    return lines


# -- which sections ------------------------------------------------------------------------------


def changed_since(revision: str, base: Path) -> tuple[dict[str, str], Path]:
    """Files that differ from a revision of the git repository around `base`: absolute path to the path in the
    revision (empty for files that were not there), and the top folder of the repository.

    Raises InputError: no git, no repository, or no such revision.
    """
    top = Path(_git(base, "rev-parse", "--show-toplevel").decode().rstrip("\n"))
    if revision.startswith("-"):
        raise _no_revision(revision)
    try:
        commit = _git(base, "rev-parse", "--verify", "--quiet", f"{revision}^{{commit}}").decode().strip()
    except InputError:
        raise _no_revision(revision) from None
    found: dict[str, str] = {}
    fields = _git(top, "diff", "--name-status", "-z", "--find-renames", "--no-ext-diff", commit).split(b"\0")
    at = 0
    while at + 1 < len(fields):
        status = fields[at].decode()
        if status.startswith(("R", "C")):
            old, new = _name(fields[at + 1]), _name(fields[at + 2])
            found[str(top / new)] = old
            at += 3
        else:
            name = _name(fields[at + 1])
            found[str(top / name)] = "" if status == "A" else name
            at += 2
    for name in _git(top, "ls-files", "--others", "--exclude-standard", "-z").split(b"\0"):
        if name:
            found.setdefault(str(top / _name(name)), "")
    return found, top


def content_at(revision: str, name: str, top: Path) -> bytes:
    """The content of a file at a revision. Raises InputError."""
    return _git(top, "cat-file", "blob", f"{revision}:{name}")[: MAX_BYTES + 1]


def _name(raw: bytes) -> str:
    return raw.decode("utf-8", "surrogateescape")


def _no_revision(revision: str) -> InputError:
    return InputError(
        Problem(
            f'git knows no revision "{revision}"', None, "a commit, a branch or a tag, such as origin/main"
        )
    )


def _git(folder: Path, *arguments: str) -> bytes:
    # Found by ourselves, so that no program in the folder under review is taken for it.
    git = shutil.which("git")
    if git is None:
        raise InputError(Problem("there is no git on this machine", None, "git, for --since"))
    try:
        done = subprocess.run(  # noqa: S603 - git, no shell
            [git, "-c", "core.quotepath=off", *arguments],
            cwd=folder,
            capture_output=True,
            timeout=_TIMEOUT,
            stdin=subprocess.DEVNULL,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise InputError(
            Problem(f"git took longer than {_TIMEOUT:g} s", None, "a repository that answers")
        ) from None
    if done.returncode != 0:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()
        raise InputError(
            Problem(
                f"git says: {said[0] if said else 'no reason'}", None, "a git repository around the sections"
            )
        )
    return done.stdout


def pairs_of_folders(
    old: Sequence[tuple[str, Path]], new: Sequence[tuple[str, Path]]
) -> list[tuple[str, Path | None, Path | None]]:
    """Files of two folders by their path in the folder, in order: the path, where it is in the one and the other."""
    before, after = dict(old), dict(new)
    return [(name, before.get(name), after.get(name)) for name in sorted({*before, *after})]
