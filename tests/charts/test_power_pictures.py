"""Pictures and tables of supply, load and heat, of a real sheet and of one without a load."""

import functools
import math
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.figure import Figure

import fem_motor as fm
from fem_motor.charts import canvas
from fem_motor.charts.drawing.heat import STYLES
from fem_motor.charts.drawing.throttle_curves import draw_density
from fem_motor.charts.picture import Picture
from fem_motor.charts.pictures.sheet_pictures import sheet_pictures
from fem_motor.performance import PerformanceSheet
from fem_motor.report.wording.heat_words import heat_rows
from fem_motor.report.wording.power_words import (
    density_sentence,
    limits,
    throttle_note,
    throttle_table,
    turns_table,
)
from fem_motor.report.wording.words import operating_note, operating_table
from fem_motor.throttle import FlightProfile


@functools.cache
def sheet() -> PerformanceSheet:
    return fm.run(
        fm.load_design("geometries/printed_18s16p.toml"),
        quality="draft",
        profile=FlightProfile(time_s=np.array([0, 20, 60]), throttle=np.array([1.0, 0.3, 0.3])),
        speed_map="grid",
    )


POWER = {"speed_torque", "turns", "current_density", "profile", "efficiency_map"}


def power_pictures(of: PerformanceSheet) -> list[Picture]:
    return [picture for picture in sheet_pictures(of) if picture.name in POWER]


def test_every_picture_says_what_it_shows_and_labels_its_axes_with_units() -> None:
    pictures = power_pictures(sheet())
    assert [picture.name for picture in pictures] == [
        "speed_torque", "turns", "efficiency_map", "current_density", "profile",
    ]  # fmt: skip
    for picture in pictures:
        assert picture.caption.endswith(".")
        assert picture.alt
        with canvas.house_style():
            figure = canvas.new_figure(picture.width, picture.height)
            picture.draw_into(figure)
        labels = [axes.get_ylabel() for axes in figure.axes]
        assert all(label == "seconds" or ", " in label for label in labels), labels


def test_lines_of_a_picture_differ_in_more_than_their_colour() -> None:
    picture = power_pictures(sheet())[0]
    with canvas.house_style():
        figure = canvas.new_figure(picture.width, picture.height)
        picture.draw_into(figure)
    styles = [(line.get_linestyle(), line.get_marker()) for line in figure.axes[0].get_lines()]
    assert len(set(styles)) == len(styles)


def test_the_tables_have_a_row_for_each_throttle_and_number_of_turns() -> None:
    head, *rows = throttle_table(sheet())
    assert [row[0] for row in rows] == ["25 %", "50 %", "75 %", "100 %"]
    assert all(len(row) == len(head) for row in rows)
    assert rows[0][-1] == "for good"
    turns = turns_table(sheet())
    assert sum("design" in row[0] for row in turns) == 1
    assert sum("best" in row[0] for row in turns) == 1


def test_what_limits_a_motor_that_burns_is_heat_and_what_limits_its_field_comes_after() -> None:
    heat, field = limits(sheet())
    full, held = (
        sheet().answers[name].value for name in ("load_shaft_power_W", "continuous_shaft_power_W")
    )
    assert heat == (
        f"Heat ends the power with this load: of {full:.3g} W at full throttle it holds "
        f"{held:.3g} W for good; first too warm: slot walls."
    )
    assert field == sheet().limiter.sentence


SUPPLY = "The supply's voltage at these turns ends the power with this load, at 4.5 W"
LIMIT = "The controller's current limit ends the power with this load, at 4.5 W"
COOL = ", before any part gets too warm."
MORE = " 4 turns on a tooth instead of 10 hold 36.6 W for good."


@pytest.mark.parametrize(
    ("limit", "best", "words"),
    [
        ("supply", 36.6, SUPPLY + COOL + MORE),
        ("supply", 4.7, SUPPLY + COOL),
        ("current limit", 4.7, LIMIT + COOL),
        ("start", 4.7, "With this supply the motor does not turn its load."),
    ],
)
def test_what_limits_a_cool_motor_is_its_supply_and_better_turns_are_named(
    limit: str, best: float, words: str
) -> None:
    found = sheet().winding_to_load
    assert found is not None
    assert found.designed is not None
    row = replace(
        found.designed, turns=10, limit=limit, load_shaft_power_W=4.5, continuous_shaft_power_W=4.5
    )
    other = replace(row, turns=4, continuous_shaft_power_W=best)
    told = limits(replace(sheet(), winding_to_load=replace(found, designed=row, best=other)))
    assert told == (words, sheet().limiter.sentence)


