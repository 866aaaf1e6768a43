"""Meshes of all options: areas, boundaries, orientation, and the whole circle made of them."""

import math

import numpy as np
import pytest
from mesh_designs import CHANGES, mesh_of, motor_of

from fem_motor.mesh import REGIONS, HalfCell
from fem_motor.section import HalfCellOutline, cross_section

NAMES = list(CHANGES)
BODIES = ("stator", "rotor")

MIDDLES = ((0, 1, 3), (1, 2, 4), (2, 0, 5))
"""Corner, corner and middle of the edges of a triangle: the order that the record promises."""


def cell_of(name: str, body: str) -> HalfCell:
    cell = getattr(mesh_of(name), body)
    assert isinstance(cell, HalfCell)
    return cell


def outline_of(name: str, body: str) -> HalfCellOutline:
    outline = getattr(cross_section(motor_of(name)), body)
    assert isinstance(outline, HalfCellOutline)
    return outline


def jacobians(cell: HalfCell, s: float, t: float) -> np.ndarray:
    """Return the determinant of the map from the reference triangle at (s, t), (m,)."""
    r = 1 - s - t
    by_s = np.array([1 - 4 * r, 4 * s - 1, 0, 4 * (r - s), 4 * t, -4 * t])
    by_t = np.array([1 - 4 * r, 0, 4 * t - 1, -4 * s, 4 * s, 4 * (r - t)])
    points = cell.points[:, cell.triangles]
    d_s, d_t = np.einsum("dim,i->dm", points, by_s), np.einsum("dim,i->dm", points, by_t)
    return d_s[0] * d_t[1] - d_s[1] * d_t[0]


def areas(cell: HalfCell) -> np.ndarray:
    """Return element areas, (m,): the determinant is quadratic, three middles integrate it."""
    return sum(jacobians(cell, s, t) for s, t in ((0.5, 0), (0.5, 0.5), (0, 0.5))) / 6


def edges(cell: HalfCell) -> tuple[np.ndarray, np.ndarray]:
    """Return (start, middle, end) of each edge once, (3, e), and its number of elements, (e,)."""
    all_edges = np.concatenate([cell.triangles[[a, c, b]] for a, b, c in MIDDLES], axis=1)
    ends = np.sort(all_edges[[0, 2]], axis=0)
    _, first, count = np.unique(ends, axis=1, return_index=True, return_counts=True)
    return all_edges[:, first], count


def distances(cell: HalfCell) -> dict[str, np.ndarray]:
    """Return the distance of each node from the four declared boundaries, over the gap radius."""
    x, y = cell.points
    across = y * math.cos(cell.half_pitch) - x * math.sin(cell.half_pitch)
    radius = np.hypot(x, y)
    return {
        "start_side": np.abs(y) / cell.gap_radius,
        "end_side": np.abs(across) / cell.gap_radius,
        "gap_circle": np.abs(radius / cell.gap_radius - 1),
        "far_circle": np.abs(radius - cell.far_radius) / cell.gap_radius,
    }


every_cell = pytest.mark.parametrize("name", NAMES)
every_body = pytest.mark.parametrize("body", BODIES)


@every_cell
@every_body
def test_regions_have_the_areas_of_the_drawing(name: str, body: str) -> None:
    # An edge of 0.1 rad misses angle⁴/480 = 2e-7 of the area below its arc.
    cell, outline = cell_of(name, body), outline_of(name, body)
    found = np.bincount(cell.region, weights=areas(cell), minlength=len(REGIONS))
    wanted = [sum(r.area for r in outline.regions if r.label == label) for label in REGIONS]
    assert found == pytest.approx(wanted, rel=1e-6, abs=1e-18)


@every_cell
@every_body
def test_edges_with_one_element_lie_on_declared_boundaries(name: str, body: str) -> None:
    cell = cell_of(name, body)
    nodes, count = edges(cell)
    assert set(count) == {1, 2}
    rim = nodes[:, count == 1]
    on = {
        side: (distance[rim] < 1e-9).all(axis=0) & np.isin(rim, getattr(cell, side)).all(axis=0)
        for side, distance in distances(cell).items()
    }
    assert (sum(on.values()) == 1).all()
    assert (on["gap_circle"].sum(), on["far_circle"].sum()) == (
        len(cell.gap_circle) // 2,
        len(cell.far_circle) // 2,
    )


@every_cell
@every_body
def test_boundaries_list_all_their_nodes_in_order(name: str, body: str) -> None:
    cell = cell_of(name, body)
    radius, angle = np.hypot(*cell.points), np.arctan2(cell.points[1], cell.points[0])
    corners = np.unique(cell.triangles[:3])
    for side, distance in distances(cell).items():
        nodes = getattr(cell, side)
        along = radius if side.endswith("side") else angle
        assert sorted(nodes) == np.flatnonzero(distance < 1e-9).tolist()
        assert (np.diff(along[nodes]) > 0).all()
        assert np.isin(nodes[::2], corners).all()
        assert not np.isin(nodes[1::2], corners).any()


@every_cell
@every_body
def test_elements_run_counter_clockwise_and_are_nowhere_folded(name: str, body: str) -> None:
    cell = cell_of(name, body)
    steps = np.linspace(0, 1, 6)
    smallest = min(jacobians(cell, s, t).min() for s in steps for t in steps if s + t <= 1)
    assert smallest > 0


