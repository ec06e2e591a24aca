"""Facts of the section as a whole, as read from its layers: controls, insulation, classes, framing."""

from __future__ import annotations

from reviewer.facts import anatomy as anatomies
from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Book, Origin, Record
from reviewer.facts.resolve import Properties, open_question
from reviewer.facts.site import Site, precipitation, rain_exposure
from reviewer.facts.sums import finite, insulation, total
from reviewer.model.section import Section
from reviewer.physics.vapor import retarder_class
from reviewer.units import PERM, UnitError, parse, show

LOW_SLOPE = 2 / 12
HALF_INCH, THICK_PANEL = 0.0119, 0.0182
"""m: 1/2 in gypsum board and 23/32 in wood structural panel, the thermal barriers over foam plastic that need no
test (IRC R316.4, from memory)."""


def section_facts(
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
    exposure = rain_exposure(section, site)
    if section.rain is None:
        fall = precipitation(site)
        wet = (
            f"; {show(fall, 'length', 'si')} ({show(fall, 'length', 'ip')}) of precipitation a year"
            if fall is not None and exposure == "high"
            else ""
        )
        book.assume(f"{exposure} driving rain", f"the exposure was not stated{wet}")
    head.put("rain", exposure, given if section.rain else None)
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
            or (
                p.roles & {"sheathing", "structure"}
                and p.has("wood based")
                and (p.thickness or 0.0) >= THICK_PANEL
            )
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
        head.put("r_cavity", total(p.r for p in framed), why=why)
    head.put("r_exterior", insulation(layers, a.exterior), why=why)
    head.put(
        "r_interior_continuous",
        total(layers[i].r for i in a.interior if layers[i].is_insulation and layers[i].layer.framing is None),
        why=why,
    )
    everything = [p for p in layers[: a.end] if p.is_insulation]
    nominal = total(p.r for p in everything)
    tight = total(p.r for p in everything if p.has("air impermeable"))
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
        found[name] = finite(anatomies.series(layers, indices, wet))
        head.put(name, found[name], why=why)
    inner, outer = found["interior_permeance"], found["exterior_permeance_wet"]
    if inner and outer is not None:
        head.put("openness_ratio", outer / inner)
