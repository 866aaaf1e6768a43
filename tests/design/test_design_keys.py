"""Every key of the design file, badly given in every way: one error that says how to mend it."""

import json
import math
from pathlib import Path
from typing import Any

import pytest

from fem_motor.design import MotorDesign, load_design
from fem_motor.design.keys import KEYS, REQUIRED, SECTIONS, Key
from fem_motor.errors import DesignError, Problem

Tables = dict[str, Any]

# Invented: the drive of a small airboat, as in the file that `new` writes.
BASE: Tables = {
    "title": "Reed boat",
    "machine": {"slots": 18, "poles": 16, "stack_length_mm": 20.0, "air_gap_mm": 0.8},
    "stator": {
        "outer_diameter_mm": 56.0,
        "inner_diameter_mm": 22.0,
        "yoke_thickness_mm": 4.0,
        "tooth_width_mm": 4.0,
        "slot_opening_mm": 1.8,
        "tip_thickness_mm": 1.0,
        "core": "iron-filled-pla-10vol",
    },
    "rotor": {
        "magnet_shape": "block",
        "magnet_width_mm": 8.0,
        "magnet_thickness_mm": 3.0,
        "magnet": "ndfeb-n42h",
    },
    "winding": {"turns_per_tooth": 14, "wire_diameter_mm": 0.5},
}
PROPELLER = {
    "kind": "propeller",
    "diameter_mm": 254.0,
    "pitch_mm": 119.0,
    "thrust_coefficient": 0.12,
    "power_coefficient": 0.048,
}
BY_ROWS = {
    "kind": "propeller",
    "diameter_mm": 254.0,
    "pitch_mm": 119.0,
    "table": [[0, 0.12, 0.05], [9000, 0.11, 0.04]],
}
CURVE = {"kind": "torque-curve", "speed_rpm": [0, 5000], "torque_Nm": [0.0, 0.2]}
ARC = {
    "magnet_shape": "arc",
    "magnet_arc_fraction": 0.8,
    "magnet_thickness_mm": 3.0,
    "magnet": "ndfeb-n42h",
}

# A section in which the key belongs to the motor, where that of BASE is none.
BELONGS: dict[str, Tables] = {
    "rotor.magnet_arc_fraction": ARC,
    "rotor.ring_material": {**BASE["rotor"], "ring_material": "steel-dc01", "ring_thickness_mm": 2},
    "winding.wire_awg": {"turns_per_tooth": 14, "wire_awg": 24},
    **{f"load.{name}": PROPELLER for name in PROPELLER},
    "load.table": BY_ROWS,
    "load.speed_rpm": CURVE,
    "load.torque_Nm": CURVE,
}
BELONGS["rotor.ring_thickness_mm"] = BELONGS["rotor.ring_material"]


# A section that does without a key of BASE.
INSTEAD: dict[str, Tables] = {
    "rotor.magnet_width_mm": ARC,
    "winding.wire_diameter_mm": {"turns_per_tooth": 14, "wire_awg": 24},
}

NUMBERS = ("integer", "number", "numbers")
REQUIRED_KEYS = [key for key in KEYS if key.default == REQUIRED]
OPTIONAL_KEYS = [key for key in KEYS if key.default != REQUIRED]
NUMBER_KEYS = [key for key in KEYS if key.type in NUMBERS]

# A value of no use to a key of each type; true is of use to none.
WRONG_TYPE: dict[str, Any] = {
    "integer": "many",
    "number": "much",
    "text": 3,
    "choice": 3,
    "coils": "U+",
    "table": "5 by 10",
    "numbers": ["fast"],
    "objects": [3],
}
AWKWARD_NUMBERS = (-1, 1e30, 10**400, math.nan, math.inf, -math.inf, 7.5)


def toml_of(tables: Tables) -> str:
    """Return tables as TOML, a key a line; as JSON writes texts and lists, so does TOML."""
    lines = []
    # What stands below a section belongs to it: sections last.
    for name, value in sorted(tables.items(), key=lambda item: isinstance(item[1], dict)):
        if isinstance(value, dict):
            lines += [f"[{name}]", toml_of(value)]
        elif isinstance(value, float):
            lines.append(f"{name} = {value!r}")  # also nan and inf
        else:
            lines.append(f"{name} = {json.dumps(value)}")
    return "\n".join(lines)


