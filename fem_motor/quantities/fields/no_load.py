"""Fields without current at any rotor angle, from half a cogging period.

With d the cogging period and whole numbers m poles − s slots = d, turning the rotor by d only
turns the field by s slots and changes its sign m times; a machine without defects is also its
own mirror image. So the fields over half a cogging period say all. Saturation does not matter.
"""

import math
from dataclasses import dataclass, fields
from typing import Literal, Self

import numpy as np

from fem_motor.arrays import BoolArray, FloatArray, IntArray, frozen
from fem_motor.field import FieldProblem, FieldSweep, solve
from fem_motor.progress import OnStep, ignore

NO_LOAD_TOLERANCE = 1e-6
"""Residual over load of saturating problems without current. Where the cores hardly cog, torque
is a small difference of large stresses: at 1e-5 a printed core in a thin steel ring errs by 2 %
of its cogging peak, at 1e-6 by less than 0.05 %."""


SAME_ANGLE = 1e-9
"""Angles that differ by less, as part of a cogging period, are one."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NoLoadFields:
    """Readings at rotor angles without current, per metre of length.

    Attributes
    ----------
    angle : (n,) rad
    torque : (n,) N
        Cogging.
    pull : (n, 2) N/m
        Force on the rotor along x and y.
    half_slot_mean : (n, slots, 2) Wb/m
    solved : FieldSweep
        The angles that were solved: for an electrical period the first half of a cogging period,
        its end included.
    """

    angle: FloatArray
    torque: FloatArray
    pull: FloatArray
    half_slot_mean: FloatArray
    solved: FieldSweep

    def __post_init__(self) -> None:
        for name in ("angle", "torque", "pull", "half_slot_mean"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    @property
    def at_first(self) -> tuple[FloatArray, FloatArray]:
        """Unknowns of stator and rotor at the first solved angle, 0."""
        stator, rotor = self.solved.kept_fields
        return stator[0], rotor[0]


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
    """Solve half a cogging period and return a whole electrical period, end excluded.

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
    lines = math.lcm(problem.slots, poles)
    number = 2 * lines // poles * angles_per_period
    return folded_no_load_fields(
        problem,
        poles=poles,
        angles=2 * math.pi / (lines * angles_per_period) * np.arange(number),
        tolerance=tolerance,
        on_step=on_step,
    )


def folded_no_load_fields(
    problem: FieldProblem,
    *,
    poles: int,
    angles: FloatArray,
    keep: Literal["fields", "readings"] = "fields",
    tolerance: float = NO_LOAD_TOLERANCE,
    on_step: OnStep = ignore,
) -> NoLoadFields:
    """Return the readings at `angles`, (n,) rad, solved where they fold to different ones.

    Every angle is j cogging periods and a rest of at most half of one, ahead or back; those with
    the same rest, either way, need one solution.

    Parameters
    ----------
    problem : FieldProblem
        Of a machine as designed.
    poles, angles, keep, tolerance, on_step
        See `solve`.
    """
    fold = Fold.of(angles, slots=problem.slots, poles=poles)
    # A rest of half a period either way is one angle; which way it counts does not matter.
    _, first, place = np.unique(fold.keys, return_index=True, return_inverse=True)
    solved = solve(
        problem,
        angles=fold.rest[first],
        ampere_turns=np.zeros((len(first), problem.slots, 2)),
        keep=keep,
        tolerance=tolerance,
        on_step=on_step,
    )
    pull = _unfolded_pull(solved.pull[place], fold.mirrored, slots=problem.slots, ahead=fold.ahead)
    return NoLoadFields(
        angle=angles,
        torque=np.where(fold.mirrored, -1, 1) * solved.torque[place],
        pull=pull,
        half_slot_mean=fold.sign[:, None, None] * fold.unfolded(solved.half_slot_mean[place]),
        solved=solved,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fold:
    """Rotor angles as whole cogging periods and a rest of at most half of one, ahead or back.

    Attributes
    ----------
    rest : (n,) rad
        0 to half a cogging period.
    mirrored : (n,)
        Whether the rest is back.
    ahead : (n,)
        Slots by which the field has turned clockwise.
    sign : (n,)
        Of the field, 1 or −1.
    keys : (n,)
        The same for rests that are one angle but for rounding.
    """

    rest: FloatArray
    mirrored: BoolArray
    ahead: IntArray
    sign: FloatArray
    keys: FloatArray

    @classmethod
    def of(cls, angles: FloatArray, *, slots: int, poles: int) -> Self:
        """Return the fold of `angles`, (n,) rad, of a machine as designed."""
        period = 2 * math.pi / math.lcm(slots, poles)
        turns = np.round(angles / period)
        rest, j = angles - turns * period, turns.astype(np.int64)
        m, s = slot_shift(slots, poles)
        return cls(
            rest=np.abs(rest),
            mirrored=rest < 0,
            ahead=s * j,
            sign=np.where(m * j % 2 == 0, 1.0, -1.0),
            keys=np.round(np.abs(rest) / (SAME_ANGLE * period)),
        )

    def only(self, chosen: IntArray) -> Self:
        """Return the fold of some of the angles, by their numbers."""
        values = {one.name: getattr(self, one.name)[chosen] for one in fields(self)}
        return type(self)(**values)

    def unfolded(self, at_rest: FloatArray) -> FloatArray:
        """Return values of half slots at the angles, (n, slots, 2), from those at the rests.

        Up to the sign of the field. Mirrored about tooth 1: −A and the other side of the other
        tooth.
        """
        return _moved(at_rest, self.mirrored, ahead=self.ahead)

    def folded(self, at_angles: FloatArray) -> FloatArray:
        """Return values of half slots at the rests from those at the angles: the way back."""
        back = np.where(self.mirrored, self.ahead, -self.ahead)  # a mirror is its own way back
        return _moved(at_angles, self.mirrored, ahead=back)


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
        pull=solved.pull,
        half_slot_mean=solved.half_slot_mean,
        solved=solved,
    )


def _moved(values: FloatArray, mirrored: BoolArray, *, ahead: IntArray) -> FloatArray:
    teeth = np.arange(values.shape[1])
    either_way = np.where(mirrored[:, None, None], -values[:, -teeth, ::-1], values)
    whence = (teeth + ahead[:, None]) % len(teeth)
    return np.take_along_axis(either_way, whence[..., None], axis=1)


def _unfolded_pull(
    pull: FloatArray, mirrored: BoolArray, *, slots: int, ahead: IntArray
) -> FloatArray:
    """Return the forces on the rotor, (n, 2), from those of the solved angles.

    The field that turns clockwise by `ahead` slots, (n,), takes the force along.
    """
    either_way = pull * np.where(mirrored[:, None], (1, -1), (1, 1))
    turned = (either_way @ (1, 1j)) * np.exp(-2j * np.pi / slots * ahead)
    return np.column_stack([turned.real, turned.imag])


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
