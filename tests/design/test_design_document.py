"""A design goes to text and tables and back unchanged; a change makes another design."""

import copy
import dataclasses
import json
import pickle
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from strategies import same_motor

from fem_motor.design import MotorDesign, design_key_reference, load_design, starter_design
from fem_motor.design.keys import KEYS, SECTIONS
from fem_motor.errors import DesignError

ROOT = Path(__file__).resolve().parent.parent.parent
GALLERY = sorted((ROOT / "geometries").glob("*.toml"))


def name_of(path: Path) -> str:
    return path.stem


@pytest.fixture
def starter() -> MotorDesign:
    """Return the design that the tool gives a beginner."""
    return MotorDesign.from_toml(starter_design())


def flat(values: dict[str, Any]) -> dict[str, Any]:
    """Return key paths and values of complete tables."""
    return {
        f"{section}.{name}": value
        for section in SECTIONS
        for name, value in values[section].items()
    }


def test_there_are_designs_in_the_gallery() -> None:
    assert len(GALLERY) >= 5


@pytest.mark.parametrize("path", GALLERY, ids=name_of)
def test_a_gallery_design_written_and_read_again_is_the_same(path: Path) -> None:
    design = load_design(path)
    again = MotorDesign.from_toml(design.to_toml())
    assert again == design
    assert again.values == design.values
    assert same_motor(again.motor, design.motor)
    assert again.to_toml() == design.to_toml()


@pytest.mark.parametrize("path", GALLERY, ids=name_of)
def test_a_gallery_design_goes_through_json_unchanged(path: Path) -> None:
    design = load_design(path)
    text = json.dumps(design.to_dict(), allow_nan=False)
    again = MotorDesign.from_dict(json.loads(text))
    assert again == design
    assert same_motor(again.motor, design.motor)


@pytest.mark.parametrize("path", GALLERY, ids=name_of)
def test_a_design_goes_to_a_worker_and_back_unchanged(path: Path) -> None:
    design = load_design(path)
    again = pickle.loads(pickle.dumps(design))  # noqa: S301  (our own bytes)
    assert again == design
    assert same_motor(again.motor, design.motor)


def test_the_starter_written_and_read_again_is_the_same(starter: MotorDesign) -> None:
    again = MotorDesign.from_toml(starter.to_toml())
    assert again == starter
    assert same_motor(again.motor, starter.motor)
    assert MotorDesign.from_dict(starter.to_dict()) == starter


def test_the_starter_holds_only_values_of_its_text_and_defaults(starter: MotorDesign) -> None:
    active = [line.split(" = ")[0] for line in starter_design().splitlines() if line[:1].isalpha()]
    given = {"title", *active}
    found = flat(starter.to_dict())
    silent = [key for key in KEYS if key.name not in given]
    assert {key.path: found[key.path] for key in silent} == {
        key.path: 1 if key.name == "segments_per_pole" else key.default for key in silent
    }


def test_the_starter_shows_every_key_but_those_of_a_built_motor() -> None:
    lines = starter_design().splitlines()
    shown = {line.removeprefix("# ").split(" = ")[0] for line in lines if " = " in line}
    assert {key.name for key in KEYS if key.section != "as_built"} == shown


def test_a_default_shown_in_the_starter_can_be_switched_on_as_it_stands(
    starter: MotorDesign,
) -> None:
    lines = starter_design().splitlines()
    defaults = [line for line in lines if line.startswith("# ") and " = " in line]
    text = starter_design()
    for line in defaults:
        if "…" not in line:  # stands where there is no default
            text = text.replace(line, line.removeprefix("# "))
    assert text != starter_design()
    assert MotorDesign.from_toml(text) == starter


def test_awkward_texts_and_decimals_survive_writing(starter: MotorDesign) -> None:
    awkward = starter.replace("title", 'Ö "2" \\ # = [a.b] …').replace(
        "machine.air_gap_mm", 0.1 + 0.2
    )
    awkward = awkward.replace(drive__supply_resistance_mohm=1e-7, drive__current_limit_A=1e5)
    again = MotorDesign.from_toml(awkward.to_toml())
    assert again == awkward
    assert again.title == 'Ö "2" \\ # = [a.b] …'
    assert same_motor(again.motor, awkward.motor)


