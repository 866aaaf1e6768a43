"""Verdicts follow from the numbers, by rules that can be worked out by hand."""

import json
from dataclasses import replace

import pytest

from fem_motor.batch import Outcome
from fem_motor.design import MotorDesign, load_design
from fem_motor.findings import Headline
from fem_motor.study import in_words
from fem_motor.study.outcome.verdict import verdict
from fem_motor.study.points import step_at, variants
from fem_motor.study.records import Axis, Limit, Row, Step, Study, Variant, VerdictPlan

OF = "motor_constant_Nm_per_sqrtW"
Numbers = tuple[float, float | None, float | None]


def row(label: str, numbers: Numbers | None, **others: float) -> Row:
    values: dict[str, Headline | None] = {OF: None}
    if numbers is not None:
        value, low, high = numbers
        values[OF] = Headline(value=value, low=low, high=high, because="by hand")
    for name, value in others.items():
        values[name] = Headline(value=value, low=None, high=None, because="by hand")
    outcome = Outcome(key=label, title=label, status="solved", text=json.dumps({}))
    return Row(variant=Variant(labels={"a": label}, changes={}), outcome=outcome, values=values)


@pytest.fixture(scope="module")
def base() -> MotorDesign:
    return load_design("geometries/printed_18s16p.toml")


def study(base: MotorDesign, **plan: object) -> Study:
    limits = plan.pop("limits", ())
    return Study(
        title="T", question="Q?", note="", base=base, quality="draft", axes=(), record=(OF,),
        limits=limits, verdict=VerdictPlan(of=OF, **plan),
    )  # type: ignore[arg-type]  # fmt: skip


def first(base: MotorDesign, rows: list[Row], **plan: object) -> str:
    return verdict(study(base, **plan), rows)[0][0]


def test_what_is_better_in_any_case_is_worth_it(base: MotorDesign) -> None:
    # 2/1 = 2; at worst 1.8/1.1 = 1.64, at best 2.2/0.9 = 2.44; draft meshes add 0.5 %.
    said = first(base, [row("old", (1, 0.9, 1.1)), row("new", (2, 1.8, 2.2))])
    assert said == (
        "Best: new; motor constant 2 N m/√W (1.8 to 2.2), 2.00 times old (1.63 to 2.46): "
        "worth it, at least 63% better (the study asks for 10%)."
    )


def test_shared_doubts_hold_low_against_low(base: MotorDesign) -> None:
    # 1.2/1 = 1.2, 1.1/0.9 = 1.22, 1.3/1.1 = 1.18; with doubts of their own 1.1/1.1 to 1.3/0.9.
    rows = [row("old", (1, 0.9, 1.1)), row("new", (1.2, 1.1, 1.3))]
    assert "(1.18 to 1.23): worth it" in first(base, rows, doubts="shared")
    assert "(0.99 to 1.45): not decided, -1% to +45%" in first(base, rows)


def test_ends_of_two_kinds_are_each_ones_own_however_shared_the_rest(base: MotorDesign) -> None:
    # Of the ±10 % each, 5 % are the ends. Those apart: 0.9/0.95 and 1.1/1.05 in both, so that the
    # ratio of 1.2 goes from 1.2 · 0.95/1.05 = 1.086 to 1.2 · 1.05/0.95 = 1.326; meshes add 0.5 %.
    ends = {"constants": {"end_factor": {"value": 0.8, "low": 0.76, "high": 0.84}}}
    halbach = base.replace(rotor__magnet_layout="halbach", rotor__magnet_width_mm=5.0)
    rows = []
    for label, design, number in (("old", base, 1.0), ("new", halbach, 1.2)):
        plain = row(label, (number, 0.9 * number, 1.1 * number))
        text = json.dumps({"design": design.to_dict(), **ends})
        outcome = replace(plain.outcome, text=text)
        rows.append(replace(plain, outcome=outcome))
    assert "(1.08 to 1.33): not decided" in first(base, rows, doubts="shared")
    alike = [rows[0], replace(rows[1], outcome=replace(rows[0].outcome, key="new"))]
    assert "(1.19 to 1.21): worth it" in first(base, alike, doubts="shared")


def test_figures_without_a_range_are_held_apart_by_the_mesh_alone(base: MotorDesign) -> None:
    # 1/2 = 0.5; half a per cent of it, as a draft mesh may differ, does not show in two digits.
    rows = [row("old", (2, None, None)), row("new", (1, None, None))]
    said = first(base, rows, better="less")
    assert "0.50 times old (0.50 to 0.50, by the mesh alone): worth it" in said


def test_a_small_gain_is_not_worth_it(base: MotorDesign) -> None:
    rows = [row("old", (1, 0.99, 1.01)), row("new", (1.03, 1.025, 1.035))]
    assert "not worth it, at most 5% better" in first(base, rows)


def test_variants_whose_ranges_overlap_are_tied(base: MotorDesign) -> None:
    rows = [row("a", (1, 0.9, 1.1)), row("b", (1.15, 1.05, 1.25)), row("c", (0.5, 0.4, 0.6))]
    said, best = verdict(study(base), rows)
    assert best is rows[1]
    assert said[0].startswith("First, but not alone: b")
    assert said[1] == "Tied with it, for their ranges overlap: a."
    assert said[2] == (
        "In order of motor constant: b 1.15 N m/√W (1.05 to 1.25); a 1 N m/√W (0.9 to 1.1); "
        "c 0.5 N m/√W (0.4 to 0.6)."
    )


