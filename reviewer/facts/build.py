"""Section to facts: resolve the layers, find the site, calculate the year, and write the book.

What can't be calculated because something is not known is recorded as unknown with the reason, so
that a rule which needs it is listed as not evaluated and never passes in silence.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass

import numpy as np

from reviewer.facts import anatomy as anatomies
from reviewer.facts import monthly
from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Assumption, Book, Origin, Record
from reviewer.facts.forces import force_facts
from reviewer.facts.framing import framed_transmittance
from reviewer.facts.requirements import requirement_facts
from reviewer.facts.resolve import Properties, open_question, resolve
from reviewer.facts.site import Site, find_site, site_facts
from reviewer.facts.statements import statement_facts
from reviewer.facts.strips import strip_facts
from reviewer.facts.vocabulary import KINDS
from reviewer.humidity import dew_point
from reviewer.library.types import FLAGS, ROLES
from reviewer.model.section import Section
from reviewer.physics import condensation, heat
from reviewer.physics.corner import corner_temperature_factor
from reviewer.physics.vapor import retarder_class
from reviewer.units import PERM, UnitError, parse

LOW_SLOPE = 2 / 12
HALF_INCH, THICK_PANEL = 0.0119, 0.0182
"""m: 1/2 in gypsum board and 23/32 in wood structural panel, the thermal barriers over foam plastic that need no
test (IRC R316.4, from memory)."""
LIMIT_CITATION = "DIN 4108-3 (from memory of the document)"


_ROLE_NAMES = tuple((role.replace(" ", "_"), role) for role in ROLES)
_FLAG_NAMES = tuple(
    (name, flag) for flag in FLAGS if (name := flag.replace(" ", "_")) in KINDS["layer"].fields
)


Built = tuple[Book, list[Properties], Site, Anatomy, "monthly.Year | None"]


@dataclass(frozen=True, slots=True)
class Begun:
    """A section whose layers and place are found, before anything is calculated."""

    section: Section
    book: Book
    layers: list[Properties]
    site: Site
    anatomy: Anatomy
    head: Record
    records: list[Record]
    blocked: dict[str, str]

    @property
    def job(self) -> monthly.Job:
        return monthly.Job(self.section, self.layers, self.site, self.anatomy, self.book)


@dataclass(frozen=True, slots=True)
class Found:
    """A site with what was assumed to find it and its facts, for sections that stand at the same place."""

    site: Site
    assumptions: tuple[Assumption, ...]
    records: tuple[Record, ...]


Sites = dict[tuple[Hashable, ...], Found]
"""Sites found before; good for sections that share their `place` and `indoor` objects."""


def build(section: Section, edition: str = "", *, hourly: bool = False) -> Built:
    """All facts of a section. Raises InputError when the place, weather or code can't be found."""
    begun = begin(section, edition)
    thermal = year = None
    if not begun.blocked["thermal"]:
        thermal = monthly.thermal_years([begun.job])[0]
        if not begun.blocked["vapor"]:
            year = monthly.monthly_year(begun.layers, begun.site, begun.anatomy, thermal)
    return finish(begun, thermal, year, hourly=hourly)


def begin(section: Section, edition: str = "", sites: Sites | None = None) -> Begun:
    """Resolve the layers and find the site; `sites` remembers those found for a batch."""
    book = Book()
    found = _site(section, edition, {} if sites is None else sites)
    for a in found.assumptions:
        book.assume(*a)
    layers = resolve(section, book)
    anatomy = anatomies.dissect(layers)
    head = book.record("section", label="the section")
    for r in found.records:
        book.records.append(Record(r.kind, r.id, r.label, dict(r.fields), dict(r.origins), dict(r.unknown)))
    records = [_layer_record(p, layers, anatomy, book) for p in layers]
    blocked = _blocked(layers, anatomy, found.site)
    return Begun(section, book, layers, found.site, anatomy, head, records, blocked)


def _site(section: Section, edition: str, sites: Sites) -> Found:
    key = (
        id(section.place),
        id(section.indoor),
        section.cooling,
        section.building.code,
        section.file,
        edition,
    )
    if key not in sites:
        book = Book()
        site = find_site(section, book, edition)
        site_facts(section, site, book)
        sites[key] = Found(site, tuple(book.assumptions), tuple(book.records))
    return sites[key]


