"""A section with some of its statements replaced: by the command line, or place by place."""

from __future__ import annotations

from dataclasses import replace

from reviewer.errors import InputError, Problem, nearest
from reviewer.model.section import KINDS, Indoor, Place, Section


def override(
    section: Section,
    *,
    kind: str | None = None,
    place: str | None = None,
    zone: str | None = None,
    indoor: str | None = None,
) -> Section:
    """The section with what is given in place of its own. Raises InputError.

    >>> from reviewer.model.parse import section_from_line
    >>> s = section_from_line("latex paint | 1/2 in gypsum board", kind="wall")
    >>> override(s, zone="5A").place.zone
    '5A'
    """
    if place is not None and zone is not None:
        raise InputError(Problem("both a place and a zone are given", None, "one of the two"))
    if kind is not None:
        if kind not in KINDS:
            raise InputError(
                Problem(
                    f'no kind of section "{kind}"', None, "one of " + ", ".join(KINDS), nearest(kind, KINDS)
                )
            )
        section = replace(section, kind=kind)
    if place is not None:
        section = replace(section, place=Place(name=place, zone=None, weather=None, monthly=None, mark=None))
    if zone is not None:
        section = replace(section, place=Place(name=None, zone=zone, weather=None, monthly=None, mark=None))
    if indoor is not None:
        section = replace(section, indoor=Indoor(name=indoor, temperature=None, humidity=None, mark=None))
    return section
