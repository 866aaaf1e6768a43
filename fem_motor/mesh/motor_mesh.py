"""The mesh of a motor: sizes by quality, then one half cell of each body."""

import math

from fem_motor.design import Motor
from fem_motor.mesh.meshing import MeshOrder, mesh_half_cell
from fem_motor.mesh.records import MotorMesh
from fem_motor.mesh.sizing import (
    FINENESS,
    WIDEST_ANGLE,
    EdgeLengths,
    Fineness,
    Quality,
    arc_edges,
    cross_cut,
    gap_edges,
)
from fem_motor.section import (
    GAP_POSITION,
    OUTSIDE_MARGIN,
    CrossSection,
    HalfCellOutline,
    Point,
    cross_section,
)

LINER_RATIO = 4.0
"""Edge along the slot liner over its thickness, so that its elements are not needles."""

LINER_SLENDER = 25.0
"""Longest edge along the slot liner over its thickness: gmsh exceeds what it is asked for by up to
a half, and the checks allow 40."""

LINER_PARTS = 24.0
"""Edge inside the stator over the shortest edge along the liner, which bounds the mesh: of a motor
of 160 mm across, liners below 0.007 mm are left to the checks."""

NARROW = 8.0
"""Edge at points that are close together over their distance: elements there become as slender."""


def mesh_motor(
    motor: Motor,
    *,
    quality: Quality = "standard",
    gap_position: float = GAP_POSITION,
    fineness: Fineness | None = None,
    section: CrossSection | None = None,
) -> MotorMesh:
    """Return the checked mesh of `motor`: one half cell of the stator, one of the rotor.

    Parameters
    ----------
    motor : Motor
    quality : "draft", "standard" or "fine"
    gap_position : float
        Where the gap circles stand, as a part of the air gap from either side.
    fineness : Fineness, optional
        Instead of the one of `quality`.
    section : CrossSection, optional
        Instead of the motor's own: with other slots or magnets of about the same sizes.

    Raises
    ------
    MeshError
        Where a half cell cannot be meshed or fails a check.
    """
    fine = fineness or FINENESS[quality]
    section = section or cross_section(motor, gap_position=gap_position)
    ratio = section.rotor.gap_radius / section.stator.gap_radius
    cut = cross_cut(
        slots=motor.stator.slots,
        poles=motor.rotor.poles,
        ratio=ratio,
        coupling=fine.coupling,
    )
    stator_edges, rotor_edges = gap_edges(motor, fine, cut=cut)
    step = section.stator.half_pitch * section.stator.gap_radius / stator_edges
    rotor_step = section.rotor.half_pitch * section.rotor.gap_radius / rotor_edges
    return MotorMesh(
        cut=cut,
        stator=mesh_half_cell(
            MeshOrder(
                name="stator",
                outline=section.stator,
                lengths=_stator_lengths(motor, section.stator, fine, step),
                gap_edges=stator_edges,
                far_edges=_hub_edges(motor),
            )
        ),
        rotor=mesh_half_cell(
            MeshOrder(
                name="rotor",
                outline=section.rotor,
                lengths=_rotor_lengths(motor, section.rotor, fine, rotor_step),
                gap_edges=rotor_edges,
                far_edges=_outside_edges(motor, rotor_edges),
            )
        ),
    )


def _hub_edges(motor: Motor) -> int:
    """Return the edges on the circle in the hub; the field there is smooth and weak."""
    return arc_edges(0, cells=2 * motor.stator.slots) if motor.stator.inner_radius else 0


def _outside_edges(motor: Motor, gap_edges: int) -> int:
    """Return the edges on the circle outside the rotor, half as many as on the gap circle."""
    segments = motor.rotor.segments
    return arc_edges(segments * gap_edges, cells=2 * segments)


