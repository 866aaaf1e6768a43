"""What a ranking says follows from its numbers; doing nothing is in it."""

import math

import pytest

import fem_motor as fm
from fem_motor.comparison import Comparison, Ranking, decision_text
from fem_motor.comparison.changes.building import changed
from fem_motor.comparison.changes.catalogue import single_changes
from fem_motor.errors import DesignError, InputError

PLAIN = "geometries/printed_18s16p.toml"


@pytest.fixture(scope="module")
def windings() -> Ranking:
    """Return the ranking of what can be wound otherwise, the rest kept."""
    design = fm.load_design(PLAIN)
    return fm.rank(design, quality="draft", keep=("machine", "stator", "rotor"))


@pytest.mark.slow
@pytest.mark.parametrize("title", ["7 turns of 4 wires", "28 turns of one wire", "phases in delta"])
def test_the_same_copper_with_other_turns_is_no_gain(windings: Ranking, title: str) -> None:
    # Hanselman (2006): the motor constant goes with the copper area, not with the turns.
    (change,) = [one for one in windings.changes if one.title.startswith(title)]
    assert change.verdict == "no-gain"
    assert abs(change.gain_fraction or 0.0) < 5e-3
    assert "same copper" in change.why
    assert change.other_gains["motor-constant"] == pytest.approx(0, abs=1e-9)


@pytest.mark.slow
def test_doing_nothing_is_in_the_list_and_gains_nothing(windings: Ranking) -> None:
    (nothing,) = [one for one in windings.changes if one.key == "nothing"]
    assert nothing.gain_fraction == nothing.low == nothing.high == 0
    gains = [one.gain_fraction for one in windings.changes if one.gain_fraction is not None]
    assert gains == sorted(gains, reverse=True)


@pytest.mark.slow
def test_more_copper_than_a_hand_winds_is_refused_with_the_reason(windings: Ranking) -> None:
    # Bare copper in the slot: 0.38 with two wires, so 0.57 with three; by hand 0.45.
    (refused,) = [one for one in windings.refused if one.key == "winding.strands"]
    assert refused.to_value == 3
    assert "0.57" in refused.why


@pytest.mark.slow
def test_a_ranking_goes_into_json_with_from_and_to(windings: Ranking) -> None:
    plain = windings.to_dict()
    assert plain["format"] == "fem_motor.ranking"
    (change,) = [one for one in plain["changes"] if one["to"] == "delta"]
    assert change["from"] == "star"
    assert {"key", "gain_fraction", "low", "high", "cost", "verdict", "why"} <= set(change)


@pytest.mark.slow
def test_slopes_have_the_sign_of_the_physics_and_the_size_of_the_step() -> None:
    # A wider gap costs flux and a longer stack adds torque, whatever the core: from first
    # principles, no figure.
    design = fm.load_design(PLAIN)
    kept = ("winding", "rotor", "stator", "machine.slots", "machine.poles")
    ranking = fm.rank(design, goal="motor-constant", quality="draft", keep=kept)
    slopes = {one.key: one for one in ranking.changes if one.gain_per_unit is not None}
    gap, length = slopes["machine.air_gap_mm"], slopes["machine.stack_length_mm"]
    assert (gap.gain_per_unit or 0.0) < 0 < (length.gain_per_unit or 0.0)
    for one in (gap, length):
        step = float(str(one.to_value)) - float(str(one.from_value))
        assert (one.gain_per_unit or 0.0) * step == pytest.approx(one.gain_fraction)
    text = decision_text(ranking)
    assert "% for each mm of air gap" in text
    assert "slope: +" in text
    assert all(one.why.strip(" .") for one in ranking.changes)  # every change has its reason


@pytest.mark.slow
def test_the_page_of_a_ranking_keeps_within_its_columns(windings: Ranking) -> None:
    lines = decision_text(windings).split("\n")
    assert lines[0] == "Reed-bed airboat drive, printed core"
    assert any("No gain:" in line for line in lines)


@pytest.mark.slow
def test_a_motor_without_a_load_is_ranked_by_torque_and_says_so() -> None:
    design = fm.load_design(PLAIN).replace("load", {"kind": "none"})
    keep = ("machine", "stator", "rotor")
    found = fm.rank(design, quality="draft", keep=keep)
    assert found.goal == "continuous-torque"
    assert "turns no load" in found.findings[0].why


@pytest.fixture(scope="module")
def twins() -> Comparison:
    design = fm.load_design(PLAIN)
    return fm.compare([design, design, design], quality="draft")


@pytest.mark.slow
def test_identical_designs_are_one_tie_in_the_order_given(twins: Comparison) -> None:
    names = (PLAIN, f"{PLAIN} (2)", f"{PLAIN} (3)")
    assert twins.order == names
    assert twins.ties == (names,)
    assert [one.verdict for one in twins.differences] == ["no-gain", "no-gain"]
    assert [one.gain_fraction for one in twins.differences] == [0, 0]


@pytest.mark.slow
def test_what_is_held_equal_is_told(twins: Comparison) -> None:
    rows = {row.what: row.status for row in twins.held_equal}
    assert rows["supply"] == rows["load"] == "taken from the first"
    assert rows["envelope"] == rows["copper area"] == rows["turns and wire"] == "equal"
    assert max(map(len, decision_text(twins).split("\n"))) <= 98


def test_one_design_is_no_comparison() -> None:
    with pytest.raises(InputError, match="too few to compare"):
        fm.compare([fm.load_design(PLAIN)])


def test_an_unknown_goal_offers_the_nearest() -> None:
    with pytest.raises(InputError) as caught:
        fm.rank(fm.load_design(PLAIN), goal="continuous-powr")  # type: ignore[arg-type]
    assert 'did you mean "continuous-power"?' in str(caught.value)


def test_every_change_of_the_catalogue_is_built_or_refused_with_a_reason() -> None:
    for file in (PLAIN, "geometries/steel_12s14p.toml", "geometries/halbach_18s16p.toml"):
        design = fm.load_design(file)
        for change in single_changes(design):
            try:
                built = changed(design, [change], turns="free")
            except DesignError as error:
                assert error.problems[0].why  # noqa: PT017  (each has its own words)
            else:
                assert built != design


def test_a_slot_of_another_size_is_filled_as_before() -> None:
    design = fm.load_design(PLAIN)
    fill = fm.wind(design.motor).fill_factor
    for change in single_changes(design):
        if change.slot == "refilled" and change.key != "stator.tooth_width_mm":
            built = changed(design, [change], turns="free")
            assert math.isclose(fm.wind(built.motor).fill_factor, fill, rel_tol=1e-9)


def test_no_gap_below_what_can_be_printed_is_offered() -> None:
    design = fm.load_design(PLAIN).replace("machine.air_gap_mm", 0.6)
    narrower = [
        change
        for change in single_changes(design)
        if change.key == "machine.air_gap_mm" and change.why_not
    ]
    assert [change.to_value for change in narrower] == [0.45]
