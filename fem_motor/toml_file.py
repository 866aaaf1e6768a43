"""From a TOML file that a user wrote to tables, with the line of every key."""

import math
import re
import sys
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TypeGuard

from fem_motor.errors import DesignError, InputError, Problem

LARGEST = 1 << 20
"""Bytes; a file of ours has a few thousand."""

DEEPEST = 10
"""Tables and lists in one another; a design has four, a step of a study with a material nine."""

LARGEST_WHOLE = (1 << 63) - 1
"""A whole number; TOML (v1.0.0, Integer) asks for 64 bits and for an error beyond them."""

DESIGN = "design file"
"""The kind of file that most are; its errors are design errors."""

_MEND = "mend that line: texts stand in quotation marks, numbers use a point, no key appears twice."
_BENT = "\N{LEFT DOUBLE QUOTATION MARK}\N{RIGHT DOUBLE QUOTATION MARK}„«»"
_SHOWN_OF_A_LINE = 60
_LINE_OF_ERROR = re.compile(r"at line (\d+)")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")
_NUMBER_AND_WORD = re.compile(r"[+-]?\d+(?:\.\d+)? *[^\W\d_][^,\"']*|[+-]?\d+(?:\.\d+)? *[%°].*")
_BARE_WORD = re.compile(r"[^\W\d_][\w.-]*")

_SECTION = re.compile(r"^\s*\[\s*([^\[\]]+?)\s*\]\s*(#.*)?$")
_ENTRY = re.compile(r"^\s*\[\[\s*([^\[\]]+?)\s*\]\]\s*(#.*)?$")
_KEY = re.compile(r"""^\s*([A-Za-z0-9_."'-]+?)\s*=""")


def read_text(path: str | Path, *, kind: str = DESIGN) -> str:
    """Return the text of a file of this kind, in words.

    Raises
    ------
    InputError
        Where the file is missing, no file, too large, unreadable or no text.
    """
    path = Path(path)
    try:
        if path.is_dir():
            raise _unreadable(path, kind, "it is a folder.")
        with path.open("rb") as file:
            content = file.read(LARGEST + 1)
        if len(content) > LARGEST:
            raise _unreadable(path, kind, f"it is larger than {LARGEST >> 20} MiB.")
        return content.decode("utf-8-sig")  # some editors begin a file with a byte order mark
    except FileNotFoundError:
        raise _unreadable(path, kind, "there is no such file.") from None
    except UnicodeDecodeError:
        raise _unreadable(path, kind, "it is not UTF-8 text.") from None
    except (OSError, ValueError) as error:
        raise _unreadable(path, kind, f"{getattr(error, 'strerror', None) or error}.") from None


def _unreadable(path: Path, kind: str, why: str) -> InputError:
    is_design = kind == DESIGN
    hint = "; fem-motor new FILE writes a design to start from" if is_design else ""
    return (DesignError if is_design else InputError)(
        f"cannot be read as a {kind}.", why=why, do=f"check the path{hint}.", place=str(path)
    )


