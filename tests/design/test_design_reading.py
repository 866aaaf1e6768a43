"""What is no design file at all, and all that is wrong in one that is."""

import errno
from pathlib import Path

import pytest

from fem_motor.design import MotorDesign, load_design, starter_design
from fem_motor.design.keys import KEYS, REQUIRED
from fem_motor.errors import DesignError, Problem

CHECK_PATH = "check the path; fem-motor new FILE writes a design to start from."


def problem_of(path: Path) -> Problem:
    """Return the only problem of a file."""
    with pytest.raises(DesignError) as caught:
        load_design(path)
    (problem,) = caught.value.problems
    return problem


def written(folder: Path, content: str | bytes) -> Path:
    path = folder / "boat.toml"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def unreadable(path: Path, why: str) -> Problem:
    return Problem(place=str(path), what="cannot be read as a design file.", why=why, do=CHECK_PATH)


def test_a_missing_file_is_said_to_be_missing(tmp_path: Path) -> None:
    path = tmp_path / "boat.toml"
    assert problem_of(path) == unreadable(path, "there is no such file.")


def test_a_folder_is_said_to_be_a_folder(tmp_path: Path) -> None:
    assert problem_of(tmp_path) == unreadable(tmp_path, "it is a folder.")


def test_a_file_below_a_file_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path, "") / "motor.toml"
    assert problem_of(path) == unreadable(path, "Not a directory.")


def test_a_name_that_no_file_can_have_is_refused(tmp_path: Path) -> None:
    for name in ("boat\0.toml", 300 * "boat"):
        assert problem_of(tmp_path / name).what == "cannot be read as a design file."


def test_a_binary_file_is_no_text(tmp_path: Path) -> None:
    path = written(tmp_path, bytes(range(256)))
    assert problem_of(path) == unreadable(path, "it is not UTF-8 text.")


def test_a_text_of_another_encoding_is_no_utf_8(tmp_path: Path) -> None:
    path = written(tmp_path, 'title = "Schilfgürtel"'.encode("latin-1"))
    assert problem_of(path) == unreadable(path, "it is not UTF-8 text.")


def test_a_large_file_is_not_read(tmp_path: Path) -> None:
    path = written(tmp_path, b"#" * (1 << 20) + b"#")
    assert problem_of(path) == unreadable(path, "it is larger than 1 MiB.")


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="only where there is an endless file")
def test_an_endless_file_ends() -> None:
    assert problem_of(Path("/dev/zero")).why == "it is larger than 1 MiB."


def test_a_file_that_may_not_be_read_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)  # the owner of all files may read every one
    path = tmp_path / "boat.toml"
    assert problem_of(path) == unreadable(path, "Permission denied.")


def test_an_empty_file_misses_every_required_key_and_nothing_else(tmp_path: Path) -> None:
    with pytest.raises(DesignError) as caught:
        load_design(written(tmp_path, ""))
    problems = caught.value.problems
    required = [key.path for key in KEYS if key.default == REQUIRED]
    assert [problem.place.rpartition(": ")[2] for problem in problems] == required
    assert {problem.what for problem in problems} == {"is missing."}


def test_a_byte_order_mark_and_line_ends_of_other_desks_change_nothing(tmp_path: Path) -> None:
    text = starter_design().replace("\n", "\r\n")
    path = written(tmp_path, b"\xef\xbb\xbf" + text.encode())
    assert load_design(path) == MotorDesign.from_toml(starter_design())


@pytest.mark.parametrize("share", range(1, 17))
def test_a_file_cut_off_before_its_last_required_key_is_refused_by_name(
    share: int, tmp_path: Path
) -> None:
    end = starter_design().index("wire_awg") * share // 16
    path = written(tmp_path, starter_design()[:end])
    with pytest.raises(DesignError) as caught:
        load_design(path)
    assert all(problem.place.startswith(str(path)) for problem in caught.value.problems)


@pytest.mark.parametrize(
    "text",
    [
        "title = ",
        'title = "boat',
        "[machine\nslots = 18",
        "slots = 18\nslots = 12",
        "[machine]\n[machine]",
        "a = 1\na.b = 2",
        "\0",
    ],
)
def test_what_is_not_toml_is_refused_with_line_and_advice(text: str, tmp_path: Path) -> None:
    path = written(tmp_path, text)
    problem = problem_of(path)
    assert problem.place.partition(",")[0] == str(path)
    assert problem.what == "is not valid TOML."
    assert "line" in problem.place or "end of document" in problem.why
    assert problem.do == (
        "mend that line: texts stand in quotation marks, numbers use a point, no key appears twice."
    )


@pytest.mark.parametrize("text", ["slots = " + 10_000 * "[", 500 * "a." + "b = 1"])
def test_nesting_without_end_is_refused(text: str, tmp_path: Path) -> None:
    problem = problem_of(written(tmp_path, text))
    assert problem.what == "is nested too deeply."


def test_a_number_of_thousands_of_digits_is_refused(tmp_path: Path) -> None:
    # Python reads whole numbers of up to 4300 digits from text, and floats of up to 309.
    problem = problem_of(written(tmp_path, "slots = " + 5000 * "9"))
    assert problem.why == "a number has thousands of digits."
    text = starter_design().replace("slots = 18", "slots = " + 400 * "9")
    problem = problem_of(written(tmp_path, text))
    assert problem.what == "= a number of more than 300 digits is out of range."


