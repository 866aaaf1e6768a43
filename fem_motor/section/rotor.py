"""Half a magnet pitch of the rotor: from the magnet's axis to the middle between magnets."""

import math

from fem_motor.design import Rotor
from fem_motor.section.shapes import (
    Arc,
    Edge,
    HalfCellOutline,
    Line,
    Point,
    Region,
    polar,
    ring_sector,
)

OUTSIDE_MARGIN = 0.25
"""Width of the meshed air outside magnets or ring over the magnet thickness."""

TOLERANCE = 1e-9
"""Angles smaller than this part of the pitch are nothing."""


def rotor_cell(rotor: Rotor, surface: float, gap_radius: float) -> HalfCellOutline:
    """Return the half cell of `rotor` from a gap circle of `gap_radius` outwards.

    Parameters
    ----------
    rotor : Rotor
    surface : float
        Radius of the innermost surface, m.
    gap_radius : float
    """
    half_pitch = rotor.segment_pitch / 2
    if rotor.magnet_shape == "arc":
        regions, corners = _arc_regions(rotor, surface, gap_radius, half_pitch)
    else:
        regions, corners = _block_regions(rotor, surface, gap_radius, half_pitch)
    narrow: tuple[tuple[Point, Point], ...] = ()
    if rotor.magnet_shape == "block":
        inside, beside = _inner_corner(rotor, half_pitch)
        narrow = ((inside, beside),) if inside != beside else ()
    outside = rotor.ring_outer_radius
    far_radius = outside + OUTSIDE_MARGIN * rotor.magnet_thickness
    if rotor.ring is not None:
        regions.append(
            Region(
                label="ring",
                edges=_ring(
                    rotor.magnet_outer_radius, outside, half_pitch, _split(rotor, half_pitch)
                ),
            )
        )
        regions.append(Region(label="air", edges=ring_sector(outside, far_radius, half_pitch)))
    return HalfCellOutline(
        regions=tuple(regions),
        half_pitch=half_pitch,
        gap_radius=gap_radius,
        far_radius=far_radius,
        sharp=(),
        mouth=(),
        blunt=corners,
        narrow=narrow,
    )


def _split(rotor: Rotor, half_pitch: float) -> float:
    """Return the angle at which the magnet's outer corner stands."""
    if rotor.magnet_width is not None:
        return math.atan2(
            rotor.magnet_width / 2, rotor.magnet_inner_radius + rotor.magnet_thickness
        )
    return (rotor.magnet_arc_fraction or 1.0) * half_pitch


def _is_whole(split: float, half_pitch: float) -> bool:
    return half_pitch - split < TOLERANCE * half_pitch


def _ring(inner: float, outer: float, half_pitch: float, split: float) -> tuple[Edge, ...]:
    """Return the outline between two circles, the inner one with a node at the angle `split`."""
    straight = ring_sector(inner, outer, half_pitch)
    if _is_whole(split, half_pitch):
        return straight
    corner = polar(inner, split)
    end = polar(inner, half_pitch)
    return (*straight[:3], Arc(end, corner), Arc(corner, (inner, 0.0)))


def _below(inner: float, outer: float, half_pitch: float, split: float) -> tuple[Edge, ...]:
    """Return the outline between two circles, the outer one with a node at the angle `split`."""
    straight = ring_sector(inner, outer, half_pitch)
    if _is_whole(split, half_pitch):
        return straight
    corner = polar(outer, split)
    end = polar(outer, half_pitch)
    return (straight[0], Arc((outer, 0.0), corner), Arc(corner, end), *straight[2:])


