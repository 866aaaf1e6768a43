"""From a motor and its mesh to the problem that the field room solves."""

import math
from typing import Literal

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor
from fem_motor.field import FieldProblem, Magnets, field_problem, field_work, solve
from fem_motor.materials import BHCurve, Core
from fem_motor.mesh import MotorMesh
from fem_motor.units import ROOM_C

Extent = Literal["sector", "whole"]
Saturation = Literal["as given", "ignored"]

SMALL_ENERGY = 5e-4
"""Part of the magnets' energy that a linear law may miss; coil flux then errs by as little, much
less than what is known of the permeability of any filament."""


def magnets_of(motor: Motor, *, temperature_C: float = ROOM_C) -> Magnets:
    """Return all magnets of the rotor, as they were really built."""
    rotor = motor.rotor
    segment = np.arange(rotor.segments)
    strength = np.full(rotor.segments, rotor.magnet.remanence_at(temperature_C))
    direction = rotor.magnet_directions
    is_radial = rotor.magnetisation == "radial"
    if is_radial:
        strength = -strength * np.where(segment % 2 == 0, 1.0, -1.0)
    for built in motor.as_built.magnets:
        strength[built.index - 1] *= built.remanence_factor
        direction[built.index - 1] += built.tilt
    return Magnets(
        remanence=strength,
        direction=direction,
        recoil_permeability=rotor.magnet.recoil_permeability,
        is_radial=is_radial,
    )


def is_as_designed(motor: Motor) -> bool:
    """Return whether magnets and rotor keep the symmetry that they were designed with."""
    return not motor.as_built.magnets and motor.as_built.rotor_offset == 0


def symmetry(motor: Motor, turns: FloatArray | None = None) -> int:
    """Return into how many equal sectors, up to a sign, the machine can be cut.

    Parameters
    ----------
    motor : Motor
    turns : (3, slots, 2) or None
        Of the half slots, where currents flow; None without current.
    """
    if not is_as_designed(motor):
        return 1
    slots, poles = motor.stator.slots, motor.rotor.poles
    most = math.gcd(slots, poles)
    for sectors in range(most, 1, -1):
        if most % sectors:
            continue
        if turns is None:
            return sectors
        sign = 1 if poles // sectors % 2 == 0 else -1
        if np.array_equal(np.roll(turns, slots // sectors, axis=1), sign * turns):
            return sectors
    return 1


def motor_problem(
    motor: Motor,
    mesh: MotorMesh,
    *,
    sectors: int,
    saturation: Saturation = "as given",
    temperature_C: float = ROOM_C,
) -> FieldProblem:
    """Return the field problem of `sectors` equal parts of `motor`.

    Parameters
    ----------
    motor : Motor
    mesh : MotorMesh
    sectors : int
        See `symmetry`.
    saturation : "as given" or "ignored"
        Ignored: every core keeps its permeability at zero field.
    temperature_C : float
        Of the magnets.
    """
    ring = motor.rotor.ring
    return field_problem(
        mesh,
        stator_curves={"core": _curve(motor.stator.core, motor.stator.core_fraction, saturation)},
        rotor_curves={} if ring is None else {"ring": _curve(ring, 1.0, saturation)},
        magnets=magnets_of(motor, temperature_C=temperature_C),
        slots=motor.stator.slots,
        poles=motor.rotor.poles,
        sectors=sectors,
        offset=motor.as_built.rotor_offset,
    )


def choose_problem(motor: Motor, mesh: MotorMesh, *, sectors: int) -> FieldProblem:
    """Return the problem to solve: linear where saturation changes nothing that matters.

    A filled plastic saturates in principle; at the fields of a motor it stays on its straight
    part. The linear field at rotor angle 0 is put into the true law: to first order the energy
    differs by what the law differs by, and with it the flux.
    """
    problem = motor_problem(motor, mesh, sectors=sectors)
    if problem.is_linear or not _may_be_linear(motor):
        return problem
    linear = motor_problem(motor, mesh, sectors=sectors, saturation="ignored")
    no_current = np.zeros((1, motor.stator.slots, 2))
    field = solve(linear, angles=np.zeros(1), ampere_turns=no_current)
    stator, rotor = field.kept_fields
    values = stator[0], rotor[0]
    work = field_work(linear, *values)
    missed = problem.saturable_energy(*values) - linear_energy(problem, work.stator, work.rotor)
    return linear if abs(missed) < SMALL_ENERGY * work.magnets / 2 else problem


def linear_energy(problem: FieldProblem, stator: FloatArray, rotor: FloatArray) -> float:
    """Return half the work in those elements that saturate in `problem`, J/m, whole machine."""
    return sum(
        float(work[part.elements].sum()) / 2
        for body, work in ((problem.stator, stator), (problem.rotor, rotor))
        for part in body.matrices.saturable
    )


def _may_be_linear(motor: Motor) -> bool:
    ring = motor.rotor.ring
    parts = [motor.stator.core] if ring is None else [motor.stator.core, ring]
    return all(part.curve.is_nearly_air for part in parts)


def _curve(core: Core, fraction: float, saturation: Saturation) -> BHCurve:
    curve = core.curve.stacked(fraction)
    if saturation == "ignored" and not curve.is_linear:
        return BHCurve.linear(curve.initial_permeability)
    return curve
