"""How far an answer can be trusted: mesh, material spread and three-dimensional ends."""

import math
from dataclasses import dataclass

from fem_motor import ends
from fem_motor.design import Motor
from fem_motor.findings import Headline
from fem_motor.quantities import MachineConstants, MotorModel
from fem_motor.units import RPM

REMANENCE_SPREAD = 0.03
"""Half the band within which sintered magnets of one grade are sold: 1.5 to 3 % of the remanence.

Source: remanence bands of the trade grades, from memory."""

RESISTANCE_SPREAD = 0.05
"""Hand-wound coils against the computed resistance; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Smallest and largest ratio of the true value to the computed one, and why."""

    low: float
    high: float
    because: str

    def around(self, value: float) -> Headline:
        """Return `value` with its range."""
        return Headline(
            value=value, low=value * self.low, high=value * self.high, because=self.because
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Spreads:
    """Ranges of the flux linkage and of the cogging, over the computed values."""

    flux: Spread
    cogging: Spread


def end_factor(motor: Motor) -> Headline:
    """Return flux linkage with the true ends over that of the plane section."""
    found = ends.end_factor(motor)
    return Headline(value=found.value, low=found.low, high=found.high, because=found.because)


def answers(
    model: MotorModel,
    constants: MachineConstants,
    *,
    resistance: float,
    spreads: Spreads,
) -> dict[str, Headline]:
    """Return the first screen: each answer with its range.

    Parameters
    ----------
    model : MotorModel
    constants : MachineConstants
        With the end factor applied.
    resistance : float
        Line to line with leads, ohm, 20 °C.
    spreads : Spreads
    """
    flux, cogging = spreads.flux, spreads.cogging
    wire = f"hand winding ±{RESISTANCE_SPREAD:.0%} (common practice, no source), 20 °C"
    root = math.sqrt(1 + RESISTANCE_SPREAD)
    inverse = Spread(low=1 / flux.high, high=1 / flux.low, because=flux.because)
    both = Spread(low=flux.low / root, high=flux.high * root, because=f"{flux.because}; {wire}")
    copper = Spread(low=1 - RESISTANCE_SPREAD, high=1 + RESISTANCE_SPREAD, because=wire)
    return {
        "speed_constant_rpm_per_V": inverse.around(constants.speed_per_dc / RPM),
        "torque_constant_Nm_per_A": flux.around(constants.torque_per_dc),
        "motor_constant_Nm_per_sqrtW": both.around(constants.motor_constant),
        "resistance_line_line_ohm": copper.around(resistance),
        "cogging_peak_to_peak_Nm": cogging.around(model.cogging_peak_to_peak),
    }
