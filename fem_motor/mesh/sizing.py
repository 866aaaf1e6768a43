"""How fine the mesh is, and where."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from fem_motor.design import Motor

Quality = Literal["draft", "standard", "fine"]

WIDEST_ANGLE = 0.1
"""Largest angle of one edge on a circle, rad. A second-order edge misses the area under its arc by
angle⁴/480 of it (parabola through both ends and the middle, series of the difference)."""

NEARLY_AIR = 5.0
"""Relative permeability below which corners of a core need no graded mesh."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fineness:
    """Sizes of one quality.

    Attributes
    ----------
    gap_step : float
        Longest edge on the gap circles over the depth of the meshed layer beside it.
    tip : float
        Edge at sharp corners of steel over the air gap.
    blunt : float
        Edge at its other corners over the tooth width.
    body : float
        Edge inside teeth, magnets and slots over their width.
    spare : float
        Nodes on the gap circles over twice the highest harmonic of the cross term.
    """

    gap_step: float
    tip: float
    blunt: float
    body: float
    spare: float


FINENESS: Mapping[Quality, Fineness] = MappingProxyType(
    {
        "draft": Fineness(gap_step=2.8, tip=0.03, blunt=0.25, body=0.6, spare=1.05),
        "standard": Fineness(gap_step=2.1, tip=0.005, blunt=0.15, body=0.45, spare=1.05),
        "fine": Fineness(gap_step=1.05, tip=0.001, blunt=0.08, body=0.3, spare=1.05),
    }
)


def cross_cut(
    *, slots: int, poles: int, ratio: float, tolerance: float = 1e-5, multiple: int = 1
) -> int:
    """Return the highest harmonic kept in the cross term of the gap.

    Cogging comes from pairs of harmonics that cancel; a cut near a multiple j of LCM(slots,
    poles) splits pairs. j LCM + 3 poles is safe (measured on 24 slots, 20 poles: 4e-4 of the
    peak for j = 1, 6e-5 for j = 2). Where the coupling has fallen below `tolerance` nothing is
    left to keep.

    Parameters
    ----------
    slots, poles : int
    ratio : float
        Of the radii of the two gap circles.
    tolerance : float
    multiple : int
        j.
    """
    enough = math.ceil(math.log(2 / tolerance) / math.log(ratio))
    return min(multiple * math.lcm(slots, poles) + 3 * poles, max(enough, 3 * poles))


def gap_edges(
    motor: Motor, fineness: Fineness, *, depth: float, ratio: float, multiple: int
) -> tuple[int, int]:
    """Return the number of edges on the gap circles of half a slot and half a magnet pitch.

    Parameters
    ----------
    motor, fineness
    depth : float
        Of the thinner meshed layer beside a gap circle, m.
    ratio : float
        Of the radii of the gap circles.
    multiple : int
        Of the cogging order, see `cross_cut`.
    """
    slots, segments = motor.stator.slots, motor.rotor.segments
    cut = cross_cut(slots=slots, poles=motor.rotor.poles, ratio=ratio, multiple=multiple)
    around = 2 * math.pi * motor.stator.outer_radius / (fineness.gap_step * depth)
    edges = max(fineness.spare * cut, around)
    return arc_edges(edges, cells=2 * slots), arc_edges(edges, cells=2 * segments)


def arc_edges(around: float, *, cells: int) -> int:
    """Return the number of edges on the circle of one of `cells` half cells: 3 or more.

    Parameters
    ----------
    around : float
        Wanted on the whole circle.
    cells : int
    """
    return max(3, math.ceil(max(around, 2 * math.pi / WIDEST_ANGLE) / cells))
