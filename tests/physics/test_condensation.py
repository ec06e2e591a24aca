"""The monthly balance: exactness against independent solutions, and what must hold for every section."""

from __future__ import annotations

import itertools
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.humidity import saturation_pressure
from reviewer.physics import condensation as c
from reviewer.physics import heat, vapor
from reviewer.physics.basics import MONTH_SECONDS

Z_SCALE = 1 / 2e-10
PHASE = np.cos(2 * np.pi * (np.arange(12) - 0.5) / 12)


def climate(mean=6.0, swing=12.0, humidity=0.8, excess=810.0, inside=20.0):
    t_out = mean - swing * PHASE
    p_out = humidity * saturation_pressure(t_out)
    p_in = np.minimum(p_out + excess * (1 - np.clip(t_out, 0, 20) / 20), 0.95 * saturation_pressure(inside))
    return t_out, p_in, p_out


ANY_LAYERS = st.integers(2, 7)


@st.composite
def sections(draw, layers=ANY_LAYERS):
    """A section and a climate: (r, z, t_out, p_in, p_out), zero and vapor-tight layers among them."""
    n = draw(layers)
    r = draw(st.lists(st.sampled_from([0.0, 0.05, 0.13, 0.5, 2.0, 4.5]), min_size=n, max_size=n))
    s_d = draw(
        st.lists(st.sampled_from([0.0, 0.02, 0.1, 0.5, 2.0, 8.0, 60.0, 1500.0, 1e5]), min_size=n, max_size=n)
    )
    t_out, p_in, p_out = climate(
        draw(st.floats(-8, 26)), draw(st.floats(0, 18)), draw(st.floats(0.4, 0.95)), draw(st.floats(0, 1360))
    )
    return np.array(r), np.array(s_d) * Z_SCALE, t_out, p_in, p_out


def balance(r, z, t_out, p_in, p_out, inside=20.0, **more):
    return c.condensation_year(heat.temperatures(r, inside, t_out, 0.13, 0.04), z, p_in, p_out, **more)


# ------------------------------------------------------------------------------------------ conservation


@settings(deadline=None)
@given(sections())
def test_what_comes_in_less_what_goes_out_is_what_the_planes_gain(section):
    y = balance(*section)
    scale = np.maximum(np.abs(y.inflow), np.abs(y.outflow)) + np.abs(y.rate).max(axis=-1)
    assert np.all(np.abs(y.inflow - y.outflow - y.rate.sum(axis=-1)) <= 1e-12 * scale)


@settings(deadline=None)
@given(sections())
def test_stock_is_the_sum_of_the_changes_and_never_negative(section):
    y = balance(*section)
    assert np.all(y.stock >= 0)
    if y.start >= 0:
        order = (y.start + np.arange(12)) % 12
        # What is left when a plane of thousands of kg/m² has dried is round-off of those thousands.
        round_off = 1e-12 * max(1.0, float(y.stock.max()))
        assert y.stock[order] == pytest.approx(np.cumsum(y.rate[order], axis=0), rel=1e-9, abs=round_off)
        assert y.left == pytest.approx(y.stock[order[-1]], abs=0)
    else:
        assert not y.stock.any()
        assert y.dries


@settings(deadline=None)
@given(sections())
def test_no_vapor_pressure_passes_saturation_and_wet_planes_hold_it(section):
    y = balance(*section)
    assert np.all(y.humidity <= 1 + 1e-9)
    if y.start >= 0:
        order = (y.start + np.arange(12)) % 12
        stock = np.vstack([np.zeros(y.stock.shape[1]), y.stock[order]])
        throughout = (stock[:-1] > 0) & (stock[1:] > 0)
        assert y.humidity[order][throughout] == pytest.approx(1.0, abs=1e-9)


# ----------------------------------------------------------------------------------- independent solutions


