"""The largest load that every part survives: for good, or for some seconds from cold."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import numpy as np
from scipy.optimize import brentq

from fem_motor.arrays import FloatArray
from fem_motor.errors import InputError
from fem_motor.findings import Finding, Headline
from fem_motor.heat.parts.network import Assembly, Heating, Spread, ThermalNetwork, assemble
from fem_motor.heat.states.steady import steady_rise
from fem_motor.heat.states.stepping import propagator
from fem_motor.heat.states.warming import Threshold, WarmUp, warm_ups

Load = Callable[[float], Heating]
"""Losses at a load level, the speed there included; the level is what the caller likes: watts."""

PRECISION = 1e-5
"""Of a load level, of itself, within which it is bracketed; the last step is far closer."""

BURST_ROUNDS = 2
"""Films of a burst are those half-way up, found from those of the cold motor."""

SETTLED = 1e-3
"""K to which a steady state is found in the search."""

FAR_ABOVE = 1e3
"""K above a limit, said of a state that does not exist; also times what a part may rise."""

USUAL_GROWTH = 1.6
"""Power of the level with which rises grow, to guess where the limit is: losses go with up to its
square, films get better."""

BEYOND = 1.04
"""Times the guess at which the limit is looked for, so that it lies between."""

LEAST_SHARE = 1e-3
"""Of the highest level, squared: below it no load is looked for."""

NOTHING = 1e-3
"""Of the highest level: less is as good as no load at all."""

NO_SHARE = 1e-12
"""Stands for no rise at all where logarithms are taken."""

SOAK = np.geomspace(0.01, 10.0, 10)
"""Times after a burst at which the parts are looked at, over its length."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadLimit:
    """The largest load level and what stops it.

    Attributes
    ----------
    level : Headline
        In the caller's measure. None where even no load is too much.
    part : str or None
        The part that is at its limit; None: none up to the highest level.
    other_parts : tuple of str
        Those at their limits first with films, contacts and mount at the ends of their ranges.
    findings : tuple of Finding
    """

    level: Headline
    part: str | None
    other_parts: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


