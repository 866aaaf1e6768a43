"""Stretches of a log by what the motor does in them: settled, standing, speeding up, slowing."""

import math
from collections.abc import Mapping
from itertools import pairwise

import numpy as np

from fem_motor.arrays import BoolArray, FloatArray
from fem_motor.bench.bins import (
    Bins,
    at_rest,
    bin_width,
    bins_of,
    reading_of,
    standing,
    stretches,
    without_current,
)
from fem_motor.bench.channels.cleaning import filled
from fem_motor.bench.records import BenchLog, Channel, Kind, Reading, Segment

_STEEPEST: Mapping[Channel, float] = {
    "speed": 0.005,
    "current": 0.015,
    "torque": 0.015,
    "thrust": 0.015,
    "line_voltage_rms": 0.005,
}
"""Largest relative slope of a settled channel, 1/s.

Half a per cent in a second is common practice for the speed; a propeller's current, torque and
thrust go with its second to third power. A winding that warms up changes the speed by some
hundredths of a per cent in a second, a throttle step by tens.
"""
_LEAST_LEVEL = 0.05
"""Of the top level: below it a relative slope is one of noise."""
_WINDOW = 2.0
"""s over which a slope is taken; the last two seconds of a step are the usual choice by hand."""
_FEWEST_BINS = 5
_SLOPE_SIGMAS = 4.0
_LEAST_STEADY = 2.0
"""s."""
_LEAST_SAMPLES = 10
_LONGEST_STEADY = 60.0
"""s after which a settled stretch is cut, so that warming up shows as a row of points."""
_MOST_DRIFT: Mapping[Channel, float] = {"speed": 0.01, "current": 0.03}
"""Relative change within one segment beyond which it is cut."""
_LEAST_CHANGE = 0.03
"""Of the top speed: a smaller change is no spin-up or coast-down."""


def steady_segments(log: BenchLog) -> tuple[Segment, ...]:
    """Return the segments of a log in order of time, all kinds.

    What is neither settled, standing nor clearly changing speed belongs to none.
    """
    bins = bins_of(log)
    rest = at_rest(bins)
    settled = _settled(bins) & ~standing_idle(bins)
    spans: list[tuple[int, int, Kind]] = [(a, b, "idle") for a, b in stretches(rest, bins)]
    for first, last in stretches(settled, bins, least=_LEAST_STEADY):
        spans += [(a, b, "steady") for a, b in _cut(first, last, bins)]
    if "speed" in bins.mean:
        spans += _changes(bins, busy=_covered(spans, len(bins)))
    found = (_segment(log, bins, a, b, kind) for a, b, kind in sorted(spans))
    return tuple(segment for segment in found if segment is not None)


def shortest_step(log: BenchLog) -> float:
    """Return the s that a throttle step has to last at least to be seen as settled in this log.

    The window of a slope, and a bin at each end that has some of the change in it.
    """
    width = bin_width(log)
    return max(_WINDOW, _FEWEST_BINS * width) + 2 * width


def standing_idle(bins: Bins) -> BoolArray:
    """Return where the rotor stands and no current flows, ends of the stretches included."""
    if "speed" not in bins.mean and "current" not in bins.mean:
        return np.zeros(len(bins), dtype=bool)
    return standing(bins) & without_current(bins)


def _covered(spans: list[tuple[int, int, Kind]], count: int) -> BoolArray:
    covered = np.zeros(count, dtype=bool)
    for first, last, _ in spans:
        covered[first : last + 1] = True
    return covered


def _half_window(bins: Bins) -> int:
    return max(round(_WINDOW / bins.width), _FEWEST_BINS) // 2


def _slope(values: FloatArray, bins: Bins) -> FloatArray:
    """Return the slope of the line through the bins around each, per s; NaN near ends and holes.

    slope = Σ j x_j / (Σ j² · width), j = −h … h.
    """
    half = _half_window(bins)
    slope = np.full(len(values), np.nan)
    if len(values) <= 2 * half:
        return slope
    j = np.arange(-half, half + 1)
    weights = j / (float(j @ j) * bins.width)
    inner = np.convolve(values, weights[::-1], mode="valid")
    is_whole = bins.number[2 * half :] - bins.number[: -2 * half] == 2 * half
    slope[half:-half] = np.where(is_whole, inner, np.nan)
    return slope


