"""Conversion factors from the definitions of the units: what is read at the edges comes out in SI as defined.

Exact definitions: inch 25.4 mm, grain 64.79891 mg, pound 0.45359237 kg, international table Btu 1055.05585262 J
(International Yard and Pound agreement 1959; ISO 80000-5), conventional mercury at 0 °C 3386.389 Pa an inch (NIST SP
811). The perm is that of ASTM E96 at 0 °C. Factors here are derived from those to seven figures; the rounded 5.71e-11
and 1 MN·s/g = 10⁹ were seen in print (Danish moisture guidance, Annex A, Table 22).
"""

from __future__ import annotations

import pytest

from reviewer.physics.vapor import resistance_of_s_d, s_d
from reviewer.units import DELTA_0, PERM, PERM_INCH, R_IP, parse, show

# text, dimension, SI value: relative tolerance 1e-5 unless the definition gives it exactly.
FACTORS = [
    ("1 perm", "permeance", 57.21349e-12),
    ("1 perm-in", "permeability", 1.453223e-12),
    ("R-1", "thermal resistance", 0.1761102),
    ("1 h ft2 F/Btu", "thermal resistance", 0.1761102),
    ("1 Btu/(h ft2 F)", "thermal transmittance", 5.678263),
    ("1 Btu in/(h ft2 F)", "thermal conductivity", 0.1442279),
    ("60 ng/(s m2 Pa)", "permeance", 1.048704 * 57.21349e-12),
    ("sd 3.495679 m", "permeance", 57.21349e-12),
    ("sd 34.95679 m", "permeance", 0.1 * 57.21349e-12),
    ("1 inHg", "pressure", 3386.389),
    ("1 psi", "pressure", 6894.757),
    ("1 cfm/ft2", "air permeance", 0.4719474 / 0.09290304),
    ("9000 F d", "degree days", 9000 * 0.5555556),
    ("1 in", "length", 0.0254),
    ("6 mil", "length", 6 * 25.4e-6),
    ("1 pcf", "density", 0.45359237 / 0.3048**3),
    ("1 lb/ft2", "area density", 0.45359237 / 0.3048**2),
]


@pytest.mark.parametrize(("text", "dimension", "si"), FACTORS)
def test_a_unit_is_what_its_definition_says(text: str, dimension: str, si: float) -> None:
    assert parse(text, dimension).low == pytest.approx(si, rel=1e-5)


def test_the_factors_follow_from_grain_foot_hour_and_mercury() -> None:
    assert pytest.approx(64.79891e-6 / (3600 * 0.3048**2 * 3386.389), rel=1e-12) == PERM
    assert pytest.approx(0.0254, rel=1e-12) == PERM_INCH / PERM
    assert pytest.approx(0.3048**2 * (5 / 9) * 3600 / 1055.05585262, rel=1e-12) == R_IP
    assert pytest.approx(5.678263, rel=1e-6) == 1 / R_IP


def test_the_perm_is_that_of_mercury_at_0_degrees_and_not_at_60_fahrenheit() -> None:
    # Mercury at 60 °F, 3376.85 Pa an inch, would make the perm 57.37511 ng/(s·m²·Pa).
    at_60 = PERM * 3386.389 / 3376.85
    assert at_60 * 1e12 == pytest.approx(57.37511, rel=1e-5)
    assert pytest.approx(57.21349, rel=1e-6) == PERM * 1e12


def test_the_rounded_factors_in_print_are_within_their_rounding() -> None:
    # 5.71e-11 for a grain/(ft²·h·inHg) (seen): two tenths of a percent below the definition.
    assert pytest.approx(5.71e-11, rel=0.003) == PERM
    # 1 MN·s/g is 10⁹ m²·s·Pa/kg (seen): s_d 0.2 m, and 17.4784 perm.
    assert float(resistance_of_s_d(0.2)) == pytest.approx(1e9)
    assert pytest.approx(17.4784, rel=1e-5) == 1e-9 / PERM


def test_equivalent_air_layers_of_the_class_limits() -> None:
    assert float(s_d(PERM)) == pytest.approx(3.495679, rel=1e-6)
    assert float(s_d(0.1 * PERM)) == pytest.approx(34.95679, rel=1e-6)
    assert DELTA_0 == 2.0e-10


@pytest.mark.parametrize(("text", "dimension", "si"), FACTORS)
def test_what_is_shown_in_trade_units_reads_back(text: str, dimension: str, si: float) -> None:
    shown = show(si, dimension, "ip", 6, beside=False)
    assert parse(shown, dimension).low == pytest.approx(si, rel=2e-5)


def test_water_and_vapor_pressure_have_si_beside_them() -> None:
    # A pound is 7,000 grains (exact); the standards set their limits in g/m² and Pa.
    assert show(0.2, "area density", "ip") == "287 grains/ft² (200 g/m²)"
    assert pytest.approx(287, abs=0.5) == 0.2 / 0.45359237 * 7000 * 0.09290304
    assert show(110.0, "area density", "ip") == "22.5 lb/ft² (110 kg/m²)"
    assert show(540.0, "vapor pressure", "ip") == "0.159 in. Hg (540 Pa)"
    assert parse("287 grains/ft²", "area density").low == pytest.approx(0.2, rel=2e-3)
