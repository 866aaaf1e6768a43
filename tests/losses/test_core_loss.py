"""Core loss of waves against sines, turning fields and catalogue figures."""

import math

import numpy as np
import pytest
from scipy.integrate import trapezoid

from fem_motor.arrays import FloatArray
from fem_motor.losses.core import (
    CoreLoss,
    has_loss_law,
    in_the_material,
    wave_loss,
)
from fem_motor.losses.waves import SINE_EXCESS, rates, swings
from fem_motor.materials import BHCurve, Core, load_library

SAMPLES = 96
ANGLE = math.tau / SAMPLES * np.arange(SAMPLES)
ONE_KILOGRAM = np.ones(1)


def core(name: str) -> Core:
    found = load_library()[name]
    assert isinstance(found, Core)
    return found


def loss(material: Core, B_x: FloatArray, B_y: FloatArray | None = None) -> CoreLoss:
    """Return the loss of one kilogram in a wave over one electrical period."""
    B_y = np.zeros_like(B_x) if B_y is None else B_y
    wave = np.array([B_x, B_y])[None, :, None, :]
    step = math.tau / B_x.size
    return wave_loss(material, wave, ONE_KILOGRAM, step=step, is_closed=True)


@pytest.mark.parametrize(
    ("name", "B", "frequency", "expected"),
    [
        # k_h f B² + k_e f² B² + k_x (f B)^1.5 by hand, with the library's split (Bertotti 1988):
        # at 1.5 T and 50 Hz the guaranteed loss of the grade (EN 10106).
        ("m400-50a", 1.5, 50.0, 4.00),
        ("m270-50a", 1.5, 50.0, 2.70),
        ("m400-50a", 1.0, 400.0, 35.4),
        ("m270-50a", 1.0, 400.0, 26.1),
        ("m400-50a", 1.0, 1000.0, 169.0),
        ("m270-50a", 1.0, 1000.0, 129.0),
        ("smc-typical", 1.0, 400.0, 45.6),
    ],
)
def test_loss_of_a_sine_is_that_of_the_grade(
    name: str, B: float, frequency: float, expected: float
) -> None:
    found = loss(core(name), B * np.cos(ANGLE)).power(frequency)
    assert found == pytest.approx(expected, rel=5e-3)


@pytest.mark.parametrize("direction", [0.0, 0.4, 1.2])
def test_a_sine_integrated_by_hand_in_any_direction(direction: float) -> None:
    # Within 0.1 %; frame and phase must not matter, nor whether the peak falls on a sample.
    material, B, f = core("smc-typical"), 0.8, 300.0
    wave = B * np.cos(ANGLE + 0.01)
    found = loss(material, wave * math.cos(direction), wave * math.sin(direction)).by_cause(f)
    assert found["hysteresis"] == pytest.approx(0.1 * f * B**1.75, rel=1e-3)
    assert found["eddy"] == pytest.approx(3.5e-5 * f**2 * B**2, rel=1e-6)
    steel = loss(core("m400-50a"), wave * math.cos(direction), wave * math.sin(direction))
    assert steel.by_cause(f)["excess"] == pytest.approx(8e-4 * (f * B) ** 1.5, rel=1e-3)


def test_a_turning_field_loses_twice_by_hysteresis_and_eddies() -> None:
    # Two sines a quarter period apart: closed forms. |dB/dϑ| is then constant, so the excess loss
    # is that of a sine over the mean of |cos|^1.5, 0.5564.
    material, B, f = core("m400-50a"), 1.2, 200.0
    one = loss(material, B * np.cos(ANGLE)).by_cause(f)
    found = loss(material, B * np.cos(ANGLE), B * np.sin(ANGLE)).by_cause(f)
    assert found["hysteresis"] == pytest.approx(2 * one["hysteresis"], rel=1e-3)
    assert found["eddy"] == pytest.approx(2 * one["eddy"], rel=1e-9)
    assert found["excess"] == pytest.approx(one["excess"] / 0.5564, rel=1e-3)


def test_an_elliptic_field_lies_between_alternating_and_turning() -> None:
    material, f = core("m400-50a"), 200.0
    found = loss(material, np.cos(ANGLE), 0.5 * np.sin(ANGLE)).by_cause(f)
    assert found["hysteresis"] == pytest.approx(0.025 * f * (1 + 0.5**2), rel=1e-9)
    assert found["eddy"] == pytest.approx(1.186e-4 * f**2 * (1 + 0.5**2), rel=1e-9)


