"""An offset rotor: the field between two circles that are not concentric, and what comes of it."""

import math

import numpy as np
import pytest
from field.offset_rings import GAP, POLES, ring_problem
from field.offset_teeth import (
    ANGLE,
    CURRENTS,
    offset_motor,
    solved,
    space,
    three_teeth,
    three_teeth_problem,
)
from quantities.small_machines import design_of

from fem_motor.arrays import FloatArray
from fem_motor.errors import SolverError
from fem_motor.field import FieldSweep, gap_potential, solve
from fem_motor.field.gap.eccentricity import shifts
from fem_motor.field.gap.harmonics import Circle, Gap
from fem_motor.field.solving.newton import solve_newton
from fem_motor.field.solving.system import CoupledSystem
from fem_motor.mesh import mesh_motor
from fem_motor.quantities.fields.machine import Saturation, motor_problem, symmetry
from fem_motor.quantities.readings.torque_checks import three_torques
from fem_motor.units import MU_0

READINGS = ("torque", "pull", "energy", "half_slot_mean", "stator_values", "rotor_values")


def apart(one: FieldSweep, other: FieldSweep) -> dict[str, float]:
    """Return the largest difference of every reading over its largest value."""
    return {
        name: np.abs(getattr(one, name) - getattr(other, name)).max()
        / np.abs(getattr(one, name)).max()
        for name in READINGS
    }


@pytest.mark.parametrize("shift", [0.0, 0.01, 0.3, 0.8])
@pytest.mark.parametrize("ratio", [1.02, 1.3])
def test_equal_potentials_make_the_field_of_a_line_of_two_cylinders(
    ratio: float, shift: float
) -> None:
    # Capacitance of one cylinder inside another, axes e apart: C' = 2 π ε/arccosh[(r₁² + r₂² −
    # e²)/(2 r₁ r₂)]; W. R. Smythe, Static and Dynamic Electricity, from memory. Here ν₀ for ε.
    circle = Circle(nodes=8, sectors=1, sign=1)
    offset = shift * (ratio - 1)
    gap = Gap(stator=circle, rotor=circle, radius=1.0, ratio=ratio, cut=60, offset=offset)
    expected = 2 * math.pi / MU_0 / math.acosh((1 + ratio**2 - offset**2) / (2 * ratio))
    alone = gap.coupling[0]
    mean = np.eye(1, 122)[0]
    changes = (0, 0) if gap.terms is None else (gap.terms.stator[0, 0], gap.terms.rotor[0, 0])
    assert alone + changes[0] == pytest.approx(expected, rel=1e-10)
    assert alone + changes[1] == pytest.approx(expected, rel=1e-10)
    assert gap.to_stator(mean)[0] == pytest.approx(expected, rel=1e-10)
    assert gap.to_rotor(mean)[0] == pytest.approx(expected, rel=1e-10)


