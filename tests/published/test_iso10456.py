"""Thermal values of DIN EN 12524 and vapor resistance factors of ISO 10456 against the library's rows.

DIN EN 12524:2000: density, conductivity and heat capacity as restated in an open package (PyPI ht 1.2.0), read
there. ISO 10456:2007 Tables 3, 4 and 5 (the successor, with the vapor values): from memory of the standard.
Every figure of the library that names one of the two is looked up here under the entry it is said to be.
"""

import pytest

from reviewer.library.materials import load_materials
from reviewer.units import DELTA_0

MATERIALS = load_materials()

# entry: density kg/m³, conductivity W/(m·K), specific heat capacity J/(kg·K)
EN12524_TABLE = {
    "Asphalt": (2100, 0.7, 1000),
    "Bitumen, pure": (1050, 0.17, 1000),
    "Bitumen, felt or sheet": (1100, 0.23, 1000),
    "Concrete, medium density 2000 kg/m^3": (2000, 1.35, 1000),
    "Concrete, high density": (2400, 2.0, 1000),
    "Concrete, reinforced with 1% steel": (2300, 2.3, 1000),
    "Floor covering, rubber": (1200, 0.17, 1400),
    "Floor covering, plastic": (1700, 0.25, 1400),
    "Floor covering, underlay, felt": (120, 0.05, 1300),
    "Floor covering, underlay, cork": (200, 0.05, 1500),
    "Floor covering, tiles, cork": (400, 65.0, 1500),
    "Floor covering, carpet / textile flooring": (200, 0.06, 1300),
    "Floor covering, Linoleum": (1200, 0.17, 1400),
    "Glass, soda lime": (2500, 1.0, 750),
    "Metals, aluminium alloys": (2800, 160.0, 880),
    "Metals, copper": (8900, 380.0, 380),
    "Metals, iron, cast": (7500, 50.0, 450),
    "Metals, lead": (11300, 35.0, 130),
    "Metals, steel": (7800, 50.0, 450),
    "Metals, stainless steel": (7900, 17.0, 460),
    "Metals, zinc": (7200, 110.0, 380),
    "Plastics, acrylic": (1050, 0.2, 1500),
    "Plastics, polycarbonates": (1200, 0.2, 1200),
    "Plastics, Polyvinylchloride (PVC)": (1390, 0.17, 900),
    "Plastics, polyamide (nylon)": (1150, 0.25, 1600),
    "Plastics, polyamide 6.6 with 25% glass fibre": (1450, 0.3, 1600),
    "Plastics, polyethylene / polythene, high density": (980, 0.5, 1800),
    "Plastics, polyethylene / polythene, low density": (920, 0.33, 2200),
    "Plastics, polystyrene": (1050, 0.16, 1300),
    "Plastics, polypropylene": (910, 0.22, 1800),
    "Plastics, polyurethane (PU)": (1200, 0.25, 1800),
    "Plastics, epoxy resin": (1200, 0.2, 1400),
    "Plastics, phenolic resin": (1300, 0.3, 1700),
    "Plastics, polyester resin": (1400, 0.19, 1200),
    "Rubber, neoprene (polychloroprene)": (1240, 0.23, 2140),
    "Rubber, butyl (isobutene), solid melt": (1200, 0.24, 1400),
    "Rubber, ethylene propylene diene monomer (EPDM)": (1150, 0.25, 1000),
    "Sealant, silicone, pure": (1200, 0.35, 1000),
    "Sealant, polyvinylchloride (PVC) flexible, with 40% softner": (1200, 0.14, 1000),
    "Sealant, elastomeric foam, flexible": (70, 0.05, 1500),
    "Sealant, polyethylene foam": (70, 0.05, 2300),
    "Gypsum, 1500 kg/m^3": (1500, 0.56, 1000),
    "Gypsum, plasterboard": (900, 0.25, 1000),
    "Plasters and renders, gypsum plastering, 1000 kg/m^3": (1000, 0.4, 1000),
    "Plasters and renders, lime sand": (1600, 0.8, 1000),
    "Solids, clay or silt": (1500, 1.5, 2085),
    "Solids, sand and gravel": (1950, 2.0, 1045),
    "Stone, natural, crystalline rock": (2800, 3.5, 1000),
    "Stone, granite": (2600, 2.8, 1000),
    "Stone, marble": (2800, 3.5, 1000),
    "Stone, slate": (2400, 2.2, 1000),
    "Stone, limestone, soft": (1800, 1.1, 1000),
    "Stone, limestone, hard": (2200, 1.7, 1000),
    "Stone, sandstone (silica)": (2600, 2.3, 1000),
    "Stone, artificial stone": (1750, 1.3, 1000),
    "Tiles, clay": (2000, 1.0, 800),
    "Tiles, concrete": (2100, 1.5, 1000),
    "Tiles, ceramic or porcelain": (2300, 1.3, 840),
    "Timber, 500 kg/m^3": (500, 0.13, 1600),
    "Wood, plywood 500 kg/m^3": (500, 0.13, 1600),
    "Wood, plywood 700 kg/m^3": (700, 0.17, 1600),
    "Wood, cement-bonded particleboard": (1200, 0.23, 1500),
    "Wood, particleboard, 600 kg/m^3": (600, 0.14, 1700),
    "Wood, oriented strand board": (650, 0.13, 1700),
    "Wood, fibreboard, 600 kg/m^3": (600, 0.14, 1700),
    "Wood, fibreboard, 800 kg/m^3": (800, 0.18, 1700),
}

