"""Whether the drive keeps step, and whether it starts: each a number with its limit."""

import math

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.drive.machine import Bridge, ElectricalMachine
from fem_motor.drive.state import SteadyState
from fem_motor.errors import InputError
from fem_motor.findings import Finding
from fem_motor.numbers import digits
from fem_motor.units import RPM

READABLE_SHARE = 0.05
"""Share of full speed from which controllers read the back-EMF; common practice, no source."""

PULSES = 16e3
"""1/s, a usual setting of hobby controllers; common practice, no source."""

RIPPLE_SHARE = 0.3
"""Ripple of the pulses over the peak of a line current; common practice, no source."""

START_SHARE = 0.8
"""Share of the torque at the current limit to count on at the start; common practice, no source."""


def step_findings(
    machine: ElectricalMachine, bridge: Bridge, state: SteadyState, *, full_speed: float
) -> tuple[Finding, ...]:
    """Return what could make the drive lose step in `state`.

    The open phase of six-step shows its zero crossing half-way through its 60°, and later by the
    timing advance. Its current must be gone by then, or the controller sees a rail instead.

    Parameters
    ----------
    machine, bridge
    state : SteadyState
        Where the drive is to run.
    full_speed : float
        At full throttle without load, mechanical rad/s.
    """
    found = [] if state.freewheel_share is None else [_decay(machine, bridge, state)]
    if bridge.maximum_electrical_speed is not None:
        found.append(_electrical_speed(machine, bridge, state))
    found.append(_readable_speed(state, full_speed))
    found.append(_pulses(machine, bridge, state))
    return tuple(found)


def pulse_ripple(*, voltage: float, duty: float, line_inductance: float, frequency: float) -> float:
    """Return the ripple of the current by pulse-width modulation, A peak to peak.

    ΔI = V D (1 − D)/(L f) between two lines. Source: N. Mohan, Power Electronics, buck converter,
    from memory.

    Parameters
    ----------
    voltage : float
        Of the bus, V.
    duty : float
    line_inductance : float
        Line to line, H.
    frequency : float
        Of the pulses, 1/s.

    >>> round(pulse_ripple(voltage=12, duty=0.5, line_inductance=40e-6, frequency=16e3), 2)
    4.69
    """
    return voltage * duty * (1 - duty) / (line_inductance * frequency)


def _pulses(machine: ElectricalMachine, bridge: Bridge, state: SteadyState) -> Finding:
    line = 2 * machine.inductance / (3 if machine.connection == "delta" else 1)
    ripple = pulse_ripple(
        voltage=bridge.supply_voltage, duty=0.5, line_inductance=line, frequency=PULSES
    )
    limit = RIPPLE_SHARE * state.line_current_peak
    is_small = ripple <= limit
    return Finding(
        name=f"ripple of the pulses at {PULSES / 1e3:g} kHz, half throttle, A peak to peak",
        status="ok" if is_small else "watch",
        value=ripple,
        limit=limit,
        why="it is not in the currents and losses here, and heats copper and controller; so little "
        f"inductance ({line * 1e6:.3g} µH line to line) lets it grow. The limit is "
        f"{RIPPLE_SHARE:.0%} of the peak of a line; common practice, no source.",
        do="" if is_small else "set the controller to 24 to 48 kHz, or put chokes into the leads.",
    )


def start_finding(
    *,
    state_torque: FloatArray,
    cogging_torque: FloatArray | float = 0.0,
    friction_torque: float = 0.0,
    load_torque: float = 0.0,
) -> Finding:
    """Return whether the motor starts from any rotor position, with the torque of the worst one.

    At each angle the best of the six states counts, four fifths of it (controllers do not know
    the position yet), with the cogging there; the smallest sum must overcome friction and load.

    Parameters
    ----------
    state_torque : (m, n)
        Torque of each six-step state at the current limit over rotor angle, N m, cogging not
        included; equally spaced over one electrical period or more. Of back-EMF alone:
        `ElectricalMachine.step_torques`.
    cogging_torque : (n,) or 0
        At the same angles, N m.
    friction_torque, load_torque : float
        To break away, N m.

    Raises
    ------
    InputError
        Arrays of different length.
    """
    states = np.atleast_2d(frozen(state_torque))
    cogging = np.broadcast_to(frozen(cogging_torque), _length_of(states, cogging_torque))
    best = states.max(axis=0)
    worst = float((START_SHARE * best + cogging).min())
    full = float((best + cogging).min())
    needed = friction_torque + load_torque
    status = "ok" if worst > needed else "watch" if full > needed else "stop"
    return Finding(
        name="start: torque in the worst rotor position, N m",
        status="ok" if status == "ok" else "watch" if status == "watch" else "stop",
        value=worst,
        limit=needed,
        why=f"{START_SHARE:.0%} of the best step at the current limit, with the cogging there, "
        f"against friction and load; all of that step leaves {full:.3g} N m.",
        do="" if status == "ok" else "raise current_limit, lower the cogging, or lighten the load.",
    )


def _length_of(states: FloatArray, cogging: FloatArray | float) -> tuple[int, ...]:
    size = np.size(cogging)
    if size not in {1, states.shape[-1]}:
        raise InputError(
            f"has {size} samples.",
            why=f"state_torque has {states.shape[-1]} rotor angles.",
            do="give both at the same angles.",
            place="cogging_torque",
        )
    return (states.shape[-1],)


def _decay(machine: ElectricalMachine, bridge: Bridge, state: SteadyState) -> Finding:
    share = state.freewheel_share or 0.0
    limit = min(0.5 + bridge.timing_advance / (math.pi / 3), 1.0)
    is_gone = share < limit
    interval = math.pi / 3 / (machine.pole_pairs * state.speed) if state.speed else math.inf
    return Finding(
        name="share of the open 60° that the old current takes",
        status="ok" if is_gone else "watch",
        value=share,
        limit=limit,
        why="the controller sees no zero crossing while a diode conducts"
        + (
            "; by L, R and the voltage the old current is gone after "
            f"{digits(share * interval * 1e6, 3)} µs, and the 60° last "
            f"{digits(interval * 1e6, 4)} µs here."
            if math.isfinite(interval)
            else "."
        ),
        do="" if is_gone else "lower the current, use fewer turns, or more timing advance.",
    )


def _electrical_speed(machine: ElectricalMachine, bridge: Bridge, state: SteadyState) -> Finding:
    value = machine.pole_pairs * state.speed / RPM
    limit = (bridge.maximum_electrical_speed or math.inf) / RPM
    is_within = value <= limit * (1 + 1e-9)
    return Finding(
        name="electrical speed, rpm",
        status="ok" if is_within else "stop",
        value=value,
        limit=limit,
        why="the controller cannot commutate faster.",
        do="" if is_within else "use fewer poles, more turns, or a faster controller.",
    )


def _readable_speed(state: SteadyState, full_speed: float) -> Finding:
    least = READABLE_SHARE * full_speed
    is_readable = state.speed >= least
    return Finding(
        name="speed over the least at which the back-EMF can be read, rpm",
        status="ok" if is_readable else "watch",
        value=state.speed / RPM,
        limit=least / RPM,
        why=f"below {READABLE_SHARE:.0%} of full speed controllers without sensors step blindly; "
        "common practice, no source.",
        do="" if is_readable else "use sensors, or do not stay at this speed.",
    )
