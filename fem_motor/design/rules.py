"""What keys ask of one another."""

import difflib
from collections.abc import Iterator, Mapping
from typing import Any

from fem_motor.design.keys import BY_PATH, KEYS, REQUIRED, SECTIONS
from fem_motor.design.values import complaints
from fem_motor.errors import Problem
from fem_motor.toml_file import is_number, printable, shown

Tables = Mapping[str, Any]


def table_problems(tables: Tables) -> list[Problem]:
    """Return what is wrong with names, presence and values; places are key paths."""
    return [*_unknown(tables), *_missing(tables), *_wrong(tables)]


def rule_problems(values: Tables) -> list[Problem]:
    """Return what is wrong between keys; `values` are complete and each right by itself."""
    return [
        *_machine(values),
        *_magnets(values),
        *_ring(values),
        *_wire(values),
        *_load(values),
        *_as_built(values),
    ]


def _near(name: str, names: list[str]) -> str:
    near = difflib.get_close_matches(name, names, n=1, cutoff=0.5)
    return f'did you mean "{near[0]}"?' if near else ""


def _unknown(tables: Tables) -> Iterator[Problem]:
    tops = [*SECTIONS, "materials", "title"]
    for top, value in tables.items():
        if top not in tops:
            yield Problem(
                place=printable(top),
                what="is not known.",
                why=f"a design file has title and the sections {', '.join(SECTIONS)}, materials.",
                do=_near(top, tops) or "leave it out.",
            )
        elif top != "title" and value is not None and not isinstance(value, Mapping):
            yield Problem(
                place=top,
                what=f"= {shown(value)} is not a section.",
                why=f"{top} holds keys of its own.",
                do=f"write [{top}] on a line of its own and its keys below.",
            )
        elif top in SECTIONS and value is not None:
            names = [key.name for key in KEYS if key.section == top]
            for name in value:
                if name not in names:
                    yield Problem(
                        place=f"{top}.{printable(name)}",
                        what="is not known.",
                        why=f"[{top}] has the keys {', '.join(names)}.",
                        do=_near(name, names) or "leave it out.",
                    )


def lookup(tables: Tables, path: str) -> Any:  # noqa: ANN401  (whatever stands in the file)
    """Return the value of a key, None where it is absent."""
    section, _, name = path.rpartition(".")
    table = tables.get(section, {}) if section else tables
    return table.get(name) if isinstance(table, Mapping) else None


def _missing(tables: Tables) -> Iterator[Problem]:
    for key in KEYS:
        if key.default == REQUIRED and lookup(tables, key.path) is None:
            yield Problem(
                place=key.path,
                what="is missing.",
                why=f"{key.meaning}.",
                do=f"give {key.allowed}.",
            )


def _wrong(tables: Tables) -> Iterator[Problem]:
    for key in KEYS:
        value = lookup(tables, key.path)
        if value is None:
            continue
        for what, do in complaints(value, key):
            yield Problem(place=key.path, what=what, why=f"{key.meaning}.", do=do)


def _problem(path: str, values: Tables, why: str, do: str, what: str = "") -> Problem:
    value = lookup(values, path)
    text = what or (
        f"= {shown(value)} does not fit the rest." if value is not None else "is missing."
    )
    return Problem(place=path, what=text, why=why, do=do)


