"""A slotless machine of rings with iron on both sides, by the project and by a plain mesh.

The plain mesh fills the gap with elements that lean over with the rotor: no harmonics, no
circles, nothing of the project but the sizes below.
"""

import math
from dataclasses import replace

import numpy as np
from field.annuli import ring_cell
from skfem import Basis, BilinearForm, ElementTriP2, LinearForm, MeshTri, condense, solve
from skfem.helpers import dot, grad

from fem_motor.arrays import IntArray
from fem_motor.field import FieldProblem, Magnets, field_problem
from fem_motor.materials import BHCurve
from fem_motor.mesh import HalfCell, MotorMesh
from fem_motor.units import MU_0

HOLE, SURFACE, MAGNET, RING, OUTSIDE = 0.014, 0.0200, 0.0208, 0.0238, 0.0270
GAP, THICKNESS = MAGNET - SURFACE, RING - MAGNET
POLES, REMANENCE, RECOIL, IRON = 4, 1.2, 1.05, 500.0
LOW, HIGH = SURFACE + 0.25 * GAP, MAGNET - 0.25 * GAP
STEPS = 30
"""Edges on half a pole; 240 around, and as many harmonics."""


def ring_problem(
    offset: float, *, iron: BHCurve | None = None, steps: int = STEPS, wider: float = 0.0
) -> FieldProblem:
    """Return the machine with its rotor moved along +x; H_t = 0 in the hole and outside.

    Parameters
    ----------
    offset : float
    iron : BHCurve, optional
        Of core and ring, instead of the linear one.
    steps : int
        Edges on half a pole.
    wider : float
        Added to every radius.
    """
    curve = iron or BHCurve.linear(IRON)
    low, high = LOW + wider, HIGH + wider
    half_pitch = math.pi / POLES
    stator = ring_cell(
        inner_radius=HOLE + wider,
        rings=[(SURFACE + wider, "core", 6), (low, "gap", 1)],
        steps=steps,
        half_pitch=half_pitch,
        gap_outside=True,
    )
    rotor = ring_cell(
        inner_radius=high,
        rings=[
            (MAGNET + wider, "gap", 1),
            (RING + wider, "magnet", 6),
            (OUTSIDE + wider, "ring", 4),
        ],
        steps=steps,
        half_pitch=half_pitch,
        gap_outside=False,
    )
    return field_problem(
        MotorMesh(stator=_closed(stator), rotor=_closed(rotor), cut=min(240, 2 * POLES * steps)),
        stator_curves={"core": curve},
        rotor_curves={"ring": curve},
        magnets=Magnets(
            remanence=REMANENCE * (-1.0) ** np.arange(POLES),
            direction=np.zeros(POLES),
            recoil_permeability=RECOIL,
            is_radial=True,
        ),
        slots=POLES,
        poles=POLES,
        sectors=1,
        offset=offset,
    )


def _closed(cell: HalfCell) -> HalfCell:
    return replace(cell, far_circle=np.arange(0))


def plain_energy(offset: float, *, around: int = 240) -> float:
    """Return the least value of the functional, J/m, from a whole mesh without symmetry.

    Parameters
    ----------
    offset : float
    around : int
        Points on each circle; a multiple of 8, so that the edges of the poles are lines.
    """
    mesh, layer = _leaning_mesh(offset, around)
    basis = Basis(mesh, ElementTriP2(), intorder=4)
    is_magnet = np.isin(layer, MAGNET_LAYERS)
    permeability = np.where(is_magnet, RECOIL, np.where(np.isin(layer, GAP_LAYERS), 1.0, IRON))
    reluctivity = np.broadcast_to((1 / MU_0 / permeability)[:, None], basis.dx.shape)
    x, y = basis.global_coordinates()
    x = x - offset
    sign = (-1.0) ** np.round(np.arctan2(y, x) / (2 * math.pi / POLES))
    B_r = REMANENCE * np.where(is_magnet[:, None], sign, 0.0) / np.hypot(x, y)
    stiffness = BilinearForm(lambda u, v, at: at.nu * dot(grad(u), grad(v)))
    load = LinearForm(lambda v, at: at.nu * (at.B_x * grad(v)[1] - at.B_y * grad(v)[0]))
    right = load.assemble(basis, nu=reluctivity, B_x=B_r * x, B_y=B_r * y)
    A = solve(*condense(stiffness.assemble(basis, nu=reluctivity), right, D=np.array([0])))
    return float(-right @ A / 2)


CORE_LAYERS, GAP_LAYERS, MAGNET_LAYERS = range(5), range(5, 9), range(9, 15)


def _leaning_mesh(offset: float, around: int) -> tuple[MeshTri, IntArray]:
    """Return a mesh of circles whose centres move across the gap, and the layer of each element."""
    radius = np.concatenate(
        [
            np.linspace(HOLE, SURFACE, 6)[:-1],
            np.linspace(SURFACE, MAGNET, 5)[:-1],
            np.linspace(MAGNET, RING, 7)[:-1],
            np.linspace(RING, OUTSIDE, 5),
        ]
    )
    centre = offset * np.clip((radius - SURFACE) / GAP, 0, 1)
    theta = 2 * math.pi / around * np.arange(around)
    points = np.array(
        [centre[:, None] + np.outer(radius, np.cos(theta)), np.outer(radius, np.sin(theta))]
    )
    node = np.arange(radius.size * around).reshape(radius.size, around)
    ahead = np.roll(node, -1, axis=1)
    halves = [(node[:-1], node[1:], ahead[1:]), (node[:-1], ahead[1:], ahead[:-1])]
    triangles = np.concatenate([np.array(half).reshape(3, -1) for half in halves], axis=1)
    layer = np.tile(np.repeat(np.arange(radius.size - 1), around), 2)
    return MeshTri(points.reshape(2, -1), triangles), layer
