"""The policy: layers, folders, what fails, and the schema that editors read."""

from __future__ import annotations

import json
from typing import Any

import jsonschema
import pytest
import yaml

from reviewer.gate.policy import OF_FILE, OF_FOLDER
from reviewer.gate.policy_schema import policy_schema


def places(ran: Any) -> dict[str, list[str]]:
    return {d["id"]: [v["at"] for v in d["verdicts"]] for d in json.loads(ran.out)["details"]}


def test_a_detail_is_gated_in_every_zone_it_claims_and_its_folder_must_hold_in(
    gate: Any, write: Any, texts: Any
) -> None:
    write("a.yaml", texts.good())
    write("cold/b.yaml", texts.good("B"))
    write("cold/place.yaml", texts.good("C").replace("zones: [6A]", "place: Duluth, MN"))
    write("reviewer.yaml", texts.policy + "folders:\n  cold: {zones: [7, 8]}\n")
    assert places(gate(".", "--format", "json")) == {
        "a": ["zone 6A"],
        "b": ["zone 6A", "zone 7", "zone 8"],
        "place": ["as written", "zone 7", "zone 8"],
    }


def test_nearer_files_win_and_folders_of_rules_and_protection_add_up(
    gate: Any, write: Any, texts: Any, library: Any
) -> None:
    write(
        "reviewer.yaml",
        texts.policy + "fail at: caution\nzones: [5A]\nnever waive: [hazards]\nedition: IRC 2018\n",
    )
    write("in/reviewer.yaml", "fail at: note\nnever waive: [yard/no-wrap]\nleave out: [drafts]\n")
    write("in/a.yaml", texts.good())
    shown = gate("in/a.yaml", "--show-policy").out
    read = yaml.safe_load(shown)
    assert read["fail at"] == "note"
    assert read["zones"] == ["5A"]
    assert read["edition"] == "IRC 2018"
    assert read["never waive"] == ["hazards", "yard/no-wrap"]
    assert "fail at: note" in shown
    assert "# in/reviewer.yaml:1" in shown
    assert "# reviewer.yaml:5" in shown


def test_root_ends_the_search(gate: Any, write: Any, texts: Any, library: Any) -> None:
    (library.parent / "reviewer.yaml").write_text("fail at: never\n", encoding="utf-8")
    write("a.yaml", texts.sheet)
    assert gate(".").status == 1
    write("reviewer.yaml", texts.policy.replace("root: yes", "root: no"))
    assert gate(".").status == 0


def test_a_chosen_policy_takes_the_place_of_all_others(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.sheet)
    write("other.yaml", texts.policy + "fail at: never\nleave out: [other.yaml]\n")
    assert gate(".", "--policy", "other.yaml").status == 0


def test_severities_are_raised_and_lowered_with_a_reason(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.sheet)
    write("b.yaml", texts.good("B").replace("  - house wrap\n", ""))
    change = "severities:\n  - {rule: yard/polyethylene, severity: note, reason: dry site}\n"
    change += "  - {rule: yard/no-wrap, severity: serious, reason: rain}\n"
    write("reviewer.yaml", texts.policy + change)
    ran = gate(".", "--format", "json")
    found = {
        f["rule"]: (f["severity"], f["note"])
        for d in json.loads(ran.out)["details"]
        for v in d["verdicts"]
        for f in v["findings"]
    }
    assert found == {
        "yard/polyethylene": ("note", "lowered from serious: dry site (reviewer.yaml:5)"),
        "yard/no-wrap": ("serious", "raised from caution: rain (reviewer.yaml:6)"),
    }
    verdicts = {d["id"]: d["verdicts"][0]["disposition"] for d in json.loads(ran.out)["details"]}
    assert verdicts == {"a": "no exceptions taken", "b": "revise and resubmit"}


@pytest.mark.parametrize(("fail_at", "status"), [("serious", 0), ("caution", 1), ("note", 1), ("never", 0)])
def test_what_fails_is_the_policy_s_to_say(
    gate: Any, write: Any, texts: Any, fail_at: str, status: int
) -> None:
    write("b.yaml", texts.good("B").replace("  - house wrap\n", ""))
    write("reviewer.yaml", texts.policy + f"fail at: {fail_at}\n")
    assert gate(".").status == status