def finish(
    begun: Begun, thermal: monthly.Thermal | None, year: monthly.Year | None, *, hourly: bool = False
) -> Built:
    """Write the facts that rest on the calculation."""
    section, book, layers, site = begun.section, begun.book, begun.layers, begun.site
    anatomy, head, records = begun.anatomy, begun.head, begun.records
    why_thermal = begun.blocked["thermal"]
    why = why_thermal or begun.blocked["vapor"]
    _section_facts(head, section, layers, anatomy, site, book)
    _thermal_facts(head, records, section, layers, anatomy, site, thermal, year, why_thermal, book)
    _moisture_facts(head, records, layers, anatomy, year, why, book)
    _joint_facts(layers, anatomy, site, thermal, year, why, book)
    _pair_facts(layers, anatomy, book)
    force_facts(section, layers, anatomy, site, year, records, why, book)
    strip_facts(section, layers, anatomy, site, year, head, why, book)
    if hourly and not why:
        from reviewer.facts.hourly import hourly_facts, simulate_section

        hourly_facts(layers, anatomy, simulate_section(section, layers, anatomy, site, book), book)
    statement_facts(section, book)
    requirement_facts(section, layers, anatomy, site, head, book)
    return book, layers, site, anatomy, year


def _blocked(layers: list[Properties], anatomy: Anatomy, site: Site) -> dict[str, str]:
    """Why the thermal and the vapor calculation can't run; empty strings when they can."""
    parts = layers[: anatomy.end]
    place = "" if site.climate is not None else "the place is not stated"
    thermal = next(
        (p.why.get("r_value") or f"{p.name} has no known resistance" for p in parts if p.r is None), ""
    )
    vapor = next(
        (
            p.why.get("permeance_dry") or f"{p.name} has no known permeance"
            for p in parts
            if p.permeance is None
        ),
        "",
    )
    if not parts:
        thermal = "the section has no layer inboard of the ventilated space"
    return {"thermal": place or thermal, "vapor": vapor}


def _foam_kind(p: Properties) -> str | None:
    if not p.has("foam plastic") or p.material is None:
        return None
    name = p.material.id
    for word in ("closed-cell", "open-cell"):
        if word in name or word.replace("-", " ") in name:
            return word
    if p.has("polystyrene"):
        return "extruded polystyrene" if "extruded" in name else "expanded polystyrene"
    if p.has("polyiso"):
        return "polyisocyanurate"
    return "phenolic" if "phenolic" in name else "other"


_FASTENINGS = (
    (("girt", "z-bar", "z bar", "hat channel", "furring channel"), "metal girts"),
    (
        ("thermally broken", "thermal break", "thermal clip", "fiberglass clip", "glass fiber clip"),
        "thermally broken clips",
    ),
    (("clip", "bracket"), "metal clips"),
    (("screw", "nail"), "screws"),
    (("tie", "anchor"), "ties"),
)
"""Words on fasteners to their kind; girts that stand on clips count as what reaches through: the clips."""


def _fastening(words: str) -> str:
    """
    >>> _fastening("steel Z-girts"), _fastening("girts on thermally broken clips"), _fastening("glue")
    ('metal girts', 'thermally broken clips', 'other')
    """
    said = words.lower()
    found = [kind for stems, kind in _FASTENINGS if any(s in said for s in stems)]
    reaching = [k for k in found if k.endswith("clips")] or found
    return reaching[0] if reaching else "other"


