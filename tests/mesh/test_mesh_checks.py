"""A mesh that is torn, folded, mislabelled or full of needles is refused, with the reason."""

import math
from dataclasses import replace

import numpy as np
import pytest
from mesh_designs import mesh_of, motor_of

from fem_motor.errors import MeshError
from fem_motor.mesh import REGIONS, HalfCell
from fem_motor.mesh.checks import check_half_cell, element_areas, smallest_jacobian
from fem_motor.section import HalfCellOutline, cross_section

NAME = "steel_9s12p"


@pytest.fixture
def cell() -> HalfCell:
    return mesh_of(NAME).stator


@pytest.fixture
def outline() -> HalfCellOutline:
    return cross_section(motor_of(NAME)).stator


def refusal(cell: HalfCell, outline: HalfCellOutline) -> str:
    with pytest.raises(MeshError) as caught:
        check_half_cell(cell, outline, "stator")
    return str(caught.value)


def inner_corner(cell: HalfCell) -> tuple[int, np.ndarray]:
    """Return a corner node away from every boundary and region, and its elements."""
    for node in np.unique(cell.triangles[:3]):
        around = np.flatnonzero((cell.triangles[:3] == node).any(axis=0))
        ends = np.sort(cell.triangles[:3, around], axis=0)
        neighbours = np.unique(ends).size - 1
        if neighbours == around.size and np.ptp(cell.region[around]) == 0:
            return int(node), around
    pytest.fail("no node lies inside")


def triangle(points: list[tuple[float, float]]) -> HalfCell:
    """Return a half cell of one triangle."""
    nothing = np.zeros(0, dtype=int)
    return HalfCell(
        points=np.array(points).T,
        triangles=np.arange(6).reshape(6, 1),
        region=np.zeros(1, dtype=int),
        start_side=nothing,
        end_side=nothing,
        gap_circle=nothing,
        far_circle=nothing,
        half_pitch=math.pi / 2,
        gap_radius=1.0,
        far_radius=0.0,
    )


def test_a_good_mesh_passes(cell: HalfCell, outline: HalfCellOutline) -> None:
    check_half_cell(cell, outline, "stator")


def test_a_missing_element_is_a_wrong_area(cell: HalfCell, outline: HalfCellOutline) -> None:
    keep = np.arange(cell.region.size) != np.flatnonzero(cell.region == 0)[0]
    torn = replace(cell, triangles=cell.triangles[:, keep], region=cell.region[keep])
    assert refusal(torn, outline).startswith(
        "mesh of the stator: the region core has a wrong area.\n  why: its elements cover "
    )


def test_an_element_in_the_wrong_region_is_a_wrong_area(
    cell: HalfCell, outline: HalfCellOutline
) -> None:
    region = cell.region.copy()
    region[np.flatnonzero(region == REGIONS.index("coil"))[0]] = REGIONS.index("air")
    text = refusal(replace(cell, region=region), outline)
    assert "the region coil has a wrong area." in text
    assert text.endswith(
        "do:  look at the section with fem-motor check -o for parts that nearly touch."
    )


def test_a_ring_of_no_ring_is_a_wrong_area(cell: HalfCell, outline: HalfCellOutline) -> None:
    wrong = replace(cell, region=np.where(cell.region == 0, REGIONS.index("ring"), cell.region))
    assert "the region core has a wrong area." in refusal(wrong, outline)


def test_an_outline_of_another_size_is_a_wrong_area(cell: HalfCell) -> None:
    other = motor_of("steel_9s12p")
    wider = replace(other.stator, tooth_width=1.001 * other.stator.tooth_width)
    outline = cross_section(replace(other, stator=wider)).stator
    assert "has a wrong area." in refusal(cell, outline)


def test_a_tear_that_keeps_the_area_is_found(cell: HalfCell, outline: HalfCellOutline) -> None:
    # One element gets a corner and two middles of its own, at the same places: nothing moves,
    # but its neighbours no longer share edges with it: 3 edges of its own and 3 across the tear,
    # less none, for all its neighbours are inside.
    _, around = inner_corner(cell)
    element = around[0]
    number = cell.points.shape[1]
    own = cell.triangles[:, element]
    triangles = cell.triangles.copy()
    triangles[:, element] = number + np.arange(6)
    torn = replace(cell, points=np.hstack([cell.points, cell.points[:, own]]), triangles=triangles)
    text = refusal(torn, outline)
    assert text.splitlines()[:2] == [
        "mesh of the stator is torn.",
        "  why: inside it 6 edges have one element, and 0 more than two.",
    ]


def test_an_element_laid_twice_is_found(cell: HalfCell, outline: HalfCellOutline) -> None:
    # Twice the same element would change the area; a copy so small that it does not is a tear.
    node, around = inner_corner(cell)
    tiny = cell.points[:, [node]] + 1e-9 * np.array(
        [[0, 1, 0, 0.5, 0.5, 0], [0, 0, 1, 0, 0.5, 0.5]]
    )
    number = cell.points.shape[1]
    laid = replace(
        cell,
        points=np.hstack([cell.points, tiny]),
        triangles=np.hstack([cell.triangles, number + np.arange(6).reshape(6, 1)]),
        region=np.append(cell.region, cell.region[around[0]]),
    )
    assert "is torn." in refusal(laid, outline)


