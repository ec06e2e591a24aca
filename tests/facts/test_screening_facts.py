"""Facts for screening rules: drying reserve, corners, fastenings, service temperatures, the insulation table."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.facts.build import build
from reviewer.model.parse import parse_section
from reviewer.physics.condensation import DIN_4108_3
from reviewer.units import PERM, R_IP


def facts(layers: list, kind: str = "wall", place: str = "Chicago, IL", **more: object) -> list:
    text = json.dumps({"kind": kind, "place": place, "indoor": "home", "layers": layers, **more})
    return build(parse_section(text, "<test>"))[0].facts()


def only(found: list, kind: str) -> dict:
    return next(dict(f.fields) for f in found if f.kind == kind)


def layer(found: list, index: int) -> dict:
    return next(dict(f.fields) for f in found if f.kind == "layer" and f.fields["index"] == index)


def asked(found: list) -> dict | None:
    return next(
        (
            dict(f.fields)
            for f in found
            if f.kind == "requirement" and f.fields["topic"] == "prescriptive resistance"
        ),
        None,
    )


FRAMED = ["latex paint", "1/2 in gypsum board", "2x6 @ 16 in with R-20 glass fiber batt"]


# Drying reserve. DIN 4108-3:2018 Annex A (from memory of the document): in 90 days 1200 Pa on both sides and
# 1700 Pa at the plane in walls, 2000 Pa in roofs; the reserve is evaporation less condensation.


@pytest.mark.parametrize(("kind", "drive"), [("wall", 500.0), ("roof", 800.0)])
def test_drying_reserve_is_the_hand_calculation_where_nothing_condenses(kind: str, drive: float) -> None:
    inner, outer = 0.5, 2.0
    board = {"material": "plywood", "thickness": "1/2 in", "r_value": "R-10"}
    layers = [board | {"permeance": {"dry": f"{w} perm", "wet": f"{w} perm"}} for w in (inner, outer)]
    found = facts(layers, kind=kind, **({"slope": "6:12"} if kind == "roof" else {}))
    by_hand = drive * (inner + outer) * PERM * 90 * 86400
    assert only(found, "section")["drying_reserve"] == pytest.approx(by_hand, rel=1e-6)
    assert DIN_4108_3.saturation_drying[kind] - DIN_4108_3.p_drying == drive


@settings(max_examples=15, deadline=None)
@given(st.floats(0.05, 5.0), st.floats(1.05, 4.0))
def test_drying_reserve_grows_with_an_opener_outer_layer(perms: float, factor: float) -> None:
    def reserve(w: float) -> float:
        cover = {"material": "house wrap", "permeance": {"dry": f"{w} perm", "wet": f"{w} perm"}}
        found = facts([*FRAMED[:2], "6 mil polyethylene", FRAMED[2], cover])
        return only(found, "section")["drying_reserve"]

    assert reserve(perms * factor) > reserve(perms)


# Corners. The single block of 0.2 m and 0.2 W/(m·K) between films of 0.25 and 0.04 m²·K/W: derived by the
# field calculation that reproduces ISO 10211 case A.1 (tests/published).


def test_corner_factor_is_that_of_the_field_calculation() -> None:
    block = {"material": "concrete block", "thickness": "200 mm", "conductivity": "0.2 W/(m K)"}
    s = only(facts([block]), "section")
    assert s["corner_factor"] == pytest.approx(0.66, abs=0.005)
    assert s["corner_factor"] < s["temperature_factor"]
    assert s["corner_factor_margin"] == pytest.approx(s["corner_factor"] - s["temperature_factor_needed"])


def test_corner_is_colder_with_solid_framing_in_it() -> None:
    framed = only(facts([*FRAMED, "7/16 in OSB", "house wrap", "vinyl siding"]), "section")
    plain = only(
        facts([*FRAMED[:2], "5.5 in glass fiber batt", "7/16 in OSB", "house wrap", "vinyl siding"]),
        "section",
    )
    assert framed["corner_factor"] < plain["corner_factor"]


def test_corners_are_for_walls_to_the_outdoor_air() -> None:
    assert "corner_factor" not in only(
        facts(["1/2 in gypsum board", "8 in concrete", "soil"], kind="foundation wall"), "section"
    )


# Fastenings, fit in the framing, openings that are stated


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("vertical Z-girts", "metal girts"),
        ("girts on thermally broken clips", "thermally broken clips"),
        ("stainless brackets", "metal clips"),
        ("long screws through strapping", "screws"),
        ("brick ties @ 16 in", "ties"),
        ("adhesive dabs", "other"),
    ],
)
def test_fastening_is_read_from_its_words(words: str, kind: str) -> None:
    found = facts(
        ["8 in concrete block", {"material": "mineral wool board", "thickness": "3 in", "fasteners": words}]
    )
    assert layer(found, 1)["fastening"] == kind


def test_overfilled_and_underfilled_measure_against_the_members() -> None:
    def batt(thickness: str) -> dict:
        framing = {"material": "spruce", "width": "1.5 in", "spacing": "16 in", "depth": "5.5 in"}
        return layer(facts([{"material": "glass fiber batt", "thickness": thickness, "framing": framing}]), 0)

    assert batt("3.5 in")["underfilled"] == pytest.approx(2 * 0.0254)
    assert batt("3.5 in")["overfilled"] == 0.0
    assert batt("6 in")["overfilled"] == pytest.approx(0.5 * 0.0254)
    assert batt("6 in")["underfilled"] == 0.0


def test_openings_count_as_stated_only_where_they_are() -> None:
    def gap(**more: str) -> dict:
        return layer(
            facts([*FRAMED, "7/16 in OSB", {"space": "air", "thickness": "3/4 in"} | more, "wood siding"]), 4
        )

    assert gap()["vents_stated"] == "no"
    assert gap(vents="none")["vents_stated"] == "yes"


# Service temperature


def test_outermost_foam_is_as_hot_as_the_roof_over_it() -> None:
    found = facts(
        ["steel deck", "4 in expanded polystyrene", "EPDM membrane"], kind="roof", place="Phoenix, AZ"
    )
    # The library's limit of expanded polystyrene is 75 °C (common practice, no published source).
    assert layer(found, 1)["service_margin_hot"] == pytest.approx(
        75.0 - only(found, "sun")["cladding_peak"], abs=0.5
    )


def test_behind_a_ventilated_space_foam_is_near_the_air() -> None:
    open_, closed = (
        facts(
            [
                "8 in concrete block",
                "3 in expanded polystyrene",
                {"space": "air", "thickness": "1 in", "vents": v},
                "wood siding",
            ]
        )
        for v in ("top and bottom", "none")
    )
    assert layer(open_, 1)["service_margin_hot"] > layer(closed, 1)["service_margin_hot"]


# Thermal barrier: IRC R316.4 (from memory): 1/2 in gypsum board or 23/32 in wood structural panel


@pytest.mark.parametrize(
    ("cover", "holds"),
    [
        ("1/2 in gypsum board", "yes"),
        ("3/8 in gypsum board", "no"),
        ("3/4 in plywood", "yes"),
        ("1/2 in plywood", "no"),
    ],
)
def test_thermal_barrier_over_foam(cover: str, holds: str) -> None:
    s = only(
        facts([cover, "2 in extruded polystyrene", "8 in concrete", "soil"], kind="foundation wall"),
        "section",
    )
    assert s["has_thermal_barrier"] == holds
    assert s["foam_exposed"] == "no"


def test_new_wood_is_not_soaked_and_wet_wood_is() -> None:
    def wood(condition: str) -> dict:
        panel = {"material": "plywood", "thickness": "1/2 in", "condition": condition}
        return layer(facts([*FRAMED, panel, "house wrap", "vinyl siding"]), 3)

    assert "months_to_dry" not in wood("new")
    assert wood("wet")["months_to_dry"] > 0


def test_distance_to_the_property_line_is_a_length_or_unknown() -> None:
    said = {"property line": "3 ft"}
    assert only(facts(FRAMED, known=said), "section")["property_line"] == pytest.approx(0.9144)
    text = json.dumps(
        {"kind": "wall", "place": "Chicago, IL", "layers": FRAMED, "known": {"property line": "near"}}
    )
    book = build(parse_section(text, "<test>"))[0]
    assert "property_line" in next(r for r in book.records if r.kind == "section").unknown


# The prescriptive table. IRC Table N1102.1.2 (2015, 2018) and N1102.1.3 (2021), from memory of the documents.


@pytest.mark.parametrize(
    ("edition", "place", "batt", "board", "met"),
    [
        ("IRC 2018", "Chicago, IL", "R-20", None, "yes"),
        ("IRC 2018", "Chicago, IL", "R-19", None, "no"),
        ("IRC 2018", "Minneapolis, MN", "R-20", None, "no"),
        ("IRC 2018", "Minneapolis, MN", "R-20", "R-5", "yes"),
        ("IRC 2021", "Chicago, IL", "R-20", None, "no"),
        ("IRC 2021", "Chicago, IL", "R-20", "R-5", "yes"),
        ("IRC 2021", "Chicago, IL", "R-13", "R-10", "yes"),
        ("IRC 2021", "Houston, TX", "R-13", None, "yes"),
        ("IRC 2021", "Atlanta, GA", "R-13", None, "no"),
        ("IRC 2021", "Atlanta, GA", "R-13", "R-5", "yes"),
    ],
)
def test_walls_against_the_prescriptive_table(
    edition: str, place: str, batt: str, board: str | None, met: str
) -> None:
    cover = [{"material": "extruded polystyrene", "thickness": "1 in", "r_value": board}] if board else []
    found = asked(
        facts(
            [*FRAMED[:2], f"2x6 @ 16 in with {batt} glass fiber batt", "7/16 in OSB", *cover, "vinyl siding"],
            place=place,
            building={"code": edition},
        )
    )
    assert found is not None
    assert found["met"] == met
    assert (found["r_short"] <= 0.02) == (met == "yes")


def test_shortfall_is_to_the_nearest_option() -> None:
    found = asked(
        facts(
            [*FRAMED[:2], "2x6 @ 16 in with R-19 glass fiber batt", "vinyl siding"],
            building={"code": "IRC 2021"},
        )
    )
    assert found is not None
    assert found["r_short"] == pytest.approx(6 * R_IP, rel=1e-6)
    assert found["option"] == "R-20 and R-5 continuous"


def test_no_table_for_mass_walls_steel_studs_and_other_codes() -> None:
    steel = {
        "material": "glass fiber batt",
        "thickness": "3.5 in",
        "framing": {"material": "steel stud", "width": "1.25 in", "spacing": "16 in"},
    }
    assert asked(facts(["1/2 in gypsum board", steel, "1/2 in plywood", "vinyl siding"])) is None
    assert (
        asked(facts([*FRAMED, {"material": "clay brick", "thickness": "8 in", "roles": ["structure"]}]))
        is None
    )
    assert asked(facts([*FRAMED, "1/2 in plywood", "vinyl siding"], building={"code": "IBC 2021"})) is None


@pytest.mark.parametrize(
    ("layers", "known", "met"),
    [
        (["4 in concrete", "1 in extruded polystyrene board", "4 in gravel bed"], "pipes", "yes"),
        (["4 in concrete", "1 in expanded polystyrene board", "4 in gravel bed"], "pipes", "no"),
        (["2 in extruded polystyrene board", "4 in concrete", "4 in gravel bed"], "pipes", "no"),
        (["4 in concrete", "4 in gravel bed"], "none", None),
    ],
)
def test_r_5_lies_under_a_heated_slab_and_what_lies_over_it_does_not_count(
    layers: list, known: str, met: str | None
) -> None:
    """IRC 2021 Table N1102.1.3, note on heated slabs: R-5 under the full slab area (from memory)."""
    found = asked(facts(layers, "slab", known={"floor heating": known}))
    assert (found["met"] if found else None) == met


@pytest.mark.parametrize(
    ("place", "stated", "exposure"),
    [
        ("Tofino, BC", None, "high"),
        ("Mobile, AL", None, "high"),
        ("Boston, MA", None, "moderate"),
        ("Tofino, BC", "low", "low"),
        ("Tucson, AZ", "severe", "severe"),
    ],
)
def test_walls_in_rainy_places_are_taken_for_exposed_unless_it_is_stated(
    place: str, stated: str | None, exposure: str
) -> None:
    """Common practice: 1.5 m of precipitation a year and more makes a place of driving rain."""
    more = {"exposure": {"rain": stated}} if stated else {}
    found = build(
        parse_section(
            json.dumps({"kind": "wall", "place": place, "layers": [*FRAMED, "7/16 in OSB"], **more})
        )
    )[0]
    head = next(r for r in found.records if r.kind == "section")
    assert head.fields["rain"] == exposure
    assert any(a.what == f"{exposure} driving rain" for a in found.assumptions) == (stated is None)
