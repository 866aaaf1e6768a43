"""From the text of a log to columns of numbers, every row accounted for."""

import csv
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TextIO, cast

import numpy as np

from fem_motor.arrays import BoolArray, FloatArray
from fem_motor.bench.log_file.layout import MISSING, Layout, Marks, mark_of
from fem_motor.bench.records import Column, Discarded
from fem_motor.errors import InputError

_CHUNK = 200_000
"""Rows that are in memory as text at once."""

REPEATED_HEADING = "heading repeated"
COMMENT = "comment"
NO_TIME = "no time stamp"
TEXT = "text instead of numbers"
NOTHING = "no reading in any channel"
LONG = "more fields than headings, or swallowed by a quotation mark"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Parsed:
    """Columns of a file in SI, rows without time or readings dropped.

    Attributes
    ----------
    rows_read : int
        Lines after the headings that are not blank.
    time : (n,)
        s; None where the file has none.
    channels : dict of name to (n,)
        NaN where there is no reading.
    dropped, blanked : tuple of Discarded
    """

    rows_read: int
    time: FloatArray | None
    channels: dict[str, FloatArray]
    dropped: tuple[Discarded, ...]
    blanked: tuple[Discarded, ...]


class _Watched:
    """A text that counts its lines while it is read, and hides no NUL.

    Loggers that lose power leave NULs behind; the parser would end a number at one without a word.
    """

    def __init__(self, source: TextIO) -> None:
        self._source = source
        self.lines = 0
        self._last = "\n"

    def read(self, size: int | None = -1) -> str:
        """Return up to `size` characters."""
        text = self._source.read(-1 if size is None else size)
        if text:
            self.lines += text.count("\n")
            self._last = text[-1]
            if "\0" in text:
                text = text.replace("\0", "?")
        return text

    def __iter__(self) -> Iterator[str]:
        """Yield the lines that are left."""
        while line := self.read_line():
            yield line

    def read_line(self) -> str:
        """Return the next line."""
        line = self._source.readline()
        self.lines += line.count("\n")
        self._last = line[-1:] or self._last
        return line

    @property
    def all_lines(self) -> int:
        """Lines so far, one without an end counted."""
        return self.lines + (self._last != "\n")


@dataclass(slots=True, kw_only=True)
class _Account:
    """What became of the rows so far."""

    rows: int = 0
    blank_lines: int = 0
    dropped: Counter[str] = field(default_factory=Counter)
    blanked: Counter[str] = field(default_factory=Counter)


def parse(path: Path, layout: Layout, columns: Sequence[Column]) -> Parsed:
    """Return the columns of a file that hold a channel or the time.

    Raises
    ------
    InputError
        Where the text cannot be read to its end, or no row is left.
    """
    used = {number: column for number, column in enumerate(columns) if column.channel}
    account = _Account()
    parts: dict[str, list[FloatArray]] = {column.channel: [] for column in used.values()}
    with path.open(encoding=layout.encoding, errors="replace") as source:
        watched = _Watched(source)
        for _ in range(layout.first_line):
            watched.read_line()
        for chunk in _chunks(watched, layout, path):
            numbers = _numbers_of(chunk, used, layout, account)
            for name, values in numbers.items():
                parts[name].append(values)
        lost = watched.all_lines - layout.first_line - account.rows - account.blank_lines
    if lost > 0:
        account.dropped[LONG] += lost
        account.rows += lost
    joined = {name: np.concatenate(pieces) for name, pieces in _emptied(parts) if pieces}
    if not joined or not len(next(iter(joined.values()))):
        raise InputError(
            "holds no row that can be used.",
            why=", ".join(f"{rows} rows: {reason}" for reason, rows in account.dropped.items()),
            do="check headings, delimiter and decimal sign.",
            place=str(path),
        )
    return Parsed(
        rows_read=account.rows,
        time=joined.pop("time", None),
        channels=joined,
        dropped=_listed(account.dropped),
        blanked=_listed(account.blanked),
    )


def _emptied(parts: dict[str, list[FloatArray]]) -> Iterator[tuple[str, list[FloatArray]]]:
    """Hand out each list once, so that its pieces can go when they are joined."""
    for name in list(parts):
        yield name, parts.pop(name)


def _listed(counts: Counter[str]) -> tuple[Discarded, ...]:
    return tuple(Discarded(reason=reason, rows=rows) for reason, rows in counts.items() if rows)


def _chunks(source: _Watched, layout: Layout, path: Path) -> Iterator[Any]:
    """Yield frames of text and numbers, one column more than the file has: too long a row fills it.

    Rows that are longer still are left out by the parser, and found missing in the count.
    """
    import pandas as pd  # noqa: PLC0415  (slow to load)

    names = range(layout.width + 1)
    try:
        yield from pd.read_csv(
            cast("Any", source),
            sep=r"\s+" if layout.delimiter == " " else layout.delimiter,
            decimal=layout.decimal,
            header=None,
            names=names,
            index_col=False,
            skip_blank_lines=False,
            on_bad_lines="skip",
            na_values=[word for text in MISSING for word in (text, text.upper(), text.title())],
            quoting=csv.QUOTE_MINIMAL if layout.quotes == "used" else csv.QUOTE_NONE,
            skipinitialspace=layout.delimiter != " ",
            chunksize=_CHUNK,
        )
    except (pd.errors.ParserError, pd.errors.EmptyDataError, UnicodeError, csv.Error) as error:
        raise InputError(
            "cannot be read to its end.",
            why=f"{str(error).strip().rstrip('.')}.",
            do="open it in a text editor near that row: a quotation mark is left open, or a line "
            "is broken.",
            place=str(path),
        ) from None


