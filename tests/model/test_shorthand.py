"""Layers in words. What a text means is common practice of the trade, no published source; the dressed
sizes of lumber are those of the American Softwood Lumber Standard PS 20-20, Tables 1 and 3 (from memory)."""

from __future__ import annotations

import itertools
import re
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.library.materials import aliases, load_materials
from reviewer.model.lexicon import library_lexicon
from reviewer.model.shorthand import read_words
from reviewer.model.wording import (
    ASSUMED_FURRING_WIDTH,
    ASSUMED_I_JOIST,
    ASSUMED_LUMBER,
    ASSUMED_PAINT,
    ASSUMED_SPACING,
    ASSUMED_STEEL_WIDTH,
    ASSUMED_TRUSS_SPACING,
    ASSUMED_WIDTH,
    LUMBER,
)
from reviewer.units import R_IP, Span

IN = 0.0254
FT = 0.3048


def one(text: str) -> dict:
    words = read_words(text)
    assert not words.flaws, words.flaws
    (layer,) = words.layers
    return dict(layer)


def inches(low: float, high: float | None = None):
    return pytest.approx((low * IN, (low if high is None else high) * IN), rel=1e-12)


def ends(span: Span | None):
    return None if span is None else (span.low, span.high)


@pytest.mark.parametrize(
    ("text", "name", "thickness", "rest"),
    [
        ("1/2 in gypsum board", "gypsum board", 1 / 2, {}),
        ("gypsum board 1/2 in", "gypsum board", 1 / 2, {}),
        ("gypsum board, 1/2 inch thick", "gypsum board", 1 / 2, {}),
        ('½" drywall', "gypsum board", 1 / 2, {}),
        ("half inch drywall", "gypsum board", 1 / 2, {}),
        ("7/16 OSB", "oriented strand board", 7 / 16, {}),
        ("1-1/2 in. extruded polystyrene board", "extruded polystyrene board", 1.5, {}),
        ("2 1/2 in XPS", "extruded polystyrene board", 2.5, {}),
        ("6 mil polyethylene sealed", "polyethylene sheet", 0.006, {"joints": "sealed"}),
        ("polyethylene 6 mil taped", "polyethylene sheet", 0.006, {"joints": "taped"}),
        ("6mil poly, lapped and taped", "polyethylene sheet", 0.006, {"joints": "taped"}),
        ("sealed 6-mil poly vapor barrier", "polyethylene sheet", 0.006, {"joints": "sealed"}),
        ("house wrap, stapled", "house wrap", None, {"joints": "stapled"}),
        ("housewrap untaped", "house wrap", None, {"joints": "unsealed"}),
        ("latex paint, 2 coats", "latex paint", None, {"coats": 2}),
        ("two coats of latex paint", "latex paint", None, {"coats": 2}),
        ('2" foil-faced polyiso, taped seams', "foil-faced polyisocyanurate board", 2, {"joints": "taped"}),
        ("mould-resistant drywall 5/8 in", "moisture-resistant gypsum board", 5 / 8, {}),
        ("concrete 8 in, damp, existing", "concrete", 8, {"condition": "damp"}),
        ("rotten plywood 3/4 in", "plywood", 3 / 4, {"condition": "damaged"}),
        ("closed-cell spray foam 2 in against the concrete", "closed-cell spray foam", 2, {"position": "against masonry"}),
        ("mineral wool board 3 in with metal girts @ 24 in", "mineral wool board", 3, {"fasteners": "metal girts @ 24 in"}),
        ("mineral wool board sheathing 1 in", "mineral wool board", 1, {"roles": frozenset({"sheathing"})}),
        ("plywood 1/2 in, air barrier", "plywood", 1 / 2, {"roles": frozenset({"air barrier"})}),
        ("5/8 plywood (delaminated at the eaves)", "plywood", 5 / 8, {"note": "delaminated at the eaves"}),
        ("dense-packed cellulose of unknown thickness", "dense-packed cellulose", None, {"thickness_unknown": True}),
        ("15 lb felt", "asphalt felt", None, {}),
        ("#15 felt, lapped", "asphalt felt", None, {"joints": "lapped"}),
        ("1x6 sheathing", "board sheathing", None, {}),
        ("2x6 tongue and groove deck", "board sheathing", 1.5, {}),
        ("dense pack cellulose 5.5 in (3.5 pcf)", "dense-packed cellulose", 5.5, {"density": Span(*2 * (3.5 * 16.01846337,))}),
        ("plywood 3/4 in (existing)", "plywood", 3 / 4, {"condition": "existing"}),
        ("XPS R-5ci", "extruded polystyrene board", None, {"r_value": Span(*2 * (5 * R_IP,))}),
        ("metal deck, 22 ga", "steel deck", None, {"note": "22 ga"}),
        ("CLT 5-ply, 6-7/8 in", "cross-laminated timber", 6.875, {"note": "5-ply"}),
        ("exterior plywood", "plywood", None, {}),
        ("new concrete 4 in", "concrete", 4, {"condition": "new"}),
        ("tapered polyiso 2 to 6 in", "polyisocyanurate board", (2, 6), {}),
    ],
)  # fmt: skip
def test_one_layer_in_the_words_of_the_trade(text, name, thickness, rest):
    layer = one(text)
    assert layer.pop("material").id == layer.pop("name") == name
    low_high = thickness if isinstance(thickness, tuple) else (thickness,)
    assert ends(layer.pop("thickness", None)) == (None if thickness is None else inches(*low_high))
    assert layer == rest


