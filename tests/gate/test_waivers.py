"""Waivers: the last day counts, and nothing that is wrong with one can hide a finding.

Expected behavior: reason, expiry, day included, fail closed; the habits of suppression files in static analysis
(common practice, no published source).
"""

from __future__ import annotations

import json
from typing import Any

import pytest


def report(gate: Any, *arguments: str) -> dict[str, Any]:
    ran = gate(".", "--format", "json", *arguments)
    return {**json.loads(ran.out), "exit": ran.status}


def states(said: dict[str, Any]) -> dict[str, str]:
    return {f["rule"]: f["state"] for d in said["details"] for v in d["verdicts"] for f in v["findings"]}


def remarks(said: dict[str, Any]) -> list[tuple[str, int | None]]:
    found = [(f["rule"], f["line"]) for d in said["details"] for f in d["remarks"]]
    return found + [(r["finding"]["rule"], r["finding"]["line"]) for r in said["library"]]


def test_without_a_waiver_the_finding_fails_the_run(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.sheet)
    said = report(gate)
    assert (said["exit"], states(said), remarks(said)) == (1, {"yard/polyethylene": "live"}, [])


@pytest.mark.parametrize(
    ("today", "status", "state"),
    [("2027-06-29", 0, "waived"), ("2027-06-30", 0, "waived"), ("2027-07-01", 1, "live")],
)
def test_the_last_day_is_included(
    gate: Any, write: Any, texts: Any, today: str, status: int, state: str
) -> None:
    write("a.yaml", texts.waived(until="2027-06-30"))
    said = report(gate, "--today", today)
    assert (said["exit"], states(said)) == (status, {"yard/polyethylene": state})
    assert remarks(said) == ([] if state == "waived" else [("waivers/expired", 13)])


def test_a_waived_finding_says_by_whom_and_the_verdict_is_that_of_the_rest(
    gate: Any, write: Any, texts: Any
) -> None:
    write("a.yaml", texts.waived())
    (verdict,) = report(gate)["details"][0]["verdicts"]
    assert verdict["disposition"] == "no exceptions taken"
    assert verdict["findings"][0]["waived"] == {
        "by": "A. Mason",
        "until": "2027-06-30",
        "reason": "kept dry",
        "in": "section",
    }


@pytest.mark.parametrize(
    "waiver",
    [
        "{rule: yard/polyethylene, reason: dry, by: A. Mason, until: 2027-02-30}",
        "{rule: yard/polyethylene, reason: dry, by: A. Mason, until: soon}",
        "{rule: yard/polyethylene, reason: dry, by: A. Mason}",
        "{rule: yard/polyethylene, reason: '', by: A. Mason, until: 2027-06-30}",
        "{rule: polyethylene, reason: dry, by: A. Mason, until: 2027-06-30}",
        "{rule: yard/polyethylene, reason: dry, from: A. Mason, until: 2027-06-30}",
        "yard/polyethylene",
    ],
)
def test_a_malformed_waiver_waives_nothing_and_is_told(
    gate: Any, write: Any, texts: Any, waiver: str
) -> None:
    write("a.yaml", f"{texts.sheet}waivers:\n  - {waiver}\n")
    said = report(gate)
    assert states(said) == {"yard/polyethylene": "live"}
    assert remarks(said) == [("waivers/malformed", 13)]
    assert said["exit"] == 1


def test_waivers_that_are_no_list_are_told_as_well(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.sheet + "waivers: all of them\n")
    said = report(gate)
    assert (states(said), remarks(said)) == ({"yard/polyethylene": "live"}, [("waivers/malformed", 12)])


def test_an_unused_waiver_is_told(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.waived(rule="yard/no-wrap"))
    said = report(gate)
    assert (states(said), remarks(said)) == ({"yard/polyethylene": "live"}, [("waivers/unused", 13)])


def test_a_second_waiver_of_one_rule_is_malformed(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.waived(more="  - {rule: yard/polyethylene, reason: r, by: b, until: 2030-01-01}\n"))
    assert remarks(report(gate)) == [("waivers/malformed", 14)]


def test_a_hazard_can_not_be_waived_nor_lowered(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.hazard + "waivers: [{rule: yard/hay, reason: r, by: b, until: 2030-01-01}]\n")
    write(
        "reviewer.yaml",
        texts.policy + "severities: [{rule: yard/hay, severity: note, reason: we are used to it}]\n",
    )
    said = report(gate)
    assert (said["exit"], states(said)) == (1, {"yard/hay": "live"})
    assert said["details"][0]["verdicts"][0]["findings"][0]["severity"] == "serious"
    assert ("waivers/not-allowed", 5) in remarks(said)


def test_a_policy_may_let_hazards_be_waived_but_a_folder_may_not(gate: Any, write: Any, texts: Any) -> None:
    write("in/a.yaml", texts.hazard + "waivers: [{rule: yard/hay, reason: r, by: b, until: 2030-01-01}]\n")
    write("in/reviewer.yaml", "never waive: []\n")
    assert states(report(gate)) == {"yard/hay": "live"}
    write("reviewer.yaml", texts.policy + "never waive: [hazards]\n")
    assert states(report(gate)) == {"yard/hay": "live"}
    write("reviewer.yaml", texts.policy + "never waive: []\n")
    assert states(report(gate)) == {"yard/hay": "waived"}


def test_a_policy_names_rules_and_packs_that_nobody_may_waive(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.waived())
    for guarded in ("yard/polyethylene", "yard/*"):
        write("reviewer.yaml", texts.policy + f"never waive: [hazards, '{guarded}']\n")
        assert states(report(gate)) == {"yard/polyethylene": "live"}


def test_a_waiver_of_the_policy_is_about_sections_by_id_or_pattern(gate: Any, write: Any, texts: Any) -> None:
    write("street-1.yaml", texts.sheet)
    write("court-1.yaml", texts.sheet.replace("Street", "Court"))
    write(
        "reviewer.yaml",
        texts.policy
        + "waivers:\n  - {section: 'street-*', rule: yard/polyethylene, reason: r, by: b, until: 2027-06-30}\n",
    )
    said = report(gate)
    by_id = {d["id"]: d["verdicts"][0]["findings"][0] for d in said["details"]}
    assert {k: f["state"] for k, f in by_id.items()} == {"street-1": "waived", "court-1": "live"}
    assert by_id["street-1"]["waived"]["in"] == "policy"


def test_an_unused_waiver_of_the_policy_is_told_where_it_stands(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.good())
    line = "  - {section: a, rule: yard/polyethylene, reason: r, by: b, until: 2027-06-30}\n"
    gone = "  - {section: gone, rule: yard/polyethylene, reason: r, by: b, until: 2027-06-30}\n"
    write("reviewer.yaml", texts.policy + "waivers:\n" + line + gone)
    assert remarks(report(gate)) == [("waivers/unused", 5), ("waivers/unused", 6)]
    ran = gate("a.yaml", "--format", "json")
    assert remarks(json.loads(ran.out)) == [("waivers/unused", 5)], (
        "of files alone, other sections are not judged"
    )
