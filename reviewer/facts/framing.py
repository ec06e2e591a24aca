"""Transmittance of the framed section: each framed layer splits the area into members and cavity."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Book, Origin, Record
from reviewer.facts.resolve import CAVITY_DIRECTION, Properties
from reviewer.model.section import Section
from reviewer.physics import heat
from reviewer.units import show

Array = NDArray[np.float64]

RSI_SURFACE = 0.25
"""m²·K/W: film at a surface judged for mold, behind furniture and in corners (ISO 13788 Table 2, from memory)."""


@dataclass(frozen=True, slots=True)
class Framed:
    u: float
    total: float
    upper: float
    lower: float
    isothermal_u: float
    parallel_u: float
    error: float
    u_worst_path: float
    """Transmittance of the path that conducts most, W/(m²·K)."""
    method: str
    r_paths: Array
    """Resistance of each layer as each path meets it, m²·K/W, [paths, layers]; without framing one path."""
    shares: Array
    r_si: float
    r_se: float
    effective: dict[int, str]
    """Layers whose resistance stands for metal studs with their cavity, and by which method."""


def framed_transmittance(
    section: Section, layers: list[Properties], a: Anatomy, head: Record, book: Book
) -> Framed | None:
    """U-value with framing, ISO 6946 combined method; metal studs by effective cavity resistance.

    None when the resistance of a layer is not known.
    """
    parts = layers[: a.end]
    if not parts or any(p.r is None for p in parts):
        return None
    direction = CAVITY_DIRECTION[section.kind]
    r_si = heat.surface_resistance(direction, "inside")
    if a.surroundings == "soil":
        r_se = 0.0
    elif a.vent is not None or a.surroundings != "outdoor air":
        r_se = heat.surface_resistance(direction, "ventilated cavity")
    else:
        r_se = heat.surface_resistance(direction, "outside")
    clear = np.array([p.r or 0.0 for p in parts])
    framed = [
        (i, f, s)
        for i, p in enumerate(parts)
        if (f := _share(p, section.kind, book)) is not None and (s := _member_r(p)) is not None
    ]
    steel = [i for i, _, s in framed if s == 0.0]
    method = "ISO 6946 combined method" if framed else "ISO 6946, homogeneous layers"
    effective: dict[int, str] = {}
    for i in steel:
        clear[i], effective[i] = _steel_layer(parts[i])
        method = effective[i]
    wood = [(i, f, s) for i, f, s in framed if s > 0.0]
    paths, fractions = [], []
    for choice in itertools.product((0, 1), repeat=len(wood)):
        r, share = clear.copy(), 1.0
        for pick, (i, f, s) in zip(choice, wood, strict=True):
            share *= f if pick else 1.0 - f
            if pick:
                r[i] = s
        paths.append(r)
        fractions.append(share)
    r_paths, shares = np.array(paths), np.array(fractions)
    c = heat.combined_method(r_paths, shares, r_si, r_se)
    if framed:
        head.put("framing_fraction", max(f for _, f, _ in framed))
    head.origins["u_value"] = head.origins["r_total"] = Origin(
        "computed",
        method,
        "ISO 6946:2017 6.7.2" if not steel else "ASHRAE 90.1 Appendix A (from memory of the document)",
    )
    worst = float(1.0 / (r_paths.sum(axis=-1).min() + RSI_SURFACE + r_se))
    book.workings["framed"] = framed_u = Framed(
        float(c.u),
        float(c.total),
        float(c.upper),
        float(c.lower),
        float(heat.isothermal_planes_u(r_paths, shares, r_si, r_se)),
        float(heat.parallel_path_u(r_paths, shares, r_si, r_se)),
        float(c.error),
        worst,
        method,
        r_paths,
        shares,
        r_si,
        r_se,
        effective,
    )
    return framed_u


def _share(p: Properties, kind: str, book: Book) -> float | None:
    f = p.layer.framing
    if f is None:
        return None
    if f.fraction is not None:
        return f.fraction
    plates = (
        "whole wall"
        if kind in ("wall", "foundation wall") and f.pattern == "single"
        else "plates"
        if kind in ("wall", "foundation wall")
        else "none"
    )
    share = heat.framing_fraction(f.width, f.spacing, plates)
    book.assume(
        f"framing takes {share * 100:.0f} % of the area ({show(f.width, 'length', 'ip')} members at {show(f.spacing, 'length', 'ip')}, allowance: {plates})",
        "the framing share was not stated; members over spacing, with the usual allowance for plates, corners and headers",
        "u_value",
    )
    return share


def _member_r(p: Properties) -> float | None:
    """Resistance of the framing member over the layer's depth; 0 for metal; none for a thermally broken pattern."""
    f = p.layer.framing
    assert f is not None
    if "metal" in f.material.flags:
        return 0.0
    depth, k = p.thickness, f.material.conductivity
    if depth is None or k is None:
        return None
    if (
        f.pattern in ("double stud", "staggered stud")
        and f.depth is not None
        and f.depth < depth
        and p.conductivity
    ):
        # Two rows of studs with insulation between them: members for their own depth only.
        return f.depth / k + (depth - f.depth) / p.conductivity
    return depth / k


def _steel_layer(p: Properties) -> tuple[float, str]:
    f = p.layer.framing
    assert f is not None and p.r is not None and p.thickness is not None
    try:
        return heat.steel_stud_resistance(
            p.r, f.depth or p.thickness, f.spacing
        ), "effective resistance of steel studs with their cavity"
    except ValueError:
        u = heat.metal_stud_u(0.2, 0.2, max(p.r, 0.15), f.depth or p.thickness, f.spacing)
        return max(1.0 / u - 0.4, 0.05), "zone method for metal studs"
