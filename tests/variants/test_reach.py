"""Where a section holds: the verdicts are those of a review there, the limit is what the verdicts say."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviewer.advice import FindingLine
from reviewer.errors import InputError
from reviewer.library.codes import table
from reviewer.model.override import override
from reviewer.model.parse import load_section, section_from_line
from reviewer.model.section import Section
from reviewer.reaching import HOME, Plane, ReachLine
from reviewer.review import review
from reviewer.units import R_IP
from reviewer.variants import command
from reviewer.variants.judging import Judges
from reviewer.variants.reach import US_ZONES, reach, say_limit
from reviewer.workbench import shipped_cases

CASES = {p.stem: p for p in shipped_cases()}
FOAM_WALL = (
    "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-20 glass fiber batt | 7/16 in OSB | house wrap | "
    "R-{r} extruded polystyrene board | vinyl siding"
)
KRAFT_WALL = (
    "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with kraft-faced R-21 glass fiber batt | 7/16 in OSB | "
    "house wrap | vinyl siding"
)
POLY_WALL = KRAFT_WALL.replace("kraft-faced R-21", "R-21").replace(
    "| 2x6", "| 6 mil polyethylene, sealed | 2x6"
)


def wall(text: str, place: str = "Chicago, IL") -> Section:
    return section_from_line(text, kind="wall", place=place)


@pytest.mark.parametrize(
    "case", ["mill-street-kraft-wall", "harbor-hill-poly-wall", "stone-barn-port-in-the-cold"]
)
def test_every_zone_has_the_verdict_of_a_full_review_there(judges: Judges, case: str) -> None:
    section = load_section(CASES[case])
    found = reach(section, judges)
    code = found.edition if section.building.code is None else section.building.code
    kept = replace(section, building=replace(section.building, code=code))
    for line in found.zones:
        there = review(override(kept, zone=line.zone), judges.rules)
        assert line.disposition == there.disposition, line.zone
        assert line.place == there.climate.place
        assert line.serious == sum(f.severity == "serious" for f in there.findings)


def test_every_zone_of_the_code_is_reviewed_or_said_to_have_no_place(judges: Judges) -> None:
    found = reach(wall(KRAFT_WALL), judges)
    assert sorted([x.zone for x in found.zones] + [x.zone for x in found.not_reviewed]) == sorted(US_ZONES)
    assert {x.regime for x in found.zones if x.number is not None and x.number >= 7} == {""}


def test_a_kraft_faced_wall_holds_where_it_is_warm_and_not_in_the_cold(judges: Judges) -> None:
    found = reach(wall(KRAFT_WALL), judges)
    holds = [x.holds for x in found.zones if x.regime in ("A", "")]
    assert holds[0] and not holds[-1]
    # Once it no longer holds it doesn't hold farther north either.
    assert holds == sorted(holds, reverse=True)
    edge = next(x for x in found.zones if x.regime in ("A", "") and not x.holds)
    assert found.limit.startswith(f"Holds to zone {edge.number - 1}; from zone {edge.number} on ")  # type: ignore[operator]


@pytest.mark.parametrize("r", ["2.5", "3.75", "5", "7.5", "11.25", "15", "20"])
def test_class_iii_by_insulation_is_missed_just_where_the_table_asks_for_more(judges: Judges, r: str) -> None:
    """IRC 2021 Table R702.7(3), 2x6 walls (from memory of the document), as it stands in our table of codes."""
    asked = table("class-iii", "IRC", 2021)
    needed = table("interior-retarder", "IRC", 2021)
    assert asked is not None and needed is not None
    for line in reach(wall(FOAM_WALL.format(r=r)), judges).zones:
        assert line.number is not None
        marine = line.regime == "C"
        row = asked.for_zone(line.number, marine)
        wanted = (
            needed.for_zone(line.number, marine) is not None and row is not None and row.r_2x6 is not None
        )
        short = wanted and float(r) * R_IP < row.r_2x6 - 1e-9  # type: ignore[union-attr, operator]
        missed = any(f.rule == "code-us-residential/retarder-required" for f in line.findings)
        assert missed == short, (line.zone, r)


def test_polyethylene_is_not_permitted_just_where_the_table_prohibits_class_i(judges: Judges) -> None:
    """IRC 2021 Table R702.7(2): Class I not in zones 1 to 4, Marine 4 excepted (from memory of the document)."""
    for line in reach(wall(POLY_WALL), judges).zones:
        assert line.number is not None
        prohibited = line.number <= 4 and line.zone != "4C"
        found = any(f.rule == "code-us-residential/class-not-permitted" for f in line.findings)
        assert found == prohibited, line.zone


def test_the_indoor_condition_and_the_code_of_the_section_stay(judges: Judges) -> None:
    section = override(wall(KRAFT_WALL), indoor="pool")
    section = replace(section, building=replace(section.building, code="IRC 2015"))
    found = reach(section, judges)
    assert found.indoor == "pool"
    assert {x.edition for x in found.zones} == {"IRC 2015"}
    dry = reach(wall(KRAFT_WALL), judges)
    assert sum(x.holds for x in found.zones) < sum(x.holds for x in dry.zones)


def test_a_canadian_section_goes_through_the_zones_of_its_code(judges: Judges) -> None:
    found = reach(load_section(CASES["river-bend-foil"]), judges)
    assert found.system == "NBC"
    assert [x.zone for x in found.zones] == ["4", "5", "6", "7A", "7B", "8"]
    assert {x.edition for x in found.zones} == {"NBC 2020"}


def test_cautions_count_as_failing_where_no_exceptions_are_asked_for(judges: Judges) -> None:
    foam = FOAM_WALL.format(r="5")
    loose = command.reach(foam, kind="wall")
    strict = command.reach(foam, kind="wall", until="no exceptions taken")
    for a, b in zip(loose.zones, strict.zones, strict=True):
        assert a.disposition == b.disposition
        assert b.holds == (b.disposition == "no exceptions taken")
        assert a.holds == (a.disposition in ("no exceptions taken", "make corrections noted"))
    assert any(a.holds and not b.holds for a, b in zip(loose.zones, strict.zones, strict=True))
    with pytest.raises(InputError, match="--until can't be"):
        command.reach(foam, kind="wall", until="revise and resubmit")


def test_a_claim_of_zones_is_held_against_the_verdicts(judges: Judges) -> None:
    claims = replace(wall(KRAFT_WALL), zones_claimed=("4A", "8"))
    found = reach(claims, judges)
    assert found.claims == ["4A", "8"]
    assert found.limits[-1] == "Its file claims zones 4A and 8: it does not hold in 8."
    modest = reach(replace(claims, zones_claimed=("4A",)), judges)
    assert modest.limits[-1] == "Its file claims zone 4A: it holds there."


def test_a_section_that_nobody_can_judge_says_what_is_missing(judges: Judges) -> None:
    found = reach(load_section(CASES["unknown-sheathing"]), judges)
    assert found.limit.startswith("Can't be judged in any zone: what layer 4 is")
    assert not any(x.holds for x in found.zones)


def test_places_are_reviewed_in_the_order_asked_and_home_apart(judges: Judges) -> None:
    section = wall(KRAFT_WALL)
    asked = [(p, override(section, place=p)) for p in ("Fairbanks, AK", "Miami, FL")]
    found = reach(section, judges, asked, zones=False)
    assert [x.asked for x in found.places] == [HOME, "Fairbanks, AK", "Miami, FL"]
    assert found.limit == "Holds at 1 of 2 places; not in Fairbanks, AK."
    assert not found.zones


def test_a_list_of_places_is_read_a_line_each_and_a_wrong_one_is_named(tmp_path: Path) -> None:
    path = tmp_path / "places.txt"
    path.write_text("# ours\nDuluth, MN\n\n  55802  # again\n", encoding="utf-8")
    assert [p for p, _ in command.read_places(path)] == ["Duluth, MN", "55802"]
    path.write_text("Duluth, MN\n Dulut, MN\n", encoding="utf-8")
    with pytest.raises(InputError) as e:
        command.reach(KRAFT_WALL, kind="wall", listed=path)
    mark = e.value.problems[0].mark
    assert mark is not None and (mark.line, mark.column) == (2, 2)
    assert e.value.problems[0].nearest == "Duluth, MN"


@pytest.mark.parametrize(
    ("content", "says"), [(b"", "no place"), (b"\xff\xfe", "UTF-8"), (b"# only\n", "no place")]
)
def test_a_list_that_is_none_is_refused(tmp_path: Path, content: bytes, says: str) -> None:
    path = tmp_path / "places.txt"
    path.write_bytes(content)
    with pytest.raises(InputError, match=says):
        command.read_places(path)
    with pytest.raises(InputError, match="can't be read"):
        command.read_places(tmp_path / "none.txt")


# -- the limit in words ----------------------------------------------------------------------------


def line(zone: str, holds: bool, rule: str = "a/b", months: int = 0) -> ReachLine:
    number = int(zone[0])
    regime = zone[1:] if zone[1:] in ("A", "B", "C") else ""
    deciding = (
        None if holds else FindingLine(rule=rule, severity="serious", title=f"{rule} there", layers=[3])
    )
    return ReachLine(
        asked=f"zone {zone}",
        place=f"town of {zone}",
        zone=zone,
        number=number,
        regime=regime,  # type: ignore[arg-type]
        edition="IRC 2021",
        disposition="no exceptions taken" if holds else "revise and resubmit",
        holds=holds,
        deciding=deciding,
        because="nothing is found" if holds else f"{rule} there",
        serious=int(not holds),
        cautions=0,
        plane=Plane(
            layer=3,
            name="plywood",
            months_below_dew_point=months,
            coldest=0.0,
            dew_point=5.0,
            condensate=0.0,
        ),
    )


A_ZONES = ("1A", "2A", "3A", "4A", "5A", "6A", "7", "8")


def test_the_months_below_the_dew_point_are_told_where_they_grow_into_the_failing_zone() -> None:
    lines = [line(z, int(z[0]) <= 5, months=max(0, int(z[0]) - 3)) for z in A_ZONES]
    text, more = say_limit(lines)
    assert text == (
        "Holds to zone 5; from zone 6 on plywood stays below the indoor dew point for three months "
        "(two in zone 5A): a/b there."
    )
    assert more == []


def test_the_warm_end_is_told_without_the_cold() -> None:
    text, _ = say_limit([line(z, int(z[0]) >= 5, months=4) for z in A_ZONES])
    assert text == "Holds from zone 5 on; in zones 1 to 4 it fails: a/b there."


def test_holes_are_told() -> None:
    text, _ = say_limit([line(z, z[0] in "125") for z in A_ZONES])
    assert text == (
        "Holds in zones 1 and 2 and zone 5, and not in between; in zones 3 and 4 it fails: a/b there; "
        "from zone 6 on it fails: a/b there."
    )


def test_all_and_none() -> None:
    assert say_limit([line(z, True) for z in A_ZONES])[0] == "Holds in every zone reviewed, 1 to 8."
    assert (
        say_limit([line(z, False) for z in A_ZONES])[0] == "Holds in no zone reviewed: it fails: a/b there."
    )
    two = [line(z, False, "a/b" if z[0] < "4" else "c/d") for z in A_ZONES]
    assert say_limit(two)[0] == (
        "Holds in no zone reviewed: in zone 1 it fails: a/b there; in zone 8 it fails: c/d there."
    )


def test_regimes_that_differ_have_a_sentence_each() -> None:
    zones = ["3A", "3B", "3C", "4A", "4B", "4C", "5A", "5B", "5C", "7"]
    lines = [line(z, z[0] < "4" or (z[0] == "4" and z[1] != "C")) for z in zones]
    text, more = say_limit(lines)
    assert text == (
        "Holds to zone 4A where it is moist, 4B where it is dry and 3C where it is marine; "
        "beyond, in zone 5A it fails: a/b there."
    )
    assert len(more) == 3
    assert more[2] == "Marine (C): holds to zone 3C; from zone 4C on it fails: a/b there."


def test_regimes_without_a_common_course_are_told_in_short_first() -> None:
    holds = {
        "3A": True,
        "3B": False,
        "3C": True,
        "4A": True,
        "4B": True,
        "4C": False,
        "5A": False,
        "5B": False,
        "5C": False,
    }
    text, more = say_limit([line(z, h) for z, h in holds.items()])
    assert text == "Holds in 4 of 9 zones reviewed: moist (A) to 4A; dry (B) in 4B; marine (C) to 3C."
    assert len(more) == 3


@given(st.lists(st.booleans(), min_size=8, max_size=8))
def test_the_zones_that_the_sentence_claims_are_those_that_hold(pattern: list[bool]) -> None:
    lines = [line(z, holds) for z, holds in zip(A_ZONES, pattern, strict=True)]
    text, _ = say_limit(lines)
    assert claimed(text) == {n for n, holds in enumerate(pattern, 1) if holds}


def claimed(text: str) -> set[int]:
    """The zones that a sentence says it holds in, read back from its words."""
    head = text.partition(";")[0].removesuffix(".").removesuffix(", and not in between")
    if head.startswith("Holds in no zone"):
        return set()
    if m := re.fullmatch(r"Holds in every zone reviewed, (\d) to (\d)", head):
        return set(range(int(m[1]), int(m[2]) + 1))
    if m := re.fullmatch(r"Holds to zone (\d)", head):
        return set(range(1, int(m[1]) + 1))
    if m := re.fullmatch(r"Holds from zone (\d) on", head):
        return set(range(int(m[1]), 9))
    found: set[int] = set()
    for m in re.finditer(r"zones? (\d)(?: (to|and) (\d)(?! ))?(?: (to|and) (\d)(?! zone))?", head):
        last = m[3] or m[5]
        found |= set(range(int(m[1]), int(last or m[1]) + 1))
    return found
