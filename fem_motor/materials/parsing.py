"""From a table of keys to a material, with all that is wrong said at once."""

import difflib
import math
import sys
from collections.abc import Mapping, Sequence
from typing import Any, TypeGuard

import numpy as np

from fem_motor.errors import MaterialError, Problem
from fem_motor.materials.curves import BHCurve
from fem_motor.materials.keys import KEYS, KINDS, Kind, MaterialKey
from fem_motor.materials.records import Conductor, Core, Magnet, Material, Structure
from fem_motor.toml_file import is_number, shown

MEGA, KILO = 1e6, 1e3

LAWS = ("relative_permeability", "bh_table", "iron_volume_fraction")
"""Keys of which a core has one."""

_BY_NAME = {key.name: key for key in KEYS}


def parse_material(
    name: str, table: Mapping[str, Any], library: Mapping[str, Mapping[str, Any]]
) -> Material:
    """Return the material that `table` describes.

    Parameters
    ----------
    name : str
    table : mapping
        As read from TOML.
    library : mapping of name to table
        For `like`.

    Raises
    ------
    MaterialError
        With every problem; places begin with ``materials.NAME``.
    """
    place = f"materials.{name}"
    parent, problems = _parent(table, library, place)
    kind = table.get("kind", parent.get("kind"))
    if kind not in KINDS:
        if kind is not None or not problems:  # an unknown parent explains a missing kind
            problems.append(_wrong_kind(kind, place))
        raise MaterialError.from_problems(problems)
    for key, value in table.items():
        problems += _key_problems(key, value, kind, place)
    laws = [law for law in LAWS if law in table]
    if len(laws) > 1 and ("like" in table or "bh_table" in laws):
        problems.append(_two_laws(laws, place))
    if problems:
        raise MaterialError.from_problems(problems)
    return _build(name, kind, _merged(table, parent), place)


def _merged(table: Mapping[str, Any], parent: Mapping[str, Any]) -> dict[str, Any]:
    merged = dict(parent)
    if any(law in table for law in LAWS):  # replaces that of the parent, with its range
        for law in (*LAWS, "relative_permeability_range"):
            merged.pop(law, None)
    if parent and table.keys() - {"like", "kind", "summary"}:
        merged["source"] = f"stated in the file; else as {table['like']}: {parent['source']}"
    merged.update(table)
    return merged


def _parent(
    table: Mapping[str, Any], library: Mapping[str, Mapping[str, Any]], place: str
) -> tuple[Mapping[str, Any], list[Problem]]:
    like = table.get("like")
    if like is None:
        return {}, []
    if isinstance(like, str) and like in library:
        return library[like], []
    near = difflib.get_close_matches(str(like), library, n=1)
    hint = f'did you mean "{near[0]}"? ' if near else ""
    problem = Problem(
        place=f"{place}.like",
        what=f'= "{like}" is not in the library.',
        why="like takes over what is not said from a library material.",
        do=hint + "fem-motor materials lists all names.",
    )
    return {}, [problem]


def _wrong_kind(kind: object, place: str) -> Problem:
    return Problem(
        place=f"{place}.kind",
        what="is missing." if kind is None else f"= {kind!r} is not a kind of material.",
        why="the kind says which keys a material has.",
        do=f"set it to one of {', '.join(KINDS)}, or use like.",
    )


def _two_laws(laws: list[str], place: str) -> Problem:
    return Problem(
        place=f"{place}.{laws[1]}",
        what=f"cannot stand beside {laws[0]}.",
        why="a core has one law.",
        do=f"leave out one of {', '.join(laws)}.",
    )


def _key_problems(key: str, value: object, kind: Kind, place: str) -> list[Problem]:
    at = f"{place}.{key}"
    spec = _BY_NAME.get(key)
    if spec is None or kind not in spec.kinds:
        allowed = [other.name for other in KEYS if kind in other.kinds]
        near = difflib.get_close_matches(key, allowed, n=1, cutoff=0.5)
        return [
            Problem(
                place=at,
                what="is not known." if spec is None else f"does not belong to a {kind}.",
                why=f"a {kind} has the keys {', '.join(allowed)}.",
                do=f'did you mean "{near[0]}"?' if near else "leave it out.",
            )
        ]
    check = {"text": _text, "number": _number, "range": _range, "table": _table}[spec.type]
    return [
        Problem(place=at, what=what, why=f"{spec.meaning}.", do=do)
        for what, do in check(value, spec)
    ]


Complaint = tuple[str, str]


def _text(value: object, _: MaterialKey) -> list[Complaint]:
    if isinstance(value, str) and value.strip():
        return []
    return [(f"= {shown(value)} is not a text.", "put it in quotation marks.")]


def _fits_float(value: object) -> TypeGuard[float]:
    """Return whether a value can be a float: a whole number in TOML may be too long for one."""
    return isinstance(value, float) or (is_number(value) and abs(value) <= sys.float_info.max)


def _number(value: object, spec: MaterialKey) -> list[Complaint]:
    if not is_number(value):
        return [(f"= {shown(value)} is not a number.", f"give a number from {_span(spec)}.")]
    if not spec.low <= value <= spec.high:
        return [(f"= {shown(value)} is out of range.", f"give a number from {_span(spec)}.")]
    return []


def _span(spec: MaterialKey) -> str:
    return f"{spec.low:g} to {spec.high:g}"


def _range(value: object, spec: MaterialKey) -> list[Complaint]:
    if (
        not isinstance(value, list)
        or len(value) != 2  # noqa: PLR2004  (low and high)
        or any(_number(entry, spec) for entry in value)
        or value[0] > value[1]
    ):
        return [(f"= {shown(value)} is not a range.", f"give [low, high] from {_span(spec)}.")]
    return []


