"""Linear cores: factorise stator and rotor once, then any angle and current by small matrices.

With the traces u (stator circle) and v (rotor circle, seen by the stator) as the only unknowns:

    u = u₀ + Z_s C v,     v = R(φ) [v₀ + Z_r R(−φ) (Cᵀ u − E v)]

Z = P K⁻¹ Pᵀ is what a body answers at its circle, C the coupling of the harmonics (diagonal
where the circles are concentric), R the rotation. u₀ comes from the currents, v₀ from the
magnets. E is what an offset changes in the rotor's self term; the stator's is in Z_s.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.linalg import lapack

from fem_motor.arrays import FloatArray
from fem_motor.field.elimination.condensation import BodyResponse
from fem_motor.field.gap.harmonics import Gap
from fem_motor.field.solving.problem import FieldProblem
from fem_motor.field.solving.solution import FieldSweep, Keep
from fem_motor.progress import OnStep, ignore


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LinearModel:
    """All that angles and currents of a linear machine need.

    Attributes
    ----------
    problem : FieldProblem
    stator, rotor : BodyResponse
    coil_values : (stator.size, c)
        Unknowns per ampere in each half slot of the sector (copy by copy).
    coil_trace : (2 h, c)
        Stator trace per ampere; transposed, what a trace gives to the half slots' means.
    coil_mean : (c, c)
        Mean of A in each half slot per ampere in each, the rotor's answer apart.
    magnet_values : (rotor.size,)
    magnet_trace : (2 h,)
        In the rotor's frame.
    """

    problem: FieldProblem
    stator: BodyResponse
    rotor: BodyResponse
    coil_values: FloatArray
    coil_trace: FloatArray
    coil_mean: FloatArray
    magnet_values: FloatArray
    magnet_trace: FloatArray


def linear_model(problem: FieldProblem) -> LinearModel:
    """Factorise both bodies of a linear problem."""
    gap = problem.gap
    stator = BodyResponse(problem.stator, gap.stator, problem.stator_gap_stiffness, gap.harmonics)
    rotor: BodyResponse = problem.prepared.get("rotor") or BodyResponse(
        problem.rotor, gap.rotor, problem.rotor_gap_stiffness, gap.harmonics
    )
    body = problem.stator
    coils = np.array(
        [body.gather(one[:, None] * body.matrices.coil_mean) for one in np.eye(body.copies)]
    )
    coil_values = stator.solve(coils.T)
    magnet_values = rotor.solve(problem.magnet_load[:, None])[:, 0]
    return LinearModel(
        problem=problem,
        stator=stator,
        rotor=rotor,
        coil_values=coil_values,
        coil_trace=stator.trace @ coil_values[body.gap],
        coil_mean=coils @ coil_values,
        magnet_values=magnet_values,
        magnet_trace=rotor.trace @ magnet_values[problem.rotor.gap],
    )


def solve_linear(
    model: LinearModel,
    *,
    angles: FloatArray,
    ampere_turns: FloatArray,
    keep: Keep = "fields",
    on_step: OnStep = ignore,
) -> FieldSweep:
    """Return the fields at `angles` by superposition.

    Parameters
    ----------
    model : LinearModel
    angles : (n,) rad
    ampere_turns : (n, slots, 2) A
        Along +z in the half slots.
    keep : "fields" or "readings"
        Whether the unknowns inside the bodies are worked out too.
    on_step : callable
    """
    problem, gap = model.problem, model.problem.gap
    by_copy = np.array([problem.by_copy(row) for row in ampere_turns])  # (n, c)
    stator = np.empty((len(angles), 2 * len(gap.harmonics)))
    rotor = np.empty_like(stator)
    traces = _centred_traces(model) if _is_regular(gap) else _general_traces(model)
    for k, angle in enumerate(angles):
        stator[k], rotor[k] = traces(float(angle), by_copy[k])
        if k % 16 == 0:
            on_step(k + 1, len(angles))
    on_step(len(angles), len(angles))
    on_stator = gap.to_stator(rotor.T).T
    means = by_copy @ model.coil_mean + on_stator @ model.coil_trace
    on_rotor = gap.pull_on_rotor(stator.T, rotor.T).T
    back = np.array(
        [gap.rotate(load, -float(angle)) for load, angle in zip(on_rotor, angles, strict=True)]
    )
    # At the minimum of a quadratic functional its value is minus half the work of the loads.
    magnet_work = problem.magnet_load @ model.magnet_values + back @ model.magnet_trace
    energy = -(np.sum(by_copy * means, axis=1) + magnet_work) / 2
    fields = keep == "fields"
    return FieldSweep(
        problem=problem,
        angle=angles,
        torque=gap.torque(stator.T, rotor.T),
        pull=gap.force(stator.T, rotor.T).T,
        half_slot_mean=np.array([problem.half_slots(row) for row in means]),
        energy=problem.sectors * energy,
        stator_values=_stator_values(model, by_copy, on_stator) if fields else None,
        rotor_values=_rotor_values(model, back) if fields else None,
        iterations=np.zeros(len(angles)),
    )


Traces = Callable[[float, FloatArray], tuple[FloatArray, FloatArray]]
"""From rotor angle and ampere-turns, (c,), to the traces u, v in the stator's frame."""


