"""Windings: the star of slots, what was wound and what is wrong with it, wire and resistance."""

from fem_motor.winding.faults import WindingFault, rank_winding_faults
from fem_motor.winding.star import (
    balanced_layout,
    cogging_period,
    is_feasible,
    nearest_feasible,
    winding_factor,
)
from fem_motor.winding.wound import Winding, possible_circuits, wind

__all__ = [
    "Winding",
    "WindingFault",
    "balanced_layout",
    "cogging_period",
    "is_feasible",
    "nearest_feasible",
    "possible_circuits",
    "rank_winding_faults",
    "wind",
    "winding_factor",
]
