"""What a test-stand log says, as a page for the terminal."""

import textwrap
from collections.abc import Callable, Mapping, Sequence

from fem_motor.bench import BenchResult, MeasuredPoint, Reading, Segment
from fem_motor.findings import Finding, Headline
from fem_motor.numbers import (
    digits,
    quantity,
    split_name,
    value_and_range,
    with_uncertainty,
)
from fem_motor.units import RPM

_WIDTH = 98
_MOST_ROWS = 24
"""Rows of a table on the screen; the rest stands in the files."""
_SLOW = 1.5
"""Rows a second: below it a reader thinks in seconds a row."""
_ROUNDING = 1e-12
"""Of a mean: less scatter is that of adding up."""
CAUTIONS = (
    "A propeller cuts: guard it, stand behind its plane, take it off for all other work, arm last.",
    "Batteries burn when shorted: a fuse at the battery, never alone, disconnect after the run.",
    "Windings stay hot long after a run. Hands off until they are known to be cold.",
    "Figures hold for this stand, supply and day. Local codes and licensed practice come first.",
)
_POINT_COLUMNS = (
    ("speed_rpm", "rpm"), ("torque_Nm", "N m"), ("thrust_N", "N"), ("voltage_V", "V"),
    ("current_A", "A"), ("supply_power_W", "W in"), ("shaft_power_W", "W out"),
    ("efficiency", "efficiency"), ("thrust_coefficient", "CT"),
    ("power_coefficient", "CP"),
)  # fmt: skip
_SEGMENT_COLUMNS = (
    ("speed", "rpm", RPM), ("torque", "N m", 1.0), ("thrust", "N", 1.0), ("voltage", "V", 1.0),
    ("current", "A", 1.0), ("winding_C", "winding °C", 1.0),
)  # fmt: skip


def bench_text(result: BenchResult, *, finding_text: Callable[[Finding], str]) -> str:
    """Return the page: log, columns, segments, audit, points, constants, cautions."""
    lines = [*_wrapped(f"{result.title}: what {result.log.file} says"), ""]
    lines += [*_log(result), "", "Columns", *_columns(result), ""]
    lines += ["Segments (mean, standard uncertainty of the mean by its scatter)"]
    lines += [
        *_segments(result.segments),
        "",
        "Audit of the log",
        *_findings(result.audit, finding_text),
    ]
    lines += ["", "Points (about 95 %)", *_points(result.measured.points)]
    lines += ["", "Measured", *_values(result.measured.values)]
    lines += [line for one in result.measured.findings for line in _indented(finding_text(one))]
    lines += ["", "Caution"]
    for sentence in CAUTIONS:
        lines += _wrapped(sentence, "  ")
    return "\n".join(lines)


def _wrapped(text: str, first: str = "") -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent=first, subsequent_indent=first)


def _indented(text: str) -> list[str]:
    return ["  " + line for line in text.split("\n")]


def _scatter(reading: Reading) -> float:
    """Return the uncertainty of a mean; what is rounding of equal readings is 0."""
    is_rounding = reading.uncertainty < _ROUNDING * abs(reading.mean)
    return 0.0 if is_rounding else reading.uncertainty


def _rate(rate: float) -> str:
    """Return rows a second in words; a slow log by the seconds of a row."""
    if rate < _SLOW:
        return f"a row every {digits(1 / rate, 3)} s"
    return f"{digits(rate, 3)} rows a second"


def _log(result: BenchResult) -> list[str]:
    log = result.log
    length = float(log.time[-1])
    rate = (len(log.time) - 1) / length
    rows = f"{log.rows_read} rows read, {log.rows_used} used"
    lines = ["Log", f"  {rows}: {digits(length)} s, {_rate(rate)}"]
    lines += [f"  dropped {one.rows} rows: {one.reason}" for one in log.dropped]
    lines += [f"  set aside {one.rows} readings: {one.reason}" for one in log.blanked]
    for name, zero in log.zeros.items():
        done = "taken off" if zero.is_taken_off else "left as it is"
        unit = next((shown for one, shown, _ in _SEGMENT_COLUMNS if one == name), "")
        lines.append(
            f"  zero of {name}: {quantity(zero.first, unit)} to {quantity(zero.last, unit)} over "
            f"{zero.stretches} stretches at rest, {done}"
        )
    return lines