@pytest.mark.parametrize(
    ("text", "field", "low", "high"),
    [
        ("140 mm mineral wool", "thickness", 0.140, 0.140),
        ("8 to 12 in cellulose", "thickness", 8 * IN, 12 * IN),
        ("8-12 in cellulose", "thickness", 8 * IN, 12 * IN),
        ("8 in to 1 ft cellulose", "thickness", 8 * IN, 1 * FT),
        ("R-10 XPS", "r_value", 10 * R_IP, 10 * R_IP),
        ("R21 fiberglass batt", "r_value", 21 * R_IP, 21 * R_IP),
        ("RSI 3.7 mineral wool", "r_value", 3.7, 3.7),
        ("R-13 to R-15 fiberglass batts", "r_value", 13 * R_IP, 15 * R_IP),
        # R per inch is thickness over conductivity, so λ = 1 in / R.
        ("open cell spray foam 5.5 in, R-3.7/in", "conductivity", IN / (3.7 * R_IP), IN / (3.7 * R_IP)),
        ("mineral wool board 0.034 W/(m K)", "conductivity", 0.034, 0.034),
        ("dense-packed cellulose 3.5 pcf", "density", 3.5 * 16.01846337, 3.5 * 16.01846337),
        ("house wrap 50 perms", "permeance_dry", 50 * 5.721349e-11, 50 * 5.721349e-11),
        ("house wrap 50 perms", "permeance_wet", 50 * 5.721349e-11, 50 * 5.721349e-11),
        (
            "variable-permeance retarder 1 perm dry, 10 perm wet",
            "permeance_wet",
            10 * 5.721349e-11,
            10 * 5.721349e-11,
        ),
        ("house wrap sd 0.02 m", "permeance_dry", 2e-10 / 0.02, 2e-10 / 0.02),
        ("kraft paper 57 ng/(s m2 Pa) dry", "permeance_dry", 57e-12, 57e-12),
    ],
)
def test_quantities_are_read_in_any_unit_of_the_trade(text, field, low, high):
    assert ends(one(text)[field]) == pytest.approx((low, high), rel=1e-6)


