"""The periodic orbit of six-step currents, without marching through time.

In an interval of 60° terminal p is at +u/2, m at -u/2 from the middle of the bus, and f is left
open. With equal phases (R, L of the star equivalent, a = R/(ωL) per electrical radian) two
quantities tell all, d = i_p − i_m and y = i_f, with i_p + i_f + i_m = 0, and neither knows the
other:

    d' = −a d + (u − (e_p − e_m) ω_m)/(ωL)            whatever the open phase does
    y' = −a y + (2/3)(v_f − (3/2) e_f ω_m)/(ωL)       while a diode conducts, else y = 0

v_f is the lower rail (with the diode's drop) while y > 0, the upper one while y < 0; a diode also
begins to conduct where the open terminal, at (3/2) e_f ω_m, would leave the rails. Between such
events the solution is the response to the Fourier series of the back-EMF, a constant, and one
exponential. After 60° the roles are taken by other terminals,

    (p, f, m) of the next interval = −(m, p, f) of this one,

so with back-EMFs that differ by their 120° and 180° only, the orbit is the fixed point of one
interval; without that symmetry, of six.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from fem_motor.arrays import ComplexArray, FloatArray
from fem_motor.drive.waves import EmfWaves, turns
from fem_motor.errors import SolverError

INTERVAL = math.pi / 3
GRID = np.linspace(0, INTERVAL, 61)
"""Where events are looked for: once per electrical degree, then located by a root solver."""

SAME_INTERVALS = 3e-4
"""Back-EMFs that differ by less of their size from interval to interval are replaced by their mean;
what that leaves out of mean torque and power goes with the square."""

FASTEST_DECAY = 1e9
"""Per electrical radian: standing still, currents follow voltages at once."""

MOST_STEPS = 200

HAND_OVER = np.array([[0.5, 1.5], [-0.5, 0.5]])
"""(d, y) at the start of an interval from those at the end of the one before."""


@dataclass(frozen=True, kw_only=True, eq=False)
class StepWaves:
    """Back-EMF over the intervals, each in its own roles p, f, m; angle α from its start.

    Attributes
    ----------
    waves : EmfWaves
    start : float
        Electrical rotor angle at which the first interval starts (p = U, m = W).
    frames : tuple of (3, k)
        Coefficients over α; one interval where all are alike, else six.
    on_grid : tuple of (k, 61)
        exp(jhα) at `GRID`.
    """

    waves: EmfWaves
    start: float
    frames: tuple[ComplexArray, ...]
    on_grid: ComplexArray


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A part of an interval: clamp +1, 0 or −1 (upper rail, open, lower rail), y at its start."""

    start: float
    end: float
    clamp: int
    current: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Interval:
    """The solution over one interval: response coefficients, d at the start, pieces of y."""

    start_difference: float
    pieces: tuple[Piece, ...]
    end_difference: float
    end_current: float
    keeps_memory: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class Circuit:
    """One speed and one bus voltage: what the intervals have in common.

    Attributes
    ----------
    waves : StepWaves
    resistance : float
        Of star equivalent and line, ohm.
    decay : float
        a, per electrical radian.
    speed : float
    voltage : float
        u, between p and m.
    rail : float
        Half the bus and one diode's drop.
    response : tuple of (3, k)
        Current that the back-EMF alone drives in p, f, m, per frame.
    """

    waves: StepWaves
    resistance: float
    decay: float
    speed: float
    voltage: float
    rail: float
    response: tuple[ComplexArray, ...]

    def difference_response(self, frame: int) -> ComplexArray:
        """Return the coefficients of d without its exponential and constant."""
        return np.asarray(self.response[frame][0] - self.response[frame][2])

    def clamp_current(self, clamp: int) -> float:
        """Return the constant part of y on a rail."""
        return 2 / 3 * clamp * self.rail / self.resistance

    def at_one(self, coefficients: ComplexArray, angle: float) -> float:
        """Return a series at one α."""
        turn = np.exp(1j * angle * self.waves.waves.orders)
        return float((coefficients @ turn).real)

    def on_grid(self, coefficients: ComplexArray) -> FloatArray:
        """Return a series at `GRID`."""
        return np.asarray((coefficients @ self.waves.on_grid).real)


