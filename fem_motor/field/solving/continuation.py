"""The field where it is known by harmonics: in the gap, in the hub bore and outside."""

import numpy as np

from fem_motor.arrays import ComplexArray, FloatArray, IntArray
from fem_motor.field.discretisation.bodies import Body
from fem_motor.field.gap.eccentricity import NU_0
from fem_motor.field.gap.harmonics import Circle
from fem_motor.field.solving.problem import FieldProblem


def coefficients(
    body: Body, nodes: IntArray, values: FloatArray, angle: float = 0.0
) -> tuple[IntArray, ComplexArray]:
    """Return harmonics, (h,), and complex coefficients, (h,), of A on a circle of a body.

    A(θ) = Re Σ a_n exp(i n θ), every harmonic that the circle carries, the body turned by `angle`.

    Parameters
    ----------
    body : Body
    nodes : (g,)
        Unknowns of the circle: `body.gap` or `body.far`.
    values : (size,)
    angle : float
    """
    circle = Circle(nodes=len(nodes), sectors=body.sectors, sign=body.sign)
    harmonics = circle.harmonics(len(nodes) * body.sectors // 2)
    cosine, sine = np.split(circle.trace(harmonics) @ values[nodes], 2)
    return harmonics, (cosine - 1j * sine) * np.exp(-1j * harmonics * angle)


def gap_potential(
    problem: FieldProblem,
    stator_values: FloatArray,
    rotor_values: FloatArray,
    angle: float,
    *,
    depth: FloatArray,
    theta: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return A, B_r and B_θ in the annulus between the gap circles, (d, t) each.

    Parameters
    ----------
    problem : FieldProblem
    stator_values, rotor_values : (size,)
    angle : float
        Of the rotor.
    depth : (d,)
        ln(r/r₁)/ln(r₂/r₁): 0 on the stator's circle, 1 on the rotor's; with an offset, r₂ is how
        far the rotor's circle is in that direction.
    theta : (t,)
        About the stator's axis, as B_r and B_θ are.
    """
    gap = problem.gap
    if gap.terms is not None:
        radius = gap.radius_at(depth, theta)
        at = radius / gap.radius * np.exp(1j * np.asarray(theta))
        traces = problem.traces(stator_values, rotor_values, angle)
        potential, slope = gap.terms.potential(*traces, at)
        return potential, -slope.imag / radius, -slope.real / radius
    n_u, u = coefficients(problem.stator, problem.stator.gap, stator_values)
    n_v, v = coefficients(problem.rotor, problem.rotor.gap, rotor_values, angle)
    number = min(len(n_u), len(n_v))
    n, u, v = n_u[:number], u[:number], v[:number]
    order = np.maximum(n, 1e-9)  # sinh(n a)/sinh(n x) → a/x for n → 0
    x = order * np.log(problem.gap.ratio)
    d = np.asarray(depth)[:, None]
    at_u, at_v = np.sinh(x * (1 - d)) / np.sinh(x), np.sinh(x * d) / np.sinh(x)
    slope_u, slope_v = (
        -order * np.cosh(x * (1 - d)) / np.sinh(x),
        order * np.cosh(x * d) / np.sinh(x),
    )
    wave = np.exp(1j * np.outer(n, theta))
    radius = problem.stator.matrices.cell.gap_radius * problem.gap.ratio**d
    potential = ((at_u * u + at_v * v) @ wave).real
    radial = ((1j * n * (at_u * u + at_v * v)) @ wave).real / radius
    tangential = -((slope_u * u + slope_v * v) @ wave).real / radius
    return potential, radial, tangential


def open_potential(
    body: Body, values: FloatArray, angle: float, *, ratio: FloatArray, theta: FloatArray
) -> FloatArray:
    """Return A, (d, t), beyond the far circle of a body, at radii `ratio` times that circle's.

    Ratios above 1 are outside a rotor, below 1 inside a hub.
    """
    n, a = coefficients(body, body.far, values, angle)
    shrink = np.where(np.asarray(ratio) > 1, 1 / np.asarray(ratio), np.asarray(ratio))
    return np.asarray(((shrink[:, None] ** n * a) @ np.exp(1j * np.outer(n, theta))).real)


def gap_work(problem: FieldProblem, stator_values: FloatArray, rotor_values: FloatArray) -> float:
    """Return ∫ H·B over the annulus of the gap, J/m, whole machine, rotor at angle 0."""
    u = stator_values[problem.stator.gap]
    v = rotor_values[problem.rotor.gap]
    gap = problem.gap
    stator, rotor = problem.traces(stator_values, rotor_values, 0.0)
    own = u @ problem.stator_gap_stiffness @ u + v @ problem.rotor_gap_stiffness @ v
    if gap.terms is not None:
        own += rotor @ gap.terms.rotor @ rotor
    cross = 2 * stator @ gap.to_stator(rotor)
    return float(problem.sectors * (own - cross))


def open_work(body: Body, values: FloatArray) -> float:
    """Return ∫ H·B beyond the far circle of a body, J/m, whole machine."""
    if not len(body.far):
        return 0.0
    n, a = coefficients(body, body.far, values)
    return float(np.pi * NU_0 * np.sum(n * np.abs(a) ** 2))
