"""What a change moved, and because of which facts."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import pytest


def git(folder: Path, *arguments: str) -> None:
    who = ["-c", "user.name=A. Mason", "-c", "user.email=mason@lantern.example", "-c", "commit.gpgsign=false"]
    subprocess.run(["git", *who, *arguments], cwd=folder, check=True, capture_output=True)


@pytest.fixture
def repository(library: Path, write: Any, texts: Any) -> Path:
    write("good.yaml", texts.good())
    write("old.yaml", texts.sheet)
    write("moved.yaml", texts.good("Yard wall", batt="2x4 @ 16 in with R-13 glass fiber batt"))
    git(library, "init", "-q")
    git(library, "add", ".")
    git(library, "commit", "-q", "-m", "details")
    return library


def test_nothing_changed_is_a_pass(gate: Any, repository: Path) -> None:
    ran = gate(".", "--since", "HEAD")
    assert (ran.status, "0 changed details" in ran.out) == (0, True)


def test_a_verdict_that_moved_says_why_fact_by_fact(
    gate: Any, write: Any, texts: Any, repository: Path
) -> None:
    write("good.yaml", texts.good().replace("  - house wrap\n", "  - 6 mil polyethylene\n"))
    ran = gate(".", "--since", "HEAD", "--format", "json")
    (detail,) = json.loads(ran.out)["details"]
    (move,) = detail["moves"]
    assert (move["before"], move["after"]) == ("no exceptions taken", "revise and resubmit")
    assert [line.split(":")[0] for line in move["appeared"]] == ["yard/polyethylene", "yard/no-wrap"]
    assert 'layers: "house wrap" became "6 mil polyethylene"' in move["because"]
    assert any(line.startswith("polyethylene sheet:") and "was none" in line for line in move["because"])
    assert ran.status == 1


def test_what_was_there_before_the_change_fails_nothing(
    gate: Any, write: Any, texts: Any, repository: Path
) -> None:
    write("old.yaml", texts.sheet.replace("1/2 in gypsum", "5/8 in gypsum"))
    ran = gate(".", "--since", "HEAD")
    assert ran.status == 0
    assert "1 there before the change" in ran.out


def test_a_section_that_was_taken_out_is_told(gate: Any, write: Any, texts: Any, repository: Path) -> None:
    (repository / "old.yaml").unlink()
    (repository / "reviewer.yaml").write_text(texts.policy + "fail at: note\n", encoding="utf-8")
    ran = gate(".", "--since", "HEAD", "--format", "json")
    (detail,) = json.loads(ran.out)["details"]
    assert (detail["file"], detail["status"], ran.status) == ("old.yaml", "removed", 0)
    assert "old.yaml" in (said := gate(".", "--since", "HEAD").out) and "taken out" in said
    write("drafts/draft.yaml", texts.good("Draft"))
    git(repository, "add", ".")
    git(repository, "commit", "-q", "-m", "drafts")
    (repository / "drafts" / "draft.yaml").unlink()
    (repository / "drafts").rmdir()
    assert "drafts/draft.yaml" in gate(".", "--since", "HEAD").out
    write("reviewer.yaml", texts.policy + "leave out: [drafts]\n")
    assert "drafts" not in gate(".", "--since", "HEAD").out


def test_new_renamed_and_untracked_files(gate: Any, write: Any, texts: Any, repository: Path) -> None:
    write("new.yaml", texts.sheet.replace("Street", "New"))
    git(repository, "mv", "moved.yaml", "elsewhere.yaml")
    ran = gate(".", "--since", "HEAD", "--format", "json")
    found = {
        d["file"]: [(m["before"], m["after"]) for m in d["moves"]] for d in json.loads(ran.out)["details"]
    }
    assert found == {"elsewhere.yaml": [], "new.yaml": [("none", "revise and resubmit")]}
    assert ran.status == 1


def test_an_unknown_revision_and_no_repository_are_clear(
    gate: Any, write: Any, texts: Any, repository: Path
) -> None:
    ran = gate(".", "--since", "nowhere")
    assert (ran.status, 'git knows no revision "nowhere"' in ran.err) == (2, True)
    assert gate(".", "--since", "--output=x").status == 2


def test_two_folders(gate: Any, write: Any, texts: Any) -> None:
    write("before/a.yaml", texts.sheet)
    write("before/gone.yaml", texts.good("Gone"))
    write("after/a.yaml", texts.good("Street wall"))
    write("after/new.yaml", texts.good("New", batt="2x4 @ 16 in with R-13 glass fiber batt"))
    ran = gate("--diff", "before", "after")
    assert ran.status == 0
    assert "revise and resubmit became no exceptions taken" in ran.out
    assert "gone: yard/polyethylene" in ran.out
    assert 'taken out "6 mil polyethylene, sealed"' in ran.out
    back = gate("--diff", "after", "before")
    assert back.status == 1
    assert gate("--diff", "before", "nowhere").status == 2