def test_harmonics_count_with_the_square_of_their_frequency() -> None:
    # A triangle of peak B: |dB/dϑ| = 2 B/π throughout, Σ h² B_h² = 8 B²/π²; eddy loss 8/π² of that
    # of the sine. Its corners are cut off at the 128th harmonic.
    angle = math.tau / 256 * np.arange(256)
    triangle = 2 / math.pi * np.arcsin(np.sin(angle))
    found = loss(core("m400-50a"), triangle).by_cause(100.0)
    assert found["eddy"] == pytest.approx(1.186e-4 * 100**2 * 8 / math.pi**2, rel=0.01)
    assert found["hysteresis"] == pytest.approx(0.025 * 100, rel=1e-9)
    excess = 8e-4 * 100**1.5 * (2 / math.pi) ** 1.5 / SINE_EXCESS
    assert found["excess"] == pytest.approx(excess, rel=0.01)


def test_mean_of_cosine_to_the_power_one_and_a_half() -> None:
    # 0.5564, so that the constant in front of ⟨|dB/dt|^1.5⟩ is k_x/8.763, the usual 8.76.
    x = np.linspace(0, math.pi / 2, 200_001)
    assert trapezoid(np.cos(x) ** 1.5, x) * 2 / math.pi == pytest.approx(SINE_EXCESS, rel=1e-6)
    assert math.tau**1.5 * SINE_EXCESS == pytest.approx(8.76, rel=1e-3)


def test_samples_that_are_not_a_period_are_taken_between_neighbours() -> None:
    wave = np.cos(ANGLE[:25])  # a quarter, end included
    found = rates(wave, step=math.tau / SAMPLES, is_closed=False)
    assert found.shape == (24,)
    assert np.mean(found**2) == pytest.approx(0.5, rel=1e-3)


def test_classical_eddy_loss_of_half_a_millimetre() -> None:
    # π² t² σ/(6 ρ), σ 2.22e6 S/m, 7700 kg/m³: 1.1856e-4, 0.667 W/kg at 1.5 T and 50 Hz.
    k_e = math.pi**2 * 0.5e-3**2 * 2.22e6 / (6 * 7700)
    assert k_e * 50**2 * 1.5**2 == pytest.approx(0.667, rel=5e-4)
    assert core("m400-50a").eddy_loss == pytest.approx(k_e, rel=5e-3)


def test_swings_are_the_half_axes_of_an_ellipse() -> None:
    turn = 0.7
    x, y = 1.3 * np.cos(ANGLE), 0.4 * np.sin(ANGLE)
    wave = np.array(
        [x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)]
    )
    found = swings(wave[None, :, None, :])[0, :, 0]
    assert found == pytest.approx([1.3, 0.4], rel=1e-6)


def test_weaker_magnets_lose_by_their_power() -> None:
    found = CoreLoss(hysteresis=1e-2, eddy=1e-4, excess=1e-3, exponent=1.75)
    weak, full = found.by_cause(100.0, 0.9), found.by_cause(100.0)
    powers = {"hysteresis": 1.75, "eddy": 2.0, "excess": 1.5}
    for cause, power in powers.items():
        assert weak[cause] == pytest.approx(full[cause] * 0.9**power, rel=1e-12)


def test_sheets_of_a_stack_carry_the_flux_of_the_air_between_them() -> None:
    # Iron: all of it, B/f. Air: nothing changes. In between from H, the same in both.
    wave = np.full((1, 2, 1, 4), 0.5)
    iron = Core(name="iron", curve=BHCurve.linear(1e6))
    assert in_the_material(iron, 0.8, wave) == pytest.approx(wave / 0.8, rel=1e-5)
    nothing = Core(name="nothing", curve=BHCurve.linear(1.0))
    assert in_the_material(nothing, 0.8, wave) == pytest.approx(wave, rel=1e-12)
    plastic = Core(name="plastic", curve=BHCurve.linear(2.0))
    # B = f μ H + (1 − f) μ₀ H = 1.8 μ₀ H; in the material 2 μ₀ H.
    assert in_the_material(plastic, 0.8, wave) == pytest.approx(wave * 2 / 1.8, rel=1e-12)


def test_a_core_without_coefficients_is_not_known_and_one_of_nothing_loses_nothing() -> None:
    assert not has_loss_law(core("steel-1008"))
    assert has_loss_law(Core(name="nothing", curve=BHCurve.linear(1.0)))
    assert has_loss_law(core("iron-filled-pla-10vol"))