def test_profile_is_the_solution_of_the_obstacle_problem_as_a_linear_program():
    # The greatest convex function under saturation, by scipy's linear programming instead of corners.
    from scipy.optimize import linprog

    rng = np.random.default_rng(7)
    for _ in range(60):
        n = int(rng.integers(3, 9))
        dx = rng.uniform(0.2, 5.0, n - 1)
        x = np.concatenate([[0.0], np.cumsum(dx)])
        cap = rng.uniform(300.0, 2500.0, n)
        p_in, p_out = rng.uniform(200, cap[0]), rng.uniform(200, cap[-1])
        convex = np.zeros((n - 2, n))
        for i in range(n - 2):
            convex[i, i : i + 3] = [-1 / dx[i], 1 / dx[i] + 1 / dx[i + 1], -1 / dx[i + 1]]
        bounds = [(p_in, p_in), *[(None, v) for v in cap[1:-1]], (p_out, p_out)]
        solved = linprog(-np.ones(n), A_ub=convex, b_ub=np.zeros(n - 2), bounds=bounds)
        got = vapor.capped_profile(cap, x, p_in, p_out)
        assert got.pressures == pytest.approx(solved.x, rel=1e-6)
        assert np.all(got.rate >= -1e-12)


def stepwise_year(saturation, x, p_in, p_out, start, steps):
    """A slow, independent balance in small fixed steps: each state found by trying every set of touching planes."""
    n = saturation.shape[1]
    inner = range(1, n - 1)
    known: dict[tuple[int, tuple[int, ...]], np.ndarray] = {}

    def rate(month, wet):
        if (month, wet) not in known:
            y = saturation[month].copy()
            y[0], y[-1] = min(p_in[month], y[0]), min(p_out[month], y[-1])
            free = [i for i in inner if i not in wet]
            for size in range(len(free) + 1):
                for touching in itertools.combinations(free, size):
                    held = sorted({0, n - 1, *wet, *touching})
                    p = np.interp(x, x[held], y[held])
                    g = -np.diff(p) / np.diff(x)
                    gain = np.concatenate([[0.0], g[:-1] - g[1:], [0.0]])
                    if np.all(p <= y * (1 + 1e-9)) and all(gain[i] >= -1e-18 for i in touching):
                        known[month, wet] = np.where([i in held for i in range(n)], gain, 0.0)
                        return known[month, wet]
            raise AssertionError("no state found")
        return known[month, wet]

    water, ends = np.zeros(n), np.zeros((12, n))
    for month in (start + np.arange(12)) % 12:
        dt = MONTH_SECONDS[month] / steps
        for _ in range(steps):
            wet = tuple(int(i) for i in np.flatnonzero(water > 0))
            water = np.maximum(water + rate(month, wet) * dt, 0.0)
        ends[month] = water
    most = max(np.abs(v).max() for v in known.values()) * MONTH_SECONDS.max() / steps
    return ends, most


@pytest.mark.parametrize("seed", [0, 1, 3, 4, 5, 9, 10, 15])
def test_events_give_what_small_steps_give(seed):
    rng = np.random.default_rng(seed)
    n = 4 if seed % 2 else 5
    r, s_d = rng.uniform(0.05, 1.5, n), np.sort(np.exp(rng.uniform(-3, 2, n)))
    t_out, p_in, p_out = climate(rng.uniform(0, 6), rng.uniform(6, 14), 0.85, rng.uniform(900, 1360))
    t = heat.temperatures(r, 20.0, t_out, 0.13, 0.04)
    y = c.condensation_year(t, s_d * Z_SCALE, p_in, p_out)
    assert y.condenses
    x = np.concatenate([[0.0], np.cumsum(s_d * Z_SCALE)])
    ends, step = stepwise_year(saturation_pressure(t), x, p_in, p_out, int(y.start), 400)
    # Fixed steps miss each event by up to a step: a few steps' worth of the largest flow.
    assert y.stock == pytest.approx(ends, abs=3 * step)


# ------------------------------------------------------------------------------------------- invariances


@settings(deadline=None)
@given(sections())
def test_a_section_turned_around_is_wet_in_the_mirror(section):
    r, z, t_out, p_in, p_out = section
    t = heat.temperatures(r, 20.0, t_out, 0.13, 0.04)
    y = c.condensation_year(t, z, p_in, p_out)
    mirror = c.condensation_year(t[:, ::-1], z[::-1], p_out, p_in)
    # Faces of a layer without vapor resistance are one place: compare the sums over such places.
    place = np.concatenate([[0], np.cumsum(z > 0)])
    for month in range(12):
        a = np.bincount(place, y.stock[month])
        b = np.bincount(place, mirror.stock[month, ::-1])
        assert a == pytest.approx(b, rel=1e-5, abs=2e-6)
    assert y.inflow == pytest.approx(-mirror.outflow, rel=1e-5, abs=2e-6)


