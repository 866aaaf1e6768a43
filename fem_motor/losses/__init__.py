"""Losses: copper, core, magnets, ring, windage, bearings, at any speed, current and temperature."""

from fem_motor.losses.core import CoreLoss
from fem_motor.losses.doubts import loss_findings
from fem_motor.losses.drag import Fluid, cooling_fluid
from fem_motor.losses.model import LossModel, loss_model
from fem_motor.losses.records import DRAG, KINDS, Losses, LossRange

__all__ = [
    "DRAG",
    "KINDS",
    "CoreLoss",
    "Fluid",
    "LossModel",
    "LossRange",
    "Losses",
    "cooling_fluid",
    "loss_findings",
    "loss_model",
]
