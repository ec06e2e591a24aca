"""Interstitial condensation and drying: ISO 13788 month by month, DIN 4108-3 by periods, dew-point method.

Layers run from the room outwards; nodes are their faces, N = L + 1, node 0 the inner surface. Water is held
at nodes and moves by diffusion only: no air leakage, rain, capillary flow or storage in the materials, and
no latent heat (ISO 13788 states the same limits). Condensation on the two surfaces isn't counted here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from reviewer.humidity import dew_point, saturation_pressure
from reviewer.physics.basics import DAY, MONTH_DAYS, Array
from reviewer.physics.heat import MOLD_SURFACE_RESISTANCE, OUTSIDE_RESISTANCE, temperatures
from reviewer.physics.vapor import Profile, capped_profile, coordinates, pressures, stretch

NEGLIGIBLE = 1.0e-6
"""kg/m². Less water than this (1 mg/m²) counts as none in verdicts; balances keep it."""
MAX_YEARS = 10
"""Years that a section which doesn't dry is followed (ISO 13788, clause 7, from memory)."""

LIMIT_RUN_OFF = 0.2
"""kg/m² on a face that doesn't absorb, above which water may run off (ISO 13788, 6.7 in the 2012 edition:
200 g/m², from memory)."""
LIMIT_NON_ABSORBING = 0.5
"""kg/m² at a joint of which one side doesn't absorb water (DIN 4108-3, 2014 and 2018, as restated)."""
LIMIT_GENERAL = 1.0
"""kg/m² in a wall or roof (DIN 4108-3, 2014 and 2018, as restated)."""
LIMIT_WOOD = 0.05
"""Mass share that condensate may add to wood (DIN 4108-3, as restated)."""
LIMIT_WOOD_PANEL = 0.03
"""Mass share that condensate may add to wood-based panels (DIN 4108-3, as restated)."""
RESERVE_WALL = 0.1
"""kg/m² a year, drying reserve of timber walls and ceilings (DIN 68800-2 and DIN 4108-3, from memory)."""
RESERVE_ROOF = 0.25
"""kg/m² a year, drying reserve of timber roofs (as above)."""


@dataclass(frozen=True, slots=True)
class CondensationYear:
    """A year of condensation and evaporation. Months in calendar order, January first; [...] is the batch."""

    rate: Array
    """Change of the water held in the month, kg/m², [..., 12, N]."""
    stock: Array
    """Water held at the end of the month, kg/m², [..., 12, N], in the first year: from dry at `start`."""
    start: np.ndarray
    """Month the year starts in (0–11), −1 when nothing condenses at all, [...]."""
    peak: Array
    """Most water held at a month's end, kg/m², [..., N]."""
    peak_month: np.ndarray
    """Month of that peak (0–11), −1 for planes that stay dry, [..., N]."""
    total_peak: Array
    """Most water held in the whole section at a month's end, kg/m², [...]."""
    left: Array
    """Water held when the first year ends, kg/m², [..., N]."""
    dries: np.ndarray
    """Whether nothing is left when the year ends, [...]. True when nothing condenses."""
    accumulates: np.ndarray
    """Whether the water goes on growing from year to year, [...]."""
    annual_gain: Array
    """Growth in the last year followed, kg/m² a year, [...]; 0 when it dries or comes back to the same."""
    years: np.ndarray
    """Years followed until the growth of a year repeats that of the year before (at most `MAX_YEARS`),
    [...]."""
    pressures: Array
    """Vapor pressure, mean over the month in the first year, Pa, [..., 12, N]."""
    humidity: Array
    """Those over saturation, 0–1, [..., 12, N]."""
    inflow: Array
    """Vapor that came in through the inner surface in the month, kg/m², [..., 12]; negative: went out
    there."""
    outflow: Array
    """Vapor that went out through the outer surface in the month, kg/m², [..., 12]."""

    @property
    def condenses(self) -> np.ndarray:
        """Whether more than a negligible amount condenses, [...]."""
        return np.asarray(self.total_peak > NEGLIGIBLE)

    @property
    def wet_months(self) -> np.ndarray:
        """Months in which water is held at their end or condensed in them, [...]."""
        wet = (self.stock > NEGLIGIBLE).any(axis=-1) | (self.rate < -NEGLIGIBLE).any(axis=-1)
        return wet.sum(axis=-1)

    @property
    def zone(self) -> np.ndarray:
        """First and last node that holds water at each month's end, −1 for none, [..., 12, 2]: the extent of
        the wet zone when layers are split (`subdivide`)."""
        wet: np.ndarray = self.stock > NEGLIGIBLE
        last = wet.shape[-1] - 1 - wet[..., ::-1].argmax(axis=-1)
        return np.where(wet.any(axis=-1, keepdims=True), np.stack([wet.argmax(axis=-1), last], axis=-1), -1)

    @property
    def wet_months_at(self) -> np.ndarray:
        """The same plane by plane, [..., N]."""
        return ((self.stock > NEGLIGIBLE) | (self.rate < -NEGLIGIBLE)).sum(axis=-2)


