"""Where drive and load meet: no load, the load, the current limit, standstill."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np
from scipy.optimize import brentq

from fem_motor.drive.machine import Bridge, ElectricalMachine
from fem_motor.drive.state import SteadyState
from fem_motor.drive.throttle import Drive, drive_of
from fem_motor.errors import InputError, SolverError
from fem_motor.findings import Finding
from fem_motor.units import RPM

TorqueLine = Callable[[float], float]
"""Torque in N m that opposes turning, over mechanical speed in rad/s; at 0 to break away."""

SCAN_POINTS = 12
"""Speeds at which a load that falls somewhere is compared with the drive."""

SURE_START = 0.5
"""Share of the first-order torque at standstill up to which a load is sure to start."""

FIRST_STEP, ROUGH_STEPS = 0.02, 5
"""Share of the first-order speed at which the meeting is looked for, in steps that double."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OperatingPoint:
    """A steady state with what drag leaves of it, SI.

    Attributes
    ----------
    name : str
        "no load", "load", "current limit", "stall" or the caller's own.
    state : SteadyState or None
        None where there is no such point; `finding` says why.
    drag_torque : float
        Of friction, windage and iron, N m.
    finding : Finding or None
    """

    name: str
    state: SteadyState | None
    drag_torque: float = 0.0
    finding: Finding | None = None

    @property
    def speed(self) -> float | None:
        """Mechanical rad/s."""
        return None if self.state is None else self.state.speed

    @property
    def shaft_torque(self) -> float | None:
        """Mean torque less drag, N m."""
        return None if self.state is None else self.state.torque - self.drag_torque

    @property
    def shaft_power(self) -> float | None:
        """Shaft torque times speed, W."""
        if self.state is None:
            return None
        return (self.state.torque - self.drag_torque) * self.state.speed

    @property
    def efficiency(self) -> float | None:
        """Shaft power over power from the ideal voltage; None where none is drawn."""
        power = self.shaft_power
        if self.state is None or power is None or self.state.supply_power <= 0:
            return None
        return power / self.state.supply_power


def no_torque(speed: float) -> float:  # noqa: ARG001  (a torque line)
    """Return 0: neither load nor drag."""
    return 0.0


def operating_point(
    machine: ElectricalMachine,
    bridge: Bridge,
    *,
    load: TorqueLine,
    drag: TorqueLine = no_torque,
    name: str = "load",
) -> OperatingPoint:
    """Return the lowest speed at which drive and load agree, reached from standstill.

    The drive uses all of `bridge.throttle` unless its current limit or its electrical speed limit
    comes first.

    Parameters
    ----------
    machine, bridge
    load, drag : callable
        Opposing torque (N m) over speed (mechanical rad/s), never negative; at 0 rad/s what it
        takes to break away.
    name : str

    Examples
    --------
    >>> angle = 2 * np.pi / 96 * np.arange(96)
    >>> emf = 0.014 * np.sin(angle - 2 * np.pi / 3 * np.arange(3)[:, None])
    >>> machine = ElectricalMachine(
    ...     pole_pairs=7, back_emf=emf, resistance=0.1, inductance_d=3e-5, inductance_q=3e-5)
    >>> point = operating_point(
    ...     machine, Bridge(supply_voltage=12), load=lambda speed: 1e-6 * speed**2)
    >>> bool(np.isclose(point.shaft_torque, 1e-6 * point.speed**2))
    True
    """
    return _answered(name, lambda: _meeting(drive_of(machine, bridge), load, drag, name))


def operating_points(
    machine: ElectricalMachine,
    bridge: Bridge,
    *,
    load: TorqueLine | None,
    drag: TorqueLine = no_torque,
) -> tuple[OperatingPoint, ...]:
    """Return "no load", "load", "current limit" and "stall", in this order.

    "current limit" is the highest speed at which the whole throttle drives as much as the current
    limit, within the controller's electrical speed; "stall" is standstill at the limit, mean over
    rotor angle. A point that the drive cannot hold has no state, and its finding says why.

    Parameters
    ----------
    machine, bridge
    load : callable or None
        As in `operating_point`; None where no load is known.
    drag : callable
    """
    drive = drive_of(machine, bridge)
    if load is None:
        loaded = _missing("load", "the design names no load.", "give a [load].")
    else:
        line = load
        loaded = _answered("load", lambda: _meeting(drive, line, drag, "load"))
    return (
        _answered("no load", lambda: _meeting(drive, no_torque, drag, "no load")),
        loaded,
        _answered("current limit", lambda: _corner(drive, drag)),
        _answered("stall", lambda: _point(drive.limit_state(0.0), drag, "stall")),
    )


def _answered(name: str, solve: Callable[[], OperatingPoint]) -> OperatingPoint:
    """Return the point, or none with the reason where the drive cannot do what it is asked for."""
    try:
        return solve()
    except InputError as error:
        (problem, *_) = error.problems
        finding = Finding(
            name=f"operating point: {name}",
            status="stop",
            why=f"{problem.place} {problem.what} {problem.why}",
            do=problem.do,
        )
        return OperatingPoint(name=name, state=None, finding=finding)


def _point(state: SteadyState, drag: TorqueLine, name: str) -> OperatingPoint:
    return OperatingPoint(name=name, state=state, drag_torque=drag(state.speed))


