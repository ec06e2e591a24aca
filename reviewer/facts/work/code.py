"""Vapor retarder classes and what the code asks, has and lacks."""

from __future__ import annotations

from collections.abc import Iterator

from reviewer.facts.anatomy import Anatomy
from reviewer.facts.arithmetic import constant, figures, greatest, number, places_of
from reviewer.facts.book import Book
from reviewer.facts.resolve import Properties
from reviewer.facts.work.sheet import MEMORY, origin_of, r_value, taken, worked
from reviewer.physics.vapor import retarder_class
from reviewer.result import Work, WorkLine
from reviewer.units import PERM


def class_work(layers: list[Properties], a: Anatomy) -> Iterator[Work]:
    lines = []
    for i in range(a.end):
        w = layers[i].permeance_dry
        if w is None or retarder_class(w) == "none":
            continue
        perms = figures(w, 4, -12) / number(PERM, 5, -12)
        lines.append(
            worked(
                f"layer {i + 1}, {layers[i].name}",
                perms,
                places_of(perms.exact, 3),
                "perm",
                note=f"Class {retarder_class(w)}; {origin_of(layers[i], 'permeance_dry')}",
            )
        )
    if lines:
        yield Work(
            title="Vapor retarder classes, dry cup",
            formula="W in perm = W/(57.21349·10⁻¹² kg/(s·m²·Pa))",
            where="Class I up to 0.1 perm, II up to 1, III up to 10",
            numbers=lines,
            result="Layers above 10 perm are no retarders and are left out.",
            source="IRC R202 and IBC 202, by ASTM E96 procedure A (as restated); 1 perm of mercury at 0 °C",
            limits="A class says nothing of how a layer behaves when it is damp.",
        )


def code_work(book: Book) -> Iterator[Work]:
    for r in book.records:
        if r.kind != "requirement":
            continue
        f = r.fields
        lines: list[WorkLine] = []
        needed, provided = f.get("r_needed"), f.get("r_provided")
        if isinstance(needed, float) and isinstance(provided, float):
            lines += [
                taken("asks", needed, 3, "m²·K/W"),
                taken("have", provided, 3, "m²·K/W"),
                worked("short", greatest(constant("0"), r_value(needed) - r_value(provided)), 3, "m²·K/W"),
            ]
        needed, provided = f.get("ratio_needed"), f.get("ratio_provided")
        if isinstance(needed, float) and isinstance(provided, float):
            lines += [
                taken("asks, R outboard over R inboard", needed, 2),
                taken("have", provided, 3),
                worked("short", greatest(constant("0"), number(needed, 2) - number(provided, 3)), 3),
            ]
        met, option = f.get("met"), f.get("option")
        verdict = {"yes": "Met", "no": "Not met"}.get(str(met), "Not known")
        why = "; ".join(dict.fromkeys(r.unknown.values()))
        memory = f" ({MEMORY})" if f.get("from_memory") == "yes" else ""
        edition = f.get("edition")
        yield Work(
            title=f"Code: {r.fields.get('topic', 'requirement')}",
            formula="short = max(0, asks − have)" if lines else "compared with the table's row for this zone",
            where=r.origin("topic").how,
            numbers=lines,
            result=verdict + (f": {option}." if option else f": {why}." if why else "."),
            source=f"{f.get('code')} {edition:g} {f.get('clause')}{memory}"
            if isinstance(edition, float)
            else r.label,
            limits="A model code; the code adopted where the building stands governs.",
        )