def condensation_year(
    t_nodes: ArrayLike, z: ArrayLike, p_in: ArrayLike, p_out: ArrayLike, *, days: ArrayLike = MONTH_DAYS
) -> CondensationYear:
    """The monthly method of ISO 13788 for any number of condensing planes at once.

    `t_nodes` [..., 12, N], °C, from `heat.temperatures`; `z` [..., 12, L] or what broadcasts to it ([L] for
    one section the year round, [B, 1, L] for a batch), vapor resistances in m²·s·Pa/kg; `p_in` and `p_out`
    [..., 12], Pa; `days` [12]. Leading axes broadcast.

    In each month the vapor pressure is saturation at planes that hold water, nowhere above saturation, and
    between them straight or the stretched string. A plane that dries up within the month stops holding its
    pressure at that moment. So water moves between planes, several may condense or dry at once, and what
    flows in less what flows out is what the planes gain. The year starts, dry, with the first month of
    condensation after one without (of several such, the one whose season gathers most; if every month
    condenses, the month after the least condensation). Source: ISO 13788:2012, 6.4 to 6.6 (from memory).

    Raises ValueError for shapes that don't fit and temperatures beyond those of `saturation_pressure`.

    >>> t_out = np.array([-1.0, 0, 4, 9, 14, 18, 19, 19, 15, 10, 5, 1])
    >>> t = temperatures([0.05, 0, 2.857142857, 0.12987013], 20.0, t_out, 0.13, 0.04)
    >>> rh = np.array([0.85, 0.84, 0.78, 0.72, 0.68, 0.69, 0.73, 0.75, 0.79, 0.83, 0.88, 0.88])
    >>> p_out = rh * saturation_pressure(t_out)
    >>> p_in = p_out + 810 * (20 - t_out.clip(0)) / 20
    >>> year = condensation_year(t, np.array([0.125, 2.0, 0.1, 1.6]) / 2e-10, p_in, p_out)
    >>> int(year.start), year.peak.round(3).tolist(), int(year.peak_month[3]), bool(year.dries)
    (10, [0.0, 0.0, 0.0, 0.407, 0.0], 2, True)
    """
    t = np.asarray(t_nodes, dtype=float)
    if t.ndim < 2 or t.shape[-2] != 12:
        raise ValueError("the monthly method needs temperatures for twelve months: [..., 12, nodes]")
    saturation = saturation_pressure(t)
    x = coordinates(z)
    if x.shape[-1] != t.shape[-1]:
        raise ValueError(
            f"{x.shape[-1] - 1} layers have {x.shape[-1]} faces, but {t.shape[-1]} temperatures came"
        )
    dry = capped_profile(saturation, x, p_in, p_out)
    shape, n = dry.pressures.shape, t.shape[-1]
    lead, batch = shape[:-2], int(np.prod(shape[:-2]))
    seconds = np.asarray(days, dtype=float) * DAY
    y = np.array(np.broadcast_to(saturation, shape)).reshape(batch, 12, n)
    y[..., 0], y[..., -1] = dry.pressures.reshape(y.shape)[..., 0], dry.pressures.reshape(y.shape)[..., -1]
    x = np.broadcast_to(x, shape).reshape(batch, 12, n)
    gain = np.sum(dry.rate, axis=-1).reshape(batch, 12) * seconds
    start = _start(gain)

    stock, mean = np.zeros((batch, 12, n)), dry.pressures.reshape(batch, 12, n)
    flow = dry.flow.reshape(batch, 12, n - 1)
    inflow, outflow = flow[..., 0] * seconds, flow[..., -1] * seconds
    annual, years = np.zeros(batch), np.ones(batch, dtype=int)
    rows = np.flatnonzero(start >= 0)
    if rows.size:
        order = (start[rows, None] + np.arange(12)) % 12
        place = (rows[:, None], order)
        run = _run(y[place], x[place], seconds[order], np.zeros((rows.size, n)))
        stock[place], inflow[place], outflow[place] = run.stock, run.inflow, run.outflow
        mean = mean.copy()
        mean[place] = run.pressures
        annual[rows], years[rows] = _further_years(y[place], x[place], seconds[order], run.stock[:, -1])
    rate = _differences(stock, start)
    left = np.where(start[:, None] >= 0, stock[np.arange(batch), start - 1], 0.0)
    peak, total = stock.max(axis=1), stock.sum(axis=2).max(axis=1)

    return CondensationYear(
        rate=rate.reshape(shape),
        stock=stock.reshape(shape),
        start=start.reshape(lead),
        peak=peak.reshape(*lead, n),
        peak_month=np.where(peak > NEGLIGIBLE, stock.argmax(axis=1), -1).reshape(*lead, n),
        total_peak=total.reshape(lead),
        left=left.reshape(*lead, n),
        dries=(left.sum(axis=1) <= NEGLIGIBLE).reshape(lead),
        accumulates=(annual > NEGLIGIBLE).reshape(lead),
        annual_gain=annual.reshape(lead),
        years=years.reshape(lead),
        pressures=mean.reshape(shape),
        humidity=mean.reshape(shape) / saturation,
        inflow=inflow.reshape(shape[:-1]),
        outflow=outflow.reshape(shape[:-1]),
    )


