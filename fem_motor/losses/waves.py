"""What a wave of flux density says about loss: how fast it changes, and how far it swings."""

import math

import numpy as np

from fem_motor.arrays import FloatArray

SINE_EXCESS = math.gamma(1.25) / (math.sqrt(math.pi) * math.gamma(1.75))
"""Mean of |cos|^1.5 over a period, 0.5564: what the excess loss of a sine is measured by."""


def rates(values: FloatArray, *, step: float, is_closed: bool) -> FloatArray:
    """Return the derivative over the angle of samples along the last axis.

    Parameters
    ----------
    values : (…, n)
    step : float
        Between samples, rad.
    is_closed : bool
        Whether the samples are one period: the derivative is then that of their Fourier series,
        (…, n), all harmonics counted; else it is that between neighbours, (…, n − 1).
    """
    if not is_closed:
        return np.asarray(np.diff(values) / step)
    number = values.shape[-1]
    spectrum = np.fft.rfft(values) * 2j * np.pi * np.fft.rfftfreq(number, 1 / number)
    if number % 2 == 0:
        spectrum[..., -1] = 0  # the sawtooth has no derivative on the samples
    return np.asarray(np.fft.irfft(spectrum, number) / (number * step))


def square(vectors: FloatArray) -> FloatArray:
    """Return |v|², (k, m, n), of vectors, (k, 2, m, n)."""
    return np.asarray(np.sum(vectors**2, axis=1))


def swings(flux_density: FloatArray) -> FloatArray:
    """Return half the swing of B along the long and the short axis of its locus, (k, 2, m) T.

    The axes are those of the mean of B Bᵀ: where B alternates, the second swing is 0; where it
    turns evenly, both are its size.

    Parameters
    ----------
    flux_density : (k, 2, m, n) T
    """
    B_x, B_y = np.moveaxis(flux_density - flux_density.mean(axis=-1, keepdims=True), 1, 0)
    twice = 2 * np.mean(B_x * B_y, axis=-1)
    turn = np.arctan2(twice, np.mean(B_x**2 - B_y**2, axis=-1)) / 2
    cosine, sine = np.cos(turn)[..., None], np.sin(turn)[..., None]
    along, across = B_x * cosine + B_y * sine, B_y * cosine - B_x * sine
    return np.stack([np.ptp(along, axis=-1), np.ptp(across, axis=-1)], axis=1) / 2
