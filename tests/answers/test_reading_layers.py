"""Layers and their order as builders tell them: from the weather in, from the top down, in lists and in letters.

The sentences are our own; what a builder means by them is common practice, no published source. Of each the layers that it names are
given from the room outwards.
"""

from __future__ import annotations

import pytest

from reviewer.answers.read import read
from reviewer.answers.reading import Reading
from reviewer.model.section import Section

TOLD: list[tuple[str, list[str], str]] = [
    ('wall', ['gypsum board', 'polyethylene sheet', 'glass fiber batt', 'plywood', 'house wrap', 'stucco'], 'Coming in from the weather: stucco, wrap, 9.5 ply, 38x140 RSI 3.9 batts, 0.15 poly, 12.7 gyp. Kelowna BC. Anything missing?'),
    ('wall', ['gypsum board', 'kraft-faced glass fiber batt', 'oriented strand board', 'house wrap', 'fiber-cement siding'], 'Siding is fiber cement. Under it house wrap, under that OSB, 2x6 with R-19 kraft, drywall. Boise ID. Need a gap?'),
    ('wall', ['gypsum board', 'glass fiber batt', 'board sheathing', 'asphalt felt', 'wood lap siding'], 'Boston, 1915. From the street: clapboards, felt, inch-thick boards, R-13 fiberglass that the last guy put in, drywall. sound?'),
    ('wall', ['gypsum board', 'mineral wool batt', 'oriented strand board', 'house wrap', 'brick veneer'], 'Omaha. brick / 1 in. gap / wrap / 7/16 OSB / 2x6 w/ rock wool / drywall / two coats latex. is that fine without poly?'),
    ('wall', ['gypsum plaster', 'glass fiber batt', 'clay brick'], 'Three wythes of brick, then furring of 2x4 with R-13, and gypsum plaster on that. Albany NY, 1900. Safe in winter?'),
    ('wall', ['gypsum board', 'polyethylene sheet', 'glass fiber batt', 'oriented strand board', 'extruded polystyrene board', 'house wrap', 'vinyl siding'], 'Fargo. wall built out like so: rock, 6 mil, 2x6 R-21, OSB, an inch and a half of XPS, wrap over the foam, vinyl. keep the 6 mil?'),
    ('wall', ['gypsum board', 'glass fiber batt', 'oriented strand board', 'house wrap', 'stucco'], "Tucson. We pulled the plastic off last week, so now it's drywall, R-19, OSB, wrap, stucco. Fine like that?"),
    ('wall', ['tongue and groove paneling', 'glass fiber batt', 'oriented strand board', 'house wrap', 'wood lap siding'], 'T&G pine inside, nothing behind it but R-21 batts in 2x6, OSB, wrap, cedar laps. Duluth MN. Will it be ok?'),
    ('wall', ['gypsum board', 'autoclaved aerated concrete', 'stucco'], '10 in aerated concrete block, stucco out, drywall on furring in. San Antonio. vapor barrier needed?'),
    ('wall', ['clay plaster', 'hempcrete', 'lime plaster'], 'Hempcrete a foot thick, clay plaster inside, lime render outside, Asheville NC. Does it need any membrane?'),
    ('wall', ['lime plaster', 'straw bale', 'lime plaster'], 'Bales, lime on both sides. Santa Fe NM. Anything to fear?'),
    ('wall', ['gypsum board', 'glass fiber batt', 'oriented strand board', 'house wrap', 'extruded polystyrene board', 'vinyl siding'], 'In Minneapolis: gyp, R-20 fiberglass, OSB, wrap, 2 in. XPS, vinyl. There is no poly. What could go wrong?'),
    ('wall', ['gypsum board', 'glass fiber batt', 'concrete block'], 'Orlando block house, furring with batts R-4... sorry R-11 fiberglass in 2x4s, drywall. block is painted. add kraft?'),
    ('wall', ['gypsum board', 'structural insulated panel', 'house wrap', 'metal panel cladding'], '6-1/2 in SIPs, drywall in, wrap and standing seam metal siding out, Bozeman. good?'),
    ('wall', ['gypsum board', 'glass fiber batt', 'exterior gypsum sheathing', 'brick veneer'], 'Steel studs 6 inch, R-19, glass mat board, 2 inch cavity, brick. Drywall inside. Chicago school. Retarder?'),
    ('roof', ['gypsum board', 'polyethylene sheet', 'glass fiber batt', 'oriented strand board', 'asphalt shingle'], 'Vaulted, Bangor ME. Ceiling up: drywall, poly, R-38 in 2x12, 2 in channel, OSB, felt, shingles. approve?'),
    ('roof', ['gypsum board', 'open-cell spray foam', 'oriented strand board', 'metal roofing'], 'Sprayed the underside of my roof in Lafayette LA with 8 in. of open cell between rafters. OSB, metal on top. Drywall later. Trouble?'),
    ('roof', ['steel deck', 'polyisocyanurate board', 'epdm membrane'], 'Rubber on 5 in. of iso on a steel deck, Erie PA office. dew on the deck in January. why?'),
    ('roof', ['built-up roofing'], 'School in Duluth: old four-ply built-up on 2 in fiberboard on a concrete deck. Add 4 in iso and EPDM over?'),
    ('roof', ['epdm membrane', 'extruded polystyrene board', 'roof ballast'], 'Upside-down roof in Halifax: river stone, 100 mm XPS, EPDM, concrete slab 200 mm. Drips below. Why?'),
    ('roof', ['gypsum board', 'blown glass fiber'], 'My attic in Madison WI has 18 inches of blown fiberglass, drywall under it, no plastic. Worried about frost on nails. Need poly?'),
    ('roof', ['plaster on wood lath', 'glass fiber batt', 'board sheathing', 'slate roofing'], 'Slopes of an old Boston house: lath and plaster, 2x8 rafters stuffed with fiberglass, plank deck, slate. no vents. OK?'),
    ('roof', ['tongue and groove paneling', 'polyethylene sheet', 'glass fiber batt', 'oriented strand board', 'asphalt shingle'], 'Cabin in Brainerd: pine boards, poly behind, R-30 between 2x10s, vent chutes, OSB, shingles. fine?'),
    ('foundation wall', ['gypsum board', 'glass fiber batt', 'concrete'], "My basement's poured. I framed 2x4 an inch off it, stuffed R-13 unfaced in, and drywalled. Des Moines. mold coming?"),
    ('foundation wall', ['gypsum board', 'extruded polystyrene board', 'concrete block'], 'Cellar of our 1950 cape in Hartford, CT: cinder block, 2 in pink board glued on, studs, drywall. Poly as well?'),
    ('foundation wall', ['gypsum board', 'closed-cell spray foam', 'stone rubble'], 'Rubble foundation in Portland ME. contractor wants 3 in closed cell on the stone and then studs and drywall. bad?'),
    ('foundation wall', ['expanded polystyrene board', 'concrete'], 'Crawl walls, concrete, in Spokane: 3 in EPS on the inside, sealed to the ground liner. Vapor barrier over that?'),
    ('foundation wall', ['insulating concrete form'], 'ICF basement, peel and stick waterproofing outside, drywall in, Calgary. Do I have to add poly?'),
    ('slab', ['vinyl flooring', 'concrete'], "LVP going down in the basement of my 1970 split in Omaha, bare concrete, no idea what's under. Ok?"),
    ('slab', ['carpet and pad', 'plywood', 'extruded polystyrene board', 'concrete'], 'Basement floor: carpet over ply over 1 in XPS on the slab. Grand Forks. Is it safe?'),
    ('slab', ['concrete'], 'shop slab in Casper, 6 in, poured right on dirt, no plastic. Epoxy peels. why'),
    ('floor', ['carpet and pad', 'plywood', 'glass fiber batt'], 'Room above a garage in Flagstaff: carpet, 3/4 ply, R-30 between the I-joists, drywall lid. Which side does the retarder go?'),
    ('floor', ['wood flooring', 'plywood', 'closed-cell spray foam'], 'House on stilts in Galveston: oak, ply subfloor, 3 in closed cell under, open to the wind. safe?'),
    ('floor', ['vinyl flooring', 'oriented strand board', 'glass fiber batt'], 'Doublewide in Tulsa: sheet vinyl on OSB, R-22 under, belly wrap. moldy near the bath. why?'),
    ('floor', ['wood flooring', 'board sheathing'], 'Crawl below is vented and has bare dirt; old pine floor on plank subfloor, no insulation. Macon GA. Should I add a liner?'),
    ('wall', ['gypsum board', 'glass fiber batt', 'oriented strand board', 'house wrap', 'engineered wood siding'], 'Deck guys said the roof is fine. Wall north of the deck: engineered wood siding, wrap, OSB, R-19, drywall, no poly. Rot at bottom. Erie PA. why?'),
    ('wall', ['gypsum board', 'glass fiber batt', 'oriented strand board', 'house wrap', 'wood lap siding'], "We insulated with R-21 fiberglass, hung drywall, no plastic. Sheathing OSB, wrap, and cedar lap over it. It's in Kalispell. Trouble ahead?"),
    ('wall', ['gypsum board', 'polyethylene sheet', 'glass fiber batt', 'oriented strand board', 'house wrap', 'metal panel cladding'], 'corrugated steel siding/wrap/OSB/R-24/poly/drywall. Whitehorse YT. remove poly ok?'),
    ('wall', ['gypsum board', 'open-cell spray foam', 'oriented strand board', 'house wrap', 'vinyl siding'], '4x... sorry 2x6 wall, OC foam filling it, OSB, hw, vinyl, drywall inside. Akron OH. paint enough?'),
    ('wall', ['ceramic tile', 'glass fiber batt', 'oriented strand board', 'house wrap', 'fiber-cement siding'], 'Shower on an exterior wall, Portland OR: porcelain tile, backer board, R-21 fiberglass, OSB, wrap, fiber cement. Is paint/no poly ok'),
    ('wall', ['gypsum board', 'extruded polystyrene board', 'clay brick'], 'Old warehouse lofts in St. Louis, 16 in brick. 2 in XPS tight to brick, steel studs w/o insulation, drywall. Will the brick freeze?'),
    ('wall', ['gypsum board', 'mineral wool batt', 'exterior gypsum sheathing', 'fluid-applied vapor-open membrane', 'mineral wool board', 'brick veneer'], 'Hospital wing Rochester MN: gyp, 6 in. steel studs w/ mineral wool batts, glass mat, fluid-applied vapor open AB, 3 in. mineral wool board, 2 in. cavity, brick. pass?'),
    ('wall', ['gypsum board', 'glass fiber batt', 'board sheathing', 'stucco'], '1926 bungalow Los Angeles, stucco over felt over 1x6 boards, no insulation till we blew fiberglass in; plaster got replaced by drywall. wet?'),
    ('wall', ['gypsum board', 'insulating concrete form', 'stucco'], 'ICF house Las Vegas, stucco, drywall. Any retarder?'),
    ('wall', ['gypsum board', 'closed-cell spray foam', 'oriented strand board', 'house wrap', 'cedar shingle'], 'Cape Cod shingled cottage. Two inches closed cell in 2x4s, OSB, house wrap, cedar shingles on it. drywall. ok?'),
    ('wall', ['gypsum board', 'foil-faced polyisocyanurate board', 'concrete block', 'stucco'], 'CBS wall Miami: painted stucco, block, 3/4 in. foil polyiso, furring, drywall. mold?'),
    ('roof', ['gypsum board', 'mineral wool batt', 'plywood', 'polyisocyanurate board', 'metal roofing'], 'Crew wants: drywall, 2x8s w/ mineral wool, ply, 3 in iso, second ply, standing seam. Jackson WY. enough iso?'),
    ('roof', ['gypsum board', 'polyethylene sheet', 'blown glass fiber'], 'truss attic Bemidji: drywall, 6 mil, R-60 blown fiberglass, soffit vents. can the poly go?'),
    ('roof', ['gypsum board', 'open-cell spray foam', 'asphalt shingle'], 'I foamed the rafters myself with open cell, 9 inches, and drywalled. Shingles over OSB. Greenville SC. safe w/o vents?'),
    ('roof', ['concrete', 'self-adhered membrane', 'polyisocyanurate board', 'modified bitumen'], 'Concrete deck, self-adhered vapor barrier, 4 in polyiso, mod bit. Albany NY museum. Enough foam?'),
    ('roof', ['gypsum board', 'glass fiber batt', 'plywood', 'tpo membrane'], 'Row house Philly flat roof: TPO over ply, 2x10 joists full of R-30 batts, drywall. No vents at all. rot?'),
    ('roof', ['structural insulated panel', 'asphalt shingle'], 'SIP roof Truckee CA, T&G under, felt and shingles over. ridges are rotting. why'),
    ('roof', ['vinyl insulation facing', 'glass fiber batt', 'metal roofing'], 'pole barn roof by Wichita: steel on purlins, 4 in vinyl backed blanket below. condensate, why'),
    ('foundation wall', ['gypsum board', 'glass fiber batt', 'extruded polystyrene board', 'concrete'], 'Milwaukee basement - concrete, 1.5 in XPS, 2x4 with R-13 unfaced, rock. do i need poly?'),
    ('foundation wall', ['closed-cell spray foam', 'concrete block'], '2 in of closed cell on the cinder block walls in my Pittsburgh basement, left bare. is it ok (fire aside)?'),
    ('foundation wall', ['gypsum board', 'kraft-faced glass fiber batt', 'concrete block'], 'Previous owner finished the basement: kraft batts between studs against block, drywall. Louisville KY. smells. what now'),
    ('foundation wall', ['concrete', 'asphalt dampproofing', 'extruded polystyrene board'], 'Outside of the foundation, from wall out: tar, 2 in. XPS, dirt. 8 in. poured. Burlington VT. ok without anything inside?'),
    ('foundation wall', ['concrete'], 'Below grade garage wall in Duluth, 10 in concrete, water stains. Should I paint the inside with waterproofing?'),
    ('slab', ['ceramic tile', 'concrete'], 'Sunroom: tile on thinset on a 4 in. slab with no plastic. Charleston SC. going to fail?'),
    ('slab', ['concrete', 'polyethylene sheet', 'expanded polystyrene board', 'gravel bed'], 'Radiant slab, Burlington VT: pex in 5 in concrete, 6 mil poly, 3 in EPS, 6 in stone. OK?'),
    ('slab', ['engineered wood flooring', 'plywood', 'concrete'], 'Engineered hardwood over 3/4 ply nailed to an old basement slab in Cleveland. risky?'),
    ('slab', ['concrete', 'slab vapor retarder'], 'warehouse floor Memphis; 6 in concrete right over a 10 mil sheet. Is sand needed between?'),
    ('floor', ['carpet and pad', 'oriented strand board', 'kraft-faced glass fiber batt', 'vented crawl space'], 'Carpet, OSB, R-19 kraft between joists (paper up), vented crawl, Tupelo MS. ok?'),
    ('floor', ['ceramic tile', 'plywood', 'glass fiber batt'], 'Bathroom floor over unheated garage, St. Paul: tile, cement board, ply, R-30 in joists, drywall under. poly?'),
    ('floor', ['vinyl flooring', 'plywood'], 'Sealed crawl in Raleigh, sheet vinyl on plywood, no insulation in the joists. dehumidifier runs. mold risk?'),
    ('wall', ['gypsum board', 'glass fiber batt', 'oriented strand board', 'house wrap', 'vinyl siding'], "I keep reading different things. We're in Kansas City, walls are just studs (2x4) with R13, OSB, wrap and vinyl, drywall on the inside. There isn't any plastic. Should there be?"),
    ('wall', ['gypsum board', 'glass fiber batt', 'plywood', 'asphalt felt', 'wood lap siding'], 'My grandson says the felt behind our redwood siding should have been wrap. Under the felt plywood; fiberglass in the studs and drywall. Eugene Oregon. Does it matter?'),
    ('wall', ['gypsum board', 'polyethylene sheet', 'glass fiber batt', 'exterior gypsum sheathing', 'house wrap', 'brick veneer'], 'Condo board, Ottawa: brick veneer (25 mm cavity), sheathing membrane, exterior gypsum, 38x140 RSI 3.5, poly, gypsum. Is the vapour barrier on the right side?'),
    ('wall', ['gypsum board', 'closed-cell spray foam', 'steel siding'], 'Steel building shop in Amarillo: 2 inches of closed cell sprayed right on the steel siding, girts, drywall on furring. Enough?'),
    ('wall', ['plaster on wood lath', 'dense-packed cellulose', 'board sheathing', 'asphalt felt', 'stucco'], "1922 foursquare in Minneapolis. stucco over tar paper, boards, 2x4 packed with cellulose, lath and plaster painted many times. Peeling near windows. what's happening?"),
    ('wall', ['gypsum board', 'kraft-faced glass fiber batt', 'oriented strand board', 'house wrap', 'stucco'], 'Austin spec homes, three-coat stucco / 2 layers paper no... one layer wrap / OSB / 2x4 kraft R-13 / gyp. am I okay?'),
    ('wall', ['gypsum board', 'glass fiber batt', 'plywood', 'house wrap', 'fiber-cement siding'], "Seattle backyard cottage. fiber cement shakes? planks, furring, wrap, 1/2 ply, R-21 unfaced, drywall w/ latex. Inspector says paint isn't a retarder. Right?"),
    ('wall', ['gypsum board', 'mineral wool batt', 'oriented strand board', 'mineral wool board', 'house wrap', 'metal panel cladding'], 'Passive project Duluth: gypsum, 2x8 w/ mineral wool, OSB taped, 6 in mineral wool board, wrap, steel on battens. Smart membrane needed?'),
    ('wall', ['gypsum plaster', 'clay brick'], 'Church, Cincinnati, 20 inch brick, plaster straight on. Vestry wants 2 in spray foam. Wise?'),
    ('roof', ['gypsum board', 'polyethylene sheet', 'glass fiber batt', 'oriented strand board', 'asphalt felt', 'asphalt shingle'], 'Looking up: drywall, plastic, R-38 fiberglass in 2x12s, inch of air, OSB, felt, shingles. Vaulted great room in Missoula. Condensation on the nails. Why?'),
    ('roof', ['steel deck', 'gypsum roof board', 'polyisocyanurate board', 'pvc membrane'], "Cold deck? Steel deck, 1/2 gypsum roof board, 5 in polyiso, PVC. Natatorium 82F/60%. Bangor ME. what's missing?"),
    ('roof', ['gypsum board', 'loose-fill cellulose'], 'the ceiling below the attic is drywall with 12 inch blown cellulose, Chattanooga. attic stinks of mold. what do I do?'),
    ('roof', ['plywood', 'epdm membrane'], 'porch roof turned into bedroom: rubber on ply, R-19 crammed in 2x8, drywall. Hartford. vents needed?'),
    ('foundation wall', ['gypsum board', 'expanded polystyrene board', 'concrete'], 'downstairs in our split-entry in Bismarck: concrete up to 4 ft, 2 in EPS glued, strapping, gyp. Poly?'),
    ('foundation wall', ['concrete block', 'extruded polystyrene board'], 'Going to excavate and put 2 in blue XPS on the outside of my block foundation in Erie over new waterproofing membrane. good?'),
    ('foundation wall', ['gypsum board', 'glass fiber batt', 'concrete'], 'I finished my Omaha basement ten years ago: 2x4s with R-11 against the concrete, drywall, no plastic. Now selling. Is it a problem?'),
    ('foundation wall', ['clay brick'], 'Brick cellar walls in Baltimore from 1890, always a bit damp. Can I parge and paint them with waterproof paint?'),
    ('foundation wall', ['stone rubble'], 'fieldstone basement Vermont. Brattleboro. want to spray 3 inch foam on the stones ok?'),
    ('slab', ['vinyl flooring', 'concrete'], 'glue-down LVT in a clinic on a new slab, 4 in, vapor retarder 10 mil under it, Tampa. RH test 92. now what? wait?'),
    ('slab', ['concrete', 'expanded polystyrene board'], "Garage to be heated, Thunder Bay: 100 mm slab, 50 mm EPS under, no poly because EPS is 'waterproof'. right?"),
    ('slab', ['carpet and pad', 'concrete'], 'Den is in the basement. Pad and carpet lie on the slab, 1958 house, Rochester NY. smells in August. why?'),
    ('slab', ['wood flooring', 'plywood', 'expanded polystyrene board', 'concrete'], 'Oak nailed to ply on 1 inch EPS on an existing slab, Little Rock. Poly where?'),
    ('floor', ['wood flooring', 'board sheathing', 'glass fiber batt'], 'old oak over plank subfloor, R-19 falling out of the joists, dirt crawl with vents, Memphis. Insulate again or not?'),
    ('floor', ['carpet and pad', 'oriented strand board', 'mineral wool batt'], 'Bonus room floor over garage Fargo: carpet, OSB, joists w/ R-30 stone wool, 5/8 X. poly under OSB?'),
    ('floor', ['carpet and pad', 'oriented strand board', 'glass fiber batt'], 'overhang (2 ft) of second floor in Minneapolis, R-30 batts, OSB above with carpet, plywood soffit. cold. why?'),
    ('wall', ['gypsum board', 'glass fiber batt', 'oriented strand board', 'house wrap', 'vinyl siding'], 'Rim? no the wall above it. Vinyl, wrap, OSB, R-15, drywall. Basement below is damp though. Akron OH. Is the wall at risk?'),
    ('wall', ['gypsum board', 'extruded polystyrene board', 'concrete block'], 'Concrete block house built in Phoenix, stucco outside, 1 in XPS inside, furring and drywall. any need of poly?'),
    ('wall', ['gypsum board', 'polyethylene sheet', 'glass fiber batt', 'plywood', 'house wrap', 'vinyl siding'], "Hello, long story. We bought in Moncton, NB in spring. The siding (vinyl) is coming off for windows and under it there's house wrap over 3/8 plywood, then fiberglass batts, and the inside is poly and drywall. My neighbour the carpenter says rip out the poly. Should it go?"),
    ('wall', ['gypsum board', 'glass fiber batt', 'oriented strand board', 'extruded polystyrene board', 'brick veneer'], 'As an architect in Kansas City I inherited this detail: face brick, 1 in. air space, 1 in. XPS, OSB, 2x6 with R-19 unfaced, gypsum board. There is neither wrap nor retarder on the drawing. Do I have to add a retarder?'),
    ('roof', ['gypsum board', 'blown glass fiber'], "Mother's house in Dayton. The attic has 10 inches of blown fiberglass over a drywall ceiling. The roofers nailed on new shingles and said the plywood was black around the bath fan. Why would that be?"),
    ('foundation wall', ['gypsum board', 'glass fiber batt', 'concrete block'], "Twenty years ago Dad framed the basement in Toledo, 2x4s right against the block, pink fiberglass, drywall. Last month we opened a wall below the window and the studs are rotten at the bottom. The roof doesn't leak. What happened?"),
    ('floor', ['wood flooring', 'plywood', 'glass fiber batt', 'vented crawl space'], 'Dear sirs, our church hall at Macon GA has oak on plywood over a vented crawl, fiberglass hanging in shreds between the joists. The bricks of the piers sweat. Walls are brick, roof is slate. Would closing the vents be wise?'),
    ('slab', ['carpet and pad', 'concrete'], "I run a day care in Wichita. Slab on grade, carpet glued... sorry, carpet with pad on the concrete, and the walls are block. Carpet smells after each rain. What's going on under there?"),
    ('wall', ['gypsum board', 'mineral wool batt', 'oriented strand board', 'house wrap', 'fiber-cement siding'], 'Builder here, Spokane. Spec: fiber cement on 3/8 furring, WRB, 7/16 OSB, 2x6 R-23 mineral wool, 1/2 GWB with PVA + latex. Roof: R-60 attic. Slab: R-10. Wall needs kraft or not?'),
    ('roof', ['gypsum board', 'closed-cell spray foam', 'oriented strand board', 'metal roofing'], 'Our lake cabin near Brainerd MN: walls are log, roof is 2x10 rafters with 4 in closed cell on the OSB, steel roofing, drywall. It drips at the ridge in Feb. why?'),
    ('wall', ['log wall'], "Our lake cabin near Brainerd MN, roof is foamed and dry. It's the walls: 8 in logs, bare both sides. Can I leave them without any vapor barrier?"),
    ('wall', ['gypsum board', 'glass fiber batt', 'concrete block'], "School in Jacksonville. Painted CMU, 1-5/8 metal furring with R-5... no R-6 fiberglass, gyp. Mold behind the vinyl base. Where's the water from?"),
    ('wall', ['gypsum board', 'open-cell spray foam', 'oriented strand board', 'house wrap', 'brick veneer'], "hey so we're in Nashville, brick front, 1in gap, wrap, osb, and the insulation guy did open cell in the 2x4s. no poly. drywall next week. any reason to stop him"),
    ('roof', ['gypsum board', 'kraft-faced glass fiber batt', 'plywood', 'built-up roofing'], 'Row of motels in Reno, flat: gravel built-up roof on plywood, kraft batts R-19 in the joists, gyp ceiling. Batts wet at the perimeter. Reason?'),
    ('floor', ['carpet and pad', 'oriented strand board', 'glass fiber batt'], 'townhouse over carport in Eugene; carpet osb r-38 batts plywood soffit under. feet cold. is moisture an issue?'),
    ('wall', ['gypsum board', 'glass fiber batt', 'oriented strand board', 'house wrap', 'vinyl siding'], "Vapor barrier or none? St. Joseph, Missouri, two-story, 2x4, insulation R-13 fiberglass, seven-sixteenths OSB, Housewrap, vinyl. Walls inside gypsum. Builder omitted the plastic. I'd like to know if I should worry."),
    ('wall', ['gypsum board', 'mineral wool batt', 'plywood', 'house wrap', 'stucco'], 'Three coat stucco, drainage mat, WRB, half inch plywood, 2x6 with mineral wool, drywall, two coats paint. San Jose, California. Inspector wants kraft. Needed?'),
    ('wall', ['gypsum board', 'polyethylene sheet', 'mineral wool batt', 'exterior gypsum sheathing', 'self-adhered membrane', 'mineral wool board', 'aluminum siding'], 'Edmonton office: gypsum, poly, 152 mm steel studs w/ mineral wool batts, exterior gypsum, self-adhered membrane, 100 mm mineral wool board, aluminum siding. Two barriers - bad?'),
    ('wall', ['plaster on wood lath', 'glass fiber batt', 'board sheathing', 'asphalt felt', 'cedar shingle'], 'Cedar shingles, felt, board sheathing, R-11 fiberglass (2x4), lath & plaster. Nantucket MA. Oil paint inside. Adding AC this summer, will that rot anything?'),
    ('roof', ['gypsum board', 'glass fiber batt', 'oriented strand board', 'asphalt shingle'], 'A-frame by Tahoe City, CA. The roof is the wall. 2x8 rafters, R-21 batts, drywall, OSB, shingles. No venting. Are we in trouble?'),
    ('roof', ['gypsum board', 'polyethylene sheet', 'loose-fill cellulose'], 'On top of the drywall: poly, then 20 inches of loose cellulose, vented attic. Fairbanks. Is poly on the right side?'),
    ('roof', ['steel deck', 'polyethylene sheet', 'polyisocyanurate board', 'epdm membrane'], 'Ice arena lobby Winnipeg: steel deck, 6 mil poly, 4 in. polyiso, ballasted EPDM. Is the poly enough?'),
    ('roof', ['gypsum board', 'closed-cell spray foam', 'oriented strand board', 'metal roofing'], 'Barn conversion, Lancaster PA. Underside of OSB gets 5.5 in. closed cell between trusses, drywall; metal roof above felt. approve?'),
    ('roof', ['tongue and groove paneling', 'polyisocyanurate board', 'metal roofing'], 'Timber frame near Asheville: T&G ceiling boards, peel and stick, 6 in. polyiso, strapping, standing seam. Does it need venting?'),
    ('foundation wall', ['gypsum board', 'foil-faced polyisocyanurate board', 'concrete'], 'Poured basement, Lansing MI. 1.5 in. foil-faced polyiso taped, 2x4 frame empty, drywall. Okay w/out poly?'),
    ('foundation wall', ['gypsum board', 'mineral wool batt', 'expanded polystyrene board', 'concrete'], 'Below grade: concrete, 75 mm EPS, 38x89 with mineral wool, gypsum. Ottawa. Do we need 0.15 poly?'),
    ('foundation wall', ['concrete block', 'asphalt dampproofing'], 'unfinished block basement, Dayton, tar outside, bare inside. Condensation every July. what causes it?'),
    ('foundation wall', ['gypsum board', 'closed-cell spray foam', 'clay brick'], 'brick foundation 1895 Baltimore rowhouse cellar, spray 2 in closed cell on the inside and drywall. would you?'),
    ('slab', ['carpet and pad', 'concrete', 'polyethylene sheet', 'gravel bed'], 'Bedroom slab: carpet+pad, 4 in concrete, 6 mil poly, 4 in gravel. Tulsa. Musty. why'),
    ('slab', ['concrete', 'slab vapor retarder 15 mil', 'extruded polystyrene board'], 'Cold storage? no, a plain warehouse in Boise. 6 in concrete / 15 mil / 2 in XPS / native soil. ok order?'),
    ('floor', ['wood flooring', 'plywood', 'open-cell spray foam'], 'Hardwood on ply, open cell 5 in. between joists from below, vented crawl, New Orleans. okay?'),
    ('floor', ['carpet and pad', 'oriented strand board', 'glass fiber batt', 'gypsum board'], 'Room over garage: carpet, OSB, R-30 in 2x10, drywall on the garage ceiling. Milwaukee. need poly somewhere?'),
    ('floor', ['wood flooring', 'board sheathing'], '1905 house, Richmond VA: heart pine on plank subfloor, nothing below but a vented crawl with bare dirt. add batts?'),
    ('wall', ['vinyl wall covering', 'gypsum board', 'glass fiber batt', 'exterior gypsum sheathing', 'brick veneer'], 'hotel Orlando: vinyl wall covering, gyp, steel studs R-13, gyp sheathing, brick. mold behind the vinyl. cause?'),
]  # fmt: skip
DENIED = [
    ('polyethylene sheet', "Tucson. We pulled the plastic off last week, so now it's drywall, R-19, OSB, wrap, stucco. Fine like that?"),
    ('polyethylene sheet', 'In Minneapolis: gyp, R-20 fiberglass, OSB, wrap, 2 in. XPS, vinyl. There is no poly. What could go wrong?'),
    ('polyethylene sheet', 'shop slab in Casper, 6 in, poured right on dirt, no plastic. Epoxy peels. why'),
    ('polyethylene sheet', 'Deck guys said the roof is fine. Wall north of the deck: engineered wood siding, wrap, OSB, R-19, drywall, no poly. Rot at bottom. Erie PA. why?'),
    ('polyethylene sheet', "We insulated with R-21 fiberglass, hung drywall, no plastic. Sheathing OSB, wrap, and cedar lap over it. It's in Kalispell. Trouble ahead?"),
    ('polyethylene sheet', "I keep reading different things. We're in Kansas City, walls are just studs (2x4) with R13, OSB, wrap and vinyl, drywall on the inside. There isn't any plastic. Should there be?"),
    ('polyethylene sheet', 'I finished my Omaha basement ten years ago: 2x4s with R-11 against the concrete, drywall, no plastic. Now selling. Is it a problem?'),
    ('polyethylene sheet', "hey so we're in Nashville, brick front, 1in gap, wrap, osb, and the insulation guy did open cell in the 2x4s. no poly. drywall next week. any reason to stop him"),
    ('polyethylene sheet', "Vapor barrier or none? St. Joseph, Missouri, two-story, 2x4, insulation R-13 fiberglass, seven-sixteenths OSB, Housewrap, vinyl. Walls inside gypsum. Builder omitted the plastic. I'd like to know if I should worry."),
]  # fmt: skip
IN_PASSING = [
    ('wall', '1920 farmhouse in Fargo, clapboards on board sheathing, empty 2x4 bays, plaster. The basement is dry. Can I dense-pack it?'),
    ('wall', 'Roofer says the roof is fine. Stucco on two layers of paper, OSB, 2x4 R-13, drywall, mold behind the bed. Tampa FL. why?'),
    ('wall', '2x6 wall in Butte MT, R-21, OSB, wrap, engineered wood lap, drywall; attic was sealed last year, crawl is encapsulated. Is it ok?'),
    ('wall', 'Bedroom over the garage, its outside wall: vinyl siding, fanfold, 2x4 R-11, drywall. Topeka KS. fine?'),
    ('roof', 'Kneewalls were done last year. Slopes: lath and plaster, 2x6 rafters with R-19, board deck, felt, shingles. Bangor ME. ok?'),
    ('roof', 'We stand in the hallway and the ceiling drips. TPO on 4 inch polyiso on steel deck, office below, walls are brick. Toledo OH. Why?'),
    ('roof', "Wall guy says it's the roof. Metal roofing on purlins, R-13 vinyl faced blanket, Waco TX, drips each morning. why"),
    ('foundation wall', 'Poured foundation, 2x4 studs, R-13 unfaced, drywall, den downstairs in Akron OH. good?'),
    ('foundation wall', '8 in poured wall, 2 in EPS on it, drywall on furring in Sudbury ON. need poly?'),
    ('foundation wall', 'We dug along the footing in Erie PA: block with old tar. EPS outside, is that ok?'),
    ('foundation wall', 'rec room, Duluth MN: drywall on 2x4s against bare concrete, R-13. ok?'),
    ('foundation wall', 'concrete, half of it in the ground, 1 in XPS, 2x4 R-11, drywall, Altoona PA. ok?'),
    ('slab', 'den in the basement in Flint MI: carpet on pad on the old slab, no plastic under. fine?'),
    ('slab', 'walkout level, slab over 10 mil over 2 in XPS over gravel, vinyl plank. Ames IA. ok?'),
    ('slab', 'Garage turned bedroom in Waco: sheet vinyl glued on 4 in concrete. mold?'),
    ('slab', 'Concrete floor in my shop in Helena MT, 2 in EPS under it, poly, gravel. ok without the poly?'),
    ('floor', 'Sunroom on posts in Savannah GA: tile, plywood, R-19 between joists, nothing below. The walls are all glass. ok?'),
    ('floor', 'Second floor room that sticks out over the porch, R-30 in the joists, plywood subfloor, carpet, Albany NY. is it ok?'),
    ('floor', 'Garage below is not heated. Joists R-30, OSB, carpet above, type X below, Duluth MN. poly where?'),
    ('wall', 'Tilt-up concrete 7 in, 3 in polyiso inside, steel studs, drywall, warehouse office in Reno NV. ok?'),
    ('wall', 'Concrete block house in Tampa FL, painted stucco, 3/4 foam, furring, drywall. vapor barrier?'),
    ('wall', 'brick rowhouse in Baltimore, 12 in brick, plaster, joists run into the front wall. 2 in closed cell inside ok?'),
    ('wall', 'straw bale on a rubble trench foundation with a stone stem wall, earth plaster in, lime out, Taos NM. sound?'),
]  # fmt: skip


