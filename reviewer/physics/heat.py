"""Steady heat flow through layers: ISO 6946 in full, framing in wood and steel, ISO 10456 conversions.

Layers run from the room outwards. Figures of standards are from memory of the document unless said
otherwise; SI throughout.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from reviewer.humidity import dew_point
from reviewer.physics.basics import KELVIN, STEFAN_BOLTZMANN, Array, within
from reviewer.units import R_IP

Direction = Literal["up", "horizontal", "down"]
"""Of heat flow. ISO 6946 counts up to 30° from the horizontal plane as horizontal."""
Side = Literal["inside", "outside", "ventilated cavity"]

INSIDE_RESISTANCE: dict[str, float] = {"up": 0.10, "horizontal": 0.13, "down": 0.17}
"""m²·K/W. ISO 6946, Table 1 (2007), Table 7 (2017)."""
OUTSIDE_RESISTANCE = 0.04
"""m²·K/W. As above, for a wind of 4 m/s."""
MOLD_SURFACE_RESISTANCE = 0.25
"""m²·K/W. Inside, for the risk of mold on opaque elements (ISO 13788, 4.4.1 in the 2012 edition)."""

CONVECTION_INSIDE: dict[str, float] = {"up": 5.0, "horizontal": 2.5, "down": 0.7}
"""W/(m²·K). ISO 6946, Annex A (2007), C (2017)."""
STILL_AIR_CONDUCTIVITY = 0.025
"""W/(m·K). ISO 6946, Annex B (2007), D (2017)."""
MAX_AIR_LAYER = 0.3
"""m. Thicker spaces are rooms, not air layers (ISO 6946, 5.3)."""


def surface_resistance(direction: Direction, side: Side) -> float:
    """Surface resistance in m²·K/W. A surface in a well-ventilated cavity takes the inside value.

    Source: ISO 6946, Table 1 (2007), Table 7 (2017); 5.3.4 for the cavity. ValueError for other words.

    >>> surface_resistance("up", "inside"), surface_resistance("horizontal", "outside")
    (0.1, 0.04)
    """
    if direction not in INSIDE_RESISTANCE:
        raise ValueError(f"a direction of heat flow is up, horizontal or down, not {direction!r}")
    if side not in ("inside", "outside", "ventilated cavity"):
        raise ValueError(f"a side is inside, outside or ventilated cavity, not {side!r}")
    return OUTSIDE_RESISTANCE if side == "outside" else INSIDE_RESISTANCE[direction]


def radiative_coefficient(temperature: ArrayLike, emissivity: ArrayLike = 1.0) -> Array:
    """Radiative heat transfer coefficient in W/(m²·K) at a mean `temperature` in °C: ε·4σT³.

    Source: ISO 6946, Annex A (2007), C (2017). Valid −50 to 80 °C, emissivity 0 to 1.

    >>> radiative_coefficient([-10, 0, 10, 20, 30]).round(1).tolist()
    [4.1, 4.6, 5.1, 5.7, 6.3]
    """
    t = within("mean temperature", temperature, -50.0, 80.0, "°C")
    return within("emissivity", emissivity, 0.0, 1.0) * 4.0 * STEFAN_BOLTZMANN * (t + KELVIN) ** 3


def inside_surface_resistance(
    direction: Direction, temperature: ArrayLike = 20.0, emissivity: ArrayLike = 0.9
) -> Array:
    """Detailed inside surface resistance in m²·K/W, from convection and radiation.

    `temperature` in °C is the mean of the surface and its surroundings. Source: ISO 6946, Annex A (2007).

    >>> inside_surface_resistance("horizontal").round(2).item()
    0.13
    """
    if direction not in CONVECTION_INSIDE:
        raise ValueError(f"a direction of heat flow is up, horizontal or down, not {direction!r}")
    return 1.0 / (CONVECTION_INSIDE[direction] + radiative_coefficient(temperature, emissivity))


def outside_surface_resistance(
    wind: ArrayLike = 4.0, temperature: ArrayLike = 0.0, emissivity: ArrayLike = 0.9
) -> Array:
    """Detailed outside surface resistance in m²·K/W: convection 4 + 4·v and radiation.

    `wind` in m/s beside the surface, 0 to 20. Source: ISO 6946, Annex A (2007), C (2017).

    >>> outside_surface_resistance().round(2).item()
    0.04
    """
    v = within("wind speed", wind, 0.0, 20.0, "m/s")
    return 1.0 / (4.0 + 4.0 * v + radiative_coefficient(temperature, emissivity))


def air_layer_resistance(
    thickness: ArrayLike,
    direction: Direction,
    emissivity1: ArrayLike = 0.9,
    emissivity2: ArrayLike = 0.9,
    mean_temperature: ArrayLike = 10.0,
    delta_t: ArrayLike = 5.0,
) -> Array:
    """Resistance in m²·K/W of an unventilated air layer `thickness` m thick, both other sizes over 10 times
    it.

    `mean_temperature` in °C and the difference between the faces `delta_t` in K; all broadcast.
    Source: ISO 6946, Annex B (2007), D (2017): convection not below conduction, radiation between two
    parallel planes. Valid up to 0.3 m. The standard's table holds the same values rounded. 0 m gives 0.

    >>> air_layer_resistance([0.005, 0.025, 0.1], "horizontal").round(2).tolist()
    [0.11, 0.18, 0.18]
    >>> air_layer_resistance(0.02, "horizontal", emissivity1=0.05).round(2).item()
    0.66
    """
    d = within("thickness of an air layer", thickness, 0.0, MAX_AIR_LAYER, "m")
    difference = within("temperature difference over an air layer", delta_t, 0.0, 60.0, "K")
    e1, e2 = within("emissivity", emissivity1, 0.01, 1.0), within("emissivity", emissivity2, 0.01, 1.0)
    safe = np.where(d > 0.0, d, 1.0)
    large = difference > 5.0
    if direction == "horizontal":
        convection = np.where(large, 0.73 * np.cbrt(difference), 1.25)
    elif direction == "up":
        convection = np.where(large, 1.14 * np.cbrt(difference), 1.95)
    elif direction == "down":
        convection = np.where(large, 0.09 * np.power(difference, 0.187), 0.12) * safe**-0.44
    else:
        raise ValueError(f"a direction of heat flow is up, horizontal or down, not {direction!r}")
    conduction = np.maximum(convection, STILL_AIR_CONDUCTIVITY / safe)
    radiation = radiative_coefficient(mean_temperature) / (1.0 / e1 + 1.0 / e2 - 1.0)
    return np.where(d > 0.0, 1.0 / (conduction + radiation), 0.0)


AIR_LAYER_TABLE: dict[float, tuple[float, float, float]] = {
    0.0: (0.0, 0.0, 0.0),
    0.005: (0.11, 0.11, 0.11),
    0.007: (0.13, 0.13, 0.13),
    0.010: (0.15, 0.15, 0.15),
    0.015: (0.16, 0.17, 0.17),
    0.025: (0.16, 0.18, 0.19),
    0.050: (0.16, 0.18, 0.21),
    0.100: (0.16, 0.18, 0.22),
    0.300: (0.16, 0.18, 0.23),
}
"""Thickness in m to resistance in m²·K/W with heat flow up, horizontal, down; faces of high emissivity.
ISO 6946, Table 2 (2007), Table 8 (2017)."""


def tabulated_air_layer_resistance(thickness: ArrayLike, direction: Direction) -> Array:
    """The same from the standard's table, linear between its rows, as ISO 6946 has it (5.3.2 in 2007).

    >>> tabulated_air_layer_resistance([0.02, 0.05], "down").round(3).tolist()
    [0.18, 0.21]
    """
    d = within("thickness of an air layer", thickness, 0.0, MAX_AIR_LAYER, "m")
    if direction not in INSIDE_RESISTANCE:
        raise ValueError(f"a direction of heat flow is up, horizontal or down, not {direction!r}")
    column = tuple(INSIDE_RESISTANCE).index(direction)
    return np.interp(d, list(AIR_LAYER_TABLE), [row[column] for row in AIR_LAYER_TABLE.values()])


Ventilation = Literal["unventilated", "slightly ventilated", "well ventilated"]


def air_layer_ventilation(opening_area: float) -> Ventilation:
    """How an air layer counts by its openings to the outside, mm² a meter of length for vertical layers and
    a m² of surface for horizontal ones.

    Source: ISO 6946, 5.3 (2007), 6.9 (2017): up to 500 unventilated, from 1,500 well ventilated.

    >>> air_layer_ventilation(400), air_layer_ventilation(1500)
    ('unventilated', 'well ventilated')
    """
    area = float(within("opening area", opening_area, 0.0, 1e6, "mm²"))
    if area <= 500.0:
        return "unventilated"
    return "slightly ventilated" if area < 1500.0 else "well ventilated"


def slightly_ventilated_resistance(
    unventilated: ArrayLike, well_ventilated: ArrayLike, opening_area: ArrayLike
) -> Array:
    """Total resistance in m²·K/W of a component with a slightly ventilated air layer: between its total
    resistance with the layer unventilated and with the layer well ventilated, by opening area (500 to 1,500
    mm²).

    Source: ISO 6946, 5.3.3 (2007), 6.9.3 (2017).

    >>> float(slightly_ventilated_resistance(3.0, 2.0, 1000.0))
    2.5
    """
    share = (within("opening area", opening_area, 500.0, 1500.0, "mm²") - 500.0) / 1000.0
    return (1.0 - share) * np.asarray(unventilated, dtype=float) + share * np.asarray(
        well_ventilated, dtype=float
    )


SLIGHTLY_VENTILATED_SHARE = 0.5
"""Share of the unventilated value that a slightly ventilated air layer keeps where the opening area isn't
known (ISO 6946:1996, 5.3.3)."""
SLIGHTLY_VENTILATED_OUTER_CAP = 0.15
"""m²·K/W, the most that counts of the layers outside it (as above)."""

ROOF_SPACE_RESISTANCE: dict[str, float] = {
    "tiles, no underlay": 0.06,
    "sheets, or tiles over underlay or boards": 0.2,
    "low emissivity under the roof": 0.3,
    "boards and underlay": 0.3,
}
"""m²·K/W of a ventilated, naturally aired roof space and the pitched roof over it, above an insulated
ceiling, without the outside surface. ISO 6946, Table 3 (2007), Table 9 (2017)."""


def unheated_space_resistance(
    area_inside: float, outer: list[tuple[float, float]], air_changes: float, volume: float
) -> float:
    """Resistance in m²·K/W that an unheated space adds, treated as a further layer.

    `area_inside` m² between room and space; `outer`: (area m², U in W/(m²·K)) of each part between the space
    and outside (not the ground); `air_changes` an hour of `volume` m³. Source: ISO 6946, 5.4.3 (2007),
    6.10.3 (2017): A_i / (Σ A_e·U_e + 0.33·n·V).

    >>> round(unheated_space_resistance(20.0, [(30.0, 2.0)], 3.0, 50.0), 3)
    0.183
    """
    loss = sum(area * u for area, u in outer) + 0.33 * air_changes * volume
    if not (area_inside > 0 and loss > 0):
        raise ValueError("an unheated space needs an area to the room and a loss to outside, both above 0")
    return area_inside / loss


UNHEATED_AIR_CHANGES: dict[str, float] = {
    "sealed": 0.1,
    "joints sealed, no openings": 0.5,
    "no openings": 1.0,
    "some openings": 3.0,
    "many openings": 10.0,
}
"""Air changes an hour of unheated spaces (ISO 13789, Table 3; the words are ours)."""


def unheated_space_estimate(area_inside: float, area_outside: float) -> float:
    """The same without details, m²·K/W: 0.09 + 0.4·A_i/A_e, at most 0.5 (ISO 6946:1996, 5.4.3).

    >>> round(unheated_space_estimate(10.0, 20.0), 2), unheated_space_estimate(40.0, 20.0)
    (0.29, 0.5)
    """
    if not (area_inside > 0 and area_outside > 0):
        raise ValueError("an unheated space needs areas above 0")
    return min(0.5, 0.09 + 0.4 * area_inside / area_outside)


def temperatures(
    r_layers: ArrayLike, t_in: ArrayLike, t_out: ArrayLike, r_si: ArrayLike, r_se: ArrayLike
) -> Array:
    """Temperatures in °C at the faces of layers, inner surface first: [..., L+1].

    `r_layers` [..., L], m²·K/W; `t_in`, `t_out`, `r_si` and `r_se` [...]. Leading axes broadcast: layers [L]
    with months [12] give [12, L+1], a batch of layers [B, 1, L] with months [B, 12] gives [B, 12, L+1].
    Source: steady heat flow, ISO 13788, 4.4 and 6.3.

    >>> temperatures([1.0, 2.0], 20.0, [0.0, -10.0], 0.13, 0.04).round(2).tolist()
    [[19.18, 12.87, 0.25], [18.77, 9.31, -9.62]]
    """
    r = np.asarray(r_layers, dtype=float)
    if r.size and not (r.min() >= 0 and r.max() < np.inf):
        raise ValueError("thermal resistances of layers must be finite and not below 0")
    warm, cold = np.asarray(t_in, dtype=float)[..., None], np.asarray(t_out, dtype=float)[..., None]
    inner, outer = np.asarray(r_si, dtype=float)[..., None], np.asarray(r_se, dtype=float)[..., None]
    lead = r.shape[:-1] if inner.ndim == 1 else np.broadcast_shapes(r.shape[:-1], inner.shape[:-1])
    below = np.empty((*lead, r.shape[-1] + 1))
    below[..., :1] = inner
    below[..., 1:] = r.cumsum(axis=-1)
    below[..., 1:] += inner
    return warm + (cold - warm) * below / (below[..., -1:] + outer)


@dataclass(frozen=True, slots=True)
class CombinedResistance:
    """Total resistance of a component with thermally inhomogeneous layers."""

    upper: Array
    """Upper limit: heat flows in parallel paths, m²·K/W, [...]."""
    lower: Array
    """Lower limit: each joint is an isothermal plane, m²·K/W, [...]."""
    total: Array
    """Mean of the two, m²·K/W, [...]."""
    u: Array
    """W/(m²·K), [...]."""
    error: Array
    """Greatest relative error, (upper − lower) / (2·total), [...]."""

    @property
    def applicable(self) -> np.ndarray:
        """Whether the limits are within 1.5 of each other; beyond, and wherever metal bridges the insulation,
        ISO 6946 (6.7.2 in 2017) wants a numerical calculation. [...]."""
        return self.upper <= 1.5 * self.lower


def combined_method(
    r_paths: ArrayLike, fractions: ArrayLike, r_si: ArrayLike, r_se: ArrayLike
) -> CombinedResistance:
    """Total resistance by the combined method of ISO 6946 (6.2 in 2007, 6.7.2 in 2017).

    `r_paths` [..., P, L], m²·K/W: the resistance of each layer as met by each path; `fractions` [..., P],
    shares of the area, adding up to 1; `r_si`, `r_se` [...]. Not for metal that bridges insulation.

    >>> c = combined_method([[0.1, 3.5], [0.1, 1.08]], [0.85, 0.15], 0.13, 0.04)
    >>> c.upper.round(3).item(), c.lower.round(3).item(), c.u.round(4).item()
    (2.971, 2.89, 0.3413)
    """
    r, f = _paths(r_paths, fractions)
    upper = 1.0 / _parallel(r, f, r_si, r_se)
    lower = 1.0 / _isothermal(r, f, r_si, r_se)
    total = 0.5 * (upper + lower)
    return CombinedResistance(upper, lower, total, 1.0 / total, (upper - lower) / (2.0 * total))


def parallel_path_u(r_paths: ArrayLike, fractions: ArrayLike, r_si: ArrayLike, r_se: ArrayLike) -> Array:
    """U in W/(m²·K) when heat flows straight through each path: the parallel-path method of ASHRAE
    Fundamentals (ch. 27), the reciprocal of ISO 6946's upper limit. Arguments as `combined_method`.

    >>> parallel_path_u([[1.83], [0.83]], [0.5, 0.5], 0.13, 0.04).round(3).item()
    0.75
    """
    return _parallel(*_paths(r_paths, fractions), r_si, r_se)


def _parallel(r: Array, f: Array, r_si: ArrayLike, r_se: ArrayLike) -> Array:
    films = np.asarray(r_si, dtype=float) + np.asarray(r_se, dtype=float)
    return np.sum(f / (films[..., None] + r.sum(axis=-1)), axis=-1)


def isothermal_planes_u(r_paths: ArrayLike, fractions: ArrayLike, r_si: ArrayLike, r_se: ArrayLike) -> Array:
    """U in W/(m²·K) when every joint is one temperature: the isothermal-planes method of ASHRAE Fundamentals
    (ch. 27), the reciprocal of ISO 6946's lower limit. Arguments as `combined_method`.

    >>> isothermal_planes_u([[2.0], [1.0]], [0.5, 0.5], 0.13, 0.04).round(4).item()
    0.6652
    """
    return _isothermal(*_paths(r_paths, fractions), r_si, r_se)


def _isothermal(r: Array, f: Array, r_si: ArrayLike, r_se: ArrayLike) -> Array:
    with np.errstate(divide="ignore"):
        layers = 1.0 / np.sum(f[..., None] / r, axis=-2)
    return 1.0 / (np.asarray(r_si, dtype=float) + layers.sum(axis=-1) + np.asarray(r_se, dtype=float))


def _paths(r_paths: ArrayLike, fractions: ArrayLike) -> tuple[Array, Array]:
    r, f = np.asarray(r_paths, dtype=float), np.asarray(fractions, dtype=float)
    if r.size and not r.min() >= 0:
        raise ValueError("thermal resistances of layers can't be below 0")
    if f.size and not (f.min() > 0 and np.abs(f.sum(axis=-1) - 1.0).max() <= 1e-9):
        raise ValueError("the shares of the paths must be above 0 and add up to 1")
    return r, f


PLATES = 3 * 0.0381 / 2.44
"""Share of an 8 ft wall's height in three 1-1/2 in plates (arithmetic; no published source)."""
WHOLE_WALL_ALLOWANCE = 0.156
"""Plates, corners, openings and headers besides studs, share of the wall. ASHRAE 90.1, Appendix A3.4, takes
25 % framing at 16 in on center and 22 % at 24 in: both are 15.6 % over 1-1/2 in / spacing."""

