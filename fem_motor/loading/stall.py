"""How near the magnets of a stalled motor come to their knee.

A motor that is held, or that does not start, carries what the supply drives through the
resistances, or the controller's limit, in whichever of its states it happens to stand: the
current may point anywhere against the magnets. No allowance for transients: this current stays.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor
from fem_motor.field import solve
from fem_motor.loading.magnet_readings import (
    LINEAR_ANGLES,
    TOLERANCE,
    Reading,
    grade_of,
    margin_of_each,
    readings_of,
    rotor_angles,
    worst,
)
from fem_motor.loading.margins import LoadCase, StallCurrent, StallMargin
from fem_motor.loading.remedies import remedies
from fem_motor.quantities import MotorModel, Phases
from fem_motor.units import DEG

STRAIGHT = 90 * DEG
"""Lead of a current straight against the magnets."""

LEADS = (STRAIGHT, 60 * DEG, 30 * DEG, 0.0, -30 * DEG, -60 * DEG)
"""Directions of the current that are solved where cores saturate; those beyond 90° are their mirror
images. With little current it matters more where the slots stand than what the current does: then
the worst may be one that helps the magnets."""

STATES = np.array([(1, -1, 0), (1, 0, -1), (0, 1, -1), (-1, 1, 0), (-1, 0, 1), (0, -1, 1)]).T
"""Line currents of the six states of the bridge, U−V, U−W … W−V, (3, 6)."""

NO_CURRENT: tuple[LoadCase, float | None] = ("no current", None)


def stall_margin(
    motor: Motor,
    model: MotorModel,
    *,
    current: StallCurrent,
    temperature_C: float,
    leads: Sequence[float] = LEADS,
) -> StallMargin:
    """Return the margin at standstill with magnets at a temperature.

    Linear cores: every state of the bridge at several rotor angles, by superposition. Others: one
    state, with the rotor where its current has the `leads`.

    Parameters
    ----------
    motor, model
    current : StallCurrent
        With the copper as warm as the magnets.
    temperature_C : float
    leads : sequence of float
        Over the back-EMF, electrical rad; of saturating cores only.
    """
    if model.problem.is_linear:
        readings = _superposed(motor, model, current, temperature_C)
    else:
        readings = _solved(motor, model, current, temperature_C, leads)
    grade = grade_of(motor, model.problem, temperature_C)
    found, _ = worst(readings, grade, among=("stall",))
    advice = remedies(motor, found, other=None, line_peak=current.line_peak)
    return StallMargin(
        current=current,
        worst=replace(found, advice=advice),
        by_magnet=margin_of_each([one for one in readings if one.case == "stall"], grade),
    )


def stall_currents(motor: Motor, line_peak: float) -> FloatArray:
    """Return the branch currents of six directions 60° apart, (3, 6) A.

    Six-step: the states of the bridge; in delta two thirds take the branch between the live
    terminals. Sine: the peak on one phase after the other, either way.
    """
    is_delta = motor.winding.connection == "delta"
    if motor.drive.controller == "sine":
        peak = line_peak / math.sqrt(3) if is_delta else line_peak
        turn = math.pi / 3 * np.arange(6) - 2 * math.pi / 3 * np.arange(3)[:, None]
        return np.asarray(peak * np.cos(turn))
    lines = line_peak * STATES.astype(np.float64)
    return (lines - np.roll(lines, -1, axis=0)) / 3 if is_delta else lines


def leads_of(phases: Phases, currents: FloatArray, angle: float) -> FloatArray:
    """Return the lead over the back-EMF of branch currents, (3, k), the rotor at `angle`, rad.

    From −180° to 180°; see `Phases.sine`.
    """
    direction = np.angle(np.exp(2j * math.pi / 3 * np.arange(3)) @ currents)
    lead = direction - phases.electrical(np.array([angle])) - math.pi / 2
    return np.asarray((lead + math.pi) % (2 * math.pi) - math.pi)


def _superposed(
    motor: Motor, model: MotorModel, current: StallCurrent, temperature_C: float
) -> tuple[Reading, ...]:
    """Return the fields of a linear machine: of the magnets, and of 1 A in each phase, times."""
    magnet, at_room = motor.rotor.magnet, _ampere_by_ampere(model)
    factor = magnet.remanence_at(temperature_C) / magnet.remanence
    branches = stall_currents(motor, current.line_peak)
    found = []
    for k in range(0, len(at_room), 4):
        alone = at_room[k]
        empty = factor * alone.flux_density
        found.append(replace(alone, flux_density=empty))
        each = np.array([one.flux_density - alone.flux_density for one in at_room[k + 1 : k + 4]])
        leads = leads_of(model.phases, branches, alone.rotor_angle)
        for lead, state in zip(leads, branches.T, strict=True):
            loaded = empty + np.tensordot(state, each, axes=1)
            stalled = replace(alone, case="stall", current_angle=float(lead), flux_density=loaded)
            found.append(stalled)
    return tuple(found)


def _ampere_by_ampere(model: MotorModel) -> tuple[Reading, ...]:
    """Return the field of the magnets, then that with 1 A in U, V and W, angle by angle.

    Kept with the problem: hot and cold magnets use the same.
    """
    kept = model.problem.prepared
    if "ampere by ampere" not in kept:
        angles = rotor_angles(model, LINEAR_ANGLES)
        amperes = np.concatenate([np.zeros((3, 1)), np.eye(3)], axis=1)
        solved = solve(
            model.problem,
            angles=np.repeat(angles, 4),
            ampere_turns=model.phases.ampere_turns(np.tile(amperes, len(angles))),
        )
        kept["ampere by ampere"] = readings_of(
            solved, model.problem, [NO_CURRENT] * solved.angle.size
        )
    found: tuple[Reading, ...] = kept["ampere by ampere"]
    return found


def _solved(
    motor: Motor,
    model: MotorModel,
    current: StallCurrent,
    temperature_C: float,
    leads: Sequence[float],
) -> tuple[Reading, ...]:
    magnet, phases = motor.rotor.magnet, model.phases
    problem = model.problem.with_remanence_times(
        magnet.remanence_at(temperature_C) / magnet.remanence
    )
    state = stall_currents(motor, current.line_peak)[:, :1]
    at_zero = float(leads_of(phases, state, 0.0)[0])
    # The lead falls by as much as the rotor turns, in electrical angle.
    angles = np.array([(at_zero - lead) / phases.pole_pairs for lead in (leads[0], *leads)])
    amperes = np.tile(state, len(angles))
    amperes[:, 0] = 0
    solved = solve(
        problem,
        angles=angles,
        ampere_turns=phases.ampere_turns(amperes),
        tolerance=TOLERANCE,
        start=model.field_at_zero,
    )
    stalled: list[tuple[LoadCase, float | None]] = [("stall", lead) for lead in leads]
    return readings_of(solved, problem, [NO_CURRENT, *stalled])
