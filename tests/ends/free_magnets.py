"""Rotors of the tests of this folder, and their field from magpylib's exact magnets."""

import dataclasses
import math
from itertools import pairwise
from pathlib import Path

import magpylib
import numpy as np
from magpylib.magnet import Cuboid, CylinderSegment
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from fem_motor.design import Motor, Rotor, load_design

GEOMETRIES = Path(__file__).resolve().parents[2] / "geometries"


def motor_of(name: str) -> Motor:
    return load_design(GEOMETRIES / f"{name}.toml").motor


def small_ring(kind: str) -> Rotor:
    """Return seven pole pairs of arcs, 20.5 to 23.5 mm: "parallel", "radial" or "halbach"."""
    arcs = dataclasses.replace(
        motor_of("halbach_18s16p").rotor,
        poles=14,
        magnet_shape="arc",
        magnet_width=None,
        magnet_inner_radius=20.5e-3,
        magnet_thickness=3.0e-3,
    )
    if kind == "halbach":
        return dataclasses.replace(arcs, segments_per_pole=4, magnet_arc_fraction=1.0)
    return dataclasses.replace(
        arcs,
        magnet_layout="alternating",
        segments_per_pole=1,
        magnet_arc_fraction=0.9,
        magnetisation=kind,
    )


def magnets(rotor: Rotor, stack_length: float) -> magpylib.Collection:
    """Return the magnets of a whole rotor of 1 T, the first magnetised towards the shaft.

    A radial magnet is ten parallel ones side by side.
    """
    slices = 10 if rotor.magnetisation == "radial" else 1
    inner, thickness = rotor.magnet_inner_radius, rotor.magnet_thickness
    found = []
    for k in range(rotor.segments):
        place = k * rotor.segment_pitch
        turn = math.pi + rotor.pole_pairs * place  # the strong side faces the stator
        if rotor.magnet_width is not None:
            block = Cuboid(
                polarization=(math.cos(turn), math.sin(turn), 0.0),
                dimension=(thickness, rotor.magnet_width, stack_length),
                position=(inner + thickness / 2, 0.0, 0.0),
            )
            found.append(block.rotate(Rotation.from_euler("z", place), anchor=0))
            continue
        width = (rotor.magnet_arc_fraction or 1.0) * rotor.segment_pitch / slices
        for i in range(slices):
            middle = place + (i - (slices - 1) / 2) * width
            found.append(
                CylinderSegment(
                    polarization=(math.cos(middle + turn), math.sin(middle + turn), 0.0),
                    dimension=(
                        inner,
                        inner + thickness,
                        stack_length,
                        math.degrees(middle - width / 2),
                        math.degrees(middle + width / 2),
                    ),
                )
            )
    return magpylib.Collection(*found)


def mean_harmonic(
    rotor: Rotor, radius: float, *, stack_length: float, coil_length: float, samples: int = 10
) -> complex:
    """Return the amplitude of exp(ipθ) in B_r per tesla, averaged over |z| < coil_length/2.

    Gauss points on one half, in two parts that meet at the magnets' end, where the field bends.
    Sampled over one pole; harmonics from 2·samples − 1 on are folded in, which have died out.
    """
    node, weight = np.polynomial.legendre.leggauss(5)
    ends = sorted({0.0, min(stack_length, coil_length) / 2, coil_length / 2})
    heights, shares = [np.zeros(1)], [np.ones(1)]
    if coil_length:
        parts = list(pairwise(ends))
        heights = [(a + b) / 2 + (b - a) / 2 * node for a, b in parts]
        shares = [(b - a) / coil_length * weight for a, b in parts]
    z, share = np.concatenate(heights), np.concatenate(shares)
    angle = math.pi / rotor.pole_pairs * np.arange(samples) / samples
    x, y = radius * np.cos(angle), radius * np.sin(angle)
    places = np.stack(np.broadcast_arrays(x, y, z[:, None]), axis=-1).reshape(-1, 3)
    B = magpylib.getB(magnets(rotor, stack_length), places).reshape(len(z), samples, 3)
    B_r: NDArray[np.float64] = B[..., 0] * np.cos(angle) + B[..., 1] * np.sin(angle)
    amplitude = 2 * np.mean(B_r * np.exp(-1j * rotor.pole_pairs * angle), axis=1)
    return complex(share @ amplitude)
