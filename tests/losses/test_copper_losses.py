"""Copper with alternating current, and strands in the magnets' field, against closed forms."""

import math

import numpy as np
import pytest
from scipy.integrate import quad, trapezoid

from fem_motor.losses.copper import (
    AlternatingResistance,
    isolated_wire_factor,
    layers_factor,
    skin_depth,
    strand_loss_density,
)
from fem_motor.losses.waves import rates, square
from fem_motor.materials import Conductor, load_library

RHO = 1.7241e-8
"""Ω m at 20 °C. Source: IEC 60028."""


@pytest.mark.parametrize(("frequency", "depth_mm"), [(1e3, 2.09), (10e3, 0.66)])
def test_skin_depth_of_copper(frequency: float, depth_mm: float) -> None:
    # Text book values.
    found = skin_depth(angular_frequency=math.tau * frequency, resistivity=RHO)
    assert 1e3 * found == pytest.approx(depth_mm, abs=0.005)


def test_strand_in_an_alternating_field_of_0_4_tesla() -> None:
    # By hand, ω² B² d²/(32 ρ) at 700 Hz, 0.5 mm: 1.4025 MW/m³, at 8890 kg/m³ 157.8 W/kg. Round
    # wire in a uniform field, e.g. Sullivan, IEEE Trans. Power Electron. 16 (2001) 142.
    angle = math.tau / 48 * np.arange(48)
    wave = 0.4 * np.array([np.cos(angle), 0 * angle])[None, :, None, :]
    change = rates(wave, step=math.tau / 48, is_closed=True)
    found = strand_loss_density(
        mean_square_rate=float(square(change).mean()),
        angular_frequency=math.tau * 700,
        diameter=0.5e-3,
        resistivity=RHO,
    )
    assert found == pytest.approx(1.4025e6, rel=5e-4)
    assert found / 8890 == pytest.approx(157.8, rel=5e-4)


def test_strand_loss_is_what_the_induced_currents_dissipate() -> None:
    # Second method: J = ω B x/ρ across a round wire, ∫ ρ J²/2 over its section.
    omega, B, radius = math.tau * 700, 0.4, 0.25e-3
    loss, _ = quad(lambda x: (omega * B * x) ** 2 / (2 * RHO) * 2 * math.sqrt(radius**2 - x**2),
                   -radius, radius)  # fmt: skip
    found = strand_loss_density(
        mean_square_rate=B**2 / 2, angular_frequency=omega, diameter=2 * radius, resistivity=RHO
    )
    assert found == pytest.approx(loss / (math.pi * radius**2), rel=1e-6)


@pytest.mark.parametrize("harmonic", [3, 5])
def test_harmonics_of_the_field_count_with_the_square_of_their_frequency(harmonic: int) -> None:
    angle = math.tau / 96 * np.arange(96)
    x = np.cos(angle) + 0.2 * np.sin(harmonic * angle)
    y = 0.5 * np.sin(angle)
    wave = np.array([x, y])[None, :, None, :]
    found = square(rates(wave, step=math.tau / 96, is_closed=True)).mean()
    assert found == pytest.approx((1 + 0.2**2 * harmonic**2 + 0.25) / 2, rel=1e-12)


def test_isolated_wire_of_two_skin_depths_has_two_per_cent_more() -> None:
    # 1 + (d/δ)⁴/768, the first term of Kelvin's series; 2.1 % at d = 2 δ.
    assert isolated_wire_factor(2.0) - 1 == pytest.approx(2**4 / 768, rel=0.02)
    assert isolated_wire_factor(0.5) - 1 == pytest.approx(0.5**4 / 768, rel=1e-3)


def test_thick_wire_carries_its_current_in_the_skin() -> None:
    # Far beyond the skin depth the current flows in π d δ, less its curvature: d/(4 δ) + ¼.
    assert isolated_wire_factor(40.0) == pytest.approx(10.25, rel=2e-3)


@pytest.mark.parametrize("layers", [1, 4, 10])
def test_thin_layers_grow_with_the_fourth_power(layers: int) -> None:
    # 1 + (5 m² − 1)/45 ξ⁴: Dowell 1966, first term of the series.
    x = 0.15
    assert layers_factor(x, layers) - 1 == pytest.approx((5 * layers**2 - 1) / 45 * x**4, rel=5e-3)


def test_one_thick_layer_carries_its_current_in_one_skin() -> None:
    # Field on one side only: thickness over skin depth.
    assert layers_factor(8.0, 1) == pytest.approx(8.0, rel=1e-3)


def test_layers_are_those_of_the_diffusion_equation() -> None:
    # Second method: m layers of foil, solved as d²H/dx² = 2j H/δ² with H rising by the current of
    # a layer from one to the next; the loss is that of ½ |J|² over the thickness.
    thickness, layers = 1.3, 3
    x = np.linspace(0, thickness, 20001)
    k = 1 + 1j
    loss = 0.0
    for below in range(layers):
        low, high = below, below + 1  # H at the two sides, per current of a layer
        J = (
            k
            * (high * np.cosh(k * x) - low * np.cosh(k * (thickness - x)))
            / np.sinh(k * thickness)
        )
        loss += trapezoid(np.abs(J) ** 2, x)
    direct = layers * (1 / thickness) ** 2 * thickness
    assert layers_factor(thickness, layers) == pytest.approx(loss / direct, rel=1e-6)


def test_resistance_at_standstill_is_that_to_direct_current() -> None:
    wire = AlternatingResistance(diameter=1e-3, layers=5, layer_fill=0.7, slot_share=0.7)
    assert wire.factor(0.0, RHO) == 1.0
    assert wire.factor(1.0, RHO) == pytest.approx(1.0, abs=1e-9)


def test_slot_and_ends_share_the_resistance() -> None:
    # ξ⁴ = (π/4)² η² (d/δ)⁴ for round wire.
    omega, d, fill, m, share = math.tau * 1000, 0.6e-3, 0.7, 6, 0.75
    ratio = d / skin_depth(angular_frequency=omega, resistivity=RHO)
    slot = (5 * m**2 - 1) / 45 * (math.pi / 4) ** 2 * fill**2 * ratio**4
    wire = AlternatingResistance(diameter=d, layers=m, layer_fill=fill, slot_share=share)
    expected = share * slot + (1 - share) * ratio**4 / 768
    assert wire.factor(omega, RHO) - 1 == pytest.approx(expected, rel=5e-3)


def test_hot_copper_has_more_resistance_and_less_eddy_loss() -> None:
    # ρ(100 °C)/ρ(20 °C) = 1 + 0.00393 · 80: 6.961 ohm of 5.296 ohm (100 m of 22 gauge).
    copper = load_library()["copper"]
    assert isinstance(copper, Conductor)
    ratio = copper.resistivity_at(100) / copper.resistivity
    assert ratio == pytest.approx(6.961 / 5.296, rel=1e-3)
