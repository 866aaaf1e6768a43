"""Designs of the same fields are solved once; what was assessed is kept, and not done again."""

import json
from pathlib import Path

import pytest

import fem_motor as fm
from fem_motor.batch import ResultStore
from fem_motor.comparison.assessing import pool
from fem_motor.comparison.assessing.assessment import assess
from fem_motor.comparison.assessing.keeping import assessment_of, text_of
from fem_motor.comparison.assessing.solved import Family, families

PLAIN = "geometries/printed_18s16p.toml"
STEEL = "geometries/steel_9s12p.toml"
USES: tuple[dict[str, object], ...] = (
    {"winding.turns_per_tooth": 7, "winding.strands": 4},
    {"winding.connection": "delta"},
    {"machine.stack_length_mm": 30.0},
    {"drive.supply_voltage_V": 10.0, "cooling.airflow_m_per_s": 3.0},
)


def changed(name: str, use: dict[str, object]) -> fm.MotorDesign:
    return fm.load_design(name).replace(None, None, **use)


def test_winding_length_and_use_share_the_fields_and_shapes_do_not() -> None:
    base = fm.load_design(PLAIN)
    thicker = base.replace("rotor.magnet_thickness_mm", 4.0)
    designs = [base, thicker, *(changed(PLAIN, use) for use in USES), thicker]
    assert families(designs) == ((0, 2, 3, 4, 5), (1, 6))


@pytest.mark.slow
@pytest.mark.parametrize("name", [PLAIN, STEEL])
def test_a_design_of_a_family_is_what_it_is_alone(name: str) -> None:
    # Second method: its own fields. A saturating core is solved to 1e-6 of its load either way.
    family = Family(fm.load_design(name), quality="draft")
    for use in USES:
        design = changed(name, use)
        one, alone = family.solved(design), Family(design, quality="draft").solved(design)
        assert one.motor_constant == pytest.approx(alone.motor_constant, rel=1e-6)
        assert one.rated_line_current == pytest.approx(alone.rated_line_current, rel=1e-12)
        assert one.cogging.value == pytest.approx(alone.cogging.value, rel=1e-6)
        assert dict(one.flux) == {
            cause: pytest.approx(ends, rel=1e-6) for cause, ends in alone.flux.items()
        }
        seen, own = one.powered.at_load(), alone.powered.at_load()
        assert seen.shaft_power == pytest.approx(own.shaft_power, rel=1e-5)
        # The iron, the strands and the end turns count as well.
        assert one.powered.drag(500.0) == pytest.approx(alone.powered.drag(500.0), rel=1e-5)
        model, other = one.powered.model, alone.powered.model
        assert model.inductance_end == pytest.approx(other.inductance_end, rel=1e-12)
        assert model.inductances.matrix == pytest.approx(other.inductances.matrix, rel=1e-5)


@pytest.mark.slow
def test_an_assessment_comes_back_from_text_to_the_last_bit() -> None:
    design = fm.load_design(PLAIN)
    solved = Family(design, quality="draft").solved(design)
    found = assess(
        solved, design, quality="draft", hold="supply-and-load", picture="continuous-power"
    )
    text = text_of(found)

    again = assessment_of(design, json.loads(text))
    assert text_of(again) == text
    assert [one.estimate for one in again.levels] == [one.estimate for one in found.levels]
    assert again.design == found.design


@pytest.mark.slow
def test_a_comparison_that_was_interrupted_goes_on_where_it_stopped(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    designs = [fm.load_design(PLAIN), changed(PLAIN, USES[2])]
    store = ResultStore(tmp_path / "assessed.sqlite")
    whole = fm.compare(designs, quality="draft", store=store).to_dict()
    assert len(store.all()) == 2
    monkeypatch.setattr(pool, "Family", _never)
    assert fm.compare(designs, quality="draft", store=store).to_dict() == whole
    with pytest.raises(AssertionError, match="solved anew"):
        fm.compare(designs, quality="draft", hold="as-drawn", store=store)


def _never(*_: object, **__: object) -> None:
    raise AssertionError("solved anew")