def _columns(result: BenchResult) -> list[str]:
    rows = [
        (
            repr(column.heading),
            f"{column.channel} in {column.unit}" if column.channel else "not used",
            {"map": "by the map", "guessed": "by its heading", "unused": ""}[column.how],
        )
        for column in result.log.columns
    ]
    return _table(rows, align="left")


def _table(rows: Sequence[Sequence[str]], *, align: str = "right") -> list[str]:
    """Return rows as lines with columns of equal width, two blanks before each."""
    widths = [max(len(row[at]) for row in rows) for at in range(len(rows[0]))] if rows else []
    lines = []
    for row in rows:
        cells = (
            f"{cell:<{width}}" if align == "left" else f"{cell:>{width}}"
            for cell, width in zip(row, widths, strict=True)
        )
        lines.append(("  " + "  ".join(cells)).rstrip())
    return lines


def _segments(segments: Sequence[Segment]) -> list[str]:
    if not segments:
        return ["  none"]
    shown = [
        column
        for column in _SEGMENT_COLUMNS
        if any(column[0] in segment.readings for segment in segments)
    ]
    rows = [["kind", "from s", "to s", *(label for _, label, _ in shown)]]
    for segment in segments[:_MOST_ROWS]:
        cells = [segment.kind, f"{segment.start:.1f}", f"{segment.end:.1f}"]
        for name, _, scale in shown:
            reading = segment.readings.get(name)  # type: ignore[call-overload]  # one of the channels
            is_mean = reading is not None and segment.kind in {"steady", "idle"}
            cells.append(
                " ± ".join(with_uncertainty(reading.mean / scale, _scatter(reading) / scale))
                if is_mean
                else "" if reading is None else "changes"
            )  # fmt: skip
        rows.append(cells)
    return _table(rows) + _more(len(segments) - _MOST_ROWS)


def _more(count: int) -> list[str]:
    return [f"  and {count} more in result.json (-o DIR, --json)"] if count > 0 else []


def _findings(findings: Sequence[Finding], finding_text: Callable[[Finding], str]) -> list[str]:
    order = {"stop": 0, "watch": 1}
    left = sorted(
        (one for one in findings if one.status != "ok"), key=lambda one: order[one.status]
    )
    passed = len(findings) - len(left)
    lines = [line for one in left for line in _indented(finding_text(one))]
    checks = "check" if passed == 1 else "checks"
    return [*lines, f"  {passed} {checks} without doubt"] if passed else lines


def _points(points: Sequence[MeasuredPoint]) -> list[str]:
    if not points:
        return ["  none"]
    shown = [column for column in _POINT_COLUMNS if any(column[0] in one.values for one in points)]
    rows = [[label for _, label in shown]]
    for point in points[:_MOST_ROWS]:
        cells = []
        for name, _ in shown:
            head = point.values.get(name)
            cells.append("" if head is None or head.value is None else _with_half(head))
        rows.append(cells)
    return _table(rows) + _more(len(points) - _MOST_ROWS)


def _with_half(head: Headline) -> str:
    value, low, high = head.value or 0.0, head.low or 0.0, head.high or 0.0
    return " ±".join(with_uncertainty(value, (high - low) / 2))


def _values(heads: Mapping[str, Headline]) -> list[str]:
    if not heads:
        return ["  nothing that holds for the whole log"]
    reasons = list(dict.fromkeys(head.because for head in heads.values()))
    rows = []
    for name, head in heads.items():
        label, unit = split_name(name)
        value, span = value_and_range(head, unit)
        rows.append((label, value, span, f"[{chr(ord('a') + reasons.index(head.because))}]"))
    lines = _table(rows, align="left")
    for at, reason in enumerate(reasons):
        lines += textwrap.wrap(
            reason, _WIDTH, initial_indent=f"  [{chr(ord('a') + at)}] ", subsequent_indent="      "
        )
    return lines
