"""Built-in moisture: amounts and drying times."""

import timeit

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviewer.humidity import saturation_pressure
from reviewer.physics import builtin
from reviewer.physics.basics import MONTH_SECONDS

PERM = 5.721349e-11
rates = st.lists(st.floats(-0.3, 1.0), min_size=12, max_size=12)


@given(st.floats(0.25, 1.2), st.floats(1, 3650))
def test_concrete_ranges_are_ordered_and_fall_with_age(ratio, age):
    low, middle, high = map(float, builtin.concrete_water(ratio, age))
    assert 0 <= low <= middle <= high
    assert float(builtin.concrete_water(ratio, min(age * 2, 3650)).middle) <= middle + 1e-9
    assert float(builtin.concrete_water(min(ratio + 0.05, 1.2), age).middle) >= middle


def test_ordinary_new_concrete_loses_what_texts_say():
    # Texts on construction moisture give 70 to 110 kg/m³ for normal new concrete (from memory, a range): the middle
    # estimates at w/c 0.5 to 0.6, four weeks old, lie in it.
    middle = builtin.concrete_water(np.array([0.5, 0.6]), 28.0).middle
    assert np.all((middle > 70) & (middle < 110))


def test_low_water_cement_ratios_dry_themselves():
    # High-performance concrete of w/c 0.35 binds nearly all its water (self-desiccation; common practice).
    assert float(builtin.concrete_water(0.35, 90.0).low) == 0.0


def test_wood_from_wet_to_dry_is_a_difference_of_weights():
    wet, dry = 0.0111 * 600 * 1.28, 0.0111 * 600 * 1.16
    assert float(builtin.wood_water(600, 0.0111, 0.28, 0.16)) == pytest.approx(wet - dry, rel=1e-9)
    assert float(builtin.wood_water(600, 0.0111, 0.12, 0.16)) == 0.0


def test_drying_rates_are_fluxes_over_the_seconds_of_the_month():
    t = np.linspace(-5, 20, 12)
    inwards, outwards = builtin.drying_rates(t, 900.0, 600.0, 0.06 * PERM, 5 * PERM)
    p = saturation_pressure(t)
    assert inwards == pytest.approx(0.06 * PERM * (p - 900) * MONTH_SECONDS, rel=1e-12)
    assert outwards == pytest.approx(5 * PERM * (p - 600) * MONTH_SECONDS, rel=1e-12)
    assert inwards[0] < 0 < inwards[-1]


@given(st.floats(0.01, 5), rates, st.integers(0, 11))
def test_water_only_ends_where_the_months_say(water, net, start):
    d = builtin.drying(water, np.zeros(12), net, start)
    months, left = float(d.months), d.left
    assert np.all((left >= 0) & (left <= water * (1 + 1e-12)))
    if np.isinf(months):
        assert left[-1] > 0
        return
    whole = int(np.floor(months))
    assert np.all(left[:whole] > 0) or months == whole
    assert np.all(left[int(np.ceil(months)) :] == 0)


@given(st.floats(0.01, 5), st.floats(0.001, 0.5), st.floats(0.001, 0.5))
def test_at_a_constant_rate_time_is_water_over_rate(water, inward, outward):
    d = builtin.drying(water, np.full(12, inward), np.full(12, outward), years=50)
    time = water / (inward + outward)
    assert float(d.months) == (np.inf if time > 600 else pytest.approx(time, rel=1e-9))
    assert float(d.inward_share) == pytest.approx(inward / (inward + outward), rel=1e-9)


def test_a_wetting_winter_delays_but_never_overfills():
    net = np.array([-0.3, -0.3, -0.1, 0.1, 0.3, 0.4, 0.4, 0.3, 0.1, -0.1, -0.2, -0.3])
    autumn = builtin.drying(1.0, np.zeros(12), net, start=9)
    spring = builtin.drying(1.0, np.zeros(12), net, start=3)
    assert autumn.left[:5].max() == 1.0
    # From April: 0.1 + 0.3 + 0.4 and half of July. From October the same comes after six months of wetting.
    assert float(spring.months) == pytest.approx(3.5)
    assert float(autumn.months) == pytest.approx(9.5)


def test_a_shut_in_layer_never_dries():
    d = builtin.drying(0.5, np.zeros(12), np.zeros(12))
    assert np.isinf(float(d.months)) and float(d.inward_share) == 0.5
    assert float(builtin.drying(0.0, np.zeros(12), np.zeros(12)).months) == 0.0


@given(st.floats(0.5, 50), st.floats(0.5, 50))
def test_more_open_layers_never_dry_later(inner, outer):
    t = np.array([-8, -6, 0, 7, 13, 18, 21, 20, 15, 9, 2, -5.0])
    args = (t + 3, 900.0, 0.7 * saturation_pressure(t))
    slow = builtin.drying(1.5, *builtin.drying_rates(*args, inner * PERM, outer * PERM))
    quick = builtin.drying(1.5, *builtin.drying_rates(*args, inner * PERM, 2 * outer * PERM))
    assert float(quick.months) <= float(slow.months) + 1e-9


def test_batches_are_each_layer_by_itself():
    rng = np.random.default_rng(2)
    i, o, w = rng.uniform(-0.1, 0.1, (5, 12)), rng.uniform(-0.1, 0.3, (5, 12)), rng.uniform(0, 2, 5)
    batch = builtin.drying(w, i, o, start=4)
    for n in range(5):
        one = builtin.drying(w[n], i[n], o[n], start=4)
        assert float(batch.months[n]) == float(one.months)
        assert float(batch.inward_share[n]) == float(one.inward_share)
        assert batch.left[n].tolist() == one.left.tolist()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: builtin.concrete_water(0.1, 28), "water-cement ratio of 0.1"),
        (lambda: builtin.drying(1.0, np.zeros(12), np.zeros(12), start=12), "month 12"),
        (lambda: builtin.drying(-1.0, np.zeros(12), np.zeros(12)), "water to lose of -1"),
        (lambda: builtin.wood_water(5000, 0.1, 0.3, 0.1), "density of 5000"),
        (lambda: builtin.drying_by_rule(0.1, 3), "one side or to two"),
    ],
)
def test_values_outside_the_range_are_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_one_layer_costs_a_fraction_of_a_millisecond():
    t = np.full(12, 10.0)

    def once():
        return builtin.drying(0.7, *builtin.drying_rates(t, 1000.0, 700.0, PERM, PERM))

    assert min(timeit.repeat(once, number=20, repeat=5)) / 20 < 2e-3
