"""What the two ends of a short stack take from the flux linkage, or add to it."""

from fem_motor.ends.factor import (
    EndFactor,
    end_factor,
    ends_are_computed,
    linkage_ratio,
    same_kind_of_ends,
)
from fem_motor.ends.fields import mean_field, plane_field
from fem_motor.ends.poles import PoleCharge, pole_charge

__all__ = [
    "EndFactor",
    "PoleCharge",
    "end_factor",
    "ends_are_computed",
    "linkage_ratio",
    "mean_field",
    "plane_field",
    "pole_charge",
    "same_kind_of_ends",
]
