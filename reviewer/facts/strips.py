"""Foundation walls cut into strips by depth: near grade the soil side is coldest, deep down it hardly moves.

Each strip gets its own soil-side temperature by month (yearly wave of the soil and the flow from the room along
quarter circles) and its own monthly balance; the worst of them becomes a fact.
"""

from __future__ import annotations

import numpy as np

from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Book, Origin, Record
from reviewer.facts.monthly import Year
from reviewer.facts.resolve import Properties
from reviewer.facts.site import Site
from reviewer.humidity import dew_point, saturation_pressure
from reviewer.model.section import Section
from reviewer.physics import condensation, ground, heat

STRIPS = (0.15, 0.6, 1.2, 2.0)
"""m below grade, middles of the strips."""
SOIL_CONDUCTIVITY = 1.5
"""W/(m·K), clay or silt (ISO 13370 Table 7, from memory)."""


def strip_facts(
    section: Section,
    layers: list[Properties],
    a: Anatomy,
    site: Site,
    year: Year | None,
    head: Record,
    why: str,
    book: Book,
) -> None:
    if section.kind != "foundation wall" or a.surroundings != "soil":
        return
    names = ("strip_condensate", "strip_depth", "strip_left", "strip_dew_margin")
    if year is None or site.t_out is None or site.p_in is None or site.t_in is None:
        for name in names:
            head.put(name, None, why=why)
        return
    depths = [
        z
        for z in STRIPS
        if section.depth_below_grade is None or z <= max(section.depth_below_grade, STRIPS[0])
    ]
    thermal = year.thermal
    r_total = float(thermal.r.mean(axis=0).sum()) + thermal.r_si
    soil, _ = ground.foundation_wall(
        depths, site.t_out, site.t_in, r_total, SOIL_CONDUCTIVITY, inside_film=thermal.r_si
    )
    t = heat.temperatures(thermal.r[None], site.t_in[None], soil, thermal.r_si, 0.0)
    balance = condensation.condensation_year(
        t, 1.0 / np.maximum(year.w, 1e-18)[None], site.p_in[None], saturation_pressure(soil)
    )
    # The outer face touches wet soil, and so does all that lies outboard of the dampproofing: what matters is what gathers
    # inboard of it.
    coat = next((i for i in range(1, a.end) if "dampproofing" in layers[i].roles), a.end - 1)
    peaks = balance.peak[:, 1 : coat + 1].max(axis=1) if a.end > 1 else np.zeros(len(depths))
    worst = int(np.argmax(peaks))
    origin = Origin(
        "computed",
        f"strips at {', '.join(f'{z:g}' for z in depths)} m below grade, monthly balance each",
        "ISO 13788; ISO 13370 soil data (from memory of the documents)",
    )
    head.put("strip_condensate", float(peaks[worst]), origin)
    head.put("strip_depth", depths[worst], origin)
    head.put("strip_left", float(balance.left[worst, 1 : coat + 1].max()) if a.end > 1 else 0.0, origin)
    plane = a.condensing if a.condensing is not None else max(a.end - 1, 0)
    margins = (t[:, :, plane] - dew_point(site.p_in)[None]).min(axis=1)
    head.put("strip_dew_margin", float(margins.min()), origin)
    book.calculations["strips"] = [
        {
            "depth": z,
            "soil": [round(float(x), 2) for x in soil[n]],
            "plane": [round(float(x), 2) for x in t[n, :, plane]],
            "humidity": [round(min(float(x), 1.0), 3) for x in balance.humidity[n, :, plane]],
            "condensate": round(float(peaks[n]), 5),
        }
        for n, z in enumerate(depths)
    ]