@every_cell
@every_body
def test_gap_circles_are_cut_into_equal_steps(name: str, body: str) -> None:
    cell = cell_of(name, body)
    angle = np.arctan2(*cell.points[::-1, cell.gap_circle])
    # To a millionth of a step: gmsh places nodes by integrating along the curve.
    steps = len(angle) - 1
    wanted = cell.half_pitch * np.arange(steps + 1) / steps
    assert angle == pytest.approx(wanted, abs=1e-6 * cell.half_pitch / steps)


@every_cell
@every_body
def test_copies_turned_and_mirrored_close_the_whole_circle(name: str, body: str) -> None:
    # Every second copy is mirrored, so each side meets its own image. Merged by where they lie:
    # then edges with one element are left on the two circles alone.
    cell = cell_of(name, body)
    pitches = motor_of(name).stator.slots if body == "stator" else motor_of(name).rotor.segments
    assert cell.half_pitch == pytest.approx(math.pi / pitches, rel=1e-12)
    pitches = min(pitches, 4)  # enough for two whole pitches with neighbours on both sides
    points = np.concatenate(
        [
            np.exp(2j * cell.half_pitch * pitch) * half
            for pitch in range(pitches)
            for half in (cell.points[0] + 1j * cell.points[1], cell.points[0] - 1j * cell.points[1])
        ]
    )
    near = np.round(points / cell.gap_radius * 2e8)
    _, first, merged = np.unique(near, return_index=True, return_inverse=True)
    assert np.abs(points - points[first][merged]).max() < 1e-9 * cell.gap_radius
    number = cell.points.shape[1]
    copies = [merged[cell.triangles[:3] + copy * number] for copy in range(2 * pitches)]
    triangles = np.concatenate(copies, axis=1)
    ends = np.sort(np.concatenate([triangles[[a, b]] for a, b, _ in MIDDLES], axis=1), axis=0)
    unique, count = np.unique(ends, axis=1, return_counts=True)
    assert set(count) == {1, 2}
    open_ends = points[first][unique[:, count == 1]]
    # All but the two sides of the sector, which are straight and lie half a pitch outside.
    turned = np.angle(open_ends * np.exp(1j * cell.half_pitch))
    inner = (np.abs(turned) > 1e-6) & (np.abs(turned - 2 * cell.half_pitch * pitches) > 1e-6)
    inner &= np.abs(turned + 2 * math.pi - 2 * cell.half_pitch * pitches) > 1e-6
    radii = np.abs(open_ends[:, inner.any(axis=0)])
    on_gap = np.abs(radii / cell.gap_radius - 1) < 1e-9
    on_far = np.abs(radii - cell.far_radius) < 1e-9 * cell.gap_radius
    assert (on_gap | on_far).all()
    assert on_gap.all(axis=0).sum() == 2 * pitches * (len(cell.gap_circle) // 2)


@every_cell
@every_body
def test_all_copies_together_have_the_areas_of_the_whole_machine(name: str, body: str) -> None:
    # Whole discs and rings: π (R² − r²), by the radii of the design.
    motor, cell = motor_of(name), cell_of(name, body)
    by_region = dict.fromkeys(REGIONS, 0.0)
    for label, area in zip(np.array(REGIONS)[cell.region], areas(cell), strict=True):
        by_region[label] += area
    rotor = motor.rotor
    if body == "stator":
        copies = 2 * motor.stator.slots
        assert copies * (by_region["core"] + by_region["coil"] + by_region["air"]) == pytest.approx(
            math.pi * (motor.stator.outer_radius**2 - cell.far_radius**2), rel=1e-6
        )
        return
    copies = 2 * rotor.segments
    inner, outer = rotor.magnet_outer_radius, rotor.ring_outer_radius
    assert copies * by_region["ring"] == pytest.approx(
        math.pi * (outer**2 - inner**2), rel=1e-6, abs=1e-15
    )
    if rotor.magnet_width is not None:
        magnets = rotor.segments * rotor.magnet_width * rotor.magnet_thickness
    else:
        assert rotor.magnet_arc_fraction is not None
        low = rotor.magnet_inner_radius
        rings = math.pi * ((low + rotor.magnet_thickness) ** 2 - low**2)
        magnets = rotor.magnet_arc_fraction * rings
    assert copies * by_region["magnet"] == pytest.approx(magnets, rel=1e-6)


def test_a_solid_core_is_meshed_to_its_centre() -> None:
    cell = cell_of("solid core", "stator")
    assert cell.far_radius == 0
    assert cell.points[:, cell.far_circle] == pytest.approx(np.zeros((2, 1)), abs=1e-15)


@pytest.mark.parametrize("name", ["printed_18s16p", "steel_12s14p"])
def test_middles_of_edges_lie_on_the_true_curve(name: str) -> None:
    # On the circle through the tooth tips, where straight edges would stand inside it.
    cell, tips = cell_of(name, "stator"), motor_of(name).stator.outer_radius
    nodes, _ = edges(cell)
    radius = np.hypot(*cell.points[:, nodes])
    on_tips = (np.abs(radius[[0, 2]] / tips - 1) < 1e-9).all(axis=0)
    assert on_tips.sum() > 3
    assert radius[1, on_tips] == pytest.approx(np.full(on_tips.sum(), tips), rel=1e-9)
