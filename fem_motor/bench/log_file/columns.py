"""Headings and units of a log: what a column holds, and what turns its numbers into SI."""

import re
from collections.abc import Sequence
from typing import Literal

from fem_motor.bench.log_file.column_map import (
    ALL_NAMES,
    ColumnMap,
    ColumnRule,
    factor,
    quantity_of,
    usual_units,
)
from fem_motor.bench.records import Column
from fem_motor.errors import InputError, Problem

_ASSUMED_UNIT = {
    "voltage": "V", "current": "A", "temperature": "°C", "throttle": "", "time": "s",
    "pressure": "Pa",
}  # fmt: skip
"""Where a heading names no unit. Force, torque and speed have too many in use to guess."""

# The first rule that fits a heading says what it holds; a heading is in lower case here, its
# unit taken off, other signs turned to blanks.
_GUESSES: tuple[tuple[str, str], ...] = (
    ("line_voltage_rms", r"\b(line (to )?line|back emf|emf).*\b(rms|volt\w*)\b|\bemf\b"),
    ("", r"\b(vibration|notes?|humidity|power|efficiency|electrical|index|sample)\b"),
    ("", r"(?<!load )\bcell \d+\b"),
    ("winding_C", r"\b(temp\w*|t) (winding|coil|copper)s?\b|\b(winding|coil|copper)s? temp\w*"),
    ("housing_C", r"\btemp\w* (can|bell|housing|motor)\b|\b(can|bell|housing|motor) temp\w*"),
    ("controller_C", r"\btemp\w* (esc|controller|fet)\b|\b(esc|controller|fet) temp\w*"),
    ("ambient_C", r"\b(air|ambient|room)\b.*\btemp\w*|\btemp\w* (air|ambient|room)\b|\bambient\b"),
    ("air_pressure", r"\b(air |baro\w* )?pressure\b"),
    ("throttle", r"\b(throttle|pwm|pulse|duty|esc signal|command)\b"),
    ("torque", r"\b(torque|drehmoment|moment)\b"),
    ("thrust", r"\b(thrust|force|pull|schub|push)\b"),
    ("speed", r"\b(rpm|speed|rotation\w*|drehzahl|rev)\b"),
    ("voltage", r"\b(voltage|volts?|spannung|u bat\w*|v bat\w*|vbat|bus)\b"),
    ("current", r"\b(current|amps?|strom|i bat\w*)\b"),
    ("time", r"\b(time\w*|timestamp|zeit|t|clock|date|millis|micros|elapsed)\b"),
)  # fmt: skip

_UNIT_IN_BRACKETS = re.compile(r"[\[(<]\s*([^\])>]*?)\s*[\])>]\s*$")
# A unit of two words, as N m, comes before one of a single word.
_UNIT_AFTER = (
    re.compile(r"^(.*?)[\s_/,.-]+([^\s_]+[\s_·*]+[a-z]{1,2})$", re.IGNORECASE),
    re.compile(r"^(.*?)[\s_,.-]+([^\s_]+)$", re.IGNORECASE),
    re.compile(r"^(.*?)[\s_,.-]*/\s*([^\s_]+)$", re.IGNORECASE),
)


def columns_of(
    headings: Sequence[str], units: Sequence[str], rules: ColumnMap, *, file: str
) -> tuple[Column, ...]:
    """Return what each column of a file holds, one `Column` for each heading.

    The map comes first; what it does not name is guessed from heading and unit.

    Raises
    ------
    InputError
        Where the map names headings that are not there, or a unit cannot be guessed.
    """
    taken, problems = _mapped(headings, rules, file)
    columns: list[Column] = []
    used = set(rules.rules)
    for number, heading in enumerate(headings):
        channel, unit = taken.get(number, ""), units[number] if units else ""
        how: Literal["map", "guessed", "unused"] = "map" if channel else "guessed"
        if not channel:
            channel, guessed_unit = guess(heading, unit)
            unit = unit or guessed_unit
            channel = "" if channel in used else channel
        used.add(channel)
        rule = rules.rules.get(channel)
        if not channel:
            columns.append(_unused(heading, unit))
            continue
        chosen = _unit_of(channel, heading, rule, unit)
        si = None if chosen is None else factor(channel, chosen)
        if si is None or chosen is None:
            problems.append(_unit_problem(file, heading, channel, chosen))
            continue
        scale, offset = rule.scale if rule else 1.0, rule.offset if rule else 0.0
        columns.append(
            Column(
                heading=heading, channel=channel, unit=chosen, how=how,
                scale=scale * si[0], offset=scale * si[1] + offset,
            )
        )  # fmt: skip
    if problems:
        raise InputError.from_problems(problems)
    return tuple(columns)


def _unused(heading: str, unit: str) -> Column:
    return Column(heading=heading, channel="", unit=unit, scale=1, offset=0, how="unused")


