"""The same work on other machines, through dask.distributed."""

from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import BrokenExecutor, Executor, Future
from contextlib import contextmanager
from functools import partial
from typing import Any

from fem_motor.errors import InputError

PATIENCE = 10
"""s to reach the scheduler."""


@contextmanager
def cluster(address: str) -> Iterator[Executor]:
    """Hand out an executor that works on the cluster whose scheduler is at `address`.

    A worker that is lost does not matter: the scheduler gives its tasks to another.

    Raises
    ------
    InputError
        Where dask.distributed is not installed, or nobody answers at the address.
    """
    try:
        from distributed import Client  # noqa: PLC0415  (an extra)
    except ImportError as error:
        raise InputError(
            "needs dask.distributed.",
            why="it is not installed.",
            do="python -m pip install 'fem_motor[cluster]', here and on every worker.",
            place="--cluster",
        ) from error
    try:
        client: Any = Client(address, timeout=PATIENCE)  # type: ignore[no-untyped-call]
    except (OSError, ValueError, TimeoutError) as error:
        raise InputError(
            f"{address} does not answer.",
            why=f"{error}.",
            do="start `dask scheduler` and `dask worker` there, and give tcp://HOST:PORT.",
            place="--cluster",
        ) from error
    try:
        _refuse_threads(client.nthreads(), address)
        # Not pure: dask would take two designs of the same text for one; our keys do that.
        yield _Cluster(client.get_executor(pure=False, retries=2))
    finally:
        client.close()


class _Cluster(Executor):
    """The executor of dask, with the word of concurrent.futures for a task whose workers died."""

    def __init__(self, executor: Executor) -> None:
        self._executor = executor

    def submit(self, doing: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:  # noqa: ANN401  (as in Executor)
        """Hand out a task."""
        answer: Future[Any] = Future()
        answer.set_running_or_notify_cancel()
        asked = self._executor.submit(doing, *args, **kwargs)
        asked.add_done_callback(partial(_pass_on, answer))
        return answer


def _pass_on(answer: Future[Any], asked: Future[Any]) -> None:
    from distributed import KilledWorker  # noqa: PLC0415  (an extra)

    if asked.cancelled():
        answer.set_exception(BrokenExecutor("the cluster gave the task up"))
        return
    error = asked.exception()
    if isinstance(error, KilledWorker):
        error = BrokenExecutor(str(error))
    if error is None:
        answer.set_result(asked.result())
    else:
        answer.set_exception(error)


def _refuse_threads(threads: Mapping[str, int], address: str) -> None:
    """Refuse workers that would mesh two designs at a time: the mesher has one state a process."""
    if threads and max(threads.values()) == 1:
        return
    raise InputError(
        f"{address} has workers of several threads." if threads else f"{address} has no workers.",
        why="a process can mesh one design at a time." if threads else "",
        do=f"start them by `dask worker {address} --nthreads 1 --nworkers N`.",
        place="--cluster",
    )
