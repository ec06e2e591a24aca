"""The least amount that clears is where the code's tables put it, and one step less does not clear.

Known answers, all from memory of the documents: IRC Table R702.7.1 (2015, 2018) and R702.7(3) (2021), continuous
insulation with a Class III retarder; IRC Table R806.5, air-impermeable insulation of unvented roofs; IRC R702.7, a
Class I or II retarder (1 perm and less) in zones 5 to 8; R702.7 asks for none in zones 1 to 3.
"""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.advice import LeastAdvice, LeastAnswer, Voice
from reviewer.errors import InputError
from reviewer.model.parse import parse_section, section_from_line
from reviewer.remedies.least import least
from reviewer.review import review
from reviewer.units import PERM
from reviewer.variants.judging import Judges

STUDS = {"2x4": "2x4 @ 16 in with R-13 glass fiber batt", "2x6": "2x6 @ 16 in with R-20 glass fiber batt"}
WALL = "latex paint | 1/2 in gypsum board, sealed | {studs} | 7/16 in OSB | house wrap | stucco"
ROOF = "latex paint | 1/2 in gypsum board, sealed | 2x12 @ 16 in with R-38 glass fiber batt | 5/8 in plywood | synthetic underlayment | asphalt shingles"


@pytest.fixture(scope="module")
def judges() -> Judges:
    return Judges()


def by(advice: LeastAdvice, voice: Voice) -> LeastAnswer:
    return next(a for a in advice.answers if a.voice == voice)


def r_of(also: str) -> float:
    found = re.match(r"R-([\d.]+)", also)
    assert found
    return float(found[1])


CLASS_III = [
    ("IRC 2015", "4C", 2.5, 3.75),
    ("IRC 2018", "5A", 5.0, 7.5),
    ("IRC 2018", "6A", 7.5, 11.25),
    ("IRC 2018", "7", 10.0, 15.0),
    ("IRC 2021", "4C", 2.5, 3.75),
    ("IRC 2021", "6A", 7.5, 11.25),
    ("IRC 2021", "7", 10.0, 15.0),
    ("IRC 2021", "8", 12.5, 20.0),
]


@pytest.mark.parametrize(("edition", "zone", "over_2x4", "over_2x6"), CLASS_III)
def test_the_class_iii_table_comes_out(edition: str, zone: str, over_2x4: float, over_2x6: float) -> None:
    judges = Judges(edition=edition)
    for studs, table in (("2x4", over_2x4), ("2x6", over_2x6)):
        section = section_from_line(WALL.format(studs=STUDS[studs]), kind="wall", zone=zone)
        code = by(least(section, "exterior insulation", judges), "code")
        # One step of a hundredth of an inch of such foam is.
        assert table - 0.005 <= r_of(code.also) <= table + 0.055, (edition, zone, studs, code.says)
        assert any("R702.7" in s for s in code.sources)


UNVENTED = [
    ("2A", 5.0),
    ("3A", 5.0),
    ("4A", 15.0),
    ("4C", 10.0),
    ("5A", 20.0),
    ("6A", 25.0),
    ("7", 30.0),
    ("8", 35.0),
]


@pytest.mark.parametrize(("zone", "table"), UNVENTED)
def test_the_table_of_unvented_roofs_comes_out(judges: Judges, zone: str, table: float) -> None:
    section = section_from_line(ROOF, kind="roof", zone=zone)
    for what in ("exterior insulation", "foam share"):
        code = by(least(section, what, judges), "code")
        assert table - 0.05 <= r_of(code.also) <= table + 0.1, code.says
        assert any("R806.5" in s for s in code.sources)


def test_a_retarder_of_class_ii_is_asked_for_from_zone_5_on_and_paint_is_enough_before(
    judges: Judges,
) -> None:
    for zone, asks in (("3A", False), ("5A", True)):
        section = section_from_line(WALL.format(studs=STUDS["2x4"]), kind="wall", zone=zone)
        code = by(least(section, "vapor control", judges), "code")
        assert code.asks == asks, code.says
        if asks:
            assert code.amount == pytest.approx(1.0 * PERM, rel=0.011)
            assert code.stock == "vapor retarder paint"


BASEMENT = (
    "latex paint | 1/2 in gypsum board | 2x4 @ 16 in with R-13 glass fiber batt | 8 in concrete block | soil"
)


def test_foam_against_the_block_of_a_basement_is_as_thick_as_keeps_its_face_above_the_dew_point(
    judges: Judges,
) -> None:
    """The rule of thumb asks for foam between fiber and block at all; the calculation says how much. Held against a
    review of the same wall with the next stock size written in by hand, and with half an inch less than is asked."""
    section = section_from_line(BASEMENT, kind="foundation wall", place="Minneapolis, MN")
    found = least(section, "foam against the masonry", judges)
    assert by(found, "rule of thumb").asks
    assert "foundation/fiber-on-concrete" in {f.rule for f in by(found, "rule of thumb").clears}
    total = by(found, "all together")
    assert total.amount and total.stock

    def rules(foam: str) -> set[str]:
        text = BASEMENT.replace("| 8 in", f"| {foam} extruded polystyrene board, taped | 8 in")
        r = review(section_from_line(text, kind="foundation wall", place="Minneapolis, MN"), judges.rules)
        return {f.rule for f in r.findings if f.severity in ("serious", "caution")}

    stays = {f.rule for f in total.leaves}
    assert rules(total.stock) <= stays
    assert rules(f"{total.amount / 0.0254 - 0.01:.2f} in") - stays == {f.rule for f in total.clears}


