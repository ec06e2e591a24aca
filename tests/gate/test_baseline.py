"""The baseline: what is known is silent, what is new fails, what is gone must be pruned."""

from __future__ import annotations

import json
from typing import Any

import pytest

from reviewer.gate.job import structural_path

BASE = ("--baseline", "known.json")


def test_known_findings_fail_nothing_and_new_ones_do(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.sheet)
    assert gate(".", *BASE, "--write-baseline").status == 0
    assert gate(".", *BASE).status == 0
    write("b.yaml", texts.sheet.replace("2x6 @ 16 in with R-21", "2x4 @ 16 in with R-13"))
    ran = gate(".", *BASE)
    assert ran.status == 1
    assert "b.yaml" in ran.out
    assert "a.yaml" not in ran.out, "what is known does not drown what is new"
    assert "1 known from the baseline" in ran.out


def test_entries_hang_on_neither_lines_nor_values_nor_file_names(
    gate: Any, write: Any, texts: Any, library: Any
) -> None:
    write("a.yaml", "id: wall-1\n" + texts.sheet)
    gate(".", *BASE, "--write-baseline")
    before = (library / "known.json").read_text(encoding="utf-8")
    assert "6 mil" not in before
    moved = "# a remark\n\nid: wall-1\n" + texts.sheet.replace("6 mil polyethylene", "7 mil polyethylene")
    moved = moved.replace("layers:\n", "layers:\n  - latex paint\n")
    (library / "a.yaml").unlink()
    write("moved/elsewhere.yaml", moved)
    assert gate(".", *BASE).status == 0


def test_a_finding_at_another_place_in_the_structure_is_new(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.sheet)
    gate(".", *BASE, "--write-baseline")
    write("a.yaml", texts.sheet.replace("  - house wrap\n", "  - house wrap\n  - 6 mil polyethylene\n"))
    ran = gate(".", *BASE, "--format", "json")
    found = json.loads(ran.out)["details"][0]["verdicts"][0]["findings"]
    assert [(f["path"], f["state"]) for f in found] == [
        ("polyethylene sheet", "known"),
        ("polyethylene sheet[2]", "live"),
    ]


def test_entries_no_longer_needed_fail_until_they_are_pruned(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.sheet)
    write("b.yaml", texts.sheet.replace("Street", "Court"))
    gate(".", *BASE, "--write-baseline")
    write("b.yaml", texts.good())
    ran = gate(".", *BASE)
    assert ran.status == 1
    assert "no longer needed" in ran.out
    assert "b: yard/polyethylene (zone 6A: polyethylene sheet)" in ran.out
    gate(".", *BASE, "--write-baseline")
    assert gate(".", *BASE).status == 0


def test_a_run_over_some_files_judges_only_their_entries(
    gate: Any, write: Any, texts: Any, library: Any
) -> None:
    write("a.yaml", texts.sheet)
    write("b.yaml", texts.sheet.replace("Street", "Court"))
    gate(".", *BASE, "--write-baseline")
    assert gate("a.yaml", *BASE).status == 0
    gate("a.yaml", *BASE, "--write-baseline")
    assert gate(".", *BASE).status == 0, "writing it from some files keeps the entries of the others"
    (library / "b.yaml").unlink()
    assert gate("a.yaml", *BASE).status == 1, "a section that is gone needs no entries"


def test_a_section_that_could_not_be_reviewed_makes_no_entry_stale(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.sheet)
    gate(".", *BASE, "--write-baseline")
    write("a.yaml", texts.sheet + "nonsense: 1\n")
    ran = gate(".", *BASE)
    assert ran.status == 2
    assert "no longer needed" not in ran.out


def test_hazards_are_never_known(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.hazard)
    ran = gate(".", *BASE, "--write-baseline")
    assert "may not be waived: 1 finding" in ran.err
    assert gate(".", *BASE).status == 1


def test_the_policy_names_the_baseline(gate: Any, write: Any, texts: Any, library: Any) -> None:
    write("reviewer.yaml", texts.policy + "baseline: kept/known.json\n")
    write("kept/a.yaml", texts.sheet)
    gate(".", "--write-baseline")
    assert (library / "kept" / "known.json").exists()
    assert gate(".").status == 0


