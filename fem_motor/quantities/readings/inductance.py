"""Inductances of the branches over rotor angle, around the field of the magnets alone."""

import math
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.design import Connection, Motor, Stator
from fem_motor.field import FieldProblem, FieldSweep, solve
from fem_motor.quantities.fields.linkage import Phases, single_coils
from fem_motor.quantities.fields.no_load import SAME_ANGLE, Fold
from fem_motor.units import MU_0
from fem_motor.winding import Winding

END_TURN_FACTOR = 0.3
"""Inductance of an end turn over μ₀ N² times its length: 0.2 to 0.4; common practice, no source."""

EVEN_ANGLES = 4
"""Rotor angles in 60 electrical degrees of a machine whose phases see the same one after the other:
inductances are mostly a mean and twice the electrical order."""

UNEVEN_ANGLES = 12
"""In 360° of any other machine."""

SOLVED_TO = 1e-4
"""Residual over load of the field around which the inductance is taken."""

SIXTHS = 6

LAYERS = 1000
"""Steps from the bottom of the slot to the gap."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PhaseInductances:
    """Incremental inductances without current, in the plane, no end turns.

    Attributes
    ----------
    angle : (n,) rad
        Of the rotor, one electrical period, equally spaced from 0, end excluded.
    matrix : (3, 3, n) H
        Linkage of branches U, V, W per ampere in each.
    electrical : (n,) rad
        Of the d axis against phase U.
    """

    angle: FloatArray
    matrix: FloatArray
    electrical: FloatArray

    def __post_init__(self) -> None:
        for name in ("angle", "matrix", "electrical"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    @property
    def d(self) -> float:
        """Of the d axis, mean over the angles, H."""
        return self._along(np.cos)

    @property
    def q(self) -> float:
        """Of the q axis, mean over the angles, H."""
        return self._along(np.sin)

    def line_line(self, connection: Connection, *, end_turns: float = 0.0) -> FloatArray:
        """Return what is met between terminals U-V, V-W, W-U, the third open, (3, n) H.

        Star: L_UU + L_VV − 2 L_UV. Delta: branch U beside V and W in series, by Kirchhoff's laws.

        Parameters
        ----------
        connection : "star" or "delta"
        end_turns : float
            Added to each branch, H.
        """
        branches = self.matrix + end_turns * np.eye(3)[:, :, None]
        found = []
        for k in range(3):
            # One ampere in at the first terminal of the pair, out at the second.
            a = np.roll(branches, (-k, -k), axis=(0, 1)).transpose(2, 0, 1)
            if connection == "star":
                found.append(a[:, 0, 0] + a[:, 1, 1] - 2 * a[:, 0, 1])
                continue
            alone, beside = a[:, 0, 0], a[:, 1, 1] + a[:, 2, 2] + 2 * a[:, 1, 2]
            shared = a[:, 0, 1] + a[:, 0, 2]
            # ψ = alone i + shared x = −(shared i + beside x), i − x = 1 A.
            found.append((alone * beside - shared**2) / (alone + beside + 2 * shared))
        return np.array(found)

    def _along(self, wave: np.ufunc) -> float:
        """Return 2/3 kᵀ L k, k the cosines (or sines) of the phases (Park, from memory)."""
        phase = self.electrical - 2 * math.pi / 3 * np.arange(3)[:, None]
        k = wave(phase)
        return float(2 / 3 * np.einsum("an,abn,bn->n", k, self.matrix, k).mean())


def phase_inductances(
    problem: FieldProblem,
    phases: Phases,
    *,
    is_even: bool,
    start: tuple[FloatArray, FloatArray] | None = None,
    known: FieldSweep | None = None,
) -> PhaseInductances:
    """Return the inductances of the three branches over an electrical period.

    Parameters
    ----------
    problem : FieldProblem
        With the symmetry of the winding.
    phases : Phases
    is_even : bool
        Whether the phases see the same one after the other: what U has at an angle, W has 60
        electrical degrees later, with both signs turned.
    start : unknowns of stator and rotor, optional
        Of a field with the rotor near 0.
    known : FieldSweep, optional
        Fields without current of `problem`, a saturating machine, taken instead of new ones: over
        half a cogging period where the phases are even, else over an electrical period, equally
        spaced from 0, end excluded.
    """
    if known is not None and not is_even:
        return _around_period(known, phases)
    period = 2 * math.pi / phases.pole_pairs
    solved = EVEN_ANGLES if is_even else UNEVEN_ANGLES
    number = SIXTHS * EVEN_ANGLES if is_even else UNEVEN_ANGLES
    angle = period / number * np.arange(number)
    found = None if known is None else _matrices_around(known, phases, angle[:solved])
    if found is None:
        found = _matrices(problem, phases, angle[:solved], start)
    if is_even:
        turned = [np.roll(found, -sixth, axis=(0, 1)) for sixth in range(SIXTHS)]
        found = np.concatenate(turned, axis=2)
    return PhaseInductances(angle=angle, matrix=found, electrical=phases.electrical(angle))


def _matrices(
    problem: FieldProblem,
    phases: Phases,
    angles: FloatArray,
    start: tuple[FloatArray, FloatArray] | None,
) -> FloatArray:
    """Return the inductances at `angles`, (3, 3, n)."""
    amperes = np.eye(3)
    number = len(angles)
    if problem.is_linear:
        currents = np.concatenate([np.zeros((3, 1)), amperes], axis=1)
        solved = solve(
            problem,
            angles=np.repeat(angles, 4),
            ampere_turns=phases.ampere_turns(np.tile(currents, number)),
            keep="readings",
        )
        linkage = phases.linkage(solved.half_slot_mean).reshape(3, number, 4)
        return np.moveaxis(linkage[:, :, 1:] - linkage[:, :, :1], 1, 2)
    solved = solve(
        problem,
        angles=angles,
        ampere_turns=phases.ampere_turns(np.zeros((3, number))),
        tolerance=SOLVED_TO,
        start=start,
    )
    stator, rotor = solved.kept_fields
    turns = phases.ampere_turns(amperes)
    return np.stack(
        [
            phases.linkage(problem.incremental_means(field, float(angle), turns))
            for field, angle in zip(zip(stator, rotor, strict=True), angles, strict=True)
        ],
        axis=2,
    )


def _matrices_around(known: FieldSweep, phases: Phases, angles: FloatArray) -> FloatArray | None:
    """Return the inductances at `angles`, (3, 3, n), around fields that fold to them.

    None where one of them is not known.
    """
    problem = known.problem
    poles = 2 * phases.pole_pairs
    fold = Fold.of(angles, slots=problem.slots, poles=poles)
    apart = np.abs(fold.rest[:, None] - known.angle)
    place = apart.argmin(axis=1)
    if apart.min(axis=1).max() > SAME_ANGLE * 2 * math.pi / poles:
        return None
    stator, rotor = known.kept_fields
    amperes = phases.ampere_turns(np.eye(3))  # (3, slots, 2)
    found = []
    for k, nearest in enumerate(place):
        one = fold.only(np.full(3, k))
        means = problem.incremental_means(
            (stator[nearest], rotor[nearest]), float(fold.rest[k]), one.folded(amperes)
        )
        found.append(phases.linkage(one.unfolded(means)))
    return np.stack(found, axis=2)


def _around_period(known: FieldSweep, phases: Phases) -> PhaseInductances:
    """Return the inductances around some of the fields of an electrical period."""
    number = len(known.angle)
    steps = [n for n in range(1, number + 1) if number % n == 0 and number // n >= UNEVEN_ANGLES]
    chosen = slice(0, number, max(steps, default=1))
    stator, rotor = known.kept_fields
    turns, angle = phases.ampere_turns(np.eye(3)), known.angle[chosen]
    found = [
        phases.linkage(known.problem.incremental_means(field, float(at), turns))
        for field, at in zip(zip(stator[chosen], rotor[chosen], strict=True), angle, strict=True)
    ]
    return PhaseInductances(
        angle=angle, matrix=np.stack(found, axis=2), electrical=phases.electrical(angle)
    )


def tooth_inductances(
    problem: FieldProblem, phases: Phases, *, start: tuple[FloatArray, FloatArray] | None
) -> FloatArray:
    """Return the linkage of a turn around each tooth per ampere in each, (slots, slots) H.

    In the plane, incremental, without current. Where the rotor is centred, the mean over the
    rotor's positions one slot pitch apart: equal teeth see the same one after the other.

    Parameters
    ----------
    problem : FieldProblem
        The whole circle.
    phases : Phases
    start : unknowns of stator and rotor, or None
        Of the field without current, rotor at 0; needed where cores saturate.

    Raises
    ------
    ValueError
        Where the problem is a sector, or saturates and no field is given.
    """
    if problem.sectors != 1:
        msg = "single coils need the whole circle"
        raise ValueError(msg)
    coils = single_coils(problem.slots, phases.layers)
    if problem.is_linear:
        alone = np.zeros((1, *coils.shape[1:]))
        solved = solve(
            problem,
            angles=np.zeros(problem.slots + 1),
            ampere_turns=np.concatenate([alone, coils]),
            keep="readings",
        )
        means = solved.half_slot_mean[1:] - solved.half_slot_mean[0]
    elif start is None:
        msg = "a saturating problem needs the field that its tangent is taken at"
        raise ValueError(msg)
    else:
        means = problem.incremental_means(start, 0.0, coils)
    found = phases.tooth_linkage(means)
    if problem.gap.offset:
        return found
    turned = [np.roll(found, (k, k), axis=(0, 1)) for k in range(problem.slots)]
    return np.asarray(np.mean(turned, axis=0))


def end_turn_inductance(motor: Motor, winding: Winding) -> float:
    """Return the estimated inductance of the end turns of a branch, H.

    Of every coil μ₀ N² times the length of both end turns times `END_TURN_FACTOR`; coils in
    series add up, circuits in parallel divide.
    """
    coils = sum(1 for coil in winding.coils if coil.startswith("U"))
    in_series = coils / winding.parallel_circuits
    end_turns = winding.turn_length - 2 * motor.stack_length
    per_coil = END_TURN_FACTOR * MU_0 * winding.turns_per_tooth**2 * end_turns
    return float(per_coil * in_series / winding.parallel_circuits)


def slot_leakage_inductance(motor: Motor, phases: Phases) -> float:
    """Return the part of a branch's inductance that its own slots make, mean of phases, H.

    μ₀ L Σ N² λ over the slots, N the phase's turns in a slot and λ of `slot_permeance`. Named
    apart for those who check by hand: the field has it already.

    Source: R. Richter, Elektrische Maschinen I; Pyrhönen, Jokinen, Hrabovcová, Design of Rotating
    Electrical Machines (2014), from memory.
    """
    # The counter-clockwise side of a tooth and the clockwise side of the next share a slot.
    in_slot = phases.turns[:, :, 1] + np.roll(phases.turns[:, :, 0], -1, axis=1)
    depth, width, filled = slot_widths(motor.stator)
    permeance = slot_permeance(depth, width, filled)
    return float(MU_0 * phases.length * permeance * np.mean(np.sum(in_slot**2, axis=1)))


def slot_permeance(depth: FloatArray, width: FloatArray, filled: FloatArray) -> float:
    """Return λ = ∫ (share of the copper below)² dy / width, from the bottom of a slot upwards.

    Flux crosses the slot straight and iron takes no drive. With parallel sides and copper all
    the way up it is h/(3 b).

    Parameters
    ----------
    depth, width : (n,) m
        Rising from the bottom to the gap, and how wide the slot is there.
    filled : (n,) m
        Width of the copper there.

    >>> import numpy as np
    >>> y = np.linspace(0, 10e-3, 2001)
    >>> b = np.full(y.size, 5e-3)
    >>> round(slot_permeance(y, b, b), 6)
    0.666667
    """
    below = np.concatenate([[0.0], np.cumsum((filled[1:] + filled[:-1]) / 2 * np.diff(depth))])
    share = below / below[-1]
    return float(np.trapezoid(share**2 / width, depth))


def slot_widths(stator: Stator) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return radii from the slot's bottom to the gap, and the widths of slot and copper, (n,) m.

    Along the arc. The sloping underside of a tip counts as straight in radius and angle.
    """
    radius = np.linspace(stator.yoke_radius, stator.outer_radius, LAYERS + 1)
    half_pitch, corner = stator.slot_pitch / 2, stator.tip_corner_radius
    tooth = np.arcsin(np.minimum(1.0, stator.tooth_width / 2 / radius))
    edge = half_pitch - stator.opening_angle / 2
    if stator.tip_taper > 0:
        underside = edge - (corner - radius) / (corner * math.tan(stator.tip_taper))
        tooth = np.maximum(tooth, underside)
    iron = np.where(radius < corner, tooth, edge)
    width = 2 * radius * (half_pitch - iron)
    low, high = stator.yoke_radius + stator.slot_liner, corner - stator.slot_liner
    inside = (radius >= low) & (radius <= high)
    filled = np.where(inside, np.maximum(0.0, width - 2 * stator.slot_liner), 0.0)
    return radius, width, filled
