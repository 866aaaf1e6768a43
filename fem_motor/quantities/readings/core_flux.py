"""Mean flux density in teeth, yoke and ring, from A on both sides of the cross-section."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.design import Motor
from fem_motor.field import FieldSweep

Part = Literal["stator", "rotor"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CoreFlux:
    """Largest mean flux density over a cross-section, T; `ring` None where there is none."""

    tooth: float
    yoke: float
    ring: float | None


def core_flux(sweep: FieldSweep, motor: Motor) -> CoreFlux:
    """Return the largest mean flux densities over all solved angles and all teeth.

    Parameters
    ----------
    sweep : FieldSweep
        With the fields kept.
    motor : Motor
    """
    return CoreFlux(tooth=_tooth(sweep, motor), yoke=_yoke(sweep, motor), ring=_ring(sweep, motor))


def _nodal(sweep: FieldSweep, part: Part, nodes: IntArray) -> FloatArray:
    """Return A at nodes of all copies of a body, (n, c, k)."""
    stator, rotor = sweep.kept_fields
    body, values = (
        (sweep.problem.stator, stator) if part == "stator" else (sweep.problem.rotor, rotor)
    )
    return np.asarray(values[:, body.unknown[:, nodes]] * body.factor[:, nodes])


def _tooth(sweep: FieldSweep, motor: Motor) -> float:
    stator = motor.stator
    x, y = sweep.problem.stator.matrices.cell.points
    tolerance = 1e-7 * stator.outer_radius
    on_side = np.abs(y - stator.tooth_width / 2) < tolerance
    radius = np.hypot(x, y)
    free = (radius > stator.yoke_radius * 1.001) & (radius < stator.tip_corner_radius * 0.999)
    nodes = np.flatnonzero(on_side & free)
    potential = _nodal(sweep, "stator", nodes)
    sign = sweep.problem.stator.sign
    clockwise = np.concatenate([sign * potential[:, -1:], potential[:, 1:-1:2]], axis=1)
    flux = potential[:, 0::2] - clockwise
    return float(np.abs(flux).max() / stator.tooth_width)


def _yoke(sweep: FieldSweep, motor: Motor) -> float:
    stator = motor.stator
    cell = sweep.problem.stator.matrices.cell
    nodes = _at_radii(cell.points, cell.end_side, (stator.inner_radius, stator.yoke_radius))
    potential = _nodal(sweep, "stator", nodes)
    return float(np.abs(np.diff(potential, axis=2)).max() / stator.yoke_thickness)


def _ring(sweep: FieldSweep, motor: Motor) -> float | None:
    rotor = motor.rotor
    if rotor.ring is None:
        return None
    cell = sweep.problem.rotor.matrices.cell
    radii = (rotor.magnet_outer_radius, rotor.ring_outer_radius)
    flux = [
        np.abs(np.diff(_nodal(sweep, "rotor", _at_radii(cell.points, side, radii)), axis=2)).max()
        for side in (cell.start_side, cell.end_side)
    ]
    return float(max(flux) / rotor.ring_thickness)


def _at_radii(points: FloatArray, side: IntArray, radii: tuple[float, float]) -> IntArray:
    """Return the nodes of a straight side nearest to two radii, (2,)."""
    radius = np.hypot(*points[:, side])
    return np.asarray(side[[int(np.abs(radius - wanted).argmin()) for wanted in radii]])