def test_an_edge_with_three_elements_is_found(cell: HalfCell, outline: HalfCellOutline) -> None:
    # A sliver of no area hung on an edge that has its two elements already.
    _, around = inner_corner(cell)
    number = cell.points.shape[1]
    a, b = cell.triangles[:2, around[0]]
    ends = cell.points[:, [a, b]]
    middle = ends.mean(axis=1, keepdims=True)
    sliver = np.array([[a], [b], [number], [number], [number], [number]])
    laid = replace(
        cell,
        points=np.hstack([cell.points, middle]),
        triangles=np.hstack([cell.triangles, sliver]),
        region=np.append(cell.region, cell.region[around[0]]),
    )
    assert "inside it 2 edges have one element, and 1 more than two." in refusal(laid, outline)


def test_an_undeclared_boundary_is_a_tear(cell: HalfCell, outline: HalfCellOutline) -> None:
    # The gap circle is one step longer: without it as many edges stand alone.
    hidden = replace(cell, gap_circle=np.zeros(0, dtype=int))
    edges = len(cell.gap_circle) // 2
    assert f"inside it {edges} edges have one element" in refusal(hidden, outline)


def test_a_folded_element_is_found(cell: HalfCell, outline: HalfCellOutline) -> None:
    # A node drawn across its neighbours leaves all areas together as they were.
    node, around = inner_corner(cell)
    points = cell.points.copy()
    ends = cell.triangles[:3, around[0]]
    far = points[:, ends[ends != node]].mean(axis=1)
    new = points[:, node] + 2.5 * (far - points[:, node])
    for element in around:
        corners, middles = cell.triangles[:3, element], cell.triangles[3:, element]
        for (one, other), middle in zip(((0, 1), (1, 2), (2, 0)), middles, strict=True):
            if node in corners[[one, other]]:
                rest = corners[other] if corners[one] == node else corners[one]
                points[:, middle] = (new + points[:, rest]) / 2
    points[:, node] = new
    assert "has an element turned inside out." in refusal(replace(cell, points=points), outline)


def test_needles_are_refused_where_a_part_is_too_thin() -> None:
    from fem_motor.mesh import mesh_motor  # noqa: PLC0415  (the only test here that meshes)

    motor = motor_of("printed_18s16p")
    thin = replace(motor.stator, slot_liner=1e-7)
    with pytest.raises(MeshError) as caught:
        mesh_motor(replace(motor, stator=thin), quality="draft")
    lines = str(caught.value).splitlines()
    assert lines[0] == "mesh of the stator has needles in its parts."
    assert lines[1].endswith(" times longer than wide; 40 is allowed.")
    assert lines[2] == "  do:  make thin spaces between parts thicker, or use another quality."


def test_the_area_of_a_straight_triangle_is_half_base_times_height() -> None:
    straight = triangle([(0, 0), (3, 0), (1, 2), (1.5, 0), (2, 1), (0.5, 1)])
    assert element_areas(straight) == pytest.approx([3.0], rel=1e-14)
    assert smallest_jacobian(straight) == pytest.approx(6.0, rel=1e-14)


def test_the_area_of_a_curved_triangle_adds_two_thirds_of_chord_times_sagitta() -> None:
    # Quadrature of the parabola (Archimedes): chord 3, bulging outwards by 0.3.
    curved = triangle([(0, 0), (3, 0), (1, 2), (1.5, -0.3), (2, 1), (0.5, 1)])
    assert element_areas(curved) == pytest.approx([3.0 + 2 / 3 * 3 * 0.3], rel=1e-14)


def test_the_area_of_a_sector_of_a_tenth_of_a_radian_errs_by_its_fourth_power_over_480() -> None:
    # Series: chord triangle sin h cos h, parabola 4/3 sin h (1 − cos h), arc h; h half the angle.
    # Their difference is h⁵/30, relative h⁴/30 = angle⁴/480.
    angle = 0.1
    rim = [(math.cos(t), math.sin(t)) for t in (0, angle, angle / 2)]
    straight = [(x / 2, y / 2) for x, y in rim[:2]]
    sector = triangle([(0, 0), rim[0], rim[1], straight[0], rim[2], straight[1]])
    missed = 1 - element_areas(sector)[0] / (angle / 2)
    assert missed == pytest.approx(angle**4 / 480, rel=0.01)


def test_a_middle_pulled_too_far_turns_a_triangle_inside_out() -> None:
    # A middle beyond the quarters of its edge makes the map fold (standard for six nodes).
    for middle, sign in ((0.26, 1), (0.24, -1)):
        bent = triangle([(0, 0), (1, 0), (0, 1), (middle, 0), (0.5, 0.5), (0, 0.5)])
        assert sign * smallest_jacobian(bent) > 0
