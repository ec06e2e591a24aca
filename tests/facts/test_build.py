"""Section to facts: what is computed, what is left unknown and why, and what must not change anything."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.facts.book import Book
from reviewer.facts.build import build
from reviewer.facts.vocabulary import KINDS
from reviewer.model.parse import parse_section, section_from_line
from reviewer.units import DIMENSIONS, PERM, R_IP

WALL = "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-21 glass fiber batt | 7/16 in OSB | house wrap | {cladding}"


def facts(line: str, kind: str = "wall", place: str | None = "Duluth, MN", **more: str) -> Book:
    return build(section_from_line(line, kind=kind, place=place, **more))[0]


def section(book: Book) -> dict:
    return next(r.fields for r in book.records if r.kind == "section")


def layer(book: Book, index: int) -> dict:
    return next(r.fields for r in book.records if r.id == f"layer:{index}")


LINES = [
    ("wall", WALL.format(cladding="vinyl siding"), "Duluth, MN"),
    ("wall", WALL.format(cladding="3/4 in ventilated air space | fiber-cement siding"), "Seattle, WA"),
    ("wall", "1/2 in gypsum board | ? insulation | board sheathing | wood lap siding", "Portland, ME"),
    (
        "wall",
        "vinyl wall covering | 1/2 in gypsum board | 3-5/8 steel studs @ 16 in with R-13 glass fiber batt | 1/2 in exterior gypsum sheathing | 1 in air space | brick veneer",
        "Houston, TX",
    ),
    (
        "roof",
        "1/2 in gypsum board | 2x12 @ 24 in with R-38 glass fiber batt | 7/16 in OSB | asphalt felt | asphalt shingles",
        "Miami, FL",
    ),
    ("roof", "concrete deck 8 in new | R-20 polyiso | EPDM membrane", "Fairbanks, AK"),
    ("roof", "1/2 in gypsum board | R-49 blown cellulose 14 in | vented attic", "Toronto, ON"),
    (
        "foundation wall",
        "1/2 in gypsum board | 2x4 @ 16 in with R-13 glass fiber batt | 2 in extruded polystyrene taped | 8 in concrete | dampproofing | soil",
        "Chicago, IL",
    ),
    (
        "floor",
        "wood flooring | 3/4 in plywood | 2x10 @ 16 in with R-19 kraft-faced glass fiber batt | crawl space vented",
        "Atlanta, GA",
    ),
    ("slab", "carpet | concrete 4 in | 10 mil polyethylene lapped | gravel 4 in | soil", "Denver, CO"),
]


@pytest.mark.parametrize(("kind", "line", "place"), LINES)
def test_every_fact_is_in_the_vocabulary_and_finite(kind: str, line: str, place: str) -> None:
    for r in facts(line, kind, place).records:
        known = KINDS[r.kind].fields
        assert set(r.fields) | set(r.unknown) <= set(known), r.id
        assert not set(r.fields) & set(r.unknown)
        for name, value in r.fields.items():
            f = known[name]
            if f.dimension == "word":
                assert value in f.words, (r.id, name, value)
            elif f.dimension != "text":
                assert isinstance(value, float), (r.id, name)
                assert math.isfinite(value), (r.id, name)
            if f.dimension in DIMENSIONS and isinstance(value, float):
                assert DIMENSIONS[f.dimension].low <= value <= DIMENSIONS[f.dimension].high, (
                    r.id,
                    name,
                    value,
                )


def test_an_unknown_layer_leaves_the_calculations_unknown_and_says_which_layer() -> None:
    book = facts("latex paint | 1/2 in gypsum board | ? insulation | 7/16 in OSB | wood lap siding")
    reasons = next(r.unknown for r in book.records if r.kind == "section")
    assert reasons["u_value"] == "what layer 3 is (insulation) is not known"
    assert reasons["condenses"] == "what layer 3 is (insulation) is not known"
    assert "u_value" not in section(book)


def test_without_a_place_nothing_about_climate_is_made_up() -> None:
    book = facts(WALL.format(cladding="vinyl siding"), place=None)
    head = next(r for r in book.records if r.kind == "section")
    assert "zone" in head.unknown
    assert "condenses" in head.unknown
    assert section(book)["place_stated"] == "no"
    assert "u_value" in head.fields


def test_every_usual_value_taken_is_an_assumption() -> None:
    said = " ".join(a.what for a in facts(WALL.format(cladding="fiber-cement siding")).assumptions)
    for words in (
        "IRC 2021",
        "indoor condition: home",
        "fiber-cement siding: 5/16 in thick",
        "framing takes 25 %",
        "moderate driving rain",
        "climate of Duluth",
    ):
        assert words in said


def test_a_range_is_read_at_its_middle_and_said() -> None:
    book = facts(
        "latex paint | 1/2 in gypsum board | 8 to 12 in dense-packed cellulose | 7/16 in OSB | wood lap siding"
    )
    assert layer(book, 2)["thickness"] == pytest.approx(10 * 0.0254)
    assert any("8 in to 12 in, 10 in used" in a.what for a in book.assumptions)


def test_class_of_the_room_side_is_that_of_its_tightest_layer() -> None:
    assert section(facts(WALL.format(cladding="vinyl siding")))["interior_class"] == "III"
    poly = "latex paint | 1/2 in gypsum board | 6 mil polyethylene | 2x6 @ 16 in with R-21 glass fiber batt | 7/16 in OSB | vinyl siding"
    assert section(facts(poly))["interior_class"] == "I"
    kraft = WALL.replace("R-21 glass fiber batt", "R-21 kraft-faced glass fiber batt").format(
        cladding="vinyl siding"
    )
    assert section(facts(kraft))["interior_class"] == "II"


def test_a_ventilated_space_ends_the_section_for_heat_and_vapor() -> None:
    open_ = facts(WALL.format(cladding="3/4 in ventilated air space | aluminum siding"))
    shut = facts(WALL.format(cladding="3/4 in air space | aluminum siding"))
    assert section(open_)["vented_cladding"] == "yes"
    assert section(open_)["exterior_permeance_wet"] / PERM > 1.0
    assert section(shut)["exterior_permeance_wet"] / PERM < section(open_)["exterior_permeance_wet"] / PERM
    assert layer(open_, 6)["beyond_vent"] == "yes"


def test_share_outboard_is_the_resistance_beyond_the_sheathings_inner_face() -> None:
    """By hand: R-12 foam of 2.113 m²·K/W outside R-21 of 3.698, films 0.13 and 0.04, OSB 0.0855, gypsum 0.079, lap siding."""
    book = facts(WALL.format(cladding="R-12 extruded polystyrene | vinyl siding"))
    rows = [r for r in book.records if r.kind == "layer"]
    inner = 0.13 + sum(float(r.fields["r_value"]) for r in rows[:3])
    total = 0.13 + sum(float(r.fields["r_value"]) for r in rows) + 0.04
    assert section(book)["share_outboard"] == pytest.approx(1 - inner / total, abs=0.004)
    assert section(book)["r_exterior"] / R_IP == pytest.approx(12.0, rel=1e-6)


@given(
    thickness=st.floats(0.5, 12.0),
    split=st.floats(0.1, 0.9),
    material=st.sampled_from(
        ["mineral wool batt", "expanded polystyrene", "dense-packed cellulose", "concrete"]
    ),
)
@settings(max_examples=25)
def test_splitting_a_layer_changes_neither_heat_nor_vapor(
    thickness: float, split: float, material: str
) -> None:
    outer = "7/16 in OSB | house wrap | vinyl siding"
    whole = facts(f"1/2 in gypsum board | {material} {thickness:.6f} in | {outer}", indoor="home")
    a, b = thickness * split, thickness * (1 - split)
    parts = facts(
        f"1/2 in gypsum board | {material} {a:.6f} in | {material} {b:.6f} in | {outer}", indoor="home"
    )
    assert section(parts)["u_value"] == pytest.approx(section(whole)["u_value"], rel=1e-4)
    assert layer(parts, 3)["t_winter_inner"] == pytest.approx(layer(whole, 2)["t_winter_inner"], abs=2e-3)
    assert layer(parts, 3)["permeance_inboard"] == pytest.approx(
        layer(whole, 2)["permeance_inboard"], rel=1e-4
    )


@given(r=st.floats(1.0, 40.0))
@settings(max_examples=20)
def test_more_insulation_outside_never_makes_the_sheathing_colder(r: float) -> None:
    less = facts(WALL.format(cladding=f"R-{r:.3f} mineral wool board | vinyl siding"))
    more = facts(WALL.format(cladding=f"R-{r + 1:.3f} mineral wool board | vinyl siding"))
    assert layer(more, 3)["t_winter_inner"] > layer(less, 3)["t_winter_inner"]
    assert section(more)["share_outboard"] > section(less)["share_outboard"]


def test_old_and_new_editions_put_the_same_county_in_the_zone_of_their_map() -> None:
    text = "kind: wall\nplace: {place}\nbuilding: {{code: IRC {edition}}}\nlayers: latex paint | 1/2 in gypsum board"
    zones = {
        (place, edition): next(
            r.fields["zone"]
            for r in build(parse_section(text.format(place=place, edition=edition)))[0].records
            if r.kind == "section"
        )
        for place in ("Duluth, MN", "Chicago, IL", "Miami, FL")
        for edition in (2018, 2021)
    }
    # County maps of the 2006-2018 and the 2021 editions (PNNL-33270): St. Louis County MN 7, Cook IL 5A, Miami-Dade 1A in both.
    assert {z[0] for z in zones.values()} == {"7", "5", "1"}
    assert zones["Chicago, IL", 2018] == zones["Chicago, IL", 2021] == "5A"