def _layer_record(p: Properties, layers: list[Properties], a: Anatomy, book: Book) -> Record:
    layer, i = p.layer, p.layer.index
    r = book.record("layer", str(i), p.label())
    given = Origin("given", "as written")
    r.put("index", i)
    if i + 1 < len(layers):
        r.put("outer_neighbor", i + 1)
    r.put("name", p.name)
    r.put("text", layer.text)
    r.put("unknown", layer.unknown)
    r.put("is_space", p.is_space)
    r.put("is_surroundings", p.is_surroundings)
    r.put("ventilated", p.ventilated)
    r.put("vents", layer.vents or ("none" if p.is_space else None))
    r.put("is_insulation", p.is_insulation)
    r.put("foam", _foam_kind(p))
    r.put("in_framing", layer.framing is not None)
    r.put(
        "framing",
        "none" if layer.framing is None else "steel" if "metal" in layer.framing.material.flags else "wood",
    )
    if layer.framing is not None and layer.framing.depth is not None:
        r.put("framing_depth", layer.framing.depth)
        if p.thickness is not None:
            r.put("underfilled", max(0.0, layer.framing.depth - p.thickness))
            if layer.framing.pattern == "single":
                r.put("overfilled", max(0.0, p.thickness - layer.framing.depth))
    if not p.is_space and not p.is_surroundings:
        r.put("joints", layer.joints or "not stated")
        r.put("seamless", p.seamless)
    r.put("condition", layer.condition, given)
    r.put("coats", layer.coats)
    r.put("fasteners", layer.fasteners)
    if layer.fasteners:
        r.put("fastening", _fastening(layer.fasteners))
    if p.is_space:
        r.put("vents_stated", layer.vents is not None)
    if a.main is not None:
        r.put("side", "inboard" if i < a.main else "insulation" if i == a.main else "outboard")
    r.put("beyond_vent", a.vent is not None and i > a.vent)
    if i > 0 and layers[i - 1].is_space:
        r.put("gap_inboard", layers[i - 1].thickness, why=layers[i - 1].why.get("thickness", ""))
        r.put("gap_inboard_vented", layers[i - 1].ventilated)
    if p.is_surroundings:
        return r
    if p.material is not None:
        r.put("family", p.material.family, Origin("looked up", p.material.id))
    for name, value in (
        ("thickness", p.thickness),
        ("conductivity", p.conductivity),
        ("r_value", p.r),
        ("density", p.density),
        ("permeance_dry", p.permeance_dry),
        ("permeance_wet", p.permeance_wet),
    ):
        r.put(name, value, p.origins.get(name), p.why.get(name, ""))
    if p.permeance_dry is not None and p.permeance_wet is not None:
        r.put("class", retarder_class(p.permeance_dry))
        r.put("class_wet", retarder_class(p.permeance_wet))
        if p.permeance_dry > 0:
            r.put("opening", p.permeance_wet / p.permeance_dry)
    else:
        for name in ("class", "class_wet", "opening"):
            r.put(name, None, why=p.why.get("permeance_dry", ""))
    if p.material is None and layer.unknown:
        why = p.unknown_reason
        for name, role in _ROLE_NAMES:
            r.put(name, True if role in p.roles else None, why=why)
        for name, _ in _FLAG_NAMES:
            r.put(name, None, why=why)
    else:
        r.fields.update((name, "yes" if role in p.roles else "no") for name, role in _ROLE_NAMES)
        r.fields.update((name, "yes" if flag in p.flags else "no") for name, flag in _FLAG_NAMES)
        for role in layer.roles:
            r.origins[role.replace(" ", "_")] = given
    _series_facts(r, i, layers, a)
    return r


def _series_facts(r: Record, i: int, layers: list[Properties], a: Anatomy) -> None:
    if i >= a.end:
        return
    why = open_question(layers, "a layer in between is not known")
    outer, inner = range(i + 1, a.end), range(i)
    r.put("permeance_outboard", _finite(anatomies.series(layers, outer, True)), why=why)
    r.put("permeance_inboard", _finite(anatomies.series(layers, inner, False)), why=why)
    r.put("drying_inward", _finite(anatomies.series(layers, inner, True)), why=why)
    r.put("insulation_inboard", _insulation(layers, inner), why=why)
    r.put("insulation_outboard", _insulation(layers, outer), why=why)


UNLIMITED = 1.0e-6
"""kg/(s·m²·Pa): stands for `nothing in the way` (17,500 perms), since facts are finite."""


def _finite(w: float | None) -> float | None:
    return None if w is None else min(w, UNLIMITED)


def _insulation(layers: list[Properties], indices: Iterable[int]) -> float | None:
    total = 0.0
    for i in indices:
        if layers[i].is_insulation:
            r = layers[i].r
            if r is None:
                return None
            total += r
    return total