@pytest.mark.parametrize(
    ("text", "filling", "width", "spacing", "depth", "pattern", "fraction", "assumed"),
    [
        ("2x6 @ 16 in with R-21 glass fiber batt", "glass fiber batt", 1.5, 16, 5.5, "single", None, (ASSUMED_LUMBER,)),
        ("glass fiber batt 5.5 in framed 2x6@16", "glass fiber batt", 1.5, 16, 5.5, "single", None, (ASSUMED_LUMBER,)),
        ('2x4 studs 16" o.c. w/ R13 kraft faced fiberglass', "kraft-faced glass fiber batt", 1.5, 16, 3.5, "single", None, (ASSUMED_LUMBER,)),
        ("2x10 rafters, 24 in on center, dense-packed cellulose", "dense-packed cellulose", 1.5, 24, 9.25, "single", None, (ASSUMED_LUMBER,)),
        ("2x6 spruce studs @ 16 in, 25 % framing, mineral wool", "mineral wool batt", 1.5, 16, 5.5, "single", 0.25, ()),
        ("2x6 with cellulose", "dense-packed cellulose", 1.5, 16, 5.5, "single", None, (ASSUMED_LUMBER, ASSUMED_SPACING)),
        ("dense-packed cellulose 12 in double stud", "dense-packed cellulose", 1.5, 16, None, "double stud", None, (ASSUMED_LUMBER, ASSUMED_WIDTH, ASSUMED_SPACING)),
        ("dense-packed cellulose 14 in in trusses", "dense-packed cellulose", 1.5, 24, None, "truss", None, (ASSUMED_LUMBER, ASSUMED_WIDTH, ASSUMED_TRUSS_SPACING)),
        ("steel studs 3-5/8 in @ 16 with R-13 glass fiber batt", "glass fiber batt", 1.625, 16, 3.625, "single", None, (ASSUMED_STEEL_WIDTH,)),
        ('R-13 fiberglass batt in 3-5/8" steel studs at 16" o.c.', "glass fiber batt", 1.625, 16, 3.625, "single", None, (ASSUMED_STEEL_WIDTH,)),
        ("1x3 furring / strapping", "air space", 2.5, 16, 0.75, "single", None, (ASSUMED_LUMBER, ASSUMED_SPACING)),
        ("furring @ 16 in", "air space", 2.5, 16, None, "single", None, (ASSUMED_LUMBER, ASSUMED_FURRING_WIDTH)),
        ("double 2x4 wall @ 24, 12 in cellulose", "dense-packed cellulose", 1.5, 24, 3.5, "double stud", None, (ASSUMED_LUMBER,)),
        ("9-1/2 in I-joists @ 16 with cellulose", "dense-packed cellulose", 1.5, 16, 9.5, "single", None, (ASSUMED_I_JOIST,)),
        ("empty 2x4 cavity @ 16", "air space", 1.5, 16, 3.5, "single", None, (ASSUMED_LUMBER,)),
    ],
)  # fmt: skip
def test_framing_is_read_and_what_is_taken_for_granted_is_listed(
    text, filling, width, spacing, depth, pattern, fraction, assumed
):
    layer = one(text)
    framing = layer["framing"]
    assert layer["name"] == filling
    assert (framing.width, framing.spacing) == pytest.approx((width * IN, spacing * IN))
    assert framing.depth == (None if depth is None else pytest.approx(depth * IN))
    assert (framing.pattern, framing.fraction) == (pattern, fraction)
    assert framing.material.family == ("metal" if "steel" in text else "wood")
    assert layer.get("assumed", ()) == assumed


def test_metric_members_are_as_they_are_written():
    framing = one("38x140 mm studs @ 400 with mineral wool")["framing"]
    assert (framing.width, framing.depth, framing.spacing) == pytest.approx((0.038, 0.140, 0.400))


@pytest.mark.parametrize(
    ("nominal", "thickness", "width"),
    [((1, 2), 0.75, 1.5), ((1, 3), 0.75, 2.5), ((1, 4), 0.75, 3.5), ((1, 6), 0.75, 5.5), ((1, 8), 0.75, 7.25),
     ((2, 2), 1.5, 1.5), ((2, 3), 1.5, 2.5), ((2, 4), 1.5, 3.5), ((2, 6), 1.5, 5.5), ((2, 8), 1.5, 7.25),
     ((2, 10), 1.5, 9.25), ((2, 12), 1.5, 11.25), ((2, 14), 1.5, 13.25), ((4, 4), 3.5, 3.5), ((6, 6), 5.5, 5.5)],
)  # fmt: skip
def test_lumber_has_its_dressed_size(nominal, thickness, width):
    assert LUMBER[nominal] == pytest.approx((thickness * IN, width * IN))


@pytest.mark.parametrize(
    ("text", "space", "vents", "thickness"),
    [
        ("ventilated air space 3/4 in", "air", "top and bottom", 0.75),
        ('3/4" vented rainscreen gap', "air", "top and bottom", 0.75),
        ("air gap 1 in open at the bottom", "air", "bottom only", 1),
        ("1 in drained cavity", "air", "bottom only", 1),
        ("air space 1 in with weep holes", "air", "weep holes", 1),
        ("unvented air space 20 mm", "air", "none", 20 / 25.4),
        ("sealed air space, 3/4 in", "air", "none", 0.75),
        ("air space 3/8 in", "air", None, 0.375),
        ("2 in vent channel", "air", "top and bottom", 2),
        ("outdoor air", "outdoor air", None, None),
        ("exterior", "outdoor air", None, None),
        ("attic (vented)", "vented attic", None, None),
        ("air cavity 2 inches vented top & bottom", "air", "top and bottom", 2),
        ("1 in cavity, weeps at the base", "air", "weep holes", 1),
        ("soil", "soil", None, None),
        ("undisturbed soil", "soil", None, None),
        ("crawl space vented", "vented crawl space", None, None),
        ("conditioned crawlspace", "unvented crawl space", None, None),
        ("vented attic", "vented attic", None, None),
        ("unventilated attic", "unvented attic", None, None),
        ("unheated basement", "unheated space", None, None),
        ("attached garage", "garage", None, None),
    ],
)
def test_spaces_and_surroundings(text, space, vents, thickness):
    layer = one(text)
    assert layer["space"] == space
    assert layer["name"] == ("air space" if space == "air" else space)
    assert layer.get("vents") == vents
    assert ends(layer.get("thickness")) == (None if thickness is None else inches(thickness))


