"""The system that is factorised is the derivative of the residual."""

import math

import numpy as np
import pytest

from fem_motor.design import load_design
from fem_motor.field.solving.system import CoupledSystem, LowerPattern
from fem_motor.mesh import mesh_motor
from fem_motor.quantities.fields.machine import motor_problem


@pytest.mark.parametrize("name", ["steel_12s14p", "steel_9s12p"])
def test_the_tangent_is_the_derivative_of_the_residual(name: str) -> None:
    motor = load_design(f"geometries/{name}.toml").motor
    sectors = math.gcd(motor.stator.slots, motor.rotor.poles)
    problem = motor_problem(motor, mesh_motor(motor, quality="draft"), sectors=sectors)
    system = CoupledSystem(problem)
    rng = np.random.default_rng(20)
    right = system.load(rng.normal(0, 100, (motor.stator.slots, 2))).right
    angle = 0.1
    values = np.zeros(system.size)
    for _ in range(4):  # into saturation
        residual, states = system.residual(values, angle, right)
        system.factorise(states, angle)
        values -= system.solve(residual)
    _, states = system.residual(values, angle, right)
    system.factorise(states, angle)
    direction = rng.normal(size=system.size) * 1e-7 * np.abs(values).max()
    ahead, _ = system.residual(values + direction, angle, right)
    behind, _ = system.residual(values - direction, angle, right)
    error = system.solve((ahead - behind) / 2) - direction
    assert np.linalg.norm(error) < 1e-3 * np.linalg.norm(direction)


def test_an_entry_outside_the_pattern_is_not_put_elsewhere() -> None:
    pattern = LowerPattern(3, np.array([0, 1, 2, 2]), np.array([0, 1, 2, 0]))
    assert list(pattern.find(np.array([0, 2]), np.array([2, 2]))) == [1, 3]
    with pytest.raises(ValueError, match="outside the pattern"):
        pattern.find(np.array([1]), np.array([0]))
