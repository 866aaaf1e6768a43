"""The file of checks without a test stand: read, held against what is possible, brought to SI."""

import difflib
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

import numpy as np

from fem_motor.calibration.records import BenchCheck, CheckKind
from fem_motor.errors import InputError, Problem
from fem_motor.toml_file import is_number, key_lines, parse, read_text, shown
from fem_motor.units import MM, RPM

KIND = "file of checks"

KINDS: tuple[CheckKind, ...] = get_args(CheckKind)

METERS = {"ac meter": math.sqrt(2), "scope peak": 1.0, "scope peak to peak": 0.5}
"""What a meter between two leads shows, times this, is the peak of the line voltage (sine)."""

FEWEST = 3
"""Times and speeds of a coast-down."""

LARGEST = 1e6
"""s or rpm in a coast-down."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """A number that a check needs: what it may be and what stands for it otherwise."""

    low: float
    high: float
    default: float | None = None


def _percent(default: float) -> Key:
    return Key(low=0.01, high=50, default=default)


_COPPER = Key(low=-40, high=200, default=20)

_KEYS: Mapping[CheckKind, Mapping[str, Key]] = {
    "resistance": {
        "ohm": Key(low=1e-5, high=1e4),
        "temperature_C": _COPPER,
        "uncertainty_percent": _percent(1),
    },
    "drill": {
        "speed_rpm": Key(low=1, high=1e5),
        "voltage_V": Key(low=1e-3, high=1e3),
        "uncertainty_percent": _percent(1),
    },
    "inductance": {"line_line_uH": Key(low=1e-2, high=1e6), "uncertainty_percent": _percent(5)},
    "coast_down": {
        "inertia_kg_m2": Key(low=1e-9, high=1e2),
        "temperature_C": _COPPER,
        "uncertainty_percent": _percent(5),
    },
    "standstill": {
        "arm_mm": Key(low=1, high=1e4),
        "scale_N": Key(low=1e-4, high=1e4),
        "current_A": Key(low=1e-2, high=1e3),
        "uncertainty_percent": _percent(2),
    },
    "air_gap": {
        "gap_mm": Key(low=0.02, high=50),
        "uncertainty_mm": Key(low=1e-3, high=5, default=0.05),
    },
    "magnet": {"remanence_T": Key(low=0.05, high=2), "uncertainty_percent": _percent(1)},
    "thermometer": {
        "part_C": Key(low=-40, high=300),
        "surroundings_C": Key(low=-40, high=100),
        "speed_rpm": Key(low=1, high=1e5),
        "torque_Nm": Key(low=1e-6, high=1e4),
        "run_s": Key(low=1, high=1e6),
        "uncertainty_K": Key(low=0.1, high=50, default=3),
    },
}
"""Standard uncertainties by default: hobby instruments, common practice, no source."""

PARTS = {"winding": "copper", "core": "teeth", "hub": "yoke", "magnets": "magnets",
         "housing": "housing", "mount": "mount"}  # fmt: skip
"""What a thermometer touches, and the part of the thermal network."""

_WORDS: Mapping[str, tuple[str, ...]] = {
    "drill": ("meter",), "coast_down": ("time_s", "speed_rpm"), "thermometer": ("part",),
}  # fmt: skip
"""Keys that are no single number."""


def read_checks(path: str | Path) -> tuple[BenchCheck, ...]:
    """Return the checks in a TOML file.

    Raises
    ------
    InputError
        With every problem: file, line, key, value, what to do.
    """
    text = read_text(path, kind=KIND)
    return checks_from_toml(text, name=str(path))


def checks_from_toml(text: str, *, name: str = "checks") -> tuple[BenchCheck, ...]:
    """Return the checks of a TOML text.

    Examples
    --------
    >>> checks_from_toml("resistance = { ohm = 0.4, temperature_C = 22 }")[0].value
    0.4

    Raises
    ------
    InputError
    """
    tables = parse(text, name, kind=KIND)
    where = _File(name=name, lines=key_lines(text))
    problems: list[Problem] = []
    found: list[BenchCheck] = []
    for kind, given in tables.items():
        known = next((one for one in KINDS if one == kind), None)
        if known is None:
            problems.append(where.problem(kind, "is not known.", do=_near(kind, KINDS)))
            continue
        for number, entry in enumerate(given if isinstance(given, list) else [given], 1):
            place = f"{kind} {number}" if isinstance(given, list) else kind
            wrong = list(_entry_problems(known, entry, place, where))
            problems += wrong
            if not wrong:
                found.append(_check(known, entry))
    if not tables:
        listed = ", ".join(f"[{kind}]" for kind in KINDS)
        problems.append(where.problem("", "has no check.", do=f"write one of {listed}."))
    if problems:
        raise InputError.from_problems(problems)
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class _File:
    """A file's name and the line of each of its keys."""

    name: str
    lines: Mapping[str, int]

    def problem(self, key: str, what: str, *, do: str, why: str = "") -> Problem:
        """Return what is wrong with a key, with its line where there is one."""
        line = self.lines.get(key) or self.lines.get(key.rpartition(".")[0])
        place = f"{self.name}, line {line}" if line else self.name
        return Problem(place=f"{place}: {key}" if key else place, what=what, why=why, do=do)


