"""One value against what its key allows."""

from collections.abc import Mapping
from typing import Any

from fem_motor.design.keys import COIL_KEYS, MAGNET_KEYS, REQUIRED, TABLE_COLUMNS, Key
from fem_motor.toml_file import is_number, printable, shown

Complaint = tuple[str, str]
"""What is wrong with a value, and what to do."""

COIL_NAMES = ("U+", "U-", "V+", "V-", "W+", "W-", "")
LONGEST_TEXT = 500


def complaints(value: object, key: Key) -> list[Complaint]:
    """Return what is wrong with a value; empty where nothing is."""
    check = {
        "integer": _number,
        "number": _number,
        "text": _text,
        "choice": _choice,
        "coils": _coils,
        "table": _table,
        "numbers": _numbers,
        "objects": _objects,
    }[key.type]
    return check(value, key)


def _wrong(value: object, key: Key, what: str) -> list[Complaint]:
    return [(f"= {shown(value)} {what}", f"give {key.allowed}.")]


def _number(value: object, key: Key) -> list[Complaint]:
    if not is_number(value):
        return _wrong(value, key, "is not a number.")
    if key.type == "integer" and value != int(value):
        return _wrong(value, key, "is not a whole number.")
    if not key.low <= value <= key.high:
        return _wrong(value, key, "is out of range.")
    return []


def _text(value: object, key: Key) -> list[Complaint]:
    if not isinstance(value, str):
        return _wrong(value, key, "is not a text.")
    if not value.strip() or not value.isprintable() or len(value) > LONGEST_TEXT:
        return _wrong(value, key, "is empty, too long or not printable.")
    return []


def _choice(value: object, key: Key) -> list[Complaint]:
    return [] if value in key.choices else _wrong(value, key, "is not a choice.")


def _coils(value: object, key: Key) -> list[Complaint]:
    if not isinstance(value, list) or any(entry not in COIL_NAMES for entry in value):
        return _wrong(value, key, "is not a list of coils.")
    return []


def _table(value: object, key: Key) -> list[Complaint]:
    if not isinstance(value, list) or not value:
        return _wrong(value, key, "is not a table.")
    for number, row in enumerate(value, 1):
        if not _is_row(row):
            return _wrong(row, key, f"in row {number} is not a row of this table.")
    speeds = [row[0] for row in value]
    if sorted(set(speeds)) != speeds:
        return _wrong(value, key, "has speeds that do not rise.")
    return []


def _is_row(row: object) -> bool:
    return (
        isinstance(row, list)
        and len(row) == len(TABLE_COLUMNS)
        and all(
            is_number(x) and 0 <= x <= high
            for x, high in zip(row, TABLE_COLUMNS.values(), strict=True)
        )
    )


def _numbers(value: object, key: Key) -> list[Complaint]:
    entries: list[Any] = value if isinstance(value, list) else [value]
    if not entries or not all(is_number(x) and key.low <= x <= key.high for x in entries):
        return _wrong(value, key, f"is not made of numbers from {key.low:g} to {key.high:g}.")
    return []


def _objects(value: object, key: Key) -> list[Complaint]:
    if not isinstance(value, list) or not all(isinstance(entry, dict) for entry in value):
        return _wrong(value, key, "is not a list of tables.")
    allowed = MAGNET_KEYS if key.name == "magnets" else COIL_KEYS
    found: list[Complaint] = []
    for number, entry in enumerate(value, 1):
        found += _object(entry, allowed, number)
    return found


def _object(entry: Mapping[str, Any], allowed: Mapping[str, Any], number: int) -> list[Complaint]:
    found: list[Complaint] = [
        (f"entry {number}: {printable(name)} is not known.", f"use {', '.join(allowed)}.")
        for name in entry
        if name not in allowed
    ]
    for name, (kind, low, high, default) in allowed.items():
        if name not in entry:
            if default == REQUIRED:
                found.append((f"entry {number}: {name} is missing.", "give it."))
            continue
        value = entry[name]
        good = {
            "boolean": isinstance(value, bool),
            "phase": value in ("U", "V", "W"),
            "integer": is_number(value) and low <= value <= high and value == int(value),
            "number": is_number(value) and low <= value <= high,
        }[kind]
        if not good:
            hint = {"boolean": "true or false", "phase": '"U", "V" or "W"'}.get(
                kind, f"a number from {low:g} to {high:g}"
            )
            found.append((f"entry {number}: {name} = {shown(value)} is wrong.", f"give {hint}."))
    return found
