"""The library that comes with the program: TOML files, every entry with its source."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from fem_motor.errors import MaterialError
from fem_motor.materials.parsing import parse_material
from fem_motor.materials.records import Material

FILES = ("cores.toml", "magnets.toml", "conductors.toml", "structures.toml")


@cache
def library_tables() -> Mapping[str, Mapping[str, Any]]:
    """Return the tables of all library materials, by name.

    Raises
    ------
    MaterialError
        Where an entry names no source.
    """
    tables: dict[str, Mapping[str, Any]] = {}
    folder = files("fem_motor.materials") / "library"
    for name in FILES:
        tables |= tomllib.loads((folder / name).read_text(encoding="utf-8"))
    for name, table in tables.items():
        if not table.get("source"):
            raise MaterialError(
                "names no source.",
                why="every value of the library must have a parent.",
                do="say where the values come from.",
                place=f"materials.{name}",
            )
    return MappingProxyType(tables)


@cache
def load_library() -> Mapping[str, Material]:
    """Return all library materials, by name.

    >>> load_library()["ndfeb-n42h"].remanence
    1.3
    """
    tables = library_tables()
    return MappingProxyType(
        {name: parse_material(name, table, tables) for name, table in tables.items()}
    )


def material_from_table(name: str, table: Mapping[str, Any]) -> Material:
    """Return a material of the user's, by the keys of `fem_motor.materials.keys`.

    Parameters
    ----------
    name : str
    table : mapping
        As read from TOML; `like` takes over from the library what is not said.

    Raises
    ------
    MaterialError
        With every problem; places begin with ``materials.NAME``.
    """
    return parse_material(name, table, library_tables())
