"""What can be built but is doubtful."""

import math

from fem_motor.design.document import MotorDesign
from fem_motor.design.motor import Motor
from fem_motor.design.slot import coil_side_area
from fem_motor.findings import Finding
from fem_motor.materials import enamelled_diameter
from fem_motor.units import MM

FILL_BY_HAND = 0.45
"""Bare copper over slot area that a hand can wind; common practice, no source."""

PRINTED_GAP = 0.5 * MM
"""Air gap below which printed parts tend to touch; common practice, no source."""


def check_design(design: MotorDesign) -> tuple[Finding, ...]:
    """Return a finding on each doubt that needs no field: fill, wire, air gap."""
    motor = design.motor
    return (_fill(motor), _opening(motor), _gap(motor))


def _fill(motor: Motor) -> Finding:
    winding = motor.winding
    copper = math.pi / 4 * winding.wire_diameter**2 * winding.strands * winding.turns_per_tooth
    fill = copper / (coil_side_area(motor.stator) * (2 if winding.layers == 1 else 1))
    fine = fill <= FILL_BY_HAND
    return Finding(
        name="slot fill, bare copper over slot area inside the liner",
        status="ok" if fine else "watch",
        value=fill,
        limit=FILL_BY_HAND,
        why="by hand 0.30 to 0.45 can be wound; common practice, no source.",
        do="" if fine else "use fewer strands or turns, or a thinner wire.",
    )


def _opening(motor: Motor) -> Finding:
    wire = enamelled_diameter(motor.winding.wire_diameter)
    opening = motor.stator.slot_opening
    passes = wire <= opening
    return Finding(
        name="slot opening, mm, against one enamelled wire",
        status="ok" if passes else "watch",
        value=opening / MM,
        limit=wire / MM,
        why="wound from outside every wire has to pass the opening.",
        do="" if passes else "widen the opening, use thinner strands, or wind on loose teeth.",
    )


def _gap(motor: Motor) -> Finding:
    fine = motor.air_gap >= PRINTED_GAP
    return Finding(
        name="air gap, mm",
        status="ok" if fine else "watch",
        value=motor.air_gap / MM,
        limit=PRINTED_GAP / MM,
        why="printed parts run out of true by a few tenths; common practice, no source.",
        do="" if fine else "machine the rotor bore or the tips, or widen the gap.",
    )
