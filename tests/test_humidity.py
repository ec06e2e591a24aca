"""Saturation pressure and its inverse against the standard and against three independent libraries."""

from __future__ import annotations

import CoolProp.CoolProp as CoolProp
import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws._iapws import _Sublimation_Pressure
from iapws.iapws97 import _PSat_T

from reviewer.humidity import TEMPERATURES, dew_point, saturation_pressure

# ISO 13788 Annex E: formula from memory, whole-degree values derived from it by two people (certainty: derived).
ISO_13788 = {
    -20: 102.7, -19: 113.1, -18: 124.4, -17: 136.7, -16: 150.1, -15: 164.7, -14: 180.7, -13: 198.0, -12: 216.8,
    -11: 237.2, -10: 259.3, -9: 283.4, -8: 309.4, -7: 337.6, -6: 368.2, -5: 401.2, -4: 436.9, -3: 475.5, -2: 517.1,
    -1: 562.0, 0: 610.5, 1: 656.4, 2: 705.3, 3: 757.4, 4: 812.8, 5: 871.9, 6: 934.6, 7: 1001.3, 8: 1072.2, 9: 1147.5,
    10: 1227.3, 11: 1312.0, 12: 1401.8, 13: 1497.0, 14: 1597.7, 15: 1704.4, 16: 1817.3, 17: 1936.6, 18: 2062.8,
    19: 2196.2, 20: 2337.0, 21: 2485.6, 22: 2642.4, 23: 2807.8, 24: 2982.2, 25: 3165.9, 26: 3359.5, 27: 3563.2,
    28: 3777.7, 29: 4003.3, 30: 4240.5, 31: 4489.9, 32: 4751.9, 33: 5027.1, 34: 5316.0, 35: 5619.2,
}  # fmt: skip

# ISO 13788 Annex E, inverse formula from memory, values derived.
DEW_POINTS = {321: -7.58, 500: -2.4, 1168: 9.26, 1200: 9.66, 1400: 11.98, 1700: 14.96, 2000: 17.51}

# A table independent of the formula: Danish building research guidance 224, Table 23 (certainty: seen).
GUIDANCE_224 = {-20: 103.5, -19: 113.9, -18: 125.2, 31: 4492.0, 32: 4755.0}

ICE = np.array([-40.0, -30.0, -20.0, -15.0, -10.0, -5.0, -1.0])
WATER = np.arange(1.0, 81.0)

# The standard's equations are fits with rounded constants: 0.2 % over water to 80 °C; over ice they fall
# below the modern equations with the distance from 0 °C, to 1.9 % at −40 °C.
WATER_TOLERANCE = 0.002
ICE_TOLERANCE = 0.001 + 0.0005 * -ICE


def test_saturation_pressure_is_that_of_the_standard_at_every_whole_degree():
    t = np.array(list(ISO_13788), dtype=float)
    assert np.abs(saturation_pressure(t) - np.array(list(ISO_13788.values()))).max() <= 0.051


def test_dew_point_is_that_of_the_standard():
    p = np.array(list(DEW_POINTS), dtype=float)
    assert np.abs(dew_point(p) - np.array(list(DEW_POINTS.values()))).max() <= 0.01


def test_saturation_pressure_agrees_with_an_independent_table():
    # 0.8 % at −20 °C is what two fits to the ice line differ by; over water 0.1 %.
    for t, p in GUIDANCE_224.items():
        assert float(saturation_pressure(t)) == pytest.approx(p, rel=0.001 if t > 0 else 0.008)


def test_over_water_iapws_agrees():
    reference = np.array([_PSat_T(t + 273.15) * 1e6 for t in WATER])
    assert np.abs(saturation_pressure(WATER) / reference - 1).max() <= WATER_TOLERANCE


def test_over_water_coolprop_agrees():
    # The pure-water line; CoolProp's humid-air value carries the enhancement factor, 0.4 % more.
    reference = np.array([CoolProp.PropsSI("P", "T", t + 273.15, "Q", 0, "Water") for t in WATER])
    assert np.abs(saturation_pressure(WATER) / reference - 1).max() <= WATER_TOLERANCE


def test_over_water_psychrolib_agrees():
    psychrolib.SetUnitSystem(psychrolib.SI)
    reference = np.array([psychrolib.GetSatVapPres(t) for t in WATER])
    assert np.abs(saturation_pressure(WATER) / reference - 1).max() <= WATER_TOLERANCE


def test_over_ice_iapws_agrees():
    reference = np.array([_Sublimation_Pressure(t + 273.15) * 1e6 for t in ICE])
    assert (np.abs(saturation_pressure(ICE) / reference - 1) <= ICE_TOLERANCE).all()


def test_over_ice_psychrolib_agrees():
    psychrolib.SetUnitSystem(psychrolib.SI)
    reference = np.array([psychrolib.GetSatVapPres(t) for t in ICE])
    assert (np.abs(saturation_pressure(ICE) / reference - 1) <= ICE_TOLERANCE).all()


def test_the_deviation_stated_at_the_ends_of_the_range_holds():
    hot = float(saturation_pressure(100.0)) / (_PSat_T(373.15) * 1e6) - 1
    cold = float(saturation_pressure(-80.0)) / (_Sublimation_Pressure(193.15) * 1e6) - 1
    assert 0.006 < hot < 0.008
    assert -0.11 < cold < -0.10
    below = np.arange(-80.0, 0.0, 0.5)
    exact = np.array([_Sublimation_Pressure(t + 273.15) * 1e6 for t in below])
    gap = exact - saturation_pressure(below)
    assert (gap > 0).all()
    assert gap.max() < 0.75


@given(st.floats(*TEMPERATURES))
def test_dew_point_is_the_inverse_of_saturation_pressure(t: float):
    assert float(dew_point(saturation_pressure(t))) == pytest.approx(t, abs=1e-9)


@given(st.floats(*TEMPERATURES), st.floats(*TEMPERATURES))
def test_saturation_pressure_rises_with_temperature(a: float, b: float):
    low, high = sorted((a, b))
    if high - low > 1e-6:
        assert saturation_pressure(low) < saturation_pressure(high)


def test_water_and_ice_meet_at_the_freezing_point():
    below, at = saturation_pressure([-1e-9, 0.0])
    assert below == pytest.approx(at, rel=1e-9)


def test_shape_is_kept():
    t = np.linspace(-20, 30, 24).reshape(2, 3, 4)
    assert saturation_pressure(t).shape == (2, 3, 4)
    assert dew_point(saturation_pressure(t)).shape == (2, 3, 4)


@pytest.mark.parametrize("t", [-80.1, 100.1, float("nan"), float("inf")])
def test_temperatures_out_of_range_are_refused(t: float):
    with pytest.raises(ValueError, match="from -80 to 100 °C only"):
        saturation_pressure([0.0, t])


@pytest.mark.parametrize("p", [-1.0, 0.0, 2e5, float("nan")])
def test_pressures_out_of_range_are_refused(p: float):
    with pytest.raises(ValueError, match="Pa only"):
        dew_point(p)
