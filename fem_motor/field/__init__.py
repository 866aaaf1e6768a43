"""Fields: the vector potential of a section, its gap harmonics and its torque."""

from fem_motor.field.reading.integrals import field_work, stress_torque
from fem_motor.field.reading.maps import field_map
from fem_motor.field.records import FieldMap
from fem_motor.field.solving.continuation import gap_potential
from fem_motor.field.solving.problem import FieldProblem, Magnets, field_problem
from fem_motor.field.solving.solution import FieldSweep
from fem_motor.field.solving.solver import solve

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
