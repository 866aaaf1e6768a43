"""Temperatures over a flight: throttle over time in, temperatures, speed and energy out."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.drive import OperatingPoint
from fem_motor.errors import InputError, Problem
from fem_motor.findings import Finding
from fem_motor.heat import Heating, ThermalNetwork, thermal_network, transient
from fem_motor.powered import PoweredMotor, heating_at
from fem_motor.units import RPM

REFRESH = 4.0
"""K that the copper changes before the operating point is worked out again."""

GRID = 2.0
"""K to which copper and magnets are rounded for an operating point, so that points are shared."""

HOTTEST_C = 250.0
"""Temperature at which copper and magnets are held while the operating point is worked out."""

HOTTEST_RISE_K = 395.0
"""K above the surroundings at which the copper counts as burnt, just below where films end."""

MOST_THROTTLES = 200
"""Different throttles of a profile; where it has more they are rounded to one in so many, so that
points are shared: half a per cent of the voltage, and a log of an hour takes minutes, not hours."""

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
    throttle, speed_rpm, shaft_power_W, supply_current_A : (k,)
        From this time on.
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
    logbook = _Logbook(powered)
    shared = _shared(profile.throttle)
    for start, end, throttle in zip(
        profile.time_s[:-1].tolist(),
        profile.time_s[1:].tolist(),
        shared.tolist(),
        strict=False,
    ):
        if not logbook.hold(start, end, throttle):
            break
    return logbook.flight()


def _shared(throttle: FloatArray) -> FloatArray:
    """Return throttles of which at most `MOST_THROTTLES` differ; what turns keeps turning."""
    if np.unique(throttle).size <= MOST_THROTTLES:
        return throttle
    steps = np.maximum(np.round(throttle * MOST_THROTTLES), throttle > 0)
    return np.asarray(steps / MOST_THROTTLES, dtype=np.float64)


class _Logbook:
    """What was written so far, and the motor as warm as it is."""

    def __init__(self, powered: PoweredMotor) -> None:
        self._powered = powered
        self._network = thermal_network(powered.motor, powered.winding)
        self._times, self._states = [0.0], [self._cold()]
        self._rows: list[tuple[float, float, float, float]] = []
        self._energy, self._burnt = 0.0, False
        self._point = cache(self._operating_point)

    def _cold(self) -> FloatArray:
        return np.full(len(self._network.readings), self._network.surroundings_C)

    def hold(self, start: float, end: float, throttle: float) -> bool:
        """Hold a throttle until `end`; False where the winding burns on the way."""
        now = start
        while now < end:
            now = self._step(now, end, throttle)
            if self._burnt:
                return False
        return True

    def _step(self, now: float, end: float, throttle: float) -> float:
        """Go on with one operating point until the copper has changed, or to the end."""
        network, begun = self._network, self._states[-1][: len(self._network.parts)]
        point, heating = self._held(throttle)
        found = transient(network, [(end - now, heating)], start_C=begun)
        moved = np.abs(found.of("copper") - found.of("copper")[0])
        is_all = bool(moved.max() <= REFRESH)
        if not is_all:
            at = int(np.argmax(moved > REFRESH))
            share = (REFRESH - moved[at - 1]) / (moved[at] - moved[at - 1])
            length = found.time[at - 1] + share * (found.time[at] - found.time[at - 1])
            found = transient(network, [(float(length), heating)], start_C=begun)
        for time, state in zip(found.time[1:], found.temperatures_C[:, 1:].T, strict=True):
            self._write(now + float(time), state, throttle, point)
        hottest = float(found.of("copper")[-1]) - network.surroundings_C
        self._burnt = bool(found.findings) or hottest > HOTTEST_RISE_K
        return end if is_all and not self._burnt else now + float(found.time[-1])

    def _held(self, throttle: float) -> tuple[OperatingPoint | None, Heating]:
        if throttle == 0:
            return None, Heating(speed=0.0)
        copper, magnet = (
            min(GRID * round(self._reading(part) / GRID), HOTTEST_C)
            for part in ("copper", "magnets")
        )
        point = self._point(throttle, copper, magnet)
        return point, heating_at(self._powered, point, copper_C=copper, magnet_C=magnet)

    def _reading(self, part: str) -> float:
        return float(self._states[-1][self._network.readings.index(part)])

    def _operating_point(self, throttle: float, copper_C: float, magnet_C: float) -> OperatingPoint:
        return self._powered.at_load(throttle=throttle, copper_C=copper_C, magnet_C=magnet_C)

    def _write(
        self, time: float, state: FloatArray, throttle: float, point: OperatingPoint | None
    ) -> None:
        running = None if point is None else point.state
        current = 0.0 if running is None else running.supply_current
        voltage = self._powered.bridge.supply_voltage
        self._energy += voltage * current * (time - self._times[-1])
        speed = 0.0 if running is None else running.speed / RPM
        power = 0.0 if point is None else point.shaft_power or 0.0
        self._rows.append((throttle, speed, power, current))
        self._times.append(time)
        self._states.append(state)

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