# material of the library: the entry its EN 12524 values stand under (a default of a family too)
EN12524_ENTRIES = {
    "acrylic sheet": "Plastics, acrylic",
    "aluminum": "Metals, aluminium alloys",
    "aluminum foil": "Metals, aluminium alloys",
    "aluminum siding": "Metals, aluminium alloys",
    "asphalt dampproofing": "Bitumen, pure",
    "asphalt felt": "Bitumen, felt or sheet",
    "asphalt felt 30 lb": "Bitumen, felt or sheet",
    "asphalt tile flooring": "Asphalt",
    "bedrock": "Stone, natural, crystalline rock",
    "bitumen": "Bitumen, pure",
    "butyl rubber": "Rubber, butyl (isobutene), solid melt",
    "cabinet": "Wood, particleboard, 600 kg/m^3",
    "carpet and pad": "Floor covering, carpet / textile flooring",
    "carpet pad": "Floor covering, underlay, felt",
    "carpet tile": "Floor covering, carpet / textile flooring",
    "cast iron": "Metals, iron, cast",
    "cast stone": "Stone, artificial stone",
    "cement screed": "Concrete, high density",
    "cement-bonded particleboard": "Wood, cement-bonded particleboard",
    "ceramic tile": "Tiles, ceramic or porcelain",
    "clay roof tile": "Tiles, clay",
    "clay soil": "Solids, clay or silt",
    "coated oriented strand board": "Wood, oriented strand board",
    "concrete paver": "Concrete, high density",
    "concrete roof tile": "Tiles, concrete",
    "copper": "Metals, copper",
    "copper roofing": "Metals, copper",
    "cork flooring": "Floor covering, tiles, cork",
    "cork underlayment": "Floor covering, underlay, cork",
    "cross-laminated polyethylene": "Plastics, polyethylene / polythene, low density",
    "cross-laminated timber": "Timber, 500 kg/m^3",
    "dimple sheet": "Plastics, polyethylene / polythene, high density",
    "drainage composite": "Plastics, polystyrene",
    "epdm membrane": "Rubber, ethylene propylene diene monomer (EPDM)",
    "epoxy coating": "Plastics, epoxy resin",
    "exterior gypsum sheathing": "Gypsum, plasterboard",
    "foil-backed gypsum board": "Gypsum, plasterboard",
    "glass": "Glass, soda lime",
    "glass block": "Glass, soda lime",
    "granite": "Stone, granite",
    "gypsum board": "Gypsum, plasterboard",
    "gypsum concrete": "Gypsum, 1500 kg/m^3",
    "gypsum fiber board": "Gypsum, plasterboard",
    "gypsum lath": "Gypsum, plasterboard",
    "gypsum plaster": "Plasters and renders, gypsum plastering, 1000 kg/m^3",
    "gypsum roof board": "Gypsum, plasterboard",
    "hard limestone": "Stone, limestone, hard",
    "hardwood plywood": "Wood, plywood 700 kg/m^3",
    "high density polyethylene": "Plastics, polyethylene / polythene, high density",
    "high pressure laminate": "Plastics, phenolic resin",
    "high pressure laminate cladding": "Plastics, phenolic resin",
    "house wrap": "Plastics, polypropylene",
    "ice and water membrane": "Bitumen, pure",
    "insulating concrete form": "Concrete, high density",
    "laminate flooring": "Wood, fibreboard, 800 kg/m^3",
    "laminated veneer lumber": "Wood, plywood 500 kg/m^3",
    "lead": "Metals, lead",
    "lime plaster": "Plasters and renders, lime sand",
    "limestone": "Stone, limestone, soft",
    "linoleum": "Floor covering, Linoleum",
    "magnesium oxide board": "Concrete, high density",
    "manufactured stone veneer": "Stone, artificial stone",
    "marble": "Stone, marble",
    "medium density fiberboard": "Wood, fibreboard, 800 kg/m^3",
    "metal panel cladding": "Metals, steel",
    "metal roofing": "Metals, steel",
    "mirror": "Glass, soda lime",
    "modified bitumen": "Bitumen, felt or sheet",
    "moisture-resistant gypsum board": "Gypsum, plasterboard",
    "natural stone veneer": "Stone, limestone, hard",
    "neoprene": "Rubber, neoprene (polychloroprene)",
    "old concrete": "Concrete, medium density 2000 kg/m^3",
    "oriented strand board": "Wood, oriented strand board",
    "paper-faced gypsum sheathing": "Gypsum, plasterboard",
    "paperless gypsum board": "Gypsum, plasterboard",
    "particleboard": "Wood, particleboard, 600 kg/m^3",
    "perforated house wrap": "Plastics, polypropylene",
    "perforated vinyl wall covering": "Sealant, polyvinylchloride (PVC) flexible, with 40% softner",
    "plaster on gypsum lath": "Gypsum, plasterboard",
    "plaster on wood lath": "Gypsum, plasterboard",
    "plywood": "Wood, plywood 500 kg/m^3",
    "plywood siding": "Wood, plywood 500 kg/m^3",
    "polyamide thermal break": "Plastics, polyamide 6.6 with 25% glass fibre",
    "polycarbonate panel": "Plastics, polycarbonates",
    "polyester film": "Plastics, polyester resin",
    "polyethylene foam": "Sealant, polyethylene foam",
    "polyethylene sheet": "Plastics, polyethylene / polythene, low density",
    "polyethylene sheet 10 mil": "Plastics, polyethylene / polythene, low density",
    "polyethylene sheet 2 mil": "Plastics, polyethylene / polythene, low density",
    "polyethylene sheet 4 mil": "Plastics, polyethylene / polythene, low density",
    "polyethylene sheet 8 mil": "Plastics, polyethylene / polythene, low density",
    "polypropylene sheet": "Plastics, polypropylene",
    "polyurethane varnish": "Plastics, polyurethane (PU)",
    "polyvinyl chloride film": "Sealant, polyvinylchloride (PVC) flexible, with 40% softner",
    "precast concrete": "Concrete, high density",
    "pvc membrane": "Sealant, polyvinylchloride (PVC) flexible, with 40% softner",
    "quarry tile": "Tiles, clay",
    "reinforced concrete": "Concrete, reinforced with 1% steel",
    "roof ballast": "Solids, sand and gravel",
    "rubber flooring": "Floor covering, rubber",
    "rubber foam": "Sealant, elastomeric foam, flexible",
    "sand and gravel": "Solids, sand and gravel",
    "sandstone": "Stone, sandstone (silica)",
    "sealant": "Sealant, silicone, pure",
    "self-adhered membrane": "Bitumen, pure",
    "slab vapor retarder": "Plastics, polyethylene / polythene, low density",
    "slab vapor retarder 15 mil": "Plastics, polyethylene / polythene, low density",
    "slate roofing": "Stone, slate",
    "slate stone": "Stone, slate",
    "solid polyurethane": "Plastics, polyurethane (PU)",
    "solid polyvinyl chloride": "Plastics, Polyvinylchloride (PVC)",
    "spandrel glass": "Glass, soda lime",
    "stainless steel": "Metals, stainless steel",
    "steel": "Metals, steel",
    "steel deck": "Metals, steel",
    "steel siding": "Metals, steel",
    "steel stud": "Metals, steel",
    "synthetic roof underlayment": "Plastics, polypropylene",
    "tar felt": "Bitumen, felt or sheet",
    "terra cotta": "Tiles, clay",
    "terra cotta panel": "Tiles, clay",
    "thin aluminum foil": "Metals, aluminium alloys",
    "type x gypsum board": "Gypsum, plasterboard",
    "vapor-open fiberboard sheathing": "Wood, fibreboard, 600 kg/m^3",
    "vapor-open roof underlayment": "Plastics, polypropylene",
    "variable-permeance retarder": "Plastics, polyamide (nylon)",
    "vinyl flooring": "Floor covering, plastic",
    "vinyl siding": "Plastics, Polyvinylchloride (PVC)",
    "vinyl wall covering": "Sealant, polyvinylchloride (PVC) flexible, with 40% softner",
    "waterproofing membrane": "Bitumen, pure",
    "zinc": "Metals, zinc",
}

