"""The field of the whole machine on curved second-order triangles: bodies and air gap."""

import math
from dataclasses import dataclass

import numpy as np
from threadpoolctl import threadpool_limits

from fem_motor.arrays import FloatArray, IntArray, frozen, frozen_integers
from fem_motor.design import Motor
from fem_motor.field import FieldSweep, gap_potential, solve
from fem_motor.mesh import REGIONS, HalfCell, Quality, mesh_motor
from fem_motor.quantities import Phases, motor_problem
from fem_motor.winding import Winding

GAP_LAYERS = 2
"""Triangles across the annulus between the gap circles, where the field is known by harmonics."""

_Patch = tuple[FloatArray, IntArray, FloatArray, FloatArray, IntArray, FloatArray]
"""Points (2, n), triangles (6, m), A (n,), B (2, m), region (m,), current density (m,)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldGrid:
    """The field at one rotor angle, whole machine.

    Attributes
    ----------
    points : (2, n) m
        Neighbouring half cells have points of their own where they meet.
    triangles : (6, m)
        Three corners counter-clockwise, then the middles of edges 0-1, 1-2, 2-0.
    vector_potential : (n,) Wb/m
    flux_density : (2, m) T
        Mean of each triangle, along x and y.
    region : (m,)
        Index into `REGIONS` of the mesh room.
    current_density : (m,) A/m²
        Mean over the coil side, wires and spaces together; along +z.
    """

    points: FloatArray
    triangles: IntArray
    vector_potential: FloatArray
    flux_density: FloatArray
    region: IntArray
    current_density: FloatArray

    def __post_init__(self) -> None:
        for name in ("points", "vector_potential", "flux_density", "current_density"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        for name in ("triangles", "region"):
            object.__setattr__(self, name, frozen_integers(getattr(self, name)))


def field_grid(
    motor: Motor, winding: Winding, *, angle: float, currents: FloatArray, quality: Quality
) -> FieldGrid:
    """Return the field of the whole machine as built, 20 °C.

    Parameters
    ----------
    motor, winding
    angle : float
        Of the rotor, rad.
    currents : (3,) A
        Of the branches.
    quality : "draft", "standard" or "fine"
    """
    load = Phases.of(winding, motor).ampere_turns(np.reshape(currents, (3, 1)))
    with threadpool_limits(1):  # the same bytes on any number of cores
        problem = motor_problem(motor, mesh_motor(motor, quality=quality), sectors=1)
        solved = solve(problem, angles=np.array([angle]), ampere_turns=load)
    patches = [
        _body_patch(solved, "stator", 0.0, load[0]),
        _body_patch(solved, "rotor", angle, None),
        _gap_patch(solved, angle),
    ]
    shifts = np.cumsum([0] + [patch[0].shape[1] for patch in patches[:-1]])
    points, triangles, potential, flux, region, density = zip(*patches, strict=True)
    return FieldGrid(
        points=np.concatenate(points, axis=1),
        triangles=np.concatenate(
            [part + shift for part, shift in zip(triangles, shifts, strict=True)], axis=1
        ),
        vector_potential=np.concatenate(potential),
        flux_density=np.concatenate(flux, axis=1),
        region=np.concatenate(region),
        current_density=np.concatenate(density),
    )


def _body_patch(
    solved: FieldSweep, part: str, angle: float, ampere_turns: FloatArray | None
) -> _Patch:
    """Return all copies of a body's half cell; mirrored ones with their corners turned round."""
    problem = solved.problem
    is_stator = part == "stator"
    body = problem.stator if is_stator else problem.rotor
    values = solved.kept_fields[0 if is_stator else 1][0]
    cell = body.matrices.cell
    copy = np.arange(body.copies)
    axis = angle + cell.half_pitch * (copy + copy % 2)
    direction = np.where(copy % 2 == 0, 1.0, -1.0)
    points = _placed(cell.points, axis, direction)  # (2, c, n)
    if not is_stator:
        points[0] += problem.gap.offset
    triangles = cell.triangles[None] + cell.points.shape[1] * copy[:, None, None]
    triangles[1::2] = triangles[1::2][:, [0, 2, 1, 5, 4, 3]]
    means = solved.element_fields("stator" if is_stator else "rotor", REGIONS)
    outward, across = np.moveaxis(means.flux_density[0], 1, 0)  # (c, m) each
    cosine, sine = np.cos(axis)[:, None], np.sin(axis)[:, None]
    across = direction[:, None] * across
    density = np.zeros((body.copies, cell.triangles.shape[1]))
    if ampere_turns is not None:
        is_coil = cell.region == REGIONS.index("coil")
        by_copy = problem.by_copy(ampere_turns) / _area(cell, means.area)
        density = by_copy[:, None] * is_coil
    return (
        points.reshape(2, -1),
        triangles.transpose(1, 0, 2).reshape(6, -1),
        body.nodal(values).ravel(),
        np.stack([outward * cosine - across * sine, outward * sine + across * cosine]).reshape(
            2, -1
        ),
        np.tile(cell.region, body.copies),
        density.ravel(),
    )


