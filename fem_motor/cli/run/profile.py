"""A profile of throttle over time from a file: CSV with two columns, or TOML with two lists."""

import csv
from pathlib import Path

from fem_motor.errors import InputError, Problem
from fem_motor.throttle import FlightProfile
from fem_motor.toml_file import is_number, parse, read_text

COLUMNS = ("time_s", "throttle")
KIND = "profile of throttle"


def read_profile(path: Path) -> FlightProfile:
    """Return the profile of a file.

    Raises
    ------
    InputError
        A file that cannot be read, columns that are missing, rows that are no numbers, times that
        do not rise, throttles out of range: all of a kind at once, with the file's name.
    """
    text = read_text(path, kind=KIND)
    columns = _of_toml(path, text) if path.suffix.lower() == ".toml" else _of_csv(path, text)
    try:
        return FlightProfile(time_s=columns[0], throttle=columns[1])  # type: ignore[arg-type]
    except InputError as error:
        raise error.placed_in(str(path)) from None


def _of_toml(path: Path, text: str) -> list[list[float]]:
    tables = parse(text, str(path), kind=KIND)
    columns = [tables.get(name) for name in COLUMNS]
    problems = [
        _problem(name, "is no list of numbers.", "a profile has one number for each row.")
        for name, column in zip(COLUMNS, columns, strict=True)
        if not (isinstance(column, list) and all(is_number(value) for value in column))
    ]
    extra = [name for name in tables if name not in COLUMNS]
    problems += [_problem(name, "is unknown.", "a profile has two lists.") for name in extra]
    if problems:
        raise InputError.from_problems(problems).placed_in(str(path))
    return [[float(value) for value in column or []] for column in columns]


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
