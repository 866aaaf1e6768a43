"""The figures of a study: every variant is there, with its value and its range."""

import json
from itertools import pairwise

import matplotlib.pyplot as plt
import numpy as np
import pytest

from fem_motor.batch import Outcome
from fem_motor.charts import pictures_of, render
from fem_motor.charts.pictures.study_pictures import draw_along, draw_curves, draw_values
from fem_motor.design import load_design
from fem_motor.findings import Headline
from fem_motor.study import StudyResult
from fem_motor.study.records import Axis, FigurePlan, Row, Step, Study, Variant

OF = "motor_constant_Nm_per_sqrtW"
ROWS = [("a", 0.02, 0.018, 0.023), ("b", 0.03, 0.028, 0.031)]


def study_of(labels: list[str], *figures: FigurePlan) -> StudyResult:
    steps = tuple(Step(label=label, changes={}) for label in labels)
    study = Study(
        title="Ring", question="Q?", note="", base=load_design("geometries/printed_18s16p.toml"),
        quality="draft", axes=(Axis(name="ring", steps=steps),), record=(OF,), figures=figures,
    )  # fmt: skip
    text = json.dumps(
        {
            "no_load": {
                "gap_angle_deg": [0, 45, 90, 135],
                "gap_flux_density_T": [0.4, -0.4, 0.4, -0.4],
            }
        }
    )
    rows = tuple(
        Row(
            variant=Variant(labels={"ring": label}, changes={}),
            outcome=Outcome(key=label, title="", status="solved", text=text),
            values={OF: Headline(value=value, low=low, high=high, because="")},
        )
        for label, (_, value, low, high) in zip(labels, ROWS, strict=True)
    )
    return StudyResult(study=study, rows=rows)


def test_values_stand_one_below_the_other_with_their_ranges() -> None:
    _, axes = plt.subplots()
    draw_values(ROWS, axes, name=OF)
    lines = [line for line in axes.lines if len(line.get_xdata()) == 2]
    # 0.02 N m/√W are 20 mN m/√W.
    assert [list(line.get_xdata()) for line in lines] == [[18.0, 23.0], [28.0, 31.0]]
    assert [label.get_text() for label in axes.get_yticklabels()] == ["a", "b"]
    assert axes.get_xlabel() == "motor constant, mN m/√W"
    plt.close("all")


def test_numbers_of_an_axis_go_to_the_right_in_order() -> None:
    _, axes = plt.subplots()
    draw_along([2.0, 1.0], ROWS, axes, names=("ring, mm", OF))
    (line,) = axes.lines
    assert list(line.get_xdata()) == [1.0, 2.0]
    assert list(line.get_ydata()) == pytest.approx([30.0, 20.0])
    plt.close("all")


def test_a_spectrum_is_drawn_as_bars_side_by_side() -> None:
    _, axes = plt.subplots()
    curves = [("a", [6.0, 12.0], [0.3, 0.1]), ("b", [6.0, 12.0], [0.2, 0.05])]
    draw_curves(curves, axes, labels=("electrical order", "amplitude, N m"))
    left = np.array([bar.get_x() for bar in axes.patches])
    assert len(set(left.round(6))) == 4
    assert sorted(bar.get_height() for bar in axes.patches) == pytest.approx([50, 100, 200, 300])
    assert axes.get_ylabel() == "amplitude, mN m"
    plt.close("all")


def test_the_figures_of_a_file_become_pictures() -> None:
    plans = (FigurePlan(kind="values", of=OF), FigurePlan(kind="curves", of="gap field"))
    words, numbers = study_of(["none", "thin"], *plans), study_of(["1", "2"], *plans)
    for result in (words, numbers):
        pictures = pictures_of(result)
        assert [one.name for one in pictures] == [f"figure_1_{OF}", "figure_2_gap_field"]
        assert [one["name"] for one in result.to_dict()["figures"]] == [p.name for p in pictures]
        for picture in pictures:
            assert render(picture).png.startswith(b"\x89PNG")
            assert picture.alt
    assert pictures_of(StudyResult(study=words.study, rows=())) == ()


def test_bars_of_a_spectrum_differ_from_their_neighbours_without_colour() -> None:
    figure, axes = plt.subplots()
    curves = [(label, [6.0, 12.0], [0.2, 0.1]) for label in "abcdef"]
    draw_curves(curves, axes, labels=("electrical order", "amplitude, N m"))
    hatches = [bars.patches[0].get_hatch() or "" for bars in axes.containers]
    plt.close(figure)
    assert all(one != other for one, other in pairwise(hatches))
