"""Finite elements of one harmonic around the shaft: a second method that knows cores and rings.

With B = −μ∇φ + J, φ = f(r, z) cos pθ, J_r = J₁ cos pθ and J_θ = J₂ sin pθ the condition div B = 0,
tested with v cos pθ, is

    ∫ μ (∇f·∇v + p² f v/r²) r dr dz = ∫ (J₁ ∂v/∂r − J₂ p v/r) r dr dz

on one half of the stack, z > 0. Rings of core, magnets and ring of core end with the stack.
"""
# ruff: noqa: ANN401  (forms go through untyped skfem)

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from skfem import Basis, BilinearForm, ElementQuad2, LinearForm, MeshQuad, condense, solve

FINEST = 0.3e-3


@dataclass(frozen=True, kw_only=True)
class Rings:
    """A smooth core from half its radius outwards, magnets, and a ring right around them."""

    pole_pairs: int
    stack_length: float
    core_radius: float
    magnet_inner: float
    magnet_outer: float
    remanence: tuple[float, float]
    core: float = 1.0
    ring: float = 1.0
    ring_outer: float = 0.0

    def permeability(self, r: Any, z: Any) -> NDArray[np.float64]:
        """Return the relative permeability at places."""
        within = z < self.stack_length / 2
        core = within & (r > self.core_radius / 2) & (r < self.core_radius)
        ring = within & (r > self.magnet_outer) & (r < self.ring_outer)
        return np.where(core, self.core, np.where(ring, self.ring, 1.0))

    def linkage(
        self, radii: NDArray[np.float64], weights: NDArray[np.float64], *, stands_out: float = 0.0
    ) -> float:
        """Return flux linkage over that of the same rings without ends."""
        ratio = []
        for endless in (False, True):
            basis, f = self._solved(self._heights(stands_out, endless))
            top = self.stack_length / 2 + (0.0 if endless else stands_out)
            ratio.append(float(weights @ self._flux(basis, f, radii, top)))
        return ratio[0] / ratio[1]

    def _heights(self, stands_out: float, endless: bool) -> NDArray[np.float64]:  # noqa: FBT001
        top = self.stack_length / 2
        if endless:  # no condition on the two planes: nothing changes along the shaft
            return np.array([0.0, top])
        step = FINEST * 1.25 ** np.arange(60)
        off = np.concatenate([[0.0], np.cumsum(step)])
        below, above = off[off < 0.9 * top], off[off < 3 * self.magnet_outer]
        return np.unique(np.concatenate([[0.0], top - below, top + above, [top + stands_out]]))

    def _radii(self) -> NDArray[np.float64]:
        outside = max(self.ring_outer, self.magnet_outer)
        circles = {self.core_radius / 2, self.core_radius, self.magnet_inner, self.magnet_outer}
        known = sorted(circles | {outside})
        parts = [np.linspace(known[0] / 3, known[0], 10)]
        for a, b in pairwise(known):
            parts.append(np.linspace(a, b, max(4, round((b - a) / 0.8e-3))))
        parts.append(outside + np.cumsum(0.6e-3 * 1.15 ** np.arange(25)))
        return np.unique(np.concatenate(parts))

    def _solved(self, heights: NDArray[np.float64]) -> tuple[Any, NDArray[np.float64]]:
        p, (J_r, J_theta) = self.pole_pairs, self.remanence
        radii = self._radii()

        @BilinearForm
        def stiffness(f: Any, v: Any, at: Any) -> Any:
            r, z = at.x
            gradients = f.grad[0] * v.grad[0] + f.grad[1] * v.grad[1]
            return self.permeability(r, z) * (gradients + p**2 / r**2 * f * v) * r

        @LinearForm
        def magnet(v: Any, at: Any) -> Any:
            r, z = at.x
            within = (r > self.magnet_inner) & (r < self.magnet_outer) & (z < self.stack_length / 2)
            return within * (J_r * v.grad[0] * r - p * J_theta * v)

        basis = Basis(MeshQuad.init_tensor(radii, heights), ElementQuad2(), intorder=5)
        endless = len(heights) == 2

        def border(x: Any) -> Any:
            sides = np.isclose(x[0], radii[0]) | np.isclose(x[0], radii[-1])
            return sides | ((not endless) & np.isclose(x[1], heights[-1]))

        fixed = basis.get_dofs(border).flatten()
        return basis, solve(*condense(stiffness.assemble(basis), magnet.assemble(basis), D=fixed))

    def _flux(
        self, basis: Any, f: NDArray[np.float64], radii: NDArray[np.float64], top: float
    ) -> NDArray[np.float64]:
        """Return ∫ B_r dz up to a height, at each radius."""
        node, weight = np.polynomial.legendre.leggauss(3)
        edges = np.unique(basis.mesh.p[1])
        edges = edges[edges < top * (1 + 1e-9)]
        low, high = edges[:-1, None], edges[1:, None]
        z = ((low + high) / 2 + (high - low) / 2 * node).ravel()
        share = ((high - low) / 2 * weight).ravel()
        step, flux = 1e-6, []
        for radius in radii:
            ahead, behind = (
                basis.probes(np.stack([np.full_like(z, radius + d), z])) @ f for d in (step, -step)
            )
            slope = (ahead - behind) / (2 * step)
            flux.append(-share @ (self.permeability(radius, z) * slope))
        return np.array(flux)
