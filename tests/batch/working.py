"""Work for the tests of this folder, in a module that other processes can import."""

import os
import signal
import time
from pathlib import Path

from fem_motor.batch import Outcome, ResultStore, in_order


def squared(number: int) -> int:
    return number**2


def slowly_squared(number: int) -> int:
    time.sleep(0.05)
    return number**2


def at_work(folder: str) -> None:
    """Hand work to two processes that never ends; each leaves its number in `folder`."""
    in_order([folder] * 6, endless, workers=2)


def endless(folder: str) -> None:
    """Leave the number of this process in `folder`, and never return."""
    (Path(folder) / f"{os.getpid()}").touch()
    time.sleep(3600)


def deadly(number: int) -> int:
    """Return the number, but end the process, as where memory runs out, at 2."""
    if number == 2:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def deadly_once(task: tuple[int, str]) -> int:
    """Return the number, but end the process the first time that it is asked for 2."""
    number, mark = task
    if number == 2 and not Path(mark).exists():
        Path(mark).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def fill(path: str, start: int, number: int) -> None:
    """Keep `number` outcomes in a store, from `start` on."""
    store = ResultStore(Path(path))
    for k in range(start, start + number):
        store.keep(outcome(k))


def outcome(number: int) -> Outcome:
    return Outcome(
        key=f"{number:064x}", title=f"A{number}", status="solved", text=f'{{"number":{number}}}'
    )