def test_the_same_air_on_both_sides_of_a_symmetric_section_wets_it_symmetrically():
    z = np.array([0.5, 0.1, 0.1, 0.5]) * Z_SCALE
    t = np.tile(np.array([10.0, 4.0, 1.0, 4.0, 10.0]), (12, 1)) - 3 * PHASE[:, None]
    p = 0.9 * saturation_pressure(t[:, 0])
    y = c.condensation_year(t, z, p, p)
    assert y.condenses
    assert y.stock == pytest.approx(y.stock[:, ::-1], rel=1e-9)
    assert y.inflow == pytest.approx(-y.outflow, rel=1e-9)


@settings(deadline=None)
@given(sections(st.integers(2, 5)), st.integers(0, 4), st.floats(0.1, 0.9))
def test_splitting_a_layer_without_insulation_changes_nothing(section, which, share):
    r, z, t_out, p_in, p_out = section
    k = which % len(r)
    # Within a layer that insulates, saturation bends below the straight line and water may lie inside it: only
    # a split of a layer of one temperature must change nothing at all.
    r = r.copy()
    r[k] = 0.0
    z = np.maximum(z, 0.02 * Z_SCALE)
    y = balance(r, z, t_out, p_in, p_out)
    split_z = np.insert(z, k, z[k] * share)
    split_z[k + 1] = z[k] * (1 - share)
    s = balance(np.insert(r, k, 0.0), split_z, t_out, p_in, p_out)
    assert s.stock.sum(axis=-1) == pytest.approx(y.stock.sum(axis=-1), rel=1e-6, abs=1e-7)
    assert s.inflow == pytest.approx(y.inflow, rel=1e-6, abs=1e-7)


def test_finer_and_finer_parts_converge():
    r, z = np.array([0.05, 4.0, 0.1]), np.array([0.1, 0.3, 2.0]) * Z_SCALE
    conditions = climate()
    totals = []
    for most in (10.0, 0.25, 0.05):
        parts = c.subdivide(r, z, most=most)
        totals.append(float(balance(parts.r, parts.z, *conditions).total_peak))
    assert abs(totals[2] - totals[1]) < 0.01 * totals[1]


@settings(max_examples=60, deadline=None)
@given(sections(), st.floats(1.5, 50.0))
def test_more_resistance_inside_never_condenses_more_outside_of_it(section, times):
    r, z, t_out, p_in, p_out = section
    t = heat.temperatures(r, 20.0, t_out, 0.13, 0.04)
    z = np.maximum(z, 0.02 * Z_SCALE)
    saturation = saturation_pressure(t)
    before = vapor.capped_profile(saturation, vapor.coordinates(z), p_in, p_out)
    tighter = z.copy()
    tighter[0] *= times
    after = vapor.capped_profile(saturation, vapor.coordinates(tighter), p_in, p_out)
    outwards = before.flow[:, 0] > 0
    assert np.all((after.rate <= before.rate + 1e-12 + 1e-6 * np.abs(before.rate))[outwards])


def test_a_batch_gives_what_its_members_give_one_by_one():
    rng = np.random.default_rng(3)
    r = rng.choice([0.0, 0.05, 0.5, 2.5], (40, 1, 6))
    z = rng.choice([0.0, 0.05, 0.3, 2.0, 50.0, 1e5], (40, 1, 6)) * Z_SCALE
    t_out = np.stack(
        [climate(m, s)[0] for m, s in zip(rng.uniform(-5, 20, 40), rng.uniform(2, 15, 40), strict=True)]
    )
    p_out = 0.8 * saturation_pressure(t_out)
    p_in = p_out + 700 * (1 - np.clip(t_out, 0, 20) / 20)
    batch = balance(r, z, t_out, p_in, p_out)
    for b in range(40):
        one = balance(r[b, 0], z[b, 0], t_out[b], p_in[b], p_out[b])
        for name in c.CondensationYear.__slots__:
            assert np.array_equal(getattr(batch, name)[b], getattr(one, name)), (b, name)