def test_the_density_for_good_is_told_as_a_current_too() -> None:
    # Two strands of AWG 24, 0.5106 mm across (ASTM B258), one circuit, times the density.
    throttles = sheet().throttles
    assert throttles is not None
    density = throttles.density
    assert density.phase_copper_mm2 == pytest.approx(2 * math.pi / 4 * 0.5106**2, rel=1e-3)
    assert density.lasting_A_per_mm2 is not None
    current = density.lasting_A_per_mm2 * 2 * math.pi / 4 * 0.5106**2
    sentence = density_sentence(sheet())
    assert "A/mm² (RMS) for good" in sentence
    assert f"{current:.2g} A in each phase" in sentence


def test_the_warm_load_stands_beside_the_cold_one_and_gives_less() -> None:
    # Copper of 105 °C has a third more resistance, and the magnets are warmer too.
    names = [row[0] for row in operating_table(sheet())]
    assert names[names.index("load") + 1] == "load, warm"
    warm = sheet().thermal.warm_point
    cold = next(point for point in sheet().operating_points if point.name == "load")
    assert warm is not None
    assert (warm.shaft_power_W or 0) < (cold.shaft_power_W or 0)
    assert warm.supply_power_W == pytest.approx(
        (warm.shaft_power_W or 0) + sum(warm.losses_W.values()), rel=1e-9
    )
    assert "copper" in operating_note(sheet())


def test_without_a_load_there_are_no_turns_and_no_throttles_to_show() -> None:
    bare = fm.run(
        fm.load_design("geometries/printed_18s16p.toml").replace(
            load__kind="none", load__diameter_mm=None, load__pitch_mm=None,
            load__thrust_coefficient=None, load__power_coefficient=None,
        ),
        quality="draft",
    )  # fmt: skip
    assert throttle_table(bare) == ()
    assert turns_table(bare) == ()
    assert limits(bare) == (bare.limiter.sentence,)
    assert next(picture.name for picture in power_pictures(bare)) == "speed_torque"


def test_an_inductance_that_stays_over_the_angle_is_a_row_and_no_picture() -> None:
    # A core of permeability 1.35 under an even gap: the same in all positions within 1 %.
    line = sheet().inductance.line_line_H
    assert np.ptp(line) < 0.01 * line.max()
    assert "inductance" not in [picture.name for picture in sheet_pictures(sheet())]


def test_a_burst_that_the_cold_motor_cannot_do_once_asks_for_no_rest() -> None:
    # Two ways to the same fact: the curve from cold, and the cycle that repeats for ever, which
    # is warmer than cold whatever the rest.
    throttles = sheet().throttles
    assert throttles is not None
    alone = throttles.rows[-1].seconds_to_limit
    assert alone is not None
    words = dict(heat_rows(sheet()))
    longer = [row for row in sheet().thermal.duty_card if row.on_s > alone]
    assert longer
    for row in longer:
        assert row.rest_s is None
        assert words[f"Rest after each {row.on_s:g} s at full throttle"] == (
            f"none: from cold the limit comes after {alone:.2g} s"
        )
    assert "before the softening" in throttle_note(sheet())


@pytest.mark.parametrize(("low", "high"), [(3.0, 40.0), (22.0, 38.0), (24.0, 29.0)])
def test_a_scale_of_current_density_has_marks_to_read_it_by(low: float, high: float) -> None:
    throttles = sheet().throttles
    assert throttles is not None
    row = throttles.density.rows[0]
    rows = tuple(replace(row, density_A_per_mm2=at) for at in (low, (low + high) / 2, high))
    density = replace(throttles.density, rows=rows, lasting_A_per_mm2=None)
    axes = Figure().subplots()
    draw_density(replace(throttles, density=density, rows=()), axes)
    first, last = axes.get_xlim()
    assert sum(first <= tick <= last for tick in axes.get_xticks()) >= 2


def test_the_legend_of_heat_shows_a_whole_pattern_of_every_line() -> None:
    # Cut short, a dash with two dots looks like a dash with one, and grey paper has no colours.
    picture = next(one for one in sheet_pictures(sheet()) if one.name == "heat")
    with canvas.house_style():
        figure = canvas.new_figure(picture.width, picture.height)
        picture.draw_into(figure)
        (legend,) = [axes.get_legend() for axes in figure.axes]
        assert legend is not None
        room = legend.handlelength * legend.get_texts()[0].get_fontsize()
        width = max(line.get_linewidth() for line in legend.get_lines())
    patterns = [one["linestyle"][1] for one in STYLES if isinstance(one["linestyle"], tuple)]
    assert max(map(sum, patterns)) * width <= room
