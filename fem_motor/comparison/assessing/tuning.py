"""Turns that suit the load, at the copper area of the design, without new fields.

With k times the turns of 1/k times the copper area, voltages grow by k, currents fall by k,
resistances and inductances grow by k². The same motor on V/k, R/k² and k I therefore turns,
loses and warms as the rewound one does: turns are a transformer between supply and motor.
Source: power balance; D. Hanselman, Brushless Permanent Magnet Motor Design (2006), from memory.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from scipy.optimize import brentq, minimize_scalar

from fem_motor.drive import Bridge, OperatingPoint
from fem_motor.powered import PoweredMotor

MOST_STEPS = 8
"""Tries at the turns that bring a power; two are usual."""

CLOSE = 0.03
"""Of the logarithm of the power: whole turns are coarser."""

FARTHEST = 2.5
"""Logarithm of the factor on the turns up to which they are looked for: 12 times, a twelfth."""

STRIDE, STRIDES = 0.15, 12
"""Steps of that logarithm on the way to the turns that give most."""

MEETINGS, MISSED = 6, 1e-3
"""Tries at the turns where the current limit takes over from the voltage, and the part of the power
by which the last may miss it."""

NEAR = 0.06
"""Of that logarithm: a fall taken this near is straight."""

FINEST = 0.004
"""Of that logarithm at the top: under 1 % of the power, where a current limit makes a kink."""


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


class TurnsOfOneMotor:
    """Full throttle of a motor at any turns of the same copper, each looked at once.

    Parameters
    ----------
    powered : PoweredMotor
        With a load.
    point : OperatingPoint
        At the load, with the design's own turns.
    """

    def __init__(self, powered: PoweredMotor, point: OperatingPoint) -> None:
        self._powered = powered
        self._points = {1.0: point}
        self._rough_top: float | None = None
        self._top: float | None = None

    def point(self, factor: float) -> OperatingPoint:
        """Return full throttle at the load with `factor` times the turns."""
        if factor not in self._points:
            self._points[factor] = with_turns(self._powered, factor).at_load()
        return self._points[factor]

    def power(self, factor: float) -> float:
        """Return the shaft power there, W."""
        return self.point(factor).shaft_power or 0.0

    def rough(self, log_factor: float) -> float:
        """Return the same over the logarithm of the factor by the first-order formula."""
        return self._powered.rough_shaft_power(math.exp(log_factor))

    @property
    def rough_top(self) -> float:
        """Logarithm of the factor that gives most by the first-order formula."""
        if self._rough_top is None:
            found = minimize_scalar(
                lambda at: -self.rough(at), bounds=(-FARTHEST, FARTHEST), method="bounded"
            )
            self._rough_top = float(found.x)
        return self._rough_top

    @property
    def top(self) -> float:
        """Factor on the turns that gives most.

        Power rises with the turns where the current limit ends it, and falls where the voltage
        does: there is one top.
        """
        if self._top is None:
            self._top = self._highest()
        return self._top

    def _highest(self) -> float:
        at = [self.rough_top + STRIDE * step for step in (-2, -1, 1, 2)]
        for _ in range(STRIDES):
            powers = [self.power(math.exp(one)) for one in at]
            best = powers.index(max(powers))
            if 0 < best < len(at) - 1:
                break
            at = [one + (STRIDE if best else -STRIDE) for one in at]
        kink = self._meeting(at)
        if kink is not None:
            return kink
        found = minimize_scalar(
            lambda one: -self.power(math.exp(one)),
            bounds=(at[0], at[-1]),
            method="bounded",
            options={"xatol": FINEST},
        )
        return math.exp(float(found.x))

    def _meeting(self, at: Sequence[float]) -> float | None:
        """Return where the power laws of both sides meet; None where they do not.

        Through two turns at either side of the top, closer with every try; a supply that ends
        smoothly has no kink.
        """
        for _ in range(MEETINGS):
            powers = [self.power(math.exp(one)) for one in at]
            if min(powers) <= 0:
                return None
            logs = [math.log(power) for power in powers]
            rise, fall = ((logs[k + 1] - logs[k]) / (at[k + 1] - at[k]) for k in (0, 2))
            if rise <= 0 or fall >= 0:
                return None
            meets = (logs[2] - logs[1] + rise * at[1] - fall * at[2]) / (rise - fall)
            found = self.power(math.exp(meets))
            if not at[1] < meets < at[2] or found <= 0:
                return None
            missed = logs[1] + rise * (meets - at[1]) - math.log(found)
            # The rise is a power law far and wide; the fall is bent, and wants a nearer pair.
            if abs(missed) >= MISSED:
                at = [at[0], at[1], meets, at[2]]
            elif at[2] - meets < NEAR:
                return math.exp(meets)
            else:
                at = [at[1], meets, meets + (at[2] - meets) / 4, at[2]]
        return None


def matched_supply(turns: TurnsOfOneMotor, *, wanted: float) -> SupplyMatch:
    """Return the turns with which full throttle gives a shaft power at the load.

    Of several the most turns, which take the least current. The first-order formula, scaled to the
    power at the turns looked at last, tells where to look next.

    Parameters
    ----------
    turns : TurnsOfOneMotor
    wanted : float
        W.
    """
    factor = 1.0
    for _ in range(MOST_STEPS):
        power = turns.power(factor)
        if power > 0 and abs(math.log(wanted / power)) < CLOSE:
            return SupplyMatch(turns_factor=factor, most=math.inf)
        scaled = _more_turns(turns, factor, power, wanted)
        if scaled is None:
            break
        factor = scaled
    return _most(turns, wanted)


def _more_turns(turns: TurnsOfOneMotor, factor: float, power: float, wanted: float) -> float | None:
    """Return where the scaled formula has the power, beyond its top; None where it never does."""
    rough = turns.rough(math.log(factor))
    if rough <= 0 or power <= 0:
        return None
    goal, top = wanted * rough / power, turns.rough_top
    if turns.rough(top) <= goal:
        return None
    if turns.rough(FARTHEST) >= goal:
        return math.exp(FARTHEST)
    found = brentq(lambda at: turns.rough(at) - goal, top, FARTHEST, xtol=CLOSE / 10)
    return math.exp(float(found))


def _most(turns: TurnsOfOneMotor, wanted: float) -> SupplyMatch:
    """Return the turns that give most, or just enough beyond them."""
    top = turns.top
    most = turns.power(top)
    if most < wanted:
        return SupplyMatch(turns_factor=top, most=most)
    # Beyond the top the power falls with the turns, down to nothing where the motor stalls.
    strides = [top * math.exp(STRIDE * step) for step in range(STRIDES)]
    for low, high in pairwise(strides):
        if turns.power(high) < wanted:
            found = brentq(
                lambda factor: turns.power(factor) - wanted, low, high, xtol=CLOSE / 10 * low
            )
            return SupplyMatch(turns_factor=float(found), most=math.inf)
    return SupplyMatch(turns_factor=strides[-1], most=math.inf)
