"""The side pull, the net force on the rotor, against work, stress and other methods."""

import functools
import math

import numpy as np
import pytest
from field.offset_rings import (
    GAP,
    RECOIL,
    SURFACE,
    THICKNESS,
    plain_energy,
    ring_problem,
)
from field.offset_teeth import (
    ANGLE,
    offset_motor,
    solved,
    space,
    three_teeth,
    three_teeth_problem,
)
from quantities.small_machines import Machine, design_of, machine_of

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor
from fem_motor.field import FieldProblem, FieldSweep, gap_potential, solve
from fem_motor.field.gap.harmonics import Circle, Gap
from fem_motor.materials import BHCurve
from fem_motor.quantities import Phases, sweep_motor
from fem_motor.quantities.fields.machine import Saturation, motor_problem
from fem_motor.units import MU_0
from fem_motor.winding import wind


def still(problem: FieldProblem) -> FieldSweep:
    """Return the field without currents, rotor at angle 0."""
    return solve(problem, angles=np.zeros(1), ampere_turns=np.zeros((1, problem.slots, 2)))


@pytest.mark.parametrize("saturation", ["ignored", "as given"])
def test_pull_is_the_fall_of_the_energy_over_the_offset(saturation: Saturation) -> None:
    # Central difference of two solutions; error of second order in the step.
    offset, step = 0.4 * space(), 1e-3 * space()
    energies = [
        solved(three_teeth_problem(offset + move, saturation)).energy[0] for move in (-step, step)
    ]
    pull = solved(three_teeth_problem(offset, saturation)).pull[0, 0]
    assert -(energies[1] - energies[0]) / (2 * step) == pytest.approx(pull, rel=1e-5)


@pytest.mark.slow
def test_a_centred_rotor_has_the_pull_that_an_offset_grows_from() -> None:
    # Offsets point along +x only: the parabola through 0, h and 2 h has the slope
    # (−3 W₀ + 4 W₁ − W₂)/2 h at 0, with an error of third order.
    step = 0.02 * space()
    W = [solved(three_teeth_problem(k * step, "as given")).energy[0] for k in range(3)]
    pull = solved(three_teeth_problem(0.0, "as given")).pull[0, 0]
    assert -(-3 * W[0] + 4 * W[1] - W[2]) / (2 * step) == pytest.approx(pull, rel=1e-3)


@pytest.mark.parametrize("offset", [0.0, 0.008])
def test_pull_across_the_offset_is_the_fall_of_the_energy_too(offset: float) -> None:
    # A move across is an offset of another direction: the same energy in a turned frame.
    circle = Circle(nodes=40, sectors=1, sign=1)
    rng = np.random.default_rng(5)
    u, v = rng.normal(size=(2, 2 * 13)) * np.exp(-0.2 * np.tile(np.arange(13), 2))
    u[13], v[13] = 0, 0  # the sine of 0

    def annulus(size: float) -> Gap:
        return Gap(stator=circle, rotor=circle, radius=1.0, ratio=1.03, cut=12, offset=size)

    def energy(move: complex) -> float:
        gap = annulus(abs(move))
        at_u, at_v = (gap.rotate(x, -float(np.angle(move))) for x in (u, v))
        assert gap.terms is not None
        own = at_u @ gap.terms.stator @ at_u + at_v @ gap.terms.rotor @ at_v
        return float(own / 2 - at_u @ gap.to_stator(at_v))

    step = 1e-4
    expected = [
        -(energy(offset + step * way) - energy(offset - step * way)) / (2 * step) for way in (1, 1j)
    ]
    assert annulus(offset).force(u, v) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("part", [0.0, 0.4])
