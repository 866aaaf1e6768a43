"""Designs to outcomes: those that a store knows are not solved again."""

import hashlib
import json
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from functools import cache, partial
from pathlib import Path
from typing import Literal

from fem_motor.batch.pool import in_order
from fem_motor.batch.records import Outcome
from fem_motor.batch.store import ResultStore
from fem_motor.design import MotorDesign
from fem_motor.errors import DesignError, FemMotorError
from fem_motor.performance import run

Quality = Literal["draft", "standard", "fine"]
OnOutcome = Callable[[int, int], None]

_UPSTAIRS = frozenset(
    ("batch", "bench", "comparison", "study", "calibration", "charts", "export", "report", "cli")
)
"""Rooms that no answer depends on."""

OTHER_PROGRAM = "the process that took it runs another version of fem_motor; install the same one."
"""Its answer would be kept as that of this program."""


def design_key(design: MotorDesign, *, quality: Quality) -> str:
    """Return what the results of a design depend on, as a hash: 64 hexadecimal digits.

    The complete design, defaults filled in, the quality, and the program itself: a store of an
    older one is no answer to a newer. File names and comments do not count.
    """
    return content_key(design.to_dict(), quality)


def content_key(*content: object, room: str | None = None) -> str:
    """Return a hash of plain data and of the program: 64 hexadecimal digits.

    Parameters
    ----------
    *content
        What goes into JSON.
    room : str, optional
        A room whose own code counts too, beside all that computes fields and sheets.
    """
    text = json.dumps([*content, _program(room)], sort_keys=True, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


@cache
def _program(room: str | None) -> str:
    """Return a hash of all that computes."""
    elsewhere = _UPSTAIRS - {room}
    root = Path(__file__).parent.parent
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*")):
        place = path.relative_to(root)
        if path.suffix in {".py", ".toml"} and place.parts[0] not in elsewhere:
            digest.update(str(place).encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()


def solve_designs(
    designs: Sequence[MotorDesign],
    *,
    quality: Quality = "standard",
    workers: int = 1,
    store: ResultStore | None = None,
    executor: Executor | None = None,
    on_step: OnOutcome = lambda _done, _of: None,
) -> tuple[Outcome, ...]:
    """Return what becomes of each design, in their order.

    The same design twice is solved once. Every outcome is in the store as soon as it is known, so
    that whatever ends the work loses only what was under way.

    Parameters
    ----------
    designs : sequence of MotorDesign
    quality : "draft", "standard" or "fine"
    workers, executor
        Who does the work, see `in_order`; the outcomes do not depend on it.
    store : ResultStore, optional
    on_step : callable
        Told how many are done, of how many.
    """
    keys = [design_key(design, quality=quality) for design in designs]
    known = dict(store.found(keys)) if store else {}
    first = dict(zip(keys, designs, strict=True))
    wanted = [key for key in dict.fromkeys(keys) if key not in known]
    on_step(len(first) - len(wanted), len(first))

    def keep(_number: int, outcome: Outcome) -> None:
        if store:
            store.keep(outcome)
        known[outcome.key] = outcome
        on_step(len(known), len(first))

    tasks = [(key, first[key]) for key in wanted]
    doing = partial(_outcome, quality=quality)
    answers = in_order(tasks, doing, workers=workers, executor=executor, on_answer=keep)
    for number, (key, answer) in enumerate(zip(wanted, answers, strict=True)):
        if not isinstance(answer, Outcome):
            reason = str(answer)
            keep(number, Outcome(key=key, title=first[key].title, status="lost", reason=reason))
    return tuple(known[key] for key in keys)


def _outcome(task: tuple[str, MotorDesign], *, quality: Quality) -> Outcome:
    key, design = task
    kind = partial(Outcome, key=key, title=design.title)
    if design_key(design, quality=quality) != key:
        return kind(status="lost", reason=OTHER_PROGRAM)
    try:
        plain = run(design, quality=quality).to_dict()
    except DesignError as error:
        return kind(status="refused", reason=str(error))
    except FemMotorError as error:
        return kind(status="failed", reason=str(error))
    except Exception as error:  # noqa: BLE001  (one bad design must not end the work on the others)
        return kind(status="failed", reason=f"a bug of fem_motor: {type(error).__name__}: {error}")
    del plain["timing_s"]
    text = json.dumps(plain, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return kind(status="solved", text=text)