FRAMING_ALLOWANCES: dict[str, float] = {"none": 0.0, "plates": PLATES, "whole wall": WHOLE_WALL_ALLOWANCE}


def framing_fraction(
    width: float, spacing: float, plates: Literal["none", "plates", "whole wall"] = "whole wall"
) -> float:
    """Area share of framing, 0–1, of members `width` wide `spacing` apart (both m), and an allowance.

    `none`: joists and rafters; `plates`: a clear stud wall with one sole and two top plates in 8 ft;
    `whole wall`: with corners, openings and headers too (ASHRAE 90.1, Appendix A3.4, from memory).
    ValueError when the members would leave no cavity.

    >>> round(framing_fraction(0.0381, 0.4064), 3), round(framing_fraction(0.0381, 0.6096, "none"), 4)
    (0.25, 0.0625)
    """
    if plates not in FRAMING_ALLOWANCES:
        raise ValueError(f"a framing allowance is none, plates or whole wall, not {plates!r}")
    if not 0 < width < spacing:
        raise ValueError("framing members must be narrower than their spacing")
    share = width / spacing + FRAMING_ALLOWANCES[plates]
    if share >= 1:
        raise ValueError("framing members must leave a cavity between them")
    return share


_STEEL_STUDS: dict[tuple[float, int], tuple[tuple[float, float], ...]] = {
    (3.5, 16): ((0.0, 0.79), (11.0, 5.5), (13.0, 6.0), (15.0, 6.4)),
    (3.5, 24): ((0.0, 0.91), (11.0, 6.6), (13.0, 7.2), (15.0, 7.8)),
    (6.0, 16): ((19.0, 7.1), (21.0, 7.4)),
    (6.0, 24): ((19.0, 8.6), (21.0, 9.0)),
    (8.0, 16): ((25.0, 7.8),),
    (8.0, 24): ((25.0, 9.6),),
}
"""(depth in, spacing in) to (rated R, effective R of cavity and studs), h·ft²·°F/Btu. ASHRAE 90.1 (2010 and
later), Appendix A, Table A9.2-2 (earlier A9.2B), from memory. Cold-formed members of usual gauge."""


