"""Work shared out to processes: the answers are those of one process, in the order of the tasks.

The second method of each test is the plain loop over the tasks, or arithmetic.
"""

import multiprocessing
import os
import signal
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from working import at_work, deadly, deadly_once, slowly_squared, squared

from fem_motor.batch import in_order, pool
from fem_motor.errors import SolverError


@pytest.mark.parametrize("workers", [1, 2])
def test_answers_come_in_the_order_of_the_tasks(workers: int) -> None:
    told: list[tuple[int, int]] = []
    answers = in_order(
        range(9), squared, workers=workers, on_answer=lambda number, one: told.append((number, one))
    )
    assert answers == [number**2 for number in range(9)]
    assert sorted(told) == [(number, number**2) for number in range(9)]


def test_another_executor_does_the_same_work() -> None:
    with ThreadPoolExecutor(3) as executor:
        assert in_order(range(200), squared, executor=executor) == [n**2 for n in range(200)]


def test_a_process_that_dies_takes_its_own_task_only() -> None:
    answers = in_order(range(8), deadly, workers=2)
    lost = answers.pop(2)
    assert answers == [0, 1, 3, 4, 5, 6, 7]
    assert isinstance(lost, SolverError)
    assert str(lost) == (
        "task 3 was not solved.\n"
        "  why: its process ended twice without an answer, as happens where memory runs out.\n"
        "  do:  use fewer --workers or a lower --quality."
    )


def test_a_task_whose_process_died_is_done_once_more(tmp_path: Path) -> None:
    tasks = [(number, str(tmp_path / "mark")) for number in range(5)]
    assert in_order(tasks, deadly_once, workers=2) == [0, 1, 2, 3, 4]


@pytest.mark.parametrize("workers", [1, 2])
def test_no_tasks_no_answers(workers: int) -> None:
    assert in_order([], squared, workers=workers) == []


def test_what_the_work_raises_comes_through() -> None:
    with pytest.raises(TypeError):
        in_order(["one", "two", "three"], squared, workers=2)  # type: ignore[list-item]


@pytest.mark.slow
@pytest.mark.parametrize("number", range(9, 13))
def test_processes_are_replaced_however_many_tasks_are_left(
    number: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pool, "TASKS_A_PROCESS", 5)
    answers = in_order(range(number), slowly_squared, workers=2)
    assert answers == [one**2 for one in range(number)]


@pytest.mark.slow
def test_processes_end_with_a_master_that_is_killed(tmp_path: Path) -> None:
    master = multiprocessing.get_context("spawn").Process(target=at_work, args=(str(tmp_path),))
    master.start()
    while len(list(tmp_path.iterdir())) < 2:
        time.sleep(0.05)
    assert master.pid is not None
    os.kill(master.pid, signal.SIGKILL)
    master.join()
    numbers = [int(path.name) for path in tmp_path.iterdir()]
    patience = time.monotonic() + 30
    while any(map(_lives, numbers)) and time.monotonic() < patience:
        time.sleep(0.05)
    assert not any(map(_lives, numbers))


def _lives(number: int) -> bool:
    """Return whether there is such a process, and not only its grave."""
    try:
        return Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False
