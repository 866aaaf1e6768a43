"""Load and rest in turn, for ever: the periodic steady state, and the rest that a load needs.

θ after the load is E₁ θ + r₁, after the rest E₂ θ + r₂ (E, r: matrix exponentials). What repeats
begins each load at θ = (1 − E₂ E₁)⁻¹ (E₂ r₁ + r₂).
"""

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from fem_motor.arrays import FloatArray
from fem_motor.findings import Finding, Headline
from fem_motor.heat.endurance.limits import FAR_ABOVE, all_limits
from fem_motor.heat.parts.network import Assembly, Heating, ThermalNetwork, assemble
from fem_motor.heat.states.steady import steady_rise
from fem_motor.heat.states.stepping import Propagator, propagator
from fem_motor.heat.states.warming import Threshold

ON_SECONDS = (10.0, 30.0, 60.0, 300.0)
"""Lengths of load on the card."""

LONGEST_REST = 1e5
"""s, more than a day: no card asks for more."""

SHORTEST_REST = 1e-3
"""Of the load: less counts as none."""

REST_PRECISION = 5e-3
"""Of a rest, of itself."""

ROUNDS, START_RISE = 2, 20.0
"""Films follow the temperatures of the cycle that often, from those at some K."""

SETTLED = 1e-3
"""K to which a steady state is found."""

AFTER = np.concatenate([[0.0], np.geomspace(1e-5, 1.0, 16)])
"""Shares of the rest at which parts are looked at: teeth go on warming after the copper."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DutyRow:
    """One line of the card: this long on load, at least that long at rest.

    Attributes
    ----------
    on_seconds : float
    rest_seconds : Headline
        0 where the load can stay on; None where no rest is long enough, `because` says why.
    part : str or None
        The part that sets it.
    finding : Finding or None
    """

    on_seconds: float
    rest_seconds: Headline
    part: str | None
    finding: Finding | None = None


def duty_card(
    network: ThermalNetwork,
    heating: Heating,
    *,
    rest: Heating | None = None,
    on_seconds: tuple[float, ...] = ON_SECONDS,
) -> tuple[DutyRow, ...]:
    """Return the rest that each length of load needs so that it can be repeated for ever.

    Parameters
    ----------
    network : ThermalNetwork
    heating : Heating
        On load.
    rest : Heating or None
        Between loads; None: no losses, rotor standing still.
    on_seconds : tuple of float
    """
    idle = rest or Heating(speed=0.0)
    cases = [_Case.of(one, heating, idle) for one in (network, *network.variants())]
    return tuple(_row(cases, on) for on in on_seconds)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cycle:
    """Load and rest in turn with films that stay.

    Attributes
    ----------
    loaded, idle : Propagator
    on : float
        Seconds on load.
    """

    loaded: Propagator
    idle: Propagator
    on: float

    def rises(self, off: float) -> FloatArray | None:
        """Return rises (n, k) of the cycle that repeats with `off` seconds of rest.

        The first column is the end of the load, the last the end of the rest; the highest of each
        part is among them. None: the copper runs away.
        """
        (up, fed), (down, kept) = self.loaded.map(self.on), self.idle.map(off)
        cycle = down @ up
        if np.abs(np.linalg.eigvals(cycle)).max() >= 1:
            return None
        begin = np.linalg.solve(np.eye(fed.size) - cycle, down @ fed + kept)
        return self.idle.rises(up @ begin + fed, off * AFTER)


def cycle_of(
    assembly: Assembly, heating: Heating, rest: Heating, *, on: float, rise: FloatArray
) -> Cycle:
    """Return the cycle with the films at the rises `rise` (n,)."""
    return Cycle(
        loaded=propagator(assembly, heating, rise), idle=propagator(assembly, rest, rise), on=on
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Case:
    """One network on load and at rest, and whether it could stay on load."""

    assembly: Assembly
    threshold: Threshold
    heating: Heating
    rest: Heating
    stays: bool

    @classmethod
    def of(cls, network: ThermalNetwork, heating: Heating, rest: Heating) -> "_Case":
        assembly, threshold = assemble(network), all_limits(network)
        end = steady_rise(assembly, heating, precision=SETTLED)
        stays = end is not None and threshold.excess(end) <= 0
        return cls(assembly=assembly, threshold=threshold, heating=heating, rest=rest, stays=stays)

    def needed(self, on: float) -> tuple[float | None, str | None]:
        """Return the seconds of rest after `on` seconds of load, and the part that sets them.

        None: no rest is enough.
        """
        if self.stays:
            return 0.0, None
        rise = np.full(len(self.assembly.network.parts), START_RISE)
        off: float | None = None
        rises: FloatArray | None = None
        for _ in range(ROUNDS):
            cycle = cycle_of(self.assembly, self.heating, self.rest, on=on, rise=rise)
            off = self._rest_of(cycle)
            rises = cycle.rises(LONGEST_REST if off is None else off)
            if rises is None:
                break
            rise = (rises[:, 0] + rises[:, -1]) / 2
        return off, self._worst(rises)

    def _rest_of(self, cycle: Cycle) -> float | None:
        def excess(log_off: float) -> float:
            rises = cycle.rises(math.exp(log_off))
            return FAR_ABOVE if rises is None else min(self.threshold.excess(rises), FAR_ABOVE)

        shortest, longest = math.log(SHORTEST_REST * cycle.on), math.log(LONGEST_REST)
        if excess(longest) > 0:
            return None
        if excess(shortest) <= 0:
            return 0.0
        return math.exp(brentq(excess, shortest, longest, xtol=REST_PRECISION))

    def _worst(self, rises: FloatArray | None) -> str:
        if rises is None:
            return "copper"
        over = (self.threshold.matrix @ rises).max(axis=1) - self.threshold.allowed
        return self.assembly.network.readings[int(np.argmax(over))]


def _row(cases: list[_Case], on: float) -> DutyRow:
    answers = [case.needed(on) for case in cases]
    likely, part = answers[0]
    found = [seconds for seconds, _ in answers if seconds is not None]
    if likely is None:
        because = f"{part}: beyond the limit within {on:g} s of load, however long the rest."
    elif likely == 0:
        because = "the load can stay on."
    else:
        because = f"{part} first at the limit; {ThermalNetwork.not_known}."
    return DutyRow(
        on_seconds=on,
        rest_seconds=Headline(
            value=likely,
            low=min(found) if found else None,
            high=max(found) if len(found) == len(answers) else None,
            because=because,
        ),
        part=part,
        finding=None if likely is not None else _too_long(on, str(part)),
    )


def _too_long(on: float, part: str) -> Finding:
    return Finding(
        name=f"{on:g} s on load from cold",
        status="stop",
        value=on,
        why=f"{part}: beyond the limit before the time is over, however long the rest.",
        do="load for a shorter time, or less.",
    )