def _machine(values: Tables) -> Iterator[Problem]:
    machine, winding = values["machine"], values["winding"]
    if machine["poles"] % 2:
        yield _problem(
            "machine.poles", values, "north and south poles come in pairs.", "use an even number."
        )
    coils = winding["coils"]
    if coils is not None and len(coils) != machine["slots"]:
        yield _problem(
            "winding.coils",
            values,
            f"{machine['slots']} teeth need {machine['slots']} entries.",
            'give one entry per tooth, "" for a tooth without a coil.',
            f"has {len(coils)} entries.",
        )
    if winding["layers"] == 1 and machine["slots"] % 2:
        yield _problem(
            "winding.layers",
            values,
            "one layer puts a coil on every other tooth, which needs an even number of slots.",
            "use 2 layers or another number of slots.",
        )
    if coils is not None and winding["layers"] == 1 and any(coils[1::2]):
        yield _problem(
            "winding.coils",
            values,
            "with one layer only teeth 1, 3, 5 … have coils.",
            'put "" on teeth 2, 4, 6 …, or use layers = 2.',
            "has coils on even teeth.",
        )
    stator = values["stator"]
    if stator["inner_diameter_mm"] >= stator["outer_diameter_mm"]:
        yield _problem(
            "stator.inner_diameter_mm",
            values,
            f"the outer diameter is {stator['outer_diameter_mm']:g} mm.",
            "give a smaller one.",
        )


def _magnets(values: Tables) -> Iterator[Problem]:
    rotor = values["rotor"]
    arc, halbach = rotor["magnet_shape"] == "arc", rotor["magnet_layout"] == "halbach"
    wanted, refused = ("magnet_arc_fraction", "magnet_width_mm")
    if not arc:
        wanted, refused = refused, wanted
    if rotor[wanted] is None:
        key = BY_PATH[f"rotor.{wanted}"]
        yield _problem(key.path, values, f"{key.meaning}.", f"give {key.allowed}.")
    if rotor[refused] is not None:
        yield _problem(
            f"rotor.{refused}",
            values,
            f"it does not belong to {rotor['magnet_shape']} magnets.",
            f"leave it out, or change magnet_shape; {wanted} sets the width here.",
        )
    if halbach and rotor["segments_per_pole"] < 2:  # noqa: PLR2004
        yield _problem(
            "rotor.segments_per_pole",
            values,
            "a Halbach layout turns the magnetisation from segment to segment.",
            'use 2 to 12, or magnet_layout = "alternating".',
        )
    if not halbach and rotor["segments_per_pole"] != 1:
        yield _problem(
            "rotor.segments_per_pole",
            values,
            "alternating poles have one magnet each.",
            'use 1, or magnet_layout = "halbach".',
        )
    if rotor["magnetisation"] == "radial" and (halbach or not arc):
        yield _problem(
            "rotor.magnetisation",
            values,
            "only arcs of alternating poles can be magnetised radially.",
            'use "parallel".',
        )


def _ring(values: Tables) -> Iterator[Problem]:
    rotor = values["rotor"]
    has_material = rotor["ring_material"] != "none"
    if has_material and rotor["ring_thickness_mm"] == 0:
        yield _problem(
            "rotor.ring_thickness_mm",
            values,
            f"the ring of {rotor['ring_material']} has no thickness.",
            'give one, or ring_material = "none".',
        )
    if not has_material and rotor["ring_thickness_mm"] > 0:
        yield _problem(
            "rotor.ring_thickness_mm",
            values,
            'ring_material is "none".',
            "name a core material, or leave the thickness out.",
        )


def _wire(values: Tables) -> Iterator[Problem]:
    winding = values["winding"]
    given = [name for name in ("wire_awg", "wire_diameter_mm") if winding[name] is not None]
    if len(given) != 1:
        yield _problem(
            "winding.wire_diameter_mm",
            values,
            "the wire is given by its gauge or by its bare diameter, one of the two.",
            "give wire_awg or wire_diameter_mm.",
            "is missing." if not given else "cannot stand beside wire_awg.",
        )


_LOAD_KEYS = {
    "propeller": (
        "diameter_mm", "pitch_mm", "thrust_coefficient", "power_coefficient", "table", "medium",
    ),
    "torque-curve": ("speed_rpm", "torque_Nm"),
    "constant-torque": ("torque_Nm",),
    "none": (),
}  # fmt: skip


