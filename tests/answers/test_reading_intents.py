"""What is asked, in many wordings: each of the kinds of question as different people put it.

The sentences are our own; what a builder means by them is common practice, no published source. Those that name a section
stand after the same wall, so that only the question differs.
"""

from __future__ import annotations

import pytest

from reviewer.answers.read import read

WALL = "2x6 wall in Duluth, R-21 fiberglass, OSB, house wrap and vinyl siding, drywall inside. "

AFTER_THE_WALL: dict[str, list[str]] = {
    "safe here": [
        "Good idea or not?",
        "Will I regret this?",
        "Does that look right to you?",
        "Am I asking for trouble?",
        "Can you sanity check that?",
        "Would you sign off on it?",
        "How does this hold up over twenty winters?",
        "Is there a moisture risk?",
        "Does it dry?",
        "What could go wrong?",
        "Should I be concerned about the sheathing?",
        "Anything I'm missing?",
        "Tell me if it's a bad idea.",
        "Would this pass?",
        "Is the OSB going to get wet?",
        "Please review.",
        "Any concerns with this assembly?",
        "Do you see mold in its future?",
        "How risky is it?",
        "Is this asking to rot?",
        "Am I OK?",
        "Are we in good shape?",
        "Will it stay dry?",
        "Are there any weak points?",
        "Comments?",
        "How bad is that?",
        "Does this work in our climate?",
        "I'd like a second opinion on it.",
        "Will the sheathing survive?",
        "Does the assembly comply?",
        "Will it work without poly?",
    ],
    "need": [
        "Must there be a vapor barrier?",
        "Is poly really called for?",
        "Does this require a rainscreen?",
        "Do we have to have a vapor retarder in there?",
        "Would you bother with poly?",
        "Is a vapor retarder mandatory?",
        "Does it want a vapor barrier?",
        "Poly: yes or no?",
        "Vapor barrier or not?",
        "Is there any point in a rainscreen?",
        "Should there be poly behind the drywall?",
        "Am I obliged to install a vapor retarder?",
        "Will the inspector want poly?",
        "Does the code make me put in a vapor retarder?",
        "Is it worth having a rainscreen gap?",
        "Are vapor barriers needed here?",
        "Does it matter whether there is poly?",
        "Is exterior insulation a must?",
        "Do I really have to use poly?",
        "Would a vapor retarder be required?",
        "Need poly?",
        "The drywaller asks whether poly goes on first. Does it?",
        "Does one need a vapor barrier with this?",
        "What makes a vapor barrier necessary here, if anything?",
        "Is there a need for a vapor retarder?",
    ],
    "leave out": [
        "Could I do without the poly?",
        "Can the house wrap go?",
        "Would it hurt to leave off the house wrap?",
        "May I dispense with a vapor barrier?",
        "What if there's no poly?",
        "Is it alright not to have a vapor barrier?",
        "Is it OK if we don't install poly?",
        "I'd rather not use poly. Is that OK?",
        "Any harm in skipping the poly?",
        "Would I be fine without a vapor retarder?",
        "Can I save myself the poly?",
        "Does anything bad happen without the house wrap?",
        "Can we forgo the vapor retarder?",
        "Is it safe to eliminate the poly?",
        "Could the vapor retarder be dropped?",
        "The builder left out the poly. Problem?",
        "We'd prefer to go without a vapor barrier. Possible?",
        "Is the poly superfluous?",
        "Can I just not put up poly?",
        "How about no poly?",
        "Can this be built without a vapor retarder?",
        "Can I rip out the poly?",
        "Should I get rid of the poly?",
        "Are we OK with no vapor barrier?",
    ],
    "add": [
        "Would adding 2 inches of EPS outside hurt?",
        "Can I also put poly behind the drywall?",
        "What happens if I put 1 inch of foil-faced polyiso outside?",
        "Would a layer of 2 in XPS on the outside trap moisture?",
        "I'm considering 2 inches of mineral wool outboard of the sheathing. Smart?",
        "We are tempted to add poly on the inside. Bad idea?",
        "Is it OK to tack 1 in EPS onto the outside?",
        "Suppose we wrap it in 2 inches of polyiso?",
        "Can poly go in?",
        "Does putting poly on the inside make it worse?",
        "Would it help to add a rainscreen?",
        "Thoughts on adding 2 inches of EPS?",
        "Any objection to a coat of vapor retarder paint?",
        "Could we throw 1.5 in of XPS on the outside too?",
        "What would poly on the inside do to it?",
        "How about adding a smart vapor retarder?",
        "Will adding 2 in EPS cause rot?",
        "Is putting in a smart membrane a mistake?",
        "The salesman wants to spray vapor retarder paint on the drywall. Should I let him?",
        "Can I go over the sheathing with 2 inches of rigid mineral wool?",
        "Any downside to adding poly?",
    ],
    "how much": [
        "How many inches of polyiso should go outside?",
        "What thickness of EPS do I need outside?",
        "What's the minimum R-value outside the sheathing?",
        "How thick does the exterior foam have to be?",
        "How much exterior XPS before the OSB stays warm?",
        "What R outside keeps the sheathing dry?",
        "Tell me the least foam I can get away with.",
        "How thin can the exterior insulation be?",
        "How much polyiso is enough?",
        "At least how many inches of EPS?",
        "What amount of exterior insulation is needed?",
        "I want exterior EPS; how thick?",
        "How few inches of XPS would do?",
        "Is there a minimum thickness for the exterior mineral wool?",
        "What R-value should the outboard foam be?",
        "Exterior polyiso: what thickness?",
        "How much do I need outside?",
        "Required thickness of exterior foam?",
        "How much continuous insulation does code want?",
        "What's the right amount of ext foam?",
    ],
    "which": [
        "Should the outside board be EPS or mineral wool?",
        "Would you take EPS over XPS outside?",
        "Is mineral wool better than fiberglass?",
        "Poly or a smart retarder?",
        "Kraft vs poly: which one?",
        "Would plywood be safer than OSB?",
        "What's better outside, EPS or polyiso?",
        "Should I go with felt or house wrap?",
        "Choosing between cellulose and fiberglass. Which?",
        "Does it matter if I use plywood instead of OSB?",
        "Vinyl siding or fiber cement?",
        "Is it smarter to use polyiso or XPS?",
        "EPS, XPS or mineral wool outside?",
        "Which would you pick, poly or kraft?",
        "Should I swap the OSB for plywood?",
        "Any advantage of plywood over OSB?",
        "Compare EPS and XPS outside for me.",
        "Can I substitute felt for the house wrap?",
        "Is plywood any better than OSB here?",
        "Do you prefer mineral wool or EPS outside?",
    ],
    "cheapest": [
        "What's the most economical fix?",
        "Cheapest way to get this to pass?",
        "How do I make it safe for the least money?",
        "What is the lowest cost way to make it work?",
        "We have no budget: what is the minimum we can spend to make this safe?",
        "What can I do on a tight budget?",
        "What's the least expensive option that's safe?",
        "How can I fix it cheaply?",
        "Is there an inexpensive way to make this durable?",
        "Which safe version costs least?",
        "Looking for the most affordable upgrade that stops the moisture problem.",
        "What gives me the best bang for the buck here?",
        "Can it be made safe without spending a fortune?",
        "Give me the budget option.",
        "What's the most cost-effective improvement?",
    ],
    "what went wrong": [
        "The OSB is black and mushy. What caused that?",
        "We found mold on the back of the sheathing. How come?",
        "Why is there water running down the inside of the OSB?",
        "The sheathing rotted in eight years. What happened?",
        "There's frost on the nails every January. Where does it come from?",
        "The siding came off and the OSB was rotten. What did we do wrong?",
        "Why would the sheathing be wet in spring?",
        "What is making the OSB swell?",
        "Mold behind the drywall. What's the cause?",
        "The OSB is delaminating, what's going on?",
        "Opened the wall and found soaked batts. Explain?",
        "What's behind the mildew on the drywall?",
        "I have black stains on the sheathing. Where's the moisture from?",
        "How did the OSB get this wet?",
        "My sheathing reads 28 percent moisture content. Why?",
        "Any idea why the OSB is rotting?",
        "The drywall is moldy. Is it the lack of poly?",
        "What's the reason for the rot at the sheathing?",
        "Who's to blame for the wet sheathing: what went wrong?",
        "Condensation on the back of the OSB, what gives?",
    ],
    "why not always": [
        "Why don't people always put poly in?",
        "Why not just put poly everywhere?",
        "If exterior foam is so good, why doesn't everyone use it?",
        "What's the argument against poly?",
        "Why wouldn't I use closed-cell foam in every wall?",
        "Why is poly frowned upon?",
        "Wouldn't it be best to always use a vapor barrier?",
        "How come nobody uses poly anymore?",
        "Why shouldn't every wall have a vapor barrier?",
        "What speaks against poly in every wall?",
        "Isn't more vapor barrier always better?",
        "Why not use closed-cell foam all the time?",
    ],
    "what to use": [
        "What should go outside the sheathing?",
        "What kind of vapor retarder would you put in?",
        "How would you insulate the outside?",
        "What do you suggest for the vapor retarder?",
        "Which type of exterior insulation do you recommend?",
        "What would be the best vapor retarder?",
        "What belongs on the inside of the studs?",
        "Suggestions for exterior insulation?",
        "What's the right vapor retarder here?",
        "Recommend a vapor retarder, please.",
        "What are my options for the vapor control?",
        "How do I best insulate the outside?",
        "What vapor control layer do you advise?",
        "What product type should I look for as an air barrier?",
        "How should we handle vapor control?",
        "What would you do for exterior insulation?",
    ],
}  # fmt: skip