def _start(gain: Array) -> np.ndarray:
    """First month of the year of the balance, [B], from what each month [B, 12] would condense alone."""
    wet = gain > 0.0
    first = wet & ~np.roll(wet, 1, axis=1)
    start = np.where(wet.any(axis=1), first.argmax(axis=1), -1)
    always = wet.all(axis=1)
    if always.any():
        start[always] = (gain[always].argmin(axis=1) + 1) % 12
    several = np.flatnonzero(first.sum(axis=1) > 1)
    if several.size:
        season, run = np.zeros((several.size, 12)), np.zeros(several.size)
        for month in range(23, -1, -1):
            run = np.where(wet[several, month % 12], run + gain[several, month % 12], 0.0)
            season[:, month % 12] = run
        start[several] = np.where(first[several], season, -1.0).argmax(axis=1)
    return start


def _differences(stock: Array, start: np.ndarray) -> Array:
    """Change within each calendar month; the starting month begins dry."""
    before = np.roll(stock, 1, axis=1)
    rows = np.flatnonzero(start >= 0)
    before[rows, start[rows]] = 0.0
    return stock - before


class _Run(NamedTuple):
    stock: Array
    pressures: Array
    inflow: Array
    outflow: Array


def _run(y: Array, x: Array, seconds: Array, stock: Array) -> _Run:
    """Months one after the other from a given stock: [B, M, N] conditions, [B, M] durations, [B, N] stock.

    All months ahead are computed at once with the planes that now hold water. That holds until the end of
    the first month in which another plane starts to condense, or until the moment at which a plane runs dry:
    so there are as many passes as such events, not months.
    """
    batch, months, n = y.shape
    step = np.arange(months)
    out = _Run(np.zeros(y.shape), np.zeros(y.shape), np.zeros((batch, months)), np.zeros((batch, months)))
    rows = np.arange(batch)
    month = np.zeros(batch, dtype=int)
    remaining = seconds[:, 0].copy()
    water = stock.copy()
    while rows.size:
        i = np.arange(rows.size)
        wet = water > 0.0
        held = np.repeat(wet[:, None], months, axis=1)
        held[..., 0] = held[..., -1] = True
        known = held.copy()
        flat = (-1, n)
        p, g = stretch(y[rows].reshape(flat), x[rows].reshape(flat), held.reshape(flat))
        p, g = p.reshape(-1, months, n), g.reshape(-1, months, n - 1)
        rate = np.zeros(p.shape)
        np.subtract(g[..., :-1], g[..., 1:], out=rate[..., 1:-1])
        fresh = held & ~known & (rate > 0.0)
        rate = np.where(wet[:, None] | fresh, rate, 0.0)

        time = np.where(step < month[:, None], 0.0, seconds[rows])
        time[i, month] = remaining
        after = water[:, None] + np.cumsum(rate * time[..., None], axis=1)
        stops = (step >= month[:, None]) & (fresh | (after < 0.0)).any(axis=-1)
        last = np.where(stops.any(axis=1), stops.argmax(axis=1), months - 1)

        before = np.where((last > month)[:, None], after[i, last - 1], water)
        gain, available = rate[i, last], time[i, last]
        with np.errstate(divide="ignore", invalid="ignore"):
            dry_at = np.where(gain < 0.0, before / -gain, np.inf)
        first_dry = dry_at.min(axis=1)
        ends = first_dry >= available
        used = np.minimum(first_dry, available)
        water = np.maximum(before + gain * used[:, None], 0.0)
        water[dry_at <= used[:, None] * (1.0 + 1e-12)] = 0.0

        time[step > last[:, None]] = 0.0
        time[i, last] = used
        out.pressures[rows] += p * time[..., None]
        out.inflow[rows] += g[..., 0] * time
        out.outflow[rows] += g[..., -1] * time
        full = (step >= month[:, None]) & (step < last[:, None])
        stock_rows = np.where(full[..., None], after, out.stock[rows])
        stock_rows[i[ends], last[ends]] = water[ends]
        out.stock[rows] = stock_rows

        month = np.where(ends, last + 1, last)
        remaining = np.where(ends, seconds[rows, np.minimum(last + 1, months - 1)], available - used)
        going = month < months
        rows, month, remaining, water = rows[going], month[going], remaining[going], water[going]
    return out._replace(pressures=out.pressures / seconds[..., None])


