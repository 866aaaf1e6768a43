"""The room for copper beside a tooth, against a closed form and against its definition."""

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from strategies import designs, narrow_openings

from fem_motor.design import MotorDesign, Stator, coil_side_area, starter_design

STATOR = MotorDesign.from_toml(starter_design()).motor.stator


def half_tooth_sector(radius: float, height: float) -> float:
    """Return the antiderivative of r·asin(height/r) in r.

    ½ [r² asin(h/r) + h √(r² − h²)]: its derivative is r asin(h/r) plus terms that cancel.
    """
    leg = math.sqrt(radius**2 - height**2)
    return (radius**2 * math.asin(height / radius) + height * leg) / 2


def area_by_angle(stator: Stator, steps: int = 20_000) -> float:
    """Return the coil side's area as ½ ∫ (upper² − lower²) dθ, from its definition.

    Lower limit: the yoke's circle or the tooth's side; upper: the circle through the opening's
    inner corner or the tip's underside; all one liner inwards. In polar form the underside is
    r cos(θ − φ) = c: nearest to the shaft at φ, the corner's angle less the taper.
    """
    half_pitch, liner = math.pi / stator.slots, stator.slot_liner
    corner = half_pitch - stator.slot_opening / stator.outer_radius / 2
    bottom, side = stator.yoke_radius + liner, stator.tooth_width / 2 + liner
    circle = stator.outer_radius - stator.tip_thickness - liner
    angle = (np.arange(steps) + 0.5) / steps * half_pitch
    lower = np.maximum(bottom, side / np.sin(angle))
    upper = np.full(steps, circle)
    if stator.tip_taper:
        nearest = corner - stator.tip_taper
        distance = (stator.outer_radius - stator.tip_thickness) * math.cos(stator.tip_taper) - liner
        meets = nearest + math.acos(distance / circle)
        line = distance / np.cos(angle - nearest)
        # Where the liner on the tooth covers the place in which they meet, the circle remains.
        if circle * math.sin(meets) > side:
            upper = np.where(angle < meets, line, circle)
    return float(np.sum(np.maximum(upper**2 - lower**2, 0.0)) / 2 * half_pitch / steps)


def test_a_bare_slot_without_taper_is_its_sector_less_half_the_tooth() -> None:
    bare = dataclasses.replace(STATOR, slot_liner=0.0, tip_taper=0.0)
    # 10° of the ring between 15 and 27 mm, less half a tooth 4 mm wide between these circles.
    sector = math.radians(10) * (27**2 - 15**2) / 2
    half_tooth = half_tooth_sector(27, 2) - half_tooth_sector(15, 2)
    assert coil_side_area(bare) * 1e6 == pytest.approx(sector - half_tooth, rel=1e-12)
    # Nearly (2π/36 · 21 − 2) · 12: mean height times depth.
    assert coil_side_area(bare) * 1e6 == pytest.approx((math.pi / 18 * 21 - 2) * 12, rel=5e-3)


def test_the_liner_is_taken_off_tooth_yoke_and_tip_but_not_the_slot_axis() -> None:
    lined = dataclasses.replace(STATOR, slot_liner=0.5e-3, tip_taper=0.0)
    sector = math.radians(10) * (26.5**2 - 15.5**2) / 2
    half_tooth = half_tooth_sector(26.5, 2.5) - half_tooth_sector(15.5, 2.5)
    assert coil_side_area(lined) * 1e6 == pytest.approx(sector - half_tooth, rel=1e-12)


def test_a_taper_takes_about_a_triangle() -> None:
    # From the corner 3.83 above the tooth's axis down to its side at 2: 1.85 along the
    # circumference, 1.85 tan 20° deep. The arc bulges: a few per cent.
    bare = dataclasses.replace(STATOR, slot_liner=0.0, tip_taper=0.0)
    tapered = dataclasses.replace(bare, tip_taper=math.radians(20))
    along = (27 * math.sin(math.radians(8.158)) - 2) / math.cos(math.radians(8.158))
    triangle = along**2 * math.tan(math.radians(20)) / 2
    taken = (coil_side_area(bare) - coil_side_area(tapered)) * 1e6
    assert taken == pytest.approx(triangle, rel=0.2)
    assert 0 < taken < triangle


@pytest.mark.parametrize("taper", [0.0, 1.0, 5.0, 20.0, 45.0, 75.0])
@pytest.mark.parametrize("liner", [0.0, 0.1, 0.3, 0.7])
def test_the_area_is_that_of_the_definition(taper: float, liner: float) -> None:
    stator = dataclasses.replace(STATOR, tip_taper=math.radians(taper), slot_liner=liner * 1e-3)
    # The midpoint rule is off by (step/slot)² in the smooth parts, by its share of a step at
    # the two kinks: below 1e-6.
    assert coil_side_area(stator) == pytest.approx(area_by_angle(stator), rel=1e-6)


def test_a_tip_thinner_than_the_liner_takes_nothing() -> None:
    # An opening of 5.4 leaves the tip's corner at 27 · sin(10° − 2.7/28 rad) = 2.107 above the
    # tooth's axis: 0.107 of overhang behind a liner of 0.3 on the tooth.
    short = dataclasses.replace(STATOR, slot_opening=5.4e-3)
    plain = dataclasses.replace(short, tip_taper=0.0)
    assert coil_side_area(short) == coil_side_area(plain) > 0


@settings(max_examples=40, deadline=None, derandomize=True)
@given(design=designs())
def test_the_area_of_a_random_slot_is_that_of_the_definition(design: MotorDesign) -> None:
    stator = design.motor.stator
    assert coil_side_area(stator) == pytest.approx(area_by_angle(stator), rel=1e-5)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(design=narrow_openings())
def test_the_area_behind_a_narrow_opening_is_that_of_the_definition(design: MotorDesign) -> None:
    stator = design.motor.stator
    assert coil_side_area(stator) == pytest.approx(area_by_angle(stator), rel=1e-5)


@pytest.mark.parametrize("opening", [0.01, 0.1, 0.2, 0.346, 0.347, 0.4])
def test_the_area_is_that_of_the_definition_on_both_sides_of_the_narrowest_opening(
    opening: float,
) -> None:
    # The undersides of the two tips, less the liner, meet on the axis below an opening of about
    # 2 · 0.3 · tan(60°/2) = 0.3464.
    stator = dataclasses.replace(
        STATOR, slot_opening=opening * 1e-3, tip_taper=math.radians(60), slot_liner=0.3e-3
    )
    assert coil_side_area(stator) == pytest.approx(area_by_angle(stator), rel=1e-6)


@pytest.mark.parametrize(
    "changes",
    [
        {"slot_liner": 6e-3},  # liners from yoke and tip meet
        {"slot_liner": 0.8e-3, "tip_thickness": 11.4e-3},
        {"tooth_width": 12e-3},
        {"yoke_thickness": 16e-3},
    ],
)
def test_where_nothing_is_left_the_area_is_zero(changes: dict[str, Any]) -> None:
    assert coil_side_area(dataclasses.replace(STATOR, **changes)) == 0.0


def test_twice_the_size_has_four_times_the_area() -> None:
    lengths = (
        "outer_radius inner_radius yoke_thickness tooth_width slot_opening tip_thickness slot_liner"
    ).split()
    double = dataclasses.replace(STATOR, **{name: 2 * getattr(STATOR, name) for name in lengths})
    assert coil_side_area(double) == pytest.approx(4 * coil_side_area(STATOR), rel=1e-12)
