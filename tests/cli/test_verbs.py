import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fem_motor import performance, study
from fem_motor.cli import main
from fem_motor.cli.run.run import folder_name
from fem_motor.findings import Finding

REPORT = {"report.html", "report.pdf", "result.json", "design.toml"}


def refuse(constant: str) -> Any:  # noqa: ANN401  (the type that json asks for)
    raise AssertionError(constant)


def read_json(text: str) -> Any:  # noqa: ANN401  (JSON data)
    return json.loads(text, parse_constant=refuse)


def names_in(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_new_writes_a_design_that_check_takes(
    design_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", design_file.name]) == 0
    assert capsys.readouterr().err == ""


def test_new_says_what_it_wrote_and_what_comes_next(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "my motor.toml"
    assert main(["new", str(file)]) == 0
    out, err = capsys.readouterr()
    assert out == f"{file}\n"
    assert err == f"next: fem-motor check '{file}'\n"


def test_new_with_json_names_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", str(tmp_path / "a.toml"), "--json"]) == 0
    assert read_json(capsys.readouterr().out) == {"file": str(tmp_path / "a.toml")}


def test_new_does_not_overwrite(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "a.toml"
    file.write_text("mine")
    assert main(["new", str(file)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        f"{file} is left as it is.\n"
        "  why: a file of that name is there.\n"
        "  do:  choose another name, or move it away.\n"
    )
    assert file.read_text() == "mine"


@pytest.mark.parametrize("name", ["", "designs/"])
def test_new_wants_the_name_of_a_file(
    name: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["new", name]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert f"argument FILE: {name!r} does not name a file." in err
    assert names_in(tmp_path) == set()


def test_new_says_that_a_folder_is_in_the_way(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", str(tmp_path)]) == 2
    assert "  why: a folder of that name is there.\n" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["", "~nobody-of-that-name/x"])
def test_an_output_folder_needs_a_name(
    name: str, design_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", design_file.name, "-o", name]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "argument -o/--output: " in err


def test_the_home_folder_is_written_out_in_what_check_names(
    design_file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("HOME", str(design_file.parent))
    assert main(["check", design_file.name, "-o", "~/drawn", "--json", "--quiet"]) == 0
    picture = Path(read_json(capsys.readouterr().out)["picture"])
    assert picture == design_file.parent / "drawn" / "section.png"
    assert picture.exists()


def test_new_in_a_folder_that_is_not_there_is_bad_input(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "no" / "a.toml"
    assert main(["new", str(file)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        f"{file} cannot be written.\n"
        "  why: No such file or directory.\n"
        "  do:  choose a folder that is there and that you may write to.\n"
    )


@pytest.mark.parametrize(
    "verb", [["check"], ["run"], ["sweep", "--from=0", "--to=1", "--points=2"]]
)
def test_a_design_that_is_not_there_is_bad_input(
    verb: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*verb, str(tmp_path / "none.toml")]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "none.toml" in err
    assert "  do:  " in err


def test_check_exits_with_1_where_a_finding_says_stop(
    design_file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    watch = Finding(name="first", status="watch", value=2.0, limit=1.0, why="w.", do="d.")
    stop = Finding(name="second", status="stop", value=3.0, limit=1.0)
    monkeypatch.setattr(performance, "check", lambda _: (watch, stop))
    assert main(["check", design_file.name]) == 1
    out, err = capsys.readouterr()
    assert err == ""
    assert out == (
        "stop   second: 3 (at most 1)\nwatch  first: 2 (at most 1)\n  why: w.\n  do:  d.\n"
    )


def test_check_writes_nothing_without_o(design_file: Path) -> None:
    main(["check", design_file.name])
    assert names_in(design_file.parent) == {design_file.name}


def test_check_draws_the_section_with_o(
    design_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", design_file.name, "-o", "drawn", "--json"]) == 0
    out, err = capsys.readouterr()
    plain = read_json(out)
    assert plain["file"] == design_file.name
    assert plain["picture"] == "drawn/section.png"
    assert set(plain["findings"][0]) == {
        "name", "status", "value", "limit", "bound", "why", "do",
    }  # fmt: skip
    assert err == "picture: drawn/section.png\n"
    assert names_in(Path("drawn")) == {"section.png", "detail.png", "result.json"}


@pytest.mark.usefixtures("solved")
def test_run_prints_the_answers_and_writes_the_report(
    design_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["run", design_file.name, "-o", "out"]) == 0
    out, err = capsys.readouterr()
    assert out.splitlines()[0] == "Reed-bed airboat drive, second print"
    assert "372.4 rpm/V" in out
    assert "\033" not in out
    assert err.splitlines()[-1] == "report: out/report.html"
    assert names_in(Path("out")) >= REPORT


@pytest.mark.usefixtures("solved")
def test_run_without_o_names_the_folder_after_the_title(design_file: Path) -> None:
    assert main(["run", design_file.name, "--quiet"]) == 0
    folders = {path.name for path in design_file.parent.iterdir() if path.is_dir()}
    assert len(folders) == 1
    assert folders.pop().endswith("-report")


@pytest.mark.usefixtures("solved")
def test_run_with_json_and_without_o_writes_nothing(
    design_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["run", design_file.name, "--json", "--quiet"]) == 0
    out, err = capsys.readouterr()
    assert read_json(out)["format"] == "fem_motor.performance"
    assert err == ""
    assert names_in(design_file.parent) == {design_file.name}


@pytest.mark.usefixtures("solved")
def test_quiet_leaves_stderr_empty(design_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["run", design_file.name, "-o", "out", "--quiet"]) == 0
    assert capsys.readouterr().err == ""


def test_run_hands_the_quality_on(design_file: Path, solved: dict[str, Any]) -> None:
    assert main(["run", design_file.name, "--json", "--quality", "draft"]) == 0
    assert solved["quality"] == "draft"


def test_run_learns_of_a_bad_target_before_it_solves(
    design_file: Path, solved: dict[str, Any], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["run", design_file.name, "-o", design_file.name]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        f"{design_file} cannot become a report folder.\n"
        "  why: a file of that name is there.\n"
        "  do:  choose another folder with -o, or move the file away.\n"
    )
    assert solved == {}


def test_an_interrupted_run_exits_with_130_and_leaves_nothing(
    design_file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(performance, "run", interrupted)
    assert main(["run", design_file.name, "-o", "out"]) == 130
    out, err = capsys.readouterr()
    assert out == ""
    assert err == "interrupted.\n"
    assert names_in(design_file.parent) == {design_file.name}


def sweep_arguments(*more: str) -> list[str]:
    return ["sweep", "airboat.toml", "--from", "0", "--to", "45", "--points", "5", *more]


@pytest.mark.usefixtures("design_file", "solved")
def test_sweep_prints_a_row_for_each_angle(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(sweep_arguments()) == 0
    rows = capsys.readouterr().out.splitlines()
    assert rows[0].split() == [
        "angle/°", "torque/N·m", "U/Wb", "V/Wb", "W/Wb", "i_U/A", "i_V/A", "i_W/A",
    ]  # fmt: skip
    assert rows[6] == ""  # and then what the ripple is made of, as the stand-in's currents turn
    # By the sines of the stand-in: linkage −1.9 mWb in U at 0, torque 0.32 N m.
    assert [float(word) for word in rows[1].split()[:4]] == pytest.approx(
        [0.0, 0.32, -0.0019, 0.00095]
    )


@pytest.mark.usefixtures("design_file")
def test_sweep_asks_for_both_ends_and_holds_the_currents(solved: dict[str, Any]) -> None:
    assert main(sweep_arguments("--currents", "-1,2,-1e0", "--json")) == 0
    assert list(solved["angles_deg"]) == [0.0, 11.25, 22.5, 33.75, 45.0]
    assert solved["currents_A"] == (-1.0, 2.0, -1.0)
    assert solved["extent"] == "sector"


@pytest.mark.usefixtures("design_file")
def test_sweep_turns_the_currents_with_the_rotor(solved: dict[str, Any]) -> None:
    assert main(sweep_arguments("--current-peak", "9", "--current-angle", "-5", "--whole")) == 0
    assert solved["current_peak_A"] == 9.0
    assert solved["current_angle_deg"] == -5.0
    assert solved["extent"] == "whole"
    assert "currents_A" not in solved


@pytest.mark.usefixtures("design_file")
def test_sweep_takes_six_step_currents_and_tells_their_ripple(
    solved: dict[str, Any], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(sweep_arguments("--current-peak", "9", "--waveform", "six-step")) == 0
    assert solved["waveform"] == "six-step"
    assert "peak to peak" in capsys.readouterr().out


@pytest.mark.usefixtures("design_file", "solved")
def test_sweep_with_a_waveform_needs_a_current(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(sweep_arguments("--waveform", "sine")) == 2
    assert capsys.readouterr().err == "--waveform needs a current.\n  do:  add --current-peak A.\n"


@pytest.mark.usefixtures("design_file")
def test_sweep_from_an_angle_to_itself_is_one_point(solved: dict[str, Any]) -> None:
    assert main(["sweep", "airboat.toml", "--from", "-3", "--to", "-3", "--points", "9"]) == 0
    assert list(solved["angles_deg"]) == [-3.0]


@pytest.mark.usefixtures("design_file", "solved")
def test_sweep_with_json_has_the_names_that_scripts_rely_on(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(sweep_arguments("--json")) == 0
    plain = read_json(capsys.readouterr().out)
    assert len(plain["flux_linkage_Wb"]) == 3
    assert len(plain["torque_Nm"]) == 5


@pytest.mark.usefixtures("design_file", "solved")
def test_sweep_writes_curves_with_o_and_nothing_without(tmp_path: Path) -> None:
    assert main(sweep_arguments()) == 0
    assert names_in(Path.cwd()) == {"airboat.toml"}
    assert main(sweep_arguments("-o", str(tmp_path / "curves"))) == 0
    assert names_in(tmp_path / "curves") >= {"torque.png", "sweep.csv", "result.json"}


@pytest.mark.usefixtures("design_file", "solved")
@pytest.mark.parametrize(
    ("more", "message"),
    [
        (["--currents", "1,2"], "argument --currents: '1,2' is not three numbers U,V,W."),
        (["--currents", "1,2,x"], "argument --currents: 'x' is not a number."),
        (["--current-peak", "nan"], "argument --current-peak: 'nan' is not a finite number."),
        (["--current-angle", "5"], "--current-angle needs a current."),
        (["--current-peak", "1", "--currents", "1,0,-1"],
         "--currents and --current-peak exclude each other."),
        (["--points", "0"], "argument --points: 0 is less than one point."),
        (["--points", "1"], "--points = 1 cannot hold both ends."),
        (["--points", "1000000000000"],
         "argument --points: 1000000000000 is more than 100000 points."),
        (["--points", "2.5"], "argument --points: '2.5' is not a whole number."),
    ],
)  # fmt: skip
def test_sweep_refuses(more: list[str], message: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(sweep_arguments(*more)) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines()[0].removeprefix("fem-motor sweep: ") == message
    assert "  do:  " in err


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Drive 3/4", "Drive 3-4"),
        ("  ..", "motor"),
        ("a\nb", "ab"),
        ("Gerät", "Gerät"),
        ("ü" * 300, "ü" * 60),
    ],
)
def test_a_title_becomes_the_name_of_a_folder(title: str, name: str) -> None:
    assert folder_name(title) == name


def test_materials_lists_kind_values_and_source(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["materials", "--json"]) == 0
    rows = read_json(capsys.readouterr().out)
    assert all(row["source"] for row in rows)
    assert {"core", "magnet", "conductor", "structure"} >= {row["kind"] for row in rows}
    magnet = next(row for row in rows if row["name"] == "ndfeb-n42h")
    assert magnet["kind"] == "magnet"
    assert magnet["remanence_T"] > 1


def test_one_material_is_shown_by_its_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["materials", "ndfeb-n42h"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("ndfeb-n42h  (magnet)\n")
    assert "source: " in out


def test_an_unknown_material_is_told_the_near_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["materials", "ndfeb-n42hh"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "ndfeb-n42h" in err.partition("do:")[2]


def test_a_run_without_pictures_writes_words_only(design_file: Path) -> None:
    options = ["-o", "r", "--quality", "draft", "--quiet", "--no-pictures"]
    assert main(["run", design_file.name, *options]) == 0
    assert names_in(Path("r")) == REPORT


def test_an_interrupted_study_says_what_is_kept_and_how_to_go_on(
    design_file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(*_: object, on_step: Callable[[int, int], None], **__: object) -> None:
        on_step(2, 3)
        raise KeyboardInterrupt

    monkeypatch.setattr(study, "run_study", interrupted)
    path = design_file.parent / "gap.toml"
    path.write_text(
        f'title = "Gap"\nquestion = "?"\nbase = "{design_file.name}"\n'
        'record = ["cogging_peak_to_peak_Nm"]\n'
        '[[axis]]\nkey = "machine.air_gap_mm"\nvalues = [0.6, 0.8, 1.0]\n',
        encoding="utf-8",
    )
    assert main(["study", path.name]) == 130
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines()[-2:] == [
        "2 of 3 designs are kept in gap.sqlite; the same command goes on from there.",
        "interrupted.",
    ]
