"""The search finds what trying everything finds, and proposes only what the review passes.

The known answers: IRC Table R702.7(3), from memory, lets a Class III retarder stand with enough exterior
insulation (R-7.5 over 2x6 in zone 5); a Class II retarder satisfies R702.7 without any.
"""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from reviewer.facts.build import build
from reviewer.model.parse import load_section, parse_section, section_from_line
from reviewer.model.section import Section
from reviewer.model.write import write_section
from reviewer.remedies.advise import advise
from reviewer.remedies.changes import section_of
from reviewer.remedies.combine import Combine, candidates
from reviewer.remedies.costs import coarse, load_costs
from reviewer.remedies.moves import UNTIL, Limits, Move, kept_layers, moves_of
from reviewer.remedies.needs import needs
from reviewer.remedies.search import search
from reviewer.remedies.serious import serious_rules
from reviewer.result import Disposition
from reviewer.review import judge, review
from reviewer.variants.judging import Judges
from reviewer.workbench import shipped_cases

ROOT = Path(__file__).parents[2]
CASES = shipped_cases()


@pytest.fixture(scope="module")
def judges() -> Judges:
    return Judges()


def found_by_brute_force(
    section: Section, judges: Judges, moves: list[Move], most: int, until: Disposition
) -> list[tuple[float, int]]:
    """The front as (cost, cautions), from reviewing every combination alone, with none left out."""
    original = review(section, judges.rules)
    passing: list[tuple[float, int]] = []
    fewer = len(moves) + 99
    if original.disposition in UNTIL[: UNTIL.index(until) + 1]:
        fewer = sum(f.severity == "caution" for f in original.findings)
    combine = Combine(section, moves, coarse())
    for size in range(1, most + 1):
        for chosen in itertools.combinations(range(len(moves)), size):
            c = combine.candidate(chosen)
            if c is None:
                continue
            r = review(section_of(c.draft), judges.rules)
            cautions = sum(f.severity == "caution" for f in r.findings)
            warm = r.calculations["u_value"] <= 1.05 * original.calculations["u_value"] + 1e-5
            if r.disposition in UNTIL[: UNTIL.index(until) + 1] and warm and cautions < fewer:
                passing.append((c.cost, cautions))
    front: list[tuple[float, int]] = []
    for cost, cautions in sorted(passing):
        if not front or cautions < front[-1][1]:
            front.append((cost, cautions))
    return front


@pytest.mark.parametrize(
    ("case", "most", "until"),
    [
        ("codes/mill-street-foam-short", 1, "make corrections noted"),
        ("air-water/foundry-lane-stucco", 1, "make corrections noted"),
        ("vapor-control/peach-grove-floor", 3, "make corrections noted"),
        ("retrofit/brick-row-insulated-inside", 3, "make corrections noted"),
        ("hazards/attic-with-vermiculite", 2, "make corrections noted"),
        ("foundation/school-annex-sand", 3, "no exceptions taken"),
        ("foundation/camellia-court-floor", 3, "make corrections noted"),
    ],
)
def test_the_search_agrees_with_trying_every_combination(
    judges: Judges, case: str, most: int, until: Disposition
) -> None:
    section = load_section(ROOT / "cases" / f"{case}.yaml")
    found = search(section, judges, Limits(most_changes=most, until=until))
    assert found.complete
    front = [(f.candidate.cost, f.cautions) for f in found.front]
    assert front == found_by_brute_force(section, judges, found.moves, most, until)
    assert front


@pytest.mark.parametrize("case", ["hazards/attic-with-vermiculite", "foundation/carter-hall-wrap-on-block"])
def test_what_rests_on_statements_alone_stands_whatever_the_layers_are(judges: Judges, case: str) -> None:
    """Candidates that lack a change which the rules say is needed are never judged; judged all the same, each of them
    has the finding."""
    section = load_section(ROOT / "cases" / f"{case}.yaml")
    original = judges.judge([section])[0].judgment
    moves, _ = moves_of(section, original, "", Limits(), coarse())
    bad = [f.rule.id for f in original.findings if f.part.severity in ("serious", "caution")]
    groups = needs(original, judges.rules, moves, ("serious", "caution"))
    assert groups
    every = list(candidates(section, moves, 2, coarse()))
    for verdict, c in zip(judges.judge([section_of(c.draft) for c in every]), every, strict=True):
        missed = sum(not group & c.chosen for group in groups)
        left = [f.rule.id for f in verdict.judgment.findings if f.rule.id in bad]
        assert len(left) >= missed


