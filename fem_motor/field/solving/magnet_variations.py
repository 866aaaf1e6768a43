"""What every single magnet does to torque, pull and flux in a linear machine without currents.

The field is a sum over magnets, each times its own strength; moving a magnet along the rotor's
circumference turns its part of the field, to first order by the angle (its permeability, hardly
more than that of air, is left where it was). Torque and pull are
quadratic in the field, so a small symmetric matrix per rotor angle says them for any set of
strengths and positions.
"""

from dataclasses import replace

import numpy as np

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.field.records import MagnetVariations
from fem_motor.field.solving.problem import FieldProblem, magnet_load
from fem_motor.field.solving.superposition import LinearModel, linear_model


def magnet_variations(problem: FieldProblem, angles: FloatArray) -> MagnetVariations:
    """Return what strengths and positions of single magnets do.

    Parameters
    ----------
    problem : FieldProblem
        Linear, the whole circle.
    angles : (n,) rad

    Raises
    ------
    ValueError
        Where the problem saturates, is a sector or has an offset rotor.
    """
    if not problem.is_linear or problem.sectors != 1 or problem.gap.offset:
        msg = "single magnets need a linear, centred problem of the whole circle"
        raise ValueError(msg)
    if "linear" not in problem.prepared:
        problem.prepared["linear"] = linear_model(problem)
    model: LinearModel = problem.prepared["linear"]
    basis = _magnet_traces(problem, model)
    size = basis.shape[1]
    left, right = np.triu_indices(size)
    torque = np.empty((len(angles), size, size))
    pull = np.empty((len(angles), 2, size, size))
    means = np.empty((len(angles), problem.slots, 2, size))
    for k, angle in enumerate(angles):
        stator, rotor = _traces(model, basis, float(angle))
        on_stator = problem.gap.to_stator(rotor)
        for j, column in enumerate((model.coil_trace.T @ on_stator).T):
            means[k, :, :, j] = problem.half_slots(column)
        u, v = stator[:, left] + stator[:, right], rotor[:, left] + rotor[:, right]
        torque[k] = _form(problem.gap.torque(stator, rotor), problem.gap.torque(u, v), left, right)
        own, both = problem.gap.force(stator, rotor), problem.gap.force(u, v)
        for axis in (0, 1):
            pull[k, axis] = _form(own[axis], both[axis], left, right)
    return MagnetVariations(angle=angles, torque=torque, pull=pull, half_slot_mean=means)


def _form(own: FloatArray, both: FloatArray, left: IntArray, right: IntArray) -> FloatArray:
    """Return the symmetric matrix of a form from its values for each member and each pair."""
    form = np.empty((len(own), len(own)))
    form[left, right] = form[right, left] = (both - own[left] - own[right]) / 2
    return form


def _magnet_traces(problem: FieldProblem, model: LinearModel) -> FloatArray:
    """Return the rotor traces of each magnet alone, and of shifting it, (2 h, 2 m)."""
    magnets, gap = problem.magnets, problem.gap
    number = len(magnets.remanence)
    loads = [
        magnet_load(problem.rotor, replace(magnets, remanence=one * magnets.remanence))
        for one in np.eye(number)
    ]
    values = model.rotor.solve(np.array(loads).T)
    alone = model.rotor.trace @ values[problem.rotor.gap]
    cosine, sine = np.split(alone, 2)
    order = gap.harmonics[:, None]
    return np.concatenate([alone, np.concatenate([-order * sine, order * cosine])], axis=1)


def _traces(model: LinearModel, basis: FloatArray, angle: float) -> tuple[FloatArray, FloatArray]:
    """Return the traces u, v in the stator's frame, (2 h, b) each, of the basis."""
    gap = model.problem.gap
    turned = gap.rotate(gap.rotate(model.rotor.impedance, angle).T, angle).T
    source = gap.rotate(basis, angle)
    returned = gap.to_stator(turned).T
    pulled = gap.to_rotor(model.stator.impedance).T
    loop = np.eye(len(turned)) - pulled @ returned
    stator = np.linalg.solve(loop, pulled @ source)
    return stator, source + returned @ stator
