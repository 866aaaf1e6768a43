"""The field in the magnets of one solution, and what of it is held against the knee."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor
from fem_motor.field import FieldProblem, FieldSweep
from fem_motor.loading.margins import DemagnetisationMap, LoadCase, TemperatureMargin
from fem_motor.quantities import MotorModel

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
class Reading:
    """One solved field. Values along the magnetisation, (s, m, q); see the field's record.

    current_angle: lead over the back-EMF, electrical rad; None without current.
    """

    case: LoadCase
    rotor_angle: float
    current_angle: float | None
    flux_density: FloatArray
    area: FloatArray
    corners: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grade:
    """The magnets' law at one temperature.

    remanence: of each magnet, (s,), as it was built; knee: the same of the knee, or None.
    """

    temperature_C: float
    remanence: FloatArray
    knee: FloatArray | None


def density_exceeded(flux_density: FloatArray, area: FloatArray, share: float) -> FloatArray:
    """Return the value below which `share` of the area lies, (s,), of values (s, n), areas (n,)."""
    order = np.argsort(flux_density, axis=1)
    rising = np.take_along_axis(flux_density, order, axis=1)
    parts = area[order]
    passed = (np.cumsum(parts, axis=1) - parts / 2) / area.sum()
    return np.array(
        [np.interp(share, *row) for row in zip(passed, rising, strict=True)], dtype=np.float64
    )


def readings_of(
    solved: FieldSweep, problem: FieldProblem, cases: Sequence[tuple[LoadCase, float | None]]
) -> tuple[Reading, ...]:
    """Return the magnets' field of each solution, whose case and current angle are given."""
    _, rotor_values = solved.kept_fields
    found = []
    for angle, values, (case, lead) in zip(solved.angle, rotor_values, cases, strict=True):
        field = problem.magnet_field(values, float(angle))
        found.append(
            Reading(
                case=case,
                rotor_angle=float(angle),
                current_angle=lead,
                flux_density=field.flux_density,
                area=field.area,
                corners=field.corners,
            )
        )
    return tuple(found)


def grade_of(motor: Motor, problem: FieldProblem, temperature_C: float) -> Grade:
    """Return the law of every magnet; a weaker one keeps its coercivity, so its knee is lower."""
    magnet = motor.rotor.magnet
    strength = np.abs(problem.magnets.remanence) / magnet.remanence
    full = magnet.remanence_at(temperature_C)
    knee = magnet.knee_flux_density(temperature_C)
    remanence = full * strength
    return Grade(
        temperature_C=temperature_C,
        remanence=remanence,
        knee=None if knee is None else remanence - (full - knee),
    )


def _lowest(readings: Sequence[Reading], grade: Grade) -> FloatArray:
    """Return what 1 % of a magnet's area lies below, by reading and magnet, (r, s) T."""
    return np.array(
        [
            density_exceeded(one.flux_density.reshape(*grade.remanence.shape, -1),
                             one.area.ravel(), SHARE)
            for one in readings
        ]
    )  # fmt: skip


def margin_of_each(readings: Sequence[Reading], grade: Grade) -> FloatArray | None:
    """Return the smallest margin of each magnet, (s,) T; a place without magnet has its own knee.

    None where the coercivity is not known.
    """
    if grade.knee is None:
        return None
    return np.asarray(_lowest(readings, grade).min(axis=0) - grade.knee)


def worst(
    readings: Sequence[Reading], grade: Grade, *, among: Sequence[LoadCase]
) -> tuple[TemperatureMargin, Reading]:
    """Return the magnet whose opposing field is the largest, and the field it was found in.

    Parameters
    ----------
    readings, grade
    among : sequence of cases
        That are looked at; "no current" is always used for the margin without it.
    """
    lowest = _lowest(readings, grade)
    # μ₀ μ_rec H; a place without magnet cannot lose anything.
    opposing = np.where(grade.remanence > 0, lowest - grade.remanence, np.inf)
    looked_at = np.array([[one.case in among] for one in readings])
    # Equal magnets differ by rounding: the first of them is named.
    first = int(np.round(np.where(looked_at, opposing, np.inf), 6).argmin())
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
        current_angle=reading.current_angle,
        magnet=magnet + 1,
        flux_density=float(lowest[place, magnet]),
        knee=knee,
        area_below_knee=share,
        margin_without_current=without,
    )
    return found, reading


def worst_map(reading: Reading, grade: Grade) -> DemagnetisationMap:
    """Return a field of all magnets element by element, for drawing."""
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


def rotor_angles(model: MotorModel, number: int) -> FloatArray:
    """Return rotor angles over 60 electrical degrees, the first with the d axis on a phase, rad.

    There one phase carries the whole current and the field against the magnets peaks at its teeth;
    after 60° another phase does. A machine with a defect is looked at over 360°.
    """
    pole_pairs = model.phases.pole_pairs
    sixth = math.pi / 3 / pole_pairs
    span = sixth if model.is_as_designed else 6 * sixth
    return np.asarray(model.phases.d_axis % sixth + span * np.arange(number) / number)
