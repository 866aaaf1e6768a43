"""Thrust and power coefficients of the propeller: those of the design, corrected by the log.

Logarithms of measured over stated coefficient are averaged over the points. The spans of the
instruments and the density of the air are common to all of them and do not average out; what the
points scatter beyond that is the propeller's own dependence on speed.
"""

import math
from collections.abc import Sequence

import numpy as np

from fem_motor.bench import MeasuredPoint
from fem_motor.calibration.planned import COVERAGE
from fem_motor.calibration.records import CalibratedValue, Evidence
from fem_motor.design import Motor
from fem_motor.findings import Headline
from fem_motor.units import RPM

NAMES = ("thrust_coefficient", "power_coefficient")

SPREAD = 0.07
"""Standard, of the logarithm of a coefficient as stated; an assumption (other sizes and makers of
one nominal propeller)."""

MEASURED_COVERAGE = 2.0
"""Standard uncertainties each way of a measured coefficient (JCGM 100, 6.3.3)."""

Readings = tuple[tuple[float, Headline], ...]


def coefficients_of(points: Sequence[MeasuredPoint]) -> dict[str, Readings]:
    """Return the measured coefficients with the speeds (rad/s) that they belong to."""
    found: dict[str, Readings] = {}
    for name in NAMES:
        found[name] = tuple(
            ((point.values["speed_rpm"].value or 0.0) * RPM, point.values[name])
            for point in points
            if name in point.values and (point.values[name].value or 0.0) > 0
        )
    return {name: readings for name, readings in found.items() if readings}


def propeller_values(motor: Motor, evidence: Evidence) -> dict[str, CalibratedValue]:
    """Return both coefficients as far as the log has them; none where the load is no propeller.

    Of a table of coefficients, what is returned is their mean over the points.
    """
    load = motor.load
    diameter: float | None = getattr(load, "diameter", None)  # only a propeller has one
    if load is None or diameter is None:
        return {}

    def stated(name: str, speed: float) -> float:
        """By what it is defined with, at unit density."""
        turns = speed / (2 * math.pi)
        if name == "thrust_coefficient":
            return (load.thrust(speed, 1.0) or 0.0) / (turns**2 * diameter**4)
        return load.torque(speed, 1.0) * 2 * math.pi / (turns**2 * diameter**5)

    found = {}
    for name, readings in evidence.propeller.items():
        before = np.array([stated(name, speed) for speed, _ in readings])
        if not (before > 0).all():
            continue
        middle = float(np.exp(np.log(before).mean()))
        read = np.array([head.value or math.nan for _, head in readings])
        common = min(_relative(head) for _, head in readings)
        found[name] = _combined(middle, np.log(read / before), common)
    return found


def _relative(head: Headline) -> float:
    """Return the relative standard uncertainty of a measured coefficient."""
    value = head.value or math.nan
    return ((head.high or value) - value) / MEASURED_COVERAGE / value


def _combined(stated: float, logs: np.ndarray, common: float) -> CalibratedValue:
    """Return the likeliest coefficient from the prior and the points (weights 1/u²)."""
    own = float(logs.std(ddof=1)) / math.sqrt(logs.size) if logs.size > 1 else 0.0
    measured = max(math.hypot(common, own), 1e-6)
    weight = measured**-2 / (measured**-2 + SPREAD**-2)
    middle, spread = weight * float(logs.mean()), (measured**-2 + SPREAD**-2) ** -0.5
    return CalibratedValue(
        value=stated * math.exp(middle),
        low=stated * math.exp(middle - COVERAGE * spread),
        high=stated * math.exp(middle + COVERAGE * spread),
        prior=stated,
        because=f"fitted to {logs.size} points, about 95 %; before: as the design states it, "
        f"±{SPREAD:.0%}",
    )
