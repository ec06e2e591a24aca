"""For every case that fails, the cheapest remedy is found and its patched file reviews clean.

Cases that pass with corrections are asked for the remedy that leaves nothing to correct. Where too little is known,
nothing is proposed: it is said what to find out. Nothing outside is claimed here; that a patched file passes is checked
by a review of its own, of its text.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from reviewer.model.parse import load_section, parse_section
from reviewer.remedies.advise import advise
from reviewer.remedies.moves import Limits
from reviewer.result import Disposition
from reviewer.review import review
from reviewer.variants.judging import Judges
from reviewer.workbench import shipped_cases

ENOUGH, MORE = 100, {"depot-flat-wood-roof": 400, "mill-street-kraft-and-foam": 200}
"""Candidates after which the cheapest remedy of a case is known to be the cheapest."""

NO_BUILDING_WORK: Mapping[str, str] = {
    "no-cladding-listed": "nothing is wrong with the wall that is listed; what stands outside of it is not listed",
}
"""Cases that no change of the building puts right, each with the reason."""


def disposition(path: Path) -> str:
    found = load_section(path).expect
    return (found.disposition if found else None) or ""


CASES = {p.stem: p for p in shipped_cases()}
FAILING = [name for name, p in CASES.items() if disposition(p) == "revise and resubmit"]
PASSING = [name for name, p in CASES.items() if disposition(p) == "make corrections noted"]
UNKNOWN = [name for name, p in CASES.items() if disposition(p) == "incomplete"]


@pytest.fixture(scope="module")
def judges() -> Judges:
    return Judges()


def check(name: str, judges: Judges, until: Disposition) -> None:
    path = CASES[name]
    text = path.read_text()
    found = advise(
        load_section(path), text, judges, Limits(until=until, most_candidates=MORE.get(name, ENOUGH))
    )
    assert found.proposals, found.summary
    cheapest = found.proposals[0]
    assert "cheapest" in cheapest.merits
    assert cheapest.proven
    assert cheapest.cost == min(p.cost for p in found.proposals)
    again = review(parse_section(cheapest.patched, str(path)), judges.rules)
    assert again.disposition in ("no exceptions taken", until)
    assert not [f.rule for f in again.findings if f.severity == "serious"]
    assert {f.rule for f in again.findings if f.severity == "caution"} == {
        f.rule for f in (*cheapest.leaves, *cheapest.causes)
    }
    comments = [line for line in text.splitlines() if line.lstrip().startswith("#")]
    assert [line for line in cheapest.patched.splitlines() if line.lstrip().startswith("#")] == comments


@pytest.mark.parametrize("name", FAILING)
def test_the_cheapest_remedy_of_a_failing_case_passes(name: str, judges: Judges) -> None:
    check(name, judges, "make corrections noted")


@pytest.mark.parametrize("name", [n for n in PASSING if n not in NO_BUILDING_WORK])
def test_what_is_to_be_corrected_can_be_put_right(name: str, judges: Judges) -> None:
    check(name, judges, "no exceptions taken")


@pytest.mark.parametrize("name", [*UNKNOWN, *NO_BUILDING_WORK])
def test_what_is_not_known_is_asked_for_and_nothing_is_changed_on_a_guess(name: str, judges: Judges) -> None:
    path = CASES[name]
    found = advise(load_section(path), path.read_text(), judges, Limits(until="no exceptions taken"))
    assert not found.proposals
    assert found.to_find_out
    assert found.tried == 0


def test_there_are_cases_of_each_sort() -> None:
    assert len(FAILING) >= 40
    assert len(PASSING) >= 15
    assert len(UNKNOWN) == 3
