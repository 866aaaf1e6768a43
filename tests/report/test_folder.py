import json
from pathlib import Path

import pytest

from fem_motor.errors import FemMotorError, InputError
from fem_motor.report.folder import ready_folder, whole_folder


def make_report(folder: Path) -> None:
    folder.mkdir(parents=True)
    (folder / "result.json").write_text(json.dumps({"format": "fem_motor.performance"}))
    (folder / "report.html").write_text("old")
    (folder / "flux_map.png").write_bytes(b"old")


def write_new(folder: Path) -> None:
    with whole_folder(folder) as inside:
        (inside / "result.json").write_text('{"format": "fem_motor.performance", "new": 1}')


def write_half(folder: Path, error: BaseException) -> None:
    with whole_folder(folder) as inside:
        (inside / "report.html").write_text("half")
        raise error


def everything(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*"))


def test_a_folder_appears_whole(tmp_path: Path) -> None:
    write_new(tmp_path / "a b" / "Schilf-Gerät")
    assert everything(tmp_path) == ["a b", "a b/Schilf-Gerät", "a b/Schilf-Gerät/result.json"]


def test_a_new_folder_has_the_rights_of_any_new_folder(tmp_path: Path) -> None:
    write_new(tmp_path / "report")
    (tmp_path / "plain").mkdir()
    assert (tmp_path / "report").stat().st_mode == (tmp_path / "plain").stat().st_mode


@pytest.mark.parametrize("error", [RuntimeError("half"), KeyboardInterrupt()])
def test_an_error_or_interrupt_leaves_no_half_report(tmp_path: Path, error: BaseException) -> None:
    with pytest.raises(type(error)):
        write_half(tmp_path / "a" / "report", error)
    assert everything(tmp_path) == []


@pytest.mark.parametrize("error", [RuntimeError("half"), KeyboardInterrupt()])
def test_an_error_or_interrupt_leaves_the_older_report(
    tmp_path: Path, error: BaseException
) -> None:
    make_report(tmp_path / "report")
    before = everything(tmp_path)
    with pytest.raises(type(error)):
        write_half(tmp_path / "report", error)
    assert everything(tmp_path) == before
    assert (tmp_path / "report" / "report.html").read_text() == "old"


def test_an_older_report_of_ours_is_replaced_without_remains(tmp_path: Path) -> None:
    make_report(tmp_path / "report")
    write_new(tmp_path / "report")
    assert everything(tmp_path) == ["report", "report/result.json"]
    assert json.loads((tmp_path / "report" / "result.json").read_text())["new"] == 1


@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_failed_move_puts_the_older_report_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: BaseException
) -> None:
    make_report(tmp_path / "report")
    before, rename = everything(tmp_path), Path.rename

    def fail_on_the_second_move(self: Path, target: Path) -> Path:
        if Path(target).name == "report" and (self / "result.json").read_text().count("new"):
            raise error
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", fail_on_the_second_move)
    with pytest.raises((FemMotorError, KeyboardInterrupt)):
        write_new(tmp_path / "report")
    assert everything(tmp_path) == before


def test_a_foreign_folder_is_left_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "thesis").mkdir()
    (tmp_path / "thesis" / "chapter1.txt").write_text("mine")
    with pytest.raises(InputError) as caught:
        write_new(tmp_path / "thesis")
    assert str(caught.value) == (
        f"{tmp_path / 'thesis'} is left as it is.\n"
        "  why: it holds chapter1.txt, and no result.json that says this program made it.\n"
        "  do:  choose another folder with -o, or move this one away."
    )
    assert everything(tmp_path) == ["thesis", "thesis/chapter1.txt"]


def test_a_result_json_of_another_program_does_not_make_a_folder_ours(tmp_path: Path) -> None:
    folder = tmp_path / "report"
    for text in ('{"format": "other"}', "[1, 2]", "not JSON", '{"format": null}'):
        folder.mkdir(exist_ok=True)
        (folder / "result.json").write_text(text)
        with pytest.raises(InputError, match="is left as it is"):
            write_new(folder)
        assert (folder / "result.json").read_text() == text


def test_notes_put_beside_an_older_report_are_not_deleted(tmp_path: Path) -> None:
    make_report(tmp_path / "report")
    (tmp_path / "report" / "notes.txt").write_text("mine")
    with pytest.raises(InputError) as caught:
        write_new(tmp_path / "report")
    assert str(caught.value) == (
        f"{tmp_path / 'report'} is left as it is.\n"
        "  why: beside an older report it holds notes.txt, which this program did not write and "
        "would delete.\n"
        "  do:  move that away, or choose another folder with -o."
    )
    assert (tmp_path / "report" / "notes.txt").read_text() == "mine"


def test_an_empty_folder_is_taken(tmp_path: Path) -> None:
    (tmp_path / "report").mkdir()
    write_new(tmp_path / "report")
    assert everything(tmp_path) == ["report", "report/result.json"]


def test_a_file_where_a_folder_is_wanted_is_bad_input(tmp_path: Path) -> None:
    (tmp_path / "report").write_text("mine")
    with pytest.raises(InputError) as caught:
        ready_folder(tmp_path / "report")
    assert str(caught.value) == (
        f"{tmp_path / 'report'} cannot become a report folder.\n"
        "  why: a file of that name is there.\n"
        "  do:  choose another folder with -o, or move the file away."
    )


def test_a_folder_under_a_file_is_bad_input(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine")
    with pytest.raises(InputError) as caught:
        ready_folder(tmp_path / "file" / "report")
    assert str(caught.value) == (
        f"{tmp_path / 'file' / 'report'} cannot be written.\n"
        "  why: Not a directory.\n"
        "  do:  choose a folder that you may write to with -o DIR."
    )


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a folder that refuses root too")
def test_a_folder_that_refuses_new_files_is_bad_input() -> None:
    with pytest.raises(InputError, match=r"/proc/report cannot be written\.") as caught:
        ready_folder("/proc/report")
    assert caught.value.exit_code == 2


def test_the_working_directory_is_not_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    with pytest.raises(InputError, match="working directory"):
        ready_folder(".")


def test_asking_whether_a_folder_can_be_written_leaves_nothing(tmp_path: Path) -> None:
    assert ready_folder(tmp_path / "a" / "b") == tmp_path / "a" / "b"
    assert everything(tmp_path) == []


def test_a_link_to_a_folder_is_followed(tmp_path: Path) -> None:
    make_report(tmp_path / "real")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    write_new(tmp_path / "link")
    assert (tmp_path / "link").is_symlink()
    assert everything(tmp_path / "real") == ["result.json"]


def test_the_folder_of_a_calibrated_log_can_be_written_again(tmp_path: Path) -> None:
    # Found by hand: the second run was refused, for calibrated.toml was not known as ours.
    make_report(tmp_path / "report")
    for name in ("points.csv", "answers.txt", "calibrated.toml"):
        (tmp_path / "report" / name).write_text("old")
    write_new(tmp_path / "report")
    assert everything(tmp_path) == ["report", "report/result.json"]
