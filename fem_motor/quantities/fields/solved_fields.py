"""All fields without currents that a model is made of, by the symmetry that is left.

As designed, half a cogging period says all. With odd magnets in a saturating machine the whole
circle is solved, on the coarse mesh that currents are solved on, over one slot pitch of angles:
equal teeth see the rest of the turn one after the other. What that mesh misses of the cogging is
missed by the machine as designed too, which is nearly free to solve on both meshes; the
difference is added. Anything else is solved angle by angle.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor
from fem_motor.errors import MeshError
from fem_motor.field import FieldProblem, FieldSweep, solve
from fem_motor.mesh import MotorMesh, mesh_motor
from fem_motor.mesh import Quality as MeshQuality
from fem_motor.progress import OnStep
from fem_motor.quantities.fields.linkage import Phases
from fem_motor.quantities.fields.machine import (
    choose_problem,
    is_as_designed,
    motor_problem,
    symmetry,
)
from fem_motor.quantities.fields.no_load import (
    NoLoadFields,
    direct_no_load_fields,
    folded_no_load_fields,
    no_load_fields,
)
from fem_motor.quantities.fields.whole_turn import WholeTurn, turn_angles, turn_of, whole_turn
from fem_motor.quantities.fields.with_currents import ReadyForCurrents, ready_for_currents

DEFECT_ANGLES = 48
"""Rotor angles in an electrical period of a saturating machine with defects: every one of them is
a whole machine to solve."""

DEFECT_TOLERANCE = 1e-5
"""Residual over load there: what an odd magnet or an offset does to the torque is far more than the
cogging of a good machine, for which ten times less is needed."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolvedFields:
    """What was solved without currents.

    Attributes
    ----------
    fields : NoLoadFields
        Over an electrical period.
    ready : ReadyForCurrents
    turn : WholeTurn or None
        Where a defect makes the periods of a turn differ.
    checked : FieldSweep
        Whose torque is worked out in three ways: that of the machine as designed where only its
        magnets are odd, on the mesh that shows cogging.
    """

    fields: NoLoadFields
    ready: ReadyForCurrents
    turn: WholeTurn | None
    checked: FieldSweep


@dataclass(frozen=True, slots=True, kw_only=True)
class HowToSolve:
    """How finely.

    Attributes
    ----------
    angles_per_period : int
        Rotor angles in one cogging period; even.
    mesh_with_currents : "flux", "draft", "standard", "fine" or None
        See `ready_for_currents`.
    """

    angles_per_period: int
    mesh_with_currents: MeshQuality | None


def solve_fields(
    motor: Motor,
    mesh: MotorMesh,
    *,
    phases: Phases,
    how: HowToSolve,
    done: Callable[[str], None],
    on_step: OnStep,
) -> SolvedFields:
    """Return the fields without currents, and the problem for currents.

    Parameters
    ----------
    motor, mesh, phases, how
    done : callable
        Told the name of each stage when it ends.
    on_step : callable
    """
    problem = choose_problem(motor, mesh, sectors=symmetry(motor))
    done("set-up")
    built = motor.as_built
    if built.magnets and not built.rotor_offset and not problem.is_linear:
        found = _with_odd_magnets(
            motor, mesh, phases, quality=how.mesh_with_currents or "flux", on_step=on_step
        )
        done("fields")
        return found
    fields = _fields(problem, motor, how.angles_per_period, on_step)
    done("fields")
    ready = ready_for_currents(fields, motor, mesh, phases, quality=how.mesh_with_currents)
    turn = None
    if not is_as_designed(motor):
        turn = whole_turn(ready.problem, motor, phases, start=ready.field_at_zero)
    done("mesh with currents")
    return SolvedFields(fields=fields, ready=ready, turn=turn, checked=fields.solved)


