"""Saturable elements: residual and tangent of all copies at once, no loop over elements."""

from dataclasses import dataclass
from typing import Self

import numpy as np

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.field.discretisation.bodies import Body
from fem_motor.field.discretisation.cells import SaturableElements

LOWER_ROW, LOWER_COLUMN = np.tril_indices(6)
"""Pairs of local nodes in the lower triangle of an element matrix, row by row."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SaturableCopies:
    """Saturable elements of one curve in all copies of a body, with their unknowns.

    Attributes
    ----------
    elements : SaturableElements
    unknown : (m, 6, c)
        In the numbering of the whole system.
    factor : (m, 6, c)
    signed : (k,)
        Copies in which not every factor is 1: those at the closing side.
    product : (m, 21, q)
        Weight times ∇N_i·∇N_j, pairs of `LOWER_ROW`, `LOWER_COLUMN`.
    """

    elements: SaturableElements
    unknown: IntArray
    factor: FloatArray
    signed: IntArray
    product: FloatArray

    @classmethod
    def of(cls, body: Body, elements: SaturableElements, place: IntArray) -> Self:
        """Return the copies of `elements` in `body`; `place`, (size,), numbers its unknowns."""
        number, points = elements.weight.shape
        by_point = elements.gradient.reshape(number, points, 2, 6)
        product = np.einsum(
            "mq,mqdi,mqdj->mijq", elements.weight, by_point, by_point, optimize=True
        )
        factor = np.ascontiguousarray(body.factor[:, elements.nodes].transpose(2, 1, 0))
        return cls(
            elements=elements,
            unknown=place[body.unknown[:, elements.nodes].transpose(2, 1, 0)],
            factor=factor,
            signed=np.flatnonzero((factor != 1).any(axis=(0, 1))),
            product=np.ascontiguousarray(product[:, LOWER_ROW, LOWER_COLUMN]),
        )

    def gradient(self, A_z: FloatArray) -> FloatArray:
        """Return ∇A at the quadrature points, (m, q, 2, c)."""
        nodal = A_z[self.unknown] * self.factor
        number, points = self.elements.weight.shape
        return (self.elements.gradient @ nodal).reshape(number, points, 2, -1)

    def energy(self, A_z: FloatArray) -> float:
        """Return ∫ H dB over the elements, J/m."""
        density = self.elements.curve.energy_density(_square(self.gradient(A_z)))
        return float(np.einsum("mq,mqc->", self.elements.weight, density))

    def state(self, A_z: FloatArray) -> "SaturationState":
        """Return field and reluctivity at the quadrature points."""
        gradient = self.gradient(A_z)
        reluctivity, slope = self.elements.curve.reluctivity_and_slope(_square(gradient))
        return SaturationState(gradient=gradient, reluctivity=reluctivity, slope=slope)

    def residual(self, state: "SaturationState", size: int) -> FloatArray:
        """Return ∫ ν ∇A·∇N, (size,)."""
        weighted = self.elements.weight[:, :, None] * state.reluctivity
        flow = weighted[:, :, None] * state.gradient
        local = self.elements.gradient.transpose(0, 2, 1) @ flow.reshape(
            len(flow), -1, flow.shape[-1]
        )
        weights = (local * self.factor).ravel()
        return np.asarray(np.bincount(self.unknown.ravel(), weights, size), dtype=np.float64)

    def tangent(self, state: "SaturationState") -> FloatArray:
        """Return the lower triangles of the element tangents, (m, 21, c).

        ν ∇N_i·∇N_j + 2 ν' (∇A·∇N_i)(∇A·∇N_j), ν' = dν/d(B²)
        """
        number, points, _, _ = state.gradient.shape
        tangent = self.product @ state.reluctivity
        by_point = self.elements.gradient.reshape(number, points, 2, 6)
        along = by_point.transpose(0, 1, 3, 2) @ state.gradient  # ∇A·∇N_i, (m, q, 6, c)
        weight = 2 * self.elements.weight[:, :, None] * state.slope
        steep = weight[:, :, None] * along
        pair = 0
        for i in range(6):
            tangent[:, pair : pair + i + 1] += np.einsum(
                "mqc,mqjc->mjc", steep[:, :, i], along[:, :, : i + 1]
            )
            pair += i + 1
        sign = self.factor[:, :, self.signed]
        tangent[:, :, self.signed] *= sign[:, LOWER_ROW] * sign[:, LOWER_COLUMN]
        return np.asarray(tangent)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SaturationState:
    """∇A, ν and dν/d(B²) at the quadrature points: (m, q, 2, c), (m, q, c), (m, q, c)."""

    gradient: FloatArray
    reluctivity: FloatArray
    slope: FloatArray


def _square(gradient: FloatArray) -> FloatArray:
    return np.asarray(gradient[:, :, 0] ** 2 + gradient[:, :, 1] ** 2)