def _numbers_of(
    chunk: Any,  # noqa: ANN401  (a frame)
    used: dict[int, Column],
    layout: Layout,
    account: _Account,
) -> dict[str, FloatArray]:
    """Return the used columns of a chunk in SI without the rows that go; they are accounted for."""
    numbers: dict[str, FloatArray] = {}
    text = np.zeros(len(chunk), dtype=bool)
    for number, column in used.items():
        values, is_text = _column_values(chunk[number], column, layout)
        numbers[column.channel] = column.scale * values + column.offset
        text |= is_text
        if column.channel != "time" and is_text.any():
            account.blanked[f"{column.channel}: text instead of a number"] += int(is_text.sum())
    kept = _kept_rows(chunk, numbers, text, layout, account)
    if kept.all():
        return numbers
    return {name: values[kept] for name, values in numbers.items()}


def _column_values(
    series: Any,  # noqa: ANN401  (a column)
    column: Column,
    layout: Layout,
) -> tuple[FloatArray, BoolArray]:
    """Return the numbers of a column as in the file, NaN where there is none, and where text is."""
    import pandas as pd  # noqa: PLC0415

    if pd.api.types.is_numeric_dtype(series.dtype) and series.dtype != bool:
        values = series.to_numpy(dtype=np.float64)
        return np.where(np.isfinite(values), values, np.nan), np.zeros(len(values), dtype=bool)
    words = series.astype("string").str.strip()
    is_given = ~words.isna().to_numpy()
    given = words[is_given]
    marks: Marks | None = None
    if column.channel == "time" and len(given):
        marks = next((mark for mark in map(mark_of, given.iloc[:50]) if mark), None)
    found = np.full(len(words), np.nan)
    if marks == "stamps":
        stamps = pd.to_datetime(
            given.str.replace(",", ".", regex=False), format="ISO8601", errors="coerce", utc=True
        )
        seconds = (stamps - pd.Timestamp(0, tz="UTC")) / pd.Timedelta(seconds=1)
        found[is_given] = seconds.to_numpy(dtype=np.float64, na_value=np.nan)
    elif marks == "clock":
        spans = pd.to_timedelta(given.str.replace(",", ".", regex=False), errors="coerce")
        found[is_given] = (spans / pd.Timedelta(seconds=1)).to_numpy(np.float64, na_value=np.nan)
    else:
        if layout.decimal == ",":
            given = given.str.replace(",", ".", regex=False)
        plain = pd.to_numeric(given, errors="coerce").astype("Float64")
        found[is_given] = plain.to_numpy(dtype=np.float64, na_value=np.nan)
    found[~np.isfinite(found)] = np.nan
    return found, is_given & np.isnan(found)


def _kept_rows(
    chunk: Any,  # noqa: ANN401  (a frame)
    numbers: dict[str, FloatArray],
    text: BoolArray,
    layout: Layout,
    account: _Account,
) -> BoolArray:
    """Return which rows stay; why the others go is counted, each row once."""
    nothing = np.ones(len(chunk), dtype=bool)
    for name, values in numbers.items():
        if name != "time":
            nothing &= np.isnan(values)
    no_time = np.isnan(numbers["time"]) if "time" in numbers else np.zeros(len(chunk), dtype=bool)
    long = chunk[layout.width].notna().to_numpy()
    kept: BoolArray = ~(nothing | no_time | long)
    if kept.all():
        account.rows += len(chunk)
        return kept
    blank = chunk.isna().all(axis=1).to_numpy() & ~kept
    account.blank_lines += int(blank.sum())
    account.rows += len(chunk) - int(blank.sum())
    for row in np.flatnonzero(~kept & ~blank & text & ~long).tolist():
        account.dropped[_why_text(chunk.iloc[row], layout)] += 1
    plain = ~kept & ~blank & ~(text & ~long)
    account.dropped[LONG] += int((plain & long).sum())
    account.dropped[NO_TIME] += int((plain & no_time & ~long).sum())
    account.dropped[NOTHING] += int((plain & ~no_time & ~long).sum())
    return kept


def _why_text(row: Any, layout: Layout) -> str:  # noqa: ANN401  (a row of a frame)
    words = [str(word).strip().strip('"') for word in row if word == word]  # noqa: PLR0124  (not NaN)
    if words and words[0].lstrip("#% ").startswith(tuple(filter(None, layout.headings[:1]))):
        return REPEATED_HEADING
    if words and words[0].startswith(("#", "%", "//")):
        return COMMENT
    return TEXT
