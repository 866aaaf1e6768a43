"""Ranges by the profile of the sum: straight where the sum is a parabola, right where it is not."""

import numpy as np
import pytest

from fem_motor.arrays import FloatArray
from fem_motor.calibration.fit.fitting import Fit, fit_at, solved
from fem_motor.calibration.fit.profile import crooked, ranges_of
from fem_motor.calibration.records import Parameter


def fitted(residuals: object, count: int) -> Fit:
    parameters = [
        Parameter(name=f"{name}_mm", prior=1.0, spread=1.0, because="", scale="difference")
        for name in "abcd"[:count]
    ]
    best = solved(residuals, np.zeros(count))  # type: ignore[arg-type]
    return fit_at(residuals, parameters, best, figures={})  # type: ignore[arg-type]


def test_a_straight_model_has_the_ranges_of_its_covariance() -> None:
    # Closed form: (JᵀJ + 1)⁻¹ with residuals far below where they begin to count less.
    matrix = np.array([[2.0, 1.0, 0.3], [0.1, 3.0, -1.0]])

    def residuals(shift: FloatArray) -> FloatArray:
        return 1e-2 * (matrix @ shift - np.array([0.3, -0.2]))

    found = fitted(residuals, 3)
    spread = np.sqrt(np.diag(np.linalg.inv(1e-4 * matrix.T @ matrix + np.eye(3))))
    for one, sigma in zip(ranges_of(found), spread, strict=True):
        assert one.high - one.value == pytest.approx(1.96 * sigma, rel=0.02)
        assert one.value - one.low == pytest.approx(1.96 * sigma, rel=0.02)
    assert crooked(ranges_of(found)) == ()


def test_a_figure_that_vanishes_in_the_noise_has_a_longer_lower_range() -> None:
    # One reading e^x of 1 with a standard uncertainty of 0.5 and a prior of 1 about x = 0. The
    # ends solve ρ((e^x − 1)/0.5) + x² = 1.96² : by bisection, a second method.
    def residuals(shift: FloatArray) -> FloatArray:
        return np.array([(np.exp(shift[0]) - 1) / 0.5])

    def total(x: float) -> float:
        r = (np.exp(x) - 1) / 0.5
        return float(18 * (np.sqrt(1 + (r / 3) ** 2) - 1) + x * x)

    ends = []
    for low, high in ((-5.0, 0.0), (0.0, 5.0)):
        inside, outside = (high, low) if low < 0 else (low, high)
        for _ in range(60):
            middle = (inside + outside) / 2
            inside, outside = (middle, outside) if total(middle) < 1.96**2 else (inside, middle)
        ends.append(inside)
    (one,) = ranges_of(fitted(residuals, 1))
    assert (one.low_shift, one.high_shift) == pytest.approx(ends, rel=0.03)
    assert -one.low_shift > 1.25 * one.high_shift
    (said,) = crooked([one])
    assert said.status == "watch"
    assert "a: the range by the profile" in said.why
