"""The design as typed: checked, replaced, written back."""

import copy
import numbers
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, ClassVar, Self

from fem_motor.design.building import build_motor
from fem_motor.design.geometry import build_problems
from fem_motor.design.keys import KEYS, SECTIONS
from fem_motor.design.motor import Motor
from fem_motor.design.rules import lookup, rule_problems, table_problems
from fem_motor.errors import DesignError, MaterialError, Problem
from fem_motor.materials import Material, load_library, material_from_table
from fem_motor.toml_file import key_lines, parse, read_text

_USES = (
    ("stator.core", "core"),
    ("rotor.magnet", "magnet"),
    ("rotor.ring_material", "core"),
    ("rotor.housing_material", "structure"),
)
"""Keys that name a material, and the kind it must be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MotorDesign:
    """A complete, checked design; what it describes can be built.

    Two designs are equal where their values are; there is no hash, since lists of numbers may be
    equal and yet be written differently.

    Attributes
    ----------
    name : str
        Of the file, for messages; not compared.
    values : mapping
        Section by section, defaults filled in; ``materials`` as given. Read-only, also inside:
        mappings that cannot be assigned to, tuples for lists.
    motor : Motor
        The same in SI.

    Examples
    --------
    >>> from fem_motor.design import starter_design
    >>> design = MotorDesign.from_toml(starter_design())
    >>> design.replace("rotor.magnet_thickness_mm", 4.0).motor.rotor.magnet_thickness
    0.004
    """

    name: str = field(compare=False)
    values: Mapping[str, Any]
    motor: Motor = field(compare=False, repr=False)
    __hash__: ClassVar[None] = None  # type: ignore[assignment]  # object has one

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", _read_only(self.values))

    def __reduce__(self) -> tuple[object, ...]:
        # Read-only mappings do not go through pickle, nor through copy.
        return _restored, (type(self), self.name, self.to_dict(), self.motor)

    @property
    def title(self) -> str:
        """Name of the motor, for reports."""
        return self.motor.title

    @property
    def field_values(self) -> dict[str, Any]:
        """What the fields without current depend on, for a metre of length and a turn of a coil.

        Designs of equal ones differ in stack length, turns, wire, connection, supply, load and
        cooling alone.
        """
        tables = self.to_dict()
        winding = tables["winding"]
        laid = {key: winding[key] for key in ("layers", "coils", "parallel_circuits")}
        machine = {**tables["machine"], "stack_length_mm": None}
        rest = {part: tables[part] for part in ("stator", "rotor", "materials", "as_built")}
        return {"machine": machine, "winding": laid, **rest}

    @classmethod
    def from_toml(cls, text: str, *, name: str = "design") -> Self:
        """Return the design that a TOML text describes.

        Raises
        ------
        DesignError
            With every problem: name, line, key, value, reason, what to do.
        """
        return cls._checked(parse(text, name), name=name, lines=key_lines(text))

    @classmethod
    def from_dict(cls, tables: Mapping[str, Any], *, name: str = "design") -> Self:
        """Return the design of tables as `to_dict` gives them; None stands for absence.

        Raises
        ------
        DesignError
        """
        return cls._checked(tables, name=name, lines={})

    def to_dict(self) -> dict[str, Any]:
        """Return all values with defaults filled in, ready for JSON; absent ones are None."""
        tables: dict[str, Any] = _plain(self.values)
        return tables

    def to_toml(self) -> str:
        """Return the design as a TOML text; read again it gives an equal design."""
        import tomlkit  # noqa: PLC0415  (only for writing)

        return tomlkit.dumps(_without_none(self.to_dict()))

    def replace(self, path: str | None = None, value: object = None, **changes: object) -> Self:
        """Return a checked design with other values.

        With another magnet layout goes its own default of ``rotor.segments_per_pole``, where the
        design has that of the former layout.

        Parameters
        ----------
        path : str
            ``section.key``.
        value : object
            Numbers of any library are taken. None removes the key, so that its default holds.
        **changes
            More of them, with ``__`` for the point: ``rotor__magnet_thickness_mm=4.0``.

        Raises
        ------
        DesignError
            Where the result is wrong or cannot be built.
        """
        tables = self.to_dict()
        every = {key.replace("__", "."): new for key, new in changes.items()}
        if path is not None:
            every[path] = value
        if "rotor.magnet_layout" in every:
            rotor = tables["rotor"]
            if rotor["segments_per_pole"] == _usual_segments(rotor["magnet_layout"]):
                rotor["segments_per_pole"] = None
        for key, new in every.items():
            *sections, last = key.split(".")
            table: Any = tables
            for section in sections:
                if not isinstance(table.get(section), dict):
                    # A value cannot hold keys: what stands there gives way, and the check says so.
                    table[section] = {}
                table = table[section]
            table[last] = _plain(new)
        return self._checked(tables, name=self.name, lines={})

    @classmethod
    def _checked(cls, tables: Mapping[str, Any], *, name: str, lines: Mapping[str, int]) -> Self:
        def fail_on(problems: list[Problem]) -> None:
            if problems:
                raise DesignError.from_problems([_placed(p, name, lines) for p in problems])

        tables = _plain(tables)
        given = _without_none(tables)
        materials, material_problems = _materials(given.get("materials", {}))
        # With the absent ones: also a name without a value may be misspelt.
        fail_on([*table_problems(tables), *material_problems])
        values = _complete(given)
        fail_on([*rule_problems(values), *_use_problems(values, materials)])
        motor = build_motor(values, materials)
        fail_on(build_problems(motor))
        return cls(name=name, values=values, motor=motor)


def _restored(
    kind: type[MotorDesign], name: str, values: Mapping[str, Any], motor: Motor
) -> MotorDesign:
    """Return a design from its parts, checked before."""
    return kind(name=name, values=values, motor=motor)


def load_design(path: str | Path) -> MotorDesign:
    """Return the design in a file.

    Parameters
    ----------
    path : str or Path
        A TOML file.

    Raises
    ------
    DesignError
        Where it cannot be read, is wrong, or describes what cannot be built; all problems at
        once.

    Examples
    --------
    >>> import fem_motor as fm
    >>> fm.load_design("geometries/printed_18s16p.toml").motor.stator.slots
    18
    """
    return MotorDesign.from_toml(read_text(path), name=str(path))


def _placed(problem: Problem, name: str, lines: Mapping[str, int]) -> Problem:
    """Return the problem with file and line in front of its key."""
    first = problem.place.split(", ")[0]
    line = lines.get(first)
    if line is None and first.count(".") > 1:
        line = lines.get(first.rpartition(".")[0])
    where = f"{name}, line {line}" if line is not None else name
    return Problem(
        place=f"{where}: {problem.place}", what=problem.what, why=problem.why, do=problem.do
    )


def _plain(value: Any) -> Any:  # noqa: ANN401  (whatever a caller puts in)
    """Return a copy made of dicts, lists, Python's own numbers and what else there is."""
    if isinstance(value, Mapping):
        return {key: _plain(inside) for key, inside in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inside) for inside in value]
    if isinstance(value, bool):
        return value
    if isinstance(value, numbers.Integral):
        return int(value)
    return float(value) if isinstance(value, numbers.Real) else copy.deepcopy(value)


