"""Coils and field in a bore of permeability 1, from the harmonics of A on a circle of it.

In the bore A = Re Σ A_n (r/R)^n exp(i n θ): whatever stands outside is known by A_n alone. The
mean of A over a coil side is then an integral of powers over its own drawing, and a flux linkage
is a sum of such means. Derived here; it knows nothing of meshes or of the package's outlines.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilSide:
    """Half a slot between two circles, from a line parallel to the tooth to the slot's axis.

    Attributes
    ----------
    inner_radius, outer_radius : float
    height : float
        Of the line over the tooth's axis.
    half_pitch : float
        Angle of the slot's axis against the tooth's, rad.
    """

    inner_radius: float
    outer_radius: float
    height: float
    half_pitch: float

    def moment(self, order: int, radius: float) -> complex:
        """Return the mean of (r/R)^n exp(i n θ) over the coil side, R = `radius`."""
        nodes, weights = np.polynomial.legendre.leggauss(40)
        middle, reach = (
            (self.outer_radius + self.inner_radius) / 2,
            (self.outer_radius - self.inner_radius) / 2,
        )
        r = middle + reach * nodes
        start = np.arcsin(self.height / r)
        wave = (np.exp(1j * order * self.half_pitch) - np.exp(1j * order * start)) / (1j * order)
        return complex(
            np.sum(weights * r * (r / radius) ** order * wave)
            / np.sum(weights * r * (self.half_pitch - start))
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Bore:
    """A slotless machine: harmonics of its magnets in the bore, and coils.

    Attributes
    ----------
    potential : mapping
        Order n to the amplitude A_n, Wb/m, rotor at 0.
    radius : float
        Of the circle on which they hold.
    side : CoilSide
    coils : sequence of str
        Tooth by tooth, "U+" … "W-".
    turns : int
    stack_length : float
    """

    potential: Mapping[int, complex]
    radius: float
    side: CoilSide
    coils: Sequence[str]
    turns: int
    stack_length: float

    def radial(self, order: int, radius: float) -> complex:
        """Return the amplitude of exp(i n θ) in B_r, T: i n A_n/r."""
        grown = self.potential[order] * (radius / self.radius) ** order
        return 1j * order * grown / radius

    def linkage(self, phase: str, angle: Floats) -> Floats:
        """Return the flux linkage of a phase, (n,) Wb, at rotor angles (n,) rad."""
        waves = self._waves(phase, angle)
        return np.asarray(np.sum([wave.real for wave in waves.values()], axis=0))

    def linkage_slope(self, phase: str, angle: Floats) -> Floats:
        """Return dψ/dθ, (n,) V s per rad."""
        waves = self._waves(phase, angle)
        return np.asarray(np.sum([(-1j * n * wave).real for n, wave in waves.items()], axis=0))

    def fundamental(self, phase: str) -> float:
        """Return the amplitude of the lowest harmonic of the linkage, Wb."""
        lowest = min(self.potential)
        return float(abs(self._waves(phase, np.zeros(1))[lowest][0]))

    def _waves(self, phase: str, angle: Floats) -> dict[int, NDArray[np.complex128]]:
        pitch = 2 * math.pi / len(self.coils)
        waves = {}
        for n, A in self.potential.items():
            # A coil links its counter-clockwise side less its clockwise one, the mirror image:
            # m − m* = 2i Im m.
            one = 2j * self.side.moment(n, self.radius).imag
            phasor = sum(
                (1 if coil[1] == "+" else -1) * np.exp(1j * n * pitch * tooth)
                for tooth, coil in enumerate(self.coils)
                if coil.startswith(phase)
            )
            waves[n] = self.turns * self.stack_length * A * one * phasor * np.exp(-1j * n * angle)
        return waves
