"""The review over the possibilities: each is what a review of that section gives, and the shares are counted right."""

from __future__ import annotations

import itertools
from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import qmc

from reviewer.library import materials
from reviewer.library.codes import table
from reviewer.library.usual import subject_of, subjects
from reviewer.model.parse import load_section, parse_layer, parse_section, section_from_line
from reviewer.model.section import KINDS, Section
from reviewer.possibilities import Possibilities
from reviewer.review import review
from reviewer.units import R_IP, Span
from reviewer.variants.judging import Judges
from reviewer.variants.possible import course, decided, possibilities
from reviewer.variants.sampling import choices, combinations, spread
from reviewer.variants.unknowns import unknowns, with_choice
from reviewer.workbench import shipped_cases

CASES = {p.stem: p for p in shipped_cases()}
OLD = (
    "latex paint | plaster on wood lath | 2x4 @ 16 in with ? insulation | ? sheathing | ? paper | wood siding"
)
FOAM = (
    "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-21 glass fiber batt | 7/16 in OSB | house wrap | "
    "{} in extruded polystyrene board | vinyl siding"
)


def wall(text: str, place: str = "Chicago, IL") -> Section:
    return section_from_line(text, kind="wall", place=place)


def of(section: Section, judges: Judges, most: int = 64) -> Possibilities:
    found = possibilities(section, judges, most)
    assert found is not None
    return found


def test_nothing_unknown_no_possibilities(judges: Judges) -> None:
    assert possibilities(wall(FOAM.format("2")), judges) is None


def test_every_possibility_is_what_a_review_of_it_gives(judges: Judges) -> None:
    """Brute force: the section written out with each candidate, read again, and reviewed alone."""
    section = load_section(CASES["unknown-sheathing"])
    found = of(section, judges)
    (question,) = found.questions
    assert found.method == "every combination"
    assert found.count == found.of == len(question.answers)
    for answer in question.answers:
        text = (
            CASES["unknown-sheathing"]
            .read_text(encoding="utf-8")
            .replace('"? sheathing"', f'"{answer.text}"')
        )
        alone = review(parse_section(text), judges.rules)
        assert answer.settled == alone.disposition, answer.text
        if alone.disposition == "revise and resubmit":
            assert answer.decider is not None
            assert answer.decider.rule in {f.rule for f in alone.findings if f.severity == "serious"}