def parse(text: str, name: str, *, kind: str = DESIGN) -> dict[str, Any]:
    """Return the tables of a TOML text.

    Raises
    ------
    InputError
        Where the text is not TOML; the place is named.
    """
    error_of = DesignError if kind == DESIGN else InputError
    try:
        tables = _shallow(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        place, why, do = _unreadable_line(text, error)
        raise error_of("is not valid TOML.", why=why, do=do, place=f"{name}{place}") from None
    except ValueError:  # Python reads whole numbers of up to 4300 digits
        raise error_of(
            "is not valid TOML.",
            why="a number has thousands of digits.",
            do="give numbers of ordinary length.",
            place=name,
        ) from None
    except RecursionError:
        raise error_of(
            "is nested too deeply.",
            why=f"a {kind} has sections and keys, no deeper nesting.",
            do="use the layout that its reference shows."
            if kind != DESIGN
            else "use the layout that fem-motor new writes.",
            place=name,
        ) from None
    # A design names the range of the key beside the number: its reader says it better.
    if kind != DESIGN:
        _refuse_long_numbers(tables, text, name)
    return tables


def _unreadable_line(text: str, error: tomllib.TOMLDecodeError) -> tuple[str, str, str]:
    """Return where a text stops being TOML, why, and what to do, by what mostly is the matter."""
    found = _LINE_OF_ERROR.search(str(error))
    lines = text.splitlines()
    if found is None or int(found[1]) > len(lines):
        return "", f"{error}.", _MEND
    number = int(found[1])
    line = lines[number - 1]
    read = printable(line.partition(" #")[0].strip())
    said = str(error).replace(f"at line {number}, ", "").replace(f" (at line {number})", "")
    place, why = f", line {number}", f"it reads {read[:_SHOWN_OF_A_LINE]} – {said}."
    return place, why, _mending(line.partition("=")[2].partition("#")[0].strip())


def _mending(value: str) -> str:
    """Return what to do about a value that is no TOML, by what it looks like."""
    hints = (
        (_DECIMAL_COMMA.fullmatch(value), f"numbers have a point: {value.replace(',', '.')}."),
        (
            _NUMBER_AND_WORD.fullmatch(value),
            "write the number alone: its unit stands in the name of the key.",
        ),
        ("…" in value, "put a value for the …, or a # in front of the line."),
        (
            value.strip(_BENT) != value,
            'a word processor bends quotation marks: write straight ones, ".',
        ),
        (
            value.startswith('"') and value.count('"') % 2,
            "a quotation mark is open: a text ends with one, too.",
        ),
        (_BARE_WORD.fullmatch(value), f'texts stand in quotation marks: "{value}".'),
    )
    return next((words for fits, words in hints if fits), _MEND)


def _refuse_long_numbers(tables: dict[str, Any], text: str, name: str) -> None:
    """Raise where a whole number is beyond TOML's 64 bits: no float would hold it either."""
    lines = key_lines(text)
    problems = [
        Problem(
            what="has too many digits.",
            why="a whole number of TOML has 64 bits, some 18 digits.",
            do="give a number of ordinary length.",
            place=_place(name, key, lines),
        )
        for key in dict.fromkeys(_too_long(tables))
    ]
    if problems:
        raise InputError.from_problems(problems)


def _place(name: str, key: str, lines: dict[str, int]) -> str:
    """Return file, line and key; in a table on one line it is the line of the table."""
    shown = key
    while shown and shown not in lines:
        shown = shown.rpartition(".")[0]
    return f"{name}, line {lines[shown]}: {key}" if shown else f"{name}: {key}"


def _too_long(value: object, key: str = "") -> Iterator[str]:
    """Yield the key of every whole number that does not fit into 64 bits."""
    if isinstance(value, dict):
        for name, part in value.items():
            yield from _too_long(part, f"{key}.{name}" if key else name)
    elif isinstance(value, list):
        for part in value:
            yield from _too_long(part, key)
    elif isinstance(value, int) and not -LARGEST_WHOLE - 1 <= value <= LARGEST_WHOLE:
        yield key


def _shallow(tables: dict[str, Any]) -> dict[str, Any]:
    """Return the tables; those that stand too deep in one another are a RecursionError."""
    level: list[Any] = [tables]
    for _ in range(DEEPEST):
        inside: list[Any] = []
        for one in level:
            inside += one.values() if isinstance(one, dict) else one
        level = [one for one in inside if isinstance(one, dict | list)]
    if level:
        raise RecursionError
    return tables


def key_lines(text: str) -> dict[str, int]:
    """Return the line, from 1, of every section and key as far as a line shows it.

    Entries of a list of tables are numbered from 1: ``axis 2``.
    """
    lines: dict[str, int] = {}
    entries: Counter[str] = Counter()
    section = ""
    for number, line in enumerate(text.splitlines(), 1):
        entry = _ENTRY.match(line)
        if entry:
            name = entry[1].replace('"', "").replace(" ", "")
            entries[name] += 1
            section = f"{name} {entries[name]}"
            lines.setdefault(section, number)
            continue
        header = _SECTION.match(line)
        if header:
            section = header[1].replace('"', "").replace(" ", "")
            lines.setdefault(section, number)
            continue
        key = _KEY.match(line)
        if key:
            name = key[1].replace('"', "")
            lines.setdefault(f"{section}.{name}" if section else name, number)
    return lines


def is_number(value: object) -> TypeGuard[float]:
    """Return whether a value is a finite number and no truth value."""
    if isinstance(value, int):  # of any length, also where a float would overflow
        return not isinstance(value, bool)
    return isinstance(value, float) and math.isfinite(value)


def shown(value: object) -> str:
    """Return a value as a message shows it: on one line, shortened.

    >>> shown("iron"), shown(True), shown(360.00001), shown([1, 2])
    ('"iron"', 'true', '360.00001', '[1, 2]')
    """
    if isinstance(value, str):
        text = f'"{printable(value)}"'
    elif isinstance(value, bool):
        text = str(value).lower()
    elif isinstance(value, int) and abs(value) > sys.float_info.max:
        text = "a number of more than 300 digits"
    elif isinstance(value, int | float):
        text = f"{value:.12g}"  # enough to tell 360.00001 from the limit that it breaks
    else:
        text = printable(str(value))
    return text if len(text) <= 60 else text[:57] + "…"  # noqa: PLR2004  (one line)


def printable(text: str) -> str:
    """Return a text that keeps to its line and leaves the terminal alone."""
    return text if text.isprintable() else text.encode("unicode_escape").decode("ascii")