def _section_facts(
    head: Record, section: Section, layers: list[Properties], a: Anatomy, site: Site, book: Book
) -> None:
    b = section.building
    given = Origin("given", "as written")
    head.put("kind", section.kind)
    zone_why = "the place or zone is not stated"
    head.put("zone", site.zone or None, why=zone_why)
    head.put("zone_number", site.zone_number, why=zone_why)
    head.put("moisture", site.moisture if site.zone else None, why=zone_why)
    head.put("marine", (site.moisture == "C") if site.zone else None, why=zone_why)
    head.put(
        "warm_humid",
        (site.moisture == "A" and (site.zone_number or 9) <= 3) if site.zone else None,
        why=zone_why,
    )
    head.put("country", site.climate.country if site.climate else None)
    code_origin = given if b.code else None
    head.put("code", site.code, code_origin)
    head.put("edition", site.edition or None, code_origin)
    for name in (
        "work",
        "use",
        "year",
        "stories",
        "height",
        "airtightness",
        "ventilation",
        "combustion",
        "wiring",
    ):
        head.put(name, getattr(b, name))
    head.put("framing_style", b.framing)
    head.put(
        "cooling", site.cooling, given if section.cooling is not None else None, why="the place is not stated"
    )
    if section.rain is None:
        book.assume("moderate driving rain", "the exposure was not stated")
    head.put("rain", section.rain or "moderate", given if section.rain else None)
    head.put("faces", section.faces)
    head.put("slope", section.slope)
    if section.kind == "roof":
        covering = [p for p in layers if "roof covering" in p.roles]
        low = (
            section.slope < LOW_SLOPE
            if section.slope is not None
            else any(p.has("membrane") for p in covering)
        )
        if section.slope is None:
            book.assume(
                f"{'low' if low else 'steep'} slope", "the slope was not stated; taken from the roof covering"
            )
        head.put("low_slope", low)
    head.put("depth_below_grade", section.depth_below_grade)
    line = section.known.get("property line")
    if line is not None:
        head.put("property_line", _distance(line), given, why=f'"{line}" is not a length')
    head.put("surroundings", a.surroundings)
    head.put("layers", len(layers))
    head.put("unknown_layers", sum(p.layer.unknown for p in layers))
    head.put("place_stated", section.place is not None)
    head.put("indoor_stated", section.indoor is not None)
    _framing_facts(head, layers)
    _control_facts(head, section, layers, a)
    _insulation_facts(head, layers, a)
    _class_facts(head, layers, a)


def _distance(text: str) -> float | None:
    try:
        return parse(text, "length").low
    except UnitError:
        return None


def _framing_facts(head: Record, layers: list[Properties]) -> None:
    framed = [p for p in layers if p.layer.framing is not None]
    head.put(
        "framing",
        "none"
        if not framed
        else "steel"
        if any("metal" in p.layer.framing.material.flags for p in framed if p.layer.framing)
        else "wood",
    )
    if framed:
        deepest = max(framed, key=lambda p: p.thickness or 0.0)
        f = deepest.layer.framing
        assert f is not None
        head.put("framing_pattern", f.pattern)
        head.put(
            "cavity_depth",
            f.depth if f.depth is not None else deepest.thickness,
            why=deepest.why.get("thickness", ""),
        )


def _control_facts(head: Record, section: Section, layers: list[Properties], a: Anatomy) -> None:
    solid = [p for p in layers if not p.is_surroundings]
    unknown = any(p.layer.unknown for p in solid)
    why = open_question(layers, "a layer that is not known may do it")

    def some(name: str, holds: bool) -> None:
        head.put(name, True if holds else None if unknown else False, why=why)

    some("has_insulation", any(p.is_insulation for p in solid))
    some(
        "has_air_barrier",
        any(
            "air barrier" in p.roles
            and (p.layer.joints in ("sealed", "taped") or "air barrier" in p.layer.roles or p.seamless)
            for p in solid
        ),
    )
    some("has_water_control", any("water control" in p.roles for p in solid))
    outermost = next((p for p in reversed(solid) if not p.has("coating")), None)
    massive = outermost is not None and (outermost.has("masonry") or outermost.has("concrete"))
    some("has_cladding", massive or any(p.roles & {"cladding", "roof covering"} for p in solid))
    some(
        "has_interior_finish",
        any(p.roles & {"interior finish", "flooring"} for p in solid[: a.main if a.main is not None else 2]),
    )
    some("has_sheathing", any("sheathing" in p.roles for p in solid))
    some("has_capillary_break", any("capillary break" in p.roles for p in solid))
    outer = solid[(a.main + 1) if a.main is not None else 0 :]
    some("has_dampproofing", any(p.roles & {"dampproofing"} for p in solid))
    some(
        "has_drainage",
        any("drainage" in p.roles for p in solid) or section.known.get("drainage", "none") != "none",
    )
    sheathing = next((p.layer.index for p in outer if "sheathing" in p.roles), None)
    head.put(
        "water_control_layers",
        sum(
            "water control" in p.roles
            for p in solid[(sheathing + 1) if sheathing is not None else 0 :]
            if p.layer.index != sheathing
        ),
    )
    cladding = next((p for p in reversed(solid) if p.roles & {"cladding"}), None)
    if cladding is not None:
        i = cladding.layer.index
        gap = layers[i - 1] if i and layers[i - 1].is_space else None
        head.put(
            "drainage_gap", (gap.thickness if gap else 0.0), why=gap.why.get("thickness", "") if gap else ""
        )
        lap = cladding.material is not None and (
            cladding.has("vinyl") or "self-ventilating" in cladding.material.note
        )
        head.put("vented_cladding", bool((gap is not None and gap.ventilated) or lap))
    elif section.kind == "wall":
        head.put("vented_cladding", False)
        head.put("drainage_gap", 0.0)
    head.put(
        "vented_roof",
        section.kind == "roof" and (_dries_to_vent(layers, a) or a.surroundings == "vented attic"),
    )
    foam = [p for p in solid if p.has("foam plastic")]
    if foam:
        inner = foam[0].layer.index
        covered = solid[:inner]
        barrier = any(
            ((p.has("gypsum") or p.has("masonry") or p.has("concrete")) and (p.thickness or 0.0) >= HALF_INCH)
            or ("sheathing" in p.roles and p.has("wood based") and (p.thickness or 0.0) >= THICK_PANEL)
            for p in covered
        )
        some("has_thermal_barrier", barrier)
        head.put("foam_exposed", not [p for p in covered if not p.has("coating") and not p.has("membrane")])


