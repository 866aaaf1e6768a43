"""A saturating ring around a current: H = I/(2πr) whatever the steel, so everything is exact.

Current between 2 and 5 mm, air, steel from 10 to 20 mm, all round. The current is not returned
in the plane; the constant of A, fixed by the mean on the rotor's gap circle, takes it back there,
outside of all that is looked at.
"""

import math
from itertools import pairwise

import numpy as np
import pytest
from exact import nonlinear_ring
from field.annuli import ring_cell
from numpy.typing import NDArray

from fem_motor.field import FieldProblem, FieldSweep, Magnets, field_problem, solve
from fem_motor.field.solving.newton import solve_angle
from fem_motor.field.solving.system import CoupledSystem
from fem_motor.materials import BHCurve
from fem_motor.mesh import HalfCell, MotorMesh
from fem_motor.units import MU_0

Floats = NDArray[np.float64]

SLOTS = 6
HALF_SLOTS = 2 * SLOTS
NO_MAGNETS = Magnets(
    remanence=np.zeros(2 * SLOTS),
    direction=np.zeros(2 * SLOTS),
    recoil_permeability=1.0,
    is_radial=False,
)


def ring_problem(curve: BHCurve, *, level: int) -> FieldProblem:
    """Return the ring on a grid whose edges are halved `level` times; they are nested."""
    fine = 2**level
    stator = ring_cell(
        inner_radius=0.002,
        rings=[
            (0.005, "coil", 2 * fine),
            (0.010, "air", 2 * fine),
            (0.020, "core", 4 * fine),
            (0.0203, "gap", fine),
        ],
        steps=2 * fine,
        half_pitch=math.pi / SLOTS,
        gap_outside=True,
    )
    rotor = ring_cell(
        inner_radius=0.0207,
        rings=[(0.021, "gap", fine), (0.022, "air", fine)],
        steps=fine,
        half_pitch=math.pi / (2 * SLOTS),
        gap_outside=False,
    )
    return field_problem(
        MotorMesh(stator=stator, rotor=rotor, cut=8 * SLOTS),
        stator_curves={"core": curve},
        rotor_curves={},
        magnets=NO_MAGNETS,
        slots=SLOTS,
        poles=2 * SLOTS,
        sectors=SLOTS,
    )


def with_current(problem: FieldProblem, current: float) -> FieldSweep:
    # Rounding of ν₀A, in the air beside all the flux of the steel, leaves 5e-10 of the load.
    ampere_turns = np.full((1, SLOTS, 2), current / HALF_SLOTS)
    return solve(problem, angles=np.zeros(1), ampere_turns=ampere_turns, tolerance=1e-8)


def potential(solved: FieldSweep) -> tuple[HalfCell, Floats]:
    """Return the first half cell and A at its nodes."""
    body = solved.problem.stator
    return body.matrices.cell, body.nodal(solved.kept_fields[0][0])[0]


def ring_flux(solved: FieldSweep) -> float:
    """Return A(10 mm) − A(20 mm), Wb/m."""
    cell, A = potential(solved)
    radius = np.hypot(*cell.points)
    inner, outer = (A[np.abs(radius - r) < 1e-9].mean() for r in (0.010, 0.020))
    return float(inner - outer)


def brauer_law() -> tuple[BHCurve, nonlinear_ring.Curve]:
    """Return Brauer's steel as a table of 400 points, and exactly."""
    exact = nonlinear_ring.brauer()
    B = np.linspace(0, exact.knots[-1], 400)
    return BHCurve.from_table(np.array([exact.H(one) for one in B]), B), exact


WHERE = {"inner_radius": 0.010, "outer_radius": 0.020}


@pytest.mark.parametrize("current", [20, 100, 300, 1000, 5000])
def test_ring_of_brauer_steel_has_the_exact_flux_within_0_01_percent(current: float) -> None:
    # Brauer, IEEE Trans. Magn. 11 (1975) 81 (from memory); the exact integral of exact/.
    curve, exact = brauer_law()
    found = ring_flux(with_current(ring_problem(curve, level=2), current))
    expected = nonlinear_ring.flux(exact, current=current, **WHERE)
    assert found == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("current", [5, 20, 50, 100, 300, 1000])
def test_ring_of_tabulated_steel_has_the_exact_flux_within_0_01_percent(current: float) -> None:
    # Steel of TEAM problem 13, monotone cubic between the points; the exact integral of exact/.
    H, B = np.array(nonlinear_ring.TEAM_13_H), np.array(nonlinear_ring.TEAM_13_B)
    curve = BHCurve.from_table(H, B)
    found = ring_flux(with_current(ring_problem(curve, level=3), current))
    exact = nonlinear_ring.pchip_table(nonlinear_ring.TEAM_13_H, nonlinear_ring.TEAM_13_B)
    expected = nonlinear_ring.flux(exact, current=current, **WHERE)
    assert found == pytest.approx(expected, rel=1e-4)


# -- orders of convergence -------------------------------------------------------------------


def test_energy_and_flux_converge_with_order_4() -> None:
    # Second-order elements: the energy errs by h⁴, and so does the flux, by duality (Ciarlet, The
    # Finite Element Method for Elliptic Problems, 1978, from memory). Nested grids; smooth steel.
    curve, exact = brauer_law()
    solved = [with_current(ring_problem(curve, level=level), 300.0) for level in (1, 2, 3)]
    coarse, middle, fine = (float(one.energy[0]) for one in solved)
    assert math.log2((coarse - middle) / (middle - fine)) == pytest.approx(4, abs=0.15)
    expected = nonlinear_ring.flux(exact, current=300.0, **WHERE)
    errors = [abs(ring_flux(one) - expected) for one in solved[:2]]
    assert math.log2(errors[0] / errors[1]) == pytest.approx(4, abs=0.3)


