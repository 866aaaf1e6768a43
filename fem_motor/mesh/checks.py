"""What every mesh must pass before anything is solved on it."""

import math

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.errors import MeshError
from fem_motor.mesh.outlines import sharpest_corner
from fem_motor.mesh.records import REGIONS, HalfCell
from fem_motor.section import HalfCellOutline

AREA_TOLERANCE = 1e-4
"""Relative. One missing element is 1e-4 or more; second-order edges on a circle miss 2e-7 of the
area below it (see `WIDEST_ANGLE`), which in a part of a hundredth of its radius is 1e-5."""

WORST_ASPECT = 6.0
"""Longest edge² over twice the area, wanted in the air gap: needles that fanned out from a tooth
tip to the gap circle (31 and 79) once cost 3 % of the cogging torque."""

GAP_LIMIT, BODY_LIMIT = 9.0, 40.0
"""The same, refused: in the air gap, and elsewhere, where parts lie close together (a thin liner)
and the field is smooth."""

CORNER_LIMIT = 10.0
"""The same over that of the widest element in the sharpest corner of an outline, 1 / sin of its
angle: under a ring many narrow block magnets leave pockets of a degree or less, with elements of up
to 7 times that."""


def check_half_cell(cell: HalfCell, outline: HalfCellOutline, name: str) -> None:
    """Raise MeshError unless areas, boundaries, orientation and shape are as they must be."""
    _check_areas(cell, outline, name)
    _check_boundary(cell, name)
    _check_shape(cell, outline, name)


def element_areas(cell: HalfCell) -> FloatArray:
    """Return the areas of the curved triangles, (m,), exact for their second-order edges."""
    x, y = cell.points[:, cell.triangles]
    area = np.zeros(cell.triangles.shape[1])
    for start, end, middle in ((0, 1, 3), (1, 2, 4), (2, 0, 5)):
        chord = x[start] * y[end] - x[end] * y[start]
        # Between chord and parabola lie two thirds of the chord times the sagitta.
        bulge = (x[middle] - (x[start] + x[end]) / 2) * (y[end] - y[start])
        bulge -= (y[middle] - (y[start] + y[end]) / 2) * (x[end] - x[start])
        area += chord / 2 + 2 / 3 * bulge
    return area


def _check_areas(cell: HalfCell, outline: HalfCellOutline, name: str) -> None:
    found = np.bincount(cell.region, weights=element_areas(cell), minlength=len(REGIONS))
    for index, label in enumerate(REGIONS):
        wanted = sum(region.area for region in outline.regions if region.label == label)
        if abs(found[index] - wanted) > AREA_TOLERANCE * max(wanted, 1e-12):
            raise MeshError(
                f"of the {name}: the region {label} has a wrong area.",
                why=f"its elements cover {found[index]:.8g} m² where the drawing has {wanted:.8g}.",
                do="look at the section with fem-motor check -o for parts that nearly touch.",
                place="mesh",
            )


def _check_boundary(cell: HalfCell, name: str) -> None:
    """Raise where an edge with one element only is not on a declared boundary."""
    corners = cell.triangles[:3]
    edges = np.sort(
        np.concatenate([corners[[0, 1]], corners[[1, 2]], corners[[2, 0]]], axis=1), axis=0
    )
    unique, count = np.unique(edges, axis=1, return_counts=True)
    single = unique[:, count == 1]
    declared = np.zeros(single.shape[1], dtype=bool)
    for nodes in (cell.start_side, cell.end_side, cell.gap_circle, cell.far_circle):
        declared |= np.isin(single, nodes).all(axis=0)
    torn, crowded = np.count_nonzero(~declared), np.count_nonzero(count > 2)  # noqa: PLR2004
    if torn or crowded:
        raise MeshError(
            f"of the {name} is torn.",
            why=f"inside it {torn} edges have one element, and {crowded} more than two.",
            do="look at the section with fem-motor check -o for parts that nearly touch.",
            place="mesh",
        )


def _check_shape(cell: HalfCell, outline: HalfCellOutline, name: str) -> None:
    if smallest_jacobian(cell) <= 0:
        raise MeshError(
            f"of the {name} has an element turned inside out.",
            why="a curved edge bends further than its element is thick.",
            do="use another quality; it divides the curves differently.",
            place="mesh",
        )
    body_limit = max(BODY_LIMIT, CORNER_LIMIT / math.sin(sharpest_corner(outline)))
    for worst, limit, where in (
        (worst_in_gap(cell), GAP_LIMIT, "air gap"),
        (float(aspect(cell).max()), body_limit, "parts"),
    ):
        if worst > limit:
            raise MeshError(
                f"of the {name} has needles in its {where}.",
                why=f"the longest is {worst:.1f} times longer than wide; {limit:g} is allowed.",
                do="make thin spaces between parts thicker, or use another quality.",
                place="mesh",
            )


def worst_in_gap(cell: HalfCell) -> float:
    """Return the worst aspect in the layer of air beside the gap circle."""
    return float(aspect(cell)[cell.region == REGIONS.index("gap")].max())


def aspect(cell: HalfCell) -> FloatArray:
    """Return longest edge² over twice the area of each element, (m,)."""
    corners = cell.points[:, cell.triangles[:3]]
    sides = corners - np.roll(corners, 1, axis=1)
    longest = (sides**2).sum(axis=0).max(axis=0)
    return np.asarray(longest / (2 * element_areas(cell)))


def smallest_jacobian(cell: HalfCell) -> float:
    """Return the smallest determinant of the map from the reference triangle, m²."""
    # Gradients of the six shape functions at the corners and edge middles.
    at = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])
    s, t = at.T
    r = 1 - s - t
    by_s = np.array([1 - 4 * r, 4 * s - 1, 0 * s, 4 * (r - s), 4 * t, -4 * t])
    by_t = np.array([1 - 4 * r, 0 * s, 4 * t - 1, -4 * s, 4 * s, 4 * (r - t)])
    points = cell.points[:, cell.triangles]  # (2, 6, m)
    d_s = np.einsum("dim,iq->dmq", points, by_s)
    d_t = np.einsum("dim,iq->dmq", points, by_t)
    return float((d_s[0] * d_t[1] - d_s[1] * d_t[0]).min())
