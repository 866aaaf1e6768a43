"""The electrical side at constant speed: six-step or sine, from a supply to torque and currents."""

from fem_motor.drive.machine import Bridge, ElectricalMachine
from fem_motor.drive.six_step import six_step_state

__all__ = ["Bridge", "ElectricalMachine", "six_step_state"]
