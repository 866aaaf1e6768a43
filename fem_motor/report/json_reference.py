"""The page of all fields of result.json, made from the docstrings of the records."""

import dataclasses
import inspect
import re
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple, get_args, get_origin, get_type_hints

from fem_motor.numbers import split_name
from fem_motor.performance import PerformanceSheet
from fem_motor.quantities import RotorSweep

NOT_IN_THE_JSON = frozenset(("field_map", "magnets_map"))
_ENTRY = re.compile(r"^(?P<names>\w+(, \w+)*)( : (?P<shape>.*))?$")
_ITS_UNITS = {"A_per_mm2": "A/mm²", "mm2": "mm²", "Wh": "W h"}
_HEAD = """# Every field of result.json

Made from the code by `fem_motor.report.json_reference.json_field_reference()`; edit the
docstrings of the records.

What `fem-motor run FILE --json` and `fem-motor sweep FILE … --json` print, what stands in
`result.json` of their folders, and, by the same names, what `fm.run` and `fm.rotor_sweep` return.
A name with a unit means that unit; shares and factors have none. A number that was not computed
is `null` (None in Python), and a finding says why: `checks` of a run, `findings` of a sweep. A
tuple is a list, a mapping an object. `[…]` is each of a list. (n,) is a list of n numbers, (3, n)
are three of them. The names of the answers, with their units, stand in
[studies.md](studies.md#every-key), under "record".

Four fields stand beside these: `format` names the kind of document (`fem_motor.performance`,
`fem_motor.sweep`), `version` the program, `quality` the mesh, and `provenance` says of each part
whether it is computed, measured or assumed. `design` is the design file with its defaults, key by
key as in [design_file.md](design_file.md).
"""


class _Field(NamedTuple):
    """A field: its name, type or shape as the docstring has it, and what is said of it."""

    name: str
    shape: str
    meaning: str


def json_field_reference() -> str:
    """Return the page of all fields, Markdown."""
    parts = [_HEAD]
    for verb, root in (("run", PerformanceSheet), ("sweep", RotorSweep)):
        for record, where in places_of_records(root).items():
            named = ", ".join(f"`{place}`" for place in where if place)
            title = f"`{verb}`" + (f": {named}" if named else ", at the top")
            parts.append("\n".join(_section(title, record)))
    return "\n".join(parts)


def places_of_records(root: type) -> Mapping[type, tuple[str, ...]]:
    """Return the record types of a result, each with its places in the JSON; empty: at the top."""
    places: dict[type, tuple[str, ...]] = {}
    for record, place in _records(root, ""):
        places[record] = (*places.get(record, ()), place)
    return places


def _section(title: str, record: type) -> list[str]:
    text = (inspect.getdoc(record) or "").split("\nAttributes\n")[0].split("\nExamples\n")[0]
    rows = [
        f"| `{one.name}` | {one.shape} | {_unit(one.name)} | {one.meaning} |".replace("``", "`")
        for one in documented_fields(record)
        if one.name not in NOT_IN_THE_JSON
    ]
    table = ["| field | what it is | unit | meaning |", "|---|---|---|---|", *rows]
    return [f"## {title}", "", text.strip(), "", *table, ""]


def documented_fields(record: type) -> list[_Field]:
    """Return the fields of a record in their order, with what its docstring says of them.

    Raises
    ------
    KeyError
        Where the docstring does not name one.
    """
    _, _, listed = (inspect.getdoc(record) or "").partition("\nAttributes\n")
    said: dict[str, _Field] = {}
    names: list[str] = []
    for line in listed.partition("\nExamples\n")[0].splitlines():
        entry = _ENTRY.match(line)
        if entry:
            names = entry["names"].split(", ")
            said |= {name: _Field(name, entry["shape"] or "", "") for name in names}
        elif line.startswith("    "):
            for name in names:
                meaning = f"{said[name].meaning} {line.strip()}".strip()
                said[name] = said[name]._replace(meaning=meaning)
    return [said[field.name] for field in dataclasses.fields(record)]


def _unit(name: str) -> str:
    own = next((unit for end, unit in _ITS_UNITS.items() if name.endswith(f"_{end}")), "")
    return own or ("s" if name.startswith("seconds") else split_name(name)[1])


def _records(record: type, place: str) -> Iterator[tuple[type, str]]:
    """Yield a record and those below it, each with its place in the JSON."""
    yield record, place
    for name, hint in get_type_hints(record).items():
        mark = ".NAME" if name == "answers" else ""
        if name not in NOT_IN_THE_JSON:
            inside = f"{place}.{name}{mark}" if place else f"{name}{mark}"
            for below, at in _in_hint(hint, inside):
                yield from _records(below, at)


def _in_hint(hint: Any, place: str) -> Iterator[tuple[type, str]]:  # noqa: ANN401  (a type)
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        yield hint, place
        return
    mark = "[…]" if get_origin(hint) is tuple else ""
    for inner in get_args(hint):
        yield from _in_hint(inner, place + mark)
