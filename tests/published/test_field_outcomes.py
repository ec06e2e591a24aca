"""What was seen in real walls and roofs, against the hourly simulation: the class of the result, not its digits.

Sources, read in text or abstract ("seen"):
- Glass, Kochkin, Drumheller and Barta, Buildings 2015: walls near Washington, DC, zone 4A, November 2011 to March 2013.
- Building America report BA-1501 (2015): double-stud walls at Devens, MA, zone 5A, 2011 to 2014, indoors 10 to 30 % in winter.
- Building America report CP-1302: unvented roofs with fibrous insulation, zone 2A.
The weather is a synthetic year with the monthly means of a station near by, not the weather of those years, and the
indoor humidity lies in the range reported. Layers that the abstracts leave out are the usual ones (marked below).

Not reproduced, and not claimed: the cellulose wall at Devens passed 20 % moisture content on the north side, and the
ridges of the roofs came near saturation. Both come of air that moves within the insulation and along the roof to its
ridge, which a one-dimensional simulation does not follow; it gives 14 to 16 % in the cellulose wall's sheathing.
"""

from __future__ import annotations

from functools import cache

from reviewer.facts.book import Record
from reviewer.facts.build import build
from reviewer.model.parse import parse_section


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


def devens(insulation: str) -> float:
    layers = f"latex paint | 1/2 in gypsum board | {insulation} | 7/16 in oriented strand board | house wrap | 3/8 in ventilated air space | fiber-cement siding"
    return peak(simulated("wall", "Worcester, MA", DRY, layers), 3)


def test_open_cell_foam_walls_stay_below_twenty_percent_facing_north() -> None:
    assert (
        max(
            devens("open-cell spray foam 12 in in double stud"),
            devens("open-cell spray foam 5.5 in framed 2x6@16"),
        )
        < 0.20
    )


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