def test_resistances_by_month_are_taken_month_by_month():
    r, s_d = np.array([0.05, 3.0, 0.1]), np.array([1.0, 0.1, 2.0])
    conditions = climate()
    constant = balance(r, s_d * Z_SCALE, *conditions)
    monthly = balance(r, np.tile(s_d * Z_SCALE, (12, 1)), *conditions)
    assert np.array_equal(constant.stock, monthly.stock)
    opened = np.tile(s_d * Z_SCALE, (12, 1))
    opened[4:9, 2] /= 10
    assert balance(r, opened, *conditions).total_peak <= constant.total_peak * 1.0001
    assert balance(r, opened, *conditions).wet_months < constant.wet_months


# ------------------------------------------------------------------------------------------ single cases


def test_a_dry_section_has_no_start_no_peak_and_dries():
    y = balance([0.05, 3.0, 0.1], np.array([20.0, 0.1, 0.1]) * Z_SCALE, *climate())
    assert y.start == -1
    assert not y.condenses
    assert y.dries
    assert not y.accumulates
    assert y.peak_month.tolist() == [-1, -1, -1, -1]
    assert y.wet_months == 0


def test_a_membrane_without_thickness_and_a_vapor_tight_skin_are_handled():
    y = balance([0.05, 3.0, 0.0, 0.0], np.array([0.1, 0.1, 0.0, np.inf]) * Z_SCALE, *climate(excess=1080))
    assert y.condenses
    assert not y.dries
    assert np.isfinite(y.stock).all()
    # What the tightest layer counted lets through: 2,300 Pa over 10⁵ m of air at most.
    assert np.abs(y.outflow).max() < 2300 / (vapor.MAX_S_D * Z_SCALE) * MONTH_SECONDS.max()


def test_water_moves_from_plane_to_plane():
    # Two cold planes with a permeable warm-side layer: when it warms up, the inner plane feeds the outer one.
    r, z = np.array([0.05, 1.5, 1.5, 0.1]), np.array([0.3, 3.0, 0.1, 5.0]) * Z_SCALE
    t_out, p_in, p_out = climate(0.0, 12.0, 0.85, 1080)
    t = heat.temperatures(r, 20.0, t_out, 0.13, 0.04)
    d = c.drying_time(t, z, p_in, p_out, 2, water=0.5, start=9, years=1)
    assert d.stock[0, 3] > 0.0
    assert d.stock[0].sum() < 0.5 + 0.2
    assert d.moved[3] > 0.05


def test_every_month_condensing_starts_after_the_least():
    t_out = np.full(12, -10.0) - PHASE
    y = balance(
        [0.05, 3.0, 0.1], np.array([0.1, 0.1, 50.0]) * Z_SCALE, t_out, np.full(12, 1000.0), np.full(12, 200.0)
    )
    assert y.condenses
    gain = np.sum(y.rate, axis=-1)
    assert (y.start - 1) % 12 == gain.argmin()
    assert y.accumulates


def test_of_two_wet_seasons_the_one_that_gathers_more_opens_the_year():
    months = np.arange(12)
    t_out = np.where(np.isin(months, [0, 1, 11]), -8.0, np.where(months == 5, 2.0, 18.0))
    p_out = np.full(12, 250.0)
    p_in = np.full(12, 1200.0)
    y = balance([0.05, 3.0, 0.1], np.array([0.5, 0.1, 8.0]) * Z_SCALE, t_out, p_in, p_out)
    assert y.start == 11


def test_the_wet_zone_is_reported_by_its_ends():
    parts = c.subdivide([0.05, 4.0, 0.05], np.array([0.1, 0.2, 40.0]) * Z_SCALE)
    y = balance(parts.r, parts.z, *climate(excess=1360))
    month = int(y.stock.sum(axis=-1).argmax())
    first, last = y.zone[month]
    wet = np.flatnonzero(y.stock[month] > c.NEGLIGIBLE)
    assert (first, last) == (wet[0], wet[-1])
    assert parts.layer[last - 1] == 1


def test_wet_months_count_months_that_hold_or_lose_water():
    y = balance([0.05, 3.0, 0.1], np.array([1.0, 0.1, 3.0]) * Z_SCALE, *climate())
    assert y.wet_months == np.sum((y.stock > 0).any(axis=1) | (y.rate < 0).any(axis=1))
    assert y.wet_months_at[2] == y.wet_months


def test_a_section_that_does_not_dry_is_followed_until_its_years_repeat():
    y = balance([0.05, 3.0, 0.1], np.array([1.0, 0.1, 1e5]) * Z_SCALE, *climate())
    assert not y.dries
    assert y.accumulates
    assert y.years == 2
    assert y.annual_gain == pytest.approx(y.left.sum())


