"""Six-step drive at a speed and a duty: the orbit, the bus that sags, currents and power.

Each terminal is at the upper rail for 120°, open for 60°, at the lower rail for 120°, open for
60°. Without advance the 120° stand symmetrically about the peak of the terminal's fundamental
back-EMF. Pulse-width modulation enters as its mean: of the bus V_b the duty D puts ±D V_b/2 on the
two terminals in use, while the diodes of the open one lead to the full rails ±V_b/2. Both switches
in use conduct either way.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from fem_motor.arrays import FloatArray, resampled
from fem_motor.drive.machine import Bridge, ElectricalMachine
from fem_motor.drive.orbit import (
    INTERVAL,
    Circuit,
    Interval,
    StepWaves,
    circuit,
    interval_currents,
    orbit,
    step_waves,
)
from fem_motor.drive.state import SAMPLES, SteadyState
from fem_motor.drive.waves import emf_waves, series_values, turns
from fem_motor.errors import InputError, SolverError

NODES, WEIGHTS = np.polynomial.legendre.leggauss(10)
LAYERS = np.array([0.5, 2.0, 6.0, 15.0, 36.0])
"""Ends of the panels on an exponential, in its own length; e⁻³⁶ is rounding."""

BUS_ROUNDING = 1e-9

KEPT = 16
"""Solutions of one machine on one bridge that are kept."""

PANEL_ANGLE = 4.0
"""Radians of the highest harmonic in one panel: ten nodes carry its square to rounding."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Means:
    """Means over the orbit, SI; squares are of single currents, mean over the phases."""

    supply_current: float
    torque: float
    line_square: float
    diode_current: float
    line_peak: float


Solved = tuple[float, Circuit, tuple[Interval, ...], Means]
"""Bus voltage, circuit, intervals and their means."""

