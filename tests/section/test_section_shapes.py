"""What the outlines look like: closed, shared, on their circles; and the design's shapes."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from fem_motor.design import Motor, load_design
from fem_motor.errors import MeshError
from fem_motor.section import Arc, HalfCellOutline, Line, Region, cross_section
from fem_motor.section.shapes import remainder, reverse, ring_sector

GEOMETRIES = Path(__file__).resolve().parents[2] / "geometries"

TOUCHING = 2 * 28.8 * math.tan(math.pi / 16)
"""Width in mm at which 16 blocks around a circle of radius 28.8 mm touch: tangent polygon."""


def motor(file: str, **changes: object) -> Motor:
    return load_design(GEOMETRIES / f"{file}.toml").replace(**changes).motor


CELLS = [
    pytest.param(getattr(cross_section(motor(file, **changes)), body), id=f"{name}: {body}")
    for name, file, changes in (
        ("blocks", "printed_18s16p", {}),
        ("blocks that touch", "printed_18s16p", {"rotor__magnet_width_mm": TOUCHING}),
        ("blocks in a ring", "printed_18s16p_ring", {}),
        ("touching in a ring", "printed_18s16p_ring", {"rotor__magnet_width_mm": TOUCHING}),
        ("arcs in a ring", "steel_12s14p", {}),
        ("skin", "steel_12s14p", {"rotor__pocket_skin_mm": 0.4}),
        ("concentric tips", "steel_9s12p", {}),
        ("no liner", "printed_18s16p", {"stator__slot_liner_mm": 0.0}),
    )
    for body in ("stator", "rotor")
]


def is_on_the_rim(edge: Line | Arc, cell: HalfCellOutline) -> bool:
    """Return whether an edge lies on a side of the half cell or on its last circles."""
    points = (edge.start, edge.end)
    if isinstance(edge, Arc):
        radii = [math.hypot(*point) for point in points]
        return any(
            radii == pytest.approx([r, r], rel=1e-9) for r in (cell.gap_radius, cell.far_radius)
        )
    off = [
        [abs(y * math.cos(angle) - x * math.sin(angle)) for x, y in points]
        for angle in (0.0, cell.half_pitch)
    ]
    return any(max(side) < 1e-9 * cell.gap_radius for side in off)


def labels(cell: HalfCellOutline, label: str) -> list[Region]:
    return [region for region in cell.regions if region.label == label]


@pytest.mark.parametrize("cell", CELLS)
def test_outlines_are_closed(cell: HalfCellOutline) -> None:
    for region in cell.regions:
        for edge, after in zip(region.edges, (*region.edges[1:], region.edges[0]), strict=True):
            assert edge.end == after.start
            assert edge.start != edge.end


@pytest.mark.parametrize("cell", CELLS)
def test_arcs_stay_on_their_circle(cell: HalfCellOutline) -> None:
    for region in cell.regions:
        for edge in region.edges:
            if isinstance(edge, Arc):
                start, end = math.hypot(*edge.start), math.hypot(*edge.end)
                assert start == pytest.approx(end, rel=1e-12)


@pytest.mark.parametrize("cell", CELLS)
def test_neighbours_share_their_edges_and_the_rest_lies_on_the_rim(cell: HalfCellOutline) -> None:
    edges = [edge for region in cell.regions for edge in region.edges]
    assert len(set(edges)) == len(edges)
    for edge in edges:
        assert (reverse(edge) in edges) != is_on_the_rim(edge, cell)


def test_gap_circles_stand_at_the_asked_part_of_the_air_gap() -> None:
    found = cross_section(motor("printed_18s16p"), gap_position=0.25)
    # 56 mm across the tips, 0.8 mm of air gap: a quarter of it from either side.
    assert found.stator.gap_radius == pytest.approx(28.2e-3, rel=1e-12)
    assert found.rotor.gap_radius == pytest.approx(28.6e-3, rel=1e-12)


def test_tips_without_taper_have_a_concentric_underside() -> None:
    (core,) = labels(cross_section(motor("steel_9s12p")).stator, "core")
    tip_circle = 14e-3 - 0.8e-3
    arcs = [edge for edge in core.edges if isinstance(edge, Arc)]
    assert any(math.hypot(*edge.start) == pytest.approx(tip_circle, rel=1e-12) for edge in arcs)


def test_tips_with_taper_have_a_straight_underside_at_that_angle() -> None:
    # The angle is that of the line against the circle at the inner corner of the opening.
    (core,) = labels(cross_section(motor("printed_18s16p")).stator, "core")
    corner = next(
        edge for edge in core.edges if math.hypot(*edge.start) == pytest.approx(27e-3, rel=1e-9)
    )
    assert isinstance(corner, Line)
    (x, y), (end_x, end_y) = corner.start, corner.end
    along = (end_x - x, end_y - y)
    around, outward = (y, -x), (x, y)  # towards the tooth, and away from the shaft
    taper = math.atan2(
        -(along[0] * outward[0] + along[1] * outward[1]),
        along[0] * around[0] + along[1] * around[1],
    )
    assert math.degrees(taper) == pytest.approx(20.0, rel=1e-9)
    assert end_y == pytest.approx(2e-3, rel=1e-12)  # on the side of a tooth 4 mm wide


def test_teeth_as_wide_as_the_opening_leaves_have_no_tip() -> None:
    tooth = 2 * (28 - 1) * math.sin(math.radians(10) - 6.0 / 28 / 2)
    whole = motor("printed_18s16p", stator__slot_opening_mm=6.0, stator__tooth_width_mm=tooth)
    cell = cross_section(whole).stator
    (core,) = labels(cell, "core")
    assert len(core.edges) == 7  # one fewer than with an underside
    assert cell.narrow == ()


def test_a_block_touches_the_inner_circle_at_its_middle() -> None:
    (magnet,) = labels(cross_section(motor("printed_18s16p")).rotor, "magnet")
    x, y = zip(*(edge.start for edge in magnet.edges), strict=True)
    assert (min(x), max(x)) == pytest.approx((28.8e-3, 31.8e-3), rel=1e-12)
    assert (min(y), max(y)) == pytest.approx((0.0, 4e-3), rel=1e-12)


def test_a_ring_begins_at_the_outer_corners_of_the_blocks() -> None:
    (ring,) = labels(cross_section(motor("printed_18s16p_ring")).rotor, "ring")
    inner = min(math.hypot(*edge.start) for edge in ring.edges)
    assert inner == pytest.approx(math.hypot(31.8e-3, 4e-3), rel=1e-12)


def test_blocks_that_touch_part_the_air_in_two() -> None:
    apart = cross_section(motor("printed_18s16p")).rotor
    touching = cross_section(motor("printed_18s16p", rotor__magnet_width_mm=TOUCHING)).rotor
    assert len(labels(apart, "air")) == 1
    assert len(labels(touching, "air")) == 2
    assert touching.narrow == ()


def test_a_skin_moves_magnets_away_from_the_air_gap() -> None:
    (magnet,) = labels(
        cross_section(motor("steel_12s14p", rotor__pocket_skin_mm=0.4)).rotor, "magnet"
    )
    inner = min(math.hypot(*edge.start) for edge in magnet.edges)
    assert inner == pytest.approx(25e-3 + 0.5e-3 + 0.4e-3, rel=1e-12)


def test_segments_share_the_pole_pitch() -> None:
    for segments in (2, 3, 4):
        cell = cross_section(
            motor(
                "halbach_18s16p",
                rotor__segments_per_pole=segments,
                rotor__magnet_width_mm=10.0 / segments,
            )
        ).rotor
        assert cell.half_pitch == pytest.approx(math.pi / (16 * segments), rel=1e-12)


def test_what_is_left_of_a_ring_sector_beside_another_has_the_difference_of_areas() -> None:
    outer, inner = ring_sector(1.0, 3.0, 0.5), ring_sector(1.0, 2.0, 0.5)
    with_node = (
        Line((1.0, 0.0), (2.0, 0.0)),
        Line((2.0, 0.0), (3.0, 0.0)),
        outer[1],
        Line(outer[2].start, inner[2].start),
        inner[2],
        inner[3],
    )
    (left,) = remainder(with_node, inner)
    # Ring sector from 2 to 3 over half a radian: (9 − 4) / 4.
    assert Region(label="air", edges=left).area == pytest.approx(1.25, rel=1e-12)


@pytest.mark.parametrize(
    "wrong",
    [
        {"slot_liner": 7e-3},
        {"tooth_width": 31e-3},
        {"slot_opening": 10e-3},
        {"yoke_thickness": 16.5e-3},
        {"tip_thickness": 13e-3},
        {"inner_radius": 24e-3},
    ],
)
def test_a_stator_without_a_slot_is_refused(wrong: dict[str, float]) -> None:
    # The design room refuses these with their keys; whoever makes a Motor by hand gets here.
    whole = motor("printed_18s16p")
    with pytest.raises(MeshError, match="section of the stator has no slot"):
        cross_section(replace(whole, stator=replace(whole.stator, **wrong)))
