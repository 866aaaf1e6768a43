"""Integrals over elements: the torque by stress, and the work H·B of every region."""

from dataclasses import dataclass

import numpy as np
from skfem import Basis, ElementTriP2

from fem_motor.arrays import FloatArray
from fem_motor.field.discretisation.bodies import Body
from fem_motor.field.discretisation.cells import ASSEMBLY_DEGREE, second_order_mesh
from fem_motor.field.solving.continuation import gap_work, open_work
from fem_motor.field.solving.problem import FieldProblem
from fem_motor.mesh import REGIONS
from fem_motor.units import MU_0


def stress_torque(body: Body, values: FloatArray) -> float:
    """Return the torque on the rotor, N m per metre, from the stress in a meshed gap layer.

    T = −1/(μ₀ d) ∫ r B_r B_θ dS over the layer of thickness d between the body's surface and
    its gap circle, whole machine; minus because the rotor is outside. Source: A. Arkkio, Acta
    Polytechnica Scandinavica El 59 (1987), from memory.
    """
    cell = body.matrices.cell
    mesh, node_of = second_order_mesh(cell)
    elements = np.flatnonzero(cell.region == REGIONS.index("gap"))
    basis = Basis(mesh, ElementTriP2(), intorder=ASSEMBLY_DEGREE, elements=elements)
    x, y = basis.global_coordinates()
    radius = np.hypot(x, y)
    nodal = body.nodal(values)[:, node_of]  # (c, n)
    at = nodal[:, basis.element_dofs]  # (c, 6, m)
    gradient = np.array([basis.basis[i][0].grad for i in range(6)])  # (6, 2, m, q)
    d_dx, d_dy = np.einsum("cim,idmq->dcmq", at, gradient, optimize=True)
    radial = (d_dy * x + -d_dx * y) / radius  # B·r/r, B = (∂A/∂y, −∂A/∂x)
    tangential = (-d_dx * x - d_dy * y) / radius
    # In a mirrored copy B_r changes its sign and B_θ does not.
    mirror = np.where(np.arange(body.copies) % 2 == 0, 1.0, -1.0)
    integral = np.einsum("c,cmq,mq->", mirror, radial * tangential, radius * basis.dx)
    corners = np.hypot(*cell.points[:, cell.triangles[:3, elements]])
    thickness = corners.max() - corners.min()
    return float(-body.sectors * integral / (MU_0 * thickness))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldWork:
    """∫ H·B by place, J/m, whole machine.

    In magnets it is ∫ ν B², the recoil part alone; `magnets` is what they give, −∫ H·B.

    Attributes
    ----------
    stator, rotor : (m,)
        By element of the half cells, all copies added up.
    gap : float
        The annulus between the gap circles.
    hub, outside : float
        Beyond the far circles.
    magnets : float
    """

    stator: FloatArray
    rotor: FloatArray
    gap: float
    hub: float
    outside: float
    magnets: float


def field_work(
    problem: FieldProblem, stator_values: FloatArray, rotor_values: FloatArray
) -> FieldWork:
    """Return where the magnets' drive goes, rotor at angle 0."""
    rotor = element_work(problem.rotor, rotor_values)
    in_magnets = problem.rotor.matrices.cell.region == REGIONS.index("magnet")
    # ∫ −H·B = ∫ ν B_r·B − ∫ ν B², and ∫ ν B_r·B is the load of the magnets times A.
    drive = problem.sectors * float(problem.magnet_load @ rotor_values)
    return FieldWork(
        stator=element_work(problem.stator, stator_values),
        rotor=rotor,
        gap=gap_work(problem, stator_values, rotor_values),
        hub=open_work(problem.stator, stator_values),
        outside=open_work(problem.rotor, rotor_values),
        magnets=drive - float(rotor[in_magnets].sum()),
    )


def element_work(body: Body, values: FloatArray) -> FloatArray:
    """Return ∫ ν B² over each element of the half cell, all copies added up, (m,) J/m.

    Whole machine. Outside magnets this is ∫ H·B; in magnets it is the recoil part alone.
    """
    cell, matrices = body.matrices.cell, body.matrices
    nodal = body.nodal(values)
    work = np.zeros(cell.triangles.shape[1])
    at = nodal[:, matrices.linear_nodes]
    work[matrices.linear_elements] = np.einsum(
        "cim,mij,cjm->m", at, matrices.linear_stiffness, at, optimize=True
    )
    for part in matrices.saturable:
        number, points = part.weight.shape
        gradient = part.gradient @ nodal[:, part.nodes].transpose(2, 1, 0)
        square = (gradient.reshape(number, points, 2, -1) ** 2).sum(axis=2)
        density = part.curve.reluctivity(square) * square
        work[part.elements] = np.einsum("mq,mqc->m", part.weight, density)
    return body.sectors * work