def _dries_to_vent(layers: list[Properties], a: Anatomy) -> bool:
    """A ventilated space that the insulation can dry into: no sheet of 1 perm or less lies between."""
    if a.vent is None:
        return False
    between = layers[(a.main + 1) if a.main is not None else 0 : a.vent]
    return not any(p.permeance_wet is not None and p.permeance_wet <= PERM for p in between)


def _insulation_facts(head: Record, layers: list[Properties], a: Anatomy) -> None:
    if a.main is None:
        return
    head.put("insulation_layer", a.main)
    if a.condensing is not None:
        head.put("condensing_layer", a.condensing)
    framed = [p for p in layers[: a.end] if p.is_insulation and p.layer.framing is not None]
    why = open_question(layers, "the resistance of an insulation layer is not known")
    if framed:
        filled = all(
            p.layer.framing is None
            or p.layer.framing.depth is None
            or p.thickness is None
            or p.thickness >= p.layer.framing.depth - 0.013
            for p in framed
        )
        head.put("cavity_filled", filled)
        head.put("r_cavity", _total(p.r for p in framed), why=why)
    head.put("r_exterior", _insulation(layers, a.exterior), why=why)
    head.put(
        "r_interior_continuous",
        _total(
            layers[i].r for i in a.interior if layers[i].is_insulation and layers[i].layer.framing is None
        ),
        why=why,
    )
    everything = [p for p in layers[: a.end] if p.is_insulation]
    nominal = _total(p.r for p in everything)
    tight = _total(p.r for p in everything if p.has("air impermeable"))
    head.put("r_nominal", nominal, why=why)
    head.put("r_air_impermeable", tight, why=why)
    if nominal and tight is not None:
        head.put("share_air_impermeable", tight / nominal)
    head.put(
        "low_permeance_outside_insulation",
        any(
            w is not None and retarder_class(w) in ("I", "II")
            for w in (layers[i].permeance_dry for i in a.exterior)
        ),
    )


def _total(values: Iterable[float | None]) -> float | None:
    total = 0.0
    for v in values:
        if v is None:
            return None
        total += v
    return total


def _class_facts(head: Record, layers: list[Properties], a: Anatomy) -> None:
    if a.main is None:
        return
    why = open_question(layers, "the permeance of a layer on that side is not known")
    inside = a.interior
    if "vapor control" in layers[a.main].roles:
        # A facing on the room side belongs to the room side: kraft-faced batts.
        inside = (*inside, a.main)
    interior = anatomies.tightest_class(layers, inside)
    exterior = anatomies.tightest_class(layers, a.exterior)
    head.put("interior_class", interior, why=why)
    head.put("exterior_class", exterior, why=why)
    head.put("has_vapor_control", None if interior is None else interior in ("I", "II"), why=why)
    values = {
        "interior_permeance": (inside, False),
        "interior_permeance_wet": (inside, True),
        "exterior_permeance": (a.exterior, False),
        "exterior_permeance_wet": (a.exterior, True),
    }
    found: dict[str, float | None] = {}
    for name, (indices, wet) in values.items():
        found[name] = _finite(anatomies.series(layers, indices, wet))
        head.put(name, found[name], why=why)
    inner, outer = found["interior_permeance"], found["exterior_permeance_wet"]
    if inner and outer is not None:
        head.put("openness_ratio", outer / inner)