def _missing(name: str, why: str, do: str) -> OperatingPoint:
    finding = Finding(name=f"operating point: {name}", status="ok", why=why, do=do)
    return OperatingPoint(name=name, state=None, finding=finding)


def _corner(drive: Drive, drag: TorqueLine) -> OperatingPoint:
    speed = drive.top_speed_at_limit()
    if speed is None:
        return _missing(
            "current limit",
            "this supply cannot drive as much as the current limit, not even at standstill.",
            "",
        )
    top = _top_speed(drive)
    reached = speed if top is None else min(speed, top)
    return _point(drive.limit_state(reached), drag, "current limit")


def _meeting(drive: Drive, load: TorqueLine, drag: TorqueLine, name: str) -> OperatingPoint:
    def needed(speed: float) -> float:
        return load(speed) + drag(speed)

    @cache
    def spare(speed: float) -> float:
        return drive.spare(speed, needed(speed))

    top = _top_speed(drive)
    expected = _expected_around(drive, spare, needed, top)
    if expected is not None:
        speed = _between(spare, expected)
        return _point(drive.full_state(speed, needed(speed)), drag, name)
    if spare(0.0) <= 0:
        return _stalled(drive, needed, drag, name)
    high = drive.ideal_speed if top is None else min(top, drive.ideal_speed)
    for _ in range(40):
        if spare(high) <= 0:
            break
        if top is not None and high >= top:
            return _at_speed_limit(drive, top, needed, drag, name)
        high = 1.25 * high if top is None else min(1.25 * high, top)
    else:
        raise SolverError(
            "meets no load.",
            why=f"there is torque to spare even at {high / RPM:.4g} rpm.",
            do="check back-EMF, inductance and timing advance.",
            place=name,
        )
    speed = _between(spare, _first_meeting(spare, needed, high))
    return _point(drive.full_state(speed, needed(speed)), drag, name)


def _between(spare: TorqueLine, between: tuple[float, float]) -> float:
    """Return the speed without spare torque between two, the lower with some to spare."""
    low, high = between
    return float(brentq(spare, low, high, xtol=1e-10 * high, rtol=1e-10))


def _expected_around(
    drive: Drive, spare: TorqueLine, needed: TorqueLine, top: float | None
) -> tuple[float, float] | None:
    """Return speeds around the only meeting, next to where the first-order formula has it.

    None where the formula is no help: a load that falls somewhere, a start that is not sure, a
    speed limit that may come first. Then the whole range is searched, at twice the cost.
    """
    if not needed(0.0) < SURE_START * drive.rough_torque(0.0):
        return None
    if not _never_falls(needed, drive.ideal_speed):
        return None
    rough = float(
        brentq(lambda speed: drive.rough_torque(speed) - needed(speed), 0.0, drive.ideal_speed)
    )
    low, high = (1 - FIRST_STEP) * rough, rough
    for _ in range(ROUGH_STEPS):
        if top is not None and high >= top:
            return None
        if spare(low) <= 0:
            low, high = low - 2 * (high - low), low
        elif spare(high) > 0:
            low, high = high, high + 2 * (high - low)
        else:
            return low, high
        if low <= 0:
            return None
    return None


def _top_speed(drive: Drive) -> float | None:
    """Return the mechanical speed at which the controller's electrical limit is reached."""
    most = drive.bridge.maximum_electrical_speed
    return None if most is None else most / drive.machine.pole_pairs


def _first_meeting(spare: TorqueLine, needed: TorqueLine, high: float) -> tuple[float, float]:
    """Return speeds around the first meeting, which is the only one of a load that never falls."""
    if _never_falls(needed, high):
        return 0.0, high
    speeds = np.linspace(0, high, SCAN_POINTS)
    for low, next_speed in pairwise(speeds.tolist()):
        if spare(next_speed) <= 0:
            return low, next_speed
    return float(speeds[-2]), high


def _never_falls(needed: TorqueLine, high: float) -> bool:
    speeds = np.linspace(0, high, SCAN_POINTS).tolist()
    return all(needed(b) >= needed(a) for a, b in pairwise(speeds))


def _stalled(drive: Drive, needed: TorqueLine, drag: TorqueLine, name: str) -> OperatingPoint:
    state = drive.limit_state(0.0)
    finding = Finding(
        name=f"torque at standstill, {name}, N m",
        status="stop",
        value=state.torque,
        limit=needed(0.0),
        why="load and friction at standstill need more than the drive gives.",
        do="raise current_limit or supply_voltage, use more turns or a smaller load.",
    )
    return OperatingPoint(
        name=name, state=state, drag_torque=min(drag(0.0), state.torque), finding=finding
    )


def _at_speed_limit(
    drive: Drive, speed: float, needed: TorqueLine, drag: TorqueLine, name: str
) -> OperatingPoint:
    electrical = speed * drive.machine.pole_pairs / RPM
    finding = Finding(
        name=f"electrical speed, {name}, rpm",
        status="watch",
        value=electrical,
        limit=electrical,
        bound="at most",
        why="the controller's electrical speed limit comes before the voltage; it takes back the "
        "throttle there.",
        do="use fewer poles, more turns, or a controller for more electrical rpm.",
    )
    state = drive.torque_state(speed, needed(speed))
    return OperatingPoint(name=name, state=state, drag_torque=drag(speed), finding=finding)