def _settled(bins: Bins) -> BoolArray:
    """Return where no watched channel has a slope beyond its limit and its noise."""
    half = _half_window(bins)
    j = np.arange(-half, half + 1)
    steady = np.ones(len(bins), dtype=bool)
    watched = [name for name in _STEEPEST if name in bins.mean and bins.top[name] > 0]
    for name in watched:
        level = np.maximum(np.abs(filled(bins.mean[name])), _LEAST_LEVEL * bins.top[name])
        noise = bins.noise(name) / (bins.width * math.sqrt(float(j @ j)))
        limit = _STEEPEST[name] * level + _SLOPE_SIGMAS * noise
        slope = _slope(filled(bins.mean[name]), bins)
        steady &= np.abs(slope) <= limit  # False where NaN
    if not watched:
        return np.zeros(len(bins), dtype=bool)
    return _widened(steady, half - 1, bins)


def _widened(flags: BoolArray, by: int, bins: Bins) -> BoolArray:
    """Return flags with as many bins more at both ends of each run: its windows reach that far."""
    wide = flags.copy()
    for shift in range(1, by + 1):
        together = bins.number[shift:] - bins.number[:-shift] == shift
        wide[shift:] |= flags[:-shift] & together
        wide[:-shift] |= flags[shift:] & together
    return wide


def _cut(first: int, last: int, bins: Bins) -> list[tuple[int, int]]:
    """Return a settled stretch in equal parts that are short and drift little."""
    parts = (last - first + 1) * bins.width / _LONGEST_STEADY
    for name, most in _MOST_DRIFT.items():
        if name in bins.mean:
            ends = _ends(bins.mean[name][first : last + 1])
            if ends is not None and bins.top[name] > 0:
                level = max(abs(ends[0]), _LEAST_LEVEL * bins.top[name])
                parts = max(parts, abs(ends[1] - ends[0]) / level / most)
    longest_possible = (last - first + 1) * bins.width / _LEAST_STEADY
    count = max(1, math.ceil(min(parts, longest_possible / 2)))
    edges = np.linspace(first, last + 1, count + 1).round().astype(int).tolist()
    return [(a, b - 1) for a, b in pairwise(edges)]


def _ends(values: FloatArray) -> tuple[float, float] | None:
    """Return the level at the beginning and at the end, each over a fifth."""
    good = values[np.isfinite(values)]
    if len(good) < _FEWEST_BINS:
        return None
    some = max(len(good) // 5, 1)
    return float(np.median(good[:some])), float(np.median(good[-some:]))


def _changes(bins: Bins, *, busy: BoolArray) -> list[tuple[int, int, Kind]]:
    """Return the spans in which the speed rises or falls clearly."""
    speed = filled(bins.mean["speed"])
    step = np.diff(speed, prepend=speed[:1])
    noise = bins.noise("speed")
    rising = step > 3 * noise
    falling = step < -3 * noise
    free = ~busy & ~standing_idle(bins)
    idle_current = without_current(bins) & ("current" in bins.mean)
    spans: list[tuple[int, int, Kind]] = []
    kinds: tuple[tuple[Kind, BoolArray], ...] = (
        ("spin-up", rising & free),
        ("coast-down", falling & free & idle_current),
        ("slowing", falling & free & ~idle_current),
    )
    for kind, flags in kinds:
        for first, last in stretches(flags, bins, least=2 * bins.width):
            before = max(first - 1, 0)
            if abs(speed[last] - speed[before]) > _LEAST_CHANGE * bins.top["speed"]:
                spans.append((first, last, kind))
    return spans


def _segment(log: BenchLog, bins: Bins, first: int, last: int, kind: Kind) -> Segment | None:
    """Return the segment of a span of bins; None for a settled one with too few samples."""
    a, b = int(bins.first_row[first]), int(bins.last_row[last])
    rows = slice(a, b + 1)
    if kind == "steady" and b - a + 1 < _LEAST_SAMPLES:
        return None
    time = log.time[rows]
    readings: dict[Channel, Reading] = {}
    for name, values in log.channels.items():
        reading = reading_of(time, values[rows])
        if reading is not None:
            readings[name] = reading
    return Segment(
        kind=kind,
        start=float(time[0]),
        end=float(time[-1]),
        first_row=a,
        last_row=b,
        readings=readings,
    )
