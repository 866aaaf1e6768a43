"""Array types, the read-only copies that records hold, and waves at other angles."""

from typing import Any

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.floating[Any]]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.integer[Any]]
ComplexArray = npt.NDArray[np.complexfloating[Any, Any]]


def frozen(values: Any) -> FloatArray:  # noqa: ANN401  (anything numpy turns into an array)
    """Return a read-only float copy of `values`, any shape.

    >>> frozen([1, 2]).flags.writeable
    False
    """
    array = np.array(values, dtype=np.float64)
    array.flags.writeable = False
    return array


def frozen_integers(values: Any) -> IntArray:  # noqa: ANN401  (anything numpy turns into an array)
    """Return a read-only integer copy of `values`, any shape.

    >>> frozen_integers([1, 2]).dtype.kind
    'i'
    """
    array = np.array(values, dtype=np.int64)
    array.flags.writeable = False
    return array


def resampled(samples: FloatArray, count: int) -> FloatArray:
    """Return one period of `samples` (..., n) as (..., count), by its Fourier series.

    >>> resampled(np.array([1.0, 0.0, -1.0, 0.0]), 8).round(4)[:3].tolist()  # a cosine
    [1.0, 0.7071, 0.0]
    """
    given = samples.shape[-1]
    if given == count:
        return samples
    spectrum = np.fft.rfft(samples)
    if given % 2 == 0 and given < count:
        spectrum[..., -1] /= 2  # shared by +n/2 and −n/2, which now both have a place
    return np.asarray(np.fft.irfft(spectrum, count) * (count / given))
