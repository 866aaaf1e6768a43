"""Half a slot pitch of the stator: from the tooth's axis to the slot's axis."""

import math
from dataclasses import dataclass
from itertools import pairwise

from fem_motor.design import Stator
from fem_motor.errors import MeshError
from fem_motor.section.shapes import (
    Arc,
    Edge,
    HalfCellOutline,
    Line,
    Point,
    Region,
    backwards,
    polar,
    remainder,
    ring_sector,
)

HUB_MARGIN = 0.15
"""Width of the meshed air in the hub over the hub's radius."""

TOLERANCE = 1e-9
"""Lengths shorter than this part of the radius are nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Corners:
    """The points of the slot's outline."""

    half_pitch: float
    tooth_bottom: Point
    tooth_top: Point
    tip_inside: Point
    tip_outside: Point
    has_tip: bool


def stator_cell(stator: Stator, gap_radius: float) -> HalfCellOutline:
    """Return the half cell of `stator`, out to a gap circle of `gap_radius`.

    Raises
    ------
    MeshError
        Where the sizes leave no slot; the design room refuses them before, with their keys.
    """
    _check_slot(stator)
    corners = _corners(stator)
    half_pitch = corners.half_pitch
    outline = _coil(stator, corners)
    slot, coil = backwards(_slot(stator, corners, outline)), backwards(outline)
    regions = [
        Region(label="core", edges=_core(stator, corners)),
        Region(label="coil", edges=coil),
        *(Region(label="air", edges=edges) for edges in remainder(slot, coil)),
        Region(
            label="gap",
            edges=(
                Line((stator.outer_radius, 0.0), (gap_radius, 0.0)),
                Arc((gap_radius, 0.0), polar(gap_radius, half_pitch)),
                Line(polar(gap_radius, half_pitch), polar(stator.outer_radius, half_pitch)),
                Arc(polar(stator.outer_radius, half_pitch), corners.tip_outside),
                Arc(corners.tip_outside, (stator.outer_radius, 0.0)),
            ),
        ),
    ]
    far_radius = 0.0
    if stator.inner_radius > 0:
        far_radius = (1 - HUB_MARGIN) * stator.inner_radius
        regions.append(
            Region(label="air", edges=ring_sector(far_radius, stator.inner_radius, half_pitch))
        )
    return HalfCellOutline(
        regions=tuple(regions),
        half_pitch=half_pitch,
        gap_radius=gap_radius,
        far_radius=far_radius,
        sharp=(corners.tip_outside,),
        mouth=(corners.tip_inside,),
        blunt=(corners.tooth_top, corners.tooth_bottom),
        narrow=((corners.tip_inside, corners.tooth_top),) if corners.has_tip else (),
    )


def _check_slot(stator: Stator) -> None:
    """Raise unless there is a slot between two teeth, with room inside the liner."""
    low = stator.yoke_radius + stator.slot_liner
    high = stator.tip_corner_radius - stator.slot_liner
    side = stator.tooth_width / 2 + stator.slot_liner
    if not (high > low > side and stator.opening_angle < stator.slot_pitch):
        raise MeshError(
            "of the stator has no slot.",
            why=f"between radii of {low:.6g} and {high:.6g} m and {side:.6g} m beside the tooth's "
            "axis the liner leaves nothing, or the opening is wider than the slot pitch.",
            do="use a thinner yoke, tip or liner, or narrower teeth.",
            place="section",
        )


def _corners(stator: Stator) -> _Corners:
    half_pitch = stator.slot_pitch / 2
    half_tooth = stator.tooth_width / 2
    opening = half_pitch - stator.opening_angle / 2
    radius = stator.tip_corner_radius
    inside = polar(radius, opening)
    bottom = _at_height(stator.yoke_radius, half_tooth)
    has_tip = inside[1] - half_tooth > TOLERANCE * radius
    if not has_tip:
        top = inside
    elif stator.tip_taper == 0:
        top = _at_height(radius, half_tooth)
    else:
        along = _underside_direction(stator)
        reach = (half_tooth - inside[1]) / along[1]
        top = (inside[0] + reach * along[0], half_tooth)
    return _Corners(
        half_pitch=half_pitch,
        tooth_bottom=bottom,
        tooth_top=top,
        tip_inside=inside,
        tip_outside=polar(stator.outer_radius, opening),
        has_tip=has_tip,
    )


def _at_height(radius: float, height: float) -> Point:
    """Return the point of a circle at a height above the tooth's axis."""
    return math.sqrt(radius**2 - height**2), height


def _underside_direction(stator: Stator) -> Point:
    """Return the unit vector from the opening's inner corner along the tip's underside."""
    # Circumferential, towards the tooth, turned towards the slot bottom by the taper.
    angle = stator.slot_pitch / 2 - stator.opening_angle / 2 - math.pi / 2 - stator.tip_taper
    return math.cos(angle), math.sin(angle)


def _underside(stator: Stator, corners: _Corners) -> tuple[Edge, ...]:
    """Return the edge from the opening's inner corner to the tooth, if there is one."""
    if not corners.has_tip:
        return ()
    shape = Arc if stator.tip_taper == 0 else Line
    return (shape(corners.tip_inside, corners.tooth_top),)


