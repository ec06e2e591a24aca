"""Whole walls against the vapor clauses of the model codes: the finding appears exactly where the table says.

Sources: IRC 2018 Table R702.7.1 and IRC 2021 Table R702.7(3), (2), (4) and note b, IBC 2018 1404.3.1 (from memory of the
documents, restated second-hand); R702.7.3 on vented claddings and R703.8.4 on the clear air space (from memory); NBC 9.25.4.2
(60 ng/(Pa·s·m²), seen in a public copy) and Table 9.25.5.2 (bands seen, ratios from memory).
"""

from __future__ import annotations

import pytest

from reviewer.model.parse import section_from_line
from reviewer.result import Result
from reviewer.review import review

FRAMES = {"2x4": "2x4 @ 16 in with R-13 glass fiber batt", "2x6": "2x6 @ 16 in with R-20 glass fiber batt"}

# A place for each zone, and what its row asks over 2x4 and 2x6 framing, 2021.
PLACES = {
    "Seattle, WA": (2.5, 3.75),
    "Chicago, IL": (5.0, 7.5),
    "Minneapolis, MN": (7.5, 11.25),
    "Duluth, MN": (10.0, 15.0),
    "Fairbanks, AK": (12.5, 20.0),
}

# Places in the colder part of each zone and in the milder, all with their row.
MORE_PLACES = {
    "Portland, OR": (2.5, 3.75),
    "Des Moines, IA": (5.0, 7.5),
    "Omaha, NE": (5.0, 7.5),
    "Boise, ID": (5.0, 7.5),
    "Boston, MA": (5.0, 7.5),
    "Burlington, VT": (7.5, 11.25),
    "Helena, MT": (7.5, 11.25),
    "Bismarck, ND": (7.5, 11.25),
    "International Falls, MN": (10.0, 15.0),
    "Anchorage, AK": (10.0, 15.0),
}


def wall(
    place: str,
    frame: str,
    outside: str = "wood lap siding",
    *,
    inside: str = "latex paint | 1/2 in gypsum board",
    sheathing: str = "7/16 in OSB",
    edition: str = "IRC 2021",
) -> Result:
    line = f"{inside} | {frame} | {sheathing} | house wrap | {outside}"
    return review(section_from_line(line, kind="wall", place=place), edition=edition)


def rules(result: Result) -> set[str]:
    return {f.rule for f in result.findings}


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("frame", FRAMES)
def test_painted_wall_passes_at_the_table_value_and_fails_a_tenth_below_it(place: str, frame: str) -> None:
    asked = PLACES[place][list(FRAMES).index(frame)]
    enough = wall(place, FRAMES[frame], f"R-{asked} mineral wool board | vinyl siding")
    short = wall(place, FRAMES[frame], f"R-{asked - 0.1} extruded polystyrene board | vinyl siding")
    assert "code-us-residential/retarder-required" not in rules(enough)
    assert "code-us-residential/class-iii-by-insulation" in rules(
        wall(place, FRAMES[frame], f"R-{asked} extruded polystyrene board | vinyl siding")
    )
    finding = next(f for f in short.findings if f.rule == "code-us-residential/retarder-required")
    assert finding.severity == "serious"
    assert "R-0.1 short" in finding.margin


@pytest.mark.parametrize("place", {**PLACES, **MORE_PLACES})
@pytest.mark.parametrize("frame", FRAMES)
def test_no_wall_that_just_meets_the_table_is_called_too_cold_by_the_rule_of_thumb(
    place: str, frame: str
) -> None:
    """The rules' own tolerance against the code: its table is accepted practice in the coldest places of each zone."""
    asked = {**PLACES, **MORE_PLACES}[place][list(FRAMES).index(frame)]
    found = wall(place, FRAMES[frame], f"R-{asked} extruded polystyrene board | vinyl siding").findings
    worse = [
        f.rule for f in found if f.severity in ("serious", "caution") and f.rule.startswith("vapor-control/")
    ]
    assert worse == []
    assert "vapor-control/exterior-insulation-sufficient" in {f.rule for f in found}


def test_zone_eight_row_is_of_its_edition() -> None:
    board = "R-15 extruded polystyrene board | vinyl siding"
    assert "code-us-residential/retarder-required" in rules(wall("Fairbanks, AK", FRAMES["2x6"], board))
    older = rules(wall("Fairbanks, AK", FRAMES["2x6"], board, edition="IRC 2018"))
    assert "code-us-residential/retarder-required-through-2018" not in older


@pytest.mark.parametrize(
    ("place", "outside", "sheathing", "allowed"),
    [
        ("Chicago, IL", "vinyl siding", "7/16 in OSB", True),
        ("Chicago, IL", "wood lap siding", "7/16 in OSB", False),
        ("Chicago, IL", "3/8 in air space vented top and bottom | wood lap siding", "7/16 in OSB", True),
        # Masonry veneer with a clear air space of an inch is a vented cladding, with less it is not.
        ("Chicago, IL", "1 in air space | brick veneer", "7/16 in OSB", True),
        ("Chicago, IL", "3/4 in air space | brick veneer", "7/16 in OSB", False),
        # Vapor-tight boards between sheathing and cladding have a row of their own.
        ("Chicago, IL", "R-5 extruded polystyrene board | vinyl siding", "7/16 in OSB", False),
        ("Chicago, IL", "R-5 mineral wool board | vinyl siding", "7/16 in OSB", True),
        ("Minneapolis, MN", "vinyl siding", "7/16 in OSB", False),
        ("Minneapolis, MN", "vinyl siding", "1/2 in exterior gypsum sheathing", True),
        ("Duluth, MN", "vinyl siding", "1/2 in exterior gypsum sheathing", False),
    ],
)
def test_vented_cladding_stands_over_the_sheathing_that_the_table_names(
    place: str, outside: str, sheathing: str, allowed: bool
) -> None:
    found = rules(wall(place, FRAMES["2x6"], outside, sheathing=sheathing))
    assert ("code-us-residential/class-iii-by-vented-cladding" in found) == allowed
    assert ("code-us-residential/retarder-required" in found) != allowed


