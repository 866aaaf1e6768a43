"""The verb bench from end to end: checks, a frozen prediction, its score, the calibrated file."""

import json
from pathlib import Path

import pytest

from fem_motor.cli import main
from fem_motor.design import load_design

LOG, DESIGN = "geometries/printed_18s16p_bench.csv", "geometries/printed_18s16p.toml"
CHECKS = """
[resistance]
ohm = 0.395
temperature_C = 21
[[thermometer]]
part = "winding"
part_C = 45
surroundings_C = 21
speed_rpm = 5000
torque_Nm = 0.067
run_s = 60
"""

pytestmark = pytest.mark.slow


def run(*words: str) -> int:
    return main(["bench", *words, "--quality", "draft", "--quiet"])


def test_checks_narrow_the_resistance_and_the_folder_holds_a_design_that_loads(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    checks, folder = tmp_path / "checks.toml", tmp_path / "out"
    checks.write_text(CHECKS, encoding="utf-8")
    assert run(LOG, DESIGN, "--checks", str(checks), "-o", str(folder), "--json") == 0
    answer = json.loads(capsys.readouterr().out)
    found = answer["calibrated"]["winding_resistance_20C_ohm"]
    # A check of 1 % and a prior of 5 % leave less than 1 % standard, ± 2 % (JCGM 100).
    assert (found["high"] - found["low"]) / found["value"] < 0.04
    assert "contact_thermal_resistance_factor" in answer["calibrated"]
    assert "power_coefficient" in answer["calibrated"]
    text = (folder / "calibrated.toml").read_text(encoding="utf-8")
    assert text.splitlines()[0] == (
        "# Calibrated by fem-motor bench from printed_18s16p_bench.csv, checks.toml."
    )
    load = load_design(folder / "calibrated.toml").motor.load
    assert getattr(load, "power_coefficient", None) == pytest.approx(
        answer["calibrated"]["power_coefficient"]["value"], rel=1e-4
    )


def test_a_mistake_in_the_checks_is_one_error_and_no_answer(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    checks = tmp_path / "checks.toml"
    checks.write_text("[resistance]\nohm = -1\n", encoding="utf-8")
    assert run(LOG, DESIGN, "--checks", str(checks)) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "line 2: resistance.ohm = -1 is impossible." in said.err


def test_a_prediction_is_made_before_the_log_kept_scored_and_guarded(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    frozen, planned = tmp_path / "prediction.json", tmp_path / "planned.csv"
    assert run(str(planned), DESIGN, "--freeze", str(frozen)) == 0
    plan = capsys.readouterr().out
    assert "Stop" in plan
    assert "A" in plan
    before = frozen.read_bytes()
    planned.write_bytes(Path(LOG).read_bytes())
    assert run(str(planned), DESIGN, "--freeze", str(frozen), "--json") == 0
    score = json.loads(capsys.readouterr().out)["prediction"]
    # The demo log is this design's own, so that ranges of 95 % hold nearly all of it.
    assert score["held_fraction"] >= 0.8
    assert len(score["content_hash"]) == 64
    assert frozen.read_bytes() == before
    frozen.write_bytes(before.replace(b'"throttle": 1.0', b'"throttle": 0.9', 1))
    assert run(str(planned), DESIGN, "--freeze", str(frozen)) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "was changed after it was frozen" in said.err
