"""List the materials of the library: kind, main values, and where the values come from."""

import argparse
import dataclasses
import difflib
import textwrap
from collections.abc import Iterable, Mapping
from typing import Any

from fem_motor.cli import options as shared
from fem_motor.cli.terminal import answer, print_json
from fem_motor.errors import MaterialError

HELP = "what is in the library, with sources"
_WIDTH = 98
_SHORT_LIST = 4
_KILO, _MEGA = 1e3, 1e6
# Fields of the records, in SI, and the keys of the design file with their units.
_KEYS = {
    "remanence": ("remanence_T", 1.0),
    "intrinsic_coercivity": ("intrinsic_coercivity_kA_per_m", _KILO),
    "density": ("density_kg_per_m3", 1.0),
    "resistivity": ("resistivity_ohm_m", 1.0),
    "thermal_conductivity": ("thermal_conductivity_W_per_mK", 1.0),
    "heat_capacity": ("heat_capacity_J_per_kgK", 1.0),
    "strength": ("strength_MPa", _MEGA),
    "strength_across_layers": ("strength_across_layers_MPa", _MEGA),
}
_NOT_VALUES = ("name", "kind", "curve", "source")


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add this verb's options."""
    parser.add_argument("name", metavar="NAME", nargs="?", help="show this material alone")
    shared.add_json(parser)
    shared.add_quiet(parser)


def main(options: argparse.Namespace) -> int:
    """Run the verb and return the exit status."""
    from fem_motor.materials import load_library

    library: Mapping[str, Any] = load_library()
    if options.name is not None and options.name not in library:
        raise _unknown(options.name, library)
    names = library if options.name is None else [options.name]
    rows = [_row(library[name]) for name in names]
    if options.json:
        print_json(rows)
    else:
        answer("\n".join(_lines(rows)))
    return 0


def _unknown(name: str, library: Iterable[str]) -> MaterialError:
    near = difflib.get_close_matches(name, library, n=3)
    hint = f"did you mean {' or '.join(near)}? " if near else ""
    return MaterialError(
        f"{name} is not in the library.",
        do=f"{hint}fem-motor materials lists all that are there.",
    )


def _row(material: Any) -> dict[str, Any]:  # noqa: ANN401  (a material of any kind)
    """Return a material as plain data: name, kind, the values that are known, source."""
    values = {}
    for field in dataclasses.fields(material):
        value = getattr(material, field.name)
        if value is None or field.name in _NOT_VALUES:
            continue
        key, unit = _KEYS.get(field.name, (field.name, 1.0))
        values[key] = value / unit if isinstance(value, float) else value
    if "hysteresis_loss" not in values:
        values.pop("hysteresis_exponent", None)  # says nothing without the loss
    return {
        "name": material.name,
        "kind": material.kind,
        **(_law(material) if material.kind == "core" else {}),
        **values,
        "source": material.source,
    }


def _law(core: Any) -> dict[str, Any]:  # noqa: ANN401  (typed where the library is)
    """Return the B-H law as the design file would state it."""
    curve = core.curve
    if curve.is_linear or core.iron_volume_fraction is not None:
        return {"relative_permeability": curve.initial_permeability}
    table = zip(curve.field_strength(curve.points).tolist(), curve.points.tolist(), strict=True)
    return {"bh_table": [list(point) for point in table]}


def _lines(rows: Iterable[Mapping[str, Any]]) -> Iterable[str]:
    """Return the materials as lines: name and kind, values, source."""
    for row in rows:
        yield f"{row['name']}  ({row['kind']})"
        values = [f"{key} {_word(row[key])}" for key in row if key not in _NOT_VALUES]
        yield from _indented(", ".join(values), "  ")
        yield from _indented(f"source: {row['source']}", "    ")


def _indented(text: str, rest: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent="  ", subsequent_indent=rest)


def _word(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, list) and len(value) > _SHORT_LIST:
        return f"of {len(value)} points up to {value[-1][1]:.3g} T"
    if isinstance(value, tuple):
        return " to ".join(map(_word, value))
    return str(value)
