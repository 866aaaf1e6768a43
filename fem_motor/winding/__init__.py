"""Windings: the star of slots, what was wound, wire and resistance."""

from fem_motor.winding.star import (
    balanced_layout,
    cogging_period,
    is_feasible,
    nearest_feasible,
    winding_factor,
)
from fem_motor.winding.wound import Winding, possible_circuits, turn_length, wind, wire_resistance

__all__ = [
    "Winding",
    "balanced_layout",
    "cogging_period",
    "is_feasible",
    "nearest_feasible",
    "possible_circuits",
    "turn_length",
    "wind",
    "winding_factor",
    "wire_resistance",
]