def steel_stud_resistance(cavity: float, depth: float, spacing: float) -> float:
    """Effective resistance in m²·K/W of insulation between steel studs together with the studs.

    `cavity` rated resistance in m²·K/W, `depth` of the cavity and `spacing` in m (nominal 3-1/2, 6 or 8 in;
    16 or 24 in). Source: ASHRAE 90.1, Appendix A, Table A9.2-2 (from memory), linear between its rows;
    ValueError outside the table (`metal_stud_u` takes any stud).

    >>> from reviewer.units import R_IP
    >>> round(steel_stud_resistance(13 * R_IP, 3.5 * 0.0254, 16 * 0.0254) / R_IP, 2)
    6.0
    """
    key = (
        next((d for d in (3.5, 6.0, 8.0) if abs(depth / 0.0254 - d) <= 0.51), 0.0),
        next((s for s in (16, 24) if abs(spacing / 0.0254 - s) <= 0.51), 0),
    )
    rows = _STEEL_STUDS.get(key)
    rated = cavity / R_IP
    if rows is None or not rows[0][0] - 0.05 <= rated <= rows[-1][0] + 0.05:
        raise ValueError(
            "effective R of steel studs is tabulated for cavities of 3.5 in (to R-15), 6 in (R-19 to R-21) "
            "and 8 in (R-25) at 16 or 24 in on center"
        )
    return float(np.interp(rated, [a for a, _ in rows], [b for _, b in rows])) * R_IP


