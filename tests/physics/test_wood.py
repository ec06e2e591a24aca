"""Wood moisture: shape of the sorption isotherm, its inverse, and refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.physics import wood

humidities = st.floats(0.0, 1.0)
temperatures = st.floats(-1.2, 60.0)


@settings(deadline=None)
@given(humidities, humidities, temperatures)
def test_damper_air_never_means_drier_wood(a, b, t):
    low, high = sorted((a, b))
    assert wood.equilibrium_moisture(low, t) <= wood.equilibrium_moisture(high, t)


@settings(deadline=None)
@given(st.floats(0.05, 0.95), st.floats(20.0, 90.0), st.floats(1.0, 9.0))
def test_warmer_wood_is_drier_at_the_same_humidity(h, t, more):
    assert wood.equilibrium_moisture(h, t + more) < wood.equilibrium_moisture(h, t)


@settings(deadline=None)
@given(humidities, temperatures)
def test_the_inverse_returns_the_humidity(h, t):
    assert wood.equilibrium_humidity(wood.equilibrium_moisture(h, t), t) == pytest.approx(h, abs=1e-9)


def test_bone_dry_air_means_bone_dry_wood():
    assert wood.equilibrium_moisture(0.0, 20.0) == 0.0
    assert wood.equilibrium_humidity(0.0, 20.0) == pytest.approx(0.0, abs=1e-9)


def test_frozen_months_count_at_the_end_of_the_fit():
    months = wood.monthly_moisture(np.full(12, 0.85), np.linspace(-30, 25, 12))
    assert months[0] == wood.equilibrium_moisture(0.85, -1.2)
    assert months[-1] == wood.equilibrium_moisture(0.85, 25.0)


def test_condensate_raises_the_mean_moisture():
    # 0.3 kg/m² in 12 mm of 600 kg/m³: 4.2 % of the mass.
    assert wood.moisture_with_condensate(0.15, 0.3, 600.0, 0.012) == pytest.approx(0.15 + 0.3 / 7.2)


@pytest.mark.parametrize(
    ("h", "t"), [(1.01, 20.0), (-0.01, 20.0), (0.5, -1.3), (0.5, 100.0), (float("nan"), 20.0)]
)
def test_air_outside_the_fit_is_refused(h, t):
    with pytest.raises(ValueError, match="outside"):
        wood.equilibrium_moisture(h, t)


def test_more_than_air_can_bring_is_refused():
    with pytest.raises(ValueError, match="fiber saturation"):
        wood.equilibrium_humidity(0.35, 20.0)
    with pytest.raises(ValueError, match="density and a thickness"):
        wood.moisture_with_condensate(0.1, 0.1, 0.0, 0.01)
