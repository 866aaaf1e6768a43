"""The verbs compare and rank: bad input, and what goes where."""

import json
from pathlib import Path

import pytest

from fem_motor.cli import main

PLAIN = str(Path("geometries/printed_18s16p.toml").resolve())


def test_every_file_that_cannot_be_read_is_named_at_once(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["compare", "a.toml", "b.toml"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "a.toml cannot be read" in err
    assert "b.toml cannot be read" in err


def test_one_file_is_no_comparison(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", PLAIN]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        "designs = 1 is too few to compare.\n"
        "  why: a comparison needs two designs at least.\n"
        "  do:  name two or more; fem-motor rank looks for changes to one.\n"
    )


def test_compare_wants_files(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare"]) == 2
    assert "FILE" in capsys.readouterr().err


@pytest.mark.parametrize("verb", ["compare", "rank"])
def test_an_unknown_goal_is_refused_before_any_work(
    verb: str, capsys: pytest.CaptureFixture[str]
) -> None:
    files = [PLAIN, PLAIN] if verb == "compare" else [PLAIN]
    assert main([verb, *files, "--goal", "torque"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert 'goal = "torque" is not known.' in err


def test_a_key_that_nobody_changes_cannot_be_kept(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rank", PLAIN, "--keep", "stator.kore"]) == 2
    assert 'did you mean "stator.core"?' in capsys.readouterr().err


def test_a_list_of_prices_that_is_not_there_is_an_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    missing = tmp_path / "prices.toml"
    assert main(["rank", PLAIN, "--prices", str(missing)]) == 2
    assert f"{missing} cannot be read as a list of prices." in capsys.readouterr().err


@pytest.mark.slow
def test_compare_writes_a_folder_and_prints_json(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "out"
    arguments = ["compare", PLAIN, PLAIN, "--quality", "draft", "--workers", "1", "--quiet"]
    assert main([*arguments, "--json", "-o", str(folder)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    printed = json.loads(out)
    assert printed["order"] == [PLAIN, f"{PLAIN} (2)"]
    assert printed == json.loads((folder / "result.json").read_text(encoding="utf-8"))
    assert {path.name for path in folder.iterdir()} == {
        "comparison.png",
        "report.html",
        "answers.txt",
        "result.json",
    }
    page = (folder / "report.html").read_text(encoding="utf-8")
    shown = printed["candidates"][0]["answers"]["motor_constant_Nm_per_sqrtW"]["value"]
    assert f">{1e3 * shown:.4g} (" in page
    assert "Motor constant, mN m/√W" in page
    assert "Motor constant per mass, mN m/√W/kg" in page  # by the unit of its name it was grams