def step_waves(waves: EmfWaves, advance: float) -> StepWaves:
    """Return the back-EMF as the intervals see it, commutated early by `advance`."""
    start = float(-np.angle(waves.fundamental)) - advance
    first = waves.terminal * np.exp(1j * waves.orders * start)
    frames = [first]
    for _ in range(5):
        turned = frames[-1] * np.exp(1j * waves.orders * INTERVAL)
        frames.append(-np.roll(turned, 1, axis=0))
    spread = max(float(np.abs(frame - first).max()) for frame in frames)
    if spread < SAME_INTERVALS * float(np.abs(first).max()):
        frames = [np.mean(frames, axis=0)]
    return StepWaves(
        waves=waves,
        start=start,
        frames=tuple(frames),
        on_grid=turns(waves.orders, GRID),
    )


def circuit(
    steps: StepWaves, *, line_resistance: float, speed: float, voltage: float, rail: float
) -> Circuit:
    """Return the circuit at `speed` (mechanical rad/s) with `voltage` between two terminals."""
    waves = steps.waves
    resistance = waves.star_resistance + line_resistance
    inductance = waves.star_inductance
    electrical = waves.machine.pole_pairs * speed
    impedance = resistance + 1j * waves.orders * electrical * inductance
    most = FASTEST_DECAY * electrical * inductance
    return Circuit(
        waves=steps,
        resistance=resistance,
        decay=resistance / (electrical * inductance) if resistance < most else FASTEST_DECAY,
        speed=speed,
        voltage=voltage,
        rail=rail,
        response=tuple(-speed * frame / impedance for frame in steps.frames),
    )


def orbit(at: Circuit) -> tuple[Interval, ...]:
    """Return the intervals (one or six) of the periodic solution.

    Newton's method on (d, y) at the start. The map is linear in pieces and never stretches
    L(d² + 3y²)/4, the energy in the inductances, so that plain repetition converges where Newton
    should turn in circles.

    Raises
    ------
    SolverError
        No fixed point.
    """
    state: FloatArray = np.zeros(2)
    intervals: tuple[Interval, ...] = ()
    size = abs(at.voltage) / (2 * at.resistance) + max(np.abs(r).max() for r in at.response)
    best = math.inf
    for _ in range(MOST_STEPS):
        intervals, after, slope = _around(at, state)
        residual = after - state
        miss = float(np.abs(residual).max())
        if miss <= 1e-13 * size:
            return intervals
        is_better = miss < best
        best = min(best, miss)
        state = state + np.linalg.solve(np.eye(2) - slope, residual) if is_better else after
    if best <= 1e-9 * size:
        return intervals
    raise SolverError(
        "six-step currents did not settle.",
        why=f"after {MOST_STEPS} steps the period is open by {best:.3g} A.",
        do="check resistance, inductance and back-EMF.",
        place=f"speed {at.speed:.6g} rad/s:",
    )


def _around(at: Circuit, state: FloatArray) -> tuple[tuple[Interval, ...], FloatArray, FloatArray]:
    """Return the intervals from `state`, the state after them, and its slope (2, 2)."""
    intervals = []
    slope = np.eye(2)
    fade = math.exp(-at.decay * INTERVAL)
    for frame in range(len(at.response)):
        interval = _interval(at, frame, float(state[0]), float(state[1]))
        intervals.append(interval)
        state = HAND_OVER @ np.array([interval.end_difference, interval.end_current])
        memory = np.diag([fade, fade if interval.keeps_memory else 0.0])
        slope = HAND_OVER @ memory @ slope
    return tuple(intervals), state, slope


def _interval(at: Circuit, frame: int, difference: float, current: float) -> Interval:
    response = at.difference_response(frame)
    steady = at.voltage / at.resistance
    fade = math.exp(-at.decay * INTERVAL)
    free = difference - steady - at.at_one(response, 0.0)
    pieces = _pieces(at, frame, current)
    last = pieces[-1]
    return Interval(
        start_difference=difference,
        pieces=pieces,
        end_difference=steady + at.at_one(response, INTERVAL) + free * fade,
        end_current=_y(at, frame, last, INTERVAL) if last.clamp else 0.0,
        keeps_memory=len(pieces) == 1 and last.clamp != 0,
    )


