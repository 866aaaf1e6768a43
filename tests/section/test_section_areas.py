"""Areas of the outlines against hand formulas, against quadrature and against polygons."""

import math
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from strategies import designs, narrow_openings

from fem_motor.design import Motor, MotorDesign, Stator, coil_side_area, load_design
from fem_motor.mesh.outlines import check_outlines
from fem_motor.section import Arc, Edge, HalfCellOutline, cross_section

GEOMETRIES = Path(__file__).resolve().parents[2] / "geometries"

NO_RING = {"rotor__ring_material": "none", "rotor__ring_thickness_mm": 0.0}

MOTORS: dict[str, Motor] = {
    name: load_design(GEOMETRIES / f"{file}.toml").replace(**changes).motor
    for name, file, changes in (
        ("blocks, taper, liner", "printed_18s16p", {}),
        ("blocks in a ring", "printed_18s16p_ring", {}),
        ("arcs in a ring", "steel_12s14p", {}),
        ("concentric tips", "steel_9s12p", {}),
        ("no liner", "printed_18s16p", {"stator__slot_liner_mm": 0.0}),
        ("solid core", "steel_12s14p", {
            "stator__inner_diameter_mm": 0.0, "stator__yoke_thickness_mm": 13.5,
        }),
        ("skin", "steel_12s14p", {"rotor__pocket_skin_mm": 0.4} | NO_RING),
        ("arcs that touch", "steel_12s14p", {"rotor__magnet_arc_fraction": 1.0}),
        ("Halbach", "halbach_18s16p", {}),
    )
}  # fmt: skip

CELLS = [
    pytest.param(getattr(cross_section(motor), body), id=f"{name}: {body}")
    for name, motor in MOTORS.items()
    for body in ("stator", "rotor")
]


def area_of(cell: HalfCellOutline, label: str) -> float:
    return sum(region.area for region in cell.regions if region.label == label)


def sampled(edges: tuple[Edge, ...], pieces: int) -> Iterator[tuple[float, float]]:
    """Yield corners of a polygon along an outline, its arcs in many chords."""
    for edge in edges:
        (x0, y0), (x1, y1) = edge.start, edge.end
        for part in np.arange(pieces) / pieces:
            if isinstance(edge, Arc):
                angle = (1 - part) * math.atan2(y0, x0) + part * math.atan2(y1, x1)
                yield math.hypot(x0, y0) * math.cos(angle), math.hypot(x0, y0) * math.sin(angle)
            else:
                yield (1 - part) * x0 + part * x1, (1 - part) * y0 + part * y1


def shoelace(corners: list[tuple[float, float]]) -> float:
    x, y = np.array(corners).T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


def beside_axis(radius: float, height: float) -> float:
    """Return ∫ √(r² − y²) dy from 0 to `height`: what lies inside a circle, from the axis up."""
    return (height * math.sqrt(radius**2 - height**2) + radius**2 * math.asin(height / radius)) / 2


def tooth_and_tip(stator: Stator) -> float:
    """Return the area of half a tooth with its tip by hand: yoke sector, tooth, tip, taper."""
    half_pitch, half_tooth = math.pi / stator.slots, stator.tooth_width / 2
    opening = half_pitch - stator.slot_opening / stator.outer_radius / 2
    tip = stator.outer_radius - stator.tip_thickness
    area = half_pitch / 2 * (stator.yoke_radius**2 - stator.inner_radius**2)
    area += beside_axis(tip, half_tooth) - beside_axis(stator.yoke_radius, half_tooth)
    area += opening / 2 * (stator.outer_radius**2 - tip**2)
    if stator.tip_taper > 0:
        # From the inner corner along the circle towards the tooth, turned inwards by the taper.
        corner_x, corner_y = tip * math.cos(opening), tip * math.sin(opening)
        along_x = math.cos(stator.tip_taper) * math.sin(opening)
        along_x -= math.sin(stator.tip_taper) * math.cos(opening)
        along_y = -math.cos(stator.tip_taper) * math.cos(opening)
        along_y -= math.sin(stator.tip_taper) * math.sin(opening)
        height = corner_y - half_tooth
        end_x = corner_x - height * along_x / along_y
        area += beside_axis(tip, corner_y) - beside_axis(tip, half_tooth)
        area -= height * (corner_x + end_x) / 2
    return area


@pytest.mark.parametrize("cell", CELLS)
def test_an_outline_has_the_area_of_the_polygon_that_follows_it(cell: HalfCellOutline) -> None:
    # Shoelace formula; 3000 chords miss θ²/6/3000² < 3e-8 of the sector below an arc.
    for region in cell.regions:
        polygon = shoelace(list(sampled(region.edges, 3000)))
        sector = cell.half_pitch / 2 * max(math.hypot(*edge.start) for edge in region.edges) ** 2
        assert region.area == pytest.approx(polygon, rel=1e-9, abs=1e-7 * sector)
        assert region.area > 0


@pytest.mark.parametrize("cell", CELLS)
def test_the_regions_fill_the_half_cell_without_overlap(cell: HalfCellOutline) -> None:
    # Ring sector: half the angle times the difference of the squared radii.
    sector = cell.half_pitch / 2 * abs(cell.gap_radius**2 - cell.far_radius**2)
    assert sum(region.area for region in cell.regions) == pytest.approx(sector, rel=1e-12)


