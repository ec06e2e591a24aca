"""A user's packs are compiled in a process of their own first."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from reviewer.errors import InputError
from reviewer.rules import child
from reviewer.rules.child import compile_check_in_child, load_with_user_packs

RuleText = Callable[..., str]


def test_good_packs_have_no_problems(packs: Path) -> None:
    assert compile_check_in_child(packs) == []


def test_problems_come_back_with_their_place(tmp_path: Path, rule_text: RuleText) -> None:
    (tmp_path / "a.yaml").write_text(rule_text("applies to: {kind: wal}"))
    (problem,) = compile_check_in_child(tmp_path)
    assert problem.nearest == "wall"
    assert problem.mark is not None and problem.mark.line == 7
    assert "applies to" in problem.mark.text


def test_what_the_engine_refuses_comes_back_too(tmp_path: Path, rule_text: RuleText) -> None:
    text = rule_text("when: [{layer a: {}}, {not concluded: {name: wet}}]", "conclude: {fact: wet}")
    (tmp_path / "a.yaml").write_text(text)
    (problem,) = compile_check_in_child(tmp_path)
    assert "cyclic negation" in problem.message
    assert problem.mark is not None


def test_a_child_that_takes_too_long_is_ended(tmp_path: Path) -> None:
    start = time.monotonic()
    (problem,) = compile_check_in_child(tmp_path, 0.3, (sys.executable, "-c", "import time; time.sleep(60)"))
    assert time.monotonic() - start < 20
    assert "take longer than 0.3 seconds" in problem.message


@pytest.mark.parametrize(
    ("code", "how"),
    [
        ("import os; os.kill(os.getpid(), 11)", "signal 11"),
        ("raise SystemExit(7)", "status 7"),
        ("print('not json')", "status 0"),
    ],
)
def test_a_child_that_dies_is_a_problem_not_a_crash(tmp_path: Path, code: str, how: str) -> None:
    (problem,) = compile_check_in_child(tmp_path, 20, (sys.executable, "-c", code))
    assert problem.message.endswith(how)


def test_a_child_that_cannot_be_started_is_a_problem(tmp_path: Path) -> None:
    (problem,) = compile_check_in_child(tmp_path, 20, (str(tmp_path / "nothing"),))
    assert "can't be tried in a process of their own" in problem.message


def test_packs_that_passed_are_not_tried_again(
    packs: Path, tmp_path: Path, rule_text: RuleText, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(child, "shipped_rules_dir", lambda: packs)
    own = tmp_path / "own"
    own.mkdir()
    (own / "a.yaml").write_text(rule_text("applies to: {kind: wall}"))
    assert "t/r" in load_with_user_packs([own]).rules

    def must_not_try(*_: object) -> list[object]:
        raise AssertionError("tried again")

    monkeypatch.setattr(child, "compile_check_in_child", must_not_try)
    assert "demo/shut-in" in load_with_user_packs([own]).rules


def test_packs_that_do_not_compile_are_refused(
    packs: Path, tmp_path: Path, rule_text: RuleText, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(child, "shipped_rules_dir", lambda: packs)
    (tmp_path / "a.yaml").write_text(rule_text("applies to: {kind: wal}"))
    with pytest.raises(InputError) as caught:
        load_with_user_packs([tmp_path])
    assert caught.value.problems[0].nearest == "wall"