def sections(reading: Reading) -> list[Section]:
    """The section as described and those set beside it."""
    base = [reading.base] if reading.base is not None else []
    return base + [o.section for o in reading.options]


def names(section: Section) -> list[str]:
    return [x.name for x in section.layers]


def in_order(wanted: list[str], found: list[str]) -> bool:
    rest = iter(found)
    return all(any(n == w for n in rest) for w in wanted)


@pytest.mark.parametrize(("kind", "layers", "text"), TOLD)
def test_layers_stand_where_they_were_told(kind: str, layers: list[str], text: str) -> None:
    (reading,) = read(text)
    shown = sections(reading)
    assert shown
    assert {s.kind for s in shown} == {kind}
    assert any(in_order(layers, names(s)) for s in shown), [names(s) for s in shown]


@pytest.mark.parametrize(("material", "text"), DENIED)
def test_what_is_not_there_stands_in_no_described_section(material: str, text: str) -> None:
    (reading,) = read(text)
    assert material not in names(sections(reading)[0])


@pytest.mark.parametrize(("kind", "text"), IN_PASSING)
def test_another_part_of_the_building_named_in_passing_decides_nothing(kind: str, text: str) -> None:
    (reading,) = read(text)
    assert {s.kind for s in sections(reading)} == {kind}
    assert "kind" not in [g.what for g in reading.gaps]


