"""List the materials of the library: kind, main values, and where the values come from."""

import argparse
import dataclasses
import textwrap
from collections.abc import Iterable, Mapping
from typing import Any

from fem_motor.cli import options as shared
from fem_motor.cli.terminal import print_json

HELP = "what is in the library, with sources"
_WIDTH = 98
_SHORT_LIST = 4
_NOT_VALUES = ("name", "kind", "source")


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add this verb's options."""
    parser.add_argument("name", metavar="NAME", nargs="?", help="show this material alone, in full")
    shared.add_json(parser)


def main(options: argparse.Namespace) -> int:
    """Run the verb and return the exit status."""
    from fem_motor.materials import load_library

    library = load_library()
    rows = [_row(name, record) for name, record in library.items()]
    if options.json:
        print_json(rows)
    else:
        print("\n".join(_text(rows)))
    return 0


def _row(name: str, record: Any) -> dict[str, Any]:  # noqa: ANN401  (a material of any kind)
    """Return a material as plain data: name, kind, values that are given, source."""
    values = {
        field.name: _plain(getattr(record, field.name))
        for field in dataclasses.fields(record)
        if field.name not in _NOT_VALUES and getattr(record, field.name) is not None
    }
    return {"name": name, "kind": record.kind, **values, "source": record.source}


def _plain(value: Any) -> Any:  # noqa: ANN401  (JSON data)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)
        }
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if hasattr(value, "tolist"):
        return value.tolist()
    if isinstance(value, Iterable) and not isinstance(value, str):
        return [_plain(item) for item in value]
    return value


def _text(rows: Iterable[Mapping[str, Any]]) -> Iterable[str]:
    """Return the materials as lines: name and kind, values, source."""
    for row in rows:
        yield f"{row['name']}  ({row['kind']})"
        values = [f"{key} = {_word(row[key])}" for key in row if key not in _NOT_VALUES]
        yield from textwrap.wrap(
            "; ".join(values), _WIDTH, initial_indent="  ", subsequent_indent="  "
        )
        yield from textwrap.wrap(
            f"source: {row['source']}", _WIDTH, initial_indent="  ", subsequent_indent="    "
        )


def _word(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, list) and len(value) > _SHORT_LIST:
        return f"{len(value)} points"
    return str(value)