def _finer(
    size: dict[Point, float], outline: HalfCellOutline, *, thinnest: float
) -> dict[Point, float]:
    """Return the sizes, smaller at narrow places and where an edge would span much of a circle.

    Much is the widest angle, or so much that the edge bends by a quarter of the thinnest layer
    between two circles (length² over eight radii), where elements would turn inside out.
    """
    finer = dict(size)
    for one, other in outline.narrow:
        for point in (one, other):
            finer[point] = min(finer[point], NARROW * math.dist(one, other))
    for point in size:
        radius = math.hypot(*point)
        if radius > 0:
            bend = math.sqrt(2 * radius * thinnest)
            finer[point] = min(finer[point], WIDEST_ANGLE * radius, bend)
    return finer


def _points(outline: HalfCellOutline) -> set[Point]:
    return {edge.start for region in outline.regions for edge in region.edges}


def _stator_lengths(
    motor: Motor, outline: HalfCellOutline, fine: Fineness, step: float
) -> EdgeLengths:
    stator = motor.stator
    body = fine.body * min(
        stator.tooth_width,
        max(stator.yoke_thickness, 0.5 * stator.tooth_width),
        stator.yoke_radius * stator.slot_pitch,
    )
    is_steel = not stator.core.curve.is_nearly_air
    tip = min(fine.tip * motor.air_gap if is_steel else step, step)
    mouth = min(fine.mouth * stator.slot_opening if is_steel else body, body)
    blunt = min(fine.blunt * stator.tooth_width if is_steel else body, body)
    if stator.slot_liner > 0:
        body = min(body, max(LINER_RATIO * stator.slot_liner, 0.5 * body))
    size = {}
    for point in _points(outline):
        depth = stator.outer_radius - math.hypot(*point)
        size[point] = max(min(body, step + fine.growth * max(depth, 0.0)), min(step, body))
    along_liner = max(LINER_SLENDER * stator.slot_liner, body / LINER_PARTS)
    for point in _liner_points(outline, stator.slot_liner):
        size[point] = min(size[point], along_liner)
    corners = {point: min(blunt, size[point]) for point in outline.blunt}
    corners |= dict.fromkeys(outline.mouth, mouth)
    corners |= dict.fromkeys(outline.sharp, tip)
    thinnest = stator.slot_liner or stator.yoke_radius
    return EdgeLengths(
        points=_finer(size, outline, thinnest=thinnest), corners=corners, growth=fine.growth
    )


def _liner_points(outline: HalfCellOutline, liner: float) -> set[Point]:
    """Return the points between which the slot liner runs, on both of its sides."""
    if liner == 0:
        return set()
    copper = {
        edge.start for region in outline.regions if region.label == "coil" for edge in region.edges
    }
    near = {p for p in _points(outline) for corner in copper if math.dist(p, corner) < 1.5 * liner}
    return copper | near | set(outline.blunt) | set(outline.mouth)


def _rotor_lengths(
    motor: Motor, outline: HalfCellOutline, fine: Fineness, step: float
) -> EdgeLengths:
    rotor = motor.rotor
    thickness = rotor.magnet_thickness
    body = fine.body * min(thickness, rotor.segment_pitch * rotor.magnet_inner_radius / 2)
    if rotor.ring is not None:
        body = min(body, fine.body * max(rotor.ring_thickness, 0.3 * thickness) * 1.5)
    surface = motor.stator.outer_radius + motor.air_gap
    size = {}
    for point in _points(outline):
        height = math.hypot(*point) - surface
        size[point] = max(min(body, step + fine.growth * max(height, 0.0)), min(step, body))
    corners = {point: min(0.15 * body, size[point]) for point in outline.blunt}
    layers = (rotor.pocket_skin, rotor.ring_thickness, OUTSIDE_MARGIN * thickness)
    thinnest = min(layer for layer in layers if layer > 0)
    return EdgeLengths(
        points=_finer(size, outline, thinnest=thinnest), corners=corners, growth=fine.growth
    )
