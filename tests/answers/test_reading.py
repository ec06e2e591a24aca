"""Questions in many voices, and what each sets out: intent, kind, place, layers from the room outwards, what it is about.

The sentences are our own; what a builder means by them is common practice, no published source.
"""

from __future__ import annotations

import pytest

from reviewer.answers.read import read
from reviewer.answers.reading import SURE, Reading
from reviewer.model.section import Section

WALL = "2x6 wall with R-21 fiberglass, OSB and vinyl siding in Minneapolis. "

WALLS: list[tuple[str, str, str, str, str]] = [
    # text, intent, place, layers in order (materials, `|` between), subject
    ("We have a 2x6 wall with fiberglass and plywood in Duluth, no foam outside. Can I skip the poly?", "leave out",
     "Duluth, MN", "gypsum board|glass fiber batt|plywood", "polyethylene sheet"),
    ("do i need a vapor barrier in my 2x4 wall in chicago", "need", "Chicago, IL", "glass fiber batt", "vapor control"),
    ("plywood or OSB in zone 6? 2x6 R-21", "which", "6A", "glass fiber batt", "plywood"),
    ("how much ext foam over 2x6 R-21 in CZ5?", "how much", "5A", "glass fiber batt", "insulation"),
    ("R-13+5ci 2 by 4 wall in Boston, safe?", "safe here", "Boston, MA",
     "glass fiber batt|extruded polystyrene board|vinyl siding", ""),
    ("2x6 24oc dp cellulose, ply, wrap, 1x4s, cedar. CZ6. ok?", "safe here", "6A",
     "dense-packed cellulose|plywood|house wrap|wood lap siding", ""),
    ("r23 mw, 2x6, osb, 1-1/2 in foil iso, vinyl, drywall. z5. poly or no?", "need", "5A",
     "gypsum board|mineral wool batt|oriented strand board|foil-faced polyisocyanurate board|vinyl siding", "polyethylene sheet"),
    ("wall from outside in: stucco, felt, 1/2\" ply, 2x4 with R13, drywall. Los Angeles, ok?", "safe here",
     "Los Angeles, CA", "gypsum board|glass fiber batt|plywood|asphalt felt|stucco", ""),
    ("brick veneer/1\" gap/felt/OSB/2x6 R19 kraft/drywall in Louisville. good?", "safe here", "Louisville, KY",
     "gypsum board|kraft-faced glass fiber batt|oriented strand board|asphalt felt|brick veneer", ""),
    ("Is there any problem with drywall | 2x4 R-13 | OSB | brick in Memphis", "safe here", "Memphis, TN",
     "gypsum board|glass fiber batt|oriented strand board|brick veneer", ""),
    ("R-21 + R-10 ci wall, Denver, fiber cement. Any issue with just latex paint?", "safe here", "Denver, CO",
     "latex paint|glass fiber batt|extruded polystyrene board|fiber-cement siding", ""),
    ("Edmonton: drywall, sealed poly, 38x140 with RSI 3.87 mineral wool, OSB, wrap, fibre cement. Is it safe?",
     "safe here", "Edmonton, AB", "gypsum board|polyethylene sheet|mineral wool batt|oriented strand board|house wrap|fiber-cement siding", ""),
    ("2x4 walls with unfaced R-13 fibreglas, plywod and vinal siding in Atlnta, GA. Is it ok?", "safe here", "Atlanta, GA",
     "glass fiber batt|plywood|vinyl siding", ""),
    ("hospital in Chicago: steel studs 6\" w/ R-19, gyp sheathing, fluid-applied vapor tight AB, 2\" XPS, metal panel. Is it ok?",
     "safe here", "Chicago, IL",
     "glass fiber batt|exterior gypsum sheathing|fluid-applied vapor-tight membrane|extruded polystyrene board|metal panel cladding", ""),
    ("CLT office in Portland, OR: 5 ply CLT exposed, peel and stick (permeable), 4 in mineral wool, vented metal panel. Good?",
     "safe here", "Portland, OR", "cross-laminated timber|vapor-open self-adhered membrane|metal panel cladding", ""),
    ("swimming pool hall in Detroit: tile, 8\" CMU, 3\" closed cell spray foam, air space, brick. safe?", "safe here",
     "Detroit, MI", "ceramic tile|concrete block|closed-cell spray foam|brick veneer", ""),
    ("hempcrete wall in Asheville, lime plaster on both sides, no membranes, safe?", "safe here", "Asheville, NC",
     "lime plaster|hempcrete|lime plaster", ""),
    ("T&G boards inside, 2x6 with rock wool, plywood, tar paper, white cedar shingles in Bangor, ME. Is it OK?", "safe here", "Bangor, ME",
     "tongue and groove paneling|mineral wool batt|plywood|asphalt felt|cedar shingle", ""),
    ("log cabin in Bozeman, 8 in logs, want R-13 studs and drywall inside. Need vapor barrier?", "need", "Bozeman, MT",
     "gypsum board|glass fiber batt|log wall", "vapor control"),
    ("The wall has plywood on both sides of 2x6 with cellulose, Bangor, Maine. Is it safe?", "safe here", "Bangor, ME",
     "plywood|dense-packed cellulose|plywood", ""),
    ("old plaster and lath, empty 2x4, plank sheathing, felt, clapboards, Providence. dense-pack ok?",
        "add",
        "Providence, RI",
        "plaster on wood lath|board sheathing|asphalt felt|wood lap siding",
        "dense-packed cellulose",
    ),
    ("The GC wants to wrap our house in Peoria IL with 1.5\" of polyiso over the old board sheathing, no wrap, then fiber cement. "
     "Walls are plaster, 2x4, R-11 batts. Is that alright?", "safe here", "Peoria, IL",
     "plaster on wood lath|glass fiber batt|board sheathing|polyisocyanurate board|fiber-cement siding", ""),
    ("My husband insists on plastic behind the drywall. Walls are 2x4, R-13 fiberglass, plywood, wrap, fiber cement, Tampa. Should we put it in?",
     "add", "Tampa, FL", "gypsum board|glass fiber batt|plywood|house wrap|fiber-cement siding", "polyethylene sheet"),
    ("We moved to Tampa, FL from Buffalo, NY. 2x4, R-13, OSB, stucco. Safe?", "safe here", "Tampa, FL", "glass fiber batt|oriented strand board|stucco", ""),
    ("Anchorage: drywall, poly, 2x6 R-21 batts, ply, wrap, 2 in EPS, wood siding. Could I leave off the EPS?", "leave out",
     "Anchorage, AK", "gypsum board|polyethylene sheet|glass fiber batt|plywood|house wrap|wood lap siding", "expanded polystyrene board"),
]  # fmt: skip