def _further_years(y: Array, x: Array, seconds: Array, stock: Array) -> tuple[Array, np.ndarray]:
    """Growth in the last year followed and the number of years, for stocks [B, N] left after the first."""
    growth, years = stock.sum(axis=1), np.ones(len(y), dtype=int)
    growth[growth <= NEGLIGIBLE] = 0.0
    water = stock
    rows = np.flatnonzero(growth > 0.0)
    for year in range(2, MAX_YEARS + 1):
        if not rows.size:
            break
        end = _run(y[rows], x[rows], seconds[rows], water[rows]).stock[:, -1]
        gained = (end - water[rows]).sum(axis=1)
        repeats = (np.abs(end - water[rows]).max(axis=1) <= NEGLIGIBLE) | (
            np.abs(gained - growth[rows]) <= 1e-6 * np.abs(growth[rows])
        )
        growth[rows], years[rows] = gained, year
        water = water.copy()
        water[rows] = end
        rows = rows[~repeats]
    return np.where(np.abs(growth) <= NEGLIGIBLE, 0.0, growth), years


@dataclass(frozen=True, slots=True)
class Drying:
    """How a layer that starts wet dries."""

    months: Array
    """Months until the end of the first month in which no water is left anywhere, inf when some is left after
    the years followed, [...]."""
    stock: Array
    """Water at the end of each month, in order from the starting month and until it is dry for the first
    time, kg/m², [..., 12 × years, N]."""
    moved: Array
    """Most water held at each other node meanwhile, kg/m², [..., N]; 0 at the wet node."""


