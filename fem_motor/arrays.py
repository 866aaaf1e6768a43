"""Array types, and the read-only copies that records hold."""

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
