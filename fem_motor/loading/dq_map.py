"""Flux linkages of the d and q axis over their currents, and what follows for the mean torque."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import RectBivariateSpline

from fem_motor.arrays import FloatArray, frozen
from fem_motor.field import solve
from fem_motor.quantities import MotorModel

NODES = 3
"""Currents along each axis: a half and the whole of the largest one beside zero."""

MAP_TOLERANCE = 1e-4
"""Residual over load at which Newton's method stops: flux linkages are then right to 1e-5."""

ANGLE_STEPS = 91
"""Current angles tried for the best one: every degree from 0 to 90."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DqMap:
    """Flux linkages of a branch, in the plane, mean over the rotor's angles.

    Attributes
    ----------
    pole_pairs : int
    current_d, current_q : (a,), (b,) A
        Amplitudes, rising; d from minus the largest current to 0, q from 0 to it.
    linkage_d, linkage_q : (a, b) Wb
        Amplitude-invariant.
    """

    pole_pairs: int
    current_d: FloatArray
    current_q: FloatArray
    linkage_d: FloatArray
    linkage_q: FloatArray

    def __post_init__(self) -> None:
        for name in ("current_d", "current_q", "linkage_d", "linkage_q"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    def linkages(
        self, current_d: FloatArray, current_q: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Return ψ_d and ψ_q at currents within the map, by interpolating polynomials."""
        degree = len(self.current_d) - 1, len(self.current_q) - 1
        found = [
            RectBivariateSpline(
                self.current_d, self.current_q, values, kx=degree[0], ky=degree[1]
            ).ev(current_d, current_q)
            for values in (self.linkage_d, self.linkage_q)
        ]
        return np.asarray(found[0]), np.asarray(found[1])

    def added_linkages(self) -> Callable[[float, float], tuple[float, float]]:
        """Return what currents (i_d, i_q), A, add to ψ_d and ψ_q, Wb: within the map and beyond.

        A negative i_q is the mirror image. Beyond the map the slopes at its edge go on, which
        says too much where the machine saturates further.
        """
        span = float(self.current_q[-1]), float(-self.current_d[0])
        powers = np.vander(self.current_d / span[1], increasing=True)
        across = np.vander(self.current_q / span[0], increasing=True)
        of_d, of_q = (
            (np.linalg.inv(powers) @ (values - values[-1, 0]) @ np.linalg.inv(across).T).tolist()
            for values in (self.linkage_d, self.linkage_q)
        )

        def added(i_d: float, i_q: float) -> tuple[float, float]:
            x, y = i_d / span[1], abs(i_q) / span[0]
            psi_d, psi_q = _beyond(of_d, x, y), _beyond(of_q, x, y)
            return psi_d, psi_q if i_q >= 0 else -psi_q

        return added

    def rewound(self, more: float) -> "DqMap":
        """Return the map with `more` times the turns, the same ampere-turns."""
        return DqMap(
            pole_pairs=self.pole_pairs,
            current_d=self.current_d / more,
            current_q=self.current_q / more,
            linkage_d=self.linkage_d * more,
            linkage_q=self.linkage_q * more,
        )

    def torque(self, peak: FloatArray | float, current_angle: FloatArray | float) -> FloatArray:
        """Return the mean torque, N m: 3/2 p (ψ_d i_q − ψ_q i_d).

        Source: power balance of the dq model, e.g. R. Krishnan, Permanent Magnet Synchronous and
        Brushless DC Motor Drives (2010), from memory.
        """
        current_d = -np.asarray(peak * np.sin(current_angle))
        current_q = np.asarray(peak * np.cos(current_angle))
        linkage_d, linkage_q = self.linkages(current_d, current_q)
        return np.asarray(1.5 * self.pole_pairs * (linkage_d * current_q - linkage_q * current_d))

    def best_current_angle(self, peak: float) -> float:
        """Return the lead of the current with the largest mean torque, electrical rad, 0 to π/2."""
        tried = np.linspace(0, math.pi / 2, ANGLE_STEPS)
        torque = self.torque(peak, tried)
        top = int(torque.argmax())
        if top in (0, ANGLE_STEPS - 1):
            return float(tried[top])
        left, middle, right = torque[top - 1 : top + 2]
        bend = left - 2 * middle + right
        return float(tried[top] + (tried[1] - tried[0]) * (left - right) / (2 * bend))


def _beyond(weights: list[list[float]], x: float, y: float) -> float:
    """Return Σ w_ij xⁱ yʲ with x from −1 to 0 and y from 0 to 1, straight on beyond."""
    u, v = min(max(x, -1.0), 0.0), min(max(y, 0.0), 1.0)
    value = slope_x = slope_y = 0.0
    for i, row in enumerate(weights):
        for j, weight in enumerate(row):
            value += weight * u**i * v**j
            slope_x += weight * i * u ** max(i - 1, 0) * v**j
            slope_y += weight * j * u**i * v ** max(j - 1, 0)
    return value + slope_x * (x - u) + slope_y * (y - v)


def dq_map(model: MotorModel, *, peak: float) -> DqMap:
    """Solve the machine for currents up to `peak`, A, and return the map.

    At two rotor angles 30 electrical degrees apart, between which the sixth order of the ripple
    cancels.
    """
    phases = model.phases
    currents_d = np.linspace(-peak, 0, NODES)
    currents_q = np.linspace(0, peak, NODES)
    grid_d, grid_q = np.meshgrid(currents_d, currents_q, indexing="ij")
    angles = np.array([0.0, math.pi / 6 / phases.pole_pairs])
    linkage = np.zeros((2, NODES, NODES))
    for angle in angles:
        linkage += _linkages(model, float(angle), grid_d, grid_q) / len(angles)
    return DqMap(
        pole_pairs=phases.pole_pairs,
        current_d=currents_d,
        current_q=currents_q,
        linkage_d=linkage[0],
        linkage_q=linkage[1],
    )


def _linkages(
    model: MotorModel, angle: float, grid_d: FloatArray, grid_q: FloatArray
) -> FloatArray:
    """Return ψ_d and ψ_q, (2, a, b), at one rotor angle, solved along a path of short steps."""
    phases = model.phases
    order = _path(*grid_d.shape)
    i_d, i_q = grid_d.ravel()[order], grid_q.ravel()[order]
    angles = np.full(len(order), angle)
    currents = np.concatenate(
        [
            phases.sine(angles[:1], peak=float(np.hypot(d, q)), current_angle=math.atan2(-d, q))
            for d, q in zip(i_d, i_q, strict=True)
        ],
        axis=1,
    )
    solved = solve(
        model.problem,
        angles=angles,
        ampere_turns=phases.ampere_turns(currents),
        keep="readings",
        tolerance=MAP_TOLERANCE,
        start=model.field_at_zero,
    )
    both = phases.to_dq(phases.linkage(solved.half_slot_mean), angles)
    found = np.empty_like(both)
    found[:, order] = both
    return found.reshape(2, *grid_d.shape)


def _path(rows: int, columns: int) -> list[int]:
    """Return the grid's points from no current on, each next to the one before."""
    path = []
    for row in range(rows - 1, -1, -1):  # from i_d = 0 on
        ahead = range(columns) if (rows - 1 - row) % 2 == 0 else range(columns - 1, -1, -1)
        path += [row * columns + column for column in ahead]
    return path
