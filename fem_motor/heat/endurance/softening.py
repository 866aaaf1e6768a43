"""Seconds until the core softens, from cold, with the range of unknown films and contacts."""

import math
from collections.abc import Sequence

import numpy as np

from fem_motor.findings import Headline
from fem_motor.heat.parts.network import HOTTEST_RISE, Heating, Spread, ThermalNetwork
from fem_motor.heat.states.warming import Threshold, WarmUp, warm_ups


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
    known: Sequence[WarmUp] = (),
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
    known : sequence of WarmUp
        Of the same heating and spread, where they were walked before: those of a `FirstLimit`.

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
    ways = known or warm_ups(network, heating, spread)
    found = [way.first_crossing(core_threshold(way.assembly.network, limit)) for way in ways]
    reached = [crossing.seconds for crossing in found if crossing is not None]
    likely = found[0]
    if likely is None:
        end = ways[0].end
        hottest = math.nan if end is None else core_threshold(network, limit).excess(end) + limit
        reason = f"never: the core ends at {hottest:.0f} °C and softens at {limit:.0f} °C."
        if reached:
            reason += " With poor cooling it softens after the lower figure."
        return Headline(
            value=None, low=min(reached) if reached else None, high=None, because=reason
        )
    return Headline(
        value=likely.seconds,
        low=min(reached),
        high=max(reached) if len(reached) == len(found) else None,
        because=_because(limit, is_core=likely.is_limit, is_sure=len(reached) == len(found)),
    )


def _because(limit: float, *, is_core: bool, is_sure: bool) -> str:
    place = (
        f"core at {limit:.0f} °C where the coil touches it"
        if is_core
        else f"copper risen by {HOTTEST_RISE:.0f} K: the winding burns before the core is soft"
    )
    ranges = f"; {ThermalNetwork.not_known}"
    return place + ranges + ("." if is_sure else "; with good cooling never.")
