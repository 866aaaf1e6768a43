"""Many designs assessed, in this process or in several."""

from collections.abc import Callable, Sequence
from functools import partial
from itertools import count

from fem_motor.batch import in_order
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
    done = count(1)
    return tuple(
        in_order(
            designs,
            work,
            workers=min(workers, max(1, len(designs))),
            on_answer=lambda _, __: on_step(next(done), len(designs), stage),
        )
    )


def _answer(design: MotorDesign, *, quality: Quality, hold: Hold, picture: Goal | None) -> Answer:
    try:
        return assess(design, quality=quality, hold=hold, picture=picture)
    except FemMotorError as error:
        return error
