"""What a killed process left beside its target goes with the next one that writes there."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from fem_motor.beside import clear_leftovers, file_beside, hidden_beside
from fem_motor.errors import FemMotorError
from fem_motor.report.folder import whole_folder

KILLED = """
import os, signal, sys
from pathlib import Path
from fem_motor.beside import file_beside
from fem_motor.report.folder import whole_folder
with whole_folder("report") as inside, file_beside(Path("a.dxf"), b"half"):
    (inside / "report.html").write_text("half")
    os.kill(os.getpid(), signal.SIGKILL)
"""


def write_report(folder: Path) -> None:
    with whole_folder(folder) as inside:
        (inside / "result.json").write_text('{"format": "fem_motor.performance"}')


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def of_process(path: Path, process: int) -> Path:
    return path.with_name(path.name.replace(f".{os.getpid()}.", f".{process}."))


def process_that_is_gone() -> int:
    with subprocess.Popen([sys.executable, "-c", ""]) as program:
        pass
    return program.pid


def test_what_a_killed_process_left_goes_with_the_next_that_writes(tmp_path: Path) -> None:
    root = str(Path(__file__).parent.parent)
    paths = os.pathsep.join(filter(None, (root, os.environ.get("PYTHONPATH"))))
    killed = subprocess.run(  # noqa: S603
        [sys.executable, "-c", KILLED], cwd=tmp_path, env={**os.environ, "PYTHONPATH": paths},
        check=False,
    )  # fmt: skip
    assert killed.returncode == -signal.SIGKILL
    assert len(names(tmp_path)) == 2
    assert all(name.startswith(".") for name in names(tmp_path))
    write_report(tmp_path / "report")
    with file_beside(tmp_path / "a.dxf", b"whole") as temporary:
        temporary.replace(tmp_path / "a.dxf")
    clear_leftovers(tmp_path / "a.dxf")
    assert names(tmp_path) == ["a.dxf", "report"]


def test_what_others_have_there_stays(tmp_path: Path) -> None:
    gone, ours = process_that_is_gone(), hidden_beside(tmp_path / "report")
    stays = [
        ours,  # this process writes still
        of_process(ours, os.getppid()),  # so does that one
        of_process(hidden_beside(tmp_path / "another"), gone),
        tmp_path / f".report.{gone}",  # of no machine, perhaps of no program of ours
        tmp_path / f".report.some-other-machine-than-this.{gone}.0",
        of_process(ours, gone).with_suffix(".txt"),
    ]
    for path in stays:
        path.mkdir()
    goes = of_process(ours, gone)
    goes.mkdir()
    (goes / "half.png").write_bytes(b"")
    write_report(tmp_path / "report")
    assert names(tmp_path) == sorted([*(path.name for path in stays), "report"])


def test_a_report_that_was_out_of_the_way_stays_until_another_is_whole(tmp_path: Path) -> None:
    # Killed between the two moves, a process leaves the older report under a hidden name only.
    aside = of_process(hidden_beside(tmp_path / "report"), process_that_is_gone())
    write_report(aside)
    with pytest.raises(RuntimeError), whole_folder(tmp_path / "report"):
        raise RuntimeError
    assert names(tmp_path) == [aside.name]
    write_report(tmp_path / "report")
    assert names(tmp_path) == ["report"]


@pytest.mark.parametrize("name", ["r" * 240, "ü" * 120, "𝄞" * 60])
def test_a_long_name_still_finds_a_hidden_one_beside_it(tmp_path: Path, name: str) -> None:
    write_report(tmp_path / name)
    assert names(tmp_path) == [name]


def test_a_disk_that_fills_is_an_error_with_advice(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: Path, __: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(FemMotorError) as caught, file_beside(tmp_path / "a.csv", b"1"):
        pass
    assert str(caught.value) == (
        f"{tmp_path / 'a.csv'} could not be written to the end.\n"
        "  why: No space left on device.\n"
        "  do:  make room on the disk, or choose another folder."
    )
    assert names(tmp_path) == []
