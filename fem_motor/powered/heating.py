"""Where the losses of a powered motor arise: at an operating point, and along its load's line."""

from scipy.optimize import brentq

from fem_motor.drive import OperatingPoint
from fem_motor.heat import Heating
from fem_motor.powered.motor import PoweredMotor
from fem_motor.units import ROOM_C

DOUBLINGS = 10
"""Of the speed at full throttle, to follow a load's line beyond it."""


def heating_at(
    powered: PoweredMotor, point: OperatingPoint, *, copper_C: float, magnet_C: float
) -> Heating:
    """Return the losses of an operating point by the part they arise in."""
    state = point.state
    if state is None:
        return Heating(speed=0.0)
    drag = powered.drag_losses(state.speed, copper_C=copper_C, magnet_C=magnet_C)
    in_gap = powered.losses.windage.in_gap(state.speed)
    return _heating(state.losses["copper"], drag, in_gap, copper_C=copper_C, speed=state.speed)


def _heating(
    copper: float, drag: dict[str, float], in_gap: float, *, copper_C: float, speed: float
) -> Heating:
    # Of the windage only what the gap takes heats the motor.
    return Heating(
        copper=copper,
        copper_C=copper_C,
        copper_eddy=drag.get("strand_eddy", 0.0),
        teeth=drag.get("core_teeth", 0.0),
        yoke=drag.get("core_yoke", 0.0),
        magnets=drag.get("magnet_eddy", 0.0),
        ring=drag.get("ring_eddy", 0.0),
        windage=in_gap,
        bearings=drag.get("bearing", 0.0),
        speed=speed,
    )


def heating_with(
    powered: PoweredMotor, known: OperatingPoint, *, torque: float, speed: float
) -> Heating:
    """Return the losses of a shaft torque at a speed, copper and magnets at 20 °C.

    The copper loss goes with the square of the torque from that of the `known` point.

    Parameters
    ----------
    powered : PoweredMotor
    known : OperatingPoint
        With torque.
    torque, speed : float
        N m at the shaft, rad/s.
    """
    drag = powered.drag_losses(speed)
    state = known.state
    turns = state is not None and state.torque > 0
    per_square = state.losses["copper"] / state.torque**2 if turns and state else 0.0
    copper = per_square * (torque + powered.drag(speed)) ** 2
    in_gap = powered.losses.windage.in_gap(speed)
    return _heating(copper, drag, in_gap, copper_C=ROOM_C, speed=speed)


class LoadLine:
    """Losses along the load's own line, up to full throttle: what a throttle would give.

    The copper loss goes with the square of the torque from that of the full load. With `beyond`
    above 1 the line goes on to that many times the power of full throttle.
    """

    def __init__(self, powered: PoweredMotor, full: OperatingPoint, *, beyond: float = 1.0) -> None:
        self._powered, self._full = powered, full
        self.highest = beyond * (full.shaft_power or 0.0)

    def heating(self, shaft_power: float) -> Heating:
        """Return the losses at a shaft power, W."""
        load = self._powered.load
        if load is None or shaft_power <= 0:
            return Heating(speed=0.0)
        speed = self._speed(min(shaft_power, self.highest))
        return heating_with(self._powered, self._full, torque=load(speed), speed=speed)

    def _speed(self, shaft_power: float) -> float:
        load, top = self._powered.load, self._full.speed or 0.0
        if load is None:
            return top
        for _ in range(DOUBLINGS):
            if load(top) * top > shaft_power or self.highest <= (self._full.shaft_power or 0.0):
                break
            top *= 2
        if load(top) * top <= shaft_power:
            return top
        low = 1e-6 * top
        if load(low) * low >= shaft_power:
            return low
        return float(brentq(lambda w: load(w) * w - shaft_power, low, top, rtol=1e-6))
