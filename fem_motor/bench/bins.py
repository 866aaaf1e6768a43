"""A log in short bins: what is slow enough to see, on few enough points to look at all at once."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import BoolArray, FloatArray, IntArray
from fem_motor.bench.records import BenchLog, Channel
from fem_motor.units import RPM

_SHORTEST = 0.25
"""s: at 80 Hz twenty samples, whose mean is quiet; a throttle step is still a step."""
_STEPS_IN_A_BIN = 2.5
"""Usual steps of the clock, at least, so that a bin is seldom empty in a slow log."""
_REST_SPEED_SHARE = 0.02
_REST_SPEED = 60 * RPM
"""rad/s: below one turn in a second a propeller hardly pushes; nor below 2 % of the top speed."""
_REST_CURRENT_SHARE, _REST_CURRENT = 0.01, 0.05
"""Of the largest current, and A: what a controller takes that does not turn the motor."""
_LEAST_REST = 1.0
"""s."""
_WHITE = 6.0
"""Variance of the second difference of white noise, in variances of the noise: 1 + 4 + 1."""
_MAD_TO_SIGMA = 1.4826


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bins:
    """Means over short bins; bins without rows do not exist.

    Attributes
    ----------
    width : float
        s.
    number : (k,)
        Of each bin on the clock, rising; a hole in the log is a jump in it.
    first_row, last_row : (k,)
    mean : mapping of channel to (k,)
        NaN where the bin has no reading.
    """

    width: float
    number: IntArray
    first_row: IntArray
    last_row: IntArray
    mean: Mapping[Channel, FloatArray]

    def __len__(self) -> int:
        return len(self.number)

    def noise(self, channel: Channel) -> float:
        """Return the standard deviation of the bins' means about what changes slowly."""
        second = np.diff(self.mean[channel], 2)
        second = second[np.isfinite(second)]
        if not len(second):
            return 0.0
        return _MAD_TO_SIGMA * float(np.median(np.abs(second))) / math.sqrt(_WHITE)

    def top(self, channel: Channel) -> float:
        """Return the largest level, single bins apart; 0 where there is no reading."""
        values = np.abs(self.mean[channel])
        return float(np.nanpercentile(values, 99)) if np.isfinite(values).any() else 0.0


def bins_of(log: BenchLog) -> Bins:
    """Return a log in bins."""
    step = float(np.median(np.diff(log.time)))
    width = max(_SHORTEST, _STEPS_IN_A_BIN * step)
    number = (log.time / width).astype(np.int64)
    first = np.flatnonzero(np.concatenate(([True], np.diff(number) > 0)))
    last = np.append(first[1:], len(number)) - 1
    mean = {name: _means(values, first) for name, values in log.channels.items()}
    return Bins(width=width, number=number[first], first_row=first, last_row=last, mean=mean)


def _means(values: FloatArray, first: IntArray) -> FloatArray:
    good = np.isfinite(values)
    if good.all():
        counts: IntArray = np.diff(np.append(first, len(values)))
        return np.asarray(np.add.reduceat(values, first) / counts)
    counts = np.add.reduceat(good.astype(np.int64), first)
    sums = np.add.reduceat(np.where(good, values, 0.0), first)
    return np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)


def without_current(bins: Bins) -> BoolArray:
    """Return (k,) of bool: where no current flows but the little that a controller takes itself.

    The zero of the current sensor is its lowest level, where that is near zero; without a current
    nothing is known, and all are true.
    """
    current = bins.mean.get("current")
    if current is None or not np.isfinite(current).any():
        return np.ones(len(bins), dtype=bool)
    top = bins.top("current")
    lowest = float(np.nanpercentile(current, 1))
    zero = lowest if abs(lowest) < 0.1 * top else 0.0  # a worse sensor is no sensor
    limit = max(_REST_CURRENT_SHARE * top, _REST_CURRENT, 4 * bins.noise("current"))
    return np.asarray(~(np.abs(current - zero) > limit))


def standing(bins: Bins) -> BoolArray:
    """Return (k,) of bool: where the rotor stands, or nothing says that it turns."""
    speed = bins.mean.get("speed")
    if speed is None:
        return without_current(bins)
    return np.asarray(~(speed > max(_REST_SPEED_SHARE * bins.top("speed"), _REST_SPEED)))


def at_rest(bins: Bins) -> BoolArray:
    """Return (k,) of bool: standing without current, the first and last bin of a stretch left out.

    Without speed and current nothing is at rest.
    """
    if "speed" not in bins.mean and "current" not in bins.mean:
        return np.zeros(len(bins), dtype=bool)
    rest = standing(bins) & without_current(bins)
    return rest & _shifted(rest, 1) & _shifted(rest, 2) & _shifted(rest, -1)


def _shifted(flags: BoolArray, by: int) -> BoolArray:
    """Return flags moved later by so many bins (earlier where negative); the ends are true."""
    moved = np.ones_like(flags)
    if by > 0:
        moved[by:] = flags[:-by]
    else:
        moved[:by] = flags[-by:]
    return moved


def stretches(flags: BoolArray, bins: Bins, *, least: float = _LEAST_REST) -> list[tuple[int, int]]:
    """Return the first and last bin of each run of true flags of `least` seconds, without holes."""
    if not len(flags):
        return []
    joins = flags[1:] & flags[:-1] & (np.diff(bins.number) == 1)
    starts = np.flatnonzero(flags & ~np.concatenate(([False], joins)))
    ends = np.flatnonzero(flags & ~np.concatenate((joins, [False])))
    bins_needed = least / bins.width
    return [(int(a), int(b)) for a, b in zip(starts, ends, strict=True) if b - a + 1 >= bins_needed]