@pytest.mark.parametrize("depth", [0.0, 0.6])
def test_stress_in_the_gap_adds_up_to_the_pull(part: float, depth: float) -> None:
    # F = −∮ [(B_r² − B_θ²)/2 μ₀ e_r + B_r B_θ/μ₀ e_θ] r dθ around the stator's axis, minus
    # because the rotor is outside. At 0 the offset is too small to matter, and not 0, since the
    # field of a centred rotor shows more harmonics than the pull takes.
    problem = three_teeth_problem(max(part, 1e-12) * space(), "ignored")
    sweep = solved(problem)
    stator, rotor = sweep.kept_fields
    theta = 2 * math.pi / 720 * np.arange(720)
    radius = problem.gap.radius * problem.gap.ratio**depth
    at = radius / problem.gap.radius * np.exp(1j * theta)
    assert problem.gap.terms is not None
    _, slope = problem.gap.terms.potential(*problem.traces(stator[0], rotor[0], ANGLE), at)
    B_r, B_t = -slope.imag / radius, -slope.real / radius
    normal, along = (B_r**2 - B_t**2) / (2 * MU_0), B_r * B_t / MU_0
    stress = np.array(
        [
            normal * np.cos(theta) - along * np.sin(theta),
            normal * np.sin(theta) + along * np.cos(theta),
        ]
    )
    expected = -2 * math.pi * radius * stress.mean(axis=1)
    assert sweep.pull[0] == pytest.approx(expected, rel=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("part", [0.1, 0.3])
def test_offset_rings_pull_as_on_a_plain_mesh(part: float) -> None:
    # Second method: elements all through the gap, the fall of the energy over the offset. Twice
    # as many points around bring it from 0.09 % to 0.04 % of the pull here.
    offset, step = part * GAP, 0.01 * GAP
    ahead, behind = plain_energy(offset + step), plain_energy(offset - step)
    pull = still(ring_problem(offset)).pull[0]
    assert pull[0] == pytest.approx(-(ahead - behind) / (2 * step), rel=2e-3)
    assert abs(pull[1]) < 1e-6 * pull[0]


@pytest.mark.slow
def test_a_thin_gap_pulls_as_the_textbook_says() -> None:
    # F = π D L B²/(4 μ₀) e/(g + l_m/μ_rec), D. G. Dorrell 2011, from memory; B² for a field that
    # is no sine is twice its mean square. First order in e and in (gap + magnet)/radius: what is
    # missed falls with the radius, 6 % at 20 mm, 1.7 % at 60 mm.
    iron = BHCurve.linear(1e6)
    offset = 0.05 * GAP
    theta = 2 * math.pi / 1440 * np.arange(1440)
    missed = []
    for wider in (0.0, 0.040):
        centred = ring_problem(0.0, iron=iron, wider=wider)
        stator, rotor = still(centred).kept_fields
        _, B_r, _ = gap_potential(
            centred, stator[0], rotor[0], 0.0, depth=np.array([0.5]), theta=theta
        )
        diameter = 2 * (SURFACE + wider) + GAP
        stiffness = math.pi * diameter * 2 * np.mean(B_r**2) / (4 * MU_0)
        expected = stiffness * offset / (GAP + THICKNESS / RECOIL)
        pull = still(ring_problem(offset, iron=iron, wider=wider)).pull[0, 0]
        missed.append(expected / pull - 1)
    assert abs(missed[0]) < 0.07
    assert abs(missed[1]) < 0.02
    assert missed[0] / missed[1] == pytest.approx(3, rel=0.2)


@pytest.mark.slow
def test_rings_are_pulled_towards_the_narrow_side_and_twice_as_hard_twice_as_far() -> None:
    one, two = (still(ring_problem(part * GAP, steps=12)).pull[0, 0] for part in (0.02, 0.04))
    assert one > 0
    assert two / one == pytest.approx(2, rel=1e-3)
    assert abs(still(ring_problem(0.0, steps=12)).pull).max() < 1e-6 * one


@functools.cache
def machine_named(name: str) -> Machine:
    """Return a machine with a wide gap, which makes a coarse mesh."""
    if name == "9 slots, 8 poles":
        design = design_of("steel_9s12p").replace(
            machine__poles=8, rotor__magnet_width_mm=7.0, machine__air_gap_mm=1.5
        )
        return machine_of(design)
    return machine_of(design_of("steel_12s14p").replace(machine__air_gap_mm=1.5))


def pull_over_angle(
    machine: Machine, angles_deg: list[float], *, peak: float = 0.0, motor: Motor | None = None
) -> FloatArray:
    """Return the pull, (n, 2) N/m, of the whole machine, q-axis currents, saturation ignored."""
    angles = np.radians(angles_deg)
    phases = Phases.of(machine.winding, machine.motor)
    currents = phases.sine(angles, peak=peak, current_angle=0.0)
    problem = motor_problem(motor or machine.motor, machine.mesh, sectors=1, saturation="ignored")
    return solve(
        problem, angles=angles, ampere_turns=phases.ampere_turns(currents), keep="readings"
    ).pull


def turned(vectors: FloatArray, angle_deg: float) -> FloatArray:
    """Return vectors, (n, 2), turned counter-clockwise."""
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return vectors @ np.array([[c, s], [-s, c]])


@pytest.mark.slow
def test_nine_slots_with_eight_poles_pull_aside_under_load_though_centred() -> None:
    # Coils of one phase are neighbours: currents pull to one side. The winding repeats after
    # 120°, the poles after 45° with the opposite sign, which stress does not see: turning by
    # 3 45° − 120° = 15° turns the pull by −120°.
    nine = machine_named("9 slots, 8 poles")
    still_pull = pull_over_angle(nine, [1.0])
    loaded = pull_over_angle(nine, [1.0, 16.0], peak=20.0)
    assert np.linalg.norm(loaded[0]) > 3 * np.linalg.norm(still_pull[0])
    assert loaded[1] == pytest.approx(turned(loaded, -120.0)[0], rel=1e-6)


@pytest.mark.slow
def test_twelve_slots_with_fourteen_poles_do_not_pull_aside_under_load() -> None:
    # Half a turn brings back slots, currents and poles up to signs.
    twelve, nine = machine_named("12 slots, 14 poles"), machine_named("9 slots, 8 poles")
    loaded = pull_over_angle(twelve, [1.0], peak=20.0)
    assert np.abs(loaded).max() < 1e-8 * np.abs(pull_over_angle(nine, [1.0], peak=20.0)).max()


@pytest.mark.slow
def test_a_weak_magnet_lets_the_rotor_go_on_its_side() -> None:
    # At angle 0 magnet 1 stands on +x and magnet 8 opposite; every magnet is attracted inwards by
    # ∫ B²/2 μ₀ over its pole, and 0.8 of the remanence leave 0.64 of that. So the rotor moves
    # towards +x, and not along y, since the machine is its own mirror image about x. The mean
    # square of B is that of all poles, so this is good to a few parts in ten.
    twelve = machine_named("12 slots, 14 poles")
    weak = {"index": 1, "remanence_factor": 0.8}
    motor = twelve.design.replace(as_built__magnets=[weak]).motor
    pull = pull_over_angle(twelve, [0.0], motor=motor)[0]
    problem = motor_problem(twelve.motor, twelve.mesh, sectors=2, saturation="ignored")
    stator, rotor = still(problem).kept_fields
    theta = 2 * math.pi / 1440 * np.arange(1440)
    _, B_r, B_t = gap_potential(
        problem, stator[0], rotor[0], 0.0, depth=np.array([0.5]), theta=theta
    )
    pole_pitch = 2 * math.pi / twelve.motor.rotor.poles * problem.gap.radius
    pole_pull = pole_pitch * np.mean(B_r**2 - B_t**2) / (2 * MU_0)
    assert pull[0] == pytest.approx((1 - 0.8**2) * pole_pull, rel=0.4)
    assert abs(pull[1]) < 1e-6 * pull[0]


def test_the_sweep_reports_newtons_on_the_true_stack() -> None:
    motor, mesh = three_teeth()
    moved = offset_motor(motor, 0.4 * space())
    winding = wind(moved)
    sweep = sweep_motor(moved, winding, mesh, angles=np.array([ANGLE]), currents=np.zeros((3, 1)))
    problem = motor_problem(moved, mesh, sectors=1)
    pull = solve(problem, angles=np.array([ANGLE]), ampere_turns=np.zeros((1, 3, 2))).pull
    assert sweep.pull_N == pytest.approx(pull.T * motor.stack_length, rel=1e-6)
    assert sweep.pull_N.shape == (2, 1)