OTHERS: list[tuple[str, str, str, str]] = [
    # text, kind, layers, subject
    ("is 2 in of ccspf on a block basement wall in Minneapolis ok?", "foundation wall", "closed-cell spray foam|concrete block", ""),
    ("1 in foil polyiso taped to the concrete basement walls in Des Moines, then 2x4 w/ R-13 unfaced and drywall - any issue?",
     "foundation wall", "gypsum board|glass fiber batt|foil-faced polyisocyanurate board|concrete", ""),
    ("My builder wants 1.5in EPS glued to block then 1x3 strapping and gyp. Minneapolis basement. Safe?", "foundation wall",
     "gypsum board|air space|expanded polystyrene board|concrete block", ""),
    ("Foundation wall, 8 in poured, R-10 XPS outside, dampproofing, bare inside. Ithaca NY. ok?", "foundation wall",
     "concrete|asphalt dampproofing|extruded polystyrene board|soil", ""),
    ("can I put poly under the slab in Buffalo, NY?", "slab", "concrete|gravel bed", "polyethylene sheet"),
    ("2\" of EPS under the slab, poly over it, then 4\" of concrete, tile. Albuquerque. anything wrong?", "slab",
     "ceramic tile|concrete|polyethylene sheet|expanded polystyrene board", ""),
    ("Denver: tile, 4 inch slab, 15 mil vapor retarder, 2 inch XPS, gravel. Good?", "slab",
     "ceramic tile|concrete|slab vapor retarder 15 mil|extruded polystyrene board|gravel bed", ""),
    ("cathedral ceiling with R-38 batts, no vents, Denver. is it safe?", "roof", "gypsum board|glass fiber batt|oriented strand board|asphalt shingle", ""),
    ("1/2\" drywall, poly, R-38 batts, 2 in air space, OSB deck, felt, shingles in Ottawa. okay?", "roof",
     "gypsum board|polyethylene sheet|glass fiber batt|air space|oriented strand board|asphalt felt|asphalt shingle", ""),
    ("Low-slope roof in Minneapolis: steel deck, no vapor retarder, 4 in polyiso, fully adhered white TPO. Fine?", "roof",
     "steel deck|polyisocyanurate board|tpo membrane", ""),
    ("Natatorium roof Minneapolis MN: steel deck, gypsum roof board, 6 inches polyiso, EPDM. Can the vapor barrier be omitted?", "roof",
     "steel deck|gypsum roof board|polyisocyanurate board|epdm membrane", "vapor control"),
    ("12\" of loose cellulose over drywall, vented attic, Duluth, no poly. Will it frost?", "roof", "gypsum board|loose-fill cellulose", ""),
    ("3\" closed cell then R-19 batts in 2x8 rafters, zone 6. enough?", "roof", "glass fiber batt|closed-cell spray foam|oriented strand board", ""),
    ("crawl space: R-19 between 2x8 joists, vented, dirt floor, oak floor on 3/4 ply. Savannah, AC. ok?", "floor",
     "wood flooring|plywood|glass fiber batt", ""),
    ("Floor over an unheated garage in Duluth: carpet, 3/4 OSB, 2x10 with R-30 fiberglass, 5/8 drywall. safe?", "floor",
     "carpet and pad|oriented strand board|glass fiber batt|gypsum board|garage", ""),
]  # fmt: skip

