"""Operating points: drive, supply, motor and load solved together, and their checks."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from fem_motor.drive import (
    ElectricalMachine,
    operating_point,
    operating_points,
    start_findings,
    step_findings,
)
from fem_motor.drive import OperatingPoint as DrivePoint
from fem_motor.findings import Finding, Headline
from fem_motor.losses import loss_findings
from fem_motor.performance.answers.current_records import LoadedCurve
from fem_motor.performance.answers.records import OperatingPoint
from fem_motor.performance.doubts.trust import RESISTANCE_SPREAD, Spread
from fem_motor.powered import PoweredMotor, TorqueLine
from fem_motor.units import ROOM_C, RPM


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """The operating points and what is to be said of them; headlines of the load point.

    Attributes
    ----------
    top_speed : float
        Without load, rad/s.
    corner_speed : float or None
        Up to which the current limit rules, rad/s.
    known : drive's OperatingPoint
        The load; where there is none, that at the current limit.
    corners : tuple of the drive's OperatingPoint
        The load at the ends of what flux and resistance may be.
    """

    points: tuple[OperatingPoint, ...]
    answers: Mapping[str, Headline]
    findings: tuple[Finding, ...]
    top_speed: float
    corner_speed: float | None
    known: DrivePoint
    corners: tuple[DrivePoint, ...]


def fill_operation(powered: PoweredMotor, *, limit: LoadedCurve, flux: Spread) -> Operation:
    """Return no load, load, current limit and stall, copper and magnets at 20 °C.

    Parameters
    ----------
    powered : PoweredMotor
    limit : LoadedCurve
        Torque over rotor angle at the current limit.
    flux : Spread
        Of the flux linkage.
    """
    machine, load = powered.machine(), powered.load
    found = operating_points(machine, powered.bridge, load=load, drag=powered.drag)
    points = tuple(row_of(powered, point) for point in found)
    corners = () if load is None else tuple(_corners(powered, machine, load, flux))
    named = {point.name: point for point in found}
    corner = named["current limit"]
    return Operation(
        points=points,
        answers=_answers(powered, points, [row_of(powered, corner) for corner in corners], flux),
        top_speed=found[0].speed or 0.0,
        corner_speed=corner.speed,
        known=named["load"] if load is not None else corner if corner.state else named["stall"],
        corners=corners,
        findings=(
            *[point.finding for point in found if point.finding is not None],
            *_findings(powered, machine, named, limit),
        ),
    )


def _findings(
    powered: PoweredMotor,
    machine: ElectricalMachine,
    found: Mapping[str, DrivePoint],
    limit: LoadedCurve,
) -> Iterator[Finding]:
    """Yield what is to be said of keeping step, of starting and of the losses."""
    idle = found["no load"]
    working = found["load"].state or found["current limit"].state
    if idle.speed and working is not None:
        yield from step_findings(machine, powered.bridge, working, full_speed=idle.speed)
    # What saturation leaves of the torque that back-EMF and current alone would give.
    left = float(limit.mean_torque_Nm - limit.cogging_torque_Nm.mean())
    alone = float(limit.magnet_torque_Nm.mean())
    yield from start_findings(
        machine,
        powered.bridge,
        full_speed=idle.speed or 0.0,
        state_torque=machine.step_torques(limit.line_current_A) * (left / alone if alone else 1.0),
        cogging_torque=powered.model.cogging_torque,
        friction_torque=powered.drag(0.0),
        load_torque=0.0 if powered.load is None else powered.load(0.0),
    )
    yield from powered.losses.findings
    loaded = found["load"]
    yield from _beyond_table(powered, loaded.speed)
    if loaded.state is not None and loaded.shaft_power is not None:
        losses = powered.losses.losses(
            loaded.state.speed,
            branch_current_rms=loaded.state.branch_current_rms,
            line_current_rms=loaded.state.line_current_rms,
            supply_current=loaded.state.supply_current,
            bearing_load=powered.thrust(loaded.state.speed),
        )
        yield from loss_findings(losses, shaft_power=loaded.shaft_power)


def _beyond_table(powered: PoweredMotor, speed: float | None) -> Iterator[Finding]:
    """Yield that the load point lies where the load's table says nothing."""
    load = powered.motor.load
    last = None if load is None else load.last_speed
    if speed is not None and last is not None and speed > last:
        yield Finding(
            name="speed with this load, rpm, beyond the last speed of its table",
            status="watch",
            value=speed / RPM,
            limit=last / RPM,
            why="from there on the table's last value is held, which nobody has measured.",
            do="give the load at higher speeds too.",
        )


def _corners(
    powered: PoweredMotor, machine: ElectricalMachine, load: TorqueLine, flux: Spread
) -> Iterator[DrivePoint]:
    """Solve the load point at the ends of what flux and resistance may be."""
    for strength in (flux.low, flux.high):
        for ohm in (1 - RESISTANCE_SPREAD, 1 + RESISTANCE_SPREAD):
            other = replace(
                machine,
                back_emf=strength * machine.back_emf,
                resistance=ohm * machine.resistance,
            )
            yield operating_point(other, powered.bridge, load=load, drag=powered.drag)


def _answers(
    powered: PoweredMotor,
    points: Sequence[OperatingPoint],
    corners: Sequence[OperatingPoint],
    flux: Spread,
) -> Mapping[str, Headline]:
    """Return power, current and thrust at the load with their ranges; nothing without a load."""
    if powered.load is None:
        return {}
    load = next(point for point in points if point.name == "load")
    because = f"{flux.because}; hand winding ±{RESISTANCE_SPREAD:.0%} (common practice, no source)"
    because += "; copper and magnets at 20 °C"
    names = {
        "load_shaft_power_W": "shaft_power_W",
        "load_supply_current_A": "supply_current_A",
        "load_speed_rpm": "speed_rpm",
        "load_thrust_N": "thrust_N",
    }
    found = {}
    for name, attribute in names.items():
        value = getattr(load, attribute)
        spread = [getattr(corner, attribute) for corner in corners]
        if value is not None:
            known = [value, *(other for other in spread if other is not None)]
            found[name] = Headline(value=value, low=min(known), high=max(known), because=because)
    return found


def row_of(
    powered: PoweredMotor,
    point: DrivePoint,
    *,
    copper_C: float = ROOM_C,
    magnet_C: float = ROOM_C,
) -> OperatingPoint:
    """Return a point as the sheet has it, with the losses of turning at these temperatures."""
    state = point.state
    if state is None:
        return OperatingPoint(name=point.name)
    electrical = {kind: watt for kind, watt in state.losses.items() if watt or kind != "diodes"}
    thrust = powered.thrust(state.speed) if point.name == "load" else None
    idle = point.name == "no load"  # found where the torque vanishes, but for rounding
    return OperatingPoint(
        name=point.name,
        speed_rpm=state.speed / RPM,
        torque_Nm=0.0 if idle else point.shaft_torque,
        shaft_power_W=0.0 if idle else point.shaft_power,
        current_A=state.branch_current_rms,
        line_current_A=state.line_current_rms,
        supply_current_A=state.supply_current,
        supply_power_W=state.supply_power,
        losses_W=electrical
        | powered.drag_losses(state.speed, copper_C=copper_C, magnet_C=magnet_C),
        efficiency=0.0 if idle else point.efficiency,
        thrust_N=thrust or None,
        duty=state.duty,
        bus_voltage_V=state.bus_voltage,
        first_order_torque_Nm=state.first_order_torque,
    )
