"""Another permeability in a machine that is solved: what a machine built with it gives."""

from dataclasses import replace

import numpy as np
import pytest

import fem_motor as fm
from fem_motor.field import solve
from fem_motor.materials import BHCurve
from fem_motor.mesh import mesh_motor
from fem_motor.quantities import motor_problem


@pytest.mark.slow
@pytest.mark.parametrize("name", ["printed_18s16p", "printed_18s16p_ring"])
def test_a_machine_with_another_core_answers_as_one_built_with_it(name: str) -> None:
    # Second method: the whole problem set up anew. Without a ring the rotor is condensed once for
    # both; with one Newton's method solves them to 1e-4 of the load.
    motor = fm.load_design(f"geometries/{name}.toml").motor
    mesh = mesh_motor(motor, quality="draft")
    angles, no_current = np.array([0.0, 0.02]), np.zeros((2, motor.stator.slots, 2))
    given = motor_problem(motor, mesh, sectors=2)
    solve(given, angles=angles, ampere_turns=no_current)
    curve = BHCurve.linear(4.0)
    core = replace(motor.stator.core, curve=curve)
    built = motor_problem(replace(motor, stator=replace(motor.stator, core=core)), mesh, sectors=2)
    other = given.with_core(curve)
    one, two = (solve(each, angles=angles, ampere_turns=no_current) for each in (other, built))
    assert one.half_slot_mean == pytest.approx(
        two.half_slot_mean, abs=1e-4 * float(np.abs(two.half_slot_mean).max())
    )
    before = solve(given, angles=angles, ampere_turns=no_current).half_slot_mean
    assert np.abs(before - one.half_slot_mean).max() > 0.01 * np.abs(before).max()
