"""Kinds, layers and several questions in one text, in words that nothing was tuned on when they were written.

The sentences are our own; what a builder means by them is common practice, no published source.
"""

from __future__ import annotations

import pytest

from reviewer.answers.read import read

KINDS = [
    ("wall", "walkout basement front wall is 2x6 framed above grade in Asheville NC, batts, OSB, wrap, fiber cement. need poly?"),
    ("floor", "floor over unheated basement in Buffalo NY, R-19 kraft batts paper up, ply subfloor, hardwood. ok?"),
    ("slab", "Putting carpet on the basement concrete in Albany NY, is it safe?"),
    ("slab", "Basement floor in Tulsa: 4 in concrete, no poly under, carpet planned. Mold?"),
    ("slab", "Mudroom slab on grade in Boise with tile, 2 in EPS under. ok?"),
    ("slab", "Garage slab in Omaha, epoxy coating on 4 in concrete over gravel, fine?"),
    ("slab", "Concrete floor on dirt in my Tulsa shop, want LVP over it, 6 mil plastic under the LVP? safe?"),
    ("roof", "Shed roof in Boise with 2x10s, R-30 batts, OSB, metal roofing, drywall. ok?"),
    ("roof", "Dormer ceiling in Boston, R-19 in 2x8s, plank deck, slate. ok?"),
    ("roof", "Flat deck over living space in Omaha: joists 2x12 R-38, plywood, EPDM, drywall. Ok?"),
    ("roof", "Scissor truss ceiling in Fargo, R-49 blown, drywall, vented. Need poly?"),
    ("roof", "Insulating between rafters in Omaha with 3 in closed cell, OSB, shingles. ok?"),
    ("roof", "Is it ok to put R-60 cellulose on my ceiling in Fargo? drywall, no poly, vented above."),
    ("roof", "Warehouse roof in Omaha: metal deck, R-20 polyiso, TPO. Vapor barrier?"),
    ("foundation wall", "Walkout basement back wall below ground in Boise, poured concrete, 2 in XPS outside, drywall on studs inside. ok?"),
    ("foundation wall", "Wine cellar, concrete block below grade, Omaha, 2 in XPS and drywall. ok?"),
    ("foundation wall", "Stem wall of the crawlspace in Omaha, concrete, 2 in polyiso inside. fine?"),
    ("foundation wall", "ICF below grade in Fargo, waterproofing, drywall. ok?"),
    ("wall", "Gable end wall in Boise 2x4 R-13 OSB stucco drywall. ok?"),
    ("wall", "Exterior of my shop in Omaha: 2x6 posts, R-19 batts, metal siding, OSB inside. ok?"),
    ("wall", "Knee wall R-19, drywall, house wrap on the attic side, Omaha. ok?"),
    ("wall", "Row house party... front facade: 12 in brick, plaster, Baltimore; add 2x4 R-13 drywall inside. safe?"),
    ("wall", "Log home chinked 10 in logs in Boise. ok without vapor barrier?"),
    ("wall", "Poured concrete house above grade in Miami, stucco outside, furring and drywall in. ok?"),
    ("wall", "Curtain of brick outside steel studs, gyp sheathing, R-19, Omaha. ok?"),
    ("floor", "House on stilts in Charleston, open below, plywood subfloor, 2x10 joists R-19. ok?"),
    ("floor", "First floor over unheated crawl in Omaha, R-19 kraft between joists, OSB, carpet. ok?"),
    ("floor", "Overhang floor past the foundation in Fargo, R-30 batts, plywood, carpet. ok?"),
    ("floor", "Bedroom above our garage in Duluth is cold. Joists are 2x10 with R-30 batts, OSB above, drywall below. Is moisture a problem?"),
    ("roof", "Vaulted ceiling, Denver, 2x12 with R-38, OSB, shingles. ok?"),
    ("roof", "We're re-roofing our low slope building in Omaha: concrete deck, 4 in polyiso, EPDM. Do I need a vapor barrier?"),
    ("foundation wall", "Cellar walls of rubble stone in Boston, can I spray 2 inches of closed cell on them?"),
    ("slab", "New garage floor in Fargo: 4 in concrete on gravel. Need poly under it?"),
    ("slab", "Laying vinyl plank on our 1960 concrete floor in Houston basement. Risky?"),
    ("foundation wall", "Finishing the basement in Des Moines: concrete walls, 2x4s with R-13, drywall. Vapor barrier?"),
    ("wall", "Our kneewall in the attic in Omaha has R-13 batts, drywall, nothing behind. ok?"),
    ("roof", "attic in Tulsa, R-30 loose cellulose on the ceiling drywall. need vapor barrier?"),
    ("floor", "Pier and beam house in Houston, open underneath, plywood floor, want to put R-19 batts between joists. Safe?"),
    ("floor", "Cantilevered bay floor in Milwaukee, plywood, R-30 batts, fiber cement soffit below. ok?"),
    ("roof", "Tongue and groove porch-style ceiling under 2x10 rafters in Austin, open cell between, metal roof on OSB. Fine?"),
    ("wall", "Garage wall in Chicago between house and garage? no, the outside wall: 2x4, R-13, OSB, vinyl. ok?"),
    ("foundation wall", "crawlspace walls in Knoxville: block, 2 in EPS inside. Good?"),
    ("wall", "Sunroom in Boise, 2x6, R-21, plywood, stucco, drywall. Any problem?"),
    ("roof", "Truss roof with blown fiberglass R-60 and drywall in Fargo, vented. Poly on the ceiling?"),
    ("slab", "Radiant slab in Minneapolis, 2 in XPS, 10 mil, gravel. OK?"),
    ("wall", "Pole barn in Springfield, MO: metal siding on girts, R-19 with vinyl facing inside. Will it drip?"),
    ("wall", "Tiny house on wheels in Portland, OR, 2x4, 3.5 in closed cell, plywood, metal siding. Safe?"),
    ("roof", "Condo roof deck in Toronto, pavers over XPS over membrane on concrete. ok?"),
    ("wall", "Barndominium in Tulsa, steel frame, 2 in closed-cell sprayed on the metal siding, drywall. ok?"),
    ("foundation wall", "Below grade wall in Pittsburgh 10 in block, 1 in XPS inside, drywall on furring. safe?"),
    ("floor", "Vented crawl in Savannah, GA, can I spray 2 inches closed cell under the subfloor? plywood, oak."),
    ("roof", "Mansard in Boston: slate, felt, boards, 2x8 with R-21, plaster. safe?"),
]  # fmt: skip