TWO_ROWS = [
    "Wall: drywall, 2x3 service wall with R-8 fiberglass, poly, 2x6 with R-22 fiberglass, OSB, wrap, vinyl in Winnipeg. ok?",
    "Vinyl siding, wrap, OSB, 2x6 with R-22 batts, poly, 2x3 with R-8 batts, drywall. Winnipeg. ok?",
]


@pytest.mark.parametrize("text", TWO_ROWS)
def test_two_rows_of_studs_with_the_sheet_between_them_are_two_layers(text: str) -> None:
    (reading,) = read(text)
    assert reading.base is not None
    texts = [x.text for x in reading.base.layers]
    rows = [n for n, t in enumerate(texts) if "glass fiber batt" in t]
    sheet = next(n for n, t in enumerate(texts) if "polyethylene" in t)
    assert len(rows) == 2 and rows[0] < sheet < rows[1]
    assert "2x3" in texts[rows[0]] and "2x6" in texts[rows[1]]


def test_parts_of_a_building_asked_about_in_one_text_keep_their_own_layers() -> None:
    wall, slab = read(
        'basement in Dayton OH. walls: 2" XPS on the block, studs empty, drywall. thats ok right? and the slab: carpet straight on the '
        "concrete, ok too?"
    )
    assert wall.base is not None and slab.base is not None
    assert (wall.base.kind, slab.base.kind) == ("foundation wall", "slab")
    assert "carpet and pad" not in names(wall.base) and "extruded polystyrene board" not in names(slab.base)


