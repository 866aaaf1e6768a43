"""Where the torque of turning currents comes from."""

import numpy as np
import pytest
from small_machines import design_of

import fem_motor as fm


def test_parts_add_up_and_the_unsaturated_part_is_linear_in_the_current() -> None:
    # Magnets hardly differ from air and the core does not saturate: twice the current is twice
    # the magnets' part, four times the reluctance (quadratic form of the currents).
    design = design_of("printed_18s16p")
    one, two = (
        fm.rotor_sweep(
            design, angles_deg=np.linspace(0, 7, 5), current_peak_A=peak, quality="draft"
        )
        for peak in (10.0, 20.0)
    )
    assert one.parts is not None
    assert two.parts is not None
    whole = two.parts.cogging_Nm + two.parts.magnet_Nm + two.parts.reluctance_Nm
    assert whole == pytest.approx(two.torque_Nm, rel=1e-12)
    assert two.parts.magnet_Nm == pytest.approx(2 * one.parts.magnet_Nm, rel=1e-9)
    free = fm.rotor_sweep(design, angles_deg=np.linspace(0, 7, 5), quality="draft")
    assert one.parts.cogging_Nm == pytest.approx(free.torque_Nm, abs=1e-9)
    # What is left is the error of a slope by differences, and a trace of saliency.
    assert np.abs(two.parts.reluctance_Nm).max() < 1e-4 * two.torque_Nm.mean()


def test_uneven_magnets_have_parts_too() -> None:
    sweep = fm.rotor_sweep(
        design_of("printed_18s16p").replace(
            "as_built.magnets", [{"index": 1, "remanence_factor": 0.5}]
        ),
        angles_deg=np.linspace(0, 7, 3),
        current_peak_A=10.0,
        waveform="six-step",
        quality="draft",
    )
    assert sweep.waveform == "six-step"
    assert sweep.parts is not None
    assert np.abs(sweep.parts.reluctance_Nm).max() < 1e-4 * sweep.torque_Nm.mean()


def test_currents_that_are_held_are_not_told_apart() -> None:
    sweep = fm.rotor_sweep(
        design_of("printed_18s16p"), angles_deg=[1.0], currents_A=(1, 0, -1), quality="draft"
    )
    assert (sweep.waveform, sweep.parts) == ("held", None)