def test_shares_are_counts_over_every_combination(judges: Judges) -> None:
    section = wall(OLD)
    found = of(section, judges, most=500)
    names, _ = unknowns(section, 5)
    combos = list(itertools.product(*(range(len(u.options)) for u in names)))
    assert found.count == found.of == len(combos) == combinations(names)
    verdicts: Counter[str] = Counter()
    for combo in combos[:: max(1, len(combos) // 20)]:
        made, _ = with_choice(section, names, tuple(map(float, combo)))
        verdicts[review(made, judges.rules).disposition] += 1
    assert set(verdicts) <= {s.disposition for s in found.shares}
    assert sum(s.count for s in found.shares) == len(combos)
    assert sum(s.share for s in found.shares) == pytest.approx(1.0, abs=1e-5)
    for q in found.questions:
        assert sum(a.share for a in q.answers) == pytest.approx(1.0, abs=1e-5)


def test_the_verdict_switches_at_the_insulation_that_the_table_asks_for(judges: Judges) -> None:
    """IRC 2021 Table R702.7(3), zone 5, 2x6 walls: R-7.5 (from memory of the document), at the board's conductivity."""
    asked = table("class-iii", "IRC", 2021)
    row = asked.for_zone(5, False) if asked else None
    foam = materials.load_materials()["extruded polystyrene board"].conductivity
    assert row is not None and row.r_2x6 is not None and foam is not None
    found = of(wall(FOAM.format("1 to 3")), judges)
    (switch,) = found.switches
    assert (switch.below, switch.above) == ("revise and resubmit", "no exceptions taken")
    assert switch.at == pytest.approx(row.r_2x6 * foam, rel=2e-4)
    assert row.r_2x6 == pytest.approx(7.5 * R_IP)
    (question,) = found.questions
    assert question.decides == pytest.approx(1.0)
    assert [a.settled for a in question.answers] == ["revise and resubmit", "no exceptions taken"]
    share = (switch.at - 0.0254) / (2 * 0.0254)
    assert question.answers[0].share == pytest.approx(share, abs=1 / 64)


def test_what_decides_the_verdict_comes_first_and_what_does_not_gets_nothing(judges: Judges) -> None:
    found = of(wall(FOAM.format("1 to 3").replace("7/16 in OSB", "7/16 to 1/2 in OSB")), judges, 128)
    first, second = found.questions
    assert "extruded polystyrene" in first.subject
    assert first.decides > 0.9
    assert second.decides < 0.05
    assert "extruded polystyrene" in found.next


def test_a_layer_without_a_list_is_not_varied_and_nothing_is_taken_for_it(judges: Judges) -> None:
    found = of(
        wall("latex paint | 1/2 in gypsum board | ? | 7/16 in OSB | house wrap | vinyl siding"), judges
    )
    assert found.count == 0
    assert found.not_varied == ["layer 3: nothing is said of it"]
    assert found.questions == [] and found.assumptions == []
    assert found.summary.startswith("No possibility can be reviewed")


def test_what_stays_unknown_keeps_the_verdict_open(judges: Judges) -> None:
    found = of(
        wall("latex paint | 1/2 in gypsum board | ? | ? sheathing | house wrap | vinyl siding"), judges
    )
    assert [s.disposition for s in found.shares] == ["incomplete"]
    assert "none can be judged" in found.summary


def test_the_year_and_the_climate_narrow_down_what_it_may_be() -> None:
    def answers(year: int | None, zone: int | None) -> list[str]:
        section = parse_section(
            "kind: wall\nlayers: latex paint | ? sheathing\n"
            + (f"building: {{year: {year}}}\n" if year else "")
        )
        (u,), _ = unknowns(section, zone)
        return [o.text for o in u.options]

    assert answers(1920, 5) == ["3/4 in board sheathing"]
    assert answers(1920, 3) == ["3/4 in board sheathing", ""]
    assert "7/16 in OSB" in answers(1990, 5) and "3/4 in board sheathing" not in answers(1990, 5)
    assert len(answers(None, None)) == len(subject_of("sheathing", "wall").rows)  # type: ignore[union-attr]


def test_what_the_user_knows_of_a_layer_stays() -> None:
    section = wall("latex paint | 2x6 @ 24 in with ? insulation, damp | ? sheathing")
    found, _ = unknowns(section, 5)
    for n, option in enumerate(found[0].options):
        made, _ = with_choice(section, found, (float(n), 0.0))
        layer = made.layers[1]
        assert layer.framing is not None and layer.framing.spacing == pytest.approx(24 * 0.0254), option.text
        assert layer.framing.depth == pytest.approx(5.5 * 0.0254)
        assert layer.condition == "damp"


def test_nothing_there_takes_the_layer_out_and_the_rest_keep_their_places() -> None:
    section = wall(
        "latex paint | 1/2 in gypsum board | ? vapor retarder | 2x6 @ 16 in with R-21 glass fiber batt"
    )
    (unknown,), _ = unknowns(section, 5)
    none = next(n for n, o in enumerate(unknown.options) if o.layer is None)
    made, places = with_choice(section, [unknown], (float(none),))
    assert [x.name for x in made.layers] == ["latex paint", "gypsum board", "glass fiber batt"]
    assert [x.index for x in made.layers] == [0, 1, 2]
    assert places == {0: 0, 1: 1, 2: 3}


def test_both_cups_of_a_ranged_permeance_move_together() -> None:
    section = parse_section(
        "kind: wall\nlayers:\n- {material: house wrap, permeance: {dry: 5 to 15 perm, wet: 10 to 30 perm}}\n"
    )
    (u,), _ = unknowns(section, None)
    assert u.quantity == "permeance"
    made, _ = with_choice(section, [u], (0.5,))
    dry, wet = made.layers[0].permeance_dry, made.layers[0].permeance_wet
    assert dry is not None and wet is not None and dry.exact and wet.exact
    assert wet.low == pytest.approx(2 * dry.low)


def test_the_same_each_time(judges: Judges) -> None:
    first, second = (
        of(wall(FOAM.format("1 to 3")), Judges(judges.rules), 32).model_dump_json() for _ in range(2)
    )
    assert first == second
    assert Possibilities.model_validate_json(first).model_dump_json() == first


# -- bounds ----------------------------------------------------------------------------------------


@settings(max_examples=10, deadline=None)
@given(
    st.floats(0.5, 3.0),
    st.floats(0.1, 3.0),
    st.integers(11, 19),
    st.integers(1, 8),
    st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=12, max_size=12),
)
def test_bounds_enclose_points_anywhere_in_the_ranges(
    foam: float, more: float, r: int, wider: int, points: list[tuple[float, float]]
) -> None:
    section = wall(
        f"latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-{r} to R-{r + wider} glass fiber batt | 7/16 in OSB | "
        f"house wrap | {foam:.3f} to {foam + more:.3f} in extruded polystyrene board | vinyl siding"
    )
    found = of(section, BOUNDS, 4)
    bound = next(b for b in found.bounds if b.name == "u_value")
    assert bound.how.startswith("at the ends of the ranges: it falls with layer 3")
    names, _ = unknowns(section, 5)
    for built in BOUNDS.build([with_choice(section, names, p)[0] for p in points]):
        u = built[0].records[0].fields["u_value"]
        assert isinstance(u, float)
        assert bound.low * (1 - 1e-8) <= u <= bound.high * (1 + 1e-8)
    # What is not bounded by its ends doesn't say that it is.
    assert all("least and most of" in b.how for b in found.bounds if b.name != "u_value")


BOUNDS = Judges()


def test_a_number_that_turns_along_a_range_is_not_bounded_by_its_ends() -> None:
    assert course([1.0, 2.0, 1.5]) == "turns"
    assert course([None, 1.0]) == "turns"
    assert course([1.0, 1.0 + 1e-15]) == "stays"


# -- how much a question decides -------------------------------------------------------------------


def test_goodman_and_kruskals_tau_of_a_table_worked_by_hand() -> None:
    """Two by two, 30 and 10 against 10 and 30 (worked by hand): doubt 1 − 2(½)² = ½; within each row 1 − (¾² + ¼²) =
    ⅜; tau = (½ − ⅜)/½ = ¼."""
    groups = [["x"] * 30 + ["y"] * 10, ["x"] * 10 + ["y"] * 30]
    assert decided(groups, False) == pytest.approx(0.25)
    # From a sample of 80 in 2 groups: 1 − 0.75 · 79/78.
    assert decided(groups, True) == pytest.approx(1 - 0.75 * 79 / 78, abs=1e-6)


outcomes = st.lists(st.sampled_from("xyz"), min_size=0, max_size=9)


@given(st.lists(outcomes, min_size=1, max_size=6))
def test_what_a_question_decides_is_a_share(groups: list[list[str]]) -> None:
    assert 0.0 <= decided(groups, False) <= 1.0
    assert 0.0 <= decided(groups, True) <= decided(groups, False) + 1e-9
    if all(len(set(g)) <= 1 for g in groups) and len({x for g in groups for x in g}) > 1:
        assert decided(groups, False) == 1.0


@pytest.mark.parametrize("dimensions", [1, 2, 4, 6])
def test_points_are_spread_more_evenly_than_chance(dimensions: int) -> None:
    """Centered discrepancy and Halton points by scipy.stats.qmc, an outside reference; against the mean of ten random
    sets."""
    theirs = qmc.Halton(dimensions, scramble=False).random(129)[1:]
    np.testing.assert_allclose(np.asarray(spread(dimensions, 128)), theirs, rtol=1e-12)
    ours = qmc.discrepancy(np.asarray(spread(dimensions, 128)))
    random = [qmc.discrepancy(np.random.default_rng(seed).random((128, dimensions))) for seed in range(10)]
    assert ours < 0.5 * float(np.mean(random))


def test_options_are_taken_as_often_as_one_another() -> None:
    section = wall("? paint | ? interior finish | ? insulation | ? sheathing | ? paper | ? siding")
    names, _ = unknowns(section, None)
    picked, every = choices(names, 600)
    assert not every and len(picked) == 600
    for n, u in enumerate(names):
        counts = Counter(c[n] for c in picked)
        assert len(counts) == len(u.options)
        assert max(counts.values()) - min(counts.values()) <= 0.15 * 600 / len(u.options)


# -- the table of usual layers ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("subject", "row"),
    [(s, r) for s in subjects() for r in s.rows],
    ids=lambda x: getattr(x, "name", x.says if hasattr(x, "says") else ""),
)
def test_every_usual_layer_can_be_read_and_says_why(subject, row) -> None:  # type: ignore[no-untyped-def]
    assert row.source and subject.find_out
    assert subject.kinds <= set(KINDS) and row.kinds <= subject.kinds
    if row.layer:
        layer = parse_layer(row.layer)
        assert layer.material is not None or layer.space == "air"
    else:
        assert row.says.startswith("nothing")
    if row.first is not None and row.last is not None:
        assert row.first < row.last


def test_each_kind_of_unknown_has_possibilities_in_every_decade() -> None:
    for subject in subjects():
        for kind in subject.kinds:
            for year in range(1900, 2030, 10):
                assert any(r.fits(kind, year, 5) for r in subject.rows), (subject.name, kind, year)


def test_a_span_of_one_value_is_no_range() -> None:
    section = wall("latex paint | 1 to 1 in extruded polystyrene board")
    assert section.layers[1].thickness == Span(0.0254, 0.0254)
    assert unknowns(section, 5) == ([], [])
