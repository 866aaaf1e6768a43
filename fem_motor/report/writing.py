"""Results written to a folder, whole or not at all."""

import csv
import io
from collections.abc import Mapping, Sequence
from importlib.metadata import version
from pathlib import Path
from typing import Any, Literal

import numpy as np

from fem_motor.bench import BenchResult
from fem_motor.calibration import CalibratedBench
from fem_motor.charts import Picture, Rendered, pictures_of, render
from fem_motor.comparison import Comparison, Ranking, decision_text
from fem_motor.design import MotorDesign
from fem_motor.performance import PerformanceSheet
from fem_motor.quantities import RotorSweep
from fem_motor.report.as_json import json_text, result_to_json
from fem_motor.report.folder import DESIGN, MARKER, whole_folder
from fem_motor.report.pages.document import document
from fem_motor.report.pages.web_page import page
from fem_motor.report.results import DesignCheck, Result
from fem_motor.report.sections.other_sections import Other, other_sections, other_title
from fem_motor.report.sections.sheet_sections import sheet_sections
from fem_motor.report.terminal.summary import summary_text
from fem_motor.report.wording.words import machine_line
from fem_motor.study import StudyResult, write_table

_SWEEP_COLUMNS = (
    "angle_deg",
    "torque_Nm",
    "flux_linkage_U_Wb",
    "flux_linkage_V_Wb",
    "flux_linkage_W_Wb",
    "current_U_A",
    "current_V_A",
    "current_W_A",
)


Pictures = Literal["with", "without"]


def write_report(
    result: Result,
    folder: Path | str,
    *,
    design: MotorDesign | None = None,
    quality: str = "",
    current_angle_deg: float | None = None,
    pictures: Pictures = "with",
) -> None:
    """Write a result into `folder`, which takes the place of an older one of this program's.

    A performance sheet gives report.html (which holds all it shows), report.pdf, the pictures and
    result.json; a sweep its curves, sweep.csv and result.json; a design check the section and
    result.json; a bench log points.csv, answers.txt, result.json and where it is calibrated
    calibrated.toml; a study its figures, table.csv, answers.txt and result.json; a comparison or a
    ranking its picture, answers.txt and result.json; these four a report.html too. The same result
    gives the same bytes. The folder appears whole or not at all.

    Parameters
    ----------
    result : PerformanceSheet, RotorSweep or another result
    folder : path
    design, quality, current_angle_deg
        Of a sweep, which does not hold them itself: what its pictures then say of it, and how long
        a period of its torque is. A sheet and a check hold their own.
    pictures : "with" or "without"
        "without" leaves pictures out of the report of a sheet: words, tables and numbers.

    Raises
    ------
    InputError
        The folder cannot be written, or holds what this program did not write.
    """
    if isinstance(result, PerformanceSheet):
        _write_sheet(result, folder, pictures)
    elif isinstance(result, Comparison | Ranking):
        _write_decision(result, folder)
    elif isinstance(result, RotorSweep):
        drawn = pictures_of(
            result, design=design, quality=quality, current_angle_deg=current_angle_deg
        )
        plain = result_to_json(result, design=design, quality=quality)
        _write_sweep(result, drawn, plain, folder)
    elif isinstance(result, BenchResult):
        _write_bench(result, folder)
    elif isinstance(result, CalibratedBench):
        _write_calibrated(result, folder)
    elif isinstance(result, StudyResult):
        _write_study(result, folder)
    else:
        _write_check(result, folder)


def _write_sheet(sheet: PerformanceSheet, folder: Path | str, pictures: Pictures) -> None:
    with whole_folder(folder) as inside:
        drawn = pictures_of(sheet) if pictures == "with" else ()
        rendered = [render(picture) for picture in drawn]
        sections, machine = sheet_sections(sheet, rendered), machine_line(sheet)
        title, foot = sheet.title, f"fem_motor {sheet.version}, quality {sheet.quality}"
        for picture in rendered:
            if not picture.turned:
                (inside / f"{picture.name}.png").write_bytes(picture.png)
        _write_text(inside / "report.html", page(title, sections, subtitle=machine, foot=foot))
        (inside / "report.pdf").write_bytes(document(title, sections, subtitle=machine, foot=foot))
        _write_text(inside / DESIGN, MotorDesign.from_dict(sheet.design).to_toml())
        _write_text(inside / MARKER, json_text(result_to_json(sheet)))


