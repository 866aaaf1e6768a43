"""Spoilt files are refused with a reason, or read: a few of those of `benchmarks.mutations`."""

from pathlib import Path

import pytest

from benchmarks.mutations import faults_of, spoilt
from benchmarks.spoilt_kinds import KINDS, Source

A_FEW = 60
FEWER = {"log": 10}
"""A log takes longer: it is measured as well."""


@pytest.mark.parametrize("kind", KINDS)
def test_spoilt_files_are_read_or_refused_with_advice(kind: str) -> None:
    # The long run is `python -m benchmarks.mutations`; these are its first files.
    for number in range(FEWER.get(kind, A_FEW)):
        assert list(faults_of(KINDS[kind], spoilt(KINDS[kind], number))) == [], number


LONG = "9" * 400
"""A whole number beyond the 64 bits that TOML has (v1.0.0, Integer: an error must be thrown)."""

COASTING = "coast_down = { inertia_kg_m2 = 1, time_s = [0, 1, 2], speed_rpm = [3, 2, 1] }"


@pytest.mark.parametrize(
    ("kind", "text", "words"),
    [
        ("design", f"[machine]\nslots = -{LONG}", "line 2: machine.slots"),
        ("profile", f"time_s = [0, {LONG}]\nthrottle = [1, 1]", "too many digits"),
        ("profile", "x = " + "[" * 3000, "nested too deeply"),
        ("profile", f"x = {LONG * 12}", "thousands of digits"),
        ("checks", f"resistance = {{ ohm = {LONG} }}", "line 1: resistance"),
        ("checks", COASTING.replace("[3,", "[1e308,"), "numbers up to 1e+06"),
        ("checks", COASTING.replace(", 2],", ", 1e308],"), "numbers up to 1e+06"),
        ("prices", f"per_kg = {{ pla = {LONG} }}", "too many digits"),
        ("prices", "x = " + "[" * 3000, "nested too deeply"),
        ("prices", "per_kg = { pla = nan }", "= nan is no price"),
        ("columns", f"columns.thrust = {{ heading = 1, scale = {LONG} }}", "too many"),
        ("columns", "columns.thrust = { heading = 1, scale = nan }", "scale = nan is"),
        ("columns", "columns.thrust = { heading = 1, offset = inf }", "offset = inf is"),
        ("columns", "x = " + "[" * 3000, "nested too deeply"),
    ],
)
def test_what_once_broke_the_program_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], kind: str, text: str, words: str
) -> None:
    assert list(faults_of(KINDS[kind], Source("a.toml", text.encode()))) == []
    path = tmp_path / "a.toml"
    path.write_text(text, encoding="utf-8")
    assert KINDS[kind].read(path) == 2
    assert words in capsys.readouterr().err
