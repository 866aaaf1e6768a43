"""The annulus in the air gap and the open outside, by harmonics of the trace of A.

On a circle, A(θ) = Σ a_n^c cos nθ + a_n^s sin nθ over the full circle. The energy of the field
that continues it, per metre:

    outside or hub:  W = (π ν₀/2) Σ n |a_n|²
    gap:             W = (π ν₀/2) Σ n [C_n (|u_n|² + |v_n|²) − 2 S_n u_n·v_n]
                         + π ν₀ (u_0 − v_0)²/ln(r₂/r₁)

with u at the stator's circle r₁, v at the rotor's circle r₂, C_n = coth x_n, S_n = 1/sinh x_n,
x_n = n ln(r₂/r₁). The self terms keep every harmonic that the circle can carry; only the cross
term is cut. Derived from Laplace's equation in polar coordinates; see docs/theory/field.md. What
changes where the rotor's axis stands off the stator's is in eccentricity.py.
"""

from dataclasses import dataclass, field

import numpy as np

from fem_motor.arrays import ComplexArray, FloatArray, IntArray
from fem_motor.field.gap.eccentricity import NU_0, OffsetTerms, offset_terms


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Circle:
    """Nodes of second-order edges of equal angle on a circle, over one sector.

    Attributes
    ----------
    nodes : int
        Corners and edge middles by turns, beginning with a corner at angle 0.
    sectors : int
    sign : 1 or -1
        Of A from one sector to the next.
    """

    nodes: int
    sectors: int
    sign: int

    @property
    def angles(self) -> FloatArray:
        """Angle of the nodes, (nodes,), rad."""
        return 2 * np.pi / (self.nodes * self.sectors) * np.arange(self.nodes)

    def harmonics(self, cut: int) -> IntArray:
        """Return the harmonics of the full circle, up to `cut`, that the symmetry leaves."""
        if self.sign == 1:
            return np.arange(0, cut + 1, self.sectors)
        # exp(2πi n/t) = −1
        return np.arange(self.sectors // 2, cut + 1, self.sectors)

    def weights(self, harmonics: IntArray) -> FloatArray:
        """Return ∮ N cos n(θ − θ_node) dθ of a corner's and a middle's shape function, (2, h)."""
        step = 4 * np.pi / (self.nodes * self.sectors)
        # 4 π is the largest phase over an edge (harmonics up to the number of nodes).
        position, gauss = np.polynomial.legendre.leggauss(24)
        x = (1 + position) / 2  # along one edge, 0 … 1
        corner = (1 - x) * (1 - 2 * x) * np.cos(np.outer(harmonics * step, x))
        middle = 4 * x * (1 - x) * np.cos(np.outer(harmonics * step, x - 0.5))
        return step / 2 * np.array([2 * corner @ gauss, middle @ gauss])

    def trace(self, harmonics: IntArray) -> FloatArray:
        """Return the matrix from nodal values to coefficients, (2 h, nodes): cosines, then sines.

        Coefficients of the full circle from the values of one sector.
        """
        weights = self.weights(harmonics)[np.arange(self.nodes) % 2].T
        scale = np.where(harmonics == 0, self.sectors / (2 * np.pi), self.sectors / np.pi)
        phase = np.outer(harmonics, self.angles)
        scaled = scale[:, None] * weights
        return np.concatenate([scaled * np.cos(phase), scaled * np.sin(phase)])

    def self_stiffness(self, coefficient: FloatArray, harmonics: IntArray) -> FloatArray:
        """Return the Hessian of (1/2t) Σ coefficient_n |a_n|², (nodes, nodes), of one sector.

        The entries depend only on the difference of the angles and on whether the nodes are
        corners or middles.
        """
        scale = np.where(harmonics == 0, self.sectors / (2 * np.pi), self.sectors / np.pi)
        strength = coefficient * scale**2 / self.sectors
        weights = self.weights(harmonics)
        cosine = np.cos(np.outer(harmonics, self.angles))
        pairs = np.array(
            [[(strength * weights[a] * weights[b]) @ cosine for b in (0, 1)] for a in (0, 1)]
        )
        node = np.arange(self.nodes)
        kind = node % 2
        return np.asarray(pairs[kind[:, None], kind[None, :], abs(node[:, None] - node[None, :])])


def open_stiffness(circle: Circle) -> FloatArray:
    """Return the stiffness of the field beyond a circle, (nodes, nodes): outside, or in the hub."""
    harmonics = circle.harmonics(circle.nodes * circle.sectors)
    return circle.self_stiffness(np.pi * NU_0 * harmonics, harmonics)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gap:
    """The annulus between the stator's and the rotor's gap circle.

    Coefficients, (2 h,), of u and v are those of the cross term, cosines, then sines, and those of
    v as the stator sees them, about the rotor's own axis.

    Attributes
    ----------
    stator, rotor : Circle
    radius : float
        r₁, m.
    ratio : float
        r₂/r₁.
    cut : int
        Highest harmonic of the cross term.
    offset : float
        Of the rotor's axis along +x, m. Fixed in space; whole circle only.
    terms : OffsetTerms or None
        None where the circles are concentric.
    """

    stator: Circle
    rotor: Circle
    radius: float
    ratio: float
    cut: int
    offset: float = 0.0
    terms: OffsetTerms | None = field(init=False)

    def __post_init__(self) -> None:
        terms = None
        if self.offset:
            rotor_radius = self.ratio * self.radius
            terms = offset_terms(
                ratio=self.ratio, offset=self.offset / rotor_radius, harmonics=self.cut + 1
            )
        object.__setattr__(self, "terms", terms)

    @property
    def harmonics(self) -> IntArray:
        """Harmonics of the cross term, (h,)."""
        return self.stator.harmonics(self.cut)

    @property
    def coupling(self) -> FloatArray:
        """Strength of the concentric cross term of one sector, (h,), H⁻¹ m: π ν₀ n S_n/t."""
        harmonics = self.harmonics
        x = np.log(self.ratio) * np.maximum(harmonics, 1)
        strength = np.pi * NU_0 * harmonics / np.sinh(x)
        strength[harmonics == 0] = 2 * np.pi * NU_0 / np.log(self.ratio)
        return np.asarray(strength / self.stator.sectors)

    def self_stiffness(self, side: Circle) -> FloatArray:
        """Return the self term on one side, (nodes, nodes)."""
        harmonics = side.harmonics(side.nodes * side.sectors)
        x = np.log(self.ratio) * np.maximum(harmonics, 1)
        strength = np.pi * NU_0 * harmonics / np.tanh(x)
        strength[harmonics == 0] = 2 * np.pi * NU_0 / np.log(self.ratio)
        return side.self_stiffness(strength, harmonics)

    def stator_correction(self) -> FloatArray:
        """Return what an offset adds to the stator's self term, (nodes, nodes)."""
        if self.terms is None:
            return np.zeros((self.stator.nodes, self.stator.nodes))
        trace = self.stator.trace(self.harmonics)
        return trace.T @ self.terms.stator @ trace

    def gauge(self) -> FloatArray:
        """Return a stiffness on the rotor's mean of A, (nodes, nodes).

        In a periodic machine without net current A is fixed up to a constant only. This term
        makes the mean on the rotor's circle zero and changes nothing else.
        """
        mean = np.array([0])
        if self.rotor.sign == -1:
            return np.zeros((self.rotor.nodes, self.rotor.nodes))
        return self.rotor.self_stiffness(np.array([2 * np.pi * NU_0]), mean)

    def rotate(self, coefficients: FloatArray, angle: float) -> FloatArray:
        """Return coefficients, (2 h, …), of a trace turned by `angle` counter-clockwise."""
        phase = self.harmonics * angle
        shape = (-1,) + (1,) * (coefficients.ndim - 1)
        cosine, sine = np.cos(phase).reshape(shape), np.sin(phase).reshape(shape)
        c, s = np.split(coefficients, 2)
        return np.concatenate([c * cosine - s * sine, c * sine + s * cosine])

    def radius_at(self, depth: FloatArray, theta: FloatArray) -> FloatArray:
        """Return radii about the stator's axis, (d, t), m: depth 0 at its circle, 1 at the rotor's.

        Parameters
        ----------
        depth : (d,)
            In equal steps of ln r.
        theta : (t,)
        """
        shift = self.offset / self.radius
        far = shift * np.cos(theta) + np.sqrt(self.ratio**2 - (shift * np.sin(theta)) ** 2)
        return np.asarray(self.radius * far ** np.asarray(depth)[:, None])

    def to_stator(self, rotor: FloatArray) -> FloatArray:
        """Return C v, (2 h, …): the load of the rotor's coefficients on the stator's."""
        if self.terms is None:
            return (np.tile(self.coupling, 2) * rotor.T).T
        return self.terms.cross @ rotor

    def to_rotor(self, stator: FloatArray) -> FloatArray:
        """Return Cᵀ u, (2 h, …): the load of the stator's coefficients on the rotor's."""
        if self.terms is None:
            return (np.tile(self.coupling, 2) * stator.T).T
        return self.terms.cross.T @ stator

    def pull_on_rotor(self, stator: FloatArray, rotor: FloatArray) -> FloatArray:
        """Return −∂W/∂v, (2 h, …), the concentric self term left out."""
        load = self.to_rotor(stator)
        return load if self.terms is None else load - self.terms.rotor @ rotor

    def torque(self, stator: FloatArray, rotor: FloatArray) -> FloatArray:
        """Return the torque on the outer body about its own axis, (…), N m per metre.

        −∂W/∂φ, exact for the discrete energy; whole machine.

        Parameters
        ----------
        stator, rotor : (2 h, …)
        """
        load_c, load_s = np.split(self.pull_on_rotor(stator, rotor), 2)
        v_c, v_s = np.split(rotor, 2)
        return self.stator.sectors * (self.harmonics @ (v_c * load_s - v_s * load_c))

    def force(self, stator: FloatArray, rotor: FloatArray) -> FloatArray:
        """Return the force on the outer body along x and y, (2, …), N per metre.

        Stress on any circle around the stator's axis, and −∂W/∂e, exact for the discrete energy:

            F_x − i F_y = −(2 π ν₀/r₁) Σ s_n a_n+1 β*_n,   s_n = n (n + 1), s_0 = 1/ln(r₂/r₁)

        with a the part of u that comes from outside the annulus and β the part from inside. Zero
        where the machine repeats, since no two harmonics are then neighbours.

        Parameters
        ----------
        stator, rotor : (2 h, …)
        """
        if self.stator.sectors > 1:
            return np.zeros((2, *stator.shape[1:]))
        inner = self._inner_source(stator, rotor)
        cosine, sine = np.split(stator, 2)
        outer = -inner
        outer[: len(cosine)] += cosine - 1j * sine
        order = np.arange(len(inner) - 1)
        strength = (order * (order + 1)).astype(np.float64)
        strength[0] = 1 / np.log(self.ratio)
        summed = strength @ (outer[1:] * inner[:-1].conj())
        scaled = -2 * np.pi * NU_0 / self.radius * summed
        return np.array([scaled.real, -scaled.imag])

    def _inner_source(self, stator: FloatArray, rotor: FloatArray) -> ComplexArray:
        """Return β, the part of u that comes from inside the annulus, by harmonics from 0."""
        if self.terms is not None:
            return self.terms.inner_source(stator, rotor)
        n = np.maximum(self.harmonics, 1)
        reach = np.where(self.harmonics == 0, 1.0, self.ratio**-n)
        share = np.where(self.harmonics == 0, 1.0, 1 / (1 - self.ratio ** (-2.0 * n)))
        cosine, sine = (
            (share * (u.T - reach * v.T)).T
            for u, v in zip(np.split(stator, 2), np.split(rotor, 2), strict=True)
        )
        return np.asarray(cosine - 1j * sine)