ASPECTS = ("density", "conductivity", "heat_capacity")


def citing(document: str, clause: str = "", aspects: tuple[str, ...] = ASPECTS) -> dict[str, list[str]]:
    """The materials that cite a document for one of the aspects, and for which."""
    found = {
        m.id: [
            a
            for a in aspects
            if a in m.sources and m.sources[a].document == document and m.sources[a].clause.startswith(clause)
        ]
        for m in MATERIALS.values()
    }
    return {name: aspects_ for name, aspects_ in found.items() if aspects_}


def test_every_row_that_cites_en_12524_is_looked_up_here():
    assert set(citing("DIN EN 12524")) == set(EN12524_ENTRIES)


@pytest.mark.parametrize(("name", "aspects"), citing("DIN EN 12524").items())
def test_thermal_values_are_those_of_the_table(name, aspects):
    entry = EN12524_TABLE[EN12524_ENTRIES[name]]
    for aspect in aspects:
        assert getattr(MATERIALS[name], aspect) == pytest.approx(entry[ASPECTS.index(aspect)], rel=1e-6), (
            aspect
        )


# ISO 10456:2007 Table 3 and 4, from memory: resistance factor mu, dry and wet
MU = {
    "bitumen": (50000, 50000),
    "concrete, high density": (130, 80),
    "concrete, medium density": (100, 60),
    "floor covering": (10000, 10000),
    "linoleum": (1000, 800),
    "underlay cork": (20, 10),
    "textile": (5, 5),
    "PVC": (50000, 50000),
    "polyethylene": (100000, 100000),
    "polyurethane": (6000, 6000),
    "butyl rubber": (200000, 200000),
    "gypsum": (10, 4),
    "plasters and renders": (10, 6),
    "soil": (50, 50),
    "sandstone": (40, 30),
    "limestone, soft": (40, 25),
    "limestone, hard": (200, 150),
    "granite": (10000, 10000),
    "artificial stone": (50, 40),
    "slate": (1000, 800),
    "clay tile": (40, 30),
    "timber 700": (200, 50),
    "plywood 500": (200, 70),
    "plywood 700": (220, 90),
    "cement-bonded particleboard": (50, 30),
    "particleboard 600": (50, 15),
    "fiberboard 600": (20, 12),
    "fiberboard 800": (30, 20),
    "phenolic foam": (50, 50),
    "perlite board": (5, 5),
    "expanded cork": (10, 5),
    "wood wool board": (5, 3),
    "wood fiberboard insulation": (5, 3),
    "urea-formaldehyde foam": (2, 2),
    "loose cellulose": (2, 2),
    "loose perlite": (2, 2),
    "loose vermiculite": (3, 2),
    "loose expanded clay": (2, 2),
    "fired clay masonry": (16, 10),
    "calcium silicate masonry": (20, 15),
    "dense concrete masonry": (120, 100),
    "aerated concrete": (10, 6),
    "lightweight aggregate concrete": (15, 10),
    "mortar": (20, 10),
}
MU_ENTRIES = {
    "autoclaved aerated concrete": "aerated concrete",
    "bedrock": "granite",
    "bitumen": "bitumen",
    "built-up roofing": "bitumen",
    "butyl rubber": "butyl rubber",
    "calcium silicate brick": "calcium silicate masonry",
    "carpet tile": "textile",
    "cast stone": "artificial stone",
    "cement-bonded particleboard": "cement-bonded particleboard",
    "clay brick": "fired clay masonry",
    "clay soil": "soil",
    "cork board": "expanded cork",
    "cork underlayment": "underlay cork",
    "damp-spray cellulose": "loose cellulose",
    "dense-packed cellulose": "loose cellulose",
    "expanded clay fill": "loose expanded clay",
    "expanded perlite fill": "loose perlite",
    "granite": "granite",
    "grouted concrete block": "dense concrete masonry",
    "gypsum concrete": "gypsum",
    "gypsum plaster": "plasters and renders",
    "hard limestone": "limestone, hard",
    "hardwood": "timber 700",
    "hardwood plywood": "plywood 700",
    "high density polyethylene": "polyethylene",
    "laminated veneer lumber": "plywood 500",
    "lightweight concrete block": "lightweight aggregate concrete",
    "lightweight insulating concrete": "lightweight aggregate concrete",
    "lime plaster": "plasters and renders",
    "limestone": "limestone, soft",
    "linoleum": "linoleum",
    "loose-fill cellulose": "loose cellulose",
    "manufactured stone veneer": "artificial stone",
    "marble": "granite",
    "medium density fiberboard": "fiberboard 800",
    "modified bitumen": "bitumen",
    "mortar": "mortar",
    "natural stone veneer": "limestone, hard",
    "old concrete": "concrete, medium density",
    "particleboard": "particleboard 600",
    "perlite board": "perlite board",
    "phenolic foam board": "phenolic foam",
    "precast concrete": "concrete, high density",
    "quarry tile": "clay tile",
    "reinforced concrete": "concrete, high density",
    "rubber flooring": "floor covering",
    "sand and gravel": "soil",
    "sandstone": "sandstone",
    "slate stone": "slate",
    "solid polyurethane": "polyurethane",
    "solid polyvinyl chloride": "PVC",
    "terra cotta panel": "clay tile",
    "thin brick": "fired clay masonry",
    "urea formaldehyde foam": "urea-formaldehyde foam",
    "vapor-open fiberboard sheathing": "fiberboard 600",
    "vermiculite fill": "loose vermiculite",
    "vinyl flooring": "floor covering",
    "wood fiber board": "wood fiberboard insulation",
    "wood wool cement board": "wood wool board",
}