def drying_time(
    t_nodes: ArrayLike,
    z: ArrayLike,
    p_in: ArrayLike,
    p_out: ArrayLike,
    node: int,
    *,
    water: ArrayLike = 1.0,
    start: int = 9,
    years: int = MAX_YEARS,
    days: ArrayLike = MONTH_DAYS,
) -> Drying:
    """Drying of a wet layer, ISO 13788:2012, clause 7 (from memory): `water` in kg/m² (the standard's 1 kg/m²
    for built-in moisture, or what leaked in) at `node`, the middle of the layer, from month `start` (0–11).

    Arrays as for `condensation_year`; `water` [...]; the layer must have a node in its middle (`subdivide`).
    The water moves, condenses elsewhere and leaves by diffusion for at most `years`. ValueError for a surface
    node.

    >>> t_out, p_out = np.full(12, 10.0), np.full(12, 850.0)
    >>> t = temperatures([0.5, 0.5], 20.0, t_out, 0.13, 0.04)
    >>> drying_time(t, [1e10, 1e10], np.full(12, 1000.0), p_out, 1, years=1).months.item()
    3.0
    """
    t = np.asarray(t_nodes, dtype=float)
    n = t.shape[-1]
    if not 0 < node < n - 1:
        raise ValueError("water that dries must lie between layers or within one, not on a surface")
    if not (0 <= start < 12 and 1 <= years <= 100):
        raise ValueError("drying starts in a month from 0 to 11 and is followed for 1 to 100 years")
    saturation = saturation_pressure(t)
    profile = capped_profile(saturation, coordinates(z), p_in, p_out)
    shape = profile.pressures.shape
    lead, batch = shape[:-2], int(np.prod(shape[:-2]))
    y = np.array(np.broadcast_to(saturation, shape))
    y[..., 0], y[..., -1] = profile.pressures[..., 0], profile.pressures[..., -1]
    x = np.broadcast_to(coordinates(z), shape)
    order = (start + np.arange(12)) % 12
    y, x = y.reshape(batch, 12, n)[:, order], x.reshape(batch, 12, n)[:, order]
    seconds = np.broadcast_to((np.asarray(days, dtype=float) * DAY)[order], (batch, 12))

    first = np.zeros((batch, n))
    first[:, node] = np.broadcast_to(np.asarray(water, dtype=float), lead).reshape(batch)
    stock = np.zeros((batch, 12 * years, n))
    dry = np.where(first.sum(axis=1) > NEGLIGIBLE, np.inf, 0.0)
    last = first
    for year in range(years):
        rows = np.flatnonzero(np.isinf(dry))
        if not rows.size:
            break
        run = _run(y[rows], x[rows], seconds[rows], last[rows]).stock
        nothing = run.sum(axis=2) <= NEGLIGIBLE
        done = nothing.any(axis=1)
        dry[rows[done]] = 12 * year + nothing[done].argmax(axis=1) + 1
        stock[rows, 12 * year : 12 * (year + 1)] = np.where(
            (np.cumsum(nothing, axis=1) > 0)[..., None], 0.0, run
        )
        last = stock[:, 12 * year + 11]
    moved = stock.max(axis=1)
    moved[:, node] = 0.0
    return Drying(
        months=dry.reshape(lead),
        stock=stock.reshape(*lead, 12 * years, n),
        moved=moved.reshape(*lead, n),
    )