def _pieces(at: Circuit, frame: int, current: float) -> tuple[Piece, ...]:
    """Return the parts between the events of the open phase, by its current at the start."""
    pieces: list[Piece] = []
    start = 0.0
    clamp = -int(np.sign(current))
    pull = 1.5 * at.speed * at.waves.frames[frame][1]
    on_grid = at.on_grid(pull)
    while True:
        if clamp == 0:
            clamp = _beyond(at.at_one(pull, start), at.rail)
        piece = Piece(start=start, end=INTERVAL, clamp=clamp, current=current)
        end = _release(at, frame, piece) if clamp else _catch(at, pull, on_grid, start)
        pieces.append(Piece(start=start, end=end, clamp=clamp, current=current))
        if end >= INTERVAL or len(pieces) >= GRID.size:
            break
        # Released by a current of zero the terminal goes between the rails; caught, to one of them.
        clamp = 0 if clamp else _beyond(at.at_one(pull, min(end + 1e-9, INTERVAL)), 0.0)
        start, current = end, 0.0
    return tuple(pieces)


def _beyond(voltage: float, rail: float) -> int:
    """Return which rail (+1, −1) `voltage` from the middle lies beyond, 0 for none."""
    return 0 if abs(voltage) <= rail else int(np.sign(voltage))


def _y(at: Circuit, frame: int, piece: Piece, angle: float) -> float:
    response = at.response[frame][1]
    steady = at.clamp_current(piece.clamp)
    free = piece.current - steady - at.at_one(response, piece.start)
    return steady + at.at_one(response, angle) + free * math.exp(-at.decay * (angle - piece.start))


def _release(at: Circuit, frame: int, piece: Piece) -> float:
    """Return the α at which the diode's current is gone; the end of the interval if never."""
    later = piece.start < GRID
    response = at.response[frame][1]
    steady = at.clamp_current(piece.clamp)
    free = piece.current - steady - at.at_one(response, piece.start)
    y = steady + at.on_grid(response) + free * np.exp(-at.decay * np.maximum(GRID - piece.start, 0))
    # The lower rail carries y > 0, the upper one y < 0.
    gone = np.flatnonzero(later & (-piece.clamp * y < 0))
    if not gone.size:
        return INTERVAL
    end = float(GRID[gone[0]])
    begin = max(piece.start, float(GRID[gone[0] - 1]) if gone[0] else 0.0)
    if piece.current == 0.0 and begin == piece.start:
        return end  # caught and released within one degree: no current to speak of

    def carried(angle: float) -> float:  # `_y`, without its start again for every angle
        fade = math.exp(-at.decay * (angle - piece.start))
        return steady + at.at_one(response, angle) + free * fade

    return _root(carried, begin, end)


def _catch(at: Circuit, pull: ComplexArray, on_grid: FloatArray, start: float) -> float:
    """Return the α at which the open terminal reaches a rail; the end of the interval if never."""
    beyond = np.flatnonzero((start < GRID) & (np.abs(on_grid) > at.rail))
    if not beyond.size:
        return INTERVAL
    end = float(GRID[beyond[0]])
    begin = max(start, float(GRID[beyond[0] - 1]))
    return _root(lambda angle: abs(at.at_one(pull, angle)) - at.rail, begin, end)


def _root(function: Callable[[float], float], begin: float, end: float) -> float:
    if function(begin) * function(end) >= 0:
        return end
    return float(brentq(function, begin, end, xtol=1e-14, rtol=1e-13))


def interval_currents(
    at: Circuit, frame: int, interval: Interval, angle: FloatArray, turned: ComplexArray
) -> tuple[FloatArray, FloatArray]:
    """Return line currents (3, n) of p, f, m at α `angle` (n,), and the clamp of f there (n,).

    `turned` (k, n) is exp(jhα).
    """
    response = np.real(at.response[frame] @ turned)
    steady = at.voltage / at.resistance
    own = at.difference_response(frame)
    free = interval.start_difference - steady - at.at_one(own, 0.0)
    d = steady + response[0] - response[2] + free * np.exp(-at.decay * angle)
    y, clamp = np.zeros_like(angle), np.zeros(angle.size)
    for piece in interval.pieces:
        inside = (angle >= piece.start) & (angle <= piece.end)
        if piece.clamp == 0:
            continue
        steady = at.clamp_current(piece.clamp)
        free = piece.current - steady - at.at_one(at.response[frame][1], piece.start)
        fade = np.exp(-at.decay * (angle[inside] - piece.start))
        y[inside] = steady + response[1][inside] + free * fade
        clamp[inside] = piece.clamp
    return np.array([(d - y) / 2, y, -(d + y) / 2]), clamp