STEEL = 50.0
"""W/(m·K) (ISO 10456, Table 3)."""


def metal_stud_u(
    inner: float,
    outer: float,
    cavity: float,
    depth: float,
    spacing: float,
    *,
    covering: float = 0.0127,
    flange: float = 0.0413,
    metal: float = 0.0011,
    conductivity: float = STEEL,
    zone_factor: float = 2.0,
) -> float:
    """U in W/(m²·K) of a wall with C-shaped metal studs by the zone method of ASHRAE Fundamentals (ch. 27 of
    2009 and later; from memory).

    `inner` and `outer`: resistances in m²·K/W of everything inside and outside the studs, films included;
    `cavity` resistance of the insulation over the whole `depth`; `covering`: distance of the metal from the
    panel's surface on the thicker side (counted as 13 mm at least), `flange` width and `metal` thickness, all
    m. The metal governs a strip as wide as the flange and `zone_factor` times `covering`; in it, flanges and
    web conduct beside insulation. A factor of 2 is the zone method; the modified zone method of the same
    chapter takes another from a chart by thickness and resistivity: give it. For the insulation and studs
    alone this comes out 6 to 10 % over `steel_stud_resistance` at 3-1/2 in and up to 40 % over it at 8 in:
    where the table applies, the table is the more careful.

    >>> round(metal_stud_u(0.24, 0.12, 2.29, 0.089, 0.4064), 3)
    0.674
    """
    if not 0 < metal < flange < spacing or depth <= 2 * metal or cavity <= 0:
        raise ValueError(
            "a metal stud must be thinner than its flange, and the flange narrower than the spacing"
        )
    zone = min(max(flange + zone_factor * max(covering, 0.013), metal), spacing)
    per_meter = cavity / depth
    web_depth = depth - 2 * metal
    covered = min(flange, zone)
    one_flange = zone / (covered * conductivity / metal + (zone - covered) / (per_meter * metal))
    web = zone / (metal * conductivity / web_depth + (zone - metal) / (per_meter * web_depth))
    share = zone / spacing
    through_metal = inner + outer + 2 * one_flange + web
    return share / through_metal + (1 - share) / (inner + outer + cavity)


