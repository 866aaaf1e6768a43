"""The search for the best variant within limits: differential evolution over the axes."""

from collections.abc import Callable, Iterable, Sequence

import numpy as np
from scipy.optimize import differential_evolution

from fem_motor.arrays import FloatArray
from fem_motor.study.outcome.verdict import broken_limits
from fem_motor.study.points import variant_at
from fem_motor.study.records import Row, Study, Variant

Solve = Callable[[Sequence[Variant]], tuple[Row, ...]]

PEOPLE = 8
"""Designs a generation, as a multiple of the axes; scipy's own choice is 15."""

IMPOSSIBLE = 1e6
"""Cost of what cannot be built or solved."""


def search(study: Study, solve: Solve) -> tuple[Row, ...]:
    """Return every design that was tried, in order, each once.

    What breaks a limit is worse than anything that keeps them, and the less the better.

    Sources: R. Storn and K. Price, J. Global Optim. 11 (1997) 341 (the search);
    K. Deb, Comput. Methods Appl. Mech. Eng. 186 (2000) 311 (the limits), both from memory.
    """
    tried: dict[str, Row] = {}
    size = PEOPLE * len(study.axes)

    def costs(_function: object, points: Iterable[FloatArray]) -> list[float]:
        variants = [variant_at(study.axes, point) for point in points]
        rows = solve(variants)
        for row in rows:
            tried.setdefault(row.variant.label, row)
        return [cost(study, row) for row in rows]

    differential_evolution(
        _never,
        [(0.0, 1.0)] * len(study.axes),
        popsize=PEOPLE,
        maxiter=max(1, round(study.number / size) - 1),
        rng=np.random.default_rng(study.start),
        polish=False,
        updating="deferred",
        workers=costs,
        tol=0.0,
    )
    return tuple(tried.values())


def cost(study: Study, row: Row) -> float:
    """Return what the search makes small: the goal, or above all of those how limits are broken."""
    assert study.verdict is not None  # noqa: S101  (its reading asks for one)
    value = row.value(study.verdict.of)
    if value is None:
        return IMPOSSIBLE
    broken = broken_limits(study, row)
    goal = -value if study.verdict.better == "more" else value
    # An increasing map into −1 … 1 keeps the order; what is broken stands above it.
    return goal / (1 + abs(goal)) if broken <= 0 else 1 + broken


def _never(_point: FloatArray) -> float:
    """Stand for the function that `costs` works out for a whole generation at once."""
    raise NotImplementedError
