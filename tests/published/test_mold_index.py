"""The mold index of Hukka and Viitanen (1999) and its four classes (Ojanen and others 2010).

The equations and class parameters are from memory of the papers (high certainty; the abstract of the first was
read); the figures here were computed from those equations by other hands ("derived"), and agree with ours to
their printed digits. The index at a threshold close to its maximum is ill-conditioned: wider tolerance there.
"""

import numpy as np
import pytest

from reviewer.physics import mold

POINTS = {  # °C, %: t_m weeks, growth a day at k1 = 1, t_v weeks, k1 of sapwood, M_max very sensitive
    (5, 90): (10.786, 0.01324, 21.573, 2.0, 2.104),
    (5, 97): (3.808, 0.03752, 8.32, 1.688, 5.124),
    (10, 85): (14.9, 0.00959, 26.724, 2.52, 2.102),
    (10, 90): (6.732, 0.02122, 12.917, 2.177, 3.711),
    (10, 95): (3.175, 0.04499, 6.493, 1.914, 5.01),
    (20, 85): (9.3, 0.01536, 16.001, 2.776, 2.616),
    (20, 90): (4.202, 0.034, 7.734, 2.38, 3.995),
    (20, 95): (1.982, 0.07208, 3.888, 2.08, 5.123),
    (20, 97): (1.484, 0.0963, 2.983, 1.979, 5.504),
    (20, 100): (0.971, 0.14706, 2.025, 1.845, 6.0),
    (30, 90): (3.189, 0.04479, 5.729, 2.512, 4.0),
    (30, 97): (1.126, 0.12687, 2.21, 2.078, 5.505),
}


def test_critical_humidity_polynomial():
    # Hukka and Viitanen 1999, equation 1 (derived), 0.001 % RH.
    t = [0, 1, 5, 7, 10, 15, 20]
    expected = [100.0, 97.027, 88.016, 85.014, 82.03, 80.039, 80.04]
    assert mold.critical_humidity(t).tolist() == pytest.approx(expected, abs=1e-3)
    assert mold.critical_humidity([3.0, 7.5, 12.0], 85.0)[1:].tolist() == [85.0, 85.0]


@pytest.mark.parametrize(("t", "rh"), POINTS)
def test_growth_of_pine_sapwood_at_constant_conditions(t, rh):
    # Equations 2, 3, 5 and 6 (derived); 0.1 % and the last printed digit.
    first, rate, visible, k1, top = POINTS[t, rh]
    weeks = float(mold.first_growth_weeks(t, rh))
    assert weeks == pytest.approx(first, rel=1e-3)
    assert 1 / (7 * weeks) == pytest.approx(rate, rel=1e-3)
    assert float(mold.visible_growth_weeks(t, rh)) == pytest.approx(visible, rel=1e-3)
    assert float(mold.sapwood_speed(t, rh)) == pytest.approx(k1, rel=1e-3)
    kind = mold.SENSITIVITIES["very sensitive"]
    assert float(mold.highest_index(t, rh, kind)) == pytest.approx(top, rel=1e-3)


def test_class_parameters():
    # Ojanen and others 2010, Tables 3 and 4 (from memory).
    expected = {
        "very sensitive": (1, 2, 1, 7, 2, 80),
        "sensitive": (0.578, 0.386, 0.3, 6, 1, 80),
        "medium resistant": (0.072, 0.097, 0, 5, 1.5, 85),
        "resistant": (0.033, 0.014, 0, 3, 1, 85),
    }
    ours = {k: (s.slow, s.fast, s.a, s.b, s.c, s.lowest_humidity) for k, s in mold.SENSITIVITIES.items()}
    assert ours == expected
    assert list(mold.DECLINES.values()) == [1.0, 0.5, 0.25, 0.1]


MARCH = [  # class, °C, %, index after 90 and 365 days, first day of index 1 and of index 3 (None: never)
    ("very sensitive", 20, 97, 5.504, 5.504, 10.4, 20.8),
    ("very sensitive", 20, 90, 3.964, 3.995, 29.5, 59.5),
    ("very sensitive", 10, 90, 2.766, 3.711, 47.2, 96.5),
    ("very sensitive", 5, 97, 5.032, 5.124, 26.7, 53.4),
    ("very sensitive", 25, 85, 2.068, 2.625, 56.5, None),
    ("sensitive", 20, 97, 3.636, 4.676, 18.0, 72.0),
    ("sensitive", 20, 90, 1.502, 3.041, 51.1, 280.0),
    ("sensitive", 10, 90, 1.064, 2.659, 82.1, None),
    ("sensitive", 5, 97, 1.635, 4.218, 46.2, 186.0),
    ("medium resistant", 20, 97, 0.623, 2.749, 144.8, None),
    ("medium resistant", 20, 90, 0.211, 0.808, None, None),
    ("medium resistant", 25, 85, 0.0, 0.0, None, None),
    ("resistant", 20, 97, 0.279, 1.029, 338.5, None),
    ("resistant", 20, 90, 0.087, 0.329, None, None),
]


@pytest.mark.parametrize(("kind", "t", "rh", "day90", "day365", "one", "three"), MARCH)
def test_a_year_at_constant_conditions(kind, t, rh, day90, day365, one, three):
    # Explicit one-hour steps from 0 with W = 0 (derived). 1 %; days to index 3 near the highest index 2 %.
    index = mold.hourly_index(np.full(8760, float(t)), rh / 100, kind, wood=0.0)
    assert index[90 * 24 - 1] == pytest.approx(day90, rel=0.01, abs=5e-4)
    assert index[-1] == pytest.approx(day365, rel=0.01, abs=5e-4)
    for level, day in ((1.0, one), (3.0, three)):
        reached = np.flatnonzero(index >= level)
        if day is None:
            assert reached.size == 0
        else:
            assert reached[0] / 24 == pytest.approx(day, rel=0.02 if day > 200 else 0.01, abs=0.1)
    # The closed integral over the months ends in the same place.
    monthly = mold.monthly_index(np.full(12, float(t)), rh / 100, kind, wood=0.0)
    assert monthly[-1] == pytest.approx(day365, rel=0.01, abs=5e-4)


def test_decline_over_thirty_dry_days():
    # 3 − 0.032/4 − 29·0.016 = 2.528; with the relative decline of ASHRAE 160-2016 (0.1) 2.953 (derived).
    dry = np.full(30 * 24, 20.0)
    assert mold.hourly_index(dry, 0.5, "sensitive", 1.0, start=3.0)[-1] == pytest.approx(2.528, abs=1e-3)
    ashrae = mold.hourly_index(dry, 0.5, "sensitive", mold.ASHRAE_DECLINE, start=3.0)[-1]
    assert ashrae == pytest.approx(2.953, abs=1e-3)
    # Hourly rates as ASHRAE 160-2016 prints them: 0.00133 and 0.000667 an hour (from memory).
    day = mold.hourly_index(dry[:48], 0.5, "sensitive", 1.0, start=3.0)
    assert (3.0 - day[0], day[46] - day[47]) == pytest.approx((0.00133, 0.000667), abs=4e-6)


def test_the_scale_has_seven_steps():
    # The meaning of the index (from memory): visible growth from 3.
    assert len(mold.INDEX_MEANING) == 7
    assert "visible" in mold.INDEX_MEANING[3] and "microscope" in mold.INDEX_MEANING[1]
