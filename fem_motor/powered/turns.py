"""Which winding suits the load: turns and wire for this supply, load and temperature limit."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from fem_motor.drive import OperatingPoint
from fem_motor.heat import ThermalNetwork, load_limit, seconds_until_soft, thermal_network
from fem_motor.powered.heating import LoadLine, heating_at
from fem_motor.powered.motor import PoweredMotor
from fem_motor.powered.rewinding import rewound
from fem_motor.powered.suiting import (
    AS_GOOD,
    EQUAL_COPPER,
    TurnsRow,
    WindingToLoad,
    best_of,
    verdict,
    without_load,
)
from fem_motor.powered.wire import Wire, wire_for
from fem_motor.units import MM, RPM

NOTHING = 1e-9
"""W, below which a load takes nothing: rounding."""

FAR_APART = math.sqrt(2)
"""Between the best turns and the farther ones of the table: powers differ by a factor of 2."""

FARTHEST, FINEST, COARSE = 8.0, 100, 4
"""Times the design's turns up to which the best are looked for, in how many steps at most, and in
steps of how many turns."""

FAR_BEYOND = 30.0
"""Times the power of full throttle up to which heat is looked at: what fewer turns would give."""

CLOSE = 2
"""Turns from the design's to the best within which the table shows both sides."""


def winding_to_load(
    powered: PoweredMotor,
    *,
    turns: Iterable[int] | None = None,
    limit_C: float | None = None,
) -> WindingToLoad:
    """Return how the power at the load goes with the turns, at the copper area of the design.

    From the fields that are there: linkage goes with the turns, inductance with their square,
    resistance with wire and length.

    Parameters
    ----------
    powered : PoweredMotor
    turns : iterable of int, optional
        Of one coil; None: those on the way to the best.
    limit_C : float, optional
        No part may get warmer than this, beside its own limit.

    Examples
    --------
    >>> import fem_motor as fm
    >>> design = fm.load_design("geometries/printed_18s16p.toml")
    >>> found = winding_to_load(fm.solve_powered(design, quality="draft").powered)
    >>> found.best.turns > found.designed.turns  # full throttle is more than this core survives
    True
    """
    if powered.load is None:
        return without_load()
    own = powered.winding.turns_per_tooth
    point = powered.at_load()
    if turns is None:
        numbers = _shown(own, _Ideal(powered, point, limit_C).best())
    else:
        numbers = tuple(sorted({own, *turns}))
    wires = {number: wire_for(powered.motor, turns=number) for number in numbers}
    rows = tuple(
        _Rewound(powered, number, wire, limit_C, point if number == own else None).row
        for number, wire in wires.items()
        if wire is not None
    )
    designed = next((row for row in rows if row.turns == own), None)
    best = best_of(rows)
    return WindingToLoad(
        rows=rows,
        designed=designed,
        best=best,
        explanation=EQUAL_COPPER,
        finding=verdict(designed, best),
    )


