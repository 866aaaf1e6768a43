"""From a study to its table and verdict; what the store knows is not solved again."""

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import replace

from fem_motor.batch import Outcome, ResultStore, solve_designs
from fem_motor.design import MotorDesign
from fem_motor.errors import DesignError
from fem_motor.progress import OnStep, ignore
from fem_motor.study.optimising import search
from fem_motor.study.outcome.verdict import verdict
from fem_motor.study.points import variants
from fem_motor.study.recording import recorded
from fem_motor.study.records import Quality, Row, Study, StudyResult, Variant


def run_study(
    study: Study,
    *,
    quality: Quality | None = None,
    workers: int = 1,
    store: ResultStore | None = None,
    executor: Executor | None = None,
    on_step: OnStep = ignore,
) -> StudyResult:
    """Return the table and the verdict of a study.

    Parameters
    ----------
    study : Study
    quality : "draft", "standard" or "fine", optional
        Instead of that of the study.
    workers, executor
        Who does the work; the result does not depend on it.
    store : fem_motor.batch.ResultStore, optional
        What is in it is not solved again; every outcome goes into it as soon as it is known.
    on_step : callable
        Told how many designs are done, of how many.

    Examples
    --------
    >>> import fem_motor as fm
    >>> result = fm.run_study(fm.load_study("studies/filament_worth_it.toml"))
    >>> print(result.best.variant.label)
    filament with 20 % iron by volume
    """
    study = replace(study, quality=quality or study.quality)

    def solve(wanted: Sequence[Variant]) -> tuple[Row, ...]:
        return _rows(
            study,
            wanted,
            lambda designs: solve_designs(
                designs,
                quality=study.quality,
                workers=workers,
                store=store,
                executor=executor,
                on_step=on_step,
            ),
        )

    rows = search(study, solve) if study.method == "optimise" else solve(variants(study))
    said, best = verdict(study, rows)
    return StudyResult(
        study=study,
        rows=rows,
        verdict=said,
        best=best,
        store=None if store is None else store.path,
    )


def _rows(
    study: Study,
    wanted: Sequence[Variant],
    solve: Callable[[Sequence[MotorDesign]], tuple[Outcome, ...]],
) -> tuple[Row, ...]:
    """Return a row for each variant; one that cannot be built has the reason."""
    designs: dict[int, MotorDesign] = {}
    outcomes: dict[int, Outcome] = {}
    for number, variant in enumerate(wanted):
        try:
            designs[number] = study.base.replace(**variant.changes)
        except DesignError as error:
            outcomes[number] = Outcome(
                key="", title=study.base.title, status="refused", reason=str(error)
            )
    outcomes |= dict(zip(designs, solve(list(designs.values())), strict=True))
    return tuple(_row(study, wanted[number], outcomes[number]) for number in range(len(wanted)))


def _row(study: Study, variant: Variant, outcome: Outcome) -> Row:
    plain = outcome.result
    values = {name: recorded(plain, name) for name in study.record}
    return Row(variant=variant, outcome=outcome, values=values)
