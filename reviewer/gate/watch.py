"""Review again whenever a file is saved."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from reviewer.errors import InputError
from reviewer.gate.discovery import covered, discover
from reviewer.gate.gate import Gate
from reviewer.gate.policy import FILE_NAME
from reviewer.gate.report import Report
from reviewer.gate.run import Runner

PERIOD: Final = 0.4
"""s between two looks at the files."""

Stamp = dict[str, tuple[int, int, int]]


def watch(
    gate: Gate,
    runner: Runner,
    emit: Callable[[Report], int],
    paths: Sequence[str],
    pause: Callable[[], bool] = lambda: bool(time.sleep(PERIOD)) or True,
) -> int:
    """Run the gate, and again after every save, until `pause` says to stop; the number of runs.

    A file that is wrong, or a policy, is told and waited for. The policy and the own rules are read anew each time.
    """
    before: Stamp | None = None
    runs = 0
    while True:
        now = stamp(gate, paths)
        if now != before:
            before = now
            runs += 1
            try:
                gate = Gate(gate.options, gate.notice)
                report = gate.run(runner)
                try:
                    emit(report)
                finally:
                    report.close()
            except InputError as error:
                gate.notice(str(error))
        if not pause():
            return runs


def stamp(gate: Gate, paths: Sequence[str]) -> Stamp:
    """What tells that a file was saved: its inode, size and time, for sections, policies and own rules."""
    files: list[Path] = []
    try:
        files += [source.path for source in discover(paths, gate.policies.of_folder)]
    except InputError:
        files += [Path(text) for text in paths]
    folders = {path.parent for path in files} | set(covered(paths))
    files += [above / FILE_NAME for folder in folders for above in (folder, *folder.parents)]
    files += [path for rules in gate.top.rules for path in Path(rules).rglob("*.yaml")]
    if gate.options.policy is not None:
        files.append(gate.options.policy)
    found: Stamp = {}
    for path in files:
        try:
            s = os.stat(path)
        except OSError:
            continue
        found[str(path)] = (s.st_ino, s.st_size, s.st_mtime_ns)
    return found