def test_two_runs_write_the_same_bytes_and_one_entry_a_line(
    gate: Any, write: Any, texts: Any, library: Any
) -> None:
    for name in "cab":
        write(f"{name}.yaml", texts.sheet.replace("Street", name))
    gate(".", *BASE, "--write-baseline")
    first = (library / "known.json").read_bytes()
    gate(".", *BASE, "--write-baseline")
    assert (library / "known.json").read_bytes() == first
    assert (
        first.count(b"yard/polyethylene")
        == len([n for n in first.split(b"\n") if b"yard/polyethylene" in n])
        == 3
    )


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{",
        '{"baseline": 2, "sections": {}, "entries": []}',
        "\xff",
        '{"baseline": 1, "entries": 3}',
    ],
)
def test_what_is_no_baseline_is_refused(gate: Any, write: Any, texts: Any, library: Any, text: str) -> None:
    write("a.yaml", texts.sheet)
    (library / "known.json").write_bytes(text.encode("latin-1"))
    ran = gate(".", *BASE)
    assert (ran.status, ran.out) == (2, "")
    assert "is not a baseline" in ran.err
    assert gate(".", "--baseline", "none.json").status == 2


def test_a_path_names_layers_by_name_and_occurrence() -> None:
    names = ["gypsum board", "batt", "gypsum board", "batt", "gypsum board"]
    assert structural_path(names, [0]) == "gypsum board"
    assert structural_path(names, [2, 4]) == "gypsum board[2]/gypsum board[3]"


def test_what_is_known_about_the_library_is_silent_too(gate: Any, write: Any, texts: Any) -> None:
    write("a/wall.yaml", texts.good("A"))
    write("b/wall.yaml", texts.good("B", batt="2x4 @ 16 in with R-13 glass fiber batt"))
    assert gate(".", *BASE).status == 2, "there is no baseline yet"
    assert gate(".", *BASE, "--write-baseline").status == 0
    assert gate(".", *BASE).status == 0
    assert gate("a", *BASE).status == 0, "a part of the library can't say that its entries are stale"
    write("c/wall.yaml", texts.good("C", batt="2x4 @ 24 in with R-13 glass fiber batt"))
    ran = gate(".", *BASE)
    assert ran.status == 1
    assert "c/wall.yaml" in ran.out and "b/wall.yaml" not in ran.out
    write("c/wall.yaml", "id: c\n" + texts.good("C", batt="2x4 @ 24 in with R-13 glass fiber batt"))
    write("b/wall.yaml", "id: b\n" + texts.good("B", batt="2x4 @ 16 in with R-13 glass fiber batt"))
    assert "library/duplicate-id" in gate(".", *BASE).out


def test_entries_of_an_id_that_two_files_share_last_while_one_of_them_is_unseen(
    gate: Any, write: Any, texts: Any, library: Any
) -> None:
    write("a/wall.yaml", texts.sheet)
    write("b/wall.yaml", texts.sheet.replace("Street", "Court").replace("1/2 in gypsum", "5/8 in gypsum"))
    assert gate(".", *BASE, "--write-baseline").status == 0
    whole = (library / "known.json").read_bytes()
    assert json.loads(whole)["sections"] == {"wall": ["a/wall.yaml", "b/wall.yaml"]}
    for part in ("a", "b"):
        assert gate(part, *BASE).status == 0
        gate(part, *BASE, "--write-baseline")
        assert (library / "known.json").read_bytes() == whole
    write("b/wall.yaml", texts.good("Court"))
    ran = gate("b", *BASE)
    assert (ran.status, "no longer needed" in ran.out) == (0, False)
    ran = gate(".", *BASE)
    assert (ran.status, "no longer needed" in ran.out) == (1, True)
    (library / "b" / "wall.yaml").unlink()
    ran = gate("a", *BASE)
    assert (ran.status, "no longer needed" in ran.out) == (1, True)
    gate("a", *BASE, "--write-baseline")
    assert gate(".", *BASE).status == 0
