"""Operating points: drive, supply, motor and load solved together, and their checks."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem_motor.design import Motor
from fem_motor.drive import (
    Bridge,
    ElectricalMachine,
    operating_point,
    operating_points,
    start_finding,
    step_findings,
)
from fem_motor.drive import OperatingPoint as DrivePoint
from fem_motor.findings import Finding, Headline
from fem_motor.performance.records import LoadedCurve, OperatingPoint
from fem_motor.performance.trust import RESISTANCE_SPREAD, Spread
from fem_motor.quantities import MotorModel
from fem_motor.units import RPM
from fem_motor.winding import Winding

TorqueLine = Callable[[float], float]
"""Torque, N m, over mechanical speed, rad/s."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """The operating points and what is to be said of them; headlines of the load point."""

    points: tuple[OperatingPoint, ...]
    answers: Mapping[str, Headline]
    findings: tuple[Finding, ...]


def fill_operation(
    motor: Motor,
    winding: Winding,
    model: MotorModel,
    *,
    limit: LoadedCurve,
    end_factor: float,
    flux: Spread,
) -> Operation:
    """Return no load, load, current limit and stall, copper and magnets at 20 °C.

    Parameters
    ----------
    motor, winding, model
    limit : LoadedCurve
        Torque over rotor angle at the current limit.
    end_factor : float
        On the back-EMF of the section.
    flux : Spread
        Of the flux linkage.
    """
    machine = electrical_machine(motor, winding, model, end_factor=end_factor)
    bridge = bridge_of(motor, winding)
    load = load_line(motor)
    found = operating_points(machine, bridge, load=load)
    points = tuple(_row(motor, point) for point in found)
    findings = [point.finding for point in found if point.finding is not None]
    by_name = {point.name: point for point in found}
    idle, loaded = by_name["no load"], by_name["load"]
    working = loaded.state or by_name["current limit"].state
    if idle.speed and working is not None:
        findings += step_findings(machine, bridge, working, full_speed=idle.speed)
    findings.append(
        start_finding(
            state_torque=np.asarray(limit.torque_Nm - limit.cogging_torque_Nm)[None],
            cogging_torque=model.cogging_peak_to_peak / 2,
            load_torque=load(0.0) if load is not None else 0.0,
        )
    )
    corners = () if load is None else _corners(machine, bridge, load, flux)
    return Operation(
        points=points,
        answers=_answers(motor, points, [_row(motor, corner) for corner in corners], flux),
        findings=tuple(findings),
    )


def _corners(
    machine: ElectricalMachine, bridge: Bridge, load: TorqueLine, flux: Spread
) -> Iterator[DrivePoint]:
    """Solve the load point at the ends of what flux and resistance may be."""
    for strength in (flux.low, flux.high):
        for ohm in (1 - RESISTANCE_SPREAD, 1 + RESISTANCE_SPREAD):
            other = replace(
                machine,
                back_emf=strength * machine.back_emf,
                resistance=ohm * machine.resistance,
            )
            yield operating_point(other, bridge, load=load)


def _answers(
    motor: Motor, points: Sequence[OperatingPoint], corners: Sequence[OperatingPoint], flux: Spread
) -> Mapping[str, Headline]:
    """Return power, current and thrust at the load with their ranges; nothing without a load."""
    if motor.load is None:
        return {}
    load = next(point for point in points if point.name == "load")
    because = f"{flux.because}; hand winding ±{RESISTANCE_SPREAD:.0%} (common practice, no source)"
    because += "; copper and magnets at 20 °C, without iron, windage and bearing losses"
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


def electrical_machine(
    motor: Motor, winding: Winding, model: MotorModel, *, end_factor: float
) -> ElectricalMachine:
    """Return the machine as its terminals show it; inductances with the end turns' estimate."""
    return ElectricalMachine(
        pole_pairs=motor.rotor.pole_pairs,
        back_emf=end_factor * model.back_emf,
        resistance=winding.resistance_phase,
        inductance_d=model.inductance_d + model.inductance_end,
        inductance_q=model.inductance_q + model.inductance_end,
        connection=motor.winding.connection,
        cogging_torque=model.cogging_torque,
    )


def bridge_of(motor: Motor, winding: Winding) -> Bridge:
    """Return supply and controller as the design states them."""
    drive = motor.drive
    return Bridge(
        supply_voltage=drive.supply_voltage,
        supply_resistance=drive.supply_resistance,
        controller_resistance=drive.controller_resistance,
        lead_resistance=winding.lead_resistance,
        current_limit=drive.current_limit,
        controller=drive.controller,
        timing_advance=drive.timing_advance,
        maximum_electrical_speed=drive.maximum_electrical_speed,
    )


def load_line(motor: Motor) -> TorqueLine | None:
    """Return the torque of the load over speed, None where there is none."""
    load = motor.load
    if load is None:
        return None
    return lambda speed: load.torque(speed, motor.cooling.air_density)


def _row(motor: Motor, point: DrivePoint) -> OperatingPoint:
    state = point.state
    if state is None:
        return OperatingPoint(name=point.name)
    thrust = None
    if motor.load is not None and point.name == "load":
        thrust = motor.load.thrust(state.speed, motor.cooling.air_density)
    return OperatingPoint(
        name=point.name,
        speed_rpm=state.speed / RPM,
        torque_Nm=point.shaft_torque,
        shaft_power_W=point.shaft_power,
        current_A=state.branch_current_rms,
        line_current_A=state.line_current_rms,
        supply_current_A=state.supply_current,
        supply_power_W=state.supply_power,
        losses_W=_losses(state.losses, point.drag_torque * state.speed),
        efficiency=point.efficiency,
        thrust_N=thrust,
        duty=state.duty,
        bus_voltage_V=state.bus_voltage,
        first_order_torque_Nm=state.first_order_torque,
    )


def _losses(electrical: Mapping[str, float], drag: float) -> Mapping[str, float]:
    return dict(electrical) | ({"drag": drag} if drag else {})