def test_water_left_that_only_moves_or_stays_does_not_accumulate():
    # Two planes: what the first year leaves in the outer one changes the later years until they repeat.
    rng = np.random.default_rng(0)
    count = 3000
    t_out = rng.uniform(-8, 15, (count, 1)) - rng.uniform(2, 15, (count, 1)) * PHASE
    p_out = 0.85 * saturation_pressure(t_out)
    p_in = np.minimum(p_out + rng.uniform(200, 1360, (count, 1)), 0.95 * 2337)
    r = rng.choice([0.02, 0.1, 0.5, 1.0, 2.5], (count, 1, 5))
    y = balance(r, np.exp(rng.uniform(-4, 5, (count, 1, 5))) * Z_SCALE, t_out, p_in, p_out)
    steady = ~y.dries & ~y.accumulates
    assert steady.any()
    assert not y.annual_gain[steady].any()
    assert np.all(y.years[steady] >= 2)
    assert np.all(y.annual_gain[y.accumulates] > 0)


def test_wrong_shapes_are_refused_in_a_sentence():
    with pytest.raises(ValueError, match="3 layers have 4 faces, but 3 temperatures"):
        c.condensation_year(np.zeros((12, 3)), [1e9, 1e9, 1e9], np.zeros(12), np.zeros(12))
    with pytest.raises(ValueError, match="twelve months"):
        c.condensation_year(np.zeros((11, 3)), [1e9, 1e9], np.zeros(11), np.zeros(11))
    with pytest.raises(ValueError, match="can't be below 0"):
        c.condensation_year(np.zeros((12, 3)), [-1e9, 1e9], np.zeros(12), np.zeros(12))


# ------------------------------------------------------------------------------------------------ drying


def test_drying_takes_the_time_that_hand_calculation_gives():
    # Constant air: 1 kg/m² in the middle at 15 °C leaves at (1704.4 − 1000)/z + (1704.4 − 850)/z.
    t = heat.temperatures([0.5, 0.5], 20.0, np.full(12, 10.0), 0.13, 0.13)
    z = 4e10
    rate = (2 * saturation_pressure(15.0) - 1850.0) / z
    days = float(1.0 / rate / 86400)
    month_ends = np.cumsum(np.roll(MONTH_SECONDS, -9)) / 86400
    d = c.drying_time(t, [z, z], np.full(12, 1000.0), np.full(12, 850.0), 1)
    assert d.months == np.searchsorted(month_ends, days) + 1
    assert d.stock[0, 1] == pytest.approx(1.0 - rate * 31 * 86400, rel=1e-9)


def test_a_layer_between_vapor_tight_sheets_never_dries():
    r, z = np.array([0.0, 1.0, 1.0, 0.0]), np.array([1e5, 0.5, 0.5, 1e5]) * Z_SCALE
    t_out, p_in, p_out = climate()
    t = heat.temperatures(r, 20.0, t_out, 0.13, 0.04)
    d = c.drying_time(t, z, p_in, p_out, 2, years=3)
    assert np.isinf(d.months)
    assert d.stock[-1].sum() == pytest.approx(1.0, abs=0.01)
    assert d.moved[3] > 0.9  # it has moved to the cold side


def test_drying_in_a_batch_is_drying_one_by_one():
    rng = np.random.default_rng(5)
    z = np.exp(rng.uniform(-2, 3, (12, 1, 3))) * Z_SCALE
    t_out, p_in, p_out = climate()
    t = heat.temperatures([0.1, 1.5, 0.2], 20.0, t_out, 0.13, 0.04)
    batch = c.drying_time(t, z, p_in, p_out, 2, years=4)
    assert len(set(batch.months.tolist())) > 3
    for b in range(12):
        one = c.drying_time(t, z[b, 0], p_in, p_out, 2, years=4)
        assert batch.months[b] == one.months
        assert np.array_equal(batch.stock[b], one.stock)


def test_water_on_a_surface_is_refused():
    with pytest.raises(ValueError, match="not on a surface"):
        c.drying_time(np.zeros((12, 3)), [1e9, 1e9], np.zeros(12), np.zeros(12), 0)


# ------------------------------------------------------------------------------------- periods, parts, dew


