"""The back-EMF as Fourier series at the terminals, and what flows around a delta.

A delta of branches R, L and e is, seen from its lines, a star of R/3, L/3 and Bᵀe/3, where B takes
terminal voltages to branch voltages. What the branches have in common (B 1 = 0) drives a current
around the delta that no line knows of. That holds as long as the three branches are equal.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fem_motor.arrays import ComplexArray, FloatArray, IntArray
from fem_motor.drive.machine import BRANCHES_OF_TERMINALS, ElectricalMachine

LEAST_HARMONIC = 3e-5
"""Harmonics below this share of the largest are left out: less than 1e-5 of the mean torque."""

PHASE_STEP = 2 * math.pi / 3


@dataclass(frozen=True, kw_only=True, eq=False)
class EmfWaves:
    """Coefficients c of e(θ) = Re Σ c_h exp(jhθ), θ electrical, V per mechanical rad/s.

    Terminals (and branches) stand in the order in which their back-EMFs follow each other, so that
    V lags U by 120° also where the winding turns the other way round.

    Attributes
    ----------
    machine : ElectricalMachine
    orders : (k,)
    terminal : (3, k)
        Star equivalent, their sum is zero.
    common : (k,)
        Mean of the branches.
    is_swapped : bool
        Whether terminals V and W have changed places.
    """

    machine: ElectricalMachine
    orders: IntArray
    terminal: ComplexArray
    common: ComplexArray
    is_swapped: bool

    @property
    def is_delta(self) -> bool:
        """Whether branches run between terminals."""
        return self.machine.connection == "delta"

    @property
    def star_resistance(self) -> float:
        """Ohm of the star equivalent, without lines."""
        return self.machine.resistance / (3 if self.is_delta else 1)

    @property
    def star_inductance(self) -> float:
        """Henry of the star equivalent."""
        return self.machine.inductance / (3 if self.is_delta else 1)

    @cached_property
    def fundamental(self) -> complex:
        """Coefficient of terminal U, positive sequence, star equivalent."""
        first = self.terminal[:, self.orders == 1]
        return complex(_sequence(first[:, 0])) if first.size else 0j

    @cached_property
    def branch_fundamental(self) -> complex:
        """Coefficient of branch U, positive sequence."""
        # Branch U lies between terminals U and V, which leads terminal U by 30°.
        turn = 1 - np.exp(-1j * PHASE_STEP) if self.is_delta else 1
        return complex(self.fundamental * turn)

    @cached_property
    def dc_constant(self) -> float:
        """Mean line back-EMF over the 60° in which steps without advance use it, V s/rad."""
        # Terminal U less terminal W, from 0 to 60° after the peak of U; see `six_step`.
        start = -np.angle(self.fundamental)
        line = self.terminal[0] - self.terminal[2]
        turn = np.exp(1j * self.orders * start)
        width = (np.exp(1j * self.orders * math.pi / 3) - 1) / (1j * self.orders)
        return float(np.real(line * turn * width).sum() * 3 / math.pi)

    def circulating(self, speed: float) -> ComplexArray:
        """Return the coefficients (k,) of the current around a delta, A; zero in star."""
        if not self.is_delta:
            return np.zeros_like(self.common)
        rate = self.machine.pole_pairs * speed * self.orders
        impedance = self.machine.resistance + 1j * rate * self.machine.zero_inductance
        return np.asarray(-speed * self.common / impedance)

    def branches(self, lines: FloatArray, circulating: FloatArray) -> FloatArray:
        """Return branch currents (3, n) of line currents (3, n), as named by the machine."""
        if not self.is_delta:
            return self.named(lines)
        inside = BRANCHES_OF_TERMINALS @ lines / 3 + circulating
        return -inside[[2, 1, 0]] if self.is_swapped else inside

    def named(self, lines: FloatArray) -> FloatArray:
        """Return line currents (3, n) in the machine's own order U, V, W."""
        return lines[[0, 2, 1]] if self.is_swapped else lines


def emf_waves(machine: ElectricalMachine) -> EmfWaves:
    """Return the waves of `machine` at its terminals."""
    emf = machine.back_emf
    is_delta = machine.connection == "delta"
    is_swapped = bool(abs(_sequence(_series(emf)[::-1, 1])) > abs(_sequence(_series(emf)[:, 1])))
    if is_swapped:
        # Terminals V and W change places; delta branches then also change direction.
        emf = -emf[[2, 1, 0]] if is_delta else emf[[0, 2, 1]]
    branch = _series(emf)
    largest = np.abs(branch).max(axis=0)
    orders = np.flatnonzero(largest > LEAST_HARMONIC * largest.max())
    branch = branch[:, orders]
    common = branch.mean(axis=0)
    terminal = BRANCHES_OF_TERMINALS.T @ branch / 3 if is_delta else branch - common
    return EmfWaves(
        machine=machine, orders=orders, terminal=terminal, common=common, is_swapped=is_swapped
    )


def turns(orders: IntArray, angle: FloatArray) -> ComplexArray:
    """Return exp(jhθ) for `orders` (k,), 0 or more, at `angle` (n,): (k, n).

    By repeated turning: far cheaper than as many exponentials, and exact to k roundings.
    """
    steps = np.ones((int(orders.max(initial=0)) + 1, angle.size), dtype=np.complex128)
    steps[1:] = np.exp(1j * angle)
    return np.asarray(np.cumprod(steps, axis=0)[orders])


def series_values(orders: IntArray, coefficients: ComplexArray, angle: FloatArray) -> FloatArray:
    """Return Re Σ c_h exp(jhθ) at `angle` (n,), for coefficients (..., k): (..., n)."""
    return np.asarray(np.real(coefficients @ turns(orders, angle)))


def _series(emf: FloatArray) -> ComplexArray:
    """Return Fourier coefficients (3, n//2 + 1); the mean is no back-EMF and left out."""
    coefficients = np.fft.rfft(emf, axis=1) * 2 / emf.shape[1]
    coefficients[:, 0] = 0
    if emf.shape[1] % 2 == 0:
        coefficients[:, -1] /= 2
    return np.asarray(coefficients)


def _sequence(phases: ComplexArray) -> complex:
    """Return the part of three phasors in which V lags U by 120° and W lags V."""
    return complex(phases @ np.exp(1j * PHASE_STEP * np.arange(3)) / 3)
