"""The whole machine on flat triangles, for pictures."""

import numpy as np

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.field.discretisation.bodies import Body
from fem_motor.field.discretisation.placement import place_points, whole_circle
from fem_motor.field.records import FieldMap
from fem_motor.field.solving.continuation import gap_potential, open_potential
from fem_motor.field.solving.problem import FieldProblem

QUARTERS = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])
"""The four flat triangles of a second-order one, by its local nodes."""

AROUND = 1440
"""Points around the circle where the field is known by harmonics: 0.25°."""

OUTSIDE = 1.25
"""How far the picture goes beyond the rotor's mesh, as a ratio of radii."""


def field_map(
    problem: FieldProblem, stator_values: FloatArray, rotor_values: FloatArray, angle: float
) -> FieldMap:
    """Return the field of the whole machine with the rotor at `angle`."""
    patches = [
        _body_patch(problem.stator, stator_values, 0.0),
        _moved(_body_patch(problem.rotor, rotor_values, angle), problem.gap.offset),
        _gap_patch(problem, stator_values, rotor_values, angle),
    ]
    outside = np.linspace(1.0, OUTSIDE, 12)
    hub = np.linspace(0.02, 1.0, 12)
    for body, values, turned, ratio, offset in (
        (problem.rotor, rotor_values, angle, outside, problem.gap.offset),
        (problem.stator, stator_values, 0.0, hub, 0.0),
    ):
        if len(body.far):
            patches.append(_moved(_open_patch(body, values, turned, ratio), offset))
    shifts = np.cumsum([0] + [patch[0].shape[1] for patch in patches[:-1]])
    points = np.concatenate([patch[0] for patch in patches], axis=1)
    triangles = np.concatenate(
        [patch[1] + shift for patch, shift in zip(patches, shifts, strict=True)], axis=1
    )
    potential = np.concatenate([patch[2] for patch in patches])
    return FieldMap(
        points=points,
        triangles=triangles,
        vector_potential=potential,
        flux_density=_flux_density(points, triangles, potential),
        rotor_angle=angle,
    )


Patch = tuple[FloatArray, IntArray, FloatArray]


def _body_patch(body: Body, values: FloatArray, angle: float) -> Patch:
    cell = body.matrices.cell
    points = place_points(body, cell.points, angle)
    potential = whole_circle(body, body.nodal(values))
    flat = cell.triangles[QUARTERS].transpose(1, 0, 2).reshape(3, -1)
    copies, number = potential.shape
    triangles = flat[None] + number * np.arange(copies)[:, None, None]
    triangles[1::2] = triangles[1::2, ::-1]  # mirrored copies run the other way round
    return (
        points.transpose(1, 0, 2).reshape(2, -1),
        triangles.transpose(1, 0, 2).reshape(3, -1),
        potential.ravel(),
    )


def _moved(patch: Patch, offset: float) -> Patch:
    points, triangles, potential = patch
    return points + np.array([[offset], [0.0]]), triangles, potential


def _ring_patch(radii: FloatArray, theta: FloatArray, potential: FloatArray) -> Patch:
    points = np.array([radii * np.cos(theta), radii * np.sin(theta)])  # (2, d, t)
    node = np.arange(potential.size).reshape(potential.shape)
    ahead = np.roll(node, -1, axis=1)
    inner, outer = (node[:-1], ahead[:-1]), (node[1:], ahead[1:])
    triangles = np.concatenate(
        [
            np.array([inner[0], outer[0], outer[1]]).reshape(3, -1),
            np.array([inner[0], outer[1], inner[1]]).reshape(3, -1),
        ],
        axis=1,
    )
    return points.reshape(2, -1), triangles, potential.ravel()


def _around() -> FloatArray:
    return 2 * np.pi / AROUND * np.arange(AROUND)


def _gap_patch(
    problem: FieldProblem, stator_values: FloatArray, rotor_values: FloatArray, angle: float
) -> Patch:
    depth, theta = np.linspace(0, 1, 4), _around()
    potential, _, _ = gap_potential(
        problem, stator_values, rotor_values, angle, depth=depth, theta=theta
    )
    return _ring_patch(problem.gap.radius_at(depth, theta), theta, potential)


def _open_patch(body: Body, values: FloatArray, angle: float, ratio: FloatArray) -> Patch:
    theta = _around()
    potential = open_potential(body, values, angle, ratio=ratio, theta=theta)
    return _ring_patch(ratio[:, None] * body.matrices.cell.far_radius, theta, potential)


def _flux_density(points: FloatArray, triangles: IntArray, potential: FloatArray) -> FloatArray:
    """Return |∇A| of each flat triangle, (m,)."""
    (x0, x1, x2), (y0, y1, y2) = points[:, triangles]
    a0, a1, a2 = potential[triangles]
    double_area = (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)
    d_dx = ((a1 - a0) * (y2 - y0) - (a2 - a0) * (y1 - y0)) / double_area
    d_dy = ((a2 - a0) * (x1 - x0) - (a1 - a0) * (x2 - x0)) / double_area
    return np.asarray(np.hypot(d_dx, d_dy))
