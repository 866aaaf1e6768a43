"""Temperatures over a flight: throttle over time in, temperatures, speed and energy out."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.errors import InputError, Problem
from fem_motor.findings import Finding
from fem_motor.heat import Heating, ThermalNetwork, thermal_network, transient
from fem_motor.powered import PoweredMotor
from fem_motor.throttle.loss_table import LossTables, RunningPoint
from fem_motor.units import RPM

WRITTEN = 1.0
"""K that a part changes from one written step to the next; the computed ones are finer."""

STANDING = RunningPoint(heating=Heating(speed=0.0), speed=0.0, shaft_power=0.0, supply_current=0.0)
"""At throttle 0."""

LONGEST_S = 1e7
"""s of a profile: four months."""

JOULES_PER_WATTHOUR = 3600.0

FULL = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FlightProfile:
    """Throttle over time, held from each time to the next.

    Attributes
    ----------
    time_s : (n,)
        From 0, rising; the last one is the end.
    throttle : (n,)
        0 to 1; that of the last time is not used.

    Examples
    --------
    >>> profile = FlightProfile(time_s=[0, 20, 60], throttle=[1.0, 0.4, 0.4])
    >>> float(profile.time_s[-1])
    60.0
    """

    time_s: FloatArray
    throttle: FloatArray

    def __post_init__(self) -> None:
        for name in ("time_s", "throttle"):
            object.__setattr__(self, name, frozen(np.atleast_1d(getattr(self, name))))
        problems = [*_wrong_times(self.time_s), *_wrong_throttles(self.throttle, self.time_s.size)]
        if problems:
            raise InputError.from_problems(problems)


def _wrong_times(time: FloatArray) -> list[Problem]:
    def wrong(what: str, why: str, do: str) -> Problem:
        return Problem(what=what, why=why, do=do, place="time_s")

    if time.ndim != 1 or time.size < 2:  # noqa: PLR2004  (a start and an end)
        why = "a profile has a start and an end."
        return [wrong(f"has {time.size} row(s).", why, "give at least two times.")]
    if not np.isfinite(time).all():
        row = int(np.argmax(~np.isfinite(time))) + 1
        return [wrong(f"has no number in row {row}.", "each row has its time.", "fill it in.")]
    found = []
    if time[0] != 0:
        why = "the motor is cold at second 0."
        found.append(wrong(f"starts at {time[0]:g}.", why, "count from 0."))
    if time[-1] > LONGEST_S:
        why = f"it lasts {time[-1]:.3g} s; a profile has at most {LONGEST_S:g}."
        found.append(wrong("is too long.", why, "give seconds, not milliseconds."))
    if (np.diff(time) <= 0).any():
        row = int(np.argmax(np.diff(time) <= 0)) + 2
        why = "times rise from row to row."
        found.append(
            wrong(f"does not rise in row {row}: {time[row - 1]:g}.", why, "sort the rows.")
        )
    return found


def _wrong_throttles(throttle: FloatArray, rows: int) -> list[Problem]:
    def wrong(what: str, why: str, do: str) -> Problem:
        return Problem(what=what, why=why, do=do, place="throttle")

    if throttle.shape != (rows,):
        why = f"time_s has {rows} row(s)."
        return [wrong(f"has {throttle.size} row(s).", why, "give one throttle for each time.")]
    bad = ~((throttle >= 0) & (throttle <= FULL))
    if not bad.any():
        return []
    row = int(np.argmax(bad))
    do = "divide per cent by 100." if throttle[row] > FULL else "correct the value."
    what = f"= {throttle[row]:g} in row {row + 1} is out of range."
    return [wrong(what, "a throttle is a share of the voltage, 0 to 1.", do)]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Flight:
    """A profile flown from cold: all parts at ambient temperature at first.

    Attributes
    ----------
    time_s : (k,)
        At the steps of the computation; ends early where the winding burns.
    throttle, speed_rpm, shaft_power_W : (k,)
        From this time on.
    supply_current_A : (k,)
        Mean until the next time.
    temperatures_C : mapping of part to (k,)
    limits_C : mapping of part to °C
        Where known.
    first_part : str or None
        The first to pass its limit; None: none did.
    first_s : float or None
        When it did.
    energy_Wh : float
        From the ideal voltage.
    finding : Finding
    """

    time_s: FloatArray
    throttle: FloatArray
    speed_rpm: FloatArray
    shaft_power_W: FloatArray
    supply_current_A: FloatArray
    temperatures_C: Mapping[str, FloatArray]
    limits_C: Mapping[str, float]
    first_part: str | None
    first_s: float | None
    energy_Wh: float
    finding: Finding

    def __post_init__(self) -> None:
        for name in ("time_s", "throttle", "speed_rpm", "shaft_power_W", "supply_current_A"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        parts = {part: frozen(values) for part, values in self.temperatures_C.items()}
        object.__setattr__(self, "temperatures_C", MappingProxyType(parts))
        object.__setattr__(self, "limits_C", MappingProxyType(dict(self.limits_C)))


def fly(powered: PoweredMotor, profile: FlightProfile) -> Flight:
    """Return the temperatures over a profile of throttle, from cold.

    The operating point follows the temperatures of copper and magnets. At throttle 0 the rotor is
    taken to stand; coasting and spinning up take no time.

    Parameters
    ----------
    powered : PoweredMotor
        Without a load the motor turns freely.
    profile : FlightProfile

    Examples
    --------
    >>> import fem_motor as fm
    >>> design = fm.load_design("geometries/printed_18s16p.toml")
    >>> motor = fm.solve_powered(design, quality="draft").powered
    >>> flight = fly(motor, FlightProfile(time_s=[0, 10, 60], throttle=[1.0, 0.3, 0.3]))
    >>> flight.first_part is None  # ten seconds are short enough
    True
    """
    logbook = _Logbook(powered, profile.throttle)
    for start, end, throttle in zip(
        profile.time_s[:-1].tolist(),
        profile.time_s[1:].tolist(),
        profile.throttle.tolist(),
        strict=False,
    ):
        if not logbook.hold(start, end, throttle):
            break
    return logbook.flight()


def _kept(states: FloatArray, limits: FloatArray) -> list[int]:
    """Return the steps to be written: first and last, by a kelvin, and around the first limit."""
    kept = [0]
    for step in range(1, states.shape[1] - 1):
        if np.abs(states[:, step] - states[:, kept[-1]]).max() > WRITTEN:
            kept.append(step)
    over = np.flatnonzero((states > limits[:, None]).any(axis=0))
    around = [] if not over.size else [max(int(over[0]) - 1, 0), int(over[0])]
    return sorted({*kept, *around, states.shape[1] - 1})


class _Logbook:
    """What was written so far, and the motor as warm as it is."""

    def __init__(self, powered: PoweredMotor, throttles: FloatArray) -> None:
        self._powered = powered
        self._network = thermal_network(powered.motor, powered.winding)
        readings = self._network.readings
        self._copper, self._magnets = readings.index("copper"), readings.index("magnets")
        self._times = [0.0]
        self._states = [np.full(len(readings), self._network.surroundings_C)]
        self._rows: list[tuple[float, float, float, float]] = []
        self._energy, self._burnt = 0.0, False
        moving = throttles[:-1][throttles[:-1] > 0]
        self._tables = LossTables(powered, moving, origin_C=self._network.surroundings_C)

    def hold(self, start: float, end: float, throttle: float) -> bool:
        """Hold a throttle until `end`; False where the winding burns on the way."""
        network = self._network

        def losses(readings: FloatArray) -> Heating:
            return self._running(throttle, readings).heating

        begun = self._states[-1][: len(network.parts)]
        found = transient(network, [(end - start, losses)], start_C=begun)
        self._write(start + found.time, found.temperatures_C, throttle)
        self._burnt = bool(found.findings)
        return not self._burnt

    def _running(self, throttle: float, readings: FloatArray) -> RunningPoint:
        if throttle == 0:
            return STANDING
        return self._tables.at(
            throttle,
            copper_C=float(readings[self._copper]),
            magnet_C=float(readings[self._magnets]),
        )

    def _write(self, times: FloatArray, states: FloatArray, throttle: float) -> None:
        """Write the steps of a hold that count; the current of each is the mean to the next."""
        points = [self._running(throttle, state) for state in states.T]
        currents = np.array([point.supply_current for point in points])
        # ∫ I dt between the steps of the integrator, by the trapezoidal rule.
        charge = np.concatenate(
            [[0.0], np.cumsum(np.diff(times) * (currents[1:] + currents[:-1]) / 2)]
        )
        kept = _kept(states, self._network.limit_array)
        for step, after in pairwise(kept):
            mean = (charge[after] - charge[step]) / (times[after] - times[step])
            point = points[step]
            self._rows.append((throttle, point.speed / RPM, point.shaft_power, float(mean)))
            self._times.append(float(times[after]))
            self._states.append(states[:, after])
        self._energy += self._powered.bridge.supply_voltage * float(charge[-1])

    def flight(self) -> Flight:
        """Return the record."""
        network = self._network
        states = np.transpose(self._states)
        rows = np.array([*self._rows, self._rows[-1]]).T
        part, second = self._first_over(states)
        return Flight(
            time_s=np.array(self._times),
            throttle=rows[0],
            speed_rpm=rows[1],
            shaft_power_W=rows[2],
            supply_current_A=rows[3],
            temperatures_C=dict(zip(network.readings, states, strict=True)),
            limits_C={
                name: limit
                for name, limit in zip(network.readings, network.limit_array, strict=True)
                if math.isfinite(limit)
            },
            first_part=part,
            first_s=second,
            energy_Wh=self._energy / JOULES_PER_WATTHOUR,
            finding=_verdict(network, part, second, states, is_burnt=self._burnt),
        )

    def _first_over(self, states: FloatArray) -> tuple[str | None, float | None]:
        over = states - self._network.limit_array[:, None]
        above = np.flatnonzero((over > 0).any(axis=0))
        if not above.size:
            return None, None
        at = int(above[0])
        row = int(np.argmax(over[:, at]))
        if at == 0:
            return self._network.readings[row], 0.0
        before, after = over[row, at - 1], over[row, at]
        share = -before / (after - before) if before < 0 else 0.0
        second = self._times[at - 1] + share * (self._times[at] - self._times[at - 1])
        return self._network.readings[row], float(second)


def _verdict(
    network: ThermalNetwork,
    part: str | None,
    second: float | None,
    states: FloatArray,
    *,
    is_burnt: bool,
) -> Finding:
    limits = network.limit_array
    name = "heat over the profile"
    if part is None:
        spare = float((limits - states.max(axis=1)).min())
        closest = network.readings[int(np.argmin(limits - states.max(axis=1)))]
        why = f"no part passes its limit; closest to its own: {closest}, by {spare:.0f} K."
        return Finding(name=name, status="ok", why=why if math.isfinite(spare) else "")
    row = network.readings.index(part)
    why = f"{part}: the limit of {limits[row]:.0f} °C is passed after {second:.3g} s"
    why += "; later the winding burns, and the profile ends there." if is_burnt else "."
    return Finding(
        name=f"{name}: seconds until the first limit",
        status="stop",
        value=second,
        why=why,
        do="fly it with less throttle or longer rests, cool better, or use a tougher core.",
    )
