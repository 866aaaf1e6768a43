"""How a text file of columns is laid out: encoding, delimiter, decimal sign, headings, units."""

import codecs
import csv
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from fem_motor.bench.log_file.column_map import ColumnMap
from fem_motor.bench.log_file.columns import is_unit
from fem_motor.errors import InputError

LARGEST = 2 << 30
"""Bytes; ten hours at 80 Hz with ten columns have a seventh of it."""
HEAD = 1 << 18
"""Bytes from which the layout is told."""

MISSING = frozenset(("", "nan", "na", "n/a", "null", "none", "-", "--", "ovl", "ol", "err", "#n/a"))
"""What loggers write for no reading, in lower case; OVL and OL: beyond the range."""
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_STAMP = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d([.,]\d+)?)?(Z|[+-]\d\d:?\d\d)?")
_CLOCK = re.compile(r"\d{1,2}:\d\d:\d\d([.,]\d+)?")
_COMMENT = re.compile(r"^\s*(#|%|//|;)+\s*")
_DELIMITERS = (";", "\t", ",", "|", " ")
_ROWS_TO_TRUST = 3
_MOST_COLUMNS = 500

Marks = Literal["numbers", "stamps", "clock"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How the file is laid out.

    Attributes
    ----------
    encoding : str
    delimiter : str
        A blank stands for any run of blanks.
    decimal : "." or ","
    headings, units : tuple of str
        One for each column; units empty where the file has no row of them.
    width : int
        Fields of a row, a trailing delimiter counted.
    first_line : int
        Of the data, from 0.
    quotes : "used" or "not used"
    """

    encoding: str
    delimiter: str
    decimal: str
    headings: tuple[str, ...]
    units: tuple[str, ...]
    width: int
    first_line: int
    quotes: Literal["used", "not used"]


def layout_of(path: Path, rules: ColumnMap) -> Layout:
    """Return the layout of a log.

    Raises
    ------
    InputError
        Where it is missing, empty, too large, no text, or has no rows of numbers.
    """
    head = _head(path)
    encoding = _encoding(head, path)
    lines = head.decode(encoding, errors="replace").splitlines()
    if len(head) == HEAD:
        lines = lines[:-1]  # cut somewhere in its middle
    best = _best_split(lines, rules)
    if best is None:
        raise _bad(
            path,
            "holds no rows of numbers.",
            "no three rows with the same two or more columns of numbers were found at its start.",
            "export the log as CSV with one row for each sample; where the delimiter is unusual, "
            'name it in a column map: [file] delimiter = "…".',
        )
    delimiter, decimal, first = best
    headings, units, width = _headings(lines, first, delimiter, path)
    return Layout(
        encoding=encoding,
        delimiter=delimiter,
        decimal=decimal,
        headings=headings,
        units=units,
        width=width,
        first_line=first,
        quotes="used" if any('"' in line for line in lines[first:]) else "not used",
    )


def _bad(path: Path, what: str, why: str, do: str) -> InputError:
    return InputError(what, why=why, do=do, place=str(path))


def _head(path: Path) -> bytes:
    """Return the first bytes of a file that can be read, is not empty and not too large."""
    do = "check the path; a log is a text file with a row for each sample (CSV)."
    try:
        if path.is_dir():
            raise _bad(path, "cannot be read as a log.", "it is a folder.", do)
        size = path.stat().st_size
        with path.open("rb") as file:
            head = file.read(HEAD)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _bad(path, "cannot be read as a log.", f"{reason}.", do) from None
    if size > LARGEST:
        why = f"it has {size / 2**30:.1f} GiB; the largest that is read has {LARGEST >> 30} GiB."
        raise _bad(path, "is too large.", why, "split it into runs, or log at a lower rate.")
    if not head.strip(b"\0 \t\r\n"):
        raise _bad(path, "is empty.", "it holds no text.", do)
    return head


def _encoding(head: bytes, path: Path) -> str:
    for mark, name in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if head.startswith(mark):
            return name
    odd = head[1::2].count(0)
    if odd > 0.4 * len(head) / 2:
        return "utf-16-le"
    strange = sum(head.count(code) for code in range(1, 32) if code not in b"\t\n\r\f\x1a\x1b")
    if head.startswith((b"PK\3\4", b"\x1f\x8b", b"\xd0\xcf\x11\xe0")) or strange > len(head) / 50:
        raise _bad(
            path,
            "is no text.",
            "it is a spreadsheet, an archive or another binary file.",
            "export it as CSV, and give that file.",
        )
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def split_line(line: str, delimiter: str) -> list[str]:
    """Return the fields of a line, blanks around them taken off."""
    if delimiter == " ":
        return line.split()
    return [field.strip() for field in next(csv.reader([line], delimiter=delimiter), [])]


def is_number(field: str, decimal: str = ".") -> bool:
    """Return whether a field is a number with that decimal sign."""
    plain = field.replace(",", ".") if decimal == "," and "." not in field else field
    return _NUMBER.fullmatch(plain) is not None


def mark_of(field: str) -> Marks | None:
    """Return how a field tells time: numbers, stamps (ISO 8601), clock (h:min:s), or not at all."""
    if _STAMP.fullmatch(field):
        return "stamps"
    if _CLOCK.fullmatch(field):
        return "clock"
    return "numbers" if is_number(field) or is_number(field, ",") else None


def _is_row(fields: Sequence[str], decimal: str) -> bool:
    """Return whether two fields or more, and at least half of them, are numbers."""
    filled = [field for field in fields if field.lower() not in MISSING]
    good = sum(
        is_number(field, decimal) or mark_of(field) in {"stamps", "clock"} for field in filled
    )
    return good >= 2 and good >= len(filled) / 2 and len(fields) <= _MOST_COLUMNS  # noqa: PLR2004  (time and one channel)


def _best_split(lines: Sequence[str], rules: ColumnMap) -> tuple[str, str, int] | None:
    """Return delimiter, decimal sign and first row that make the most of the lines."""
    best: tuple[float, str, str, int] | None = None
    for delimiter, decimal in _splits(rules):
        try:
            rows = [split_line(line, delimiter) for line in lines[:400]]
        except csv.Error:
            continue
        first = _first_row(rows, decimal)
        if first is None:
            continue
        sample = [row for row in rows[first : first + 50] if row]
        numbers = sum(is_number(field, decimal) for row in sample for field in row) / len(sample)
        others = sum(
            field.lower() not in MISSING and not is_number(field, decimal)
            for row in sample for field in row
        ) / len(sample)  # fmt: skip
        score = numbers - 2 * others
        if best is None or score > best[0]:
            best = score, delimiter, decimal, first
    return None if best is None else best[1:]


def _splits(rules: ColumnMap) -> Iterator[tuple[str, str]]:
    for delimiter in [rules.delimiter] if rules.delimiter else _DELIMITERS:
        for decimal in [rules.decimal] if rules.decimal else (".", ","):
            yield delimiter, decimal


def _first_row(rows: Sequence[Sequence[str]], decimal: str) -> int | None:
    """Return the first of three rows of numbers of equal length; blank lines do not count."""
    filled = [(number, row) for number, row in enumerate(rows) if any(row)]
    for at in range(len(filled)):
        group = [row for _, row in filled[at : at + _ROWS_TO_TRUST]]
        if (
            len(group) == min(_ROWS_TO_TRUST, max(len(filled) - at, 2))
            and all(_is_row(row, decimal) for row in group)
            and len({len(row) for row in group}) == 1
        ):
            return filled[at][0]
    return None


def _headings(
    lines: Sequence[str], first: int, delimiter: str, path: Path
) -> tuple[tuple[str, ...], tuple[str, ...], int]:
    """Return headings, units (maybe none) and the width of a row."""
    rows = [split_line(line, delimiter) for line in lines[first : first + 200] if line.strip()]
    width = Counter(map(len, rows)).most_common(1)[0][0]
    above = [
        split_line(_COMMENT.sub("", line), delimiter) for line in lines[:first] if line.strip()
    ]
    blank_ends = all(not row[-1] for row in rows if len(row) == width)
    fitting = {width, width - 1} if blank_ends else {width}
    heads = [[field.strip('"') for field in row] for row in above]
    if not heads or len(heads[-1]) not in fitting:
        _refuse_odd_heading(heads, width, path)
        return tuple(f"column {number}" for number in range(1, width + 1)), (), width
    last = heads[-1]
    is_row_of_units = any(last) and all(is_unit(field.strip("[]()")) for field in last)
    if is_row_of_units and len(heads) > 1 and len(heads[-2]) == len(last):
        units = tuple(field.strip("[]()") for field in last)
        return _filled(heads[-2], width), (*units, *[""] * (width - len(units))), width
    return _filled(last, width), (), width


def _filled(heads: Sequence[str], width: int) -> tuple[str, ...]:
    return (*heads, *[""] * (width - len(heads)))


def _refuse_odd_heading(heads: Sequence[Sequence[str]], width: int, path: Path) -> None:
    """Raise where a heading stands above rows of another width: columns cannot be told apart."""
    wide = [row for row in heads if len(row) > 1]
    if not wide:
        return
    raise _bad(
        path,
        f"has {len(wide[-1])} headings above rows of {width} fields.",
        "which number belongs to which heading cannot be told; a decimal comma in a file that is "
        "delimited by commas looks like this.",
        "export with semicolons or tabs between the columns, one heading for each.",
    )
