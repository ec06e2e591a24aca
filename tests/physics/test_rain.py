"""Driving rain, exposure, deposition and the leak balance."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviewer.physics import rain
from reviewer.physics.builtin import drying_rates

PERM = 5.721349e-11


def a_year(seed=0, years=1):
    rng = np.random.default_rng(seed)
    n = 8760 * years
    wet = rng.random(n) < 0.08
    return np.where(wet, rng.exponential(1.2, n), 0.0), rng.weibull(2, n) * 5, rng.uniform(0, 360, n)


def test_iso_15927_3_in_one_hour():
    # 2/9·v·r^(8/9)·cos(D − θ) (ISO 15927-3, equation 1, from memory): 2 mm, 5 m/s, 60° off: computed by hand.
    expected = 2 / 9 * 5 * 2 ** (8 / 9) * 0.5
    assert float(rain.driving_rain(2.0, 5.0, 240.0, 180.0)) == pytest.approx(expected, rel=1e-12)
    assert float(rain.driving_rain(2.0, 5.0, 359.0, 1.0)) > 0
    assert float(rain.driving_rain(2.0, 5.0, 271.0, 180.0)) == 0.0


def test_lacy_s_constant_is_that_of_the_standard():
    # Lacy 1965: rain on a vertical plane 0.222·v·r^0.88 (from memory): the standard's 2/9 and 8/9.
    assert pytest.approx(0.222, abs=5e-4) == 2 / 9
    assert pytest.approx(0.88, abs=0.01) == 8 / 9


def test_opposite_walls_share_the_rain_of_all_directions():
    r, v, d = a_year()
    walls = np.arange(0, 360, 45.0)[:, None]
    hourly = rain.driving_rain(r, v, d, walls)
    assert hourly.shape == (8, 8760)
    totals = rain.annual_index(hourly)
    # Four pairs of |cos| at 45°: for any direction they add up to between 1 + √2 and √(2(2 + √2)).
    whole = (2 / 9 * v * r ** (8 / 9)).sum()
    assert 2.41 * whole < totals.sum() < 2.62 * whole
    for wall, total in zip(walls[:, 0], totals, strict=True):
        assert total == pytest.approx(float(rain.annual_index(rain.driving_rain(r, v, d, wall))), rel=1e-12)


def test_the_monthly_estimate_meets_an_hourly_year_of_all_directions():
    # Isotropic, wind and rain unrelated, equal hours: the assumptions made, so the mean over walls must come out.
    n, hours = 8760, np.arange(8760)
    wet = hours % 12 == 0
    r, d = np.where(wet, 1.5, 0.0), (hours * 222.4922359) % 360
    totals = [
        float(rain.annual_index(rain.driving_rain(r, np.full(n, 4.0), d, w))) for w in range(0, 360, 30)
    ]
    monthly = rain.monthly_driving_rain(np.full(12, wet.sum() * 1.5 / 12), 4.0, wet.sum() / 12)
    assert np.mean(totals) == pytest.approx(monthly.sum(), rel=0.01)


def test_spells_end_after_96_dry_hours_and_hold_all_the_rain():
    r, v, d = a_year(4)
    hourly = rain.driving_rain(r, v, d, 90.0)
    assert rain.spells(hourly).sum() == pytest.approx(hourly.sum(), rel=1e-12)
    gap = [1.0] + [0.0] * 96 + [1.0]
    assert rain.spells(gap).tolist() == [1.0, 1.0]
    assert rain.spells([1.0] + [0.0] * 95 + [1.0]).tolist() == [2.0]
    assert rain.spells(np.zeros(100)).size == 0


def test_the_spell_index_is_passed_about_once_in_three_years():
    year = np.zeros(8760)
    record = []
    for worst in range(1, 31):
        y = year.copy()
        y[4000:4010] = worst / 10
        record.append(y)
    index = rain.spell_index(np.concatenate(record))
    passed = sum(worst > index for worst in range(1, 31))
    assert passed == 10
    with pytest.raises(ValueError, match="a year of hours"):
        rain.spell_index(np.zeros(100))


@pytest.mark.parametrize(
    ("rainfall", "expected"),
    [
        (499.9, "low"),
        (500, "moderate"),
        (999.9, "moderate"),
        (1000, "high"),
        (1499.9, "high"),
        (1500, "severe"),
    ],
)
def test_exposure_by_annual_rain(rainfall, expected):
    # Zones of 20, 40 and 60 in a year (North American builders' guides, from memory).
    assert rain.rain_exposure(rainfall) == expected


def test_exposure_by_driving_rain_and_by_spells():
    # Lacy's index 3 and 7 m²/s; UK exposure zones 33, 56.5 and 100 L/m² a spell (from memory).
    assert [rain.driving_rain_exposure(1000, v) for v in (2.99, 3.0, 6.99, 7.0)] == [
        "sheltered", "moderate", "moderate", "severe",
    ]  # fmt: skip
    assert [rain.spell_exposure(s) for s in (32.9, 33, 56.4, 56.5, 99.9, 100)] == [
        "sheltered", "moderate", "moderate", "severe", "severe", "very severe",
    ]  # fmt: skip


def test_terrain_and_obstruction_of_the_standard():
    # ISO 15927-3, Tables 1 and 4 (from memory): C_R is 1 at 10 m in farmland, the station's own terrain.
    assert float(rain.roughness(10.0, "farmland")) == pytest.approx(1.0, abs=0.01)
    assert [float(rain.obstruction(d)) for d in (4, 7.9, 8, 119.9, 120)] == [0.2, 0.2, 0.3, 0.9, 1.0]
    heights = np.array([2.0, 8.0, 20.0, 60.0])
    openness = [rain.roughness(heights, t) for t in ("open", "farmland", "suburban", "urban")]
    assert np.all(np.diff(openness, axis=0) < 0)


def test_ashrae_160_deposition():
    # F_E·F_D·0.2·U·cos θ·r (ASHRAE 160, 4.6.1, from memory): 10 mm/h, 5 m/s, straight on, low building, low-slope
    # roof: 1.0·0.5·0.2·5·10 = 5 kg/(m²·h).
    fe = rain.exposure_factor(6.0, "medium")
    assert float(
        rain.deposition(10.0, 5.0, 90.0, 90.0, fe, rain.RUNOFF["below a low-slope roof"])
    ) == pytest.approx(5.0)
    assert [float(rain.exposure_factor(h, "sheltered")) for h in (5, 10, 55)] == [0.7, 0.8, 1.5]
    assert rain.LEAK_SHARE == 0.01


def test_monthly_deposition_is_the_hourly_one_under_its_assumptions():
    hours = np.arange(8760)
    r, d = np.where(hours % 10 == 0, 1.0, 0.0), (hours * 222.4922359) % 360
    totals = [rain.deposition(r, 4.0, d, w, 1.0, 0.5).sum() for w in range(0, 360, 30)]
    monthly = rain.monthly_deposition(np.full(12, r.sum() / 12), 4.0, 1.0, 0.5)
    assert np.mean(totals) == pytest.approx(monthly.sum(), rel=0.01)


months = st.lists(st.floats(-10, 25), min_size=12, max_size=12)


@given(months, st.just(0.0) | st.floats(0.001, 60), st.floats(0.05, 50), st.floats(0.05, 50))
def test_the_leak_balance_closes(t, wet, inner, outer):
    t = np.array(t)
    b = rain.leak_balance(np.full(12, wet), t, 900.0, 600.0, inner * PERM, outer * PERM)
    i, o = drying_rates(t, 900.0, 600.0, inner * PERM, outer * PERM)
    assert np.all(b.standing >= 0)
    step = np.diff(b.standing) - (b.leak - i - o)[1:]
    # What stands changes by the balance, except where it runs dry and the rest of the drying goes unused.
    assert np.all((np.abs(step) < 1e-9 * (1 + b.standing[1:])) | (b.standing[1:] == 0))
    year = float((i + o).sum())
    if wet > 0:
        assert float(b.ratio) == pytest.approx(year / (0.01 * 12 * wet), rel=1e-9)


def test_open_walls_dry_a_leak_and_shut_walls_keep_it():
    t, wet = np.array([-6, -4, 1, 7, 13, 18, 21, 20, 15, 9, 3, -3.0]), np.full(12, 12.0)
    dry = rain.leak_balance(wet, t + 2, 900.0, 600.0, PERM, 15 * PERM)
    shut = rain.leak_balance(wet, t + 2, 900.0, 600.0, 0.06 * PERM, 0.1 * PERM)
    assert float(dry.ratio) > 1 > float(shut.ratio)
    assert dry.standing.min() == 0 and shut.standing.min() > 1
    both = rain.leak_balance(wet, t + 2, 900.0, 600.0, np.array([1, 0.06]) * PERM, np.array([15, 0.1]) * PERM)
    assert both.ratio.tolist() == [float(dry.ratio), float(shut.ratio)]
    assert np.isinf(float(rain.leak_balance(np.zeros(12), t, 900.0, 600.0, PERM, PERM).ratio))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: rain.driving_rain(-1.0, 5, 0, 0), "hourly rain of -1"),
        (lambda: rain.roughness(5.0, "forest"), '"forest" is not a terrain'),
        (lambda: rain.exposure_factor(5.0, "open"), '"open" is not a site'),
        (
            lambda: rain.leak_balance(np.zeros(12), 10.0, 900, 600, PERM, PERM, share=2),
            "share that leaks of 2",
        ),
    ],
)
def test_values_outside_the_range_are_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
