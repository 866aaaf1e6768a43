"""Mechanics of the rotor: hoop stress, what holds the magnets, side pull, bearings, overspeed."""

from fem_motor.mechanics.answer import mechanics
from fem_motor.mechanics.record import Mechanics
from fem_motor.mechanics.rotor import Shaft, eccentric_stiffness

__all__ = ["Mechanics", "Shaft", "eccentric_stiffness", "mechanics"]
