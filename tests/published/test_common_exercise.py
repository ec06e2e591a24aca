"""Isothermal drying of a homogeneous layer: the second HAMSTAD exercise.

Hagentoft and others, Journal of Thermal Envelope and Building Science 27 (2004) 327–352. Specification: from
memory. The equilibrium contents are derived from its sorption curve (84.77 kg/m³ is the published start, 84.7, to
the figures printed). The drying profiles are compared with an independent solution of the same diffusion equation in
moisture content (method of lines, 400 cells, LSODA of scipy), not with the participants' results.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from reviewer.humidity import saturation_pressure
from reviewer.physics.hourly.boundary import AirBoundary
from reviewer.physics.hourly.materials import HygroMaterial, Layer
from reviewer.physics.hourly.outcome import Outcome
from reviewer.physics.hourly.solver import Assembly, Settings, simulate

WIDTH, DIFFUSIVITY, TRANSFER = 0.2, 6.0e-10, 1.0e-3
HOURS = (100, 300, 1000)
PSAT = float(saturation_pressure(20.0))
R_VAPOR = 461.5


def water(rh: np.ndarray | float) -> np.ndarray:
    return 116.0 / (1.0 - np.log(rh) / 0.118) ** 0.869


def humidity(w: np.ndarray | float) -> np.ndarray:
    return np.exp(0.118 * (1.0 - (116.0 / np.asarray(w)) ** (1.0 / 0.869)))


@cache
def material() -> HygroMaterial:
    rh = np.concatenate([np.linspace(0.02, 0.9, 400), np.linspace(0.9, 1.0, 300)[1:]])
    # The curve holds at 20 °C; at 23 °C the same suction belongs to a slightly higher humidity.
    reference = rh ** (293.15 / 296.15)
    return HygroMaterial(
        density=525.0,
        heat_capacity=800.0,
        conductivity=0.15,
        permeability=[(0.5, 1.0e-20)],
        sorption=list(zip(reference, water(rh), strict=True)),
        free_saturation=116.0,
        liquid_diffusivity=[(0.0, DIFFUSIVITY), (116.0, DIFFUSIVITY)],
    )


def outcome_after(hours: int, cells: int = 200, tolerance: float = 0.02) -> Outcome:
    widths = tuple([WIDTH / cells] * cells)
    transfer = TRANSFER / (R_VAPOR * 293.15)
    # Heat transfer without limit keeps the layer at 20 °C, as the exercise supposes.
    inside = AirBoundary(20.0, 0.65 * PSAT, 1e6, transfer)
    outside = AirBoundary(20.0, 0.45 * PSAT, 1e6, transfer)
    assembly = Assembly([Layer(material(), WIDTH, widths)], inside, outside, initial_rh=0.95)
    settings = Settings(tolerance=tolerance, least_step=0.1, first_step=1.0, finest=5e-4)
    return simulate(assembly, [0.0, hours * 3600.0], settings=settings)


@cache
def reference() -> tuple[np.ndarray, np.ndarray]:
    n = 400
    dx = WIDTH / n
    x = (np.arange(n) + 0.5) * dx
    beta = TRANSFER * PSAT / (R_VAPOR * 293.15)
    table = np.linspace(5.0, 116.0, 200_000)

    def surface_flux(w: float, rh: float) -> float:
        # Where diffusion to the surface and transfer into the air are equal.
        excess = DIFFUSIVITY * (w - table) / (dx / 2) - beta * (humidity(table) - rh)
        i = int(np.searchsorted(-excess, 0.0))
        f = excess[i - 1] / (excess[i - 1] - excess[i])
        return DIFFUSIVITY * (w - (table[i - 1] + f * (table[i] - table[i - 1]))) / (dx / 2)

    def rate(_: float, w: np.ndarray) -> np.ndarray:
        flux = np.empty(n + 1)
        flux[1:-1] = DIFFUSIVITY * (w[:-1] - w[1:]) / dx
        flux[0] = -surface_flux(w[0], 0.65)
        flux[-1] = surface_flux(w[-1], 0.45)
        return (flux[:-1] - flux[1:]) / dx

    seconds = np.array(HOURS) * 3600.0
    start = np.full(n, float(water(0.95)))
    found = solve_ivp(
        rate, (0.0, seconds[-1]), start, "LSODA", t_eval=seconds, rtol=1e-6, atol=1e-5, lband=1, uband=1
    )
    assert found.success
    return x, found.y


@pytest.mark.parametrize(("rh", "expected"), [(0.45, 19.536), (0.65, 30.506), (0.95, 84.769)])
def test_equilibrium_content(rh: float, expected: float) -> None:
    assert float(material().water_content(rh ** (293.15 / 296.15))) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("hours", HOURS)
def test_profile_while_drying_agrees_with_an_independent_solution(hours: int) -> None:
    x, w = reference()
    outcome = outcome_after(hours)
    expected = np.interp(outcome.depth, x, w[:, HOURS.index(hours)])
    inside = (outcome.depth > x[0]) & (outcome.depth < x[-1])
    assert np.abs(outcome.profile_water - expected)[inside].max() < 0.25
    dried = WIDTH * float(water(0.95)) - float(w[:, HOURS.index(hours)].mean()) * WIDTH
    assert -outcome.stored_change[0] == pytest.approx(dried, rel=0.005)


def test_error_falls_with_the_square_of_the_cell_width() -> None:
    # 20 °C isothermal, after 1,000 h: total water of 20, 40 and 80 equal cells against 640.
    fine = outcome_after(1000, 640, 0.05).stored_change[0]
    errors = [abs(outcome_after(1000, n, 0.05).stored_change[0] - fine) for n in (20, 40, 80)]
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert errors[-1] < 2e-3 * abs(fine)
    assert orders.min() > 1.3


def test_drying_is_monotone_and_ends_at_equilibrium() -> None:
    hours = np.concatenate([[0.0], np.logspace(0, 6.5, 60)]) * 3600.0
    transfer = TRANSFER / (R_VAPOR * 293.15)
    air = AirBoundary(20.0, 0.65 * PSAT, 1e6, transfer)
    assembly = Assembly([Layer(material(), WIDTH)], air, air, initial_rh=0.95)
    outcome = simulate(assembly, hours, settings=Settings(tolerance=0.1, least_step=1.0))
    water_held = outcome.water[0, :, 0]
    # Steps of weeks end by passing equilibrium by some millionths of what is held.
    assert (np.diff(water_held) <= 1e-5 * water_held[-1]).all()
    assert water_held[-1] == pytest.approx(30.506 * WIDTH, rel=1e-3)
