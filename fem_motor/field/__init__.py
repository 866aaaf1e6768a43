"""Fields: the vector potential of a section, its gap harmonics and its torque."""

from fem_motor.field.continuation import gap_potential
from fem_motor.field.integrals import field_work, stress_torque
from fem_motor.field.maps import field_map
from fem_motor.field.problem import FieldProblem, Magnets, field_problem
from fem_motor.field.records import FieldMap
from fem_motor.field.solution import FieldSweep
from fem_motor.field.solver import solve

__all__ = [
    "FieldMap",
    "FieldProblem",
    "FieldSweep",
    "Magnets",
    "field_map",
    "field_problem",
    "field_work",
    "gap_potential",
    "solve",
    "stress_torque",
]