def _fields(
    problem: FieldProblem, motor: Motor, angles_per_period: int, on_step: OnStep
) -> NoLoadFields:
    poles = motor.rotor.poles
    if is_as_designed(motor):
        return no_load_fields(
            problem, poles=poles, angles_per_period=angles_per_period, on_step=on_step
        )
    # No symmetry is left; an electrical period is solved as it comes, the whole circle each time.
    periods = 2 * math.lcm(motor.stator.slots, poles) // poles
    angles = DEFECT_ANGLES
    if problem.is_linear:
        angles = max(angles, periods * angles_per_period // 2)
    return direct_no_load_fields(
        problem, poles=poles, angles=angles, tolerance=DEFECT_TOLERANCE, on_step=on_step
    )


def _with_odd_magnets(
    motor: Motor, mesh: MotorMesh, phases: Phases, *, quality: MeshQuality, on_step: OnStep
) -> SolvedFields:
    try:
        coarse = mesh_motor(motor, quality=quality)
    except MeshError:  # a part too thin for it
        coarse = mesh
    problem = motor_problem(motor, coarse, sectors=1)
    angles = turn_angles(motor)
    number, slots = len(angles) // motor.stator.slots, motor.stator.slots
    solved = solve(
        problem,
        angles=angles[:number],
        ampere_turns=np.zeros((number, slots, 2)),
        tolerance=DEFECT_TOLERANCE,
        on_step=on_step,
    )
    turn = turn_of(solved, motor, phases, parts=slots)
    period = turned_sweep(solved, len(angles) // phases.pole_pairs)
    missed, as_designed = _missed_cogging(motor, mesh, coarse, period.angle)
    fields = NoLoadFields(
        angle=period.angle,
        torque=period.torque + missed,
        pull=period.pull,
        half_slot_mean=period.half_slot_mean,
        solved=period,
    )
    more = np.tile(missed, phases.pole_pairs) * motor.stack_length
    return SolvedFields(
        fields=fields,
        ready=ReadyForCurrents(
            problem=problem, field_at_zero=fields.at_first, idle_torque=period.torque
        ),
        turn=replace(turn, torque=turn.torque + more),
        checked=as_designed.solved,
    )


def turned_sweep(solved: FieldSweep, number: int) -> FieldSweep:
    """Return `number` angles from those of the first slot pitch, whole circle, equal teeth.

    Turning the rotor by a slot pitch turns the whole field by one tooth; in its own frame the
    rotor sees no difference.
    """
    slots, each = solved.problem.slots, len(solved.angle)
    part, place = np.divmod(np.arange(number), each)
    pitch = 2 * math.pi / slots
    body = solved.problem.stator
    stator, rotor = solved.kept_fields
    turned = np.empty((number, body.size))
    for k in range(number):
        # Two copies of the half cell a tooth; on the whole circle no sign comes in.
        nodal = np.roll(body.nodal(stator[place[k]]), 2 * part[k], axis=0)
        turned[k, body.unknown] = nodal
    force = (solved.pull[place] @ (1, 1j)) * np.exp(1j * pitch * part)
    means = [np.roll(solved.half_slot_mean[j], k, axis=0) for j, k in zip(place, part, strict=True)]
    return replace(
        solved,
        angle=solved.angle[place] + pitch * part,
        torque=solved.torque[place],
        pull=np.column_stack([force.real, force.imag]),
        half_slot_mean=np.array(means),
        energy=solved.energy[place],
        stator_values=turned,
        rotor_values=rotor[place],
        iterations=solved.iterations[place],
    )


def _missed_cogging(
    motor: Motor, mesh: MotorMesh, coarse: MotorMesh, angles: FloatArray
) -> tuple[FloatArray, NoLoadFields]:
    """Return by how much the cogging as designed differs on both meshes, (n,) N; and its fields."""
    sound = replace(motor, as_built=replace(motor.as_built, magnets=()))
    sectors, poles = symmetry(sound), motor.rotor.poles
    found = [
        folded_no_load_fields(
            motor_problem(sound, one, sectors=sectors), poles=poles, angles=angles
        )
        for one in (mesh, coarse)
    ]
    return found[0].torque - found[1].torque, found[0]
