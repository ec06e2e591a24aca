"""Runs that are cut off: a full disk, a process killed at any moment. What was there stays whole."""

from __future__ import annotations

import contextlib
import json
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

PROGRAM = """
import os, tempfile
import reviewer.gate.report as report
report.IN_MEMORY = 100
tempfile.tempdir = os.environ.get("KEPT_IN")
from reviewer.cli import main
main()
"""
"""The command, with details kept in a temporary file from the first one on, where the environment says."""
SIZE = 64 << 10


class Disk(NamedTuple):
    """A folder on which nothing more can be written while `limit` holds in the writing process."""

    folder: Path
    says: str
    limit: Callable[[], None] | None


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Disk]:
    """A file system of 64 KiB where the tests may mount one, filled by the first `fill`; elsewhere a limit on the size
    of files, which makes writing fail in the same places."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={SIZE}", "tmpfs", str(folder)]
    if (
        os.geteuid() == 0
        and shutil.which("mount")
        and not subprocess.run(mount, capture_output=True).returncode
    ):
        try:
            yield Disk(folder, "No space left on device", None)
        finally:
            subprocess.run(["umount", str(folder)], check=True)
    else:
        yield Disk(folder, "File too large", lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100)))


def fill(disk: Disk) -> None:
    if disk.limit is None:
        with open(disk.folder / "fill", "wb", buffering=0) as stream, contextlib.suppress(OSError):
            while stream.write(bytes(1 << 10)):
                assert stream.tell() <= SIZE


def run(disk: Disk, *arguments: str, **env: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", PROGRAM, "gate", ".", "-j", "0", "--today", "2027-01-15", *arguments]
    return subprocess.run(
        command, capture_output=True, text=True, preexec_fn=disk.limit, env={**os.environ, **env}
    )


@pytest.mark.parametrize("name", ["r.json", "r.xlsx", "r.html", "known.json"])
def test_a_full_disk_leaves_the_old_report_or_baseline(write: Any, texts: Any, disk: Disk, name: str) -> None:
    write("a.yaml", texts.sheet)
    whole = '{"baseline": 1, "sections": {}, "entries": []}'
    (disk.folder / name).write_text(whole, encoding="utf-8")
    before = sorted(p.name for p in disk.folder.iterdir())
    fill(disk)
    target = str(disk.folder / name)
    options = ("--baseline", target, "--write-baseline") if name == "known.json" else ("-o", target)
    done = run(disk, *options, "--no-cache")
    assert done.returncode == 2
    assert f'"{target}" can\'t be written: {disk.says}' in done.stderr
    assert "Traceback" not in done.stderr
    assert (disk.folder / name).read_text(encoding="utf-8") == whole
    assert sorted(p.name for p in disk.folder.iterdir() if p.name != "fill") == before


def test_a_cache_on_a_full_disk_only_keeps_nothing(write: Any, texts: Any, disk: Disk) -> None:
    write("a.yaml", texts.sheet)
    kept = disk.folder / "kept"
    kept.mkdir()
    fill(disk)
    plain = run(disk._replace(limit=None), "--no-cache")
    done = run(disk, "--cache", str(kept))
    assert (done.returncode, done.stdout) == (plain.returncode, plain.stdout) and done.returncode == 1
    assert f"results are not kept for the next run: {disk.says} ({kept})" in done.stderr
    assert not [p for p in kept.rglob("*") if p.is_file()]


def test_no_room_for_temporary_files_is_one_clear_message(write: Any, texts: Any, disk: Disk) -> None:
    for n in range(3):
        write(f"{n}.yaml", texts.sheet)
    fill(disk)
    done = run(disk, "--no-cache", KEPT_IN=str(disk.folder))
    assert (done.returncode, done.stdout) == (2, "")
    assert f"the results can't be kept in {disk.folder}: {disk.says}" in done.stderr
    assert "another folder in TMPDIR" in done.stderr
    assert "Traceback" not in done.stderr


def test_kill_9_at_any_moment_leaves_cache_and_outputs_whole(
    gate: Any, write: Any, texts: Any, library: Path
) -> None:
    for n in range(40):
        write(f"d{n:02}.yaml", f"id: wall-{n}\n" + texts.sheet.replace("1/2 in gyp", f"{12 + n / 4} mm gyp"))
    kept, outputs = library.parent / "kept", [library.parent / name for name in ("r.json", "r.xml", "r.csv")]
    command = [sys.executable, "-c", "from reviewer.cli import main; main()", "gate", ".", "-j", "2"]
    command += ["--today", "2027-01-15", "--cache", str(kept), *(x for o in outputs for x in ("-o", str(o)))]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    began = time.monotonic()
    assert subprocess.run(command, **quiet).returncode == 1
    took = time.monotonic() - began
    whole = [output.read_bytes() for output in outputs]
    entries = {path.name: path.read_bytes() for path in kept.rglob("*.json")}
    assert len(entries) == 40
    chosen = random.Random(5)
    killed = 0
    for attempt in range(16):
        if attempt >= 6 and killed >= 2:
            break
        # On a machine that slows down and speeds up again some runs end before their moment comes: others follow.
        if attempt % 2 == 0:
            shutil.rmtree(kept, ignore_errors=True)
        for output in outputs:
            output.write_bytes(b"before")
        running = subprocess.Popen(command, **quiet)
        time.sleep(took * chosen.uniform(0.2, 1.1))
        running.send_signal(signal.SIGKILL)
        killed += running.wait() == -signal.SIGKILL
        for output, content in zip(outputs, whole, strict=True):
            assert output.read_bytes() in (b"before", content)
        for path in kept.rglob("*.json"):
            assert path.read_bytes() == entries[path.name], "an entry is there whole or not at all"
    assert killed >= 2
    again = gate(".", "--cache", str(kept), "--format", "json")
    assert again == gate(".", "--format", "json")
    assert json.loads(again.out)["tally"]["reviewed"] == 40
