"""Random designs: their outlines close and have the right areas, their cards tell the layout."""

import csv
import io
import math

import pytest
from hypothesis import given, settings
from strategies import designs, narrow_openings

from fem_motor.design import Motor, MotorDesign
from fem_motor.export import magnet_card, parts_list, winding_card
from fem_motor.export.cards.as_designed import as_designed
from fem_motor.export.cards.card import FORMS, as_csv
from fem_motor.export.drawings.outlines import Part, outlines, part_area
from fem_motor.section import HalfCellOutline, cross_section
from fem_motor.winding import wind

pytestmark = pytest.mark.slow

# The same examples every time: what fails here fails on every desk.
STEADY = settings(max_examples=30, deadline=None, derandomize=True)


def of_section(cell: HalfCellOutline, label: str, copies: int) -> float:
    return copies * sum(region.area for region in cell.regions if region.label == label)


def check_areas(motor: Motor) -> None:
    section = cross_section(motor)
    slots, segments = 2 * motor.stator.slots, 2 * motor.rotor.segments
    size = motor.rotor.housing_outer_radius**2
    cases: tuple[tuple[Part, HalfCellOutline, str, int], ...] = (
        ("stator core", section.stator, "core", slots),
        ("slot copper", section.stator, "coil", slots),
        ("magnets", section.rotor, "magnet", segments),
        ("ring", section.rotor, "ring", segments),
    )
    for part, cell, label, copies in cases:
        expected = of_section(cell, label, copies)
        assert part_area(motor, part) == pytest.approx(expected, rel=1e-9, abs=1e-12 * size), part
    inner = motor.stator.outer_radius + motor.air_gap
    rotor: tuple[Part, ...] = ("magnets", "magnet pockets", "ring", "housing")
    whole = math.pi * (motor.rotor.housing_outer_radius**2 - inner**2)
    filled = sum(part_area(motor, part) for part in rotor)
    if motor.rotor.ring is None and motor.rotor.ring_thickness > 0:
        gap = motor.rotor.ring_outer_radius**2 - motor.rotor.magnet_outer_radius**2
        whole -= math.pi * gap
    assert filled == pytest.approx(whole, rel=1e-9)


@STEADY
@given(design=designs())
def test_outlines_have_the_areas_of_the_section(design: MotorDesign) -> None:
    check_areas(design.motor)


@STEADY
@given(design=narrow_openings())
def test_narrow_openings_leave_outlines_whole(design: MotorDesign) -> None:
    check_areas(design.motor)


@STEADY
@given(design=designs())
def test_every_outline_is_closed_end_to_end(design: MotorDesign) -> None:
    size = design.motor.rotor.housing_outer_radius
    for outline in outlines(design.motor):
        following = (*outline.edges[1:], outline.edges[0])
        for edge, after in zip(outline.edges, following, strict=True):
            assert math.dist(edge.end, after.start) < 1e-7 * size


@STEADY
@given(design=designs())
def test_a_winding_card_tells_the_designed_layout(design: MotorDesign) -> None:
    motor = design.motor
    coils = [""] * motor.stator.slots
    for row in csv.DictReader(io.StringIO(as_csv(winding_card(motor)))):
        sign = {"counter-clockwise": "+", "clockwise": "-"}[row["direction_facing_tooth_tip"]]
        coils[int(row["tooth"]) - 1] = row["phase"] + sign
    assert tuple(coils) == wind(as_designed(motor)).coils


@STEADY
@given(design=designs())
def test_every_card_has_every_form(design: MotorDesign) -> None:
    for make in (winding_card, magnet_card, parts_list):
        card = make(design.motor)
        for write in FORMS.values():
            words = write(card)
            assert card.format in words
            assert "nan" not in words.split()