def test_a_key_or_text_with_control_characters_stays_on_its_line(tmp_path: Path) -> None:
    text = starter_design() + '\n[cooling]\nmedium = "a\\nb\\u001b[2J"\n"x\\ny" = 1\n'
    text = text.replace("[cooling]\n# medium", "# medium", 1)
    with pytest.raises(DesignError) as caught:
        load_design(written(tmp_path, text))
    assert [(p.place.rpartition(": ")[2], p.what) for p in caught.value.problems] == [
        ("cooling.x\\ny", "is not known."),
        ("cooling.medium", '= "a\\nb\\x1b[2J" is not a choice.'),
    ]


def test_all_that_is_wrong_with_single_keys_is_said_at_once(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        starter_design()
        .replace("slots = 18", "slotts = 18")
        .replace("poles = 16", "poles = 16.5")
        .replace("air_gap_mm = 0.8", "air_gap_mm = 0")
        .replace('magnet_shape = "block"', 'magnet_shape = "brick"')
        + "\n[material.mud]\ndensity_kg_per_m3 = 1800\n"
        + '\n[materials.silt]\nlike = "iron-filled-pla-10vo"\n',
    )
    lines = path.read_text(encoding="utf-8").split("\n")

    def line(beginning: str) -> int:
        return next(n for n, text in enumerate(lines, 1) if text.startswith(beginning))

    with pytest.raises(DesignError) as caught:
        load_design(path)
    assert [(p.place, p.what) for p in caught.value.problems] == [
        (f"{path}, line {line('slotts')}: machine.slotts", "is not known."),
        (f"{path}: material", "is not known."),
        (f"{path}: machine.slots", "is missing."),
        (f"{path}, line {line('poles')}: machine.poles", "= 16.5 is not a whole number."),
        (f"{path}, line {line('air_gap')}: machine.air_gap_mm", "= 0 is out of range."),
        (
            f"{path}, line {line('magnet_shape')}: rotor.magnet_shape",
            '= "brick" is not a choice.',
        ),
        (
            f"{path}, line {line('like')}: materials.silt.like",
            '= "iron-filled-pla-10vo" is not in the library.',
        ),
    ]
    assert all(p.why and p.do for p in caught.value.problems)


def test_all_that_does_not_go_together_is_said_at_once() -> None:
    text = (
        starter_design()
        .replace("poles = 16", "poles = 15")
        .replace("wire_awg = 24", "wire_awg = 24\nwire_diameter_mm = 0.5")
        .replace('magnet_shape = "block"', 'magnet_shape = "block"\nmagnet_arc_fraction = 0.9')
        .replace('core = "iron-filled-pla-10vol"', 'core = "ndfeb-n42h"')
    )
    with pytest.raises(DesignError) as caught:
        MotorDesign.from_toml(text)
    assert [problem.place.rpartition(": ")[2] for problem in caught.value.problems] == [
        "machine.poles",
        "rotor.magnet_arc_fraction",
        "winding.wire_diameter_mm",
        "stator.core",
    ]


def test_all_that_cannot_be_built_is_said_at_once() -> None:
    text = (
        starter_design()
        .replace("tooth_width_mm = 4.0", "tooth_width_mm = 9")
        .replace("magnet_width_mm = 8.0", "magnet_width_mm = 12")
    )
    with pytest.raises(DesignError) as caught:
        MotorDesign.from_toml(text)
    assert [problem.place.rpartition(": ")[2] for problem in caught.value.problems] == [
        "stator.tooth_width_mm",
        "rotor.magnet_width_mm",
    ]


def test_a_text_that_was_never_a_file_is_called_by_its_name() -> None:
    with pytest.raises(DesignError) as caught:
        MotorDesign.from_toml("title = 3", name="pasted")
    assert caught.value.problems[-1].place == "pasted, line 1: title"


@pytest.mark.parametrize(
    ("line", "do"),
    [
        ("air_gap_mm = 0,8  # clearance", "numbers have a point: 0.8."),
        ("air_gap_mm = -12,75", "numbers have a point: -12.75."),
        ("supply_voltage_V = 12 V", "write the number alone: its unit stands in the name"),
        ("supply_voltage_V = 14.8V", "write the number alone: its unit stands in the name"),
        ("ambient_C = 25 °C", "write the number alone: its unit stands in the name"),
        ("rated_current_A = …  # peak line current", "put a value for the …, or a # in front"),
        ("core = iron-filled-pla-10vol", 'quotation marks: "iron-filled-pla-10vol".'),
        ("core = PLA", 'quotation marks: "PLA".'),
        ("core = “iron-filled-pla-10vol”", "write straight ones"),
        ('core = "iron-filled-pla-10vol', "a quotation mark is open"),
    ],
)
def test_a_line_as_makers_write_it_is_shown_with_its_mending(
    line: str, do: str, tmp_path: Path
) -> None:
    # TOML v1.0.0: a float has a point, a string has quotation marks, one value stands on a line.
    path = written(tmp_path, f"[machine]\nslots = 18\n{line}\n")
    problem = problem_of(path)
    assert problem.place == f"{path}, line 3"
    assert line.partition("  #")[0] in problem.why
    assert do in problem.do
