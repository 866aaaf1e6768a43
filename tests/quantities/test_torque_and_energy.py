"""Torque three ways, and its balance over a turn. Sources: virtual work; Maxwell's stress."""

import functools
import math

import numpy as np
import pytest
from small_machines import Machine, machine

from fem_motor.arrays import FloatArray
from fem_motor.field import FieldSweep, solve
from fem_motor.mesh import mesh_motor
from fem_motor.quantities import MotorModel, Phases, motor_model
from fem_motor.quantities.fields.linkage import ampere_turns, half_slot_turns
from fem_motor.quantities.fields.machine import motor_problem, symmetry
from fem_motor.quantities.readings.torque_checks import ThreeTorques, three_torques

SPREAD_OF_COGGING, SPREAD_OF_TORQUE = 0.01, 0.002
"""Three torques agree within 1 % of the cogging peak and 0.2 % of the loaded torque at standard
quality; the draft meshes of these tests may miss by five times that."""
DRAFT = 5.0
TURN = 20
"""Angles of a turn. They share no divisor with the 3 teeth, so that they fall on 20 different
places of a slot pitch; the first harmonic that could hide is the fifth of the cogging of 30°."""


def loads(one: Machine, *currents: float) -> FloatArray:
    """Return the ampere-turns, (slots, 2), of branch currents, A."""
    turns = half_slot_turns(one.winding)
    return ampere_turns(turns, np.array(currents).reshape(3, 1))[0]


@functools.cache
def turn() -> FieldSweep:
    """Return a whole turn of the saturating machine with uneven magnets, without current."""
    one = machine("three teeth, uneven")
    assert not one.problem.is_linear
    assert one.problem.sectors == 1
    return solve(
        one.problem,
        angles=2 * math.pi / TURN * np.arange(TURN),
        ampere_turns=np.zeros((TURN, 3, 2)),
        tolerance=1e-6,
    )


@pytest.mark.slow
def test_over_a_turn_the_torque_of_uneven_magnets_does_no_work() -> None:
    # Without current the energy is a function of the angle alone. No mirror, no shift and no
    # sector is used: nothing makes the sum vanish but the fields themselves.
    torque = turn().torque
    assert abs(torque.mean()) < 1e-3 * np.abs(torque).max()
    back = -torque[-np.arange(TURN) % TURN]
    assert np.abs(torque - back).max() > 0.1 * np.abs(torque).max()  # no mirror image of itself


@pytest.mark.slow
def test_between_two_angles_the_energy_falls_by_the_work_of_the_torque() -> None:
    # −ΔE = ∫ T dθ, by Gauss points over 3° of the saturating machine with uneven magnets.
    one = machine("three teeth, uneven")
    low, high = math.radians(50.0), math.radians(53.0)
    nodes, weights = np.polynomial.legendre.leggauss(3)
    inner = (low + high) / 2 + (high - low) / 2 * nodes
    swept = solve(
        one.problem,
        angles=np.array([low, *inner, high]),
        ampere_turns=np.zeros((5, 3, 2)),
        tolerance=1e-8,
    )
    work = (high - low) / 2 * weights @ swept.torque[1:4]
    assert abs(work) > 0.2 * (high - low) * np.abs(swept.torque).max()
    assert work == pytest.approx(swept.energy[0] - swept.energy[-1], rel=1e-4)


def assert_agree(found: ThreeTorques, allowed: float) -> None:
    assert found.energy == pytest.approx(found.harmonics, abs=allowed / 100)
    assert found.stress_stator == pytest.approx(found.harmonics, abs=allowed)
    assert found.stress_rotor == pytest.approx(found.harmonics, abs=allowed)
    values = (found.harmonics, found.energy, found.stress_stator, found.stress_rotor)
    assert found.spread == max(values) - min(values)


@pytest.mark.slow
def test_three_torques_of_the_steel_machine_agree_point_by_point() -> None:
    # Energy: two more solutions; its derivative is that of the discrete field to rounding and
    # the step, whatever the mesh. Stress: the meshed layers on both sides of the gap.
    one = machine("steel_12s14p")
    period = one.cogging_period
    found = [
        three_torques(
            one.problem, angle=share * period, ampere_turns=np.zeros((12, 2)), period=period
        )
        for share in (0.2, 0.6)
    ]
    peak = max(abs(one.harmonics) for one in found)  # that of the period is no smaller
    for torques in found:
        assert_agree(torques, DRAFT * SPREAD_OF_COGGING * peak)


@pytest.mark.slow
def test_three_torques_under_load_agree_on_uneven_magnets() -> None:
    one = machine("three teeth, uneven")
    period = one.cogging_period
    found = three_torques(
        one.problem, angle=0.31, ampere_turns=loads(one, 8.0, -3.0, -5.0), period=period
    )
    assert_agree(found, DRAFT * SPREAD_OF_TORQUE * abs(found.harmonics))


def test_three_torques_of_a_printed_machine_agree_under_load() -> None:
    one = machine("printed_18s16p")
    period, currents = one.cogging_period, loads(one, 12.0, -4.0, -8.0)
    problem = motor_problem(
        one.motor,
        one.mesh,
        sectors=symmetry(one.motor, half_slot_turns(one.winding)),
        saturation="ignored",
    )
    found = three_torques(problem, angle=0.05, ampere_turns=currents, period=period)
    assert abs(found.harmonics) > 0
    assert_agree(found, DRAFT * SPREAD_OF_TORQUE * abs(found.harmonics))


def test_three_torques_of_saturating_steel_agree_on_the_mesh_for_currents() -> None:
    # Within 0.2 % of the torque under load, on the coarsest mesh there is.
    motor = machine("steel_9s12p").motor
    phases = Phases.of(machine("steel_9s12p").winding, motor)
    mesh = mesh_motor(motor, quality="flux")
    problem = motor_problem(motor, mesh, sectors=symmetry(motor, phases.turns))
    currents = phases.sine(np.array([0.05]), peak=40.0, current_angle=0.2)
    found = three_torques(
        problem,
        angle=0.05,
        ampere_turns=phases.ampere_turns(currents)[0],
        period=machine("steel_9s12p").cogging_period,
    )
    assert_agree(found, SPREAD_OF_TORQUE * abs(found.harmonics))


@functools.cache
def model() -> MotorModel:
    one = machine("printed_18s16p")
    return motor_model(one.motor, one.winding, one.mesh, angles_per_period=6)


def test_torques_of_a_stack_are_those_of_a_metre_times_its_length() -> None:
    one = ThreeTorques(harmonics=1.0, energy=2.0, stress_stator=3.0, stress_rotor=5.0)
    assert one.times(0.5) == ThreeTorques(
        harmonics=0.5, energy=1.0, stress_stator=1.5, stress_rotor=2.5
    )
    assert one.spread == pytest.approx(4.0)


def test_the_model_carries_torques_of_the_whole_stack() -> None:
    # N m per metre times the stack length, at the angle nearest to a quarter of the period.
    one = machine("printed_18s16p")
    period = one.cogging_period
    at = model().angle[np.abs(model().angle - period / 4).argmin()]
    again = solve(one.problem, angles=np.array([at]), ampere_turns=np.zeros((1, 18, 2)))
    expected = float(again.torque[0]) * one.motor.stack_length
    torques = model().torques
    assert torques is not None
    assert torques.harmonics == pytest.approx(expected, rel=1e-6)
