"""A profile of throttle from a file: CSV or TOML, and what is wrong with it in full."""

from pathlib import Path

import pytest

from fem_motor.cli.run.profile import read_profile
from fem_motor.errors import InputError


def written(folder: Path, text: str, name: str = "flight.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_csv_and_toml_say_the_same_profile(tmp_path: Path) -> None:
    table = written(tmp_path, "# survey\nthrottle, time_s ,note\n1,0,off\n0.4,20.5,\n0,60,end\n")
    lists = written(tmp_path, "time_s = [0, 20.5, 60]\nthrottle = [1, 0.4, 0.0]\n", "flight.toml")
    for profile in (read_profile(table), read_profile(lists)):
        assert profile.time_s.tolist() == [0, 20.5, 60]
        assert profile.throttle.tolist() == [1, 0.4, 0]


@pytest.mark.parametrize(
    ("text", "name", "words"),
    [
        ("time_s,thr\n0,1\n", "a.csv", "throttle is no column."),
        ("", "a.csv", "time_s is no column."),
        ("time_s,throttle\n0,1\nx,\n", "a.csv", "time_s = 'x' in row 2 is no number."),
        ("time_s,throttle\n0,1\nx,\n", "a.csv", "throttle = '' in row 2 is no number."),
        ("time_s,throttle\n0,50\n9,50\n", "a.csv", "throttle = 50 in row 1 is out of range."),
        ("time_s = [0, 1]\n", "a.toml", "throttle is no list of numbers."),
        ("time_s = [0]\nthrottle = [1]\nx = 1\n", "a.toml", "x is unknown."),
        ("time_s = [0\n", "a.toml", "is not valid TOML."),
    ],
)
def test_what_is_wrong_names_the_file_and_the_row(
    tmp_path: Path, text: str, name: str, words: str
) -> None:
    path = written(tmp_path, text, name)
    with pytest.raises(InputError) as wrong:
        read_profile(path)
    assert str(path) in str(wrong.value)
    assert words in str(wrong.value)


def test_a_file_that_is_not_there_is_bad_input(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read as a profile"):
        read_profile(tmp_path / "none.csv")
