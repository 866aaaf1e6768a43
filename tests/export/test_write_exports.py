"""Files are written whole or not at all, and never over somebody else's."""

import json
from pathlib import Path

import pytest

import fem_motor as fm
from fem_motor.cli import main
from fem_motor.errors import FemMotorError, InputError
from fem_motor.export import writing

DESIGN_FILE = Path(__file__).parents[2] / "geometries" / "printed_18s16p.toml"
DESIGN = fm.load_design(DESIGN_FILE)
CARDS = ("winding_card", "magnet_card", "parts_list")


def inside(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


@pytest.mark.parametrize("suffix", [".md", ".txt", ".html", ".csv", ".MD"])
def test_cards_come_in_the_form_that_the_suffix_says(suffix: str, tmp_path: Path) -> None:
    names = {card: tmp_path / f"{card}{suffix}" for card in CARDS}
    written = fm.write_exports(DESIGN, **names)
    assert list(written.files) == list(names.values())
    beginnings = {".md": "<!-- fem", ".html": "<!DOCTYPE html>", ".txt": "", ".csv": ""}
    for card, file in names.items():
        text = file.read_text(encoding="utf-8")
        assert text.startswith(beginnings[suffix.lower()])
        assert f"fem_motor.{card}" in text


def test_a_file_of_this_program_is_replaced(tmp_path: Path) -> None:
    file = tmp_path / "parts.csv"
    fm.write_exports(DESIGN, parts_list=file)
    before = file.read_text()
    longer = DESIGN.replace("machine.stack_length_mm", 25.0)
    fm.write_exports(longer, parts_list=file)
    assert file.read_text() != before
    assert inside(tmp_path) == {"parts.csv"}


def test_all_that_is_wrong_is_said_at_once_and_nothing_is_written(tmp_path: Path) -> None:
    notes = tmp_path / "notes.md"
    notes.write_text("mine, with a word on fem_motor.export")
    with pytest.raises(InputError) as caught:
        fm.write_exports(
            DESIGN,
            dxf=tmp_path / "section.step",
            winding_card=notes,
            magnet_card=tmp_path / "nowhere" / "card.md",
            parts_list=tmp_path,
        )
    assert str(caught.value) == (
        f"--dxf {tmp_path}/section.step ends in .step.\n"
        "  why: the suffix says in which form the file is written.\n"
        "  do:  use a name that ends in .dxf.\n"
        f"--winding-card {tmp_path}/notes.md is left as it is.\n"
        "  why: a file is there that this program did not write.\n"
        "  do:  choose another name, or move that file away.\n"
        f"--magnet-card {tmp_path}/nowhere/card.md cannot be written.\n"
        f"  why: {tmp_path}/nowhere is no folder that you may write to.\n"
        "  do:  make it first, or choose another.\n"
        f"--parts-list {tmp_path} has no suffix.\n"
        "  why: the suffix says in which form the file is written.\n"
        "  do:  use a name that ends in .md or .txt or .html or .csv."
    )
    assert inside(tmp_path) == {"notes.md"}
    assert notes.read_text().startswith("mine")


def test_two_kinds_do_not_share_a_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"is also the file of --winding-card"):
        fm.write_exports(DESIGN, winding_card=tmp_path / "a.md", parts_list=tmp_path / "a.md")
    assert inside(tmp_path) == set()


def test_a_field_that_fails_leaves_no_file_of_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise FemMotorError("did not converge.")

    monkeypatch.setattr(writing, "field_grid", fail)
    with pytest.raises(FemMotorError, match="did not converge"):
        fm.write_exports(DESIGN, dxf=tmp_path / "a.dxf", vtu=tmp_path / "a.vtu")
    assert inside(tmp_path) == set()


def test_a_full_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "parts.csv"
    fm.write_exports(DESIGN, parts_list=file)
    before = file.read_bytes()

    def full(path: Path, data: bytes) -> None:
        with path.open("wb") as stream:
            stream.write(data[:10])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(FemMotorError, match="could not be written to the end"):
        fm.write_exports(DESIGN, parts_list=file)
    assert file.read_bytes() == before
    assert inside(tmp_path) == {"parts.csv"}


def test_the_verb_names_its_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = [str(tmp_path / "s.dxf"), str(tmp_path / "w.md")]
    assert main(["export", str(DESIGN_FILE), "--dxf", files[0], "--winding-card", files[1],
                 "--json", "--quiet"]) == 0  # fmt: skip
    out, err = capsys.readouterr()
    assert (json.loads(out), err) == ({"files": files}, "")
    assert inside(tmp_path) == {"s.dxf", "w.md"}


def test_the_verb_without_a_file_to_write_is_bad_input(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["export", str(DESIGN_FILE)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        "export needs at least one file to write.\n"
        "  do:  add one or more of --dxf, --vtu, --winding-card, --magnet-card, --parts-list, "
        "each with a file name.\n"
    )


@pytest.mark.parametrize("option", ["--angle", "--current-peak"])
def test_angle_and_currents_belong_to_the_field(
    option: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    names = ["--dxf", str(tmp_path / "s.dxf")]
    assert main(["export", str(DESIGN_FILE), *names, option, "3"]) == 2
    assert f"{option} says nothing about these files." in capsys.readouterr().err
    assert inside(tmp_path) == set()


def test_a_design_that_cannot_be_built_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "wide.toml"
    text = DESIGN_FILE.read_text(encoding="utf-8")
    file.write_text(text.replace("magnet_width_mm = 8.0", "magnet_width_mm = 12.0"))
    assert main(["export", str(file), "--dxf", str(tmp_path / "s.dxf")]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "rotor.magnet_width_mm = 12 does not fit." in err
    assert inside(tmp_path) == {"wide.toml"}


@pytest.mark.slow
def test_currents_that_turn_are_those_of_the_sweep(tmp_path: Path) -> None:
    import meshio  # noqa: PLC0415  (heavy)

    setting = writing.FieldSetting(angle_deg=4.0, current_peak_A=10.0, quality="draft")
    fm.write_exports(DESIGN, vtu=tmp_path / "f.vtu", setting=setting)
    mesh = meshio.read(tmp_path / "f.vtu")
    density = mesh.cell_data["current_density_A_per_m2"][0]
    sweep = fm.rotor_sweep(DESIGN, angles_deg=[4.0], current_peak_A=10.0, quality="draft")
    turns, area = 14, 15.107999e-6  # a coil side, m², from the drawing of the section
    levels = {round(value) for value in abs(density) if value}
    expected = {round(turns * abs(current) / area) for current in sweep.currents_A[:, 0]}
    assert sorted(levels) == pytest.approx(sorted(expected), rel=1e-4)
