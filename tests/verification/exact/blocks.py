"""Exact plane field of straight-sided magnets of permeability 1 in the bore that they surround.

A uniformly magnetised body is its surface currents K = (J/μ₀) × n (Ampère). A current I at z₀
gives A = −μ₀I/2π ln|z − z₀|, which for |z| < |z₀| is a constant and μ₀I/2π Re Σ (z/z₀)^n/n. On a
straight side from a to b along the unit vector t

    ∫ z₀^{−n} ds = [z₀^{1−n}]_a^b / ((1 − n) t),   n > 1

so every harmonic in the bore is a sum of powers of corners. Derived here.
"""

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A rectangular magnet.

    Attributes
    ----------
    angle : float
        Of its axis, rad.
    inner : float
        Distance of its inner face from the shaft's axis.
    thickness, width : float
    remanence : float
        T.
    direction : float
        Of the remanence against its own axis, rad; 0 is outward.
    """

    angle: float
    inner: float
    thickness: float
    width: float
    remanence: float
    direction: float

    def potential(self, order: int, radius: float) -> complex:
        """Return A_n in A = Re Σ A_n (r/R)^n exp(i n θ), Wb/m, for R = `radius`; n > 1."""
        low, high, half = self.inner, self.inner + self.thickness, self.width / 2
        axial = self.remanence * math.cos(self.direction)
        across = self.remanence * math.sin(self.direction)
        sides = (
            # K = J_x n_y − J_y n_x on each face, each run along +x or +y.
            (axial, complex(low, half), complex(high, half)),
            (-axial, complex(low, -half), complex(high, -half)),
            (-across, complex(high, -half), complex(high, half)),
            (across, complex(low, -half), complex(low, half)),
        )
        total = 0j
        for current, start, end in sides:
            along = (end - start) / abs(end - start)
            powers = (end / radius) ** (1 - order) - (start / radius) ** (1 - order)
            total += current * powers / (1 - order) / along
        turned = cmath.exp(-1j * order * self.angle)
        return radius * turned * total / (2 * math.pi * order)


def potentials(blocks: Sequence[Block], orders: Sequence[int], radius: float) -> dict[int, complex]:
    """Return {n: A_n} of all blocks together on a circle of the bore."""
    return {n: sum(block.potential(n, radius) for block in blocks) for n in orders}


def block_ring(
    poles: int,
    *,
    segments_per_pole: int,
    inner: float,
    thickness: float,
    width: float,
    remanence: float,
) -> list[Block]:
    """Return the blocks of a whole rotor, the first magnetised towards the shaft at θ = 0.

    From block to block the remanence turns against the block's own axis by p times the step:
    alternating poles, or a Halbach ring with its strong side inside.
    """
    number = poles * segments_per_pole
    step = 2 * math.pi / number
    return [
        Block(
            angle=k * step,
            inner=inner,
            thickness=thickness,
            width=width,
            remanence=remanence,
            direction=math.pi + poles // 2 * k * step,
        )
        for k in range(number)
    ]
