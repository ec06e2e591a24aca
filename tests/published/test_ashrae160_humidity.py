"""ANSI/ASHRAE 160-2009 and 2016, indoor design conditions (4.2 and 4.3; from memory of the standard)."""

from __future__ import annotations

import numpy as np
import pytest

from reviewer.physics import indoor

# Daily mean outdoors in °C to indoor relative humidity in %; later editions may cap it differently.
SIMPLIFIED = {-20: 40, -10: 40, -5: 45, 0: 50, 5: 55, 10: 60, 15: 65, 20: 70, 25: 70}


def test_simplified_method():
    got = 100 * indoor.ashrae160_humidity(list(SIMPLIFIED))
    assert got == pytest.approx(list(SIMPLIFIED.values()), abs=0.1)


def test_moisture_generation_by_bedrooms():
    # kg/s for 1 to 4 bedrooms, 0.1·10⁻⁴ for each more; 8, 12, 14 and 15 L a day.
    assert indoor.MOISTURE_BY_BEDROOMS == {1: 0.9e-4, 2: 1.4e-4, 3: 1.6e-4, 4: 1.7e-4}
    for bedrooms, liters in ((1, 8), (2, 12), (3, 14), (4, 15)):
        assert indoor.MOISTURE_BY_BEDROOMS[bedrooms] * 86400 == pytest.approx(liters, abs=0.5)


@pytest.mark.parametrize(("air_changes", "excess"), [(0.2, 979.2), (0.1, 1958.4)])
def test_intermediate_method(air_changes, excess):
    # Three bedrooms, 400 m³ (example derived): c = 1.36·10⁵ Pa·m³/kg.
    got = indoor.ashrae160_vapor_pressure(400.0, 3, 400.0, air_changes)
    assert got - 400.0 == pytest.approx(excess, abs=0.1)


def test_intermediate_method_by_air_flow():
    # p_o 400 Pa, 1.6·10⁻⁴ kg/s into 0.03 m³/s: 1125.3 Pa (derived).
    assert indoor.ashrae160_vapor_pressure(400.0, 3, 0.03 * 3600, 1.0) == pytest.approx(1125.3, abs=0.5)


def test_each_further_bedroom_adds_a_liter_a_day():
    excess = indoor.ashrae160_vapor_pressure(np.zeros(1), 6, 360.0, 1.0)
    assert excess == pytest.approx(1.36e5 * 1.9e-4 / 0.1)


def test_design_temperatures():
    assert (indoor.HEATING, indoor.COOLING) == (21.1, 23.9)
    months = indoor.indoor_conditions(
        "home, ASHRAE 160", [-15.0] * 11 + [30.0], [150.0] * 11 + [2500.0], True
    )
    assert months.temperature[[0, -1]].tolist() == [21.1, 23.9]
    assert months.humidity[[0, -1]] == pytest.approx([0.40, 0.70])
