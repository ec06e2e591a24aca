"""What the program knows, shown with its sources: materials and places."""

from __future__ import annotations

from reviewer.errors import InputError, Problem
from reviewer.humidity import saturation_pressure
from reviewer.library import materials, places, zones
from reviewer.library.types import MONTHS, Climate, Material
from reviewer.units import INCH_HG, show

_BASIS = (
    ("conductivity", "thermal conductivity"),
    ("density", "density"),
    ("heat_capacity", "specific heat capacity"),
    ("permeability_dry", "permeability"),
    ("permeability_wet", "permeability"),
    ("permeance_dry", "permeance"),
    ("permeance_wet", "permeance"),
    ("thickness", "length"),
    ("r_value", "thermal resistance"),
    ("air_permeance", "air permeance"),
    ("water_absorption", "water absorption coefficient"),
    ("free_saturation", "density"),
    ("porosity", "fraction"),
    ("emissivity", "ratio"),
)


def materials_table(family: str | None) -> str:
    """One line a material. Raises InputError for an unknown family."""
    found = materials.load_materials()
    families = sorted({m.family for m in found.values()})
    if family is not None and family not in families:
        from reviewer.errors import nearest

        raise InputError(
            Problem(f'no family "{family}"', None, "one of " + ", ".join(families), nearest(family, families))
        )
    lines = [f"{'material':<44}{'family':<24}{'W/(m·K)':>8}  {'perms dry / wet':<22}"]
    for m in sorted(found.values(), key=lambda m: (m.family, m.id)):
        if family is None or m.family == family:
            k = "" if m.conductivity is None else f"{m.conductivity:.3g}"
            lines.append(f"{m.id:<44}{m.family:<24}{k:>8}  {_vapor(m):<22}".rstrip())
    return "\n".join(lines) + "\n"


def _vapor(m: Material) -> str:
    if m.permeance_dry is not None or m.permeance_wet is not None:
        pair, dimension, unit = (m.permeance_dry, m.permeance_wet), "permeance", "perm"
    else:
        pair, dimension, unit = (m.permeability_dry, m.permeability_wet), "permeability", "perm-in"
    if pair == (None, None):
        return "–"
    texts = ["–" if v is None else show(v, dimension, "ip").split(" ")[0] for v in pair]
    return f"{texts[0]} / {texts[1]} {unit}"


def material_page(name: str, system: str) -> str:
    """Every value of a material with its source. Raises InputError for an unknown material."""
    m = materials.find_material(name)
    if m is None:
        near = materials.nearest_materials(name)
        raise InputError(
            Problem(f'unknown material "{name}"', None, "a generic material", near[0] if near else "")
        )
    lines = [m.id, f"  family: {m.family}"]
    if m.aliases:
        lines.append(f"  also called: {', '.join(m.aliases)}")
    if m.roles:
        lines.append(f"  roles: {', '.join(sorted(m.roles))}")
    if m.flags:
        lines.append(f"  flags: {', '.join(sorted(m.flags))}")
    lines.append(f"  mold sensitivity: {m.mold_class}")
    for attribute, dimension in _BASIS:
        value = getattr(m, attribute)
        if value is not None:
            label = attribute.replace("_", " ")
            lines.append(f"  {label}: {show(value, dimension, system)}{_source(m, attribute)}")
    for attribute, label, unit in (
        ("conductivity_by_temperature", "conductivity by mean temperature", "°C: W/(m·K)"),
        ("vapor_by_rh", "vapor permeance or permeability by humidity", "RH: kg/(s·m²·Pa) or kg/(s·m·Pa)"),
        ("sorption", "sorption", "RH: kg/kg"),
    ):
        curve = getattr(m, attribute)
        if curve:
            points = ", ".join(f"{x:g}: {y:.3g}" for x, y in curve)
            lines.append(f"  {label} ({unit}): {points}{_source(m, attribute)}")
    if m.note:
        lines.append(f"  note: {m.note}")
    return "\n".join(lines) + "\n"


def _source(m: Material, attribute: str) -> str:
    c = m.sources.get(attribute)
    return "" if c is None else f"  [{c}; {c.certainty}]"


def _climate(text: str) -> Climate:
    try:
        zones.parse_zone(text)
    except InputError:
        return places.climate_for(places.find_place(text))
    return places.climate_for_zone(text)


def place_line(text: str) -> str:
    """Where a place is, its zones and its climate station. Raises InputError."""
    c = _climate(text)
    zone = ", ".join(f"{z} ({_edition(e)})" for e, z in c.zones.items())
    lines = [c.place, f"  {c.latitude:.2f}, {c.longitude:.2f}", f"  zones: {zone}", f"  climate: {c.station}"]
    return "\n".join(lines + [f"  {a}" for a in c.assumptions]) + "\n"


def _edition(group: str) -> str:
    return {"2018": "2006 to 2018 editions", "2021": "2021 edition and later", "NBC": "NBC"}.get(group, group)


def place_page(text: str, units: str | None) -> str:
    """The climate of a place month by month. Raises InputError."""
    c = _climate(text)
    system = units or ("ip" if c.country == "US" else "si")
    lines = [place_line(text).rstrip("\n")]
    if c.hdd18 is not None:
        lines.append(f"  heating degree-days: {show(c.hdd18, 'degree days', system)}")
    if c.heating_design is not None:
        lines.append(f"  99 % heating design temperature: {show(c.heating_design, 'temperature', system)}")
    lines += ["", "  " + " " * 24 + "".join(f"{m:>7}" for m in MONTHS)]

    def row(label: str, values: list[str]) -> None:
        lines.append(f"  {label:<24}" + "".join(f"{v:>7}" for v in values))

    degree = "°F" if system == "ip" else "°C"
    row(f"temperature {degree}", [show(t, "temperature", system).split()[0] for t in c.temperature])
    if system == "ip":
        row("vapor pressure in. Hg", [f"{p / INCH_HG:.3f}" for p in c.vapor_pressure])
    row("vapor pressure Pa", [f"{p:.0f}" for p in c.vapor_pressure])
    rh = [
        min(p / float(saturation_pressure(t)), 1.0)
        for t, p in zip(c.temperature, c.vapor_pressure, strict=True)
    ]
    row("relative humidity %", [f"{h * 100:.0f}" for h in rh])
    if c.solar is not None:
        row("sun, horizontal W/m²", [f"{s:.0f}" for s in c.solar])
    if c.precipitation is not None:
        if system == "ip":
            row("precipitation in", [f"{p / 25.4:.1f}" for p in c.precipitation])
        row("precipitation mm", [f"{p:.0f}" for p in c.precipitation])
    lines += ["", *(f"  source: {s}" for s in c.sources)]
    return "\n".join(lines) + "\n"
