"""The annulus in the air gap and the open outside, by harmonics of the trace of A.

On a circle, A(θ) = Σ a_n^c cos nθ + a_n^s sin nθ over the full circle. The energy of the field
that continues it, per metre:

    outside or hub:  W = (π ν₀/2) Σ n |a_n|²
    gap:             W = (π ν₀/2) Σ n [C_n (|u_n|² + |v_n|²) − 2 S_n u_n·v_n]
                         + π ν₀ (u_0 − v_0)²/ln(r₂/r₁)

with u at the stator's circle r₁, v at the rotor's circle r₂, C_n = coth x_n, S_n = 1/sinh x_n,
x_n = n ln(r₂/r₁). The self terms keep every harmonic that the circle can carry; only the cross
term is cut. Derived from Laplace's equation in polar coordinates; see docs/theory/field.md.
"""

from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.units import MU_0

NU_0 = 1 / MU_0


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

    Attributes
    ----------
    stator, rotor : Circle
    ratio : float
        r₂/r₁.
    cut : int
        Highest harmonic of the cross term.
    """

    stator: Circle
    rotor: Circle
    ratio: float
    cut: int

    @property
    def harmonics(self) -> IntArray:
        """Harmonics of the cross term, (h,)."""
        return self.stator.harmonics(self.cut)

    @property
    def coupling(self) -> FloatArray:
        """Strength of the cross term of one sector, (h,), H⁻¹ m: π ν₀ n S_n/t."""
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

    def torque(self, stator: FloatArray, rotor: FloatArray) -> float:
        """Return the torque on the outer body, N m per metre, whole machine.

        −∂W/∂φ, exact for the discrete energy; `rotor` (2 h,) as seen by the stator.
        """
        u_c, u_s = np.split(stator, 2)
        v_c, v_s = np.split(rotor, 2)
        strength = self.coupling * self.stator.sectors * self.harmonics
        return float(np.sum(strength * (u_s * v_c - u_c * v_s)))