SMALL_SAG = 1e-6
"""Share of the supply voltage below which two sags are not compared."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sag:
    """What the last bus voltage found teaches the search for the next, which is often near.

    Attributes
    ----------
    share : float
        The bus voltage below the supply's, as a share of what the first-order formula expects.
    slope : float or None
        By how much V_b + R_s I_s(V_b) rises with V_b; None where none is known yet.
    """

    share: float = 1.0
    slope: float | None = None


def six_step_state(
    machine: ElectricalMachine, bridge: Bridge, *, speed: float, duty: float = 1.0
) -> SteadyState:
    """Return the steady state of six-step drive.

    Parameters
    ----------
    machine, bridge
        `controller` and `current_limit` of the bridge are not looked at.
    speed : float
        Mechanical rad/s, 0 or more; at 0 currents follow voltages, and means are over rotor angle.
    duty : float
        0 to 1.

    Raises
    ------
    InputError
        Speed or duty out of range.
    SolverError
        No periodic orbit, or no bus voltage.

    Examples
    --------
    >>> angle = 2 * np.pi / 96 * np.arange(96)
    >>> emf = 0.014 * np.sin(angle - 2 * np.pi / 3 * np.arange(3)[:, None])
    >>> machine = ElectricalMachine(
    ...     pole_pairs=7, back_emf=emf, resistance=0.1, inductance_d=3e-5, inductance_q=3e-5)
    >>> state = six_step_state(machine, Bridge(supply_voltage=12), speed=400)
    >>> bool(np.isclose(state.supply_power, state.rotor_power + sum(state.losses.values())))
    True
    """
    waves = step_waves(emf_waves(machine), bridge.timing_advance)
    return SixStep(waves=waves, bridge=bridge).state(speed, duty)


@dataclass(frozen=True, kw_only=True, eq=False)
class SixStep:
    """One machine on one bridge, ready for any speed and duty."""

    waves: StepWaves
    bridge: Bridge

    def state(self, speed: float, duty: float) -> SteadyState:
        """Return the steady state at `speed` and `duty`."""
        _check(speed, duty)
        bus, solved, intervals, means = self._solved(speed, duty)
        return self._state(solved, intervals, means, bus=bus, duty=duty)

    def means(self, speed: float, duty: float) -> Means:
        """Return torque, supply current and peak alone: all that a search needs."""
        return self._solved(speed, duty)[3]

    @cached_property
    def _solved(self) -> Callable[[float, float], Solved]:
        """The last solutions, kept: a search ends where it has just been, and goes on from there.

        Where the search for a bus voltage starts does not show in what it finds, but for rounding.
        """
        sag = Sag()

        @lru_cache(maxsize=KEPT)
        def solved(speed: float, duty: float) -> Solved:
            nonlocal sag
            solution, sag = self._solve(speed, duty, sag)
            return solution

        return solved

    def _solve(self, speed: float, duty: float, near: Sag) -> tuple[Solved, Sag]:
        """Find V_b = V − R_s I_s(V_b) by the secant method; I_s is close to linear in V_b."""
        bridge = self.bridge
        source = bridge.supply_resistance
        expected = self._expected_sag(speed, duty)
        bus = bridge.supply_voltage - self._within_reason(near.share * expected)
        slope = near.slope
        tried: tuple[float, float] | None = None
        miss = math.inf
        for _ in range(50):
            at = circuit(
                self.waves,
                line_resistance=bridge.line_resistance,
                speed=speed,
                voltage=duty * bus,
                rail=bus / 2 + bridge.diode_drop,
            )
            intervals = orbit(at)
            means = _means(at, intervals, duty)
            miss = bridge.supply_voltage - source * means.supply_current - bus
            if tried is not None and tried[0] != bus:
                slope = (tried[1] - miss) / (bus - tried[0])
            elif slope is None:
                slope = 1 + source * duty**2 / (2 * at.resistance)
            if abs(miss) <= BUS_ROUNDING * bridge.supply_voltage:
                found = bridge.supply_voltage - bus
                is_small = abs(expected) <= SMALL_SAG * bridge.supply_voltage
                share = near.share if is_small else found / expected
                return (bus, at, intervals, means), Sag(share=share, slope=slope)
            tried = bus, miss
            bus += miss / max(slope, 1.0)
        raise SolverError(
            "found no bus voltage.",
            why=f"the last try is off by {miss:.3g} V.",
            do="lower the supply resistance.",
            place=f"speed {speed:.6g} rad/s, duty {duty:.3g}:",
        )

    def _expected_sag(self, speed: float, duty: float) -> float:
        """Return what the bus loses by the first-order formula, V."""
        current = self.first_order_torque(speed, duty) / self.waves.waves.dc_constant
        return self._within_reason(self.bridge.supply_resistance * duty * current)

    def _within_reason(self, sag: float) -> float:
        """Return `sag` where it leaves the bus half to twice the supply's voltage, V."""
        voltage = self.bridge.supply_voltage
        return min(max(sag, -voltage), voltage / 2)

    def _state(
        self,
        at: Circuit,
        intervals: tuple[Interval, ...],
        means: Means,
        *,
        bus: float,
        duty: float,
    ) -> SteadyState:
        waves, bridge = self.waves.waves, self.bridge
        machine = waves.machine
        electrical = 2 * math.pi / SAMPLES * np.arange(SAMPLES)
        lines = _line_waves(at, intervals, electrical)
        circulating = waves.circulating(at.speed)
        around = series_values(waves.orders, circulating, electrical)
        branches = waves.branches(lines, around)
        square = means.line_square
        branch_square = square / 3 + _half(circulating) if waves.is_delta else square
        source = bridge.supply_resistance
        return SteadyState(
            controller="six-step",
            speed=at.speed,
            duty=duty,
            supply_voltage=bridge.supply_voltage,
            bus_voltage=bus,
            torque=means.torque,
            angle=electrical / machine.pole_pairs,
            branch_current=branches,
            line_current=waves.named(lines),
            torque_wave=torque_wave(machine, branches),
            branch_current_rms=math.sqrt(branch_square),
            line_current_rms=math.sqrt(square),
            line_current_peak=means.line_peak,
            supply_current=means.supply_current,
            losses={
                "copper": 3 * machine.resistance * branch_square,
                "leads": 3 * bridge.lead_resistance * square,
                "controller": 1.5 * bridge.controller_resistance * square,
                "diodes": bridge.diode_drop * means.diode_current,
                "supply": source * means.supply_current**2,
            },
            freewheel_share=max(_freewheel(interval) for interval in intervals),
            current_angle=None,
            first_order_torque=self.first_order_torque(at.speed, duty),
        )

    def first_order_torque(self, speed: float, duty: float) -> float:
        """Return k I with D V = k ω + (R + D² R_s) I and k the mean line back-EMF per rad/s.

        Source: M. Drela, First-order DC electric motor model (2007), from memory; the supply
        carries D I.
        """
        waves, bridge = self.waves.waves, self.bridge
        constant = waves.dc_constant
        path = 2 * (waves.star_resistance + bridge.line_resistance)
        resistance = path + duty**2 * bridge.supply_resistance
        return constant * (duty * bridge.supply_voltage - constant * speed) / resistance