def _table(value: object, _: MaterialKey) -> list[Complaint]:
    rows = isinstance(value, list) and all(
        isinstance(row, list)
        and len(row) == 2  # noqa: PLR2004  (H and B)
        and all(_fits_float(x) for x in row)
        for row in value
    )
    if rows and value:
        return []
    return [("is not a B-H table.", "give rows like [[0, 0], [100, 0.8], [1000, 1.4]].")]


def _build(name: str, kind: Kind, values: Mapping[str, Any], place: str) -> Material:
    common: dict[str, Any] = {"name": name, "source": values.get("source", "stated in the file")}
    for key, field, factor in (
        ("density_kg_per_m3", "density", 1.0),
        ("resistivity_ohm_m", "resistivity", 1.0),
        ("thermal_conductivity_W_per_mK", "thermal_conductivity", 1.0),
        ("heat_capacity_J_per_kgK", "heat_capacity", 1.0),
        ("deflection_temperature_C", "deflection_temperature_C", 1.0),
        ("maximum_temperature_C", "maximum_temperature_C", 1.0),
        ("strength_MPa", "strength", MEGA),
        ("strength_across_layers_MPa", "strength_across_layers", MEGA),
    ):
        if key in values:
            common[field] = values[key] * factor
    if kind == "core":
        return _core(values, common, place)
    if kind == "magnet":
        return _magnet(values, common, place)
    if kind == "conductor":
        _require(values, ("resistivity_ohm_m",), place)
        coefficient = values.get("temperature_coefficient_per_K", 0.0)
        return Conductor(**common, temperature_coefficient=coefficient)
    return Structure(**common)


def _require(values: Mapping[str, Any], keys: tuple[str, ...], place: str) -> None:
    missing = [
        Problem(
            place=f"{place}.{key}",
            what="is missing.",
            why=f"{_BY_NAME[key].meaning}.",
            do=f"give a number from {_span(_BY_NAME[key])}, or use like.",
        )
        for key in keys
        if key not in values
    ]
    if missing:
        raise MaterialError.from_problems(missing)


def _core(values: Mapping[str, Any], common: dict[str, Any], place: str) -> Core:
    if not any(law in values for law in LAWS):
        raise MaterialError(
            "has no law.",
            why=f"a core needs one of {', '.join(LAWS)}.",
            do="give one of them, or use like.",
            place=place,
        )
    fraction = values.get("iron_volume_fraction")
    span = values.get("relative_permeability_range")
    if span is not None and "bh_table" not in values:
        _refuse_outside(span, values, place)
    if "bh_table" in values:
        H, B = np.array(values["bh_table"], dtype=np.float64).T
        try:
            curve = BHCurve.from_table(H, B)
        except MaterialError as error:
            raise MaterialError.from_problems(
                [
                    Problem(place=f"{place}.bh_table", what=p.what, why=p.why, do=p.do)
                    for p in error.problems
                ]
            ) from None
    elif fraction is not None:
        span = span or list(mixture_bounds(fraction))
        curve = BHCurve.mixture(fraction, _permeability(values))
    else:
        curve = BHCurve.linear(values["relative_permeability"])
    return Core(
        **common,
        curve=curve,
        relative_permeability_range=None if span is None else (span[0], span[1]),
        iron_volume_fraction=fraction,
        hysteresis_loss=values.get("hysteresis_loss"),
        hysteresis_exponent=values.get("hysteresis_exponent", 2.0),
        eddy_loss=values.get("eddy_loss"),
        excess_loss=values.get("excess_loss"),
    )


def _permeability(values: Mapping[str, Any]) -> float:
    """Return the relative permeability, that of the mixture where none is given."""
    if "relative_permeability" in values:
        return float(values["relative_permeability"])
    return math.sqrt(math.prod(mixture_bounds(values["iron_volume_fraction"])))


def _refuse_outside(span: Sequence[float], values: Mapping[str, Any], place: str) -> None:
    """Raise where the range does not hold the permeability."""
    value = _permeability(values)
    if span[0] <= value <= span[1]:
        return
    raise MaterialError(
        f"= {shown(list(span))} does not hold the permeability.",
        why=f"relative_permeability is {value:.6g}"
        + ("." if "relative_permeability" in values else ", from iron_volume_fraction."),
        do="give a range around it, or mend the permeability.",
        place=f"{place}.relative_permeability_range",
    )


def mixture_bounds(iron_volume_fraction: float) -> tuple[float, float]:
    """Return the relative permeability of round particles: lower and upper estimate.

    Maxwell Garnett, equal to the lower bound of Z. Hashin and S. Shtrikman, J. Appl. Phys. 33
    (1962) 3125, and Bruggeman and Hanai (1960), both for particles of very high permeability;
    from memory. Flakes, chains and touching particles lie above the upper one.

    >>> [round(value, 3) for value in mixture_bounds(0.1)]
    [1.333, 1.372]
    """
    phi = iron_volume_fraction
    return (1 + 2 * phi) / (1 - phi), (1 - phi) ** -3


def _magnet(values: Mapping[str, Any], common: dict[str, Any], place: str) -> Magnet:
    _require(values, ("remanence_T", "recoil_permeability"), place)
    coercivity = values.get("intrinsic_coercivity_kA_per_m")
    return Magnet(
        **common,
        remanence=values["remanence_T"],
        recoil_permeability=values["recoil_permeability"],
        intrinsic_coercivity=None if coercivity is None else coercivity * KILO,
        remanence_per_K=values.get("remanence_per_K", 0.0),
        coercivity_per_K=values.get("coercivity_per_K", 0.0),
    )
