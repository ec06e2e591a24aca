"""The search finds what trying everything finds, and proposes only what the review passes.

The known answers: IRC Table R702.7(3), from memory, lets a Class III retarder stand with enough exterior
insulation (R-7.5 over 2x6 in zone 5); a Class II retarder satisfies R702.7 without any.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from reviewer.facts.build import build
from reviewer.model.parse import load_section, parse_section, section_from_line
from reviewer.model.section import Section
from reviewer.model.write import write_section
from reviewer.remedies.advise import advise
from reviewer.remedies.changes import section_of
from reviewer.remedies.combine import candidates
from reviewer.remedies.costs import Costs, coarse, load_costs
from reviewer.remedies.moves import Limits, Move, kept_layers
from reviewer.remedies.search import passes, search
from reviewer.review import review
from reviewer.variants.judging import Judges
from reviewer.workbench import shipped_cases

ROOT = Path(__file__).parents[2]
CASES = shipped_cases()


@pytest.fixture(scope="module")
def judges() -> Judges:
    return Judges()


def found_by_brute_force(
    section: Section, judges: Judges, moves: list[Move], most: int, costs: Costs
) -> list[float]:
    """Costs of the front, from judging every combination alone by the full review."""
    front: list[float] = []
    best = None
    original = judges.judge([section])[0]
    if passes(original.judgment, "make corrections noted"):
        best = sum(f.part.severity == "caution" for f in original.judgment.findings)
    everything = sorted(candidates(section, moves, most, costs), key=lambda c: c.cost)
    for c in everything:
        r = review(section_of(c.draft), judges.rules)
        cautions = sum(f.severity == "caution" for f in r.findings)
        warm = r.calculations["u_value"] <= 1.05 * (original.u_value or 9e9) + 1e-5
        ok = r.disposition in ("no exceptions taken", "make corrections noted") and warm
        if ok and (best is None or cautions < best):
            best = cautions
            front = [*(f for f in front if f < c.cost), c.cost]
    return front


@pytest.mark.parametrize("case", ["codes/mill-street-foam-short", "air-water/foundry-lane-stucco"])
def test_the_search_agrees_with_trying_every_combination(judges: Judges, case: str) -> None:
    section = load_section(ROOT / "cases" / f"{case}.yaml")
    limits = Limits(most_changes=1)
    found = search(section, judges, limits)
    assert found.complete
    assert [f.candidate.cost for f in found.front] == found_by_brute_force(
        section, judges, found.moves, 1, coarse()
    )


def test_pairs_come_in_rising_order_of_cost_and_each_section_once(judges: Judges) -> None:
    section = load_section(ROOT / "cases/vapor-control/peach-grove-floor.yaml")
    found = search(section, judges)
    every = list(candidates(section, found.moves, 3, coarse()))
    assert [c.cost for c in every] == sorted(c.cost for c in every)
    assert len({c.draft.key for c in every}) == len(every) >= len(found.moves)


@pytest.mark.parametrize("path", CASES[::4], ids=lambda p: p.stem)
def test_what_is_proposed_for_a_case_passes_the_review_from_its_patched_file(
    judges: Judges, path: Path
) -> None:
    section, text = load_section(path), path.read_text()
    advice = advise(section, text, judges, Limits(most_candidates=128))
    before = review(section, judges.rules)
    for p in advice.proposals:
        again = review(parse_section(p.patched, str(path)), judges.rules)
        assert again.disposition == p.disposition in ("no exceptions taken", "make corrections noted")
        assert not any(f.severity == "serious" for f in again.findings)
        assert again.calculations["u_value"] <= 1.05 * before.calculations["u_value"] + 1e-5
    assert [p.cost for p in advice.proposals] == sorted(p.cost for p in advice.proposals)


def test_a_retarder_of_class_ii_is_the_cheapest_where_the_foam_is_short_of_the_table(judges: Judges) -> None:
    section = load_section(ROOT / "cases/codes/mill-street-foam-short.yaml")
    moves = search(section, judges).front[0].candidate.moves
    assert moves[0].changes == ({"insert": "kraft paper", "inside of": 2},)


def test_from_outside_with_the_finish_kept_nothing_inside_is_touched(judges: Judges) -> None:
    section = load_section(ROOT / "cases/codes/mill-street-foam-short.yaml")
    keep = kept_layers(["interior finish", "1"], section)
    found = search(section, judges, Limits(keep=keep, side="outside"))
    assert found.moves
    assert all(m.side in ("", "outside") and not (m.changed | m.opened) & keep for m in found.moves)


def test_paint_is_enough_where_no_retarder_is_asked_for(judges: Judges) -> None:
    """IRC R702.7, from memory: zones 1 to 3 ask for no vapor retarder."""
    wall = "latex paint | 1/2 in gypsum board, sealed | 2x4 @ 16 in with R-13 glass fiber batt | 7/16 in OSB | house wrap, taped | 3/4 in air space vented top and bottom | fiber-cement siding"
    r = review(section_from_line(wall, kind="wall", place="Atlanta, GA"))
    assert r.disposition == "no exceptions taken"


def test_prices_of_a_user_take_the_place_of_the_coarse_order(tmp_path: Path, judges: Judges) -> None:
    file = tmp_path / "prices.yaml"
    file.write_text(
        "currency: EUR\nremoving: 1\nopening: 20\nmaterials:\n"
        "  - {material: kraft paper, cost: 90, trade: builder}\n"
        "  - {material: variable-permeance retarder, cost: 8, trade: builder}\n"
    )
    section = load_section(ROOT / "cases/codes/mill-street-foam-short.yaml")
    found = search(section, judges, Limits(), load_costs(file))
    assert found.front[0].candidate.cost == 8
    assert found.unpriced
    _, layers, _, _, _ = build(section)
    assert layers


def test_a_section_in_one_line_is_advised_on_from_its_file_form(judges: Judges) -> None:
    section = section_from_line(
        "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-21 glass fiber batt | 7/16 in OSB | house wrap | vinyl siding",
        kind="wall",
        place="Duluth, MN",
    )
    written = write_section(section)
    advice = advise(parse_section(written), written, judges, Limits(most_candidates=128))
    assert advice.disposition == "revise and resubmit"
    assert advice.proposals
