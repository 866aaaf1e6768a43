"""What a study says in the terminal: the question, the table, the verdict."""

import textwrap

from fem_motor.numbers import digits, scale_of
from fem_motor.study import StudyResult, in_words

WIDTH = 98
MOST_ROWS = 40
LONGEST_LABEL = 48


def study_text(result: StudyResult) -> str:
    """Return the first screen of a study: no final newline."""
    study = result.study
    lines = [*_wrapped(study.title), *_wrapped(study.question), ""]
    lines += ["Verdict", *(line for said in result.verdict for line in _wrapped(said, "  ")), ""]
    lines += _table(result)
    if result.failed:
        lines += ["", f"Without answers: {len(result.failed)} of {len(result.rows)}"]
        for row in result.failed[:MOST_ROWS]:
            lines += _wrapped(f"{row.variant.named}: {' '.join(row.outcome.reason.split())}", "  ")
    lines += [
        "",
        *_wrapped(
            f"Computed, {study.quality} quality; ranges stand in the table of -o and --export."
        ),
    ]
    return "\n".join(lines)


def _table(result: StudyResult) -> list[str]:
    rows = result.solved[:MOST_ROWS]
    if not rows:
        return ["No design of this study has answers."]
    columns = [_column(result, name) for name in result.study.record]
    heads = [axis.name for axis in result.study.axes] + [f"[{n}]" for n in _numbers(result)]
    cells = [
        [
            *(_shortened(label) for label in row.variant.labels.values()),
            *(
                _cell(row.value(name), factor)
                for name, (_, factor) in zip(result.study.record, columns, strict=True)
            ),
        ]
        for row in rows
    ]
    widths = [max(map(len, column)) for column in zip(heads, *cells, strict=True)]
    lines = ["  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip()
             for row in (heads, *cells)]  # fmt: skip
    more = len(result.solved) - len(rows)
    if more:
        lines.append(f"… and {more} more in the table of --export or of the report folder")
    keys = [f"  [{n}] {head}" for n, (head, _) in zip(_numbers(result), columns, strict=True)]
    return [*lines, *keys]


def _shortened(label: str) -> str:
    """Return a label with a sign where its end is left out."""
    return label if len(label) <= LONGEST_LABEL else f"{label[: LONGEST_LABEL - 1]}…"


def _numbers(result: StudyResult) -> range:
    return range(1, len(result.study.record) + 1)


def _column(result: StudyResult, name: str) -> tuple[str, float]:
    """Return what stands over a column, with its unit, and by what its numbers are divided."""
    words, unit = in_words(name)
    sizes = [abs(value) for row in result.solved if (value := row.value(name)) is not None]
    factor, shown = scale_of(max(sizes, default=0.0), unit)
    return (f"{words}, {shown}" if shown else words), factor


def _cell(value: float | None, factor: float) -> str:
    return "–" if value is None else digits(value / factor)


def _wrapped(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent)
