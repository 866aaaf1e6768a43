"""What changes say: friction from a coast-down, a thermal time constant from warming or cooling."""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import least_squares

from fem_motor.arrays import FloatArray
from fem_motor.bench.measurements.points import Estimate
from fem_motor.bench.records import BenchLog, Channel, Segment

_SAMPLES = 200
"""To which a curve is thinned before it is fitted."""
_SLOWEST = 0.08
"""Of the first speed: below it cogging, not friction, stops the rotor."""
_FEWEST = 12
_INERTIA_SHARE = 0.02
"""Standard uncertainty of an inertia that the user stated (a careful swing; no source)."""
_LEAST_CHANGE = 5.0
"""K: a smaller change does not show a time constant."""
_LEAST_TIME = 60.0
"""s."""
_WORST_SHARE = 0.3
"""Relative standard uncertainty beyond which a time constant is not told."""
_SAME_CURRENT = 0.1


def spin_down(
    log: BenchLog, segments: Sequence[Segment], *, inertia: float
) -> tuple[Estimate, Estimate, Estimate] | None:
    """Return a (N m), b (N m s), c (N m s²) of J dω/dt = −(a + b ω + c ω²); None without a coast.

    The longest coast-down counts; none of the three is negative.
    """
    coasts = [segment for segment in segments if segment.kind == "coast-down"]
    if not coasts:
        return None
    longest = max(coasts, key=lambda segment: segment.end - segment.start)
    time, speed = _curve(log, "speed", longest.first_row, longest.last_row)
    moving = speed > _SLOWEST * speed.max() if len(speed) else speed > 0
    time, speed = time[moving], speed[moving]
    if len(speed) < _FEWEST:
        return None
    time = time - time[0]
    top = float(speed[0])
    # In steps of what stops the rotor within the time of the log each alone.
    scale = inertia * top / float(time[-1]) / np.array((1.0, top, top**2))

    def coasted(values: FloatArray) -> FloatArray:
        a, b, c = values[:3] * scale
        found = solve_ivp(
            lambda _, now: -(a + b * now + c * now**2) / inertia, (0.0, float(time[-1])),
            [values[3] * top], t_eval=time, rtol=1e-8, atol=1e-6 * top,
        )  # fmt: skip
        return np.asarray(found.y[0]) / top

    start = np.array((0.4, 0.4, 0.4, 1.0))
    solution = least_squares(
        lambda values: coasted(values) - speed / top, start, bounds=(0.0, np.inf), x_scale=1.0
    )
    deviations = _deviations(solution.jac, solution.cost, len(speed))
    found = [
        Estimate(
            value=float(solution.x[at] * scale[at]),
            parts={
                "scatter about the curve": float(deviations[at] * scale[at]),
                "inertia as stated": _INERTIA_SHARE * float(solution.x[at] * scale[at]),
            },
        )
        for at in range(3)
    ]
    return found[0], found[1], found[2]


def _deviations(jacobian: FloatArray, cost: float, count: int) -> FloatArray:
    """Return standard deviations of fitted parameters from what the fit leaves over."""
    spare = max(count - jacobian.shape[1], 1)
    covariance = np.linalg.pinv(jacobian.T @ jacobian) * 2 * cost / spare
    return np.asarray(np.sqrt(np.diag(covariance)))


def _curve(log: BenchLog, channel: Channel, first: int, last: int) -> tuple[FloatArray, FloatArray]:
    """Return times and means of a channel over rows, thinned to some hundred groups."""
    rows = slice(first, last + 1)
    time, values = log.time[rows], log.channels[channel][rows]
    good = np.isfinite(values)
    time, values = time[good], values[good]
    if not len(values):
        return time, values
    starts = np.unique(np.linspace(0, len(values), _SAMPLES + 1).astype(int)[:-1])
    counts = np.diff(np.append(starts, len(values)))
    return np.add.reduceat(time, starts) / counts, np.add.reduceat(values, starts) / counts


def thermal_time_constant(log: BenchLog, segments: Sequence[Segment]) -> Estimate | None:
    """Return the time constant, s, of winding (or housing) under one load or at rest; else None.

    T = T∞ + (T0 − T∞) e^{−t/τ} over the stretch that shows it best.
    """
    channel: Channel | None = next(
        (name for name in ("winding_C", "housing_C") if log.valid(name).any()), None
    )
    if channel is None:
        return None
    found = [
        estimate
        for first, last in _calm_stretches(segments)
        if (estimate := _time_constant(*_curve(log, channel, first, last))) is not None
    ]
    return min(found, key=lambda one: one.uncertainty / one.value, default=None)


def _calm_stretches(segments: Sequence[Segment]) -> list[tuple[int, int]]:
    """Return first and last row of stretches with the same current throughout."""
    calm = [segment for segment in segments if segment.kind in {"steady", "idle"}]
    groups: list[list[Segment]] = [[segment] for segment in calm[:1]]
    for before, after in pairwise(calm):
        if _goes_on(before, after):
            groups[-1].append(after)
        else:
            groups.append([after])
    return [
        (group[0].first_row, group[-1].last_row)
        for group in groups
        if group[-1].end - group[0].start >= _LEAST_TIME
    ]


def _goes_on(before: Segment, after: Segment) -> bool:
    if before.kind != after.kind or after.start - before.end > _LEAST_TIME / 10:
        return False
    if before.kind == "idle":
        return True
    a, b = before.readings.get("current"), after.readings.get("current")
    return a is not None and b is not None and abs(a.mean - b.mean) <= _SAME_CURRENT * abs(a.mean)


def _time_constant(time: FloatArray, values: FloatArray) -> Estimate | None:
    if len(values) < _FEWEST or float(np.ptp(values)) < _LEAST_CHANGE:
        return None
    since = time - time[0]
    length = float(since[-1])

    def left(parameters: FloatArray) -> FloatArray:
        final, change, ratio = parameters
        return np.asarray(final + change * np.exp(-since / (ratio * length)) - values)

    start = np.array((values[-1], values[0] - values[-1], 0.4))
    solution = least_squares(left, start, bounds=((-np.inf, -np.inf, 1e-3), (np.inf, np.inf, 20)))
    deviation = float(_deviations(solution.jac, solution.cost, len(values))[2]) * length
    value = float(solution.x[2]) * length
    if not math.isfinite(deviation) or deviation > _WORST_SHARE * value or value > 2 * length:
        return None
    return Estimate(value=value, parts={"scatter about the curve": deviation})