def _thermal_facts(
    head: Record,
    records: list[Record],
    section: Section,
    layers: list[Properties],
    a: Anatomy,
    site: Site,
    thermal: monthly.Thermal | None,
    year: monthly.Year | None,
    why: str,
    book: Book,
) -> None:
    u = framed_transmittance(section, layers, a, head, book)
    if u is not None:
        head.put("u_value", u.u)
        head.put("r_total", u.total)
    else:
        for name in ("u_value", "r_total"):
            head.put(
                name, None, why=next((p.why.get("r_value", "") for p in layers[: a.end] if p.r is None), why)
            )
    per_layer = (
        "r_inboard",
        "r_outboard",
        "share_inboard",
        "share_outboard",
        "t_winter_inner",
        "t_winter_outer",
        "t_summer_inner",
        "dew_margin",
        "months_below_dew_point",
    )
    if thermal is None:
        for name in (
            "share_outboard",
            "share_needed",
            "share_margin",
            "temperature_factor",
            "temperature_factor_needed",
            "temperature_factor_margin",
        ):
            head.put(name, None, why=why)
        for r in records[: a.end]:
            for name in per_layer:
                r.put(name, None, why=why)
        return
    assert site.p_in is not None and site.t_out is not None and site.t_in is not None
    k, w = site.coldest, site.warmest
    total = float(thermal.total_cavity[k])
    cumulative = np.concatenate(([thermal.r_si], thermal.r_si + np.cumsum(thermal.r[k])))
    dew = dew_point(site.p_in)
    below = monthly.months_below_dew_point(thermal, site)
    for i, r in enumerate(records[: a.end]):
        r.put("r_inboard", cumulative[i])
        r.put("r_outboard", total - cumulative[i + 1])
        r.put("share_inboard", cumulative[i] / total)
        r.put("share_outboard", (total - cumulative[i]) / total)
        r.put("t_winter_inner", thermal.t[k, i])
        r.put("t_winter_outer", thermal.t[k, i + 1])
        r.put("t_summer_inner", thermal.t[w, i])
        r.put("dew_margin", thermal.t[k, i] - dew[k])
        r.put("months_below_dew_point", int(below[i]))
        m = layers[i].material
        if m is not None and m.service[0] is not None:
            coldest = (
                year.t_design[i + 1]
                if year is not None and year.t_design is not None
                else thermal.t[k, i + 1]
            )
            r.put("service_margin_cold", float(coldest) - m.service[0])
        if year is not None and year.t_design is not None:
            r.put("t_design_inner", float(year.t_design[i]))
    t_in, t_ext = float(thermal.t_in[k]), float(thermal.t_ext[k])
    if t_in - t_ext > 1.0:
        needed = float(np.clip((dew[k] - t_ext) / (t_in - t_ext), 0.0, 1.0))
        head.put("share_needed", needed)
        if a.condensing is not None:
            share = float((total - cumulative[a.condensing]) / total)
            head.put("share_outboard", share)
            head.put("share_margin", share - needed)
    else:
        head.put("share_needed", 0.0)
    if u is not None and section.kind in ("wall", "roof", "floor"):
        factor = 1.0 - u.u_worst_path * 0.25 if u.u_worst_path * 0.25 < 1 else 0.0
        needed_f = float(np.max(heat.required_temperature_factor(site.p_in, site.t_in, site.t_out)))
        head.put("temperature_factor", factor)
        head.put("temperature_factor_needed", max(needed_f, 0.0))
        head.put("temperature_factor_margin", factor - max(needed_f, 0.0))
        if section.kind == "wall" and a.surroundings == "outdoor air":
            corner = _corner_factor(layers[: a.end], thermal.r_se)
            if corner is not None:
                head.put("corner_factor", corner)
                head.put("corner_factor_margin", corner - max(needed_f, 0.0))


