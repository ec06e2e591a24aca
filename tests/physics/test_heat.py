"""Steady heat flow: limits, invariances and refusals beyond the published checks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.physics import heat
from reviewer.units import R_IP

resistances = st.lists(st.floats(0.01, 6.0), min_size=1, max_size=6)


@settings(deadline=None)
@given(resistances, st.floats(-30, 40), st.floats(-30, 40))
def test_temperatures_fall_in_proportion_to_resistance(r, t_in, t_out):
    t = heat.temperatures(r, t_in, t_out, 0.13, 0.04)
    flow = (t_in - t_out) / (sum(r) + 0.17)
    assert -np.diff(t) == pytest.approx(flow * np.array(r), abs=1e-9)
    assert t_in - t[0] == pytest.approx(0.13 * flow, abs=1e-9)
    assert t[-1] - t_out == pytest.approx(0.04 * flow, abs=1e-9)


@settings(deadline=None)
@given(resistances, st.integers(0, 5), st.floats(0.1, 0.9))
def test_splitting_a_layer_moves_no_joint(r, which, share):
    k = which % len(r)
    t = heat.temperatures(r, 20.0, -10.0, 0.13, 0.04)
    split = heat.temperatures(
        [*r[:k], r[k] * share, r[k] * (1 - share), *r[k + 1 :]], 20.0, -10.0, 0.13, 0.04
    )
    assert np.delete(split, k + 1) == pytest.approx(t, abs=1e-9)


@settings(deadline=None)
@given(resistances)
def test_a_section_turned_around_has_mirrored_temperatures(r):
    t = heat.temperatures(r, 20.0, -10.0, 0.13, 0.04)
    mirror = heat.temperatures(r[::-1], -10.0, 20.0, 0.04, 0.13)
    assert mirror[::-1] == pytest.approx(t, abs=1e-9)


def test_batches_and_months_broadcast():
    r = np.array([[[0.1, 2.0]], [[0.2, 4.0]]])
    t_out = np.linspace(-5, 20, 12)
    t = heat.temperatures(r, 20.0, t_out, 0.13, [[0.04], [0.13]])
    assert t.shape == (2, 12, 3)
    assert t[1, 3] == pytest.approx(heat.temperatures([0.2, 4.0], 20.0, t_out[3], 0.13, 0.13))


@settings(deadline=None)
@given(
    st.lists(st.lists(st.floats(0.01, 5.0), min_size=3, max_size=3), min_size=2, max_size=4),
    st.integers(1, 9),
)
def test_the_lower_limit_is_never_above_the_upper(paths, weight):
    f = np.array([weight] + [3] * (len(paths) - 1), dtype=float)
    c = heat.combined_method(paths, f / f.sum(), 0.13, 0.04)
    assert c.lower <= c.upper * (1 + 1e-12)
    assert c.lower <= c.total * (1 + 1e-12)
    assert c.error >= -1e-12


def test_equal_paths_are_one_path():
    c = heat.combined_method([[1.0, 2.0], [1.0, 2.0]], [0.3, 0.7], 0.13, 0.04)
    assert (c.upper, c.lower) == (pytest.approx(3.17), pytest.approx(3.17))


def test_a_layer_without_resistance_short_circuits_the_paths_in_it():
    got = heat.isothermal_planes_u([[1.0, 0.0], [1.0, 2.0]], [0.5, 0.5], 0.1, 0.1)
    assert got == pytest.approx(1 / 1.2)


def test_metal_through_insulation_is_flagged_as_beyond_the_combined_method():
    c = heat.combined_method([[0.05, 3.5, 0.1], [0.05, 0.003, 0.1]], [0.998, 0.002], 0.13, 0.04)
    assert not c.applicable


@pytest.mark.parametrize("shares", [[0.5, 0.6], [1.0, 0.0], [-0.1, 1.1]])
def test_shares_that_are_not_shares_are_refused(shares):
    with pytest.raises(ValueError, match="add up to 1"):
        heat.combined_method([[1.0], [2.0]], shares, 0.13, 0.04)


def test_low_emissivity_raises_an_air_layer():
    plain = heat.air_layer_resistance(0.02, "horizontal")
    shiny = heat.air_layer_resistance(0.02, "horizontal", 0.05)
    # ISO 6946 with 0.05 on one face at 10 °C: 1 / (1.25 + 5.15 · 0.0497) by hand.
    assert shiny == pytest.approx(1 / (1.25 + 5.149 / (1 / 0.05 + 1 / 0.9 - 1)), rel=1e-3)
    assert shiny > 3 * plain


def test_a_larger_difference_over_an_air_layer_convects_more():
    # ISO 6946 Annex B: 0.73 · ΔT^(1/3) above 5 K for horizontal flow; they meet at 5 K.
    assert heat.air_layer_resistance(0.05, "horizontal", delta_t=5.0) == pytest.approx(
        heat.air_layer_resistance(0.05, "horizontal", delta_t=5.0001), rel=1e-2
    )
    assert heat.air_layer_resistance(0.05, "up", delta_t=15) < heat.air_layer_resistance(
        0.05, "up", delta_t=5
    )


@pytest.mark.parametrize("thickness", [-0.01, 0.31, float("nan")])
def test_air_layers_beyond_the_standard_are_refused(thickness):
    with pytest.raises(ValueError, match="thickness of an air layer"):
        heat.air_layer_resistance(thickness, "up")
    with pytest.raises(ValueError, match="thickness of an air layer"):
        heat.tabulated_air_layer_resistance(thickness, "up")


def test_unknown_words_are_refused():
    with pytest.raises(ValueError, match="up, horizontal or down"):
        heat.surface_resistance("sideways", "inside")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="up, horizontal or down"):
        heat.air_layer_resistance(0.02, "sideways")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="inside, outside or ventilated cavity"):
        heat.surface_resistance("up", "top")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="none, plates or whole wall"):
        heat.framing_fraction(0.038, 0.4, "all")  # type: ignore[arg-type]


def test_slightly_ventilated_lies_between_unventilated_and_well_ventilated():
    assert heat.slightly_ventilated_resistance(3.0, 2.6, 500.0) == pytest.approx(3.0)
    assert heat.slightly_ventilated_resistance(3.0, 2.6, 1500.0) == pytest.approx(2.6)
    with pytest.raises(ValueError, match="opening area"):
        heat.slightly_ventilated_resistance(3.0, 2.6, 400.0)


def test_framing_shares():
    # ASHRAE 90.1, Appendix A3.4 (from memory): 25 % at 16 in, 22 % at 24 in; studs alone by arithmetic.
    inch = 0.0254
    assert heat.framing_fraction(1.5 * inch, 16 * inch) == pytest.approx(0.25, abs=0.001)
    assert heat.framing_fraction(1.5 * inch, 24 * inch) == pytest.approx(0.22, abs=0.002)
    assert heat.framing_fraction(1.5 * inch, 16 * inch, "none") == pytest.approx(1.5 / 16)
    assert 0.13 < heat.framing_fraction(1.5 * inch, 16 * inch, "plates") < 0.15
    with pytest.raises(ValueError, match="narrower than their spacing"):
        heat.framing_fraction(0.5, 0.4)
    with pytest.raises(ValueError, match="leave a cavity"):
        heat.framing_fraction(0.39, 0.4)


@pytest.mark.parametrize(("depth", "spacing", "rated", "effective"), [(3.5, 16, 13, 6.0), (3.5, 24, 15, 7.8), (6, 16, 19, 7.1), (6, 24, 21, 9.0), (8, 16, 25, 7.8)])  # fmt: skip
def test_steel_stud_table(depth, spacing, rated, effective):
    # ASHRAE 90.1 (2010 and later), Appendix A, Table A9.2-2, from memory; h·ft²·°F/Btu.
    got = heat.steel_stud_resistance(rated * R_IP, depth * 0.0254, spacing * 0.0254)
    assert got / R_IP == pytest.approx(effective)


def test_steel_studs_beyond_the_table_are_refused():
    for rated, depth, spacing in ((21, 3.5, 16), (13, 5.0, 16), (13, 3.5, 12)):
        with pytest.raises(ValueError, match="tabulated"):
            heat.steel_stud_resistance(rated * R_IP, depth * 0.0254, spacing * 0.0254)


def test_a_metal_stud_lies_between_no_stud_and_an_isothermal_metal_plane():
    u = heat.metal_stud_u(0.3, 0.3, 2.3, 0.089, 0.4064)
    assert 1 / 2.9 < u < 1 / 0.6
    assert heat.metal_stud_u(0.3, 0.3, 2.3, 0.089, 0.6096) < u
    nothing = heat.metal_stud_u(0.3, 0.3, 2.3, 0.089, 0.4064, conductivity=0.089 / 2.3)
    assert nothing == pytest.approx(1 / 2.9, rel=0.03)
    with pytest.raises(ValueError, match="thinner than its flange"):
        heat.metal_stud_u(0.3, 0.3, 2.3, 0.089, 0.03)


def test_resistances_that_follow_temperature_agree_with_it():
    def resistance(mean):
        return np.array([0.05, 3.0]) / (1 + np.array([0.0, 0.004]) * (mean - 10.0))

    r = heat.iterate_resistance(resistance, 20.0, np.array([-20.0, 10.0]), 0.13, 0.04)
    t = heat.temperatures(r, 20.0, np.array([-20.0, 10.0]), 0.13, 0.04)
    assert r == pytest.approx(resistance(0.5 * (t[..., :-1] + t[..., 1:])), rel=1e-5)
    assert r.shape == (2, 2)


def test_resistances_that_never_settle_are_refused():
    def jump(mean):
        return np.where(mean[..., :1] > 10.0, [5.0, 1.0], [0.1, 1.0])

    with pytest.raises(RuntimeError, match="don't settle"):
        heat.iterate_resistance(jump, 20.0, np.array([-10.0]), 0.13, 0.04)


def test_fasteners_by_hand():
    # 0.8 · 50 · 5·10⁻⁶ · 4 / 0.1 · (3/4)²; recessed to half the depth it halves.
    full = heat.fastener_correction(50.0, 5e-6, 4.0, 0.1, 3.0, 4.0)
    assert full == pytest.approx(0.8 * 50 * 5e-6 * 4 / 0.1 * 0.5625)
    assert heat.fastener_correction(50.0, 5e-6, 4.0, 0.1, 3.0, 4.0, length=0.05) == pytest.approx(full / 2)


@pytest.mark.parametrize("call", [lambda: heat.air_gap_correction(3, 1, 2), lambda: heat.air_gap_correction(1, 3, 2), lambda: heat.fastener_correction(50, 1e-6, 4, 0, 1, 2), lambda: heat.inverted_roof_correction(-1, 1, 2), lambda: heat.unheated_space_resistance(0, [], 1, 1), lambda: heat.unheated_space_estimate(1, 0), lambda: heat.temperatures([-1.0], 20, 0, 0.13, 0.04), lambda: heat.temperature_factor(1.0, 2.0, 2.0)])  # fmt: skip
def test_impossible_components_are_refused(call):
    with pytest.raises(ValueError):
        call()


def test_no_factor_is_required_where_it_is_warm_outside():
    got = heat.required_temperature_factor([1200.0, 1200.0], 20.0, [25.0, 5.0])
    assert got[0] == -np.inf
    assert 0 < got[1] < 1


def test_a_required_factor_met_exactly_gives_the_critical_humidity():
    from reviewer.humidity import saturation_pressure

    factor = heat.required_temperature_factor(1250.0, 21.0, -4.0)
    surface = -4.0 + factor * 25.0
    assert 1250.0 / saturation_pressure(surface) == pytest.approx(0.8)
    assert heat.temperature_factor(surface, 21.0, -4.0) == pytest.approx(factor)
