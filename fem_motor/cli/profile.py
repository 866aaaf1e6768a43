"""A profile of throttle over time from a file: CSV with two columns, or TOML with two lists."""

import csv
import tomllib
from pathlib import Path

from fem_motor.errors import InputError, Problem
from fem_motor.throttle import FlightProfile

COLUMNS = ("time_s", "throttle")
LARGEST = 1 << 20
"""Bytes; a flight of an hour at ten rows a second has half of it."""


def read_profile(path: Path) -> FlightProfile:
    """Return the profile of a file.

    Raises
    ------
    InputError
        A file that cannot be read, columns that are missing, rows that are no numbers, times that
        do not rise, throttles out of range: all of a kind at once, with the file's name.
    """
    text = _text(path)
    columns = _of_toml(path, text) if path.suffix.lower() == ".toml" else _of_csv(path, text)
    try:
        return FlightProfile(time_s=columns[0], throttle=columns[1])  # type: ignore[arg-type]
    except InputError as error:
        raise error.placed_in(str(path)) from None


def _text(path: Path) -> str:
    try:
        content = path.read_bytes()
    except OSError as error:
        raise _unreadable(path, f"{error.strerror or error}.") from None
    if len(content) > LARGEST:
        raise _unreadable(path, f"it is larger than {LARGEST >> 20} MiB.")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _unreadable(path, "it is not UTF-8 text.") from None


def _unreadable(path: Path, why: str) -> InputError:
    return InputError(
        "cannot be read as a profile of throttle.",
        why=why,
        do="give a CSV file with the columns time_s, throttle, or a TOML file with both as lists.",
        place=str(path),
    )


def _of_toml(path: Path, text: str) -> list[list[float]]:
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _unreadable(path, f"{error}.") from None
    columns = [tables.get(name) for name in COLUMNS]
    problems = [
        _problem(name, "is no list of numbers.", "a profile has one number for each row.")
        for name, column in zip(COLUMNS, columns, strict=True)
        if not (isinstance(column, list) and all(_is_number(value) for value in column))
    ]
    extra = [name for name in tables if name not in COLUMNS]
    problems += [_problem(name, "is unknown.", "a profile has two lists.") for name in extra]
    if problems:
        raise InputError.from_problems(problems).placed_in(str(path))
    return [[float(value) for value in column or []] for column in columns]


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _of_csv(path: Path, text: str) -> list[list[float]]:
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    rows = list(csv.reader(lines))
    head = [name.strip() for name in rows[0]] if rows else []
    missing = [name for name in COLUMNS if name not in head]
    problems: list[Problem] = []
    if missing:
        why = f"the first row names {', '.join(filter(None, head)) or 'nothing'}."
        problems = [_problem(name, "is no column.", why) for name in missing]
        raise InputError.from_problems(problems).placed_in(str(path))
    places = [head.index(name) for name in COLUMNS]
    columns: list[list[float]] = [[], []]
    for number, row in enumerate(rows[1:], start=1):
        for name, place, column in zip(COLUMNS, places, columns, strict=True):
            try:
                column.append(float(row[place]))
            except (IndexError, ValueError):
                word = row[place] if place < len(row) else ""
                why = "each row has a time and a throttle."
                problems.append(_problem(name, f"= {word!r} in row {number} is no number.", why))
    if problems:
        raise InputError.from_problems(problems).placed_in(str(path))
    return columns


def _problem(name: str, what: str, why: str) -> Problem:
    do = "give the columns time_s (s, from 0) and throttle (0 to 1)."
    return Problem(what=what, why=why, do=do, place=name)