def iterate_resistance(
    r_of_t: Callable[[Array], Array],
    t_in: ArrayLike,
    t_out: ArrayLike,
    r_si: ArrayLike,
    r_se: ArrayLike,
    *,
    tolerance: float = 1e-6,
    limit: int = 100,
) -> Array:
    """Resistances [..., L] in m²·K/W that agree with the mean temperature of each layer, which they decide.

    `r_of_t` maps mean layer temperatures [..., L] in °C to resistances; the others as in `temperatures`.
    Starts at the mean of both sides. RuntimeError when it doesn't settle within `limit` steps (resistances
    that jump with temperature).

    >>> foam = lambda t: 0.1 / (0.024 + 0.0001 * np.abs(t - 15.0))
    >>> iterate_resistance(foam, 20.0, [-20.0], 0.13, 0.04).round(3).tolist()
    [[3.915]]
    """
    mean = 0.5 * (np.asarray(t_in, dtype=float) + np.asarray(t_out, dtype=float))[..., None]
    layers = np.asarray(r_of_t(mean), dtype=float).shape[-1]
    r = np.asarray(r_of_t(np.broadcast_to(mean, (*mean.shape[:-1], layers))), dtype=float)
    for _ in range(limit):
        t = temperatures(r, t_in, t_out, r_si, r_se)
        new = np.asarray(r_of_t(0.5 * (t[..., :-1] + t[..., 1:])), dtype=float)
        if np.all(np.abs(new - r) <= tolerance * np.maximum(r, 1e-3)):
            return new
        r = 0.5 * (r + new)
    raise RuntimeError("resistances and temperatures of the layers don't settle")


