"""Section to facts: resolve the layers, find the site, calculate the year, and write the book.

What can't be calculated because something is not known is recorded as unknown with the reason, so
that a rule which needs it is listed as not evaluated and never passes in silence.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from reviewer.facts import anatomy as anatomies
from reviewer.facts import monthly
from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Assumption, Book, Record
from reviewer.facts.calculated import joint_facts, moisture_facts, thermal_facts
from reviewer.facts.forces import force_facts
from reviewer.facts.layers import layer_record, pair_facts
from reviewer.facts.overall import section_facts
from reviewer.facts.requirements import requirement_facts
from reviewer.facts.resolve import Properties, resolve
from reviewer.facts.site import Site, find_site, site_facts
from reviewer.facts.statements import statement_facts
from reviewer.facts.strips import strip_facts
from reviewer.model.section import Section

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
    def why(self) -> str:
        """Why heat and vapor can't be calculated; empty when they can."""
        return self.blocked["thermal"] or self.blocked["vapor"]

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
"""Sites found before, by what they were found from."""
_KEPT: Sites = {}
_KEPT_AT_MOST = 1024


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
    anatomy = anatomies.dissect(layers, section.kind)
    head = book.record("section", label="the section")
    for r in found.records:
        book.records.append(Record(r.kind, r.id, r.label, dict(r.fields), dict(r.origins), dict(r.unknown)))
    records = [layer_record(p, layers, anatomy, book) for p in layers]
    blocked = _blocked(layers, anatomy, found.site)
    return Begun(section, book, layers, found.site, anatomy, head, records, blocked)


def _site(section: Section, edition: str, sites: Sites) -> Found:
    key = _key(section, edition)
    if key not in sites:
        found = _KEPT.get(key)
        if found is None:
            book = Book()
            site = find_site(section, book, edition)
            site_facts(section, site, book)
            found = Found(site, tuple(book.assumptions), tuple(book.records))
            # A weather file may change while the program runs: what it said is good for one batch.
            if section.place is None or not section.place.weather:
                if len(_KEPT) >= _KEPT_AT_MOST:
                    _KEPT.clear()
                _KEPT[key] = found
        sites[key] = found
    return sites[key]


def _key(section: Section, edition: str) -> tuple[Hashable, ...]:
    """All that the site and its facts depend on."""
    p, i = section.place, section.indoor
    return (
        p and (p.name, p.zone, p.zone_override),
        tuple(sorted(p.monthly.items())) if p and p.monthly else None,
        p and p.weather and (p.weather, section.file),
        i and (i.name, i.temperature, i.humidity),
        section.cooling,
        section.building.code,
        edition,
    )


def finish(
    begun: Begun, thermal: monthly.Thermal | None, year: monthly.Year | None, *, hourly: bool = False
) -> Built:
    """Write the facts that rest on the calculation."""
    return finish_all([(begun, thermal, year)], hourly=hourly)[0]


Calculated = tuple[Begun, "monthly.Thermal | None", "monthly.Year | None"]


def finish_all(sections: Sequence[Calculated], *, hourly: bool = False) -> list[Built]:
    """Write the facts that rest on the calculation, of several sections: their hourly simulations run together."""
    for begun, thermal, year in sections:
        _steady(begun, thermal, year)
    if hourly:
        _simulated([begun for begun, _, _ in sections if not begun.why])
    for begun, _, _ in sections:
        statement_facts(begun.section, begun.book)
        requirement_facts(begun.section, begun.layers, begun.anatomy, begun.site, begun.head, begun.book)
    return [(b.book, b.layers, b.site, b.anatomy, year) for b, _, year in sections]


def _steady(begun: Begun, thermal: monthly.Thermal | None, year: monthly.Year | None) -> None:
    section, book, layers, site = begun.section, begun.book, begun.layers, begun.site
    anatomy, head, records = begun.anatomy, begun.head, begun.records
    why = begun.why
    section_facts(head, section, layers, anatomy, site, book)
    thermal_facts(
        head, records, section, layers, anatomy, site, thermal, year, begun.blocked["thermal"], book
    )
    moisture_facts(head, records, layers, anatomy, year, why, book)
    joint_facts(layers, anatomy, site, thermal, year, why, book)
    pair_facts(layers, anatomy, book)
    force_facts(section, layers, anatomy, site, year, records, why, book)
    strip_facts(section, layers, anatomy, site, year, head, why, book)


def _simulated(sections: Sequence[Begun]) -> None:
    from reviewer.facts.hourly import hourly_facts, prepare, run

    prepared = [prepare(b.section, b.layers, b.anatomy, b.site, b.book) for b in sections]
    for b, simulated in zip(sections, run(prepared), strict=True):
        hourly_facts(b.layers, b.anatomy, simulated, b.book)


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
