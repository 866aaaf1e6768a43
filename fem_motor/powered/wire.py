"""Wires that fit: for a number of turns the gauge and strands that use the copper there is."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from fem_motor.design import Motor
from fem_motor.materials import enamelled_diameter, wire_diameter_from_awg
from fem_motor.units import MM

GAUGES = range(10, 45)
"""American wire gauges that are sold enamelled."""

METRIC_MM = (
    0.1, 0.112, 0.125, 0.14, 0.16, 0.18, 0.2, 0.224, 0.25, 0.28, 0.315, 0.355, 0.4, 0.45, 0.5,
    0.56, 0.63, 0.71, 0.8, 0.9, 1.0, 1.12, 1.25, 1.4, 1.6, 1.8, 2.0, 2.24, 2.5,
)  # fmt: skip
"""Preferred diameters. Source: IEC 60317-0-1 (R 20 series), from memory."""

THICKER = 1.13
"""Over the design's diameter, one gauge: thicker wire bends badly around the same tooth, and its
eddy loss in the magnets' field grows with the square. Common practice, no source."""

MOST_STRANDS = 12
"""Wires that a hand lays side by side, more where the design has more; common practice."""

STRAND_COST = 0.01
"""Share of the copper that each further strand must bring; ours."""

ON_THE_REEL = 0.03
"""Share of the copper for which the wire that is already there is kept; ours."""

SAME = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """Wires side by side.

    Attributes
    ----------
    strands : int
    diameter : float
        Bare, m.
    gauge : int or None
        American wire gauge; None: a metric wire.
    """

    strands: int
    diameter: float
    gauge: int | None

    @property
    def area(self) -> float:
        """Copper of one turn, m²."""
        return self.strands * math.pi / 4 * self.diameter**2


def wire_of(motor: Motor) -> Wire:
    """Return the wire of the design."""
    spec = motor.winding
    return Wire(
        strands=spec.strands, diameter=spec.wire_diameter, gauge=_gauge_of(spec.wire_diameter)
    )


def _gauge_of(diameter: float) -> int | None:
    for gauge in GAUGES:
        if abs(wire_diameter_from_awg(gauge) - diameter) < 1e-6 * diameter:
            return gauge
    return None


def wire_for(motor: Motor, *, turns: int) -> Wire | None:
    """Return the wire for `turns` within the copper of the design; None where none is thin enough.

    As much of that copper as whole wires allow, thin enough for the slot opening, each further
    strand worth its trouble; of the design's turns the design's wire.

    Parameters
    ----------
    motor : Motor
    turns : int
        Of one coil.
    """
    own = wire_of(motor)
    if turns == motor.winding.turns_per_tooth:
        return own
    room = own.area * motor.winding.turns_per_tooth / turns

    def worth(wire: Wire) -> float:
        kept = ON_THE_REEL if wire.diameter == own.diameter else 0.0
        return wire.area / room - STRAND_COST * (wire.strands - 1) + kept

    return max(_fitting(motor, own, room), key=worth, default=None)


def _fitting(motor: Motor, own: Wire, room: float) -> Iterator[Wire]:
    most = max(MOST_STRANDS, own.strands)
    for diameter, gauge in _sold(own):
        strands = min(math.floor(room * (1 + SAME) / (math.pi / 4 * diameter**2)), most)
        passes = enamelled_diameter(diameter) <= motor.stator.slot_opening
        if strands >= 1 and diameter <= THICKER * own.diameter and passes:
            yield Wire(strands=strands, diameter=diameter, gauge=gauge)


def _sold(own: Wire) -> Iterator[tuple[float, int | None]]:
    """Yield the design's own wire first, then the sizes of its system."""
    yield own.diameter, own.gauge
    if own.gauge is None:
        yield from ((size * MM, None) for size in METRIC_MM)
    else:
        yield from ((wire_diameter_from_awg(gauge), gauge) for gauge in GAUGES)
