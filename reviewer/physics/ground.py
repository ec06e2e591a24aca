"""The ground: soil temperature by depth and month, slabs, basements, crawl spaces, foundation walls by strips.

Monthly arrays end in an axis of twelve, January first; other axes broadcast.
Sources: Kusuda and Achenbach, ASHRAE Transactions 71 (1965) 61–74, for soil temperature (equation from memory; the
same damping depth was read in a university's soil-physics text); ISO 13370:2007 and 2017 for transmittances
(clauses and equations from memory, numbered after the 2007 edition); ASHRAE Fundamentals, chapter Nonresidential
Cooling and Heating Load Calculations, for below-grade walls by depth (from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from reviewer.humidity import saturation_pressure
from reviewer.physics.basics import HEAT_AIR, KELVIN, MONTH_DAYS, R_VAPOR, Array, within

YEAR = 365.0
CONDUCTIVITY = {"clay or silt": 1.5, "sand or gravel": 2.0, "rock": 3.5}
"""W/(m·K) of the ground (ISO 13370:2007, Table 1; from memory)."""
HEAT_CAPACITY = {"clay or silt": 3.0e6, "sand or gravel": 2.0e6, "rock": 2.0e6}
"""J/(m³·K) (ISO 13370:2007, Table 1; from memory)."""
MID_MONTH: Array = np.cumsum(MONTH_DAYS) - MONTH_DAYS / 2.0
"""Day of the year in the middle of each month."""

_INSIDE_DOWN, _INSIDE_WALL, _OUTSIDE = 0.17, 0.13, 0.04


def diffusivity(conductivity: ArrayLike, heat_capacity: ArrayLike) -> Array:
    """Thermal diffusivity of the ground in m² a day, from W/(m·K) and J/(m³·K).

    >>> round(float(diffusivity(2.0, 2.0e6)), 4)
    0.0864
    """
    k = within("ground conductivity", conductivity, 0.1, 10, "W/(m·K)")
    return k / within("ground heat capacity", heat_capacity, 5e5, 5e6, "J/(m³·K)") * 86400.0


def damping_depth(diffusivity: ArrayLike) -> Array:
    """Depth, m, at which the yearly swing has fallen to 1/e: √(365·a/π), `diffusivity` a in m² a day.

    >>> round(float(damping_depth(0.05)), 3)
    2.41
    """
    return np.sqrt(YEAR * within("ground diffusivity", diffusivity, 0.005, 0.5, "m²/day") / np.pi)


def soil_temperature(
    depth: ArrayLike,
    day: ArrayLike,
    mean: ArrayLike,
    amplitude: ArrayLike,
    coldest: ArrayLike,
    diffusivity: ArrayLike = 0.05,
) -> Array:
    """Temperature of undisturbed ground, °C, `depth` m down on `day` of the year.

    θ_m − A·exp(−z/d)·cos(2π/365·(t − t_0) − z/d) with damping depth d; `mean` θ_m and `amplitude` A (half of
    the yearly swing) of the surface, °C and K; `coldest` t_0 the day on which the surface is coldest.
    Source: Kusuda and Achenbach 1965. Valid 0 to 100 m; beyond, ValueError.

    >>> soil_temperature([0.0, 1.0, 3.0], 35.0, 10.0, 12.0, 35.0).round(3).tolist()
    [-2.0, 2.747, 8.893]
    """
    z = within("depth", depth, 0, 100, "m") / damping_depth(diffusivity)
    a = within("amplitude of the surface temperature", amplitude, 0, 40, "K")
    angle = 2.0 * np.pi / YEAR * (np.asarray(day, dtype=float) - np.asarray(coldest, dtype=float))
    return within("mean surface temperature", mean, -30, 40, "°C") - a * np.exp(-z) * np.cos(angle - z)


def yearly_wave(monthly: ArrayLike) -> tuple[Array, Array, Array]:
    """Mean, amplitude and coldest day of the yearly wave in twelve monthly means, shapes (…, 12) to (…).

    First harmonic by least squares at the months' middles, each month weighted by its length, the amplitude
    corrected for what averaging over a month takes off (1.2 %). Derived.

    >>> mean, amplitude, coldest = yearly_wave(10 - 12 * np.cos(2 * np.pi / 365 * (MID_MONTH - 20)))
    >>> round(float(mean), 2), round(float(amplitude), 1), round(float(coldest))
    (10.0, 12.1, 20)
    """
    t = within("monthly temperature", monthly, -60, 60, "°C")
    angle = 2.0 * np.pi / YEAR * MID_MONTH
    basis = np.stack([np.ones(12), np.cos(angle), np.sin(angle)], axis=-1)
    weighted = basis * MONTH_DAYS[:, None]
    solve = np.linalg.solve(basis.T @ weighted, weighted.T)
    c = t @ solve.T
    amplitude = np.hypot(c[..., 1], c[..., 2]) / np.sinc(1.0 / 12.0)
    coldest = np.arctan2(-c[..., 2], -c[..., 1]) * YEAR / (2.0 * np.pi)
    return c[..., 0], amplitude, np.mod(coldest, YEAR)


def monthly_soil_temperature(depth: ArrayLike, air: ArrayLike, diffusivity: ArrayLike = 0.05) -> Array:
    """Mean temperature of undisturbed ground by month, °C: shapes (…), (…, 12) to (…, 12).

    The surface is taken to follow the monthly mean `air` temperature: bare ground under sun lies above it,
    ground under snow above it in winter. Wave from `yearly_wave` into `soil_temperature`.

    >>> air = 10 - 12 * np.cos(2 * np.pi / 365 * (MID_MONTH - 20))
    >>> monthly_soil_temperature(2.0, air).round(1)[[0, 3, 6, 9]].tolist()
    [6.7, 5.7, 13.2, 14.2]
    """
    mean, amplitude, coldest = (v[..., None] for v in yearly_wave(air))
    return soil_temperature(
        np.asarray(depth, dtype=float)[..., None], MID_MONTH, mean, amplitude, coldest, diffusivity
    )


def characteristic_dimension(area: ArrayLike, perimeter: ArrayLike) -> Array:
    """B′ = A/(P/2), m: floor area over half the exposed perimeter (ISO 13370, equation 2).

    >>> float(characteristic_dimension(100.0, 40.0))
    5.0
    """
    a = within("floor area", area, 0.1, 1e7, "m²")
    return a / (0.5 * within("exposed perimeter", perimeter, 0.1, 1e5, "m"))


def equivalent_thickness(
    wall: ArrayLike, conductivity: ArrayLike, resistance: ArrayLike = 0.0, inside: ArrayLike = _INSIDE_DOWN
) -> Array:
    """d_t = w + λ(R_si + R_f + R_se), m of ground (ISO 13370, equation 3; d_w of a wall is the same without w).

    `wall` thickness w m, ground `conductivity` λ, `resistance` R_f m²·K/W of all floor layers but dense concrete
    under 100 mm and hardcore.

    >>> round(float(equivalent_thickness(0.3, 2.0)), 3)
    0.72
    """
    w = within("wall thickness", wall, 0, 2, "m")
    r = within("floor resistance", resistance, 0, 50, "m²·K/W")
    return w + _soil(conductivity) * (within("inside film", inside, 0, 1, "m²·K/W") + r + _OUTSIDE)


def _soil(conductivity: ArrayLike) -> Array:
    return within("ground conductivity", conductivity, 0.1, 10, "W/(m·K)")


def slab_transmittance(dimension: ArrayLike, thickness: ArrayLike, conductivity: ArrayLike) -> Array:
    """U of a slab on ground, W/(m²·K): ISO 13370, equations 4 and 5.

    `dimension` B′ and equivalent `thickness` d_t in m. d_t < B′: 2λ/(πB′ + d_t)·ln(πB′/d_t + 1); else
    λ/(0.457B′ + d_t). Valid B′ 0.5 to 1000 m; beyond, ValueError.

    >>> round(float(slab_transmittance(4.0, 0.72, 2.0)), 3)
    0.878
    """
    b = within("characteristic dimension", dimension, 0.5, 1000, "m")
    d = within("equivalent thickness", thickness, 0.05, 200, "m")
    k = _soil(conductivity)
    return np.where(d < b, 2 * k / (np.pi * b + d) * np.log(np.pi * b / d + 1.0), k / (0.457 * b + d))


def edge_correction(
    extent: ArrayLike,
    insulation: ArrayLike,
    insulation_thickness: ArrayLike,
    thickness: ArrayLike,
    conductivity: ArrayLike,
    vertical: bool,
) -> Array:
    """ψ of edge insulation of a slab, W/(m·K), never positive: ISO 13370, Annex B, equations B.1 to B.4.

    `extent` D m: width under the slab, or depth below grade when `vertical` (counted double); `insulation` its
    resistance m²·K/W, `insulation_thickness` m, slab's equivalent `thickness` d_t m. The slab's U becomes
    U + 2ψ/B′.

    >>> round(float(edge_correction(1.0, 1.5, 0.05, 0.72, 2.0, vertical=False)), 3)
    -0.401
    """
    d_extent = within("extent of edge insulation", extent, 0, 10, "m") * (2.0 if vertical else 1.0)
    k, d = _soil(conductivity), within("equivalent thickness", thickness, 0.05, 200, "m")
    r = within("insulation resistance", insulation, 0, 50, "m²·K/W")
    extra = np.maximum(r - within("insulation thickness", insulation_thickness, 0, 1, "m") / k, 0.0) * k
    return -k / np.pi * (np.log(d_extent / d + 1.0) - np.log(d_extent / (d + extra) + 1.0))


def basement_transmittance(
    dimension: ArrayLike,
    depth: ArrayLike,
    floor_thickness: ArrayLike,
    wall_thickness: ArrayLike,
    conductivity: ArrayLike,
) -> tuple[Array, Array, Array]:
    """U of the floor, of the wall below grade, and of both by area, W/(m²·K): ISO 13370, equations 9 to 15.

    `dimension` B′ m, `depth` z of the floor below grade m, equivalent thicknesses d_t of the floor and d_w of the
    wall (λ(R_si + R_w + R_se), R_si 0.13). Where d_w < d_t the wall's formula takes d_w for d_t.
    Valid depth 0.01 to 10 m; beyond, ValueError.

    >>> floor, wall, both = basement_transmittance(4.0, 2.4, 0.72, 0.74, 2.0)
    >>> round(float(floor), 3), round(float(wall), 3)
    (0.558, 0.855)
    """
    b = within("characteristic dimension", dimension, 0.5, 1000, "m")
    z = within("depth of the floor", depth, 0.01, 10, "m")
    dt = within("equivalent thickness of the floor", floor_thickness, 0.05, 200, "m")
    dw = within("equivalent thickness of the wall", wall_thickness, 0.02, 200, "m")
    k = _soil(conductivity)
    d = dt + 0.5 * z
    floor = np.where(d < b, 2 * k / (np.pi * b + d) * np.log(np.pi * b / d + 1.0), k / (0.457 * b + d))
    lower = np.minimum(dt, dw)
    wall = 2 * k / (np.pi * z) * (1.0 + 0.5 * lower / (lower + z)) * np.log(z / dw + 1.0)
    # A·U_bf + z·P·U_bw over A + z·P, with P = 2A/B′.
    both = (floor + 2.0 * z / b * wall) / (1.0 + 2.0 * z / b)
    return floor, wall, both


def suspended_floor_transmittance(
    floor: ArrayLike,
    dimension: ArrayLike,
    conductivity: ArrayLike,
    wall: ArrayLike = 0.3,
    ground_resistance: ArrayLike = 0.0,
    height: ArrayLike = 0.5,
    wall_u: ArrayLike = 1.7,
    opening: ArrayLike = 0.0015,
    wind: ArrayLike = 5.0,
    shielding: ArrayLike = 0.05,
) -> tuple[Array, Array, Array]:
    """U of a floor over a ventilated crawl space, that of its ground U_g and of its walls and openings U_x.

    1/U = 1/U_f + 1/(U_g + U_x), W/(m²·K); U_g = 2λ/(πB′ + d_g)·ln(πB′/d_g + 1) with d_g = w + λ(R_si + R_g +
    R_se); U_x = 2h·U_w/B′ + 1450·ε·v·f_w/B′ (ISO 13370, equations 6 to 8). `floor` U_f between rooms and crawl
    space; `dimension` B′, `wall` thickness w, `height` h of the floor above grade, m; `wall_u` U_w of the
    crawl-space wall above grade; `opening` ε m² a meter of perimeter; `wind` v m/s at 10 m; `shielding` f_w
    0.02 sheltered, 0.05 average, 0.10 exposed. Valid for floors at most 0.5 m below grade.

    >>> u, ground, air = suspended_floor_transmittance(0.3, 6.0, 2.0)
    >>> round(float(u), 3)
    0.233
    """
    uf = within("floor transmittance", floor, 0.01, 10, "W/(m²·K)")
    b = within("characteristic dimension", dimension, 0.5, 1000, "m")
    dg = equivalent_thickness(wall, conductivity, ground_resistance)
    k = _soil(conductivity)
    ug = 2 * k / (np.pi * b + dg) * np.log(np.pi * b / dg + 1.0)
    ux = (
        2.0
        * within("height of the floor above grade", height, 0, 3, "m")
        * within("wall transmittance", wall_u, 0, 10, "W/(m²·K)")
        + 1450.0
        * within("ventilation opening", opening, 0, 0.1, "m²/m")
        * within("wind speed", wind, 0, 30, "m/s")
        * within("wind shielding", shielding, 0, 0.2)
    ) / b
    return 1.0 / (1.0 / uf + 1.0 / (ug + ux)), ug, ux


def crawl_space(
    outdoor: ArrayLike,
    outdoor_vapor: ArrayLike,
    indoor: ArrayLike,
    indoor_vapor: ArrayLike,
    ground: ArrayLike,
    floor_u: ArrayLike,
    ground_u: ArrayLike,
    wall_u: ArrayLike,
    air_flow: ArrayLike,
    ground_permeance: ArrayLike,
    floor_permeance: ArrayLike,
) -> tuple[Array, Array, Array]:
    """Monthly temperature (°C), vapor pressure (Pa) and surplus (kg/(s·m²)) of a crawl space, shape (…, 12).

    All per m² of floor. Heat: rooms through `floor_u`, `ground` (°C) through `ground_u`, outdoors through `wall_u`
    and by `air_flow` (m³/(s·m²)). Vapor: ground at saturation through `ground_permeance` (a bare soil:
    `BARE_SOIL`), rooms through `floor_permeance` (kg/(s·m²·Pa)), outdoors by the air. Where the balance would
    pass saturation the vapor pressure is held there, and the surplus must condense. Derived from the two
    balances (the heat balance is that of ISO 13370, annex on ventilated spaces); steady within the month.

    >>> t, pv, wet = crawl_space(20.0, 1800.0, 24.0, 1500.0, 16.0, 0.5, 0.6, 0.1, 1e-3, 1e-9, 1e-11)
    >>> round(float(t), 1), round(float(pv)), float(wet) > 0
    (19.8, 1802, False)
    """
    to, ti, tg = (
        within(n, v, -60, 60, "°C")
        for n, v in (
            ("outdoor temperature", outdoor),
            ("indoor temperature", indoor),
            ("ground temperature", ground),
        )
    )
    po = within("outdoor vapor pressure", outdoor_vapor, 0, 1e4, "Pa")
    pi = within("indoor vapor pressure", indoor_vapor, 0, 1e4, "Pa")
    uf, ug, uw = (
        within(n, v, 0, 20, "W/(m²·K)")
        for n, v in (
            ("floor transmittance", floor_u),
            ("ground transmittance", ground_u),
            ("wall transmittance", wall_u),
        )
    )
    q = within("air flow", air_flow, 0, 1, "m³/(s·m²)")
    wg = within("ground permeance", ground_permeance, 0, 1e-6, "kg/(s·m²·Pa)")
    wf = within("floor permeance", floor_permeance, 0, 1e-6, "kg/(s·m²·Pa)")
    heat = uw + 1.2 * HEAT_AIR * q
    if np.any(uf + ug + heat <= 0):
        raise ValueError("a crawl space needs some exchange of heat")
    t = (uf * ti + ug * tg + heat * to) / (uf + ug + heat)
    # 1/(R_v·T): kg/m³ for each pascal.
    air = q / (R_VAPOR * (t + KELVIN))
    if np.any(wg + wf + air <= 0):
        raise ValueError("a crawl space needs some exchange of vapor")
    source = wg * saturation_pressure(tg) + wf * pi + air * po
    free = source / (wg + wf + air)
    pv = np.minimum(free, saturation_pressure(t))
    return t, pv, np.where(free > pv, source - (wg + wf + air) * pv, 0.0)


BARE_SOIL = 3.0e-9
"""kg/(s·m²·Pa) from damp bare soil to the air above it (a range of 1e-9 to 1e-8; common practice, no published
source)."""


def below_grade_transmittance(depth: ArrayLike, resistance: ArrayLike, conductivity: ArrayLike) -> Array:
    """U of a below-grade wall at one depth, W/(m²·K): 1/(R + πz/(2λ)).

    Heat leaves along quarter circles to grade. `depth` z m, `resistance` R m²·K/W from the room to the soil.
    Source: Latta and Boileau, Canadian Building Digest 116 (1969); ASHRAE Fundamentals (from memory).

    >>> round(float(below_grade_transmittance(1.0, 0.5, 1.4)), 3)
    0.617
    """
    z = within("depth", depth, 0, 10, "m")
    return 1.0 / (_wall(resistance) + np.pi * z / (2.0 * _soil(conductivity)))


def _wall(resistance: ArrayLike) -> Array:
    return within("wall resistance", resistance, 0.05, 1e6, "m²·K/W")


def strip_transmittance(
    top: ArrayLike, bottom: ArrayLike, resistance: ArrayLike, conductivity: ArrayLike
) -> Array:
    """Mean U of the strip of a below-grade wall between two depths, W/(m²·K).

    2λ/(π(z_2 − z_1))·ln((z_2 + 2λR/π)/(z_1 + 2λR/π)): the mean of `below_grade_transmittance` over the strip
    (ASHRAE Fundamentals, Below-Grade Walls; from memory). Valid 0 ≤ `top` < `bottom` ≤ 10 m.

    >>> round(float(strip_transmittance(0.0, 2.4, 0.26, 1.4)), 3)
    0.902
    """
    z1, z2 = within("depth", top, 0, 10, "m"), within("depth", bottom, 0, 10, "m")
    if np.any(z2 <= z1):
        raise ValueError("the bottom of a strip lies below its top")
    k = _soil(conductivity)
    offset = 2.0 * k * _wall(resistance) / np.pi
    return 2.0 * k / (np.pi * (z2 - z1)) * np.log((z2 + offset) / (z1 + offset))


def foundation_wall(
    depths: ArrayLike,
    air: ArrayLike,
    indoor: ArrayLike,
    resistance: ArrayLike,
    conductivity: float,
    heat_capacity: float = 2.0e6,
    inside_film: float = 0.13,
) -> tuple[Array, Array]:
    """Temperatures of a foundation wall by depth and month, °C: of its soil side and of its inner surface.

    `depths` shape (D,), m below grade; `air` outdoor and `indoor` temperatures, shape (…, 12) or scalar indoors;
    `resistance` (…) of the wall from the room's air to the soil, films included, m²·K/W. Result shapes
    (…, D, 12). Two fields are laid over each other: the yearly wave of undisturbed soil at that depth, and the
    steady flow from the room along quarter circles of length πz/2 to grade. The soil side then lies at
    θ_i − (θ_i − θ_soil)·R/(R + πz/(2λ)). Derived from the two sources named at the top; a strip at depth 0 is at
    air temperature, less what its wave loses by being a harmonic.

    >>> month = 10 - 12 * np.cos(2 * np.pi / 365 * (MID_MONTH - 20))
    >>> soil, inner = foundation_wall([0.3, 2.0], month, 20.0, 0.5, 1.5)
    >>> inner.round(1)[:, 0].tolist()
    [16.7, 19.3]
    """
    z = within("depth", depths, 0, 10, "m")
    r = _wall(resistance)[..., None, None]
    t_in = within("indoor temperature", indoor, -10, 60, "°C")
    t_in = t_in[..., None, :] if t_in.ndim else t_in
    mean, amplitude, coldest = (v[..., None, None] for v in yearly_wave(air))
    a = diffusivity(conductivity, heat_capacity)
    soil = soil_temperature(z[:, None], MID_MONTH, mean, amplitude, coldest, a)
    path = np.pi * z[:, None] / (2.0 * _soil(conductivity))
    flow = (t_in - soil) / (r + path)
    film = within("inside film", inside_film, 0, 1, "m²·K/W")
    if np.any(film >= r):
        raise ValueError("the inside film is part of the wall's resistance and must be smaller than it")
    return t_in - flow * r, t_in - flow * film
