"""Odd magnets on saturating steel: one slot pitch on a coarse mesh says what the circle says."""

import functools

import numpy as np
import pytest
from small_machines import design_of

import fem_motor as fm
from fem_motor.field import solve
from fem_motor.mesh import mesh_motor
from fem_motor.quantities import MotorModel, motor_model
from fem_motor.quantities.fields.machine import motor_problem
from fem_motor.quantities.fields.solved_fields import turned_sweep
from fem_motor.quantities.readings.inductance import phase_inductances

WEAK = {"as_built__magnets": [{"index": 2, "remanence_factor": 0.8}]}


@functools.cache
def weak_model() -> MotorModel:
    motor = design_of("steel_9s12p").replace(**WEAK).motor
    return motor_model(motor, fm.wind(motor), mesh_motor(motor, quality="draft"))


def test_the_field_turned_by_a_tooth_solves_the_equations_where_the_rotor_has_turned_too() -> None:
    # Three angles of a slot pitch, turned by one and by two teeth, against solutions of their own.
    problem = weak_model().problem
    pitch, nothing = 2 * np.pi / 9, np.zeros((3, 9, 2))
    first = solve(problem, angles=pitch / 3 * np.arange(3), ampere_turns=nothing, tolerance=1e-8)
    turned, places = turned_sweep(first, 9), [4, 6, 8]
    own = solve(problem, angles=turned.angle[places], ampere_turns=nothing, tolerance=1e-8)
    assert turned.angle == pytest.approx(pitch / 3 * np.arange(9))
    for name in ("stator_values", "rotor_values", "torque", "pull", "half_slot_mean", "energy"):
        found, expected = getattr(turned, name)[places], getattr(own, name)
        assert found == pytest.approx(expected, abs=1e-5 * np.abs(expected).max()), name


@pytest.mark.slow
def test_cogging_is_that_of_the_whole_circle_on_the_mesh_that_shows_it() -> None:
    # The plain way: every angle on the mesh that shows the cogging. What the coarse mesh misses of
    # it, and is added to the turn, is 0.5 % of the peak here: half of that would be noticed.
    model = weak_model()
    motor = design_of("steel_9s12p").replace(**WEAK).motor
    places = np.arange(0, model.angle.size, 5)
    whole = motor_problem(motor, mesh_motor(motor, quality="standard"), sectors=1)
    plain = solve(
        whole,
        angles=model.angle[places],
        ampere_turns=np.zeros((len(places), 9, 2)),
        tolerance=1e-6,
    )
    expected = plain.torque * motor.stack_length
    assert model.cogging_torque[places] == pytest.approx(
        expected, abs=0.0025 * float(np.abs(expected).max())
    )
    assert model.turn is not None
    assert model.turn.torque[: model.angle.size] == pytest.approx(model.cogging_torque)


def test_inductances_around_fields_that_are_known_are_those_around_new_ones() -> None:
    # Another way: fields solved anew at other angles of the period.
    model = weak_model()
    new = phase_inductances(model.problem, model.phases, is_even=False, start=model.field_at_zero)
    known = model.inductances
    assert known.d == pytest.approx(new.d, rel=1e-3)
    assert known.q == pytest.approx(new.q, rel=1e-3)


def test_a_turned_sweep_of_one_pitch_is_that_pitch() -> None:
    # By definition; the other pitches are held against solved ones above.
    model = weak_model()
    assert model.turn is not None
    number = len(model.turn.angle) // 9
    again = turned_sweep(model.solved, number)
    assert again.torque == pytest.approx(model.solved.torque[:number])
