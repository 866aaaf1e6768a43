"""What uneven magnets make of a motor with a linear core: thousands of samples by superposition."""

import math
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.design import Motor
from fem_motor.mesh import MotorMesh
from fem_motor.quantities import Phases, motor_problem
from fem_motor.winding import Winding

REMANENCE_DEVIATION = 0.01
"""Standard deviation of the strength of magnets of one lot: a third of the band of ±3 % within
which a grade is sold (trade grades, from memory)."""

POSITION_DEVIATION_M = 0.1e-3
"""Standard deviation of a magnet's position in a printed pocket; common practice, no source."""

ANGLES = 48
"""Rotor angles in one electrical period; each magnet's own unevenness has the slots' period."""

CHUNK = 2000
"""Samples worked on at a time, which bounds the memory."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToleranceStudy:
    """Figures of randomly uneven rotors, in the plane, whole machine, 20 °C, without current.

    Attributes
    ----------
    remanence_deviation : float
        Standard deviation of the strength of a magnet over its design value.
    position_deviation : float
        Of its position along the circumference, m.
    seed : int
    cogging : (k,) N m
        Peak to peak over the angles of one electrical period.
    unbalance : (k,)
        Largest deviation of a branch's flux linkage amplitude from their mean, over that mean.
    pull : (k,) N
        Largest force on the rotor.
    designed_cogging : float
        Of the rotor as designed, N m.
    """

    remanence_deviation: float
    position_deviation: float
    seed: int
    cogging: FloatArray
    unbalance: FloatArray
    pull: FloatArray
    designed_cogging: float

    def __post_init__(self) -> None:
        for name in ("cogging", "unbalance", "pull"):
            object.__setattr__(self, name, frozen(getattr(self, name)))


def tolerance_study(
    motor: Motor,
    winding: Winding,
    mesh: MotorMesh,
    *,
    samples: int = 10_000,
    remanence_deviation: float = REMANENCE_DEVIATION,
    position_deviation: float = POSITION_DEVIATION_M,
    seed: int = 1,
) -> ToleranceStudy:
    """Return the spread that uneven magnets cause; cores count as linear.

    Strengths and positions of all magnets are independent and normally distributed. Positions act
    to first order.

    Parameters
    ----------
    motor, winding, mesh
    samples : int
    remanence_deviation, position_deviation : float
    seed : int
        Of the random numbers: the same seed gives the same study.
    """
    problem = motor_problem(motor, mesh, sectors=1, saturation="ignored")
    period = 2 * math.pi / motor.rotor.pole_pairs
    angles = period / ANGLES * np.arange(ANGLES)
    forms = problem.magnet_variations(angles)
    turns = Phases.of(winding, motor).turns
    linkage = np.einsum("pks,nksb->pnb", turns, forms.half_slot_mean)
    number = motor.rotor.segments
    radius = (motor.rotor.magnet_inner_radius + motor.rotor.magnet_outer_radius) / 2
    random = np.random.default_rng(seed)
    found = []
    for first in range(0, samples, CHUNK):
        count = min(CHUNK, samples - first)
        strength = 1 + remanence_deviation * random.standard_normal((count, number))
        shift = position_deviation / radius * random.standard_normal((count, number))
        found.append(_figures(np.hstack([strength, shift]), forms.torque, forms.pull, linkage))
    designed = np.concatenate([np.ones(number), np.zeros(number)])[None]
    cogging, unbalance, pull = np.concatenate(found, axis=1)
    length = motor.stack_length
    return ToleranceStudy(
        remanence_deviation=remanence_deviation,
        position_deviation=position_deviation,
        seed=seed,
        cogging=length * cogging,
        unbalance=unbalance,
        pull=length * pull,
        designed_cogging=float(
            length * _figures(designed, forms.torque, forms.pull, linkage)[0, 0]
        ),
    )


def _figures(
    rotors: FloatArray, torque: FloatArray, pull: FloatArray, linkage: FloatArray
) -> FloatArray:
    """Return cogging, unbalance and pull, (3, k), of rotors, (k, b), per metre."""
    cogging = np.array([np.sum((rotors @ form) * rotors, axis=1) for form in torque])
    force = np.array([[np.sum((rotors @ form) * rotors, axis=1) for form in both] for both in pull])
    waves = np.einsum("pnb,kb->kpn", linkage, rotors)
    amplitude = np.abs(np.fft.rfft(waves, axis=2)[:, :, 1])
    mean = amplitude.mean(axis=1)
    return np.array(
        [
            np.ptp(cogging, axis=0),
            np.abs(amplitude - mean[:, None]).max(axis=1) / mean,
            np.hypot(force[:, 0], force[:, 1]).max(axis=0),
        ]
    )
