"""The data behind answers: causes name rules that exist, things to use can be read and placed. Nothing outside is claimed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviewer.answers.compute import in_zone, layer_key, neighbors, section_key, transplant
from reviewer.answers.elsewhere import ordinary
from reviewer.answers.troubles import Cause, troubles
from reviewer.answers.uses import Use, placed, uses
from reviewer.library.types import ROLES
from reviewer.model.parse import section_from_line
from reviewer.model.schema import STATEMENTS
from reviewer.model.section import KINDS
from reviewer.remedies.changes import read
from reviewer.remedies.parts import PARTS
from reviewer.review import load_rules
from tests.answers.hand_made import wall

CAUSES = [(seen, c) for seen, causes in troubles().items() for c in causes]


@pytest.mark.parametrize(("seen", "cause"), CAUSES, ids=[f"{s}-{n}" for n, (s, _) in enumerate(CAUSES)])
def test_every_cause_rests_on_rules_that_exist(seen: str, cause: Cause) -> None:
    known = set(load_rules().rules)
    packs = {r.partition("/")[0] for r in known}
    assert cause.rules
    for r in cause.rules:
        assert r in known or (r.endswith("/") and r[:-1] in packs), r
    assert cause.tell
    assert cause.says[0].islower()


def test_every_trouble_has_causes_that_can_be_told_apart() -> None:
    for seen, causes in troubles().items():
        assert len(causes) >= 2, seen
        assert len({c.tell for c in causes}) == len(causes)


@pytest.mark.parametrize("use", uses(), ids=lambda u: f"{u.role}-{u.how}")
def test_what_builders_use_can_be_read_and_its_place_is_known(use: Use) -> None:
    assert set(use.kinds) <= set(KINDS)
    if use.how == "known":
        assert use.at in STATEMENTS
        return
    assert use.at in PARTS or use.at in ROLES
    for text in use.texts:
        assert read(text).name


@pytest.mark.parametrize("use", [u for u in uses() if "wall" in u.kinds], ids=lambda u: f"{u.role}-{u.how}")
def test_what_builders_use_goes_into_an_ordinary_wall(use: Use) -> None:
    base = ordinary()
    found = placed([use], base)
    if not PARTS.get(use.at) or use.at in ("cladding without a space", "mass"):
        return
    assert [label for label, _ in found] == list(use.texts)
    for text, section in found:
        assert read(text).name in [x.name for x in section.layers]
        assert [x.index for x in section.layers] == list(range(len(section.layers)))


LAYERS = st.lists(
    st.sampled_from(
        [
            "latex paint",
            "1/2 in gypsum board",
            "6 mil polyethylene",
            "R-21 glass fiber batt",
            "7/16 in OSB",
            "house wrap",
            "vinyl siding",
        ]
    ),
    min_size=1,
    max_size=7,
    unique=True,
)


@given(LAYERS, LAYERS)
def test_what_makes_one_section_of_another_makes_the_same_of_its_copy(one: list[str], two: list[str]) -> None:
    base, option = (section_from_line(" | ".join(x), kind="wall", zone="5A") for x in (one, two))
    moved = transplant(base, option, base)
    assert [x.name for x in moved.layers] == [x.name for x in option.layers]


def test_a_thing_left_out_is_left_out_of_another_section_too() -> None:
    base, option = wall(inside="6 mil polyethylene | "), wall()
    other = wall("Houston, TX", inside="6 mil polyethylene | ", sheathing="1/2 in plywood")
    moved = transplant(base, option, other)
    assert [x.name for x in moved.layers] == [x.name for x in wall(sheathing="1/2 in plywood").layers]
    assert moved.place is not None
    assert moved.place.name == "Houston, TX"


def test_a_key_tells_sections_apart_by_what_they_say_and_not_by_where_they_were_written() -> None:
    a, b = wall(), wall()
    assert section_key(a) == section_key(b)
    assert section_key(a) != section_key(in_zone(a, "5A"))
    assert section_key(a) != section_key(wall(sheathing="1/2 in plywood"))
    assert layer_key(a.layers[0]) != layer_key(a.layers[1])


@given(st.sampled_from(["1A", "2B", "3C", "4C", "5B", "6A", "7", "8", "", "NBC", "7A"]))
def test_neighbors_of_a_zone_are_one_step_away(zone: str) -> None:
    for other in neighbors(zone):
        assert abs(int(other[0]) - int(zone[0])) == 1
