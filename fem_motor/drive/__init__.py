"""The electrical side at constant speed: six-step or sine, from a supply to torque and currents."""

from fem_motor.drive.checks import step_findings
from fem_motor.drive.machine import Bridge, ElectricalMachine
from fem_motor.drive.point import OperatingPoint, operating_point, operating_points
from fem_motor.drive.six_step import six_step_state
from fem_motor.drive.starting import start_findings
from fem_motor.drive.throttle import limit_state, torque_state

__all__ = [
    "Bridge",
    "ElectricalMachine",
    "OperatingPoint",
    "limit_state",
    "operating_point",
    "operating_points",
    "six_step_state",
    "start_findings",
    "step_findings",
    "torque_state",
]
