"""One half cell, discretised: element matrices and loads that all its copies share.

The reluctivity depends on |∇A| alone, so mirrored and turned copies have the same element
matrices: they are computed once.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from skfem import Basis, ElementTriP2, MeshTri1, MeshTri2

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.field.discretisation.forms import mean_over_coil, remanence, stiffness
from fem_motor.materials import BHCurve
from fem_motor.mesh import REGIONS, HalfCell, Region
from fem_motor.units import MU_0

# Degree 4 for what is assembled once (curved elements have rational integrands); degree 2, three
# points, is enough to keep the order of second-order elements in what is assembled at each step.
ASSEMBLY_DEGREE = 4
NEWTON_DEGREE = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SaturableElements:
    """Elements of one half cell whose reluctivity depends on the field.

    Attributes
    ----------
    curve : BHCurve
    elements : (m,)
    nodes : (6, m)
    gradient : (m, 2 q, 6)
        ∂N/∂x and ∂N/∂y by turns at the q quadrature points.
    weight : (m, q)
    """

    curve: BHCurve
    elements: IntArray
    nodes: IntArray
    gradient: FloatArray
    weight: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CellMatrices:
    """What one half cell gives to the equations.

    Attributes
    ----------
    cell : HalfCell
    linear_elements : (m,)
        Elements of constant reluctivity.
    linear_nodes : (6, m)
    linear_stiffness : (m, 6, 6)
    saturable : tuple of SaturableElements
    remanence_load : (3, n)
        Load of a remanence of 1 T along the cell's axis, across it, and radially.
    coil_mean : (n,)
        Mean of A over the coil side, as a functional of the nodal values; also the load of 1 A.
    """

    cell: HalfCell
    linear_elements: IntArray
    linear_nodes: IntArray
    linear_stiffness: FloatArray
    saturable: tuple[SaturableElements, ...]
    remanence_load: FloatArray
    coil_mean: FloatArray


def discretise(
    cell: HalfCell,
    *,
    curves: Mapping[Region, BHCurve],
    recoil_permeability: float,
    newton_degree: int = NEWTON_DEGREE,
) -> CellMatrices:
    """Return the element matrices and loads of `cell`.

    Parameters
    ----------
    cell : HalfCell
    curves : mapping of region to BHCurve
        Linear curves are assembled once, the others at every Newton step.
    recoil_permeability : float
        Of the magnets, relative.
    newton_degree : int
        Degree of the quadrature in saturable elements.
    """
    mesh, node_of = second_order_mesh(cell)
    reluctivity = np.full(len(REGIONS), 1 / MU_0)
    reluctivity[REGIONS.index("magnet")] /= recoil_permeability
    saturating: dict[Region, BHCurve] = {}
    for region, curve in curves.items():
        if curve.is_linear:
            reluctivity[REGIONS.index(region)] /= curve.initial_permeability
        else:
            saturating[region] = curve
    is_linear = ~np.isin(cell.region, [REGIONS.index(region) for region in saturating])
    elements = np.flatnonzero(is_linear)
    basis = Basis(mesh, ElementTriP2(), intorder=ASSEMBLY_DEGREE, elements=elements)
    by_element = reluctivity[cell.region[elements]][:, None]
    local = stiffness.coo_data(basis, reluctivity=by_element).tolocal()
    return CellMatrices(
        cell=cell,
        linear_elements=elements,
        linear_nodes=cell.triangles[:, elements],
        linear_stiffness=np.asarray(local, dtype=np.float64),
        saturable=tuple(
            _saturable(cell, mesh, region, curve, newton_degree)
            for region, curve in saturating.items()
        ),
        remanence_load=_remanence_loads(cell, mesh, node_of, reluctivity),
        coil_mean=_coil_mean(cell, mesh, node_of),
    )


def second_order_mesh(cell: HalfCell) -> tuple[MeshTri2, IntArray]:
    """Return scikit-fem's mesh of `cell`, and the cell's node of each of its unknowns, (n,)."""
    corners, compact = np.unique(cell.triangles[:3], return_inverse=True)
    straight = MeshTri1(
        np.ascontiguousarray(cell.points[:, corners]),
        np.ascontiguousarray(compact.reshape(3, -1)),
        sort_t=False,
        validate=False,
    )
    mesh = MeshTri2.from_mesh(straight)
    element_dofs = mesh.dofs.element_dofs
    node_of = np.empty(cell.points.shape[1], dtype=np.int64)
    node_of[element_dofs] = cell.triangles
    points = np.ascontiguousarray(cell.points[:, node_of])
    return MeshTri2(points, straight.t, sort_t=False, validate=False), node_of


def _saturable(
    cell: HalfCell, mesh: MeshTri2, region: Region, curve: BHCurve, degree: int
) -> SaturableElements:
    elements = np.flatnonzero(cell.region == REGIONS.index(region))
    basis = Basis(mesh, ElementTriP2(), intorder=degree, elements=elements)
    # (6, 2, m, q) -> (m, q, 2, 6)
    gradient = np.array([basis.basis[i][0].grad for i in range(6)]).transpose(2, 3, 1, 0)
    number = len(elements)
    return SaturableElements(
        curve=curve,
        elements=elements,
        nodes=cell.triangles[:, elements],
        gradient=np.ascontiguousarray(gradient).reshape(number, -1, 6),
        weight=np.ascontiguousarray(basis.dx),
    )


def _remanence_loads(
    cell: HalfCell, mesh: MeshTri2, node_of: IntArray, reluctivity: FloatArray
) -> FloatArray:
    loads = np.zeros((3, cell.points.shape[1]))
    elements = np.flatnonzero(cell.region == REGIONS.index("magnet"))
    if not len(elements):
        return loads
    basis = Basis(mesh, ElementTriP2(), intorder=ASSEMBLY_DEGREE, elements=elements)
    x, y = basis.global_coordinates()
    radius = np.hypot(x, y)
    one, nought = np.ones_like(x), np.zeros_like(x)
    directions = ((one, nought), (nought, one), (x / radius, y / radius))
    for load, direction in zip(loads, directions, strict=True):
        load[node_of] = remanence.assemble(
            basis,
            remanence=np.array(direction),
            reluctivity=reluctivity[REGIONS.index("magnet")],
        )
    return loads


def _coil_mean(cell: HalfCell, mesh: MeshTri2, node_of: IntArray) -> FloatArray:
    mean = np.zeros(cell.points.shape[1])
    elements = np.flatnonzero(cell.region == REGIONS.index("coil"))
    if len(elements):
        basis = Basis(mesh, ElementTriP2(), intorder=ASSEMBLY_DEGREE, elements=elements)
        mean[node_of] = mean_over_coil.assemble(basis, coil_area=basis.dx.sum())
    return mean
