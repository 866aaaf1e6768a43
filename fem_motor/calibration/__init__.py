"""What measurements say about the model: calibrated figures, what stays open, likely causes."""

from fem_motor.calibration.calibrating import calibrate, evidence_of
from fem_motor.calibration.checks import read_checks
from fem_motor.calibration.records import (
    BenchCheck,
    CalibratedBench,
    CalibratedValue,
    Calibration,
    Evidence,
    Explanation,
    SteadyPoint,
)

__all__ = [
    "BenchCheck",
    "CalibratedBench",
    "CalibratedValue",
    "Calibration",
    "Evidence",
    "Explanation",
    "SteadyPoint",
    "calibrate",
    "evidence_of",
    "read_checks",
]
