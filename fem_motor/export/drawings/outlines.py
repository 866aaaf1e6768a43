"""The whole section as closed outlines of true lines and arcs, part by part."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from fem_motor.design import Motor
from fem_motor.section import Arc, Edge, HalfCellOutline, Line, Point, Region, cross_section

Part = Literal[
    "stator core", "slot copper", "hub seat", "magnets", "magnet pockets", "ring", "housing"
]
PARTS: tuple[Part, ...] = (
    "stator core", "slot copper", "hub seat", "magnets", "magnet pockets", "ring", "housing",
)  # fmt: skip

SAME = 1e-9
"""Lengths below this part of the motor's radius are rounding; as in the section itself."""

_Key = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """One closed outline of a part.

    Attributes
    ----------
    part : str
    edges : tuple of Line or Arc
        End to end, m; counter-clockwise around the part, clockwise around a hole in it.
    """

    part: Part
    edges: tuple[Edge, ...]

    @property
    def area(self) -> float:
        """Area inside, m²; negative where the outline is a hole."""
        return math.fsum(_under(edge) for edge in self.edges)


def outlines(motor: Motor) -> tuple[Outline, ...]:
    """Return the outlines of all parts of `motor` as designed, rotor at 0, in order of `PARTS`.

    The areas of a part's outlines add up to the area of the part. Magnet pockets are the plastic
    around and between the magnets, from the skin over their faces to the circle through their
    outermost points; the housing is what lies outside that, or outside the ring.
    """
    section = cross_section(motor)
    stator, rotor = section.stator, section.rotor
    slots, segments = motor.stator.slots, motor.rotor.segments
    found: list[tuple[Part, Iterable[Edge]]] = [
        ("stator core", _copies(stator, ["core"], range(2 * slots))),
        *(("slot copper", _copies(stator, ["coil"], side)) for side in _coil_sides(motor)),
        ("hub seat", _circle(motor.stator.inner_radius)),
        *(
            ("magnets", _copies(rotor, ["magnet"], _around(segment, segments)))
            for segment in range(segments)
        ),
        ("magnet pockets", _pockets(motor, rotor)),
        ("ring", _copies(rotor, ["ring"], range(2 * segments))),
        ("housing", _housing(motor)),
    ]
    size = motor.rotor.housing_outer_radius
    return tuple(
        Outline(part=part, edges=loop)
        for part, edges in found
        for loop in joined(edges, tolerance=SAME * size)
    )


def part_area(motor: Motor, part: Part) -> float:
    """Return the exact area of a part in the section, m²; 0 where the motor has none."""
    return math.fsum(outline.area for outline in outlines(motor) if outline.part == part)


def liner_length(motor: Motor) -> float:
    """Return the length of slot wall to be lined, all slots together, m.

    Yoke, tooth sides and undersides of the tips; the opening is left open.
    """
    stator, half_pitch = motor.stator, motor.stator.slot_pitch / 2
    low, high = (1 - SAME) * stator.yoke_radius, (1 + SAME) * stator.tip_corner_radius
    core = next(region for region in cross_section(motor).stator.regions if region.label == "core")
    walls = (
        edge
        for edge in core.edges
        if all(low <= math.hypot(*end) <= high for end in (edge.start, edge.end))
        and not all(abs(_angle(end) - half_pitch) < SAME for end in (edge.start, edge.end))
    )
    return 2 * stator.slots * math.fsum(_length(edge) for edge in walls)


def _coil_sides(motor: Motor) -> Iterator[Sequence[int]]:
    """Yield the copies that make up each coil side: half a slot, or a slot with one layer."""
    copies = 2 * motor.stator.slots
    if motor.winding.layers == 1:
        yield from ([2 * slot, 2 * slot + 1] for slot in range(motor.stator.slots))
    else:
        yield from ([copy] for copy in range(copies))