def path_of(key: Key) -> str:
    return key.path


def base_of(key: Key) -> Tables:
    """Return fresh tables of a good design in which `key` has its place."""
    tables: Tables = {name: dict(v) if isinstance(v, dict) else v for name, v in BASE.items()}
    if key.section:
        plain: Tables = tables.get(key.section) or {}
        tables[key.section] = dict(BELONGS.get(key.path, plain))
    return tables


def put(tables: Tables, key: Key, value: object) -> None:
    (tables[key.section] if key.section else tables)[key.name] = value


def remove(tables: Tables, key: Key) -> None:
    (tables[key.section] if key.section else tables).pop(key.name, None)


def is_allowed(key: Key, value: object) -> bool:
    """Return what the table of keys promises about a number."""
    if key.type not in NUMBERS or not isinstance(value, int | float):
        return False
    if isinstance(value, float) and not math.isfinite(value):
        return False
    return key.low <= value <= key.high and (key.type != "integer" or value == int(value))


def problems_of(tables: Tables, folder: Path) -> tuple[Problem, ...]:
    """Return the problems of a file with these tables, none where it loads."""
    path = folder / "boat.toml"
    path.write_text(toml_of(tables), encoding="utf-8")
    try:
        load_design(path)
    except DesignError as error:
        return error.problems
    return ()


def line_of(key: Key, folder: Path) -> int:
    """Return the line, from 1, on which the file gives `key` its value."""
    section = ""
    lines = (folder / "boat.toml").read_text(encoding="utf-8").split("\n")
    for number, line in enumerate(lines, 1):
        if line.startswith("["):
            section = line.strip("[]")
        elif line.startswith(f"{key.name} = ") and section == key.section:
            return number
    raise AssertionError(key)


def assert_names_file_line_and_range(problem: Problem, key: Key, folder: Path) -> None:
    where = f"{folder / 'boat.toml'}, line {line_of(key, folder)}: {key.path}"
    assert problem.place == where
    assert problem.what.startswith("= ")
    assert problem.why == f"{key.meaning}."
    assert problem.do == f"give {key.allowed}."
    assert "\n" not in problem.place + problem.what + problem.why + problem.do


def test_every_number_has_a_finite_range() -> None:
    assert [key.path for key in NUMBER_KEYS if not math.isfinite(key.low + key.high)] == []
    assert [key.path for key in NUMBER_KEYS if key.low >= key.high] == []


def test_only_an_angle_and_a_temperature_may_be_negative() -> None:
    negative = {key.path for key in NUMBER_KEYS if key.low < 0}
    assert negative == {"drive.timing_advance_deg", "cooling.ambient_C"}


def test_no_key_stands_twice_and_every_key_says_what_absence_means() -> None:
    assert len({key.path for key in KEYS}) == len(KEYS)
    assert [key.path for key in KEYS if key.default is None and not key.note] == []
    assert [key.path for key in KEYS if not key.meaning or not key.allowed] == []


@pytest.mark.parametrize("key", KEYS, ids=path_of)
def test_the_designs_of_these_tests_are_good_before_they_are_spoilt(
    key: Key, tmp_path: Path
) -> None:
    assert problems_of(base_of(key), tmp_path) == ()


@pytest.mark.parametrize("key", REQUIRED_KEYS, ids=path_of)
def test_a_missing_key_is_named_with_what_it_may_be(key: Key, tmp_path: Path) -> None:
    tables = base_of(key)
    remove(tables, key)
    (problem,) = problems_of(tables, tmp_path)
    assert problem == Problem(
        place=f"{tmp_path / 'boat.toml'}: {key.path}",
        what="is missing.",
        why=f"{key.meaning}.",
        do=f"give {key.allowed}.",
    )


@pytest.mark.parametrize("key", OPTIONAL_KEYS, ids=path_of)
def test_a_missing_key_with_a_default_takes_it(key: Key) -> None:
    tables = base_of(KEYS[0])
    plain: Tables = tables.get(key.section) or {}
    tables[key.section] = dict(INSTEAD.get(key.path, plain))
    remove(tables, key)
    expected = 1 if key.name == "segments_per_pole" else key.default
    assert MotorDesign.from_dict(tables).values[key.section][key.name] == expected


