"""From a study file to a study; all that is wrong with it comes at once."""

import difflib
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import UnionType
from typing import Any, TypeGuard

import numpy as np

from fem_motor.design import MotorDesign, load_design
from fem_motor.errors import DesignError, InputError, Problem
from fem_motor.study.figures import CURVES
from fem_motor.study.recording import ANSWERS, PARTS, can_be_recorded
from fem_motor.study.records import Axis, FigurePlan, Limit, Step, Study, VerdictPlan
from fem_motor.study.study_file.keys import AXIS, FIGURE, LIMIT, SAMPLE, TOP, VERDICT, StudyKey
from fem_motor.toml_file import is_number, key_lines, parse, read_text, shown

KIND = "study file"
MOST_DESIGNS = 10_000
"""Designs of one study; at a second each that is three hours on one core."""

LARGEST = 1e300
"""Of a number; the distance between two of them still fits a float."""

LONGEST = 2000
"""Letters of a text."""

_CHOICES = {
    "quality": ("draft", "standard", "fine"),
    "method": ("random", "low-discrepancy", "optimise"),
    "kind": ("values", "curves"),
    "better": ("more", "less", "spread"),
    "doubts": ("own", "shared"),
}


def load_study(path: str | Path) -> Study:
    """Return the study of a file.

    Raises
    ------
    InputError
        Where the file cannot be read or is wrong; every problem is in it.

    Examples
    --------
    >>> import fem_motor as fm
    >>> fm.load_study("studies/filament_worth_it.toml").question
    'Is iron-filled filament worth it?'
    """
    path = Path(path)
    text = read_text(path, kind=KIND)
    tables = parse(text, str(path), kind=KIND)
    if "machine" in tables and "axis" not in tables:
        raise InputError(
            "is a design, not a study.",
            do="name it as base in a study file; docs/user/studies.md shows one.",
            place=str(path),
        )
    return _Reader(file=path, lines=key_lines(text)).study(tables)


