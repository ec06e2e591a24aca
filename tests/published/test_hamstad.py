"""The hourly simulation against HAMSTAD benchmark 2, isothermal drying of a layer.

Hagentoft and others, Journal of Thermal Envelope and Building Science 27, 2004, 327–352. Specification from memory;
equilibrium contents derived, the initial one as published (84.7). Profiles are held to an independent solution of the
same equation by scipy, not to the participants' results.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import solve_ivp

from reviewer.humidity import saturation_pressure
from reviewer.physics.basics import R_VAPOR
from reviewer.physics.hourly.boundary import AirBoundary
from reviewer.physics.hourly.materials import HygroMaterial, Layer
from reviewer.physics.hourly.outcome import Outcome
from reviewer.physics.hourly.solver import Assembly, Settings, State, simulate

Array = NDArray[np.float64]

THICKNESS, DIFFUSIVITY, PERMEABILITY, BETA = 0.2, 6.0e-10, 1.0e-15, 1.0e-3
HOURS = (100, 300, 1000)


def sorbed(rh: ArrayLike) -> Array:
    return 116.0 / (1.0 - np.log(np.asarray(rh, dtype=float)) / 0.118) ** 0.869


def humidity(w: Array) -> Array:
    """The inverse of `sorbed`."""
    return np.exp(0.118 * (1.0 - (116.0 / w) ** (1.0 / 0.869)))


def test_equilibrium_contents_of_benchmark_2() -> None:
    # 84.77 kg/m³ at the start: the published 84.7.
    assert sorbed([0.45, 0.65, 0.95]) == pytest.approx([19.536, 30.506, 84.769], abs=0.01)
    assert sorbed(0.95) == pytest.approx(84.7, abs=0.1)


@lru_cache(maxsize=1)
def drying_layer() -> list[Outcome]:
    # The curve belongs to 20 °C here; the solver's to 23 °C: the same suction.
    rh = np.concatenate((np.linspace(0.01, 0.9, 90), np.linspace(0.9025, 0.99, 36)))
    at_23 = rh ** (293.15 / 296.15)
    w = sorbed(rh)
    material = HygroMaterial(
        525.0,
        800.0,
        0.15,
        [(0.5, PERMEABILITY)],
        list(zip(at_23, w, strict=True)),
        116.0,
        liquid_diffusivity=[(0.0, DIFFUSIVITY), (116.0, DIFFUSIVITY)],
    )
    p_sat = float(saturation_pressure(20.0))
    transfer = BETA / (R_VAPOR * 293.15)
    # Isothermal, as the benchmark is named: at its 25 W/(m²·K) evaporation cools the face by 0.15 K, so a hundred times that.
    indoors, outdoors = (AirBoundary(20.0, p_sat * h, 2500.0, transfer) for h in (0.65, 0.45))
    layer = Layer(material, THICKNESS, (THICKNESS / 200,) * 200)
    body = Assembly([layer], indoors, outdoors, initial_rh=0.95, initial_temperature=20.0)
    state: State | None = None
    out, begun = [], 0.0
    for hours in HOURS:
        ends = begun + (hours * 3600.0 - begun) * np.linspace(0.0, 1.0, 200) ** 2
        found = simulate(body, ends, start=state, settings=Settings(tolerance=0.2))
        state, begun = found.state, hours * 3600.0
        out.append(found)
    return out


@lru_cache(maxsize=1)
def by_scipy() -> tuple[Array, Array]:
    """∂w/∂t = D·∂²w/∂x² with β·(ρ_v(w) − ρ_air) at both faces, 200 cells, by the method of lines."""
    n = 200
    dx = THICKNESS / n
    density = float(saturation_pressure(20.0)) / (R_VAPOR * 293.15)

    def face(w: float, air: float) -> float:
        """Flow from the cell through half of it and the film, kg/(m²·s): the face's content by bisection."""
        low, high = min(w, float(sorbed(air))), max(w, float(sorbed(air)))
        for _ in range(60):
            at = 0.5 * (low + high)
            surplus = DIFFUSIVITY * (w - at) / (dx / 2) - BETA * density * (
                float(humidity(np.array(at))) - air
            )
            low, high = (at, high) if surplus > 0 else (low, at)
        return DIFFUSIVITY * (w - 0.5 * (low + high)) / (dx / 2)

    def change(_: float, w: Array) -> Array:
        flow = np.empty(n + 1)
        flow[1:-1] = DIFFUSIVITY * (w[:-1] - w[1:]) / dx
        flow[0], flow[-1] = -face(w[0], 0.65), face(w[-1], 0.45)
        return (flow[:-1] - flow[1:]) / dx

    times = [h * 3600.0 for h in HOURS]
    band = np.tri(n, k=1) - np.tri(n, k=-2)
    start = np.full(n, float(sorbed(0.95)))
    solved = solve_ivp(change, (0.0, times[-1]), start, "BDF", times, rtol=1e-6, atol=1e-4, jac_sparsity=band)
    return (np.arange(n) + 0.5) * dx, solved.y.T


@pytest.mark.parametrize("k", range(len(HOURS)), ids=[f"{h} h" for h in HOURS])
def test_drying_profile_of_benchmark_2(k: int) -> None:
    out = drying_layer()[k]
    x, w = by_scipy()
    assert out.profile_water == pytest.approx(np.interp(out.depth, x, w[k]), abs=0.05)
    # Most still holds what it held: it is a thick layer that dries slowly.
    assert out.profile_water.max() <= 84.78