def _area(cell: HalfCell, areas: FloatArray) -> float:
    """Return the area of a coil side, m²."""
    return float(np.sum(areas[cell.region == REGIONS.index("coil")]))


def _placed(points: FloatArray, axis: FloatArray, direction: FloatArray) -> FloatArray:
    radius = np.hypot(*points)
    theta = axis[:, None] + direction[:, None] * np.arctan2(points[1], points[0])
    return np.stack([radius * np.cos(theta), radius * np.sin(theta)])


def _gap_patch(solved: FieldSweep, angle: float) -> _Patch:
    """Return the annulus between the gap circles on a grid twice as fine as its triangles.

    B is taken where the triangle's corners have their mean.
    """
    problem = solved.problem
    stator, rotor = (values[0] for values in solved.kept_fields)
    around = 2 * max(len(problem.stator.gap), len(problem.rotor.gap)) // 4
    theta = math.pi / around * np.arange(2 * around)
    depth = np.linspace(0, 1, 2 * GAP_LAYERS + 1)
    potential, _, _ = gap_potential(problem, stator, rotor, angle, depth=depth, theta=theta)
    radius = np.broadcast_to(problem.gap.radius_at(depth, theta), potential.shape)
    triangles, centres = _ring_triangles(2 * GAP_LAYERS, 2 * around)
    at_depth, at_theta = centres[0] / (2 * GAP_LAYERS), math.pi / around * centres[1]
    flux = _gap_flux(solved, angle, at_depth, at_theta)
    number = triangles.shape[1]
    return (
        np.stack([radius * np.cos(theta), radius * np.sin(theta)]).reshape(2, -1),
        triangles,
        potential.ravel(),
        flux,
        np.full(number, REGIONS.index("gap")),
        np.zeros(number),
    )


def _ring_triangles(layers: int, around: int) -> tuple[IntArray, FloatArray]:
    """Return six-node triangles on a grid of a ring, (6, m), and their centres in steps, (2, m)."""
    row, column = (
        grid.ravel() for grid in np.mgrid[0:layers:2, 0:around:2]
    )  # the inner corner of each square of two by two steps
    corners = (
        ((0, 0), (2, 0), (2, 2), (1, 0), (2, 1), (1, 1)),
        ((0, 0), (2, 2), (0, 2), (1, 1), (1, 2), (0, 1)),
    )
    triangles, centres = [], []
    for shape in corners:
        triangles.append([(row + i) * around + (column + j) % around for i, j in shape])
        middle = np.mean(shape[:3], axis=0)
        centres.append([row + middle[0], column + middle[1]])
    return np.concatenate(triangles, axis=1), np.concatenate(centres, axis=1)


def _gap_flux(solved: FieldSweep, angle: float, depth: FloatArray, theta: FloatArray) -> FloatArray:
    """Return B along x and y, (2, m) T, at points of the gap, row by row of equal depth."""
    stator, rotor = (values[0] for values in solved.kept_fields)
    flux = np.empty((2, depth.size))
    for level in np.unique(depth):
        here = depth == level
        _, radial, tangential = gap_potential(
            solved.problem, stator, rotor, angle, depth=np.array([level]), theta=theta[here]
        )
        cosine, sine = np.cos(theta[here]), np.sin(theta[here])
        flux[:, here] = [
            radial[0] * cosine - tangential[0] * sine,
            radial[0] * sine + tangential[0] * cosine,
        ]
    return flux
