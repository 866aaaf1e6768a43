"""The design file and the motor it describes."""

from fem_motor.design.motor import Motor, Rotor, Stator, WindingSpecification

__all__ = ["Motor", "Rotor", "Stator", "WindingSpecification"]