@dataclass(frozen=True, slots=True)
class Subdivision:
    """Layers split into thinner ones, so that water may also lie within them."""

    r: Array
    """m²·K/W, [..., parts]."""
    z: Array
    """m²·s·Pa/kg, [..., parts]."""
    layer: np.ndarray
    """Layer that each part belongs to, [parts]."""
    joints: np.ndarray
    """Node at each face of the original layers, [L + 1]."""

    def middle(self, layer: int) -> int:
        """The node in the middle of a layer; ValueError when it wasn't split evenly."""
        first, last = int(self.joints[layer]), int(self.joints[layer + 1])
        if (last - first) % 2:
            raise ValueError(f"layer {layer} has no node in its middle")
        return (first + last) // 2


MOST_RESISTANCE = 0.25
"""m²·K/W of a part (ISO 13788:2012, 6.3: insulation is divided into parts of at most this; from memory)."""


def subdivide(
    r_layers: ArrayLike, z_layers: ArrayLike, *, most: float = MOST_RESISTANCE, evenly: tuple[int, ...] = ()
) -> Subdivision:
    """Layers split into equal parts of at most `most` m²·K/W; those listed in `evenly` into an even number.

    `r_layers` and `z_layers` [..., L]; a batch takes the number of parts that its member with the most needs.
    Source: ISO 13788:2012, 6.3 (from memory).

    >>> parts = subdivide([0.05, 0.6], [1e9, 6e9], evenly=(0,))
    >>> parts.r.round(3).tolist(), parts.layer.tolist(), parts.joints.tolist(), parts.middle(0)
    ([0.025, 0.025, 0.2, 0.2, 0.2], [0, 0, 1, 1, 1], [0, 2, 5], 1)
    """
    if not most > 0:
        raise ValueError("the greatest resistance of a part must be above 0")
    r, z = np.broadcast_arrays(np.asarray(r_layers, dtype=float), np.asarray(z_layers, dtype=float))
    layers = r.shape[-1]
    needed = np.ceil(r.reshape(-1, layers).max(axis=0) / most - 1e-9)
    count = np.maximum(needed, 1).astype(int)
    even = list(evenly)
    count[even] += count[even] % 2
    return Subdivision(
        r=np.repeat(r / count, count, axis=-1),
        z=np.repeat(z / count, count, axis=-1),
        layer=np.repeat(np.arange(layers), count),
        joints=np.concatenate([[0], np.cumsum(count)]),
    )


@dataclass(frozen=True, slots=True)
class DewPointCheck:
    """Temperatures and vapor pressures at the joints under one steady condition."""

    saturation: Array
    """Pa, [..., N]."""
    straight: Array
    """Vapor pressure were there no saturation, Pa, [..., N]."""
    dew_point: Array
    """Dew point of that, °C, [..., N]: condensation where it is above the temperature."""
    over: np.ndarray
    """Whether that passes saturation at the joint, [..., N]."""
    plane: np.ndarray
    """Joint at which it passes saturation most, −1 for none, [...]."""
    profile: Profile
    """Pressures and flows with condensation; its `rate` is what condenses, kg/(s·m²), [..., N]."""


