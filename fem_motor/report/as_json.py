"""Results as plain data for JSON: the field names of the records, never NaN or infinity."""

import dataclasses
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from importlib.metadata import version
from typing import Any

import numpy as np

from fem_motor.bench import BenchResult
from fem_motor.design import MotorDesign
from fem_motor.findings import Finding
from fem_motor.performance import PerformanceSheet
from fem_motor.quantities import RotorSweep
from fem_motor.report.results import DesignCheck, Result

PERFORMANCE_FORMAT = "fem_motor.performance"
SWEEP_FORMAT = "fem_motor.sweep"
CHECK_FORMAT = "fem_motor.check"
BENCH_FORMAT = "fem_motor.bench"
_ONLY_FOR_PICTURES = frozenset(("field_map",))
# Where each part comes from, in one of the words computed, measured, assumed; what is not named
# here is computed. Nothing that goes in is measured: sizes and materials are taken as the file and
# the library state them, currents and angles as they were asked for.
_PROVENANCE = {
    "design": {"design": "assumed"},
    "answers": {"answers.value": "computed", "answers.low": "assumed", "answers.high": "assumed"},
    "checks": {"checks.value": "computed", "checks.limit": "assumed"},
    "sources": {"sources": "assumed"},
    "timing_s": {"timing_s": "measured"},
    "angle_deg": {"angle_deg": "assumed"},
    "currents_A": {"currents_A": "assumed"},
}
_LABELS = frozenset(("title", "version", "quality", "dofs", "method", "waveform"))


def result_to_json(
    result: Result, *, design: MotorDesign | None = None, quality: str = ""
) -> dict[str, Any]:
    """Return a result as plain data whose keys are the field names, ready for `json.dumps`.

    A sweep does not hold its design and quality: they are told where they are given.

    Floats keep every digit. A value that is not a finite number becomes None, and the sheet's
    ``checks`` (a sweep's ``findings``) say where and why.
    """
    if isinstance(result, PerformanceSheet):
        return _sheet_to_json(result)
    if isinstance(result, RotorSweep):
        return _sweep_to_json(result, design, quality)
    if isinstance(result, BenchResult):
        return _bench_to_json(result)
    return _check_to_json(result)


def json_text(plain: Mapping[str, Any]) -> str:
    """Return plain data as JSON text, one line for each row of numbers, ending in a newline."""
    return _layout(plain, "") + "\n"


def _sheet_to_json(sheet: PerformanceSheet) -> dict[str, Any]:
    gaps: list[str] = []
    parts = {
        field.name: _plain(getattr(sheet, field.name), field.name, gaps)
        for field in dataclasses.fields(sheet)
        if field.name not in _ONLY_FOR_PICTURES
    }
    parts["checks"] += [_plain(finding, "checks", []) for finding in map(_gap_finding, gaps)]
    return {"format": PERFORMANCE_FORMAT, **parts, "provenance": _provenance(parts)}


def _sweep_to_json(sweep: RotorSweep, design: MotorDesign | None, quality: str) -> dict[str, Any]:
    gaps: list[str] = []
    parts = {
        field.name: _plain(getattr(sweep, field.name), field.name, gaps)
        for field in dataclasses.fields(sweep)
    }
    findings = [_plain(finding, "findings", []) for finding in map(_gap_finding, gaps)]
    return {
        "format": SWEEP_FORMAT,
        "version": version("fem_motor"),
        **({"quality": quality} if quality else {}),
        **({} if design is None else {"title": design.title, "design": design.to_dict()}),
        **parts,
        "provenance": _provenance(parts if design is None else ("design", *parts)),
        **({"findings": findings} if findings else {}),
    }


def _provenance(parts: Iterable[str]) -> dict[str, str]:
    """Return by name of each part whether it is computed, measured or assumed."""
    origin: dict[str, str] = {}
    for name in parts:
        if name not in _LABELS:
            origin |= _PROVENANCE.get(name, {name: "computed"})
    return origin


def _check_to_json(check: DesignCheck) -> dict[str, Any]:
    plain = {
        "format": CHECK_FORMAT,
        "version": version("fem_motor"),
        "file": check.file,
        "findings": [_plain(finding, "findings", []) for finding in check.findings],
        "picture": check.picture,
    }
    if check.faults is None:
        return plain
    # An open pair has an infinite resistance: null, and its cause says that it is open.
    return plain | {"faults": [_plain(fault, "faults", []) for fault in check.faults]}


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
    plain = {name: _plain(value, name, gaps) for name, value in parts.items()}
    plain["findings"] += [_plain(finding, "findings", []) for finding in map(_gap_finding, gaps)]
    return {
        "format": BENCH_FORMAT,
        "version": version("fem_motor"),
        "title": result.title,
        **plain,
        "provenance": dict.fromkeys(("log", "segments", "points", "measured"), "measured"),
    }


def _gap_finding(place: str) -> Finding:
    return Finding(
        name=place,
        status="watch",
        why="the computation gave no finite number here, so the value is left out (null).",
        do="check the design for extreme values; if it is an ordinary one, report this as a bug.",
    )


def _plain(value: object, place: str, gaps: list[str]) -> Any:  # noqa: ANN401  (JSON data)
    """Return `value` as JSON data; places of numbers that are not finite are added to `gaps`."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: _plain(getattr(value, field.name), f"{place}.{field.name}", gaps)
            for field in dataclasses.fields(value)
        }
    if isinstance(value, Mapping):
        return {str(key): _plain(item, f"{place}.{key}", gaps) for key, item in value.items()}
    if isinstance(value, (np.ndarray, np.generic)):
        return _plain(value.tolist(), place, gaps)
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_plain(item, place, gaps) for item in value]
    return _plain_leaf(value, place, gaps)


def _plain_leaf(value: object, place: str, gaps: list[str]) -> Any:  # noqa: ANN401  (JSON data)
    if isinstance(value, float) and not math.isfinite(value):
        if place not in gaps:
            gaps.append(place)
        return None
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    return str(value)


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