def _load(values: Tables) -> Iterator[Problem]:
    load = values["load"]
    kind = load["kind"]
    required = set(_LOAD_KEYS[kind]) - {"medium"}
    if kind == "propeller":
        required -= {"thrust_coefficient", "power_coefficient"} if load["table"] else {"table"}
    for name in sorted(required):
        if load[name] is None:
            yield _problem(
                f"load.{name}",
                values,
                f"a load of kind {kind} needs it.",
                f"give {BY_PATH[f'load.{name}'].allowed}.",
            )
    if kind == "propeller" and load["table"]:
        for name in ("thrust_coefficient", "power_coefficient"):
            if load[name] is not None:
                yield _problem(
                    f"load.{name}",
                    values,
                    "load.table has the coefficients over speed already.",
                    "leave out the two coefficients, or the table.",
                )
    foreign = [n for n in load if n != "kind" and load[n] is not None and n not in _LOAD_KEYS[kind]]
    for name in foreign:
        yield _problem(
            f"load.{name}",
            values,
            f"it does not belong to this load of kind {kind}.",
            "leave it out, or change load.kind.",
        )
    yield from _load_lists(values)


def _load_lists(values: Tables) -> Iterator[Problem]:
    load = values["load"]
    speed, torque = load["speed_rpm"], load["torque_Nm"]
    if load["kind"] == "constant-torque" and torque is not None and not is_number(torque):
        yield _problem("load.torque_Nm", values, "a constant torque is one number.", "give one.")
    if load["kind"] != "torque-curve" or speed is None or torque is None:
        return
    if not isinstance(speed, list) or not isinstance(torque, list) or len(speed) != len(torque):
        yield _problem(
            "load.torque_Nm",
            values,
            "every speed needs its torque.",
            "give two lists of one length.",
        )
    elif sorted(set(speed)) != speed:
        yield _problem("load.speed_rpm", values, "the speeds must rise.", "sort the two lists.")


def _as_built(values: Tables) -> Iterator[Problem]:
    rotor, machine = values["rotor"], values["machine"]
    limits = (
        ("magnets", "index", machine["poles"] * rotor["segments_per_pole"], "magnets"),
        ("coils", "tooth", machine["slots"], "teeth"),
    )
    for name, key, limit, parts in limits:
        for entry in values["as_built"][name] or ():
            if entry[key] > limit:
                yield _problem(
                    f"as_built.{name}",
                    values,
                    f"the motor has {limit} {parts}.",
                    f"give {key} from 1 to {limit}.",
                    f"names {key} {entry[key]}.",
                )
        yield from _twice(values, name, key)
    yield from _coils_without_wire(values)
    if values["as_built"]["rotor_offset_mm"] >= machine["air_gap_mm"]:
        yield _problem(
            "as_built.rotor_offset_mm",
            values,
            f"the rotor touches the stator at {machine['air_gap_mm']:g} mm.",
            "give a smaller offset.",
        )


def _twice(values: Tables, name: str, key: str) -> Iterator[Problem]:
    entries = [int(entry[key]) for entry in values["as_built"][name] or ()]
    for number in sorted({n for n in entries if entries.count(n) > 1}):
        yield _problem(
            f"as_built.{name}",
            values,
            "two entries for one part would contradict each other.",
            f"say all about {key} {number} in one entry.",
            f"names {key} {number} in {entries.count(number)} entries.",
        )


def _coils_without_wire(values: Tables) -> Iterator[Problem]:
    """Yield a problem for each changed coil on a tooth that has none."""
    winding, slots = values["winding"], values["machine"]["slots"]
    coils = winding["coils"]
    bare = {tooth for tooth in range(2, slots + 1, 2) if winding["layers"] == 1}
    bare |= {tooth for tooth, coil in enumerate(coils or (), 1) if not coil}
    for tooth in sorted(
        {int(entry["tooth"]) for entry in values["as_built"]["coils"] or ()} & bare
    ):
        yield _problem(
            "as_built.coils",
            values,
            "with one layer only teeth 1, 3, 5 … have coils."
            if winding["layers"] == 1 and tooth % 2 == 0
            else "winding.coils leaves this tooth without a coil.",
            "name a tooth with a coil, or put the coil into winding.coils.",
            f"names tooth {tooth}, which has no coil.",
        )
