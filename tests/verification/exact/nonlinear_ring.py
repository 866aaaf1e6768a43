"""Exact flux of a saturating ring around a straight current.

H = I/(2πr) whatever the material, so B is read off the curve at every radius and the flux is
∫ B dr. Integrated by parts it needs no inverse of the curve between the ends:

    ∫ B dr = r₂B₂ − r₁B₁ + (I/2π) ∫_{B₂}^{B₁} dB/H(B)

Flux is per metre of depth, A(r₁) − A(r₂).
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

MU_0 = 4e-7 * math.pi

TEAM_13_B = (
    0, 0.0025, 0.005, 0.0125, 0.025, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1,
    1.2, 1.3, 1.4, 1.5, 1.55, 1.6, 1.65, 1.7, 1.75, 1.8,
)  # fmt: skip
TEAM_13_H = (
    0, 16, 30, 54, 93, 143, 191, 210, 222, 233, 247, 258, 272, 289, 313, 342, 377, 433, 509, 648,
    933, 1228, 1934, 2913, 4993, 7189, 9423,
)  # fmt: skip
"""Steel of TEAM workshop problem 13, T and A/m.

Nakata, Takahashi, Fujiwara, COMPEL 11 (1992), from stored copies of the problem's data.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """H over B up to the last knot, slope 1/μ₀ beyond.

    Attributes
    ----------
    field_strength : callable
        H(B) in A/m, smooth between knots.
    knots : sequence of float
        B in T, rising; the first is 0.
    """

    field_strength: Callable[[float], float]
    knots: Sequence[float]

    def H(self, B: float) -> float:
        """Return the field strength at a flux density, A/m."""
        last = self.knots[-1]
        if last >= B:
            return float(self.field_strength(B))
        return float(self.field_strength(last)) + (B - last) / MU_0

    def B(self, H: float) -> float:
        """Return the flux density at a field strength, T."""
        last = self.knots[-1]
        limit = self.H(last)
        if limit <= H:
            return last + MU_0 * (H - limit)
        return float(brentq(lambda density: self.H(density) - H, 0.0, last, xtol=1e-15, rtol=1e-14))


def linear_table(H: Sequence[float], B: Sequence[float]) -> Curve:
    """Return the curve that joins the points by straight lines."""
    return Curve(field_strength=lambda density: float(np.interp(density, B, H)), knots=tuple(B))


def pchip_table(H: Sequence[float], B: Sequence[float]) -> Curve:
    """Return the monotone cubic of H over B (Fritsch, Carlson, SIAM J. Numer. Anal. 17, 1980)."""
    return Curve(field_strength=PchipInterpolator(B, H), knots=tuple(B))


def brauer() -> Curve:
    """Return H = (3.8 exp(2.17 B²) + 396.2) B up to the point where dH/dB is 1/μ₀.

    Brauer, IEEE Trans. Magn. 11 (1975) 81; constants from memory.
    """

    def slope_excess(B: float) -> float:
        growth = 3.8 * math.exp(2.17 * B**2)
        return growth * (1 + 4.34 * B**2) + 396.2 - 1 / MU_0

    last = float(brentq(slope_excess, 1.0, 3.0, xtol=1e-15, rtol=1e-14))
    return Curve(
        field_strength=lambda B: (3.8 * math.exp(2.17 * B**2) + 396.2) * B,
        knots=tuple(np.linspace(0, last, 41)),
    )


def flux(curve: Curve, *, current: float, inner_radius: float, outer_radius: float) -> float:
    """Return the flux between two radii, Wb per metre of depth."""
    around = current / (2 * math.pi)
    most, least = (curve.B(around / radius) for radius in (inner_radius, outer_radius))
    inside = [knot for knot in curve.knots if least < knot < most]
    bounds = [least, *inside, most]
    nodes, weights = np.polynomial.legendre.leggauss(20)
    integral = 0.0
    for low, high in pairwise(bounds):
        densities = (high + low) / 2 + (high - low) / 2 * nodes
        values = np.array([1 / curve.H(float(B)) for B in densities])
        integral += (high - low) / 2 * float(weights @ values)
    return outer_radius * least - inner_radius * most + around * integral
