"""The machine with currents: torque and its ripple, inductances, demagnetisation."""

from fem_motor.loading.demagnetisation import demagnetisation
from fem_motor.loading.dq_map import DqMap, dq_map
from fem_motor.loading.margins import DemagnetisationMap, DemagnetisationMargins, StallCurrent
from fem_motor.loading.remedies import demagnetisation_findings
from fem_motor.loading.ripple import loaded_torque
from fem_motor.loading.tolerance import ToleranceStudy, tolerance_study

__all__ = [
    "DemagnetisationMap",
    "DemagnetisationMargins",
    "DqMap",
    "StallCurrent",
    "ToleranceStudy",
    "demagnetisation",
    "demagnetisation_findings",
    "dq_map",
    "loaded_torque",
    "tolerance_study",
]
