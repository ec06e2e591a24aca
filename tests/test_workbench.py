"""The workbench put together: coverage, differences, a new rule; and why and why not."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from reviewer import workbench
from reviewer.errors import InputError
from reviewer.explanation import Explanation
from reviewer.model.parse import section_from_line
from reviewer.report import explained
from reviewer.result import Step
from reviewer.review import load_rules, review
from reviewer.rules.ruleset import load_ruleset
from reviewer.why import explain

TIGHT = "latex paint | 1/2 in gypsum board | 6 mil polyethylene sealed | 2x6 @ 16 in with R-21 glass fiber batt | 7/16 in OSB | 1 in foil-faced polyisocyanurate | vinyl siding"
ANSWERS = {
    "id": "own/tight-inside",
    "title": "Tight inside",
    "when": ["section: kind wall", "layer inner: permeance when damp <= 1 perm"],
    "severity": "note",
    "reason": "It may matter.",
    "says": "{inner.name} is tight",
    "explanation": "Water that comes in can't dry to the room.",
}


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("REVIEWER_CACHE_DIR", str(tmp_path_factory.mktemp("cache")))


def told(rule: str, **more) -> Explanation:
    return explain(section_from_line(TIGHT, kind="wall", place="Duluth, MN"), rule, **more)


def steps(proof: list[Step]) -> Iterator[Step]:
    for step in proof:
        yield step
        yield from steps(step.because)


def test_every_finding_has_a_proof_that_ends_in_facts_and_sources() -> None:
    section = section_from_line(TIGHT, kind="wall", place="Duluth, MN")
    for finding in review(section).findings:
        answer = told(finding.rule)
        assert answer.state == "stands"
        # A finding starts its sentence with a capital; a proof says what the rule's text says.
        assert finding.title.casefold() in [g.says.casefold() for g in answer.given]
        for given in answer.given:
            for step in steps(given.proof):
                assert step.facts or step.because
                assert step.citations
        text = explained.as_text(answer)
        assert max(map(len, text.splitlines())) <= 80
        assert Explanation.model_validate(json.loads(explained.as_json([answer]))) == answer


def test_a_proof_goes_down_through_conclusions_to_values_and_what_was_asked_of_them() -> None:
    (given,) = told("vapor-control/shut-in-between").given
    assert "conclusions/dries-to-neither-side" in {s.rule for s in steps(given.proof)}
    facts = [f for s in steps(given.proof) for f in s.facts]
    sheet = next(f for f in facts if "polyethylene sheet: permeance when damp" in f.label)
    assert sheet.asked.startswith("at most") and sheet.source and sheet.origin == "looked up"


def test_the_true_answer_is_given_whichever_was_asked() -> None:
    fires = told("vapor-control/shut-in-between", asked="why not")
    assert fires.given and "So the proof follows" in fires.answer
    silent = told("water-control/brick-without-space", asked="why")
    assert silent.nearest and silent.nearest.failed and "nothing to prove" in silent.answer


def test_every_rule_that_is_silent_says_what_is_nearest_and_what_would_change_it() -> None:
    section = section_from_line(TIGHT, kind="wall", place="Duluth, MN")
    for rule in list(load_rules().rules)[::7]:
        answer = explain(section, rule)
        assert bool(answer.given) != bool(answer.nearest)
        if answer.nearest:
            assert all(f.text and f.change for f in answer.nearest.failed)


def test_a_defeated_rule_names_the_one_in_its_place(tmp_path: Path) -> None:
    text = """pack: own
topic: Own
about: Own.
rules:
  - id: own/panel
    title: Panels
    when: [{section: {kind: wall}}]
    finding: {severity: note, reason: R., confidence: low, voice: rule of thumb, says: S, explanation: E.}
    cites: common practice
    defeats: vapor-control/shut-in-between
    defeats because: Our panels dry through their joints.
"""
    (tmp_path / "own.yaml").write_text(text)
    answer = told("vapor-control/shut-in-between", ruleset=load_rules((tmp_path,)))
    assert answer.state == "defeated" and answer.defeated_by is not None
    assert answer.defeated_by.rule == "own/panel"
    assert "Our panels dry through their joints" in " ".join(explained.as_text(answer).split())
    assert "own/panel" in explained.as_markdown(answer)


def test_an_unknown_rule_comes_with_the_nearest() -> None:
    with pytest.raises(InputError) as caught:
        told("vapor-control/shut-in-betwen")
    assert caught.value.problems[0].nearest == "vapor-control/shut-in-between"


def test_a_new_rule_is_written_with_examples_that_notice_every_change(tmp_path: Path) -> None:
    text, status = workbench.new_rule(tmp_path / "own", ANSWERS, None)
    assert status == 0, text
    rules = load_ruleset([tmp_path / "own"], keep=False)
    rule = rules.rules["own/tight-inside"]
    assert sum(e.fires for e in rule.examples) >= 2 <= sum(not e.fires for e in rule.examples)
    second, status = workbench.new_rule(
        tmp_path / "own",
        {**ANSWERS, "id": "own/other", "when": ["layer inner: permeance_dry >= 5 perm"]},
        None,
    )
    assert status == 0, second
    assert list(load_ruleset([tmp_path / "own"], keep=False).rules) == ["own/tight-inside", "own/other"]


def test_a_new_rule_is_asked_for_until_the_answers_are_right(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = iter(
        ["no id", "own/asked", "Asked", "", "layer a: permeanse <= 1 perm", "?layer", "layer a: permeance_wet <= 1 perm", "",
         "grave", "note", "R.", "S", "E.", "", "", ""]
    )  # fmt: skip
    text, status = workbench.new_rule(tmp_path, {}, lambda question: next(answers))
    assert status == 0, text
    said = capsys.readouterr().err
    assert "is not a name of a pack" in said and "permeanse" in said and "holds_water" in said
    assert "own/asked" in load_ruleset([tmp_path], keep=False).rules


def test_wrong_answers_write_nothing(tmp_path: Path) -> None:
    for wrong in (
        {"id": "Own/x"},
        {"when": ["layer a: permeance_wet <= 1 prm"]},
        {"severity": "grave"},
        {"title": None},
    ):
        with pytest.raises(InputError):
            workbench.new_rule(tmp_path / "own", {**ANSWERS, **wrong}, None)
    assert not (tmp_path / "own").exists()


def test_coverage_fails_when_a_change_goes_unnoticed(tmp_path: Path) -> None:
    workbench.new_rule(tmp_path, ANSWERS, None)
    path = tmp_path / "own" / "own-rules.yaml"
    path.write_text(path.read_text().replace("{permeance_wet: 1.05 perm", "{permeance_wet: 5 perm"))
    text, status = workbench.coverage(load_rules((tmp_path,)), None, "own")
    assert status == 1
    assert 'no example of "own/tight-inside" notices' in text


def test_a_difference_names_the_rules_the_findings_and_the_verdicts(tmp_path: Path) -> None:
    workbench.new_rule(tmp_path / "own", {**ANSWERS, "severity": "caution", "do": ["Open it."]}, None)
    cases = tmp_path / "cases"
    cases.mkdir()
    (cases / "wall.yaml").write_text(
        f'kind: wall\nplace: Duluth, MN\nlayers: ["{TIGHT.replace(" | ", chr(34) + ", " + chr(34))}"]\n'
    )
    text, status = workbench.difference("shipped", f"shipped+{tmp_path / 'own'}", cases)
    assert status == 1
    assert "rule new: own/tight-inside" in text and "  + own/tight-inside (layer" in text
    same, status = workbench.difference("shipped", "shipped", cases)
    assert status == 0 and "the findings of 0 change" in same
