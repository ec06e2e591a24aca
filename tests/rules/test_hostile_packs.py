"""A user's packs: what they may do beside ours, and what no pack can do."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from reviewer.errors import InputError
from reviewer.model.parse import section_from_line
from reviewer.review import load_rules, review
from reviewer.rules.ruleset import MAX_FILES, load_ruleset

HEAD = "pack: own\ntopic: Own\nabout: Our own rules.\nrules:\n"
RULE = """  - id: own/{name}
    title: {title}
    when: [{when}]
    finding:
      severity: caution
      reason: It may fail.
      confidence: low
      voice: rule of thumb
      says: {says}
      explanation: It rots.
    cites: common practice
"""
WALL = (
    "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-21 glass fiber batt | 7/16 in OSB | vinyl siding"
)


def rule(
    name: str = "x",
    when: str = "section: {kind: wall}",
    says: str = "It fails",
    title: str = "A test",
    more: str = "",
) -> str:
    when = "{" + when + "}"
    return RULE.format(name=name, when=when, says=says, title=title) + more


def pack(folder: Path, text: str | bytes, name: str = "own.yaml") -> Path:
    data = text.encode() if isinstance(text, str) else text
    (folder / name).write_bytes(data)
    return folder


def wall():
    return section_from_line(WALL, kind="wall", place="Duluth, MN")


def test_an_own_pack_stands_beside_ours(tmp_path: Path) -> None:
    rules = load_rules((pack(tmp_path, HEAD + rule()),))
    assert "own/x" in rules.rules and "vapor-control/shut-in-between" in rules.rules
    assert "own/x" in {f.rule for f in review(wall(), rules).findings}


def test_an_own_rule_may_defeat_one_of_ours_with_a_reason(tmp_path: Path) -> None:
    before = {f.rule for f in review(wall()).findings}
    assert "water-control/no-barrier" in before
    more = "    defeats: water-control/no-barrier\n    defeats because: Our panels are the barrier.\n"
    rules = load_rules((pack(tmp_path, HEAD + rule(more=more)),))
    result = review(wall(), rules)
    found = {f.rule: f for f in result.findings}
    assert "water-control/no-barrier" not in found
    assert "water-control/no-barrier" in found["own/x"].defeated


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ("    defeats: water-control/no-barrier\n", '"defeats" has no reason'),
        (
            "    defeats: water-control/no-barier\n    defeats because: So.\n",
            'no rule "water-control/no-barier"',
        ),
        ("    defeats: own/x\n    defeats because: So.\n", "a rule can't name itself here"),
    ],
)
def test_a_defeat_that_is_not_in_order_is_refused_at_its_place(
    tmp_path: Path, more: str, message: str
) -> None:
    with pytest.raises(InputError) as caught:
        load_rules((pack(tmp_path, HEAD + rule(more=more)),))
    problem = caught.value.problems[0]
    assert message in problem.message
    assert problem.mark is not None


def test_an_id_of_ours_can_not_be_taken(tmp_path: Path) -> None:
    text = HEAD.replace("pack: own", "pack: water-control") + rule().replace(
        "own/x", "water-control/no-barrier"
    )
    with pytest.raises(InputError, match=r"two rules \"water-control/no-barrier\""):
        load_rules((pack(tmp_path, text),))


CODE = [
    '  - !!python/object/apply:os.system ["touch {ran}"]\n',
    '  - !!python/object/new:subprocess.Popen [["touch", "{ran}"]]\n',
    "  - !!python/name:os.system\n",
    "  - !include /etc/passwd\n",
    rule(says="'{section.__class__.__mro__}'"),
    rule(says="'{section.kind.__init__}'"),
    rule(says='\'{__import__("os").system("touch {ran}")}\''),
    rule(when="section: {kind: '__import__(\"os\")'}"),
    rule(when="section: {'__class__': yes}"),
    rule(when='section: {zone_number: ">= len([1])"}'),
    rule(when='section: {zone_number: ">= 2 + 3"}'),
    rule(title='"\\e[2J\\e[31m"'),
    "  - &a [*a, *a]\n",
    "  - <<: {id: own/x}\n",
    "  - " + "[" * 5000 + "]" * 5000 + "\n",
    rule(name="../../etc"),
]


@pytest.mark.parametrize("body", CODE, ids=range(len(CODE)))
def test_nothing_in_a_pack_is_run_or_followed(tmp_path: Path, body: str) -> None:
    ran = tmp_path / "ran"
    folder = tmp_path / "packs"
    folder.mkdir()
    with pytest.raises(InputError) as caught:
        load_ruleset([pack(folder, HEAD + body.replace("{ran}", str(ran)))], keep=False)
    assert not ran.exists()
    assert all(p.mark is not None and p.mark.file.endswith("own.yaml") for p in caught.value.problems)


@pytest.mark.parametrize(
    "data",
    [b"\xff\xfe\x00", b"\x00\x01\x02", b"pack: \xc3\x28", b"x: " + b"a" * (2 << 20), b"", b"\x1f\x8b\x08"],
)
def test_what_is_no_text_is_refused(tmp_path: Path, data: bytes) -> None:
    with pytest.raises(InputError) as caught:
        load_ruleset([pack(tmp_path, data)], keep=False)
    assert len(caught.value.problems) >= 1


def test_other_files_folders_and_pipes_are_left_alone(tmp_path: Path) -> None:
    pack(tmp_path, HEAD + rule())
    (tmp_path / "folder.yaml").mkdir()
    (tmp_path / "code.py").write_text("raise SystemExit(7)")
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.yaml")
    assert list(load_ruleset([tmp_path], keep=False).rules) == ["own/x"]


def test_thousands_of_files_are_refused(tmp_path: Path) -> None:
    for n in range(MAX_FILES + 1):
        (tmp_path / f"{n}.yaml").write_text("")
    with pytest.raises(InputError, match=f"at most {MAX_FILES}"):
        load_ruleset([tmp_path], keep=False)


def test_a_rule_of_too_many_alternatives_is_refused(tmp_path: Path) -> None:
    tests = ", ".join(f'{name}: "< 1 perm or > 5 perm"' for name in ("permeance_dry", "permeance_wet"))
    conditions = "}, {".join(f"layer a{n}: {{{tests}}}" for n in range(4))
    with pytest.raises(InputError, match="alternatives"):
        load_ruleset([pack(tmp_path, HEAD + rule(when=conditions))], keep=False)


def test_a_rule_that_would_run_for_years_is_refused_at_its_place(tmp_path: Path) -> None:
    conditions = "}, {".join(f"layer a{n}: {{}}" for n in range(10))
    rules = load_rules((pack(tmp_path, HEAD + rule(when=conditions)),))
    many = " | ".join(
        [WALL.rpartition(" | ")[0], *["1/2 in plywood", "1 in expanded polystyrene"] * 5, "vinyl siding"]
    )
    with pytest.raises(InputError) as caught:
        review(section_from_line(many, kind="wall", place="Duluth, MN"), rules)
    (problem,) = caught.value.problems
    assert '"own/x" would have to try more than' in problem.message
    assert problem.mark is not None and problem.mark.line == 5


def test_the_command_tells_and_ends_with_two(tmp_path: Path) -> None:
    pack(tmp_path, HEAD + '  - !!python/object/apply:os.system ["touch ran"]\n')
    command = [
        sys.executable,
        "-m",
        "reviewer",
        "review",
        WALL,
        "--kind",
        "wall",
        "--zone",
        "7",
        "--rules",
        ".",
    ]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False, timeout=120)
    assert (done.returncode, done.stdout) == (2, "")
    assert "is not allowed" in done.stderr and "Traceback" not in done.stderr
    assert not (tmp_path / "ran").exists()
