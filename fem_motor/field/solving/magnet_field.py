"""The field inside the magnets, along the direction in which each is magnetised."""

from dataclasses import dataclass

import numpy as np
from skfem import Basis, ElementTriP2

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.field.discretisation.bodies import Body
from fem_motor.field.discretisation.cells import ASSEMBLY_DEGREE, second_order_mesh
from fem_motor.field.discretisation.placement import copy_angles, place_points, whole_circle
from fem_motor.field.records import MagnetField
from fem_motor.field.solving.problem import FieldProblem, Magnets
from fem_motor.mesh import REGIONS


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MagnetPoints:
    """Quadrature points in the magnet of the half cell.

    Attributes
    ----------
    nodes : (6, m)
        Of the cell.
    gradient : (6, 2, m, q)
        ∂N/∂x and ∂N/∂y.
    area : (m, q)
    points : (2, m, q)
    corners : (2, 3, m)
    """

    nodes: IntArray
    gradient: FloatArray
    area: FloatArray
    points: FloatArray
    corners: FloatArray

    @classmethod
    def of(cls, body: Body) -> "MagnetPoints":
        """Return those of a rotor."""
        cell = body.matrices.cell
        mesh, node_of = second_order_mesh(cell)
        elements = np.flatnonzero(cell.region == REGIONS.index("magnet"))
        basis = Basis(mesh, ElementTriP2(), intorder=ASSEMBLY_DEGREE, elements=elements)
        return cls(
            nodes=node_of[basis.element_dofs],
            gradient=np.array([basis.basis[i][0].grad for i in range(6)]),
            area=basis.dx,
            points=np.asarray(basis.global_coordinates()),
            corners=cell.points[:, cell.triangles[:3, elements]],
        )


def magnet_field(problem: FieldProblem, rotor_values: FloatArray, angle: float) -> MagnetField:
    """Return the field in all magnets of the rotor, which stands at `angle`, rad."""
    body = problem.rotor
    if "magnets" not in problem.prepared:
        problem.prepared["magnets"] = MagnetPoints.of(body)
    at: MagnetPoints = problem.prepared["magnets"]
    corners = _placed(body, at.corners, angle, problem.gap.offset)
    corners[1::2] = corners[1::2, :, ::-1]  # mirrored copies run the other way round
    return MagnetField(
        flux_density=_by_magnet(_along(body, at, problem.magnets, rotor_values)),
        area=np.concatenate([at.area, at.area]),
        points=_by_magnet(_placed(body, at.points, angle, problem.gap.offset), axis=2),
        corners=_by_magnet(corners, axis=3),
    )


def _along(body: Body, at: MagnetPoints, magnets: Magnets, values: FloatArray) -> FloatArray:
    """Return B·m̂ in all copies of the circle, (k, m, q), in each magnet's own axes."""
    nodal = whole_circle(body, body.nodal(values))[:, at.nodes]  # (k, 6, m)
    d_dx, d_dy = np.einsum("kim,idmq->dkmq", nodal, at.gradient, optimize=True)
    _, mirror = copy_angles(body)
    mirror = mirror[:, None, None]
    B_x, B_y = mirror * d_dy, -d_dx  # B = (∂A/∂y, −∂A/∂x); the mirror turns y round
    copy = np.arange(len(nodal))
    owner = (copy + 1) // 2 % len(magnets.remanence)
    sense = np.where(magnets.remanence < 0, -1.0, 1.0)[owner, None, None]
    if magnets.is_radial:
        x, y = at.points
        return np.asarray(sense * (B_x * x + B_y * mirror * y) / np.hypot(x, y))
    direction = magnets.direction[owner, None, None]
    return np.asarray(sense * (np.cos(direction) * B_x + np.sin(direction) * B_y))


def _placed(body: Body, points: FloatArray, angle: float, offset: float) -> FloatArray:
    """Return points of the half cell, (2, …), in all copies, (k, 2, …)."""
    placed = place_points(body, points.reshape(2, -1), angle)
    placed[:, 0] += offset
    return placed.reshape(-1, *points.shape)


def _by_magnet(by_copy: FloatArray, axis: int = 1) -> FloatArray:
    """Return values of copies, (2 s, …), by magnet, (s, …), both halves joined along `axis`."""
    # The last copy is the clockwise half of the first magnet.
    halves = np.roll(by_copy, 1, axis=0)
    return np.concatenate([halves[0::2], halves[1::2]], axis=axis)
