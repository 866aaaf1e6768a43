"""Fields without current over a whole electrical period, from half a cogging period.

With d the cogging period and whole numbers m poles − s slots = d, turning the rotor by d only
turns the field by s slots and changes its sign m times; a machine without defects is also its
own mirror image. So the fields over half a cogging period say all. Saturation does not matter.
"""

import math
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.field import FieldProblem, FieldSweep, solve
from fem_motor.quantities.progress import OnStep, ignore

NO_LOAD_TOLERANCE = 1e-6
"""Residual over load of saturating problems without current. Where the cores hardly cog, torque
is a small difference of large stresses: at 1e-5 a printed core in a thin steel ring errs by 2 %
of its cogging peak, at 1e-6 by less than 0.05 %."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NoLoadFields:
    """Readings over one electrical period, per metre of length.

    Attributes
    ----------
    angle : (n,) rad
        Equally spaced from 0, end excluded.
    torque : (n,) N
        Cogging.
    half_slot_mean : (n, slots, 2) Wb/m
    solved : FieldSweep
        The angles that were solved: the first half of a cogging period, its end included.
    """

    angle: FloatArray
    torque: FloatArray
    half_slot_mean: FloatArray
    solved: FieldSweep

    def __post_init__(self) -> None:
        for name in ("angle", "torque", "half_slot_mean"):
            object.__setattr__(self, name, frozen(getattr(self, name)))


def slot_shift(slots: int, poles: int) -> tuple[int, int]:
    """Return (m, s): m pole pitches less s slot pitches are one cogging period.

    >>> slot_shift(24, 20)
    (1, 1)
    >>> slot_shift(12, 14)
    (6, 5)
    """
    period = math.lcm(slots, poles)
    per_pole, per_slot = period // poles, period // slots
    m = pow(per_pole, -1, per_slot) if per_slot > 1 else 1
    return m, (m * per_pole - 1) // per_slot


def no_load_fields(
    problem: FieldProblem,
    *,
    poles: int,
    angles_per_period: int,
    tolerance: float = NO_LOAD_TOLERANCE,
    on_step: OnStep = ignore,
) -> NoLoadFields:
    """Solve half a cogging period and return a whole electrical period.

    Parameters
    ----------
    problem : FieldProblem
        Of a machine as designed.
    poles : int
    angles_per_period : int
        Even; steps of one cogging period, of which half are solved.
    tolerance : float
        Saturating problems: residual over load at which Newton's method stops.
    on_step : callable
    """
    slots = problem.slots
    period = 2 * math.pi / math.lcm(slots, poles)
    half = angles_per_period // 2
    solved = solve(
        problem,
        angles=period / angles_per_period * np.arange(half + 1),
        ampere_turns=np.zeros((half + 1, slots, 2)),
        tolerance=tolerance,
        on_step=on_step,
    )
    torque, means = _whole_period(solved, poles, angles_per_period)
    m, s = slot_shift(slots, poles)
    periods = 2 * math.lcm(slots, poles) // poles
    shifted = [(-1) ** (m * j) * np.roll(means, -s * j, axis=1) for j in range(periods)]
    number = periods * angles_per_period
    return NoLoadFields(
        angle=period / angles_per_period * np.arange(number),
        torque=np.tile(torque, periods),
        half_slot_mean=np.concatenate(shifted),
        solved=solved,
    )


def direct_no_load_fields(
    problem: FieldProblem,
    *,
    poles: int,
    angles: int,
    tolerance: float = NO_LOAD_TOLERANCE,
    on_step: OnStep = ignore,
) -> NoLoadFields:
    """Solve `angles` positions over one electrical period of any machine, and return them."""
    period = 4 * math.pi / poles
    solved = solve(
        problem,
        angles=period / angles * np.arange(angles),
        ampere_turns=np.zeros((angles, problem.slots, 2)),
        tolerance=tolerance,
        on_step=on_step,
    )
    return NoLoadFields(
        angle=solved.angle,
        torque=solved.torque,
        half_slot_mean=solved.half_slot_mean,
        solved=solved,
    )


def _whole_period(
    solved: FieldSweep, poles: int, angles_per_period: int
) -> tuple[FloatArray, FloatArray]:
    """Return torque and half-slot means over a cogging period, end excluded."""
    slots = solved.problem.slots
    inner = slice(angles_per_period // 2 - 1, 0, -1)
    # Mirrored about tooth 1, −A and the other side of the other tooth.
    tooth = -np.arange(slots) % slots
    mirrored = -solved.half_slot_mean[inner][:, tooth, ::-1]
    m, s = slot_shift(slots, poles)
    ahead = (-1) ** m * np.roll(mirrored, -s, axis=1)
    return (
        np.concatenate([solved.torque, -solved.torque[inner]]),
        np.concatenate([solved.half_slot_mean, ahead]),
    )


def derivative_over_angle(values: FloatArray, period: float) -> FloatArray:
    """Return d/dθ of periodic samples, (…, n), by their Fourier series.

    Parameters
    ----------
    values : (…, n)
        Equally spaced over one period, end excluded.
    period : float
        rad.
    """
    number = values.shape[-1]
    order = np.fft.rfftfreq(number, 1 / number)
    spectrum = np.fft.rfft(values) * 2j * np.pi * order / period
    if number % 2 == 0:
        spectrum[..., -1] = 0  # the sawtooth has no derivative on the samples
    return np.asarray(np.fft.irfft(spectrum, number))
