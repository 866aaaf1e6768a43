"""The mesh of a motor: sizes by quality, then one half cell of each body."""

import math

from fem_motor.design import Motor
from fem_motor.mesh.meshing import MeshOrder, mesh_half_cell
from fem_motor.mesh.records import MotorMesh
from fem_motor.mesh.sizing import (
    FINENESS,
    NEARLY_AIR,
    WIDEST_ANGLE,
    Fineness,
    Quality,
    arc_edges,
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

NARROW = 8.0
"""Edge at points that are close together over their distance: elements there become as slender."""


def mesh_motor(
    motor: Motor,
    *,
    quality: Quality = "standard",
    gap_position: float = GAP_POSITION,
    cut_multiple: int = 1,
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
    cut_multiple : int
        Multiples of the cogging order that the gap circles must carry.
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
    stator_edges, rotor_edges = gap_edges(
        motor, fine, depth=gap_position * motor.air_gap, ratio=ratio, multiple=cut_multiple
    )
    step = section.stator.half_pitch * section.stator.gap_radius / stator_edges
    rotor_step = section.rotor.half_pitch * section.rotor.gap_radius / rotor_edges
    return MotorMesh(
        stator=mesh_half_cell(
            MeshOrder(
                name="stator",
                outline=section.stator,
                size=_stator_sizes(motor, section.stator, fine, step),
                gap_edges=stator_edges,
                far_edges=_hub_edges(motor),
            )
        ),
        rotor=mesh_half_cell(
            MeshOrder(
                name="rotor",
                outline=section.rotor,
                size=_rotor_sizes(motor, section.rotor, fine, rotor_step),
                gap_edges=rotor_edges,
                far_edges=arc_edges(
                    motor.rotor.segments * rotor_edges, cells=2 * motor.rotor.segments
                ),
            )
        ),
    )


def _hub_edges(motor: Motor) -> int:
    """Return the edges on the circle in the hub; the field there is smooth and weak."""
    return arc_edges(0, cells=2 * motor.stator.slots) if motor.stator.inner_radius else 0


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


def _stator_sizes(
    motor: Motor, outline: HalfCellOutline, fine: Fineness, step: float
) -> dict[Point, float]:
    stator = motor.stator
    body = fine.body * min(
        stator.tooth_width,
        max(stator.yoke_thickness, 0.5 * stator.tooth_width),
        stator.yoke_radius * stator.slot_pitch,
    )
    is_steel = stator.core.curve.initial_permeability >= NEARLY_AIR
    tip = min(fine.tip * motor.air_gap if is_steel else step, step)
    blunt = min(fine.blunt * stator.tooth_width if is_steel else body, body)
    if stator.slot_liner > 0:
        body = min(body, max(LINER_RATIO * stator.slot_liner, 0.5 * body))
    size = {}
    for point in _points(outline):
        depth = stator.outer_radius - math.hypot(*point)
        size[point] = max(min(body, step + 0.4 * max(depth, 0.0)), min(step, body))
        if point in outline.blunt:
            size[point] = min(blunt, size[point])
        if point in outline.sharp:
            size[point] = tip
    return _finer(size, outline, thinnest=stator.slot_liner or stator.yoke_radius)


def _rotor_sizes(
    motor: Motor, outline: HalfCellOutline, fine: Fineness, step: float
) -> dict[Point, float]:
    rotor = motor.rotor
    thickness = rotor.magnet_thickness
    body = fine.body * min(thickness, rotor.segment_pitch * rotor.magnet_inner_radius / 2)
    if rotor.ring is not None:
        body = min(body, fine.body * max(rotor.ring_thickness, 0.3 * thickness) * 1.5)
    surface = motor.stator.outer_radius + motor.air_gap
    size = {}
    for point in _points(outline):
        height = math.hypot(*point) - surface
        size[point] = max(min(body, step + 0.4 * max(height, 0.0)), min(step, body))
        if point in outline.blunt:
            size[point] = min(0.3 * body, size[point])
    layers = (rotor.pocket_skin, rotor.ring_thickness, OUTSIDE_MARGIN * thickness)
    return _finer(size, outline, thinnest=min(layer for layer in layers if layer > 0))