class _Ideal:
    """The motor with exactly the design's copper at any turns, by the first-order formula.

    Only to find where to look. Scaled so that the design's turns have their true power. What heat
    allows is the same at all turns and worked out once, along the load's line beyond full throttle.
    """

    def __init__(self, powered: PoweredMotor, point: OperatingPoint, limit_C: float | None) -> None:
        self._powered, self._tried = powered, dict[int, float]()
        self._scale, self._heat_allows = 1.0, math.inf
        own = powered.winding.turns_per_tooth
        power, rough = point.shaft_power or 0.0, self._power(own)
        if power > NOTHING and rough > 0:
            self._scale = power / rough
            network = _held(
                thermal_network(powered.motor, powered.winding, speed=point.speed or 0.0), limit_C
            )
            line = LoadLine(powered, point, beyond=FAR_BEYOND)
            lasting = load_limit(network, line.heating, highest=line.highest, spread="none")
            self._heat_allows = lasting.level.value or 0.0

    def _power(self, turns: int) -> float:
        """Return the shaft power at full throttle, W."""
        return self._powered.rough_shaft_power(turns / self._powered.winding.turns_per_tooth)

    def lasting(self, turns: int) -> float:
        """Return the shaft power for good, W."""
        if turns not in self._tried:
            self._tried[turns] = self._scale * self._power(turns)
        return min(self._tried[turns], self._heat_allows)

    def best(self) -> int:
        """Return the turns that give most, of equal ones the most.

        The power rises with the turns up to somewhere and then falls: every fourth number is
        tried, and those between only around the most and where it falls below it.
        """
        own = self._powered.winding.turns_per_tooth
        most = max(2, round(FARTHEST * own))
        stride = max(COARSE, most // FINEST)
        tried = range(1, most + stride, stride)
        peak = max(tried, key=self.lasting)
        highest = max(self.lasting(at) for at in range(max(peak - stride, 1), peak + stride + 1))
        enough = (1 - AS_GOOD / 2) * highest
        last = max(at for at in self._tried if self.lasting(at) >= enough)
        good = [at for at in range(last, last + stride) if self.lasting(at) >= enough]
        return min(max(good), most)


def _shown(own: int, best: int) -> tuple[int, ...]:
    """Return the turns of the table: the design's, the best and its neighbours, and far ones."""
    if abs(best - own) <= CLOSE:
        apart = [round(best / FAR_APART), round(best * FAR_APART)]
    else:
        apart = [round(math.sqrt(own * best)), round(best * math.sqrt(FAR_APART))]
    return tuple(sorted({max(1, at) for at in (own, best - 1, best, best + 1, *apart)}))


@dataclass(frozen=True, kw_only=False)
class _Rewound:
    """The motor with one wire, its load point and what it bears."""

    base: PoweredMotor
    turns: int
    wire: Wire
    limit_C: float | None
    known: OperatingPoint | None

    @cached_property
    def motor(self) -> PoweredMotor:
        return rewound(
            self.base,
            turns=self.turns,
            strands=self.wire.strands,
            wire_diameter=self.wire.diameter,
        )

    @cached_property
    def point(self) -> OperatingPoint:
        return self.known or self.motor.at_load()

    @property
    def row(self) -> TurnsRow:
        winding, point, constants = self.motor.winding, self.point, self.motor.constants
        power = point.shaft_power or 0.0
        power = power if power > NOTHING else 0.0
        lasting, soft, part = (None, None, None) if power <= 0 else self._heat()
        whole = self.base.winding.turns_per_tooth * self.base.winding.copper_area
        state = point.state
        return TurnsRow(
            turns=self.turns,
            strands=self.wire.strands,
            wire_diameter_mm=self.wire.diameter / MM,
            wire_awg=self.wire.gauge,
            copper_share=self.turns * winding.copper_area / whole,
            speed_constant_rpm_per_V=constants.speed_per_dc / RPM,
            resistance_line_line_ohm=winding.resistance_line_line,
            motor_constant_Nm_per_sqrtW=constants.motor_constant,
            load_shaft_power_W=power if power > 0 else None,
            load_supply_current_A=state.supply_current if state and power > 0 else None,
            continuous_shaft_power_W=lasting,
            seconds_to_soften_core=soft,
            limit=part or limit_of(self.motor, point),
        )

    def _heat(self) -> tuple[float | None, float | None, str | None]:
        network = _held(
            thermal_network(self.motor.motor, self.motor.winding, speed=self.point.speed or 0.0),
            self.limit_C,
        )
        line = LoadLine(self.motor, self.point)
        lasting = load_limit(network, line.heating, highest=line.highest, spread="none")
        soft = seconds_until_soft(
            network,
            heating_at(self.motor, self.point, copper_C=20.0, magnet_C=20.0),
            spread="none",
        )
        return lasting.level.value, soft.value, lasting.part


def _held(network: ThermalNetwork, limit_C: float | None) -> ThermalNetwork:
    """Return the network with no limit above `limit_C`."""
    if limit_C is None:
        return network
    known = network.limits_C or (None,) * len(network.readings)
    return replace(
        network,
        limits_C=tuple(limit_C if one is None else min(one, limit_C) for one in known),
    )


def limit_of(powered: PoweredMotor, point: OperatingPoint) -> str:
    """Return in a few words what keeps an operating point from turning faster."""
    state, most = point.state, powered.bridge.maximum_electrical_speed
    if state is None or not (point.shaft_power or 0.0) > 0:
        return "start"
    if most is not None and state.speed * powered.motor.rotor.pole_pairs >= most * (1 - 1e-6):
        return "controller speed"
    if state.line_current_peak >= powered.bridge.current_limit * (1 - 1e-6):
        return "current limit"
    return "supply"
