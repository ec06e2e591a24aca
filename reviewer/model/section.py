"""The typed section: what a section file, a one-line section or a question turns into.

Layers are listed from the room outwards. Quantities are SI `Span`s: one value or a range.
Nothing here is looked up or assumed: what the user did not say is None.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from reviewer.errors import Mark
from reviewer.library.types import Material
from reviewer.units import Span

KINDS = ("wall", "roof", "foundation wall", "floor", "slab")

SURROUNDINGS = (
    "outdoor air",
    "soil",
    "vented crawl space",
    "unvented crawl space",
    "vented attic",
    "unvented attic",
    "unheated space",
    "garage",
)
"""What a section may end in, on its outer side."""

VENTS = ("none", "top and bottom", "bottom only", "top only", "weep holes")

JOINTS = ("sealed", "taped", "lapped", "stapled", "unsealed")

CONDITIONS = ("new", "existing", "dry", "damp", "wet", "damaged", "moldy")


EXPOSURES = ("low", "moderate", "high", "severe")

ORIENTATIONS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")

ZONES = (
    *("0A", "0B", "1A", "1B", "2A", "2B", "3A", "3B", "3C", "4A", "4B", "4C", "5A", "5B", "5C", "6A", "6B"),
    *("7", "7A", "7B", "8", "4", "5", "6"),
)
"""Code climate zones; those without a letter below 7 are Canadian."""


@dataclass(frozen=True, slots=True)
class Framing:
    """Members that interrupt a layer's insulation."""

    material: Material
    width: float
    """m, the member's face width."""
    spacing: float
    """m, on center."""
    depth: float | None
    """m, the members' depth; None: the layer's thickness."""
    pattern: str
    """single, double stud, staggered stud, truss."""
    fraction: float | None
    """Area share of framing as given (0–1); None: from width and spacing plus plates (assumed)."""


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer, as understood. `index` counts from the room, from 0."""

    index: int
    text: str
    """As written, for the report: `6 mil polyethylene sealed`."""
    name: str
    """The generic name of what it is: the material's id, `air space`, `unknown sheathing`, `soil`."""
    material: Material | None
    """None for spaces, surroundings and unknown layers."""
    space: str | None
    """`air` for an air space, or one of SURROUNDINGS for the last layer."""
    thickness: Span | None
    vents: str | None
    """For spaces: one of VENTS."""
    framing: Framing | None
    joints: str | None
    """One of JOINTS."""
    roles: frozenset[str]
    """Roles the user gave (they add to the material's)."""
    not_roles: frozenset[str]
    """Roles the user took away: `roles: [not air barrier]`."""
    condition: str | None
    unknown: bool
    """The user doesn't know what it is; `name` says what is known of it (`unknown sheathing`)."""
    position: str | None
    """`between framing`, `outside framing`, `against masonry` if said."""
    r_value: Span | None
    conductivity: Span | None
    permeance_dry: Span | None
    permeance_wet: Span | None
    density: Span | None
    fasteners: str | None
    """Free text on ties, girts and clips through this layer: metal girts, clips, screws."""
    mark: Mark
    overrides: frozenset[str]
    """Names of the properties given by the user rather than the library."""
    coats: int | None = None
    note: str = ""
    thickness_unknown: bool = False
    """The user says that the thickness is not known: no usual thickness may stand in for it."""
    assumed: tuple[str, ...] = ()
    """What had to be taken because the text left it open, each a sentence for the list of assumptions:
    `framing is 16 in on center (spacing not stated)`."""


@dataclass(frozen=True, slots=True)
class Waiver:
    rule: str
    reason: str
    by: str
    until: str
    mark: Mark


@dataclass(frozen=True, slots=True)
class Place:
    """Where it stands: exactly one of the first four is given."""

    name: str | None
    """`Duluth, MN`, a ZIP code, or `46.8, -92.1`."""
    zone: str | None
    """`5A`, alone: a representative place is chosen and named."""
    weather: str | None
    """Path of an EPW file, relative to the section file."""
    monthly: Mapping[str, tuple[float, ...]] | None
    """{"temperature": 12 × °C, "vapor pressure": 12 × Pa or "humidity": 12 × fraction, optional
    "solar": 12 × W/m², "precipitation": 12 × mm}."""
    mark: Mark | None
    zone_override: str | None = None
    """The code zone as the user states it, beside a place."""


@dataclass(frozen=True, slots=True)
class Indoor:
    """The indoor condition: a name (`home`, `pool`, `class 3`…), or fixed or monthly values."""

    name: str | None
    temperature: tuple[float, ...] | None
    """°C: 1 value or 12."""
    humidity: tuple[float, ...] | None
    """Fraction 0–1: 1 value or 12."""
    mark: Mark | None


@dataclass(frozen=True, slots=True)
class Building:
    stories: int | None = None
    year: int | None = None
    height: float | None = None
    """m."""
    work: str | None = None
    """new, retrofit, addition."""
    use: str | None = None
    """dwelling, office, school, pool, museum, hospital, restaurant, warehouse, …"""
    code: str | None = None
    """`IRC 2021`, `IBC 2018`, `NBC 2020`, `none`."""
    ventilation: str | None = None
    """none, exhaust, supply, balanced."""
    airtightness: float | None = None
    """Air changes an hour at 50 Pa."""
    combustion: str | None = None
    """`atmospheric` when there are atmospherically vented appliances, `sealed`, `none`."""
    wiring: str | None = None
    """`knob and tube` when known or suspected."""
    framing: str | None = None
    """`balloon` or `platform`."""


@dataclass(frozen=True, slots=True)
class Expect:
    """What a review must come to; the review itself takes no notice of it."""

    disposition: str | None
    findings: tuple[str, ...]
    never: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """One assembly at one place."""

    id: str
    """From the file's `id:`, else the file's stem, else `section`."""
    title: str
    kind: str
    place: Place | None
    indoor: Indoor | None
    cooling: bool | None
    rain: str | None
    """Driving-rain exposure: low, moderate, high, severe."""
    faces: str | None
    """north, south-east, …"""
    slope: float | None
    """Roof slope, rise over run (0.25 for 3:12)."""
    depth_below_grade: float | None
    """m, of the part under review (foundation walls and slabs)."""
    building: Building
    layers: tuple[Layer, ...]
    waivers: tuple[Waiver, ...]
    known: Mapping[str, str]
    """Statements of the user beyond layers: {"overhang": "24 in", "drainage": "footing drain",
    "existing damage": "rot at sill"}; keys are listed in the schema."""
    zones_claimed: tuple[str, ...]
    """Zones the detail claims to hold in (`zones:`), for the gate."""
    file: str
    marks: Mapping[str, Mark] = field(default_factory=dict)
    """Where each top-level key stands."""
    absent: tuple[str, ...] = ()
    """What the layers say isn't there: `cladding`, from the line `no cladding`."""
    notes: str = ""
    expect: Expect | None = None