def _corner_factor(parts: list[Properties], r_se: float) -> float | None:
    """f_Rsi in the outside corner of two walls like this one, framing members solid in the corner.

    None for sections that the corner's model does not take (no thickness to speak of, extreme materials).
    """
    solid = [p for p in parts if p.r and p.thickness and p.thickness >= 1e-4]
    stack = [(p.thickness or 0.0, (p.thickness or 0.0) / (p.r or 1.0)) for p in solid]
    framed = next((i for i, p in enumerate(solid) if p.layer.framing is not None), None)
    post = None
    if framed is not None:
        member = solid[framed].layer.framing
        assert member is not None
        # Steel members are thin: what stands in the corner is mostly the insulation beside them.
        if member.material.conductivity is not None and "metal" not in member.material.flags:
            post = (framed, member.material.conductivity)
    try:
        return corner_temperature_factor(stack, outside_film=r_se, post=post).factor
    except ValueError:
        return None


def _moisture_facts(
    head: Record,
    records: list[Record],
    layers: list[Properties],
    a: Anatomy,
    year: monthly.Year | None,
    why: str,
    book: Book,
) -> None:
    per_section = (
        "condensate_peak",
        "condensate_left",
        "condensate_months",
        "condenses",
        "dries_within_year",
        "drying_reserve",
    )
    per_layer = (
        "permeance_winter",
        "rh_highest",
        "months_humid",
        "wood_moisture",
        "months_wet_wood",
        "months_wet_warm",
        "mold_index",
        "condensate_peak",
        "condensate_left",
    )
    if year is None:
        for name in per_section:
            head.put(name, None, why=why)
        for i, r in enumerate(records[: a.end]):
            for name in per_layer:
                if name in ("wood_moisture", "months_wet_wood", "months_wet_warm") and not (
                    layers[i].has("wood based") or layers[i].layer.unknown
                ):
                    continue
                r.put(name, None, why=why)
        return
    b = year.balance
    head.put("condensate_peak", float(b.total_peak))
    head.put("condensate_left", float(b.left.sum()))
    head.put("condensate_months", int(b.wet_months))
    head.put("condenses", bool(b.condenses))
    head.put("dries_within_year", bool(b.dries))
    _drying_reserve(head, layers, a, year)
    t, rh = year.thermal.t, year.rh
    k = int(np.argmin(year.thermal.t_ext))
    humid = (rh >= monthly.HUMID) & (t > monthly.WARM)
    for i, r in enumerate(records[: a.end]):
        r.put("permeance_winter", float(year.w[k, i]))
        # The surfaces at the ends follow the air of the room and outdoors, not the section.
        faces = [j for j in (i, i + 1) if 0 < j < a.end] or [min(max(i, 1), a.end - 1)] if a.end > 1 else [0]
        r.put("rh_highest", float(rh[:, faces].max()))
        r.put("months_humid", int(humid[:, faces].any(axis=1).sum()))
        r.put("mold_index", float(max(year.mold[j] for j in (i, i + 1))))
        r.put("condensate_peak", float(max(b.peak[j] for j in (i, i + 1))))
        r.put("condensate_left", float(max(b.left[j] for j in (i, i + 1))))
        if layers[i].has("wood based"):
            moisture = year.wood[:, i]
            r.put("wood_moisture", float(moisture.max()))
            r.put("months_wet_wood", int((moisture > monthly.WET_WOOD).sum()))
            warm = 0.5 * (t[:, i] + t[:, i + 1]) > monthly.WARM
            r.put("months_wet_warm", int(((moisture > monthly.WET_WARM_WOOD) & warm).sum()))


def _drying_reserve(head: Record, layers: list[Properties], a: Anatomy, year: monthly.Year) -> None:
    """DIN 4108-3 period method, for walls and roofs to the outdoor air."""
    kind = str(head.fields["kind"])
    if kind not in ("wall", "roof") or a.surroundings not in ("outdoor air", "vented attic") or a.end < 2:
        return
    outer = set(a.exterior)
    w = [
        (p.permeance_wet if i in outer else p.permeance_dry) or year.w[:, i].min()
        for i, p in enumerate(layers[: a.end])
    ]
    z = 1.0 / np.clip(np.asarray(w, float), 1e-15, UNLIMITED)
    periods = condensation.period_method(year.thermal.r.mean(axis=0), z, kind)
    head.put("drying_reserve", float(periods.reserve))