def test_a_material_of_an_awkward_name_survives_writing(starter: MotorDesign) -> None:
    tables = starter.to_dict()
    tables["materials"] = {
        'mud, "wet" 1.5': {"like": "iron-filled-pla-10vol", "source": "two\nlines"}
    }
    tables["stator"]["core"] = 'mud, "wet" 1.5'
    design = MotorDesign.from_dict(tables)
    again = MotorDesign.from_toml(design.to_toml())
    assert again == design
    assert again.motor.stator.core.name == 'mud, "wet" 1.5'


def test_the_title_is_that_of_the_file() -> None:
    assert load_design(GALLERY[0]).title == load_design(GALLERY[0]).motor.title
    assert MotorDesign.from_toml(starter_design()).title == "My motor"


def test_the_name_of_the_file_is_no_part_of_a_design(starter: MotorDesign, tmp_path: Path) -> None:
    path = tmp_path / "boat.toml"
    path.write_text(starter_design(), encoding="utf-8")
    assert load_design(path) == starter
    assert load_design(path).name == str(path)


def test_a_design_is_frozen_and_gives_its_tables_away_as_a_copy(starter: MotorDesign) -> None:
    starter.to_dict()["machine"]["poles"] = 20
    assert starter.values["machine"]["poles"] == 16
    with pytest.raises(dataclasses.FrozenInstanceError):
        starter.name = "other"  # type: ignore[misc]


def test_replace_changes_one_value_and_leaves_the_original_alone(starter: MotorDesign) -> None:
    before = starter.to_dict()
    thicker = starter.replace("rotor.magnet_thickness_mm", 4.0)
    assert thicker.motor.rotor.magnet_thickness == pytest.approx(4e-3, rel=1e-15)
    assert starter.to_dict() == before
    assert starter.motor.rotor.magnet_thickness == pytest.approx(3e-3, rel=1e-15)
    changed = {
        path
        for path, value in flat(thicker.to_dict()).items()
        if value != flat(before)[path]
    }  # fmt: skip
    assert changed == {"rotor.magnet_thickness_mm"}


def test_replace_takes_over_a_copy_of_a_list(starter: MotorDesign) -> None:
    coils = "U+ V+ W+".split() * 6
    wound = starter.replace("winding.coils", coils)
    coils[0] = "V-"
    assert wound.values["winding"]["coils"][0] == "U+"


@pytest.mark.parametrize(
    ("way", "value"),
    [
        (("title",), "Other"),
        (("machine",), {}),
        (("machine", "poles"), 20),
        (("winding", "coils", 0), "V-"),
        (("as_built", "magnets", 0, "tilt_deg"), 5.0),
        (("materials", "mud", "like"), "copper"),
        (("materials", "steel", "bh_table", 1, 0), 5.0),
    ],
)
def test_the_values_of_a_design_are_read_only_all_the_way_down(
    starter: MotorDesign, way: tuple[str | int, ...], value: object
) -> None:
    table = [[0, 0.0], [100, 1.0], [1000, 1.4]]
    design = starter.replace(
        winding__coils="U+ V+ W+".split() * 6,
        as_built__magnets=[{"index": 3}],
        materials__mud={"like": "iron-filled-pla-10vol"},
        materials__steel={"kind": "core", "bh_table": table},
    )
    place: Any = design.values
    for name in way[:-1]:
        place = place[name]
    with pytest.raises(TypeError, match="does not support item assignment"):
        place[way[-1]] = value
    table[1][0] = 7  # what it was made of is a copy
    assert design.values["materials"]["steel"]["bh_table"][1][0] == 100


