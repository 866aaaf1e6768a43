"""The column map, and the units that logs are written in: what a user says once about a log."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

from fem_motor.bench.records import CHANNELS, Stand
from fem_motor.errors import InputError, Problem
from fem_motor.toml_file import is_number, parse, read_text, shown
from fem_motor.units import GRAVITY, RPM

KIND = "column map"
LARGEST = 1e12
"""Of a number in it; no stand has more."""

POUND_FORCE = 0.45359237 * GRAVITY
"""N (exact by the definition of the pound, 1959)."""
INCH = 0.0254
"""m."""

# By quantity: unit in lower case without blanks and dots, scale and offset to SI.
_UNITS: Mapping[str, Mapping[str, tuple[float, float]]] = {
    "time": {
        "s": (1, 0), "sec": (1, 0), "seconds": (1, 0), "ms": (1e-3, 0), "us": (1e-6, 0),
        "ns": (1e-9, 0), "min": (60, 0), "minutes": (60, 0), "h": (3600, 0), "iso": (1, 0),
        "clock": (1, 0),
    },
    "force": {
        "n": (1, 0), "newton": (1, 0), "mn": (1e-3, 0), "kn": (1e3, 0), "g": (1e-3 * GRAVITY, 0),
        "gf": (1e-3 * GRAVITY, 0), "kg": (GRAVITY, 0), "kgf": (GRAVITY, 0), "kp": (GRAVITY, 0),
        "lb": (POUND_FORCE, 0), "lbf": (POUND_FORCE, 0), "oz": (POUND_FORCE / 16, 0),
        "ozf": (POUND_FORCE / 16, 0),
    },
    "torque": {
        "nm": (1, 0), "mnm": (1e-3, 0), "ncm": (1e-2, 0), "nmm": (1e-3, 0),
        "kgfcm": (GRAVITY * 1e-2, 0), "kgcm": (GRAVITY * 1e-2, 0), "kgfm": (GRAVITY, 0),
        "gfcm": (GRAVITY * 1e-5, 0), "gcm": (GRAVITY * 1e-5, 0),
        "ozin": (POUND_FORCE / 16 * INCH, 0),
        "ozfin": (POUND_FORCE / 16 * INCH, 0), "lbin": (POUND_FORCE * INCH, 0),
        "lbfin": (POUND_FORCE * INCH, 0), "inlb": (POUND_FORCE * INCH, 0),
    },
    "speed": {
        "rpm": (RPM, 0), "1/min": (RPM, 0), "min-1": (RPM, 0), "u/min": (RPM, 0),
        "krpm": (1e3 * RPM, 0),
        "rev/s": (60 * RPM, 0), "rps": (60 * RPM, 0), "hz": (60 * RPM, 0), "1/s": (60 * RPM, 0),
        "rad/s": (1, 0),
    },
    "voltage": {"v": (1, 0), "mv": (1e-3, 0), "volt": (1, 0), "volts": (1, 0)},
    "current": {"a": (1, 0), "ma": (1e-3, 0), "amp": (1, 0), "amps": (1, 0)},
    # A servo pulse of 1 to 2 ms is none to all: common practice.
    "throttle": {"%": (1e-2, 0), "pct": (1e-2, 0), "percent": (1e-2, 0), "": (1, 0),
                 "1": (1, 0), "us": (1e-3, -1), "ms": (1, -1)},
    "temperature": {
        "c": (1, 0), "degc": (1, 0), "°c": (1, 0), "k": (1, -273.15), "f": (5 / 9, -160 / 9),
        "degf": (5 / 9, -160 / 9), "°f": (5 / 9, -160 / 9),
    },
    "pressure": {"pa": (1, 0), "hpa": (1e2, 0), "mbar": (1e2, 0), "kpa": (1e3, 0), "bar": (1e5, 0)},
}  # fmt: skip

_USUAL: Mapping[str, tuple[str, ...]] = {
    "time": ("s", "ms"), "force": ("N", "gf"), "torque": ("N m", "mN m"), "speed": ("rpm",),
    "voltage": ("V",), "current": ("A",), "throttle": ("%",), "temperature": ("°C",),
    "pressure": ("hPa",),
}  # fmt: skip
"""As they are written, for messages."""

_QUANTITY = {
    "time": "time", "thrust": "force", "torque": "torque", "speed": "speed", "voltage": "voltage",
    "line_voltage_rms": "voltage", "current": "current", "throttle": "throttle",
    "winding_C": "temperature", "housing_C": "temperature", "controller_C": "temperature",
    "ambient_C": "temperature", "air_pressure": "pressure",
}  # fmt: skip

ALL_NAMES = tuple(_QUANTITY)
"""``time`` and all channels."""

_TABLES = ("columns", "stand", "uncertainty", "file")
_COLUMN_KEYS = ("heading", "unit", "sign", "scale", "offset", "tare")
Tare = Literal["wanted", "not wanted"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnRule:
    """What the map says about a channel; None or 1 where it says nothing."""

    heading: str | int
    unit: str | None = None
    scale: float = 1.0
    offset: float = 0.0
    tare: Tare | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnMap:
    """A column map: rules by channel, facts about the stand, and about the file.

    Attributes
    ----------
    name : str
        Of the file, for messages.
    rules : mapping of channel to ColumnRule
    stand : Stand
    delimiter, decimal : str or None
        Where they are not to be guessed.
    sample_rate : float or None
        Hz, for a log without time.
    """

    name: str = ""
    rules: Mapping[str, ColumnRule] = field(default_factory=dict)
    stand: Stand = field(default_factory=Stand)
    delimiter: str | None = None
    decimal: str | None = None
    sample_rate: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "rules", MappingProxyType(dict(self.rules)))


def load_columns(path: str | Path) -> ColumnMap:
    """Return the column map in a TOML file.

    Raises
    ------
    InputError
        With every problem: key, reason, what to do.
    """
    tables = parse(read_text(path, kind=KIND), str(path), kind=KIND)
    return columns_from_tables(tables, name=str(path))


def columns_from_tables(tables: Mapping[str, Any], *, name: str = "column map") -> ColumnMap:
    """Return the column map of tables as TOML gives them.

    Raises
    ------
    InputError
    """
    problems: list[Problem] = [
        Problem(what="is not known.", place=f"{name}: [{key}]", do=f"use {', '.join(_TABLES)}.")
        for key in tables
        if key not in _TABLES
    ]
    rules = {}
    for channel, entry in _table(tables, "columns", name, problems).items():
        rule = _rule(channel, entry, f"{name}: columns.{channel}", problems)
        if rule is not None:
            rules[channel] = rule
    stand = _stand(tables, name, problems)
    layout = _table(tables, "file", name, problems)
    rate = layout.get("sample_rate_Hz")
    for key, value in layout.items():
        good = {
            "delimiter": isinstance(value, str) and len(value) == 1,
            "decimal": value in (".", ","),
            "sample_rate_Hz": _is_positive(value),
        }
        if not good.get(key, False):
            do = 'use delimiter = ";", decimal = "," or sample_rate_Hz = 80.'
            problems.append(Problem(what="is wrong.", place=f"{name}: file.{key}", do=do))
    if problems:
        raise InputError.from_problems(problems)
    return ColumnMap(
        name=name, rules=rules, stand=stand, delimiter=layout.get("delimiter"),
        decimal=layout.get("decimal"), sample_rate=None if rate is None else float(rate),
    )  # fmt: skip


def _table(
    tables: Mapping[str, Any], key: str, name: str, problems: list[Problem]
) -> Mapping[str, Any]:
    value = tables.get(key, {})
    if isinstance(value, Mapping):
        return value
    problems.append(Problem(what="is not a table.", place=f"{name}: {key}", do=f"write [{key}]."))
    return {}


def _rule(channel: str, entry: object, place: str, problems: list[Problem]) -> ColumnRule | None:
    """Return the rule of an entry; what is wrong with it is added to `problems`."""
    before = len(problems)
    if channel not in ALL_NAMES:
        do = f"use time, {', '.join(CHANNELS)}."
        problems.append(Problem(what="is no channel.", place=place, do=do))
        return None
    given: Mapping[str, Any] = entry if isinstance(entry, Mapping) else {"heading": entry}
    for key, value in given.items():
        good = {
            "heading": isinstance(value, str | int) and not isinstance(value, bool),
            "unit": isinstance(value, str) and factor(channel, str(value)) is not None,
            "sign": value in (1, -1),
            "scale": _is_ordinary(value) and value != 0,
            "offset": _is_ordinary(value),
            "tare": isinstance(value, bool),
        }
        if not good.get(key, False):
            units = ", ".join(filter(None, names_of_units(channel)))
            do = f"use {', '.join(_COLUMN_KEYS)}; units of this channel are {units}."
            problems.append(Problem(what=f"{key} = {shown(value)} is wrong.", place=place, do=do))
    if "heading" not in given:
        do = "name the heading, or the number of the column from 1."
        problems.append(Problem(what="has no heading.", place=place, do=do))
    if len(problems) > before:
        return None
    tare = given.get("tare")
    return ColumnRule(
        heading=given["heading"], unit=given.get("unit"),
        scale=float(given.get("scale", 1.0)) * float(given.get("sign", 1)),
        offset=float(given.get("offset", 0.0)),
        tare=None if tare is None else "wanted" if tare else "not wanted",
    )  # fmt: skip


def _is_ordinary(value: Any) -> bool:  # noqa: ANN401  (TOML data)
    return is_number(value) and -LARGEST < value < LARGEST


def _is_positive(value: Any) -> bool:  # noqa: ANN401  (TOML data)
    return _is_ordinary(value) and value > 0


def _stand(tables: Mapping[str, Any], name: str, problems: list[Problem]) -> Stand:
    facts = {
        "inertia_kg_m2": "inertia",
        "air_density_kg_per_m3": "air_density",
        "winding_resistance_20C_ohm": "winding_resistance_20",
    }
    found: dict[str, Any] = {}
    for key, value in _table(tables, "stand", name, problems).items():
        if key in facts and _is_positive(value):
            found[facts[key]] = float(value)
        elif key == "test" and value in ("load", "no load", "direct current", "driven"):
            found["test"] = value
        elif key == "full_throttle" and isinstance(value, bool):
            found["throttle"] = "full" if value else "as logged"
        else:
            do = (
                f"use {', '.join(facts)} (positive numbers), full_throttle = true, or test = "
                '"load", "no load", "direct current" or "driven".'
            )
            place = f"{name}: stand.{key}"
            problems.append(Problem(what=f"= {shown(value)} is wrong.", place=place, do=do))
    fractions: dict[str, float] = {}
    for key, value in _table(tables, "uncertainty", name, problems).items():
        if key not in CHANNELS or not _is_positive(value) or value >= 1:
            do = "give a channel and a fraction, as torque = 0.01 for 1 %."
            place = f"{name}: uncertainty.{key}"
            problems.append(Problem(what=f"= {shown(value)} is wrong.", place=place, do=do))
        else:
            fractions[key] = float(value)
    return Stand(**found, scale_uncertainty=fractions)


def wants_tare(channel: str, rules: ColumnMap) -> bool:
    """Return whether the reading of a channel at rest is to be taken off: load cells, or by map."""
    rule = rules.rules.get(channel)
    if rule is None or rule.tare is None:
        return channel in {"thrust", "torque"}
    return rule.tare == "wanted"


def quantity_of(channel: str) -> str:
    """Return what kind of quantity a channel is: force, torque, speed, temperature and so on."""
    return _QUANTITY[channel]


def names_of_units(channel: str) -> tuple[str, ...]:
    """Return the names of the units that a channel may have, in lower case without blanks."""
    return tuple(filter(None, _UNITS[_QUANTITY[channel]]))


def usual_units(channel: str) -> tuple[str, ...]:
    """Return the units that a channel mostly has, as they are written."""
    return _USUAL[_QUANTITY[channel]]


def factor(channel: str, unit: str) -> tuple[float, float] | None:
    """Return scale and offset of a unit for a channel, None where it is not known."""
    plain = unit.strip().lower().replace("µ", "u").replace("μ", "u").replace("º", "°")
    plain = re.sub(r"[\s._·*⋅-]+(?!1$)", "", plain)
    if _QUANTITY[channel] in {"force", "torque"} and unit.strip().startswith("M"):
        return None  # mega is no unit of a test stand, and would be read as milli
    return _UNITS[_QUANTITY[channel]].get(plain)
