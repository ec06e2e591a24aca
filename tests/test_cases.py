"""Every case of Lantern Row: the disposition and the findings an expert expects, and those that must not appear."""

from __future__ import annotations

from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from reviewer.model.parse import load_section
from reviewer.result import Result
from reviewer.review import load_rules, review
from reviewer.workbench import shipped_cases

CASES = shipped_cases()
IDS = [f"{p.parent.name}/{p.stem}" for p in CASES]


@cache
def reviewed(path: Path) -> Result:
    return review(load_section(path))


@pytest.mark.parametrize("path", CASES, ids=IDS)
def test_case_gets_the_verdict_and_findings_that_an_expert_expects(path: Path) -> None:
    section = load_section(path)
    expected = section.expect
    assert expected is not None, "a case says what is expected of it"
    result = reviewed(path)
    found = {f.rule for f in result.findings}
    assert sorted(set(expected.findings) - found) == [], f"missing; found {sorted(found)}"
    assert sorted(set(expected.never) & found) == [], "must not appear"
    assert result.disposition == expected.disposition, [f"{f.severity}: {f.rule}" for f in result.findings]


@pytest.mark.parametrize("path", CASES, ids=IDS)
def test_case_names_rules_that_exist_and_findings_that_must_not_appear(path: Path) -> None:
    expected = load_section(path).expect
    assert expected is not None
    rules = load_rules().rules
    assert [r for r in (*expected.findings, *expected.never) if r not in rules] == []
    assert len(expected.never) >= 2


def test_cases_cover_all_kinds_and_zones_and_both_good_and_bad_sections() -> None:
    results = [reviewed(p) for p in CASES]
    assert len(results) >= 24
    assert {r.section.kind for r in results} == {"wall", "roof", "foundation wall", "floor", "slab"}
    assert {int(r.climate.zone[0]) for r in results if r.climate.zone} >= set(range(1, 9))
    dispositions = Counter(r.disposition for r in results)
    assert (
        min(dispositions[d] for d in ("revise and resubmit", "make corrections noted", "no exceptions taken"))
        >= 4
    )
    assert dispositions["incomplete"] >= 1


def test_good_sections_get_credit() -> None:
    good = [reviewed(p) for p in CASES if reviewed(p).disposition == "no exceptions taken"]
    assert all(any(f.severity == "credit" for f in r.findings) for r in good), [
        r.section.id for r in good if not any(f.severity == "credit" for f in r.findings)
    ]
