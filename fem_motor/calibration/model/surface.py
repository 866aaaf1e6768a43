"""A smooth function of a few logarithms, replaced by its second-order expansion.

f(z₀ + d) ≈ f₀ + g·d + ½ dᵀ H d by central differences. Drives are solved a dozen times for a
point of the log, then a fit of any number of steps costs nothing.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray, frozen

STEP = 0.04
"""Of the logarithms: 4 %."""

Function = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surface:
    """Expansion of m values in k logarithms about a centre.

    Attributes
    ----------
    centre : (k,)
    value : (m,)
    slope : (m, k)
    curvature : (m, k, k)
    """

    centre: FloatArray
    value: FloatArray
    slope: FloatArray
    curvature: FloatArray

    def __post_init__(self) -> None:
        for name in ("centre", "value", "slope", "curvature"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    def at(self, place: FloatArray) -> FloatArray:
        """Return the values (m,) at `place` (k,)."""
        away = place - self.centre
        return np.asarray(self.value + self.slope @ away + (self.curvature @ away) @ away / 2)


def surface(function: Function, centre: FloatArray, *, step: float = STEP) -> Surface:
    """Return the expansion of `function` about `centre`.

    >>> found = surface(lambda z: np.array([z[0] * z[1] + 3 * z[1] ** 2]), np.array([1.0, 2.0]))
    >>> round(float(found.at(np.array([2.0, 4.0]))[0]), 6)
    56.0
    """
    size = centre.size
    unit = step * np.eye(size)
    middle = function(centre)
    up = [function(centre + one) for one in unit]
    down = [function(centre - one) for one in unit]
    slope = np.array([(a - b) / (2 * step) for a, b in zip(up, down, strict=True)]).T
    curvature = np.zeros((middle.size, size, size))
    for i in range(size):
        curvature[:, i, i] = (up[i] + down[i] - 2 * middle) / step**2
        for j in range(i):
            both = function(centre + unit[i] + unit[j])
            mixed = (both - up[i] - up[j] + middle) / step**2
            # One-sided: half of it belongs to the third order, which is left out.
            curvature[:, i, j] = curvature[:, j, i] = mixed
    return Surface(centre=centre, value=middle, slope=slope, curvature=curvature)