ALONE: dict[str, list[str]] = {
    "what is": [
        "What is a perm?",
        "Whats the dew point?",
        "Explain vapor drive to me like I'm five.",
        "What does class II vapor retarder mean?",
        "Define capillary break.",
        "How does a smart vapor retarder work?",
        "What exactly is a rainscreen?",
        "Difference between an air barrier and a vapor barrier?",
        "How permeable is plywood?",
        "What's the perm rating of kraft paper?",
        "Is OSB a vapor retarder?",
        "What do they mean by thermal bridging?",
        "Can you tell me what stack effect is?",
        "What class of vapor retarder is latex paint?",
        "Permeance of housewrap?",
        "How many perms is 1 inch of XPS?",
        "I keep hearing about solar vapor drive. What is it?",
        "What's meant by dense pack?",
        "Is closed-cell spray foam a vapor barrier?",
        "Could you describe what flash and batt is?",
        "What does relative humidity actually mean?",
        "Does drywall let vapor through?",
        "Meaning of WRB?",
        "Does plywood breathe?",
        "What are control layers?",
    ],
    "safe here": [
        "Can I use open-cell spray foam in a cathedral ceiling in Minneapolis?",
        "Is an unvented attic with R-38 open-cell foam under the deck OK in Boston?",
        "2 in XPS glued to the basement block in Milwaukee, then drywall. Fine?",
        "brick house 1910 Chicago, studs with R-13 inside the brick. dangerous?",
        "Does a slab on gravel without poly work in Denver with vinyl plank on top?",
        "Would 2x4 R-15 mineral wool with plywood and stucco be ok in Phoenix?",
        "Is it safe to insulate the inside of my old brick wall with 2 inches of closed-cell foam, Toronto?",
    ],
    "how much": [
        "How many inches of closed cell under the roof deck in zone 6 before I fill the rest with batts?",
        "What R-value of polyiso over a steel deck in Calgary?",
        "2x4 R-13 wall in zone 5, how much rigid foam outside?",
        "How thick should EPS under my slab in Fargo be?",
    ],
    "need": [
        "Do I need poly under a slab in Austin?",
        "Is a vapor barrier needed in a brick veneer wall with 2x4 R-13 in Atlanta?",
        "Should a basement wall of concrete block in Ottawa with 2x4 R-13 have poly?",
        "Is venting required for a cathedral ceiling with R-38 batts in Denver?",
    ],
    "which": [
        "XPS or EPS against a concrete basement wall in Buffalo?",
        "open cell or closed cell under a roof deck in Houston?",
        "For a 2x6 wall in zone 7, kraft or poly?",
    ],
    "what to use": [
        "What insulation should I put on the inside of a concrete basement wall in Madison, WI?",
        "How do I insulate a cathedral ceiling with 2x10 rafters in Denver?",
        "Best way to insulate an old brick wall in Toronto from the inside?",
        "What goes under a slab in Minneapolis?",
    ],
    "what went wrong": [
        "Our 2x6 cathedral ceiling in Fargo with R-19 batts drips every spring. What's happening?",
        "The basement drywall over R-13 studs against the block in Cleveland smells musty, why?",
    ],
}  # fmt: skip