@dataclass
class _Reader:
    """Collects what is wrong while it reads."""

    file: Path
    lines: Mapping[str, int]
    problems: list[Problem] = field(default_factory=list)

    def study(self, tables: Mapping[str, Any]) -> Study:
        self._keys(tables, TOP, "")
        base = self._base(tables.get("base"))
        common = self._changes(tables, "")
        axes = tuple(
            self._axis(table, f"axis {n}")
            for n, table in enumerate(self._tables(tables, "axis"), 1)
        )
        record = tuple(self._recorded_names(tables.get("record")))
        sample = self._one(tables, "sample", SAMPLE)
        found: dict[str, Any] = {
            "limits": tuple(self._limits(tables, record)),
            "figures": tuple(self._figures(tables, record, axes)),
            "verdict": self._verdict(tables, record),
        }
        self._fits(axes, sample, found["verdict"])
        if base is not None and common:
            base = self._with(base, common)
        if self.problems or base is None:
            raise InputError.from_problems(self.problems)
        return Study(
            title=tables["title"],
            question=tables["question"],
            note=tables.get("note", ""),
            base=base,
            quality=tables.get("quality", "standard"),
            axes=axes,
            record=record,
            method=sample.get("method", "all"),
            number=sample.get("number", 0),
            start=sample.get("start", 1),
            **found,
        )

    # -- complaints -----------------------------------------------------------------------

    def _wrong(self, place: str, what: str, *, why: str = "", do: str) -> None:
        line = self.lines.get(place)
        where = f"{self.file}, line {line}" if line else str(self.file)
        self.problems.append(Problem(place=f"{where}: {place}", what=what, why=why, do=do))

    def _keys(self, table: Mapping[str, Any], keys: Mapping[str, StudyKey], place: str) -> None:
        """Complain of unknown and missing keys and of values of a wrong type."""
        dot = f"{place}." if place else ""
        for name in table:
            if name not in keys:
                near = difflib.get_close_matches(name, keys, n=1)
                do = f'did you mean "{near[0]}"?' if near else f"use {', '.join(keys)}."
                self._wrong(f"{dot}{name}", "is not known.", do=do)
        for name, key in keys.items():
            if name not in table:
                if key.default == "required":
                    self._wrong(f"{dot}{name}", "is missing.", do=f"give it: {key.meaning}.")
            elif not _fits_type(table[name], key.type):
                self._wrong(
                    f"{dot}{name}", f"= {shown(table[name])} is wrong.", do=f"give {_hint(key)}."
                )

    def _tables(self, tables: Mapping[str, Any], name: str) -> list[Mapping[str, Any]]:
        found = tables.get(name, [])
        return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []

    def _one(
        self, tables: Mapping[str, Any], name: str, keys: Mapping[str, StudyKey]
    ) -> Mapping[str, Any]:
        found = tables.get(name)
        if not isinstance(found, dict):
            return {}
        self._keys(found, keys, name)
        return found

    # -- parts ----------------------------------------------------------------------------

    def _base(self, name: object) -> MotorDesign | None:
        if not isinstance(name, str) or not name.strip():
            return None
        try:
            return load_design(self.file.parent / name)
        except DesignError as error:
            self.problems += error.problems
            return None

    def _with(self, base: MotorDesign, changes: Mapping[str, Any]) -> MotorDesign:
        try:
            return base.replace(**changes)
        except DesignError as error:
            for problem in error.problems:
                self._wrong("set", f"makes a design that is wrong: {problem.what}",
                            why=problem.why, do=problem.do)  # fmt: skip
            return base

    def _changes(self, table: Mapping[str, Any], place: str) -> Mapping[str, Any]:
        """Return design keys and values of `set` and `unset`, None for a key that goes."""
        gone, new = table.get("unset", []), table.get("set", {})
        found: dict[str, Any] = {
            name: None for name in (gone if isinstance(gone, list) else []) if isinstance(name, str)
        }
        found |= dict(_flat(new)) if isinstance(new, dict) else {}
        for key in found:
            self._design_key(key, place or "set")
        return found

    def _design_key(self, key: str, place: str) -> None:
        # Whether the value fits is the design's own business, and said when the variant is made.
        section = key.partition(".")[0]
        sections = ("title", "machine", "stator", "rotor", "winding", "drive", "load", "cooling",
                    "as_built", "materials")  # fmt: skip
        if section not in sections or ("." not in key and key != "title"):
            near = difflib.get_close_matches(section, sections, n=1)
            do = (
                f'did you mean "{near[0]}"?'
                if near
                else f"its section is one of {', '.join(sections)}."
            )
            self._wrong(f"{place}.{key}", "is no key of a design.", do=do)

    def _axis(self, table: Mapping[str, Any], place: str) -> Axis:
        self._keys(table, AXIS, place)
        name = str(table.get("name") or table.get("key") or place)
        if "steps" in table:
            return Axis(name=name, steps=tuple(self._steps(table["steps"], place)))
        key = table.get("key")
        if not isinstance(key, str):
            if "values" in table or "from" in table:
                self._wrong(f"{place}.key", "is missing.", do="name the design key that is varied.")
            else:
                self._wrong(
                    place, "varies nothing.", do="give key with values or from and to, or steps."
                )
            return Axis(name=name)
        self._design_key(key, place)
        if "values" in table:
            values = table["values"] if isinstance(table["values"], list) else []
            return Axis(name=name, key=key, steps=tuple(_step(key, value) for value in values))
        return self._range(table, name, key, place)

    def _range(self, table: Mapping[str, Any], name: str, key: str, place: str) -> Axis:
        low, high = table.get("from"), table.get("to")
        if not (_is_ordinary(low) and _is_ordinary(high)) or low >= high:
            self._wrong(
                place, "has no range.", do="give from and to, the smaller first, or values."
            )
            return Axis(name=name, key=key)
        start, end = float(low), float(high)
        points = table.get("points")
        steps: tuple[Step, ...] = ()
        if points is not None and _fits_type(points, "count"):
            values = np.linspace(start, end, points)
            steps = tuple(_step(key, float(f"{value:.9g}")) for value in values)
        return Axis(name=name, key=key, steps=steps, low=start, high=end)

    def _steps(self, steps: object, place: str) -> Iterable[Step]:
        for number, step in enumerate(steps if isinstance(steps, list) else [], 1):
            here = f"{place}.steps {number}"
            if not isinstance(step, dict) or not isinstance(step.get("label"), str):
                self._wrong(here, "has no label.", do='give { label = "…", set = { … } }.')
                continue
            unknown = [name for name in step if name not in {"label", "set", "unset"}]
            if unknown:
                self._wrong(
                    here, f"has a key {unknown[0]!r}.", do="put design keys into set = { … }."
                )
            yield Step(label=step["label"], changes=self._changes(step, here))

    def _recorded_names(self, names: object) -> Iterable[str]:
        for name in names if isinstance(names, list) else []:
            if isinstance(name, str) and can_be_recorded(name):
                yield name
            elif isinstance(name, str):
                near = difflib.get_close_matches(name, (*ANSWERS, *PARTS), n=1)
                hint = f'did you mean "{near[0]}"? ' if near else ""
                self._wrong("record", f"has no figure {name!r}.",
                            why="a sheet has no such answer or part.",
                            do=f"{hint}name an answer, or a part and a figure of it: "
                            "loaded.rated.mean_torque_Nm.")  # fmt: skip

    def _limits(self, tables: Mapping[str, Any], record: Sequence[str]) -> Iterable[Limit]:
        for number, table in enumerate(self._tables(tables, "limit"), 1):
            place = f"limit {number}"
            self._keys(table, LIMIT, place)
            self._is_recorded(table.get("of"), record, place)
            bounds = {name: table.get(name) for name in ("at_least", "at_most")}
            if not any(_is_ordinary(bound) for bound in bounds.values()):
                self._wrong(place, "bounds nothing.", do="give at_least, at_most or both.")
            elif all(bound is None or _is_ordinary(bound) for bound in bounds.values()):
                yield Limit(of=str(table.get("of")), **bounds)

    def _figures(
        self, tables: Mapping[str, Any], record: Sequence[str], axes: Sequence[Axis]
    ) -> Iterable[FigurePlan]:
        for number, table in enumerate(self._tables(tables, "figure"), 1):
            place, of = f"figure {number}", table.get("of")
            self._keys(table, FIGURE, place)
            if table.get("kind") == "curves" and of not in CURVES:
                self._wrong(
                    f"{place}.of",
                    f"= {shown(of)} is no curve.",
                    do=f"use one of {_listed(CURVES)}.",
                )
            if table.get("kind") == "values":
                self._is_recorded(of, record, place)
            along = table.get("along", "")
            if along and along not in {axis.name for axis in axes}:
                names = _listed(axis.name for axis in axes)
                self._wrong(
                    f"{place}.along", f"= {shown(along)} is no axis.", do=f"use one of {names}."
                )
            if table.get("kind") in _CHOICES["kind"]:
                yield FigurePlan(kind=table["kind"], of=str(of), along=str(along))

    def _verdict(self, tables: Mapping[str, Any], record: Sequence[str]) -> VerdictPlan | None:
        table = self._one(tables, "verdict", VERDICT)
        if not table:
            return None
        self._is_recorded(table.get("of"), record, "verdict")
        return VerdictPlan(
            of=str(table.get("of")),
            better=table.get("better", "more"),
            against=str(table.get("against", "")),
            least_gain=table.get("least_gain", 0.1),
            doubts=table.get("doubts", "own"),
        )

    def _is_recorded(self, name: object, record: Sequence[str], place: str) -> None:
        if isinstance(name, str) and name not in record:
            self._wrong(f"{place}.of", f"= {shown(name)} is not recorded.", do="add it to record.")

    def _fits(
        self, axes: Sequence[Axis], sample: Mapping[str, Any], verdict: VerdictPlan | None
    ) -> None:
        """Complain of what does not go together, and of too many designs."""
        names = [axis.name for axis in axes]
        if len(set(names)) < len(names):
            self._wrong("axis", "has two of one name.", do="give each a name of its own.")
        method, number = sample.get("method"), sample.get("number", 0)
        if method == "optimise" and (verdict is None or verdict.better == "spread"):
            self._wrong(
                "sample.method",
                '= "optimise" has no goal.',
                do="add [verdict] that wants more or less of a figure.",
            )
        if method is None and any(not axis.steps for axis in axes):
            if not self.problems:
                self._wrong("axis", "has a range without points.",
                            do="give points, or [sample] with a method and a number.")  # fmt: skip
            return
        count = number if method else math.prod(len(axis.steps) for axis in axes)
        if _is_ordinary(count) and count > MOST_DESIGNS:
            self._wrong("axis" if method is None else "sample.number", f"makes {count} designs.",
                        why=f"{MOST_DESIGNS} are the most for one study.",
                        do="use fewer steps, or [sample] with a number.")  # fmt: skip