def test_subdivision_keeps_sums_and_joints():
    r, z = np.array([0.05, 1.1, 0.0]), np.array([1e9, 5e9, 2e9])
    parts = c.subdivide(r, z)
    assert parts.r.max() <= 0.25
    assert [parts.r[parts.layer == k].sum() for k in range(3)] == pytest.approx(r)
    assert [parts.z[parts.layer == k].sum() for k in range(3)] == pytest.approx(z)
    assert parts.joints.tolist() == [0, 1, 6, 7]
    with pytest.raises(ValueError, match="no node in its middle"):
        parts.middle(1)
    assert c.subdivide(r, z, evenly=(1,)).middle(1) == 4


def test_a_batch_is_subdivided_by_its_thickest_member():
    parts = c.subdivide([[0.1, 0.2], [0.1, 1.0]], [[1e9, 1e9], [1e9, 1e9]])
    assert parts.r.shape == (2, 5)
    assert parts.r.sum(axis=-1) == pytest.approx([0.3, 1.1])


def test_period_cases_a_to_d():
    dry = c.period_method([0.05, 2.5, 0.3], np.array([20.0, 0.1, 1.0]) * Z_SCALE)
    assert (dry.case, dry.total, dry.dries) == ("a", 0.0, True)
    assert dry.reserve == dry.evaporation > 0

    one = c.period_method([0.05, 2.5, 0.1], np.array([1.0, 0.1, 5.0]) * Z_SCALE)
    assert one.case == "b"

    two = c.period_method([0.1, 2.0, 0.05, 1.0, 0.2], np.array([0.2, 0.1, 20.0, 0.05, 40.0]) * Z_SCALE)
    assert two.case == "c"
    assert [a for a, _ in two.planes] == [2, 4]

    # Brick behind vapor-open insulation starts at its dew point: wet through.
    parts = c.subdivide([1.6, 2.0], np.array([0.02, 2.0]) * Z_SCALE)
    zone = c.period_method(parts.r, parts.z)
    assert zone.case == "d"
    assert zone.planes[0][1] > zone.planes[0][0]


def test_evaporation_from_two_planes_goes_on_from_the_last():
    # By hand: 500 Pa over 2·10⁹ inwards dries 0.1 kg/m² in 400,000 s; then the other plane dries both ways.
    drive, seconds = 500.0, 7776000.0
    z1, z2, total = 2e9, 6e9, 10e9
    first = 0.1 / (drive / z1)
    by_hand = 0.1 + drive / (total - z2) * seconds + drive / z2 * (seconds - first)
    assert c._evaporation([(z1, 0.1), (z2, 5.0)], total, drive, seconds) == pytest.approx(by_hand)


def test_period_method_refuses_what_it_has_no_climate_for():
    with pytest.raises(ValueError, match="no climate for a floor"):
        c.period_method([0.1, 0.1], [1e9, 1e9], "floor")
    with pytest.raises(ValueError, match="two layers or more"):
        c.period_method([0.1], [1e9])


def test_dew_point_method_agrees_with_the_first_dry_month_of_the_balance():
    r, z = np.array([0.05, 3.0, 0.1]), np.array([1.0, 0.1, 3.0]) * Z_SCALE
    t_out, p_in, p_out = climate()
    t = heat.temperatures(r, 20.0, t_out, 0.13, 0.04)
    y = c.condensation_year(t, z, p_in, p_out)
    d = c.dew_point_method(t[y.start], z, p_in[y.start], p_out[y.start])
    assert d.plane == 2
    assert d.profile.rate * MONTH_SECONDS[y.start] == pytest.approx(y.rate[y.start], rel=1e-9)


def test_two_thousand_sections_take_no_longer_than_promised():
    rng = np.random.default_rng(1)
    r = np.array([0.05, 0, 0.05, 1.75, 1.75, 0.08, 0, 0.15, 0.05]) * rng.uniform(0.3, 2, (2000, 1, 9))
    z = np.array([0.1, 0.5, 0.05, 0.07, 0.07, 0.8, 0.1, 0.01, 0.3]) * np.exp(rng.normal(0, 1.2, (2000, 1, 9)))
    t_out, p_in, p_out = climate()
    t = heat.temperatures(r, 20.0, t_out, 0.13, 0.04)
    begin = time.perf_counter()
    c.condensation_year(t, z * Z_SCALE, p_in, p_out)
    assert time.perf_counter() - begin < 1.5
