"""The terminal page: answers first, then what to watch, then how far to trust it."""

import textwrap
from collections.abc import Iterable
from typing import Literal

from fem_motor.bench import BenchResult
from fem_motor.calibration import CalibratedBench, Prediction
from fem_motor.charts import sweep_text
from fem_motor.comparison import Comparison, Ranking, decision_text
from fem_motor.design import MotorDesign
from fem_motor.findings import Finding
from fem_motor.performance import PerformanceSheet
from fem_motor.quantities import RotorSweep
from fem_motor.report.results import DesignCheck, Result
from fem_motor.report.terminal.bench_words import bench_text
from fem_motor.report.terminal.calibration_words import calibrated_bench_text
from fem_motor.report.terminal.fault_words import faults_text
from fem_motor.report.terminal.prediction_words import plan_text
from fem_motor.report.terminal.study_words import study_text
from fem_motor.report.wording import words
from fem_motor.report.wording.cautions import cautions_in_short
from fem_motor.report.wording.power_words import limits
from fem_motor.study import StudyResult

WIDTH = 98
LINES = 80
_COLOURS = {"ok": "32", "watch": "33", "stop": "31"}
StatusStyle = Literal["plain", "coloured"]


def summary_text(
    sheet: Result | Prediction,
    *,
    status_style: StatusStyle = "plain",
    design: MotorDesign | None = None,
) -> str:
    """Return the sheet's first screen: at most 80 lines of 100 columns, no final newline.

    Of a sweep, which does not hold its `design`: what its ripple is made of, a few lines or none.
    Of a design check: what readings at the leads say of the winding.

    "coloured" sets the words ok, watch and stop in terminal colours, and nothing else. Checks that
    do not fit on the screen are counted, and stand in full in the report.
    """
    if isinstance(sheet, RotorSweep):
        return sweep_text(sheet, design)
    if isinstance(sheet, DesignCheck):
        return faults_text(sheet.faults or ())
    if isinstance(sheet, BenchResult | CalibratedBench | Prediction):
        return _bench(sheet, status_style)
    if isinstance(sheet, StudyResult):
        return study_text(sheet)
    if isinstance(sheet, Comparison | Ranking):
        return decision_text(sheet)
    head = [*_wrapped(sheet.title), *_wrapped(words.machine_line(sheet)), "", *_answers(sheet), ""]
    head += [*_part("What limits this motor", limits(sheet)), ""]
    tail = ["", *_part("Trust", words.trust(sheet))]
    tail += ["", *_part("Caution", cautions_in_short(sheet))]
    middle = _checks(sheet, LINES - len(head) - len(tail), status_style)
    return "\n".join([*head, *middle, *tail])


def _part(title: str, sentences: Iterable[str]) -> list[str]:
    return [title, *(line for sentence in sentences for line in _wrapped(sentence, "  "))]


def _bench(result: BenchResult | CalibratedBench | Prediction, status_style: StatusStyle) -> str:
    def text_of(finding: Finding) -> str:
        return finding_text(finding, status_style=status_style)

    if isinstance(result, Prediction):
        return plan_text(result)
    if isinstance(result, CalibratedBench):
        return calibrated_bench_text(result, finding_text=text_of)
    return bench_text(result, finding_text=text_of)


def finding_text(finding: Finding, *, status_style: StatusStyle = "plain") -> str:
    """Return a finding as lines: status, name and numbers, then why and what to do."""
    head = str(finding).split("\n", maxsplit=1)[0].removeprefix(f"{finding.status:<5}").strip()
    first, *rest = _wrapped(head, "       ")  # a list of what cannot be told apart may be long
    lines = [f"{_status(finding.status, status_style)}  {first.strip()}", *rest]
    lines += _wrapped(finding.why, "         why: ", "              ") if finding.why else []
    lines += _wrapped(finding.do, "         do:  ", "              ") if finding.do else []
    return "\n".join(lines)


def _answers(sheet: PerformanceSheet) -> list[str]:
    rows = words.answers(sheet)
    marks = words.reason_marks(rows)
    label = max((len(row.label) for row in rows), default=0)
    value, width = (
        max((len(text) for text in texts), default=0)
        for texts in ([row.value for row in rows], [row.span for row in rows])
    )
    lines = ["Answers"]
    for row in rows:
        mark = f"  [{marks[row.because]}]" if row.because else ""
        span = f"{row.span:<{width}}{mark}"
        lines.append(f"  {row.label:<{label}}  {row.value:<{value}}  {span}".rstrip())
        lines += _wrapped(row.meaning, "      ") if row.meaning else []
    for reason, letter in marks.items():
        lines += _wrapped(reason, f"  [{letter}] ", "      ")
    return lines


def _checks(sheet: PerformanceSheet, room: int, status_style: StatusStyle) -> list[str]:
    left = words.open_checks(sheet)
    passed = len(sheet.checks) - len(left)
    if not left:
        return ["Checks", f"  {_status('ok', status_style)}  all {passed} passed"]
    lines = ["Checks"]
    for shown, finding in enumerate(left):
        text = finding_text(finding, status_style=status_style).split("\n")
        # Two lines stay free: the count of those that passed, and of those left out.
        if len(lines) + len(text) > room - 2:
            lines.append(f"  and {len(left) - shown} more in the report")
            break
        lines += ["  " + line for line in text]
    lines += [f"  {_status('ok', status_style)}  {passed} passed"] if passed else []
    return lines


def _status(status: str, status_style: StatusStyle) -> str:
    if status_style == "plain":
        return f"{status:<5}"
    return f"\033[{_COLOURS[status]}m{status:<5}\033[0m"


def _wrapped(text: str, first: str = "", rest: str | None = None) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=first if rest is None else rest
    )