def _step(key: str, value: object) -> Step:
    return Step(label=f"{value:g}" if _is_ordinary(value) else str(value), changes={key: value})


def _flat(table: Mapping[str, Any], before: str = "") -> Iterable[tuple[str, Any]]:
    for name, value in table.items():
        place = f"{before}{name}"
        if isinstance(value, dict):
            yield from _flat(value, f"{place}.")
        else:
            yield place, value


def _is_ordinary(value: object) -> TypeGuard[float]:
    return is_number(value) and abs(value) < LARGEST


def _is_text(value: object) -> bool:
    return isinstance(value, str) and 0 < len(value.strip()) <= LONGEST and value.isprintable()


def _is_count(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= MOST_DESIGNS


def _is_list_of(value: object, kind: type | UnionType) -> bool:
    return isinstance(value, list) and all(isinstance(one, kind) for one in value)


_TYPES: Mapping[str, Callable[[Any], bool]] = {
    "text": _is_text,
    "recorded": lambda value: isinstance(value, str),
    "number": _is_ordinary,
    "count": _is_count,
    "texts": lambda value: bool(value) and _is_list_of(value, str),
    "values": lambda value: bool(value) and _is_list_of(value, int | float | str | bool),
    "steps": lambda value: bool(value) and _is_list_of(value, object),
    "changes": lambda value: isinstance(value, dict),
    "sample": lambda value: isinstance(value, dict),
    "verdict": lambda value: isinstance(value, dict),
    "axes": lambda value: bool(value) and _is_list_of(value, dict),
    "limits": lambda value: _is_list_of(value, dict),
    "figures": lambda value: _is_list_of(value, dict),
}


def _fits_type(value: object, kind: str) -> bool:
    if kind in _CHOICES:
        return value in _CHOICES[kind]
    return _TYPES[kind](value)


def _hint(key: StudyKey) -> str:
    words = {"number": "a number", "texts": "a list of texts", "values": "a list of values",
             "count": f"a whole number, 1 to {MOST_DESIGNS}", "text": "a text on one line",
             "axes": "tables, each under [[axis]]"}  # fmt: skip
    return f"{words[key.type]}: {key.meaning}" if key.type in words else key.meaning


def _listed(names: Iterable[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)