@pytest.mark.parametrize(
    ("text", "name"),
    [("? sheathing", "unknown sheathing"), ("unknown insulation 3.5 in", "unknown insulation"),
     ("insulation, unknown, damp", "unknown insulation"), ("?", "unknown layer"), ("unidentified board, old", "unknown board")],
)  # fmt: skip
def test_what_is_not_known_may_be_said(text, name):
    layer = one(text)
    assert layer["unknown"] is True and layer["name"] == name and "material" not in layer


def test_what_is_not_there_may_be_said():
    assert read_words("no cladding").absent == "cladding" and read_words("no cladding").layers == ()


def test_some_texts_stand_for_several_layers():
    names = [layer["name"] for layer in read_words("brick veneer with 1 in air space").layers]
    assert names == ["air space", "brick veneer"]
    assert names == [layer["name"] for layer in read_words("1 in air space behind brick veneer").layers]
    boards = read_words("two layers of 5/8 drywall").layers
    assert [b["name"] for b in boards] == ["gypsum board"] * 2
    painted = read_words("painted drywall, 2 coats").layers
    assert [p["name"] for p in painted] == ["latex paint", "gypsum board"]
    assert painted[0]["coats"] == 2 and painted[0]["assumed"] == (ASSUMED_PAINT,)
    siding = read_words("painted fiber-cement siding").layers
    assert [p["name"] for p in siding] == ["fiber-cement siding", "latex paint"]


def test_one_over_another_follows_the_side_on_which_the_first_lies():
    roof = read_words("asphalt shingles over two layers of 15 lb felt over 1/2 in plywood").layers
    assert [r["name"] for r in roof] == ["plywood", "asphalt felt", "asphalt felt", "asphalt shingle"]
    floor = read_words("hardwood floor over 3/4 in plywood").layers
    assert [f["name"] for f in floor] == ["wood flooring", "plywood"]
    assert "two layers in one" in read_words("plywood over OSB").flaws[0].message


@pytest.mark.parametrize(
    ("text", "about", "says", "near"),
    [
        ("1/2 in gypsun board", "gypsun board", "unknown material", "gypsum board"),
        ("1/2 in gypsum board, sealled", "sealled", "says nothing about gypsum board", "sealed"),
        ("12 gypsum board", "12", "has no unit", ""),
        ("gypsum board 1/2 in 5/8 in", "5/8 in", "a second thickness", ""),
        ("gypsum board and plywood", "plywood", "two layers in one", ""),
        ("glass fiber batt @ 16 in", "@ 16 in", "a spacing without framing", ""),
        ("glass fiber batt, 25 %", "25 %", "a share without framing", ""),
        ("2x7 with glass fiber batt", "2x7", "not a size of lumber", ""),
        ("2x4 studs @ 1 in with glass fiber batt", "@ 1 in", "leave no room", ""),
        ("4 in polyiso, two layers", "two layers", "thickness that of one layer, or of all", ""),
        ("vented plywood", "vented", "only an air space is vented", ""),
        ("plywood sealed unsealed", "unsealed", 'contradicts "sealed"', ""),
        ("plywood new existing", "existing", 'contradicts "new"', ""),
        ("plywood 0.5 perm-in", "0.5 perm-in", "a permeability does not say", ""),
        ("plywood ééé", "ééé", "says nothing about plywood", ""),
        ("plywood one very long story of it", "one very long story of it", "5 words say nothing", ""),
        ("plywood @", "@", "says nothing about plywood", ""),
        ("R-1/0 glass fiber batt", "R-1/0", "is not a number", ""),
        ("1/0 in plywood", "1/0 in", "is not a number", ""),
        ("sd 1/0 m house wrap", "sd 1/0 m", "is not a number", ""),
        ("R-1/0 per inch XPS", "R-1/0 per inch", "is not a number", ""),
        ("1/0 plywood", "1/0", "is not a number", ""),
        ("2x4 @ 1/0 with glass fiber batt", "@ 1/0", "is not a number", ""),
        ("R-15 to R-13 glass fiber batt", "R-15 to R-13", "runs downwards", ""),
        ("2x4 studs 16 in o.c.", "2x4 studs 16 in o.c.", "what lies between the members", ""),
        ("attic", "attic", "vented or unvented attic?", ""),
        ("vapor barrier", "vapor barrier", "says what it is for", ""),
        ("R-13", "R-13", "does not say what it is", ""),
        ("3 ft soil", "3 ft soil", "soil is the surroundings", ""),
        ("plywood 11 m", "plywood 11 m", "thick", ""),
        ("plywood 0 mm", "plywood 0 mm", "without thickness", ""),
        ("none", "none", "what is not there", ""),
        ("", "", "without words", ""),
        ("x " * 300, None, "more than 500 characters", ""),
    ],
)  # fmt: skip
def test_every_word_must_be_accounted_for(text, about, says, near):
    flaws = read_words(text).flaws
    hits = [f for f in flaws if says in f.message]
    assert hits, flaws
    if about is not None:
        assert text[hits[0].start : hits[0].end] == about
    assert hits[0].near == near


