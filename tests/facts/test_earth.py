"""What lies in the ground: the earth goes on below its last layer, and what is wet outboard of a dampproofing is no fault.

Common practice, no published source: ISO 13788 is a standard for what lies between indoor and outdoor air.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from reviewer.facts.build import build
from reviewer.model.parse import section_from_line
from reviewer.model.section import Indoor


def _head(line: str, kind: str) -> dict:
    section = section_from_line(line, kind=kind, place="Louisville, KY")
    return next(r for r in build(section)[0].records if r.kind == "section").fields


@pytest.mark.parametrize("last", ["soil", "clay soil", "4 in gravel bed", "sand and gravel"])
def test_below_a_slab_and_behind_a_foundation_wall_there_is_earth_however_it_is_named(last: str) -> None:
    assert _head(f"4 in concrete | {last}", "slab")["surroundings"] == "soil"
    assert (
        _head(f"8 in concrete | asphalt dampproofing | {last}", "foundation wall")["surroundings"] == "soil"
    )


def test_a_roof_that_bears_earth_stands_in_the_air() -> None:
    line = "6 in concrete | tpo membrane | 4 in sand and gravel"
    assert _head(line, "roof")["surroundings"] == "outdoor air"


def test_what_is_wet_outboard_of_the_dampproofing_is_no_condensate_of_the_wall() -> None:
    bare = _head("8 in concrete | asphalt dampproofing | soil", "foundation wall")
    drained = _head("8 in concrete | asphalt dampproofing | 3/8 in drainage mat | soil", "foundation wall")
    assert drained["strip_condensate"] == pytest.approx(bare["strip_condensate"], abs=0.01)


def test_a_room_that_is_heated_to_little_is_as_warm_as_outdoors_in_summer() -> None:
    """Common practice, no published source: nobody cools a shop to 60 °F."""
    line = "1/2 in plywood | 2 in extruded polystyrene board, taped | 8 in concrete block"
    shop = section_from_line(line, kind="wall", place="Omaha, NE")
    indoor = {}
    for told in (15.6, 21.0):
        heated = replace(shop, indoor=Indoor(name=None, temperature=(told,), humidity=None, mark=None))
        indoor[told] = next(r for r in build(heated)[0].records if r.kind == "indoor").fields
    assert indoor[15.6]["t_winter"] == pytest.approx(15.6)
    assert indoor[15.6]["t_summer"] > 20.0
    assert indoor[21.0]["t_summer"] == pytest.approx(21.0)
