"""The annulus between the two gap circles where the rotor's axis stands off the stator's.

With z a point seen from the stator's axis, w = z − e the same point seen from the rotor's, e > 0
along +x, ε = e/r₂ and L = ln(r₂/r₁), the field of the annulus is

    A = Re [Σ α_n (w/r₂)ⁿ + Σ β*_n (r₁/z)ⁿ] − (β_0/L) ln(|z|/r₂)

The first sum, n ≥ 0, comes from outside, in powers about the rotor's axis; the second, n ≥ 1, from
inside, about the stator's. Each reaches the other circle by shifting its powers, with u at the
stator's circle and v at the rotor's:

    u = β + S α     S_nm = C(m, n) (−ε)^(m−n) (r₁/r₂)ⁿ                 m ≥ n
    v = α + Q β     Q_mn = C(m−1, m−n) (−ε)^(m−n) (r₁/r₂)ⁿ             m ≥ n > 0
                    Q_m0 = (−ε)^m/(m L),  Q_00 = 0

The matrices are real: cosines and sines do not mix. Derived from the binomial series; see
docs/theory/field.md.
"""

from dataclasses import dataclass

import numpy as np
from numpy.polynomial.polynomial import polyval

from fem_motor.arrays import ComplexArray, FloatArray
from fem_motor.units import MU_0

NU_0 = 1 / MU_0

BAND = 1e-20
"""Part of a harmonic below which what it becomes by the shift is left out."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OffsetTerms:
    """What the energy of the annulus is made of, with the harmonics 0 … h − 1.

    Coefficients, (2 h,), are cosines, then sines.

    Attributes
    ----------
    cross : (2 h, 2 h)
        C: the energy has the term −u·C v.
    stator, rotor : (2 h, 2 h)
        Self terms less those of concentric circles.
    from_stator, from_rotor : (2, k, h)
        β of more harmonics, k > h, is from_stator u − from_rotor v, for cosines and for sines.
    outward : (k, k)
        Q.
    ratio, offset : float
        r₂/r₁ and ε.
    """

    cross: FloatArray
    stator: FloatArray
    rotor: FloatArray
    from_stator: FloatArray
    from_rotor: FloatArray
    outward: FloatArray
    ratio: float
    offset: float

    def inner_source(self, stator: FloatArray, rotor: FloatArray) -> ComplexArray:
        """Return β, (k, …), from coefficients on both circles, (2 h, …)."""
        cosine, sine = (
            at_u @ u - at_v @ v
            for at_u, at_v, u, v in zip(
                self.from_stator,
                self.from_rotor,
                np.split(stator, 2),
                np.split(rotor, 2),
                strict=True,
            )
        )
        return np.asarray(cosine - 1j * sine)

    def potential(
        self, stator: FloatArray, rotor: FloatArray, at: ComplexArray
    ) -> tuple[FloatArray, ComplexArray]:
        """Return A, (…), and z (∂A/∂x − i ∂A/∂y), (…), in the annulus.

        Parameters
        ----------
        stator, rotor : (2 h,)
        at : (…)
            z/r₁.
        """
        inner = self.inner_source(stator, rotor)
        outer = -self.outward @ inner
        cosine, sine = np.split(rotor, 2)
        outer[: len(cosine)] += cosine - 1j * sine
        source = np.append(0, inner[1:].conj())
        line = inner[0].real / np.log(self.ratio)  # β_0/L
        order = np.arange(len(inner))
        w, z = at / self.ratio - self.offset, 1 / at  # w/r₂ and r₁/z
        potential = polyval(w, outer) + polyval(z, source) - line * np.log(at / self.ratio)
        slope = polyval(w, order * outer) * (at / self.ratio) / w
        slope = slope - polyval(z, order * source) - line
        return np.asarray(potential.real), np.asarray(slope)


def offset_terms(*, ratio: float, offset: float, harmonics: int) -> OffsetTerms:
    """Return the terms of an annulus.

    Parameters
    ----------
    ratio : float
        r₂/r₁.
    offset : float
        ε = e/r₂, below 1 − 1/ratio, where the circles touch.
    harmonics : int
        Kept; more are used on the way.
    """
    inward, outward = shifts(ratio=ratio, offset=offset, harmonics=harmonics)
    whole_outward = outward.copy()
    number, kept = len(inward), slice(harmonics)
    order = np.arange(number)
    strength = 2 * np.pi * NU_0 * order
    strength[0] = 2 * np.pi * NU_0 / np.log(ratio)
    alone = 1 / (1 - ratio ** (-2.0 * np.maximum(order, 1)))  # of concentric circles
    alone[0] = 1
    cross: list[FloatArray] = []
    stator: list[FloatArray] = []
    rotor: list[FloatArray] = []
    from_stator: list[FloatArray] = []
    from_rotor: list[FloatArray] = []
    for parity in ("cosine", "sine"):
        if parity == "sine":
            inward[0], inward[:, 0], outward[:, 0], strength[0] = 0, 0, 0, 0
        at_u = np.linalg.inv(np.eye(number) - inward @ outward)  # β = at_u (u − S v)
        at_v = at_u @ inward
        # r ∂A/∂r is n (u_n − 2 β_n) on the stator's circle, m (2 α_m − v_m) on the rotor's, and
        # −β_0/L on both where n = m = 0; A times it makes the energy.
        outer = outward @ at_v
        outer[0] = at_v[0]
        concentric = np.where(order == 0, alone, alone - 1)
        cross.append((strength[:, None] * at_v)[kept, kept])
        stator.append((strength[:, None] * (at_u - np.diag(alone)))[kept, kept])
        rotor.append((strength[:, None] * (outer - np.diag(concentric)))[kept, kept])
        from_stator.append(at_u[:, kept])
        from_rotor.append(at_v[:, kept])
    return OffsetTerms(
        cross=_blocks(cross),
        stator=_symmetric(_blocks(stator)),
        rotor=_symmetric(_blocks(rotor)),
        from_stator=np.array(from_stator),
        from_rotor=np.array(from_rotor),
        outward=whole_outward,
        ratio=ratio,
        offset=offset,
    )


def shifts(*, ratio: float, offset: float, harmonics: int) -> tuple[FloatArray, FloatArray]:
    """Return S and Q, (k, k) each, with k > `harmonics`: as many more as the shift is wide."""
    width = _width(offset, harmonics)
    number = harmonics + width
    n = np.arange(number)
    reach = ratio ** -n.astype(float)
    inward, outward = np.zeros((number, number)), np.zeros((number, number))
    term = np.ones(number)  # C(n + k, k) (−ε)^k
    for k in range(width):
        i = n[: number - k]
        inward[i, i + k] = term[i] * reach[i]
        outward[i[1:] + k, i[1:]] = term[i[1:] - 1] * reach[i[1:]]
        term = term * -offset * (n + k + 1) / (k + 1)
    m = n[1:]
    outward[m, 0] = (-offset) ** m / (m * np.log(ratio))
    return inward, outward


def _width(offset: float, harmonics: int) -> int:
    """Return how many harmonics away the highest one has vanished."""
    k, term = 0, 1.0
    while term > BAND:
        k += 1
        term *= offset * (2 * harmonics + k) / k
    return k


def _blocks(pair: list[FloatArray]) -> FloatArray:
    cosine, sine = pair
    nothing = np.zeros_like(cosine)
    return np.block([[cosine, nothing], [nothing, sine]])


def _symmetric(matrix: FloatArray) -> FloatArray:
    return (matrix + matrix.T) / 2
