"""The load at a few throttles: speed, power, current density, and how long the motor holds it."""

from dataclasses import dataclass

from fem_motor.drive import OperatingPoint
from fem_motor.heat import ThermalNetwork, seconds_until_limit
from fem_motor.powered import PoweredMotor, heating_at, limit_of
from fem_motor.throttle.density import PER_MM2, DensityCurve, density_curve
from fem_motor.throttle.speeds import SpeedCurve, speed_curve
from fem_motor.units import ROOM_C, RPM

PARTIAL = (0.25, 0.5, 0.75)
"""Throttles of the table below all of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ThrottleRow:
    """The design's load at one throttle, copper and magnets at 20 °C.

    Every figure is None where the motor does not turn its load.

    Attributes
    ----------
    throttle : float
        Share of the bus voltage, 0 to 1.
    speed_rpm, torque_Nm, shaft_power_W : float or None
        At the shaft.
    supply_current_A : float or None
        Mean.
    efficiency : float or None
        Shaft power over supply power, 0 to 1.
    thrust_N : float or None
        None for loads that do not push.
    current_density_A_per_mm2 : float or None
        RMS in the copper.
    seconds_to_limit : float or None
        From cold until the first part passes its limit; None: it can be held for good.
    part : str or None
        The first at its limit.
    limit : str
        What keeps the motor from turning faster.
    """

    throttle: float
    speed_rpm: float | None
    torque_Nm: float | None
    shaft_power_W: float | None
    supply_current_A: float | None
    efficiency: float | None
    thrust_N: float | None
    current_density_A_per_mm2: float | None
    seconds_to_limit: float | None
    part: str | None
    limit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Throttles:
    """What the motor does between standstill and full speed.

    Attributes
    ----------
    curve : SpeedCurve
        All of the throttle, from standstill to the speed without load.
    rows : tuple of ThrottleRow
        Rising throttle; empty without a load.
    density : DensityCurve
        Seconds against current density in the copper.
    """

    curve: SpeedCurve
    rows: tuple[ThrottleRow, ...]
    density: DensityCurve


def throttles(
    powered: PoweredMotor,
    network: ThermalNetwork,
    *,
    known: OperatingPoint,
    top_speed: float,
    corner_speed: float | None,
) -> Throttles:
    """Return the curves over speed, the load at a few throttles, and seconds by current density.

    Parameters
    ----------
    powered : PoweredMotor
    network : ThermalNetwork
    known : OperatingPoint
        The load at full throttle; without one any point with torque.
    top_speed : float
        Without load, rad/s.
    corner_speed : float or None
        Above which all of the throttle stays below the current limit, rad/s.
    """
    rows: list[ThrottleRow] = []
    if powered.load is not None:
        rows = [throttle_row(powered, network, throttle=share) for share in PARTIAL]
        rows.append(_row(powered, network, known, throttle=1.0))
    return Throttles(
        curve=speed_curve(
            powered, network, known=known, top_speed=top_speed, corner_speed=corner_speed
        ),
        rows=tuple(rows),
        density=density_curve(powered, network, known=known),
    )


def throttle_row(powered: PoweredMotor, network: ThermalNetwork, *, throttle: float) -> ThrottleRow:
    """Return the load at one throttle.

    Parameters
    ----------
    powered : PoweredMotor
    network : ThermalNetwork
    throttle : float
        Above 0 to 1.
    """
    return _row(powered, network, powered.at_load(throttle=throttle), throttle=throttle)


def _row(
    powered: PoweredMotor, network: ThermalNetwork, point: OperatingPoint, *, throttle: float
) -> ThrottleRow:
    state, limit = point.state, limit_of(powered, point)
    if state is None or limit == "start":
        nothing = dict.fromkeys(
            ("speed_rpm", "torque_Nm", "shaft_power_W", "supply_current_A", "efficiency",
             "thrust_N", "current_density_A_per_mm2", "seconds_to_limit", "part")
        )  # fmt: skip
        return ThrottleRow(throttle=throttle, limit=limit, **nothing)
    heating = heating_at(powered, point, copper_C=ROOM_C, magnet_C=ROOM_C)
    first = seconds_until_limit(network, heating, spread="none")
    copper = powered.winding.phase_copper_area
    return ThrottleRow(
        throttle=throttle,
        speed_rpm=state.speed / RPM,
        torque_Nm=point.shaft_torque,
        shaft_power_W=point.shaft_power,
        supply_current_A=state.supply_current,
        efficiency=point.efficiency,
        thrust_N=powered.thrust(state.speed) or None,
        current_density_A_per_mm2=state.branch_current_rms / copper / PER_MM2,
        seconds_to_limit=first.seconds.value,
        part=first.part,
        limit=limit,
    )