def load_limit(
    network: ThermalNetwork,
    load: Load,
    *,
    highest: float,
    seconds: float | None = None,
    spread: Spread = "corners",
    measure: str = "load level",
) -> LoadLimit:
    """Return the largest load at which no part of `network` passes its limit.

    Parameters
    ----------
    load : callable
        `Heating` at a level from 0 to `highest`, its losses rising with it; called fifty times.
    highest : float
        Largest level to look at, in the caller's measure.
    seconds : float or None
        Length of a burst from cold; heat that soaks from the copper into the core afterwards, the
        rotor at rest, counts. None: for good.
    spread : "corners" or "none"
        "none" looks at the likely network alone, five times as fast: `low` and `high` are its.
    measure : str
        The caller's, with its unit, for the finding: "shaft power, W".

    Raises
    ------
    InputError
        `highest` or `seconds` not above 0.
    """
    for name, value in (("highest", highest), ("seconds", 1.0 if seconds is None else seconds)):
        if not (math.isfinite(value) and value > 0):
            raise InputError(
                f"= {value} is impossible.",
                why="a load limit is looked for above 0.",
                do="give a number above 0.",
                place=name,
            )
    found: list[float | None] = []
    parts: list[str | None] = []
    for one in network.cases(spread):
        guess = (found[0] if found else None) or highest / 16
        level = _largest(_share_of(one, load, seconds), highest, guess)
        found.append(level)
        parts.append(None if level == highest else _hottest(one, load(level or 0.0), seconds))
    levels = [level or 0.0 for level in found]
    likely, part = found[0], parts[0]
    others = tuple(sorted({one for one in parts if one is not None and one != part}))
    share = None if likely is None else likely / highest
    return LoadLimit(
        level=Headline(
            value=likely,
            low=min(levels) if likely is not None else None,
            high=max(levels) if likely is not None else None,
            because=_because(part, others, seconds, share=share),
        ),
        other_parts=others,
        part=part,
        findings=_unlimited(highest, measure) if likely == highest else (),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstLimit:
    """When the first part passes its limit, and which; both None where none ever does.

    Attributes
    ----------
    seconds : Headline
    part : str or None
    temperatures_C : mapping of part to °C
        At that moment; empty where it never comes.
    ways : tuple of WarmUp
        As far as they were walked, for more questions.
    """

    seconds: Headline
    part: str | None
    temperatures_C: Mapping[str, float]
    ways: tuple[WarmUp, ...]


def seconds_until_limit(
    network: ThermalNetwork, heating: Heating, *, spread: Spread = "corners"
) -> FirstLimit:
    """Return the seconds from cold until the first part passes its limit, and that part.

    Parameters
    ----------
    network : ThermalNetwork
    heating : Heating
        Losses from second 0 on, by a current that stays.
    spread : "corners" or "none"
        "none" looks at the likely network alone.
    """
    ways = warm_ups(network, heating, spread)
    found = [way.first_crossing(all_limits(way.assembly.network)) for way in ways]
    reached = [crossing.seconds for crossing in found if crossing is not None]
    sure, likely = len(reached) == len(found), found[0]
    if likely is None:
        because = "never: no part passes its limit" + (
            "." if not reached else "; poor cooling may."
        )
        low = min(reached) if reached else None
        return FirstLimit(
            seconds=Headline(value=None, low=low, high=None, because=because),
            part=None,
            temperatures_C=MappingProxyType({}),
            ways=ways,
        )
    readings = network.surroundings_C + network.reading_matrix @ likely.rise
    part = network.readings[int(np.argmax(readings - network.limit_array))]
    because = f"{part}: first at the limit; {ThermalNetwork.not_known}"
    return FirstLimit(
        seconds=Headline(
            value=likely.seconds,
            low=min(reached),
            high=max(reached) if sure else None,
            because=because + ("." if sure else "; with good cooling never."),
        ),
        part=part,
        temperatures_C=MappingProxyType(
            dict(zip(network.readings, readings.tolist(), strict=True))
        ),
        ways=ways,
    )


def _because(
    part: str | None, others: tuple[str, ...], seconds: float | None, *, share: float | None
) -> str:
    """Return what sets a level that is `share` of the highest; None where there is none."""
    span = "for good" if seconds is None else f"for {seconds:g} s from cold"
    if share is None:
        return f"{part}: too hot even without load."
    if share < NOTHING:
        return f"{part}: past the limit {span} however slowly this load turns."
    if part is None:
        may = f"; with poor cooling {' or '.join(others)} may." if others else "."
        return f"no part reaches its limit {span}{may}"
    return f"{part}: first at the limit {span}; {ThermalNetwork.not_known}."


def _unlimited(highest: float, measure: str) -> tuple[Finding, ...]:
    return (
        Finding(
            name=f"{measure}, up to which limits were looked for",
            status="ok",
            value=highest,
            why="no part passes its limit up to there.",
        ),
    )


def _share_of(
    network: ThermalNetwork, load: Load, seconds: float | None
) -> Callable[[float], float]:
    """Return the worst rise over what it may be, at most 1000, as a function of the level."""
    assembly, threshold = assemble(network), all_limits(network)
    allowed, near = threshold.allowed[:, None], None
    if (allowed <= 0).any():
        return lambda _level: FAR_ABOVE

    def share(level: float) -> float:
        nonlocal near
        rises = peak_rises(assembly, load(level), seconds, near=near)
        if rises is None:
            return FAR_ABOVE
        near = rises[:, 0]
        return min(float((threshold.matrix @ rises / allowed).max()), FAR_ABOVE)

    return share


def all_limits(network: ThermalNetwork) -> Threshold:
    """Return the threshold of all parts and walls whose limit is known."""
    return Threshold(
        matrix=network.reading_matrix, allowed=network.limit_array - network.surroundings_C
    )


def peak_rises(
    assembly: Assembly, heating: Heating, seconds: float | None, *, near: FloatArray | None = None
) -> FloatArray | None:
    """Return the rises (n, k) among which the highest are; None: no steady state.

    `near` are rises (n,) of a like heating, where a steady state is asked for.
    """
    if seconds is None:
        rise = steady_rise(assembly, heating, precision=SETTLED, near=near)
        return None if rise is None else rise[:, None]
    cold: FloatArray = np.zeros(len(assembly.network.parts))
    end = cold
    for _ in range(BURST_ROUNDS):
        end = propagator(assembly, heating, end / 2).rises(cold, seconds)
    rest = propagator(assembly, Heating(speed=0.0), end)
    return np.column_stack([end, rest.rises(end, seconds * SOAK)])


def _largest(share: Callable[[float], float], highest: float, guess: float) -> float | None:
    """Return where `share` passes 1, `highest` where it does not, None where it is above at 0.

    The share goes with a power of the level, nearly: its logarithm over that of the level is
    nearly straight, and from one point the next is close.
    """
    known = cache(lambda logarithm: math.log(max(share(math.exp(logarithm)), NO_SHARE)))
    top, here = math.log(highest), math.log(min(guess, highest))
    while known(here) <= 0:
        if here == top:
            return highest
        there = min(here - known(here) / USUAL_GROWTH + math.log(BEYOND), top)
        if known(there) > 0:
            return _root(known, here, there)
        here = there
    if share(0.0) > 1:
        return None
    while known(here) > 0:
        if here < top + 2 * math.log(LEAST_SHARE):
            return 0.0
        farthest = math.log(2.0)  # a level without steady state says nothing of how far it is
        there = here - min(known(here) / USUAL_GROWTH + math.log(BEYOND), farthest)
        if known(there) <= 0:
            return _root(known, there, here)
        here = there
    return math.exp(here)


def _root(known: Callable[[float], float], low: float, high: float) -> float:
    return math.exp(brentq(known, low, high, xtol=PRECISION))


def _hottest(network: ThermalNetwork, heating: Heating, seconds: float | None) -> str | None:
    rises = peak_rises(assemble(network), heating, seconds)
    if rises is None:
        return "copper"
    threshold = all_limits(network)
    over = (threshold.matrix @ rises).max(axis=1) - threshold.allowed
    return network.readings[int(np.argmax(over))] if np.isfinite(over).any() else None
