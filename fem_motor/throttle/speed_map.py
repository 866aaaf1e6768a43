"""Efficiency over speed and torque, and where voltage, current, controller and heat end it."""

from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.drive import OperatingPoint, torque_state
from fem_motor.errors import InputError
from fem_motor.heat import ThermalNetwork
from fem_motor.powered import PoweredMotor
from fem_motor.throttle.speeds import SpeedCurve, continuous_torque
from fem_motor.units import RPM

SPEEDS, TORQUES = 13, 10
"""Points of the map; each is a steady state of the drive."""

LEAST_SHARE = 0.05
"""Of the top speed and the largest torque from which the map starts: at 0 nothing is converted."""

NEARLY = 1.02
"""Times the curve up to which points are tried: between its speeds it may lie a little low."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpeedMap:
    """A grid of steady states, any throttle, copper and magnets at 20 °C.

    Attributes
    ----------
    speed_rpm : (n,)
    torque_Nm : (m,)
        At the shaft.
    efficiency, supply_power_W, duty : (n, m)
        0 where the drive does not get there.
    is_reached : (n, m) of 0 and 1
        Within voltage, current limit and the controller's speed.
    holds_for_good : (n, m) of 0 and 1
        Reached, and no part passes its limit however long.
    best_efficiency, best_speed_rpm, best_torque_Nm : float
        Of the points of the grid.
    """

    speed_rpm: FloatArray
    torque_Nm: FloatArray
    efficiency: FloatArray
    supply_power_W: FloatArray
    duty: FloatArray
    is_reached: FloatArray
    holds_for_good: FloatArray
    best_efficiency: float
    best_speed_rpm: float
    best_torque_Nm: float

    def __post_init__(self) -> None:
        for name in (
            "speed_rpm", "torque_Nm", "efficiency", "supply_power_W", "duty", "is_reached",
            "holds_for_good",
        ):  # fmt: skip
            object.__setattr__(self, name, frozen(getattr(self, name)))


def speed_map(
    powered: PoweredMotor,
    network: ThermalNetwork,
    *,
    known: OperatingPoint,
    curve: SpeedCurve,
) -> SpeedMap:
    """Return efficiency over speed and torque.

    Parameters
    ----------
    powered : PoweredMotor
    network : ThermalNetwork
    known : OperatingPoint
        A point with torque, for the copper loss that goes with torque.
    curve : SpeedCurve
        At full throttle: it bounds the map.
    """
    machine, bridge = powered.machine(), powered.bridge
    top, most = float(curve.speed_rpm[-1]) * RPM, float(curve.torque_Nm.max())
    speeds = np.linspace(LEAST_SHARE, 1.0, SPEEDS) * top
    torques = np.linspace(LEAST_SHARE, 1.0, TORQUES) * most
    largest = np.interp(speeds, curve.speed_rpm * RPM, curve.torque_Nm)
    power, duty = np.zeros((2, SPEEDS, TORQUES))
    lasting = np.zeros((SPEEDS, TORQUES))
    for row, speed in enumerate(speeds.tolist()):
        drag = powered.drag(speed)
        held = continuous_torque(powered, network, known, speed=speed, highest=4 * most)
        for column, torque in enumerate(torques.tolist()):
            if torque > NEARLY * largest[row]:
                break
            try:
                state = torque_state(machine, bridge, speed=speed, torque=torque + drag)
            except InputError:  # between two points of the curve the limit is a little lower
                break
            power[row, column], duty[row, column] = state.supply_power, state.duty
            lasting[row, column] = held is None or torque <= held
    reached = power > 0
    shaft = speeds[:, None] * torques
    efficiency = np.divide(shaft, power, out=np.zeros_like(power), where=reached)
    best = np.unravel_index(int(np.argmax(efficiency)), efficiency.shape)
    return SpeedMap(
        speed_rpm=speeds / RPM,
        torque_Nm=torques,
        efficiency=efficiency,
        supply_power_W=power,
        duty=duty,
        is_reached=reached.astype(float),
        holds_for_good=lasting,
        best_efficiency=float(efficiency[best]),
        best_speed_rpm=float(speeds[best[0]] / RPM),
        best_torque_Nm=float(torques[best[1]]),
    )