LAYERS = [
    # kind, layers from the room, text
    ("wall", "gypsum board|glass fiber batt|oriented strand board|extruded polystyrene board|brick veneer", "From the inside: wallboard or drywall, whatever, R-19 glass wool in 2x6, OSB, 1.5in XPS, cavity, brick. Omaha. Fine?"),
    ("wall", "gypsum board|mineral wool batt|plywood|vinyl siding", "The house in Reno is clad in vinyl over plywood and has stone wool between 2x4 studs with drywall on the room side. Ok?"),
    ("roof", "gypsum board|closed-cell spray foam|oriented strand board|metal roofing", "Metal roof in Tulsa, OSB below it, then 5 inches of closed-cell sprayed under the deck in 2x8 rafters and drywall beneath. Any concern?"),
    ("roof", "gypsum board|glass fiber batt|air space|plywood|asphalt shingle", "Rafters 2x10 Portland, ME, fiberglass R-30 with a one-inch vent gap above, plywood, shingles, drywall below. Good?"),
    ("foundation wall", "gypsum board|glass fiber batt|extruded polystyrene board|concrete block", "Boise basement: foam board (XPS, 2 in) against the block, studs with R-13 fiberglass in front, gypsum board last. OK?"),
    ("foundation wall", "expanded polystyrene board|concrete", "Concrete foundation in Helena, I'd like 3 inches EPS on the inside, no studs. Ok?"),
    ("slab", "vinyl flooring|concrete|polyethylene sheet|gravel bed", "Tucson slab: LVP on 4 in concrete over 6 mil poly on gravel. Ok?"),
    ("slab", "ceramic tile|concrete|extruded polystyrene board", "Tile on a 5 inch slab with two inches of XPS beneath it in Fargo. Trouble?"),
    ("floor", "wood flooring|plywood|closed-cell spray foam", "Crawl space in Tulsa, vented; 2 in closed cell sprayed to underside of the plywood subfloor, hardwood on top. Fine?"),
    ("wall", "latex paint|gypsum board|polyethylene sheet|glass fiber batt|plywood|house wrap|wood lap siding", "Painted drywall over poly over batts in 2x6, plywood, building wrap and cedar lap siding, Helena. Safe?"),
    ("wall", "gypsum board|dense-packed cellulose|fiberboard sheathing|asphalt felt|stucco", "1960 stucco house, Fresno: felt behind it, fiberboard sheathing, 2x4s we filled with dense pack, drywall. Mold risk?"),
    ("wall", "gypsum board|open-cell spray foam|oriented strand board|house wrap|brick veneer", "Half-pound foam in the 2x4 studs, OSB, wrap, brick with a gap, drywall. Tulsa. Any issue?"),
    ("wall", "gypsum board|glass fiber batt|exterior gypsum sheathing|self-adhered membrane|polyisocyanurate board|metal panel cladding", "Office in Omaha, 6\" metal studs R-19, gyp both sides (exterior one glass mat), peel-and-stick, 2.5\" polyiso, metal panel. Safe?"),
    ("wall", "gypsum board|extruded polystyrene board|clay brick", "Old solid brick in Boston, two inches of XPS glued on the inside with drywall on it. Ok?"),
    ("wall", "gypsum board|glass fiber batt|concrete block|stucco", "Miami block house, stucco outside, inside 2x4 studs with R-11 and drywall. Good?"),
    ("roof", "gypsum board|steel deck|polyisocyanurate board|pvc membrane", "Gym in Omaha: steel deck, six inches polyiso, PVC, drywall ceiling hung below. Condensation?"),
    ("roof", "gypsum board|loose-fill cellulose", "Attic with a foot of blown cellulose on the drywall ceiling in Tulsa, is the missing vapor barrier a problem?"),
    ("wall", "gypsum board|mineral wool batt|oriented strand board|mineral wool board|fiber-cement siding", "Calgary: gypsum, RSI 4.2 mineral wool in 38x140, OSB, 75 mm rigid mineral wool, strapping, fibre cement. Ok?"),
    ("wall", "gypsum board|variable-permeance retarder|dense-packed cellulose|plywood|wood fiber board", "Smart membrane behind drywall, 2x8 cellulose, ply, 60 mm wood fibre board outside, a wall in Whitehorse. Good?"),
    ("foundation wall", "closed-cell spray foam|stone rubble", "Rubble basement in Worcester sprayed with 2\" closed cell, left bare. Is it safe?"),
    ("wall", "gypsum board|glass fiber batt|closed-cell spray foam|oriented strand board", "Flash-and-batt: inch of closed-cell on the OSB, R-13 batts on top in 2x6, Tulsa, drywall. OK?"),
    ("wall", "gypsum board|kraft-faced glass fiber batt|oriented strand board|house wrap|wood lap siding", "Kraft R-13s in 2x4, OSB, WRB, LP style wood siding, drywall, Tulsa. Good?"),
    ("wall", "gypsum board|polyethylene sheet|glass fiber batt|board sheathing|asphalt felt|wood lap siding", "1948 farmhouse Fargo: clapboard, tarpaper, shiplap, batts, plastic, drywall. Trouble?"),
]  # fmt: skip

