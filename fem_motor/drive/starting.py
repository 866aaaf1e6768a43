"""It twitches and does not start: each usual cause with its number and its limit."""

import math
from collections.abc import Iterator

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.drive.checks import READABLE_SHARE, start_finding
from fem_motor.drive.machine import Bridge, ElectricalMachine
from fem_motor.findings import Finding, Status
from fem_motor.units import DEG, RPM

ANGLE_WATCH_DEG, ANGLE_STOP_DEG = 10.0, 30.0
"""Electrical, by which phases may be off 120°; half of the 60° of a step is a wrong step. A choice
of this project."""

LEAST_VOLTS = 0.2
"""Of line back-EMF that a comparator behind a divider tells from noise; common practice, no
source."""

MOST_ADVANCE_DEG = 30.0
"""Electrical; beyond it the step before would be nearer; common practice, no source."""


def start_findings(
    machine: ElectricalMachine,
    bridge: Bridge,
    *,
    full_speed: float,
    state_torque: FloatArray,
    cogging_torque: FloatArray | float,
    friction_torque: float,
    load_torque: float,
) -> tuple[Finding, ...]:
    """Return the verdict on every usual cause of a motor that does not start.

    The ripple of the controller's pulses is told by `step_findings`.

    Parameters
    ----------
    machine, bridge
    full_speed : float
        At full throttle without load, mechanical rad/s; 0 where there is none.
    state_torque, cogging_torque, friction_torque, load_torque
        See `start_finding`.
    """
    return (
        start_finding(
            state_torque=state_torque,
            cogging_torque=cogging_torque,
            friction_torque=friction_torque,
            load_torque=load_torque,
        ),
        *_phases(machine),
        *_back_emf(machine, full_speed),
        *_advance(bridge),
        *_speed_limit(machine, bridge, full_speed),
    )


def _phases(machine: ElectricalMachine) -> Iterator[Finding]:
    """Yield whether the phases follow each other by 120°, and which way round."""
    first = np.fft.rfft(machine.back_emf, axis=1)[:, 1]
    errors = {}
    for way in (1, -1):
        turned = first * np.exp(way * 2j * math.pi / 3 * np.arange(3))
        errors[way] = float(np.abs(np.angle(turned / turned.sum())).max())
    way = min(errors, key=lambda one: errors[one])
    worst = errors[way] / DEG
    status: Status = (
        "ok" if worst < ANGLE_WATCH_DEG else "watch" if worst < ANGLE_STOP_DEG else "stop"
    )
    yield Finding(
        name="start: phases off their 120°, electrical degrees",
        status=status,
        value=worst,
        limit=ANGLE_WATCH_DEG,
        why="a reversed coil, a coil on another phase or a phase with its ends swapped turns the "
        "back-EMF; steps then push the wrong way and the rotor twitches.",
        do=""
        if status == "ok"
        else "read resistances and spin voltages and run fem-motor check "
        "with them; then mend the tooth that it names.",
    )
    if way == -1:
        yield Finding(
            name="start: sequence of the phases",
            status="watch",
            why="U, V, W follow each other clockwise: the motor runs, the other way round. A "
            "controller with position sensors does not start it.",
            do="swap two of the three leads.",
        )


def _back_emf(machine: ElectricalMachine, full_speed: float) -> Iterator[Finding]:
    if full_speed <= 0:
        return
    emf = machine.back_emf
    line = emf if machine.connection == "delta" else emf - np.roll(emf, -1, axis=0)
    volts = READABLE_SHARE * full_speed * float(np.abs(line).max())
    is_enough = volts >= LEAST_VOLTS
    yield Finding(
        name="start: line back-EMF at a twentieth of full speed, V",
        status="ok" if is_enough else "watch",
        value=volts,
        limit=LEAST_VOLTS,
        why="controllers without sensors turn the rotor blindly until they can read it; common "
        "practice, no source.",
        do="" if is_enough else "raise the supply voltage, wind more turns, or use sensors.",
    )


def _advance(bridge: Bridge) -> Iterator[Finding]:
    advance = abs(bridge.timing_advance) / DEG
    is_little = advance <= MOST_ADVANCE_DEG + 1e-9
    yield Finding(
        name="start: timing advance, electrical degrees",
        status="ok" if is_little else "watch",
        value=advance,
        limit=MOST_ADVANCE_DEG,
        why="more of it leaves less torque at standstill and makes the rotor hunt.",
        do="" if is_little else "start with 0 to 15°.",
    )


def _speed_limit(
    machine: ElectricalMachine, bridge: Bridge, full_speed: float
) -> Iterator[Finding]:
    if bridge.maximum_electrical_speed is None:
        return
    value, limit = machine.pole_pairs * full_speed, bridge.maximum_electrical_speed
    is_within = value <= limit * (1 + 1e-9)
    yield Finding(
        name="start: electrical speed at full throttle without load, rpm",
        status="ok" if is_within else "watch",
        value=value / RPM,
        limit=limit / RPM,
        why="a controller that cannot follow stops, restarts and stutters as the throttle opens.",
        do=""
        if is_within
        else "less throttle without load, fewer poles, more turns or a faster controller.",
    )
