"""Code tables: data of an edition, one table a clause, with how sure we are of it.

Restatements differ; the adopted code governs. Source and certainty are on every table.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from reviewer.citations import Citation
from reviewer.document import Node, Reader, read_document
from reviewer.units import parse

_DATA = Path(__file__).parent / "data" / "codes"


@dataclass(frozen=True, slots=True)
class Row:
    zones: tuple[str, ...] = ()
    below: float | None = None
    """K·d: the band ends under this."""
    r: float | None = None
    r_2x4: float | None = None
    r_2x6: float | None = None
    ratio: float | None = None
    permeance: float | None = None
    vented: tuple[str, ...] = ()
    """Sheathing that a vented cladding may cover."""
    classes: tuple[str, ...] = ()
    options: tuple[tuple[float, float], ...] = ()
    """Insulation between members and continuous, m²·K/W; one pair is enough."""
    u: float | None = None
    """W/(m²·K): a transmittance that is enough instead."""
    depth: float | None = None
    """m: how far insulation at the edge of a slab reaches, down or inward."""


@dataclass(frozen=True, slots=True)
class Table:
    """One clause in one edition."""

    id: str
    about: str
    code: str
    edition: int
    clause: str
    certainty: str
    rows: tuple[Row, ...]

    @property
    def citation(self) -> Citation:
        return Citation(self.code, str(self.edition), self.clause, "code", self.certainty)

    def for_zone(self, number: int, marine: bool) -> Row | None:
        """The row of a zone; a marine zone has its own row where the table gives one."""
        key = str(number)
        if marine:
            own = next((r for r in self.rows if key + "C" in r.zones), None)
            if own is not None or number == 4:
                return own
        return next((r for r in self.rows if key in r.zones), None)

    def for_degree_days(self, hdd18: float) -> Row | None:
        return next((r for r in self.rows if r.below is not None and hdd18 < r.below), None)


@lru_cache(maxsize=1)
def _tables() -> dict[tuple[str, str, int], Table]:
    found: dict[tuple[str, str, int], Table] = {}
    for path in sorted(_DATA.glob("*.yaml")):
        for node in read_document(path).fields["tables"].items:
            _read(node, found)
    return found


def _read(node: Node, found: dict[tuple[str, str, int], Table]) -> None:
    reader = Reader()
    f = reader.map(node, known=("id", "about", "certainty", "codes", "rows", "bands"), what="a code table")
    rows = tuple(_row(n) for n in (f.get("rows") or f["bands"]).items)
    for code, editions in f["codes"].fields.items():
        for edition, clause in editions.fields.items():
            t = Table(
                f["id"].text, f["about"].text, code, int(edition), clause.text, f["certainty"].text, rows
            )
            found[t.id, code, t.edition] = t
    reader.finish()


def _row(node: Node) -> Row:
    f = {k: n.text for k, n in node.fields.items()}

    def quantity(name: str, dimension: str) -> float | None:
        return parse(f[name], dimension).low if name in f else None

    return Row(
        tuple(f.get("zones", "").split()),
        quantity("below", "degree days"),
        quantity("r", "thermal resistance"),
        quantity("r_2x4", "thermal resistance"),
        quantity("r_2x6", "thermal resistance"),
        quantity("ratio", "ratio"),
        quantity("permeance", "permeance"),
        tuple(f["vented"].split(" or ")) if "vented" in f else (),
        tuple(f["classes"].split(" or ")) if "classes" in f else (),
        tuple(_option(text) for text in f["options"].split(" or ")) if "options" in f else (),
        quantity("u", "thermal transmittance"),
        quantity("depth", "length"),
    )


def _option(text: str) -> tuple[float, float]:
    """`R-13 + R-5`: between members, then continuous."""
    parts = [parse(part, "thermal resistance").low for part in text.split("+")]
    return parts[0], sum(parts[1:])


def table(id: str, code: str, edition: int) -> Table | None:
    """The clause in that edition; of an edition before the first or between two known, the one before.

    >>> t = table("class-iii", "IRC", 2021)
    >>> t.clause, round(t.for_zone(8, False).r_2x6 / 0.1761102, 2)
    ('Table R702.7(3)', 20.0)
    >>> table("prohibited", "IRC", 2018) is None
    True
    """
    return _tables().get((id, code, edition))