def test_where_less_is_better_the_smallest_wins(base: MotorDesign) -> None:
    rows = [row("old", (2, 1.9, 2.1)), row("new", (1, 0.9, 1.1))]
    said = first(base, rows, better="less")
    assert said.startswith("Best: new")
    assert "worth it, at least 42% better" in said  # 1 − 1.005·1.1/1.9


def test_what_breaks_a_limit_is_left_out(base: MotorDesign) -> None:
    rows = [row("a", (1, 0.9, 1.1), mass=1.0), row("b", (9, 8, 10), mass=3.0)]
    said, best = verdict(study(base, limits=(Limit(of="mass", at_most=2.0),)), rows)
    assert best is rows[0]
    assert said[-1] == "Left out for a limit of the study: b."


def test_where_nothing_keeps_the_limits_the_nearest_is_named(base: MotorDesign) -> None:
    rows = [row("a", (1, 0.9, 1.1), mass=3.0), row("b", (2, 1.8, 2.2), mass=4.0)]
    said, best = verdict(study(base, limits=(Limit(of="mass", at_most=2.0),)), rows)
    assert best is None
    assert said == (
        "No variant keeps the limits of the study.",
        "Nearest: a, 50% beyond them; motor constant 1 N m/√W (0.9 to 1.1).",
    )


def test_a_spread_leaves_out_a_twentieth_at_either_end(base: MotorDesign) -> None:
    # 101 numbers from 1 to 2: the quantiles of 5, 50 and 95 % are 1.05, 1.5 and 1.95.
    rows = [row(str(k), (1 + k / 100, 1, 2)) for k in range(101)]
    said, best = verdict(study(base, better="spread"), rows)
    assert best is None
    assert said[0] == (
        "Motor constant: nine of ten designs between 1.05 and 1.95 N m/√W, the middle one 1.5; "
        "-30.0% to +30.0%."
    )


def test_no_numbers_no_verdict(base: MotorDesign) -> None:
    said, best = verdict(study(base), [row("a", None)])
    assert best is None
    assert said == ("No variant has a figure for motor constant.",)


def test_a_limit_is_broken_by_so_much_of_its_bound() -> None:
    assert Limit(of="x", at_most=2.0).violation(3.0) == pytest.approx(0.5)
    assert Limit(of="x", at_least=2.0).violation(1.0) == pytest.approx(0.5)
    assert Limit(of="x", at_least=1.0, at_most=2.0).violation(1.5) == 0
    assert Limit(of="x", at_most=2.0).violation(None) == 1


def test_every_combination_is_tried_and_draws_repeat(base: MotorDesign) -> None:
    steps = tuple(Step(label=name, changes={"machine.air_gap_mm": 0.8}) for name in "xy")
    ring = Axis(name="b", key="rotor.magnet_thickness_mm", low=2.0, high=4.0)
    grid = Study(title="T", question="Q?", note="", base=base, quality="draft", record=(OF,),
                 axes=(Axis(name="a", steps=steps), Axis(name="b", steps=steps)))  # fmt: skip
    assert [one.label for one in variants(grid)] == ["x, x", "x, y", "y, x", "y, y"]
    drawn = Study(title="T", question="Q?", note="", base=base, quality="draft", record=(OF,),
                  axes=(Axis(name="a", steps=steps), ring), method="low-discrepancy",
                  number=8, start=3)  # fmt: skip
    found = variants(drawn)
    assert found == variants(drawn)
    values = [one.changes["rotor.magnet_thickness_mm"] for one in found]
    # Eight points of a Sobol sequence stand one in each eighth, and four in each half.
    assert sorted(int((value - 2) * 4) for value in values) == list(range(8))
    assert sum(one.labels["a"] == "x" for one in found) == 4
    assert step_at(ring, 0.25) == Step(label="2.5", changes={"rotor.magnet_thickness_mm": 2.5})


def test_a_recorded_figure_is_named_in_words_with_its_place_and_unit() -> None:
    # Names are those of result.json; no underscore, no dot and no unit's spelling may be left.
    named = {
        "loaded.rated.ripple_peak_to_peak_fraction": (
            "torque ripple, peak to peak over the mean, at the rated current", "%",
        ),
        "no_load.back_emf_line_thd": (
            "harmonic content of the back-EMF between leads, without current", "%",
        ),
        "operating_points.load.speed_rpm": ("speed with this load", "rpm"),
        "mechanics.rotor_mass_kg": ("rotor mass", "kg"),
        "winding.winding_factor": ("winding factor", ""),
    }  # fmt: skip
    assert {name: in_words(name) for name in named} == named


def test_a_share_is_told_in_per_cent(base: MotorDesign) -> None:
    # 0.1403 is the ripple of six-step currents on a sine, 1 − cos 30° over 3/π.
    of = "loaded.rated.ripple_peak_to_peak_fraction"
    rows = [row("a", None, **{of: 0.1403}), row("b", None, **{of: 0.02})]
    plan = VerdictPlan(of=of, better="less")
    asked = Study(title="T", question="Q?", note="", base=base, quality="draft", axes=(),
                  record=(of,), verdict=plan)  # fmt: skip
    said, _ = verdict(asked, rows)
    assert said[-1].endswith("at the rated current: b 2 %; a 14.03 %.")