def test_a_field_that_both_circles_cut_keeps_its_values_and_its_energy() -> None:
    # A = x³ − 3 x y² + c x/(x² + y²) in the annulus; its coefficients on the offset circle by
    # sampling, its energy ½ ν ∮ A ∂A/∂n by the trapezoidal rule, which is exact here.
    radius, ratio, offset, number = 1.0, 1.25, 0.1, 256
    theta = 2 * math.pi / number * np.arange(number)
    inner, outer = radius * np.exp(1j * theta), offset + ratio * radius * np.exp(1j * theta)

    def potential(z: np.ndarray) -> FloatArray:
        return np.asarray((z**3 + 0.7 / z + 0.2j / z**2).real)

    def slope(z: np.ndarray) -> np.ndarray:
        return np.asarray(3 * z**2 - 0.7 / z**2 - 0.4j / z**3)  # ∂A/∂x − i ∂A/∂y

    def coefficients(z: np.ndarray, cut: int) -> FloatArray:
        spectrum = np.fft.rfft(potential(z))[: cut + 1] * 2 / number
        spectrum[0] /= 2
        return np.concatenate([spectrum.real, -spectrum.imag])

    cut = 60
    circle = Circle(nodes=8, sectors=1, sign=1)
    gap = Gap(stator=circle, rotor=circle, radius=radius, ratio=ratio, cut=cut, offset=offset)
    u, v = coefficients(inner, cut), coefficients(outer, cut)
    flux = [
        2 * math.pi * np.mean(potential(z) * (slope(z) * (z - centre)).real)
        for z, centre in ((outer, offset), (inner, 0.0))
    ]
    n = np.tile(np.arange(cut + 1), 2)
    own = np.pi / MU_0 * n / np.tanh(np.maximum(n, 1) * math.log(ratio))
    own[0] = 2 * np.pi / MU_0 / math.log(ratio)
    assert gap.terms is not None
    energy = (
        u @ (own * u + gap.terms.stator @ u) / 2
        + v @ (own * v + gap.terms.rotor @ v) / 2
        - u @ gap.to_stator(v)
    )
    assert energy == pytest.approx((flux[0] - flux[1]) / 2 / MU_0, rel=1e-12)
    at = np.array([1.05 * np.exp(2.0j), 1.1 * np.exp(-0.4j)])
    A, derivative = gap.terms.potential(u, v, at)
    assert np.abs(A - potential(at)).max() < 1e-12
    assert derivative == pytest.approx(at * slope(at), rel=1e-12)


@pytest.mark.parametrize("saturation", ["ignored", "as given"])
def test_a_vanishing_offset_changes_nothing(saturation: Saturation) -> None:
    concentric = solved(three_teeth_problem(0.0, saturation))
    nearly = solved(three_teeth_problem(1e-14, saturation))
    assert max(apart(concentric, nearly).values()) < 1e-9, apart(concentric, nearly)


def test_superposition_and_newton_agree_with_an_offset() -> None:
    problem = three_teeth_problem(0.4 * space(), "ignored")
    newton = solve_newton(problem, angles=np.array([ANGLE]), ampere_turns=CURRENTS, tolerance=1e-12)
    assert max(apart(solved(problem), newton).values()) < 1e-10, apart(solved(problem), newton)


def test_the_tangent_is_the_derivative_of_the_residual_with_an_offset() -> None:
    problem = three_teeth_problem(0.4 * space(), "as given")
    system = CoupledSystem(problem)
    rng = np.random.default_rng(20)
    right = system.load(CURRENTS[0]).right
    values = np.zeros(system.size)
    for _ in range(4):  # into saturation
        residual, states = system.residual(values, ANGLE, right)
        system.factorise(states, ANGLE)
        values -= system.solve(residual)
    _, states = system.residual(values, ANGLE, right)
    system.factorise(states, ANGLE)
    direction = rng.normal(size=system.size) * 1e-7 * np.abs(values).max()
    ahead, _ = system.residual(values + direction, ANGLE, right)
    behind, _ = system.residual(values - direction, ANGLE, right)
    error = system.solve((ahead - behind) / 2) - direction
    assert np.linalg.norm(error) < 1e-3 * np.linalg.norm(direction)


@pytest.mark.parametrize("saturation", ["ignored", "as given"])
def test_torque_is_the_fall_of_the_energy_over_the_angle(saturation: Saturation) -> None:
    # Central difference, error of second order in the step.
    problem = three_teeth_problem(0.4 * space(), saturation)
    step = 1e-4
    energies = [solved(problem, ANGLE + turn).energy[0] for turn in (-step, step)]
    torque = solved(problem).torque[0]
    assert -(energies[1] - energies[0]) / (2 * step) == pytest.approx(torque, rel=1e-5)
    concentric = solved(three_teeth_problem(0.0, saturation)).torque[0]
    assert abs(torque - concentric) > 0.1 * abs(torque)


def test_three_torques_agree_with_an_offset() -> None:
    # The stress beside the stator turns about the stator's axis, and the force has a lever there.
    problem = three_teeth_problem(0.4 * space(), "as given")
    found = three_torques(problem, angle=ANGLE, ampere_turns=CURRENTS[0], period=math.pi / 6)
    lever = problem.gap.offset * abs(solved(problem).pull[0, 1])
    assert found.spread < 0.2 * lever  # a draft mesh; the stress misses 0.3 % of the torque


