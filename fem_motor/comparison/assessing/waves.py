"""Full throttle at the turns that suit, curves around it, and the ripple of the torque."""

import math
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.comparison.assessing.solved import Solved
from fem_motor.comparison.assessing.tuning import with_turns
from fem_motor.comparison.records import Curves
from fem_motor.drive import OperatingPoint, limit_state
from fem_motor.findings import Headline
from fem_motor.heat import seconds_until_soft, thermal_network
from fem_motor.powered import LoadLine, PoweredMotor
from fem_motor.units import MM, RPM

CURVE_POINTS, HELD_POINTS = 41, 13


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FullThrottle:
    """A motor at full throttle with a winding in its copper.

    Attributes
    ----------
    turns, strands : int
    wire_diameter_mm : float
        Bare.
    shaft_power_W, speed_rpm, supply_current_A, efficiency, thrust_N : float or None
        At the load, 20 °C; None where there is none.
    seconds_to_soften : Headline or None
        From cold.
    curves : Curves
    """

    turns: int
    strands: int
    wire_diameter_mm: float
    shaft_power_W: float | None
    speed_rpm: float | None
    supply_current_A: float | None
    efficiency: float | None
    thrust_N: float | None
    seconds_to_soften: Headline | None
    curves: Curves

    @property
    def winding(self) -> str:
        """Turns and wire in words."""
        return f"{self.turns} turns of {self.strands} × {self.wire_diameter_mm:.3g} mm"


def full_throttle(powered: PoweredMotor, turns_factor: float) -> FullThrottle:
    """Return full throttle with whole turns next to a factor, at the copper area of the design."""
    spec = powered.motor.winding
    turns = max(1, round(turns_factor * spec.turns_per_tooth))
    factor = turns / spec.turns_per_tooth
    strands = max(1, round(spec.strands / factor))
    tuned = with_turns(powered, factor)
    point = None if tuned.load is None else tuned.at_load()
    state = None if point is None or not point.shaft_power else point.state
    is_turning = point is not None and state is not None and (point.shaft_power or 0.0) > 0
    return FullThrottle(
        turns=turns,
        strands=strands,
        wire_diameter_mm=spec.wire_diameter * math.sqrt(spec.strands / factor / strands) / MM,
        shaft_power_W=point.shaft_power if point and is_turning else None,
        speed_rpm=state.speed / RPM if state and is_turning else None,
        # Seen through the turns, the supply has 1/factor of its volts and so factor of its amperes.
        supply_current_A=state.supply_current / factor if state and is_turning else None,
        efficiency=point.efficiency if point and is_turning else None,
        thrust_N=(tuned.thrust(state.speed) or None) if state and is_turning else None,
        seconds_to_soften=_softening(tuned, point) if point and is_turning else None,
        curves=_curves(tuned, point),
    )


def _softening(powered: PoweredMotor, point: OperatingPoint) -> Headline:
    network = thermal_network(powered.motor, powered.winding, speed=point.speed or 0.0)
    line = LoadLine(powered, point)
    return seconds_until_soft(network, line.heating(line.highest))


def torque_ripple(solved: Solved) -> float | None:
    """Return the ripple at rated current from the fields without current; saturation is left out.

    Sine currents, or ideal blocks of 120° of six-step drive.
    """
    powered, motor = solved.powered, solved.powered.motor
    model, angle = powered.model, powered.motor.drive.timing_advance
    waves = model.phases.sine(model.angle, peak=1.0, current_angle=angle)
    is_delta = motor.winding.connection == "delta"
    if motor.drive.controller == "six-step":
        waves = _blocks(waves, is_delta=is_delta)
    peak = solved.rated_line_current / (math.sqrt(3) if is_delta else 1.0)
    torque = peak * powered.end_factor * np.sum(waves * model.back_emf, axis=0)
    torque = torque + model.cogging_torque
    mean = float(torque.mean())
    return float(np.ptp(torque)) / abs(mean) if mean else None


def _blocks(waves: FloatArray, *, is_delta: bool) -> FloatArray:
    """Return the currents of the branches in six-step drive, in step with sines of peak 1."""
    if is_delta:
        steps = np.where(np.abs(waves) > math.sqrt(3) / 2, 2.0, 1.0) / math.sqrt(3)
    else:
        steps = np.where(np.abs(waves) > 1 / 2, 1.0, 0.0)
    return np.asarray(np.sign(waves) * steps)


def _curves(powered: PoweredMotor, point: OperatingPoint | None) -> Curves:
    """Return torque and power at full throttle over speed, and seconds until soft over power."""
    machine = powered.machine()
    flux = powered.motor.rotor.pole_pairs * powered.model.fundamental_flux_linkage
    flux *= powered.end_factor
    ideal = powered.bridge.supply_voltage / (math.sqrt(3) * flux) if flux else 0.0
    speeds, torques = [], []
    for speed in np.linspace(0.0, 1.1 * ideal, CURVE_POINTS):
        torque = limit_state(machine, powered.bridge, speed=float(speed)).torque
        torque -= powered.drag(float(speed))
        if torque < 0:
            break
        speeds.append(float(speed))
        torques.append(torque)
    speed_array = np.array(speeds)
    load = [] if powered.load is None else [powered.load(speed) for speed in speeds]
    held, seconds = _held(powered, point)
    return Curves(
        speed_rpm=speed_array / RPM,
        torque_Nm=np.array(torques),
        shaft_power_W=speed_array * np.array(torques),
        load_torque_Nm=np.array(load),
        held_power_W=np.array(held),
        seconds_to_soften=np.array(seconds),
    )


def _held(powered: PoweredMotor, point: OperatingPoint | None) -> tuple[list[float], list[float]]:
    if point is None or not point.shaft_power or point.shaft_power <= 0:
        return [], []
    network = thermal_network(powered.motor, powered.winding, speed=point.speed or 0.0)
    line = LoadLine(powered, point)
    held, seconds = [], []
    for power in np.linspace(0.0, line.highest, HELD_POINTS)[1:]:
        found = seconds_until_soft(network, line.heating(float(power)), spread="none")
        if found.value is not None:
            held.append(float(power))
            seconds.append(found.value)
    return held, seconds
