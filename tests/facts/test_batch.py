"""A batch gives what its members give one by one. Nothing outside the program is claimed here: the numbers
themselves are checked in tests/physics and tests/published."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.facts.batch import build_all
from reviewer.facts.build import Built, build
from reviewer.model.parse import load_section, section_from_line
from reviewer.review import review, review_all
from reviewer.workbench import shipped_cases

CASES = shipped_cases()

INNER = (
    "latex paint | 1/2 in gypsum board",
    "1/2 in gypsum board | 6 mil polyethylene, sealed",
    "oil paint | 3/4 in gypsum plaster",
)
CAVITY = (
    "2x4 @ 16 in with R-13 glass fiber batt",
    "2x6 @ 16 in with R-20 mineral wool batt",
    "2x6 @ 24 in with open-cell spray foam",
)
OUTER = (
    "7/16 in OSB | house wrap | vinyl siding",
    "1/2 in plywood | 2 in polyisocyanurate board | 3/4 in air space, vented | fiber-cement siding",
    "1/2 in fiberboard sheathing | house wrap | 1 in air space, vented | brick veneer",
)  # fmt: skip
PLACES = ("Duluth, MN", "Atlanta, GA", "Miami, FL", "Winnipeg, MB")


def same(a: Built, b: Built) -> None:
    book, _, _, _, year = a
    other, _, _, _, its_year = b
    assert book.facts() == other.facts()
    assert book.assumptions == other.assumptions
    assert book.unknown() == other.unknown()
    assert (year is None) == (its_year is None)
    if year is not None and its_year is not None:
        for name in ("p", "rh", "w", "wood", "mold"):
            assert np.array_equal(getattr(year, name), getattr(its_year, name), equal_nan=True), name
        assert np.array_equal(year.balance.stock, its_year.balance.stock)


@settings(max_examples=12, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(INNER), st.sampled_from(CAVITY), st.sampled_from(OUTER), st.sampled_from(PLACES)
        ),
        min_size=1,
        max_size=6,
    )
)
def test_a_batch_gives_to_the_last_bit_what_its_members_give_alone(
    drawn: list[tuple[str, str, str, str]],
) -> None:
    sections = [section_from_line(" | ".join(parts), kind="wall", place=p) for *parts, p in drawn]
    for together, alone in zip(build_all(sections), map(build, sections), strict=True):
        same(together, alone)


def test_cases_of_all_kinds_and_sizes_are_the_same_together_and_alone() -> None:
    sections = [load_section(path) for path in CASES[::2]]
    assert len({s.kind for s in sections}) >= 2
    for together, alone in zip(build_all(sections), map(build, sections), strict=True):
        same(together, alone)


def test_sections_that_cannot_be_calculated_do_not_disturb_the_others() -> None:
    known = section_from_line("1/2 in gypsum board | 2 in mineral wool board", kind="wall", zone="5A")
    unknown = section_from_line("1/2 in gypsum board | ? sheathing", kind="wall", zone="5A")
    nowhere = section_from_line("1/2 in gypsum board | 2 in mineral wool board", kind="wall")
    mixed = [known, unknown, nowhere]
    years = [year for *_, year in build_all(mixed)]
    assert years[0] is not None and years[1] is None and years[2] is None
    for together, alone in zip(build_all(mixed), map(build, mixed), strict=True):
        same(together, alone)


@pytest.mark.parametrize("places", [("Duluth, MN", "Miami, FL")])
def test_a_site_is_looked_up_once_for_sections_that_share_it(places: tuple[str, str]) -> None:
    from dataclasses import replace

    first, second = (section_from_line(OUTER[0], kind="wall", place=p) for p in places)
    sites: dict = {}
    build_all([first, replace(first, title="again"), second], sites=sites)
    assert len(sites) == 2


def test_hourly_simulations_that_run_together_give_what_each_gives_alone() -> None:
    wall = "latex paint | 1/2 in gypsum board | 2x4 @ 16 in with R-13 glass fiber batt | 1/2 in plywood | vinyl siding"
    sections = [section_from_line(wall, kind="wall", zone=z) for z in ("4A", "7")]
    together = review_all(sections, hourly=True)
    assert together == [review(s, hourly=True) for s in sections]
    assert all(r.calculations["hourly"]["periodic"] for r in together)