A_WALL = "Our wall in Omaha: drywall, R-19 fiberglass in 2x6, OSB, wrap, fiber cement. "
A_ROOF = "Cathedral ceiling in Bangor, ME: drywall, R-38 fiberglass in 2x12, plywood, felt, shingles. "
A_BASEMENT = "Basement in Cincinnati: block walls, 2x4 with R-13, drywall. "

FURTHER: list[tuple[str, str, list[str]]] = [
    (A_WALL, "safe here", [
        "How does that grade out?",
        "Think it'll be OK long term?",
        "Is that a disaster waiting to happen?",
        "My architect says this is standard. Is he right?",
        "Pass or fail?",
        "Would you build it like this?",
        "Is it good enough for code?",
        "Any moisture worries?",
    ]),
    (A_ROOF, "safe here", [
        "Am I setting myself up for rot?",
        "Do you see anything wrong with it?",
        "Could condensation be an issue?",
    ]),
    (A_BASEMENT, "safe here", [
        "Will I get mold?",
    ]),
    (A_WALL, "need", [
        "Is a membrane on the inside a requirement?",
        "Do I gotta put up poly?",
        "I was told I have to have 6 mil poly. Do I?",
        "Is there any reason to have a vapor retarder?",
        "Poly needed y/n",
        "Does code require a vapor retarder?",
        "Is the vapor barrier really necessary?",
    ]),
    (A_ROOF, "need", [
        "Is venting a must?",
        "Should the roof be vented?",
    ]),
    (A_BASEMENT, "need", [
        "Does the basement call for a vapor barrier?",
        "Would a vapor retarder be of any use?",
    ]),
    (A_WALL, "leave out", [
        "Okay to skip the wrap?",
        "Would omitting the house wrap cause trouble?",
        "Is there harm in not using a vapor retarder?",
        "Can the wrap be omitted?",
        "Do I lose anything if I drop the house wrap?",
        "What would happen if I left out the house wrap?",
        "Possible to get by without house wrap?",
        "Can we get away with no vapor retarder?",
    ]),
    (A_ROOF, "leave out", [
        "Is the felt necessary or can I leave it off?",
        "We are thinking of skipping the felt. Thoughts?",
    ]),
    (A_BASEMENT, "leave out", [
        "I don't want to put up any plastic. Is that alright?",
    ]),
    (A_WALL, "add", [
        "Would 1.5 inches of polyiso outside be a good move?",
        "Can we put two inches of XPS over the OSB?",
        "I'm thinking about adding poly. Yes or no?",
        "Does adding a vapor retarder paint improve it?",
        "How about a smart membrane behind the drywall?",
        "My buddy wants to put plastic under the drywall. Should I let him?",
        "Is it wise to add exterior foam?",
        "Would a rainscreen help?",
    ]),
    (A_ROOF, "add", [
        "What if I spray 2 inches of closed cell to the deck first?",
    ]),
    (A_BASEMENT, "add", [
        "Can I staple plastic to the studs?",
        "Would it be a mistake to glue 1 in XPS to the block first?",
    ]),
    (A_WALL, "how much", [
        "How much polyiso would I have to put outside?",
        "What's the least R outside I can get by with?",
        "How many inches of EPS to be safe?",
        "Minimum exterior foam thickness?",
        "If I go with mineral wool outside, how thick?",
        "How much insulation should be outside versus inside?",
    ]),
    (A_ROOF, "how much", [
        "How thick does closed cell at the deck need to be?",
        "How much of the R has to be foam?",
    ]),
    (A_BASEMENT, "how much", [
        "What thickness of XPS against the block?",
    ]),
    (A_WALL, "which", [
        "OSB or plywood, does it matter?",
        "Is cellulose a better choice than fiberglass?",
        "Between poly and kraft, what would you pick?",
        "Is EPS or XPS the safer one outside?",
        "Plywood vs OSB?",
        "Would felt do better than house wrap?",
        "What's the better retarder, kraft or a smart membrane?",
        "Should I use mineral wool instead of fiberglass?",
        "I can get either EPS or XPS for outside. Which one?",
    ]),
    (A_ROOF, "which", [
        "Closed cell or open cell under the deck?",
    ]),
    (A_WALL, "cheapest", [
        "What's the cheapest thing that makes it code compliant?",
        "I want the low-cost fix.",
        "What's the bare minimum cost to get it approved?",
    ]),
    (A_ROOF, "cheapest", [
        "Least costly way to make it safe?",
        "What would be the most budget friendly solution?",
    ]),
    (A_BASEMENT, "cheapest", [
        "How do I do this right without spending much?",
    ]),
    (A_WALL, "what went wrong", [
        "OSB is rotten at the bottom. Why?",
        "I found frost behind the insulation. What causes it?",
        "Paint keeps peeling off the siding. Reason?",
        "What might explain mold on the north wall?",
    ]),
    (A_ROOF, "what went wrong", [
        "There's water dripping from the recessed lights in January. Where is it from?",
        "The plywood turned black. Did I do something wrong?",
        "Why did the sheathing rot after only 6 years?",
    ]),
    (A_BASEMENT, "what went wrong", [
        "It smells musty and the batts are wet. What's going on?",
    ]),
    ("", "why not always", [
        "Why not put closed cell in every roof?",
        "Why don't builders simply wrap all houses in foam?",
        "If poly stops vapor, why not use it everywhere?",
        "What is the downside of poly in all walls?",
        "Why isn't everybody using smart membranes?",
        "What's the drawback of closed-cell foam?",
        "Is there a downside to stucco?",
        "What are the cons of exterior mineral wool?",
        "What's the problem with batts in basements?",
        "What's the catch with flash and batt?",
        "What do people have against poly?",
        "Why is it a bad idea to put poly on a basement wall?",
        "If smart retarders work so well, why isn't every wall built with one?",
        "Why do they say never to use vinyl wallpaper?",
        "Why don't we build everything out of straw bales?",
        "Why does everyone hate OSB?",
        "What's the argument against closed crawl spaces?",
    ]),
    (A_WALL, "what went wrong", [
        "If the OSB is so dry, why is there mold on it?",
        "What's the problem with the OSB, it is black?",
    ]),
    ("", "what is", [
        "What's a smart membrane?",
        "Tell me what perms are.",
        "How does vapor diffusion work?",
        "What is the perm rating of OSB?",
        "Is kraft paper a vapor barrier?",
        "Explain the difference between open cell and closed cell foam.",
        "what does WRB stand for",
        "Is house wrap vapor permeable?",
        "What do you mean by drying potential?",
    ]),
    (A_WALL, "what to use", [
        "What do you recommend for vapor control?",
        "What should I put on the inside as a vapor retarder?",
        "What exterior insulation would you choose?",
        "Got any recommendations for the air barrier?",
    ]),
    (A_BASEMENT, "what to use", [
        "What's the best insulation for it?",
        "Which insulation should go on the block?",
    ]),
    (A_ROOF, "what to use", [
        "How would you do it right?",
        "How should I insulate it?",
    ]),
    ("", "what to use", [
        "What's the best way to insulate a stone foundation in Vermont?",
    ]),
]  # fmt: skip

