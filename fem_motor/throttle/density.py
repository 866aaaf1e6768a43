"""Seconds to the first limit against current density, and where another part becomes the first."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise

import numpy as np
from scipy.optimize import brentq

from fem_motor.drive import OperatingPoint
from fem_motor.findings import Headline
from fem_motor.heat import (
    Heating,
    ThermalNetwork,
    load_limit,
    seconds_until_limit,
    seconds_until_soft,
)
from fem_motor.powered import PoweredMotor, heating_with
from fem_motor.units import MM, RPM

PER_MM2 = 1e6
"""A/m² in one A/mm²."""

HIGHEST = 40e6
"""A/m²: beyond it a winding lasts seconds."""

JUST_ABOVE = 1.1
"""Times what lasts for good from which the curve starts: nearer it takes for ever."""

ROWS = 5
CHANGE_PRECISION = 1e-4
"""Of the density at which the limiting part changes, of itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DensityRow:
    """Seconds from cold at a current density (RMS in the copper).

    Attributes
    ----------
    density_A_per_mm2 : float
        RMS in the copper.
    seconds : Headline
        Until the first part passes its limit.
    part : str or None
        That part.
    seconds_to_soften_core : Headline
        Until the core reaches its deflection temperature; its limit is below that.
    """

    density_A_per_mm2: float
    seconds: Headline
    part: str | None
    seconds_to_soften_core: Headline


@dataclass(frozen=True, slots=True, kw_only=True)
class PartChange:
    """Density above which another part is the first at its limit.

    Attributes
    ----------
    density_A_per_mm2 : float
    low_A_per_mm2, high_A_per_mm2 : float or None
        With films, contacts and mount at the ends of their ranges; the first is None where it may
        be `above` at any density, the second where it may never be.
    below, above : str
        The part that is first below this density, and the one above it.
    """

    density_A_per_mm2: float
    low_A_per_mm2: float | None
    high_A_per_mm2: float | None
    below: str
    above: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DensityCurve:
    """How long the copper may carry how much, rotor turning at one speed.

    Attributes
    ----------
    speed_rpm : float
    phase_copper_mm2 : float
        Copper that the current of a phase shares, all its parallel circuits: times a density it
        is that current, RMS.
    lasting_A_per_mm2 : float or None
        For good; None where nothing limits it, or turning alone is too hot.
    lasting_low_A_per_mm2, lasting_high_A_per_mm2 : float or None
        With films, contacts and mount at the ends of their ranges.
    lasting_part : str or None
        The part that sets it.
    other_parts : tuple of str
        Those that set it at the ends of these ranges.
    rows : tuple of DensityRow
        Rising densities; empty where nothing limits them.
    changes : tuple of PartChange
        Where another part becomes the first at its limit.
    """

    speed_rpm: float
    phase_copper_mm2: float
    lasting_A_per_mm2: float | None
    lasting_low_A_per_mm2: float | None
    lasting_high_A_per_mm2: float | None
    lasting_part: str | None
    other_parts: tuple[str, ...]
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

    lasting = load_limit(network, heating, highest=HIGHEST)
    level, low, high = lasting.level.value, lasting.level.low, lasting.level.high
    if lasting.part is None:
        level = low = high = None
    densities = [] if lasting.part is None else _densities(level)
    rows = [(density, seconds_until_limit(network, heating(density))) for density in densities]
    return DensityCurve(
        speed_rpm=speed / RPM,
        phase_copper_mm2=powered.winding.phase_copper_area / MM**2,
        lasting_A_per_mm2=None if not level else level / PER_MM2,
        lasting_low_A_per_mm2=None if not level or low is None else low / PER_MM2,
        lasting_high_A_per_mm2=None if not level or high is None else high / PER_MM2,
        lasting_part=lasting.part,
        other_parts=lasting.other_parts,
        rows=tuple(
            DensityRow(
                density_A_per_mm2=density / PER_MM2,
                seconds=found.seconds,
                part=found.part,
                seconds_to_soften_core=seconds_until_soft(
                    network, heating(density), known=found.ways
                ),
            )
            for density, found in rows
        ),
        changes=_changes(network, heating, [(density, found.part) for density, found in rows]),
    )


def _densities(lasting: float | None) -> list[float]:
    """Return those at which seconds are looked at, A/m², above what lasts for good."""
    start = JUST_ABOVE * (lasting or HIGHEST / 10)
    return [float(at) for at in np.geomspace(start, max(HIGHEST, 2 * start), ROWS)]


def _changes(
    network: ThermalNetwork,
    heating: Callable[[float], Heating],
    parts: list[tuple[float, str | None]],
) -> tuple[PartChange, ...]:
    densities = [density for density, _ in parts]
    return tuple(
        _change(network, heating, densities, below=below, above=above)
        for (_, below), (_, above) in pairwise(parts)
        if below is not None and above is not None and below != above
    )


def _change(
    network: ThermalNetwork,
    heating: Callable[[float], Heating],
    densities: list[float],
    *,
    below: str,
    above: str,
) -> PartChange:
    """Return where `above` takes over from `below`, with likely films and at their ranges' ends."""
    at, *others = [
        _where_both_are_first(one, heating, densities, below, above)
        for one in network.cases("corners")
    ]
    low, high = min(at, *others), max(at, *others)
    return PartChange(
        density_A_per_mm2=at / PER_MM2,
        low_A_per_mm2=low / PER_MM2 if low > 0 else None,
        high_A_per_mm2=high / PER_MM2 if math.isfinite(high) else None,
        below=below,
        above=above,
    )


def _where_both_are_first(
    network: ThermalNetwork,
    heating: Callable[[float], Heating],
    densities: list[float],
    below: str,
    above: str,
) -> float:
    """Return the density at which two parts reach their limits together, A/m².

    0 where it is `above` from the lowest of `densities` on, infinite where never up to the highest.
    """
    limits = dict(zip(network.readings, network.limit_array.tolist(), strict=True))

    @cache
    def ahead(logarithm: float) -> float | None:
        """Return by how much `above` is nearer to its limit when the first is reached, K."""
        first = seconds_until_limit(network, heating(math.exp(logarithm)), spread="none")
        at = first.temperatures_C
        return (at[above] - limits[above]) - (at[below] - limits[below]) if at else None

    low = None
    for place in map(math.log, densities):
        lead = ahead(place)
        if lead is not None and lead >= 0:
            if low is None:
                return 0.0
            return math.exp(brentq(ahead, low, place, xtol=CHANGE_PRECISION))
        low = place if lead is not None else low
    return math.inf
