"""Field of a ring of magnet segments in the open, from magpylib's exact cylinder segments.

Three-dimensional, permeability 1 everywhere. A stack many pole pitches long stands for the plane
problem, and a short one for its end effect. It knows nothing of harmonics in layers, so that it
checks `annulus` and the finite elements from outside.
"""

import math
from collections.abc import Sequence

import magpylib
import numpy as np
from numpy.typing import NDArray

from exact.annulus import Segment


def ring(
    segments: Sequence[Segment],
    pole_pairs: int,
    *,
    inner_radius: float,
    outer_radius: float,
    stack_length: float,
) -> magpylib.Collection:
    """Return the magnets of a whole rotor, centred on z = 0; `segments` hold one pole pair."""
    magnets = []
    for pair in range(pole_pairs):
        for one in segments:
            if one.magnetisation != "parallel":
                raise ValueError("magpylib has uniformly magnetised segments only")
            middle = one.centre + 2 * math.pi * pair / pole_pairs
            along = middle + one.direction
            half = one.width / 2
            magnets.append(
                magpylib.magnet.CylinderSegment(
                    polarization=(
                        one.remanence * math.cos(along),
                        one.remanence * math.sin(along),
                        0.0,
                    ),
                    dimension=(
                        inner_radius,
                        outer_radius,
                        stack_length,
                        math.degrees(middle - half),
                        math.degrees(middle + half),
                    ),
                )
            )
    return magpylib.Collection(*magnets)


def radial_fundamental(
    magnets: magpylib.Collection,
    pole_pairs: int,
    *,
    radius: float,
    heights: Sequence[float] = (0.0,),
    samples: int = 128,
) -> NDArray[np.complex128]:
    """Return the amplitude of exp(ipθ) in B_r at a radius, for each height z, in T.

    Sampled over one pole pair; harmonics from `samples` − 1 on are folded in, which must have
    died out at this radius.
    """
    angle = 2 * math.pi / pole_pairs * np.arange(samples) / samples
    x, y = radius * np.cos(angle), radius * np.sin(angle)
    amplitudes = []
    for height in heights:
        B = magpylib.getB(magnets, np.column_stack([x, y, np.full(samples, height)]))
        B_r = B[:, 0] * np.cos(angle) + B[:, 1] * np.sin(angle)
        amplitudes.append(2 * np.mean(B_r * np.exp(-1j * pole_pairs * angle)))
    return np.array(amplitudes)


def linkage_ratio(
    magnets: magpylib.Collection,
    pole_pairs: int,
    *,
    radius: float,
    stack_length: float,
    plane_fundamental: float,
    points: int = 12,
    samples: int = 32,
) -> float:
    """Return flux linkage of a coil as long as the stack over that of the plane field.

    B_r of the fundamental, averaged over |z| < L/2 by Gauss points on one half.
    """
    nodes, weights = np.polynomial.legendre.leggauss(points)
    heights = stack_length / 4 * (1 + nodes)
    amplitudes = radial_fundamental(
        magnets, pole_pairs, radius=radius, heights=heights.tolist(), samples=samples
    )
    return float((weights / 2) @ amplitudes.real) / plane_fundamental