def _arc_regions(
    rotor: Rotor, surface: float, gap_radius: float, half_pitch: float
) -> tuple[list[Region], tuple[Point, ...]]:
    inner, outer = rotor.magnet_inner_radius, rotor.magnet_outer_radius
    split = _split(rotor, half_pitch)
    has_skin = inner - surface > TOLERANCE * inner
    regions = []
    if has_skin:
        regions.append(Region(label="gap", edges=ring_sector(gap_radius, surface, half_pitch)))
        regions.append(Region(label="air", edges=_below(surface, inner, half_pitch, split)))
    else:
        regions.append(Region(label="gap", edges=_below(gap_radius, inner, half_pitch, split)))
    regions.append(Region(label="magnet", edges=ring_sector(inner, outer, split)))
    if not _is_whole(split, half_pitch):
        corners = (polar(inner, split), polar(outer, split))
        low, high = polar(inner, half_pitch), polar(outer, half_pitch)
        regions.append(
            Region(
                label="air",
                edges=(
                    Line(*corners),
                    Arc(corners[1], high),
                    Line(high, low),
                    Arc(low, corners[0]),
                ),
            )
        )
    else:
        corners = (polar(inner, half_pitch), polar(outer, half_pitch))
    if rotor.ring is None:
        far = outer + OUTSIDE_MARGIN * rotor.magnet_thickness
        regions.append(Region(label="air", edges=_ring(outer, far, half_pitch, split)))
    return regions, corners


def _block_regions(
    rotor: Rotor, surface: float, gap_radius: float, half_pitch: float
) -> tuple[list[Region], tuple[Point, ...]]:
    """Return the regions around a rectangle whose inner face touches the inner circle.

    Between face and circle the space closes to nothing at the middle; the layer for the stress
    therefore ends half way to the rotor's surface, and the rest is one region of air, or two where
    neighbouring magnets touch.
    """
    low, high = rotor.magnet_inner_radius, rotor.magnet_inner_radius + rotor.magnet_thickness
    inside, beside = _inner_corner(rotor, half_pitch)
    outside = polar(rotor.magnet_outer_radius, _split(rotor, half_pitch))
    layer = (gap_radius + surface) / 2
    limit = rotor.magnet_outer_radius
    regions = [
        Region(label="gap", edges=ring_sector(gap_radius, layer, half_pitch)),
        Region(
            label="magnet",
            edges=(
                Line((low, 0.0), (high, 0.0)),
                Line((high, 0.0), outside),
                Line(outside, inside),
                Line(inside, (low, 0.0)),
            ),
        ),
    ]
    end_low = polar(layer, half_pitch)
    below = (
        Arc(end_low, (layer, 0.0)),
        Line((layer, 0.0), (low, 0.0)),
        Line((low, 0.0), inside),
    )
    if rotor.ring is None:
        limit += OUTSIDE_MARGIN * rotor.magnet_thickness
        over = (Line(outside, (high, 0.0)), Line((high, 0.0), (limit, 0.0)))
        outer = Arc((limit, 0.0), polar(limit, half_pitch))
        above: tuple[Edge, ...] = (Line(inside, outside), *over, outer)
    else:
        above = (Line(inside, outside), Arc(outside, polar(limit, half_pitch)))
        pocket = (
            Line(outside, (high, 0.0)),
            Line((high, 0.0), (limit, 0.0)),
            Arc((limit, 0.0), outside),
        )
        regions.append(Region(label="air", edges=pocket))
    if inside == beside:
        parts = [(*below, Line(inside, end_low)), (*above, Line(above[-1].end, inside))]
    else:
        parts = [(*below, *above, Line(above[-1].end, beside), Line(beside, end_low))]
    regions += [Region(label="air", edges=edges) for edges in parts]
    return regions, (inside, outside)


def _inner_corner(rotor: Rotor, half_pitch: float) -> tuple[Point, Point]:
    """Return a block's inner corner and the point beside it between two magnets.

    They are one where neighbouring magnets touch.
    """
    corner = rotor.magnet_inner_radius, (rotor.magnet_width or 0.0) / 2
    beside = polar(math.hypot(*corner), half_pitch)
    if abs(math.atan2(corner[1], corner[0]) - half_pitch) < TOLERANCE * half_pitch:
        return beside, beside
    return corner, beside
