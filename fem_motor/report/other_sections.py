"""Comparison, ranking, study and bench log as documents: the verdict first, cautions last."""

from collections.abc import Mapping, Sequence

from fem_motor.bench import BenchResult
from fem_motor.calibration import CalibratedBench, Calibration
from fem_motor.charts import Rendered
from fem_motor.comparison import GOAL_WORDS, Comparison, Ranking, answer_rows
from fem_motor.findings import Finding, Headline
from fem_motor.numbers import NOT_COMPUTED, digits, quantity, split_name, value_and_range
from fem_motor.report.bench_words import CAUTIONS
from fem_motor.report.blocks import Answers, Block, Checks, Figure, Section, Table, Text
from fem_motor.report.cautions import GENERAL_CAUTIONS
from fem_motor.report.words import Answer
from fem_motor.study import StudyResult, in_words

_UNLIKELY = 0.005
"""Share below which a cause is not told; all stand in result.json."""

Other = Comparison | Ranking | StudyResult | BenchResult | CalibratedBench


def other_title(result: Other) -> str:
    """Return what stands over the document."""
    if isinstance(result, Comparison):
        return f"Comparison by {GOAL_WORDS[result.goal]}"
    if isinstance(result, Ranking):
        return f"What to change first: {result.title}"
    if isinstance(result, StudyResult):
        return result.study.title
    bench = result.bench if isinstance(result, CalibratedBench) else result
    return f"{bench.title}: what {bench.log.file} says"


def other_sections(result: Other, pictures: Sequence[Rendered] = ()) -> tuple[Section, ...]:
    """Return the sections of a result other than a sheet; those without content are left out."""
    figures = tuple(Figure(picture=picture) for picture in pictures)
    if isinstance(result, Comparison):
        parts = _comparison(result, figures)
    elif isinstance(result, Ranking):
        parts = _ranking(result, figures)
    elif isinstance(result, StudyResult):
        parts = _study(result, figures)
    elif isinstance(result, CalibratedBench):
        parts = {**_calibration(result.calibration), **_bench(result.bench)}
    else:
        parts = _bench(result)
    filled = {title: tuple(filter(_has_content, blocks)) for title, blocks in parts.items()}
    return tuple(Section(title=title, blocks=blocks) for title, blocks in filled.items() if blocks)


Parts = dict[str, tuple[Block, ...]]


def _has_content(block: Block) -> bool:
    if isinstance(block, Text):
        return bool(block.sentences)
    if isinstance(block, Table | Answers):
        return bool(block.rows)
    return not isinstance(block, Checks) or bool(block.findings)


def _comparison(found: Comparison, figures: Sequence[Block]) -> Parts:
    letters = [chr(ord("A") + place) for place in range(len(found.candidates))]
    rows = tuple(
        (
            label,
            *(
                f"{cell} ({span})" if span else cell
                for cell, span in zip(cells, spans, strict=True)
            ),
        )
        for label, cells, spans in answer_rows(found)
    )
    who = tuple(
        f"{letter}: {one.title} ({one.file}), {one.winding}. "
        f"{one.limiter[:1].upper()}{one.limiter[1:]}"
        for letter, one in zip(letters, found.candidates, strict=True)
    )
    held = tuple(
        (one.what, one.status, " | ".join(one.values), one.why) for one in found.held_equal
    )
    return {
        "Verdict": (Text(sentences=found.verdict, tone="lead"),),
        "Candidates": (Text(sentences=who),),
        "Answers": (Table(head=("Computed", *letters), rows=rows),),
        "Pictures": tuple(figures),
        "Why": (Text(sentences=tuple(one.why for one in found.differences if one.why)),),
        "Held equal": (Table(head=("What", "How", "Values", "Why"), rows=held),),
        "Checks": (Checks(findings=found.findings),),
        "Caution": (Text(sentences=GENERAL_CAUTIONS),),
    }


def _ranking(found: Ranking, figures: Sequence[Block]) -> Parts:
    rows = tuple(
        (one.title, one.verdict or NOT_COMPUTED, *_gain(one.gain_fraction, one.low, one.high),
         one.why)
        for one in found.changes
    )  # fmt: skip
    pairs = tuple(
        (pair.both.title, *_gain(pair.both.gain_fraction, pair.both.low, pair.both.high),
         pair.together)
        for pair in found.pairs
    )  # fmt: skip
    note = f"Gain in {found.goal_words}, computed; mesh {found.quality}."
    return {
        "Verdict": (
            Text(sentences=(*found.verdict, *filter(None, [found.next_limit])), tone="lead"),
        ),
        "Pictures": tuple(figures),
        "Single changes": (
            Table(head=("Change", "Verdict", "Gain", "Range", "Why"), rows=rows, note=note),
        ),
        "Pairs": (Table(head=("Both", "Gain", "Range", "Together they"), rows=pairs),),
        "Not possible alone": (
            Text(sentences=tuple(f"{one.title}: {one.why}" for one in found.refused)),
        ),
        "Checks": (Checks(findings=found.findings),),
        "Caution": (Text(sentences=GENERAL_CAUTIONS),),
    }


