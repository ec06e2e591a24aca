"""The mold index and the running-mean criteria: invariants, and monthly against hourly."""

import time
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.physics import mold
from reviewer.physics.basics import MONTH_DAYS

CLASSES = list(mold.SENSITIVITIES)
months = st.lists(st.tuples(st.floats(-20, 45), st.floats(0.4, 1.0)), min_size=12, max_size=12)


def hourly(monthly):
    return np.repeat(np.asarray(monthly, dtype=float), (MONTH_DAYS * 24).astype(int), axis=-1)


@settings(max_examples=60)
@given(months, st.sampled_from(CLASSES), st.floats(0, 6))
def test_the_index_stays_within_0_and_6(values, kind, start):
    t, rh = np.array(values).T
    index = mold.monthly_index(t, rh, kind, start=start, years=2)
    assert index.shape == (24,)
    assert np.all((index >= 0) & (index <= 6))


@settings(max_examples=60)
@given(months, st.sampled_from(CLASSES), st.floats(0, 0.2))
def test_damper_surfaces_never_mold_less(values, kind, more):
    t, rh = np.array(values).T
    dry = mold.monthly_index(t, rh, kind)
    damp = mold.monthly_index(t, np.minimum(rh + more, 1.0), kind)
    assert np.all(damp >= dry - 1e-9)


@settings(max_examples=40)
@given(months)
def test_a_more_sensitive_class_never_molds_less(values):
    t, rh = np.array(values).T
    ends = [mold.monthly_index(t, rh, k, decline=0.1, wood=0.0).max() for k in CLASSES]
    assert all(a >= b - 1e-9 for a, b in pairwise(ends))


@settings(max_examples=12, deadline=None)
@given(months, st.sampled_from(CLASSES), st.sampled_from([1.0, 0.1]))
def test_monthly_integral_agrees_with_hourly_steps_of_the_same_conditions(values, kind, decline):
    # The hourly steps are explicit Euler; at under 0.15 index a day their error stays below 0.01.
    t, rh = np.array(values).T
    by_hour = mold.hourly_index(hourly(t), hourly(rh), kind, decline)
    ends = by_hour[(np.cumsum(MONTH_DAYS) * 24).astype(int) - 1]
    assert mold.monthly_index(t, rh, kind, decline) == pytest.approx(ends, abs=0.01)


def test_batches_are_each_section_by_itself():
    rng = np.random.default_rng(1)
    t, rh = rng.uniform(-5, 30, (6, 12)), rng.uniform(0.7, 1.0, (6, 12))
    batch = mold.monthly_index(t, rh, "sensitive", years=2)
    one = np.array([mold.monthly_index(a, b, "sensitive", years=2) for a, b in zip(t, rh, strict=True)])
    assert batch == pytest.approx(one, rel=1e-12, abs=1e-12)
    t, rh = rng.uniform(-5, 30, (3, 400)), rng.uniform(0.7, 1.0, (3, 400))
    batch = mold.hourly_index(t, rh, "very sensitive")
    one = np.array([mold.hourly_index(a, b, "very sensitive") for a, b in zip(t, rh, strict=True)])
    assert batch == pytest.approx(one, rel=1e-12, abs=1e-12)


def test_decline_comes_in_the_first_six_hours_pauses_a_day_and_goes_on():
    index = mold.hourly_index(np.full(48, 20.0), np.full(48, 0.5), "sensitive", start=3.0)
    assert 3.0 - index[5] == pytest.approx(0.008, abs=1e-12)
    assert index[23] == index[5]
    assert index[23] - index[47] == pytest.approx(0.016, abs=1e-12)


def test_a_wet_hour_starts_a_new_dry_spell():
    rh = np.full(30, 0.5)
    rh[12] = 0.99
    index = mold.hourly_index(np.full(30, 20.0), rh, "resistant", start=2.0)
    assert index[11] == index[5]
    assert index[12] >= index[11]
    assert index[12] - index[18] == pytest.approx(0.008, abs=1e-12)


def test_frost_and_great_heat_stop_growth():
    for t in (-5.0, 0.0, 51.0):
        assert mold.monthly_index(np.full(12, t), np.ones(12), "very sensitive").max() == 0.0


def test_a_year_of_hourly_and_monthly_means_differ_where_the_day_swings():
    # What the monthly version says of itself: a mean just below the critical humidity hides the wet nights.
    hours = np.arange(8760)
    rh = 0.78 + 0.15 * np.cos(2 * np.pi * hours / 24)
    swinging = mold.hourly_index(np.full(8760, 20.0), rh, "very sensitive", decline=0.1)[-1]
    assert swinging > 1.0
    assert mold.monthly_index(np.full(12, 20.0), np.full(12, 0.78), "very sensitive")[-1] == 0.0


def test_running_mean_is_numpys():
    v = np.random.default_rng(0).uniform(0, 1, 500)
    assert mold.running_mean(v, 48) == pytest.approx(np.convolve(v, np.ones(48) / 48, "valid"), rel=1e-10)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: mold.critical_humidity(60.0), "surface temperature of 60 °C"),
        (lambda: mold.monthly_index(np.full(12, 20.0), 80.0, "sensitive"), "surface relative humidity of 80"),
        (lambda: mold.monthly_index(np.full(12, 20.0), 0.8, "hardy"), "very sensitive, sensitive"),
        (lambda: mold.hourly_index([20.0], [0.8], "sensitive", start=7), "mold index of 7"),
        (lambda: mold.running_mean([1.0], 2), "at least as many values"),
        (lambda: mold.monthly_index(np.full(12, 20.0), 0.9, "sensitive", years=0), "0 years"),
    ],
)
def test_values_outside_the_range_are_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_a_year_of_hours_of_twenty_joints_takes_under_a_second():
    t = np.full((20, 8760), 20.0)
    start = time.perf_counter()
    mold.hourly_index(t, np.full((20, 8760), 0.95), "sensitive")
    assert time.perf_counter() - start < 1.0
