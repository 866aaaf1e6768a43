"""Solved fields over a list of rotor angles."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from fem_motor.arrays import FloatArray, frozen
from fem_motor.field.discretisation.waveforms import ElementFields, element_fields
from fem_motor.field.solving.problem import FieldProblem
from fem_motor.mesh import Region

Fields = tuple[FloatArray, FloatArray]
"""Unknowns of stator and rotor, (size,) each."""
Keep = Literal["fields", "readings"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldSweep:
    """Fields per metre of length at n rotor angles.

    Attributes
    ----------
    problem : FieldProblem
    angle : (n,) rad
    torque : (n,) N
        N m per metre, on the rotor, about its own axis, whole machine.
    pull : (n, 2) N/m
        Force on the rotor along x and y, whole machine.
    half_slot_mean : (n, slots, 2) Wb/m
        Mean of A over the half slots beside each tooth, clockwise and counter-clockwise side.
    energy : (n,) J/m
        The minimised functional of the whole machine, −co-energy: its derivative over the angle
        at fixed currents is minus the torque.
    stator_values, rotor_values : (n, size) or None
        Unknowns of the two bodies, for fields inside them; None where they were not kept.
    iterations : (n,)
        Newton steps; 0 where the problem is linear.
    """

    problem: FieldProblem
    angle: FloatArray
    torque: FloatArray
    pull: FloatArray
    half_slot_mean: FloatArray
    energy: FloatArray
    stator_values: FloatArray | None
    rotor_values: FloatArray | None
    iterations: FloatArray

    def __post_init__(self) -> None:
        for name in ("angle", "torque", "pull", "half_slot_mean", "energy", "iterations"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    @property
    def kept_fields(self) -> Fields:
        """Unknowns of stator and rotor, (n, size) each.

        Raises
        ------
        ValueError
            Where only the readings were kept.
        """
        if self.stator_values is None or self.rotor_values is None:
            msg = 'the sweep was solved with keep="readings"'
            raise ValueError(msg)
        return self.stator_values, self.rotor_values

    def element_fields(
        self, part: Literal["stator", "rotor"], regions: Sequence[Region]
    ) -> ElementFields:
        """Return the means of A and B over the elements of `regions` in a body, angle by angle.

        Raises
        ------
        ValueError
            Where only the readings were kept.
        """
        stator, rotor = self.kept_fields
        if part == "stator":
            return element_fields(self.problem.stator, stator, regions)
        return element_fields(self.problem.rotor, rotor, regions)
