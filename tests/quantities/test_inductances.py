"""Inductances: reciprocal, the curvature of the energy, and those of the dq axes."""

import copy
import functools
import math
from dataclasses import replace

import numpy as np
import pytest
from small_machines import SLOTLESS, Machine, design_of, machine, machine_of

import fem_motor as fm
from fem_motor.arrays import FloatArray
from fem_motor.field import FieldProblem, FieldSweep, solve
from fem_motor.quantities.fields.linkage import (
    Phases,
    ampere_turns,
    d_axis_angle,
    flux_linkage,
    half_slot_turns,
    to_dq,
    turning_currents,
)
from fem_motor.quantities.fields.machine import motor_problem, symmetry
from fem_motor.quantities.readings.inductance import (
    end_turn_inductance,
    phase_inductances,
    slot_permeance,
)
from fem_motor.winding import wind

MU_0 = 4e-7 * math.pi


def held(
    one: Machine, problem: FieldProblem, angle: float, currents: FloatArray
) -> tuple[FieldSweep, FloatArray]:
    """Return the fields at one angle with currents (3, n), and the linkages, (3, n) Wb/m."""
    turns = half_slot_turns(one.winding)
    swept = solve(
        problem,
        angles=np.full(currents.shape[1], angle),
        ampere_turns=ampere_turns(turns, currents),
        tolerance=1e-9,
    )
    return swept, flux_linkage(turns, swept.half_slot_mean, 1.0)


@functools.cache
def linear_problem(name: str) -> FieldProblem:
    """Return the part of a machine that its winding repeats, without saturation."""
    one = machine(name)
    sectors = symmetry(one.motor, half_slot_turns(one.winding))
    return motor_problem(one.motor, one.mesh, sectors=sectors, saturation="ignored")


@functools.cache
def matrix(name: str) -> FloatArray:
    """Return the 3 × 3 inductances, H/m, by one ampere in each phase; rotor at 0."""
    amperes = np.concatenate([np.zeros((3, 1)), np.eye(3)], axis=1)
    _, linkage = held(machine(name), linear_problem(name), 0.0, amperes)
    return np.asarray(linkage[:, 1:] - linkage[:, :1])


LINEAR = ("printed_18s16p", "single layer", "slotless, open")


@pytest.mark.parametrize("name", LINEAR)
def test_one_phase_links_the_other_as_the_other_links_it(name: str) -> None:
    # Reciprocity (Lorentz): the matrix is symmetric; its energy is positive for all currents,
    # so no phase links another more than itself.
    found = matrix(name)
    assert np.abs(found - found.T).max() < 1e-9 * found.max()
    assert np.all(np.linalg.eigvalsh(found) > 0)
    assert abs(found[0, 1]) < found[0, 0]


@pytest.mark.slow
def test_incremental_inductance_of_saturated_iron_is_the_curvature_of_the_energy() -> None:
    # ψ = −∂E/∂i and L = −∂²E/∂i² with E minus the co-energy, by central differences; in
    # saturation too L is symmetric. Uneven magnets, whole circle.
    one = machine("three teeth, uneven")
    base, step = np.array([6.0, -2.0, -4.0]), 0.5
    at = np.column_stack([
        base,
        *(base + step * np.eye(3)[k] * sign for k in (0, 1) for sign in (1, -1)),
    ])  # fmt: skip
    swept, linkage = held(one, one.problem, 0.4, at)
    energy = swept.energy
    slope = -(energy[1] - energy[2]) / (2 * step)
    assert slope == pytest.approx(linkage[0, 0], rel=1e-4)
    self_U = (linkage[0, 1] - linkage[0, 2]) / (2 * step)
    curvature = -(energy[1] - 2 * energy[0] + energy[2]) / step**2
    assert curvature == pytest.approx(self_U, rel=2e-3)
    U_of_V = (linkage[0, 3] - linkage[0, 4]) / (2 * step)
    V_of_U = (linkage[1, 1] - linkage[1, 2]) / (2 * step)
    assert U_of_V == pytest.approx(V_of_U, rel=2e-3, abs=1e-4 * self_U)


