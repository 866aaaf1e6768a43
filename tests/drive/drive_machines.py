"""Machines with written-down waves for the tests of the drive. No motor of anyone's."""

import math

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.design import Connection
from fem_motor.drive import ElectricalMachine

SAMPLES = 96
PAIRS, PSI = 7, 2.0e-3
EMF = PAIRS * PSI
"""Amplitude of the fundamental back-EMF of a branch, V s/rad."""


def branch_waves(
    *,
    third: float = 0.0,
    fifth: float = 0.0,
    seventh: float = 0.0,
    samples: int = SAMPLES,
    sequence: int = 1,
    shift: float = 0.4,
) -> FloatArray:
    """Return dψ/dθ (3, n) of branches 120° apart, harmonics as shares of the fundamental."""
    angle = 2 * math.pi / samples * np.arange(samples) - shift
    x = angle - sequence * 2 * math.pi / 3 * np.arange(3)[:, None]
    wave = np.sin(x) + third * np.sin(3 * x) + fifth * np.sin(5 * x) + seventh * np.sin(7 * x)
    return np.asarray(EMF * wave)


def machine(
    connection: Connection = "star",
    *,
    inductance: float = 3e-5,
    resistance: float = 0.1,
    zero: float | None = None,
    back_emf: FloatArray | None = None,
    inductance_q: float | None = None,
) -> ElectricalMachine:
    """Return a machine of 7 pole pairs, sine back-EMF unless given."""
    return ElectricalMachine(
        pole_pairs=PAIRS,
        back_emf=branch_waves() if back_emf is None else back_emf,
        resistance=resistance,
        inductance_d=inductance,
        inductance_q=inductance if inductance_q is None else inductance_q,
        inductance_zero=zero,
        connection=connection,
    )