INTENTS = [
    ("safe here", "Is this wall going to rot?"), ("safe here", "Any red flags?"), ("safe here", "Good to go?"),
    ("need", "Is poly necessary?"), ("need", "The inspector says I need poly. Is that true?"), ("need", "do i gotta have a vapor barrier"),
    ("leave out", "Could we omit the vapor retarder?"), ("leave out", "Can I get away without a vapor barrier?"),
    ("leave out", "Should we take the poly out?"), ("add", "What if I add 2 inches of XPS outside?"),
    ("add", "Can we put 1 in EPS over the sheathing?"), ("add", "We want to add 2 in of mineral wool board outside. OK?"),
    ("which", "XPS, EPS or polyiso outside?"), ("which", "Is cellulose better than fiberglass here?"),
    ("which", "Can I use plywood instead of OSB?"), ("how much", "How thick should the XPS be?"),
    ("how much", "What R-value of exterior insulation do I need?"), ("cheapest", "What's the cheapest way to make this wall safe?"),
    ("why not always", "Why don't we always use closed-cell foam?"), ("what went wrong", "The sheathing is rotten. Why?"),
    ("what went wrong", "There is frost on the OSB. What did that?"), ("what to use", "What vapor retarder should I use?"),
    ("what to use", "How should I insulate this wall?"),
]  # fmt: skip


def names(section: Section | None) -> list[str]:
    return [] if section is None else [x.name for x in section.layers]


def in_order(wanted: str, have: list[str]) -> bool:
    rest = iter(have)
    return all(any(h == w for h in rest) for w in wanted.split("|"))


def where(section: Section | None) -> str:
    place = None if section is None else section.place
    return "" if place is None else place.name or place.zone or ""


def about(reading: Reading) -> list[str]:
    return [*([reading.subject.name] if reading.subject else []), *(o.label for o in reading.options)]


@pytest.mark.parametrize(("text", "intent", "place", "layers", "subject"), WALLS)
def test_walls_are_read_as_builders_mean_them(
    text: str, intent: str, place: str, layers: str, subject: str
) -> None:
    (reading,) = read(text)
    assert reading.refusal is None
    assert reading.intent == intent
    assert reading.base is not None
    assert reading.base.kind == "wall"
    assert where(reading.base) == place
    assert in_order(layers, names(reading.base)), names(reading.base)
    assert not subject or any(subject in name for name in about(reading)), about(reading)


@pytest.mark.parametrize(("text", "kind", "layers", "subject"), OTHERS)
def test_roofs_foundations_floors_and_slabs_are_read(text: str, kind: str, layers: str, subject: str) -> None:
    (reading,) = read(text)
    assert reading.base is not None
    assert reading.base.kind == kind
    assert in_order(layers, names(reading.base)), names(reading.base)
    assert not subject or any(subject in name for name in about(reading)), about(reading)


