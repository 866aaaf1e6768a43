"""Means over short bins and over segments; rest and standstill."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import BoolArray, FloatArray, IntArray
from fem_motor.bench.records import BenchLog, Channel, Reading

_SHORTEST = 0.25
"""s: at 80 Hz twenty samples, whose mean is quiet; a throttle step is still a step."""
_STEPS_IN_A_BIN = 2.5
"""Usual steps of the clock, at least, so that a bin is seldom empty in a slow log."""
_REST_SPEED_SHARE = 0.02
REST_SPEED = 2 * math.pi
"""rad/s: below one turn in a second a propeller hardly pushes; nor below 2 % of the top speed."""
_REST_CURRENT_SHARE, _REST_CURRENT = 0.01, 0.05
"""Of the largest current, and A: what a controller takes that does not turn the motor."""
_LEAST_REST = 1.0
"""s."""
_WHITE = 6.0
"""Variance of the second difference of white noise, in variances of the noise: 1 + 4 + 1."""
_MAD_TO_SIGMA = 1.4826
_OUTLIER_SIGMAS = 5.0
"""Beyond which a sample is left out: of normal noise one in two million."""
_FEWEST_BLOCKS = 32
"""Of which the scatter is known to an eighth: 1/√(2·31)."""
_FEWEST_SAMPLES = 3


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
    top : mapping of channel to float
        The largest level, single bins apart; 0 where there is no reading.
    """

    width: float
    number: IntArray
    first_row: IntArray
    last_row: IntArray
    mean: Mapping[Channel, FloatArray]
    top: Mapping[Channel, float]

    def __len__(self) -> int:
        return len(self.number)

    def noise(self, channel: Channel) -> float:
        """Return the standard deviation of the bins' means about what changes slowly."""
        second = np.diff(self.mean[channel], 2)
        second = second[np.isfinite(second)]
        if not len(second):
            return 0.0
        return _MAD_TO_SIGMA * float(np.median(np.abs(second))) / math.sqrt(_WHITE)


def bins_of(log: BenchLog) -> Bins:
    """Return a log in bins."""
    width = bin_width(log)
    number = (log.time / width).astype(np.int64)
    first = np.flatnonzero(np.concatenate(([True], np.diff(number) > 0)))
    last = np.append(first[1:], len(number)) - 1
    mean = {name: _means(values, first) for name, values in log.channels.items()}
    return Bins(
        width=width,
        number=number[first],
        first_row=first,
        last_row=last,
        mean=mean,
        top={name: _top(values) for name, values in mean.items()},
    )


def bin_width(log: BenchLog) -> float:
    """Return the width of a bin, s: a slow log has wide ones."""
    step = float(np.median(np.diff(log.time)))
    return max(_SHORTEST, _STEPS_IN_A_BIN * step)


def _top(values: FloatArray) -> float:
    return float(np.nanpercentile(np.abs(values), 99)) if np.isfinite(values).any() else 0.0


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
    top = bins.top["current"]
    lowest = float(np.nanpercentile(current, 1))
    zero = lowest if abs(lowest) < 0.1 * top else 0.0  # a worse sensor is no sensor
    limit = max(_REST_CURRENT_SHARE * top, _REST_CURRENT, 4 * bins.noise("current"))
    return np.asarray(~(np.abs(current - zero) > limit))


def standing(bins: Bins) -> BoolArray:
    """Return (k,) of bool: where the rotor stands, or nothing says that it turns."""
    speed = bins.mean.get("speed")
    if speed is None:
        return without_current(bins)
    return np.asarray(~(speed > max(_REST_SPEED_SHARE * bins.top["speed"], REST_SPEED)))


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


def reading_of(time: FloatArray, values: FloatArray) -> Reading | None:
    """Return mean, uncertainty and drift of a channel over a segment; None with under 3 samples.

    u² = max over block lengths 1, 2, 4 … of (variance of the block means) / (number of blocks),
    of the samples without their straight drift. Where samples are independent all lengths give
    the same; where they are not the short ones give too little, and the largest is taken.

    Source: Flyvbjerg and Petersen, J. Chem. Phys. 91 (1989) 461 (blocking); JCGM 100:2008, 4.2.
    """
    good = np.isfinite(values)
    if not good.all():
        time, values = time[good], values[good]
    if len(values) < _FEWEST_SAMPLES:
        return None
    centre = float(np.median(values))
    off = np.abs(values - centre)
    sigma = _MAD_TO_SIGMA * float(np.median(off))
    if sigma > 0 and off.max() > _OUTLIER_SIGMAS * sigma:
        inside = off <= _OUTLIER_SIGMAS * sigma
        time, values = time[inside], values[inside]
    mean = float(values.mean())
    drift, rest = _detrended(time, values, mean)
    scatter = float(rest @ rest) / (len(rest) - 1)
    uncertainty = math.sqrt(_variance_of_mean(rest))
    independent = scatter / uncertainty**2 if uncertainty > 0 else float(len(rest))
    return Reading(
        mean=mean,
        uncertainty=uncertainty,
        samples=len(values),
        independent_samples=min(max(independent, 1.0), float(len(values))),
        drift=drift,
    )


def _detrended(time: FloatArray, values: FloatArray, mean: float) -> tuple[float, FloatArray]:
    """Return slope and what is left without mean and slope."""
    since = time - time.mean()
    spread = float(since @ since)
    drift = float(since @ (values - mean)) / spread if spread > 0 else 0.0
    return drift, values - mean - drift * since


def _variance_of_mean(rest: FloatArray) -> float:
    largest, blocks = 0.0, rest
    fewest = min(_FEWEST_BLOCKS, len(rest))
    while len(blocks) >= fewest:
        squares = float(blocks @ blocks) - len(blocks) * float(blocks.mean()) ** 2
        largest = max(largest, squares / (len(blocks) - 1) / len(blocks))
        even = len(blocks) // 2 * 2
        blocks = 0.5 * (blocks[0:even:2] + blocks[1:even:2])
        if even < 2 * _FEWEST_SAMPLES:
            break
    return largest
