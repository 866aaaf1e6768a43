"""The loaded part of the sheet."""

import math

import numpy as np
import pytest

import fem_motor as fm
from fem_motor.performance import PerformanceSheet
from fem_motor.performance.currents.loaded import branch_peak

FILE = "geometries/printed_18s16p.toml"


@pytest.fixture(scope="module")
def printed() -> PerformanceSheet:
    return fm.run(fm.load_design(FILE), quality="draft")


def test_six_step_torque_is_the_torque_constant_times_the_direct_current(
    printed: PerformanceSheet,
) -> None:
    # Both from one flux linkage; the mean of six-step torque on a sine is (3/π) √3 p ψ I, which
    # is the constant per DC ampere (power balance).
    constant = printed.constants.torque_constant_Nm_per_A.per_dc_ampere_six_step
    for curve in (printed.loaded.rated, printed.loaded.limit):
        assert curve.waveform == "six-step"
        assert curve.mean_torque_Nm == pytest.approx(constant * curve.line_current_A, rel=5e-3)
        parts = curve.cogging_torque_Nm + curve.magnet_torque_Nm + curve.reluctance_torque_Nm
        assert parts == pytest.approx(curve.torque_Nm, rel=1e-12)


def test_rated_current_is_four_amperes_per_square_millimetre_of_copper(
    printed: PerformanceSheet,
) -> None:
    # Two strands of AWG 24 (0.5106 mm, ASTM B258): 0.4095 mm²; sine RMS to peak √2.
    copper_mm2 = 2 * math.pi / 4 * 0.5106**2
    assert printed.loaded.rated.line_current_A == pytest.approx(
        math.sqrt(2) * 4 * copper_mm2, rel=1e-3
    )


def test_torque_rises_with_the_current_up_to_the_limit(printed: PerformanceSheet) -> None:
    current, torque = np.array(printed.loaded.torque_against_current).T
    assert current[0] == torque[0] == 0
    assert current[-1] == printed.loaded.limit.line_current_A
    constant = printed.constants.torque_constant_Nm_per_A.per_peak_line_ampere
    assert torque == pytest.approx(constant * current, rel=2e-3)  # this core does not saturate


def test_branches_in_delta_carry_less_than_the_line() -> None:
    star = fm.load_design(FILE)
    delta = star.replace("winding.connection", "delta")
    sine = delta.replace("drive.controller", "sine")
    assert branch_peak(6.0, star.motor) == 6.0
    assert branch_peak(6.0, delta.motor) == pytest.approx(4.0)
    assert branch_peak(6.0, sine.motor) == pytest.approx(6.0 / math.sqrt(3))


@pytest.mark.parametrize("controller", ["six-step", "sine"])
def test_delta_gives_the_torque_of_star_at_root_three_times_the_line_current(
    controller: str, printed: PerformanceSheet
) -> None:
    # The same copper at the same loss: sine, T ∝ branch peak; six-step by its constants.
    design = fm.load_design(FILE).replace("winding.connection", "delta")
    sheet = fm.run(design.replace("drive.controller", controller), quality="draft")
    curve = sheet.loaded.limit
    constants = sheet.constants.torque_constant_Nm_per_A
    per_ampere = (
        constants.per_peak_line_ampere if controller == "sine" else constants.per_dc_ampere_six_step
    )
    assert curve.mean_torque_Nm == pytest.approx(per_ampere * curve.line_current_A, rel=5e-3)
    if controller == "sine":
        assert (
            curve.ripple_peak_to_peak_fraction < printed.loaded.limit.ripple_peak_to_peak_fraction
        )