@pytest.mark.parametrize(("intent", "question"), INTENTS)
def test_the_shape_of_a_question_tells_what_is_asked(intent: str, question: str) -> None:
    assert [r.intent for r in read(WALL + question)] == [intent]


def test_what_is_said_not_to_be_there_is_not_there() -> None:
    for text, gone in (
        ("2x6 wall, R-21 batts, no poly, OSB, vinyl in Duluth. Safe?", "polyethylene sheet"),
        ("2x6 wall w/o house wrap, R-21 batts, OSB, vinyl in Duluth. Safe?", "house wrap"),
        (
            "Skip the foam: 2x6 R-21, OSB, wrap, vinyl, Duluth. Safe without poly or kraft?",
            "polyethylene sheet",
        ),
        (
            "2x4 R-13, OSB, wrap, brick, Memphis. There's no poly and no foam. ok?",
            "extruded polystyrene board",
        ),
    ):
        (reading,) = read(text)
        assert gone not in names(reading.base), text


def test_options_stand_without_and_with_what_is_asked_about() -> None:
    (reading,) = read(WALL + "Do I need a smart vapor retarder?")
    without, added = reading.options
    assert "variable-permeance retarder" not in names(without.section)
    assert "variable-permeance retarder" in names(added.section)
    assert reading.base == without.section


def test_a_choice_has_a_section_for_each_alternative() -> None:
    (reading,) = read(WALL + "XPS, EPS or polyiso outside?")
    assert [o.label for o in reading.options] == [
        "extruded polystyrene board", "expanded polystyrene board", "polyisocyanurate board",
    ]  # fmt: skip
    assert all(o.label in names(o.section) for o in reading.options)


def test_several_questions_of_one_text_share_what_it_tells() -> None:
    readings = read(
        "Savannah GA, 2x4 walls R-13 unfaced, plywood, felt, wood siding: do I need a vapor barrier, and can I add "
        "foil-faced polyiso outside when I change the siding? What is a perm?"
    )
    assert [r.intent for r in readings] == ["need", "add", "what is"]
    assert [where(r.base) for r in readings[:2]] == ["Savannah, GA"] * 2
    assert all("plywood" in names(r.base) for r in readings[:2])


def test_it_stands_for_what_was_named_before() -> None:
    texts = {
        "My contractor wants poly in the wall. 2x6 R-21, OSB, vinyl, Fargo. Do I need it?": "polyethylene sheet",
        "Someone said to add XPS outside. 2x6 R-21, OSB, vinyl, Fargo. Should I put it on?": "extruded polystyrene board",
    }
    for text, wanted in texts.items():
        reading = read(text)[-1]
        assert reading.subject is not None
        assert reading.subject.name == wanted


def test_what_goes_without_saying_is_taken_with_a_reason() -> None:
    (reading,) = read("Is a 2x6 wall with R-21 fiberglass safe in Duluth, MN?")
    taken = {t.what: t.why for t in reading.taken}
    assert {"1/2 in gypsum board", "7/16 in oriented strand board", "house wrap", "vinyl siding"} <= set(
        taken
    )
    assert all(taken.values())


def test_an_old_house_has_boards_and_plaster_and_no_wrap() -> None:
    (reading,) = read("1915 house in Minneapolis, 2x4 with blown cellulose, cedar siding. Is it safe?")
    found = names(reading.base)
    assert in_order("plaster on wood lath|dense-packed cellulose|board sheathing|wood lap siding", found)
    assert "house wrap" not in found


def test_what_decides_and_is_not_said_is_asked_with_the_few_replies() -> None:
    gaps = {g.what: g for g in read("Is a 2x6 wall with R-21 fiberglass, OSB and vinyl safe?")[0].gaps}
    assert {label for label, _ in gaps["place"].replies} == {"zone 2A", "zone 4A", "zone 6A"}
    assert all(section.place is not None for _, section in gaps["place"].replies)
    gaps = {
        g.what: g
        for g in read("Is spray foam under the roof deck safe in Minneapolis? OSB, felt and shingles.")[
            0
        ].gaps
    }
    (words,) = [g for what, g in gaps.items() if "spray foam" in what]
    assert {label for label, _ in words.replies} == {"closed-cell spray foam", "open-cell spray foam"}
    assert read("Is my wall OK for Minneapolis?")[0].gaps[0].what == "layers"
    assert any(g.what == "kind" for g in read("do I need a vapor barrier in Duluth?")[0].gaps)


