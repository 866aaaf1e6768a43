"""The table of a study as CSV or Parquet."""

import csv
import importlib.util
import io
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from fem_motor.beside import clear_leftovers, file_beside, written_to_the_end
from fem_motor.errors import InputError
from fem_motor.plain import disarmed
from fem_motor.study.records import Row, StudyResult

TABLES = (".csv", ".parquet")


def refuse_bad_table(path: Path) -> None:
    """Refuse a table that could not be written; call it before the long work.

    Raises
    ------
    InputError
    """
    if path.suffix not in TABLES:
        raise InputError(
            "has no suffix of a table.",
            do=f"name a file that ends in {' or '.join(TABLES)}.",
            place=f"--export {path}",
        )
    if path.suffix == ".parquet" and importlib.util.find_spec("pyarrow") is None:
        raise InputError(
            "cannot be written as Parquet.",
            why="pyarrow is not installed.",
            do="python -m pip install 'fem_motor[parquet]', or name a .csv file.",
            place=f"--export {path}",
        )
    if path.is_dir() or not path.parent.is_dir() or not os.access(path.parent, os.W_OK):
        raise InputError(
            "cannot be written.",
            why="it is a folder, or its folder does not exist or may not be written.",
            do="name a file in a folder that you may write.",
            place=f"--export {path}",
        )


def write_table(result: StudyResult, path: Path) -> None:
    """Write the table, whole or not at all; CSV or Parquet by the suffix of `path`."""
    content = csv_table(result).encode() if path.suffix == ".csv" else parquet_table(result)
    with file_beside(path, content) as temporary, written_to_the_end(path):
        temporary.replace(path)
    clear_leftovers(path)


def csv_table(result: StudyResult) -> str:
    """Return the table as CSV, every digit kept; texts cannot be taken for formulas."""
    columns = table_columns(result)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(map(disarmed, columns))
    for cells in zip(*columns.values(), strict=True):
        writer.writerow(["" if cell is None else _safe(cell) for cell in cells])
    return text.getvalue()


def parquet_table(result: StudyResult) -> bytes:
    """Return the table as Parquet; needs pyarrow, see `refuse_bad_table`."""
    import pyarrow as pa  # noqa: PLC0415  (an extra)
    import pyarrow.parquet as pq  # noqa: PLC0415

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
    if isinstance(cell, str):
        return disarmed(cell)
    return repr(cell) if isinstance(cell, float) else cell
