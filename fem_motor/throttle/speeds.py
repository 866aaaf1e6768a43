"""Torque, power and efficiency over speed at full throttle, with the load's line and the heat's."""

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator

from fem_motor.arrays import FloatArray, frozen
from fem_motor.drive import OperatingPoint, limit_state
from fem_motor.errors import InputError
from fem_motor.heat import Heating, ThermalNetwork, load_limit
from fem_motor.powered import PoweredMotor, heating_with
from fem_motor.units import RPM

BELOW_CORNER = np.array([0.0, 0.2, 0.6])
ABOVE_CORNER = np.array([0.0, 0.22, 0.44, 0.64, 0.8, 0.91, 0.97, 1.0])
"""Speeds at which the drive is solved: shares of the corner of the current limit, where the first
commutations cost most, and of the way from there to the top, where the efficiency falls at last."""

FAR_ABOVE = 4.0
"""Times the drive's largest torque up to which heat is looked at."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpeedCurve:
    """What the drive gives at each speed, all of the throttle, copper and magnets at 20 °C.

    Attributes
    ----------
    speed_rpm : (n,)
        From standstill to the speed without load; ends at the controller's electrical limit where
        that comes first. Empty where the motor does not even turn itself.
    torque_Nm, shaft_power_W, supply_current_A : (n,)
        At the shaft, losses of turning taken off; the current limit holds.
    efficiency : (n,)
        Shaft power over power from the ideal voltage; 0 at standstill and without load.
    load_torque_Nm : (n,)
        Empty without a load.
    continuous_torque_Nm : (n,)
        Largest for which no part passes its limit, whatever the drive gives; empty where no limit
        is known or none is ever reached.
    """

    speed_rpm: FloatArray
    torque_Nm: FloatArray
    shaft_power_W: FloatArray
    supply_current_A: FloatArray
    efficiency: FloatArray
    load_torque_Nm: FloatArray
    continuous_torque_Nm: FloatArray

    def __post_init__(self) -> None:
        for name in self.__slots__:
            object.__setattr__(self, name, frozen(getattr(self, name)))


def speed_curve(
    powered: PoweredMotor,
    network: ThermalNetwork,
    *,
    known: OperatingPoint,
    top_speed: float,
    corner_speed: float | None,
) -> SpeedCurve:
    """Return torque, power, current and efficiency over speed.

    Parameters
    ----------
    powered : PoweredMotor
    network : ThermalNetwork
    known : OperatingPoint
        A point with torque, for the copper loss that goes with torque.
    top_speed : float
        Without load, rad/s.
    corner_speed : float or None
        Above which all of the throttle stays below the current limit, rad/s; None: from standstill.
    """
    machine = powered.machine()
    speeds: list[float] = []
    rows: list[tuple[float, ...]] = []
    for speed in _speeds(top_speed, corner_speed).tolist() if top_speed > 0 else []:
        try:
            state = limit_state(machine, powered.bridge, speed=speed)
        except InputError:  # ripple alone above the limit, or no voltage left: nothing to draw
            continue
        torque = max(state.torque - powered.drag(speed), 0.0)
        speeds.append(speed)
        rows.append((torque, torque * speed, state.supply_current, state.supply_power))
    torques, powers, currents, supplied = np.array(rows).reshape(-1, 4).T
    load = powered.load
    return SpeedCurve(
        speed_rpm=np.array(speeds) / RPM,
        torque_Nm=torques,
        shaft_power_W=powers,
        supply_current_A=currents,
        efficiency=np.divide(powers, supplied, out=np.zeros_like(powers), where=supplied > 0),
        load_torque_Nm=np.array([] if load is None else [load(speed) for speed in speeds]),
        continuous_torque_Nm=_for_good(
            powered, network, known, speeds, float(torques.max(initial=0.0))
        ),
    )


def _speeds(top: float, corner: float | None) -> FloatArray:
    if corner is None or not 0 < corner < top:
        return np.asarray(top * ABOVE_CORNER)
    return np.concatenate([corner * BELOW_CORNER, corner + (top - corner) * ABOVE_CORNER])


def _for_good(
    powered: PoweredMotor,
    network: ThermalNetwork,
    known: OperatingPoint,
    speeds: list[float],
    most: float,
) -> FloatArray:
    """Return the torque for good at each speed, empty where heat never limits it."""
    if not most > 0:
        return np.array([])
    # Smooth over speed: every other one is looked at, those between follow.
    looked_at = [*speeds[:-1:2], speeds[-1]]
    found = [
        continuous_torque(powered, network, known, speed=speed, highest=FAR_ABOVE * most)
        for speed in looked_at
    ]
    if None in found:
        return np.array([])
    between = PchipInterpolator(looked_at, np.array(found, dtype=np.float64))
    return np.asarray(between(speeds))


def continuous_torque(
    powered: PoweredMotor,
    network: ThermalNetwork,
    known: OperatingPoint,
    *,
    speed: float,
    highest: float,
) -> float | None:
    """Return the largest shaft torque at a speed for which no part passes its limit, N m.

    The copper loss goes with the square of the torque from that of the `known` point. 0 where even
    turning alone is too hot; None where nothing limits it up to `highest`.
    """

    def heating(torque: float) -> Heating:
        return heating_with(powered, known, torque=torque, speed=speed)

    found = load_limit(network, heating, highest=highest, spread="none")
    if found.part is None:
        return None
    return found.level.value or 0.0
