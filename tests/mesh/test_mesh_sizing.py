"""How many edges and harmonics, and how quality changes them."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mesh_designs import GEOMETRIES, mesh_of, motor_of
from strategies import designs

from fem_motor.design import MotorDesign, load_design
from fem_motor.mesh import FINENESS, cross_cut, mesh_motor
from fem_motor.mesh.sizing import WIDEST_ANGLE, arc_edges


def test_the_cut_stands_three_pole_numbers_above_a_multiple_of_the_cogging_order() -> None:
    # lcm(24, 20) = 120, and 3 · 20 above it.
    assert cross_cut(slots=24, poles=20, ratio=1.05, coupling=0.07) == 180
    # ln(1 / 0.07) / ln 1.01 = 267.3 harmonics are wanted: 2 · 120 + 60 is the first above.
    assert cross_cut(slots=24, poles=20, ratio=1.01, coupling=0.07) == 300


def test_the_cut_ends_where_the_coupling_has_died_out() -> None:
    # Harmonic n couples as 2 ratio⁻ⁿ: below 1e-5 from n = ln(2e5) / ln 1.02 = 616.4 on.
    assert cross_cut(slots=90, poles=82, ratio=1.02, coupling=0.07) == 617


def test_three_pole_numbers_are_always_kept() -> None:
    assert cross_cut(slots=12, poles=14, ratio=2.0, coupling=0.07) == 42


def test_no_edge_spans_more_than_the_widest_angle() -> None:
    for slots in (3, 12, 90):
        edges = arc_edges(0, cells=2 * slots)
        assert edges >= 3
        assert math.pi / slots / edges <= WIDEST_ANGLE


def test_edges_of_a_half_cell_are_its_share_of_the_circle() -> None:
    assert arc_edges(1000, cells=24) == 42  # 41.7 rounded up


@pytest.mark.parametrize("name", ["printed_18s16p", "steel_12s14p"])
def test_gap_circles_carry_two_nodes_for_each_harmonic_of_the_cogging(name: str) -> None:
    # Nyquist, for lcm(slots, poles) and three pole numbers above it.
    motor, mesh = motor_of(name), mesh_of(name)
    highest = math.lcm(motor.stator.slots, motor.rotor.poles) + 3 * motor.rotor.poles
    for cell, pitches in ((mesh.stator, motor.stator.slots), (mesh.rotor, motor.rotor.segments)):
        nodes_around = 2 * pitches * (len(cell.gap_circle) - 1)
        assert nodes_around >= 2 * highest


def test_better_quality_has_more_and_shorter_edges_in_the_gap() -> None:
    motor = motor_of("steel_9s12p")
    meshes = [mesh_motor(motor, quality=quality) for quality in ("draft", "standard", "fine")]
    for body in ("stator", "rotor"):
        cells = [getattr(mesh, body) for mesh in meshes]
        around = [len(cell.gap_circle) for cell in cells]
        elements = [cell.region.size for cell in cells]
        assert sorted(set(around)) == around
        assert sorted(set(elements)) == elements


def test_a_fineness_of_ones_own_stands_for_a_quality() -> None:
    motor = motor_of("printed_18s16p")
    own = mesh_motor(motor, quality="fine", fineness=FINENESS["draft"])
    assert own.stator.points.shape == mesh_of("printed_18s16p").stator.points.shape


def test_the_gap_circles_stand_where_they_are_asked_to() -> None:
    # 56 mm across the tips, 0.8 mm of air gap: at 0.2 of it from either side.
    mesh = mesh_motor(motor_of("printed_18s16p"), quality="draft", gap_position=0.2)
    assert mesh.stator.gap_radius == pytest.approx(28.16e-3, rel=1e-12)
    assert mesh.rotor.gap_radius == pytest.approx(28.64e-3, rel=1e-12)


@pytest.mark.parametrize("liner", [0.005, 0.02, 0.05, 0.3])
@pytest.mark.parametrize("name", ["printed_18s16p", "steel_12s14p"])
def test_a_thin_liner_shortens_the_edges_along_it_and_nothing_is_refused(
    name: str, liner: float
) -> None:
    # Elements of a liner of thickness t with edges L are L / t times longer than wide: 40 is the
    # limit, which 12 mm of tooth in a dozen edges break below 0.025 mm.
    design = load_design(GEOMETRIES / f"{name}.toml")
    mesh_motor(design.replace(stator__slot_liner_mm=liner).motor, quality="draft")


@pytest.mark.slow
@settings(max_examples=25, deadline=None, derandomize=True)
@given(design=designs(largest_slots=18), liner=st.sampled_from([0.01, 0.03]))
def test_random_designs_with_hair_thin_liners_are_meshed(design: MotorDesign, liner: float) -> None:
    mesh_motor(design.replace("stator.slot_liner_mm", liner).motor, quality="draft")
