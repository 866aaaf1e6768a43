"""Temperatures over time: exact for given films, which follow the temperatures between steps.

With S = C^(−1/2) (G − D) C^(−1/2) = V Λ Vᵀ the rises over a step are
θ(t) = C^(−1/2) V [e^(−Λt) y₀ + (1 − e^(−Λt))/Λ · q], y₀ = Vᵀ C^(1/2) θ₀, q = Vᵀ C^(−1/2) p:
the matrix exponential of a symmetric matrix, also where runaway makes an eigenvalue negative.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.errors import InputError
from fem_motor.findings import Finding
from fem_motor.heat.network import HOTTEST_RISE, Assembly, Heating, ThermalNetwork, assemble
from fem_motor.heat.steady import speed_of

STEP_RISE = 10.0
"""K that a part may change in a step: with films of its middle 0.01 K are lost over 100 K."""

LADDER = 0.5 ** np.arange(0.0, 40.5, 0.5)
"""Shares of what is left of a phase that are tried as the next step."""

LIGHT = 1e-3
"""Parts with less than this share of the capacity (air) follow at once and set no step."""


LARGEST_EXPONENT, NO_RATE = 50.0, 1e-30
"""Keep runaway within floating point; stand for an eigenvalue of 0 (1/s)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Propagator:
    """θ over time for constant films and losses.

    Attributes
    ----------
    rates : (n,)
        Eigenvalues Λ, 1/s.
    modes, inverse : (n, n)
        C^(−1/2) V and Vᵀ C^(1/2).
    drive : (n,)
        q.
    """

    rates: FloatArray
    modes: FloatArray
    inverse: FloatArray
    drive: FloatArray

    def rises(self, start: FloatArray, seconds: FloatArray | float) -> FloatArray:
        """Return θ (n,) after `seconds` from θ₀ (n,), or (n, k) after k times."""
        decay, fed = self._shares(np.asarray(seconds))
        begun, drive = self.inverse @ start, self.drive
        if decay.ndim > 1:
            begun, drive = begun[:, None], drive[:, None]
        return np.asarray(self.modes @ (decay * begun + fed * drive))

    def map(self, seconds: float) -> tuple[FloatArray, FloatArray]:
        """Return E (n, n) and r (n,): θ after `seconds` is E θ₀ + r."""
        decay, fed = self._shares(np.asarray(seconds))
        return (self.modes * decay) @ self.inverse, self.modes @ (fed * self.drive)

    def _shares(self, times: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return e^(−λt) and (1 − e^(−λt))/λ, (n,) or (n, k)."""
        exponent = np.minimum(-np.multiply.outer(self.rates, times), LARGEST_EXPONENT)
        rates = self.rates if times.ndim == 0 else self.rates[:, None]
        return np.exp(exponent), -np.expm1(exponent) / rates


def propagator(
    assembly: Assembly, heating: Heating, rise: FloatArray, *, speed: float | None = None
) -> Propagator:
    """Return the solution in time with the films at the rises `rise` (n,)."""
    network = assembly.network
    power, gain = network.sources(heating)
    matrix = assembly.conductances(rise, speed_of(network, heating) if speed is None else speed)
    root = np.sqrt(network.capacities)
    rates, vectors = np.linalg.eigh((matrix - np.diag(gain)) / np.outer(root, root))
    return Propagator(
        rates=np.where(rates == 0, NO_RATE, rates),
        modes=vectors / root[:, None],
        inverse=vectors.T * root,
        drive=vectors.T @ (power / root),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Step:
    """One step: from `time` with rises `start`, `seconds` long, to rises `end`."""

    time: float
    seconds: float
    start: FloatArray
    end: FloatArray
    law: Propagator


def march(
    assembly: Assembly,
    heating: Heating,
    *,
    start: FloatArray,
    seconds: float,
    step_rise: float = STEP_RISE,
) -> Iterator[Step]:
    """Yield the steps of constant losses; ends early where a part rises by more than 400 K.

    Films are those at the middle of each step, found with those of the middle of the step before:
    the error falls with the square of the step.
    """
    heavy = assembly.network.capacities >= LIGHT * assembly.network.capacities.sum()
    rise, time = start, 0.0
    law = propagator(assembly, heating, rise)
    while time < seconds and rise.max() <= HOTTEST_RISE:
        length = _step_length(law, rise, seconds - time, heavy, step_rise)
        law = propagator(assembly, heating, law.rises(rise, length / 2))
        end = law.rises(rise, length)
        yield Step(time=time, seconds=length, start=rise, end=end, law=law)
        # A step over all that is left ends the phase whatever rounding says.
        time = seconds if length == seconds - time else time + length
        rise = end


def _step_length(
    law: Propagator, rise: FloatArray, left: float, heavy: FloatArray, step_rise: float
) -> float:
    lengths = left * LADDER
    changes = np.abs(law.rises(rise, lengths) - rise[:, None])[heavy].max(axis=0)
    return float(lengths[int(np.argmax(changes <= step_rise))])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThermalHistory:
    """Temperatures over time.

    Attributes
    ----------
    parts : tuple of str
        Parts and walls.
    time : (k,)
        s, from 0.
    temperatures_C : (m, k)
    findings : tuple of Finding
        Says so where the history ends early, above what any winding survives.
    """

    parts: tuple[str, ...]
    time: FloatArray
    temperatures_C: FloatArray
    findings: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        for name in ("time", "temperatures_C"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    def of(self, part: str) -> FloatArray:
        """Return the temperatures of a part over time (k,), °C."""
        return np.asarray(self.temperatures_C[self.parts.index(part)])


def transient(
    network: ThermalNetwork,
    phases: Sequence[tuple[float, Heating]],
    *,
    start_C: FloatArray | None = None,
) -> ThermalHistory:
    """Return the temperatures over phases of constant losses, one after the other.

    Parameters
    ----------
    network : ThermalNetwork
    phases : sequence of (seconds, Heating)
    start_C : (n,) or None
        Temperatures of the parts (walls left out); None: all as the surroundings.

    Raises
    ------
    InputError
        A phase without length, or a start with another number of parts.
    """
    assembly = assemble(network)
    rise = _start(network, start_C)
    times, rises, begun = [0.0], [rise], 0.0
    for seconds, heating in phases:
        _refuse_no_length(seconds)
        for step in march(assembly, heating, start=rise, seconds=seconds):
            times.append(begun + step.time + step.seconds)
            rises.append(step.end)
            rise = step.end
        begun += seconds
        if rise.max() > HOTTEST_RISE:
            break
    return ThermalHistory(
        parts=network.readings,
        time=np.array(times),
        temperatures_C=network.surroundings_C + network.reading_matrix @ np.transpose(rises),
        findings=_ended_early(times[-1]) if rise.max() > HOTTEST_RISE else (),
    )


def _start(network: ThermalNetwork, start_C: FloatArray | None) -> FloatArray:
    if start_C is None:
        return np.zeros(len(network.parts))
    rise = np.asarray(start_C, dtype=np.float64) - network.surroundings_C
    if rise.shape != (len(network.parts),) or not np.isfinite(rise).all():
        raise InputError(
            f"has shape {rise.shape} or a value that is no number.",
            why=f"there are {len(network.parts)} parts: {', '.join(network.parts)}.",
            do="give one temperature for each.",
            place="start_C",
        )
    return rise


def _refuse_no_length(seconds: float) -> None:
    if not (np.isfinite(seconds) and seconds > 0):
        raise InputError(
            f"= {seconds} s is impossible.",
            why="a phase lasts.",
            do="give seconds above 0.",
            place="phases",
        )


def _ended_early(seconds: float) -> tuple[Finding, ...]:
    return (
        Finding(
            name="seconds until a part has risen by 400 K",
            status="stop",
            value=seconds,
            why="nothing in the motor survives that; the history ends here.",
            do="lower the current.",
        ),
    )
