"""Nothing is half-written when the program is killed, interrupted, or has no room to write."""

import signal
from pathlib import Path

import pytest

from benchmarks.faults import (
    LIMITED,
    VERBS,
    faults_of_a_blow,
    faults_without_room,
    half_written,
    is_whole,
    lives,
)

# The long run is `python -m benchmarks.faults`.


@pytest.mark.slow
@pytest.mark.parametrize("verb", ["check", "export"])
def test_a_kill_while_writing_leaves_whole_files_and_the_next_run_works(
    tmp_path: Path, verb: str
) -> None:
    half = VERBS[verb].writing_s / 2
    kill = faults_of_a_blow(VERBS[verb], tmp_path, blow=signal.SIGKILL, delay=half)
    assert list(kill) == []
    assert list(lives(VERBS[verb], tmp_path)) == []


@pytest.mark.slow
@pytest.mark.parametrize("verb", ["check", "study"])
def test_an_interrupt_while_writing_exits_with_130_and_leaves_nothing(
    tmp_path: Path, verb: str
) -> None:
    assert list(faults_of_a_blow(VERBS[verb], tmp_path, blow=signal.SIGINT, delay=0.05)) == []


@pytest.mark.slow
@pytest.mark.parametrize("verb", ["check", "export", "study"])
def test_a_disk_without_room_is_an_error_with_advice_and_leaves_nothing(
    tmp_path: Path, verb: str
) -> None:
    assert list(faults_without_room(VERBS[verb], tmp_path, before=LIMITED)) == []


@pytest.mark.parametrize(
    ("name", "whole"),
    [
        ("a.html", b"<html></html>\n"),
        ("a.pdf", b"%PDF-1.4\n%%EOF\n"),
        ("a.json", b'{"a": 1}'),
        ("a.toml", b'a = "b"\n'),
        ("a.dxf", b"0\nEOF\n"),
        ("a.vtu", b"<VTKFile></VTKFile>"),
    ],
)
def test_a_file_that_is_cut_is_seen(tmp_path: Path, name: str, whole: bytes) -> None:
    path = tmp_path / name
    path.write_bytes(whole)
    assert is_whole(path)
    path.write_bytes(whole[:-3])
    assert list(half_written(tmp_path)) == [f"{name} is cut"]
