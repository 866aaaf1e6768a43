"""The field inside the magnets, and how far it stays from their knee."""

import importlib
import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from field.annuli import Ring, ring_cell
from verification.exact.annulus import (
    Annulus,
    Layer,
    alternating,
    halbach,
    segment_harmonics,
)

from fem_motor.design import MotorDesign, load_design
from fem_motor.field import FieldProblem, Magnets, field_problem, solve
from fem_motor.loading import (
    DemagnetisationMargins,
    demagnetisation,
    demagnetisation_findings,
)
from fem_motor.loading.demagnetisation import demagnetising_current
from fem_motor.loading.magnet_readings import density_exceeded
from fem_motor.loading.margins import TemperatureMargin
from fem_motor.mesh import HalfCell, MotorMesh, mesh_motor
from fem_motor.quantities import MotorModel, motor_model
from fem_motor.quantities.fields.machine import motor_problem
from fem_motor.winding import wind

MODULE = importlib.import_module("fem_motor.loading.demagnetisation")
MU_0 = 4e-7 * math.pi
PRINTED = load_design("geometries/printed_18s16p.toml")

# -- rings of magnets whose field is known -----------------------------------------------------


def without_far_circle(cell: HalfCell) -> HalfCell:
    """Return the cell without its far circle: beyond it lies ideal iron."""
    return replace(cell, far_circle=np.arange(0))


def ring_problem(
    magnets: Magnets,
    *,
    poles: int,
    stator: tuple[float, list[Ring]],
    rotor: list[Ring],
    circles: tuple[float, float],
    iron: bool,
    steps: int = 20,
    sectors: int = 1,
) -> FieldProblem:
    """Return a smooth machine with as many slots as poles; ideal iron beyond it, or air."""
    low, high = circles
    inner = ring_cell(
        inner_radius=stator[0],
        rings=[*stator[1], (low, "gap", 1)],
        steps=steps,
        half_pitch=math.pi / poles,
        gap_outside=True,
    )
    outer = ring_cell(
        inner_radius=high,
        rings=rotor,
        steps=steps,
        half_pitch=math.pi / len(magnets.remanence),
        gap_outside=False,
    )
    if iron:
        inner, outer = without_far_circle(inner), without_far_circle(outer)
    return field_problem(
        MotorMesh(stator=inner, rotor=outer, cut=20 * poles),
        stator_curves={},
        rotor_curves={},
        magnets=magnets,
        slots=poles,
        poles=poles,
        sectors=sectors,
    )


def rotor_field(problem: FieldProblem, ampere_turns: np.ndarray | None = None) -> np.ndarray:
    turns = np.zeros((problem.slots, 2)) if ampere_turns is None else ampere_turns
    solved = solve(problem, angles=np.zeros(1), ampere_turns=turns[None])
    return np.asarray(solved.kept_fields[1][0])


def wide_poles(current_layer: float = 0.0) -> FieldProblem:
    """Return radial magnets 3 mm thick at 201 mm, 1 mm off ideal iron; pole pitch 31 mm."""
    rings: list[Ring] = [(0.2 + current_layer, "coil", 1)] if current_layer else []
    return ring_problem(
        Magnets(
            remanence=1.2 * np.cos(np.pi * np.arange(40)),
            direction=np.zeros(40),
            recoil_permeability=1.05,
            is_radial=True,
        ),
        poles=40,
        stator=(0.2, rings),
        rotor=[(0.201, "gap", 1), (0.204, "magnet", 6)],
        circles=(0.2004, 0.2007),
        iron=True,
        sectors=40,
    )


def test_a_thin_gap_between_iron_leaves_a_magnet_at_the_permeance_of_one_dimension() -> None:
    # B = B_r Pc/(Pc + μ_rec), Pc = magnet thickness over gap (textbook; Ampère and one flux).
    # Rounder: B r is constant, ∫ H dr = 0. Other poles are felt by exp(−π 15.7 mm/4 mm) = 5e-6.
    problem = wide_poles()
    field = problem.magnet_field(rotor_field(problem), 0.0)
    x, y = field.points[0]
    middle = np.abs(np.arctan2(y, x)) < 0.1 * math.pi / 40
    radius, found = np.hypot(x, y)[middle], field.flux_density[0][middle]
    assert found == pytest.approx(np.full(found.shape, 1.2 * 3 / (3 + 1.05)), rel=1e-2)
    drop = math.log(0.201 / 0.2) + math.log(0.204 / 0.201) / 1.05
    assert found == pytest.approx(1.2 * 0.003 / 1.05 / drop / radius, rel=1e-4)


