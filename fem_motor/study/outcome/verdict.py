"""From the numbers of a study to sentences: which variant is best, by how much, how surely.

The range of a variant holds what is not known of it. Ranges of their own: one variant may be at its
worst while another is at its best. Shared: the same magnets, hands and air make all of them better
or worse together, so that low is held against low and high against high; what is not shared still
shows, for it makes the two ratios differ.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from fem_motor.design import MotorDesign
from fem_motor.ends import same_kind_of_ends
from fem_motor.numbers import digits, scale_of
from fem_motor.study.recording import in_words
from fem_motor.study.records import Row, Study, VerdictPlan

TAIL = 0.05
"""Part of the designs at either end that a spread leaves out."""

MESH: Mapping[str, float] = {"draft": 0.005, "standard": 0.001, "fine": 0.0002}
"""Part by which two meshes may differ, whatever else is shared; see docs/verification.md."""

WITH_THE_FLUX = (
    "motor_constant_Nm_per_sqrtW",
    "torque_constant_Nm_per_A",
)
"""Figures that go with the flux linkage, so that the doubt of its ends can be told apart."""

Range = tuple[float, float, float]
Scale = tuple[float, str]


def verdict(study: Study, rows: Sequence[Row]) -> tuple[tuple[str, ...], Row | None]:
    """Return the sentences and the best row; the first sentence answers the question."""
    plan = study.verdict
    if plan is None:
        return (), None
    what, _ = in_words(plan.of)
    known = [row for row in rows if row.value(plan.of) is not None]
    ranked = sorted(
        (row for row in known if not broken_limits(study, row)), key=lambda row: _rank(row, plan)
    )
    if ranked and plan.better == "spread":
        return _scatter(study, plan, ranked), None
    if not ranked:
        return _none(study, plan, known), None
    best, base = ranked[0], _base(known, plan)
    mesh = MESH[study.quality]
    tied = [row for row in ranked[1:] if _holds_one(_ratio(best, row, plan, mesh))]
    said = [_answer(best, base, plan, tied, mesh)]
    if tied:
        said.append(f"Tied with it, for their ranges overlap: {_labels(tied)}.")
    if len(ranked) > 1:
        scale = _scale(ranked, plan.of)
        listed = "; ".join(f"{row.variant.named} {_shown(row, plan.of, scale)}" for row in ranked)
        said.append(f"In order of {what}: {listed}.")
    left_out = [row for row in known if broken_limits(study, row)]
    if left_out:
        said.append(f"Left out for a limit of the study: {_labels(left_out)}.")
    if study.note:
        said.append(study.note)
    return tuple(said), best


def _scatter(study: Study, plan: VerdictPlan, rows: Sequence[Row]) -> tuple[str, ...]:
    """Return how far a figure scatters over the designs, their own ranges left out."""
    what, unit = in_words(plan.of)
    values = np.array([row.value(plan.of) for row in rows], dtype=np.float64)
    low, middle, high = np.quantile(values, (TAIL, 0.5, 1 - TAIL))
    ends = f"; {low / middle - 1:+.1%} to {high / middle - 1:+.1%}" if middle else ""
    factor, shown = scale_of(float(abs(middle)), unit)
    smallest, lower, centre, upper, largest = (
        digits(float(one) / factor) for one in (values.min(), low, middle, high, values.max())
    )
    label = f" {shown}" if shown else ""
    span = f"nine of ten designs between {lower} and {upper}{label}"
    said = (
        f"{what[0].upper()}{what[1:]}: {span}, the middle one {centre}{ends}.",
        f"{len(rows)} designs; the smallest {smallest}, the largest {largest}{label}.",
    )
    return (*said, study.note) if study.note else said


def _none(study: Study, plan: VerdictPlan, known: Sequence[Row]) -> tuple[str, ...]:
    what, _ = in_words(plan.of)
    if not known:
        return (f"No variant has a figure for {what}.",)
    nearest = min(known, key=lambda row: broken_limits(study, row))
    over = broken_limits(study, nearest)
    figure = _shown(nearest, plan.of, _scale([nearest], plan.of))
    said = (
        "No variant keeps the limits of the study.",
        f"Nearest: {nearest.variant.named}, {over:.0%} beyond them; {what} {figure}.",
    )
    return (*said, study.note) if study.note else said


def broken_limits(study: Study, row: Row) -> float:
    """Return by how much a row breaks the limits of the study; 0 where it keeps them all."""
    return sum(limit.violation(row.value(limit.of)) for limit in study.limits)


def _answer(
    best: Row, base: Row | None, plan: VerdictPlan, tied: Sequence[Row], mesh: float
) -> str:
    what, _ = in_words(plan.of)
    word = "First, but not alone" if tied else "Best"
    head = f"{word}: {best.variant.named}; {what} {_shown(best, plan.of, _scale([best], plan.of))}"
    if base is None or base is best or not base.value(plan.of):
        return f"{head}."
    value, low, high = _ratio(best, base, plan, mesh)
    only = "" if any(_has_range(row, plan.of) for row in (best, base)) else ", by the mesh alone"
    against = f"{value:.2f} times {base.variant.named} ({low:.2f} to {high:.2f}{only})"
    return f"{head}, {against}: {_worth(low, high, plan)}."


def _worth(low: float, high: float, plan: VerdictPlan) -> str:
    least_gain, most_gain = (low - 1, high - 1) if plan.better == "more" else (1 - high, 1 - low)
    asked = f"the study asks for {plan.least_gain:.0%}"
    if least_gain >= plan.least_gain:
        return f"worth it, at least {least_gain:.0%} better ({asked})"
    if most_gain < plan.least_gain:
        return f"not worth it, at most {max(most_gain, 0):.0%} better ({asked})"
    return f"not decided, {least_gain:+.0%} to {most_gain:+.0%} ({asked})"


def _ratio(one: Row, other: Row, plan: VerdictPlan, mesh: float) -> Range:
    """Return the ratio of two rows, and the least and the largest it may be."""
    (a, a_low, a_high), (b, b_low, b_high) = _range(one, plan.of), _range(other, plan.of)
    pairs = [(a, b), (a_low, b_low), (a_high, b_high)]
    same_ends = plan.doubts == "own" or _same_ends(one, other)
    if plan.doubts == "own" or not (same_ends or plan.of in WITH_THE_FLUX):
        pairs += [(a_low, b_high), (a_high, b_low)]
    ratios = [x / y if y else float("inf") for x, y in pairs]
    if not same_ends and plan.of in WITH_THE_FLUX:
        # Out of the low ratio go the ends at their low, and in comes either at any end.
        (one_low, one_high), (two_low, two_high) = _ends(one), _ends(other)
        by_end = ratios[1] * two_low / one_low, ratios[2] * two_high / one_high
        ratios = [ratios[0]]
        ratios += [
            each * end for each in by_end for end in (one_low / two_high, one_high / two_low)
        ]
    return ratios[0], min(ratios) * (1 - mesh), max(ratios) * (1 + mesh)


def _same_ends(one: Row, other: Row) -> bool:
    results = [row.outcome.result for row in (one, other)]
    if not all("design" in result for result in results):
        return True
    first, second = (MotorDesign.from_dict(result["design"]).motor for result in results)
    return same_kind_of_ends(first, second)


def _ends(row: Row) -> tuple[float, float]:
    """Return the ends of the range of a row's end factor over its value."""
    factor = row.outcome.result["constants"]["end_factor"]
    if not factor["value"] or factor["low"] is None or factor["high"] is None:
        return 1.0, 1.0
    return factor["low"] / factor["value"], factor["high"] / factor["value"]