@pytest.mark.parametrize("name", LINEAR)
def test_dq_inductances_are_those_of_the_matrix_of_the_phases(name: str) -> None:
    # L_d = 2/3 kᵀ L k with k the cosines of the three phases against the d axis, L_q with minus
    # their sines (Park, amplitude-invariant; from memory); rotor at 0.
    one = machine(name)
    p = one.motor.rotor.pole_pairs
    electrical = -p * d_axis_angle(half_slot_turns(one.winding), p) - 2 * math.pi / 3 * np.arange(3)
    phases = matrix(name) * one.motor.stack_length
    along_d, along_q = np.cos(electrical), -np.sin(electrical)
    found = phase_inductances(linear_problem(name), Phases.of(one.winding, one.motor), is_even=True)
    assert found.matrix[:, :, 0] == pytest.approx(phases, rel=1e-9)
    at_zero = replace(
        found, angle=np.zeros(1), matrix=found.matrix[:, :, :1], electrical=found.electrical[:1]
    )
    d, q = at_zero.d, at_zero.q
    assert d == pytest.approx(2 / 3 * along_d @ phases @ along_d, rel=1e-7)
    assert q == pytest.approx(2 / 3 * along_q @ phases @ along_q, rel=1e-7)
    # Saliency turns with the rotor, so that the mean over the angles is hardly another.
    assert (found.d, found.q) == pytest.approx((d, q), rel=5e-3)
    if name == "slotless, open":
        # No saliency, and the currents of a balanced winding add up to nothing: L − M.
        expected = np.trace(phases) / 3 - (phases.sum() - np.trace(phases)) / 6
        assert (d, q) == pytest.approx((expected, expected), rel=1e-6)


@pytest.mark.parametrize("name", ["printed_18s16p", "steel_9s12p"])
def test_inductances_of_sixty_degrees_serve_for_all(name: str) -> None:
    # Symmetry of the three phases and of the two poles, against a solution at every angle; where
    # iron saturates, around the magnets' field.
    one = machine(name)
    phases = Phases.of(one.winding, one.motor)
    sectors = symmetry(one.motor, phases.turns)
    problem = motor_problem(one.motor, one.mesh, sectors=sectors)
    even = phase_inductances(problem, phases, is_even=True)
    every = phase_inductances(problem, phases, is_even=False)
    assert even.angle[::2] == pytest.approx(every.angle)
    assert even.matrix[:, :, ::2] == pytest.approx(every.matrix, abs=1e-4 * every.matrix.max())


def test_the_tangent_of_the_field_is_the_difference_of_two_fields() -> None:
    # Central difference of linkages over a small current, saturating iron, rotor at 0.
    one = machine("steel_9s12p")
    phases = Phases.of(one.winding, one.motor)
    sectors = symmetry(one.motor, phases.turns)
    problem = motor_problem(one.motor, one.mesh, sectors=sectors)
    found = phase_inductances(problem, phases, is_even=True).matrix[:, 0, 0]
    step = 0.1
    _, linkage = held(one, problem, 0.0, np.array([[step, -step], [0, 0], [0, 0]]))
    by_difference = one.motor.stack_length * (linkage[:, 0] - linkage[:, 1]) / (2 * step)
    assert found == pytest.approx(by_difference, rel=1e-3, abs=1e-4 * found[0])


def in_a_tube(coils: tuple[str, ...], wall: float) -> FloatArray:
    """Return the 3 × 3 inductances per turn² and metre of coils in a tube of perfect iron.

    A_n(r) = μ₀/(2n) ∫ J_n(r') [(r</r>)^n + (r r'/b²)^n] r' dr': Green's function of Laplace's
    equation with ∂A/∂r = 0 on the wall b; ψ = 2π Σ ∫ J_n* A_n r dr. Derived here. Coil sides as
    in the design "slotless": 12.3 to 18.7 mm, from 2.3 mm beside the tooth's axis to the slot's.
    """
    edges = np.linspace(0.0123, 0.0187, 801)
    r, dr = (edges[1:] + edges[:-1]) / 2, np.diff(edges)[0]
    start, end = np.arcsin(0.0023 / r), math.pi / 12
    area = np.sum(r * (end - start)) * dr
    found = np.zeros((3, 3))
    for n in range(1, 300):
        # One turn: current up on the counter-clockwise side, down on the clockwise one.
        wave = (np.exp(-1j * n * end) - np.exp(-1j * n * start)) / (-1j * n)
        side = (wave - wave.conj()) / (2 * math.pi * area)
        density = np.zeros((3, r.size), dtype=complex)
        for tooth, coil in enumerate(coils):
            sign = 1 if coil[1] == "+" else -1
            density["UVW".index(coil[0])] += sign * side * np.exp(-1j * n * math.pi / 6 * tooth)
        inside, outside = density * (r / wall) ** n * r, density * (r / wall) ** -n * r
        below = (np.cumsum(inside, axis=1) - inside / 2) * dr
        above = (np.cumsum(outside[:, ::-1], axis=1)[:, ::-1] - outside / 2) * dr
        image = np.sum(inside, axis=1)[:, None] * dr
        potential = (r / wall) ** -n * below + (r / wall) ** n * (above + image)
        mean = MU_0 / (2 * n) * potential
        found += 2 * (2 * math.pi * np.einsum("ar,br->ab", density.conj(), mean * r) * dr).real
    return found