SEVERAL = [
    (["need", "add"], "2x6 R-21 fiberglass, OSB, wrap, vinyl, Omaha. Do I need poly? And can I add 1 inch EPS outside?"),
    (["safe here", "how much"], "2x4 R-13 fiberglass, OSB, vinyl, Boise: is it safe, and how much foam should go outside?"),
    (["which", "need"], "Plywood or OSB on a 2x6 wall in Tulsa with R-19 fiberglass? Also do I need a vapor barrier?"),
    (["what is", "need"], "What is a perm? And do I need a vapor retarder in a 2x6 wall with R-21 fiberglass and OSB in Boise?"),
    (["leave out", "what to use"], "Can I skip the poly in my 2x6 Boise wall, R-21 fiberglass, OSB, vinyl? If so what should I use instead as a vapor retarder?"),
    (["safe here"], "2x6 R-21 fiberglass, OSB, wrap, vinyl in Omaha. Is it safe? Will it rot?"),
    (["safe here"], "I was wondering about our wall in Boise. 2x6, R-21 fiberglass, plywood, wrap, stucco. Does it work?"),
    (["need", "need"], "Two questions: do I need a vapor barrier in the walls (2x6 R-21 fiberglass OSB vinyl), and do I need one under the slab? Boise."),
    (["safe here", "safe here"], "1) Is a 2x6 wall with R-21 fiberglass, OSB and vinyl ok in Boise? 2) Is a cathedral roof with R-38 fiberglass, OSB and shingles ok there?"),
    (["how much", "cheapest"], "How thick should the EPS be outside my 2x4 R-13 OSB wall in Fargo, and what's the cheapest way to get there?"),
    (["what went wrong", "what to use"], "2x6 R-19 wall in Fargo, OSB, vinyl. The OSB is moldy. Why, and what should I do about it?"),
    (["add", "which"], "Can I put 2 in of EPS over the OSB of my 2x6 R-21 fiberglass wall in Boise? Would mineral wool be better than EPS?"),
    (["leave out"], "Is poly required in Boise with 2x6 R-21 and OSB or can I omit it?"),
    (["safe here"], "So, hi. Long question. We have 2x6 walls, R-19 fiberglass, OSB, vinyl. We live in Boise. Any issues? Thanks in advance."),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "text"), KINDS, ids=lambda x: x[:40])
def test_the_kind_of_section_is_known(kind: str, text: str) -> None:
    base = read(text)[0].base
    assert base is not None
    assert base.kind == kind


@pytest.mark.parametrize(("kind", "layers", "text"), LAYERS, ids=lambda x: x[:40])
def test_layers_stand_in_their_order_from_the_room(kind: str, layers: str, text: str) -> None:
    base = read(text)[0].base
    assert base is not None
    assert base.kind == kind
    names = [x.name for x in base.layers]
    rest = iter(names)
    assert all(any(n == w for n in rest) for w in layers.split("|")), names


@pytest.mark.parametrize(("intents", "text"), SEVERAL, ids=lambda x: str(x)[:40])
def test_every_question_of_a_text_is_heard_once(intents: list[str], text: str) -> None:
    assert [r.intent for r in read(text)] == intents
