"""Turns that suit the load, at the copper area of the design, without new fields.

With k times the turns of 1/k times the copper area, voltages grow by k, currents fall by k,
resistances and inductances grow by k². The same motor on V/k, R/k² and k I therefore turns,
loses and warms as the rewound one does: turns are a transformer between supply and motor.
Source: power balance; D. Hanselman, Brushless Permanent Magnet Motor Design (2006), from memory.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from fem_motor.drive import Bridge, OperatingPoint
from fem_motor.powered import PoweredMotor

Power = Callable[[float], float]
"""Shaft power at full throttle, W, over the factor on the turns."""

USUAL_SLOPE = -2.3
"""d ln power/d ln turns of a propeller at full throttle: the first guess."""

FLAT = -0.3
"""Slope from which on fewer turns bring hardly any more: supply or current limit end the power."""

LONGEST, MOST_STEPS = 1.0, 8
"""Longest step of the logarithm of the turns, and number of steps."""

CLOSE = 0.03
"""Of the logarithm of the power: whole turns are coarser."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyMatch:
    """How the turns should change for a power at the load.

    Attributes
    ----------
    turns_factor : float
        On the turns, at the copper area of the design: full throttle then gives the power.
    most : float
        Largest shaft power that supply and controller can bring to the load, W; infinite where
        the wanted one can be had.
    """

    turns_factor: float
    most: float


def with_turns(powered: PoweredMotor, factor: float) -> PoweredMotor:
    """Return what `factor` times the turns at the same copper area are to the supply.

    The motor itself keeps its turns, and the supply is seen through the transformer.
    """
    bridge: Bridge = powered.bridge
    square = factor**2
    seen = replace(
        bridge,
        supply_voltage=bridge.supply_voltage / factor,
        supply_resistance=bridge.supply_resistance / square,
        controller_resistance=bridge.controller_resistance / square,
        # Leads keep their length and are made of the wire of the coils.
        lead_resistance=bridge.lead_resistance / factor,
        diode_drop=bridge.diode_drop / factor,
        current_limit=bridge.current_limit * factor,
    )
    return replace(powered, bridge=seen)


def matched_supply(powered: PoweredMotor, point: OperatingPoint, *, wanted: float) -> SupplyMatch:
    """Return the turns with which full throttle gives a shaft power at the load.

    Parameters
    ----------
    powered : PoweredMotor
    point : OperatingPoint
        With the design's own turns.
    wanted : float
        W.
    """

    def power(factor: float) -> float:
        return with_turns(powered, factor).at_load().shaft_power or 0.0

    return _met(power, point.shaft_power or 0.0, wanted) or _most(power, wanted)


def _met(power: Power, here: float, wanted: float) -> SupplyMatch | None:
    """Return the turns by the slope of power over them; None where fewer turns give no more."""
    factor, slope = 1.0, USUAL_SLOPE
    for _ in range(MOST_STEPS):
        apart = math.log(wanted / here)
        if abs(apart) < CLOSE:
            return SupplyMatch(turns_factor=factor, most=math.inf)
        step = max(-LONGEST, min(LONGEST, apart / slope))
        there = power(factor * math.exp(step))
        if there <= 0:
            return None
        slope = math.log(there / here) / step
        if slope >= FLAT:
            return None
        factor, here = factor * math.exp(step), there
    return None


def _most(power: Power, wanted: float) -> SupplyMatch:
    """Return the turns that give most, or enough, by strides."""
    factors = [math.exp(LONGEST / 4 * step) for step in range(-10, 11)]
    powers = {factor: power(factor) for factor in factors}
    enough = [factor for factor in factors if powers[factor] >= wanted]
    if enough:
        return SupplyMatch(turns_factor=max(enough), most=math.inf)
    best = max(factors, key=lambda factor: powers[factor])
    return SupplyMatch(turns_factor=best, most=powers[best])
