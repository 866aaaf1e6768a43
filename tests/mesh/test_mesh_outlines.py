"""Outlines that would keep gmsh busy for ever are refused before it sees them."""

import math
from contextlib import AbstractContextManager
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from mesh_designs import CHANGES, motor_of

from fem_motor.errors import MeshError
from fem_motor.mesh import mesh_motor, meshing
from fem_motor.mesh.outlines import check_outlines, meetings, sharpest_corner
from fem_motor.mesh.session import gmsh_model
from fem_motor.section import Arc, Edge, HalfCellOutline, Line, Point, Region, cross_section
from fem_motor.section.shapes import polar, ring_sector


def polygon(*corners: Point) -> tuple[Edge, ...]:
    ends = (*corners[1:], corners[0])
    return tuple(Line(start, end) for start, end in zip(corners, ends, strict=True))


def half_cell(*edges: tuple[Edge, ...]) -> HalfCellOutline:
    """Return a half cell of a quarter circle with radii 1 and 2 and these regions of air."""
    return HalfCellOutline(
        regions=tuple(Region(label="air", edges=each) for each in edges),
        half_pitch=math.pi / 2,
        gap_radius=2.0,
        far_radius=1.0,
        sharp=(),
        mouth=(),
        blunt=(),
        narrow=(),
    )


def refusal(outline: HalfCellOutline) -> str:
    with pytest.raises(MeshError) as caught:
        check_outlines(outline, "rotor")
    return str(caught.value)


