"""Ranges by the profile of the sum: how far a parameter may go while all others follow it.

    z is in the range of 95 % while  min over the others of S(z, …) − S_min ≤ 1.96²

S is the sum of the fit, priors included. Where S is a parabola these are the linearised ranges;
where a figure is small against what moves it (friction), they are not. Source: D. Venzon and
S. Moolgavkar, Appl. Statist. 37 (1988) 87, from memory.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.calibration.fit.fitting import Fit, cost_of, interval, value_of, weights_of
from fem_motor.calibration.planned import COVERAGE
from fem_motor.findings import Finding
from fem_motor.numbers import split_name

ROUNDS, CLOSE = 4, 0.03
"""Steps towards each end, and the error of the root of the sum at which they stop."""

LONGEST = 2.5
"""Times that a step may make the range longer or shorter."""

DIFFERENT = 0.25
"""Share of a half of the range by which the two kinds may differ unsaid."""

STEP = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """A parameter with its range of about 95 %, by the profile and linearised.

    Attributes
    ----------
    name : str
    value, low, high : float
        By the profile.
    straight_low, straight_high : float
        By the covariance.
    low_shift, high_shift : float
        By the profile, in prior standard deviations.
    """

    name: str
    value: float
    low: float
    high: float
    straight_low: float
    straight_high: float
    low_shift: float
    high_shift: float


def ranges_of(found: Fit) -> tuple[Range, ...]:
    """Return the range of every parameter of a fit."""
    return tuple(_range(found, k) for k in range(len(found.parameters)))


def _range(found: Fit, k: int) -> Range:
    parameter, (value, straight_low, straight_high) = found.parameters[k], interval(found, k)
    half = COVERAGE * math.sqrt(float(found.covariance[k, k]))
    low, high = (_end(found, k, side * half) for side in (-1.0, 1.0))
    return Range(
        name=parameter.name,
        value=value,
        low=value_of(parameter, low),
        high=value_of(parameter, high),
        straight_low=straight_low,
        straight_high=straight_high,
        low_shift=low,
        high_shift=high,
    )


def _end(found: Fit, k: int, away: float) -> float:
    """Return where the profile reaches 1.96², first looked for at `away` from the middle."""
    for _ in range(ROUNDS):
        root = math.sqrt(max(_rise(found, k, away), 0.0))
        if abs(root - COVERAGE) <= CLOSE:
            break
        away *= min(max(COVERAGE / max(root, 1e-6), 1 / LONGEST), LONGEST)
    return float(found.shift[k]) + away


def _rise(found: Fit, k: int, away: float) -> float:
    """Return how much the least sum rises with one parameter `away`.

    The others are moved first along the covariance, then by a step of Gauss and Newton where it
    helps.
    """
    place = found.shift + found.covariance[:, k] / found.covariance[k, k] * away
    free = [other for other in range(place.size) if other != k]
    best = cost_of(found.residuals_at(place), place)
    step = _newton_step(found, place, free)
    for share in (1.0, 0.3):
        moved = place.copy()
        moved[free] += share * step
        cost = cost_of(found.residuals_at(moved), moved)
        if cost < best:
            best = cost
            break
    return best - found.cost


def _newton_step(found: Fit, place: FloatArray, free: Sequence[int]) -> FloatArray:
    residuals = found.residuals_at(place)
    columns = []
    for other in free:
        moved = place.copy()
        moved[other] += STEP
        columns.append((found.residuals_at(moved) - residuals) / STEP)
    jacobian = np.array(columns).T.reshape(residuals.size, len(free))
    weighted = jacobian * weights_of(residuals)[:, None]
    information = weighted.T @ jacobian + np.eye(len(free))
    return -np.linalg.solve(information, weighted.T @ residuals + place[free])


def crooked(ranges: Sequence[Range]) -> tuple[Finding, ...]:
    """Return a finding that names the parameters whose ranges are no straight matter."""
    names = [split_name(one.name)[0] for one in ranges if _differs(one)]
    if not names:
        return ()
    return (
        Finding(
            name="ranges that are not symmetric", status="watch",
            value=max(_difference(one) for one in ranges), limit=DIFFERENT,
            why=f"{', '.join(names)}: the range by the profile of the sum differs by more than a "
            "quarter from the one by the covariance. The profile is shown.",
            do="take value and range as they stand, and not as value ± something; a check of that "
            "figure alone (friction: a coast-down) makes it straight.",
        ),
    )  # fmt: skip


def _differs(one: Range) -> bool:
    return _difference(one) > DIFFERENT


def _difference(one: Range) -> float:
    """Return by which share of the half of the straight range the ends differ, at most."""
    halves = (one.value - one.straight_low, one.straight_high - one.value)
    gaps = (one.low - one.straight_low, one.high - one.straight_high)
    return max(abs(gap) / half if half else 0.0 for gap, half in zip(gaps, halves, strict=True))