def _read_only(value: Any) -> Any:  # noqa: ANN401  (as above)
    """Return the same that nobody can write to: mapping proxies and tuples."""
    if isinstance(value, Mapping):
        return MappingProxyType({key: _read_only(inside) for key, inside in value.items()})
    return tuple(map(_read_only, value)) if isinstance(value, list | tuple) else value


def _usual_segments(magnet_layout: object) -> int:
    """Return the default of ``rotor.segments_per_pole``."""
    return 2 if magnet_layout == "halbach" else 1


def _without_none(tables: Mapping[str, Any]) -> dict[str, Any]:
    return {
        key: _without_none(value) if isinstance(value, Mapping) else value
        for key, value in tables.items()
        if value is not None
    }


def _complete(tables: Mapping[str, Any]) -> dict[str, Any]:
    """Return all values, defaults filled in and numbers of the declared type."""
    values: dict[str, Any] = {"title": tables["title"]}
    for section in SECTIONS:
        values[section] = {}
    for key in KEYS:
        given = lookup(tables, key.path)
        value = key.default if given is None else given
        if key.path == "rotor.segments_per_pole" and value is None:
            value = _usual_segments(lookup(tables, "rotor.magnet_layout"))
        if value is not None and key.type in ("integer", "number"):
            value = int(value) if key.type == "integer" else float(value)
        if key.section:
            values[key.section][key.name] = value
    values["materials"] = tables.get("materials", {})
    return values


def _materials(tables: object) -> tuple[dict[str, Material], list[Problem]]:
    materials: dict[str, Material] = dict(load_library())
    problems: list[Problem] = []
    if not isinstance(tables, Mapping):
        return materials, []
    for name, table in tables.items():
        if not isinstance(table, dict):
            problems.append(
                Problem(
                    place=f"materials.{name}",
                    what="is not a section.",
                    why="a material has keys of its own.",
                    do=f"write [materials.{name}] and its keys below.",
                )
            )
            continue
        try:
            materials[name] = material_from_table(name, table)
        except MaterialError as error:
            problems += error.problems
    return materials, problems


def _near_names(name: str, names: list[str]) -> list[str]:
    """Return the name that may be meant: alike but for capitals, else one that has it in it."""
    import difflib  # noqa: PLC0415  (only for messages)

    plain = name.casefold()
    alike = difflib.get_close_matches(plain, names, n=1)
    return alike or [one for one in names if plain and plain in one][:1]


def _use_problems(values: Mapping[str, Any], materials: Mapping[str, Material]) -> list[Problem]:
    """Return where a part names a material that is unknown or of the wrong kind."""
    problems = []
    for path, kind in _USES:
        name = lookup(values, path)
        if name == "none" and path == "rotor.ring_material":
            continue
        fitting = [other for other, material in materials.items() if material.kind == kind]
        if name in fitting:
            continue
        near = _near_names(name, fitting)
        known = name in materials
        problems.append(
            Problem(
                place=path,
                what=f'= "{name}" is ' + (f"no {kind}." if known else "not known."),
                why=f"the part needs a material of kind {kind}.",
                do=(f'did you mean "{near[0]}"? ' if near else "")
                + "fem-motor materials lists the library; own ones stand in [materials.NAME].",
            )
        )
    return problems