def _core(stator: Stator, corners: _Corners) -> tuple[Edge, ...]:
    inner, outer, half_pitch = stator.inner_radius, stator.outer_radius, corners.half_pitch
    yoke = polar(stator.yoke_radius, half_pitch)
    closing: tuple[Edge, ...] = (
        Line(yoke, polar(inner, half_pitch)),
        Arc(polar(inner, half_pitch), (inner, 0.0)),
    )
    if inner == 0:
        closing = (Line(yoke, (0.0, 0.0)),)
    return (
        Line((inner, 0.0), (outer, 0.0)),
        Arc((outer, 0.0), corners.tip_outside),
        Line(corners.tip_outside, corners.tip_inside),
        *_underside(stator, corners),
        Line(corners.tooth_top, corners.tooth_bottom),
        Arc(corners.tooth_bottom, yoke),
        *closing,
    )


def _slot(stator: Stator, corners: _Corners, coil: tuple[Edge, ...]) -> tuple[Edge, ...]:
    """Return the outline of the whole half slot, opening included, clockwise.

    Along the slot's axis it has the two corners of the coil's outline.
    """
    half_pitch = corners.half_pitch
    on_axis = coil[1]
    axis = [
        polar(stator.yoke_radius, half_pitch),
        *((on_axis.start,) if stator.slot_liner > 0 else ()),
        on_axis.end,
        polar(stator.outer_radius, half_pitch),
    ]
    return (
        Arc(corners.tooth_bottom, axis[0]),
        *(Line(start, end) for start, end in pairwise(axis)),
        Arc(axis[-1], corners.tip_outside),
        Line(corners.tip_outside, corners.tip_inside),
        *_underside(stator, corners),
        Line(corners.tooth_top, corners.tooth_bottom),
    )


def _coil(stator: Stator, corners: _Corners) -> tuple[Edge, ...]:
    """Return the outline of the coil side: the half slot inside the liner; clockwise."""
    liner, half_pitch = stator.slot_liner, corners.half_pitch
    bottom = stator.yoke_radius + liner
    side = stator.tooth_width / 2 + liner
    start = corners.tooth_bottom if liner == 0 else _at_height(bottom, side)
    top = _coil_top(stator, corners, side)
    return (
        Arc(start, polar(bottom, half_pitch)),
        Line(polar(bottom, half_pitch), top[0].start),
        *top,
        Line(top[-1].end, start),
    )


def _coil_top(stator: Stator, corners: _Corners, side: float) -> tuple[Edge, ...]:
    """Return the top of the coil side, from the slot's axis to the tooth's side.

    Below the tip's underside and, towards the opening, below the circle through the opening's
    inner corner, both less the liner.
    """
    radius = stator.tip_corner_radius - stator.slot_liner
    first = polar(radius, corners.half_pitch)
    last = corners.tooth_top if stator.slot_liner == 0 else _at_height(radius, side)
    if not corners.has_tip:
        return (Arc(first, last),)
    if stator.tip_taper == 0:
        if stator.slot_liner == 0:
            return (Arc(first, corners.tip_inside), Arc(corners.tip_inside, last))
        return (Arc(first, last),)
    if stator.slot_liner == 0:
        return (Arc(first, corners.tip_inside), Line(corners.tip_inside, corners.tooth_top))
    return _tapered_top(stator, corners, side) or (Arc(first, last),)


def _tapered_top(stator: Stator, corners: _Corners, side: float) -> tuple[Edge, ...]:
    """Return the top below a sloping underside less the liner, nothing where it stays above."""
    radius = stator.tip_corner_radius - stator.slot_liner
    along = _underside_direction(stator)
    inward = (along[1], -along[0])
    if inward[0] * corners.tip_inside[0] + inward[1] * corners.tip_inside[1] > 0:
        inward = (-along[1], along[0])
    origin = _along(corners.tip_inside, inward, stator.slot_liner)
    # Where the underside, less the liner, comes below the circle: the liner's corner.
    middle = origin[0] * along[0] + origin[1] * along[1]
    root = math.sqrt(middle**2 - (origin[0] ** 2 + origin[1] ** 2 - radius**2))
    enters = _along(origin, along, -middle - root)
    if enters[1] <= side:
        return ()
    end = _along(origin, along, (side - origin[1]) / along[1])
    if math.atan2(enters[1], enters[0]) >= corners.half_pitch * (1 - TOLERANCE):
        # In an opening this narrow the two undersides, less the liner, meet on the slot's axis.
        return (Line(_on_axis(origin, along, corners.half_pitch), end),)
    return (Arc(polar(radius, corners.half_pitch), enters), Line(enters, end))


def _on_axis(origin: Point, direction: Point, angle: float) -> Point:
    """Return where a straight line crosses the ray at `angle`."""
    normal = -math.sin(angle), math.cos(angle)
    distance = origin[0] * normal[0] + origin[1] * normal[1]
    return _along(
        origin, direction, -distance / (direction[0] * normal[0] + direction[1] * normal[1])
    )


def _along(origin: Point, direction: Point, distance: float) -> Point:
    return origin[0] + distance * direction[0], origin[1] + distance * direction[1]