def _is_regular(gap: Gap) -> bool:
    """Return whether the circles have one axis and enough nodes to tell all harmonics apart."""
    nodes = min(gap.stator.nodes, gap.rotor.nodes)
    return gap.terms is None and 2 * len(gap.harmonics) < nodes


def _centred_traces(model: LinearModel) -> Traces:
    """Return the solver for concentric circles, where C and R commute.

    (Z_s⁻¹ − R (C Z_r C) Rᵀ) u = Z_s⁻¹ u₀ + C R v₀ is symmetric and positive definite. In the
    middle a rotation multiplies sums and differences of the four blocks by one wave each.
    """
    gap = model.problem.gap
    coupling = np.tile(gap.coupling, 2)
    impedance = model.stator.impedance.copy()
    nothing = np.flatnonzero(~impedance.any(axis=1))  # the sine of order 0
    impedance[nothing, nothing] = 1.0
    stator = np.linalg.inv(impedance)
    source = stator @ model.coil_trace
    rotor = coupling[:, None] * model.rotor.impedance * coupling
    half = len(gap.harmonics)
    (cc, cs), (sc, ss) = (np.split(rows, 2, axis=1) for rows in np.split(rotor, 2))
    even = (cc + ss) / 2 + 1j * (sc - cs) / 2
    odd = (cc - ss) / 2 + 1j * (sc + cs) / 2

    def traces(angle: float, current: FloatArray) -> tuple[FloatArray, FloatArray]:
        wave = np.exp(1j * gap.harmonics * angle)
        same, other = even * np.outer(wave, wave.conj()), odd * np.outer(wave, wave)
        matrix = stator.copy()
        matrix[:half, :half] -= same.real + other.real
        matrix[half:, half:] -= same.real - other.real
        matrix[half:, :half] -= same.imag + other.imag
        magnets = gap.rotate(model.magnet_trace, angle)
        _, u, failed = lapack.dposv(matrix, source @ current + coupling * magnets, lower=1)
        if failed:  # pragma: no cover  (energy is positive)
            raise np.linalg.LinAlgError
        back = gap.rotate(coupling * u, -angle)
        return u, magnets + gap.rotate(model.rotor.impedance @ back, angle)

    return traces


def _general_traces(model: LinearModel) -> Traces:
    """Return the solver for a rotor off the stator's axis, or circles of few nodes."""
    gap = model.problem.gap
    pulled = gap.to_rotor(model.stator.impedance).T  # Z_s C

    def traces(angle: float, current: FloatArray) -> tuple[FloatArray, FloatArray]:
        turned = gap.rotate(gap.rotate(model.rotor.impedance, angle).T, angle).T
        magnets = gap.rotate(model.magnet_trace, angle)
        returned = gap.to_stator(turned).T  # R Z_r Rᵀ Cᵀ
        if gap.terms is not None:
            held = np.eye(len(magnets)) + turned @ gap.terms.rotor
            both = np.linalg.solve(held, np.column_stack([returned, magnets]))
            returned, magnets = both[:, :-1], both[:, -1]
        loop = -(pulled @ returned)
        loop[np.diag_indices_from(loop)] += 1
        u = np.linalg.solve(loop, model.coil_trace @ current + pulled @ magnets)
        return u, magnets + returned @ u

    return traces


def _stator_values(model: LinearModel, by_copy: FloatArray, pull: FloatArray) -> FloatArray:
    load = model.stator.pull(pull.T)
    return np.asarray((model.coil_values @ by_copy.T + model.stator.solve(load)).T)


def _rotor_values(model: LinearModel, pull: FloatArray) -> FloatArray:
    load = model.rotor.pull(pull.T)
    return np.asarray((model.magnet_values[:, None] + model.rotor.solve(load)).T)
