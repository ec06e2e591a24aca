"""What the library hands out: materials, climates and sources. Frozen values, SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from reviewer.citations import Citation

Curve = tuple[tuple[float, float], ...]
"""Points (x, y) with x rising; linear between, constant beyond the ends."""

ROLES = (
    "vapor control",
    "air barrier",
    "water control",
    "thermal control",
    "interior finish",
    "sheathing",
    "structure",
    "cladding",
    "roof covering",
    "capillary break",
    "drainage",
    "dampproofing",
    "flooring",
)

FLAGS = (
    "reservoir",  # stores rain: brick, stucco, stone veneer, unsealed cement products
    "holds water",  # hygroscopic or absorbent: damaged by, or storing, moisture
    "wood based",
    "paper faced",
    "foam plastic",
    "air impermeable",  # at its usual thickness, material air permeance ≤ 0.02 L/(s·m²) at 75 Pa
    "air permeable",  # fibrous: room air can move through it
    "variable permeance",  # opens by several times from dry to damp
    "freeze sensitive",
    "corrodes",
    "combustible",
    "membrane",  # a sheet or coating without thickness of its own to speak of
    "coating",
    "metal",
    "masonry",
    "concrete",
    "bitumen",
    "plasticized pvc",
    "polystyrene",
    "polyiso",
    "spray foam",
    "fibrous",
    "cellulose",
    "needs outer wind barrier",
    "low temperature loses r",
    "vinyl",
    "asbestos possible",
    "lead possible",
    "gypsum",
    "straw or earth",
)


@dataclass(frozen=True, slots=True)
class Material:
    """A generic building material. Vapor data is a permeability (per thickness) for materials that
    come in any thickness, or a permeance of the product as it comes (sheets, coatings, boards of
    fixed make-up); `None` is unknown, never zero. Values at about 23 °C.
    """

    id: str
    """The name, lower case, singular: `oriented strand board`."""
    aliases: tuple[str, ...]
    family: str
    """gypsum, wood panel, fibrous insulation, foam insulation, masonry, concrete, membrane, coating,
    metal, plastic, stone, cladding, roofing, flooring, soil, natural, glass …"""
    conductivity: float | None
    """W/(m·K) at 10–24 °C mean temperature, dry."""
    conductivity_by_temperature: Curve
    """(mean temperature °C, W/(m·K)); empty: constant."""
    density: float | None
    heat_capacity: float | None
    """J/(kg·K)."""
    permeability_dry: float | None
    """kg/(s·m·Pa), dry cup (0/50 % RH)."""
    permeability_wet: float | None
    """kg/(s·m·Pa), wet cup (50/100 % RH)."""
    permeance_dry: float | None
    """kg/(s·m²·Pa) of the product as it comes; used when the permeability is None."""
    permeance_wet: float | None
    vapor_by_rh: Curve
    """(RH 0–1, permeance or permeability in the same basis as above); empty: dry and wet values."""
    sorption: Curve
    """(RH 0–1, kg water per kg dry), adsorption; empty: unknown or none."""
    water_absorption: float | None
    """A-value, kg/(m²·s½)."""
    free_saturation: float | None
    """kg/m³."""
    porosity: float | None
    thickness: float | None
    """The usual thickness of the product as it comes, m (for membranes and coatings always given)."""
    r_value: float | None
    """Resistance of the product as it comes where no conductivity describes it, m²·K/W."""
    air_permeance: float | None
    """L/(s·m²) at 75 Pa of the usual product."""
    service: tuple[float | None, float | None]
    """Lowest and highest service temperature, °C."""
    mold_class: str
    """very sensitive, sensitive, medium resistant, resistant (mold index classes)."""
    emissivity: float
    roles: frozenset[str]
    flags: frozenset[str]
    sources: Mapping[str, Citation] = field(default_factory=dict)
    """Property name to its source and certainty; every property that has a value has one."""
    note: str = ""


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@dataclass(frozen=True, slots=True)
class Climate:
    """Outdoor conditions at a place, monthly means. Tuples of twelve, January first."""

    place: str
    """As found: `Duluth, MN`."""
    country: str
    """US, CA, or an ISO code."""
    region: str
    """State or province code, or empty."""
    latitude: float | None
    longitude: float | None
    elevation: float | None
    """m, of the climate station. The three are None for monthly values of a place that is not named."""
    zones: Mapping[str, str]
    """Code edition group to zone: {"2018": "7", "2021": "7"}; Canada {"NBC": "7A"}; `2018` holds for
    the 2006–2018 editions and `2021` for 2021 and later."""
    temperature: tuple[float, ...]
    """°C."""
    vapor_pressure: tuple[float, ...]
    """Pa."""
    solar: tuple[float, ...] | None
    """Global horizontal irradiance, 24 h mean, W/m²."""
    precipitation: tuple[float, ...] | None
    """mm a month."""
    wind: tuple[float, ...] | None
    """m/s at 10 m."""
    heating_design: float | None
    """99 % heating dry-bulb, °C."""
    cooling_design: float | None
    hdd18: float | None
    cdd10: float | None
    station: str
    station_distance: float | None
    """km from the place asked for to the station."""
    station_elevation_difference: float | None
    """m, station minus place; None when the place's own elevation is unknown."""
    sources: tuple[Citation, ...]
    assumptions: tuple[str, ...]
    """What was chosen to get here, each a sentence for the report."""
    hourly_file: str = ""
    """The EPW file it was read from, if any."""
