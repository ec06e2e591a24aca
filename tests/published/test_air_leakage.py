"""Air leakage against published limits, worked figures and reference property libraries.

Limits: IECC C402.5 and ASHRAE 90.1 (0.004, 0.04 and 0.4 cfm/ft² at 0.3 in of water), NBC A-5.4.1.2, all from
memory of the documents. Moisture left by a leak: derived from psychrometrics, and against PsychroLib.
"""

import numpy as np
import psychrolib
import pytest

from reviewer.humidity import saturation_pressure
from reviewer.physics import airflow as af
from reviewer.physics.basics import DAY


def test_si_limits_are_the_inch_pound_limits_of_the_codes():
    # 1 cfm/ft² = 5.08 L/(s·m²); the codes round 0.0203, 0.203 and 2.03 to the SI values.
    limits = [af.MATERIAL_LIMIT, af.ASSEMBLY_LIMIT, af.BUILDING_LIMIT]
    assert limits == pytest.approx([0.004 * 5.08, 0.04 * 5.08, 0.4 * 5.08], rel=0.02)


@pytest.mark.parametrize(("rh", "limit"), [(0.26, 0.15), (0.27, 0.10), (0.55, 0.10), (0.551, 0.05)])
def test_canadian_system_limits_by_indoor_humidity(rh, limit):
    # NBC A-5.4.1.2: 0.15 below 27 %, 0.10 from 27 to 55 %, 0.05 above 55 % RH (from memory).
    assert float(af.system_limit(rh)) == limit


@pytest.mark.parametrize(
    ("height", "outdoor", "indoor", "expected"),
    [(5, -20, 20, 9.338), (1, 0, 20, 0.865), (2.5, -10, 20, 3.369)],
)
def test_stack_pressure_by_the_3465_form(height, outdoor, indoor, expected):
    # Δp = 3465·z·(1/T_o − 1/T_i), the form of textbooks with a rounded constant (derived); 0.5 % covers the
    # rounding of the constant (3461.5 from the gas constant of ASHRAE).
    assert float(af.stack_pressure(height, outdoor, indoor)) == pytest.approx(expected, rel=5e-3)


def test_stack_pressure_is_about_0_04_pascal_per_meter_and_kelvin():
    # ASHRAE Fundamentals, Ventilation and Infiltration, rule of thumb (from memory): one figure.
    assert float(af.stack_pressure(1.0, -5.0, 20.0)) / 25 == pytest.approx(0.04, abs=0.005)


def test_velocity_pressure():
    # ρ = 1.2 kg/m³ (derived from the definition).
    assert af.wind_pressure([5.0, 10.0]).tolist() == pytest.approx([15.0, 60.0], rel=1e-12)


def test_a_square_inch_of_opening():
    # C_d 0.6, ρ 1.2 kg/m³, 1 in² at 4 and 10 Pa: derived from the orifice equation; 0.1 %.
    assert af.orifice_flow(0.0254**2, [4.0, 10.0]).tolist() == pytest.approx([0.0009995, 0.0015803], rel=1e-3)


def test_water_left_by_a_leak_of_one_liter_a_second():
    # Room 21 °C, 40 % RH; sheathing −10 °C; ρ 1.2 (derived): w 0.0061635 and 0.001596 kg/kg, 0.4736 kg a day.
    room = 0.4 * float(saturation_pressure(21.0))
    assert float(af.humidity_ratio(room)) == pytest.approx(0.0061635, rel=5e-3)
    assert float(af.humidity_ratio(saturation_pressure(-10.0))) == pytest.approx(0.001596, rel=5e-3)
    assert float(af.deposited(1e-3, room, -10.0)) * DAY == pytest.approx(0.4736, rel=5e-3)


@pytest.mark.parametrize(("t", "rh"), [(-20.0, 0.8), (0.5, 0.9), (21.0, 0.4), (35.0, 0.6)])
def test_humidity_ratio_is_that_of_psychrolib(t, rh):
    # PsychroLib (ASHRAE Fundamentals 2017, chapter 1). The saturation equation of ISO 13788 differs by up to
    # 0.5 % at −20 °C over ice.
    psychrolib.SetUnitSystem(psychrolib.SI)
    ours = float(af.humidity_ratio(rh * saturation_pressure(t)))
    assert ours == pytest.approx(psychrolib.GetHumRatioFromRelHum(t, rh, 101325.0), rel=6e-3)


def test_a_one_inch_hole_passes_tens_of_liters_in_a_heating_season():
    # Builders' figure restated in trade articles (as restated): in a cold climate a 1 in² hole passes about 30
    # quarts (28.4 L) in a heating season, a 4 × 8 ft gypsum sheet a third of a quart. Here 120 days of steady
    # 4 Pa, room 21 °C and 40 %, sheathing −10 °C. The figure claims an order of magnitude and no more.
    room = 0.4 * float(saturation_pressure(21.0))
    leak = float(af.deposited(af.orifice_flow(0.0254**2, 4.0), room, -10.0)) * 120 * DAY
    assert 28.4 / 3 < leak < 28.4 * 3
    assert float(af.leak_to_diffusion(28.4, 0.3)) == pytest.approx(95, abs=5)


def test_a_house_at_three_air_changes_is_tighter_than_the_building_limit():
    # ASTM E779 definitions: 3 h⁻¹ at 50 Pa (IECC R402.4.1.2, zones 3–8, from memory) in a 10 × 10 × 6 m house
    # of 440 m² enclosure is 500 L/s at 50 Pa, 1.136 L/(s·m²); ×1.5^0.65 at 75 Pa.
    q75 = float(af.rated_from_air_changes(3.0, 600 / 440))
    assert q75 == pytest.approx(500 / 440 * 1.5**0.65, rel=1e-12)
    assert af.leakage_class(q75) == "whole building"


def test_leakage_of_a_power_law_between_4_and_50_pascal():
    # The "divide by 20" habit rests on n50/n4 near 5 (n = 0.65: 12.5^0.65 = 5.16, derived).
    assert float(af.at_pressure(1.0, 50.0) / af.at_pressure(1.0, 4.0)) == pytest.approx(5.164, abs=1e-3)
    assert np.all(np.diff(af.at_pressure(1.0, np.linspace(-10, 10, 21))) > 0)
