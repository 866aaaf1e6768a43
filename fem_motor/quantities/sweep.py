"""Torque and flux linkage over rotor angle, with or without currents."""

import math
import time
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor
from fem_motor.field import FieldMap, FieldProblem, FieldSweep, field_map, solve
from fem_motor.materials import BHCurve
from fem_motor.mesh import MotorMesh
from fem_motor.progress import OnStep, ignore
from fem_motor.quantities.fields.linkage import Phases, ampere_turns, flux_linkage, half_slot_turns
from fem_motor.quantities.fields.machine import Extent, choose_problem, is_as_designed, symmetry
from fem_motor.quantities.fields.no_load import (
    NO_LOAD_TOLERANCE,
    NoLoadFields,
    folded_no_load_fields,
)
from fem_motor.quantities.records import RotorSweep, TorqueParts, Waveform
from fem_motor.units import DEG
from fem_motor.winding import Winding

SLOPE_STEP = 5e-3
"""Step either way of the slope of the flux linkage over angle, electrical rad: harmonic 11 of it
then errs by 5e-4 of itself."""


def sweep_motor(
    motor: Motor,
    winding: Winding,
    mesh: MotorMesh,
    *,
    angles: FloatArray,
    currents: FloatArray,
    waveform: Waveform | None = None,
    extent: Extent = "sector",
    timing_s: Mapping[str, float] | None = None,
    on_step: OnStep = ignore,
) -> RotorSweep:
    """Return torque and flux linkages at the rotor's `angles`.

    Parameters
    ----------
    motor, winding, mesh
    angles : (n,) rad
    currents : (3, n) A
        Of the branches.
    waveform : "sine" or "six-step", optional
        Of currents that turn with the rotor; their torque is then told by its parts.
    extent : "sector" or "whole"
        Whether symmetry may be used; without current it also folds the angles into half a
        cogging period.
    timing_s : mapping
        Stages already spent, reported with the sweep.
    on_step : callable
        Called with (done, of, stage).
    """
    started = time.perf_counter()
    turns = half_slot_turns(winding)
    sectors = 1
    if extent == "sector":
        sectors = symmetry(motor, turns if np.any(currents) else None)
    problem = choose_problem(motor, mesh, sectors=sectors)
    prepared = time.perf_counter()
    solved: FieldSweep | NoLoadFields
    if extent == "sector" and is_as_designed(motor) and not np.any(currents):
        solved = folded_no_load_fields(
            problem, poles=motor.rotor.poles, angles=angles, keep="readings", on_step=on_step
        )
    else:
        solved = solve(
            problem,
            angles=angles,
            ampere_turns=ampere_turns(turns, currents),
            keep="readings",
            on_step=on_step,
        )
    timing = dict(timing_s or {})
    timing["set-up"] = prepared - started
    timing["fields"] = time.perf_counter() - prepared
    sweep = rotor_sweep_of(solved, problem, motor, turns=turns, currents=currents, timing_s=timing)
    if waveform is None:
        return sweep
    parts = _parts(sweep, problem, motor, turns)
    timing["parts of the torque"] = time.perf_counter() - prepared - timing["fields"]
    return replace(sweep, waveform=waveform, parts=parts, timing_s=timing)


def _parts(
    sweep: RotorSweep, problem: FieldProblem, motor: Motor, turns: FloatArray
) -> TorqueParts:
    """Return the parts of the torque, by fields without current at and around each angle."""
    angles = sweep.angle_deg * DEG
    step = SLOPE_STEP / motor.rotor.pole_pairs
    around = (angles[:, None] + step * np.array([-1, 0, 1])).ravel()
    idle: FieldSweep | NoLoadFields
    if is_as_designed(motor):
        idle = folded_no_load_fields(
            problem, poles=motor.rotor.poles, angles=around, keep="readings"
        )
    else:
        idle = solve(
            problem,
            angles=around,
            ampere_turns=np.zeros((len(around), motor.stator.slots, 2)),
            keep="readings",
            tolerance=NO_LOAD_TOLERANCE,
        )
    linkage = flux_linkage(turns, idle.half_slot_mean, motor.stack_length)
    back_emf = (linkage[:, 2::3] - linkage[:, ::3]) / (2 * step)
    cogging = idle.torque[1::3] * motor.stack_length
    magnet = np.sum(sweep.currents_A * back_emf, axis=0)
    return TorqueParts(
        cogging_Nm=cogging, magnet_Nm=magnet, reluctance_Nm=sweep.torque_Nm - cogging - magnet
    )


def rotor_sweep_of(
    solved: FieldSweep | NoLoadFields,
    problem: FieldProblem,
    motor: Motor,
    *,
    turns: FloatArray,
    currents: FloatArray,
    timing_s: Mapping[str, float],
) -> RotorSweep:
    """Return the readings of a solved sweep for the true stack length."""
    return RotorSweep(
        angle_deg=solved.angle / DEG,
        torque_Nm=solved.torque * motor.stack_length,
        pull_N=solved.pull.T * motor.stack_length,
        flux_linkage_Wb=flux_linkage(turns, solved.half_slot_mean, motor.stack_length),
        currents_A=currents,
        waveform="held" if np.any(currents) else "none",
        parts=None,
        dofs=problem.unknowns,
        method="linear" if problem.is_linear else "newton",
        timing_s=timing_s,
    )


def solve_map(
    motor: Motor, winding: Winding, mesh: MotorMesh, *, angle: float, currents: FloatArray
) -> FieldMap:
    """Return the field of the whole machine at one rotor angle (rad), branch currents (3,) A."""
    turns = half_slot_turns(winding)
    sectors = symmetry(motor, turns if np.any(currents) else None)
    problem = choose_problem(motor, mesh, sectors=sectors)
    solved = solve(
        problem,
        angles=np.array([angle]),
        ampere_turns=ampere_turns(turns, currents.reshape(3, 1)),
    )
    stator, rotor = solved.kept_fields
    return field_map(problem, stator[0], rotor[0], angle)


def permeability_ratios(
    motor: Motor, winding: Winding, permeabilities: tuple[float, float], *, as_given: FieldSweep
) -> tuple[FloatArray, FloatArray]:
    """Return flux linkage and cogging, (2,) each, of other cores over those of the core as given.

    Phase U with the rotor on its d axis, and torque at a quarter of a cogging period; no current.
    `as_given` holds fields of the machine as it is, the first with the rotor at 0: what they have
    factorised serves again, and where a ring saturates others start from them.
    """
    phases = Phases.of(winding, motor)
    quarter = math.pi / (2 * math.lcm(motor.stator.slots, motor.rotor.poles))
    stator, rotor = as_given.kept_fields
    problem, found = as_given.problem, []
    for permeability in (None, *permeabilities):
        if permeability is not None:
            core = BHCurve.linear(permeability).stacked(motor.stator.core_fraction)
            problem = problem.with_core(core)
        solved = solve(
            problem,
            angles=np.array([phases.d_axis, quarter]),
            ampere_turns=np.zeros((2, motor.stator.slots, 2)),
            keep="readings",
            start=(stator[0], rotor[0]),
        )
        found.append((phases.linkage(solved.half_slot_mean)[0, 0], solved.torque[1]))
    ratio = np.array(found[1:]) / np.array(found[0])
    return ratio[:, 0], ratio[:, 1]
