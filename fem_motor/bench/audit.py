"""Doubts about a log before anything is fitted to it: each a finding with its number."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.bench.against_design import span_findings, speed_findings
from fem_motor.bench.channels.cleaning import filled
from fem_motor.bench.measurements.points import Point, points_of, span_of
from fem_motor.bench.measurements.segments import shortest_step
from fem_motor.bench.records import BenchLog, Channel, Segment
from fem_motor.design import Motor
from fem_motor.findings import Finding

_SIGMAS = 3.0
_DRIFT_WATCH, _DRIFT_STOP = 0.01, 0.05
"""Change of a zero over the log, share of the largest reading."""
_CURRENT_ZERO = 0.05
"""A; beside the no-load current of small motors that is a tenth."""
_MOST_LAG = 0.15
"""s; air and structure answer within a tenth."""
_LAG_STEP = 0.02
_LAG_REACH = 2.0
_FEWEST_ROWS = 30
_SHORT_STEP = 10.0
"""s; what the guide to logging asks of a throttle step at least."""
_LAG_SHAPE = 0.9
"""Correlation from which on a lag is believed."""


def audit(
    log: BenchLog,
    segments: Sequence[Segment],
    *,
    motor: Motor,
    speed_constant: float | None = None,
) -> tuple[Finding, ...]:
    """Return what is doubtful about a log; one that says stop should not be fitted.

    Parameters
    ----------
    log, segments
    motor : Motor
        As designed: pole pairs, propeller.
    speed_constant : float, optional
        Of the design, six-step, rad/s per V of direct voltage; speeds are held against it.

    Examples
    --------
    >>> from fem_motor.bench import read_log, steady_segments
    >>> from fem_motor.design import load_design
    >>> log = read_log("geometries/printed_18s16p_bench.csv")
    >>> motor = load_design("geometries/printed_18s16p.toml").motor
    >>> [doubt.name for doubt in audit(log, steady_segments(log), motor=motor)
    ...  if doubt.status == "stop"]
    []
    """
    points = points_of(log, segments)
    return (
        *log.findings,
        *_no_points(log, points),
        *_signs(points),
        *_power(log, points),
        *speed_findings(log, points, motor=motor, speed_constant=speed_constant),
        *span_findings(log, points, motor=motor),
        *_zero_drift(log, points),
        *_aliasing(log, points),
        *_lags(log, segments),
    )


def _no_points(log: BenchLog, points: Sequence[Point]) -> Iterator[Finding]:
    if not points:
        needed = shortest_step(log)
        step = float(np.median(np.diff(log.time)))
        is_slow = needed > _SHORT_STEP
        slow = (
            f" With a row every {step:.3g} s a step has to last {needed:.0f} s to be seen."
            if is_slow
            else ""
        )
        yield Finding(
            name="steady segments",
            status="stop",
            value=0.0,
            limit=1.0,
            why=f"no stretch is settled in speed, current, torque and thrust.{slow}",
            do="log faster (20 rows a second are good), or hold each step for "
            f"{1.2 * needed:.0f} s."
            if is_slow
            else "hold each throttle step for ten to twenty seconds.",
        )


def _signs(points: Sequence[Point]) -> Iterator[Finding]:
    for name in ("torque", "thrust", "current", "voltage"):
        values = [
            (value, point.scatter[name])
            for point in points
            if (value := getattr(point, name)) is not None
        ]
        wrong = [value for value, scatter in values if value < -_SIGMAS * scatter]
        if values and len(wrong) > len(values) / 2:
            yield Finding(
                name=f"sign of {name}: lowest steady reading",
                status="stop",
                value=min(wrong),
                limit=0.0,
                why=f"{len(wrong)} of {len(values)} steady segments are below zero.",
                do=f"turn the sensor round, or say sign = -1 for columns.{name} in the column map.",
            )


def _power(log: BenchLog, points: Sequence[Point]) -> Iterator[Finding]:
    """Yield a finding where more comes out than goes in."""
    worst: tuple[float, float] | None = None
    for point in points:
        shaft, supply = point.shaft_power, point.supply_power
        if shaft is None or not supply or supply <= 0:
            continue
        share = math.hypot(*(span_of(name, log.stand) for name in _POWER_CHANNELS))
        ratio = shaft / supply
        if worst is None or ratio > worst[0]:
            worst = ratio, 1 + _SIGMAS * share
    if worst is not None:
        is_wrong = worst[0] > worst[1]
        yield Finding(
            name="shaft power over supply power, largest",
            status="stop" if is_wrong else "ok",
            value=worst[0],
            limit=worst[1],
            bound="at most",
            why="more comes out of the shaft than the supply gives: torque or speed read too much, "
            "or voltage or current too little." if is_wrong else "below 1, as it must be.",
            do="check the arm of the torque cell, the marks per turn of the counter, and the units."
            if is_wrong
            else "",
        )  # fmt: skip


_POWER_CHANNELS = ("torque", "speed", "voltage", "current")


def _zero_drift(log: BenchLog, points: Sequence[Point]) -> Iterator[Finding]:
    for name, zero in log.zeros.items():
        tops = [abs(value) for point in points if (value := getattr(point, name)) is not None]
        if not tops:
            continue
        if zero.stretches > 1:
            share = abs(zero.last - zero.first) / max(tops) if max(tops) > 0 else 0.0
            status = "stop" if share > _DRIFT_STOP else "watch" if share > _DRIFT_WATCH else "ok"
            yield Finding(
                name=f"drift of the zero of {name} over the log, share of its largest reading",
                status=status,  # type: ignore[arg-type]  # mypy joins the literals to str
                value=share,
                limit=_DRIFT_WATCH,
                why=f"{zero.first:.4g} at first, {zero.last:.4g} at last; half of it is in the "
                "uncertainty of every point.",
                do="" if status == "ok" else "let the cells warm up for ten minutes, keep the "
                "motor's air off them, and log rests between the steps.",
            )  # fmt: skip
        if name == "current" and not zero.is_taken_off and abs(zero.first) > _CURRENT_ZERO:
            yield Finding(
                name="current at rest, A",
                status="watch",
                value=zero.first,
                limit=math.copysign(_CURRENT_ZERO, zero.first),
                why="a controller takes some hundredths at rest; more is the zero of the sensor.",
                do="say tare = true for columns.current in the column map, if nothing else hangs "
                "on the supply.",
            )


def _aliasing(log: BenchLog, points: Sequence[Point]) -> Iterator[Finding]:
    """Yield a finding where once-per-turn vibration looks like a constant.

    |n − k f_s| · length of the segment < 1: less than one beat, so that it does not average out.
    """
    rate = 1 / float(np.median(np.diff(log.time)))
    caught: list[tuple[float, float]] = []
    for point in points:
        turns = (point.speed or 0.0) / (2 * math.pi)
        k = round(turns / rate)
        length = point.segment.end - point.segment.start
        if k and abs(turns - k * rate) * length < 1:
            caught.append((turns, k * rate))
    if caught:
        turns, multiple = caught[0]
        yield Finding(
            name=f"turns per second beside {multiple:.4g}, a multiple of the sample rate",
            status="watch",
            value=turns,
            why=f"in {len(caught)} of {len(points)} segments; vibration once in a turn reads as a "
            "steady offset of thrust and torque there.",
            do="take these steps again a few per cent faster or slower, or log at another rate.",
        )


def _lags(log: BenchLog, segments: Sequence[Segment]) -> Iterator[Finding]:
    """Yield findings where thrust follows the square of the speed late, or early.

    The thrust of a propeller that stands still goes with ω². Only spans around changes count.
    """
    changes = [segment for segment in segments if segment.kind in {"spin-up", "slowing"}]
    if not changes or not log.valid("speed").any():
        return
    for name in ("thrust", "torque"):
        if not log.valid(name).any():
            continue
        found = [lag for segment in changes if (lag := _lag(log, segment, name)) is not None]
        if not found:
            continue
        lag = float(np.median(found))
        is_late = abs(lag) > _MOST_LAG
        yield Finding(
            name=f"{name} behind the square of the speed, s",
            status="watch" if is_late else "ok",
            value=lag,
            limit=math.copysign(_MOST_LAG, lag),
            why=f"by cross-correlation over {len(found)} changes of speed."
            + (" Steady segments do not suffer; spin-ups and coast-downs do." if is_late else ""),
            do="log all channels by one clock, or take filters of one kind." if is_late else "",
        )


def _lag(log: BenchLog, segment: Segment, channel: Channel) -> float | None:
    """Return by how many s a channel follows ω² around a change; None where no shape is seen."""
    start, end = segment.start - _LAG_REACH, segment.end + _LAG_REACH
    first, last = np.searchsorted(log.time, (start, end))
    time = log.time[first:last]
    if len(time) < _FEWEST_ROWS:
        return None
    step = max(_LAG_STEP, float(np.median(np.diff(time))))
    grid = np.arange(time[0], time[-1], step)
    square = np.interp(grid, time, filled(log.channels["speed"][first:last]) ** 2)
    other = np.interp(grid, time, filled(log.channels[channel][first:last]))
    reach = round(_LAG_REACH / 2 / step)
    if len(grid) < 4 * reach:
        return None
    shifts = np.arange(-reach, reach + 1)
    inner = square[reach:-reach]
    likeness = np.array(
        [_likeness(inner, other[reach + k : len(other) - reach + k]) for k in shifts]
    )
    best = int(np.argmax(likeness))
    if likeness[best] < _LAG_SHAPE or not 0 < best < len(shifts) - 1:
        return None
    before, at, after = likeness[best - 1 : best + 2]
    bend = before - 2 * at + after
    within = 0.5 * (before - after) / bend if bend < 0 else 0.0
    return float((shifts[best] + within) * step)


def _likeness(one: FloatArray, other: FloatArray) -> float:
    a, b = one - one.mean(), other - other.mean()
    size = math.sqrt(float(a @ a) * float(b @ b))
    return float(a @ b) / size if size > 0 else 0.0
