"""Designs with their fields, and what is not known of them, as this room uses them."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fem_motor.comparison.assessing.estimates import Ratios
from fem_motor.comparison.records import Quality
from fem_motor.design import MotorDesign
from fem_motor.findings import Headline
from fem_motor.heat import ThermalNetwork
from fem_motor.performance import solve_powered
from fem_motor.powered import PoweredMotor

WINDING = "hand winding ±{:.0%} (common practice, no source)"


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


class Family:
    """Designs of the same fields: solved once, for the first.

    Parameters
    ----------
    first : MotorDesign
    quality : "draft", "standard" or "fine"

    Raises
    ------
    FemMotorError
        Where it cannot be solved.
    """

    def __init__(self, first: MotorDesign, *, quality: Quality) -> None:
        self._first = solve_powered(first, quality=quality)

    def solved(self, design: MotorDesign) -> Solved:
        """Return a design of the family with its doubts by cause; another one is solved anew."""
        found = self._first
        if design != found.design:
            serves = found.serves(design)
            quality = found.quality
            found = found.again(design) if serves else solve_powered(design, quality=quality)
        spread, unknowns = found.resistance_spread, found.unknowns
        causes = [unknowns.because[cause] for cause in unknowns.flux]
        return Solved(
            powered=found.powered,
            motor_constant=found.constants.motor_constant,
            flux=unknowns.flux,
            resistance=(1 - spread, 1 + spread),
            cogging=unknowns.spreads.cogging.around(found.powered.model.cogging_peak_to_peak),
            rated_line_current=found.rated_line_current,
            because="; ".join(
                [", ".join(causes), WINDING.format(spread), ThermalNetwork.not_known]
            ),
        )


def families(designs: Sequence[MotorDesign]) -> tuple[tuple[int, ...], ...]:
    """Return the places of designs with the same fields, in the order of the first of each."""
    found: dict[str, list[int]] = {}
    for place, design in enumerate(designs):
        found.setdefault(json.dumps(design.field_values, sort_keys=True), []).append(place)
    return tuple(map(tuple, found.values()))