def dew_point_method(t_nodes: ArrayLike, z: ArrayLike, p_in: ArrayLike, p_out: ArrayLike) -> DewPointCheck:
    """The dew-point method for one condition, a design month or day: where straight vapor pressures pass
    saturation, and what condenses once they are held there.

    `t_nodes` [..., N], °C; `z` [..., L]; `p_in` and `p_out` [...], Pa. Source: ASHRAE Fundamentals, ch. 27
    (water vapor flow, "dew-point method"); steady, without storage.

    >>> c = dew_point_method([18.0, 3.0, 1.0], [1e9, 5e9], 1200.0, 500.0)
    >>> c.over.tolist(), int(c.plane), c.profile.pressures.round(0).tolist()
    ([False, True, False], 1, [1200.0, 757.0, 500.0])
    """
    saturation = saturation_pressure(t_nodes)
    straight = pressures(z, p_in, p_out)
    excess = straight - saturation
    over = excess > NEGLIGIBLE
    return DewPointCheck(
        saturation=saturation,
        straight=straight,
        dew_point=dew_point(straight),
        over=over,
        plane=np.where(over.any(axis=-1), excess.argmax(axis=-1), -1),
        profile=capped_profile(saturation, coordinates(z), p_in, p_out),
    )


@dataclass(frozen=True, slots=True)
class PeriodClimate:
    """Block climates of a period method."""

    source: str
    t_in: float
    p_in: float
    t_out: float
    p_out: float
    dew_days: float
    p_drying: float
    """Pa, on both sides."""
    saturation_drying: Mapping[str, float]
    """Kind to the saturation pressure at the evaporating plane, Pa."""
    drying_days: float
    r_si: float
    r_se: float


DIN_4108_3 = PeriodClimate(
    source="DIN 4108-3:2014 and 2018 (from memory)",
    t_in=20.0,
    p_in=1168.0,
    t_out=-5.0,
    p_out=321.0,
    dew_days=90.0,
    p_drying=1200.0,
    saturation_drying={"wall": 1700.0, "roof": 2000.0},
    drying_days=90.0,
    r_si=MOLD_SURFACE_RESISTANCE,
    r_se=OUTSIDE_RESISTANCE,
)
"""20 °C, 50 % inside and −5 °C, 80 % outside for 90 days; then 1200 Pa on both sides for 90 days."""
DIN_4108_3_2001 = PeriodClimate(
    source="DIN 4108-3:2001 (from memory)",
    t_in=20.0,
    p_in=1170.0,
    t_out=-10.0,
    p_out=208.0,
    dew_days=60.0,
    p_drying=982.0,
    saturation_drying={"wall": 1403.0},
    drying_days=90.0,
    r_si=0.13,
    r_se=OUTSIDE_RESISTANCE,
)
"""20 °C, 50 % inside and −10 °C, 80 % outside for 60 days; then 12 °C, 70 % on both sides for 90 days. Walls
only: its roofs take a sun-warmed surface."""


@dataclass(frozen=True, slots=True)
class Periods:
    """Result of a period method, for one section."""

    case: str
    """a no condensation, b in one plane, c in several planes, d in a zone (DIN 4108-3)."""
    planes: tuple[tuple[int, int], ...]
    """First and last node of each plane or zone, from the room; in case a the joint nearest to saturation."""
    temperatures: Array
    """°C in the dew period, [N]."""
    pressures: Array
    """Pa in the dew period, [N]."""
    condensate: Array
    """kg/m² at each node in the dew period, [N]."""
    total: float
    """Their sum, kg/m²."""
    evaporation: float
    """What can evaporate in the drying period, kg/m²."""

    @property
    def dries(self) -> bool:
        return self.evaporation >= self.total

    @property
    def reserve(self) -> float:
        """Drying reserve: evaporation possible less condensation, kg/m² a year."""
        return self.evaporation - self.total


