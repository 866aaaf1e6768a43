"""How fine the mesh is, and where."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from fem_motor.design import Motor
from fem_motor.section import Point

Quality = Literal["flux", "draft", "standard", "fine"]
"""draft to fine by the error of the cogging; flux is for what currents do, and bad at cogging."""

WIDEST_ANGLE = 0.1
"""Largest angle of one edge on a circle, rad. A second-order edge misses the area under its arc by
angle⁴/480 of it (parabola through both ends and the middle, series of the difference)."""

SPARE = 1.05
"""Nodes on the gap circles over twice the highest harmonic of the cross term."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fineness:
    """Sizes of one quality.

    Attributes
    ----------
    coupling : float
        What may reach across the annulus of a harmonic that is cut off, see `cross_cut`.
    gap_step : float
        Longest edge on the gap circles over the air gap.
    tip : float
        Edge at sharp corners of steel over the air gap.
    mouth : float
        Edge at the inner corners of the slot openings over their width.
    blunt : float
        Edge at other corners of steel over the tooth width.
    body : float
        Edge inside teeth, magnets and slots over their width.
    growth : float
        Growth of the edge length with the distance from a corner.
    """

    coupling: float
    gap_step: float
    tip: float
    mouth: float
    blunt: float
    body: float
    growth: float


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeLengths:
    """How long the edges of one half cell are to be.

    Attributes
    ----------
    points : mapping of point to m
        Between the points of an outline the length changes linearly.
    corners : mapping of point to m
        Where the field is singular: away from them the length grows by `growth` times the
        distance.
    growth : float
    """

    points: Mapping[Point, float]
    corners: Mapping[Point, float]
    growth: float


FINENESS: Mapping[Quality, Fineness] = MappingProxyType(
    {
        # Measured against "fine" on three machines with saturating steel at 15 times the current
        # that plastic bears: what currents add to the torque errs by 4e-4 of its peak (standard:
        # 3e-4) at a quarter of its cost, flux linkage by 9e-4; cogging by several times its peak.
        "flux": Fineness(
            coupling=0.15, gap_step=0.9, tip=0.06, mouth=0.3, blunt=0.3, body=0.6, growth=0.5
        ),
        "draft": Fineness(
            coupling=0.1, gap_step=0.65, tip=0.03, mouth=0.3, blunt=0.25, body=0.6, growth=0.5
        ),
        "standard": Fineness(
            coupling=0.07, gap_step=0.45, tip=0.01, mouth=0.1, blunt=0.15, body=0.45, growth=0.4
        ),
        "fine": Fineness(
            coupling=0.01, gap_step=0.25, tip=0.001, mouth=0.03, blunt=0.1, body=0.3, growth=0.3
        ),
    }
)


ENOUGH = 1e-5
"""Coupling below which nothing of a harmonic reaches across the annulus."""


def cross_cut(*, slots: int, poles: int, ratio: float, coupling: float) -> int:
    """Return the highest harmonic n kept in the cross term of the gap.

    Cogging comes from pairs of harmonics that cancel, and a cut near a multiple j of
    LCM(slots, poles) splits pairs; j LCM + 3 poles is safe. What is cut off matters by how much
    of it reaches across the annulus, ratio⁻ⁿ. Measured on the slotted machines of
    docs/verification.md, in parts of the cogging peak: 3e-3 where 0.07 still reaches, 3e-4
    where 0.01 does, but 1e-2 to 6e-2 at 0.2.

    Parameters
    ----------
    slots, poles : int
    ratio : float
        Of the radii of the two gap circles.
    coupling : float
        What may still reach across.
    """
    period = math.lcm(slots, poles)
    wanted = math.log(1 / coupling) / math.log(ratio)
    multiple = max(1, math.ceil((wanted - 3 * poles) / period))
    enough = math.ceil(math.log(2 / ENOUGH) / math.log(ratio))
    return min(multiple * period + 3 * poles, max(enough, 3 * poles))


def gap_edges(motor: Motor, fineness: Fineness, *, cut: int) -> tuple[int, int]:
    """Return the number of edges on the gap circles of half a slot and half a magnet pitch.

    Parameters
    ----------
    motor, fineness
    cut : int
        Highest harmonic that the circles must carry.
    """
    around = 2 * math.pi * motor.stator.outer_radius / (fineness.gap_step * motor.air_gap)
    edges = max(SPARE * cut, around)
    return (
        arc_edges(edges, cells=2 * motor.stator.slots),
        arc_edges(edges, cells=2 * motor.rotor.segments),
    )


def arc_edges(around: float, *, cells: int) -> int:
    """Return the number of edges on the circle of one of `cells` half cells: 3 or more.

    Parameters
    ----------
    around : float
        Wanted on the whole circle.
    cells : int
    """
    return max(3, math.ceil(max(around, 2 * math.pi / WIDEST_ANGLE) / cells))
