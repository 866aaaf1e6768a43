"""Fields: the vector potential of a section, its gap harmonics and its torque."""

from fem_motor.field.records import FieldMap

__all__ = ["FieldMap"]
