"""Losses over the temperatures of copper and magnets and over throttle, between exact points.

The operating point is worked out at the nodes of a grid, each when it is first needed. Between them
stands the polynomial through the six nearest temperatures of the copper and the four nearest of the
magnets: within 1e-7 of the losses, but next to a temperature at which the current limit lets go.
A profile of many throttles has nodes over throttle too, one in fifty, and four of them carry a
polynomial: within about 1e-3 of the losses.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, fields
from functools import cache, cached_property

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.heat import Heating
from fem_motor.powered import PoweredMotor, heating_at

COPPER_STEP, COPPER_NODES = 12.0, 6
MAGNET_STEP, MAGNET_NODES = 15.0, 4
"""K between nodes, and how many carry a polynomial."""

MOST_EXACT = 24
"""Throttles of a profile that are worked out themselves."""

THROTTLES, THROTTLE_NODES = 50, 4
"""Nodes from 0, where the motor stands, to 1 where there are more, and how many carry a
polynomial."""

HOTTEST_C = 250.0
"""Temperature at which copper and magnets are held while the operating point is worked out."""

Node = tuple[int, int]
"""Steps of copper and magnets from the origin."""

LOSSES = tuple(one.name for one in fields(Heating) if one.name != "copper_C")
"""What a point says of heat."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningPoint:
    """What a motor does at one throttle as warm as it is.

    Attributes
    ----------
    heating : Heating
    speed, shaft_power, supply_current : float
    """

    heating: Heating
    speed: float
    shaft_power: float
    supply_current: float


class LossTables:
    """Losses at any throttle of a profile.

    Parameters
    ----------
    powered : PoweredMotor
    throttles : (n,)
        Those that will be asked for; up to `MOST_EXACT` of them are nodes themselves.
    origin_C : float
        Of a node: that of the surroundings, where most flights begin.
    """

    def __init__(self, powered: PoweredMotor, throttles: FloatArray, *, origin_C: float) -> None:
        self._is_exact = np.unique(throttles).size <= MOST_EXACT
        self._table = cache(
            lambda throttle: _LossTable(powered=powered, throttle=throttle, origin_C=origin_C)
        )

    def at(self, throttle: float, *, copper_C: float, magnet_C: float) -> RunningPoint:
        """Return losses, speed and power at a throttle above 0 and temperatures."""
        copper, magnet = min(copper_C, HOTTEST_C), min(magnet_C, HOTTEST_C)
        if self._is_exact:
            values = self._table(throttle).at(copper, magnet)
        else:
            place = max(throttle * THROTTLES, 1.0)
            last = THROTTLES - THROTTLE_NODES + 1
            first = min(max(math.floor(place) - THROTTLE_NODES // 2 + 1, 1), last)
            nodes = [
                self._table((first + node) / THROTTLES).at(copper, magnet)
                for node in range(THROTTLE_NODES)
            ]
            values = lagrange(place - first, THROTTLE_NODES) @ np.array(nodes)
        numbers = values.tolist()
        losses = dict(zip(LOSSES, numbers, strict=False))
        shaft, current = numbers[len(LOSSES) :]
        return RunningPoint(
            heating=Heating(copper_C=copper, **losses),
            speed=losses["speed"],
            shaft_power=shaft,
            supply_current=current,
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class _LossTable:
    """Losses of one throttle."""

    powered: PoweredMotor
    throttle: float
    origin_C: float

    def at(self, copper_C: float, magnet_C: float) -> FloatArray:
        """Return losses, shaft power and supply current at temperatures of copper and magnets."""
        copper = (copper_C - self.origin_C) / COPPER_STEP
        magnet = (magnet_C - self.origin_C) / MAGNET_STEP
        first = (
            math.floor(copper) - COPPER_NODES // 2 + 1,
            math.floor(magnet) - MAGNET_NODES // 2 + 1,
        )
        along = lagrange(copper - first[0], COPPER_NODES)
        across = lagrange(magnet - first[1], MAGNET_NODES)
        return np.asarray(across @ (along @ self._block(first)).reshape(MAGNET_NODES, -1))

    @cached_property
    def _block(self) -> Callable[[Node], FloatArray]:
        return cache(self._solved_block)

    @cached_property
    def _node(self) -> Callable[[Node], FloatArray]:
        return cache(self._solved_node)

    def _solved_block(self, first: Node) -> FloatArray:
        """Return the nodes from `first` on, copper first: (6, 4 times what a point says)."""
        return np.array(
            [
                [self._node((first[0] + row, first[1] + column)) for column in range(MAGNET_NODES)]
                for row in range(COPPER_NODES)
            ]
        ).reshape(COPPER_NODES, -1)

    def _solved_node(self, node: Node) -> FloatArray:
        copper = self.origin_C + COPPER_STEP * node[0]
        magnet = self.origin_C + MAGNET_STEP * node[1]
        point = self.powered.at_load(throttle=self.throttle, copper_C=copper, magnet_C=magnet)
        heating = heating_at(self.powered, point, copper_C=copper, magnet_C=magnet)
        current = 0.0 if point.state is None else point.state.supply_current
        losses = [getattr(heating, name) or 0.0 for name in LOSSES]
        return np.array([*losses, point.shaft_power or 0.0, current])


def lagrange(at: float, nodes: int) -> FloatArray:
    """Return the weights (n,) of values at 0, 1 … n − 1 in the polynomial through them.

    w_k = Π_{j ≠ k} (x − j)/(k − j).

    >>> lagrange(0.5, 2).tolist()
    [0.5, 0.5]
    """
    places = np.arange(nodes)
    apart = np.where(np.eye(nodes, dtype=bool), 1.0, places[:, None] - places)
    factors = np.where(np.eye(nodes, dtype=bool), 1.0, at - places)
    return np.asarray(np.prod(factors / apart, axis=1))
