"""What a change costs and who makes it: a user's prices, or the coarse order of common practice."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reviewer.document import Node, Reader, read_document
from reviewer.model.section import Layer
from reviewer.remedies.catalog import data
from reviewer.remedies.changes import Change, read

INCH = 0.0254
COARSE = (
    "points in a coarse relative order (a coat of paint is 1): common practice, no published source. "
    "A cost file of your own (--costs) takes its place"
)


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
            return None if new is None else Price(new.amount + self.removing, 0.0, new.trade)
        if "remove" in change:
            old = self.layer(layers[int(change["remove"])])
            return None if old is None else Price(self.removing, 0.0, old.trade)
        prices = [self.settings.get(key, self.otherwise) for key in change if key != "set"]
        known = [p for p in prices if p is not None]
        if not known or len(known) < len(prices):
            return None
        return Price(sum(p.amount for p in known), 0.0, known[0].trade)


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
    removing: 2
    opening: 20
    ```

    What has no price there is left out of the search and named. Raises InputError.
    """
    reader = Reader()
    known = ("currency", "materials", "setting", "removing", "opening")
    top = reader.map(
        read_document(path), known, "a cost file", ("currency", "materials", "removing", "opening")
    )
    by: dict[str, dict[str, Price]] = {"material": {}, "family": {}, "key": {}}
    for section, names in (("materials", ("material", "family")), ("setting", ("key",))):
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
    return Costs(basis, by["material"], by["family"], by["key"], None, None, removing, opening)


def _amount(reader: Reader, node: Node | None) -> float:
    return reader.number(node, "the cost", 0.0, 1e9) or 0.0