def test_a_halbach_rotor_has_two_magnets_a_pole_by_default() -> None:
    tables = base_of(KEYS[0])
    tables["rotor"] |= {"magnet_layout": "halbach", "magnet_width_mm": 5.0}
    assert MotorDesign.from_dict(tables).motor.rotor.segments == 32


@pytest.mark.parametrize(
    ("key", "section"),
    [
        ("rotor.magnet_arc_fraction", ARC),
        ("rotor.magnet_width_mm", BASE["rotor"]),
        ("winding.wire_diameter_mm", BASE["winding"]),
        ("load.diameter_mm", PROPELLER),
        ("load.pitch_mm", PROPELLER),
        ("load.thrust_coefficient", PROPELLER),
        ("load.power_coefficient", PROPELLER),
        ("load.diameter_mm", BY_ROWS),
        ("load.pitch_mm", BY_ROWS),
        ("load.speed_rpm", CURVE),
        ("load.torque_Nm", CURVE),
        ("load.torque_Nm", {"kind": "constant-torque", "torque_Nm": 0.1}),
    ],
)
def test_a_key_that_another_one_calls_for_must_be_given(
    key: str, section: Tables, tmp_path: Path
) -> None:
    top, _, name = key.partition(".")
    tables = base_of(KEYS[0])
    tables[top] = {other: value for other, value in section.items() if other != name}
    (problem,) = problems_of(tables, tmp_path)
    assert (problem.place, problem.what) == (f"{tmp_path / 'boat.toml'}: {key}", "is missing.")
    assert problem.why
    assert problem.do.startswith("give ")


@pytest.mark.parametrize("value", ["wrong type", True], ids=str)
@pytest.mark.parametrize("key", KEYS, ids=path_of)
def test_a_wrong_type_is_refused_with_line_and_what_is_allowed(
    key: Key, value: object, tmp_path: Path
) -> None:
    tables = base_of(key)
    put(tables, key, WRONG_TYPE[key.type] if value == "wrong type" else value)
    (problem,) = problems_of(tables, tmp_path)
    assert_names_file_line_and_range(problem, key, tmp_path)


@pytest.mark.parametrize("value", AWKWARD_NUMBERS, ids=lambda value: f"{value!s:.6}")
@pytest.mark.parametrize("key", KEYS, ids=path_of)
def test_an_awkward_number_is_refused_with_line_and_range_or_is_in_range(
    key: Key, value: float, tmp_path: Path
) -> None:
    tables = base_of(key)
    put(tables, key, value)
    problems = problems_of(tables, tmp_path)
    if not is_allowed(key, value):
        (problem,) = problems
        assert_names_file_line_and_range(problem, key, tmp_path)
        return
    # In range, and then either taken over or at odds with other keys, for a reason that is told.
    assert all("out of range" not in problem.what for problem in problems)
    assert all(problem.why and problem.do for problem in problems)
    if not problems:
        section = load_design(tmp_path / "boat.toml").values[key.section]
        assert section[key.name] == value


@pytest.mark.parametrize(
    ("path", "motor_value"),
    [("drive.timing_advance_deg", -math.pi / 180), ("cooling.ambient_C", -1.0)],
)
def test_a_negative_angle_or_temperature_reaches_the_motor(path: str, motor_value: float) -> None:
    motor = MotorDesign.from_dict(BASE).replace(path, -1).motor
    found = {
        "drive.timing_advance_deg": motor.drive.timing_advance,
        "cooling.ambient_C": motor.cooling.ambient_C,
    }
    assert found[path] == pytest.approx(motor_value, rel=1e-15)


@pytest.mark.parametrize("key", NUMBER_KEYS, ids=path_of)
def test_both_ends_of_a_range_belong_to_it_and_nothing_beyond(key: Key, tmp_path: Path) -> None:
    whole = key.type == "integer"
    below = key.low - 1 if whole else math.nextafter(key.low, -math.inf)
    above = key.high + 1 if whole else math.nextafter(key.high, math.inf)
    for value, inside in ((below, False), (key.low, True), (key.high, True), (above, False)):
        tables = base_of(key)
        put(tables, key, value)
        texts = [problem.do for problem in problems_of(tables, tmp_path)]
        assert (f"give {key.allowed}." in texts) is not inside


