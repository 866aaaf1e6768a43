"""Heat: a network of parts a maker can touch, steady and over time, and what gives way first."""

from fem_motor.heat.endurance.duty import duty_card
from fem_motor.heat.endurance.limits import load_limit, seconds_until_limit
from fem_motor.heat.endurance.softening import seconds_until_soft
from fem_motor.heat.parts.build import thermal_network
from fem_motor.heat.parts.network import Heating, ThermalNetwork
from fem_motor.heat.states.steady import ThermalState, steady
from fem_motor.heat.states.transient import transient

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