def test_current_on_the_negative_d_axis_lowers_b_by_the_closed_form() -> None:
    # Every tooth faces a magnet; its two half slots carry ±I, spread over half a pole pitch each,
    # in a layer of 0.02 mm on the iron: a square wave of the current sheet, 4/(π k) of its height.
    layer, current = 2e-5, 300.0
    problem = wide_poles(layer)
    outward = np.cos(np.pi * np.arange(40))  # magnets 1, 3, … point away from the stator
    # On tooth 1, at +x: current along +z at its clockwise side (below) and −z above it drives flux
    # along −x between them (right hand), against magnet 1.
    turns = current * np.stack([outward, -outward], axis=1)
    alone, loaded = rotor_field(problem), rotor_field(problem, turns)
    at = problem.magnet_field(alone, 0.0)
    change = problem.magnet_field(loaded, 0.0).flux_density - at.flux_density
    sheet = current / (math.pi / 40 * (0.2 + layer / 2))  # A/m
    # K(θ) = −sheet · sign(sin 20 θ): plus on the clockwise side, θ < 0. Re[X e^{inθ}], X = i …
    orders = [20 * k for k in range(1, 40, 2)]
    waves = {n: 1j * 4 * sheet / (math.pi * n / 20) for n in orders}
    machine = Annulus(
        layers=[
            Layer(inner_radius=0.2, outer_radius=0.2 + layer / 2),
            Layer(inner_radius=0.2 + layer / 2, outer_radius=0.201),
            Layer(inner_radius=0.201, outer_radius=0.204, relative_permeability=1.05),
        ],
        inside="iron",
        outside="iron",
        sheets={0.2 + layer / 2: waves},
    )
    expected, found = [], []
    for element in range(0, at.area.shape[0], 37):
        x, y = at.points[0, :, element, 0]
        r, theta = math.hypot(x, y), math.atan2(y, x)
        expected.append(sum((machine.at(n, r).B_r * np.exp(1j * n * theta)).real for n in orders))
        found.append(change[0, element, 0])
    assert max(expected) < 0
    assert found == pytest.approx(expected, abs=2e-3 * abs(min(expected)))
    # In the middle of the pole: μ₀ I over gap and magnet, Ampère in one dimension.
    assert min(expected) == pytest.approx(-MU_0 * current / (0.001 + 0.003 / 1.05), rel=0.05)
    # The other magnets lose as much.
    assert change.std(axis=0).max() < 1e-9


P, BR = 7, 1.2
EXACT = {
    "radial": alternating(P, remanence=BR, cover=1, magnetisation="radial"),
    "parallel": alternating(P, remanence=BR, cover=1, magnetisation="parallel"),
    "halbach": halbach(P, remanence=BR, segments_per_pole=2),
}


def open_ring(kind: str, *, sectors: int = 1, steps: int = 16) -> FieldProblem:
    """Return touching magnets from 20.5 to 23.5 mm in the open, the first outward."""
    per_pole = 2 if kind == "halbach" else 1
    number = 2 * P * per_pole
    turn = math.pi / per_pole * np.arange(number)
    return ring_problem(
        Magnets(
            remanence=BR * np.cos(turn) if kind == "radial" else np.full(number, BR),
            direction=turn,
            recoil_permeability=1.05,
            is_radial=kind == "radial",
        ),
        poles=2 * P,
        stator=(0.016, [(0.02, "core", 6)]),
        rotor=[(0.0205, "gap", 1), (0.0235, "magnet", 12)],
        circles=(0.02015, 0.02035),
        iron=False,
        steps=steps,
        sectors=sectors,
    )


