"""One-file scenarios: input files, a command, and all that it prints.

A scenario is a text of parts, each begun by a line `--- NAME`: `file PATH` (any number), `command`, `status`, `stdout`
and `stderr`. To write what a command prints today into the files, set REVIEWER_WRITE_SCENARIOS=1 and read the diff.
"""

from __future__ import annotations

import os
import re
import shlex
import sys
from pathlib import Path

import pytest

from reviewer import cli

SCENARIOS = sorted((Path(__file__).parent / "scenarios").glob("*.txt"))
PART = re.compile(r"^--- (.+)$", re.MULTILINE)


def parts(text: str) -> dict[str, str]:
    pieces = PART.split(text)
    return {
        name.strip(): body.removeprefix("\n") for name, body in zip(pieces[1::2], pieces[2::2], strict=True)
    }


@pytest.mark.parametrize("path", SCENARIOS, ids=[p.stem for p in SCENARIOS])
def test_command_prints_what_the_scenario_says(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    text = path.read_text(encoding="utf-8")
    scenario = parts(text)
    for name, body in scenario.items():
        if name.startswith("file "):
            (tmp_path / name.removeprefix("file ")).write_text(body, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setattr(sys, "argv", shlex.split(scenario["command"]))
    with pytest.raises(SystemExit) as stopped:
        cli.main()
    printed = capsys.readouterr()
    found = {"status": str(stopped.value.code or 0), "stdout": printed.out, "stderr": printed.err}
    if os.environ.get("REVIEWER_WRITE_SCENARIOS"):
        head = text[: text.index("--- status")] if "--- status" in text else text
        path.write_text(
            head
            + "".join(f"--- {k}\n{v.rstrip()}\n" if v.strip() else f"--- {k}\n" for k, v in found.items()),
            encoding="utf-8",
        )
        return
    for name, value in found.items():
        assert value.rstrip() == scenario.get(name, "").rstrip(), name