def test_coils_in_a_tube_of_iron_have_the_inductance_of_the_closed_form() -> None:
    tables = copy.deepcopy(SLOTLESS)
    tables["materials"]["strong"]["recoil_permeability"] = 1.0
    one = machine_of(fm.MotorDesign.from_dict({"title": "Tube", **tables}))
    found = phase_inductances(one.problem, Phases.of(one.winding, one.motor), is_even=True)
    per_turn = found.matrix[:, :, 0] / (10**2 * one.motor.stack_length)
    assert per_turn == pytest.approx(in_a_tube(one.winding.coils, 0.0235), rel=1e-3)


def test_slot_permeance_of_a_plain_slot_is_a_third_of_its_height_over_its_width() -> None:
    # Width 5, copper 10, opening 1 x 2 mm: h/(3b) + h0/b0 (R. Richter; Pyrhönen et al., from
    # memory).
    y = np.concatenate([np.linspace(0, 10e-3, 4001), np.linspace(10e-3, 11e-3, 11)])
    width = np.concatenate([np.full(4001, 5e-3), np.full(11, 2e-3)])
    filled = np.concatenate([np.full(4001, 5e-3), np.zeros(11)])
    assert slot_permeance(y, width, filled) == pytest.approx(10 / 15 + 1 / 2, rel=1e-3)


def test_slot_permeance_of_a_polar_slot_is_that_of_the_closed_form() -> None:
    # Body 12.5 to 19 mm, 16° wide: (β J²/4) [(Rt⁴ − Rb⁴)/4 − Rb² (Rt² − Rb²) + Rb⁴ ln(Rt/Rb)]
    # per I², J = 2/(β (Rt² − Rb²)); derived from Ampère's law on arcs.
    low, high, beta = 12.5e-3, 19e-3, math.radians(16)
    density = 2 / (beta * (high**2 - low**2))
    bracket = (high**4 - low**4) / 4 - low**2 * (high**2 - low**2) + low**4 * math.log(high / low)
    r = np.linspace(low, high, 4001)
    expected = beta * density**2 / 4 * bracket
    assert expected == pytest.approx(0.402065, abs=1e-6)
    assert slot_permeance(r, beta * r, beta * r) == pytest.approx(expected, rel=1e-4)


def test_park_takes_turning_currents_to_i_d_and_i_q() -> None:
    # i_q = I cos γ, i_d = −I sin γ.
    angles = np.linspace(0, 1, 7)
    currents = turning_currents(angles, peak=5.0, current_angle=0.4, d_axis=0.2, pole_pairs=7)
    i_d, i_q = to_dq(currents, 7 * (angles - 0.2))
    assert i_d == pytest.approx(np.full(7, -5 * math.sin(0.4)))
    assert i_q == pytest.approx(np.full(7, 5 * math.cos(0.4)))
    assert currents.sum(axis=0) == pytest.approx(np.zeros(7), abs=1e-12)


@pytest.mark.parametrize("circuits", [1, 2])
def test_end_turns_of_a_branch_add_their_coils_in_series(circuits: int) -> None:
    # Common practice, no source: a loop of N turns with end turns of length l has about
    # 0.3 μ₀ N² l, between 0.2 and 0.4. Six coils a phase in series; in two circuits three in
    # series, and half of that.
    motor = design_of("printed_18s16p").replace("winding.parallel_circuits", circuits).motor
    winding = wind(motor)
    ends = winding.turn_length - 2 * 0.020
    one_coil = 0.3 * MU_0 * 14**2 * ends
    expected = {1: 6 * one_coil, 2: 3 * one_coil / 2}[circuits]
    assert end_turn_inductance(motor, winding) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("name", ["printed_18s16p", "single layer", "steel_9s12p"])
def test_every_coil_goes_there_and_comes_back(name: str) -> None:
    # Turns along +z of a phase add up to nothing, and those upwards are all of its turns.
    winding = machine(name).winding
    turns = half_slot_turns(winding)
    coils = sum(coil.startswith("U") for coil in winding.coils)
    assert turns.sum(axis=(1, 2)) == pytest.approx(np.zeros(3), abs=1e-12)
    assert turns[0][turns[0] > 0].sum() == pytest.approx(coils * winding.turns_per_tooth)


def test_a_single_layer_fills_both_halves_of_its_slots() -> None:
    # Tooth 1 carries a coil, teeth 2 and 12 none: each side of the coil stands half in its own
    # half of the slot and half in that of the neighbour, with the same sign.
    winding = machine("single layer").winding
    turns = half_slot_turns(winding)
    phase = "UVW".index(winding.coils[0][0])
    signed = winding.turns_per_tooth * (1 if winding.coils[0][1] == "+" else -1)
    assert turns[phase, 0, 1] == turns[phase, 1, 0] == signed / 2
    assert turns[phase, 0, 0] == turns[phase, 11, 1] == -signed / 2