def convert_conductivity(
    conductivity: ArrayLike,
    *,
    temperature: tuple[float, float] = (10.0, 10.0),
    per_kelvin: float = 0.0,
    moisture: tuple[float, float] = (0.0, 0.0),
    per_moisture: float = 0.0,
    ageing: float = 1.0,
) -> Array:
    """Thermal conductivity in W/(m·K) converted from one set of conditions to another.

    `temperature` (from, to) in °C with coefficient `per_kelvin` in 1/K; `moisture` (from, to) as kg/kg or
    m³/m³ with the coefficient `per_moisture` for that unit; `ageing` a factor. Source: ISO 10456:2007, clause
    7: λ2 = λ1·exp(fT·ΔT)·exp(fu·Δu or fψ·Δψ)·Fa. Valid 0–30 °C by the standard; to ±40 °C here as an
    estimate.

    >>> convert_conductivity(0.040, temperature=(10, 20), per_kelvin=0.0045).round(5).item()
    0.04184
    """
    t1, t2 = within("temperature", temperature, -40.0, 70.0, "°C")
    m1, m2 = within("moisture content", moisture, 0.0, 4.0)
    factor = np.exp(per_kelvin * (t2 - t1)) * np.exp(per_moisture * (m2 - m1)) * ageing
    return np.asarray(conductivity, dtype=float) * factor


