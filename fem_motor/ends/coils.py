"""Where the coils lie: the radii of their sides, and how much each links of the harmonic p."""

import math

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor, Stator, coil_side_area

RADIAL_POINTS = 12
"""Gauss points over the height of a coil side: the ratio of two fields that rise as r^p changes
by less than 1e-4 with twice as many, up to the bend where a tip's slope begins."""


def coil_weights(motor: Motor) -> tuple[FloatArray, FloatArray]:
    """Return radii of the coil sides, (n,) m, and the weight of the radial flux density there.

    Turns are spread evenly over the coil side. The turn at radius r and angle θ from the tooth's
    axis encloses B_r cos pθ′ r dθ′ from −θ to θ: it links r sin(pθ) of it, and all turns of one
    radius together ∫ r sin(pθ) r dθ. The weights are in any unit.
    """
    stator = motor.stator
    p, pitch = motor.rotor.pole_pairs, stator.slot_pitch
    low, high = stator.yoke_radius + stator.slot_liner, stator.tip_corner_radius - stator.slot_liner
    node, weight = np.polynomial.legendre.leggauss(RADIAL_POINTS)
    radii = (low + high) / 2 + (high - low) / 2 * node
    start = _first_angle(stator, radii)
    end = np.full_like(start, pitch / 2)
    if motor.winding.layers == 1:  # a coil side fills its whole slot, as far as the next tooth
        end = pitch - start
    linked = np.where(end > start, np.cos(p * start) - np.cos(p * end), 0.0)
    return np.asarray(radii), np.asarray(radii**2 * linked * weight)


def overhang(motor: Motor) -> tuple[float, float]:
    """Return how far the mean and the outermost turn stand out of the stack at either end, m.

    As for the wire's length: the end of a coil is as thick as its side, area over height.
    """
    stator = motor.stator
    height = stator.tip_corner_radius - stator.yoke_radius - 2 * stator.slot_liner
    halves = 1 if motor.winding.layers == 2 else 2  # noqa: PLR2004  (two layers)
    thickness = halves * coil_side_area(stator) / height
    return stator.slot_liner + thickness / 2, stator.slot_liner + thickness


def _first_angle(stator: Stator, radii: FloatArray) -> FloatArray:
    """Return the angle from the tooth's axis at which the coil side begins, (n,) rad.

    At the tooth's side, or at the tip's underside where that slopes: a line whose foot stands
    `tip_taper` before the corner of the slot opening, both less the liner.
    """
    side = np.asarray(
        np.arcsin(np.minimum(1.0, (stator.tooth_width / 2 + stator.slot_liner) / radii))
    )
    if stator.tip_taper == 0:
        return side
    foot = stator.slot_pitch / 2 - stator.opening_angle / 2 - stator.tip_taper
    distance = stator.tip_corner_radius * math.cos(stator.tip_taper) - stator.slot_liner
    under = foot + np.arccos(np.minimum(1.0, distance / radii))
    return np.asarray(np.where(radii > distance, np.maximum(side, under), side))