@pytest.mark.parametrize("motor", MOTORS.values(), ids=MOTORS.keys())
def test_the_core_has_the_area_of_yoke_tooth_and_tip(motor: Motor) -> None:
    assert area_of(cross_section(motor).stator, "core") == pytest.approx(
        tooth_and_tip(motor.stator), rel=1e-12
    )


@pytest.mark.parametrize("motor", MOTORS.values(), ids=MOTORS.keys())
def test_a_coil_side_has_the_area_that_the_design_counts_copper_in(motor: Motor) -> None:
    # Second method: the closed form of the design room, by sectors and segments.
    assert area_of(cross_section(motor).stator, "coil") == pytest.approx(
        coil_side_area(motor.stator), rel=1e-12
    )


@settings(max_examples=60, deadline=None, derandomize=True)
@given(design=st.one_of(designs(), narrow_openings()))
def test_a_random_coil_side_has_the_area_that_the_design_counts_copper_in(
    design: MotorDesign,
) -> None:
    # The two rooms come to it on different ways: round the outline, and by what the tip takes.
    cell = cross_section(design.motor).stator
    assert area_of(cell, "coil") == pytest.approx(coil_side_area(design.motor.stator), rel=1e-12)
    check_outlines(cell, "stator")


def test_behind_a_narrow_opening_the_coil_begins_on_the_axis_where_both_undersides_meet() -> None:
    # A liner of 0.3 under a taper of 60°: below 2 · 0.3 · tan 30° = 0.346 mm of opening.
    # 0.2 mm on a radius of 28: r = (27 cos 60° − 0.3) / cos(60° + 0.1/28 rad), polar form.
    base = load_design(GEOMETRIES / "printed_18s16p.toml")
    motor = base.replace(stator__slot_opening_mm=0.2, stator__tip_taper_deg=60.0).motor
    assert motor.stator.outer_radius == pytest.approx(28e-3)
    assert motor.stator.slot_liner == pytest.approx(0.3e-3)
    (coil,) = (r for r in cross_section(motor).stator.regions if r.label == "coil")
    on_axis = [math.hypot(*e.start) for e in coil.edges if math.atan2(*e.start[::-1]) > 0.1745]
    corner = (27 * math.cos(math.radians(60)) - 0.3) / math.cos(math.radians(60) + 0.1 / 28)
    assert max(on_axis) * 1e3 == pytest.approx(corner, rel=1e-12)
    assert corner < 26.7
    assert not any(isinstance(e, Arc) and math.hypot(*e.start) > 20e-3 for e in coil.edges)


def test_a_coil_side_under_concentric_tips_is_what_the_liner_leaves() -> None:
    # Second method: at each radius the angle from the liner on the tooth to the slot's axis.
    stator = MOTORS["concentric tips"].stator
    side = stator.tooth_width / 2 + stator.slot_liner
    low = stator.yoke_radius + stator.slot_liner
    high = stator.outer_radius - stator.tip_thickness - stator.slot_liner
    integral, _ = quad(lambda r: r * (math.pi / stator.slots - math.asin(side / r)), low, high)
    found = area_of(cross_section(MOTORS["concentric tips"]).stator, "coil")
    assert found == pytest.approx(integral, rel=1e-9)


@pytest.mark.parametrize("name", ["blocks, taper, liner", "blocks in a ring", "Halbach"])
def test_half_a_block_has_half_of_width_times_thickness(name: str) -> None:
    rotor = MOTORS[name].rotor
    assert rotor.magnet_width is not None
    assert area_of(cross_section(MOTORS[name]).rotor, "magnet") == pytest.approx(
        rotor.magnet_width * rotor.magnet_thickness / 2, rel=1e-12
    )


@pytest.mark.parametrize("name", ["arcs in a ring", "skin", "arcs that touch"])
def test_half_an_arc_magnet_is_a_ring_sector(name: str) -> None:
    rotor = MOTORS[name].rotor
    assert rotor.magnet_arc_fraction is not None
    inner = rotor.magnet_inner_radius
    angle = rotor.magnet_arc_fraction * math.pi / rotor.segments
    wanted = angle / 2 * ((inner + rotor.magnet_thickness) ** 2 - inner**2)
    found = area_of(cross_section(MOTORS[name]).rotor, "magnet")
    assert found == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize("name", ["arcs in a ring", "blocks in a ring", "arcs that touch"])
def test_the_ring_is_a_ring_sector_from_the_outermost_points_of_the_magnets(name: str) -> None:
    rotor = MOTORS[name].rotor
    inner = rotor.magnet_inner_radius + rotor.magnet_thickness
    if rotor.magnet_width is not None:
        inner = math.hypot(inner, rotor.magnet_width / 2)
    wanted = math.pi / rotor.segments / 2 * ((inner + rotor.ring_thickness) ** 2 - inner**2)
    found = area_of(cross_section(MOTORS[name]).rotor, "ring")
    assert found == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize("motor", MOTORS.values(), ids=MOTORS.keys())
def test_the_gap_beside_the_stator_is_a_ring_sector(motor: Motor) -> None:
    stator = motor.stator
    circle = stator.outer_radius + 0.25 * motor.air_gap
    wanted = math.pi / stator.slots / 2 * (circle**2 - stator.outer_radius**2)
    found = area_of(cross_section(motor).stator, "gap")
    assert found == pytest.approx(wanted, rel=1e-9)