def _write_sweep(
    sweep: RotorSweep, pictures: Sequence[Picture], plain: Mapping[str, Any], folder: Path | str
) -> None:
    with whole_folder(folder) as inside:
        _write_pictures(pictures, inside)
        _write_text(inside / "sweep.csv", _csv(sweep))
        _write_text(inside / MARKER, json_text(plain))


def _write_decision(result: Comparison | Ranking, folder: Path | str) -> None:
    with whole_folder(folder) as inside:
        _write_page(result, _write_pictures(pictures_of(result), inside), inside)
        _write_text(inside / "answers.txt", decision_text(result) + "\n")
        _write_text(inside / MARKER, json_text(result_to_json(result)))


def _write_check(check: DesignCheck, folder: Path | str) -> None:
    with whole_folder(folder) as inside:
        _write_pictures(pictures_of(check.design), inside)
        _write_text(inside / MARKER, json_text(result_to_json(check)))


def _write_bench(result: BenchResult, folder: Path | str) -> None:
    with whole_folder(folder) as inside:
        _write_text(inside / "points.csv", _points_csv(result))
        _write_page(result, _write_pictures(pictures_of(result), inside), inside)
        _write_text(inside / "answers.txt", summary_text(result) + "\n")
        _write_text(inside / MARKER, json_text(result_to_json(result)))


def _write_calibrated(result: CalibratedBench, folder: Path | str) -> None:
    with whole_folder(folder) as inside:
        _write_text(inside / "points.csv", _points_csv(result.bench))
        _write_page(result, _write_pictures(pictures_of(result), inside), inside)
        if result.calibration.calibrated_design:  # none after a stop, or with nothing to fit to
            _write_text(inside / "calibrated.toml", result.calibration.calibrated_design)
        _write_text(inside / "answers.txt", summary_text(result) + "\n")
        _write_text(inside / MARKER, json_text(result_to_json(result)))


def _write_study(result: StudyResult, folder: Path | str) -> None:
    with whole_folder(folder) as inside:
        _write_page(result, _write_pictures(pictures_of(result), inside), inside)
        write_table(result, inside / "table.csv")
        _write_text(inside / "answers.txt", summary_text(result) + "\n")
        _write_text(inside / MARKER, json_text(result_to_json(result)))


def _write_page(result: Other, pictures: Sequence[Rendered], inside: Path) -> None:
    foot = f"fem_motor {version('fem_motor')}"
    text = page(other_title(result), other_sections(result, pictures), foot=foot)
    _write_text(inside / "report.html", text)


def _write_pictures(pictures: Sequence[Picture], inside: Path) -> tuple[Rendered, ...]:
    rendered = tuple(render(picture) for picture in pictures)
    for picture in rendered:
        (inside / f"{picture.name}.png").write_bytes(picture.png)
    return rendered


def _write_text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")


def _csv(sweep: RotorSweep) -> str:
    """Return the sweep as CSV, one row for each angle, every digit kept.

    With the force on the rotor where there is one, and the parts of the torque where they are told.
    """
    columns = list(_SWEEP_COLUMNS)
    rows = [sweep.angle_deg, sweep.torque_Nm, *sweep.flux_linkage_Wb, *sweep.currents_A]
    if np.any(sweep.pull_N):
        columns += ["pull_x_N", "pull_y_N"]
        rows += [*sweep.pull_N]
    if sweep.parts is not None:
        columns += ["cogging_torque_Nm", "magnet_torque_Nm", "reluctance_torque_Nm"]
        rows += [sweep.parts.cogging_Nm, sweep.parts.magnet_Nm, sweep.parts.reluctance_Nm]
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(np.stack(rows, axis=1).tolist())
    return buffer.getvalue()


def _points_csv(result: BenchResult) -> str:
    """Return the measured points as CSV: value and both ends of its range, a row for each.

    Headings are this program's own and cells are numbers, so that no cell of the log can reach a
    spreadsheet as a formula.
    """
    points = result.measured.points
    names = list(dict.fromkeys(name for point in points for name in point.values))
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    ends = ("", "_low", "_high")
    writer.writerow(["start_s", "end_s", *(f"{name}{end}" for name in names for end in ends)])
    for point in points:
        row: list[float | None] = [point.segment.start, point.segment.end]
        for name in names:
            head = point.values.get(name)
            row += [None] * 3 if head is None else [head.value, head.low, head.high]
        writer.writerow(row)
    return buffer.getvalue()
