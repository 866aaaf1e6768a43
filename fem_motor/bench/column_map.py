"""The column map: what a user says once about the columns of a log, the stand and the file."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

from fem_motor.bench.records import CHANNELS, Stand
from fem_motor.bench.units_of_logs import ALL_NAMES, factor, names_of_units
from fem_motor.errors import InputError, Problem

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
    try:
        with Path(path).open("rb") as file:
            text = file.read(1 << 20).decode("utf-8-sig")
        tables = tomllib.loads(text)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(
            "cannot be read as a column map.", why=f"{reason}.", place=str(path),
            do="write a TOML file with a table [columns]; docs/user/bench.md shows one.",
        ) from None  # fmt: skip
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
            "scale": isinstance(value, int | float) and not isinstance(value, bool) and value != 0,
            "offset": isinstance(value, int | float) and not isinstance(value, bool),
            "tare": isinstance(value, bool),
        }
        if not good.get(key, False):
            units = ", ".join(filter(None, names_of_units(channel)))
            do = f"use {', '.join(_COLUMN_KEYS)}; units of this channel are {units}."
            problems.append(Problem(what=f"{key} = {value!r} is wrong.", place=place, do=do))
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


def _is_positive(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 < value < 1e12  # noqa: PLR2004  (no stand has more)


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
            problems.append(Problem(what=f"= {value!r} is wrong.", place=place, do=do))
    fractions: dict[str, float] = {}
    for key, value in _table(tables, "uncertainty", name, problems).items():
        if key not in CHANNELS or not _is_positive(value) or value >= 1:
            do = "give a channel and a fraction, as torque = 0.01 for 1 %."
            place = f"{name}: uncertainty.{key}"
            problems.append(Problem(what=f"= {value!r} is wrong.", place=place, do=do))
        else:
            fractions[key] = float(value)
    return Stand(**found, scale_uncertainty=fractions)


def wants_tare(channel: str, rules: ColumnMap) -> bool:
    """Return whether the reading of a channel at rest is to be taken off: load cells, or by map."""
    rule = rules.rules.get(channel)
    if rule is None or rule.tare is None:
        return channel in {"thrust", "torque"}
    return rule.tare == "wanted"
