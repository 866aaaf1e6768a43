"""A store loses nothing that was finished, whoever writes, and whatever ends the writing.

Expected contents are what was put in; SQLite's own integrity check is the second opinion.
"""

import multiprocessing
import os
import signal
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from working import fill, outcome

from fem_motor.batch import Outcome, ResultStore
from fem_motor.errors import InputError


def test_what_was_kept_is_found_by_its_key(tmp_path: Path) -> None:
    store = ResultStore(tmp_path / "results.sqlite")
    one, other = outcome(1), Outcome(key="f" * 64, title="B", status="refused", reason="why")
    store.keep(one)
    store.keep(other)
    again = ResultStore(store.path)
    assert again.found([other.key, "0" * 64, one.key]) == {one.key: one, other.key: other}
    assert again.all() == (one, other)


def test_what_was_lost_is_asked_for_again(tmp_path: Path) -> None:
    store = ResultStore(tmp_path / "results.sqlite")
    lost = Outcome(key="a" * 64, title="A", status="lost", reason="its process ended")
    store.keep(lost)
    assert store.found([lost.key]) == {}
    solved = Outcome(key=lost.key, title="A", status="solved", text="{}")
    store.keep(solved)
    assert store.found([lost.key]) == {lost.key: solved}


def test_a_thousand_keys_are_found_in_one_question(tmp_path: Path) -> None:
    path = tmp_path / "results.sqlite"
    fill(str(path), 0, 3)
    found = ResultStore(path).found([f"{k:064x}" for k in range(1200)])
    assert sorted(one.title for one in found.values()) == ["A0", "A1", "A2"]


def test_two_processes_write_into_one_store(tmp_path: Path) -> None:
    path = tmp_path / "results.sqlite"
    context = multiprocessing.get_context("spawn")
    writers = [context.Process(target=fill, args=(str(path), 30 * k, 40)) for k in range(2)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
        assert writer.exitcode == 0
    assert ResultStore(path).all() == tuple(outcome(k) for k in range(70))


def test_a_writer_that_is_killed_leaves_whole_rows(tmp_path: Path) -> None:
    path = tmp_path / "results.sqlite"
    writer = multiprocessing.get_context("spawn").Process(target=fill, args=(str(path), 0, 10**6))
    writer.start()
    while not path.exists() or len(ResultStore(path).all()) < 5:
        time.sleep(0.01)
    assert writer.pid is not None
    os.kill(writer.pid, signal.SIGKILL)
    writer.join()
    found = ResultStore(path).all()
    assert len(found) >= 5
    assert found == tuple(outcome(k) for k in range(len(found)))
    with sqlite3.connect(path) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection.close()


@pytest.mark.parametrize("content", [b"title = 1\n" * 100, b"SQLite format 3\x00" + 84 * b"\x00"])
def test_a_file_that_is_no_store_is_refused(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "boat.toml"
    path.write_bytes(content)
    with pytest.raises(InputError) as caught:
        ResultStore(path)
    assert str(caught.value).startswith(f"{path} cannot be used as a store of results.\n  why: ")
    assert path.read_bytes() == content


def test_a_database_of_another_program_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "other.sqlite"
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE outcomes (name TEXT)")
    connection.close()
    with pytest.raises(InputError, match="is not a store of results"):
        ResultStore(path)


def test_a_folder_that_is_missing_is_named(tmp_path: Path) -> None:
    path = tmp_path / "nowhere" / "results.sqlite"
    with pytest.raises(InputError) as caught:
        ResultStore(path)
    assert str(caught.value) == (
        f"{path} cannot be used as a store of results.\n"
        "  why: unable to open database file.\n"
        "  do:  name another file with --store, make room on the disk, or allow writing there."
    )


NOBODY = 65534


@pytest.fixture
def place_without_rights() -> Iterator[Path]:
    """Hand out a folder whose rights count: root, who may write anywhere, is nobody meanwhile."""
    root = os.geteuid() == 0
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        if root:
            os.chown(place, NOBODY, -1)
            os.seteuid(NOBODY)
        try:
            yield place
        finally:
            place.chmod(0o700)
            if root:
                os.seteuid(0)


@pytest.mark.parametrize(("of_file", "of_folder"), [(0o444, 0o755), (0o644, 0o555), (0o444, 0o555)])
def test_a_store_that_may_not_be_written_is_refused_before_any_work(
    place_without_rights: Path, of_file: int, of_folder: int
) -> None:
    path = place_without_rights / "results.sqlite"
    ResultStore(path).keep(outcome(1))
    whole = path.read_bytes()
    path.chmod(of_file)
    place_without_rights.chmod(of_folder)
    with pytest.raises(InputError, match="cannot be used as a store of results") as caught:
        ResultStore(path)
    assert caught.value.exit_code == 2
    assert "allow writing there" in str(caught.value)
    assert path.read_bytes() == whole


@pytest.mark.parametrize("rights", [0o555, 0o444, 0o000])
def test_a_folder_that_may_not_be_written_or_searched_is_refused(
    place_without_rights: Path, rights: int
) -> None:
    place_without_rights.chmod(rights)
    with pytest.raises(InputError, match="cannot be used as a store of results"):
        ResultStore(place_without_rights / "results.sqlite")
