"""Temperatures for given films and losses: exact over time, in long steps for searches.

With S = C^(−1/2) (G − D) C^(−1/2) = V Λ Vᵀ the rises over a step are
θ(t) = C^(−1/2) V [e^(−Λt) y₀ + (1 − e^(−Λt))/Λ · q], y₀ = Vᵀ C^(1/2) θ₀, q = Vᵀ C^(−1/2) p:
the matrix exponential of a symmetric matrix, also where runaway makes an eigenvalue negative.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.heat.parts.network import HOTTEST_RISE, Assembly, Heating
from fem_motor.heat.states.steady import speed_of

STEP_RISE = 20.0
"""K that a part may change in a step: films of its middle lose less than a hundredth of the
seconds until a temperature."""

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
) -> Iterator[Step]:
    """Yield the steps of constant losses; ends early where a part rises by more than 400 K.

    Films are those at the middle of each step, found with those of the middle of the step before:
    the error falls with the square of the step.
    """
    heavy = assembly.network.capacities >= LIGHT * assembly.network.capacities.sum()
    rise, time = start, 0.0
    law = propagator(assembly, heating, rise)
    while time < seconds and rise.max() <= HOTTEST_RISE:
        length = _step_length(law, rise, seconds - time, heavy)
        law = propagator(assembly, heating, law.rises(rise, length / 2))
        end = law.rises(rise, length)
        yield Step(time=time, seconds=length, start=rise, end=end, law=law)
        # A step over all that is left ends the phase whatever rounding says.
        time = seconds if length == seconds - time else time + length
        rise = end


def _step_length(law: Propagator, rise: FloatArray, left: float, heavy: FloatArray) -> float:
    lengths = left * LADDER
    changes = np.abs(law.rises(rise, lengths) - rise[:, None])[heavy].max(axis=0)
    return float(lengths[int(np.argmax(changes <= STEP_RISE))])
