"""Section files to sections. What a key means is this package's own language; the published figures
beside the checks are conversions of units by definition (1 in = 25.4 mm, 1 ft = 0.3048 m)."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.errors import InputError, Mark
from reviewer.model.parse import load_section, parse_layer, parse_section, section_from_line
from reviewer.model.section import Building, Expect, Layer, Place, Section
from reviewer.model.write import same_layer
from reviewer.units import R_IP

GOOD = Path(__file__).parent / "good"
GOOD_FILES = sorted(GOOD.glob("*.yaml"))
IN = 0.0254


def section(text: str, kind: str = "wall", layers: str = "layers: latex paint\n") -> Section:
    return parse_section(f"kind: {kind}\n{layers}{text}", "f.yaml")


def problems(text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        parse_section(text, "f.yaml")
    return [p.message for p in caught.value.problems]


def test_a_whole_file_as_maps():
    s = load_section(GOOD / "street-wall.yaml")
    assert (s.id, s.title, s.kind, s.cooling, s.rain, s.faces) == (
        "street-wall", "Row house, street wall", "wall", True, "moderate", "north",
    )  # fmt: skip
    assert s.place is not None and s.place.name == "Duluth, MN" and s.place.zone is None
    assert s.indoor is not None and s.indoor.name == "home"
    assert s.building == Building(stories=2, year=1962, work="retrofit", code="IRC 2021")
    assert [layer.name for layer in s.layers] == [
        "latex paint", "gypsum board", "polyethylene sheet", "glass fiber batt", "oriented strand board",
        "house wrap", "air space", "fiber-cement siding",
    ]  # fmt: skip
    assert [layer.index for layer in s.layers] == list(range(8))
    poly, batt, gap = s.layers[2], s.layers[3], s.layers[6]
    assert poly.roles == {"vapor control", "air barrier"} and poly.joints == "sealed"
    assert batt.framing is not None and batt.framing.material.id == "spruce"
    assert (batt.framing.width, batt.framing.spacing) == pytest.approx((1.5 * IN, 16 * IN))
    assert batt.framing.depth is None and batt.assumed == ()
    assert (gap.space, gap.vents, gap.material) == ("air", "top and bottom", None)
    (waiver,) = s.waivers
    assert (waiver.rule, waiver.by, waiver.until) == (
        "water-control/no-drainage-gap", "building committee", "2027-06-30",
    )  # fmt: skip
    assert s.marks["layers"].line == 8 and poly.mark.line == 11


def test_a_whole_file_as_strings():
    s = load_section(GOOD / "mews-roof.yaml")
    assert s.id == "mews/roof-a" and s.slope == pytest.approx(4 / 12)
    assert s.place is not None and (s.place.zone, s.place.name) == ("6A", None)
    assert s.indoor is not None and s.indoor.temperature == pytest.approx(((70 - 32) / 1.8,))
    assert s.indoor.humidity == pytest.approx((0.35,))
    assert [layer.name for layer in s.layers] == [
        "latex paint", "gypsum board", "dense-packed cellulose", "unknown sheathing", "asphalt felt",
        "asphalt felt", "asphalt shingle",
    ]  # fmt: skip
    assert s.layers[2].note == "one bay opened" and s.layers[3].unknown
    assert s.known == {"ceiling": "airtight", "overhang": "24 in", "existing damage": "rot at the eaves"}
    assert s.zones_claimed == ("5A", "6A") and s.notes.endswith("not seen.")


def test_a_monthly_climate_and_layers_in_one_line():
    s = load_section(GOOD / "cellar-slab.yaml")
    assert s.depth_below_grade == pytest.approx(6 * 0.3048)
    assert s.place is not None and s.place.monthly is not None and s.place.zone_override == "7"
    assert s.place.monthly["temperature"][0] == -12 and len(s.place.monthly["humidity"]) == 12
    assert s.place.monthly["precipitation"][5] == 105
    assert [layer.name for layer in s.layers][-1] == "soil" and len(s.layers) == 6
    assert s.layers[1].condition == "new"


def test_every_key_has_its_place_in_the_section():
    s = load_section(GOOD / "every-key.yaml")
    assert s.place == Place("46.8, -92.1", None, None, None, s.place.mark if s.place else None, "7")
    assert s.indoor is not None and s.indoor.name == "class 3" and s.indoor.humidity is None
    assert s.indoor.temperature is not None and len(s.indoor.temperature) == 12
    assert s.cooling is False and s.faces == "north-west"
    assert s.building == Building(
        3, 1925, pytest.approx(31 * 0.3048), "addition", "dwelling", "NBC 2020", "balanced", 2.5, "sealed",
        "knob and tube", "balloon",
    )  # fmt: skip
    paint, board, sheet, wool, gap, foam, concrete, soil = s.layers
    assert paint.coats == 2
    assert (
        board.density is not None and board.overrides == {"density"} and board.note == "not down to the floor"
    )
    assert board.density.low == pytest.approx(40 * 16.01846, rel=1e-6)
    assert (
        sheet.permeance_dry and sheet.permeance_wet and sheet.overrides == {"permeance_dry", "permeance_wet"}
    )
    assert wool.thickness is None and wool.thickness_unknown and wool.r_value is not None
    assert wool.framing is not None and wool.framing.fraction == pytest.approx(0.12)
    assert wool.fasteners == "steel clips" and gap.vents == "weep holes"
    assert foam.thickness is not None and (foam.thickness.low, foam.thickness.high) == pytest.approx(
        (0.05, 0.06)
    )
    assert foam.position == "against masonry" and foam.conductivity is not None
    assert concrete.roles == {"structure"} and concrete.not_roles == {"air barrier"}
    assert soil.space == "soil" and s.zones_claimed == ("7",)


@pytest.mark.parametrize(
    ("as_map", "as_text"),
    [
        ("{material: gypsum board, thickness: 1/2 in}", "1/2 in gypsum board"),
        ("{material: polyethylene sheet, thickness: 6 mil, joints: sealed}", "sealed poly, 6 mil"),
        ("{material: polyethylene sheet, thickness: 4 mil}", "4 mil polyethylene"),
        ("{material: glass fiber batt, r_value: R-21, framing: 2x6 @ 16 in}", "R-21 glass fiber batt, 2x6 @ 16 in"),
        ("{material: latex paint, coats: 2}", "latex paint, two coats"),
        ("{space: air, thickness: 3/4 in, vents: top and bottom}", "3/4 in vented air space"),
        ("{space: vented attic}", "attic, ventilated"),
        ("{material: glass fiber batt, r_value: R-13 to R-15}", "R-13 to 15 glass fiber batt"),
        ("{material: glass fiber batt, framing: {material: steel stud, width: 1.625 in, spacing: 16 in, depth: 3.625 in}}", "glass fiber batt; framing = steel stud 1.625 in x 3-5/8 in @ 16 in"),
        ("{material: plywood, thickness: unknown}", "plywood of unknown thickness"),
        ("{material: house wrap, permeance: 50 perm, roles: [not air barrier]}", "house wrap 50 perm; roles = not air barrier"),
        ("{material: variable-permeance retarder, permeance: {dry: 1 perm, wet: 10 perm}}", "variable-permeance retarder; permeance = 1 perm dry, 10 perm wet"),
        ("{material: '? insulation', thickness: 3 in}", "? insulation 3 in"),
        ("{material: plywood, note: 'here; and there'}", "plywood; note = here;; and there"),
        ("{material: glass fiber batt, framing: {material: spruce, width: 1.5 in, spacing: 16 in, depth: 5.5 in}}", "glass fiber batt; framing = spruce 1.5 in x 5.5 in @ 16 in"),
    ],
)  # fmt: skip
def test_a_map_and_a_text_say_the_same(as_map, as_text):
    _, layer = parse_section(f"kind: wall\nlayers:\n  - latex paint\n  - {as_map}\n").layers
    assert same_layer(layer, parse_layer(as_text))
    # The text that stands for a map in reports reads back, too.
    assert same_layer(parse_layer(layer.text), layer)


def test_a_batt_in_members_of_a_known_depth_is_as_deep_as_they_are():
    layer = parse_layer("2x6 @ 16 in with R-21 glass fiber batt")
    assert layer.thickness is not None and layer.thickness.low == pytest.approx(5.5 * IN)
    assert layer.r_value is not None and layer.r_value.low == pytest.approx(21 * R_IP)
    shallow = parse_layer("2x6 @ 16 in with glass fiber batt 3.5 in")
    assert shallow.thickness is not None and shallow.thickness.low == pytest.approx(3.5 * IN)
    assert parse_layer("12 in cellulose, double stud 2x4 @ 24 in").thickness.low == pytest.approx(12 * IN)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("written", "rise_over_run"),
    [("4:12", 4 / 12), ("1/4:12", 0.25 / 12), ("3 in 12", 0.25), ("1/4 in per ft", 0.25 / 12), ("2 %", 0.02),
     ("45 deg", 1.0), ("18°", math.tan(math.radians(18))), ("flat", 0.0), ("'0.25:1'", 0.25)],
)  # fmt: skip
def test_slopes(written, rise_over_run):
    assert section(f"slope: {written}\n", "roof").slope == pytest.approx(rise_over_run)


@pytest.mark.parametrize("written", ["12:0", "-1:12", "90 deg", "0.25", "1000:1"])
def test_slopes_that_are_none(written):
    assert problems(f"kind: roof\nlayers: latex paint\nslope: '{written}'\n") == [
        f'"{written}" is not a slope'
    ]


@pytest.mark.parametrize(
    ("written", "direction"),
    [
        ("N", "north"),
        ("north", "north"),
        ("NE", "north-east"),
        ("south west", "south-west"),
        ("Southwest", "south-west"),
    ],
)
def test_directions(written, direction):
    assert section(f"exposure: {{faces: {written}}}\n").faces == direction


@pytest.mark.parametrize(
    ("written", "changes"), [("3 ACH50", 3.0), ("0.6 ach at 50 Pa", 0.6), ("2.5ach50", 2.5)]
)
def test_air_changes(written, changes):
    assert section(f"building: {{airtightness: {written}}}\n").building.airtightness == changes


@pytest.mark.parametrize("count", [1, 12])
def test_indoor_values_are_one_or_twelve(count):
    values = ", ".join(["21 C"] * count)
    indoor = section(f"indoor: {{temperature: [{values}], humidity: 40 %}}\n").indoor
    assert indoor is not None and indoor.temperature == (21.0,) * count and indoor.humidity == (0.4,)


def test_a_section_may_say_what_a_review_must_come_to():
    s = section("expect: {disposition: incomplete, findings: [a/b], never: [c/d-e]}\n")
    assert s.expect == Expect("incomplete", ("a/b",), ("c/d-e",))
    assert problems("kind: wall\nlayers: latex paint\nexpect: {findings: [A B]}\n") == [
        '"A B" is not the id of a rule'
    ]


def test_one_line_with_its_marks():
    text = "latex paint | 1/2 in gypsum board | ? sheathing"
    s = section_from_line(text, kind="wall", place="Duluth, MN", indoor="Home")
    assert s.layers[1].mark == Mark("<line>", 1, 15, 19, text)
    assert s.place is not None and s.place.name == "Duluth, MN"
    assert s.indoor is not None and s.indoor.name == "home" and s.kind == "wall" and s.id == "section"


@pytest.mark.parametrize(
    ("text", "given", "says"),
    [
        ("latex paint", {}, "the kind of section is not given"),
        ("latex paint", {"kind": "wal"}, 'kind of section can\'t be "wal"'),
        ("latex paint", {"kind": "wall", "place": "X", "zone": "5A"}, "both a place and a zone are given"),
        ("latex paint", {"kind": "wall", "zone": "5Q"}, 'climate zone can\'t be "5Q"'),
        ("", {"kind": "wall"}, "`layers` is without a value"),
        ("latex paint || plywood", {"kind": "wall"}, "a layer is empty"),
        ("latex paint | plywodd", {"kind": "wall"}, 'unknown material "plywodd"'),
        ("soil | plywood", {"kind": "wall"}, "a layer after soil, where the section ends"),
    ],
)
def test_one_line_and_what_can_be_wrong_with_it(text, given, says):
    with pytest.raises(InputError) as caught:
        section_from_line(text, **given)
    assert says in [p.message for p in caught.value.problems]


def test_a_line_that_says_what_is_not_there():
    s = section_from_line("latex paint | plywood | no cladding", kind="wall")
    assert s.absent == ("cladding",) and len(s.layers) == 2
    with pytest.raises(InputError, match="no layers"):
        section_from_line("no cladding", kind="wall")


def test_a_layer_by_itself_is_one_layer():
    assert parse_layer("plywood", 3).index == 3
    for text in ("no cladding", "two layers of plywood"):
        with pytest.raises(InputError):
            parse_layer(text)


def test_the_id_comes_from_the_file_when_none_is_given():
    assert parse_section("kind: wall\nlayers: latex paint\n", "details/east wall.yaml").id == "east wall"
    assert parse_section("kind: wall\nlayers: latex paint\n", "-").id == "-"


def test_independent_problems_are_reported_together_in_the_order_of_the_text():
    text = (
        "kind: wal\nlayers:\n  - plywodd\n  - {material: plywood, joints: tapped, thickness: 3}\nplase: x\n"
    )
    with pytest.raises(InputError) as caught:
        parse_section(text, "f.yaml")
    marks = [(p.mark.line, p.mark.column) for p in caught.value.problems if p.mark]
    assert len(marks) == 5 and marks == sorted(marks)


@pytest.mark.parametrize(
    "until",
    [
        "2027-6-30",
        "27-06-30",
        "2027-13-01",
        "2027-02-29",
        "2027-06-30T00:00",
        "never",
        "20270630",
        "２０２７-06-30",
    ],
)
def test_waivers_with_a_malformed_date_fail_closed(until):
    text = (
        f"kind: wall\nlayers: latex paint\nwaivers:\n  - {{rule: a/b, reason: r, by: b, until: '{until}'}}\n"
    )
    assert problems(text) == [f'"{until}" is not a date']


@pytest.mark.parametrize(("count", "fits"), [(100, True), (101, False)])
def test_a_hundred_layers_and_no_more(count, fits):
    text = "kind: wall\nlayers:\n" + "  - latex paint\n" * count
    if fits:
        assert len(parse_section(text).layers) == count
    else:
        assert problems(text) == ["101 layers"]


def test_layers_that_stand_for_several_count_singly():
    assert problems("kind: wall\nlayers:\n" + "  - two layers of plywood\n" * 51) == ["102 layers"]


def test_a_section_is_a_value():
    text = (GOOD / "street-wall.yaml").read_text(encoding="utf-8")
    assert parse_section(text, "a.yaml") == parse_section(text, "a.yaml")
    first = parse_section(text, "a.yaml").layers[0]
    with pytest.raises(AttributeError):
        first.index = 3  # type: ignore[misc]
    assert isinstance(replace(first, index=3), Layer)


mutations = st.tuples(
    st.sampled_from(GOOD_FILES),
    st.floats(0, 1),
    st.integers(0, 12),
    st.text("abc:-[]{}#'\"|?\n ;=@0159.,/%é½", max_size=4)
    | st.sampled_from(["null", "- ", "{}", "[]", "nan", "&a ", "\t"]),
)


@settings(max_examples=250, deadline=None)
@given(st.lists(mutations, min_size=1, max_size=3))
def test_a_mutated_file_is_a_section_or_has_located_problems(changes):
    text = changes[0][0].read_text(encoding="utf-8")
    for _, where, length, put in changes:
        at = int(where * len(text))
        text = text[:at] + put + text[at + length :]
    check_total(text)


def check_total(text: str) -> None:
    try:
        found: list | tuple = parse_section(text, "f.yaml").layers
        assert found
    except InputError as error:
        found = error.problems
    assert found
    assert all(item.mark is not None and item.mark.file == "f.yaml" and item.mark.line >= 1 for item in found)


words = st.sampled_from(
    ["kind", "layers", "place", "zone", "indoor", "building", "waivers", "material", "space", "framing", "permeance",
     "thickness", "roles", "known", "monthly", "temperature", "zones", "rule", "until", "title", "exposure", "weather"]
)  # fmt: skip
values = st.sampled_from(
    [
        "wall",
        "plywood",
        "1/2 in",
        "~",
        "5A",
        "yes",
        "3",
        "2x6 @ 16",
        "nan",
        "soil",
        "a/b",
        "[]",
        "? x",
        "40 %",
        "latex paint | plywood",
    ]
)
random_trees = st.recursive(
    values,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(words, inner, max_size=6),
    max_leaves=20,
)


def flow(tree) -> str:
    if isinstance(tree, dict):
        return "{" + ", ".join(f"{k}: {flow(v)}" for k, v in tree.items()) + "}"
    if isinstance(tree, list):
        return "[" + ", ".join(map(flow, tree)) + "]"
    return tree


@settings(max_examples=250, deadline=None)
@given(st.dictionaries(words, random_trees, max_size=8))
def test_a_random_tree_is_a_section_or_has_located_problems(tree):
    check_total("".join(f"{name}: {flow(value)}\n" for name, value in tree.items()) or "{}")
