"""Sections side by side: what differs is told, both ways round, and what doesn't is not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.advice import FindingLine
from reviewer.comparison import Comparison, FindingPair
from reviewer.errors import InputError
from reviewer.facts.build import build
from reviewer.facts.resolve import Properties
from reviewer.model.override import override
from reviewer.model.parse import load_section, section_from_line
from reviewer.model.section import Section
from reviewer.review import review
from reviewer.units import R_IP
from reviewer.variants import command
from reviewer.variants.align import align
from reviewer.variants.compare import climates_of, compare
from reviewer.variants.judging import Judges
from reviewer.workbench import shipped_cases

CASES = {p.stem: p for p in shipped_cases()}
SHUT_IN = CASES["mill-street-shut-in"]
PAIRS = [
    ("mill-street-shut-in", "mill-street-foam-enough"),
    ("mill-street-kraft-wall", "bayou-court-painted-wall"),
    ("harbor-hill-poly-wall", "harbor-hill-painted-wall"),
    ("brick-row-insulated-inside", "brick-hall-sheltered"),
    ("terrace-house-foam-over-deck", "orchard-loft-cathedral"),
    ("unknown-sheathing", "clapboards-blown-full"),
]


def section(case: str) -> Section:
    return load_section(CASES[case])


@pytest.mark.parametrize("case", ["mill-street-shut-in", "unknown-sheathing", "larch-house-slab"])
def test_a_section_against_itself_gives_nothing(judges: Judges, case: str) -> None:
    found = compare([section(case), section(case)], judges)
    (pair,) = found.pairs
    assert {p.step for p in pair.layers} == {"same"}
    assert all(f.moved == "both" and not f.because for f in pair.findings)
    assert pair.because == []
    assert pair.says == "B is A: no difference in layers, numbers or findings."
    assert all(n.values[0] == n.values[1] for n in found.numbers)


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_turned_round_everything_is_mirrored(judges: Judges, one: str, other: str) -> None:
    there = compare([section(one), section(other)], judges, units="ip")
    back = compare([section(other), section(one)], judges, units="ip")
    assert [n.values for n in there.numbers] == [n.values[::-1] for n in back.numbers]
    pairs = {(p.before, p.after) for p in there.pairs[0].layers}
    assert pairs == {(p.after, p.before) for p in back.pairs[0].layers}
    assert moves(there) == {(MIRROR[moved], after, before) for moved, before, after in moves(back)}
    assert len(there.pairs[0].because) == len(back.pairs[0].because)


MIRROR = {
    "only before": "only after",
    "only after": "only before",
    "both": "both",
    "graver": "milder",
    "milder": "graver",
}
Told = tuple[str, str] | None


def moves(c: Comparison) -> set[tuple[str, Told, Told]]:
    def told(line: FindingLine | None) -> Told:
        return None if line is None else (line.rule, line.severity)

    return {(f.moved, told(f.before), told(f.after)) for f in c.pairs[0].findings}


def test_a_rule_that_takes_the_place_of_another_is_one_thing_grown(judges: Judges) -> None:
    """In the cold the leaks of a wall without an air barrier bring more than dries: the note became a caution."""
    wall = section("mill-street-foam-short")
    found = compare([override(wall, zone="4A"), override(wall, zone="7")], judges)
    grown = finding(found, "air-control/no-air-barrier")
    assert grown.moved == "graver"
    assert (grown.severity_before, grown.severity_after) == ("note", "caution")
    assert grown.after is not None and grown.after.rule == "air-control/leaks-outrun-drying"


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_every_finding_of_both_reviews_is_told_once(judges: Judges, one: str, other: str) -> None:
    found = compare([section(one), section(other)], judges).pairs[0].findings
    for case, side in ((one, "before"), (other, "after")):
        told = sorted(getattr(f, side).rule for f in found if getattr(f, side) is not None)
        assert told == sorted(f.rule for f in review(section(case), judges.rules).findings)


def finding(c: Comparison, rule: str) -> FindingPair:
    return next(f for f in c.pairs[0].findings if f.rule == rule)


def test_the_facts_that_move_a_verdict_are_named_with_both_values(judges: Judges) -> None:
    a = section("mill-street-shut-in")
    smart = replace(
        a,
        layers=tuple(
            replace(section_from_line("smart vapor retarder", kind="wall").layers[0], index=2)
            if x.index == 2
            else x
            for x in a.layers
        ),
    )
    found = compare([a, smart], judges)
    gone = finding(found, "vapor-control/shut-in-between")
    assert gone.moved == "only before"
    assert gone.because == [
        "layer 3, polyethylene sheet: permeance when damp: 0.06 perms in A, 12 perms in B"
    ]
    assert set(gone.because) <= set(found.pairs[0].because)
    swapped = next(p for p in found.pairs[0].layers if p.step == "changed")
    assert (swapped.before, swapped.after) == (2, 2)
    assert [p.step for p in found.pairs[0].layers].count("same") == len(a.layers) - 1


def test_a_layer_added_is_added_and_its_resistance_is_in_the_numbers(judges: Judges) -> None:
    """An inch of R-5 outside the framing adds R-5 to the whole, whatever the framing does (ISO 6946: in the combined
    method both limits grow by it but for the share that the lower limit gives to bridging)."""
    bare = "latex paint | 1/2 in gypsum board | 8 in concrete | {} 7/8 in stucco"
    sections = [
        section_from_line(bare.format(t), kind="wall", place="Chicago, IL")
        for t in ("", "1 in R-5 extruded polystyrene board |")
    ]
    found = compare(sections, judges, units="ip")
    steps = [p.step for p in found.pairs[0].layers]
    assert steps == ["same", "same", "same", "added", "same"]
    r = next(n for n in found.numbers if n.name == "r_total").values
    assert r[0] is not None and r[1] is not None
    assert r[1] - r[0] == pytest.approx(5 * R_IP, rel=1e-6)
    u = next(n for n in found.numbers if n.name == "u_value").values
    assert u[1] is not None and u[1] == pytest.approx(1 / r[1], rel=1e-6)
    assert "less heat through" in found.pairs[0].says
    assert "1 in thicker" in found.pairs[0].says


def test_the_climates_asked_for_give_the_verdicts_of_reviews_there(judges: Judges) -> None:
    sections = [section("mill-street-kraft-wall"), section("harbor-hill-painted-wall")]
    found = compare(sections, judges, climates_of(["2A", "7"], ["Denver, CO"]))
    assert [x.asked for x in found.climates] == ["zone 2A", "zone 7", "Denver, CO"]
    for x in found.climates:
        for s, disposition in zip(sections, x.dispositions, strict=True):
            there = (
                override(s, zone=x.asked.removeprefix("zone "))
                if x.asked.startswith("zone")
                else override(s, place=x.asked)
            )
            assert disposition == review(there, judges.rules).disposition
    assert "A holds in 2 of 3 climates." in found.summary


def test_several_sections_are_each_set_beside_the_first(judges: Judges) -> None:
    names = ["mill-street-shut-in", "mill-street-foam-enough", "mill-street-kraft-wall"]
    found = compare([section(n) for n in names], judges)
    assert [s.letter for s in found.sections] == ["A", "B", "C"]
    assert [(p.before, p.after) for p in found.pairs] == [(0, 1), (0, 2)]
    assert all(len(n.values) == 3 for n in found.numbers)


def test_one_section_is_not_enough(judges: Judges) -> None:
    with pytest.raises(InputError, match="1 section to compare"):
        compare([section("mill-street-shut-in")], judges)


def test_a_section_in_one_line_takes_all_but_its_layers_from_the_file_beside_it() -> None:
    text = " | ".join(x.text for x in section("unknown-sheathing").layers)
    found = command.compare([str(CASES["unknown-sheathing"]), text])
    assert found.pairs[0].says == "B is A: no difference in layers, numbers or findings."
    assert found.sections[1].climate.place == "Madison, WI"


def test_all_zones_that_have_a_place_can_be_asked_for() -> None:
    files = [str(CASES[n]) for n in ("mill-street-kraft-wall", "harbor-hill-poly-wall")]
    found = command.compare(files, zones=["all"])
    assert [x.zone for x in found.climates][:3] == ["1A", "2A", "2B"]
    assert len(found.climates) == 16
    asked = command.compare(files, zones=["4A, 7", "2A"])
    assert [x.zone for x in asked.climates] == ["4A", "7", "2A"]


def test_a_comparison_is_the_same_each_time(judges: Judges) -> None:
    pair = [section(n) for n in PAIRS[0]]
    first, second = (compare(pair, judges).model_dump_json() for _ in range(2))
    assert first == second
    assert Comparison.model_validate_json(first).model_dump_json() == first


# -- alignment -------------------------------------------------------------------------------------

LAYERS = [
    "latex paint",
    "oil paint",
    "1/2 in gypsum board",
    "6 mil polyethylene",
    "2x6 @ 16 in with R-21 glass fiber batt",
    "2x4 @ 16 in with dense-pack cellulose",
    "7/16 in OSB",
    "1/2 in plywood",
    "? sheathing",
    "house wrap",
    "1 in extruded polystyrene board",
    "3/4 in air space, top and bottom",
    "vinyl siding",
    "wood siding",
]
some_layers = st.lists(st.sampled_from(LAYERS), min_size=1, max_size=7)


def properties(texts: list[str]) -> list[Properties]:
    return build(section_from_line(" | ".join(["latex paint", *texts]), kind="wall"))[1]


@settings(max_examples=60, deadline=None)
@given(some_layers, some_layers)
def test_an_alignment_keeps_the_order_names_every_layer_once_and_mirrors(
    one: list[str], other: list[str]
) -> None:
    try:
        a, b = properties(one), properties(other)
    except InputError:
        # Layers that can't follow one another make no section.
        return
    found = align(a, b)
    before = [m.before for m in found if m.before is not None]
    after = [m.after for m in found if m.after is not None]
    assert before == list(range(len(a)))
    assert after == list(range(len(b)))
    mirrored = {(m.after, m.before) for m in align(b, a)}
    assert {(m.before, m.after) for m in found} == mirrored


@settings(max_examples=30, deadline=None)
@given(some_layers)
def test_layers_against_themselves_are_all_paired(one: list[str]) -> None:
    try:
        a = properties(one)
    except InputError:
        return
    assert all(m.before == m.after for m in align(a, a))


def test_a_missing_file_is_one_message() -> None:
    with pytest.raises(InputError, match="none"):
        command.compare([str(Path("none.yaml")), str(SHUT_IN)])