def keep_gmsh_from(body: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Fail where gmsh is opened for a body: on these outlines it does not come back."""

    def open_or_fail(name: str) -> AbstractContextManager[Any]:
        if name == body:
            pytest.fail(f"gmsh was opened for the {name}")
        return gmsh_model(name)

    monkeypatch.setattr(meshing, "gmsh_model", open_or_fail)


@pytest.mark.parametrize("name", CHANGES)
def test_every_option_has_outlines_that_pass(name: str) -> None:
    section = cross_section(motor_of(name))
    check_outlines(section.stator, "stator")
    check_outlines(section.rotor, "rotor")


@pytest.mark.parametrize(
    "edges",
    [
        pytest.param(polygon((1, 0), (2, 1), (2, 0), (1, 1)), id="two lines cross"),
        pytest.param(polygon((1, 0), (2, 0), (2, 1), (1.5, 0), (1, 1)), id="a corner on a side"),
        pytest.param(polygon((1, 0), (2, 0), (1.5, 0), (1.5, 1)), id="a side folded back"),
        pytest.param(polygon((1, 0), (2, 0), (1.5, 1), (2, 2), (1, 2), (1.5, 1)), id="a pinch"),
        pytest.param(
            (
                Line((1, 0), (2, 0)),
                Arc((2, 0), polar(2, 1.0)),
                Line(polar(2, 1.0), (1.9, 0.3)),
                Line((1.9, 0.3), (2.2, 0.5)),
                Line((2.2, 0.5), (1, 0)),
            ),
            id="a line crosses an arc",
        ),
        pytest.param(
            (
                Line((1, 0), (2, 0)),
                Arc((2, 0), polar(2, 1.0)),
                Line(polar(2, 1.0), polar(2, 0.2)),
                Line(polar(2, 0.2), (1, 0)),
            ),
            id="a chord comes back to its arc",
        ),
        pytest.param(
            (
                Line((1, 0), (2, 0)),
                Arc((2, 0), polar(2, 1.0)),
                Arc(polar(2, 1.0), polar(2, 0.5)),
                Line(polar(2, 0.5), (1, 0)),
            ),
            id="an arc folded back",
        ),
    ],
)
def test_an_outline_that_meets_itself_is_refused(edges: tuple[Edge, ...]) -> None:
    text = refusal(half_cell(edges)).splitlines()
    assert text[0] == "mesh of the rotor: the outline of the region air meets itself."
    assert text[1].startswith("  why: two of its sides come together at a radius of ")
    assert text[2] == (
        "  do:  look at the section with fem-motor check -o for parts that touch or overlap."
    )


def test_the_place_where_an_outline_meets_itself_is_named() -> None:
    # The diagonals of the bow tie cross at (1.5, 0.5): radius √2.5, angle arctan 1/3.
    text = refusal(half_cell(polygon((1, 0), (2, 1), (2, 0), (1, 1))))
    assert f"{math.sqrt(2.5):.6g} m, {math.degrees(math.atan(1 / 3)):.4g}° from its axis" in text


def test_an_open_outline_is_refused() -> None:
    assert "meets itself" in refusal(half_cell((*polygon((1, 0), (2, 0), (1, 1))[:2],)))


def test_an_outline_that_runs_clockwise_is_refused() -> None:
    text = refusal(half_cell(polygon((1, 0), (1, 1), (2, 0))))
    assert "the region air is turned inside out.\n  why: its area comes out as -0.5 m²." in text


@pytest.mark.parametrize("part", [1.4, 1.6])
def test_regions_that_overlap_or_leave_a_hole_are_refused(part: float) -> None:
    # Two ring sectors that should meet at 1.5.
    text = refusal(
        half_cell(ring_sector(1.0, part, math.pi / 2), ring_sector(1.5, 2.0, math.pi / 2))
    )
    assert "its regions overlap or leave a hole." in text
    assert f"of a half cell of {math.pi / 4 * 3:.8g}." in text


def test_regions_that_fill_the_half_cell_pass() -> None:
    check_outlines(
        half_cell(ring_sector(1.0, 1.5, math.pi / 2), ring_sector(1.5, 2.0, math.pi / 2)), "rotor"
    )


@pytest.mark.parametrize(
    ("body", "wrong"),
    [
        ("stator", {"slot_liner": 1.5e-3}),
        ("stator", {"tooth_width": 9e-3}),
        ("rotor", {"magnet_width": 12e-3}),
        ("rotor", {"magnet_width": 25e-3}),
    ],
)
def test_a_motor_that_cannot_be_built_is_refused_before_gmsh_hangs_on_it(
    body: str, wrong: dict[str, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    # The design room refuses these; whoever makes a Motor by hand gets here.
    motor = motor_of("printed_18s16p")
    part = replace(getattr(motor, body), **wrong)
    keep_gmsh_from(body, monkeypatch)
    with pytest.raises(MeshError) as caught:
        mesh_motor(replace(motor, **{body: part}), quality="draft")
    assert str(caught.value).startswith(f"mesh of the {body}: ")


def test_pieces_of_one_tilted_line_do_not_meet() -> None:
    # Rounded, they are not quite parallel; solved for their crossing they gave a point at random.
    for angle in np.linspace(0.01, 1.5, 500):
        radii = (1.0, 1.1, 1.3, 1.7)
        low, middle, high, top = (polar(radius, float(angle)) for radius in radii)
        assert list(meetings(Line(low, middle), Line(top, high), touch=1e-10)) == []


def test_the_sharpest_corner_of_a_ring_sector_is_a_right_angle() -> None:
    outline = half_cell(ring_sector(1.0, 2.0, math.pi / 2))
    assert sharpest_corner(outline) == pytest.approx(math.pi / 2, rel=1e-12)


def test_the_sharpest_corner_between_a_chord_and_its_arc_is_half_the_angle_of_the_arc() -> None:
    # Tangent and chord (Euclid III 32).
    segment = (Arc((2, 0), polar(2, 0.4)), Line(polar(2, 0.4), (2, 0)))
    assert sharpest_corner(half_cell(segment)) == pytest.approx(0.2, rel=1e-12)


def test_pockets_behind_narrow_blocks_are_as_sharp_as_the_block_is_wide() -> None:
    # Between the block's outer face and the ring: the angle at which the corner stands.
    motor = motor_of("Halbach blocks, 4, ring")
    rotor = motor.rotor
    assert rotor.magnet_width is not None
    wanted = math.atan2(rotor.magnet_width / 2, rotor.magnet_inner_radius + rotor.magnet_thickness)
    assert sharpest_corner(cross_section(motor).rotor) == pytest.approx(wanted, rel=1e-9)
