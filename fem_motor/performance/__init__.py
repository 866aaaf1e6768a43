"""From a design to its performance sheet."""

from fem_motor.performance.records import (
    NoLoad,
    PerformanceSheet,
    Thermal,
    WindingSummary,
)
from fem_motor.performance.running import check, rotor_sweep, run, solve_field
from fem_motor.performance.solved import solve_powered
from fem_motor.performance.studies import tolerance_study

__all__ = [
    "NoLoad",
    "PerformanceSheet",
    "Thermal",
    "WindingSummary",
    "check",
    "rotor_sweep",
    "run",
    "solve_field",
    "solve_powered",
    "tolerance_study",
]
