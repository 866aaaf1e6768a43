"""Half cells, meshed by gmsh."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.errors import MeshError
from fem_motor.mesh.checks import WORST_ASPECT, check_half_cell, worst_in_gap
from fem_motor.mesh.outlines import check_outlines
from fem_motor.mesh.records import REGIONS, HalfCell
from fem_motor.mesh.session import gmsh_model
from fem_motor.mesh.sizing import WIDEST_ANGLE, EdgeLengths
from fem_motor.section import Arc, Edge, HalfCellOutline, Point
from fem_motor.units import MM

SECOND_ORDER_TRIANGLE = 9
"""gmsh's number of the triangle with six nodes."""

ALGORITHMS = (6, 8, 5)
"""gmsh's numbers of the planar algorithms, in the order in which they are tried: frontal,
frontal by quadrangles, Delaunay. Which one shapes the elements at a graded corner best changes
from section to section."""

ON_BOUNDARY = 1e-9
"""Nodes nearer to a side or circle than this part of the radius stand on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeshOrder:
    """How one half cell is to be meshed.

    Attributes
    ----------
    name : str
        Stator or rotor, for messages.
    outline : HalfCellOutline
    lengths : EdgeLengths
    gap_edges, far_edges : int
        On the circles; far_edges 0 where there is none.
    """

    name: str
    outline: HalfCellOutline
    lengths: EdgeLengths
    gap_edges: int
    far_edges: int


def mesh_half_cell(order: MeshOrder) -> HalfCell:
    """Return the checked mesh of one half cell.

    Raises
    ------
    MeshError
        Where an outline meets itself, gmsh fails or no mesh passes its checks.
    """
    check_outlines(order.outline, order.name)
    cells: list[HalfCell] = []
    refused: list[MeshError] = []
    for algorithm in ALGORITHMS:
        try:
            cell = _attempt(order, algorithm)
            check_half_cell(cell, order.outline, order.name)
        except MeshError as error:
            refused.append(error)
            continue
        cells.append(cell)
        if worst_in_gap(cell) <= WORST_ASPECT:
            break
    if not cells:
        raise refused[0]
    return min(cells, key=worst_in_gap)


def _attempt(order: MeshOrder, algorithm: int) -> HalfCell:
    with gmsh_model(order.name) as gmsh:
        gmsh.option.setNumber("Mesh.Algorithm", algorithm)
        try:
            points, triangles, region = _generate(gmsh, order)
        except Exception as error:
            raise MeshError(
                f"of the {order.name} could not be made.",
                why=f"gmsh says: {error}",
                do="look at the section with fem-motor check -o for parts that nearly touch.",
                place="mesh",
            ) from error
    return _half_cell(order.outline, points, triangles, region)


def _generate(
    gmsh: Any,  # noqa: ANN401  (the module)
    order: MeshOrder,
) -> tuple[FloatArray, IntArray, IntArray]:
    """Return points (2, n) m, triangles (6, m) and regions (m,)."""
    build = _Builder(gmsh.model.geo, order.lengths.points)
    outline = order.outline
    surfaces = [
        (build.surface(region.edges), REGIONS.index(region.label)) for region in outline.regions
    ]
    build.divide_wide_arcs()
    build.divide(outline.gap_radius, order.gap_edges)
    if order.far_edges:
        build.divide(outline.far_radius, order.far_edges)
    gmsh.model.geo.synchronize()
    build.grade(gmsh.model.mesh.field, order.lengths)
    gmsh.model.mesh.generate(2)
    tags, coordinates, _ = gmsh.model.mesh.getNodes()
    place = np.empty(int(tags.max()) + 1, dtype=np.int64)
    place[tags] = np.arange(len(tags))
    parts, regions = [], []
    for surface, index in surfaces:
        _, nodes = gmsh.model.mesh.getElementsByType(SECOND_ORDER_TRIANGLE, surface)
        parts.append(place[nodes.astype(np.int64)].reshape(-1, 6).T)
        regions.append(np.full(parts[-1].shape[1], index))
    triangles = np.concatenate(parts, axis=1)
    used, compact = np.unique(triangles, return_inverse=True)
    # gmsh numbers middles 0-1, 1-2, 2-0, as scikit-fem does.
    points = np.asarray(coordinates).reshape(-1, 3)[used, :2].T * MM
    return points, compact.reshape(6, -1), np.concatenate(regions)


class _Builder:
    """Points, curves and surfaces in gmsh's own kernel, each made once; millimetres."""

    def __init__(self, geo: Any, size: Mapping[Point, float]) -> None:  # noqa: ANN401
        self._geo = geo
        self._size = size
        self._points: dict[Point, int] = {}
        self._curves: dict[tuple[Point, Point], int] = {}
        self._arcs: list[tuple[Arc, int]] = []
        self._centre: int | None = None

    def surface(self, edges: tuple[Edge, ...]) -> int:
        """Return the surface inside an outline."""
        loop = self._geo.addCurveLoop([self._curve(edge) for edge in edges])
        return int(self._geo.addPlaneSurface([loop]))

    def divide(self, radius: float, edges: int) -> None:
        """Divide the arcs of one circle into equal edges."""
        for arc, tag in self._arcs:
            if math.isclose(math.hypot(*arc.start), radius, rel_tol=ON_BOUNDARY):
                self._geo.mesh.setTransfiniteCurve(tag, edges + 1)

    def divide_wide_arcs(self) -> None:
        """Divide arcs equally whose ends ask for no more than the widest angle allows.

        By itself gmsh rounds the number of edges down; one edge for two was found.
        """
        for arc, tag in self._arcs:
            angle = abs(math.atan2(*arc.end[::-1]) - math.atan2(*arc.start[::-1]))
            edges = math.ceil(angle / WIDEST_ANGLE)
            edge = math.hypot(*arc.start) * angle / edges
            if min(self._size[arc.start], self._size[arc.end]) >= edge:
                self._geo.mesh.setTransfiniteCurve(tag, edges + 1)

    def grade(self, field: Any, lengths: EdgeLengths) -> None:  # noqa: ANN401
        """Make edges at corners as short as asked, and longer with the distance."""
        longest = max(lengths.points.values()) / MM
        grown = []
        for length in sorted(set(lengths.corners.values())):
            at = [self._points[point] for point, own in lengths.corners.items() if own == length]
            distance, threshold = field.add("Distance"), field.add("Threshold")
            field.setNumbers(distance, "PointsList", at)
            numbers = {
                "InField": distance,
                "SizeMin": length / MM,
                "SizeMax": longest,
                "DistMin": 0,
                "DistMax": max(longest - length / MM, 0) / lengths.growth,
                "StopAtDistMax": 1,
            }
            for name, number in numbers.items():
                field.setNumber(threshold, name, number)
            grown.append(threshold)
        smallest = field.add("Min")
        field.setNumbers(smallest, "FieldsList", grown)
        field.setAsBackgroundMesh(smallest)

    def _point(self, point: Point) -> int:
        if point not in self._points:
            x, y = point[0] / MM, point[1] / MM
            self._points[point] = self._geo.addPoint(x, y, 0, self._size[point] / MM)
        return self._points[point]

    def _curve(self, edge: Edge) -> int:
        """Return the curve of an edge, negative where it was made the other way round."""
        backwards = self._curves.get((edge.end, edge.start))
        if backwards is not None:
            return -backwards
        key = (edge.start, edge.end)
        if key not in self._curves:
            start, end = self._point(edge.start), self._point(edge.end)
            if isinstance(edge, Arc):
                if self._centre is None:
                    self._centre = self._geo.addPoint(0, 0, 0)
                self._curves[key] = self._geo.addCircleArc(start, self._centre, end)
                self._arcs.append((edge, self._curves[key]))
            else:
                self._curves[key] = self._geo.addLine(start, end)
        return self._curves[key]


def _half_cell(
    outline: HalfCellOutline, points: FloatArray, triangles: IntArray, region: IntArray
) -> HalfCell:
    """Return the record, with the nodes on its sides and circles in order."""
    x, y = points
    radius, half_pitch = np.hypot(x, y), outline.half_pitch
    near = ON_BOUNDARY * outline.gap_radius
    across = x * math.sin(half_pitch) - y * math.cos(half_pitch)
    far: IntArray = np.flatnonzero(radius < near)
    if outline.far_radius:
        far = _along(np.abs(radius - outline.far_radius) < near, np.arctan2(y, x))
    return HalfCell(
        points=points,
        triangles=triangles,
        region=region,
        start_side=_along(np.abs(y) < near, radius),
        end_side=_along(np.abs(across) < near, radius),
        gap_circle=_along(np.abs(radius - outline.gap_radius) < near, np.arctan2(y, x)),
        far_circle=far,
        half_pitch=half_pitch,
        gap_radius=outline.gap_radius,
        far_radius=outline.far_radius,
    )


def _along(is_there: np.typing.NDArray[np.bool_], position: FloatArray) -> IntArray:
    nodes = np.flatnonzero(is_there)
    return nodes[np.argsort(position[nodes])]
