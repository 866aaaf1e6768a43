"""Means with their standard uncertainty where neighbouring samples say the same."""

import math

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.bench.records import Reading

_OUTLIER_SIGMAS = 5.0
"""Beyond which a sample is left out: of normal noise one in two million."""
_MAD_TO_SIGMA = 1.4826
_FEWEST_BLOCKS = 32
"""Of which the scatter is known to an eighth: 1/√(2·31)."""
_FEWEST_SAMPLES = 3


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