def _around(pitch: int, pitches: int) -> tuple[int, int]:
    """Return the copies on both sides of a magnet's axis."""
    return (2 * pitch, (2 * pitch - 1) % (2 * pitches))


def _copies(cell: HalfCellOutline, labels: Sequence[str], copies: Iterable[int]) -> Iterator[Edge]:
    """Yield the edges of the regions of some copies of a half cell; even ones are turned only."""
    regions = [region for region in cell.regions if region.label in labels]
    for copy in copies:
        for region in regions:
            yield from _placed(region, cell.half_pitch, copy)


def _placed(region: Region, half_pitch: float, copy: int) -> Iterator[Edge]:
    axis = half_pitch * (copy + copy % 2)
    if copy % 2 == 0:
        for edge in region.edges:
            yield type(edge)(_turned(edge.start, axis, 1), _turned(edge.end, axis, 1))
    else:  # mirrored outlines run the other way round
        for edge in region.edges[::-1]:
            yield type(edge)(_turned(edge.end, axis, -1), _turned(edge.start, axis, -1))


def _turned(point: Point, axis: float, direction: int) -> Point:
    radius, angle = math.hypot(*point), axis + direction * _angle(point)
    return radius * math.cos(angle), radius * math.sin(angle)


def _pockets(motor: Motor, rotor: HalfCellOutline) -> Iterator[Edge]:
    surface = motor.stator.outer_radius + motor.air_gap
    limit, segments = motor.rotor.magnet_outer_radius, motor.rotor.segments
    if motor.rotor.magnet_shape == "block":
        yield from _circle(limit)
        yield from _hole(surface)
        magnets = _copies(rotor, ["magnet"], range(2 * segments))
        yield from (type(edge)(edge.end, edge.start) for edge in magnets)
        return
    plastic = tuple(
        region
        for region in rotor.regions
        if region.label == "air" and _lies_between(region, surface, limit)
    )
    for copy in range(2 * segments):
        for region in plastic:
            yield from _placed(region, rotor.half_pitch, copy)


def _lies_between(region: Region, low: float, high: float) -> bool:
    radii = [math.hypot(*edge.start) for edge in region.edges]
    return min(radii) >= low * (1 - SAME) and max(radii) <= high * (1 + SAME)


def _housing(motor: Motor) -> Iterator[Edge]:
    if motor.rotor.housing_thickness > 0:
        yield from _circle(motor.rotor.housing_outer_radius)
        yield from _hole(motor.rotor.ring_outer_radius)


def _circle(radius: float) -> tuple[Edge, ...]:
    """Return a circle, counter-clockwise, as two halves; nothing where the radius is 0."""
    if radius == 0:
        return ()
    right, left = (radius, 0.0), (-radius, 0.0)
    return (Arc(right, left), Arc(left, right))


def _hole(radius: float) -> tuple[Edge, ...]:
    right, left = (radius, 0.0), (-radius, 0.0)
    return (_Clockwise(right, left), _Clockwise(left, right))


@dataclass(frozen=True, slots=True)
class _Clockwise(Arc):
    """Half a circle run clockwise: its ends alone do not tell which way it goes."""


def joined(edges: Iterable[Edge], *, tolerance: float) -> Iterator[tuple[Edge, ...]]:
    """Yield the closed outlines that edges of neighbouring pieces make together.

    An edge that two pieces run along in opposite directions lies inside and goes away; straight
    pieces in one line, and arcs on one circle, become one.
    """
    left = list(_outside(edges, tolerance))
    following: dict[_Key, list[int]] = {}
    for number, edge in enumerate(left):
        following.setdefault(_key(edge.start, tolerance), []).append(number)
    used: set[int] = set()
    for number, first in enumerate(left):
        if number in used:
            continue
        loop = [first]
        used.add(number)
        while _key(loop[-1].end, tolerance) != _key(first.start, tolerance):
            after = next(
                other
                for key in _near(loop[-1].end, tolerance)
                for other in following.get(key, ())
                if other not in used
            )
            used.add(after)
            loop.append(left[after])
        yield _merged(loop, tolerance)


