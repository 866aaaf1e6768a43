"""What is read off a field: torque, flux linkage, back-EMF."""

from fem_motor.quantities.records import RotorSweep

__all__ = ["RotorSweep"]