def _study(found: StudyResult, figures: Sequence[Block]) -> Parts:
    study = found.study
    rows = tuple(
        (row.variant.label, *(_with_range(row.values.get(name), name) for name in study.record))
        for row in found.solved
    )
    head = ("Design", *(in_words(name)[0] for name in study.record))
    failed = tuple(
        f"{row.variant.label}: {' '.join(row.outcome.reason.split())}" for row in found.failed
    )
    return {
        "Verdict": (
            Text(sentences=(study.question,)),
            Text(sentences=found.verdict, tone="lead"),
        ),
        "Figures": tuple(figures),
        "Table": (
            Table(head=head, rows=rows, note=f"Computed, quality {study.quality}; with ranges."),
        ),
        "Without answers": (Text(sentences=failed),),
        "Notes": (Text(sentences=tuple(filter(None, [study.note]))),),
        "Caution": (Text(sentences=GENERAL_CAUTIONS),),
    }


def _bench(found: BenchResult) -> Parts:
    log = found.log
    points = found.measured.points
    names = list(dict.fromkeys(name for point in points for name in point.values))
    rows = tuple(
        (
            f"{digits(point.segment.start)} to {digits(point.segment.end)} s",
            *(_with_range(point.values.get(name), name) for name in names),
        )
        for point in points
    )
    read = (
        f"{log.rows_read} rows read, {log.rows_used} used.",
        *(f"Dropped {one.rows} rows: {one.reason}" for one in log.dropped),
        *(f"Set aside {one.rows} readings: {one.reason}" for one in log.blanked),
    )
    return {
        "Measured": (Answers(rows=_answers(found.measured.values)),),
        "Audit of the log": (Checks(findings=_open((*found.audit, *found.measured.findings))),),
        "Points": (
            Table(
                head=("Measured", *(_named(name) for name in names)),
                rows=rows,
                note="Ranges hold about 95 %.",
            ),
        ),
        "The log": (Text(sentences=read),),
        "Caution": (Text(sentences=CAUTIONS),),
    }


def _calibration(found: Calibration) -> Parts:
    rows = tuple(
        (_with_unit(name), digits(one.prior), digits(one.value), _span(one.low, one.high))
        for name, one in found.calibrated.items()
    )
    causes = tuple((f"{one.score:.0%}", one.cause, one.why, one.next_measurement)
                   for one in found.explanations if one.score >= _UNLIKELY)  # fmt: skip
    before, after = digits(found.misfit_before, 3), digits(found.misfit_after, 3)
    told = (
        f"Misfit in standard uncertainties: {before} as designed, {after} calibrated.",
        *(
            "Cannot be told apart: " + ", ".join(split_name(one)[0] for one in group)
            for group in found.cannot_tell
        ),
    )
    return {
        "Explanations": (
            Table(
                head=("Share", "Cause", "Why", "Measure next"),
                rows=causes,
                note="Share of the weight of all causes tried; those below 0.5 % stand in "
                "result.json.",
            ),
        ),
        "Calibrated": (
            Table(head=("Fitted", "Before", "Now", "Range, about 95 %"), rows=rows),
            Text(sentences=told),
            Checks(findings=found.findings),
        ),
    }


def _span(low: float, high: float) -> str:
    return f"{digits(low)} to {digits(high)}"


def _open(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    return tuple(
        sorted((one for one in findings if one.status != "ok"), key=lambda one: one.status)
    )


def _named(name: str) -> str:
    words, _ = split_name(name)
    return words[:1].upper() + words[1:]


def _with_unit(name: str) -> str:
    unit = split_name(name)[1]
    return f"{_named(name)}, {unit}" if unit else _named(name)


def _with_range(headline: Headline | None, name: str) -> str:
    if headline is None or headline.value is None:
        return NOT_COMPUTED
    value, span = value_and_range(headline, split_name(name)[1])
    return f"{value} ({span})" if span else value


def _answers(values: Mapping[str, Headline]) -> tuple[Answer, ...]:
    rows = []
    for name, headline in values.items():
        value, span = value_and_range(headline, split_name(name)[1])
        rows.append(
            Answer(label=_named(name), value=value, span=span, because=headline.because, meaning="")
        )
    return tuple(rows)


def _gain(gain: float | None, low: float | None, high: float | None) -> tuple[str, str]:
    if gain is None or low is None or high is None:
        return NOT_COMPUTED, ""
    return quantity(gain, "%", count=3), f"{_percent(low)} to {_percent(high)} %"


def _percent(share: float) -> str:
    return digits(100 * share, 3)
