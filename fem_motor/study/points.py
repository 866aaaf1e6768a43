"""The variants of a study: every combination of steps, or draws from ranges."""

import itertools
import warnings
from collections.abc import Iterator, Sequence

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.study.records import Axis, Step, Study, Variant


def variants(study: Study) -> tuple[Variant, ...]:
    """Return the variants in their order: always the same ones."""
    if study.method == "all":
        return tuple(_combined(study.axes, steps) for steps in _every(study.axes))
    return tuple(variant_at(study.axes, point) for point in _draws(study))


def variant_at(axes: Sequence[Axis], point: Sequence[float] | FloatArray) -> Variant:
    """Return the variant at a point of the unit cube, one coordinate for each axis."""
    steps = [step_at(axis, float(share)) for axis, share in zip(axes, point, strict=True)]
    return _combined(axes, steps)


def step_at(axis: Axis, share: float) -> Step:
    """Return the step at a share, 0 to 1, of an axis: a number of its range or one of its steps."""
    if axis.steps:
        return axis.steps[min(int(share * len(axis.steps)), len(axis.steps) - 1)]
    value = float(f"{axis.low + share * (axis.high - axis.low):.6g}")  # as a maker would type it
    return Step(label=f"{value:g}", changes={axis.key: value})


def _every(axes: Sequence[Axis]) -> Iterator[tuple[Step, ...]]:
    return itertools.product(*(axis.steps for axis in axes))


def _combined(axes: Sequence[Axis], steps: Sequence[Step]) -> Variant:
    changes = {key: value for step in steps for key, value in step.changes.items()}
    labels = {axis.name: step.label for axis, step in zip(axes, steps, strict=True)}
    return Variant(labels=labels, changes=changes)


def _draws(study: Study) -> FloatArray:
    """Return points of the unit cube, (n, axes).

    Low-discrepancy: Sobol', Zh. Vychisl. Mat. Mat. Fiz. 7 (1967) 784, scrambled (scipy.stats.qmc).
    """
    rng = np.random.default_rng(study.start)
    if study.method == "random":
        return rng.random((study.number, len(study.axes)))
    from scipy.stats import qmc  # noqa: PLC0415  (heavy, and every report opens this room)

    with warnings.catch_warnings():
        # Balance needs a power of two; a study may end where its user likes.
        warnings.filterwarnings("ignore", message="The balance properties")
        found: FloatArray = qmc.Sobol(len(study.axes), rng=rng).random(study.number)
    return found