def test_equal_designs_are_equal_and_none_can_be_hashed(starter: MotorDesign) -> None:
    # [1] and [1.0] are equal lists of torques, but no text of them would be.
    curve: dict[str, Any] = {"load": {"kind": "torque-curve", "speed_rpm": [0], "torque_Nm": [1]}}
    one = starter.replace(**curve)
    assert one == one.replace("load.torque_Nm", [1.0])
    assert one != starter
    with pytest.raises(TypeError, match="unhashable type: 'MotorDesign'"):
        hash(starter)


def test_a_copy_of_a_design_is_equal(starter: MotorDesign) -> None:
    assert copy.deepcopy(starter) == starter
    assert copy.copy(starter).name == starter.name
    assert same_motor(copy.deepcopy(starter).motor, starter.motor)


@pytest.mark.parametrize(
    ("path", "value", "plain"),
    [
        ("machine.slots", np.int64(15), 15),
        ("machine.slots", np.uint8(15), 15),
        ("machine.air_gap_mm", np.float32(0.5), 0.5),
        ("machine.air_gap_mm", Fraction(3, 4), 0.75),
        ("rotor.magnet_thickness_mm", np.int32(4), 4.0),
    ],
)
def test_numbers_of_other_libraries_become_plain_ones(
    starter: MotorDesign,
    path: str,
    value: Any,  # noqa: ANN401  (numbers of all kinds)
    plain: float,
) -> None:
    design = starter.replace(path, value)
    section, name = path.split(".")
    found = design.values[section][name]
    assert (found, type(found)) == (plain, type(plain))
    assert design == starter.replace(path, plain)
    assert MotorDesign.from_toml(design.to_toml()) == design


def test_numbers_of_other_libraries_become_plain_ones_inside_lists(starter: MotorDesign) -> None:
    torque = list(np.linspace(0, 1, 3))
    load = {"kind": "torque-curve", "speed_rpm": list(np.arange(3)), "torque_Nm": torque}
    built = [{"index": np.int64(3), "tilt_deg": np.float64(2), "remanence_factor": np.int8(-1)}]
    design = starter.replace(load=load, as_built__magnets=built)
    assert json.loads(json.dumps(design.to_dict())) == design.to_dict()
    assert {type(x) for x in design.values["load"]["torque_Nm"]} == {float}
    assert {type(x) for x in design.values["load"]["speed_rpm"]} == {int}
    assert design.motor.as_built.magnets[0].index == 3


def test_a_truth_value_is_no_number(starter: MotorDesign) -> None:
    with pytest.raises(DesignError, match="is not a number"):
        starter.replace("winding.strands", True)  # noqa: FBT003  (the value in question)


def test_the_usual_segments_follow_the_magnet_layout(starter: MotorDesign) -> None:
    # One magnet a pole, two in a Halbach layout: the defaults of the key.
    narrow = starter.replace("rotor.magnet_width_mm", 2.0)
    halbach = narrow.replace("rotor.magnet_layout", "halbach")
    assert halbach.motor.rotor.segments_per_pole == 2
    assert halbach.replace("rotor.magnet_layout", "alternating") == narrow
    assert halbach.replace("rotor.magnet_layout", None) == narrow
    again = MotorDesign.from_toml(halbach.to_toml())
    assert again.replace("rotor.magnet_layout", "alternating") == narrow


def test_segments_that_were_chosen_stay_with_another_layout(starter: MotorDesign) -> None:
    narrow = starter.replace("rotor.magnet_width_mm", 2.0)
    three = narrow.replace(rotor__magnet_layout="halbach", rotor__segments_per_pole=3)
    assert three.replace("rotor.magnet_layout", "halbach").motor.rotor.segments_per_pole == 3
    with pytest.raises(DesignError, match="alternating poles have one magnet each"):
        three.replace("rotor.magnet_layout", "alternating")
    with pytest.raises(DesignError, match="turns the magnetisation from segment to segment"):
        narrow.replace(rotor__magnet_layout="halbach", rotor__segments_per_pole=1)