def test_every_row_that_cites_a_resistance_factor_is_looked_up_here():
    cited = citing("ISO 10456", "Table", ("permeability_dry", "permeability_wet"))
    assert set(cited) == set(MU_ENTRIES)
    assert set(MU_ENTRIES.values()) == set(MU)


@pytest.mark.parametrize(("name", "entry"), MU_ENTRIES.items())
def test_resistance_factors_are_those_of_the_tables(name, entry):
    m = MATERIALS[name]
    assert (DELTA_0 / m.permeability_dry, DELTA_0 / m.permeability_wet) == pytest.approx(MU[entry])


# Specific heat capacity of insulation in ISO 10456:2007 Table 4, from memory
HEAT_CAPACITY = {
    "phenolic foam board": 1400,
    "urea formaldehyde foam": 1400,
    "cork board": 1560,
    "wood fiber board": 2000,
    "perlite board": 900,
    "dense-packed cellulose": 1600,
    "vermiculite fill": 1080,
    "autoclaved aerated concrete": 1000,
}


@pytest.mark.parametrize(("name", "expected"), HEAT_CAPACITY.items())
def test_heat_capacity_of_insulation(name, expected):
    assert MATERIALS[name].heat_capacity == expected
    assert MATERIALS[name].sources["heat_capacity"].document == "ISO 10456"


