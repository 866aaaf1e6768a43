"""Anhysteretic B-H laws: H over B, monotone, once continuously differentiable."""

from dataclasses import dataclass, field
from typing import Self

import numpy as np

from fem_motor.arrays import FloatArray, IntArray, frozen
from fem_motor.errors import MaterialError
from fem_motor.materials.pieces import Pieces, pieces_through, table_problems
from fem_motor.units import MU_0

IRON_SATURATION = 2.15
"""Saturation polarisation of iron at room temperature, T. Source: R. Bozorth, Ferromagnetism
(1951), from memory."""

_KNEES = 30.0
"""Multiple of the knee at which the law of a mixture ends: 3e-7 of its polarisation are missing."""

NEARLY_AIR = 5.0
"""Relative permeability below which a core hardly gathers flux: filled plastics are below, steel
and soft-magnetic composite far above. Common practice, no source."""

_MIXTURE_PIECES = 160
_STEPS_OF_A_PIECE = 4
"""Steps of a table of pieces over its pieces: with points at even distances one end in each."""

_PARTS_OF_A_PIECE = 6
"""Pieces of the smooth laws: cubics with exact slopes then meet them within 1e-6."""

_INVERSE_STEPS = 60


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BHCurve:
    """The law of one isotropic core material.

    H over B is piecewise cubic between the points of a table (PCHIP: monotone, C1) and goes on
    with slope 1/μ₀ beyond the last; a linear material has one straight piece.

    Attributes
    ----------
    points : (n,) T
        Flux densities at which the pieces begin; the first is 0.
    coefficients : (4, n)
        H = c₀ + c₁ b + c₂ b² + c₃ b³ with b = B − point; the last piece is the continuation.
    stored : (n,) J/m³
        ∫ H dB up to each point.
    is_linear : bool
    """

    points: FloatArray = field(repr=False)
    coefficients: FloatArray = field(repr=False)
    stored: FloatArray = field(repr=False)
    is_linear: bool

    def __post_init__(self) -> None:
        for name in ("points", "coefficients", "stored"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    @classmethod
    def linear(cls, relative_permeability: float) -> Self:
        """Return the law B = μ₀ μ_r H.

        Raises
        ------
        MaterialError
            Where the permeability is below that of vacuum or not a number.

        >>> BHCurve.linear(4.0).initial_permeability
        4.0
        """
        if not 1 <= relative_permeability < np.inf:
            raise MaterialError(
                f"relative_permeability = {relative_permeability:g} is out of range.",
                why="a core carries at least the flux of vacuum.",
                do="give a number from 1 up.",
            )
        slope = 1 / (MU_0 * relative_permeability)
        return cls(
            points=np.zeros(1),
            coefficients=np.array([[0.0], [slope], [0.0], [0.0]]),
            stored=np.zeros(1),
            is_linear=True,
        )

    @classmethod
    def from_table(cls, field_strength: FloatArray, flux_density: FloatArray) -> Self:
        """Return the law through a table, (n,) A/m and (n,) T, beginning at (0, 0).

        Raises
        ------
        MaterialError
            Where the table does not begin at (0, 0), does not rise strictly, or rises less
            steeply than vacuum.

        Source: F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300 (slopes).
        """
        H, B = np.asarray(field_strength, float), np.asarray(flux_density, float)
        problems = table_problems(H, B)
        if problems:
            raise MaterialError.from_problems(problems)
        return cls._from_pieces(pieces_through(B, H))

    @classmethod
    def mixture(cls, iron_volume_fraction: float, relative_permeability: float) -> Self:
        """Return the law of round iron particles in plastic.

        B = μ₀ H + φ J_s x/(1 + x⁴)^¼ with x = H/H_s and H_s = φ J_s/(μ₀ (μ_r − 1)): slope μ₀ μ_r
        at the start, polarisation φ J_s at the end. The exponent 4 is our choice.

        Raises
        ------
        MaterialError
            Where the fraction is not between 0 and 1, or the permeability below 1.
        """
        if not 0 < iron_volume_fraction < 1:
            raise MaterialError(
                f"iron_volume_fraction = {iron_volume_fraction:g} is out of range.",
                why="it is the share of the volume that is iron.",
                do="give a number between 0 and 1.",
            )
        if not relative_permeability > 1:
            return cls.linear(relative_permeability)
        polarisation = iron_volume_fraction * IRON_SATURATION
        knee = polarisation / (MU_0 * (relative_permeability - 1))
        x = np.sinh(np.linspace(0, np.arcsinh(_KNEES), _MIXTURE_PIECES + 1))
        B = MU_0 * knee * x + polarisation * x / (1 + x**4) ** 0.25
        dB_dH = MU_0 + polarisation / knee * (1 + x**4) ** -1.25
        return cls._from_pieces(pieces_through(B, knee * x, 1 / dB_dH))

    @classmethod
    def _from_pieces(cls, pieces: Pieces) -> Self:
        points, coefficients, stored = pieces
        return cls(points=points, coefficients=coefficients, stored=stored, is_linear=False)

    @property
    def initial_permeability(self) -> float:
        """Relative permeability at B = 0."""
        return float(1 / (MU_0 * self.coefficients[1, 0]))

    def stacked(self, fraction: float) -> Self:
        """Return the law of a stack with this share of material, the rest air beside it.

        B_avg = f B(H) + (1 − f) μ₀ H in the plane of the sheets; all of it: the curve itself.

        Raises
        ------
        MaterialError
            Where the fraction is not above 0 and at most 1.
        """
        if not 0 < fraction <= 1:
            raise MaterialError(
                f"core_fraction = {fraction:g} is out of range.",
                why="it is the iron share of the stack length.",
                do="give a number above 0 and at most 1.",
            )
        if fraction == 1:
            return self
        if self.is_linear:
            # Written so that plain plastic stays at 1: f + (1 − f) may round to less.
            return type(self).linear(1 + fraction * (self.initial_permeability - 1))
        part = np.arange(_PARTS_OF_A_PIECE) / _PARTS_OF_A_PIECE
        inner = self.points[:-1, None] + np.diff(self.points)[:, None] * part
        B = np.append(inner, self.points[-1])
        H, dH_dB = self.field_strength(B), self._slope(B)
        average = fraction * B + (1 - fraction) * MU_0 * H
        slopes = dH_dB / (fraction + (1 - fraction) * MU_0 * dH_dB)
        return self._from_pieces(pieces_through(average, H, slopes))

    def reluctivity_and_slope(self, B_squared: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return ν = H/B in m/H and dν/d(B²), both in the shape of `B_squared` (T²).

        dν/d(B²) is finite at 0: below a millionth of the first piece it is that of its end.
        """
        B = np.sqrt(B_squared)
        piece = self._piece(B)
        c0, c1, c2, c3 = self.coefficients.take(piece, axis=1)
        b = B - self.points.take(piece)
        H = c0 + b * (c1 + b * (c2 + b * c3))
        dH_dB = c1 + b * (2 * c2 + 3 * b * c3)
        floor = self._floor
        safe = np.maximum(B, floor)
        start = piece == 0
        reluctivity = np.where(start, c1 + b * (c2 + b * c3), H / safe)
        slope = np.where(start, (c2 / safe + 2 * c3) / 2, (dH_dB - reluctivity) / (2 * safe**2))
        return reluctivity, slope

    def reluctivity(self, B_squared: FloatArray) -> FloatArray:
        """Return ν = H/B in m/H, in the shape of `B_squared` (T²)."""
        return self.reluctivity_and_slope(B_squared)[0]

    def field_strength(self, B: FloatArray) -> FloatArray:
        """Return H in A/m, odd in `B` (T), in its shape."""
        size = np.abs(B)
        piece = self._piece(size)
        c0, c1, c2, c3 = self.coefficients.take(piece, axis=1)
        b = size - self.points.take(piece)
        H: FloatArray = np.sign(B) * (c0 + b * (c1 + b * (c2 + b * c3)))
        return H

    def flux_density(self, H: FloatArray) -> FloatArray:
        """Return B in T, odd in `H` (A/m), in its shape; the inverse of `field_strength`."""
        size = np.abs(np.asarray(H, float))
        piece = np.searchsorted(self.coefficients[0], size, side="right") - 1
        c0, c1, c2, c3 = self.coefficients.take(piece, axis=1)
        missing = size - c0
        ends = np.append(np.diff(self.points), np.inf).take(piece)
        low, high = np.zeros_like(size), np.minimum(ends, missing / c1 + ends.min() + 10.0)
        b = np.minimum(missing / c1, high)
        for _ in range(_INVERSE_STEPS):
            error = b * (c1 + b * (c2 + b * c3)) - missing
            low, high = np.where(error < 0, b, low), np.where(error > 0, b, high)
            slope = c1 + b * (2 * c2 + 3 * b * c3)
            step = b - error / np.where(slope > 0, slope, np.inf)
            # A Newton step that leaves the bracket is replaced by halving it.
            better = np.where((step >= low) & (step <= high) & (slope > 0), step, (low + high) / 2)
            if np.all(np.abs(better - b) <= 1e-15 * (1 + b)):
                b = better
                break
            b = better
        B: FloatArray = np.sign(H) * (self.points.take(piece) + b)
        return B

    def energy_density(self, B_squared: FloatArray) -> FloatArray:
        """Return ∫ H dB from 0 in J/m³, in the shape of `B_squared` (T²)."""
        B = np.sqrt(B_squared)
        piece = self._piece(B)
        c0, c1, c2, c3 = self.coefficients.take(piece, axis=1)
        b = B - self.points.take(piece)
        energy: FloatArray = self.stored.take(piece) + b * (
            c0 + b * (c1 / 2 + b * (c2 / 3 + b * c3 / 4))
        )
        return energy

    @property
    def is_nearly_air(self) -> bool:
        """True where the core hardly gathers flux, see `NEARLY_AIR`."""
        return self.initial_permeability < NEARLY_AIR

    @property
    def _floor(self) -> float:
        return 1e-6 * float(self.points[1]) if len(self.points) > 1 else 1e-6

    def _piece(self, B: FloatArray) -> IntArray:
        """Return the index of the piece in which each B ≥ 0 lies."""
        ends = self.points[1:]
        steps = _STEPS_OF_A_PIECE * len(ends)
        if B.size <= 10 * steps or not len(ends):
            piece: IntArray = np.searchsorted(ends, B, side="right")
            return piece
        # Many values: look up in equal steps, and go on where an end lies within the step. A value
        # that rounding takes over an end gets the next piece, which begins where the last one ends.
        step = float(ends[-1]) / steps
        table = np.searchsorted(ends, step * np.arange(steps + 2), side="right")
        piece = table.take(np.minimum(B / step, steps + 1.0).astype(np.intp))
        open_ended = np.append(ends, np.inf)
        for _ in range(int(np.diff(table).max())):
            piece += open_ended.take(piece) <= B
        return piece

    def _slope(self, B: FloatArray) -> FloatArray:
        """Return dH/dB for B ≥ 0."""
        piece = self._piece(B)
        _, c1, c2, c3 = self.coefficients.take(piece, axis=1)
        b = B - self.points.take(piece)
        slope: FloatArray = c1 + b * (2 * c2 + 3 * b * c3)
        return slope