MOISTURE_COEFFICIENTS: dict[str, tuple[Literal["volume", "mass"], float]] = {
    "expanded polystyrene": ("volume", 4.0),
    "extruded polystyrene": ("volume", 2.5),
    "polyurethane foam": ("volume", 3.0),
    "mineral wool": ("volume", 4.0),
    "cellulose": ("mass", 0.5),
    "autoclaved aerated concrete": ("mass", 4.0),
}
"""Basis (m³/m³ or kg/kg) and coefficient of moisture in the conductivity. ISO 10456:2007, Table 4."""

AIR_GAP_CORRECTION: dict[int, float] = {0: 0.0, 1: 0.01, 2: 0.04}
"""Level to W/(m²·K): 0 no gaps through the insulation; 1 gaps bridging it, without air circulating on its
warm side; 2 with such circulation. ISO 6946, Annex D (2007), F (2017)."""


def air_gap_correction(level: int, r_insulation: float, r_total: float) -> float:
    """Correction ΔU in W/(m²·K) for gaps in insulation of `r_insulation` in a component of `r_total`, m²·K/W.

    Source: ISO 6946, D.2 (2007), F.2 (2017): ΔU''·(R1/RT)².

    >>> round(air_gap_correction(1, 2.0, 4.0), 4)
    0.0025
    """
    if level not in AIR_GAP_CORRECTION:
        raise ValueError("the level of air gaps is 0, 1 or 2")
    return AIR_GAP_CORRECTION[level] * _share(r_insulation, r_total) ** 2


