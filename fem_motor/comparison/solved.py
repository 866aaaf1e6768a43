"""The fields of one design, and what is not known of them, as this room uses them."""

from collections.abc import Mapping
from dataclasses import dataclass

from fem_motor.comparison.estimates import Ratios
from fem_motor.comparison.records import Quality
from fem_motor.design import MotorDesign
from fem_motor.findings import Headline
from fem_motor.performance import solve_powered
from fem_motor.powered import PoweredMotor

WINDING = "hand winding ±{:.0%} (common practice, no source)"
COOLING = "films within a factor 1.5, contacts of 50 to 200 W/(m² K)"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solved:
    """A powered motor and its doubts.

    Attributes
    ----------
    powered : PoweredMotor
    motor_constant : float
        N m/√W, end factor applied, 20 °C.
    flux : mapping of cause to ratios
        What is not known of the flux linkage.
    resistance : ratios
        What hand winding makes of the resistance.
    cogging : Headline
        N m, peak to peak.
    rated_line_current : float
        Peak, A.
    because : str
        All causes in words.
    """

    powered: PoweredMotor
    motor_constant: float
    flux: Mapping[str, Ratios]
    resistance: Ratios
    cogging: Headline
    rated_line_current: float
    because: str


def solved_design(design: MotorDesign, *, quality: Quality) -> Solved:
    """Return the fields of `design` with the doubts by cause."""
    found = solve_powered(design, quality=quality)
    spread, unknowns = found.resistance_spread, found.unknowns
    causes = [unknowns.because[cause] for cause in unknowns.flux]
    return Solved(
        powered=found.powered,
        motor_constant=found.constants.motor_constant,
        flux=unknowns.flux,
        resistance=(1 - spread, 1 + spread),
        cogging=unknowns.spreads.cogging.around(found.powered.model.cogging_peak_to_peak),
        rated_line_current=found.rated_line_current,
        because="; ".join([", ".join(causes), WINDING.format(spread), COOLING]),
    )
