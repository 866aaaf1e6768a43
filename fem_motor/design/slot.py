"""The coil side: what of a half slot copper can fill."""

import math

from fem_motor.design.motor import Stator


def coil_side_area(stator: Stator) -> float:
    """Return the area of a half slot inside the liner, m².

    Between the tooth's side, the yoke's circle and the underside of the tip, each less the
    liner, and the slot's axis; towards the opening up to the circle through its inner corner,
    less the liner. 0 where nothing is left.
    """
    liner, half_pitch = stator.slot_liner, stator.slot_pitch / 2
    side = stator.tooth_width / 2 + liner
    low, high = stator.yoke_radius + liner, stator.tip_corner_radius - liner
    if high <= low or low <= side:
        return 0.0
    whole = _beside_tooth(high, side, half_pitch) - _beside_tooth(low, side, half_pitch)
    return max(0.0, whole - _under_taper(stator, high, side))


def _beside_tooth(radius: float, side: float, angle: float) -> float:
    """Return the area of a sector from 0 to `angle` that lies above the height `side`."""
    start = math.asin(min(1.0, side / radius))
    if start >= angle:
        return 0.0
    # Sector between start and angle, less the triangle between the tooth's side and the centre.
    sector = radius**2 * (angle - start) / 2
    triangle = side * (radius * math.cos(start) - side / math.tan(angle)) / 2
    return sector - triangle


def _under_taper(stator: Stator, high: float, side: float) -> float:
    """Return what a sloping underside takes from the space below its circle, m²."""
    if stator.tip_taper == 0:
        return 0.0
    corner_angle = stator.slot_pitch / 2 - stator.opening_angle / 2
    turn = corner_angle - math.pi / 2 - stator.tip_taper
    along = (math.cos(turn), math.sin(turn))
    inward = (along[1], -along[0])
    radius = stator.tip_corner_radius
    corner = (radius * math.cos(corner_angle), radius * math.sin(corner_angle))
    if inward[0] * corner[0] + inward[1] * corner[1] > 0:
        inward = (-along[1], along[0])
    origin = (
        corner[0] + stator.slot_liner * inward[0],
        corner[1] + stator.slot_liner * inward[1],
    )
    middle = origin[0] * along[0] + origin[1] * along[1]
    root = math.sqrt(max(0.0, middle**2 - (origin[0] ** 2 + origin[1] ** 2 - high**2)))
    enters = (
        origin[0] + (-middle - root) * along[0],
        origin[1] + (-middle - root) * along[1],
    )
    if enters[1] <= side:
        return 0.0
    reach = (side - origin[1]) / along[1]
    end = (origin[0] + reach * along[0], side)
    top = (math.sqrt(max(high**2 - side**2, 0.0)), side)
    half_pitch = stator.slot_pitch / 2
    # Between the arc from the tooth's side to where the underside enters, and the straight line.
    if math.atan2(enters[1], enters[0]) <= half_pitch:
        return _area((top, enters, end)) + _segment(high, top, enters)
    # It enters beyond the slot's axis: the underside, less the liner, is the whole top.
    axis = (math.cos(half_pitch), math.sin(half_pitch))
    above = (high * axis[0], high * axis[1])
    # Where origin + t along crosses the axis.
    t = _cross(axis, origin) / _cross(along, axis)
    below = (origin[0] + t * along[0], origin[1] + t * along[1])
    return _area((top, above, below, end)) + _segment(high, top, above)


def _cross(one: tuple[float, float], other: tuple[float, float]) -> float:
    return one[0] * other[1] - one[1] * other[0]


def _area(points: tuple[tuple[float, float], ...]) -> float:
    twice = sum(
        x0 * y1 - x1 * y0
        for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True)
    )
    return twice / 2


def _segment(radius: float, start: tuple[float, float], end: tuple[float, float]) -> float:
    """Return the area between a chord and its arc."""
    angle = math.atan2(end[1], end[0]) - math.atan2(start[1], start[0])
    return radius**2 * (angle - math.sin(angle)) / 2