# Where the library follows American measurements, ISO 10456's mu (from memory) should still be near. A factor of
# two is the spread between makes within one kind; it would catch a unit slip, which is a factor of 25 or 57.
NEAR = {
    "gypsum board": ((10, 4), 2.1),
    "expanded polystyrene board": ((60, 60), 2),
    "extruded polystyrene board": ((150, 150), 2),
    "closed-cell spray foam": ((60, 60), 2),
    "unfaced polyisocyanurate board": ((60, 60), 2),
    "mineral wool batt": ((1, 1), 2),
    "polyethylene sheet": ((100000, 100000), 4),
}


@pytest.mark.parametrize(("name", "expected", "factor"), [(n, e, f) for n, (e, f) in NEAR.items()])
def test_american_measurements_are_near_the_european_table(name, expected, factor):
    m = MATERIALS[name]
    for permeability, mu in zip((m.permeability_dry, m.permeability_wet), expected, strict=True):
        assert mu / factor < DELTA_0 / permeability < mu * factor


def test_oriented_strand_board_is_far_tighter_than_the_european_table_and_says_so():
    # ISO 10456 gives mu 50/30 (memory), 6.3 and 10.5 perms at 7/16 in; American cup tests give 0.5–1 and 1.5–3 perms.
    m = MATERIALS["oriented strand board"]
    assert DELTA_0 / m.permeability_dry > 4 * 50
    assert DELTA_0 / m.permeability_wet > 4 * 30
    assert "ISO 10456" in m.note


