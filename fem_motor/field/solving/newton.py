"""Newton's method on the energy, warm-started along the rotor angles."""

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.errors import SolverError
from fem_motor.field.discretisation.saturation import SaturationState
from fem_motor.field.solving.problem import FieldProblem
from fem_motor.field.solving.solution import Fields, FieldSweep
from fem_motor.field.solving.system import CoupledSystem, SystemLoad
from fem_motor.progress import OnStep, ignore
from fem_motor.units import DEG

TOLERANCE = 1e-5
"""Residual over load at which to stop. Measured on two steel machines, in steps of a 16th of a
cogging period: the torque then errs by up to 4e-4 of its peak, by 2e-5 with 1e-6."""

MAXIMUM_STEPS = 60
FARTHEST = 2.0
"""Steps ahead beyond which an extrapolated field is a worse guess than the last one."""

CHORD = 0.7
"""The last tangent serves again as long as each step with it leaves no more of the residual than
that: a step costs a sixth of a factorisation. Measured on two steel machines: 0.3 takes a fifth
more time, 0.5 to 0.75 do not differ."""

LINE_SEARCH_STEPS = 12
SUFFICIENT_SLOPE = 0.9
"""A step is accepted when the slope of the energy along it has fallen to this fraction."""


def coupled_system(problem: FieldProblem) -> CoupledSystem:
    """Return the equations of `problem`, laid out once for all angles and currents."""
    if "newton" not in problem.prepared:
        problem.prepared["newton"] = CoupledSystem(problem)
    system: CoupledSystem = problem.prepared["newton"]
    return system


def solve_newton(
    problem: FieldProblem,
    *,
    angles: FloatArray,
    ampere_turns: FloatArray,
    tolerance: float = TOLERANCE,
    start: Fields | None = None,
    on_step: OnStep = ignore,
) -> FieldSweep:
    """Return the fields at `angles`, each started from an extrapolation of the two before.

    Parameters
    ----------
    problem : FieldProblem
    angles : (n,) rad
        In the order in which they are solved.
    ampere_turns : (n, slots, 2) A
        Along +z in the half slots.
    tolerance : float
        Residual over load.
    start : unknowns of stator and rotor, (size,) each, optional
        A field near that of the first angle; zero otherwise.
    on_step : callable

    Raises
    ------
    SolverError
        Where an angle does not converge.
    """
    system = coupled_system(problem)
    number = len(angles)
    values = np.empty((number, system.size))
    stator_values = np.empty((number, problem.stator.size))
    rotor_values = np.empty((number, problem.rotor.size))
    torque, energy, steps = np.empty(number), np.empty(number), np.empty(number)
    pull = np.empty((number, 2))
    load = system.load(ampere_turns[0])
    for k, angle in enumerate(angles):
        if k and not np.array_equal(ampere_turns[k], ampere_turns[k - 1]):
            load = system.load(ampere_turns[k])
        guess = system.joined(start) if k == 0 else _guess(angles, values, k)
        values[k], steps[k] = solve_angle(system, guess, float(angle), load, tolerance)
        traces = system.traces(values[k], float(angle))
        torque[k], pull[k] = problem.gap.torque(*traces), problem.gap.force(*traces)
        energy[k] = problem.sectors * system.energy(values[k], float(angle), load)
        stator_values[k], rotor_values[k] = system.fields(values[k], load)
        on_step(k + 1, number)
    return FieldSweep(
        problem=problem,
        angle=angles,
        torque=torque,
        pull=pull,
        half_slot_mean=np.array([problem.half_slot_means(row) for row in stator_values]),
        energy=energy,
        stator_values=stator_values,
        rotor_values=rotor_values,
        iterations=steps,
    )


def _guess(angles: FloatArray, values: FloatArray, k: int) -> FloatArray:
    """Return the first guess at angle `k` > 0: the last field, or linear extrapolation."""
    if k == 1 or angles[k - 1] == angles[k - 2]:
        return np.array(values[k - 1])
    ahead = (angles[k] - angles[k - 1]) / (angles[k - 1] - angles[k - 2])
    if abs(ahead) > FARTHEST:
        return np.array(values[k - 1])
    return np.asarray(values[k - 1] + ahead * (values[k - 1] - values[k - 2]))


def solve_angle(
    system: CoupledSystem,
    start: FloatArray,
    angle: float,
    load: SystemLoad,
    tolerance: float = TOLERANCE,
) -> tuple[FloatArray, int]:
    """Return the unknowns, (size,), at one angle and the Newton steps taken."""
    A_z = start
    residual, states = system.residual(A_z, angle, load.right)
    left, still_serves = float(np.linalg.norm(residual)), False
    passed: list[tuple[FloatArray, FloatArray]] = []
    for step in range(MAXIMUM_STEPS):
        if left <= tolerance * load.norm:
            return A_z, step
        if not still_serves:
            system.factorise(states, angle)
            passed = []
        direction = _newton_step(system, residual, passed)
        before, last, last_residual = left, A_z, residual
        A_z, residual, states = _advance(
            system, A_z, direction, residual, angle=angle, right=load.right
        )
        left = float(np.linalg.norm(residual))
        still_serves = left <= CHORD * before
        passed.append((A_z - last, residual - last_residual))
    raise SolverError(
        "did not converge.",
        why=f"{MAXIMUM_STEPS} Newton steps leave "
        f"{left / load.norm:.1e} of the load unbalanced; "
        f"{tolerance:.0e} is asked for.",
        do="look at the B-H curve of the core for a kink, or use another quality.",
        place=f"field at rotor angle {angle / DEG:g}°",
    )


def _newton_step(
    system: CoupledSystem, residual: FloatArray, passed: list[tuple[FloatArray, FloatArray]]
) -> FloatArray:
    """Return the step, (size,), with the last tangent, corrected by what was met since.

    Parameters
    ----------
    system : CoupledSystem
        Factorised.
    residual : (size,)
    passed : list of (step, change of the residual), (size,) each
        Since the factorisation; without any this is a step of Newton's.

    Source: J. Nocedal, Math. Comput. 35 (1980) 773: BFGS updates of the inverse in two loops, here
    of the factorised tangent; from memory. The energy is convex, so step·change is positive.
    """
    left = residual.copy()
    weights = []
    for step, change in reversed(passed):
        weight = float(step @ left) / float(step @ change)
        weights.append(weight)
        left -= weight * change
    found = system.solve(left)
    for (step, change), weight in zip(passed, reversed(weights), strict=True):
        found += (weight - float(change @ found) / float(step @ change)) * step
    return -found


def _advance(
    system: CoupledSystem,
    A_z: FloatArray,
    direction: FloatArray,
    residual: FloatArray,
    *,
    angle: float,
    right: FloatArray,
) -> tuple[FloatArray, FloatArray, list[SaturationState]]:
    """Return unknowns, residual and states after a full step, or a fitting part of it.

    The slope of the convex energy along the direction is residual·direction. A full step that
    has not brought it down overshoots; the zero of the slope is then found by secants.
    """
    slope_0 = float(residual @ direction)
    low, slope_low, length = 0.0, slope_0, 1.0
    trial = A_z + direction
    residual, states = system.residual(trial, angle, right)
    for _ in range(LINE_SEARCH_STEPS):
        slope = float(residual @ direction)
        if abs(slope) <= SUFFICIENT_SLOPE * abs(slope_0):
            return trial, residual, states
        if slope > 0:
            length = low + (length - low) * slope_low / (slope_low - slope)
        else:
            low, slope_low, length = length, slope, 2 * length
        trial = A_z + length * direction
        residual, states = system.residual(trial, angle, right)
    return trial, residual, states