def torque_wave(machine: ElectricalMachine, branches: FloatArray) -> FloatArray:
    """Return Σ e i plus cogging at the angles of the branch currents (3, n), N m."""
    samples = branches.shape[1]
    emf = resampled(machine.back_emf, samples)
    torque = np.sum((emf - emf.mean(axis=1, keepdims=True)) * branches, axis=0)
    if machine.cogging_torque is not None:
        torque = torque + resampled(machine.cogging_torque, samples)
    return np.asarray(torque)


def _half(coefficients: FloatArray | np.ndarray) -> float:
    """Return the mean square of a series."""
    return float(np.sum(np.abs(coefficients) ** 2) / 2)


def _means(at: Circuit, intervals: tuple[Interval, ...], duty: float) -> Means:
    """Return the means over all intervals, by Gauss panels between events."""
    waves = at.waves.waves
    supply = torque = square = diode = peak = 0.0
    for frame, interval in enumerate(intervals):
        angle, weight = _panels(at, interval)
        turned = turns(waves.orders, angle)
        currents, clamp = interval_currents(at, frame, interval, angle, turned)
        emf = np.real(at.waves.frames[frame] @ turned)
        weight = weight / (INTERVAL * len(intervals))
        torque += float(weight @ np.sum(emf * currents, axis=0))
        square += float(weight @ np.sum(currents**2, axis=0)) / 3
        diode += float(weight @ (np.abs(currents[1]) * (clamp != 0)))
        into_bus = duty * (currents[0] - currents[2]) + clamp * currents[1]
        supply += float(weight @ into_bus) / 2
        ends = np.array([0.0, INTERVAL, *(piece.end for piece in interval.pieces)])
        at_ends, _ = interval_currents(at, frame, interval, ends, turns(waves.orders, ends))
        peak = max(peak, float(np.abs(currents).max()), float(np.abs(at_ends).max()))
    around = waves.circulating(at.speed)
    torque += 1.5 * float(np.sum(np.real(np.conj(waves.common) * around)))
    return Means(
        supply_current=supply,
        torque=torque,
        line_square=square,
        diode_current=diode,
        line_peak=peak,
    )


def _panels(at: Circuit, interval: Interval) -> tuple[FloatArray, FloatArray]:
    """Return Gauss nodes and weights: short where an exponential starts."""
    starts = np.array([piece.start for piece in interval.pieces])
    layers = (starts[:, None] + LAYERS / at.decay).ravel()
    count = math.ceil(INTERVAL * float(at.waves.waves.orders.max()) / PANEL_ANGLE)
    even = np.linspace(0, INTERVAL, max(count, 4) + 1)
    edges = np.unique(np.concatenate((even, starts, layers[layers < INTERVAL])))
    half = np.diff(edges)[:, None] / 2
    middle = (edges[1:] + edges[:-1])[:, None] / 2
    return (middle + half * NODES).ravel(), (half * WEIGHTS).ravel()


def _line_waves(at: Circuit, intervals: tuple[Interval, ...], electrical: FloatArray) -> FloatArray:
    """Return line currents (3, n) at electrical rotor angles, in the order of the waves."""
    behind = np.mod(electrical - at.waves.start, 2 * math.pi)
    number = np.minimum((behind / INTERVAL).astype(int), 5)
    lines = np.empty((3, electrical.size))
    for step in range(6):
        inside = number == step
        frame = step % len(intervals)
        # Clipped: rounding must not put an angle outside the pieces.
        angle = np.clip(behind[inside] - step * INTERVAL, 0.0, INTERVAL)
        turned = turns(at.waves.waves.orders, angle)
        currents, _ = interval_currents(at, frame, intervals[frame], angle, turned)
        # (p, f, m) = −(m, p, f) of the interval before: undone `step` times.
        lines[:, inside] = (-1) ** step * np.roll(currents, -step, axis=0)
    return lines


def _freewheel(interval: Interval) -> float:
    first = interval.pieces[0]
    return first.end / INTERVAL if first.clamp and first.current else 0.0


def _check(speed: float, duty: float) -> None:
    if not (math.isfinite(speed) and speed >= 0):
        raise InputError(
            f"= {speed} is impossible.",
            why="the drive turns forward or stands.",
            do="give 0 or more rad/s.",
            place="speed",
        )
    if not 0 <= duty <= 1:
        raise InputError(
            f"= {duty} is impossible.",
            why="the controller passes on none to all of the bus voltage.",
            do="give 0 to 1.",
            place="duty",
        )
