"""Seconds to the first limit against current density, and where another part becomes the first."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from fem_motor.drive import OperatingPoint
from fem_motor.findings import Headline
from fem_motor.heat import Heating, ThermalNetwork, load_limit, seconds_until_limit
from fem_motor.powered import PoweredMotor, heating_with
from fem_motor.units import RPM

PER_MM2 = 1e6
"""A/m² in one A/mm²."""

HIGHEST = 40e6
"""A/m²: beyond it a winding lasts seconds."""

JUST_ABOVE = 1.1
"""Times what lasts for good from which the curve starts: nearer it takes for ever."""

ROWS = 5
CHANGE_PRECISION = 1e-2
"""Of the density at which the limiting part changes, of itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DensityRow:
    """Seconds from cold to the first limit at a current density (RMS in the copper)."""

    density_A_per_mm2: float
    seconds: Headline
    part: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartChange:
    """Density above which another part is the first at its limit."""

    density_A_per_mm2: float
    below: str
    above: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DensityCurve:
    """How long the copper may carry how much, rotor turning at one speed.

    Attributes
    ----------
    speed_rpm : float
    lasting_A_per_mm2 : float or None
        For good; None where nothing limits it, or turning alone is too hot.
    lasting_part : str or None
    rows : tuple of DensityRow
        Rising densities; empty where nothing limits them.
    changes : tuple of PartChange
    """

    speed_rpm: float
    lasting_A_per_mm2: float | None
    lasting_part: str | None
    rows: tuple[DensityRow, ...]
    changes: tuple[PartChange, ...]


def density_curve(
    powered: PoweredMotor, network: ThermalNetwork, *, known: OperatingPoint
) -> DensityCurve:
    """Return the seconds to the first limit against current density, at the speed of a point.

    Parameters
    ----------
    powered : PoweredMotor
    network : ThermalNetwork
    known : OperatingPoint
        The losses of turning are those of its speed.
    """
    speed = known.speed or 0.0
    turning = heating_with(powered, known, torque=-powered.drag(speed), speed=speed)

    def heating(density: float) -> Heating:
        return replace(turning, copper=network.copper_heating(density).copper)

    lasting = load_limit(network, heating, highest=HIGHEST, spread="none")
    level = lasting.level.value
    if lasting.part is None:
        return DensityCurve(
            speed_rpm=speed / RPM, lasting_A_per_mm2=None, lasting_part=None, rows=(), changes=()
        )
    start = JUST_ABOVE * (level or HIGHEST / 10)
    densities = np.geomspace(start, max(HIGHEST, 2 * start), ROWS).tolist()
    rows = [(density, seconds_until_limit(network, heating(density))) for density in densities]
    return DensityCurve(
        speed_rpm=speed / RPM,
        lasting_A_per_mm2=None if not level else level / PER_MM2,
        lasting_part=lasting.part,
        rows=tuple(
            DensityRow(density_A_per_mm2=density / PER_MM2, seconds=found.seconds, part=found.part)
            for density, found in rows
        ),
        changes=_changes(network, heating, [(density, found.part) for density, found in rows]),
    )


def _changes(
    network: ThermalNetwork,
    heating: Callable[[float], Heating],
    parts: list[tuple[float, str | None]],
) -> tuple[PartChange, ...]:
    return tuple(
        PartChange(
            density_A_per_mm2=_where_it_changes(network, heating, low, high, below) / PER_MM2,
            below=below,
            above=above,
        )
        for (low, below), (high, above) in pairwise(parts)
        if below is not None and above is not None and below != above
    )


def _where_it_changes(
    network: ThermalNetwork,
    heating: Callable[[float], Heating],
    low: float,
    high: float,
    below: str,
) -> float:
    """Return the density between two up to which `below` is the first at its limit."""
    while high / low > 1 + CHANGE_PRECISION:
        middle = math.sqrt(low * high)
        if seconds_until_limit(network, heating(middle), spread="none").part == below:
            low = middle
        else:
            high = middle
    return math.sqrt(low * high)
