"""Designs to outcomes: as `fem_motor.run` has them one by one, kept, resumed, the same bytes."""

import json
from pathlib import Path

import pytest

import fem_motor as fm
from fem_motor.batch import Outcome, ResultStore, design_key, solve_designs

GEOMETRIES = Path(__file__).parents[2] / "geometries"


def variants() -> list[fm.MotorDesign]:
    """Return three that can be built, one twice, and one whose copper does not fit."""
    base = fm.load_design(GEOMETRIES / "printed_18s16p.toml")
    thick = base.replace(rotor__magnet_thickness_mm=4.0)
    short = base.replace(machine__stack_length_mm=12.0)
    return [base, thick, base, _without_winding(base), short]


def _without_winding(base: fm.MotorDesign) -> fm.MotorDesign:
    # In three phases 15 slots and 12 poles have none: 15/(3 gcd(15, 6)) is no whole number.
    return base.replace(machine__slots=15, machine__poles=12)


@pytest.fixture(scope="module")
def alone() -> tuple[Outcome, ...]:
    return solve_designs(variants(), quality="draft")


@pytest.mark.slow
def test_outcomes_are_the_sheets_of_single_runs(alone: tuple[Outcome, ...]) -> None:
    # Second method: the public function, design by design.
    assert [one.status for one in alone] == ["solved", "solved", "solved", "refused", "solved"]
    assert alone[0] is alone[2]
    assert "balanced" in alone[3].reason
    for one, design in zip(alone, variants(), strict=True):
        if one.status != "solved":
            continue
        plain = json.loads(json.dumps(fm.run(design, quality="draft").to_dict()))
        del plain["timing_s"]
        assert one.result == plain
        assert (
            one.answers["motor_constant_Nm_per_sqrtW"].value
            == (plain["constants"]["motor_constant_Nm_per_sqrtW"])
        )


@pytest.mark.slow
def test_processes_and_store_give_the_same_bytes(
    alone: tuple[Outcome, ...], tmp_path: Path
) -> None:
    store = ResultStore(tmp_path / "results.sqlite")
    steps: list[tuple[int, int]] = []
    first = solve_designs(variants()[1:4], quality="draft", store=store)
    both = solve_designs(
        variants(), quality="draft", workers=2, store=store, on_step=lambda *at: steps.append(at)
    )
    assert first == alone[1:4]
    assert both == alone
    assert steps == [(3, 4), (4, 4)]  # four different designs, three of them known
    assert solve_designs(variants(), quality="draft", store=store) == alone


def test_the_key_is_of_the_content() -> None:
    base, thick, *_ = variants()
    key = design_key(base, quality="draft")
    assert len(key) == 64
    assert design_key(fm.MotorDesign.from_toml(base.to_toml()), quality="draft") == key
    assert design_key(base.replace(machine__air_gap_mm=0.8), quality="draft") == key  # as it is
    others = {
        design_key(thick, quality="draft"),
        design_key(base, quality="standard"),
        design_key(base.replace(title="B"), quality="draft"),
    }
    assert len(others | {key}) == 4
