"""Seconds until the core softens, from cold, with the range of unknown films and contacts."""

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from fem_motor.arrays import FloatArray
from fem_motor.findings import Headline
from fem_motor.heat.network import HOTTEST_RISE, Assembly, Heating, Spread, ThermalNetwork, assemble
from fem_motor.heat.steady import steady_rise
from fem_motor.heat.stepping import Step, march

LONGEST = 1e7
"""s, four months: what has not softened by then is in steady state."""


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


def core_threshold(network: ThermalNetwork, temperature_C: float) -> Threshold:
    """Return the threshold of everything made of the core."""
    rows = [network.readings.index(name) for name in network.core_readings]
    allowed = np.full(len(rows), temperature_C - network.surroundings_C)
    return Threshold(matrix=network.reading_matrix[rows], allowed=allowed)


def seconds_until_soft(
    network: ThermalNetwork,
    heating: Heating,
    *,
    softening_C: float | None = None,
    spread: Spread = "corners",
) -> Headline:
    """Return the seconds until the hottest place of the core softens, all parts cold at first.

    The hottest place is most often the slot wall, which the coil touches. The value is None where
    it never happens, with the reason; so is `high` where it need not happen.

    Parameters
    ----------
    network : ThermalNetwork
    heating : Heating
        Losses from second 0 on, by a current that stays.
    softening_C : float or None
        None: the deflection temperature of the core.
    spread : "corners" or "none"
        "none" looks at the likely network alone.

    Examples
    --------
    >>> from fem_motor.design import MotorDesign, starter_design
    >>> from fem_motor.heat import thermal_network
    >>> from fem_motor.winding import wind
    >>> motor = MotorDesign.from_toml(starter_design()).motor
    >>> network = thermal_network(motor, wind(motor))
    >>> answer = seconds_until_soft(network, network.copper_heating(12e6))
    >>> bool(answer.low < answer.value)
    True
    """
    limit = network.softening_C if softening_C is None else softening_C
    if limit is None:
        return Headline(value=None, low=None, high=None, because="never: the core is no plastic.")
    found = [_seconds(one, heating, limit) for one in network.cases(spread)]
    reached = [crossing[0] for crossing in found if crossing is not None]
    if found[0] is None:
        end = steady_rise(assemble(network), heating)
        hottest = math.nan if end is None else core_threshold(network, limit).excess(end) + limit
        reason = f"never: the core ends at {hottest:.0f} °C and softens at {limit:.0f} °C."
        if reached:
            reason += " With poor cooling it softens after the lower figure."
        return Headline(
            value=None, low=min(reached) if reached else None, high=None, because=reason
        )
    return Headline(
        value=found[0][0],
        low=min(reached),
        high=max(reached) if len(reached) == len(found) else None,
        because=_because(limit, is_core=found[0][1], is_sure=len(reached) == len(found)),
    )


def _because(limit: float, *, is_core: bool, is_sure: bool) -> str:
    place = (
        f"core at {limit:.0f} °C where the coil touches it"
        if is_core
        else f"copper risen by {HOTTEST_RISE:.0f} K: the winding burns before the core is soft"
    )
    ranges = "; films within a factor 1.5, contacts of 50 to 200 W/(m² K)"
    return place + ranges + ("." if is_sure else "; with good cooling never.")


def _seconds(network: ThermalNetwork, heating: Heating, limit: float) -> tuple[float, bool] | None:
    """Return the first crossing of `limit` °C by the core, or of what copper survives; or None.

    True: by the core. None: never.
    """
    assembly, threshold = assemble(network), core_threshold(network, limit)
    if threshold.allowed.max() <= 0:
        return 0.0, True
    end = steady_rise(assembly, heating, precision=1e-4)
    if end is not None and threshold.excess(end) <= 0:
        return None
    crossing = first_crossing(assembly, heating, threshold)
    return crossing.seconds, crossing.is_limit


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Crossing:
    """When a limit is passed first, and the rises (n,) of the parts then.

    `is_limit` is False where the copper has risen by 400 K before; the seconds are until then.
    """

    seconds: float
    rise: FloatArray
    is_limit: bool


def first_crossing(assembly: Assembly, heating: Heating, threshold: Threshold) -> Crossing:
    """Return the first crossing, all parts cold at first.

    From cold with constant losses no temperature ever falls, so each step is crossed once.
    """
    start: FloatArray = np.zeros(len(assembly.network.parts))
    rise, time = start, 0.0
    for step in march(assembly, heating, start=start, seconds=LONGEST):
        if threshold.excess(step.end) >= 0:
            inside = _crossing(step, threshold)
            rise = step.law.rises(step.start, inside)
            return Crossing(seconds=step.time + inside, rise=rise, is_limit=True)
        time, rise = step.time + step.seconds, step.end
    return Crossing(seconds=time, rise=rise, is_limit=False)


def _crossing(step: Step, threshold: Threshold) -> float:
    """Return the seconds from the start of a step to the crossing in it."""

    def excess(seconds: float) -> float:
        return threshold.excess(step.law.rises(step.start, seconds))

    if excess(0.0) >= 0:
        return 0.0
    return float(brentq(excess, 0.0, step.seconds, xtol=1e-9 * step.seconds))
