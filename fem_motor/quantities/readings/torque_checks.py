"""The torque computed in three different ways."""

from dataclasses import dataclass
from typing import Self

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.field import FieldProblem, solve, stress_torque

STEP = 2e-4
"""Half the step of the central difference over a cogging period, as a fraction of the period."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreeTorques:
    """Torque on the rotor at one angle, whole machine; N m per metre unless said otherwise.

    Attributes
    ----------
    harmonics : float
        From the harmonics in the gap.
    energy : float
        Derivative of the co-energy over the angle, from two more solutions.
    stress_stator, stress_rotor : float
        Stress in the meshed air layers on both sides of the gap.
    """

    harmonics: float
    energy: float
    stress_stator: float
    stress_rotor: float

    @property
    def spread(self) -> float:
        """Largest difference between any two."""
        values = (self.harmonics, self.energy, self.stress_stator, self.stress_rotor)
        return max(values) - min(values)

    def times(self, length: float) -> Self:
        """Return the torques of a stack of `length`, N m."""
        return type(self)(
            harmonics=self.harmonics * length,
            energy=self.energy * length,
            stress_stator=self.stress_stator * length,
            stress_rotor=self.stress_rotor * length,
        )


def three_torques(
    problem: FieldProblem,
    *,
    angle: float,
    ampere_turns: FloatArray,
    period: float,
    start: tuple[FloatArray, FloatArray] | None = None,
) -> ThreeTorques:
    """Return the torques at `angle`.

    Parameters
    ----------
    problem : FieldProblem
    angle : float
        rad.
    ampere_turns : (slots, 2) A
    period : float
        Shortest period of the torque over angle, rad, which sets the step of the derivative.
    start : unknowns of stator and rotor, optional
        Of a field near that angle.
    """
    step = STEP * period
    sweep = solve(
        problem,
        angles=np.array([angle - step, angle, angle + step]),
        ampere_turns=np.repeat(ampere_turns[None], 3, axis=0),
        tolerance=1e-9,
        start=start,
    )
    stator, rotor = sweep.kept_fields
    return ThreeTorques(
        harmonics=float(sweep.torque[1]),
        energy=float(-(sweep.energy[2] - sweep.energy[0]) / (2 * step)),
        # About the stator's axis; less the moment of the force at an offset axis.
        stress_stator=stress_torque(problem.stator, stator[1])
        - problem.gap.offset * float(sweep.pull[1, 1]),
        stress_rotor=stress_torque(problem.rotor, rotor[1]),
    )
