"""The whole section for drawing: half cells mirrored and turned into closed outlines."""

import math
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor, MotorDesign
from fem_motor.section import Arc, Edge, HalfCellOutline, Point, cross_section

Kind = Literal["housing", "air", "gap", "ring", "magnet", "core", "coil"]
_DRAWN = ("ring", "magnet", "core", "coil")
_ARC_STEP = math.radians(2.0)
_ON_A_SIDE = 1e-9  # m


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shape:
    """One part of the drawing.

    Attributes
    ----------
    kind : str
    outline : (2, n) m
        Closed; to be filled.
    border : tuple of (2, k) m
        The pieces of the outline that are edges of the real part, not cuts between half cells.
    """

    kind: Kind
    outline: FloatArray
    border: tuple[FloatArray, ...]


def motor_of(design: MotorDesign | Motor) -> Motor:
    """Return the motor of a design; a motor as it is."""
    return design if isinstance(design, Motor) else design.motor


def design_of(complete: Mapping[str, Any]) -> MotorDesign:
    """Return the design whose complete file a sheet carries."""
    return MotorDesign.from_dict(complete)


def shapes_of(motor: Motor) -> tuple[Shape, ...]:
    """Return the parts of the whole machine, rotor at 0, those behind first."""
    section = cross_section(motor)
    # A single coil fills its slot; two have an edge between them.
    whole_in_slot = {"core", "coil"} if motor.winding.layers == 1 else {"core"}
    surface = motor.stator.outer_radius + motor.air_gap
    return (
        _disc("housing", motor.rotor.housing_outer_radius),
        *_whole(section.rotor, motor.rotor.segments, {"ring"}),
        _disc("air", surface),
        *_whole(section.stator, motor.stator.slots, whole_in_slot),
    )


def magnetisation(motor: Motor) -> Iterator[tuple[float, float]]:
    """Yield axis and direction of magnetisation of each magnet in rad, as designed, rotor at 0."""
    rotor = motor.rotor
    for segment, direction in enumerate(rotor.magnet_directions):
        axis = segment * rotor.segment_pitch
        yield axis, axis + float(direction)


def _disc(kind: Kind, radius: float) -> Shape:
    angle = np.linspace(0.0, 2 * math.pi, 361)
    circle = radius * np.stack([np.cos(angle), np.sin(angle)])
    return Shape(kind=kind, outline=circle, border=(circle,))


def _whole(cell: HalfCellOutline, pitches: int, running_on: Collection[str]) -> Iterator[Shape]:
    """Yield the drawn regions of a half cell, mirrored and turned through the whole circle.

    Straight sides are cuts and no edges: at the axis of tooth or magnet for all regions, at half
    a pitch for those whose label is in `running_on`.
    """
    for region in cell.regions:
        if region.label not in _DRAWN:
            continue
        cuts = [0.0, *([cell.half_pitch] if region.label in running_on else [])]
        for pitch in range(pitches):
            for mirror in (1.0, -1.0):
                place = _placed(2 * cell.half_pitch * pitch, mirror)
                pieces = [place(_polyline(edge)) for edge in region.edges]
                border = [
                    piece
                    for edge, piece in zip(region.edges, pieces, strict=True)
                    if not any(_both_at(edge, cut) for cut in cuts)
                ]
                yield Shape(
                    kind=region.label,
                    outline=np.concatenate(pieces, axis=1),
                    border=tuple(border),
                )


def _placed(angle: float, mirror: float) -> Callable[[FloatArray], FloatArray]:
    cosine, sine = math.cos(angle), math.sin(angle)
    turn = np.array([[cosine, -sine * mirror], [sine, cosine * mirror]])
    return lambda points: turn @ points


def _polyline(edge: Edge) -> FloatArray:
    """Return points along an edge, (2, n): arcs in steps of at most 2°."""
    if not isinstance(edge, Arc):
        return np.array([edge.start, edge.end]).T
    first, last = _angle(edge.start), _angle(edge.end)
    steps = max(2, math.ceil(abs(last - first) / _ARC_STEP) + 1)
    angle = np.linspace(first, last, steps)
    return math.hypot(*edge.start) * np.stack([np.cos(angle), np.sin(angle)])


def _both_at(edge: Edge, angle: float) -> bool:
    """Return whether both ends lie at `angle`; the centre of the machine lies at every angle."""
    across = (y * math.cos(angle) - x * math.sin(angle) for x, y in (edge.start, edge.end))
    return all(abs(distance) < _ON_A_SIDE for distance in across)


def _angle(point: Point) -> float:
    return math.atan2(point[1], point[0])


def coil_places(motor: Motor, coils: Sequence[str]) -> Iterator[tuple[str, float, float]]:
    """Yield name, radius (m) and angle (rad) of where each coil's name stands: on its tooth."""
    stator = motor.stator
    radius = (stator.yoke_radius + 2 * stator.tip_corner_radius) / 3
    for tooth, name in enumerate(coils):
        if name:
            yield name, radius, tooth * stator.slot_pitch