def period_method(
    r_layers: ArrayLike, z_layers: ArrayLike, kind: str = "wall", climate: PeriodClimate = DIN_4108_3
) -> Periods:
    """Condensation in a dew period and evaporation in a drying period, for one section of [L] layers.

    `r_layers` m²·K/W, `z_layers` m²·s·Pa/kg, `kind` wall or roof. Source: DIN 4108-3:2014 and 2018, Annex A
    (from memory). Case c: when one plane runs dry, the other goes on to both sides. Case d: evaporation from
    the middle of the zone. Case a: evaporation from the joint that is nearest to saturation, for the drying
    reserve (from memory, less sure). A zone shows where two nodes that follow each other are wet; split thick
    layers. Not for greened roofs, cooled rooms or floors on the ground; ValueError for fewer than two layers.

    >>> p = period_method([0.05, 2.2857, 0.2963, 0.02], np.array([0.125, 0.08, 2.4, 0.7]) / 2e-10)
    >>> p.case, p.planes, round(p.total, 2), round(p.evaporation, 2), p.dries
    ('b', ((2, 2),), 4.83, 4.04, False)
    """
    x = coordinates(z_layers)
    if x.ndim != 1 or x.size < 3:
        raise ValueError("the period method takes one section of two layers or more")
    if kind not in climate.saturation_drying:
        raise ValueError(f"the period method of {climate.source} has no climate for a {kind}")
    c = climate
    t = temperatures(r_layers, c.t_in, c.t_out, c.r_si, c.r_se)
    saturation = saturation_pressure(t)
    profile = capped_profile(saturation, x, c.p_in, c.p_out)
    condensate = np.where(profile.rate > 0, profile.rate, 0.0) * c.dew_days * DAY
    wet = condensate > NEGLIGIBLE
    nodes = np.flatnonzero(wet)
    if nodes.size:
        groups = [(int(g[0]), int(g[-1])) for g in np.split(nodes, np.flatnonzero(np.diff(nodes) > 1) + 1)]
        case = "c" if len(groups) > 1 else ("b" if groups[0][0] == groups[0][1] else "d")
    else:
        nearest_joint = int((profile.pressures / saturation)[1:-1].argmax()) + 1
        groups, case = [(nearest_joint, nearest_joint)], "a"
    masses = [float(condensate[a : b + 1].sum()) for a, b in groups]
    drive = c.saturation_drying[kind] - c.p_drying
    return Periods(
        case=case,
        planes=tuple(groups),
        temperatures=t,
        pressures=profile.pressures,
        condensate=np.where(wet, condensate, 0.0),
        total=float(sum(masses)),
        evaporation=_evaporation(
            [(float(x[a] + x[b]) / 2, m) for (a, b), m in zip(groups, masses, strict=True)],
            float(x[-1]),
            drive,
            c.drying_days * DAY,
        ),
    )


def _evaporation(planes: list[tuple[float, float]], total: float, drive: float, seconds: float) -> float:
    """Vapor in kg/m² that can leave planes (coordinate, mass) by both sides: the innermost inwards, the
    outermost outwards; the last plane left goes on whatever it holds."""
    planes = list(planes)
    gone = 0.0
    while len(planes) > 1:
        inwards, outwards = drive / planes[0][0], drive / (total - planes[-1][0])
        time = min(planes[0][1] / inwards, planes[-1][1] / outwards, seconds)
        gone += (inwards + outwards) * time
        seconds -= time
        if seconds <= 0.0:
            return gone
        (x0, m0), (x1, m1) = planes[0], planes[-1]
        left = [(x0, m0 - inwards * time), *planes[1:-1], (x1, m1 - outwards * time)]
        planes = [p for p in left if p[1] > NEGLIGIBLE] or [max(left, key=lambda p: p[1])]
    at = planes[0][0]
    return gone + (drive / at + drive / (total - at)) * seconds


def condensate_limit(density: float, thickness: float, *, panel: bool) -> float:
    """Most condensate in kg/m² that a piece of wood or a wood-based panel may take up.

    `density` kg/m³, `thickness` m. Source: DIN 4108-3 (as restated): 5 % of the mass for wood, 3 % for
    panels.

    >>> condensate_limit(600.0, 0.012, panel=True)
    0.216
    """
    if not (density > 0 and thickness > 0):
        raise ValueError("wood needs a density and a thickness above 0")
    return (LIMIT_WOOD_PANEL if panel else LIMIT_WOOD) * density * thickness
