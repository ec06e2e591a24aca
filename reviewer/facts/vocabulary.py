"""The vocabulary of facts: what rules may ask about a section, and how each value is obtained.

One table. The fact builder fills it, the rule loader checks rules against it, and the reports take
labels and default provenance from it. All values are SI; `word` fields hold one of a few words;
a field that is not known is left out of the fact.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reviewer.model.schema import STATEMENTS

__all__ = ["KINDS", "STATEMENTS", "Field", "Kind", "label"]

YES_NO = ("yes", "no")


@dataclass(frozen=True, slots=True)
class Field:
    dimension: str
    """A dimension of `reviewer.units`, or `word`, `text`, `index` (a layer's place from the room)."""
    meaning: str
    """For people, after the fact's label: `permeance when dry`."""
    words: tuple[str, ...] = ()
    origin: str = "computed"
    """given, looked up, computed, concluded or assumed, unless the fact says otherwise."""
    how: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class Kind:
    meaning: str
    fields: Mapping[str, Field]
    single: bool = False
    """At most one such fact in a review."""


def _yes(meaning: str, how: str = "read from the layers", origin: str = "computed") -> Field:
    return Field("word", meaning, YES_NO, origin, how)


def _word(meaning: str, *words: str, how: str = "", origin: str = "given") -> Field:
    return Field("word", meaning, words, origin, how)


_ISO6946 = "ISO 6946"
_ISO13788 = "ISO 13788"
_MEAN = "steady monthly mean, coldest month"

SECTION: dict[str, Field] = {
    "kind": _word("kind of section", "wall", "roof", "foundation wall", "floor", "slab"),
    "zone": Field("text", "code climate zone", origin="looked up"),
    "zone_number": Field("count", "number of the code climate zone", origin="looked up"),
    "moisture": _word("moisture regime of the zone", "A", "B", "C", "none", origin="looked up"),
    "marine": _yes("in a marine zone", origin="looked up"),
    "warm_humid": _yes("in a warm-humid zone (1A, 2A, 3A)", origin="looked up"),
    "country": Field("text", "country", origin="looked up"),
    "code": _word("code that the review takes", "IRC", "IBC", "NBC", "none", origin="assumed"),
    "edition": Field("count", "edition of that code", origin="assumed"),
    "work": _word("work", "new", "retrofit", "addition"),
    "use": Field("text", "use of the building", origin="given"),
    "year": Field("count", "year built", origin="given"),
    "stories": Field("count", "stories", origin="given"),
    "height": Field("length", "height of the building", origin="given"),
    "cooling": _yes("air-conditioned", origin="assumed", how="from the climate"),
    "rain": _word("driving-rain exposure", "low", "moderate", "high", "severe", origin="assumed"),
    "faces": Field("text", "orientation", origin="given"),
    "slope": Field("ratio", "roof slope, rise over run", origin="given"),
    "low_slope": _yes("low-slope roof (under 2:12)", how="from the slope, or from the roof covering"),
    "depth_below_grade": Field("length", "depth below grade", origin="given"),
    "property_line": Field("length", "distance to the property line", origin="given"),
    "airtightness": Field("ratio", "air changes an hour at 50 Pa", origin="given"),
    "ventilation": _word("mechanical ventilation", "none", "exhaust", "supply", "balanced"),
    "combustion": _word("combustion appliances", "atmospheric", "sealed", "none"),
    "wiring": _word("wiring", "knob and tube", "modern"),
    "framing_style": _word("framing of the house", "balloon", "platform"),
    "surroundings": _word(
        "what lies on the outer side",
        "outdoor air",
        "soil",
        "vented crawl space",
        "unvented crawl space",
        "vented attic",
        "unvented attic",
        "unheated space",
        "garage",
    ),
    "layers": Field("count", "number of layers", how="counted"),
    "unknown_layers": Field("count", "layers whose material is not known", how="counted"),
    "place_stated": _yes("place or zone stated", how="read from the file"),
    "indoor_stated": _yes("indoor condition stated", how="read from the file"),
    "framing": _word("framing through the insulation", "wood", "steel", "none", how="read from the layers"),
    "framing_pattern": _word("framing pattern", "single", "double stud", "staggered stud", "truss"),
    "framing_fraction": Field(
        "fraction", "framing share of the area", how="members and plates", source=_ISO6946
    ),
    "has_insulation": _yes("insulated"),
    "has_air_barrier": _yes("a layer is named or detailed as air barrier"),
    "has_water_control": _yes("a layer controls rain water"),
    "water_control_layers": Field("count", "water control layers outboard of the sheathing", how="counted"),
    "has_cladding": _yes("has a cladding or roof covering"),
    "has_interior_finish": _yes("has an interior finish"),
    "has_sheathing": _yes("has structural or backing sheathing"),
    "has_capillary_break": _yes("has a capillary break"),
    "has_dampproofing": _yes("has dampproofing or waterproofing on the soil side"),
    "has_drainage": _yes("has drainage on the soil side"),
    "has_thermal_barrier": _yes(
        "foam is covered by a thermal barrier on the room side (1/2 in gypsum board or equal)"
    ),
    "has_vapor_control": _yes("has a Class I or II layer inboard of the main insulation"),
    "vented_cladding": _yes("cladding is vented (ventilated cavity, or vinyl or metal lap siding)"),
    "drainage_gap": Field("length", "air space behind the cladding", how="read from the layers"),
    "vented_roof": _yes("roof has a ventilated space over its insulation, and no vapor-tight layer between"),
    "cavity_filled": _yes("framing cavity filled with insulation"),
    "cavity_depth": Field("length", "depth of the framing cavity", how="read from the layers"),
    "r_cavity": Field(
        "thermal resistance", "nominal resistance of the cavity insulation", how="thickness over conductivity"
    ),
    "r_exterior": Field(
        "thermal resistance",
        "continuous insulation outboard of the sheathing or framing",
        how="sum over the insulating layers there",
    ),
    "r_interior_continuous": Field(
        "thermal resistance",
        "continuous insulation inboard of the framing",
        how="sum over the insulating layers there",
    ),
    "r_nominal": Field(
        "thermal resistance", "nominal insulation, all layers", how="sum over insulating layers"
    ),
    "r_total": Field(
        "thermal resistance", "total resistance with framing", how="combined method", source=_ISO6946
    ),
    "u_value": Field(
        "thermal transmittance", "transmittance with framing", how="combined method", source=_ISO6946
    ),
    "r_air_impermeable": Field(
        "thermal resistance",
        "air-impermeable insulation from the deck inwards or above it",
        how="sum over layers",
    ),
    "share_air_impermeable": Field(
        "fraction", "air-impermeable share of the insulation", how="ratio of resistances"
    ),
    "share_outboard": Field(
        "fraction",
        "share of the resistance outboard of the condensing plane",
        how="resistance from that plane outwards over the total, at the cavity",
        source=_ISO6946,
    ),
    "share_needed": Field(
        "fraction",
        "share needed to keep that plane at the indoor dew point in the coldest month",
        how="(dew point − outdoor) / (indoor − outdoor)",
        source="steady heat balance; ASHRAE Handbook—Fundamentals, dew-point method",
    ),
    "share_margin": Field("ratio", "share outboard less share needed", how="difference"),
    "condensing_layer": Field(
        "index",
        "layer whose inner face is the plane most likely to condense",
        how="first low-permeance or cold layer outboard of the main insulation",
    ),
    "insulation_layer": Field("index", "main insulation layer", how="largest resistance"),
    "interior_class": _word(
        "vapor retarder class of the room side",
        "I",
        "II",
        "III",
        "none",
        how="tightest layer inboard of the main insulation, dry cup",
        origin="computed",
    ),
    "retarder_by_code": _word(
        "what the code's vapor retarder table says of this frame wall, or its clause on unvented roofs of this one",
        "met",
        "missing",
        "none asked",
        how="compared with the table or the clause; none asked where the table has no row for the zone",
        origin="computed",
    ),
    "exterior_class": _word(
        "vapor retarder class of the outer side",
        "I",
        "II",
        "III",
        "none",
        how="tightest layer outboard of the main insulation, inboard of any vented space, dry cup",
        origin="computed",
    ),
    "interior_permeance": Field(
        "permeance",
        "permeance of the room side",
        how="series of the layers inboard of the main insulation, dry cup",
    ),
    "interior_permeance_wet": Field(
        "permeance", "permeance of the room side when damp", how="series, wet cup"
    ),
    "exterior_permeance": Field(
        "permeance",
        "permeance of the outer side",
        how="series of the layers outboard of the main insulation up to a vented space, dry cup",
    ),
    "exterior_permeance_wet": Field(
        "permeance", "permeance of the outer side when damp", how="series, wet cup"
    ),
    "openness_ratio": Field(
        "ratio", "outer permeance over inner permeance", how="wet cup outside, dry cup inside"
    ),
    "temperature_factor": Field(
        "ratio", "surface temperature factor f_Rsi at the framing", how="lowest path", source=_ISO13788
    ),
    "temperature_factor_needed": Field(
        "ratio",
        "surface temperature factor needed against mold",
        how="80 % RH at the surface",
        source=_ISO13788,
    ),
    "temperature_factor_margin": Field(
        "ratio", "surface temperature factor above the need", how="difference"
    ),
    "corner_factor": Field(
        "ratio",
        "surface temperature factor f_Rsi in an outside corner of two such walls",
        how="steady two-dimensional conduction, solid framing in the corner",
        source="ISO 10211, ISO 13788",
    ),
    "corner_factor_margin": Field(
        "ratio", "surface temperature factor of the corner above the need", how="difference"
    ),
    "condensate_peak": Field(
        "area density",
        "most condensate held at any plane",
        how="monthly balance, several planes",
        source=_ISO13788,
    ),
    "condensate_left": Field(
        "area density",
        "condensate left after the year",
        how="monthly balance, several planes",
        source=_ISO13788,
    ),
    "condensate_months": Field(
        "count", "months with condensate in the section", how="monthly balance", source=_ISO13788
    ),
    "condenses": _yes("condensation in some month", how="ISO 13788 monthly balance"),
    "dries_within_year": _yes("all condensate dries within the year", how="ISO 13788 monthly balance"),
    "drying_reserve": Field(
        "area density",
        "drying reserve over the year",
        how="evaporation possible less condensation, period method with its own fixed climate; permeance damp "
        "outboard of the main insulation, dry elsewhere",
        source="DIN 4108-3:2018 Annex A (from memory of the document)",
    ),
    "strip_condensate": Field(
        "area density",
        "most condensate in the worst strip below grade",
        how="monthly balance by depth",
        source=_ISO13788,
    ),
    "strip_left": Field(
        "area density",
        "condensate left after the year in that strip",
        how="monthly balance by depth",
        source=_ISO13788,
    ),
    "strip_depth": Field("length", "depth of that strip below grade", how="the strip with most condensate"),
    "strip_dew_margin": Field(
        "temperature difference",
        "plane that could condense above the indoor dew point, in the coldest strip and month",
        how="temperature of that plane by depth less the dew point of the room",
        source=_ISO13788,
    ),
    "foam_exposed": _yes("foam plastic faces the room without a covering"),
    "low_permeance_outside_insulation": _yes("a Class I or II layer lies outboard of the main insulation"),
}

CLIMATE: dict[str, Field] = {
    "place": Field("text", "place", origin="looked up"),
    "hdd18": Field("degree days", "heating degree-days, base 18 °C (64 °F)", origin="looked up"),
    "t_coldest": Field("temperature", "mean temperature of the coldest month", origin="looked up"),
    "t_warmest": Field("temperature", "mean temperature of the warmest month", origin="looked up"),
    "t_coldest_three": Field("temperature", "mean temperature of the three coldest months", how="mean"),
    "t_design": Field("temperature", "99 % heating design temperature", origin="looked up"),
    "dew_point_warmest": Field(
        "temperature", "mean outdoor dew point of the warmest month", how="from vapor pressure"
    ),
    "rain_annual": Field("length", "precipitation a year", origin="looked up"),
    "heating_months": Field("count", "months with a mean under 10 °C (50 °F)", how="counted"),
    "cooling_months": Field(
        "count", "months with a mean outdoor dew point over 16 °C (61 °F)", how="counted"
    ),
}

INDOOR: dict[str, Field] = {
    "condition": Field("text", "indoor condition", origin="given"),
    "t_winter": Field("temperature", "indoor temperature in the coldest month"),
    "rh_winter": Field("relative humidity", "indoor humidity in the coldest month"),
    "rh_highest": Field("relative humidity", "highest monthly indoor humidity"),
    "dew_point_winter": Field(
        "temperature", "indoor dew point in the coldest month", how="from vapor pressure"
    ),
    "t_summer": Field("temperature", "indoor temperature in the warmest month"),
    "vapor_excess": Field(
        "vapor pressure", "indoor over outdoor vapor pressure in the coldest month", how="difference"
    ),
    "humidity_class": Field(
        "count", "humidity class of the vapor excess", how="class limits", source=_ISO13788
    ),
    "humid": _yes(
        "humidity above an ordinary dwelling's (class 4 or 5, pool, museum, hospital)",
        how="from the condition",
    ),
}

_ROLE_FIELDS = {
    "vapor_control": "controls vapor",
    "air_barrier": "is an air barrier",
    "water_control": "controls rain water",
    "thermal_control": "controls heat",
    "interior_finish": "is an interior finish",
    "sheathing": "is sheathing",
    "structure": "is structure",
    "cladding": "is the cladding",
    "roof_covering": "is the roof covering",
    "capillary_break": "breaks capillary water",
    "drainage": "drains",
    "dampproofing": "is dampproofing",
    "flooring": "is flooring",
}

_FLAG_FIELDS = {
    "reservoir": "stores rain",
    "holds_water": "holds water and is harmed by it",
    "wood_based": "is wood or wood based",
    "paper_faced": "has a paper face",
    "foam_plastic": "is foam plastic",
    "air_impermeable": "is air-impermeable",
    "air_permeable": "lets air through",
    "variable_permeance": "opens when damp",
    "freeze_sensitive": "is harmed by frost when wet",
    "corrodes": "corrodes",
    "combustible": "is combustible",
    "membrane": "is a sheet",
    "coating": "is a coating",
    "metal": "is metal",
    "masonry": "is masonry",
    "concrete": "is concrete",
    "bitumen": "is bituminous",
    "plasticized_pvc": "is plasticized PVC",
    "polystyrene": "is polystyrene",
    "polyiso": "is polyisocyanurate",
    "spray_foam": "is sprayed foam",
    "fibrous": "is fibrous",
    "cellulose": "is cellulose",
    "needs_outer_wind_barrier": "needs a wind barrier on its outer face",
    "low_temperature_loses_r": "loses resistance when cold",
    "vinyl": "is vinyl",
    "asbestos_possible": "may contain asbestos",
    "lead_possible": "may contain lead",
    "gypsum": "is gypsum",
    "straw_or_earth": "is straw, hemp or earth",
}

CLASSES = ("I", "II", "III", "none")

LAYER: dict[str, Field] = {
    "index": Field("index", "place from the room", origin="given"),
    "outer_neighbor": Field("index", "place of the next layer outwards", origin="given"),
    "name": Field("text", "material", origin="given"),
    "text": Field("text", "as written", origin="given"),
    "family": Field("text", "family of the material", origin="looked up"),
    "unknown": _yes("material not known", how="as written", origin="given"),
    "is_space": _yes("is an air space", how="as written", origin="given"),
    "is_surroundings": _yes("is the surroundings", how="as written", origin="given"),
    "ventilated": _yes("is a ventilated space", how="openings top and bottom"),
    "vents": _word("openings", "none", "top and bottom", "bottom only", "top only", "weep holes"),
    "is_insulation": _yes("is insulation", how="thermal control role, or λ at most 0.065 W/(m·K)"),
    "foam": _word(
        "kind of foam",
        "closed-cell",
        "open-cell",
        "expanded polystyrene",
        "extruded polystyrene",
        "polyisocyanurate",
        "phenolic",
        "other",
        origin="looked up",
    ),
    "side": _word(
        "position against the main insulation",
        "inboard",
        "insulation",
        "outboard",
        how="order of layers",
        origin="computed",
    ),
    "beyond_vent": _yes("lies outboard of a ventilated space"),
    "in_framing": _yes("lies between framing members", how="as written", origin="given"),
    "framing": _word("framing material", "wood", "steel", "none"),
    "framing_depth": Field("length", "depth of the framing members", origin="given"),
    "underfilled": Field("length", "depth of the cavity left empty", how="framing depth less thickness"),
    "joints": _word("joints", "sealed", "taped", "lapped", "stapled", "unsealed", "not stated"),
    "seamless": _yes("is an air barrier without joints", how="sprayed, liquid-applied or self-adhered"),
    "condition": Field("text", "condition", origin="given"),
    "coats": Field("count", "coats", origin="given"),
    "fasteners": Field("text", "what fastens through it", origin="given"),
    "fastening": _word(
        "kind of fastening through it",
        "metal girts",
        "thermally broken clips",
        "metal clips",
        "screws",
        "ties",
        "other",
        how="read from the words on its fasteners",
    ),
    "overfilled": Field(
        "length",
        "thickness beyond the depth of the framing members it lies between",
        how="thickness less framing depth, single framing",
    ),
    "vents_stated": _yes("openings of the air space stated", how="read from the file"),
    "gap_inboard": Field("length", "air space directly inboard", how="read from the layers"),
    "gap_inboard_vented": _yes("air space directly inboard is ventilated"),
    "thickness": Field("length", "thickness", origin="given"),
    "conductivity": Field("thermal conductivity", "conductivity at its mean temperature", origin="looked up"),
    "r_value": Field("thermal resistance", "resistance", how="thickness over conductivity"),
    "density": Field("density", "density", origin="looked up"),
    "permeance_dry": Field("permeance", "permeance when dry", origin="looked up"),
    "permeance_wet": Field("permeance", "permeance when damp", origin="looked up"),
    "permeance_winter": Field(
        "permeance", "permeance at its humidity in the coldest month", how="iterated with the local humidity"
    ),
    "opening": Field("ratio", "damp permeance over dry permeance", how="ratio"),
    "class": _word("vapor retarder class, dry cup", *CLASSES, how="dry-cup permeance", origin="computed"),
    "class_wet": _word("class by wet-cup permeance", *CLASSES, how="wet-cup permeance", origin="computed"),
    "r_inboard": Field(
        "thermal resistance",
        "resistance inboard of its inner face",
        how="sum, at the cavity, with the inner film",
    ),
    "r_outboard": Field(
        "thermal resistance",
        "resistance outboard of its outer face",
        how="sum, at the cavity, with the outer film",
    ),
    "insulation_inboard": Field(
        "thermal resistance", "insulation inboard of it", how="sum over insulating layers"
    ),
    "insulation_outboard": Field(
        "thermal resistance", "insulation outboard of it", how="sum over insulating layers"
    ),
    "share_inboard": Field("fraction", "share of the resistance inboard of it", how="ratio"),
    "share_outboard": Field("fraction", "share of the resistance outboard of its inner face", how="ratio"),
    "permeance_outboard": Field(
        "permeance", "permeance outboard of it, damp, up to a ventilated space", how="series, wet cup"
    ),
    "permeance_inboard": Field("permeance", "permeance inboard of it, dry", how="series, dry cup"),
    "drying_inward": Field("permeance", "permeance inboard of it, damp", how="series, wet cup"),
    "t_winter_inner": Field(
        "temperature", "temperature of its inner face in the coldest month", how=_MEAN, source=_ISO6946
    ),
    "t_winter_outer": Field(
        "temperature", "temperature of its outer face in the coldest month", how=_MEAN, source=_ISO6946
    ),
    "t_design_inner": Field(
        "temperature",
        "temperature of its inner face on the design day",
        how="steady, 99 % heating design temperature",
    ),
    "t_summer_inner": Field(
        "temperature",
        "temperature of its inner face in the warmest month",
        how="steady monthly mean, warmest month",
    ),
    "dew_margin": Field(
        "temperature difference", "inner face above the indoor dew point in the coldest month", how=_MEAN
    ),
    "months_below_dew_point": Field(
        "count", "months with its inner face below the indoor dew point", how="steady monthly means"
    ),
    "rh_highest": Field(
        "relative humidity",
        "highest monthly humidity at its faces",
        how="steady monthly vapor diffusion",
        source=_ISO13788,
    ),
    "months_humid": Field(
        "count",
        "months at 80 % or more at a face warmer than 5 °C (41 °F)",
        how="steady monthly vapor diffusion",
        source=_ISO13788,
    ),
    "wood_moisture": Field(
        "wood moisture",
        "highest monthly mean moisture content",
        how="sorption at the layer's mean humidity (Hailwood–Horrobin) and condensate spread over its mass",
        source="USDA Wood Handbook FPL-GTR-282 ch. 4",
    ),
    "months_wet_wood": Field(
        "count",
        "months over 20 % moisture content",
        how="sorption at the layer's mean humidity (Hailwood–Horrobin) and condensate spread over its mass",
    ),
    "months_wet_warm": Field(
        "count",
        "months over 26 % moisture content and warmer than 5 °C (41 °F)",
        how="sorption at the layer's mean humidity (Hailwood–Horrobin) and condensate spread over its mass",
    ),
    "condensate_peak": Field(
        "area density", "most condensate held at its faces", how="monthly balance", source=_ISO13788
    ),
    "condensate_left": Field(
        "area density", "condensate left at its faces after the year", how="monthly balance", source=_ISO13788
    ),
    "mold_index": Field(
        "ratio",
        "highest mold index in three years",
        how="growth at monthly mean temperature and humidity, relative decline 0.1",
        source="Hukka and Viitanen 1999; Ojanen et al. 2010; ASHRAE 160-2016 (from memory of the documents)",
    ),
    "water_to_dry": Field("area density", "built-in water to lose", how="by the material's state"),
    "months_to_dry": Field(
        "time",
        "months its built-in water takes to dry (120: not in ten years)",
        how="steady drying of a wet layer",
    ),
    "dries_inward_share": Field(
        "fraction", "share of that drying which goes inwards", how="steady drying of a wet layer"
    ),
    "service_margin_cold": Field(
        "temperature difference",
        "above its lowest service temperature",
        how="design-day temperature less limit",
    ),
    "service_margin_hot": Field(
        "temperature difference",
        "below its highest service temperature",
        how="limit less the temperature of its outer face on a clear summer day",
    ),
    **{k: _yes(v, how="material or as given", origin="looked up") for k, v in _ROLE_FIELDS.items()},
    **{k: _yes(v, how="material", origin="looked up") for k, v in _FLAG_FIELDS.items()},
}

JOINT: dict[str, Field] = {
    "inner": Field("index", "layer on its room side", how="order of layers"),
    "outer": Field("index", "layer on its outer side", how="order of layers"),
    "inner_name": Field("text", "layer on its room side", how="order of layers"),
    "outer_name": Field("text", "layer on its outer side", how="order of layers"),
    "t_winter": Field("temperature", "temperature in the coldest month", how=_MEAN, source=_ISO6946),
    "t_design": Field(
        "temperature", "temperature on the design day", how="steady, 99 % heating design temperature"
    ),
    "dew_margin": Field(
        "temperature difference", "above the indoor dew point in the coldest month", how=_MEAN
    ),
    "rh_winter": Field(
        "relative humidity", "humidity in the coldest month", how="steady vapor diffusion", source=_ISO13788
    ),
    "rh_highest": Field(
        "relative humidity", "highest monthly humidity", how="steady vapor diffusion", source=_ISO13788
    ),
    "months_humid": Field(
        "count",
        "months at 80 % or more, warmer than 5 °C (41 °F)",
        how="steady vapor diffusion",
        source=_ISO13788,
    ),
    "months_below_dew_point": Field("count", "months below the indoor dew point", how="steady monthly means"),
    "condenses": _yes("condensate forms", how="ISO 13788 monthly balance"),
    "condensate_peak": Field("area density", "most condensate held", how="monthly balance", source=_ISO13788),
    "condensate_left": Field(
        "area density", "condensate left after the year", how="monthly balance", source=_ISO13788
    ),
    "months_wet": Field("count", "months with condensate", how="monthly balance", source=_ISO13788),
    "gain_limit": Field(
        "area density",
        "most condensate the surface there can hold",
        how="by the layer it lands on",
        source="DIN 4108-3",
    ),
    "gain_margin": Field("area density", "limit less peak (zero when passed)", how="difference"),
    "over_limit": _yes("peak above the limit", how="compared"),
    "mold_index": Field(
        "ratio",
        "highest mold index in three years",
        how="growth at monthly mean temperature and humidity, relative decline 0.1",
        source="Hukka and Viitanen 1999; Ojanen et al. 2010; ASHRAE 160-2016 (from memory of the documents)",
    ),
    "on_wood": _yes("a wood-based layer is at the joint"),
    "on_absorbent": _yes("an absorbent layer is at the joint"),
}

PAIR: dict[str, Field] = {
    "inner": Field("index", "the layer nearer the room", how="order of layers"),
    "outer": Field("index", "the layer farther out", how="order of layers"),
    "adjacent": _yes("they touch", how="order of layers"),
    "permeance_ratio": Field("ratio", "damp permeance of the outer over the inner", how="ratio, wet cup"),
    "permeance_ratio_dry": Field(
        "ratio", "damp permeance of the outer over the dry permeance of the inner", how="ratio"
    ),
    "r_between": Field("thermal resistance", "resistance between them", how="sum"),
    "vent_between": _yes("a ventilated space lies between them"),
}

REQUIREMENT: dict[str, Field] = {
    "topic": _word(
        "what it asks",
        "interior retarder needed",
        "class III allowed",
        "class prohibited",
        "class II with exterior foam",
        "two class I",
        "unvented roof insulation",
        "unvented roof underside",
        "unvented roof no class I",
        "low permeance ratio",
        "low permeance ratio by product",
        "vapor barrier permeance",
        "prescriptive resistance",
        "attic class",
        "slab retarder",
        "unvented crawl space cover",
        how="code table",
        origin="looked up",
    ),
    "code": _word("code", "IRC", "IBC", "NBC", how="code table", origin="looked up"),
    "edition": Field("count", "edition", origin="looked up"),
    "clause": Field("text", "clause", origin="looked up"),
    "met": _yes("met", how="compared with the table"),
    "option": Field("text", "how it is met", how="compared with the table"),
    "r_needed": Field("thermal resistance", "resistance asked", origin="looked up"),
    "r_provided": Field("thermal resistance", "resistance provided", how="sum over layers"),
    "r_short": Field("thermal resistance", "resistance short (zero when met)", how="difference"),
    "share_needed": Field("fraction", "share asked", origin="looked up"),
    "share_provided": Field("fraction", "share provided", how="ratio"),
    "ratio_needed": Field("ratio", "ratio asked", origin="looked up"),
    "ratio_provided": Field("ratio", "ratio provided", how="ratio"),
    "layer": Field("index", "layer it is about", how="read from the layers"),
    "from_memory": _yes("table known only from memory", how="certainty of the table", origin="looked up"),
}

LEAKAGE: dict[str, Field] = {
    "rated": Field(
        "air permeance",
        "air leakage of the assembly at 75 Pa",
        origin="assumed",
        how="by how the air barrier is detailed",
    ),
    "pressure": Field(
        "pressure",
        "outward stack pressure in the coldest month",
        how="stack effect on the upper part",
        source="ASHRAE Handbook—Fundamentals, ventilation and infiltration (from memory)",
    ),
    "wetting": Field(
        "area density",
        "water that leaking room air can leave at the condensing plane in a year (upper bound)",
        how="air leaves saturated at the plane's temperature",
        source="psychrometrics",
    ),
    "diffusion": Field(
        "area density", "water that diffusion leaves there in a year", how="monthly balance", source=_ISO13788
    ),
    "ratio": Field("ratio", "water carried by leaks over water diffused", how="ratio"),
    "drying": Field(
        "area density",
        "what the plane could dry in a year, both ways",
        how="steady drying of a wet plane by month",
        source=_ISO13788,
    ),
    "dries": _yes("the year dries what leaks can bring", how="compared"),
    "months": Field("count", "months in which leaks wet more than dries", how="counted"),
}

SUN: dict[str, Field] = {
    "cladding_peak": Field(
        "temperature",
        "cladding temperature on a clear summer day",
        how="sol-air temperature, medium dark surface",
        source="ASHRAE Handbook—Fundamentals, sol-air temperature (from memory)",
    ),
    "inward_flow": Field(
        "area density",
        "vapor driven to the innermost insulation face on a sunny day after rain",
        how="saturated cladding at its peak temperature for six hours",
    ),
    "inward_water": Field(
        "area density",
        "of it condensing there in a day",
        how="saturated cladding at its peak temperature for six hours",
    ),
    "roof_winter": Field(
        "temperature",
        "mean roof surface temperature in the coldest month",
        how="balance of sun, air and night sky",
    ),
    "roof_over_air": Field(
        "temperature difference",
        "roof surface over the air in the coldest month (negative: colder)",
        how="balance of sun, air and night sky",
    ),
}

RAIN: dict[str, Field] = {
    "on_wall": Field(
        "area density",
        "rain on the wall in a year",
        how="ASHRAE 160 deposition from monthly rain and wind",
        source="ASHRAE 160 4.6 (from memory of the document)",
    ),
    "leak": Field(
        "area density",
        "1 % of it, past the cladding, in a year",
        how="ASHRAE 160 leak share",
        source="ASHRAE 160 4.6 (from memory of the document)",
    ),
    "drying_ratio": Field(
        "ratio",
        "what the wetted face could dry over what leaks, in a year",
        how="steady drying of a wet plane by month",
    ),
    "dries": _yes("the year dries what leaks past the cladding", how="compared"),
    "harms": _yes(
        "water there reaches wood, paper or another layer that it harms",
        how="read from the layers: outwards and inwards as far as no Class I or II layer is in between",
    ),
    "standing": Field(
        "area density", "water standing there in the tenth year", how="monthly balance of leak and drying"
    ),
}

_SIMULATED = "hourly simulation"
_EN15026 = "EN 15026"

SIMULATION: dict[str, Field] = {
    "years": Field("count", "years simulated", how=_SIMULATED, source=_EN15026),
    "periodic": _yes("the years repeat", how=_SIMULATED),
    "gain": Field("area density", "water gained in the last year", how=_SIMULATED, source=_EN15026),
}

SIMULATED_JOINT: dict[str, Field] = {
    "inner": Field("index", "layer on its room side", how="order of layers"),
    "outer": Field("index", "layer on its outer side", how="order of layers"),
    "beyond_vent": _yes("lies at or outboard of a ventilated space"),
    "on_wood": _yes("a wood-based layer is at the joint"),
    "hours_humid": Field(
        "count", "hours a year over 80 % and warmer than 5 °C (41 °F)", how=_SIMULATED, source=_EN15026
    ),
    "hours_wet": Field("count", "hours a year over 98 %", how=_SIMULATED, source=_EN15026),
    "rh_30_days": Field(
        "relative humidity",
        "highest 30-day mean humidity while warmer than 5 °C (41 °F)",
        how=_SIMULATED,
        source=_EN15026,
    ),
    "mold_index": Field(
        "ratio",
        "highest mold index, hourly",
        how="growth hour by hour, relative decline 0.1",
        source="Hukka and Viitanen 1999; Ojanen et al. 2010; ASHRAE 160-2016 (from memory of the documents)",
    ),
}

SIMULATED_LAYER: dict[str, Field] = {
    "index": Field("index", "place from the room", origin="given"),
    "beyond_vent": _yes("lies outboard of a ventilated space"),
    "wood_moisture": Field(
        "wood moisture", "highest mean moisture content of the layer", how=_SIMULATED, source=_EN15026
    ),
    "hours_wet_wood": Field(
        "count", "hours a year over 20 % moisture content", how=_SIMULATED, source=_EN15026
    ),
    "hours_decay": Field(
        "count",
        "hours a year over 26 % moisture content and warmer than 5 °C (41 °F)",
        how=_SIMULATED,
        source=_EN15026,
    ),
}

STATEMENT: dict[str, Field] = {
    "about": Field("text", "subject", origin="given"),
    "says": Field("text", "statement", origin="given"),
    "present": _yes("says that it is there", how="anything but none, no, not …"),
    "fiber_only": _yes("names fibrous insulation and no foam", how="by its words"),
    "ratio": Field("ratio", "ratio stated", how="1/150, or 40 %"),
}

CONCLUDED: dict[str, Field] = {
    "name": Field("text", "conclusion", origin="concluded"),
    "layer": Field("index", "layer", origin="concluded"),
    "other": Field("index", "other layer", origin="concluded"),
}

KINDS: dict[str, Kind] = {
    "section": Kind("the section as a whole", SECTION, single=True),
    "climate": Kind("the outdoor climate", CLIMATE, single=True),
    "indoor": Kind("the indoor climate", INDOOR, single=True),
    "layer": Kind("one layer", LAYER),
    "joint": Kind("the joint between two layers", JOINT),
    "pair": Kind("two layers", PAIR),
    "requirement": Kind("what a code asks of this section", REQUIREMENT),
    "leakage": Kind("air leakage", LEAKAGE, single=True),
    "sun": Kind("sun on the outer side", SUN, single=True),
    "rain": Kind("rain on the wall", RAIN, single=True),
    "simulation": Kind("the hourly simulation", SIMULATION, single=True),
    "simulated_joint": Kind("a joint in the hourly simulation", SIMULATED_JOINT),
    "simulated_layer": Kind("a layer in the hourly simulation", SIMULATED_LAYER),
    "statement": Kind("something the user states beside the layers", STATEMENT),
    "concluded": Kind("an intermediate conclusion of a rule", CONCLUDED),
}


def label(kind: str, field: str) -> str:
    """The field's meaning for people.

    >>> label("layer", "permeance_dry")
    'permeance when dry'
    """
    return KINDS[kind].fields[field].meaning