def test_potential_converges_with_order_3_and_flux_density_with_order_2() -> None:
    # Constant permeability, where A = −μ I/(2π) ln r + constant is known at every point.
    permeability, current = 50.0, 100.0
    errors = []
    for level in (1, 2, 3):
        problem = ring_problem(BHCurve.linear(permeability), level=level)
        cell, A = potential(with_current(problem, current))
        errors.append(_ring_errors(cell, A, permeability * MU_0 * current / (2 * math.pi)))
    orders = np.log2(np.array(errors)[:-1] / np.array(errors)[1:])
    assert orders[:, 0] == pytest.approx(3, abs=0.15)
    assert orders[:, 1] == pytest.approx(2, abs=0.15)


def _ring_errors(cell: HalfCell, A: Floats, strength: float) -> tuple[float, float]:
    """Return the errors of A and ∇A over the steel, L² norms, against −strength ln r + constant.

    Elements and quadrature are written out here: shape functions of the second order, six points.
    """
    radius = np.hypot(*cell.points[:, cell.triangles[:3]].mean(axis=1))
    triangles = cell.triangles[:, (radius > 0.010) & (radius < 0.020)]
    on_edge = np.abs(np.hypot(*cell.points) - 0.020) < 1e-9
    constant = A[on_edge].mean() + strength * math.log(0.020)
    potential_error = gradient_error = 0.0
    for s, t, weight in _six_points():
        r = 1 - s - t
        shape = np.array([r * (2 * r - 1), s * (2 * s - 1), t * (2 * t - 1), 4 * r * s, 4 * s * t,
                          4 * t * r])  # fmt: skip
        by_s = np.array([1 - 4 * r, 4 * s - 1, 0, 4 * (r - s), 4 * t, -4 * t])
        by_t = np.array([1 - 4 * r, 0, 4 * t - 1, -4 * s, 4 * s, 4 * (r - t)])
        points = cell.points[:, triangles]
        x, y = np.einsum("i,dim->dm", shape, points)
        (x_s, y_s), (x_t, y_t) = (np.einsum("i,dim->dm", by, points) for by in (by_s, by_t))
        A_s, A_t = by_s @ A[triangles], by_t @ A[triangles]
        jacobian = x_s * y_t - x_t * y_s
        A_x, A_y = (A_s * y_t - A_t * y_s) / jacobian, (A_t * x_s - A_s * x_t) / jacobian
        square = x**2 + y**2
        missed = shape @ A[triangles] - (constant - strength * np.log(square) / 2)
        missed_x, missed_y = A_x + strength * x / square, A_y + strength * y / square
        potential_error += weight * float(np.sum(jacobian * missed**2))
        gradient_error += weight * float(np.sum(jacobian * (missed_x**2 + missed_y**2)))
    return math.sqrt(potential_error), math.sqrt(gradient_error)


def _six_points() -> list[tuple[float, float, float]]:
    """Return (s, t, weight) of the rule of degree 4 (Dunavant, IJNME 21 (1985), from memory)."""
    rings = ((0.445948490915965, 0.223381589678011), (0.091576213509771, 0.109951743655322))
    return [
        (s, t, weight / 2)
        for edge, weight in rings
        for s, t in ((edge, edge), (edge, 1 - 2 * edge), (1 - 2 * edge, edge))
    ]


# -- Newton's method ---------------------------------------------------------------------------


@pytest.mark.parametrize("current", [100.0, 300.0, 1000.0, 5000.0])
def test_newton_converges_quadratically(current: float) -> None:
    # Near the solution each residual is a fixed factor times the square of the one before; an
    # inexact tangent would leave a fixed factor times the one before. Full steps, no line search.
    curve, _ = brauer_law()
    system = CoupledSystem(ring_problem(curve, level=2))
    load = system.load(np.full((SLOTS, 2), current / HALF_SLOTS))
    A_z, _ = solve_angle(system, system.joined(None), 0.0, load, 0.3)
    norms = []
    for _ in range(3):
        residual, states = system.residual(A_z, 0.0, load.right)
        norms.append(float(np.linalg.norm(residual) / load.norm))
        system.factorise(states, 0.0)
        A_z = A_z - system.solve(residual)
    assert norms[0] > 1e-2
    for before, after in pairwise(norms):
        assert after < 0.5 * before**2  # the factor found is 0.05 to 0.31


@pytest.mark.parametrize("current", [20.0, 300.0, 5000.0])
def test_tangent_is_the_derivative_of_the_residual(current: float) -> None:
    # Central difference of the residual along a random direction, at a saturated field.
    curve, _ = brauer_law()
    system = CoupledSystem(ring_problem(curve, level=1))
    load = system.load(np.full((SLOTS, 2), current / HALF_SLOTS))
    A_z, _ = solve_angle(system, system.joined(None), 0.0, load)
    change = system.residual(
        np.random.default_rng(3).normal(size=system.size), 0.0, 0 * load.right
    )[0]
    _, states = system.residual(A_z, 0.0, load.right)
    system.factorise(states, 0.0)
    direction = system.solve(change)
    step = 1e-6 * np.linalg.norm(A_z) / np.linalg.norm(direction)
    ahead, _ = system.residual(A_z + step * direction, 0.0, load.right)
    behind, _ = system.residual(A_z - step * direction, 0.0, load.right)
    found = (ahead - behind) / (2 * step)
    assert np.linalg.norm(found - change) < 1e-4 * np.linalg.norm(change)
