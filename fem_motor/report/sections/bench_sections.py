"""A bench log and its calibration as the parts of a document: what it says first."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import PurePath

from fem_motor.bench import BenchResult, MeasuredPoint
from fem_motor.calibration import CalibratedBench, Calibration, Explanation, PredictionScore
from fem_motor.findings import Finding, Headline
from fem_motor.numbers import (
    NOT_COMPUTED,
    digits,
    quantity,
    scale_of,
    split_name,
    value_and_range,
    with_uncertainty,
)
from fem_motor.report.pages.blocks import Answers, Block, Checks, Table, Text
from fem_motor.report.terminal.bench_words import CAUTIONS
from fem_motor.report.wording.words import Answer

_UNLIKELY = 0.005
"""Share below which a cause is not told; all stand in result.json."""
_MOST_CAUSES = 8
_AS_DESIGNED = "as designed"
_NOT_TOLD = "not told"
_COLUMNS = (
    "speed_rpm", "torque_Nm", "thrust_N", "voltage_V", "current_A", "supply_power_W",
    "shaft_power_W", "efficiency", "thrust_coefficient", "power_coefficient",
)  # fmt: skip

Parts = dict[str, tuple[Block, ...]]


def bench_title(result: BenchResult) -> str:
    """Return what stands over the page of a log: its file by its name alone."""
    return f"{result.title}: what {PurePath(result.log.file).name} says"


def bench_parts(result: BenchResult | CalibratedBench, figures: Sequence[Block]) -> Parts:
    """Return the parts of the page of a log in their order."""
    if isinstance(result, BenchResult):
        return {
            "Verdict": (Text(sentences=_doubts(result), tone="lead"),),
            **_measured(result, figures),
            **_log(result),
        }
    found = result.calibration
    said = (*_likeliest(found), *_fit(found), *_doubts(result.bench))
    return {
        "Verdict": (Text(sentences=said, tone="lead"),),
        **_measured(result.bench, figures),
        **_causes(found),
        **_calibrated(found),
        **({} if result.prediction is None else _prediction(result.prediction)),
        **_log(result.bench),
    }


def _likeliest(found: Calibration) -> tuple[str, ...]:
    """Return what explains the log best, and what to measure next."""
    if not found.explanations:
        return ()
    first = found.explanations[0]
    share = f"{first.score:.0%} of the weight of all causes tried"
    if first.cause == _AS_DESIGNED:
        said = (
            f"Nothing in this log speaks against the design: with every figure within what is not "
            f"known of it, the model meets the measurements ({share})."
        )
    else:
        said = f"The likeliest cause: {first.cause} ({share}). {_sentence(first.why)}"
    doubt = next((one for one in found.explanations if one.next_measurement), None)
    if doubt is None:
        return (said,)
    of = "" if doubt is first else f", for {doubt.cause} ({doubt.score:.0%})"
    return said, f"Measure next{of}: {doubt.next_measurement}"


def _fit(found: Calibration) -> tuple[str, ...]:
    if not found.residuals.size:
        return ("Nothing in this log could be held against the model.",)
    before, after = digits(found.misfit_before, 2), digits(found.misfit_after, 2)
    return (
        (
            f"Model and measurements differ by {before} standard uncertainties as designed and by "
            f"{after} calibrated (root mean square; about 1 is what chance alone makes)."
        ),
    )


def _doubts(result: BenchResult) -> tuple[str, ...]:
    """Return how the log was read and what its audit holds against it."""
    log, points = result.log, len(result.measured.points)
    found = (*result.audit, *result.measured.findings)
    counts = [sum(one.status == status for one in found) for status in ("stop", "watch")]
    doubts = ", ".join(
        f"{count} {words}"
        for count, words in zip(
            counts, ("that forbid a calibration", "to be known"), strict=True
        )
        if count
    )  # fmt: skip
    return (
        (
            f"{log.rows_used} of {log.rows_read} rows used, {points} steady points. "
            f"Doubts: {doubts or 'none'}."
        ),
    )


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _measured(result: BenchResult, figures: Sequence[Block]) -> Parts:
    return {
        "Measured": (Answers(rows=_answers(result.measured.values)),),
        "Pictures": tuple(figures),
        "Points": (_points(result.measured.points),),
        "Audit of the log": (Checks(findings=_open((*result.audit, *result.measured.findings))),),
    }


def _points(points: Sequence[MeasuredPoint]) -> Table:
    """Return the points, one row each: value ± half of the range, units in the heading."""
    names = [name for name in _COLUMNS if any(name in one.values for one in points)]
    scales = [_column(points, name) for name in names]
    rows = tuple(
        (
            f"{point.segment.start:.0f} to {point.segment.end:.0f} s",
            *(
                _with_half(point.values.get(name), scale[1])
                for name, scale in zip(names, scales, strict=True)
            ),
        )
        for point in points
    )
    return Table(
        head=("Measured", *(head for head, _ in scales)),
        rows=rows,
        note="Mean ± half of a range that holds about 95 %, instruments counted in.",
    )


def _column(points: Sequence[MeasuredPoint], name: str) -> tuple[str, float]:
    """Return the heading of a column with its unit, and by what its numbers are divided."""
    words, unit = split_name(name)
    sizes = [abs(one.values[name].value or 0.0) for one in points if name in one.values]
    if name == "efficiency":
        return "Efficiency, %", 0.01
    factor, label = scale_of(max(sizes, default=0.0), unit)
    return _sentence(f"{words}, {label}" if label else words), factor


def _with_half(head: Headline | None, factor: float) -> str:
    if head is None or head.value is None:
        return _NOT_TOLD
    if head.low is None or head.high is None:
        return digits(head.value / factor)
    half = (head.high - head.low) / 2
    return " ± ".join(with_uncertainty(head.value / factor, half / factor))


def _answers(values: Mapping[str, Headline]) -> tuple[Answer, ...]:
    rows = []
    for name, headline in values.items():
        words, unit = split_name(name)
        value, span = value_and_range(headline, unit)
        rows.append(
            Answer(
                label=_sentence(words), value=_NOT_TOLD if value == NOT_COMPUTED else value,
                span=span, because=headline.because, meaning="",
            )
        )  # fmt: skip
    return tuple(rows)


def _causes(found: Calibration) -> Parts:
    likely = [one for one in found.explanations if one.score >= _UNLIKELY][:_MOST_CAUSES]
    if not likely:
        return {}
    return {
        "Explanations": (
            Table(
                head=("Cause", "Share", "Why", "Measure next"),
                rows=tuple(map(_cause, likely)),
                note="Share of the weight of all causes tried. Those that are not here are less "
                "likely; all stand in result.json.",
            ),
        ),
    }


def _cause(one: Explanation) -> tuple[str, ...]:
    return _sentence(one.cause), f"{one.score:.0%}", one.why, one.next_measurement


def _calibrated(found: Calibration) -> Parts:
    rows = tuple(
        (_with_unit(name), digits(one.prior), digits(one.value),
         f"{digits(one.low)} to {digits(one.high)}", one.because)
        for name, one in found.calibrated.items()
    )  # fmt: skip
    head = ("Fitted", "As designed", "Calibrated", "Range, about 95 %", "What tells it")
    table = Table(head=head, rows=rows)
    return {"Calibrated": (*((table,) if rows else ()), Checks(findings=found.findings))}


def _prediction(score: PredictionScore) -> Parts:
    rows = []
    for one in score.values:
        words, unit = split_name(one.name)
        value, span = value_and_range(replace(one.predicted, value=one.measured.value), unit)
        rows.append(
            (f"{words}, throttle {100 * one.throttle:.0f} %", value, span, f"{one.deviation:+.1f}")
        )
    return {
        "Against the prediction": (
            Text(
                sentences=(
                    (
                        f"Frozen on {score.date}, content {score.content_hash[:12]}, before the "
                        "log was read."
                    ),
                )
            ),
            Table(
                head=("Reading", "Measured", "Predicted, about 95 %", "Deviation"),
                rows=tuple(rows),
                note="Deviation in standard uncertainties.",
            ),
            Checks(findings=score.findings),
        ),
    }


def _log(result: BenchResult) -> Parts:
    log = result.log
    length = quantity(float(log.time[-1]), "s", count=3) if log.time.size else "0 s"
    read = (
        f"{log.rows_read} rows read, {log.rows_used} used, {length}.",
        *(f"Dropped {one.rows} rows: {one.reason}." for one in log.dropped),
        *(f"Set aside {one.rows} readings: {one.reason}." for one in log.blanked),
    )
    return {"The log": (Text(sentences=read),), "Caution": (Text(sentences=CAUTIONS),)}


def _open(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    left = (one for one in findings if one.status != "ok")
    return tuple(sorted(left, key=lambda one: one.status))


def _with_unit(name: str) -> str:
    words, unit = split_name(name)
    return _sentence(f"{words}, {unit}" if unit else words)
