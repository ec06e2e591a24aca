"""What a text names and that is not there: torn out, planned and not built, the neighbor's, denied.

The sentences are our own; what a builder means by them is common practice, no published source.
"""

from __future__ import annotations

import pytest

from reviewer.answers.read import read

TEXTS = [
    # there, not there, text
    ("glass fiber batt|oriented strand board|vinyl siding", "polyethylene sheet", "We tore out the old poly last year. Now it's R-19 batts in 2x6, OSB, wrap, vinyl, drywall. Tulsa. Is that ok?"),
    ("glass fiber batt|plywood", "oriented strand board", "The plans show OSB but we used plywood. 2x6 R-21 fiberglass, wrap, fiber cement, drywall, Boise. Safe?"),
    ("dense-packed cellulose|oriented strand board", "glass fiber batt", "Not fiberglass but cellulose in the 2x6 studs, OSB, wrap, vinyl, drywall, Omaha. ok?"),
    ("mineral wool batt|oriented strand board", "glass fiber batt", "We replaced the fiberglass with mineral wool in our 2x4 wall, OSB, wrap, vinyl, Omaha. Okay?"),
    ("glass fiber batt|oriented strand board|stucco", "vinyl siding", "The neighbor's house has vinyl siding. Ours is stucco on OSB with R-13 batts in 2x4s, Tulsa. Should I worry?"),
    ("gypsum board|glass fiber batt|plywood|brick veneer", "polyisocyanurate board", "The roof has polyiso but the wall is drywall, R-19 fiberglass in 2x6, plywood, wrap, brick. Boston. Is the wall fine?"),
    ("glass fiber batt|oriented strand board", "extruded polystyrene board", "Contractor wanted XPS outside, I said no. So 2x6 with R-21 fiberglass, OSB, wrap, fiber cement, Denver. Safe?"),
    ("glass fiber batt|oriented strand board|house wrap", "polyethylene sheet", "2x6, R-21 fiberglass, OSB, wrap, vinyl, drywall with neither poly nor kraft. Omaha. ok?"),
    ("glass fiber batt|oriented strand board", "kraft-faced glass fiber batt|polyethylene sheet", "Unfaced batts R-13 2x4 Tulsa OSB wrap vinyl drywall, there's no plastic and no kraft. fine?"),
    ("mineral wool batt|oriented strand board", "glass fiber batt", "Cathedral roof in Boise, 2x12, was going to use fiberglass but went with R-38 mineral wool, OSB, felt, shingles, drywall. safe?"),
    ("glass fiber batt|plywood|extruded polystyrene board", "oriented strand board", "Sheathing is ply, not OSB; 2x6 R-19 fiberglass, 1 in XPS outside, vinyl, Omaha. fine?"),
    ("glass fiber batt|oriented strand board", "house wrap", "R-19 batts in 2x6, OSB without any wrap, vinyl, drywall, Tulsa. Problem?"),
    ("extruded polystyrene board|concrete", "glass fiber batt", "Basement concrete wall, 2 in XPS inside, 2x4 studs left empty, drywall, Boise. ok?"),
    ("concrete|gravel bed", "polyethylene sheet", "Old slab on gravel in Tulsa, nobody put poly under it, carpet on top. Mold?"),
    ("glass fiber batt|oriented strand board|mineral wool board", "expanded polystyrene board", "I would rather have mineral wool than EPS outside: 2x6 R-21 fiberglass, OSB, wrap, 2 in mineral wool board, fiber cement. Omaha. OK?"),
    ("glass fiber batt|oriented strand board|fiber-cement siding", "vinyl siding", "Vinyl comes off, fiber cement goes on. 2x4 R-13 fiberglass, OSB, wrap, drywall. Omaha. Fine?"),
    ("open-cell spray foam|oriented strand board", "closed-cell spray foam", "They quoted closed cell but I took open cell, 8 in under the OSB deck, felt, shingles, drywall, Tulsa. Safe?"),
    ("gypsum board|glass fiber batt|oriented strand board", "plaster on wood lath", "Plaster and lath got demoed, new drywall on 2x4s with R-15 fiberglass, OSB, wrap, vinyl. Tulsa. OK?"),
    ("glass fiber batt|plywood", "polyethylene sheet", "No poly up there. 2x10 rafters, R-30 fiberglass, plywood, felt, shingles, drywall, Boise. Okay?"),
    ("glass fiber batt|board sheathing|wood lap siding", "oriented strand board", "1930 house Omaha, 2x4, we blew... no, put R-13 batts in, plank sheathing, no OSB anywhere, clapboards. drywall. ok?"),
    ("closed-cell spray foam|concrete block", "extruded polystyrene board", "Skip the XPS, he says, and spray 2 in closed cell on the block. Boise basement, drywall on studs. Is he right?"),
]  # fmt: skip


@pytest.mark.parametrize(("there", "absent", "text"), TEXTS, ids=lambda x: x[:40])
def test_only_what_stands_is_in_the_section(there: str, absent: str, text: str) -> None:
    base = read(text)[0].base
    assert base is not None
    names = [x.name for x in base.layers]
    rest = iter(names)
    assert all(any(n == w for n in rest) for w in there.split("|")), names
    assert not set(absent.split("|")) & set(names), names
