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

from reviewer.humidity import saturation_pressure
from reviewer.physics import heat
from reviewer.physics.basics import DAY, MONTH_DAYS, Array
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
    """Month the year starts in (0–11), −1 when nothing condenses, [...]."""
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
    """Years followed until the growth of a year repeats that of the year before (at most `MAX_YEARS`), [...]."""
    pressures: Array
    """Vapor pressure, mean over the month in the first year, Pa, [..., 12, N]."""
    humidity: Array
    """Those over saturation, 0–1, [..., 12, N]."""
    inflow: Array
    """Vapor that came in through the inner surface in the month, kg/m², [..., 12]; negative: went out there."""
    outflow: Array
    """Vapor that went out through the outer surface in the month, kg/m², [..., 12]."""

    @property
    def condenses(self) -> np.ndarray:
        """[...]."""
        return self.start >= 0

    @property
    def wet_months(self) -> np.ndarray:
        """Months in which water is held at their end or condensed in them, [...]."""
        wet = (self.stock > NEGLIGIBLE).any(axis=-1) | (self.rate < -NEGLIGIBLE).any(axis=-1)
        return wet.sum(axis=-1)

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
    >>> t = heat.temperatures([0.05, 0, 2.857142857, 0.12987013], 20.0, t_out, 0.13, 0.04)
    >>> p_out = np.array([477.7, 512.8, 634, 826.2, 1086.5, 1423.4, 1603.2, 1647.1, 1346.5, 1018.7, 767.2, 577.6])
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
        raise ValueError(f"{x.shape[-1] - 1} layers have {x.shape[-1]} faces, but {t.shape[-1]} temperatures came")
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
    wet = gain > NEGLIGIBLE
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
