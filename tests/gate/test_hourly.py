"""The hourly simulation over a library: the time limit of each section, and a cache that tells it apart."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from reviewer.gate import job
from reviewer.gate.record import Record, Task
from reviewer.model.parse import load_section
from reviewer.review import review

WALL = """title: {title}
kind: wall
place: Duluth, MN
layers: [1/2 in gypsum board, {sheet}2 in mineral wool board, 1/2 in plywood]
"""


def fill(write: Any) -> dict[str, Path]:
    return {
        "open": write("open.yaml", WALL.format(title="Open", sheet="")),
        "shut": write("deep/shut.yaml", WALL.format(title="Shut", sheet="6 mil polyethylene, ")),
    }


def rules_found(said: str) -> dict[str, set[str]]:
    return {
        d["id"]: {f["rule"] for v in d["verdicts"] for f in v["findings"]}
        for d in json.loads(said)["details"]
    }


def test_the_gate_finds_what_the_hourly_review_of_each_section_finds_and_keeps_it_apart(
    gate: Any, write: Any, library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    reviewed: list[tuple[str, bool]] = []
    plain = job.review_task

    def counted(task: Task) -> Record:
        reviewed.append((task.file, task.hourly))
        return plain(task)

    monkeypatch.setattr(job, "review_task", counted)
    write("reviewer.yaml", "root: yes\nfail at: never\n")
    files = fill(write)
    kept = ("--cache", str(library.parent / "kept"), "--format", "json")
    hourly = gate(".", "--hourly", *kept)
    alone = {name: review(load_section(path), hourly=True) for name, path in files.items()}
    assert rules_found(hourly.out) == {name: {f.rule for f in r.findings} for name, r in alone.items()}
    assert gate(".", "--hourly", *kept) == hourly
    assert reviewed == [("deep/shut.yaml", True), ("open.yaml", True)], (
        "the second run took all from the cache"
    )
    stationary = gate(".", *kept)
    assert rules_found(stationary.out) == {
        name: {f.rule for f in review(load_section(path)).findings} for name, path in files.items()
    }
    assert reviewed[2:] == [("deep/shut.yaml", False), ("open.yaml", False)]
    write("reviewer.yaml", "root: yes\nfail at: never\nfolders:\n  deep: {hourly: yes}\n")
    both = rules_found(gate(".", *kept).out)
    assert both == {"shut": rules_found(hourly.out)["shut"], "open": rules_found(stationary.out)["open"]}
    assert len(reviewed) == 4


def test_each_section_has_the_time_limit_of_what_is_asked_for_it(
    gate: Any, write: Any, library: Path
) -> None:
    from reviewer.gate.gate import Gate, Options
    from reviewer.gate.limits import HOURLY_TIME_LIMIT, TIME_LIMIT
    from reviewer.gate.run import Here

    write("reviewer.yaml", "root: yes\nfail at: never\nfolders:\n  deep: {hourly: yes}\n")
    fill(write)
    limits: dict[str, float] = {}

    class Noting(Here):
        def submit(self, number: int, task: Task) -> None:
            limits[task.file] = task.limit
            self._done.append((number, Record(file=task.file, failed="not asked")))

    Gate(Options(paths=(str(library),))).run(Noting()).close()
    assert limits == {"deep/shut.yaml": HOURLY_TIME_LIMIT, "open.yaml": TIME_LIMIT}
    Gate(Options(paths=(str(library),), time_limit=7.0)).run(Noting()).close()
    assert set(limits.values()) == {7.0}


def test_a_simulation_past_the_time_limit_is_told_and_not_kept(gate: Any, write: Any, library: Path) -> None:
    write("reviewer.yaml", "root: yes\nfail at: never\n")
    fill(write)
    kept = library.parent / "kept"
    ran = gate(".", "--hourly", "-j", "2", "--time-limit", "0.05", "--cache", str(kept))
    assert ran.status == 2
    assert ran.out.count("no verdict within the time limit of 0.05 s") == 2
    assert not list(kept.rglob("*.json"))
