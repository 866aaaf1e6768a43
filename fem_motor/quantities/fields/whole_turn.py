"""One whole turn of a machine that was not built as designed, without current.

With an odd magnet nothing repeats before a whole turn. But the teeth are still equal: turning the
rotor by a slot pitch is turning the whole field by one, so a slot pitch of angles says all. With
an offset alone, two pole pitches do; with both only the turn itself.
"""

import math
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import ComplexArray, FloatArray, frozen
from fem_motor.design import Motor
from fem_motor.field import FieldProblem, FieldSweep, solve
from fem_motor.quantities.fields.linkage import Phases

ANGLES_PER_PERIOD = 48
"""Rotor angles in an electrical period, at least."""

TOLERANCE = 1e-5
"""Residual over load where cores saturate."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WholeTurn:
    """Readings over one turn, whole machine, in the plane, no current.

    Attributes
    ----------
    angle : (n,) rad
        Equally spaced from 0, end excluded.
    torque : (n,) N m
    pull : (2, n) N
        On the rotor along x and y.
    tooth_linkage : (slots, n) Wb
        Of one turn around each tooth, outward flux positive.
    linkage : (3, n) Wb
        Of the branches.
    """

    angle: FloatArray
    torque: FloatArray
    pull: FloatArray
    tooth_linkage: FloatArray
    linkage: FloatArray

    def __post_init__(self) -> None:
        for name in ("angle", "torque", "pull", "tooth_linkage", "linkage"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    def back_emf(self, linkage: FloatArray) -> ComplexArray:
        """Return the coefficients of dψ/dθ by mechanical order 0, 1 … of waves (…, n).

        e(θ) = Re Σ c_n exp(jnθ), so that |c_n| are amplitudes.
        """
        number = self.angle.size
        order = np.arange(number // 2 + 1)
        spectrum = np.fft.rfft(linkage, axis=-1) * 2 / number
        spectrum[..., -1] = 0  # the sawtooth has no derivative on the samples
        return np.asarray(1j * order * spectrum)

    def repeating_linkage(self, pole_pairs: int, angle: FloatArray) -> FloatArray:
        """Return the part of the linkage that each electrical period has, (3, k) Wb, at `angle`.

        Its mean over the periods of a turn: orders that are multiples of the pole pairs.
        """
        number = self.angle.size
        spectrum = np.fft.rfft(self.linkage, axis=1) * 2 / number
        spectrum[:, 0] /= 2
        order = pole_pairs * np.arange((number // 2) // pole_pairs + 1)
        waves = np.exp(1j * np.outer(order, angle))
        return np.asarray((spectrum[:, order] @ waves).real)


def whole_turn(
    problem: FieldProblem,
    motor: Motor,
    phases: Phases,
    *,
    start: tuple[FloatArray, FloatArray] | None = None,
) -> WholeTurn:
    """Solve what of a turn is not a repetition, and return the turn.

    Parameters
    ----------
    problem : FieldProblem
        The whole circle.
    motor, phases
    start : unknowns of stator and rotor, optional
        Of a field with the rotor near 0.
    """
    slots = motor.stator.slots
    built = motor.as_built
    parts = (
        1
        if built.magnets and built.rotor_offset
        else slots
        if built.magnets
        else motor.rotor.pole_pairs
    )
    angle = turn_angles(motor)
    number = len(angle) // parts
    solved = solve(
        problem,
        angles=angle[:number],
        ampere_turns=np.zeros((number, slots, 2)),
        keep="readings",
        tolerance=TOLERANCE,
        start=start,
    )
    return turn_of(solved, motor, phases, parts=parts)


def turn_angles(motor: Motor) -> FloatArray:
    """Return equal steps over a turn, (n,) rad, whole numbers in slot pitch and pole pair."""
    slots, pole_pairs = motor.stator.slots, motor.rotor.pole_pairs
    each = math.lcm(slots, pole_pairs)
    number = each * math.ceil(ANGLES_PER_PERIOD * pole_pairs / each)
    return 2 * math.pi / number * np.arange(number)


def turn_of(solved: FieldSweep, motor: Motor, phases: Phases, *, parts: int) -> WholeTurn:
    """Return the turn of which the first of `parts` equal ones was solved."""
    ahead = 0 if motor.as_built.rotor_offset else 1
    means = np.concatenate(
        [np.roll(solved.half_slot_mean, ahead * part, axis=1) for part in range(parts)]
    )
    length = motor.stack_length
    return WholeTurn(
        angle=turn_angles(motor),
        torque=np.tile(solved.torque, parts) * length,
        pull=_turned_pull(solved, parts, ahead * 2 * math.pi / motor.stator.slots) * length,
        tooth_linkage=phases.tooth_linkage(means),
        linkage=phases.linkage(means),
    )


def _turned_pull(solved: FieldSweep, parts: int, pitch: float) -> FloatArray:
    force = solved.pull[:, 0] + 1j * solved.pull[:, 1]
    turned = np.concatenate([force * np.exp(1j * pitch * part) for part in range(parts)])
    return np.array([turned.real, turned.imag])
