"""Means of A and B over the elements of a body, at every solved angle, for what losses need."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from skfem import Basis, ElementTriP2

from fem_motor.arrays import FloatArray, IntArray, frozen, frozen_integers
from fem_motor.field.discretisation.bodies import Body
from fem_motor.field.discretisation.cells import ASSEMBLY_DEGREE, second_order_mesh
from fem_motor.mesh import REGIONS, Region


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ElementFields:
    """Means over m elements of the half cell in the c copies of a sector, at n rotor angles.

    Attributes
    ----------
    potential : (n, c, m) Wb/m
        A.
    flux_density : (n, c, 2, m) T
        In the axes of each copy, which turn with its body: outward along the copy's own start
        side (the middle of a tooth or a magnet), and across it, away from that side.
    area : (m,) m²
    radius : (m,) m
        Of the elements' centres.
    region : (m,)
        Index into `REGIONS` of the mesh.
    """

    potential: FloatArray
    flux_density: FloatArray
    area: FloatArray
    radius: FloatArray
    region: IntArray

    def __post_init__(self) -> None:
        for name in ("potential", "flux_density", "area", "radius"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        object.__setattr__(self, "region", frozen_integers(self.region))


def element_fields(body: Body, values: FloatArray, regions: Sequence[Region]) -> ElementFields:
    """Return the means over the elements of `regions`.

    Parameters
    ----------
    body : Body
    values : (n, size)
        Unknowns of the body at each angle.
    regions : sequence of Region
    """
    cell = body.matrices.cell
    elements = np.flatnonzero(np.isin(cell.region, [REGIONS.index(name) for name in regions]))
    mesh, node_of = second_order_mesh(cell)
    basis = Basis(mesh, ElementTriP2(), intorder=ASSEMBLY_DEGREE, elements=elements)
    area = np.asarray(basis.dx.sum(axis=1))
    weight = basis.dx / area[:, None]
    shape = np.array([np.sum(np.asarray(basis.basis[i][0]) * weight, axis=-1) for i in range(6)])
    gradient = np.array([np.sum(basis.basis[i][0].grad * weight, axis=-1) for i in range(6)])
    nodes = node_of[basis.element_dofs]  # (6, m)
    at = values[:, body.unknown[:, nodes]] * body.factor[:, nodes]  # (n, c, 6, m)
    d_dx, d_dy = np.einsum("ncim,idm->dncm", at, gradient, optimize=True)
    # A mirror turns B round on the axis, and keeps it across, where y points the other way.
    mirror = np.where(np.arange(body.copies) % 2 == 0, 1.0, -1.0)[:, None]
    x, y = basis.global_coordinates()
    return ElementFields(
        potential=np.einsum("ncim,im->ncm", at, shape, optimize=True),
        flux_density=np.stack([mirror * d_dy, -mirror * d_dx], axis=2),
        area=area,
        radius=np.hypot(np.sum(x * weight, axis=1), np.sum(y * weight, axis=1)),
        region=cell.region[elements],
    )
