"""The sources of a page, each with a number, and with links back to where it is cited."""

from __future__ import annotations

from reviewer.report.markup import Markup, el, join
from reviewer.report.words import clean


class Sources:
    """Numbers sources in the order in which they are first cited."""

    def __init__(self, prefix: str = ""):
        self.prefix = prefix
        self._numbers: dict[str, int] = {}
        self._places: dict[int, dict[str, str]] = {}

    def cite(self, source: str, anchor: str = "", name: str = "") -> Markup:
        """A link to the source, as a small number; it will link back to `anchor`, named `name`."""
        source = clean(source)
        n = self._numbers.setdefault(source, len(self._numbers) + 1)
        if anchor:
            self._places.setdefault(n, {}).setdefault(anchor, name)
        return el("sup", el("a", f"[{n}]", href=f"#{self.prefix}source-{n}", aria_label=f"source {n}"))

    def __bool__(self) -> bool:
        return bool(self._numbers)

    def listed(self) -> Markup:
        """The list of all that was cited."""
        items = []
        for source, n in self._numbers.items():
            back = [el("a", name, href=f"#{anchor}") for anchor, name in self._places.get(n, {}).items()]
            items.append(
                el(
                    "li",
                    source,
                    el("span", " For: ", join(back, ", "), class_="back") if back else None,
                    id=f"{self.prefix}source-{n}",
                )
            )
        return el("ol", *items, class_="sources")
