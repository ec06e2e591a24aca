"""What the parts of a page about one section share: its ids, its level of headings, its sources."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reviewer.report.markup import Markup, el, join
from reviewer.report.sources import Sources
from reviewer.result import LayerLine


@dataclass(frozen=True, slots=True)
class Context:
    layers: Sequence[LayerLine]
    system: str
    prefix: str
    """Of every id, so that several sections fit on one page."""
    level: int
    """Of the headings of the parts."""
    sources: Sources

    def id(self, name: str) -> str:
        return f"{self.prefix}{name}"

    def layer(self, index: int) -> str:
        return self.id(f"layer-{index + 1}")

    def heading(self, text: str | Markup, id: str = "", below: int = 0) -> Markup:
        return el(f"h{min(self.level + below, 6)}", text, id=self.id(id) if id else None)

    def layer_link(self, index: int, text: str = "") -> Markup:
        """A link to a layer's row; the bare text where the layer has none."""
        shown = text or str(index + 1)
        if 0 <= index < len(self.layers):
            return el("a", shown, href=f"#{self.layer(index)}")
        return join([shown])

    def layer_links(self, layers: Sequence[int]) -> Markup:
        if not layers:
            return join(["the section"])
        word = "layer " if len(layers) == 1 else "layers "
        return join([word, join([self.layer_link(i) for i in layers], ", ")])
