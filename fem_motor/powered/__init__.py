"""A solved motor with supply, controller, load and heat: what it does at any throttle and turns."""

from fem_motor.powered.heating import LoadLine, heating_at
from fem_motor.powered.motor import PoweredMotor, TorqueLine, powered_motor

__all__ = [
    "LoadLine",
    "PoweredMotor",
    "TorqueLine",
    "heating_at",
    "powered_motor",
]