@pytest.mark.parametrize(
    "text",
    [
        "Vented attic, Tulsa OK: R-38 blown cellulose, drywall, plywood deck. Can I put ice and water membrane over the whole deck?",
        "vented attic in Fargo ND, 16 in cellulose on drywall, plywood deck. is it fine to go with a peel and stick on the whole deck under the shingles?",
    ],
)  # fmt: skip
def test_a_question_about_the_deck_above_an_attic_shows_the_deck(text: str) -> None:
    (reading,) = read(text)
    shown = sections(reading)
    assert all("plywood" in names(s) and "loose-fill cellulose" in names(s) for s in shown)
    assert any({"ice and water membrane", "self-adhered membrane"} & set(names(s)) for s in shown)


def test_the_foam_is_the_foam_that_was_named() -> None:
    (reading,) = read(
        "Red Deer, 38x286 rafters, cathedral, unvented: closed cell foam on the plywood, R-20 batts, drywall. How many mm of the foam?"
    )
    assert reading.subject is not None and reading.subject.name == "closed-cell spray foam"


@pytest.mark.parametrize(
    ("place", "text"),
    [
        ("Astoria, OR", "On the coast of Oregon, Astoria: cedar shingles, wrap, plywood, 2x4 R-13, drywall. Need a gap?"),
        ("Springfield, MO", "Springfield. We moved here to Missouri. 2x6 R-21, OSB, wrap, vinyl, drywall. need poly?"),
        ("Duluth, GA", "Duluth, down in Georgia: 2x4 R-13, OSB, brick, drywall. poly?"),
        ("Vancouver, BC", "Vancouver, flat roof: 19 mm plywood, 150 mm polyiso, EPDM, gypsum below. ok?"),
        ("Winnipeg, MB", "do i need poly in my winnipeg basement? concrete, 2 in XPS, studs, drywall"),
        ("Tulsa, OK", "My sister in Boise says poly. We're in Tulsa. 2x4 R-13, OSB, vinyl, drywall. need it?"),
        ("Portland, ME", "Portland, Maine not Oregon. 2x6 R-21, OSB, wrap, vinyl, drywall. need poly?"),
        ("Minneapolis, MN", "In Minneapolis they want poly. In Houston, where I trained, never. 2x6 R-21, OSB, wrap, vinyl. needed here?"),
        ("Burlington, VT", "Burlington VT. The product is made in Quebec. 2x6 R-21, OSB, wrap, vinyl, drywall. need poly?"),
        ("Parma, OH", "Parma, OH (next to Cleveland). 2x6 R-21, OSB, wrap, vinyl, drywall. need poly?"),
        ("Boise, ID", "2x6 wall, boise, R-21 batts, OSB, wrap, vinyl, drywall. need poly?"),
        ("Seattle, WA", "walls: drywall, R-21, OSB, wrap, cedar. seattle. ok?"),
        ("Queens, NY", "Queens, New York: brick veneer, 2x4 R-13, OSB, wrap, drywall. need poly?"),
        ("Eugene, OR", "2x6 wall named after Lake Gary? no, in Eugene, OR: R-21, OSB, vinyl siding, drywall. ok?"),
    ],
)  # fmt: skip
def test_a_place_is_the_one_that_the_text_tells_of(place: str, text: str) -> None:
    shown = sections(read(text)[0])[0]
    assert shown.place is not None and shown.place.name == place