def test_places_of_one_name_are_asked_and_the_one_meant_is_told() -> None:
    (reading,) = read("2x6 R-21 fiberglass, OSB, vinyl in Springfield. Is it safe?")
    assert [label for label, _ in reading.gaps[0].replies][:2] == ["Springfield, IL", "Springfield, MA"]
    (reading,) = read("2x6 R-21 fiberglass, OSB, vinyl in Duluth. Is it safe?")
    assert where(reading.base) == "Duluth, MN"
    assert any("largest" in t.why for t in reading.taken)


def test_zone_four_without_a_letter_is_asked() -> None:
    (reading,) = read("Zone 4: 2x6, R-21 batts, OSB, wrap, fiber cement. Is painted gypsum sufficient?")
    assert [label for label, _ in reading.gaps[0].replies] == ["zone 4A", "zone 4C, marine"]


def test_words_that_nobody_knows_are_told_not_invented() -> None:
    (reading,) = read("2x6 with R-21 fiberglass, Zorblax, OSB and vinyl in Duluth. Is it safe?")
    assert "Zorblax" in reading.unused
    (reading,) = read("Can we use a zorblatt membrane on the inside of the studs in Minneapolis?")
    assert reading.refusal is not None
    assert reading.refusal.status == "not understood"
    assert "zorblatt" in reading.refusal.why


def test_a_number_that_nothing_used_makes_the_reading_unsure() -> None:
    (reading,) = read("2x6 wall, 17 fiberglass batts, OSB, vinyl, Duluth. Is it safe?")
    assert reading.confidence < SURE


def test_every_word_read_has_its_span_and_its_reading() -> None:
    text = "2x6 @ 24 with R-21 fiberglas batts in Duluth, no poly. Safe?"
    words = {w.text: w for w in read(text)[0].words}
    assert words["2x6"].reads == "2x6"
    assert words["R-21"].reads == "R-21"
    assert words["poly"].reads == "polyethylene sheet"
    assert all(text[w.start : w.end] == w.text for w in words.values())
    assert any(w.confidence < 1 for w in words.values())


@pytest.mark.parametrize(
    ("text", "status", "to"),
    [
        ("How big a notch can I cut in a 2x10 floor joist for a drain pipe?", "referred", "structural"),
        (
            "What size breaker and wire for a 4 kW baseboard heater in the basement?",
            "referred",
            "electrician",
        ),
        ("Which tested assembly gives a 1 hour floor ceiling with type X?", "referred", "fire"),
        ("My daughter has been coughing for weeks, what medicine should she take?", "referred", "physician"),
        ("Brauche ich eine Dampfbremse in einer Holzständerwand?", "not understood", ""),
        ("Est-ce que je dois mettre un pare-vapeur dans mon mur?", "not understood", ""),
        ("¿Puedo poner espuma debajo del techo de mi casa?", "not understood", ""),
        ("What will the weather be like in Duluth tomorrow?", "not understood", ""),
        ("Is now a good time to refinance my mortgage?", "not understood", ""),
        ("hello", "not understood", ""),
        ("", "not understood", ""),
    ],
)
def test_what_is_not_ours_is_referred_or_said_not_to_be_understood(text: str, status: str, to: str) -> None:
    (reading,) = read(text)
    assert reading.refusal is not None
    assert reading.refusal.status == status
    assert to in reading.refusal.to
    assert reading.refusal.can


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("What is a perm?", "perm"),
        ("whats a class II vapor retarder mean", "retarder-classes"),
        ("can you explain stack effect", "stack-effect"),
        ("Why does cold sheathing dry so slow?", "cold-sheathing"),
        ("What's the difference between dew point and relative humidity?", "dew-point-or-humidity"),
        ("is latex paint a vapor retarder?", "latex paint"),
        ("How many perms does OSB have?", "permeance of oriented strand board"),
        ("R value per inch of mineral wool board?", "r-value of mineral wool board"),
    ],
)
def test_explanations_materials_and_properties_are_found(text: str, name: str) -> None:
    (reading,) = read(text)
    assert reading.intent == "what is"
    assert reading.subject is not None
    assert reading.subject.name == name
