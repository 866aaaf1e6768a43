"""Work shared out to processes: the same answers in the same order, however many there are.

A process is started afresh, for a copy of one with threads or an open mesher may hang; it works on
one thread, for the processes share the cores; it ends with the process that started it, however
that ends; and all are replaced after some tasks, so that what a library does not give back does not
add up.
"""

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from contextlib import contextmanager
from typing import TypeVar

from fem_motor.errors import SolverError

Task = TypeVar("Task")
Answer = TypeVar("Answer")
OnAnswer = Callable[[int, Answer], None]

TASKS_A_PROCESS = 50
"""Starting a process takes about a second; a task takes as long or longer."""

AHEAD = 3
"""Tasks handed out for every process: none waits for work, and few answers wait to be taken."""

ELSEWHERE = 64
"""Tasks handed out to an executor whose size is not known."""

_ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


def in_order(
    tasks: Sequence[Task],
    doing: Callable[[Task], Answer],
    *,
    workers: int = 1,
    executor: Executor | None = None,
    on_answer: OnAnswer[Answer] | None = None,
) -> list[Answer | SolverError]:
    """Return the answer to each task, in the order of the tasks.

    A process that dies takes the tasks that were handed out with it; they are done once more, one
    at a time in a process each. The answer to a task whose process dies again is an error.

    Parameters
    ----------
    tasks : sequence
        Each can be sent to another process.
    doing : callable
        A function of a module, or `functools.partial` of one.
    workers : int
        Processes on this machine; 1: this one.
    executor : Executor, optional
        Does the work instead, here or on other machines.
    on_answer : callable
        Told the number of a task and its answer as soon as it is there, in any order.

    Raises
    ------
    Exception
        What `doing` raises; what is under way then, or at Ctrl-C, is given up.
    """
    told = on_answer or _ignore
    answers: dict[int, Answer | SolverError] = {}

    def take(number: int, answer: Answer) -> None:
        answers[number] = answer
        told(number, answer)

    everything = list(range(len(tasks)))
    if executor is not None:
        lost = _shared(tasks, everything, doing, take, executor=executor, ahead=ELSEWHERE)
    elif workers <= 1 or len(tasks) <= 1:
        for number, task in enumerate(tasks):
            take(number, doing(task))
        lost = []
    else:
        lost = []
        # The executor's own max_tasks_per_child loses processes near the end, and waits for ever.
        for some in _batched(everything, TASKS_A_PROCESS * workers):
            with processes(min(workers, len(some))) as pool:
                lost += _shared(tasks, some, doing, take, executor=pool, ahead=AHEAD * workers)
    for number in lost:
        with processes(1) as pool:
            if _shared(tasks, [number], doing, take, executor=pool, ahead=1):
                answers[number] = _died(number)
    return [answers[number] for number in everything]


@contextmanager
def processes(workers: int) -> Iterator[ProcessPoolExecutor]:
    """Hand out an executor of so many processes on this machine, one thread each."""
    before = {name: os.environ.get(name) for name in _ONE_THREAD}
    os.environ.update(dict.fromkeys(_ONE_THREAD, "1"))  # libraries read it as they load
    pool = ProcessPoolExecutor(
        workers,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_at_work,
    )
    try:
        yield pool
    except BaseException:
        for process in list((getattr(pool, "_processes", None) or {}).values()):
            process.terminate()  # nobody wants its answer any more
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _at_work() -> None:
    """Leave Ctrl-C to the process that started this one, and end when that one has ended.

    A process that waits for work would else wait for ever after its master was killed.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_master, daemon=True).start()


def _end_with_master() -> None:
    master = multiprocessing.parent_process()
    if master is not None:
        master.join()
        os._exit(1)


def _batched(numbers: Sequence[int], size: int) -> Iterator[Sequence[int]]:
    """Yield the numbers in their order, at most `size` at a time."""
    for start in range(0, len(numbers), size):
        yield numbers[start : start + size]


def _shared(
    tasks: Sequence[Task],
    numbers: Sequence[int],
    doing: Callable[[Task], Answer],
    take: OnAnswer[Answer],
    *,
    executor: Executor,
    ahead: int,
) -> list[int]:
    """Hand out the tasks of these numbers, `ahead` at a time; return those whose process died."""
    left, lost = list(reversed(numbers)), list[int]()
    under_way: dict[Future[Answer], int] = {}
    while True:
        try:
            while left and len(under_way) < ahead:
                under_way[executor.submit(doing, tasks[left[-1]])] = left[-1]
                left.pop()
        except BrokenExecutor:
            lost += left
            left.clear()
        if not under_way:
            return sorted(lost)
        done, _ = wait(under_way, return_when=FIRST_COMPLETED)
        for future in done:
            number = under_way.pop(future)
            try:
                take(number, future.result())
            except BrokenExecutor:
                lost.append(number)


def _died(number: int) -> SolverError:
    return SolverError(
        "was not solved.",
        why="its process ended twice without an answer, as happens where memory runs out.",
        do="use fewer --workers or a lower --quality.",
        place=f"task {number + 1}",
    )


def _ignore(_number: int, _answer: object) -> None:
    """Take no notice."""