def test_the_field_in_the_gap_meets_both_bodies() -> None:
    # The harmonics of A along the circles, found again at points of the annulus.
    problem = three_teeth_problem(0.4 * space(), "ignored")
    sweep = solved(problem)
    stator, rotor = sweep.kept_fields
    theta = 2 * math.pi / 90 * np.arange(90)
    depth = np.array([0.0, 1.0])
    A, _, _ = gap_potential(problem, stator[0], rotor[0], ANGLE, depth=depth, theta=theta)
    radius = problem.gap.radius_at(depth, theta)[1]
    own_angle = np.arctan2(radius * np.sin(theta), radius * np.cos(theta) - problem.gap.offset)
    for row, trace, angle in zip(
        A, problem.traces(stator[0], rotor[0], ANGLE), (theta, own_angle), strict=True
    ):
        phase = np.outer(problem.gap.harmonics, angle)
        expected = trace @ np.concatenate([np.cos(phase), np.sin(phase)])
        assert row == pytest.approx(expected, abs=1e-12 * np.abs(A).max())


def test_an_offset_lets_cogging_repeat_with_the_pole_pitch_only() -> None:
    # A centred rotor cogs with lcm(slots, poles) per turn: here 12, three in a pole pitch. To a
    # rotor that turns about an offset axis the slots differ; what remains is that each pole,
    # its sign apart, takes the place of the one before. (Offset fixed in space; from symmetry.)
    motor, _ = three_teeth()
    pole_pitch = 2 * math.pi / motor.rotor.poles
    angles = 0.05 + pole_pitch * np.array([0, 1 / 3, 2 / 3, 1])
    still = np.zeros((4, 3, 2))
    centred, offset = (
        solve(three_teeth_problem(e, "ignored"), angles=angles, ampere_turns=still).torque
        for e in (0.0, 0.4 * space())
    )
    assert centred == pytest.approx(np.full(4, centred[0]), rel=1e-7)
    assert offset[3] == pytest.approx(offset[0], rel=1e-7)
    assert abs(offset[1:3] - offset[0]).min() > 0.05 * abs(offset[0])


def test_an_offset_rotor_needs_the_whole_circle() -> None:
    motor = design_of("steel_12s14p").motor
    assert symmetry(motor) == 2
    assert symmetry(offset_motor(motor, 1e-5)) == 1
    with pytest.raises(ValueError, match="whole circle"):
        motor_problem(offset_motor(motor, 1e-5), mesh_motor(motor, quality="draft"), sectors=2)


def test_circles_that_nearly_touch_are_refused() -> None:
    with pytest.raises(SolverError) as caught:
        ring_problem(0.48 * GAP, steps=4)
    assert str(caught.value) == (
        "as_built.rotor_offset_mm = 0.384 leaves too little room for the field in the gap.\n"
        "  why: it is solved between two circles that stand 0.4 mm apart in this mesh, and the "
        "offset may be 90% of that.\n"
        "  do:  keep it below 0.36, or mesh with the gap circles nearer to the surfaces."
    )
    assert ring_problem(0.4 * GAP, steps=4).slots == POLES


@pytest.mark.parametrize(("offset", "harmonics"), [(0.003, 40), (0.02, 120), (0.2, 200)])
def test_as_many_more_harmonics_are_kept_as_the_binomial_series_needs(
    offset: float, harmonics: int
) -> None:
    # (w + ε)^m = Σ C(m, k) ε^k w^(m−k): of orders up to 2 h + k the k-th term is at most
    # C(2 h + k, k) ε^k, and the first one below 1e-20 is left out.
    inward, _ = shifts(ratio=1.02, offset=offset, harmonics=harmonics)
    kept = len(inward) - harmonics
    assert math.comb(2 * harmonics + kept, kept) * offset**kept <= 1e-20
    before = kept - 1
    assert math.comb(2 * harmonics + before, before) * offset**before > 1e-20