PHRASED = [
    (intent, before + text)
    for before, table in ((WALL, AFTER_THE_WALL), ("", ALONE))
    for intent, texts in table.items()
    for text in texts
] + [(intent, before + text) for before, intent, texts in FURTHER for text in texts]


@pytest.mark.parametrize(("intent", "text"), PHRASED, ids=lambda x: x[-60:])
def test_a_question_is_known_by_whatever_words_it_is_put_in(intent: str, text: str) -> None:
    readings = read(text)
    assert [r.intent for r in readings] == [intent]


@pytest.mark.parametrize(
    ("text", "labels"),
    [
        (
            "vented or unvented cathedral ceiling in Denver, R-38 fiberglass, OSB, shingles?",
            ("vented air space", "unvented"),
        ),
        (
            "hot roof or a vented one in Bend: R-38 batts, plywood, shingles?",
            ("vented air space", "unvented"),
        ),
        (
            "Chicago basement, R-13 batts on the concrete: 1 or 2 inches of XPS first?",
            ("1 in extruded polystyrene board", "2 in extruded polystyrene board"),
        ),
    ],
)
def test_a_choice_of_a_space_or_none_and_of_two_sizes_sets_both_side_by_side(
    text: str, labels: tuple[str, ...]
) -> None:
    (reading,) = read(text)
    assert reading.intent == "which"
    assert tuple(o.label for o in reading.options) == labels


