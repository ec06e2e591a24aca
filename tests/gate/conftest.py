"""What the tests of the gate share: a small library of Lantern Row, a small pack of rules, and the command."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from reviewer import cli

PACKS = Path(__file__).parent / "packs"
POLICY = f"root: yes\nrules: ['{PACKS.as_posix()}']\npacks: [yard]\n"
GOOD = """title: {title}
kind: wall
zones: [6A]
layers:
  - latex paint
  - 1/2 in gypsum board
  - {batt}
  - 7/16 in oriented strand board
  - house wrap
  - 5/16 in fiber-cement siding
"""
BATT = "2x6 @ 16 in with R-21 glass fiber batt"
WITH_SHEET = """title: Street wall
kind: wall
zones: [6A]
layers:
  - latex paint
  - 1/2 in gypsum board
  - 6 mil polyethylene, sealed
  - 2x6 @ 16 in with R-21 glass fiber batt
  - 7/16 in oriented strand board
  - house wrap
  - 5/16 in fiber-cement siding
"""
WITH_HAZARD = """title: Attic floor
kind: floor
zones: [6A]
layers: [1/2 in gypsum board, 4 in vermiculite fill, 3/4 in plywood, {space: vented attic}]
"""


class Ran(NamedTuple):
    status: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture(scope="session")
def _kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The rulebook is read once for all tests of the gate."""
    return tmp_path_factory.mktemp("rulebook")


@pytest.fixture
def library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, _kept: Path) -> Path:
    """A folder with a policy, and the current folder; `write` fills it."""
    monkeypatch.setenv("REVIEWER_CACHE_DIR", str(_kept))
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.delenv("NO_COLOR", raising=False)
    folder = tmp_path / "office"
    folder.mkdir()
    (folder / "reviewer.yaml").write_text(POLICY, encoding="utf-8")
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture
def write(library: Path) -> Callable[[str, str], Path]:
    """Write a file of the library, folders and all."""

    def put(name: str, content: str) -> Path:
        path = library / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="utf-8")
        return path

    return put


@pytest.fixture
def gate(library: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """The command, in this process unless `-j` is given, without a cache unless one is given, on a fixed day."""

    def run(*arguments: str) -> Ran:
        args = ["reviewer", "gate", *arguments]
        if not {"-j", "--jobs", "--cluster"} & set(arguments):
            args += ["--jobs", "0"]
        if "--cache" not in arguments:
            args += ["--no-cache"]
        if "--today" not in arguments:
            args += ["--today", "2027-01-15"]
        monkeypatch.setattr(sys, "argv", args)
        with pytest.raises(SystemExit) as stopped:
            cli.main()
        printed = capsys.readouterr()
        return Ran(int(stopped.value.code or 0), printed.out, printed.err)

    assert os.getcwd() == str(library)
    return run


class Texts:
    """Sections of Lantern Row, and what the small pack finds in them."""

    policy = POLICY
    packs = PACKS
    batt = BATT
    sheet = WITH_SHEET
    """Serious: polyethylene on the room side (line 7)."""
    hazard = WITH_HAZARD
    """Serious, a hazard: vermiculite."""

    @staticmethod
    def good(title: str = "Court wall", batt: str = BATT) -> str:
        """Nothing is found."""
        return GOOD.format(title=title, batt=batt)

    @staticmethod
    def waived(until: str = "2027-06-30", rule: str = "yard/polyethylene", more: str = "") -> str:
        """The section with the sheet, and a waiver."""
        return (
            WITH_SHEET
            + f"waivers:\n  - {{rule: {rule}, reason: 'kept dry', by: 'A. Mason', until: {until}}}\n{more}"
        )


@pytest.fixture(scope="session")
def texts() -> type[Texts]:
    return Texts
