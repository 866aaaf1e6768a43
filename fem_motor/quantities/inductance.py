"""Inductances of a branch at the rotor angle 0, by small currents on top of the magnets."""

import math

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor
from fem_motor.field import FieldProblem, solve
from fem_motor.quantities.linkage import (
    ampere_turns,
    d_axis_angle,
    flux_linkage,
    half_slot_turns,
    to_dq,
    turning_currents,
)
from fem_motor.units import MU_0
from fem_motor.winding import Winding

END_TURN_FACTOR = 0.3
"""Inductance of an end turn over μ₀ N² times its length: 0.2 to 0.4; common practice, no source."""


def dq_inductances(
    problem: FieldProblem,
    motor: Motor,
    winding: Winding,
    *,
    current: float,
    start: tuple[FloatArray, FloatArray] | None = None,
) -> tuple[float, float]:
    """Return the incremental d and q inductance of a branch, H, in the plane, no end turns.

    Parameters
    ----------
    problem : FieldProblem
        With the symmetry of the winding.
    motor, winding
    current : float
        Amplitude of the trial currents, A; small against the rated one.
    start : unknowns of stator and rotor, optional
        Of a field with the rotor near 0.
    """
    turns = half_slot_turns(winding)
    pole_pairs = motor.rotor.pole_pairs
    d_axis = d_axis_angle(turns, pole_pairs)
    angles = np.zeros(1)
    along = [
        turning_currents(
            angles, peak=current, current_angle=angle, d_axis=d_axis, pole_pairs=pole_pairs
        )
        for angle in (-math.pi / 2, 0.0)  # i_d = I; i_q = I
    ]
    currents = np.concatenate([np.zeros((3, 1)), *along], axis=1)
    solved = solve(
        problem,
        angles=np.zeros(3),
        ampere_turns=ampere_turns(turns, currents),
        keep="readings",
        tolerance=1e-8,
        start=start,
    )
    linkage = flux_linkage(turns, solved.half_slot_mean, motor.stack_length)
    d, q = to_dq(linkage, np.full(3, -pole_pairs * d_axis))
    return float((d[1] - d[0]) / current), float((q[2] - q[0]) / current)


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
