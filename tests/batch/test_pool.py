"""Work shared out to processes: the answers are those of one process, in the order of the tasks.

The second method of each test is the plain loop over the tasks, or arithmetic.
"""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from working import deadly, deadly_once, squared

from fem_motor.batch import in_order
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
