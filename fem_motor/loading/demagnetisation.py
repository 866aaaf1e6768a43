"""How near the magnets come to their knee, with hot and cold magnets, with and without current.

In every magnet b = B·m̂ is read along its magnetisation. The margin is the b below which 1 % of the
magnet's area lies, less the knee B_k = B_r − μ₀ μ_rec H_k; in terms of the opposing field it is
μ₀ μ_rec (H + H_k). Corners, where b of a sharp drawing has no bound, are what the 1 % leaves out.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from fem_motor.design import Motor
from fem_motor.field import FieldProblem, solve
from fem_motor.loading.magnet_readings import (
    LINEAR_ANGLES,
    SATURATING_ANGLES,
    TOLERANCE,
    Reading,
    grade_of,
    margin_of_each,
    readings_of,
    rotor_angles,
    worst,
    worst_map,
)
from fem_motor.loading.margins import (
    DemagnetisationMargins,
    LoadCase,
    StallCurrent,
    StallMargin,
    TemperatureMargin,
)
from fem_motor.loading.remedies import remedies
from fem_motor.loading.stall import LEADS, stall_margin
from fem_motor.quantities import MotorModel

HOT_C, COLD_C = 80.0, -10.0
"""Magnet temperatures, °C: neodymium is weakest hot, ferrite cold. The limit of plain sintered
grades and a winter's day; a choice of this project."""

TRANSIENT = 1.5
"""On the current limit, for what a controller lets pass before it acts; a choice of this project,
in the range of common practice."""

CASES: tuple[LoadCase, ...] = ("no current", "current limit")


def demagnetisation(
    motor: Motor,
    model: MotorModel,
    *,
    line_peak: float,
    stall: Callable[[float], StallCurrent] | None = None,
) -> DemagnetisationMargins:
    """Solve the machine for the demagnetisation margins of its magnets.

    Without current, and with the vector of the largest currents held against the magnets, at a
    few rotor angles. Linear cores take no new factorisation; saturating ones six field solutions,
    and nine more for a stalled motor.

    Parameters
    ----------
    motor : Motor
    model : MotorModel
    line_peak : float
        The current limit, peak line current, A.
    stall : callable, optional
        From the temperature of the copper, °C, to what flows through a motor that is held; None:
        not looked at.
    """
    current = demagnetising_current(motor, line_peak)
    at_room = _readings(model, model.problem, current) if model.problem.is_linear else ()
    found, by_magnet = [], []
    for temperature_C in (HOT_C, COLD_C):
        factor = motor.rotor.magnet.remanence_at(temperature_C) / motor.rotor.magnet.remanence
        if model.problem.is_linear:
            readings = _superposed(at_room, factor)
        else:
            readings = _readings(model, model.problem.with_remanence_times(factor), current)
        grade = grade_of(motor, model.problem, temperature_C)
        found.append((*worst(readings, grade, among=CASES), grade))
        by_magnet.append(margin_of_each(readings, grade))
    (hot, hot_reading, hot_grade), (cold, cold_reading, cold_grade) = found
    is_hot = _rank(hot) <= _rank(cold)
    stalled = {} if stall is None else _stalled(motor, model, stall, is_hot=is_hot)
    return DemagnetisationMargins(
        hot=replace(hot, advice=remedies(motor, hot, other=cold, line_peak=line_peak)),
        cold=replace(cold, advice=remedies(motor, cold, other=hot, line_peak=line_peak)),
        line_peak=line_peak,
        demagnetising_current=current,
        hot_by_magnet=by_magnet[0],
        cold_by_magnet=by_magnet[1],
        worst_map=worst_map(*((hot_reading, hot_grade) if is_hot else (cold_reading, cold_grade))),
        stall=(stalled[HOT_C], stalled[COLD_C]) if stalled else None,
    )


def _stalled(
    motor: Motor, model: MotorModel, stall: Callable[[float], StallCurrent], *, is_hot: bool
) -> dict[float, StallMargin]:
    """Return the margins at stall by temperature; the direction is sought at the weaker one."""
    weaker, other = (HOT_C, COLD_C) if is_hot else (COLD_C, HOT_C)
    one = stall_margin(motor, model, current=stall(weaker), temperature_C=weaker)
    lead = one.worst.current_angle
    again = stall_margin(
        motor,
        model,
        current=stall(other),
        temperature_C=other,
        leads=LEADS if lead is None else (lead,),
    )
    return {weaker: one, other: again}


def demagnetising_current(motor: Motor, line_peak: float) -> float:
    """Return the largest vector of the branch currents at a line current, transients included, A.

    Amplitude-invariant. Sine currents: the branch's amplitude. Six-step: 2/√3 of the line current
    in star, where it flows through two branches 120° apart, and 1/√3 of that in delta.
    """
    return TRANSIENT * current_vector(motor, line_peak)


def current_vector(motor: Motor, line_peak: float) -> float:
    """Return the vector of the branch currents at a line current, A, as above."""
    vector = line_peak if motor.drive.controller == "sine" else line_peak * 2 / math.sqrt(3)
    return vector if motor.winding.connection == "star" else vector / math.sqrt(3)


def _readings(model: MotorModel, problem: FieldProblem, current: float) -> tuple[Reading, ...]:
    """Return the fields without current, then those with it, in the order of the angles."""
    phases = model.phases
    loaded = rotor_angles(model, LINEAR_ANGLES if problem.is_linear else SATURATING_ANGLES)
    empty = loaded if problem.is_linear else loaded[:1]
    against = phases.sine(loaded, peak=current, current_angle=math.pi / 2)  # i_d = −current
    currents = np.concatenate([np.zeros((3, len(empty))), against], axis=1)
    solved = solve(
        problem,
        angles=np.concatenate([empty, loaded]),
        ampere_turns=phases.ampere_turns(currents),
        tolerance=TOLERANCE,
        start=model.field_at_zero,
    )
    cases: list[tuple[LoadCase, float | None]] = [("no current", None)] * len(empty)
    cases += [("current limit", math.pi / 2)] * len(loaded)
    return readings_of(solved, problem, cases)


def _superposed(at_room: Sequence[Reading], factor: float) -> tuple[Reading, ...]:
    """Return the fields of a linear machine with every remanence times `factor`."""
    half = len(at_room) // 2
    magnets = [one.flux_density for one in at_room[:half]] * 2
    return tuple(
        replace(one, flux_density=one.flux_density + (factor - 1) * alone)
        for one, alone in zip(at_room, magnets, strict=True)
    )


def _rank(found: TemperatureMargin) -> float:
    return found.flux_density if found.margin is None else found.margin
