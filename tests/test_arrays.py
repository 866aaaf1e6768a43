"""Waves at other angles keep their size and phase."""

import numpy as np
import pytest

from fem_motor.arrays import FloatArray, resampled


def wave(count: int) -> FloatArray:
    """Return a wave of three orders, (2, n): the second a quarter period on."""
    angle = 2 * np.pi / count * np.arange(count)
    shifts = np.array([[0.0], [np.pi / 2]])
    return np.asarray(
        0.7 + 2.0 * np.cos(angle - shifts) - 0.3 * np.sin(3 * angle) + 0.1 * np.cos(5 * angle)
    )


@pytest.mark.parametrize("count", [12, 16, 24, 36, 47])
def test_a_wave_of_few_orders_is_the_same_function_at_any_number_of_angles(count: int) -> None:
    # Sampling theorem: five orders need more than ten angles.
    assert resampled(wave(16), count) == pytest.approx(wave(count), abs=1e-13)
    assert resampled(wave(15), count) == pytest.approx(wave(count), abs=1e-13)


def test_the_order_of_half_the_angles_keeps_its_size() -> None:
    # Of cos 4θ at eight angles nothing is known of a sine part: it is taken as none.
    eight, many = (2 * np.pi / n * np.arange(n) for n in (8, 40))
    assert resampled(np.cos(4 * eight), 40) == pytest.approx(np.cos(4 * many), abs=1e-13)