def _limit(inner: Properties, outer: Properties) -> tuple[float, str]:
    """The most condensate a joint can hold, by the layers it lies between (DIN 4108-3)."""

    def wood_mass(p: Properties, share: float) -> float:
        return share * (p.density or 500.0) * (p.thickness or 0.0)

    wood = [p for p in (inner, outer) if p.has("wood based") and (p.thickness or 0) > 0]
    if wood:
        limits = [
            wood_mass(
                p,
                condensation.LIMIT_WOOD
                if "lumber" in p.name or ("board" in p.name and "strand" not in p.name)
                else condensation.LIMIT_WOOD_PANEL,
            )
            for p in wood
        ]
        return min(min(limits), condensation.LIMIT_GENERAL), "share of the wood's mass"
    absorbing = any(p.has("holds water") or p.has("masonry") or p.has("concrete") for p in (inner, outer))
    return (
        (condensation.LIMIT_GENERAL, "absorbent")
        if absorbing
        else (condensation.LIMIT_NON_ABSORBING, "faces that do not absorb")
    )


def _joint_facts(
    layers: list[Properties],
    a: Anatomy,
    site: Site,
    thermal: monthly.Thermal | None,
    year: monthly.Year | None,
    why: str,
    book: Book,
) -> None:
    dew = below = None
    if thermal is not None and site.p_in is not None:
        dew = float(dew_point(site.p_in[site.coldest]))
        below = monthly.months_below_dew_point(thermal, site)
    names = [f for f in KINDS["joint"].fields if f not in ("inner", "outer", "inner_name", "outer_name")]
    for j in range(1, a.end):
        inner, outer = layers[j - 1], layers[j]
        r = book.record("joint", str(j), f"joint {inner.shown} / {outer.shown}")
        r.put("inner", j - 1)
        r.put("outer", j)
        r.put("inner_name", inner.name)
        r.put("outer_name", outer.name)
        r.put("on_wood", inner.has("wood based") or outer.has("wood based"))
        r.put("on_absorbent", any(p.has("holds water") for p in (inner, outer)))
        if thermal is None or year is None or dew is None or below is None:
            for name in names:
                if name not in ("on_wood", "on_absorbent"):
                    r.put(name, None, why=why)
            continue
        assert site.p_in is not None
        k = site.coldest
        b = year.balance
        r.put("t_winter", thermal.t[k, j])
        if year.t_design is not None:
            r.put("t_design", float(year.t_design[j]))
        r.put("dew_margin", thermal.t[k, j] - dew)
        r.put("rh_winter", float(year.rh[k, j]))
        r.put("rh_highest", float(year.rh[:, j].max()))
        r.put(
            "months_humid", int(((year.rh[:, j] >= monthly.HUMID) & (thermal.t[:, j] > monthly.WARM)).sum())
        )
        r.put("months_below_dew_point", int(below[j]))
        peak, left = float(b.peak[j]), float(b.left[j])
        r.put("condenses", peak > condensation.NEGLIGIBLE)
        r.put("mold_index", float(year.mold[j]))
        r.put("condensate_peak", peak)
        r.put("condensate_left", left)
        r.put("months_wet", int(b.wet_months_at[j]))
        limit, how = _limit(inner, outer)
        r.put("gain_limit", limit, Origin("looked up", how, LIMIT_CITATION))
        r.put("gain_margin", max(limit - peak, 0.0))
        r.put("over_limit", peak > limit)


def _pair_facts(layers: list[Properties], a: Anatomy, book: Book) -> None:
    """Pairs that touch, and pairs of layers that both resist vapor."""
    solid = [p for p in layers if not p.is_surroundings]
    for x, inner in enumerate(solid):
        for y in range(x + 1, len(solid)):
            outer = solid[y]
            resist = all(
                p.permeance_wet is not None and p.permeance_wet < anatomies.OPEN for p in (inner, outer)
            )
            if y != x + 1 and not resist:
                continue
            r = book.record("pair", f"{x}-{y}", f"{inner.name} and {outer.name}")
            r.put("inner", x)
            r.put("outer", y)
            r.put("adjacent", y == x + 1)
            r.put("vent_between", any(p.ventilated for p in solid[x + 1 : y]))
            if inner.permeance_wet and outer.permeance_wet is not None:
                r.put("permeance_ratio", outer.permeance_wet / inner.permeance_wet)
            if inner.permeance_dry and outer.permeance_wet is not None:
                r.put("permeance_ratio_dry", outer.permeance_wet / inner.permeance_dry)
            r.put(
                "r_between",
                _total(p.r for p in solid[x + 1 : y]),
                why=open_question(solid[x + 1 : y], "a layer in between is not known"),
            )
