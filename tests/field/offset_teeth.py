"""Three teeth, four poles and a wide gap, the rotor offset: small, and its thin ring saturates."""

import functools
from dataclasses import replace

import numpy as np
from quantities.small_machines import design_of

from fem_motor.design import Motor
from fem_motor.field import FieldProblem, FieldSweep, solve
from fem_motor.mesh import MotorMesh, mesh_motor
from fem_motor.quantities.fields.machine import Saturation, motor_problem

LOADED = np.random.default_rng(3).normal(0, 60, (1, 3, 2))
CURRENTS = LOADED - LOADED.mean()  # no net current
ANGLE = 0.13


@functools.cache
def three_teeth() -> tuple[Motor, MotorMesh]:
    """Return the motor, centred, and its mesh."""
    motor = design_of("three teeth").motor
    return motor, mesh_motor(motor, quality="draft")


def space() -> float:
    """Return the distance of the gap circles."""
    mesh = three_teeth()[1]
    return mesh.rotor.gap_radius - mesh.stator.gap_radius


def offset_motor(motor: Motor, offset: float) -> Motor:
    return replace(motor, as_built=replace(motor.as_built, rotor_offset=offset))


def three_teeth_problem(offset: float, saturation: Saturation) -> FieldProblem:
    motor, mesh = three_teeth()
    return motor_problem(offset_motor(motor, offset), mesh, sectors=1, saturation=saturation)


def solved(problem: FieldProblem, angle: float = ANGLE) -> FieldSweep:
    return solve(problem, angles=np.array([angle]), ampere_turns=CURRENTS, tolerance=1e-10)
