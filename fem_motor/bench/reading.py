"""A log from its file: parsed, its clock mended, its channels cleaned, in SI."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.bench.channels.cleaning import blank_bad_readings
from fem_motor.bench.channels.clock import mend_clock
from fem_motor.bench.channels.zeros import take_zeros
from fem_motor.bench.log_file.column_map import ColumnMap, load_columns
from fem_motor.bench.log_file.columns import columns_of, strange_unit
from fem_motor.bench.log_file.layout import layout_of
from fem_motor.bench.log_file.parsing import Parsed, parse
from fem_motor.bench.records import BenchLog, Column, Discarded
from fem_motor.errors import InputError
from fem_motor.findings import Finding

_MILLISECONDS, _MICROSECONDS = 5.0, 5000.0
"""Median step of a clock without unit from which on it counts these: no stand logs that slowly."""


def read_log(path: str | Path, *, columns: str | Path | ColumnMap | None = None) -> BenchLog:
    """Return what a test-stand log holds, in SI, cleaned; nothing is left out without a word.

    Parameters
    ----------
    path : str or Path
        A text file with a row for each sample; delimiter, decimal sign, encoding, headings and
        units are found out.
    columns : str, Path or ColumnMap, optional
        The column map (TOML); what it does not name is guessed from headings.

    Raises
    ------
    InputError
        Where the file or the map cannot be read, a unit cannot be guessed, or there is no clock.

    Examples
    --------
    >>> log = read_log("geometries/printed_18s16p_bench.csv")
    >>> log.rows_read == log.rows_used + sum(entry.rows for entry in log.dropped)
    True
    """
    path = Path(path)
    rules = columns if isinstance(columns, ColumnMap) else _rules(columns)
    layout = layout_of(path, rules)
    found = columns_of(layout.headings, layout.units, rules, file=str(path))
    _refuse_useless(found, rules, path)
    parsed = parse(path, layout, found)
    time, found, doubts = _clock(parsed, found, rules)
    clock = mend_clock(time, file=str(path))
    channels: dict[Any, FloatArray] = {}
    for name in list(parsed.channels):
        values = parsed.channels.pop(name)
        channels[name] = values if clock.kept.all() else values[clock.kept]
    dropped = (*parsed.dropped, *clock.dropped)
    cleaned, blanked, mended = blank_bad_readings(len(clock.time), channels)
    log = BenchLog(
        file=str(path),
        rows_read=parsed.rows_read,
        rows_used=len(clock.time),
        dropped=dropped,
        blanked=_merged((*parsed.blanked, *blanked)),
        columns=found,
        time=clock.time,
        channels=cleaned,
        stand=rules.stand,
        findings=(
            *doubts,
            *clock.findings,
            *mended,
            *_strange_units(found),
            *_guess_findings(found),
        ),
    )
    return take_zeros(log, rules)


def _rules(columns: str | Path | None) -> ColumnMap:
    return ColumnMap() if columns is None else load_columns(columns)


def _merged(entries: Sequence[Discarded]) -> tuple[Discarded, ...]:
    rows: dict[str, int] = {}
    for entry in entries:
        rows[entry.reason] = rows.get(entry.reason, 0) + entry.rows
    return tuple(Discarded(reason=reason, rows=count) for reason, count in rows.items())


def _refuse_useless(columns: Sequence[Column], rules: ColumnMap, path: Path) -> None:
    """Raise where no column is known, or none tells time."""
    known = {column.channel for column in columns if column.channel}
    shown = ", ".join(repr(column.heading) for column in columns[:20])
    if not known - {"time"}:
        raise InputError(
            "has no column that is known.",
            why=f"its headings are {shown}.",
            do="name them in a column map: [columns] thrust = "
            '{ heading = "…", unit = "gf" }; docs/user/bench.md shows one.',
            place=str(path),
        )
    if "time" not in known and rules.sample_rate is None:
        raise InputError(
            "has no column of time.",
            why=f"its headings are {shown}.",
            do='name it in a column map (columns.time = { heading = "…", unit = "ms" }), or give '
            "the rate of the rows: [file] sample_rate_Hz = 80.",
            place=str(path),
        )


def _clock(
    parsed: Parsed, columns: tuple[Column, ...], rules: ColumnMap
) -> tuple[FloatArray, tuple[Column, ...], tuple[Finding, ...]]:
    """Return times in s; where no unit was given it is told from the steps, and said."""
    if parsed.time is None:
        count = len(next(iter(parsed.channels.values())))
        return np.arange(count) / (rules.sample_rate or 1.0), columns, ()
    at = next(number for number, column in enumerate(columns) if column.channel == "time")
    column = columns[at]
    steps = np.diff(parsed.time[:100_000])
    rising = steps[steps > 0]
    is_named = column.unit != "s" or "s" in _words(column.heading) or column.how == "map"
    if is_named or not len(rising):
        return parsed.time, columns, ()
    step = float(np.median(rising))
    factor, unit = next(
        (pair for least, pair in ((_MICROSECONDS, (1e-6, "us")), (_MILLISECONDS, (1e-3, "ms")))
         if step >= least), (1.0, "s"),
    )  # fmt: skip
    if factor == 1.0:
        return parsed.time, columns, ()
    finding = Finding(
        name=f"step of the clock {column.heading!r}, which has no unit",
        status="watch",
        value=step,
        limit=_MILLISECONDS,
        why=f"no stand logs a row every {step:.4g} s; it is read as {unit}.",
        do=f"write the unit into the heading: time [{unit}].",
    )
    mended = replace(column, unit=unit, scale=factor)
    return factor * parsed.time, (*columns[:at], mended, *columns[at + 1 :]), (finding,)


def _words(heading: str) -> set[str]:
    return set(heading.lower().replace("[", " ").replace("]", " ").replace("_", " ")
               .replace("(", " ").replace(")", " ").replace("/", " ").split())  # fmt: skip


def _strange_units(columns: Sequence[Column]) -> tuple[Finding, ...]:
    """Return one finding that names the columns that are left out for their unit alone."""
    left_out = [
        (column.heading, *strange_unit(column.heading))
        for column in columns
        if column.how == "unused"
    ]
    strange = [
        f"{heading!r} reads like {channel}, but {unit!r} is no unit of it that is known here"
        for heading, channel, unit in left_out
        if channel
    ]
    if not strange:
        return ()
    return (
        Finding(
            name="columns left out for their unit",
            status="watch",
            value=float(len(strange)),
            why=f"{'; '.join(strange)}.",
            do="correct the heading, or name the column in a column map, with a unit or a scale.",
        ),
    )


def _guess_findings(columns: Sequence[Column]) -> tuple[Finding, ...]:
    """Return one finding that says which columns were guessed and which left out."""
    guessed = [
        f"{column.heading!r} is {column.channel}" + (f" in {column.unit}" if column.unit else "")
        for column in columns
        if column.how == "guessed"
    ]
    unused = [repr(column.heading) for column in columns if column.how == "unused"]
    if not guessed and not unused:
        return ()
    why = "; ".join(guessed) + ("; " if guessed and unused else "")
    why += f"not used: {', '.join(unused)}" if unused else ""
    return (
        Finding(
            name="columns taken by their headings",
            status="ok",
            value=float(len(guessed)),
            why=f"{why}.",
            do="name them in a column map where one is wrong.",
        ),
    )
