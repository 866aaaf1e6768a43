"""How near the magnets come to their knee, with hot and cold magnets, with and without current.

In every magnet b = B·m̂ is read along its magnetisation. The margin is the b below which 1 % of the
magnet's area lies, less the knee B_k = B_r − μ₀ μ_rec H_k; in terms of the opposing field it is
μ₀ μ_rec (H + H_k). Corners, where b of a sharp drawing has no bound, are what the 1 % leaves out.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor
from fem_motor.field import FieldProblem, solve
from fem_motor.loading.margins import (
    DemagnetisationMap,
    DemagnetisationMargins,
    LoadCase,
    TemperatureMargin,
)
from fem_motor.loading.remedies import remedies
from fem_motor.quantities import MotorModel

HOT_C, COLD_C = 80.0, -10.0
"""Magnet temperatures, °C: neodymium is weakest hot, ferrite cold. The limit of plain sintered
grades and a winter's day; a choice of this project."""

TRANSIENT = 1.5
"""On the current limit, for what a controller lets pass before it acts; a choice of this project,
in the range of common practice."""

SHARE = 0.01
"""Of a magnet's area that may lie lower than the value taken; common practice, no source."""

LINEAR_ANGLES = 6
SATURATING_ANGLES = 2
"""Rotor angles of the case with current: nearly free where all is superposition, a field solution
each where not. The case without current then takes the first alone."""

TOLERANCE = 1e-3
"""Residual over load at which to stop; measured on a steel machine, it moves the margin by
2e-5 T. Saves half of the steps."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Reading:
    """One solved field. Values along the magnetisation, (s, m, q); see the field's record."""

    case: LoadCase
    rotor_angle: float
    flux_density: FloatArray
    area: FloatArray
    corners: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Grade:
    """The magnets' law at one temperature.

    remanence: of each magnet, (s,), as it was built; knee: the same of the knee, or None.
    """

    temperature_C: float
    remanence: FloatArray
    knee: FloatArray | None


def demagnetisation(motor: Motor, model: MotorModel, *, line_peak: float) -> DemagnetisationMargins:
    """Solve the machine for the demagnetisation margins of its magnets.

    Without current, and with the vector of the largest currents held against the magnets, at a
    few rotor angles. Linear cores take no new factorisation; saturating ones six field solutions.

    Parameters
    ----------
    motor : Motor
    model : MotorModel
    line_peak : float
        The current limit, peak line current, A.
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
        grade = _grade(motor, model.problem, temperature_C)
        found.append((*_worst(readings, grade), grade))
        by_magnet.append(_margin_of_each(readings, grade))
    (hot, hot_reading, hot_grade), (cold, cold_reading, cold_grade) = found
    is_hot = _rank(hot) <= _rank(cold)
    return DemagnetisationMargins(
        hot=replace(hot, advice=remedies(motor, hot, other=cold, line_peak=line_peak)),
        cold=replace(cold, advice=remedies(motor, cold, other=hot, line_peak=line_peak)),
        line_peak=line_peak,
        demagnetising_current=current,
        hot_by_magnet=by_magnet[0],
        cold_by_magnet=by_magnet[1],
        worst_map=_map(hot_reading, hot_grade) if is_hot else _map(cold_reading, cold_grade),
    )


def demagnetising_current(motor: Motor, line_peak: float) -> float:
    """Return the largest vector of the branch currents at a line current, transients included, A.

    Amplitude-invariant. Sine currents: the branch's amplitude. Six-step: 2/√3 of the line current
    in star, where it flows through two branches 120° apart, and 1/√3 of that in delta.
    """
    vector = line_peak if motor.drive.controller == "sine" else line_peak * 2 / math.sqrt(3)
    branch = vector if motor.winding.connection == "star" else vector / math.sqrt(3)
    return TRANSIENT * branch


def density_exceeded(flux_density: FloatArray, area: FloatArray, share: float) -> FloatArray:
    """Return the value below which `share` of the area lies, (s,), of values (s, n), areas (n,)."""
    order = np.argsort(flux_density, axis=1)
    rising = np.take_along_axis(flux_density, order, axis=1)
    parts = area[order]
    passed = (np.cumsum(parts, axis=1) - parts / 2) / area.sum()
    return np.array(
        [np.interp(share, *row) for row in zip(passed, rising, strict=True)], dtype=np.float64
    )


def _rotor_angles(model: MotorModel, number: int) -> FloatArray:
    """Return rotor angles over 60 electrical degrees, the first with the d axis on a phase, rad.

    There one phase carries the whole current and the field against the magnets peaks at its teeth;
    after 60° another phase does. A machine with a defect is looked at over 360°.
    """
    pole_pairs = model.phases.pole_pairs
    sixth = math.pi / 3 / pole_pairs
    span = sixth if model.is_as_designed else 6 * sixth
    return np.asarray(model.phases.d_axis % sixth + span * np.arange(number) / number)


def _readings(model: MotorModel, problem: FieldProblem, current: float) -> tuple[_Reading, ...]:
    """Return the fields without current, then those with it, in the order of the angles."""
    phases = model.phases
    loaded = _rotor_angles(model, LINEAR_ANGLES if problem.is_linear else SATURATING_ANGLES)
    empty = loaded if problem.is_linear else loaded[:1]
    angles = np.concatenate([empty, loaded])
    against = phases.sine(loaded, peak=current, current_angle=math.pi / 2)  # i_d = −current
    currents = np.concatenate([np.zeros((3, len(empty))), against], axis=1)
    solved = solve(
        problem,
        angles=angles,
        ampere_turns=phases.ampere_turns(currents),
        tolerance=TOLERANCE,
        start=model.field_at_zero,
    )
    _, rotor_values = solved.kept_fields
    readings = []
    for k, (angle, values) in enumerate(zip(angles, rotor_values, strict=True)):
        field = problem.magnet_field(values, float(angle))
        readings.append(
            _Reading(
                case="no current" if k < len(empty) else "current limit",
                rotor_angle=float(angle),
                flux_density=field.flux_density,
                area=field.area,
                corners=field.corners,
            )
        )
    return tuple(readings)


def _superposed(at_room: Sequence[_Reading], factor: float) -> tuple[_Reading, ...]:
    """Return the fields of a linear machine with every remanence times `factor`."""
    half = len(at_room) // 2
    magnets = [one.flux_density for one in at_room[:half]] * 2
    return tuple(
        replace(one, flux_density=one.flux_density + (factor - 1) * alone)
        for one, alone in zip(at_room, magnets, strict=True)
    )


def _grade(motor: Motor, problem: FieldProblem, temperature_C: float) -> _Grade:
    """Return the law of every magnet; a weaker one keeps its coercivity, so its knee is lower."""
    magnet = motor.rotor.magnet
    strength = np.abs(problem.magnets.remanence) / magnet.remanence
    full = magnet.remanence_at(temperature_C)
    knee = magnet.knee_flux_density(temperature_C)
    remanence = full * strength
    return _Grade(
        temperature_C=temperature_C,
        remanence=remanence,
        knee=None if knee is None else remanence - (full - knee),
    )


def _lowest(readings: Sequence[_Reading], grade: _Grade) -> FloatArray:
    """Return what 1 % of a magnet's area lies below, by reading and magnet, (r, s) T."""
    return np.array(
        [
            density_exceeded(one.flux_density.reshape(*grade.remanence.shape, -1),
                             one.area.ravel(), SHARE)
            for one in readings
        ]
    )  # fmt: skip