def _near(name: str, names: tuple[str, ...]) -> str:
    near = difflib.get_close_matches(name, names, n=1, cutoff=0.5)
    hint = f'did you mean "{near[0]}"? ' if near else ""
    return f"{hint}use one of {', '.join(names)}."


def _entry_problems(kind: CheckKind, entry: object, place: str, where: _File) -> Iterator[Problem]:
    if not isinstance(entry, Mapping):
        yield where.problem(place, "is not a table.", do=f"write [{kind}] and its keys below.")
        return
    keys, words = _KEYS[kind], _WORDS.get(kind, ())
    for key in entry:
        if key not in keys and key not in words:
            do = _near(key, (*keys, *words))
            yield where.problem(f"{place}.{key}", "is not known.", do=do)
    for key, spec in keys.items():
        value = entry.get(key, spec.default)
        if not (is_number(value) and spec.low <= value <= spec.high):
            what = "is missing." if value is None else f"= {shown(value)} is impossible."
            do = f"give a number from {spec.low:g} to {spec.high:g}."
            yield where.problem(f"{place}.{key}", what, do=do)
    yield from _word_problems(kind, entry, place, where)
    if kind == "coast_down":
        yield from _coasting_problems(entry, place, where)


def _word_problems(
    kind: CheckKind, entry: Mapping[str, object], place: str, where: _File
) -> Iterator[Problem]:
    if kind == "drill" and entry.get("meter") not in METERS:
        what = "is missing." if "meter" not in entry else f"= {shown(entry['meter'])} is not known."
        why = "the same voltage reads 1.41 times as high on one meter as on another."
        yield where.problem(f"{place}.meter", what, why=why, do=_near("", tuple(METERS)))
    if kind == "thermometer" and entry.get("part") not in PARTS:
        what = "is missing." if "part" not in entry else f"= {entry['part']!r} is not known."
        yield where.problem(f"{place}.part", what, do=_near("", tuple(PARTS)))


def _coasting_problems(entry: Mapping[str, object], place: str, where: _File) -> Iterator[Problem]:
    numbers: dict[str, list[float]] = {}
    for key in ("time_s", "speed_rpm"):
        values = entry.get(key)
        if isinstance(values, list) and len(values) >= FEWEST and all(map(_is_ordinary, values)):
            numbers[key] = values
            continue
        do = f"give three or more numbers up to {LARGEST:g}, as [0, 1, 2]."
        yield where.problem(f"{place}.{key}", "is no list of such numbers.", do=do)
    if len(numbers) < len(("time_s", "speed_rpm")):
        return
    time, speed = np.array(numbers["time_s"]), np.array(numbers["speed_rpm"])
    if time.size != speed.size:
        do = "give one speed for each time."
        yield where.problem(f"{place}.speed_rpm", "does not match time_s.", do=do)
    elif not ((np.diff(time) > 0).all() and (np.diff(speed) < 0).all() and speed.min() >= 0):
        why = "times rise and speeds fall in a coast-down."
        do = "leave out the rest."
        yield where.problem(f"{place}.speed_rpm", "is no coast-down.", why=why, do=do)


def _is_ordinary(value: Any) -> bool:  # noqa: ANN401  (TOML data)
    return is_number(value) and abs(value) <= LARGEST


def _check(kind: CheckKind, entry: Mapping[str, Any]) -> BenchCheck:
    """Return a checked entry in SI."""
    given = {key: float(entry.get(key, spec.default)) for key, spec in _KEYS[kind].items()}
    if kind == "thermometer":
        return BenchCheck(
            kind=kind, value=given["part_C"], uncertainty=given["uncertainty_K"],
            temperature_C=given["surroundings_C"], speed=given["speed_rpm"] * RPM,
            torque=given["torque_Nm"], part=PARTS[entry["part"]], seconds=given["run_s"],
        )  # fmt: skip
    speed = 0.0
    if kind == "resistance":
        value = given["ohm"]
    elif kind == "drill":
        value = given["voltage_V"] * METERS[entry["meter"]] / (given["speed_rpm"] * RPM)
    elif kind == "inductance":
        value = given["line_line_uH"] * 1e-6
    elif kind == "standstill":
        value = given["scale_N"] * given["arm_mm"] * MM / given["current_A"]
    elif kind == "air_gap":
        value = given["gap_mm"] * MM
    elif kind == "magnet":
        value = given["remanence_T"]
    else:
        value, speed = _drag(entry, given["inertia_kg_m2"])
    share = given.get("uncertainty_percent")
    spread = given["uncertainty_mm"] * MM if share is None else value * share / 100
    return BenchCheck(
        kind=kind,
        value=value,
        uncertainty=spread,
        temperature_C=given.get("temperature_C", 20.0),
        speed=speed,
    )


def _drag(entry: Mapping[str, Any], inertia: float) -> tuple[float, float]:
    """Return drag −J dω/dt, N m, and the speed that it belongs to, rad/s: a straight line."""
    time, speed = np.array(entry["time_s"], float), np.array(entry["speed_rpm"], float) * RPM
    slope = float(np.polyfit(time, speed, 1)[0])
    return -inertia * slope, float(speed.mean())
