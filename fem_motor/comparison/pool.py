"""Many designs assessed, in this process or in several."""

import multiprocessing
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from functools import partial

from fem_motor.comparison.assessment import Assessment, assess
from fem_motor.comparison.records import Goal, Hold, Quality
from fem_motor.design import MotorDesign
from fem_motor.errors import FemMotorError

OnStep = Callable[[int, int, str], None]
Answer = Assessment | FemMotorError


def ignore(done: int, of: int, stage: str) -> None:
    """Take no notice of progress."""


def assess_all(
    designs: Sequence[MotorDesign],
    *,
    quality: Quality,
    hold: Hold,
    workers: int,
    stage: str,
    on_step: OnStep = ignore,
    picture: Goal | None = None,
) -> tuple[Answer, ...]:
    """Return an assessment of each design, or why there is none, in their order.

    Parameters
    ----------
    designs : sequence of MotorDesign
    quality : "draft", "standard" or "fine"
    hold : "as-drawn" or "supply-and-load"
    workers : int
        Processes; 1: this one. The answers do not depend on it.
    stage : str
        For `on_step`.
    on_step : callable
    picture : Goal or None
        As of `assess`.
    """
    work = partial(_answer, quality=quality, hold=hold, picture=picture)
    on_step(0, len(designs), stage)
    if workers <= 1 or len(designs) <= 1:
        found = []
        for done, design in enumerate(designs, start=1):
            found.append(work(design))
            on_step(done, len(designs), stage)
        return tuple(found)
    # Started afresh: a copy of a process with threads or an open mesher may hang.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(min(workers, len(designs)), mp_context=context) as pool:
        try:
            futures = [pool.submit(work, design) for design in designs]
            for done, _ in enumerate(as_completed(futures), start=1):
                on_step(done, len(designs), stage)
            return tuple(future.result() for future in futures)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise


def _answer(design: MotorDesign, *, quality: Quality, hold: Hold, picture: Goal | None) -> Answer:
    try:
        return assess(design, quality=quality, hold=hold, picture=picture)
    except FemMotorError as error:
        return error
