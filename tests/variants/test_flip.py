"""What flips the verdict soonest: each flip lies between a review that keeps the verdict and one that doesn't."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import pytest

from reviewer.flips import Flip, Flips
from reviewer.model.parse import load_section, parse_section, section_from_line
from reviewer.model.section import Indoor, Section
from reviewer.review import review
from reviewer.units import PERM, R_IP, Span
from reviewer.variants.flip import flips
from reviewer.variants.judging import Judges
from reviewer.workbench import shipped_cases

CASES = {p.stem: p for p in shipped_cases()}
SOME = [
    "mill-street-foam-enough",
    "mill-street-shut-in",
    "mill-street-kraft-wall",
    "coral-way-block",
    "terrace-house-foam-over-deck",
    "foundation-complete",
]


def section(case: str) -> Section:
    return load_section(CASES[case])


@lru_cache(maxsize=16)
def found_for(case: str) -> Flips:
    return flips(section(case), Judges())


def written(s: Section, f: Flip, value: float) -> Section | None:
    """The section with a layer's value written in by other means than the search's; None for what is no layer's."""
    if f.layer is None or isinstance(f.now, str):
        return None
    layer = s.layers[f.layer]
    if f.quantity == "permeance":
        m = layer.material
        assert m is not None
        times = value / f.now
        dry = layer.permeance_dry.low if layer.permeance_dry else m.permeance_dry
        wet = layer.permeance_wet.low if layer.permeance_wet else m.permeance_wet
        if dry is None or wet is None:
            return None
        layer = replace(
            layer, permeance_dry=Span(dry * times, dry * times), permeance_wet=Span(wet * times, wet * times)
        )
    elif f.quantity == "thickness":
        layer = replace(layer, thickness=Span(value, value))
    else:
        layer = replace(layer, r_value=Span(value, value))
    return replace(s, layers=(*s.layers[: f.layer], layer, *s.layers[f.layer + 1 :]))


@pytest.mark.parametrize("case", SOME)
def test_each_flip_lies_between_a_review_that_keeps_the_verdict_and_one_that_flips_it(
    judges: Judges, case: str
) -> None:
    s = section(case)
    found = found_for(case)
    assert found.disposition == review(s, judges.rules).disposition
    proven = 0
    for f in found.flips:
        assert f.before == found.disposition != f.to
        if isinstance(f.holds_to, str) or isinstance(f.flips_at, str):
            continue
        near, far = written(s, f, f.holds_to), written(s, f, f.flips_at)
        if near is None or far is None:
            continue
        assert review(near, judges.rules).disposition == f.before, f.subject
        assert review(far, judges.rules).disposition == f.to, f.subject
        proven += 1
    assert proven or all(f.layer is None for f in found.flips)


@pytest.mark.parametrize("case", SOME)
def test_flips_are_close_brackets_and_come_nearest_first(case: str) -> None:
    found = found_for(case)
    assert 1 <= len(found.flips) <= 3
    sizes = []
    for f in found.flips:
        if isinstance(f.holds_to, str) or isinstance(f.flips_at, str) or isinstance(f.now, str):
            continue
        if f.dimension != "temperature":
            assert max(f.holds_to / f.flips_at, f.flips_at / f.holds_to) <= 1.0021
            assert f.change == pytest.approx(f.flips_at / f.now - 1.0, abs=1e-5)
        sizes.append(abs(math.log1p(f.change)))
    assert sizes == sorted(sizes)


def test_insulation_that_just_meets_the_table_flips_with_a_hair_less() -> None:
    """IRC 2021 Table R702.7(3), zone 5, 2x6 walls: R-7.5 (from memory of the document)."""
    first = found_for("mill-street-foam-enough").flips[0]
    assert first.quantity == "thermal resistance" and first.origin == "given"
    assert first.holds_to == pytest.approx(7.5 * R_IP, rel=1e-6)
    assert isinstance(first.flips_at, float)
    assert 7.48 * R_IP < first.flips_at < 7.5 * R_IP
    assert first.to == "revise and resubmit"
    assert "code-us-residential/retarder-required" in first.because


@pytest.mark.parametrize(
    ("case", "name", "perms"),
    [
        ("capitol-yard-poly", "polyethylene sheet", 0.1),
        ("ferry-landing-2015", "latex paint", 1.0),
        ("capitol-yard-insulated-outside", "latex paint", 10.0),
    ],
)
def test_permeances_flip_at_the_limits_of_the_classes(
    judges: Judges, case: str, name: str, perms: float
) -> None:
    """Classes I, II and III end at 0.1, 1 and 10 perms, dry cup (IRC 2021 R202, from memory of the document)."""
    found = flips(section(case), judges)
    flip = next(f for f in found.flips if f.quantity == "permeance" and name in f.subject)
    assert not isinstance(flip.holds_to, str) and not isinstance(flip.flips_at, str)
    low, high = sorted((flip.holds_to, flip.flips_at))
    assert low <= perms * PERM * (1 + 1e-9) and perms * PERM <= high * (1 + 1e-9)


def test_the_room_s_humidity_flips_where_a_review_with_it_does(judges: Judges) -> None:
    s = section("mill-street-kraft-wall")
    found = found_for("mill-street-kraft-wall")
    flip = next(f for f in found.flips if f.dimension == "relative humidity")
    built = judges.build([s])[0][2]
    assert built.t_in is not None and built.p_in is not None
    from reviewer.humidity import saturation_pressure

    rh = built.p_in / saturation_pressure(built.t_in)
    for value, verdict in ((flip.holds_to, flip.before), (flip.flips_at, flip.to)):
        assert isinstance(value, float) and isinstance(flip.now, float)
        room = Indoor(
            name=None,
            temperature=tuple(map(float, built.t_in)),
            humidity=tuple(float(x) * value / flip.now for x in rh),
            mark=None,
        )
        assert review(replace(s, indoor=room), judges.rules).disposition == verdict


def test_statements_in_words_are_stepped(judges: Judges) -> None:
    found = flips(section("north-camp-wall"), judges)
    step = next(f for f in found.flips if f.steps)
    assert (step.now, step.holds_to, step.flips_at, step.steps) == ("moderate", "moderate", "high", 1)
    tried = parse_section(CASES["north-camp-wall"].read_text(encoding="utf-8") + "exposure: {rain: high}\n")
    assert review(tried, judges.rules).disposition == step.to


def test_a_verdict_that_nothing_flips_says_how_far_it_was_tried(judges: Judges) -> None:
    found = flips(section("foundry-lane-stucco"), judges)
    assert found.flips == []
    assert found.summary == "No single fact flips “revise and resubmit” within 8 times its value, up or down."
    assert found.reviewed > len(found.tried)


def test_what_is_not_known_is_named_where_no_known_fact_decides(judges: Judges) -> None:
    found = flips(section("unknown-sheathing"), judges)
    assert found.disposition == "incomplete"
    assert found.summary == "No change of a known fact decides it: what layer 4 is (sheathing) is not known."


def test_a_section_without_a_place_has_layers_to_turn_all_the_same(judges: Judges) -> None:
    found = flips(section_from_line("latex paint | 1/2 in gypsum board | ? sheathing", kind="wall"), judges)
    assert not any(t.startswith("the room") for t in found.tried)


def test_the_same_each_time(judges: Judges) -> None:
    first, second = (
        flips(section("coral-way-block"), Judges(judges.rules)).model_dump_json() for _ in range(2)
    )
    assert first == second
    assert Flips.model_validate_json(first).model_dump_json() == first
