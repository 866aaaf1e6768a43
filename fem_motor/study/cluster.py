"""The same work on other machines, through dask.distributed."""

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
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
        # Not pure: dask would take two designs of the same text for one; our keys do that.
        executor: Executor = client.get_executor(pure=False, retries=2)
        yield executor
    finally:
        client.close()
