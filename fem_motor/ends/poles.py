"""The magnets as magnetic charge: what of it drives the electrical fundamental.

A magnet with remanence J is, from outside, its charge: J·n on the surface, −div J within. The
magnets of these motors are magnetised across the shaft and uniform along it, so there is no
charge on their end faces and the rest does not vary along the stack. Charge at the angle θ′
drives the harmonic p of the field as the same charge at angle 0 times exp(−ipθ′). On an arc all
charge has one radius and its sum over the angle is a closed form; on a straight side the radius
varies, and the side becomes Gauss points.
"""

from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import ComplexArray, FloatArray, frozen
from fem_motor.design import Rotor

SIDE_POINTS = 16
"""Gauss points on a straight side: the ratio of two fields from sides half a millimetre off a
coil of 20 mm radius then errs by less than 1e-6."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PoleCharge:
    """Harmonic p of the magnets' charge, per metre of stack and tesla of remanence.

    Attributes
    ----------
    pole_pairs : int
    radius : (m,) m
    amount : (m,) complex, m
        Sum over a pole pair of J·n ds (or −div J dS) exp(−ipθ′), J the remanence over its size.
    """

    pole_pairs: int
    radius: FloatArray
    amount: ComplexArray

    def __post_init__(self) -> None:
        object.__setattr__(self, "radius", frozen(self.radius))
        amount = np.array(self.amount, dtype=np.complex128)
        amount.flags.writeable = False
        object.__setattr__(self, "amount", amount)


def pole_charge(rotor: Rotor) -> PoleCharge:
    """Return the charge of the magnets as designed, pole 1 magnetised towards the shaft.

    From magnet to magnet the remanence turns against the magnet's own axis by the pole pairs'
    angle, forwards where the strong side faces the stator (K. Halbach, Nucl. Instrum. Meth. 169
    (1980) 1, from memory). One magnet on the axis, magnetised outwards and across, is summed;
    those of a pole pair are its copies.
    """
    radius, outward, across = _arc(rotor) if rotor.magnet_width is None else _block(rotor)
    number = 2 * rotor.segments_per_pole
    electrical = 2 * np.pi / number * np.arange(number)
    turn = -electrical if rotor.strong_side == "outside" else electrical
    place = np.exp(-1j * electrical)
    along, beside = np.sum(place * np.cos(np.pi + turn)), np.sum(place * np.sin(np.pi + turn))
    return PoleCharge(
        pole_pairs=rotor.pole_pairs, radius=radius, amount=along * outward + beside * across
    )


def _arc(rotor: Rotor) -> tuple[FloatArray, ComplexArray, ComplexArray]:
    """Return radii and charge, magnetised outwards and across, of an arc magnet at angle 0."""
    p = rotor.pole_pairs
    inner, outer = rotor.magnet_inner_radius, rotor.magnet_outer_radius
    half = (rotor.magnet_arc_fraction or 1.0) * rotor.segment_pitch / 2
    side, weight = _gauss(inner, outer)
    radius = np.array([inner, outer, *side])
    if rotor.magnetisation == "radial":
        # −div J = −J/r within: −dr dθ in all; none on the sides.
        spread = _waves(p, half)
        all_of_it = spread * np.array([-inner, outer, *-weight], dtype=np.complex128)
        return radius, all_of_it, 0 * all_of_it
    # J·n on an arc: cos θ′ or sin θ′; on the side at ±h: ∓sin h·(−1), that is J·e_θ and −J·e_θ.
    even = (_waves(p - 1, half) + _waves(p + 1, half)) / 2
    odd = (_waves(p - 1, half) - _waves(p + 1, half)) / 2j
    # ∫ exp(−ipθ) e_θ·J over both sides; e_θ at h is (−sin h, cos h).
    outward_sides = -2 * np.sin(half) * np.cos(p * half) * weight
    across_sides = -2j * np.cos(half) * np.sin(p * half) * weight
    outward = np.array([-inner * even, outer * even, *outward_sides], dtype=np.complex128)
    across = np.array([-inner * odd, outer * odd, *across_sides], dtype=np.complex128)
    return radius, outward, across


def _block(rotor: Rotor) -> tuple[FloatArray, ComplexArray, ComplexArray]:
    """Return radii and charge, magnetised outwards and across, of a block at angle 0."""
    width = rotor.magnet_width or 0.0
    low, high = rotor.magnet_inner_radius, rotor.magnet_inner_radius + rotor.magnet_thickness
    y, face = _gauss(-width / 2, width / 2)
    x, side = _gauss(low, high)
    beside = np.full_like(x, width / 2)
    points = np.concatenate([low + 1j * y, high + 1j * y, x - 1j * beside, x + 1j * beside])
    nothing_on_faces, nothing_on_sides = np.zeros(2 * len(y)), np.zeros(2 * len(x))
    outward = np.concatenate([-face, face, nothing_on_sides])
    across = np.concatenate([nothing_on_faces, -side, side])
    wave = np.exp(-1j * rotor.pole_pairs * np.angle(points))
    return np.asarray(np.abs(points)), outward * wave, across * wave


def _waves(order: int, half: float) -> float:
    """Return ∫ exp(−i n θ) dθ from −half to half."""
    return float(2 * half * np.sinc(order * half / np.pi))


def _gauss(start: float, end: float) -> tuple[FloatArray, FloatArray]:
    """Return points and weights between two places."""
    node, weight = np.polynomial.legendre.leggauss(SIDE_POINTS)
    half = (end - start) / 2
    return np.asarray((start + end) / 2 + half * node), np.asarray(half * weight)
