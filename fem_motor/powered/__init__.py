"""A solved motor with supply, controller, load and heat: what it does at any throttle and turns."""

from fem_motor.powered.heating import LoadLine, heating_at, heating_with
from fem_motor.powered.motor import PoweredMotor, TorqueLine, powered_motor
from fem_motor.powered.rewinding import rewound
from fem_motor.powered.suiting import WindingToLoad
from fem_motor.powered.turns import limit_of, winding_to_load

__all__ = [
    "LoadLine",
    "PoweredMotor",
    "TorqueLine",
    "WindingToLoad",
    "heating_at",
    "heating_with",
    "limit_of",
    "powered_motor",
    "rewound",
    "winding_to_load",
]
