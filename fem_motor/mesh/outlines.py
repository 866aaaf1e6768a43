"""What an outline must be before gmsh sees it: closed, simple, counter-clockwise.

On an outline that crosses itself gmsh runs for ever and cannot be stopped, so the few lines and
arcs of each region are tried against one another first, exactly, pair by pair.
"""

import math
from collections.abc import Iterator
from itertools import combinations

from fem_motor.errors import MeshError
from fem_motor.section import Arc, Edge, HalfCellOutline, Line, Point, Region

TOUCH = 1e-10
"""Points nearer to each other than this part of the gap circle's radius are one."""

PARALLEL = 1e-10
"""Sine of the angle below which two lines are parallel: the pieces of one slot axis, rounded."""

AREA_TOLERANCE = 1e-9
"""Relative, of the regions together: both sides are closed forms, only rounding differs."""


def check_outlines(outline: HalfCellOutline, name: str) -> None:
    """Raise MeshError where regions are open, meet themselves, run clockwise or overlap.

    Parameters
    ----------
    outline : HalfCellOutline
    name : str
        Stator or rotor, for messages.
    """
    touch = TOUCH * outline.gap_radius
    for region in outline.regions:
        meeting = _meets_itself(region, touch)
        if meeting is not None:
            _refuse(
                name,
                f"the outline of the region {region.label} meets itself.",
                f"two of its sides come together at a radius of {math.hypot(*meeting):.6g} m, "
                f"{math.degrees(math.atan2(meeting[1], meeting[0])):.4g}° from its axis.",
            )
        if region.area <= 0:
            _refuse(
                name,
                f"the region {region.label} is turned inside out.",
                f"its area comes out as {region.area:.6g} m².",
            )
    _check_whole(outline, name)


def _refuse(name: str, what: str, why: str) -> None:
    raise MeshError(
        f"of the {name}: {what}",
        why=why,
        do="look at the section with fem-motor check -o for parts that touch or overlap.",
        place="mesh",
    )


def _check_whole(outline: HalfCellOutline, name: str) -> None:
    """Raise unless the regions together cover the sector between the outermost circles."""
    circles = outline.gap_radius**2 - outline.far_radius**2
    wanted = outline.half_pitch / 2 * abs(circles)
    found = sum(region.area for region in outline.regions)
    if abs(found - wanted) > AREA_TOLERANCE * wanted:
        _refuse(
            name,
            "its regions overlap or leave a hole.",
            f"together they cover {found:.8g} m² of a half cell of {wanted:.8g}.",
        )


def _meets_itself(region: Region, touch: float) -> Point | None:
    """Return where an outline is open or meets itself away from its corners, or None."""
    edges = region.edges
    following = (*edges[1:], edges[0])
    for edge, after in zip(edges, following, strict=True):
        if edge.end != after.start or math.dist(edge.start, edge.end) < touch:
            return edge.end
    for (first, one), (second, other) in combinations(enumerate(edges), 2):
        corners = [one.end] if second == first + 1 else []
        if first == 0 and second == len(edges) - 1:
            corners.append(one.start)
        for point in meetings(one, other, touch=touch):
            if all(math.dist(point, corner) > touch for corner in corners):
                return point
    return None


def meetings(one: Edge, other: Edge, *, touch: float) -> Iterator[Point]:
    """Yield the points that two edges have in common; of a shared stretch its ends."""
    yield from (point for point in (one.start, one.end) if _is_on(point, other, touch))
    yield from (point for point in (other.start, other.end) if _is_on(point, one, touch))
    if isinstance(one, Line) and isinstance(other, Line):
        yield from _line_and_line(one, other)
    elif isinstance(one, Line) and isinstance(other, Arc):
        yield from _line_and_arc(one, other)
    elif isinstance(one, Arc) and isinstance(other, Line):
        yield from _line_and_arc(other, one)
    # Two arcs about one centre have a point in common only where an end of one is on the other.


def _is_on(point: Point, edge: Edge, touch: float) -> bool:
    if isinstance(edge, Arc):
        off = abs(math.hypot(*point) - math.hypot(*edge.start))
        return off < touch and _is_within(point, edge)
    return _distance(point, edge) < touch


def _distance(point: Point, line: Line) -> float:
    (x0, y0), (x1, y1) = line.start, line.end
    along = (point[0] - x0) * (x1 - x0) + (point[1] - y0) * (y1 - y0)
    part = min(1.0, max(0.0, along / ((x1 - x0) ** 2 + (y1 - y0) ** 2)))
    return math.dist(point, (x0 + part * (x1 - x0), y0 + part * (y1 - y0)))


def _is_within(point: Point, arc: Arc) -> bool:
    """Return whether a point's angle lies in that of an arc, both in the half cell."""
    first, last = sorted(math.atan2(y, x) for x, y in (arc.start, arc.end))
    return first <= math.atan2(point[1], point[0]) <= last


def _line_and_line(one: Line, other: Line) -> Iterator[Point]:
    """Solve a + s u = b + t w for s and t between 0 and 1."""
    (ax, ay), (bx, by) = one.start, other.start
    ux, uy = one.end[0] - ax, one.end[1] - ay
    wx, wy = other.end[0] - bx, other.end[1] - by
    cross = ux * wy - uy * wx
    if abs(cross) <= PARALLEL * math.hypot(ux, uy) * math.hypot(wx, wy):
        return  # they meet only where an end of one is on the other
    s = ((bx - ax) * wy - (by - ay) * wx) / cross
    t = ((bx - ax) * uy - (by - ay) * ux) / cross
    if 0 <= s <= 1 and 0 <= t <= 1:
        yield ax + s * ux, ay + s * uy


def _line_and_arc(line: Line, arc: Arc) -> Iterator[Point]:
    """Solve |a + s u|² = r² for s between 0 and 1."""
    (ax, ay), radius = line.start, math.hypot(*arc.start)
    ux, uy = line.end[0] - ax, line.end[1] - ay
    square, half = ux**2 + uy**2, ax * ux + ay * uy
    inside = half**2 - square * (ax**2 + ay**2 - radius**2)
    if inside < 0:
        return
    for s in ((-half - math.sqrt(inside)) / square, (-half + math.sqrt(inside)) / square):
        point = ax + s * ux, ay + s * uy
        if 0 <= s <= 1 and _is_within(point, arc):
            yield point


def sharpest_corner(outline: HalfCellOutline) -> float:
    """Return the smallest angle inside a corner of a region, rad; at most a right one."""
    corners = (
        _inside(edge, after)
        for region in outline.regions
        for edge, after in zip(region.edges, (*region.edges[1:], region.edges[0]), strict=True)
    )
    return min(math.pi / 2, *corners)


def _inside(edge: Edge, after: Edge) -> float:
    """Return the angle between two edges, inside an outline that runs counter-clockwise."""
    (ax, ay), (bx, by) = _direction(edge, edge.end), _direction(after, after.start)
    return math.pi - math.atan2(ax * by - ay * bx, ax * bx + ay * by)


def _direction(edge: Edge, point: Point) -> Point:
    """Return which way an edge runs at one of its ends; of any length."""
    (x0, y0), (x1, y1) = edge.start, edge.end
    if isinstance(edge, Line):
        return x1 - x0, y1 - y0
    turn = math.copysign(1.0, x0 * y1 - x1 * y0)
    return -turn * point[1], turn * point[0]