@pytest.mark.parametrize(
    "text",
    [
        "I can get XPS and foil-faced polyiso for the same price for outside. Which?",
        "Of XPS and foil-faced polyiso, what do you like best outside?",
    ],
)
def test_a_pick_among_what_one_sentence_names_is_a_choice(text: str) -> None:
    (reading,) = read(f"{text} 2x6 wall with R-21 batts, OSB, wrap, vinyl siding in Minneapolis.")
    assert reading.intent == "which"
    assert [o.label for o in reading.options] == [
        "extruded polystyrene board",
        "foil-faced polyisocyanurate board",
    ]


@pytest.mark.parametrize(
    ("text", "labels"),
    [
        (
            "Crawl space in Raleigh, NC: should we vent it or close it? Oak floor, plywood, R-19 batts.",
            ("vented crawl space", "unvented crawl space"),
        ),
        (
            "Poured basement wall in Chicago, drywall on studs: 2 in of XPS inside or outside?",
            ("extruded polystyrene board inside", "extruded polystyrene board outside"),
        ),
    ],
)
def test_vents_or_none_and_one_side_or_the_other_are_choices(text: str, labels: tuple[str, ...]) -> None:
    (reading,) = read(text)
    assert reading.intent == "which"
    assert tuple(o.label for o in reading.options) == labels
