"""What was seen in real walls and roofs, against the hourly simulation: the class of the result, not its digits.

Sources, read in text or abstract ("seen"):
- Glass, Kochkin, Drumheller and Barta, Buildings 2015: walls near Washington, DC, zone 4A, November 2011 to March 2013.
- Building America report BA-1501 (2015): double-stud walls at Devens, MA, zone 5A, 2011 to 2014, indoors 10 to 30 % in winter.
- Building America report CP-1302: unvented roofs with fibrous insulation, zone 2A.
The weather is a synthetic year with the monthly means of a station near by, not the weather of those years, and the
indoor humidity lies in the range reported. Layers that the abstracts leave out are the usual ones (marked below).


Two outcomes need a condition that the abstracts do not give; it is named where it is used, and the test shows that the
outcome hangs on it:
- The cellulose wall at Devens passed 20 % on the north side. In the simulation it does so in the first winter after it
  is closed in at 80 % relative humidity (the usual start, EN 15026), when the cellulose gives what it holds to the
  sheathing, and at the sheathing's inner face, which moisture pins driven from inside touch; it does not in later winters.
- The ridges of the roofs came to 95 to 100 %. Air moves along such a roof to its ridge, which a one-dimensional simulation
  does not follow; with the air below the ridge at 60 % it gives what was seen, with 45 % it does not.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from reviewer.facts.book import Book, Record
from reviewer.facts.build import begin, build
from reviewer.facts.hourly import Simulated, prepare
from reviewer.facts.hourly import run as simulate_together
from reviewer.library.materials import load_materials
from reviewer.model.parse import parse_section
from reviewer.physics.basics import Array
from reviewer.physics.hourly.weather import monthly_means


@cache
def simulated(
    kind: str, place: str, indoor: str, layers: str, faces: str = "north", slope: str = ""
) -> dict[str, Record]:
    text = f"""
kind: {kind}
place: {place}
indoor: {indoor}
exposure: {{rain: low, faces: {faces}}}
{f"slope: {slope}" if slope else ""}
layers: {layers}
"""
    book = build(parse_section(text), hourly=True)[0]
    return {f"{r.kind} {r.id.partition(':')[2]}": r for r in book.records if r.kind.startswith("simulated")}


def peak(records: dict[str, Record], layer: int) -> float:
    return float(records[f"simulated_layer {layer}"].fields["wood_moisture"])


# Indoors in those houses: kept humid, 21 °C and about 40 % or more in winter. House wrap and vinyl siding: usual there.
HUMID = "{temperature: 21 C, humidity: 45 %}"
DC = "Baltimore, MD"


def dc(inside: str, outside: str = "") -> dict[str, Record]:
    return simulated(
        "wall",
        DC,
        HUMID,
        f"latex paint | 1/2 in gypsum board | {inside} | 7/16 in oriented strand board | house wrap{outside} | vinyl siding",
    )


def rise(place: str, indoor: str, layers: str) -> float:
    """Moisture content of the sheathing: highest month less the drier months of autumn, before the cold."""
    book = build(
        parse_section(
            f"kind: wall\nplace: {place}\nindoor: {indoor}\nexposure: {{rain: low, faces: north}}\nlayers: {layers}"
        ),
        hourly=True,
    )[0]
    monthly = book.calculations["hourly"]["wood_moisture"][0]["monthly"]
    return max(monthly) - min(monthly[8:10])


SHEATHED = (
    "latex paint | 1/2 in gypsum board | {} | 7/16 in oriented strand board | house wrap{} | vinyl siding"
)


def test_painted_gypsum_alone_lets_the_sheathing_gain_significantly_at_high_humidity_and_kraft_does_not() -> (
    None
):
    bare = rise(DC, HUMID, SHEATHED.format("2x4 @ 16 in with R-13 glass fiber batt", ""))
    kraft = rise(DC, HUMID, SHEATHED.format("2x4 @ 16 in with R-13 kraft-faced glass fiber batt", ""))
    assert bare > 0.05
    assert bare > 1.5 * kraft


def test_exterior_foam_warms_the_cavity_and_changes_the_sheathing_little_where_kraft_already_keeps_it_dry() -> (
    None
):
    plain = peak(dc("2x4 @ 16 in with R-13 kraft-faced glass fiber batt"), 3)
    foam = peak(dc("2x4 @ 16 in with R-13 kraft-faced glass fiber batt", " | 1 in extruded polystyrene"), 3)
    assert foam < 0.20
    assert abs(foam - plain) < 0.05


# 10 to 30 % indoors in winter; latex paint over gypsum board, oriented strand board, wrap and vented siding: usual there.
DRY = (
    "{temperature: 20 C, humidity: [20 %, 20 %, 25 %, 30 %, 40 %, 50 %, 55 %, 55 %, 50 %, 40 %, 30 %, 25 %]}"
)


DEVENS = "Worcester, MA"


def devens(insulation: str) -> float:
    layers = f"latex paint | 1/2 in gypsum board | {insulation} | 7/16 in oriented strand board | house wrap | 3/8 in ventilated air space | fiber-cement siding"
    return peak(simulated("wall", DEVENS, DRY, layers), 3)


def test_open_cell_foam_walls_stay_below_twenty_percent_facing_north() -> None:
    assert (
        max(
            devens("open-cell spray foam 12 in in double stud"),
            devens("open-cell spray foam 5.5 in framed 2x6@16"),
        )
        < 0.20
    )


@cache
def run(text: str) -> Simulated:
    """The simulation itself, from the first year on."""
    begun = begin(parse_section(text))
    prepared = prepare(begun.section, begun.layers, begun.anatomy, begun.site, Book())
    return simulate_together([prepared])[0]


def at_inner_face(insulation: str, year: int) -> float:
    """Moisture content of the wood at the sheathing's inner face, the dampest month of a year."""
    s = run(
        f"kind: wall\nplace: {DEVENS}\nindoor: {DRY}\nexposure: {{rain: low, faces: north}}\nlayers: latex paint "
        f"| 1/2 in gypsum board | {insulation} | 7/16 in oriented strand board | house wrap "
        "| 3/8 in ventilated air space | fiber-cement siding"
    )
    rh, content = np.array(load_materials()["oriented strand board"].sorption).T
    return float(np.interp(monthly_means(s.outcome.rh[year, :, 3]), rh, content).max())