def test_only_named_packs_count(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.sheet)
    write("reviewer.yaml", texts.policy.replace("packs: [yard]", "packs: [conclusions]"))
    assert gate(".").status == 0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("fail at: sometimes\n", 'can\'t be "sometimes"'),
        ("severties: []\n", "did you mean 'severities'"),
        (
            "severities: [{rule: yard/polyethylen, severity: note, reason: r}]\n",
            "did you mean 'yard/polyethylene'",
        ),
        ("severities: [{rule: yard/polyethylene, severity: note}]\n", 'has no "reason"'),
        ("packs: [yrd]\n", "did you mean 'yard'"),
        ("zones: [9Z]\n", "climate zone"),
        ("folders: {nowhere: {zones: [5A]}}\n", 'there is no folder "nowhere"'),
        ("folders: {.: {waivers: []}}\n", '"waivers" is not a key of the folder .'),
        ("never waive: [Hazards!]\n", "nothing that can be waived"),
        ("edition: IRC\n", "such as IRC 2021"),
        ("- a\n- b\n", "a policy is a list"),
    ],
)
def test_a_policy_that_is_wrong_is_one_clear_message(
    gate: Any, write: Any, texts: Any, text: str, said: str
) -> None:
    write("a.yaml", texts.good())
    kept = texts.policy.replace("packs: [yard]\n", "") if "packs" in text else texts.policy
    write("reviewer.yaml", text if text.startswith("-") else kept + text)
    ran = gate(".")
    assert ran.status == 2
    assert said in ran.err
    assert "Traceback" not in ran.err


def test_a_wrong_policy_of_an_inner_folder_stops_that_folder_only(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.sheet)
    write("in/reviewer.yaml", "fail at: sometimes\n")
    write("in/b.yaml", texts.good("B"))
    ran = gate(".", "--format", "json")
    said = json.loads(ran.out)
    assert ran.status == 2
    assert [d["status"] for d in said["details"]] == ["reviewed", "could not review"]


def test_what_is_left_out_is_not_reviewed(gate: Any, write: Any, texts: Any) -> None:
    for name in ("a.yaml", "drafts/b.yaml", "x/drafts/c.yaml", "y/old-d.yaml", "y/e.yaml"):
        write(name, texts.good(name))
    write("reviewer.yaml", texts.policy + "leave out: [drafts, 'y/old-*']\n")
    assert sorted(places(gate(".", "--format", "json"))) == ["a", "e"]


def test_the_schema_knows_the_keys_that_the_reader_knows_and_is_a_schema() -> None:
    schema = policy_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    assert set(schema["properties"]) == set(OF_FILE)
    assert set(schema["properties"]["folders"]["additionalProperties"]["properties"]) == set(OF_FOLDER)


def test_the_schema_accepts_a_whole_policy_and_refuses_what_the_reader_refuses(texts: Any) -> None:
    check = jsonschema.Draft202012Validator(policy_schema())
    whole = """
root: true
rules: [packs]
packs: [yard]
leave out: [drafts]
edition: IRC 2021
units: ip
hourly: false
zones: [5A, 7]
office zones: [5A]
fail at: caution
fail on incomplete: true
severities: [{rule: yard/no-wrap, severity: serious, reason: rain}]
never waive: [hazards, yard/no-wrap, radon/*]
waivers: [{section: a-*, rule: yard/no-wrap, reason: r, by: b, until: '2027-06-30'}]
baseline: baseline.json
folders: {cold: {zones: [7], fail at: note}}
"""
    assert set(yaml.safe_load(whole)) == set(OF_FILE)
    assert not list(check.iter_errors(yaml.safe_load(whole)))
    for wrong in (
        {"fail at": "sometimes"},
        {"zones": ["9Z"]},
        {"severties": []},
        {"folders": {"a": {"root": True}}},
    ):
        assert list(check.iter_errors(wrong)), wrong