ORDER = st.sampled_from(["4C", "5A", "6A", "7"])
CLADDING = st.sampled_from(
    ["stucco", "3/4 in air space vented top and bottom | fiber-cement siding", "vinyl siding"]
)
SHEATHING = st.sampled_from(["7/16 in OSB", "1/2 in plywood"])


@settings(max_examples=4, deadline=None)
@given(
    ORDER, CLADDING, SHEATHING, st.sampled_from(["2x4", "2x6"]), st.sampled_from(["home", "home, ASHRAE 160"])
)
def test_the_amount_clears_and_a_hundredth_of_an_inch_less_does_not(
    zone: str, cladding: str, sheathing: str, studs: str, indoor: str
) -> None:
    judges = Judges()
    before = f"latex paint | 1/2 in gypsum board | {STUDS[studs]} | {sheathing} | house wrap"

    def text(foam: float) -> str:
        layers = [*before.split(" | "), *cladding.split(" | ")]
        if foam:
            layers.insert(5, f"{foam:.2f} in extruded polystyrene board, taped")
        listed = "".join(f"  - {x}\n" for x in layers)
        return f"kind: wall\nzone: {zone}\nindoor: {indoor}\nlayers:\n{listed}"

    def standing(foam: float, voice: str) -> set[str]:
        r = review(parse_section(text(foam)), judges.rules)
        bad = (f for f in r.findings if f.severity in ("serious", "caution"))
        return {f.rule for f in bad if voice in ("all together", f.voice)}

    found = least(parse_section(text(0)), "exterior insulation", judges)
    for a in found.answers:
        stays = {f.rule for f in a.leaves}
        if not a.asks:
            assert standing(0, a.voice) <= stays
        elif a.amount is not None and not a.criterion:
            inches = round(a.amount / 0.0254, 2)
            assert a.shown == f"{inches:.2f} in"
            assert standing(inches, a.voice) <= stays
            assert standing(inches - 0.01, a.voice) - stays == {f.rule for f in a.clears} != set()


def test_the_rule_of_thumb_is_the_share_that_keeps_the_sheathing_at_the_dew_point(judges: Judges) -> None:
    """Share needed by hand: of the coldest month's temperature difference, the part that lies above the dew point."""
    section = section_from_line(WALL.format(studs=STUDS["2x6"]), kind="wall", place="Chicago, IL")
    thumb = by(least(section, "exterior insulation", judges), "rule of thumb")
    r = review(section, judges.rules)
    c = r.calculations
    k = c["monthly"]["months"].index(c["dew_point"]["month"])
    inside, outside = c["monthly"]["indoor"]["temperature"][k], c["monthly"]["outdoor"]["temperature"][k]
    needed = (c["dew_point"]["indoor"] - outside) / (inside - outside)
    said = re.search(r"(\d+) % of the R-value", thumb.criterion)
    assert said and float(said[1]) == pytest.approx(needed * 100, abs=1.0)


def test_where_some_is_worse_than_none_both_are_said(judges: Judges) -> None:
    """Vented cladding over OSB allows Class III by itself (Table R702.7(3), from memory); foam under it does not,
    unless it is thick enough."""
    wall = WALL.format(studs=STUDS["2x6"]).replace("stucco", "vinyl siding")
    code = by(least(section_from_line(wall, kind="wall", zone="5A"), "exterior insulation", judges), "code")
    assert not code.asks and code.once == "1.50 in"


def test_an_amount_that_nobody_knows_or_that_has_no_place_is_one_message(judges: Judges) -> None:
    wall = section_from_line(WALL.format(studs=STUDS["2x4"]), kind="wall", zone="5A")
    with pytest.raises(InputError, match="no amount that --least can vary"):
        least(wall, "exterior insulatoin", judges)
    with pytest.raises(InputError, match="there is no place for foam against the masonry"):
        least(wall, "foam against the masonry", judges)


def test_in_metric_units_the_steps_and_the_sizes_are_metric(judges: Judges) -> None:
    wall = section_from_line(WALL.format(studs=STUDS["2x4"]), kind="wall", zone="5A")
    code = by(least(wall, "exterior insulation", judges, units="si"), "code")
    assert re.fullmatch(r"\d+(\.5)? mm", code.shown) and code.stock == "30 mm"


@pytest.mark.parametrize(
    ("edition", "zone", "table"), [("IRC 2021", "6A", 60), ("IRC 2018", "6A", 49), ("IRC 2021", "2A", 49)]
)
def test_attic_floors_get_the_r_value_of_the_table_for_heat(edition: str, zone: str, table: float) -> None:
    """IRC Tables N1102.1.3 (2021) and N1102.1.2 (2018), ceilings, from memory: the R-value, not the transmittance that may
    stand instead of it and asks for less."""
    line = "latex paint | 1/2 in gypsum board | 4 in loose-fill cellulose | vented attic"
    section = section_from_line(line, kind="roof", zone=zone)
    found = least(section, "loose-fill cellulose", Judges(edition=edition), sizes=True).heat
    assert found is not None
    assert table - 0.2 <= r_of(found.also) < table + 8
