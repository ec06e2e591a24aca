"""Many sections at once: the physics of all in a few array operations, the facts of each as alone."""

from __future__ import annotations

import gc
from collections.abc import Sequence

from reviewer.facts import monthly
from reviewer.facts.build import Begun, Built, Sites, begin, finish_all
from reviewer.model.section import Section


def build_all(
    sections: Sequence[Section], edition: str = "", sites: Sites | None = None, *, hourly: bool = False
) -> list[Built]:
    """The facts of each section, in their order: what `build` gives for it alone, to the last bit.

    Sections with as many layers that conduct are calculated together. `sites` carries the sites found, those
    of weather files too, from one call to the next; `hourly` adds the hourly simulations, which run at once on
    as many cores as there are. Raises InputError as `build` does.

    >>> from reviewer.model.parse import section_from_line
    >>> wall = "latex paint | 1/2 in gypsum board | 2x4 @ 16 in with R-13 glass fiber batt | 1/2 in plywood"
    >>> pair = [section_from_line(wall, kind="wall", zone=z) for z in ("2A", "6A")]
    >>> [round(float(year.thermal.t[0, -1])) for *_, year in build_all(pair) if year]
    [12, -9]
    """
    # All that is made here stays: collecting cycles meanwhile finds none, and looks through it time and again.
    collecting = gc.isenabled()
    gc.disable()
    try:
        return _built(sections, edition, {} if sites is None else sites, hourly)
    finally:
        if collecting:
            gc.enable()


def _built(sections: Sequence[Section], edition: str, sites: Sites, hourly: bool) -> list[Built]:
    begun = [begin(s, edition, sites) for s in sections]
    thermal: dict[int, monthly.Thermal] = {}
    years: dict[int, monthly.Year] = {}
    for group in _groups(begun, "thermal"):
        thermal.update(zip(group, monthly.thermal_years([begun[n].job for n in group]), strict=True))
    for group in _groups(begun, "vapor"):
        jobs = [(begun[n].job.parts, begun[n].site, begun[n].anatomy, thermal[n]) for n in group]
        years.update(zip(group, monthly.monthly_years(jobs), strict=True))
    return finish_all([(b, thermal.get(n), years.get(n)) for n, b in enumerate(begun)], hourly=hourly)


def _groups(begun: Sequence[Begun], what: str) -> list[list[int]]:
    """Places of the sections that can be calculated, by how many layers they have."""
    found: dict[int, list[int]] = {}
    for n, b in enumerate(begun):
        if not b.blocked["thermal"] and not (what == "vapor" and b.blocked["vapor"]):
            found.setdefault(b.anatomy.end, []).append(n)
    return list(found.values())
