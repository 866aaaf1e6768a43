"""Lines, arcs and the outlines they make, with exact areas."""

import math
from dataclasses import dataclass
from typing import Literal

Point = tuple[float, float]
Label = Literal["core", "coil", "air", "gap", "magnet", "ring"]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight piece of an outline."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Arc:
    """A piece of a circle about the origin, shorter than half a turn."""

    start: Point
    end: Point


Edge = Line | Arc


def polar(radius: float, angle: float) -> Point:
    """Return the point at `radius` and `angle`."""
    return radius * math.cos(angle), radius * math.sin(angle)


def area_under(edge: Edge) -> float:
    """Return ½ ∮ (x dy − y dx) along an edge; summed over a closed outline it is the area."""
    (x0, y0), (x1, y1) = edge.start, edge.end
    cross = (x0 * y1 - x1 * y0) / 2
    if isinstance(edge, Line):
        return cross
    turn = math.atan2(y1, x1) - math.atan2(y0, x0)
    return math.hypot(x0, y0) ** 2 * turn / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """One labelled part of a half cell, its outline counter-clockwise."""

    label: Label
    edges: tuple[Edge, ...]

    @property
    def area(self) -> float:
        """Exact area, m²."""
        return sum(area_under(edge) for edge in self.edges)


def reverse(edge: Edge) -> Edge:
    """Return the edge run the other way."""
    return type(edge)(edge.end, edge.start)


def backwards(edges: tuple[Edge, ...]) -> tuple[Edge, ...]:
    """Return an outline run the other way round."""
    return tuple(reverse(edge) for edge in edges[::-1])


def remainder(outer: tuple[Edge, ...], inner: tuple[Edge, ...]) -> list[tuple[Edge, ...]]:
    """Return the outlines of what is inside `outer` and outside `inner`.

    Both counter-clockwise; where they run together they must have the same edges.
    """
    taken = {(edge.start, edge.end) for edge in inner}
    kept = [edge for edge in outer if (edge.start, edge.end) not in taken]
    shared = {(edge.start, edge.end) for edge in outer}
    kept += [reverse(edge) for edge in inner if (edge.start, edge.end) not in shared]
    following = {edge.start: edge for edge in kept}
    loops = []
    while following:
        loop = [following.pop(next(iter(following)))]
        while loop[-1].end != loop[0].start:
            loop.append(following.pop(loop[-1].end))
        loops.append(tuple(loop))
    return loops


def ring_sector(inner: float, outer: float, angle: float) -> tuple[Edge, ...]:
    """Return the outline between two circles, from angle 0 to `angle`."""
    return (
        Line((inner, 0.0), (outer, 0.0)),
        Arc((outer, 0.0), polar(outer, angle)),
        Line(polar(outer, angle), polar(inner, angle)),
        Arc(polar(inner, angle), (inner, 0.0)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfCellOutline:
    """The regions of one half cell, from angle 0 to `half_pitch`.

    Attributes
    ----------
    regions : tuple of Region
    half_pitch : float
    gap_radius, far_radius : float
        far_radius 0 where the body is solid to its centre.
    sharp, blunt : tuple of Point
        Corners of core material: those at the air gap, where the field is strongly singular,
        and the others.
    narrow : tuple of pairs of Point
        Ends of sides that may be short, and corners that may nearly touch: elements there are to
        be no larger than the distance asks for.
    """

    regions: tuple[Region, ...]
    half_pitch: float
    gap_radius: float
    far_radius: float
    sharp: tuple[Point, ...]
    mouth: tuple[Point, ...]
    blunt: tuple[Point, ...]
    narrow: tuple[tuple[Point, Point], ...]