@pytest.mark.parametrize("name", sorted(load_materials()))
def test_every_material_of_the_library_is_found_by_its_own_name(name):
    lexicon = library_lexicon()
    if lexicon.members.get(name) == name:
        assert "what lies between" in read_words(name).flaws[0].message
        return
    layer = one(name)
    thickness = layer.get("thickness")
    found = layer["material"] if thickness is None else lexicon.of_thickness(layer["material"], thickness.low)
    assert found.id == name


SIZE = re.compile(r"\bgirt\b|\b\d+x\d*\b|\b(?:in|mil|inch)\b|\b(?:two|2|double) layer|^painted ")


def test_names_of_the_library_lead_to_their_material():
    """All but those that are read more closely: with a thickness or a count in them, painted, framing
    members and girts, and soil, which is what a section ends in."""
    lexicon = library_lexicon()
    wrong = {}
    for name, id_ in aliases().items():
        words = read_words(name)
        found = [layer.get("name") for layer in words.layers]
        if found != [id_] and not SIZE.search(name) and name not in lexicon.members and "soil" not in found:
            wrong[name] = (id_, found, words.flaws)
    assert not wrong


CLAUSES = ("6 mil", "polyethylene sheet", "sealed", "damp")
FRAMED = ("2x6 @ 16 in", "R-21", "glass fiber batt", "damp")


@pytest.mark.parametrize("clauses", [CLAUSES, FRAMED])
def test_the_order_of_the_words_does_not_matter(clauses):
    first, *others = [one(", ".join(p)) for p in itertools.permutations(clauses)]
    assert all(other == first for other in others)


@pytest.mark.parametrize(
    "text", ["2x6 @ 16 in with R-21 glass fiber batt", "Two Layers of 5/8 in Drywall, Taped"]
)
def test_upper_and_lower_case_and_spaces_do_not_matter(text):
    assert read_words(text).layers == read_words(text.upper().replace(" ", "  ")).layers


@pytest.mark.parametrize(
    "text", ["q ", "plywood q", "1/2 ", "1-", " (", "2x4 @ ", "over plywood ", "1 in to ", "½", "R-1 "]
)
def test_no_text_takes_long(text):
    """100 layers of 500 characters must not hold up a review for minutes."""
    long = (text * 500)[:500]
    started = time.process_time()
    assert read_words(long).flaws
    assert time.process_time() - started < 1.5


vocabulary = st.sampled_from(
    ["6 mil", "1/2 in", "2x6", "@ 16", "R-21", "vented", "air space", "plywood", "gypsum board", "sealed", "?", "with",
     "studs", "steel", "(", ")", "25 %", "0.5 perm", "wet", "no", "to", "-", "8", "double stud", "soil", "painted", "½",
     "two layers of", "in", "o.c.", ";", "=", "|", "unknown", "thickness", "brick veneer", "2 coats", "furring", "R-1/0", "0/0 in", "1/0", "@ 1/0", "sd 0 m", "R-0/in", "1/0 %"]
)  # fmt: skip


@settings(max_examples=400, deadline=None)
@given(st.lists(vocabulary, max_size=8).map(" ".join) | st.text(max_size=40))
def test_any_text_is_read_or_has_flaws_that_lie_in_it(text):
    words = read_words(text)
    assert words.layers or words.flaws or words.absent
    for flaw in words.flaws:
        assert 0 <= flaw.start < flaw.end <= max(len(text), 1) and flaw.message
