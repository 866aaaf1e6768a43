"""Where the copies of a half cell stand in the machine."""

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.field.discretisation.bodies import Body


def copy_angles(body: Body, angle: float = 0.0) -> tuple[FloatArray, FloatArray]:
    """Return where each copy of the whole circle begins, and which way it runs.

    Returns
    -------
    axis : (k,) rad
        Angle of the copy's own start side, the body turned by `angle`.
    direction : (k,)
        1 for turned copies, −1 for mirrored ones.
    """
    copy = np.arange(body.copies * body.sectors)
    half_pitch = body.matrices.cell.half_pitch
    axis = angle + half_pitch * (copy + copy % 2)
    return axis, np.where(copy % 2 == 0, 1.0, -1.0)


def place_points(body: Body, points: FloatArray, angle: float = 0.0) -> FloatArray:
    """Return points of the half cell, (2, n), in all copies of the circle, (k, 2, n)."""
    axis, direction = copy_angles(body, angle)
    radius = np.hypot(*points)
    theta = axis[:, None] + direction[:, None] * np.arctan2(points[1], points[0])
    return np.stack([radius * np.cos(theta), radius * np.sin(theta)], axis=1)


def whole_circle(body: Body, sector_values: FloatArray) -> FloatArray:
    """Return values of the copies of one sector, (c, …), for all copies, (k, …), with signs."""
    signs = body.sign ** np.arange(body.sectors)
    shape = (-1,) + (1,) * sector_values.ndim
    repeated = signs.reshape(shape) * sector_values[None]
    return np.asarray(repeated.reshape(-1, *sector_values.shape[1:]))
