"""The magnets' radial field in their bore, averaged along a coil: endless and of finite length.

A line of charge λ per metre along |z| < L/2 has, at the distance s from its axis, a field across
the shaft that falls towards and beyond its ends. Its mean over a coil of length l, |z| < l/2, is

    λ/(2πs) · κ(s),   κ(s) = L / (√(s² + a²) + √(s² + b²)),   a = (L + l)/2,  b = (L − l)/2

(derived here: ∫∫ s (s² + (z − z′)²)^(−3/2) dz dz′ = 2/s [√(s² + a²) − √(s² + b²)], and
a² − b² = L l). κ is 1 for the endless line and never more. So the mean field of the finite stack
is a plane field with another law of distance, and no integral along the stack is left. For l → 0
it is the field in the middle. Around the shaft the harmonic p is a sum over angles α between
source and place.
"""

import math

import numpy as np

from fem_motor.arrays import ComplexArray, FloatArray
from fem_motor.ends.poles import PoleCharge

DECAY = 16.0
"""Natural logarithm of the field over what the sum over angles adds wrongly, 1e-7. The harmonic n
of a charge at r′ is felt at r as (r/r′)^n, and 2N angles take n = 2N − p for p."""

FEWEST, MOST = 64, 4096
"""Angles on half the circle; the most do for coils off the magnets by 1/500 of their radius."""


def plane_field(charge: PoleCharge, radii: FloatArray) -> ComplexArray:
    """Return the harmonic p of the radial flux density, (n,) T per tesla, of endless magnets.

    At radii within the bore: of a charge λ at r′ it is −λ/(2πr) (r/r′)^p, once for every one of
    the p pole pairs.

    Parameters
    ----------
    charge : PoleCharge
    radii : (n,) m
        Smaller than those of the charge.
    """
    p = charge.pole_pairs
    growth = (radii[:, None] / charge.radius) ** p
    return np.asarray(-p / (2 * math.pi * radii) * (growth @ charge.amount))


def mean_field(
    charge: PoleCharge, radii: FloatArray, *, stack_length: float, coil_length: float
) -> ComplexArray:
    """Return the harmonic p of the radial flux density, averaged along a coil, (n,) T per tesla.

    Parameters
    ----------
    charge : PoleCharge
    radii : (n,) m
        Of the coil, smaller than those of the charge.
    stack_length : float
        Of the magnets, m.
    coil_length : float
        Of the coil, centred on the stack, m; 0 for the field in the middle.
    """
    p = charge.pole_pairs
    # Even in α: half the circle, its two ends counted once and the others twice.
    number = _angles(p, float(charge.radius.min() / radii.max()))
    alpha = np.pi / number * np.arange(number + 1)
    wave = np.cos(p * alpha) * np.where(np.arange(number + 1) % number == 0, 0.5, 1.0)
    kernel = np.empty((len(radii), len(charge.radius)))
    for row, radius in zip(kernel, radii, strict=True):
        square = radius**2 + charge.radius[:, None] ** 2
        square = square - 2 * radius * charge.radius[:, None] * np.cos(alpha)
        outward = radius - charge.radius[:, None] * np.cos(alpha)
        length = _shortening(square, stack_length, coil_length)
        row[:] = (outward / square * length) @ wave
    return np.asarray(p / (math.pi * number) * (kernel @ charge.amount))


def _shortening(square: FloatArray, stack_length: float, coil_length: float) -> FloatArray:
    """Return κ for squared distances across the shaft."""
    a, b = (stack_length + coil_length) / 2, (stack_length - coil_length) / 2
    return np.asarray(stack_length / (np.sqrt(square + a**2) + np.sqrt(square + b**2)))


def _angles(pole_pairs: int, ratio: float) -> int:
    """Return how many angles on half the circle, for charge at `ratio` times the coil's radius."""
    number = math.ceil(pole_pairs + DECAY / (2 * math.log(ratio)))
    return min(max(FEWEST, number), MOST)
