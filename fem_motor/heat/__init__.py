"""Heat: a network of parts a maker can touch, steady and over time, and what gives way first."""

from fem_motor.heat.build import thermal_network
from fem_motor.heat.duty import duty_card
from fem_motor.heat.limits import load_limit, seconds_until_limit
from fem_motor.heat.network import Heating, ThermalNetwork
from fem_motor.heat.softening import seconds_until_soft
from fem_motor.heat.steady import ThermalState, steady
from fem_motor.heat.transient import transient

__all__ = [
    "Heating",
    "ThermalNetwork",
    "ThermalState",
    "duty_card",
    "load_limit",
    "seconds_until_limit",
    "seconds_until_soft",
    "steady",
    "thermal_network",
    "transient",
]
