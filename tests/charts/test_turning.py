"""The field that turns with the rotor, against fields solved at those angles."""

import math

import numpy as np
import pytest
import sheet_of_sines as sines
from scipy.interpolate import LinearNDInterpolator

from fem_motor.arrays import FloatArray
from fem_motor.charts import pictures_of, render
from fem_motor.charts.pictures.turning import FEWEST_STEPS, turned_by_symmetry
from fem_motor.design import load_design
from fem_motor.field import FieldMap
from fem_motor.performance import PerformanceSheet, solve_field
from fem_motor.report import page
from fem_motor.report.sections.sheet_sections import sheet_sections


def potential_at(field: FieldMap, points: FloatArray) -> FloatArray:
    nodes, first = np.unique(np.round(field.points, 9), axis=1, return_index=True)
    read = LinearNDInterpolator(nodes.T, field.vector_potential[first])
    return np.asarray(read(points.T))


def turned_points(points: FloatArray, degrees: float) -> FloatArray:
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.array([[cos, -sin], [sin, cos]]) @ points


@pytest.mark.slow
@pytest.mark.parametrize("name", ["printed_18s16p", "steel_12s14p", "steel_9s12p"])
def test_the_turned_field_is_the_one_solved_at_that_angle(name: str) -> None:
    # Second method: the solver at the true angle, where nothing is turned.
    design = load_design(f"geometries/{name}.toml")
    stator = design.motor.stator
    at_zero = solve_field(design, quality="draft")
    random = np.random.default_rng(1)
    radius = stator.outer_radius * random.uniform(0.6, 1.15, 400)
    angle = random.uniform(0, 2 * np.pi, 400)
    points = np.array([radius * np.cos(angle), radius * np.sin(angle)])
    before = potential_at(at_zero, points)
    for one in turned_by_symmetry(stator.slots, design.motor.rotor.poles, 4)[1:]:
        solved = solve_field(design, angle_deg=one.rotor_deg, quality="draft")
        after = potential_at(solved, turned_points(points, one.field_deg))
        sign = np.sign(np.sum(before * after))
        assert np.abs(sign * after - before).max() < 0.02 * np.abs(before).max()


@pytest.mark.parametrize(("slots", "poles"), [(12, 14), (9, 12), (9, 8), (36, 40), (6, 4)])
def test_turned_magnets_stand_where_the_rotor_is(slots: int, poles: int) -> None:
    # Teeth and magnets, signs left aside, repeat every slot pitch and every pole pitch.
    for one in turned_by_symmetry(slots, poles, 20):
        in_slots = one.field_deg * slots / 360
        in_poles = (one.field_deg - one.rotor_deg) * poles / 360
        assert in_slots == pytest.approx(round(in_slots), abs=1e-9)
        assert in_poles == pytest.approx(round(in_poles), abs=1e-9)


def test_the_slider_covers_a_whole_electrical_period() -> None:
    (picture,) = (one for one in pictures_of(sines.sheet()) if one.turned)
    step = picture.turned[1].rotor_deg
    electrical = 360 / sines.POLE_PAIRS
    assert len(picture.turned) * step % electrical == pytest.approx(0)
    assert len(picture.turned) >= FEWEST_STEPS


def test_a_rotor_off_its_axis_has_no_slider() -> None:
    design = {**sines.DESIGN, "as_built": {"rotor_offset_mm": 0.1}}
    assert not [one for one in pictures_of(sines.sheet(design=design)) if one.turned]


def test_the_page_of_a_rotor_off_its_axis_says_why_it_does_not_turn() -> None:
    def words_of(sheet: PerformanceSheet) -> str:
        rendered = [render(one) for one in pictures_of(sheet) if one.topic == "field"]
        return page("t", sheet_sections(sheet, rendered))

    design = {**sines.DESIGN, "as_built": {"rotor_offset_mm": 0.1}}
    why = "cannot be turned: with odd magnets or off its axis"
    assert why in words_of(sines.sheet(design=design))
    assert why not in words_of(sines.sheet())
