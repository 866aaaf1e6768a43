"""Comparison, ranking, study and bench log as documents: the verdict first, cautions last."""

from collections.abc import Sequence
from pathlib import PurePath

from fem_motor.bench import BenchResult
from fem_motor.calibration import CalibratedBench
from fem_motor.charts import Rendered
from fem_motor.comparison import GOAL_WORDS, Comparison, Ranking, answer_rows, gain_words
from fem_motor.findings import Headline
from fem_motor.numbers import NOT_COMPUTED, digits, scale_of
from fem_motor.report.pages.blocks import Answers, Block, Checks, Figure, Section, Table, Text
from fem_motor.report.sections.bench_sections import Parts, bench_parts, bench_title
from fem_motor.report.wording.cautions import GENERAL_CAUTIONS
from fem_motor.study import StudyResult, in_words

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
    return bench_title(bench)


def other_sections(result: Other, pictures: Sequence[Rendered] = ()) -> tuple[Section, ...]:
    """Return the sections of a result other than a sheet; those without content are left out."""
    figures = tuple(Figure(picture=picture) for picture in pictures)
    if isinstance(result, Comparison):
        parts = _comparison(result, figures)
    elif isinstance(result, Ranking):
        parts = _ranking(result, figures)
    elif isinstance(result, StudyResult):
        parts = _study(result, figures)
    else:
        parts = bench_parts(result, figures)
    filled = {title: tuple(filter(_has_content, blocks)) for title, blocks in parts.items()}
    return tuple(Section(title=title, blocks=blocks) for title, blocks in filled.items() if blocks)


def _has_content(block: Block) -> bool:
    if isinstance(block, Text):
        return bool(block.sentences)
    if isinstance(block, Table | Answers):
        return bool(block.rows)
    return not isinstance(block, Checks) or bool(block.findings)


def _comparison(found: Comparison, figures: Sequence[Block]) -> Parts:
    letters = {one.file: chr(ord("A") + at % 26) for at, one in enumerate(found.candidates)}
    rows = tuple(
        (
            _sentence(label),
            *(
                f"{cell} ({span})" if span else cell
                for cell, span in zip(cells, spans, strict=True)
            ),
        )
        for label, cells, spans in answer_rows(found)
    )
    who = tuple(
        (letters[one.file], one.title, PurePath(one.file).name, one.winding, _sentence(one.limiter))
        for one in found.candidates
    )
    held = tuple(
        (_sentence(one.what), one.status, " | ".join(one.values), one.why)
        for one in found.held_equal
    )
    why = tuple(
        f"{letters.get(one.file, one.file)} against {letters.get(one.of, one.of)}: {one.why}"
        for one in found.differences
        if one.why
    )
    who_head = ("", "Design", "File", "Compared with", "Where its magnets' drive goes")
    note = f"Value (range). Mesh {found.quality}."
    return {
        "Verdict": (Text(sentences=found.verdict, tone="lead"),),
        "Candidates": (Table(head=who_head, rows=who),),
        "Answers": (Table(head=("Computed", *letters.values()), rows=rows, note=note),),
        "Pictures": tuple(figures),
        "Why": (Text(sentences=why),),
        "Held equal": (Table(head=("What", "How", "Values", "Why"), rows=held),),
        "Checks": (Checks(findings=found.findings),),
        "Caution": (Text(sentences=GENERAL_CAUTIONS),),
    }


def _ranking(found: Ranking, figures: Sequence[Block]) -> Parts:
    rows = tuple(
        (
            _sentence(one.title),
            *gain_words(one, found.goal)[:3],
            (one.verdict or NOT_COMPUTED).replace("-", " "),
            _with_costs(one.why, gain_words(one, found.goal)[3]),
        )
        for one in found.changes
    )
    pairs = tuple(
        (
            _sentence(pair.both.title),
            *gain_words(pair.both, found.goal)[:3],
            pair.together,
            _with_costs("", gain_words(pair.both, found.goal)[3]),
        )
        for pair in found.pairs
    )
    said = (*found.verdict, *filter(None, [found.next_limit]))
    refused = tuple(f"{_sentence(one.title)}: {one.why}" for one in found.refused)
    head = ("Gain", "Range", "Comes to")
    note = f"Gain in {found.goal_words}, computed; mesh {found.quality}."
    return {
        "Verdict": (Text(sentences=said, tone="lead"),),
        "Pictures": tuple(figures),
        "Single changes": (
            Table(
                head=("Change", *head, "Verdict", "Why, and what it costs"), rows=rows, note=note
            ),
        ),
        "Pairs": (Table(head=("Both", *head, "The two", "Costs"), rows=pairs),),
        "Not possible alone": (Text(sentences=refused),),
        "Checks": (Checks(findings=found.findings),),
        "Caution": (Text(sentences=GENERAL_CAUTIONS),),
    }


def _with_costs(why: str, costs: str) -> str:
    return " ".join(filter(None, (_sentence(why), costs and f"Costs: {costs}.")))


def _study(found: StudyResult, figures: Sequence[Block]) -> Parts:
    study = found.study
    columns = [_column(found, name) for name in study.record]
    rows = tuple(
        (
            *map(_label, row.variant.labels.values()),
            *(
                _with_range(row.values.get(name), factor)
                for name, (_, factor) in zip(study.record, columns, strict=True)
            ),
        )
        for row in found.solved
    )
    head = (*(_sentence(axis.name) for axis in study.axes), *(words for words, _ in columns))
    failed = tuple(
        f"{row.variant.named}: {' '.join(row.outcome.reason.split())}" for row in found.failed
    )
    note = () if study.note in ("", *found.verdict) else (study.note,)
    return {
        "Verdict": (
            Text(sentences=(study.question,)),
            Text(sentences=found.verdict, tone="lead"),
        ),
        "Pictures": tuple(figures),
        "Table": (
            Table(head=head, rows=rows, note=f"Value (range). Computed, quality {study.quality}."),
        ),
        "Without answers": (Text(sentences=failed),),
        "Notes": (Text(sentences=note),),
        "Caution": (Text(sentences=GENERAL_CAUTIONS),),
    }


def _column(found: StudyResult, name: str) -> tuple[str, float]:
    """Return what stands over a column, with its unit, and by what its numbers are divided."""
    words, unit = in_words(name)
    if name.endswith(("thd", "fraction")) and not unit:
        return f"{_sentence(words)}, %", 0.01
    sizes = [abs(value) for row in found.solved if (value := row.value(name)) is not None]
    factor, shown = scale_of(max(sizes, default=0.0), unit)
    return _sentence(f"{words}, {shown}" if shown else words), factor


def _label(label: str) -> str:
    """Return the label of a step; a number with the digits that a person reads."""
    try:
        return digits(float(label))
    except ValueError:
        return label


def _with_range(headline: Headline | None, factor: float) -> str:
    if headline is None or headline.value is None:
        return NOT_COMPUTED
    value = digits(headline.value / factor)
    if headline.low is None or headline.high is None or headline.low == headline.high:
        return value
    return f"{value} ({digits(headline.low / factor, 3)} to {digits(headline.high / factor, 3)})"


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]