@pytest.mark.parametrize(
    ("place", "sheet", "permitted"),
    [
        ("Miami, FL", "6 mil polyethylene", False),
        ("Houston, TX", "vapor retarder paint", False),
        ("Houston, TX", "kraft paper", True),
        ("Atlanta, GA", "6 mil polyethylene", False),
        ("Atlanta, GA", "vapor retarder paint", True),
        ("Washington, DC", "6 mil polyethylene", False),
        ("Washington, DC", "vapor retarder paint", True),
        ("Seattle, WA", "6 mil polyethylene", True),
        ("Chicago, IL", "6 mil polyethylene", True),
    ],
)
def test_classes_not_permitted_inside_by_zone(place: str, sheet: str, permitted: bool) -> None:
    inside = f"latex paint | 1/2 in gypsum board | {sheet}"
    found = rules(wall(place, FRAMES["2x4"], "vinyl siding", inside=inside))
    assert ("code-us-residential/class-not-permitted" in found) != permitted
    # The residential code of 2018 prohibits nothing, the commercial one of that year does.
    assert "code-us-residential/class-not-permitted" not in rules(
        wall(place, FRAMES["2x4"], "vinyl siding", inside=inside, edition="IRC 2018")
    )
    commercial = rules(wall(place, FRAMES["2x4"], "vinyl siding", inside=inside, edition="IBC 2018"))
    assert ("code-us-commercial/class-not-permitted-2018" in commercial) != permitted


def test_two_class_i_sides_need_a_design_and_a_membrane_outboard_of_the_framing_is_no_side() -> None:
    inside = "latex paint | 1/2 in gypsum board | 6 mil polyethylene"
    foil = "R-9 foil-faced polyisocyanurate board | vinyl siding"
    assert "code-us-residential/two-class-i" in rules(wall("Chicago, IL", FRAMES["2x4"], foil, inside=inside))
    assert "code-us-residential/two-class-i" not in rules(wall("Chicago, IL", FRAMES["2x4"], foil))
    outside = review(
        section_from_line(
            "latex paint | 1/2 in gypsum board | empty 2x4 @ 16 in | 1/2 in plywood | self-adhered membrane | "
            "R-18 foil-faced polyisocyanurate board | 3/4 in air space vented top and bottom | wood lap siding",
            kind="wall",
            place="Atlanta, GA",
        )
    )
    assert not {r for r in rules(outside) if r.startswith("code-us")}


@pytest.mark.parametrize(("board", "met"), [("R-4.9", False), ("R-5", True)])
def test_class_two_with_foam_over_two_by_six_in_zone_five(board: str, met: bool) -> None:
    kraft = "2x6 @ 16 in with R-21 kraft-faced glass fiber batt"
    outside = f"{board} extruded polystyrene board | vinyl siding"
    found = rules(wall("Chicago, IL", kraft, outside, edition="IRC 2024"))
    assert ("code-us-residential/class-ii-with-exterior-foam" in found) != met


def test_roof_with_all_insulation_on_the_deck_is_no_unvented_rafter_space() -> None:
    """R806.5 is about attics and enclosed rafter spaces: a vapor retarder on a steel deck is not on its ceiling side."""
    compact = review(
        section_from_line(
            "steel deck | self-adhered roof vapor retarder | 5 in polyisocyanurate board | TPO membrane",
            kind="roof",
            place="Chicago, IL",
        )
    )
    assert not {r for r in rules(compact) if r.startswith("code-us")}
    rafters = review(
        section_from_line(
            "latex paint | 1/2 in gypsum board | 6 mil polyethylene | 2x10 @ 16 in with R-30 glass fiber batt | "
            "1/2 in plywood | asphalt felt | asphalt shingles",
            kind="roof",
            place="Chicago, IL",
        )
    )
    assert {
        "code-us-residential/unvented-roof-insulation",
        "code-us-residential/unvented-roof-class-i",
    } <= rules(rafters)


@pytest.mark.parametrize(("inside", "met"), [("latex paint", False), ("vapor retarder paint", True)])
def test_canadian_walls_need_sixty_nanograms_on_the_warm_side(inside: str, met: bool) -> None:
    found = rules(
        wall(
            "Edmonton, AB",
            FRAMES["2x6"],
            "vinyl siding",
            inside=f"{inside} | 1/2 in gypsum board",
            edition="NBC 2020",
        )
    )
    assert ("code-canada/vapor-barrier-required" in found) != met


def test_canadian_wood_sheathing_of_half_an_inch_is_no_low_permeance_layer() -> None:
    found = rules(wall("Edmonton, AB", FRAMES["2x6"], sheathing="1/2 in plywood", edition="NBC 2020"))
    assert not {r for r in found if r.startswith("code-canada/low-permeance")}