def test_replace_leaves_the_tables_alone_that_it_is_given(starter: MotorDesign) -> None:
    load = {"kind": "constant-torque", "torque_Nm": 0.1}
    assert starter.replace("load.torque_Nm", 0.2, load=load).values["load"]["torque_Nm"] == 0.2
    assert load == {"kind": "constant-torque", "torque_Nm": 0.1}


def test_replace_changes_several_values_that_need_one_another(starter: MotorDesign) -> None:
    arcs = starter.replace(
        rotor__magnet_shape="arc", rotor__magnet_arc_fraction=0.8, rotor__magnet_width_mm=None
    )
    assert arcs.motor.rotor.magnet_width is None
    with pytest.raises(DesignError):
        starter.replace("rotor.magnet_shape", "arc")


def test_replace_by_none_brings_the_default_back(starter: MotorDesign) -> None:
    finer = starter.replace("drive.supply_voltage_V", 24.0)
    assert finer.replace("drive.supply_voltage_V", None) == starter


def test_replace_reaches_into_a_material(starter: MotorDesign) -> None:
    own = {"like": "iron-filled-pla-10vol", "relative_permeability": 1.6}
    design = starter.replace("materials.mud", own).replace("stator.core", "mud")
    other = design.replace("materials.mud.relative_permeability", 1.9)
    assert other.values["materials"]["mud"]["relative_permeability"] == 1.9
    assert design.values["materials"]["mud"] == own


@pytest.mark.parametrize(
    ("path", "value", "named", "near"),
    [
        ("machine.polse", 16, "machine.polse", "poles"),
        ("machine.polse", None, "machine.polse", "poles"),
        ("rotor.magnet_thicknes_mm", 4.0, "rotor.magnet_thicknes_mm", "magnet_thickness_mm"),
        ("machin.poles", 16, "machin", "machine"),
        ("machin.poles", None, "machin", "machine"),
        ("titel", "Reed boat", "titel", "title"),
    ],
)
def test_replace_of_an_unknown_key_is_told_the_near_name(
    starter: MotorDesign, path: str, value: object, named: str, near: str
) -> None:
    with pytest.raises(DesignError) as caught:
        starter.replace(path, value)
    (problem,) = caught.value.problems
    assert problem.place == f"design: {named}"
    assert (problem.what, problem.do) == ("is not known.", f'did you mean "{near}"?')


@pytest.mark.parametrize("path", ["title.short", "machine.slots.upper", "machine", ""])
def test_replace_by_a_path_to_no_key_is_a_design_error(starter: MotorDesign, path: str) -> None:
    with pytest.raises(DesignError):
        starter.replace(path, 3)


def test_what_replace_refuses_names_the_file_and_the_key() -> None:
    path = ROOT / "geometries" / "printed_18s16p.toml"
    with pytest.raises(DesignError) as caught:
        load_design(path).replace("machine.poles", 15)
    # Without a line: the value that is wrong does not stand in the file.
    assert str(caught.value) == (
        f"{path}: machine.poles = 15 does not fit the rest.\n"
        "  why: north and south poles come in pairs.\n"
        "  do:  use an even number."
    )


def test_the_page_of_all_keys_is_what_the_code_says() -> None:
    page = (ROOT / "docs" / "user" / "design_file.md").read_text(encoding="utf-8")
    assert page == design_key_reference(), "write the page anew: DEVELOPERS.md, add a load"


def test_the_page_of_all_keys_names_each_with_range_and_default() -> None:
    rows = [line for line in design_key_reference().splitlines() if line.startswith("| `")]
    assert len(rows) == len(KEYS)
    for key, row in zip(KEYS, rows, strict=True):
        name, meaning, allowed, default = (cell.strip() for cell in row.strip("|").split("|"))
        assert (name, meaning, allowed) == (f"`{key.name}`", key.meaning, key.allowed)
        assert default


def test_an_absent_section_and_an_absent_value_are_the_same(starter: MotorDesign) -> None:
    tables = starter.to_dict()
    assert MotorDesign.from_dict({**tables, "as_built": None, "cooling": {}}) == starter
