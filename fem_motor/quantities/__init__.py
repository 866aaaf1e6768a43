"""What is read off a field: torque, flux linkage, back-EMF, and where the magnets' drive goes."""

from fem_motor.quantities.fields.linkage import Phases
from fem_motor.quantities.fields.machine import motor_problem
from fem_motor.quantities.model import MotorModel, motor_model
from fem_motor.quantities.readings.constants import MachineConstants, machine_constants
from fem_motor.quantities.records import RotorSweep
from fem_motor.quantities.sweep import permeability_ratios, solve_map, sweep_motor

__all__ = [
    "MachineConstants",
    "MotorModel",
    "Phases",
    "RotorSweep",
    "machine_constants",
    "motor_model",
    "motor_problem",
    "permeability_ratios",
    "solve_map",
    "sweep_motor",
]