def _margin_of_each(readings: Sequence[_Reading], grade: _Grade) -> FloatArray | None:
    """Return the smallest margin of each magnet, (s,) T; a place without magnet has its own knee.

    None where the coercivity is not known.
    """
    if grade.knee is None:
        return None
    return np.asarray(_lowest(readings, grade).min(axis=0) - grade.knee)


def _worst(readings: Sequence[_Reading], grade: _Grade) -> tuple[TemperatureMargin, _Reading]:
    """Return the magnet whose opposing field is the largest, and the field it was found in."""
    lowest = _lowest(readings, grade)
    # μ₀ μ_rec H; a place without magnet cannot lose anything.
    opposing = np.where(grade.remanence > 0, lowest - grade.remanence, np.inf)
    # Equal magnets differ by rounding: the first of them is named.
    first = int(np.round(opposing, 6).argmin())
    place, magnet = divmod(first, opposing.shape[1])
    reading = readings[place]
    empty = np.array([one.case == "no current" for one in readings])
    knee = None if grade.knee is None else float(grade.knee[magnet])
    share = without = None
    if grade.knee is not None and knee is not None:
        below = reading.flux_density[magnet] < knee
        share = float(reading.area[below].sum() / reading.area.sum())
        without = float(opposing[empty].min() + (grade.remanence - grade.knee)[magnet])
    found = TemperatureMargin(
        temperature_C=grade.temperature_C,
        case=reading.case,
        rotor_angle=reading.rotor_angle,
        magnet=magnet + 1,
        flux_density=float(lowest[place, magnet]),
        knee=knee,
        area_below_knee=share,
        margin_without_current=without,
    )
    return found, reading


def _rank(found: TemperatureMargin) -> float:
    return found.flux_density if found.margin is None else found.margin


def _map(reading: _Reading, grade: _Grade) -> DemagnetisationMap:
    magnets, elements, _ = reading.flux_density.shape
    area = reading.area.sum(axis=1)
    mean = (reading.flux_density * reading.area).sum(axis=2) / area  # (s, m)
    return DemagnetisationMap(
        points=reading.corners.transpose(1, 0, 3, 2).reshape(2, -1),
        triangles=np.arange(3 * magnets * elements).reshape(-1, 3).T,
        area=np.tile(area, magnets),
        flux_density=mean.ravel(),
        margin=None if grade.knee is None else (mean - grade.knee[:, None]).ravel(),
        rotor_angle=reading.rotor_angle,
        temperature_C=grade.temperature_C,
    )