def _outside(edges: Iterable[Edge], tolerance: float) -> Iterator[Edge]:
    waiting: dict[tuple[_Key, _Key], list[Edge]] = {}
    for edge in edges:
        start, end = _key(edge.start, tolerance), _key(edge.end, tolerance)
        back = waiting.get((end, start))
        if back and not isinstance(edge, _Clockwise) and _is_same_kind(edge, back[-1]):
            back.pop()
        else:
            waiting.setdefault((start, end), []).append(edge)
    yield from (edge for group in waiting.values() for edge in group)


def _is_same_kind(one: Edge, other: Edge) -> bool:
    """Return whether two edges between the same points run along each other.

    Two halves of one circle do not, and neither do a chord and its arc.
    """
    return type(one) is type(other) and abs(abs(_turn(one)) - math.pi) > SAME


def _key(point: Point, tolerance: float) -> _Key:
    return round(point[0] / tolerance / 10), round(point[1] / tolerance / 10)


def _near(point: Point, tolerance: float) -> Iterator[_Key]:
    x, y = _key(point, tolerance)
    yield (x, y)
    yield from ((x + i, y + j) for i in (-1, 0, 1) for j in (-1, 0, 1) if i or j)


def _merged(loop: list[Edge], tolerance: float) -> tuple[Edge, ...]:
    """Return the loop with pieces of one line, or of one circle up to half of it, put together."""
    merged: list[Edge] = []
    for edge in loop:
        if merged and _continues(merged[-1], edge, tolerance):
            merged[-1] = type(edge)(merged[-1].start, edge.end)
        else:
            merged.append(edge)
    while len(merged) > 2 and _continues(merged[-1], merged[0], tolerance):  # noqa: PLR2004  (two edges enclose nothing more)
        merged[0] = type(merged[0])(merged.pop().start, merged[0].end)
    return tuple(merged)


def _continues(one: Edge, other: Edge, tolerance: float) -> bool:
    if isinstance(one, Arc) or isinstance(other, Arc):
        return (
            type(one) is Arc
            and type(other) is Arc
            and abs(math.hypot(*one.start) - math.hypot(*other.start)) < tolerance
            and _turn(one) * _turn(other) > 0
            and abs(_turn(one) + _turn(other)) < math.pi * (1 - SAME)
        )
    (ax, ay), (bx, by), (cx, cy) = one.start, one.end, other.end
    ux, uy, wx, wy = bx - ax, by - ay, cx - bx, cy - by
    return abs(ux * wy - uy * wx) < tolerance * math.hypot(ux, uy) and ux * wx + uy * wy > 0


def _turn(edge: Edge) -> float:
    """Return the angle that an arc turns through about the centre, rad; clockwise negative."""
    turn = math.remainder(_angle(edge.end) - _angle(edge.start), 2 * math.pi)
    if abs(abs(turn) - math.pi) < SAME:
        return -math.pi if isinstance(edge, _Clockwise) else math.pi
    return turn


def _under(edge: Edge) -> float:
    """Return ½ ∫ (x dy − y dx) along an edge."""
    (x0, y0), (x1, y1) = edge.start, edge.end
    if isinstance(edge, Line):
        return (x0 * y1 - x1 * y0) / 2
    return math.hypot(x0, y0) ** 2 * _turn(edge) / 2


def _length(edge: Edge) -> float:
    if isinstance(edge, Line):
        return math.dist(edge.start, edge.end)
    return math.hypot(*edge.start) * abs(_turn(edge))


def bulge(edge: Edge) -> float:
    """Return the tangent of a quarter of the angle that an arc turns through; 0 of a line.

    Source: the DXF reference, group code 42.
    """
    return 0.0 if isinstance(edge, Line) else math.tan(_turn(edge) / 4)


def _angle(point: Point) -> float:
    return math.atan2(point[1], point[0])