@pytest.mark.parametrize("kind", EXACT)
def test_field_inside_magnets_is_that_of_the_closed_form_within_half_a_percent(kind: str) -> None:
    # Concentric layers, see the reference; harmonics smoothed by Lanczos' factors, a little off the
    # lines where the magnetisation jumps.
    problem = open_ring(kind, sectors=2 * P)
    field = problem.magnet_field(rotor_field(problem), 0.0)
    orders = [P * k for k in range(1, 180, 2)]
    remanence = segment_harmonics(EXACT[kind], P, orders)
    radii = np.linspace(
        0.0205, 0.0235, 17
    )  # thin layers keep the exponentials of high orders small
    machine = Annulus(
        layers=[
            Layer(
                inner_radius=inner,
                outer_radius=outer,
                relative_permeability=1.05,
                remanence=remanence,
            )
            for inner, outer in itertools.pairwise(radii)
        ]
    )
    number = len(field.flux_density)
    pitch = 2 * math.pi / number
    compared = 0
    for magnet in (0, 1, number - 1):
        for element in range(5, field.area.shape[0], 83):
            x, y = field.points[magnet, :, element, 1]
            r, theta = math.hypot(x, y), math.atan2(y, x)
            inside = (theta - magnet * pitch + math.pi) % (2 * math.pi) - math.pi
            if abs(inside) > 0.7 * pitch / 2:
                continue
            waves = [(n, machine.at(n, r), np.sinc(n / orders[-1])) for n in orders]
            B_r, B_theta = (
                sum(
                    (part[axis] * np.exp(1j * n * theta) * smooth).real for n, part, smooth in waves
                )
                for axis in (1, 2)
            )
            turn = math.pi / (number // (2 * P)) * magnet
            lean = turn if kind == "radial" else magnet * pitch + turn - theta
            exact = B_r * math.cos(lean) + B_theta * math.sin(lean)
            assert field.flux_density[magnet, element, 1] == pytest.approx(exact, abs=5e-3 * BR)
            compared += 1
    assert compared > 12


@pytest.mark.parametrize("kind", ["radial", "parallel"])
def test_all_magnets_of_a_smooth_machine_are_equal(kind: str) -> None:
    whole = open_ring(kind, steps=8)
    found = whole.magnet_field(rotor_field(whole), 0.3).flux_density
    assert np.ptp(found, axis=0).max() < 1e-9
    # Both halves mirror each other, and one sector gives the same.
    half = found.shape[1] // 2
    assert np.abs(found[:, :half] - found[:, half:]).max() < 1e-9
    sector = open_ring(kind, sectors=2 * P, steps=8)
    again = sector.magnet_field(rotor_field(sector), 0.3).flux_density
    assert again == pytest.approx(found, abs=1e-9)


def test_a_magnet_turned_round_is_read_along_its_own_magnetisation() -> None:
    # All of them turned: the same machine, the field reversed.
    problem = open_ring("parallel", sectors=2 * P, steps=8)
    turned = problem.with_remanence_times(-1.0)
    one, other = (each.magnet_field(rotor_field(each), 0.0) for each in (problem, turned))
    assert other.flux_density == pytest.approx(one.flux_density, abs=1e-12)


# -- motors ------------------------------------------------------------------------------------


def model_of(design: MotorDesign) -> MotorModel:
    motor = design.motor
    return motor_model(motor, wind(motor), mesh_motor(motor, quality="draft"), angles_per_period=4)


@pytest.fixture(scope="module")
def printed() -> MotorModel:
    return model_of(PRINTED)


def margins_of(
    design: MotorDesign, model: MotorModel, line_peak: float = 30.0
) -> DemagnetisationMargins:
    return demagnetisation(design.motor, model, line_peak=line_peak)


def test_areas_of_the_points_add_up_to_those_of_the_magnets(printed: MotorModel) -> None:
    # 16 blocks of 8 mm by 3 mm.
    field = printed.problem.magnet_field(np.zeros(printed.problem.rotor.size), 0.0)
    assert field.area.sum() == pytest.approx(24e-6, rel=1e-12)
    assert len(field.flux_density) == 16
    worst = margins_of(PRINTED, printed).worst_map
    assert worst.area.sum() == pytest.approx(16 * 24e-6, rel=1e-12)
    # Arcs: 0.86 of the ring between 25.5 and 28 mm; curved sides of second order.
    motor = load_design("geometries/steel_12s14p.toml").motor
    problem = motor_problem(motor, mesh_motor(motor, quality="draft"), sectors=2)
    inner = motor.rotor.magnet_inner_radius
    ring = 0.86 * math.pi * ((inner + 0.0025) ** 2 - inner**2)
    arcs = problem.magnet_field(np.zeros(problem.rotor.size), 0.0)
    assert 14 * arcs.area.sum() == pytest.approx(ring, rel=1e-6)


def test_knee_of_a_hot_and_of_a_cold_n42h_magnet(printed: MotorModel) -> None:
    # B_r 1.30 T, H_cJ 1353 kA/m, −0.12 and −0.60 %/K (trade values, from memory); IEC 60404-8-1
    # has both coefficients. 80 °C: 1.2064 T and 865.9 kA/m; −10 °C: 1.3468 T and 1596.5 kA/m.
    found = margins_of(PRINTED, printed)
    for one, remanence, coercivity in (
        (found.hot, 1.2064, 865.92e3),
        (found.cold, 1.3468, 1596.54e3),
    ):
        assert one.knee == pytest.approx(remanence - 0.95 * 1.05 * MU_0 * coercivity, abs=1e-6)
        assert one.margin == pytest.approx(one.flux_density - one.knee)
    assert (found.hot.temperature_C, found.cold.temperature_C) == (80, -10)


def test_a_linear_core_is_superposed_as_if_solved_with_magnets_at_that_temperature(
    printed: MotorModel,
) -> None:
    found = margins_of(PRINTED, printed).hot
    motor = PRINTED.motor
    mesh = mesh_motor(motor, quality="draft")
    hot = motor_problem(
        motor, mesh, sectors=printed.problem.sectors, saturation="ignored", temperature_C=80.0
    )
    phases, angle = printed.phases, np.array([found.rotor_angle])
    # Six-step in star: 1.5 · 30 A · 2/√3, on the negative d axis.
    currents = phases.sine(angle, peak=90 / math.sqrt(3), current_angle=math.pi / 2)
    solved = solve(hot, angles=angle, ampere_turns=phases.ampere_turns(currents))
    field = hot.magnet_field(solved.kept_fields[1][0], found.rotor_angle)
    density = field.flux_density.reshape(16, -1)[found.magnet - 1]
    order = np.argsort(density)
    passed = np.cumsum(field.area.ravel()[order]) / 24e-6
    assert found.flux_density == pytest.approx(density[order][passed >= 0.01][0], abs=2e-3)


def test_a_steel_core_is_solved_with_magnets_at_that_temperature() -> None:
    design = load_design("geometries/steel_9s12p.toml")
    motor, model = design.motor, model_of(design)
    assert not model.problem.is_linear
    found = demagnetisation(motor, model, line_peak=10.0).cold
    mesh = mesh_motor(motor, quality="draft")
    cold = motor_problem(motor, mesh, sectors=model.problem.sectors, temperature_C=-10.0)
    phases, angle = model.phases, np.array([found.rotor_angle])
    peak = demagnetising_current(motor, 10.0)
    turns = phases.ampere_turns(phases.sine(angle, peak=peak, current_angle=math.pi / 2))
    values = solve(cold, angles=angle, ampere_turns=turns).kept_fields[1][0]
    field = cold.magnet_field(values, found.rotor_angle)
    lowest = density_exceeded(field.flux_density.reshape(12, -1), field.area.ravel(), 0.01)
    assert found.flux_density == pytest.approx(lowest.min(), abs=2e-4)


def test_currents_held_against_the_magnets_lower_them_at_least_in_proportion(
    printed: MotorModel,
) -> None:
    small, large = (margins_of(PRINTED, printed, peak).hot for peak in (30.0, 60.0))
    assert small.case == large.case == "current limit"
    without = small.margin_without_current
    assert small.margin is not None
    assert large.margin is not None
    assert without is not None
    # b is linear in the current everywhere; the least of straight lines bends downwards only.
    assert small.margin < without
    assert without - large.margin >= 2 * (without - small.margin)
    idle = margins_of(PRINTED, printed, 0.0).hot
    assert idle.case == "no current"
    assert idle.margin == pytest.approx(without)


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_the_demagnetising_current_is_the_vector_of_the_branch_currents(connection: str) -> None:
    # 2/3 |Σ i_k exp(2πi k/3)|: sine currents have their amplitude. Six-step, line currents
    # (I, −I, 0): the same in the branches in star; in delta 2/3 I in one, −1/3 I in the others.
    turn = np.exp(2j * math.pi * np.arange(3) / 3)
    blocks = {"star": [1, -1, 0], "delta": [2 / 3, -1 / 3, -1 / 3]}[connection]
    waves = {
        "six-step": 2 / 3 * abs(blocks @ turn),
        "sine": 1.0 if connection == "star" else 1 / math.sqrt(3),
    }
    for controller, vector in waves.items():
        motor = PRINTED.replace(winding__connection=connection, drive__controller=controller).motor
        assert demagnetising_current(motor, 20.0) == pytest.approx(1.5 * 20.0 * vector)


def test_one_percent_of_the_area_lies_below_the_value_taken() -> None:
    # Values rising evenly from 0 to 1: the hundredth part ends at 0.01, whatever the weights do.
    values = np.linspace(0, 1, 2001)
    even = density_exceeded(values[None], np.ones(2001), 0.01)
    assert even == pytest.approx([0.01], abs=1e-3)
    rng = np.random.default_rng(1)
    order = rng.permutation(2001)
    weights = 2 * values  # the area below b is b²: a hundredth ends at 0.1
    mixed = density_exceeded(np.stack([values, 3 * values])[:, order], weights[order], 0.01)
    assert mixed == pytest.approx([0.1, 0.3], abs=2e-3)


def test_half_the_area_of_two_equal_parts_lies_below_the_middle_of_both() -> None:
    # By symmetry; each part counts at the middle of its own area, so ends are half a part away.
    found = density_exceeded(np.array([[3.0, 1.0]]), np.ones(2), 0.5)
    assert found == pytest.approx([2.0])


def test_a_magnet_turned_round_is_found_as_the_worst(printed: MotorModel) -> None:
    # Its neighbours no longer take its flux back: it works lower than any other. Currents against
    # the magnets around it support it.
    design = PRINTED.replace(
        as_built__magnets=[{"index": 5, "remanence_factor": -1.0}], rotor__magnet="ndfeb-n42"
    )
    found = margins_of(design, model_of(design))
    assert found.hot.magnet == found.cold.magnet == 5
    assert found.hot.case == "no current"
    assert found.hot.flux_density < margins_of(PRINTED, printed).hot.flux_density - 0.05
    assert found.hot.advice[0] == "magnet 5 stands the wrong way round: turn it first"


def test_a_stronger_magnet_of_the_same_coercivity_has_a_higher_knee_and_is_the_worst() -> None:
    # B_k = B_r − μ₀ μ_rec H_k; B_r at 80 °C is 1.2064 T as drawn. What a magnet does to itself
    # grows with its own strength, what its neighbours do for it does not.
    design = PRINTED.replace("as_built.magnets", [{"index": 3, "remanence_factor": 1.4}])
    found = margins_of(design, model_of(design)).hot
    full = design.motor.rotor.magnet.knee_flux_density(80.0)
    assert full is not None
    assert found.magnet == 3
    assert found.knee == pytest.approx(full + 0.4 * 1.2064)


# -- what to do --------------------------------------------------------------------------------


def test_the_advised_current_limit_leaves_the_margin_asked_for(printed: MotorModel) -> None:
    found = margins_of(PRINTED, printed, 400.0).hot
    assert found.margin is not None
    assert found.margin < 0.05
    advised = float(found.advice[0].rsplit(" ", 2)[1])
    assert found.advice[0] == f"lower drive.current_limit_A from 400 to {advised:g} A"
    assert margins_of(PRINTED, printed, advised).hot.margin == pytest.approx(0.06, abs=0.012)


def plain(**changes: str | float | None) -> MotorDesign:
    """Return the printed motor with a magnet of round numbers, 1.3 T."""
    values = {
        "kind": "magnet",
        "remanence_T": 1.3,
        "recoil_permeability": 1.05,
        "intrinsic_coercivity_kA_per_m": 1100.0,
        "remanence_per_K": -0.0012,
        "coercivity_per_K": -0.006,
    }
    kept = {key: value for key, value in (values | changes).items() if value is not None}
    return PRINTED.replace(materials={"round": kept}, rotor__magnet="round")


def test_the_advised_grade_and_temperature_leave_the_margin_asked_for(
    monkeypatch: pytest.MonkeyPatch, printed: MotorModel
) -> None:
    # The field of 1.3 T is that of the N42H magnet; only the knee differs.
    weak = margins_of(plain(), printed).hot
    assert weak.margin is not None
    assert weak.margin < 0.05
    kelvin = next(line for line in weak.advice if "°C" in line and "keep" in line)
    below = float(kelvin.removeprefix("keep the magnets below ").removesuffix(" °C"))
    grade = next(line for line in weak.advice if "grade" in line)
    needed = float(grade.split("at least ")[1].split(" kA/m")[0])
    better = margins_of(plain(intrinsic_coercivity_kA_per_m=needed), printed).hot
    assert better.margin is not None
    assert 0.05 <= better.margin < 0.065
    monkeypatch.setattr(MODULE, "HOT_C", below)
    cooler = margins_of(plain(), printed).hot
    assert cooler.margin == pytest.approx(0.05, abs=0.008)


def test_ferrite_is_weakest_cold_and_the_advice_is_to_warm_it(printed: MotorModel) -> None:
    # 0.39 T, 260 kA/m, coercivity +0.35 %/K (from memory). Its field is 0.3 of the other magnet's.
    design = plain(
        remanence_T=0.39,
        intrinsic_coercivity_kA_per_m=260.0,
        remanence_per_K=-0.002,
        coercivity_per_K=0.0035,
    )
    found = margins_of(design, model_of(design))
    assert found.cold.margin is not None
    assert found.hot.margin is not None
    assert found.cold.margin < found.hot.margin
    assert found.worst_map.temperature_C == -10
    assert any(line.startswith("let the magnets come to") for line in found.cold.advice)
    assert printed.problem.is_linear


def test_without_a_coercivity_there_is_no_margin_and_the_finding_says_what_to_measure(
    printed: MotorModel,
) -> None:
    found = margins_of(plain(intrinsic_coercivity_kA_per_m=None), printed)
    assert found.hot.margin is found.hot.knee is found.hot.area_below_knee is None
    assert found.worst_map.margin is None
    known = margins_of(PRINTED, printed)
    assert found.hot.flux_density == pytest.approx(known.hot.flux_density)
    for finding in demagnetisation_findings(found):
        assert finding.status == "watch"
        assert finding.value is None
        assert "intrinsic_coercivity_kA_per_m" in finding.do


@pytest.mark.parametrize(("density", "status"), [(0.36, "ok"), (0.34, "watch"), (0.29, "stop")])
def test_a_margin_of_0_05_tesla_passes_and_a_negative_one_stops(
    printed: MotorModel, density: float, status: str
) -> None:
    # Common practice, no source.
    margins = margins_of(PRINTED, printed)
    hot: TemperatureMargin = replace(margins.hot, flux_density=density, knee=0.3)
    finding, _ = demagnetisation_findings(replace(margins, hot=hot))
    assert finding.status == status
    assert finding.value == pytest.approx(density - 0.3)
    assert finding.limit == 0.05


def test_the_map_shows_the_field_of_the_worst_case_over_the_whole_rotor(
    printed: MotorModel,
) -> None:
    found = margins_of(PRINTED, printed)
    shown = found.worst_map
    assert shown.margin is not None
    assert shown.temperature_C == 80
    assert shown.rotor_angle == found.hot.rotor_angle
    knee = found.hot.knee
    assert knee is not None
    assert shown.margin == pytest.approx(shown.flux_density - knee)
    # The worst magnet holds the lowest element but for corners; it stands where it should.
    elements = shown.area.size // 16
    centre = shown.points[:, shown.triangles].mean(axis=1).reshape(2, 16, elements)
    theta = np.arctan2(*centre.mean(axis=2)[::-1])
    expected = found.hot.rotor_angle + 2 * math.pi / 16 * np.arange(16)
    assert np.exp(1j * theta) == pytest.approx(np.exp(1j * expected), abs=1e-9)
    # The mean of an element is shown, the margin read at its points: a few hundredths of a tesla.
    worst = found.hot.magnet - 1
    of_magnet = shown.flux_density.reshape(16, -1)[[worst]]
    lowest = density_exceeded(of_magnet, shown.area[:elements], 0.01)[0]
    assert lowest == pytest.approx(found.hot.flux_density, abs=0.03)
    x, y = shown.points[:, shown.triangles]
    double = (x[1] - x[0]) * (y[2] - y[0]) - (x[2] - x[0]) * (y[1] - y[0])
    assert double / 2 == pytest.approx(shown.area, rel=1e-9)
