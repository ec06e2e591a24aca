"""A search shows how far it is on a terminal, and stopped by the user it leaves nothing half-written."""

from __future__ import annotations

import os
import pty
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

HARD = Path(__file__).parents[2] / "cases/vapor-control/mill-street-pool.yaml"
"""A case that is searched for seconds."""


def started(output: Path) -> tuple[subprocess.Popen[bytes], int]:
    """The search in a terminal of its own, and that terminal."""
    ours, theirs = pty.openpty()
    command = [
        sys.executable,
        "-m",
        "reviewer",
        "remedy",
        str(HARD),
        "--candidates",
        "20000",
        "-o",
        str(output),
    ]
    process = subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True)
    os.close(theirs)
    return process, ours


def read_until(terminal: int, wanted: bytes, seconds: float = 60.0) -> bytes:
    shown, end = b"", time.monotonic() + seconds
    while wanted not in shown and time.monotonic() < end:
        if select.select([terminal], [], [], 0.2)[0]:
            try:
                part = os.read(terminal, 4096)
            except OSError:
                break
            if not part:
                break
            shown += part
    return shown


def test_stopped_in_the_middle_nothing_is_written_and_the_line_is_cleared(tmp_path: Path) -> None:
    kept = tmp_path / "kept.txt"
    kept.write_text("an older report\n")
    process, terminal = started(kept)
    shown = read_until(terminal, b"combinations tried")
    assert b"combinations tried" in shown
    process.send_signal(signal.SIGINT)
    rest = read_until(terminal, b"stopped")
    assert process.wait(30) == 130
    os.close(terminal)
    assert b"\r\x1b[K" in rest and b"Traceback" not in rest
    assert kept.read_text() == "an older report\n"
    assert [p.name for p in tmp_path.iterdir()] == ["kept.txt"]


def test_in_a_pipe_there_is_no_progress() -> None:
    command = [
        sys.executable,
        "-m",
        "reviewer",
        "remedy",
        str(HARD),
        "--candidates",
        "64",
        "--format",
        "json",
    ]
    done = subprocess.run(command, capture_output=True, check=False)
    assert done.stderr == b""
    assert done.stdout.startswith(b"{")