def test_new_cellulose_passes_twenty_percent_at_the_sheathing_facing_north_and_open_cell_foam_does_not() -> (
    None
):
    cellulose = at_inner_face("cellulose 12 in in double stud", 0)
    foam = max(
        at_inner_face("open-cell spray foam 12 in in double stud", 0),
        at_inner_face("open-cell spray foam 5.5 in framed 2x6@16", 0),
    )
    assert cellulose > 0.20 > foam
    assert at_inner_face("cellulose 12 in in double stud", 1) < 0.20


FIBER = "R-38 glass fiber batt framed 2x12@24"
DECK = f"{FIBER} | 7/16 in oriented strand board | asphalt felt | asphalt shingles"
PORT = f"{FIBER} | house wrap | 1 in ventilated air space | asphalt shingles"
"""Through the deck, and through a vapor-open sheet that takes the deck's place along the ridge."""


def below_the_ridge(layers: str, humidity: str) -> tuple[Array, Simulated]:
    """Relative humidity of the last year at the outer face of insulation that is open to an unvented attic."""
    s = run(
        f"kind: roof\nplace: Houston, TX\nindoor: {{temperature: 22 C, humidity: {humidity}}}\n"
        f'exposure: {{faces: north}}\nslope: "6:12"\nlayers: {layers}'
    )
    return np.minimum(s.outcome.rh[-1, :, 1], 1.0), s


def winter_days(rh: Array) -> float:
    """Share of the days of January and February that come to 95 % or more."""
    return float((rh[: 59 * 24].reshape(-1, 24).max(axis=1) >= 0.95).mean())


def test_ridge_of_an_unvented_roof_comes_near_saturation_in_winter_where_the_air_below_it_is_humid() -> None:
    assert winter_days(below_the_ridge(DECK, "60 %")[0]) > 0.5
    assert winter_days(below_the_ridge(DECK, "45 %")[0]) < 0.2


def test_a_diffusion_vent_along_the_ridge_keeps_it_drier() -> None:
    closed, port = (monthly_means(below_the_ridge(x, "60 %")[0])[:2] for x in (DECK, PORT))
    assert (port < closed - 0.05).all()


def test_the_deck_is_below_ten_percent_by_the_end_of_spring_however_humid_the_winter() -> None:
    for humidity in ("45 %", "60 %"):
        content = monthly_means(below_the_ridge(DECK, humidity)[1].outcome.moisture_content(1)[-1])
        assert content[:3].max() > 1.5 * content.min()
        assert content[3:6].max() <= 0.10


def test_deck_of_an_unvented_roof_with_fibrous_insulation_is_damp_in_winter_and_below_ten_percent_in_spring() -> (
    None
):
    text = """
kind: roof
place: Houston, TX
indoor: {temperature: 22 C, humidity: 50 %}
exposure: {faces: north}
slope: "6:12"
layers: latex paint | 1/2 in gypsum board | R-38 glass fiber batt framed 2x12@24 | 7/16 in oriented strand board | asphalt felt | asphalt shingles
"""
    monthly = build(parse_section(text), hourly=True)[0].calculations["hourly"]["wood_moisture"][0]["monthly"]
    assert max(monthly[:3]) > 1.5 * min(monthly)
    assert max(monthly[3:6]) <= 0.10