# ISO 10456:2007 Table 5, from memory: s_d in m of thin layers. Products of one kind differ widely: the library's
# American values are held to a factor of three, and foil, which cites the table, exactly.
S_D = {
    "polyethylene sheet": (50.0, 3.0),  # 0.15 mm
    "polyethylene sheet 10 mil": (100.0, 3.0),  # 0.25 mm
    "aluminum foil": (1500.0, 1.0),  # 0.05 mm
    "asphalt felt": (2.0, 3.0),  # bituminous paper 0.1 mm
    "house wrap": (0.2, 3.0),  # breather membrane
    "oil paint": (3.0, 3.0),  # gloss paint
}


@pytest.mark.parametrize(("name", "s_d", "factor"), [(n, s, f) for n, (s, f) in S_D.items()])
def test_thin_layers_are_near_the_table(name, s_d, factor):
    m = MATERIALS[name]
    through = m.permeability_dry / m.thickness if m.permeability_dry else m.permeance_dry
    ratio = DELTA_0 / through / s_d
    assert 1 / factor * (1 - 1e-9) <= ratio <= factor * (1 + 1e-9)


def test_stapled_polyethylene_is_noted_as_leakier():
    # Table 5 (memory): polyethylene of 0.15 mm stapled, s_d 8 m instead of 50 m
    assert "s_d 8 m instead of 50 m" in MATERIALS["polyethylene sheet"].note
