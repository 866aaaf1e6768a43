"""The field problem that currents are put into, and its own torque without them."""

from dataclasses import dataclass

from fem_motor.arrays import FloatArray, frozen, resampled
from fem_motor.design import Motor
from fem_motor.errors import MeshError
from fem_motor.field import FieldProblem
from fem_motor.mesh import MotorMesh, mesh_motor
from fem_motor.mesh import Quality as MeshQuality
from fem_motor.quantities.fields.linkage import Phases
from fem_motor.quantities.fields.machine import (
    choose_problem,
    is_as_designed,
    motor_problem,
    symmetry,
)
from fem_motor.quantities.fields.no_load import (
    NoLoadFields,
    direct_no_load_fields,
    folded_no_load_fields,
)

IDLE_TOLERANCE = 1e-5
"""Residual over load: the torque without current that is taken off a loaded one, which itself is
solved to 1e-4 of its load."""

UNEVEN_STRIDE = 3
"""Of the 48 angles of a machine with a defect, those at which its loaded torque is solved."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReadyForCurrents:
    """A problem with the symmetry of the winding.

    Attributes
    ----------
    problem : FieldProblem
    field_at_zero : unknowns of stator and rotor, or None
        Without current, rotor at 0; None where a smaller part was solved.
    idle_torque : (n,) N
        Without current, at the angles of the no-load fields, on the mesh of `problem`.
    """

    problem: FieldProblem
    field_at_zero: tuple[FloatArray, FloatArray] | None
    idle_torque: FloatArray

    def __post_init__(self) -> None:
        object.__setattr__(self, "idle_torque", frozen(self.idle_torque))


def ready_for_currents(
    fields: NoLoadFields,
    motor: Motor,
    mesh: MotorMesh,
    phases: Phases,
    *,
    quality: MeshQuality | None,
) -> ReadyForCurrents:
    """Return the problem of as large a part as the winding's symmetry needs.

    A saturating one is solved anew at every current, on a mesh that need not show the cogging:
    the torque without current on that same mesh is what a loaded one is held against.

    Parameters
    ----------
    fields : NoLoadFields
    motor, mesh, phases
    quality : "flux", "draft", "standard", "fine" or None
        Of the mesh of saturating machines; None: where that is possible the fields without currents
        and their mesh serve.
    """
    problem = fields.solved.problem
    # Odd coils are asked for their mutual inductances one by one.
    sectors = 1 if motor.as_built.coils else symmetry(motor, phases.turns)
    at_zero = fields.at_first
    same = sectors == problem.sectors
    if problem.is_linear:
        return ReadyForCurrents(
            problem=problem if same else choose_problem(motor, mesh, sectors=sectors),
            field_at_zero=at_zero if same else None,
            idle_torque=fields.torque,
        )
    serves = quality is None and same and is_as_designed(motor)
    other = None if serves else _mesh_of(motor, quality or "flux")
    if other is None and same:
        return ReadyForCurrents(problem=problem, field_at_zero=at_zero, idle_torque=fields.torque)
    mesh = other or mesh
    loaded = motor_problem(motor, mesh, sectors=sectors)
    idle = _idle(loaded, motor, fields.angle)
    # With a defect only every third angle is solved; loaded torques are taken there.
    torque = resampled(idle.torque, len(fields.angle))
    return ReadyForCurrents(problem=loaded, field_at_zero=idle.at_first, idle_torque=torque)


def _mesh_of(motor: Motor, quality: MeshQuality) -> MotorMesh | None:
    """Return another mesh; None where a part is too thin for it, and that of the fields serves."""
    try:
        return mesh_motor(motor, quality=quality)
    except MeshError:
        return None


def _idle(problem: FieldProblem, motor: Motor, angles: FloatArray) -> NoLoadFields:
    poles = motor.rotor.poles
    if is_as_designed(motor):
        return folded_no_load_fields(problem, poles=poles, angles=angles, tolerance=IDLE_TOLERANCE)
    number = len(angles) // UNEVEN_STRIDE if len(angles) % UNEVEN_STRIDE == 0 else len(angles)
    return direct_no_load_fields(problem, poles=poles, angles=number, tolerance=IDLE_TOLERANCE)
