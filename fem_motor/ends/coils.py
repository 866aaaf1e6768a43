"""Where the coils lie: the radii of their sides, and how much each links of the harmonic p."""

import math

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor, Stator, coil_side_area

RADIAL_POINTS = 8
"""Gauss points between two bends of a coil side's outline; what they integrate is as smooth as
r^p, and twice as many change the end factor by less than 1e-6."""


def coil_weights(motor: Motor) -> tuple[FloatArray, FloatArray]:
    """Return radii of the coil sides, (n,) m, and the weight of the radial flux density there.

    Turns are spread evenly over the coil side. The turn at radius r and angle θ from the tooth's
    axis encloses B_r cos pθ′ r dθ′ from −θ to θ: it links r sin(pθ) of it, and all turns of one
    radius together ∫ r sin(pθ) r dθ. The weights are in any unit.
    """
    stator = motor.stator
    p, pitch = motor.rotor.pole_pairs, stator.slot_pitch
    radii, weight = _gauss(_bends(stator))
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


def _gauss(places: list[float]) -> tuple[FloatArray, FloatArray]:
    """Return points and weights, (n,), between neighbours of `places`."""
    node, weight = np.polynomial.legendre.leggauss(RADIAL_POINTS)
    start, end = np.array(places[:-1])[:, None], np.array(places[1:])[:, None]
    half = (end - start) / 2
    return np.ravel((start + end) / 2 + half * node), np.ravel(half * weight)


def _bends(stator: Stator) -> list[float]:
    """Return the radii between which the outline of the coil side is smooth, m, rising.

    From the yoke to the circle through the corner of the slot opening, less the liner. A sloping
    underside is met first at the tooth's side and may reach the slot's axis.
    """
    low, high = stator.yoke_radius + stator.slot_liner, stator.tip_corner_radius - stator.slot_liner
    if stator.tip_taper == 0:
        return [low, high]
    foot, distance = _underside(stator)
    side = stator.tooth_width / 2 + stator.slot_liner
    meets = math.hypot((distance - side * math.sin(foot)) / math.cos(foot), side)
    ends = distance / math.cos(stator.slot_pitch / 2 - foot)
    return [low, *sorted({radius for radius in (meets, ends) if low < radius < high}), high]


def _underside(stator: Stator) -> tuple[float, float]:
    """Return angle and radius of the foot of the perpendicular on the tip's underside.

    It stands `tip_taper` before the corner of the slot opening, less the liner.
    """
    foot = stator.slot_pitch / 2 - stator.opening_angle / 2 - stator.tip_taper
    return foot, stator.tip_corner_radius * math.cos(stator.tip_taper) - stator.slot_liner


def _first_angle(stator: Stator, radii: FloatArray) -> FloatArray:
    """Return the angle from the tooth's axis at which the coil side begins, (n,) rad.

    At the tooth's side less the liner, or at the tip's underside where that slopes.
    """
    sine = (stator.tooth_width / 2 + stator.slot_liner) / radii
    side = np.asarray(np.arcsin(np.minimum(1.0, sine)))
    if stator.tip_taper == 0:
        return side
    foot, distance = _underside(stator)
    under = foot + np.arccos(np.minimum(1.0, distance / radii))
    return np.asarray(np.where(radii > distance, np.maximum(side, under), side))
