"""What measurements say about the model: calibrated figures, what stays open, likely causes."""

from fem_motor.calibration.calibrating import calibrate, evidence_of
from fem_motor.calibration.checks import read_checks
from fem_motor.calibration.planned import Prediction, PredictionScore
from fem_motor.calibration.predictions.prediction_file import freeze_prediction, read_prediction
from fem_motor.calibration.records import CalibratedBench, Calibration, Explanation

__all__ = [
    "CalibratedBench",
    "Calibration",
    "Explanation",
    "Prediction",
    "PredictionScore",
    "calibrate",
    "evidence_of",
    "freeze_prediction",
    "read_checks",
    "read_prediction",
]
