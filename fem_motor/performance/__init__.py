"""From a design to its performance sheet."""

from fem_motor.performance.answers.records import (
    NoLoad,
    PerformanceSheet,
    Thermal,
)
from fem_motor.performance.running import check, rotor_sweep, run, solve_field
from fem_motor.performance.solved import solve_powered
from fem_motor.performance.studies import rank_faults, tolerance_study

__all__ = [
    "NoLoad",
    "PerformanceSheet",
    "Thermal",
    "check",
    "rank_faults",
    "rotor_sweep",
    "run",
    "solve_field",
    "solve_powered",
    "tolerance_study",
]
