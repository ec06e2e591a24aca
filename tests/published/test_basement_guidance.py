"""Public guidance on basements, as rules of thumb and by the calculation.

DOE/NREL Building America measure guidelines for foundations, and the foundation test walls of the University of Minnesota
(Goldberg and Huelman); both from memory: qualitative statements, no figures.
"""

from __future__ import annotations

import numpy as np
import pytest

from reviewer.facts.build import build
from reviewer.humidity import saturation_pressure
from reviewer.model.parse import section_from_line
from reviewer.physics import builtin
from reviewer.physics.vapor import retarder_class
from reviewer.result import Result
from reviewer.review import review

PLACE = "Minneapolis, MN"
FRAMED = "latex paint | 1/2 in gypsum board | {sheet}2x4 @ 16 in with R-13 glass fiber batt | 8 in concrete | dampproofing | soil"
FOAM = "latex paint | 1/2 in gypsum board | 2 in extruded polystyrene taped against masonry | 8 in concrete | dampproofing | soil"


def reviewed(line: str, kind: str = "foundation wall") -> Result:
    return review(section_from_line(line, kind=kind, place=PLACE))


def rules(line: str, kind: str = "foundation wall") -> dict[str, str]:
    return {f.rule: f.severity for f in reviewed(line, kind).findings}


def test_no_polyethylene_on_the_room_side_of_a_wall_below_grade() -> None:
    with_sheet, without = rules(FRAMED.format(sheet="6 mil polyethylene | ")), rules(FRAMED.format(sheet=""))
    assert "foundation/polyethylene-inside" in with_sheet
    assert "foundation/polyethylene-inside" not in without


def test_foam_on_the_concrete_is_better_than_fiber_and_polyethylene() -> None:
    fiber, foam = rules(FRAMED.format(sheet="6 mil polyethylene | ")), rules(FOAM)
    worst = {"serious": 3, "caution": 2, "note": 1, "credit": 0}
    assert max(worst[s] for s in foam.values()) < max(worst[s] for s in fiber.values())
    assert "credit" in foam.values()


@pytest.mark.parametrize("kind", ["foundation wall", "slab"])
def test_the_soil_side_is_saturated(kind: str) -> None:
    line = FOAM if kind == "foundation wall" else "4 in concrete | 6 mil polyethylene | 2 in XPS | soil"
    year = build(section_from_line(line, kind=kind, place=PLACE))[4]
    assert year is not None
    assert np.array_equal(year.thermal.p_ext, saturation_pressure(year.thermal.t_ext))


def test_walls_below_grade_dry_inwards_only() -> None:
    """Water in bare concrete: what leaves in a year goes to the room, next to none to the saturated soil."""
    line = "latex paint | 8 in concrete | dampproofing | soil"
    _, layers, site, a, year = build(section_from_line(line, kind="foundation wall", place=PLACE))
    assert year is not None and site.p_in is not None
    concrete = next(p.layer.index for p in layers if p.has("concrete"))
    middle = 0.5 * (year.thermal.t[:, concrete] + year.thermal.t[:, concrete + 1])
    inner, outer = (
        1 / np.sum([1 / w for w in year.w[0, part]])
        for part in (slice(0, concrete), slice(concrete + 1, a.end))
    )
    inwards, outwards = builtin.drying_rates(middle, site.p_in, year.thermal.p_ext, inner, outer)
    assert inwards.sum() > 0
    assert abs(outwards.sum()) < 0.05 * inwards.sum()


def test_a_capillary_break_and_damp_proofing_outside_and_a_sheet_under_the_slab() -> None:
    _, layers, *_ = build(section_from_line(FOAM, kind="foundation wall", place=PLACE))
    coat = next(p for p in layers if "dampproofing" in p.roles)
    assert coat.permeance_dry is not None
    assert retarder_class(coat.permeance_dry) in ("I", "II")
    bare = rules("4 in concrete | 4 in gravel | soil", "slab")
    covered = rules("4 in concrete | 10 mil polyethylene | 4 in gravel | soil", "slab")
    assert bare.get("foundation/slab-without-retarder") in ("serious", "caution")
    assert "foundation/slab-without-retarder" not in covered