def _holds_one(ratio: Range) -> bool:
    _, low, high = ratio
    return low <= 1 <= high


def _has_range(row: Row, name: str) -> bool:
    found = row.values[name]
    return found is not None and found.low is not None and found.high is not None


def _range(row: Row, name: str) -> Range:
    found = row.values[name]
    if found is None or found.value is None:
        return 0.0, 0.0, 0.0
    low = found.value if found.low is None else found.low
    high = found.value if found.high is None else found.high
    return found.value, low, high


def _rank(row: Row, plan: VerdictPlan) -> float:
    value = row.value(plan.of) or 0.0
    return -value if plan.better == "more" else value


def _base(rows: Sequence[Row], plan: VerdictPlan) -> Row | None:
    """Return what the best is held against: the row of that label, or the first."""
    for row in rows:
        if not plan.against or plan.against in {row.variant.label, *row.variant.labels.values()}:
            return row
    return None


def _labels(rows: Sequence[Row]) -> str:
    return "; ".join(row.variant.named for row in rows)


def _scale(rows: Sequence[Row], name: str) -> Scale:
    """Return what to divide by and the unit, the same for all rows."""
    largest = max((abs(row.value(name) or 0.0) for row in rows), default=0.0)
    return scale_of(largest, in_words(name)[1])


def _shown(row: Row, name: str, scale: Scale) -> str:
    value, low, high = _range(row, name)
    factor, label = scale
    gap = f" {label}" if label else ""
    spread = f" ({digits(low / factor, 3)} to {digits(high / factor, 3)})" if low < high else ""
    return f"{digits(value / factor)}{gap}{spread}"
