"""Many designs assessed, in this process or in several; what a store knows is not done again."""

from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import Executor
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from typing import Literal

from fem_motor.batch import Outcome, ResultStore, content_key, in_order, processes
from fem_motor.comparison.assessing.assessment import Assessment, assess
from fem_motor.comparison.assessing.keeping import assessment_of, text_of
from fem_motor.comparison.assessing.solved import Family, families
from fem_motor.comparison.records import Goal, Hold, Quality
from fem_motor.design import MotorDesign
from fem_motor.errors import FemMotorError
from fem_motor.progress import OnStage, ignore

Answer = Assessment | FemMotorError
First = Literal["needed", "like the others"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Where designs are assessed, and how.

    Attributes
    ----------
    hold : "as-drawn" or "supply-and-load"
    picture : Goal or None
        As of `assess`.
    executor : Executor or None
        None: this process. The answers do not depend on it.
    store : ResultStore or None
        Takes every assessment as soon as it is known.
    on_step : callable
    """

    hold: Hold
    picture: Goal | None = None
    executor: Executor | None = None
    store: ResultStore | None = None
    on_step: OnStage = ignore

    def assessed(
        self,
        designs: Sequence[MotorDesign],
        *,
        quality: Quality,
        stage: str,
        first: First = "like the others",
    ) -> tuple[Answer, ...]:
        """Return an assessment of each design, or why there is none, in their order.

        Designs of the same fields are one task.

        Parameters
        ----------
        designs : sequence of MotorDesign
        quality : "draft", "standard" or "fine"
        stage : str
            For `on_step`.
        first : "needed" or "like the others"
            Needed: nothing is worth doing without the first, and its error is raised at once.
        """
        keys = [self._key(design, quality) for design in designs]
        found: dict[int, Answer] = dict(self._known(keys, designs))
        left = [place for place in range(len(designs)) if place not in found]
        tasks = [tuple(left[one] for one in some) for some in families([designs[p] for p in left])]
        self.on_step(len(found), len(designs), stage)

        def take(number: int, answers: tuple[Answer, ...]) -> None:
            for place, answer in zip(tasks[number], answers, strict=True):
                found[place] = answer
                self._keep(keys[place], answer)
                if place == 0 and first == "needed" and isinstance(answer, FemMotorError):
                    raise answer
            self.on_step(len(found), len(designs), stage)

        work = partial(_family, quality=quality, hold=self.hold, picture=self.picture)
        answers = in_order(
            [tuple(designs[place] for place in task) for task in tasks],
            work,
            executor=self.executor,
            on_answer=take,
        )
        for task, answer in zip(tasks, answers, strict=True):
            if isinstance(answer, FemMotorError):
                found |= dict.fromkeys(task, answer)
        return tuple(found[place] for place in range(len(designs)))

    def _key(self, design: MotorDesign, quality: Quality) -> str:
        content = ("assessment", design.to_dict(), quality, self.hold, self.picture)
        return content_key(*content, room="comparison")

    def _known(
        self, keys: Sequence[str], designs: Sequence[MotorDesign]
    ) -> Iterator[tuple[int, Assessment]]:
        known: Mapping[str, Outcome] = {} if self.store is None else self.store.found(keys)
        for place, (key, design) in enumerate(zip(keys, designs, strict=True)):
            if key in known:
                yield place, assessment_of(design, known[key].result)

    def _keep(self, key: str, answer: Answer) -> None:
        if self.store is not None and isinstance(answer, Assessment):
            title, text = answer.design.title, text_of(answer)
            self.store.keep(Outcome(key=key, title=title, status="solved", text=text))


@contextmanager
def executor_of(workers: int) -> Iterator[Executor | None]:
    """Hand out processes for the whole work; None for this one alone."""
    if workers <= 1:
        yield None
        return
    with processes(workers) as executor:
        yield executor


def _family(
    designs: tuple[MotorDesign, ...], *, quality: Quality, hold: Hold, picture: Goal | None
) -> tuple[Answer, ...]:
    answers: list[Answer] = []
    family: Family | None = None
    for design in designs:
        try:
            family = family or Family(design, quality=quality)
            solved = family.solved(design)
            answers.append(assess(solved, design, quality=quality, hold=hold, picture=picture))
        except FemMotorError as error:
            answers.append(error)
    return tuple(answers)