def _mapped(
    headings: Sequence[str], rules: ColumnMap, file: str
) -> tuple[dict[int, str], list[Problem]]:
    """Return the channel by number of each column that the map names, and what it names amiss."""
    taken: dict[int, str] = {}
    problems = []
    for channel, rule in rules.rules.items():
        if isinstance(rule.heading, int):
            at = rule.heading - 1 if 1 <= rule.heading <= len(headings) else None
        else:
            alike = [number for number, text in enumerate(headings) if text == rule.heading.strip()]
            at = alike[0] if alike else None
        if at is None or at in taken:
            what = f"heading = {rule.heading!r} is {'named twice' if at in taken else 'not there'}."
            shown = ", ".join(repr(heading) for heading in headings[:20])
            place = f"{rules.name}: columns.{channel}"
            do = f"the headings of {file} are {shown}."
            problems.append(Problem(what=what, place=place, do=do))
        else:
            taken[at] = channel
    return taken, problems


def _unit_of(channel: str, heading: str, rule: ColumnRule | None, unit: str) -> str | None:
    """Return the unit by map, file or heading, else what may be assumed; None where nothing may."""
    if rule is not None and rule.unit is not None:
        return rule.unit
    if unit:
        return unit
    in_heading = split_unit(heading, channel)[1]
    return in_heading or _ASSUMED_UNIT.get(quantity_of(channel))


def _unit_problem(file: str, heading: str, channel: str, unit: str | None) -> Problem:
    what = f"has no unit for {channel}." if unit is None else f"has an unknown unit {unit!r}."
    examples = " or ".join(f"{channel} [{name}]" for name in usual_units(channel))
    return Problem(
        what=what,
        place=f"{file}: column {heading!r}",
        why="there are too many in use to guess one, and a wrong one spoils every figure.",
        do=f"write it into the heading, as {examples}, "
        f'or into a column map: columns.{channel} = {{ heading = "{heading}", unit = "…" }}.',
    )


def split_unit(heading: str, channel: str = "") -> tuple[str, str]:
    """Return a heading without its unit, and the unit; empty where it has none.

    >>> split_unit("Thrust [gf]"), split_unit("torque_Nm"), split_unit("rpm")
    (('Thrust', 'gf'), ('torque', 'Nm'), ('rpm', 'rpm'))
    """
    text = heading.strip()
    bracket = _UNIT_IN_BRACKETS.search(text)
    if bracket:
        return text[: bracket.start()].strip(), bracket[1]
    among = (channel,) if channel else ALL_NAMES
    if any(text and factor(one, text) is not None for one in among if len(text) > 1):
        return text, text
    for pattern in _UNIT_AFTER:
        after = pattern.match(text)
        if after and any(factor(one, after[2]) is not None for one in among):
            return after[1].strip(" _/,.-"), after[2]
    return text, ""


def strange_unit(heading: str) -> tuple[str, str]:
    """Return the channel that a heading names with a unit that is none of it; else both empty.

    >>> strange_unit("thrust [stone]"), strange_unit("thrust [gf]"), strange_unit("notes")
    (('thrust', 'stone'), ('', ''), ('', ''))
    """
    words, unit = split_unit(heading)
    channel = guess(words)[0]
    is_strange = channel and unit and factor(channel, unit) is None
    return (channel, unit) if is_strange else ("", "")


def guess(heading: str, unit: str = "") -> tuple[str, str]:
    """Return the channel of a heading ("" where unknown) and its unit as far as it names one.

    >>> guess("Thrust [gf]"), guess("motor speed (rpm)"), guess("notes")
    (('thrust', 'gf'), ('speed', 'rpm'), ('', ''))
    """
    words, own_unit = split_unit(heading)
    plain = re.sub(r"[^a-z0-9°%]+", " ", words.lower()).strip()
    for channel, pattern in _GUESSES:
        if re.search(pattern, plain):
            named = unit or own_unit
            if channel and named and factor(channel, named) is None and own_unit:
                return "", ""  # "rotor position [mm]": the unit belongs to something else
            return channel, own_unit
    return _only_by_unit(plain, unit or own_unit), own_unit


def _only_by_unit(words: str, unit: str) -> str:
    """Return the channel of a heading of one letter or none, as ``U [V]`` or ``T [°C]``."""
    letters = {"u": "voltage", "v": "voltage", "i": "current", "n": "speed", "q": "torque",
               "m": "torque", "f": "thrust", "rpm": "speed"}  # fmt: skip
    channel = letters.get(words, "")
    return channel if channel and (not unit or factor(channel, unit) is not None) else ""


def is_unit(text: str) -> bool:
    """Return whether a text is a unit of any channel (or empty)."""
    return not text.strip() or any(factor(channel, text) is not None for channel in ALL_NAMES)
