"""Inductances around fields of half a cogging period are those around fields solved for them."""

import numpy as np
import pytest

import fem_motor as fm
from fem_motor.mesh import mesh_motor
from fem_motor.quantities import motor_model
from fem_motor.quantities.readings.inductance import phase_inductances


@pytest.mark.slow
@pytest.mark.parametrize("name", ["steel_12s14p", "steel_9s12p"])
def test_symmetry_gives_the_inductances_that_new_fields_give(name: str) -> None:
    # Second method: Newton's method at the very angles, to 1e-4 of the load. They swing by a tenth
    # of their mean over the angle, so that a wrong slot, side or mirror shows.
    motor = fm.load_design(f"geometries/{name}.toml").motor
    mesh = mesh_motor(motor, quality="draft")
    model = motor_model(motor, fm.wind(motor), mesh, angles_per_period=12, mesh_with_currents=None)
    anew = phase_inductances(model.problem, model.phases, is_even=True).matrix
    assert np.ptp(anew[0, 0]) > 0.1 * anew[0, 0].mean()
    assert model.inductances.matrix == pytest.approx(anew, abs=2e-4 * float(anew.max()))
    assert model.torques is None