FIRST = "Basement wall in Chattanooga: block, 2 in foil-faced polyiso taped, furring, drywall. ok?"


@pytest.mark.parametrize(
    ("there", "gone", "text"),
    [
        ("glass fiber batt", "foil-faced polyisocyanurate board", "same wall with unfaced fiberglass batts instead of the polyiso?"),
        ("extruded polystyrene board", "foil-faced polyisocyanurate board", "and with XPS in place of the polyiso?"),
        ("polyethylene sheet", "", "You said the foam is fine. Suppose I add poly behind the drywall. Good?"),
    ],
)  # fmt: skip
def test_a_follow_up_exchanges_what_it_names_and_keeps_the_rest(there: str, gone: str, text: str) -> None:
    before = read(FIRST)[-1]
    after = read(text, before=before)[-1]
    shown = sections(after)
    assert any(there in names(s) for s in shown)
    assert all(gone not in names(s) and "concrete block" in names(s) for s in shown)
    assert shown[0].place is not None and shown[0].place.name == "Chattanooga, TN"


@pytest.mark.parametrize(
    "text",
    [
        "Sacramento slab, 15 mil vapor retarder, gravel, wood floor. My finisher wants 2 in of sand on top of the retarder. Let him add the sand?",
        "old timer wants 2 inches of sand ON TOP of the 10 mil under the slab in Sacramento, LVP floor. add the sand yes or no",
    ],
)
def test_sand_on_the_retarder_lies_between_it_and_the_slab(text: str) -> None:
    (reading,) = read(text)
    names = [x.name for x in reading.options[1].section.layers]
    assert names.index("concrete") + 1 == names.index("sand and gravel")
