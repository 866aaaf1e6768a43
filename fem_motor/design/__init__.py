"""The design file: what the maker types, checked, and the motor it describes."""

from fem_motor.design.document import MotorDesign, load_design
from fem_motor.design.doubts import check_design
from fem_motor.design.motor import Connection, Motor, Rotor, Stator
from fem_motor.design.reference import design_key_reference, starter_design
from fem_motor.design.slot import coil_side_area

__all__ = [
    "Connection",
    "Motor",
    "MotorDesign",
    "Rotor",
    "Stator",
    "check_design",
    "coil_side_area",
    "design_key_reference",
    "load_design",
    "starter_design",
]