def test_the_part_of_the_rulebook_tells_serious_findings_as_the_whole_does(judges: Judges) -> None:
    for path in CASES:
        book = build(load_section(path))[0]
        whole = {f.rule.id for f in judge(book, judges.rules).findings if f.part.severity == "serious"}
        assert serious_rules(judges.rules, book.facts()) == whole


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


def costs_file(tmp_path: Path, more: str = "") -> Path:
    file = tmp_path / "prices.yaml"
    file.write_text(
        "currency: USD\nremoving: 1\nopening: 20\nmaterials:\n"
        "  - {family: foam insulation, cost: 6, per inch: 9, trade: carpenter}\n"
        "  - {family: fibrous insulation, cost: 4, trade: insulator}\n"
        "setting:\n  - {key: joints, cost: 3, trade: air sealer}\n" + more
    )
    return file


def test_work_that_the_cost_file_has_no_price_for_is_named_and_left_out(
    tmp_path: Path, judges: Judges
) -> None:
    section = load_section(ROOT / "cases/hazards/attic-with-vermiculite.yaml")
    text = (ROOT / "cases/hazards/attic-with-vermiculite.yaml").read_text()
    without = advise(section, text, judges, Limits(), load_costs(costs_file(tmp_path)))
    assert any("vermiculite" in u for u in without.unpriced)
    assert not without.proposals
    assert {u.finding.rule for u in without.unmoved} == {"hazards/vermiculite", "hazards/backdraft"}
    more = (
        "  - {key: combustion, cost: 3000, trade: plumber}\n"
        "jobs:\n  - {job: taking out asbestos insulation, cost: 5000, trade: licensed contractor}\n"
        "  - {job: taking off what may hold asbestos, cost: 0, trade: licensed contractor}\n"
    )
    priced = advise(section, text, judges, Limits(), load_costs(costs_file(tmp_path, more)))
    # The appliance, the job, taking off and filling again, and the cellulose above it off and back.
    assert priced.proposals[0].cost == 3000 + 5000 + (1 + 4) + 4
    assert "licensed contractor" in priced.proposals[0].trades
    assert "USD" in priced.cost_basis


def test_what_stands_is_opened_up_at_a_price_and_what_is_new_is_not(judges: Judges) -> None:
    layers = "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-20 glass fiber batt | 7/16 in OSB | house wrap | stucco"
    new = section_from_line(layers, kind="wall", zone="5A")
    old = parse_section(write_section(new) + "building: {work: retrofit, year: 1990}\n")
    costs = []
    for section in (new, old):
        found = search(section, judges, Limits(side="inside", most_candidates=64))
        assert all(m.side in ("", "inside") for j in found.front for m in j.candidate.moves)
        costs.append({m.says[0] or str(m.changes): m for m in found.moves})
    kraft = "({'insert': 'kraft paper', 'inside of': 2},)"
    assert costs[0][kraft].cost == costs[1][kraft].cost
    section_costs = [
        Combine(s, [m[kraft]], coarse()).cost((0,)) for s, m in zip((new, old), costs, strict=True)
    ]
    # The paint costs a coat, 1, and the board as much as opening any layer, 3.
    assert section_costs[1] - section_costs[0] == pytest.approx(4.0)


def test_a_list_from_the_street_is_turned_round_with_its_comments(judges: Judges) -> None:
    path = ROOT / "cases/completeness/turned-round.yaml"
    text = path.read_text().replace("  - house wrap\n", "  - house wrap  # stapled\n")
    found = advise(parse_section(text, str(path)), text, judges)
    first = found.proposals[0]
    assert first.cost == 0 and first.side == ""
    lines = [line for line in first.patched.splitlines() if line.startswith("  - ")]
    assert lines[0] == "  - latex paint" and lines[-1] == "  - vinyl siding"
    assert "  - house wrap  # stapled" in lines


def test_each_change_that_rests_on_work_says_what_the_file_then_states(judges: Judges) -> None:
    path = ROOT / "cases/foundation/carter-hall-wrap-on-block.yaml"
    found = advise(load_section(path), path.read_text(), judges)
    stated = [c.states for p in found.proposals for c in p.changes]
    assert "known: water entry: none" in stated
    assert any("only once that work is done" in c for c in found.cautions)