def fastener_correction(
    conductivity: float,
    area: float,
    per_area: float,
    insulation: float,
    r_insulation: float,
    r_total: float,
    *,
    length: float | None = None,
) -> float:
    """Correction ΔU in W/(m²·K) for mechanical fasteners through insulation.

    `conductivity` of the fastener, W/(m·K); `area` of its cross-section, m²; `per_area` fasteners a m²;
    `insulation` thickness d0 and `length` d1 of the fastener within it, m (longer than d0 when it crosses at
    an angle; shorter when it is recessed; None: d0). Source: ISO 6946, D.3 (2007), F.3 (2017):
    0.8·(d1/d0)·λf·Af·nf/d0·(R1/RT)². Not where both ends touch sheet metal.

    >>> round(fastener_correction(50.0, 1.2e-5, 5.0, 0.12, 3.0, 3.3), 4)
    0.0165
    """
    if not insulation > 0:
        raise ValueError("fasteners need an insulation thickness above 0")
    share = 1.0 if length is None else length / insulation
    return 0.8 * share * conductivity * area * per_area / insulation * _share(r_insulation, r_total) ** 2


INVERTED_ROOF_FX = 0.04
"""W·d/(m²·K·mm), drainage factor times heat loss of rain reaching the membrane: one layer of boards with butt
joints under open ballast. ISO 6946, D.4 (2007), F.4 (2017)."""


def inverted_roof_correction(
    precipitation: float, r_insulation: float, r_total: float, *, fx: float = INVERTED_ROOF_FX
) -> float:
    """Correction ΔU in W/(m²·K) for rain running between insulation and membrane.

    `precipitation` in mm a day, mean of the heating season; `r_insulation` above the membrane and `r_total`
    in m²·K/W. Source: ISO 6946, D.4 (2007), F.4 (2017): p·f·x·(R1/RT)². Extruded polystyrene only.

    >>> round(inverted_roof_correction(3.0, 3.0, 3.5), 3)
    0.088
    """
    return (
        float(within("precipitation", precipitation, 0.0, 50.0, "mm a day"))
        * fx
        * _share(r_insulation, r_total) ** 2
    )


def _share(part: float, total: float) -> float:
    if not 0 <= part <= total or total <= 0:
        raise ValueError("the insulation's resistance must lie between 0 and the component's")
    return part / total


def temperature_factor(theta_si: ArrayLike, theta_i: ArrayLike, theta_e: ArrayLike) -> Array:
    """Temperature factor at the inner surface, f_Rsi = (θsi − θe)/(θi − θe); all °C, broadcast.

    Source: ISO 13788, 3.1.2. ValueError where inside and outside are as warm as each other.

    >>> temperature_factor(12.6, 20.0, 0.0).round(2).item()
    0.63
    """
    si, i, e = (np.asarray(t, dtype=float) for t in (theta_si, theta_i, theta_e))
    if np.any(i == e):
        raise ValueError("no temperature factor without a difference between inside and outside")
    return (si - e) / (i - e)


CRITICAL_HUMIDITY: dict[str, float] = {"mold": 0.8, "condensation": 1.0, "corrosion": 0.6}
"""Relative humidity at the surface, monthly mean (ISO 13788, 5.1 and 5.3)."""


def required_temperature_factor(
    p_in: ArrayLike,
    theta_i: ArrayLike,
    theta_e: ArrayLike,
    *,
    critical_humidity: float = CRITICAL_HUMIDITY["mold"],
) -> Array:
    """Least temperature factor f_Rsi,min month by month that keeps the surface below a critical humidity.

    `p_in` Pa indoors, `theta_i` and `theta_e` °C; all broadcast. The month with the greatest value is the
    critical month. −inf where it is as warm outside as inside: nothing is required. Above 1: no insulation
    helps, the air is too humid. Source: ISO 13788:2012, 5.3 (from memory): θsi,min is the temperature at
    which p_in / φ is saturation.

    >>> required_temperature_factor(1322.82, 20.0, [0.0, 20.0]).round(4).tolist()
    [0.7265, -inf]
    """
    i, e = np.asarray(theta_i, dtype=float), np.asarray(theta_e, dtype=float)
    limit = within("critical humidity", critical_humidity, 0.1, 1.0)
    needed = dew_point(np.asarray(p_in, dtype=float) / limit)
    cold = e < i
    return np.where(cold, (needed - e) / np.where(cold, i - e, 1.0), -np.inf)
