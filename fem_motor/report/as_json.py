"""Results as plain data for JSON: the field names of the records, never NaN or infinity."""

import dataclasses
import json
from collections.abc import Mapping
from importlib.metadata import version
from typing import Any

from fem_motor.bench import BenchResult
from fem_motor.calibration import CalibratedBench, Prediction
from fem_motor.comparison import Comparison, Ranking
from fem_motor.design import MotorDesign
from fem_motor.performance import PerformanceSheet
from fem_motor.plain import gap_finding, plain_data, provenance
from fem_motor.quantities import RotorSweep
from fem_motor.report.results import DesignCheck, Result
from fem_motor.study import StudyResult

SWEEP_FORMAT = "fem_motor.sweep"
CHECK_FORMAT = "fem_motor.check"
BENCH_FORMAT = "fem_motor.bench"
PREDICTION_FORMAT = "fem_motor.prediction"


def result_to_json(
    result: Result | Prediction, *, design: MotorDesign | None = None, quality: str = ""
) -> dict[str, Any]:
    """Return a result as plain data whose keys are the field names, ready for `json.dumps`.

    A sweep does not hold its design and quality: they are told where they are given.

    Floats keep every digit. A value that is not a finite number becomes None, and the sheet's
    ``checks`` (a sweep's ``findings``) say where and why.
    """
    if isinstance(result, PerformanceSheet | StudyResult | Comparison | Ranking):
        return result.to_dict()
    if isinstance(result, RotorSweep):
        return _sweep_to_json(result, design, quality)
    if isinstance(result, BenchResult):
        return _bench_to_json(result)
    if isinstance(result, Prediction):
        return {"format": PREDICTION_FORMAT, **plain_data(result, "prediction", [])}
    if isinstance(result, CalibratedBench):
        return _calibrated_to_json(result)
    return _check_to_json(result)


def json_text(plain: Mapping[str, Any]) -> str:
    """Return plain data as JSON text, one line for each row of numbers, ending in a newline."""
    return _layout(plain, "") + "\n"


def _sweep_to_json(sweep: RotorSweep, design: MotorDesign | None, quality: str) -> dict[str, Any]:
    gaps: list[str] = []
    parts = {
        field.name: plain_data(getattr(sweep, field.name), field.name, gaps)
        for field in dataclasses.fields(sweep)
    }
    findings = [plain_data(finding, "findings", []) for finding in map(gap_finding, gaps)]
    return {
        "format": SWEEP_FORMAT,
        "version": version("fem_motor"),
        **({"quality": quality} if quality else {}),
        **({} if design is None else {"title": design.title, "design": design.to_dict()}),
        **parts,
        "provenance": provenance(parts if design is None else ("design", *parts)),
        **({"findings": findings} if findings else {}),
    }


def _check_to_json(check: DesignCheck) -> dict[str, Any]:
    plain = {
        "format": CHECK_FORMAT,
        "version": version("fem_motor"),
        "file": check.file,
        "findings": [plain_data(finding, "findings", []) for finding in check.findings],
        "picture": check.picture,
    }
    if check.faults is None:
        return plain
    # An open pair has an infinite resistance: null, and its cause says that it is open.
    return plain | {"faults": [plain_data(fault, "faults", []) for fault in check.faults]}


def _bench_to_json(result: BenchResult) -> dict[str, Any]:
    log, gaps = result.log, list[str]()
    parts: dict[str, object] = {
        "log": {
            "file": log.file,
            "rows_read": log.rows_read,
            "rows_used": log.rows_used,
            "dropped": log.dropped,
            "set_aside": log.blanked,
            "columns": log.columns,
            "zeros": log.zeros,
        },
        "audit": result.audit,
        "segments": result.segments,
        "points": [
            {"start_s": point.segment.start, "end_s": point.segment.end, "values": point.values}
            for point in result.measured.points
        ],
        "measured": result.measured.values,
        "findings": result.measured.findings,
    }
    plain = {name: plain_data(value, name, gaps) for name, value in parts.items()}
    plain["findings"] += [plain_data(finding, "findings", []) for finding in map(gap_finding, gaps)]
    return {
        "format": BENCH_FORMAT,
        "version": version("fem_motor"),
        "title": result.title,
        **plain,
        "provenance": dict.fromkeys(("log", "segments", "points", "measured"), "measured"),
    }


def _calibrated_to_json(result: CalibratedBench) -> dict[str, Any]:
    plain, gaps = _bench_to_json(result.bench), list[str]()
    found = result.calibration
    parts: dict[str, object] = {
        "calibrated": found.calibrated,
        "correlation": found.correlation,
        "cannot_tell": found.cannot_tell,
        "explanations": found.explanations,
        "misfit": {"as_designed": found.misfit_before, "calibrated": found.misfit_after}
        if found.residuals.size
        else None,
        "calibrated_design": found.calibrated_design,
        "computed": {"as_designed": found.as_designed, "calibrated": found.as_calibrated},
    }
    if result.prediction is not None:
        parts["prediction"] = result.prediction
    plain |= {name: plain_data(value, name, gaps) for name, value in parts.items()}
    said = [*found.findings, *map(gap_finding, gaps)]
    plain["findings"] += [plain_data(finding, "findings", []) for finding in said]
    plain["provenance"] |= {"calibrated.prior": "assumed", "calibrated.value": "computed"}
    return plain


def _layout(value: object, indent: str) -> str:
    deeper = indent + " "
    if isinstance(value, Mapping) and value:
        rows = [f"{deeper}{_atom(key)}: {_layout(item, deeper)}" for key, item in value.items()]
        return "{\n" + ",\n".join(rows) + f"\n{indent}}}"
    if isinstance(value, list) and any(isinstance(item, (dict, list)) for item in value):
        rows = [deeper + _layout(item, deeper) for item in value]
        return "[\n" + ",\n".join(rows) + f"\n{indent}]"
    return _atom(value)


def _atom(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False, allow_nan=False)
    try:
        text.encode()
    except UnicodeEncodeError:  # a file name that is not UTF-8
        return json.dumps(value, allow_nan=False)
    return text
