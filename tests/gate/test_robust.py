"""What files can be: unreadable, looped, foreign, huge, hostile. Always a clear message, never a traceback."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

from reviewer.gate.discovery import discover
from reviewer.gate.gate import Gate, Options
from reviewer.gate.policy import Policies
from reviewer.gate.rulebook import rule_ids
from reviewer.gate.run import Here
from reviewer.gate.watch import watch


def files(library: Path, *paths: str) -> list[str]:
    return [s.file for s in discover(paths, Policies(rule_ids).of_folder, library)]


def test_links_in_a_circle_end_and_each_file_comes_once(library: Path, write: Any, texts: Any) -> None:
    write("a/x.yaml", texts.good())
    (library / "a" / "up").symlink_to(library)
    (library / "b").symlink_to(library / "a")
    (library / "loop.yaml").symlink_to(library / "loop.yaml")
    found = list(discover(["."], Policies(rule_ids).of_folder, library))
    assert [s.file for s in found if not s.problem] == ["a/x.yaml"]
    assert [s.file for s in found if s.problem] == ["loop.yaml"]
    assert files(library, "a/x.yaml", "b/x.yaml") == ["a/x.yaml"]


def test_folders_patterns_and_names(library: Path, write: Any, texts: Any) -> None:
    for name in ("b.yaml", "a.yml", "sub/c.yaml", ".hidden/d.yaml", "notes.txt", "e.json"):
        write(name, texts.good())
    assert files(library, ".") == ["a.yml", "b.yaml", "sub/c.yaml"]
    assert files(library, "**/*.yaml") == ["b.yaml", "sub/c.yaml"]
    assert files(library, "e.json", ".hidden/d.yaml") == ["e.json", ".hidden/d.yaml"]


@pytest.mark.parametrize("path", ["nowhere", "a.yam", "no/*.yaml"])
def test_paths_without_a_section_are_an_error(gate: Any, write: Any, texts: Any, path: str) -> None:
    write("a.yaml", texts.good())
    ran = gate(path)
    assert (ran.status, ran.out) == (2, "")
    assert path in ran.err
    assert path != "a.yam" or "did you mean 'a.yaml'" in ran.err


def test_a_folder_without_sections_is_an_error(gate: Any, library: Path) -> None:
    (library / "empty").mkdir()
    assert gate("empty").status == 2


def test_hostile_files_are_told_and_the_rest_is_reviewed(
    gate: Any, write: Any, texts: Any, library: Path
) -> None:
    write("good.yaml", texts.good())
    (library / "latin.yaml").write_bytes("title: Fa\xe7ade\nkind: wall\n".encode("latin-1"))
    (library / "huge.yaml").write_bytes(b"# " + b"x" * (3 << 20))
    (library / "empty.yaml").write_bytes(b"")
    write("bomb.yaml", "a: &a [x, x]\nb: &b [*a, *a]\nc: [*b, *b]\n")
    write("tag.yaml", "kind: !!python/object/apply:os.system ['true']\n")
    write("deep.yaml", "[" * 5000)
    write("twice.yaml", "kind: wall\nkind: roof\nlayers: latex paint\n")
    os.mkfifo(library / "pipe.yaml")
    (library / os.fsdecode(b"odd\xff.yaml")).write_text(texts.good("Odd"), encoding="utf-8")
    ran = gate(".", "--format", "json")
    said = json.loads(ran.out)
    assert ran.status == 2
    problems = {d["file"]: d["problems"][0] for d in said["details"] if d["problems"]}
    assert "is not UTF-8" in problems["latin.yaml"]
    assert "larger than 1 MiB" in problems["huge.yaml"]
    assert "empty" in problems["empty.yaml"]
    assert "not allowed" in problems["bomb.yaml"]
    assert "not allowed" in problems["tag.yaml"]
    assert "nested deeper" in problems["deep.yaml"]
    assert "given twice" in problems["twice.yaml"]
    assert {d["file"] for d in said["details"] if d["status"] == "reviewed"} == {"good.yaml", "odd\\xff.yaml"}
    assert "Traceback" not in ran.err


def test_a_file_that_may_not_be_read_is_told(
    gate: Any, write: Any, texts: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    write("a.yaml", texts.good())

    def refuse(_: Any) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("reviewer.gate.gate.read_source", refuse)
    ran = gate(".")
    assert (ran.status, "a.yaml: can't be read: Permission denied" in ran.out) == (2, True)


def test_a_full_disk_is_one_clear_message_and_leaves_the_old_report(
    write: Any, texts: Any, library: Path
) -> None:
    """A limit on the size of files stands for the disk: writing fails in the same place."""
    write("a.yaml", texts.sheet)
    (library / "r.json").write_text("before", encoding="utf-8")
    command = [
        sys.executable,
        "-c",
        "from reviewer.cli import main; main()",
        "gate",
        "a.yaml",
        "-j",
        "0",
        "--no-cache",
    ]

    def small() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (400, 400))

    done = subprocess.run([*command, "-o", "r.json"], capture_output=True, text=True, preexec_fn=small)
    assert done.returncode == 2
    assert "can't be written" in done.stderr
    assert "Traceback" not in done.stderr
    assert (library / "r.json").read_text(encoding="utf-8") == "before"
    assert sorted(p.name for p in library.iterdir()) == ["a.yaml", "r.json", "reviewer.yaml"]


def test_a_report_that_can_not_be_printed_is_an_error(write: Any, texts: Any, library: Path) -> None:
    write("a.yaml", texts.good())
    command = [
        sys.executable,
        "-c",
        "from reviewer.cli import main; main()",
        "gate",
        "a.yaml",
        "-j",
        "0",
        "--no-cache",
    ]
    with open("/dev/full", "w") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True)
    assert done.returncode == 2
    assert "can't be printed" in done.stderr
    assert "Traceback" not in done.stderr


def test_standard_input_is_a_section(
    gate: Any, library: Path, texts: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    import io

    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(texts.sheet.encode())))
    ran = gate("-")
    assert ran.status == 1
    assert "yard/polyethylene" in ran.out


def test_a_save_is_reviewed_again_and_a_wrong_policy_is_waited_for(
    library: Path, write: Any, texts: Any
) -> None:
    import datetime

    write("a.yaml", texts.good())
    told: list[str] = []
    gate = Gate(Options(paths=(".",), today=datetime.date(2027, 1, 15)), told.append)
    steps = iter(
        [
            lambda: None,
            lambda: write("a.yaml", texts.sheet),
            lambda: write("reviewer.yaml", "fail at: sometimes\n"),
            lambda: write("reviewer.yaml", texts.policy + "fail at: never\n"),
        ]
    )
    seen: list[int] = []

    def emit(report: Any) -> int:
        seen.append(report.status)
        return report.status

    def pause() -> bool:
        step = next(steps, None)
        if step is not None:
            step()
        return step is not None

    assert watch(gate, Here(), emit, ["."], pause) == 4
    assert seen == [0, 1, 0]
    assert 'can\'t be "sometimes"' in told[0]


def test_the_hook_runs_the_gate_on_sections() -> None:
    hooks = yaml.safe_load((Path(__file__).parents[2] / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
    assert [(h["id"], h["entry"], h["types"]) for h in hooks] == [
        ("reviewer-gate", "reviewer gate", ["yaml"])
    ]