@pytest.mark.parametrize("key", [key for key in KEYS if key.choices], ids=path_of)
def test_an_unknown_choice_is_told_all_choices(key: Key, tmp_path: Path) -> None:
    tables = base_of(key)
    put(tables, key, "sideways")
    (problem,) = problems_of(tables, tmp_path)
    assert problem.what == '= "sideways" is not a choice.'
    assert all(f'"{choice}"' in problem.do for choice in key.choices)


@pytest.mark.parametrize("spoil", ["letter lost", "letters swapped", "capitals"])
@pytest.mark.parametrize("key", KEYS, ids=path_of)
def test_a_misspelt_key_is_told_the_near_name(key: Key, spoil: str, tmp_path: Path) -> None:
    name, middle = key.name, len(key.name) // 2
    misspelt = {
        "letter lost": name[:middle] + name[middle + 1 :],
        "letters swapped": name[: middle - 1]
        + name[middle]
        + name[middle - 1]
        + name[middle + 1 :],
        "capitals": name.title(),
    }[spoil]
    assert misspelt not in {k.name for k in KEYS if k.section == key.section}
    tables = base_of(key)
    wrong = Key(section=key.section, name=misspelt, meaning="")
    put(tables, wrong, 1.0)
    (problem,) = problems_of(tables, tmp_path)
    line = line_of(wrong, tmp_path)
    assert problem.place == f"{tmp_path / 'boat.toml'}, line {line}: {wrong.path}"
    assert problem.what == "is not known."
    assert problem.do == f'did you mean "{name}"?'


@pytest.mark.parametrize("section", [*SECTIONS, "materials"])
def test_a_misspelt_section_is_told_the_near_name(section: str, tmp_path: Path) -> None:
    tables = base_of(KEYS[0])
    misspelt = section[:-2] + section[-1]
    tables[misspelt] = {"title": "x"}
    (problem,) = problems_of(tables, tmp_path)
    assert problem.place.endswith(f": {misspelt}")
    assert (problem.what, problem.do) == ("is not known.", f'did you mean "{section}"?')


@pytest.mark.parametrize("section", [*SECTIONS, "materials"])
def test_a_section_that_is_a_value_is_refused(section: str, tmp_path: Path) -> None:
    tables: Tables = {section: 3, **{k: v for k, v in BASE.items() if k != section}}
    problem, *others = problems_of(tables, tmp_path)
    assert problem.place == f"{tmp_path / 'boat.toml'}, line 1: {section}"
    assert problem.what == "= 3 is not a section."
    assert problem.do == f"write [{section}] on a line of its own and its keys below."
    # What it should hold is missing then, and nothing else is wrong.
    assert {other.what for other in others} <= {"is missing."}


def test_a_problem_reads_as_place_what_why_and_do(tmp_path: Path) -> None:
    path = tmp_path / "boat.toml"
    tables = base_of(KEYS[0])
    tables["rotor"]["magnet_thickness_mm"] = -3
    path.write_text(toml_of(tables), encoding="utf-8")
    with pytest.raises(DesignError) as caught:
        load_design(path)
    assert str(caught.value) == (
        f"{path}, line 18: rotor.magnet_thickness_mm = -3 is out of range.\n"
        "  why: radial thickness.\n"
        "  do:  give a number from 0.1 to 1000."
    )
    assert caught.value.exit_code == 2


def test_a_value_is_shown_with_enough_digits_to_see_what_is_wrong() -> None:
    with pytest.raises(DesignError, match=r"= 360\.000001 is not a whole number"):
        MotorDesign.from_dict(BASE).replace("machine.slots", 360.000001)
    with pytest.raises(DesignError, match=r"= 75\.000001 is out of range"):
        MotorDesign.from_dict(BASE).replace("stator.tip_taper_deg", 75.000001)


def test_a_row_of_the_propellers_table_that_is_too_short_is_named() -> None:
    table = [[0, 0.12, 0.05], [9000, 0.11]]
    with pytest.raises(DesignError) as caught:
        MotorDesign.from_dict({**BASE, "load": {**BY_ROWS, "table": table}})
    (problem,) = caught.value.problems
    assert problem.place == "design: load.table"
    assert problem.what == "= [9000, 0.11] in row 2 is not a row of this table."
