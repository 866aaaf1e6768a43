"""The inductances of the sheet, from the model and the dq map."""

import numpy as np

from fem_motor.design import Motor
from fem_motor.findings import Finding
from fem_motor.loading import DqMap
from fem_motor.performance.answers.current_records import Inductances
from fem_motor.quantities import MotorModel
from fem_motor.units import DEG

NEARLY_IRON = 100.0
"""Relative permeability from which the drive that the core takes is small beside the slot's."""

STEP = 0.05
"""Of the rated current, for the slope of the map, which is a polynomial of second degree."""


def fill_inductances(
    motor: Motor, model: MotorModel, found: DqMap, *, rated_peak: float
) -> Inductances:
    """Return the inductances without current, and at a rated branch current, A peak."""
    end = model.inductance_end
    phases, matrix = model.inductances, model.inductances.matrix
    following = np.roll(np.arange(3), -1)
    apparent = _apparent(found, rated_peak)
    incremental = _incremental(found, rated_peak)
    return Inductances(
        angle_deg=phases.angle / DEG,
        self_H=np.einsum("aan->an", matrix) + end,
        mutual_H=np.array([matrix[k, following[k]] for k in range(3)]),
        line_line_H=phases.line_line(motor.winding.connection, end_turns=end),
        incremental_d_H=phases.d + end,
        incremental_q_H=phases.q + end,
        apparent_d_H=apparent[0] + end,
        apparent_q_H=apparent[1] + end,
        rated_incremental_d_H=incremental[0] + end,
        rated_incremental_q_H=incremental[1] + end,
        slot_leakage_H=model.inductance_slot if crosses_straight(motor) else None,
        end_turns_H=end,
    )


def crosses_straight(motor: Motor) -> bool:
    """Return whether the core takes so little drive that flux crosses a slot straight."""
    return motor.stator.core.curve.initial_permeability >= NEARLY_IRON


def leakage_finding(motor: Motor) -> tuple[Finding, ...]:
    """Return why the textbook's slot leakage is not told, where it is not."""
    if crosses_straight(motor):
        return ()
    return (
        Finding(
            name="core permeability, for the textbook's slot leakage",
            status="ok",
            value=motor.stator.core.curve.initial_permeability,
            why=f"the estimate holds for iron around the slot, from {NEARLY_IRON:g} on, and is "
            "left out here; the inductance from the field has all leakage in it.",
        ),
    )


def _apparent(found: DqMap, current: float) -> tuple[float, float]:
    """Return (ψ_d(−I, 0) − ψ_d(0, 0))/(−I) and (ψ_q(0, I) − ψ_q(0, 0))/I.

    Odd magnets leave some ψ_q without current at the map's two angles, which is none of the
    inductance.
    """
    d, q = np.array([-current, 0.0, 0.0]), np.array([0.0, 0.0, current])
    linkage_d, linkage_q = found.linkages(d, q)
    apart = linkage_d[1] - linkage_d[0], linkage_q[2] - linkage_q[1]
    return float(apart[0] / current), float(apart[1] / current)


def _incremental(found: DqMap, current: float) -> tuple[float, float]:
    """Return ∂ψ_d/∂i_d and ∂ψ_q/∂i_q at i_d = 0, i_q = I, by three points from the map's edge."""
    step = STEP * current
    back = step * np.arange(3)
    along_d, _ = found.linkages(-back, np.full(3, current))
    _, along_q = found.linkages(np.zeros(3), current - back)
    weights = np.array([3, -4, 1]) / (2 * step)
    return float(weights @ along_d), float(weights @ along_q)
