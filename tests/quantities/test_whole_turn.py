"""A whole turn of machines that were not built as designed."""

import math

import numpy as np
import pytest
from small_machines import design_of, machine_of

import fem_motor as fm
from fem_motor.quantities import Phases, motor_model
from fem_motor.quantities.fields.whole_turn import whole_turn

BUILT = {
    "weak magnet": {"as_built__magnets": [{"index": 2, "remanence_factor": 0.7}]},
    "offset": {"as_built__rotor_offset_mm": 0.1},
    "both": {
        "as_built__magnets": [{"index": 2, "remanence_factor": 0.7}],
        "as_built__rotor_offset_mm": 0.1,
    },
}


@pytest.mark.parametrize("name", list(BUILT))
def test_a_turn_put_together_is_the_turn_solved_angle_by_angle(name: str) -> None:
    # Symmetry of the teeth, or of two pole pitches, against plain solutions at any angle.
    design = design_of("printed_18s16p").replace(**BUILT[name])
    one = machine_of(design)
    turn = whole_turn(one.problem, one.motor, Phases.of(one.winding, one.motor))
    places = np.array([0, 37, 150, 291, 402])
    sweep = fm.rotor_sweep(
        design, angles_deg=np.degrees(turn.angle[places]), quality="draft", extent="whole"
    )
    scale = np.abs(turn.linkage).max()
    assert turn.linkage[:, places] == pytest.approx(sweep.flux_linkage_Wb, abs=1e-7 * scale)
    pull = np.abs(sweep.pull_N).max()
    assert turn.pull[:, places] == pytest.approx(sweep.pull_N, abs=1e-5 * pull)
    largest = np.abs(turn.torque).max()
    assert turn.torque[places] == pytest.approx(sweep.torque_Nm, abs=1e-6 * largest)


def test_tooth_by_tooth_the_linkage_is_that_of_the_phase() -> None:
    one = machine_of(design_of("printed_18s16p").replace(**BUILT["weak magnet"]))
    turn = whole_turn(one.problem, one.motor, Phases.of(one.winding, one.motor))
    signs = [
        {"U+": 1.0, "U-": -1.0}.get(coil, 0.0) * number
        for coil, number in zip(one.winding.coils, one.winding.coil_turns, strict=True)
    ]
    assert signs @ turn.tooth_linkage == pytest.approx(turn.linkage[0], rel=1e-9)


def test_a_weak_magnet_takes_its_share_of_the_mean_back_emf_from_every_phase() -> None:
    # Superposition: each of 16 magnets gives a sixteenth of the fundamental, over a turn to all
    # phases alike; 30 % of one is 0.3/16.
    sound = machine_of(design_of("printed_18s16p"))
    weak = machine_of(design_of("printed_18s16p").replace(**BUILT["weak magnet"]))
    before, after = (
        motor_model(one.motor, one.winding, one.mesh, angles_per_period=8) for one in (sound, weak)
    )
    assert after.turn is not None
    amplitude = np.abs(after.turn.back_emf(after.turn.linkage)[:, 8])
    expected = 8 * before.fundamental_flux_linkage * (1 - 0.3 / 16)
    assert amplitude == pytest.approx(np.full(3, expected), rel=1e-4)
    assert after.fundamental_flux_linkage == pytest.approx(expected / 8, rel=1e-4)


def test_outside_an_open_ring_the_field_falls_as_the_continuation_says() -> None:
    # A_n falls as r^−n: between two radii each harmonic of B_r by the ratio to n + 1.
    one = machine_of(design_of("printed_18s16p"))
    model = motor_model(one.motor, one.winding, one.mesh, angles_per_period=8)
    assert model.field_at_zero is not None
    _, rotor = model.field_at_zero
    far = model.problem.rotor.matrices.cell.far_radius
    near, away = (
        np.abs(np.fft.rfft(model.problem.density_outside(rotor, far * ratio, 1024)))
        for ratio in (1.02, 1.12)
    )
    for order in (8, 24):
        assert away[order] / near[order] == pytest.approx((1.02 / 1.12) ** (order + 1), rel=1e-6)
    assert near[8] > 10 * near[9]
    assert math.isfinite(float(near.sum()))
