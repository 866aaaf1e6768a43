"""The way from cold under losses that stay, walked once for all limits that are asked for."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from scipy.optimize import brentq

from fem_motor.arrays import FloatArray
from fem_motor.heat.parts.network import (
    HOTTEST_RISE,
    Assembly,
    Heating,
    Spread,
    ThermalNetwork,
    assemble,
)
from fem_motor.heat.states.steady import steady_rise
from fem_motor.heat.states.stepping import Step, march

LONGEST = 1e7
"""s, four months: what has not reached a limit by then is in steady state."""

SETTLED = 1e-4
"""K to which the steady state is found that tells whether a limit is reached at all."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Threshold:
    """Readings that must stay below a temperature each.

    Attributes
    ----------
    matrix : (k, n)
        Readings of the rises of parts.
    allowed : (k,)
        K above the surroundings.
    """

    matrix: FloatArray
    allowed: FloatArray

    def excess(self, rise: FloatArray) -> float:
        """Return by how much the worst reading is above its limit, K; rises (n,) or (n, t)."""
        over = self.matrix @ rise
        return float((over - self.allowed.reshape(-1, *(1,) * (over.ndim - 1))).max())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Crossing:
    """When a limit is passed first, and the rises (n,) of the parts then.

    `is_limit` is False where the copper has risen by 400 K before; the seconds are until then.
    """

    seconds: float
    rise: FloatArray
    is_limit: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class WarmUp:
    """Temperatures from cold on; steps are taken when they are first needed, and kept.

    Attributes
    ----------
    assembly : Assembly
    heating : Heating
        From second 0 on, by a current that stays.
    """

    assembly: Assembly
    heating: Heating
    _steps: list[Step] = field(default_factory=list)

    @cached_property
    def end(self) -> FloatArray | None:
        """Rises in steady state (n,); None where the copper runs away."""
        return steady_rise(self.assembly, self.heating, precision=SETTLED)

    @cached_property
    def _ahead(self) -> Iterator[Step]:
        cold = np.zeros(len(self.assembly.network.parts))
        return march(self.assembly, self.heating, start=cold, seconds=LONGEST)

    def _walk(self) -> Iterator[Step]:
        yield from self._steps
        for step in self._ahead:
            self._steps.append(step)
            yield step

    def first_crossing(self, threshold: Threshold) -> Crossing | None:
        """Return the first crossing of a threshold; None: never.

        From cold with constant losses no temperature ever falls, so each step is crossed once.
        """
        rise: FloatArray = np.zeros(len(self.assembly.network.parts))
        if threshold.allowed.min() <= 0:
            return Crossing(seconds=0.0, rise=rise, is_limit=True)
        if self.end is not None and threshold.excess(self.end) <= 0:
            return None
        burnt = Threshold(matrix=np.eye(rise.size), allowed=np.full(rise.size, HOTTEST_RISE))
        seconds = 0.0
        for step in self._walk():
            for limit in (threshold, burnt):
                if limit.excess(step.end) >= 0:
                    inside = _crossing(step, limit)
                    rise = step.law.rises(step.start, inside)
                    found = step.time + inside
                    return Crossing(seconds=found, rise=rise, is_limit=limit is threshold)
            seconds, rise = step.time + step.seconds, step.end
        return Crossing(seconds=seconds, rise=rise, is_limit=False)


def warm_ups(network: ThermalNetwork, heating: Heating, spread: Spread) -> tuple[WarmUp, ...]:
    """Return that of the likely network, and those at the ends of the ranges where asked for."""
    return tuple(WarmUp(assembly=assemble(one), heating=heating) for one in network.cases(spread))


def _crossing(step: Step, threshold: Threshold) -> float:
    """Return the seconds from the start of a step to the crossing in it."""

    def excess(seconds: float) -> float:
        return threshold.excess(step.law.rises(step.start, seconds))

    if excess(0.0) >= 0:
        return 0.0
    return float(brentq(excess, 0.0, step.seconds, xtol=1e-9 * step.seconds))
