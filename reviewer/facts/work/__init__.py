"""The calculations of a review as a person would write them: formula, numbers put in, result, source, limits.

Nothing is calculated anew here: the numbers are those that the review went through (`Year`, `Properties`,
the book's `workings`), set into the formulas again with as many digits as a hand calculator needs to come
to the printed result.
"""

from __future__ import annotations

from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Book
from reviewer.facts.monthly import Year
from reviewer.facts.resolve import Properties
from reviewer.facts.site import Site
from reviewer.facts.work.code import class_work, code_work
from reviewer.facts.work.forces import force_work
from reviewer.facts.work.heat import framing_work, heat_work
from reviewer.facts.work.sheet import Case
from reviewer.facts.work.surfaces import dew_point_work, mold_work, surface_work, wood_work
from reviewer.facts.work.vapor import condensation_work, vapor_work
from reviewer.model.section import Section
from reviewer.result import Work


def show_work(
    section: Section, book: Book, layers: list[Properties], site: Site, a: Anatomy, year: Year | None
) -> list[Work]:
    """Every calculation that the review of this section went through, in the order in which it builds up.

    Without a place there is only what needs no climate; without a permeance of some layer, only heat.
    """
    out: list[Work] = []
    thermal = book.workings.get("thermal")
    framed = book.workings.get("framed")
    if thermal is not None:
        c = Case(section, book, layers, site, a, thermal, year)
        out += heat_work(c)
        if year is not None:
            out += vapor_work(c, year)
            out += condensation_work(c, year)
        out += dew_point_work(c)
        if framed is not None:
            out += surface_work(c, framed)
        if year is not None:
            out += wood_work(c, year)
            out += mold_work(c, year)
            out += force_work(c, year)
    if framed is not None:
        at = next((n for n, w in enumerate(out) if w.title.startswith("Temperatures")), len(out))
        out[at:at] = framing_work(section, layers, a, framed)
    out += class_work(layers, a)
    out += code_work(book)
    return out
