"""Compile a user's packs in a child process first: bad input must not hang or kill the review.

python -m reviewer.rules.child DIR …     prints the problems as JSON
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path

from reviewer.errors import InputError, Mark, Problem
from reviewer.rules.ruleset import Ruleset, is_kept, load_ruleset, shipped_rules_dir

TIME_LIMIT = 20.0
"""Seconds that a user's packs may take to read and compile."""
SIZE_LIMIT = 10_000_000
"""Bytes of problems that are read from the child."""


def load_with_user_packs(dirs: Iterable[str | Path], timeout: float = TIME_LIMIT) -> Ruleset:
    """The shipped packs with a user's own beside them, compiled in a child process first.

    Packs that passed before, and whose rulebook is kept, are not tried again.

    Raises InputError: everything that is wrong with them, or that they took too long.
    """
    own = [Path(d) for d in dirs]
    every = [shipped_rules_dir(), *own]
    if not is_kept(every):
        problems = compile_check_in_child(every, timeout)
        if problems:
            raise InputError(problems)
    return load_ruleset(every)


def compile_check_in_child(
    dirs: str | Path | Iterable[str | Path],
    timeout: float = TIME_LIMIT,
    command: Sequence[str] = (sys.executable, "-m", "reviewer.rules.child"),
) -> list[Problem]:
    """Read and compile packs in another process; the problems, none when all is well.

    A child that takes longer than `timeout` seconds is ended, and one that dies is a problem too.
    """
    folders = [dirs] if isinstance(dirs, (str, Path)) else list(dirs)
    names = ", ".join(f'"{f}"' for f in folders)
    try:
        done = subprocess.run(  # noqa: S603 - our own module, no shell
            [*command, *(str(f) for f in folders)],
            capture_output=True,
            timeout=timeout,
            check=False,
            stdin=subprocess.DEVNULL,
        )
    except subprocess.TimeoutExpired:
        return [
            Problem(
                f"the rules in {names} take longer than {timeout:g} seconds to compile",
                None,
                "rules with fewer alternatives and conditions",
            )
        ]
    except OSError as error:
        return [Problem(f"the rules in {names} can't be tried in a process of their own: {error.strerror}")]
    try:
        if done.returncode not in (0, 1) or len(done.stdout) > SIZE_LIMIT:
            raise ValueError
        told = json.loads(done.stdout)
        return [
            Problem(p["message"], Mark(**p["mark"]) if p["mark"] else None, p["expected"], p["nearest"])
            for p in told
        ]
    except (ValueError, TypeError, KeyError):
        how = f"signal {-done.returncode}" if done.returncode < 0 else f"status {done.returncode}"
        return [
            Problem(f"the process that compiled the rules in {names} ended with {how}", None, "other rules")
        ]


def compile_problems(dirs: Sequence[str | Path]) -> list[Problem]:
    """Read and compile packs here; the problems."""
    from reviewer.rules.check import check_engine

    try:
        ruleset = load_ruleset(dirs, keep=False)
    except InputError as error:
        return list(error.problems)
    return [remark.problem for remark in check_engine(ruleset)]


def main(arguments: Sequence[str]) -> int:
    problems = compile_problems(arguments)
    json.dump([asdict(p) for p in problems], sys.stdout)
    return 1 if problems else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
