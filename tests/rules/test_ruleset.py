"""Packs read together, and the rulebook kept between runs."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from reviewer.errors import InputError
from reviewer.rules import cache, ruleset
from reviewer.rules.findings import findings_from
from reviewer.rules.ruleset import Ruleset, is_kept, load_ruleset, shipped_rules_dir

RuleText = Callable[..., str]
WALL = "applies to: {kind: wall}\n"


def write(folder: Path, **files: str) -> Path:
    for name, text in files.items():
        path = folder / f"{name}.yaml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def messages(*dirs: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        load_ruleset(dirs, keep=False)
    return [p.message for p in caught.value.problems]


def test_packs_of_several_folders_are_one_ruleset(tmp_path: Path, packs: Path, rule_text: RuleText) -> None:
    own = write(tmp_path / "own", a=rule_text(WALL + "related: [demo/shut-in]"))
    both = load_ruleset([packs, own], keep=False)
    assert list(both.rules) == [
        "demo/open-outward",
        "demo/shut-in",
        "demo/one-side-tight",
        "demo/no-cladding",
        "t/r",
    ]
    assert both.rules["t/r"].mark.file == (own / "a.yaml").as_posix()
    assert [t.topic for t in both.topics] == ["Drying to neither side", "Test"]


def test_hidden_files_and_other_files_are_no_rulesets(tmp_path: Path, rule_text: RuleText) -> None:
    folder = write(tmp_path / "own", a=rule_text(WALL), _draft="junk", **{".hidden/b": "junk"})
    (folder / "notes.txt").write_text("junk")
    assert list(load_ruleset([folder], keep=False).rules) == ["t/r"]


def test_one_id_in_two_packs_is_refused_where_it_comes_again(tmp_path: Path, rule_text: RuleText) -> None:
    one = write(tmp_path / "one", a=rule_text(WALL))
    two = write(tmp_path / "two", a=rule_text(WALL).replace("topic: Test", "topic: Other"))
    with pytest.raises(InputError) as caught:
        load_ruleset([one, two], keep=False)
    (problem,) = caught.value.problems
    assert problem.message.startswith('there are two rules "t/r", the other in ')
    assert problem.mark is not None and problem.mark.file.endswith("two/a.yaml")


@pytest.mark.parametrize(
    "key", ["related: [t/q]", "defeats: [t/q]\ndefeats because: So.", "symptom of: [t/q]"]
)
def test_a_rule_that_is_not_there_is_refused_with_the_nearest(
    tmp_path: Path, rule_text: RuleText, key: str
) -> None:
    folder = write(tmp_path, a=rule_text(WALL + key))
    with pytest.raises(InputError) as caught:
        load_ruleset([folder], keep=False)
    (problem,) = caught.value.problems
    assert (problem.message, problem.nearest) == ('there is no rule "t/q"', "t/r")
    assert problem.mark is not None
    assert problem.mark.text[problem.mark.column - 1 :].startswith("t/q")


def test_only_findings_are_defeated(tmp_path: Path, rule_text: RuleText) -> None:
    folder = write(
        tmp_path,
        a=rule_text(WALL, "conclude: {fact: dry}", "c"),
        b=rule_text(WALL + "symptom of: [t/c]").replace("topic: Test", "topic: B"),
    )
    assert messages(folder) == ['"t/c" concludes and has no finding']


@pytest.mark.parametrize(
    ("key", "word"),
    [("defeats: [t/{}]\ndefeats because: So.", "defeats"), ("symptom of: [t/{}]", "is a symptom of")],
)
def test_rules_that_defeat_in_a_circle_are_refused_once(
    tmp_path: Path, rule_text: RuleText, key: str, word: str
) -> None:
    for name, other in (("a", "b"), ("b", "c"), ("c", "a"), ("d", "a")):
        text = rule_text(WALL + key.format(other), name=name).replace("topic: Test", f"topic: {name}")
        write(tmp_path, **{name: text})
    assert messages(tmp_path) == [f'"t/a" {word} itself: t/a → t/b → t/c → t/a']


def test_a_folder_without_rules_is_refused(tmp_path: Path) -> None:
    assert messages(tmp_path) == [f'the folder "{tmp_path}" holds no ruleset files']
    assert messages(tmp_path / "no") == [f'the folder of rules "{tmp_path / "no"}" does not exist']
    (tmp_path / "file").touch()
    assert messages(tmp_path / "file") == [f'the folder of rules "{tmp_path / "file"}" is not a folder']


def test_problems_of_all_files_come_together(tmp_path: Path, rule_text: RuleText) -> None:
    folder = write(tmp_path, a=rule_text("applies to: {knd: wall}"), b=rule_text("applies to: {kind: wal}"))
    assert len(messages(folder)) == 2


def test_asking_for_a_rule_that_is_not_there_names_the_nearest(demo: Ruleset) -> None:
    with pytest.raises(InputError) as caught:
        demo.rule("demo/shut-on")
    assert caught.value.problems[0].nearest == "demo/shut-in"


def test_the_closure_of_a_rule_holds_what_concludes_for_it(demo: Ruleset) -> None:
    assert demo.closure(["demo/shut-in"]) == ["demo/open-outward", "demo/shut-in"]
    assert demo.closure(["demo/no-cladding"]) == ["demo/no-cladding"]


# The shipped packs


def test_the_shipped_packs_lie_beside_the_package_in_a_checkout() -> None:
    assert shipped_rules_dir().name in ("rulesets", "_rulesets")


def test_in_the_wheel_they_lie_in_the_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, packs: Path
) -> None:
    installed = tmp_path / "site" / "reviewer"
    shutil.copytree(packs, installed / "_rulesets")
    monkeypatch.setattr(ruleset.reviewer, "__file__", str(installed / "__init__.py"))
    assert shipped_rules_dir() == installed / "_rulesets"
    shipped = load_ruleset()
    # Messages name shipped files alike wherever they lie.
    assert shipped.rules["demo/shut-in"].mark.file == "rulesets/demo/drying.yaml"


def test_a_rulebook_shipped_as_read_is_taken_while_it_fits(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, packs: Path
) -> None:
    installed = tmp_path / "site" / "reviewer"
    shutil.copytree(packs, installed / "_rulesets")
    monkeypatch.setattr(ruleset.reviewer, "__file__", str(installed / "__init__.py"))
    monkeypatch.setenv(cache.FOLDER_VARIABLE, "")
    (installed / "_rulesets" / ruleset.COMPILED).write_bytes(ruleset.dump(load_ruleset(keep=False)))
    monkeypatch.setattr(ruleset, "_read", _must_not_read)
    assert len(load_ruleset().rules) == 4
    text = (installed / "_rulesets" / "demo" / "drying.yaml").read_text()
    (installed / "_rulesets" / "demo" / "drying.yaml").write_text(
        text.replace("Nothing keeps", "Little keeps")
    )
    with pytest.raises(AssertionError, match="read again"):
        load_ruleset()


# Keeping


def _must_not_read(*_: object) -> Ruleset:
    raise AssertionError("read again")


def test_a_kept_rulebook_is_the_same_but_for_the_source_lines(packs: Path, demo: Ruleset) -> None:
    load_ruleset([packs])
    assert is_kept([packs])
    kept = load_ruleset([packs])
    assert kept.digest == demo.digest
    assert kept.topics == demo.topics
    assert kept.alternatives == demo.alternatives
    assert list(kept.rules) == list(demo.rules)
    for rule_id, rule in demo.rules.items():
        assert kept.rules[rule_id] == cache.decode(cache.encode(rule))
        assert cache.encode(kept.rules[rule_id]) == cache.encode(rule)
    facts = demo.rules["demo/shut-in"].examples[0].facts or ()
    findings = [findings_from(r.program.run(facts), r, facts) for r in (kept, demo)]
    assert [f.says("ip") for f in findings[0]] == [f.says("ip") for f in findings[1]] != []


def test_it_is_not_read_again_while_nothing_changes(packs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    load_ruleset([packs])
    monkeypatch.setattr(ruleset, "_read", _must_not_read)
    assert len(load_ruleset([packs]).rules) == 4


def test_a_changed_file_is_read_again(tmp_path: Path, rule_text: RuleText) -> None:
    folder = write(tmp_path / "own", a=rule_text(WALL))
    first = load_ruleset([folder])
    write(folder, a=rule_text(WALL).replace("A test", "Another test"))
    second = load_ruleset([folder])
    assert (first.rules["t/r"].title, second.rules["t/r"].title) == ("A test", "Another test")
    assert first.digest != second.digest


@pytest.mark.parametrize("damage", ["cut", "flipped", "empty", "junk", "other"])
def test_a_damaged_rulebook_is_read_again(packs: Path, damage: str) -> None:
    first = load_ruleset([packs])
    folder = cache.folder()
    assert folder is not None
    (kept,) = folder.glob("*.jsonl")
    data = kept.read_bytes()
    changed = {
        "cut": data[: len(data) // 2],
        "flipped": data[:-40] + bytes([data[-40] ^ 1]) + data[-39:],
        "empty": b"",
        "junk": b"\xff\x00\n{}",
        "other": ruleset.dump(Ruleset.of([], [])),
    }[damage]
    kept.write_bytes(changed)
    again = load_ruleset([packs])
    assert list(again.rules) == list(first.rules)
    assert kept.read_bytes() == data


def test_a_folder_that_cannot_be_written_is_no_error(
    packs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").touch()
    monkeypatch.setenv(cache.FOLDER_VARIABLE, str(tmp_path / "file" / "cache"))
    assert len(load_ruleset([packs]).rules) == 4


def test_an_empty_variable_keeps_nothing(
    packs: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(cache.FOLDER_VARIABLE, "")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    load_ruleset([packs])
    assert not list(tmp_path.iterdir())


def test_old_rulebooks_go(tmp_path: Path, rule_text: RuleText) -> None:
    for n in range(cache.KEPT + 3):
        load_ruleset([write(tmp_path / "own", a=rule_text(WALL).replace("A test", f"Test {n}"))])
    folder = cache.folder()
    assert folder is not None
    assert len(os.listdir(folder)) == cache.KEPT
