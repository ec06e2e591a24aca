"""What a change costs and who makes it: a user's prices, or the coarse order of common practice."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from reviewer.document import Node, Reader, read_document
from reviewer.model.section import Layer
from reviewer.remedies.catalog import Work, data
from reviewer.remedies.changes import Change, read

INCH = 0.0254
COARSE = (
    "points in a coarse relative order (a coat of paint is 1): common practice, no published source. "
    "A cost file of your own (--costs) takes its place"
)
ASBESTOS = "taking off what may hold asbestos"
"""The job that is added to taking off such a layer."""
DIGGING, OPENING_MASS = "digging down outside", "opening what carries"
"""Jobs that getting at a layer of a standing building takes."""
HEAVY = 0.05
"""Masonry and concrete from this thickness on (m) are no coat that comes off like a cladding."""


@dataclass(frozen=True, slots=True)
class Price:
    amount: float
    per_inch: float
    trade: str


@dataclass(frozen=True, slots=True)
class Costs:
    """Prices by material, family and kind of setting. A thing that has no price has no cost: None."""

    basis: str
    materials: Mapping[str, Price]
    families: Mapping[str, Price]
    settings: Mapping[str, Price]
    other: Price | None
    otherwise: Price | None
    removing: float
    opening: float
    jobs: Mapping[str, Price] = field(default_factory=dict)
    """Work of several steps, by name."""

    def work(self, work: Work, layers: tuple[Layer, ...]) -> tuple[float, tuple[str, ...]] | None:
        """The price of work and the trades that do it; None when a part of it has no price.

        In a job the statements that come true by it cost nothing by themselves.
        """
        priced = work.changes
        prices: list[Price | None] = []
        if work.job:
            prices.append(self.jobs.get(work.job))
            priced = tuple(c for c in work.changes if "insert" in c or "replace" in c or "remove" in c)
        prices += [self.change(c, layers) for c in priced]
        known = [p for p in prices if p is not None]
        if len(known) < len(prices):
            return None
        return sum(p.amount for p in known), tuple(dict.fromkeys(p.trade for p in known))

    def layer(self, layer: Layer) -> Price | None:
        """The price of one square meter of a layer."""
        if layer.space is not None:
            found = self.families.get("air space", self.other)
        elif layer.material is None:
            found = self.other
        else:
            by_family = self.families.get(layer.material.family, self.other)
            found = self.materials.get(layer.material.id, by_family)
        if found is None:
            return None
        inches = (layer.thickness.middle if layer.thickness else 0.0) / INCH
        return Price(found.amount + found.per_inch * inches, 0.0, found.trade)

    def change(self, change: Change, layers: tuple[Layer, ...]) -> Price | None:
        """The price of one change to a section of these layers, and the trade that makes it."""
        if "insert" in change:
            return self.layer(read(str(change["insert"])))
        if "replace" in change:
            new = self.layer(read(str(change["with"])))
            off = self._off(layers[int(change["replace"])])
            if new is None or off is None:
                return None
            return Price(new.amount + off.amount, 0.0, off.trade or new.trade)
        if "remove" in change:
            old = layers[int(change["remove"])]
            off, by = self._off(old), self.layer(old)
            return None if by is None or off is None else Price(off.amount, 0.0, off.trade or by.trade)
        if "turn" in change:
            return Price(0.0, 0.0, "")
        prices = [self.settings.get(key, self.otherwise) for key in change if key != "set"]
        known = [p for p in prices if p is not None]
        if not known or len(known) < len(prices):
            return None
        return Price(sum(p.amount for p in known), 0.0, known[0].trade)

    def open(self, layer: Layer) -> Price | None:
        """The price of taking a layer off that stands there and putting it back, or of digging down beside it, with
        the trade where it takes one of its own; None when it has no price."""
        if layer.space is not None and layer.space != "air":
            return self.jobs.get(DIGGING) if layer.space == "soil" else Price(0.0, 0.0, "")
        family = layer.material.family if layer.material else ""
        thick = layer.thickness is not None and layer.thickness.middle >= HEAVY
        carries = layer.material is not None and "structure" in layer.material.roles and family == "metal"
        if carries or (thick and family in ("masonry", "concrete")):
            return self.jobs.get(OPENING_MASS)
        # Putting it back never takes more than a new one: a coat of paint over the patch, a sheet.
        own = self.layer(layer)
        return Price(self.opening if own is None else min(self.opening, own.amount), 0.0, "")

    def _off(self, layer: Layer) -> Price | None:
        """The price of taking a layer off, and the trade where not anybody may."""
        if layer.material is None or "asbestos possible" not in layer.material.flags:
            return Price(self.removing, 0.0, "")
        licensed = self.jobs.get(ASBESTOS)
        return licensed and Price(self.removing + licensed.amount, 0.0, licensed.trade)


def coarse() -> Costs:
    """The coarse order of the data file.

    >>> round(coarse().layer(read("2 in mineral wool board")).amount, 2)
    6.5
    """
    d = data()
    return Costs(
        COARSE,
        {r["material"]: _price(r) for r in d["materials"] if "material" in r},
        {r["family"]: _price(r) for r in d["materials"] if "family" in r},
        {r["key"]: _price(r) for r in d["setting"]},
        _price(d["other"]),
        _price(d["otherwise"]),
        float(d["removing"]["points"]),
        float(d["opening"]["points"]),
        {r["job"]: _price(r) for r in d["jobs"]},
    )


def _price(row: Mapping[str, Any]) -> Price:
    return Price(float(row["points"]), float(row.get("per inch", 0)), row["trade"])


def load_costs(path: Path) -> Costs:
    """A user's cost file: prices for one square meter, in a currency of their own.

    ```yaml
    currency: USD
    materials:
      - {material: house wrap, cost: 4, trade: carpenter}
      - {family: foam insulation, cost: 6, per inch: 9, trade: carpenter}
    setting:
      - {key: joints, cost: 3, trade: air sealer}
    jobs:
      - {job: closing a crawl space, cost: 900, trade: crawl space contractor}
    removing: 2
    opening: 20
    ```

    What has no price there is left out of the search and named. Raises InputError.
    """
    reader = Reader()
    known = ("currency", "materials", "setting", "jobs", "removing", "opening")
    top = reader.map(
        read_document(path), known, "a cost file", ("currency", "materials", "removing", "opening")
    )
    by: dict[str, dict[str, Price]] = {"material": {}, "family": {}, "key": {}, "job": {}}
    for section, names in (("materials", ("material", "family")), ("setting", ("key",)), ("jobs", ("job",))):
        for item in reader.list(top.get(section), f"`{section}`"):
            fields = reader.map(item, (*names, "cost", "per inch", "trade"), "a price", ("cost", "trade"))
            given = [n for n in names if n in fields]
            if len(given) != 1:
                reader.problem(item, "a price is for one thing", " or ".join(names))
                continue
            name = reader.text(fields[given[0]], given[0])
            amount, inch = (_amount(reader, fields.get(k)) for k in ("cost", "per inch"))
            trade = reader.text(fields.get("trade"), "the trade")
            if name is not None:
                by[given[0]][name] = Price(amount, inch, trade or "")
    currency = reader.text(top.get("currency"), "the currency")
    removing, opening = (_amount(reader, top.get(n)) for n in ("removing", "opening"))
    reader.finish()
    basis = f"{currency} for one square meter, from {path.name}"
    return Costs(basis, by["material"], by["family"], by["key"], None, None, removing, opening, by["job"])


def _amount(reader: Reader, node: Node | None) -> float:
    return reader.number(node, "the cost", 0.0, 1e9) or 0.0
