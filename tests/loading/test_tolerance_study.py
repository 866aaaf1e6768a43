"""Uneven magnets by superposition."""

import math
from dataclasses import replace

import numpy as np
import pytest

from fem_motor.design import load_design
from fem_motor.design.motor import AsBuilt, BuiltMagnet, Motor
from fem_motor.field import FieldProblem, solve
from fem_motor.loading import tolerance_study
from fem_motor.mesh import MotorMesh, mesh_motor
from fem_motor.quantities import motor_model, motor_problem
from fem_motor.winding import Winding, wind

Machine = tuple[Motor, Winding, MotorMesh]


@pytest.fixture(scope="module")
def printed() -> Machine:
    motor = load_design("geometries/printed_18s16p.toml").motor
    mesh = mesh_motor(motor, quality="draft")
    return motor, wind(motor), mesh


@pytest.fixture(scope="module")
def whole(printed: Machine) -> FieldProblem:
    motor, _, mesh = printed
    return motor_problem(motor, mesh, sectors=1, saturation="ignored")


def test_magnets_of_any_strength_give_the_field_of_a_solution_of_their_own(
    printed: Machine, whole: FieldProblem
) -> None:
    motor, _, mesh = printed
    angles = np.array([0.0, 0.03, 0.1])
    strength = 1 + 0.1 * np.random.default_rng(5).standard_normal(16)
    strength[3], strength[9] = -1.0, 0.0  # one turned round, one missing
    forms = whole.magnet_variations(angles)
    sample = np.concatenate([strength, np.zeros(16)])
    built = tuple(
        BuiltMagnet(index=k + 1, remanence_factor=float(factor), tilt=0.0)
        for k, factor in enumerate(strength)
    )
    uneven = replace(motor, as_built=AsBuilt(magnets=built))
    solved = solve(
        motor_problem(uneven, mesh, sectors=1, saturation="ignored"),
        angles=angles,
        ampere_turns=np.zeros((3, 18, 2)),
    )
    torque = np.einsum("b,nbc,c->n", sample, forms.torque, sample)
    pull = np.einsum("b,nabc,c->na", sample, forms.pull, sample)
    means = forms.half_slot_mean @ sample
    assert torque == pytest.approx(solved.torque, rel=1e-9)
    assert pull == pytest.approx(solved.pull, rel=1e-9)
    assert means == pytest.approx(solved.half_slot_mean, rel=1e-9, abs=1e-15)


def test_shifting_all_magnets_together_turns_the_rotor() -> None:
    # First order: d/dφ of the forms along all shifts is the derivative over the rotor's angle.
    # Exact but for the mesh where the magnets have the permeability of air, for it does not move.
    design = load_design("geometries/printed_18s16p.toml").replace(
        materials={"mobile": {"kind": "magnet", "remanence_T": 1.2, "recoil_permeability": 1.0}},
        rotor__magnet="mobile",
    )
    motor = design.motor
    whole = motor_problem(
        motor, mesh_motor(motor, quality="draft"), sectors=1, saturation="ignored"
    )
    step = 1e-4
    angles = np.array([0.02 - step, 0.02, 0.02 + step])
    forms = whole.magnet_variations(angles)
    ones, nothing = np.ones(16), np.zeros(16)
    designed, shifts = np.concatenate([ones, nothing]), np.concatenate([nothing, ones])
    torque = np.einsum("b,nbc,c->n", designed, forms.torque, designed)
    slope = 2 * designed @ forms.torque[1] @ shifts
    assert slope == pytest.approx((torque[2] - torque[0]) / (2 * step), rel=1e-3)
    means = forms.half_slot_mean @ designed
    by_shift = forms.half_slot_mean[1] @ shifts
    assert by_shift == pytest.approx((means[2] - means[0]) / (2 * step), rel=1e-3, abs=1e-9)


def test_an_even_rotor_is_the_machine_as_designed(printed: Machine) -> None:
    study = tolerance_study(*printed, samples=3, remanence_deviation=0.0, position_deviation=0.0)
    model = motor_model(*printed, angles_per_period=12)
    cogging = model.cogging_peak_to_peak
    # 48 angles of an electrical period miss the top of the cogging wave by little.
    assert study.designed_cogging == pytest.approx(cogging, rel=0.05)
    assert study.cogging == pytest.approx(np.full(3, study.designed_cogging), rel=1e-9)
    assert study.unbalance == pytest.approx(np.zeros(3), abs=1e-9)
    assert study.pull == pytest.approx(np.zeros(3), abs=1e-9)


def test_pull_grows_with_the_deviation_and_is_repeated_by_the_seed(printed: Machine) -> None:
    one = tolerance_study(*printed, samples=400, remanence_deviation=0.01, position_deviation=0.0)
    two = tolerance_study(*printed, samples=400, remanence_deviation=0.02, position_deviation=0.0)
    again = tolerance_study(*printed, samples=400, remanence_deviation=0.01, position_deviation=0.0)
    assert np.array_equal(one.pull, again.pull)
    # Pull and unbalance are linear in small deviations, the same random numbers twice as large.
    assert np.median(two.pull) == pytest.approx(2 * np.median(one.pull), rel=0.02)
    assert np.median(two.unbalance) == pytest.approx(2 * np.median(one.unbalance), rel=0.02)


def test_unbalance_has_the_spread_of_a_sum_of_independent_magnets(printed: Machine) -> None:
    # Each of the 6 coils of a phase links its own share of the 16 magnets; a phase's amplitude is
    # a weighted mean of their strengths, so its deviation is σ/√16 … σ/√6 less the mean's.
    study = tolerance_study(
        *printed, samples=2000, remanence_deviation=0.01, position_deviation=0.0
    )
    typical = np.sqrt(np.mean(study.unbalance**2))
    assert 0.3 * 0.01 / math.sqrt(16) < typical < 1.5 * 0.01 / math.sqrt(6)


def test_single_magnets_of_a_sector_or_of_a_saturating_machine_are_refused(
    printed: Machine,
) -> None:
    motor, _, mesh = printed
    sector = motor_problem(motor, mesh, sectors=2, saturation="ignored")
    with pytest.raises(ValueError, match="whole circle"):
        sector.magnet_variations(np.zeros(1))


@pytest.mark.slow
def test_a_place_error_in_millimetres_is_an_angle_over_the_magnets_middle_radius(
    printed: Machine, whole: FieldProblem
) -> None:
    # First order: the pull of a shift d is its derivative times d/r, and independent shifts add
    # by their squares; blocks of 3 mm on 28.8 mm have their middle at 30.3 mm.
    motor = printed[0]
    deviation, number = 0.01e-3, 16
    angles = math.tau / 8 / 48 * np.arange(48)
    designed = np.concatenate([np.ones(number), np.zeros(number)])
    slope = 2 * np.einsum("b,nabc->nac", designed, whole.magnet_variations(angles).pull)
    shifts = np.random.default_rng(7).standard_normal((4000, number)) * deviation / 30.3e-3
    force = np.einsum("nac,kc->kna", slope[:, :, number:], shifts)
    expected = motor.stack_length * np.median(np.hypot(*np.moveaxis(force, 2, 0)).max(axis=1))
    study = tolerance_study(
        *printed, samples=1000, remanence_deviation=0.0, position_deviation=deviation
    )
    assert np.median(study.pull) == pytest.approx(expected, rel=0.05)
