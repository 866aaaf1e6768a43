"""The table of a study as CSV or Parquet."""

import csv
import io
from collections.abc import Mapping
from typing import Any

from fem_motor.errors import InputError
from fem_motor.study.records import Row, StudyResult

_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_table(result: StudyResult) -> str:
    """Return the table as CSV, every digit kept; texts cannot be taken for formulas."""
    columns = table_columns(result)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    for cells in zip(*columns.values(), strict=True):
        writer.writerow(["" if cell is None else _safe(cell) for cell in cells])
    return text.getvalue()


def parquet_table(result: StudyResult) -> bytes:
    """Return the table as Parquet.

    Raises
    ------
    InputError
        Where pyarrow is not installed.
    """
    try:
        import pyarrow as pa  # noqa: PLC0415  (an extra)
        import pyarrow.parquet as pq  # noqa: PLC0415
    except ImportError as error:
        raise InputError(
            "cannot be written as Parquet.",
            why="pyarrow is not installed.",
            do="python -m pip install 'fem_motor[parquet]', or name a .csv file.",
            place="--export",
        ) from error
    sink = io.BytesIO()
    pq.write_table(pa.table(dict(table_columns(result))), sink)
    return sink.getvalue()


def table_columns(result: StudyResult) -> Mapping[str, list[Any]]:
    """Return the columns by name: labels, keys set, status, reason, figures with their ranges."""
    rows, study = result.rows, result.study
    columns: dict[str, list[Any]] = {
        axis.name: [row.variant.labels[axis.name] for row in rows] for axis in study.axes
    }
    columns["status"] = [row.outcome.status for row in rows]
    columns["reason"] = [row.outcome.reason for row in rows]
    for name in study.record:
        columns[name] = [row.value(name) for row in rows]
        for end in ("low", "high"):
            ends = [_end(row, name, end) for row in rows]
            if any(one is not None for one in ends):
                columns[f"{name} {end}"] = ends
    columns["key"] = [row.outcome.key for row in rows]
    return columns


def _end(row: Row, name: str, end: str) -> float | None:
    headline = row.values.get(name)
    return None if headline is None else getattr(headline, end)


def _safe(cell: object) -> object:
    """Return a cell; a text that a spreadsheet would compute stands behind an apostrophe."""
    if isinstance(cell, str) and cell.startswith(_STARTS_A_FORMULA):
        return f"'{cell}"
    return repr(cell) if isinstance(cell, float) else cell
